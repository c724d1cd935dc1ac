#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How the time of each filter grows with the log: CPU time a row (a shot, a block) at sizes ten times
apart, and the exponent of growth between the two largest, 1 where twice the rows take twice the time.

usage: bench_long.py BUILD [SECONDS]

Logs: a day of shots in one trace at 100 Hz, one that is nothing but noise, and one with a hole in each
hundred rows; tables of measures with a shot each.  A size is left out ('-') once a call took more than
SECONDS (60), or the one before it did.
"""
import math
import os
import resource
import subprocess
import sys
import tempfile

import numpy

BIN = os.path.join(sys.argv[1], "bin")
LIMIT = float(sys.argv[2]) if len(sys.argv) > 2 else 60
ROWS = (10**4, 10**5, 10**6)
SHOTS = (10**2, 10**3, 10**4)
DRAW = numpy.random.default_rng(20)
HEADER = "time [s],pressure [bar],flow [ml/s],weight [g]\n"

OF_ROWS = (
    "shot-read -",
    "shot-clean",
    "shot-resample --rate 20",
    "shot-resample --rate 20 --method linear",
    "shot-resample --rate 20 --method sinc",
    "shot-smooth --window 0.7s",
    "shot-smooth --window 0.7s --errors",
    "shot-smooth --window 2s --taper",
    "shot-smooth --method median --window 0.5s",
    "shot-smooth --method lowpass --cutoff 2Hz",
    "shot-diff --window 0.7s",
    "shot-integrate --channel flow --errors",
    "shot-derive",
    "shot-align --channel flow",
    "shot-check",
    "shot-split",
    "shot-segment",
    "shot-pulses",
    "shot-spectrum",
    "shot-knees",
    "shot-knees --model linear",
    "shot-knees --model level",
    "shot-report",
    "shot-plot -o /dev/null",
    "shot-write --format json",
)
OF_NOISE = ("shot-align --channel flow", "shot-knees", "shot-knees --model linear",
            "shot-knees --model level", "shot-segment", "shot-spectrum")
OF_HOLES = ("shot-resample --rate 20", "shot-smooth --window 0.7s --errors",
            "shot-integrate --channel flow", "shot-align --channel flow", "shot-check",
            "shot-segment")
OF_SHOTS = ("shot-compare", "shot-compare --by dose", "shot-compare --by dose --within block",
            "shot-sweep --x dose --y score", "shot-sweep --x dose --y score --within block")


def write(path, time, channels):
    rows = numpy.column_stack([time] + channels)
    with open(path, "w") as out:
        out.write(HEADER)
        numpy.savetxt(out, rows, fmt=("%.4f", "%.2f", "%.3f", "%.1f"), delimiter=",")


def a_day(time):
    """A shot of 30 s each minute: pre-wet at 2 bar, brewed at 9."""
    since = time % 60 - 8
    on, brewed = (since >= 0) & (since < 30), (since >= 5) & (since < 30)
    pressure = numpy.where(on, 2 * (1 - numpy.exp(-since.clip(0))), 0)
    pressure = numpy.where(brewed, 9 - 7 * numpy.exp(-(since - 5).clip(0) / 0.7), pressure)
    pressure = numpy.where(since >= 30, 9 * numpy.exp(-(since - 30).clip(0) / 0.4), pressure)
    flow = numpy.where(brewed, pressure / 4, numpy.where(on & (since < 3), 6, 0))
    return [pressure, flow, numpy.where(brewed, 2 * (since - 5), 0)]


def noisy(channels, time):
    return [c + 0.03 * DRAW.normal(size=len(time)) for c in channels]


def log(path, rows, kind):
    time = numpy.arange(rows) / 100
    if kind == "holes":
        time = time[numpy.arange(rows) % 100 < 90]
    write(path, time, noisy([0 * time] * 3 if kind == "noise" else a_day(time), time))


def table(path, shots, kind):
    """Three doses on each day (a block), three shots of each."""
    with open(path, "w") as out:
        out.write("shot,measure,value,unit,low,high,level,note\n")
        for i in range(shots):
            dose = 17 + i % 3
            values = (("dose", dose, "g"), ("block", i // 9, ""),
                      ("score", 6 - (dose - 18.2) ** 2 / 4 + DRAW.normal(), ""),
                      ("cup.mass", 36 + DRAW.normal(), "g"),
                      ("brew.time", 25 + DRAW.normal(), "s"))
            for name, value, unit in values:
                out.write("s%d,%s,%.6g,%s,,,,\n" % (i, name, value, unit))


def cpu_time(call, path):
    """s; None where it failed or was stopped."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    words = call.split()
    done = subprocess.run(
        [os.path.join(BIN, words[0])] + words[1:] + ([] if "-" in words else [path]),
        stdin=open(path) if "-" in words else subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(LIMIT),) * 2))
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    return spent if done.returncode == 0 else None


def growth(times, sizes):
    """Of the two largest that ended, where the larger took long enough to tell."""
    known = [(size, spent) for size, spent in zip(sizes, times) if spent]
    if len(known) < 2 or known[-1][1] < 0.05:
        return "       "
    (small, before), (large, after) = known[-2:]
    return "%7.2f" % (math.log(after / max(before, 1e-3)) / math.log(large / small))


def measure(title, unit, calls, sizes, paths):
    print("\n%-50s ns of CPU time a %s at %s  growth"
          % (title, unit, ", ".join("10^%d" % round(math.log10(size)) for size in sizes)))
    for call in calls:
        times = []
        for path in paths:
            ended = not times or times[-1] is not None
            times.append(cpu_time(call, path) if ended else None)
        print("  %-48s %s %s"
              % (call, " ".join("%10s" % ("-" if spent is None else "%.0f" % (1e9 * spent / size))
                                for spent, size in zip(times, sizes)), growth(times, sizes)),
              flush=True)


def files(folder, make, kind, sizes):
    paths = [os.path.join(folder, "%s-%d" % (kind, size)) for size in sizes]
    for path, size in zip(paths, sizes):
        make(path, size, kind)
    return paths


def main():
    with tempfile.TemporaryDirectory() as folder:
        for title, calls, kind in (("a day of shots in one trace", OF_ROWS, "day"),
                                   ("nothing but noise", OF_NOISE, "noise"),
                                   ("a hole in each hundred rows", OF_HOLES, "holes")):
            measure(title, "row", calls, ROWS, files(folder, log, kind, ROWS))
        measure("tables of measures", "shot", OF_SHOTS, SHOTS,
                files(folder, table, "table", SHOTS))


if __name__ == "__main__":
    main()
