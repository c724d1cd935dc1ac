#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Shots resampled, cleaned, smoothed and differentiated, text in and text out: shot-run and the
shell pipe beside the baselines, in one run, interleaved; then a pipe of six beside six cats.

usage: bench_chain.py BUILD [SHOTS [ROUNDS]]

Every figure is the least of the rounds.  CPU is user and system time of all processes; it is what
one core needs, and other work on the machine moves it less than the clock on the wall.  The ratios
of one process compare CPU, those of a pipe, whose stages run side by side, the wall.
"""
import os
import resource
import subprocess
import sys
import tempfile
import time

BUILD = sys.argv[1]
SHOTS = int(sys.argv[2]) if len(sys.argv) > 2 else 10000
ROUNDS = int(sys.argv[3]) if len(sys.argv) > 3 else 2
HERE = os.path.dirname(os.path.abspath(__file__))
BIN = os.path.join(BUILD, "bin")
PYTHON = "/usr/bin/python3"

# The work of the baselines: a grid of 10 Hz, spikes, a window of 11 and order 3, two derivatives.
STAGES = ["resample --rate 10", "clean", "smooth --window 11 --order 3",
          "diff --channel pressure,weight"]
SIX = ["clean", "resample --rate 20", "smooth", "diff", "segment", "report"]


def cost(command):
    """(CPU s, wall s) of a shell command whose output goes nowhere; os.times() tells hundredths of
    a second only, a tenth of what is measured."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    subprocess.run(["sh", "-c", command], stdout=subprocess.DEVNULL, check=True,
                   env=dict(os.environ, PATH=BIN + ":" + os.environ["PATH"]))
    wall, after = time.monotonic() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, wall


def least(commands, rounds):
    """The least CPU and wall time of each, the rounds interleaved."""
    best = {name: (1e9, 1e9) for name in commands}
    for _ in range(rounds):
        for name, command in commands.items():
            best[name] = tuple(map(min, best[name], cost(command)))
    return best


def pipe(stages, file):
    tools = ["shot-" + stage for stage in stages]
    return "%s < %s | %s" % (tools[0], file, " | ".join(tools[1:]))


def make_logs(folder):
    """The first SHOTS shots of the 10,000, as a stream and as a table."""
    name = "k1-10hz" if SHOTS <= 1000 else "k10-10hz"
    subprocess.run([PYTHON, HERE + "/baselines/make_logs.py", "--only", name + ",one-10hz", folder],
                   check=True, stdout=subprocess.DEVNULL)
    base = os.path.join(folder, name)
    if SHOTS in (1000, 10000):
        return base
    last = "shot-%05d" % SHOTS
    subprocess.run(["sh", "-c", "sed '/^# shot: %s/,$d' %s.trace > %s/some.trace;"
                    "sed '/^%s,/,$d' %s.csv > %s/some.csv"
                    % (last, base, folder, last, base, folder)], check=True)
    return os.path.join(folder, "some")


def ratio(best, what, to, by, goal):
    got = best[to][by] / best[what][by]
    print("  %-34s %6.1f x faster than %-14s goal %3d x: %s"
          % (what, got, to, goal, "reached" if got >= goal else "missed"))


def compare_chains(base):
    trace, table = base + ".trace", base + ".csv"
    chain = " | ".join(STAGES)
    six_digits = " | ".join(STAGES[:-1] + [STAGES[-1] + " --digits 6"])
    commands = {
        "shot-run --jobs 1": "shot-run --jobs 1 '%s' %s" % (chain, trace),
        "shot-run --jobs 1, --digits 6": "shot-run --jobs 1 '%s' %s" % (six_digits, trace),
        "shell pipe": pipe(STAGES, trace),
        "NumPy": "%s %s/baselines/numpy_fast.py --stage deriv --out traces %s"
                 % (PYTHON, HERE, table),
        "pandas + SciPy": "%s %s/baselines/pandas_scipy.py --stage deriv --out traces %s"
                          % (PYTHON, HERE, table)}
    best = least(commands, ROUNDS)
    print("%d shots, %.1f MB of text: %s" % (SHOTS, os.path.getsize(trace) / 1e6, chain))
    for name, (cpu, wall) in best.items():
        print("  %-34s %8.3f s CPU %8.3f s wall" % (name, cpu, wall))
    for ours in ("shot-run --jobs 1", "shot-run --jobs 1, --digits 6"):
        ratio(best, ours, "pandas + SciPy", 0, 60)
        ratio(best, ours, "NumPy", 0, 10)
    ratio(best, "shell pipe", "pandas + SciPy", 1, 15)


def compare_start(folder):
    """So short that starting the processes is most of it: many in a row, the least of the rows."""
    repeats, one = 20, os.path.join(folder, "one-10hz.trace")
    loop = "i=0; while [ $i -lt %d ]; do %%s; i=$((i+1)); done" % repeats
    best = least({"six filters": loop % pipe(SIX, one),
                  "six cats": loop % ("cat < %s" % one + " | cat" * 5)}, 8)
    print("one shot of 300 rows through a pipe of six: %s" % " | ".join(SIX))
    for name, (cpu, wall) in best.items():
        print("  %-34s %8.2f ms CPU %7.2f ms wall" % (name, 1e3 * cpu / repeats,
                                                       1e3 * wall / repeats))
    got = best["six filters"][1] / best["six cats"][1]
    print("  the filters take %.2f times the wall time of the cats; goal 3 times: %s"
          % (got, "reached" if got <= 3 else "missed"))


def main():
    try:
        import numpy, pandas, scipy  # noqa: F401, E401
    except ImportError:
        print("bench_chain: needs python3-numpy, python3-scipy and python3-pandas")
        return
    with tempfile.TemporaryDirectory() as folder:
        compare_chains(make_logs(folder))
        compare_start(folder)


if __name__ == "__main__":
    main()
