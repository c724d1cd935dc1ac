#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Simulated shots written as two logs with clocks apart; shot-join must find by how much.

    join_clocks.py BUILD [SHOTS [FIRST]]      shots a style, and the first seed

docs/join.md quotes the shares; the bounds here are 95 % less two standard errors of so few shots
and what the third set of seeds missed besides (2 % of the one kind, 8 % of the other)."""
import math
import os
import random
import re
import subprocess
import sys
import tempfile

BIN = os.path.join(sys.argv[1], "bin")
SHOTS = int(sys.argv[2]) if len(sys.argv) > 2 else 3
FIRST = int(sys.argv[3]) if len(sys.argv) > 3 else 41  # seeds; 1 to 40 served to set the intervals
STYLES = "restrictor soak pulses spring flow hand step free line".split()
NAMES = ["time", "pressure", "flow", "weight"]
UNITS = {"pressure": "bar", "flow": "ml/s", "weight": "g"}
# channels of the two logs, least share within the interval before chance
CASES = [(["pressure"], ["pressure", "weight"], 0.97), (["flow"], ["weight"], 0.87),
         (["pressure"], ["weight"], 0.87)]
NOTE = re.compile(r"put (-?[\d.]+) s later \(95 % interval (-?[\d.]+) to (-?[\d.]+)\)")
folder = tempfile.TemporaryDirectory()


def simulate(style, seed):
    command = (f"'{BIN}'/shot-synth --style {style} --seed {seed} --rate 50 --channel pressure,flow,weight "
               f"--gauge {('puck', 'pump')[seed % 2]} | '{BIN}'/shot-clean")
    text = subprocess.run(command, shell=True, capture_output=True, text=True).stdout
    lag = [line for line in text.splitlines() if line.startswith("# scale.lag")]
    rows = [line.split(",") for line in text.splitlines() if line[:1].isdigit() or line[:1] == "-"]
    return lag, rows


def write(name, head, rows, channels, rate, shift, cut):
    path = os.path.join(folder.name, name)
    first, last, due = float(rows[0][0]) + cut[0], float(rows[-1][0]) - cut[1], -math.inf
    with open(path, "w") as out:
        out.writelines(line + "\n" for line in head)
        out.write("time [s]," + ",".join(f"{name} [{UNITS[name]}]" for name in channels) + "\n")
        for row in rows:
            now = float(row[0])
            if first <= now <= last and now >= due:
                due = now + 1 / rate - 1e-3
                cells = [row[NAMES.index(name)] for name in channels]
                out.write(",".join([repr(round(now - shift, 3))] + cells) + "\n")
    return path


def try_shot(style, seed, in_a, in_b):
    """True if the true offset lies within the interval; None where it was refused."""
    chance = random.Random(7 * seed + 1)
    lag, rows = simulate(style, seed)
    shift = chance.uniform(-20, 20)
    a = write("a.csv", [], rows, in_a, 20, 0, (chance.uniform(0, 1), chance.uniform(0, 2)))
    b = write("b.csv", lag, rows, in_b, 10, shift, (chance.uniform(0, 1), chance.uniform(0, 2)))
    run = subprocess.run([BIN + "/shot-join", a, b], capture_output=True, text=True)
    found = NOTE.search(run.stdout)
    return found and float(found[2]) <= shift <= float(found[3])


failed = False
for in_a, in_b, share in CASES:
    results = [try_shot(style, seed, in_a, in_b)
               for style in STYLES for seed in range(FIRST, FIRST + SHOTS)]
    found = [result for result in results if result is not None]
    held = sum(found)
    least = share - 2 * math.sqrt(0.95 * 0.05 / len(found))
    print(f"{','.join(in_a)} and {','.join(in_b)}: found {len(found)} of {len(results)}, "
          f"held by the interval {held}")
    failed = failed or held < least * len(found) or len(found) < 0.9 * len(results)
sys.exit(failed)
