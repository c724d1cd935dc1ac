#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Filters whose help says that their memory is bounded by their window keep within 8 MiB, whatever
the length of the stream: an hour at 100 Hz in one shot, ten minutes of it with all known channels,
and 2000 short shots.  A chain of them in
threads keeps within that for each thread: a fast reader does not run ahead of them.

usage: memory.py BUILD

The peak is the resident set that the kernel reports for the process (getrusage); 8 MiB is what the
documentation promises.  `bench_memory.py` prints the figures of all filters.
"""
import math
import os
import shlex
import subprocess
import sys
import tempfile

BIN = sys.argv[1] + "/bin"
PEAK = sys.argv[1] + "/outside/peak_memory_driver"
LIMIT = 8 * 1024  # KiB
CHANNELS = {"pressure": "bar", "flow": "ml/s", "weight": "g", "temperature": "degC"}
HEADER = ("".join("# noise: %s sd=0.03 corr=0s\n" % name for name in CHANNELS) + "time [s]," +
          ",".join("%s [%s]" % pair for pair in CHANNELS.items()) + "\n")

# Calls that are looked at beside the bare one.  (Low-pass filtering, and standard errors of noise
# that no line tells, hold the shot, and say so.)
CALLS = {
    "shot-clean": ["--zero pressure --marks", "--replace --window 3s"],
    "shot-diff": ["--derivative 2 --window 2s", "--errors"],
    "shot-integrate": ["--channel pressure,flow", "--channel flow --rule cubic",
                       "--channel pressure,flow --errors"],
    "shot-resample": ["--method linear --rate 10", "--method sinc --rate 10",
                      "--method sinc --rate 250", "--rate 10 --errors",
                      "--method sinc --rate 10 --errors"],
    "shot-smooth": ["--window 101 --order 4", "--method median --window 3s", "--cutoff 1Hz",
                    "--errors"],
}


CHAINS = {"shot-run --jobs 2 'clean | smooth --window 0.7s'": 2}  # and their threads


def write_rows(file, rows, step):
    for i in range(rows):
        t = i * step + (i * 7919 % 97) * step / 500  # jitter, as loggers have it
        wave = math.sin(t) + (i * 7919 % 101) / 1000  # a wave, and what looks like noise
        file.write("%.4f,%.3f,%.3f,%.2f,%.2f\n" % (t, 6 + wave, 2 + wave / 3, t % 40, 92 + wave / 9))


def write_all_channels(file, rows):
    for name in (*CHANNELS, "outflow", "water"):
        file.write("# noise: %s sd=0.03 corr=0s\n" % name)
    file.write("time [s],pressure [bar],flow [ml/s],outflow [g/s],weight [g],temperature [degC],"
               "water [ml],wanted.pressure [bar],wanted.flow [ml/s]\n")
    for i in range(rows):
        wave = math.sin(i / 100) + (i * 7919 % 101) / 1000
        file.write("%.4f,%.3f,%.3f,%.3f,%.2f,%.2f,%.2f,9,2\n"
                   % (i / 100 + (i * 7919 % 97) / 50000, 6 + wave, 2 + wave / 3, 1 + wave / 4,
                      i / 100 % 40, 92 + wave / 9, i / 50 % 300))


def write_logs(folder):
    hour, shots, wide = (os.path.join(folder, name) for name in ("hour", "shots", "all-channels"))
    with open(wide, "w") as file:
        write_all_channels(file, 60000)
    with open(hour, "w") as file:
        file.write(HEADER)
        write_rows(file, 360000, 0.01)
    with open(shots, "w") as file:
        for i in range(2000):
            file.write("# shot: %d\n%s" % (i, HEADER))
            write_rows(file, 60, 0.1)
    return hour, shots, wide


def window_filters():
    """Those that read a trace and say so; a converter of foreign logs is none of them."""
    for tool in sorted(os.listdir(BIN)):
        if tool.startswith("shot-") and tool != "shot-read":
            text = subprocess.run([BIN + "/" + tool, "--help"], capture_output=True, text=True).stdout
            if "Memory: bounded by its window" in text:
                yield tool


def calls_of(tool):
    return [tool] + ["%s %s" % (tool, words) for words in CALLS.get(tool, [])]


def peak(call, path):
    """KiB, and the exit status."""
    tool, *words = shlex.split(call)
    with open(path) as log:
        ran = subprocess.run([PEAK, BIN + "/" + tool, *words], stdin=log, stdout=subprocess.DEVNULL,
                             stderr=subprocess.PIPE, text=True, check=True)
    kib, status = ran.stderr.splitlines()[-1].split()
    return int(kib), int(status)


def main():
    failures, looked = 0, 0
    with tempfile.TemporaryDirectory() as folder:
        logs = write_logs(folder)
        calls = [(call, LIMIT) for tool in window_filters() for call in calls_of(tool)]
        calls += [(call, threads * LIMIT) for call, threads in CHAINS.items()]
        for call, limit in calls:
            for log in logs:
                kib, status = peak(call, log)
                if status == 2:  # needs options that say what to do
                    continue
                looked += 1
                if status != 0 or kib > limit:
                    failures += 1
                    print("%s: %d KiB on %s, at most %d allowed; exit status %d"
                          % (call, kib, os.path.basename(log), limit, status))
    if looked < 2 * sum(len(calls) for calls in CALLS.values()):
        failures += 1
        print("only %d runs: are there no window filters?" % looked)
    sys.exit(failures > 0)


if __name__ == "__main__":
    main()
