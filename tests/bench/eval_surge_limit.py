#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What shot-check says of the smallest surge beside what shot-surges finds in simulated shots: one
channel opens 18 s after water entered, nothing else happens, and the size is stepped.

usage: eval_surge_limit.py BUILD [SHOTS [SEED]]

Prints, for each grade of logger (style line), the median of surge.smallest over the shots without a
channel, the share of surges found (onset within 1 s) at each size, and the sizes that half and nine
in ten of the shots would show, interpolated between.
"""
import os
import statistics
import subprocess
import sys

BIN = os.path.join(sys.argv[1], "bin")
SHOTS = int(sys.argv[2]) if len(sys.argv) > 2 else 20
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else 3000
SIZES = (2, 3, 5, 7, 10, 15, 20, 30)  # %


def run(command):
    full = " | ".join("'%s'/shot-%s" % (BIN, part) for part in command.split(" | "))
    return subprocess.run(full, shell=True, capture_output=True, text=True).stdout


def onsets(table):
    """The surges of each shot in a table of marks."""
    found = {}
    for line in table.splitlines()[1:]:
        cells = line.split(",")
        if cells[2] == "surge" or (cells[2] == "note" and "channel" in line):
            found.setdefault(cells[0], []).append(float(cells[3]))
    return found


def share_found(shots, size):
    made = "%s --channel-at 18s --channel-size %d%%" % (shots, size)
    truth = onsets(run(made + " --truth | clean | marks"))
    found = onsets(run(made + " | clean | segment | surges | marks"))
    hits = sum(any(abs(a - t[0]) < 1 for a in found.get(shot, [])) for shot, t in truth.items())
    return hits / len(truth)


def limit(shots):
    told = [float(line.split(",")[3]) for line in run(shots + " | check --format csv").splitlines()
            if ",surge.smallest," in line and line.split(",")[3]]
    return statistics.median(told)


def size_for(shares, wanted):
    """The first size at which the share is reached, between two sizes by a straight line."""
    before = (0, 0)
    for size, share in shares:
        if share >= wanted:
            low, high = before, (size, share)
            return low[0] + (high[0] - low[0]) * (wanted - low[1]) / (high[1] - low[1])
        before = (size, share)
    return float("nan")


def main():
    print("%d shots each; share of surges found at a loss of resistance of" % SHOTS)
    print("%-8s %8s  %s %8s %8s" % ("logger", "limit", "".join("%6d %%" % size for size in SIZES),
                                   "half", "9 in 10"))
    for logger in ("clean", "typical", "harsh"):
        shots = ("synth --style line --logger %s --count %d --seed %d --channels none"
                 % (logger, SHOTS, SEED))
        shares = [(size, share_found(shots, size)) for size in SIZES]
        print("%-8s %6.1f %%  %s %6.1f %% %6.1f %%"
              % (logger, limit(shots), "".join("%8.2f" % share for _, share in shares),
                 size_for(shares, 0.5), size_for(shares, 0.9)), flush=True)


if __name__ == "__main__":
    main()
