#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Days of a machine, made of simulated shots with idle, flushes and a cleaning between; shot-split
must give the shots back.

    split_days.py BUILD [DAYS [FIRST]]

A shot is right if exactly one shot of the output overlaps it, which holds it whole, begins within
1.5 s of the water coming on (where there is no flow meter: before it) and ends within 12 s (25 s
with a scale alone) of the pump being shut off; a shot of the output that overlaps none is extra.
What stands for a flush is free flow of 6 to 9 ml/s, at 0.1 to 0.25 bar where the gauge is at the
puck, 5 to 8 where it is at the pump; for a cleaning, 3 to 6 times 9 bar for 6 to 10 s with 6 ml
through it.  docs/split.md quotes the shares of 20 days; fewer may fall short of them by three standard
errors of a proportion (one in 700), and nothing may be extra."""
import math
import os
import random
import subprocess
import sys

BIN = os.path.join(sys.argv[1], "bin")
DAYS = int(sys.argv[2]) if len(sys.argv) > 2 else 3
FIRST = int(sys.argv[3]) if len(sys.argv) > 3 else 101  # seeds; 1 to 4 served to set the bounds
UNITS = {"pressure": "bar", "flow": "ml/s", "weight": "g"}
RATES = (5, 10, 20, 50)
SIMPLE = "restrictor line free flow".split()
WETTED = "soak pulses".split()
HAND = "spring hand step choked".split()
# channels, gauge, styles, right of 80 shots (20 days from seed 101 on)
CASES = [
    ("pressure,flow,weight", "puck", SIMPLE, 80), ("pressure,flow,weight", "pump", SIMPLE, 80),
    ("pressure,flow,weight", "puck", WETTED, 77), ("pressure,flow,weight", "pump", HAND, 78),
    ("pressure,flow", "puck", SIMPLE, 79), ("pressure,flow", "pump", WETTED, 69),
    ("pressure,weight", "puck", SIMPLE, 80), ("pressure", "puck", HAND[:3], 69),
    ("flow,weight", "puck", SIMPLE, 75), ("weight", "puck", SIMPLE, 75),
]


def simulate(style, seed, rate, channels, gauge):
    """Rows, and when water came on and went off."""
    command = (f"'{BIN}'/shot-synth --style {style} --seed {seed} --rate {rate} --channel {channels} "
               f"--gauge {gauge} --truth | '{BIN}'/shot-clean")
    text = subprocess.run(command, shell=True, capture_output=True, text=True).stdout
    rows, on, off = [], None, None
    for line in text.splitlines():
        if line.startswith("# mark: "):
            mark = dict(word.split("=", 1) for word in line.split()[3:] if "=" in word)
            on = float(mark["from"]) if line.split()[2] == "fill" else on
            off = float(mark["from"]) if line.split()[2] == "release" else off
        elif line[:1].isdigit() or line[:1] == "-":
            rows.append([float(cell) if cell else None for cell in line.split(",")])
    return rows, on, off


class Day:
    def __init__(self, seed, channels, gauge, rate):
        self.random = random.Random(seed)
        self.names = channels.split(",")
        self.gauge, self.rate, self.time, self.tare = gauge, rate, 0.0, 0.0
        self.rows, self.shots = [], []

    def row(self, p, q, w):
        r = self.random
        values = {"pressure": round(p + r.gauss(0, 0.03), 2),
                  "flow": round(max(q, 0) + (r.gauss(0, 0.06) if q > 0 else 0), 2),
                  "weight": round(self.tare + w + r.gauss(0, 0.05), 1)}
        self.rows.append([self.time] + [values[name] for name in self.names])
        self.time = round(self.time + 1 / self.rate, 4)

    def idle(self, seconds, w=0.0):
        for _ in range(int(seconds * self.rate)):
            self.row(0, 0, w)

    def flush(self, seconds):
        flow = self.random.uniform(6, 9)
        p = 0.003 * flow ** 2 if self.gauge == "puck" else self.random.uniform(5, 8)
        x = 0
        for _ in range(int(seconds * self.rate)):
            x += (1 - x) * (1 - math.exp(-1 / self.rate / 0.4))
            self.row(p * x, flow * x, 0)
        while x > 0.02:
            x *= math.exp(-1 / self.rate / 0.3)
            self.row(p * x, 0.3 * flow * x, 0)

    def cleaning(self):
        for _ in range(self.random.randint(3, 6)):
            for i in range(int(self.random.uniform(6, 10) * self.rate)):
                fade = math.exp(-i / self.rate / 0.8)
                self.row(9 * (1 - fade), 8 * fade, 0)
            for i in range(int(1.5 * self.rate)):
                self.row(9 * math.exp(-i / self.rate / 0.3), 0, 0)
            self.idle(self.random.uniform(4, 9))

    def shot(self, style, seed):
        rows, on, off = simulate(style, seed, self.rate, ",".join(self.names), self.gauge)
        start = self.time - rows[0][0]
        self.rows += [[round(start + row[0], 4)] + row[1:] for row in rows]
        self.time = round(self.rows[-1][0] + 1 / self.rate, 4)
        self.shots.append((start + on, start + off))
        return (rows[-1][-1] or 0) if self.names[-1] == "weight" else 0

    def fill(self, styles, seed):
        r = self.random
        for k in range(4):
            self.idle(r.uniform(60, 150))
            if r.random() < 0.6:
                self.flush(r.uniform(2, 5))
                self.idle(r.uniform(8, 25))
            self.tare += r.uniform(100, 200)  # the cup, and the scale tared
            self.idle(4)
            self.tare = 0.0
            self.idle(2)
            drunk = self.shot(r.choice(styles), 100 * seed + k)
            self.idle(r.uniform(3, 15), drunk)
            self.tare = -r.uniform(100, 200)
            if r.random() < 0.6:
                self.flush(r.uniform(2, 4))
        self.idle(60)
        self.cleaning()
        self.idle(60)
        self.flush(4)
        self.idle(30)

    def text(self):
        head = "time [s]," + ",".join(f"{name} [{UNITS[name]}]" for name in self.names)
        lines = (",".join("" if cell is None else repr(cell) for cell in row) for row in self.rows)
        return head + "\n" + "\n".join(lines) + "\n"


def pieces(text):
    """First row, time 0 and last row of each shot, in the clock of the log."""
    run = subprocess.run([BIN + "/shot-split"], input=text, capture_output=True, text=True)
    out = []
    for line in run.stdout.splitlines():
        if line.startswith("# t0:"):
            out.append([None, float(line.split()[2]), None])
        elif line[:1].isdigit() or line[:1] == "-":
            now = out[-1][1] + float(line.split(",")[0])
            out[-1][0] = now if out[-1][0] is None else out[-1][0]
            out[-1][2] = now
    return out


def is_right(piece, on, off, names):
    begins = abs(piece[1] - on) <= 1.5 if "flow" in names else piece[0] <= on + 0.5
    late = 25 if names == ["weight"] else 12
    return begins and off - 0.5 <= piece[2] <= off + late


failed = False
for channels, gauge, styles, of_80 in CASES:
    right = count = extra = 0
    for seed in range(FIRST, FIRST + DAYS):
        day = Day(seed, channels, gauge, RATES[seed % 4])
        day.fill(styles, seed)
        got, met = pieces(day.text()), set()
        for on, off in day.shots:
            over = [i for i, piece in enumerate(got) if piece[0] < off + 5 and piece[2] > on]
            met.update(over)
            right += len(over) == 1 and is_right(got[over[0]], on, off, day.names)
            count += 1
        extra += len(got) - len(met)
    print(f"{channels}, gauge at the {gauge}, {' '.join(styles)}: {right} of {count} right, {extra} extra")
    share = min(of_80, 79) / 80  # none wrong of 80 is not none wrong ever
    least = share - 3 * math.sqrt(share * (1 - share) / count)
    failed = failed or right < least * count or extra > 0
sys.exit(failed)
