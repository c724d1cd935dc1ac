#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The smallest knee that any method can show by shot-check, against what shot-knees finds in records
with such a bend; and its bound on the time of the first drop, against the error of shot-segment.

    check_limits.py BUILD [RECORDS]

At the limit nine of ten should be found, and at half of it next to none: of 20 records at least 14
(binomial, 0.9: 13 and fewer have 0.2 %) and at most 6 (binomial, 0.1: 7 and more have 0.2 %).  An error
must not be below its bound: a root mean square of 12 errors is above 0.6 of the true one in 98 of
100 (chi-square)."""
import math
import os
import random
import subprocess
import sys

BIN = os.path.join(sys.argv[1], "bin")
RECORDS = int(sys.argv[2]) if len(sys.argv) > 2 else 20
KNEE, END = 20.37, 40
failed = False


def run(command, text=""):
    full = " | ".join(f"'{BIN}'/shot-{part}" for part in command.split(" | "))
    return subprocess.run(full, shell=True, input=text, capture_output=True, text=True).stdout


def figure(table, channel, measure):
    for line in table.splitlines():
        cells = line.split(",")
        if cells[1] == channel and cells[2] == measure and cells[3]:
            return float(cells[3])
    return math.nan


def record(chance, bend, sd, rate):
    rows = ["time [s],pressure [bar]"]
    for i in range(int(END * rate)):
        t = i / rate
        rows.append(f"{t:.4f},{9 - bend * max(0, t - KNEE) + chance.gauss(0, sd):.4f}")
    return "\n".join(rows) + "\n"


def knees():
    global failed
    chance = random.Random(5)
    for sd, rate in ((0.03, 10), (0.05, 20), (0.02, 5)):
        checked = run("check --format csv", record(chance, 0, sd, rate))
        limit = figure(checked, "pressure", "knee.smallest")
        for times in (0.5, 1, 1.5, 2):
            found = 0
            for _ in range(RECORDS):
                marks = run("knees | marks", record(chance, times * limit, sd, rate))
                at = [float(line.split(",")[3]) for line in marks.splitlines()[1:] if ",knee," in line]
                found += any(abs(t - KNEE) < 1.5 for t in at)
            print(f"noise {sd} bar at {rate} Hz, {times} of {limit:.4f} bar/s: {found} of {RECORDS} found")
            share = found / RECORDS
            failed = failed or (times >= 1 and share < 0.7) or (times < 1 and share > 0.3)


def drops():
    global failed
    for logger in ("clean", "typical"):
        errors, bounds = [], []
        for seed in range(1, 13):
            raw = run(f"synth --seed {seed} --logger {logger} --truth").splitlines()
            truth = [line for line in raw if line.startswith("# mark: first-drip")]
            bare = "\n".join(line for line in raw if not line.startswith("# mark")) + "\n"
            bound = figure(run("check --format csv", bare), "", "drip.time.error") / 1.96
            marks = run("clean | segment | marks", bare)
            found = [float(line.split(",")[3]) for line in marks.splitlines() if ",first-drip," in line]
            if truth and found and not math.isnan(bound):
                true = [word for word in truth[0].split() if word.startswith("from=")][0]
                errors.append(found[0] - float(true[5:]))
                bounds.append(bound)
        rms = math.sqrt(sum(x * x for x in errors) / len(errors))
        least = math.sqrt(sum(x * x for x in bounds) / len(bounds))
        print(f"first drop, {logger} logger, {len(errors)} shots: error {rms:.3f} s, bound {least:.3f} s")
        failed = failed or rms < 0.6 * least


knees()
drops()
sys.exit(failed)
