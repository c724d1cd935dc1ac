#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long a row takes through five filters in a shell pipe of five processes: from the row that
completes the look-ahead being written to its output being read here.

usage: bench_latency.py BUILD [ROWS]

Rows are written one at a time, PACE apart.  Which row completes which output is told by the same
chain in one process (bench_latency CHAIN), so that a late output is not taken for an early one of
the next row.
"""
import math
import os
import random
import select
import subprocess
import sys
import time

BUILD = sys.argv[1]
ROWS = int(sys.argv[2]) if len(sys.argv) > 2 else 2500
BIN = os.path.join(BUILD, "bin")
PACE = 0.004  # s
WARM = 100    # rows before which nothing is counted: processes start, pages are new
STAGES = ["clean", "resample --rate 20", "smooth --window 0.7s",
          "diff --channel pressure,weight", "derive"]
HEADER = "time [s],pressure [bar],flow [ml/s],weight [g]\n"


def make_rows(rate):
    draw = random.Random(7)
    return ["%.3f,%.2f,%.2f,%.1f\n" % (i / rate, 6 + 3 * math.sin(i / rate) + draw.gauss(0, 0.05),
                                       2 + math.sin(i / rate / 2) + draw.gauss(0, 0.03),
                                       1.5 * i / rate) for i in range(ROWS)]


def completing_rows(rows):
    out = subprocess.run([os.path.join(BUILD, "bench", "bench_latency"), " | ".join(STAGES)],
                         input=HEADER + "".join(rows), capture_output=True, text=True, check=True)
    return [int(line) for line in out.stdout.split()]


def start(command):
    return subprocess.Popen(["sh", "-c", command], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                            bufsize=0, env=dict(os.environ, PATH=BIN + ":" + os.environ["PATH"]))


def collect(pipe, until, arrivals, rest):
    """Note when rows arrive, until a moment; what is left of a line."""
    while True:
        wait = until - time.monotonic()
        if wait <= 0 or not select.select([pipe.stdout], [], [], wait)[0]:
            return rest
        bytes_read = os.read(pipe.stdout.fileno(), 65536)
        moment = time.monotonic()
        if not bytes_read:
            return rest
        lines = (rest + bytes_read).split(b"\n")
        rest = lines.pop()
        arrivals.extend(moment for line in lines if line[:1].isdigit() or line[:1] == b"-")


def run(command, rows):
    pipe, sent, arrivals, rest = start(command), [], [], b""
    pipe.stdin.write(HEADER.encode())
    rest = collect(pipe, time.monotonic() + 0.3, arrivals, rest)
    for row in rows:
        sent.append(time.monotonic())
        pipe.stdin.write(row.encode())
        rest = collect(pipe, sent[-1] + PACE, arrivals, rest)
    collect(pipe, time.monotonic() + 0.3, arrivals, rest)
    pipe.stdin.close()
    pipe.stdout.close()
    pipe.wait()
    return sent, arrivals


def say(what, delays):
    delays = sorted(1e3 * d for d in delays)
    print("  %-34s %6d outputs, %.3f ms in the median, %.3f ms for 99 %%, %.3f ms at most"
          % (what, len(delays), delays[len(delays) // 2], delays[len(delays) * 99 // 100],
             delays[-1]))


def main():
    print("from the row that completes the look-ahead to the output, in a shell pipe of five:")
    for stage in STAGES:
        words = stage.split()
        told = subprocess.run([os.path.join(BIN, "shot-" + words[0])] + words[1:] + ["--latency"],
                              capture_output=True, text=True, check=True).stdout.strip()
        print("  %-34s looks ahead: %s" % (stage, told))
    for rate in (10, 100):
        rows = make_rows(rate)
        by = completing_rows(rows)
        sent, arrivals = run(" | ".join("shot-" + stage for stage in STAGES), rows)
        say("%d rows a second" % rate,
            [moment - sent[i] for moment, i in zip(arrivals, by) if i >= WARM])
    sent, arrivals = run(" | ".join(["cat"] * 5), rows)
    say("five cats", [a - s for a, s in list(zip(arrivals, sent))[WARM:]])


if __name__ == "__main__":
    main()
