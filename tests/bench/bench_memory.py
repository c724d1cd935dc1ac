#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Peak memory of every filter on an hour at 100 Hz and on 10,000 shots, as the kernel reports it.

usage: bench_memory.py BUILD
"""
import os
import subprocess
import sys
import tempfile

BIN = os.path.join(sys.argv[1], "bin")
PEAK = os.path.join(sys.argv[1], "outside", "peak_memory_driver")
HERE = os.path.dirname(os.path.abspath(__file__))
ALONE = {"shot-run", "shot-synth", "shot-sweep"}  # need a chain, read nothing, or need many shots


def peak(tool, path):
    """MiB, or None where the tool wants options or cannot use such a log."""
    with open(path) as log:
        ran = subprocess.run([PEAK, BIN + "/" + tool], stdin=log, stdout=subprocess.DEVNULL,
                             stderr=subprocess.PIPE, text=True, check=True)
    kib, status = ran.stderr.splitlines()[-1].split()
    return int(kib) / 1024 if status == "0" else None


def kind(tool):
    text = subprocess.run([BIN + "/" + tool, "--help"], capture_output=True, text=True).stdout
    return "window" if "Memory: bounded by its window" in text else "shot"


def shown(mib):
    return "%8.1f" % mib if mib is not None else "%8s" % "-"


def main():
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["/usr/bin/python3", HERE + "/baselines/make_logs.py", "--only",
                        "k10-10hz,hour-100hz", folder], check=True, stdout=subprocess.DEVNULL)
        print("peak memory, MiB      class   hour at 100 Hz   10,000 shots")
        for tool in sorted(t for t in os.listdir(BIN) if t.startswith("shot-")):
            if tool not in ALONE:
                print("%-20s  %-6s  %s        %s"
                      % (tool, kind(tool), shown(peak(tool, folder + "/hour-100hz.trace")),
                         shown(peak(tool, folder + "/k10-10hz.trace"))))


if __name__ == "__main__":
    main()
