#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where an allocation fails, a chain or a tool says so and ends with status 1: no crash, and no other
output or message with status 0, such as a verdict that leaves a warning out.

  lack_of_memory.py BIN ALLOCATOR

ALLOCATOR (preload/lack_of_memory.c) fails at the n-th call; each n is tried, every third where there
are many.  Of the thousands with which a judging tool reads its shots every fiftieth is, of those
behind them each; of a tool over several shots, files or threads some eighty are.  What a library does that a chain stands on is left out of account: popt, which
reads options, ends the process by itself, with status 1 and a message, and its words may fail to say
why; GLib, behind other pictures than SVG, ends it with a signal; and libsndfile leaves out words of a
recording.
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
HERE = os.path.dirname(os.path.abspath(__file__))
PULSES = os.path.join(HERE, "../fixtures/pulses-surge.csv")
FEW = 600
CASES = os.path.join(HERE, "pipes")
JUDGES = [
    ["shot-compare", "--by", "grind", "--primary", "score", "--margin", "2",
     os.path.join(CASES, "shot-compare/340-four-days-and-a-fifth/in")],
    ["shot-compare", "--measure", "score,grind",
     os.path.join(CASES, "shot-compare/360-one-group-of-several-days/in")],
    ["shot-sweep", "--x", "bar", "--y", "cup", os.path.join(CASES, "shot-sweep/260-a-pressure-a-day/in")],
    ["shot-sweep", "--y", "brew.flow", os.path.join(CASES, "shot-sweep/010-reference-sweep/files/s.csv")],
]
TOOLS = [
    ["shot-tag", "--table", os.path.join(CASES, "shot-tag/020-tables-by-shot/files/notes.csv"), "--marks",
     os.path.join(CASES, "shot-tag/020-tables-by-shot/files/marks.csv"),
     os.path.join(CASES, "shot-tag/020-tables-by-shot/in")],
    ["shot-join", "--mark", "first-drip", "--fill",
     os.path.join(CASES, "shot-join/010-two-devices/files/gauge.csv"),
     os.path.join(CASES, "shot-join/010-two-devices/files/scale.csv")],
    ["shot-synth", "--recipe", "RECIPE"],
    ["shot-average", "--rate", "2", "--by", "grind", "SHOTS"],
    ["shot-report", "--wide", "--intervals", "SHOTS"],
    ["shot-pick", "--where", "grind>=9", "--phase", "brew", "--from", "900s", "SHOTS"],
    ["shot-write", "--unit", "pressure=psi", "SHOTS"],
    ["shot-run", "--jobs", "2", "clean | segment | check", "SHOTS", "SHOTS"],
    ["shot-split", "--explain", "DAY"],
    ["shot-plot", "--format", "svg", "SHOTS"],
]
JUDGING = 150  # calls behind the last shot that is read, at least


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


def written(folder, name, text):
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def shots_of(folder, path):
    """The log three times, with what a detector finds."""
    find = [os.path.join(BIN, "shot-run"), "clean | segment", path, path, path]
    shots = subprocess.run(find, capture_output=True, encoding="utf-8", check=True).stdout
    text = "".join(line + ("# grind: 9\n" if line.startswith("# shot:") else "")
                   for line in shots.splitlines(keepends=True))
    return written(folder, "shots.trace", text)


def day_of(folder):
    """Water that runs for a moment, an idle minute, and a shot."""
    rows = ["time [s],pressure [bar],flow [ml/s]"]
    for i in range(260):
        on, flush = 150 <= i < 230, 10 <= i < 20
        rows.append(f"{i / 2},{8 if on else 0}.{i % 2},{2 if on else 6 if flush else 0}.{i % 2}")
    return written(folder, "day.csv", "\n".join(rows) + "\n")


def recipe_of(folder):
    return written(folder, "shot.recipe", "style = line\nrate = 2\nlogger = clean\nseed = 3\n")


def run(command, **more):
    env = dict(os.environ, LD_PRELOAD=ALLOCATOR, **more)
    command = [os.path.join(BIN, command[0]), *command[1:]]
    return subprocess.run(command, env=env, capture_output=True, timeout=60, check=False)


def few_of_chain(calls):
    return range(1, calls + 1, 1 if calls < FEW else 3)


def all_of_judging(calls):
    return [*range(1, calls - JUDGING, 50), *range(calls - JUDGING, calls + 1)]


def some_of_tool(calls):
    return range(1, calls + 1, 1 if calls < 250 else calls // 80)


def check(command, which, count_path):
    whole = run(command, COUNT_TO=count_path)
    assert whole.returncode == 0, (command, whole.stderr)
    calls = int(open(count_path, encoding="ascii").read())
    assert calls > 100, (command, "the allocator was not loaded")
    failed, bad = 0, []
    for n in which(calls):
        one = run(command, FAIL_AT=str(n))
        failed += one.returncode != 0
        if one.returncode not in (0, 1, 2):
            bad.append((command, n, "ended with", one.returncode))
        elif one.returncode == 0 and (one.stdout, one.stderr) != (whole.stdout, whole.stderr):
            bad.append((command, n, "wrote something else and said it was fine"))
        elif one.returncode != 0 and not one.stderr:
            bad.append((command, n, "said nothing"))
    assert failed > 20, (command, "hardly any call failed", failed)
    return bad


def main():
    bad = []
    with tempfile.TemporaryDirectory() as folder:
        path = written(folder, "quay.csv", log())
        count = os.path.join(folder, "count")
        for chain, log_path in [*((one, path) for one in CHAINS), ("pulses", PULSES)]:
            bad += check(["shot-run", "--jobs", "1", chain, log_path], few_of_chain, count)
        for judge in JUDGES:
            bad += check(judge, all_of_judging, count)
        places = {"SHOTS": shots_of(folder, path), "DAY": day_of(folder), "RECIPE": recipe_of(folder)}
        for tool in TOOLS:
            bad += check([places.get(word, word) for word in tool], some_of_tool, count)
    for one in bad:
        print(*one)
    return 1 if bad else 0


sys.exit(main())
