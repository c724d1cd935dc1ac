#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Filters whose help says that their memory is bounded by their window keep within 8 MiB, whatever
the length of the stream: an hour at 100 Hz in one shot, and many short shots.

usage: memory.py BUILD

The peak is the resident set that the kernel reports for the process (getrusage); 8 MiB is what the
documentation promises.  `bench_memory.py` prints the figures of all filters.
"""
import math
import os
import subprocess
import sys
import tempfile

BIN = sys.argv[1] + "/bin"
PEAK = sys.argv[1] + "/outside/peak_memory_driver"
LIMIT = 8 * 1024  # KiB
HEADER = "time [s],pressure [bar],flow [ml/s],weight [g],temperature [degC]\n"


def write_rows(file, rows, step):
    for i in range(rows):
        t = i * step
        wave = math.sin(t) + (i * 7919 % 101) / 1000  # a wave, and what looks like noise
        file.write("%.2f,%.3f,%.3f,%.2f,%.2f\n" % (t, 6 + wave, 2 + wave / 3, t % 40, 92 + wave / 9))


def write_logs(folder):
    hour, shots = os.path.join(folder, "hour"), os.path.join(folder, "shots")
    with open(hour, "w") as file:
        file.write(HEADER)
        write_rows(file, 360000, 0.01)
    with open(shots, "w") as file:
        for i in range(2000):
            file.write("# shot: %d\n%s" % (i, HEADER))
            write_rows(file, 60, 0.1)
    return hour, shots


def window_filters():
    """Those that read a trace and say so; a converter of foreign logs is none of them."""
    for tool in sorted(os.listdir(BIN)):
        if tool.startswith("shot-") and tool != "shot-read":
            text = subprocess.run([BIN + "/" + tool, "--help"], capture_output=True, text=True).stdout
            if "Memory: bounded by its window" in text:
                yield tool


def peak(tool, path):
    """KiB, and the exit status."""
    with open(path) as log:
        ran = subprocess.run([PEAK, BIN + "/" + tool], stdin=log, stdout=subprocess.DEVNULL,
                             stderr=subprocess.PIPE, text=True, check=True)
    kib, status = ran.stderr.splitlines()[-1].split()
    return int(kib), int(status)


def main():
    failures, looked = 0, 0
    with tempfile.TemporaryDirectory() as folder:
        logs = write_logs(folder)
        for tool in window_filters():
            for log in logs:
                kib, status = peak(tool, log)
                if status == 2:  # needs options that say what to do
                    continue
                looked += 1
                if kib > LIMIT:
                    failures += 1
                    print("%s: %d KiB on %s, at most %d allowed"
                          % (tool, kib, os.path.basename(log), LIMIT))
    if looked < 10:
        failures += 1
        print("only %d runs: are there no window filters?" % looked)
    sys.exit(failures > 0)


if __name__ == "__main__":
    main()
