#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where an allocation fails, a chain says so and ends with status 1: no crash, and no other output with
status 0.

  lack_of_memory.py BIN ALLOCATOR

ALLOCATOR (preload/lack_of_memory.c) fails at the n-th call; each n is tried, every third where there
are many.  What a library does that a chain stands on is left out of account: popt, which reads options,
ends the process by itself, with status 1 and a message, and its words may fail to say why.
"""
import os
import subprocess
import sys
import tempfile

BIN, ALLOCATOR = sys.argv[1:3]
CHAINS = [
    "clean --zero pressure --marks | resample --rate 5 --errors",
    "smooth --errors | diff --errors | integrate --channel flow --errors",
    "derive --errors | pick --keep pressure,outflow --from 1s",
    "read | tag --set score=3 --mark first-drip=3s | split",
    "write --format json",
    "write --format wav --missing nan --channel pressure --scale pressure=0FS:0bar,1FS:16bar",
    "marks",
    "report",
    "check",
    "pulses",
    "spectrum",
    "align --channel flow,weight --max-delay 0.4s",
    "segment",
    "knees",
    "knees --model linear",
    "knees --model level --channel weight",
    "find --clean '--zero pressure' --digits 6",
]
# A pump that stands now and then: the edges of its gaps are placed by fits, which ask for memory.
PULSES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../fixtures/pulses-surge.csv")
FEW = 600


def log():
    """Forty rows of a shot: water, a rise, a plateau; with a mark, metadata and a missing sample."""
    lines = ["# shot: quay-1", "# dose: 18 g", "# scale.lag: 0.4 s",
             "# mark: note id=n1 from=2 to=2 note=knock",
             "time [s],pressure [bar],flow [ml/s],weight [g]"]
    for i in range(40):
        t = i / 4
        pressure = min(9, max(0, 2 * (t - 2))) + 0.01 * (i * 7 % 5)
        flow = "" if i == 20 else f"{4 - 0.4 * min(5, t) + 0.02 * (i * 3 % 7):.2f}"
        lines.append(f"{t},{pressure:.2f},{flow},{max(0, 2 * (t - 4)):.1f}")
    return "\n".join(lines) + "\n"


def run(chain, path, **more):
    env = dict(os.environ, LD_PRELOAD=ALLOCATOR, **more)
    command = [os.path.join(BIN, "shot-run"), "--jobs", "1", chain, path]
    return subprocess.run(command, env=env, capture_output=True, timeout=60, check=False)


def check(chain, path, count_path):
    whole = run(chain, path, COUNT_TO=count_path)
    assert whole.returncode == 0, (chain, whole.stderr)
    calls = int(open(count_path, encoding="ascii").read())
    assert calls > 100, (chain, "the allocator was not loaded")
    failed, bad = 0, []
    for n in range(1, calls + 1, 1 if calls < FEW else 3):
        one = run(chain, path, FAIL_AT=str(n))
        failed += one.returncode != 0
        if one.returncode not in (0, 1, 2):
            bad.append((chain, n, "ended with", one.returncode))
        elif one.returncode == 0 and one.stdout != whole.stdout:
            bad.append((chain, n, "wrote something else and said it was fine"))
        elif one.returncode != 0 and not one.stderr:
            bad.append((chain, n, "said nothing"))
    assert failed > 50, (chain, "hardly any call failed", failed)
    return bad


def main():
    bad = []
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "quay.csv")
        with open(path, "w", encoding="utf-8") as file:
            file.write(log())
        for chain in CHAINS:
            bad += check(chain, path, os.path.join(folder, "count"))
        bad += check("pulses", PULSES, os.path.join(folder, "count"))
    for one in bad:
        print(*one)
    return 1 if bad else 0


sys.exit(main())
