#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Generate deterministic synthetic shot logs for the benchmarks.

usage: make_logs.py [--seed S] [--only NAME[,NAME...]] OUTDIR

Every shot is seeded by (seed, index), so the first 1,000 shots of the
10,000-shot set are the 1,000-shot set.  Each set is written in two forms:
  NAME.trace   '# shot: ID', a header line, rows; shot after shot
  NAME.csv     tidy CSV with a leading 'shot' column
"""
import argparse
import os

import numpy as np

HEADER = "time [s],pressure [bar],flow [ml/s],weight [g],temperature [degC]"
FMT = "%.3f,%.2f,%.2f,%.1f,%.2f\n"
SETS = {
    # name: (shots, rate Hz)
    "one-10hz": (1, 10),
    "one-100hz": (1, 100),
    "k1-10hz": (1000, 10),
    "k10-10hz": (10000, 10),
}


def smooth(x, n):
    if n < 2:
        return x
    k = np.hanning(n + 2)[1:-1]
    return np.convolve(np.pad(x, (n // 2, n - 1 - n // 2), "edge"),
                       k / k.sum(), "valid")


def make_shot(seed, index, rate):
    rng = np.random.default_rng([seed, index])
    dur = float(np.clip(rng.normal(30, 3.5), 22, 55))
    wet_t, wet_p = rng.uniform(4, 9), rng.uniform(1.5, 3.5)
    ramp = rng.uniform(1.5, 4.0)
    peak = rng.normal(9.0, 0.25)
    end_p = peak if rng.random() < 0.5 else peak - rng.uniform(1.0, 3.5)

    n = int(dur * rate)
    t = np.arange(n) / rate
    t = t + np.clip(rng.normal(0, 0.04, n), -0.2, 0.2) / rate   # jitter
    t -= t[0]
    keep = rng.random(n) >= 0.003                               # lost samples
    keep[0] = True
    t = t[keep]
    n = t.size

    p = np.interp(t, [0, 0.8, wet_t, wet_t + ramp, dur - 2.5, dur - 0.9, dur],
                  [0.1, wet_p, wet_p + 0.3, peak, end_p, 1.0, 0.2])
    p = smooth(p, max(2, int(0.5 * rate)))
    f0, f1, f2 = rng.uniform(4.5, 7), rng.uniform(1.2, 1.8), rng.uniform(1.8, 2.8)
    f = np.interp(t, [0, 0.7, 0.45 * wet_t, wet_t, wet_t + ramp, dur - 2.5, dur],
                  [0, f0, f0 * 0.8, 0.5, f1, f2, 0.2])
    f = smooth(f, max(2, int(0.6 * rate)))
    dt = np.diff(t, prepend=0.0)
    into_cup = np.where(t > wet_t + rng.uniform(0.2, 1.2), 0.96 * f, 0.0)
    w = np.cumsum(into_cup * dt)
    T = 93.0 - 2.2 * np.exp(-t / 6.0) + 0.2 * np.sin(t / 5.0) + rng.normal(0, 0.3)

    p = p + rng.normal(0, 0.03, n)
    f = f + rng.normal(0, 0.06, n)
    w = w + rng.normal(0, 0.04, n)
    T = T + rng.normal(0, 0.04, n)
    for x, lo, hi in ((p, 2, 6), (f, 2, 8), (w, 5, 40), (T, 5, 20)):   # spikes
        hit = rng.random(n) < 0.002
        x[hit] += rng.choice([-1, 1], hit.sum()) * rng.uniform(lo, hi, hit.sum())
    return np.column_stack([t, p, f, w, T])


def rows_text(m):
    scale = np.array([1e3, 1e2, 1e2, 1e1, 1e2])
    m = np.round(m * scale) / scale + 0.0          # + 0.0: no '-0.0' in the text
    return (FMT * len(m)) % tuple(m.ravel().tolist())


def write_set(outdir, name, seed, shots, rate):
    nrows = 0
    with open(os.path.join(outdir, name + ".trace"), "w") as a, \
         open(os.path.join(outdir, name + ".csv"), "w") as b:
        b.write("shot," + HEADER + "\n")
        for i in range(shots):
            ident = "shot-%05d" % (i + 1)
            text = rows_text(make_shot(seed, i, rate))
            a.write("# shot: %s\n%s\n%s" % (ident, HEADER, text))
            b.write(ident + "," + text[:-1].replace("\n", "\n" + ident + ",") + "\n")
            nrows += text.count("\n")
    report(outdir, name, shots, nrows)


def write_hour(outdir, seed, rate=100, total=3600.0):
    """One continuous log: idle, shot, idle, shot ... under one header."""
    parts, clock, i = [], 0.0, 0
    while clock < total:
        rng = np.random.default_rng([seed, 900000 + i])
        m = make_shot(seed, 500000 + i, rate)
        m[:, 0] += clock
        parts.append(m)
        clock = m[-1, 0] + 1.0 / rate
        n = int(rng.uniform(20, 90) * rate)
        idle = np.column_stack([
            clock + np.arange(n) / rate, np.abs(rng.normal(0.05, 0.03, n)),
            rng.normal(0, 0.03, n), rng.normal(0, 0.04, n), rng.normal(92, 0.05, n)])
        parts.append(idle)
        clock = idle[-1, 0] + 1.0 / rate
        i += 1
    m = np.concatenate(parts)
    m = m[m[:, 0] < total]
    text = rows_text(m)
    name, ident = "hour-100hz", "log-00001"
    with open(os.path.join(outdir, name + ".trace"), "w") as a:
        a.write("# shot: %s\n%s\n%s" % (ident, HEADER, text))
    with open(os.path.join(outdir, name + ".csv"), "w") as b:
        b.write("shot," + HEADER + "\n" + ident + ","
                + text[:-1].replace("\n", "\n" + ident + ",") + "\n")
    report(outdir, name, 1, len(m))


def report(outdir, name, shots, rows):
    size = os.path.getsize
    print("%-12s %6d shots %9d rows  trace %11d B  csv %11d B" % (
        name, shots, rows, size(os.path.join(outdir, name + ".trace")),
        size(os.path.join(outdir, name + ".csv"))))


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("outdir")
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--only", default="")
    a = ap.parse_args()
    os.makedirs(a.outdir, exist_ok=True)
    want = set(filter(None, a.only.split(",")))
    for name, (shots, rate) in SETS.items():
        if not want or name in want:
            write_set(a.outdir, name, a.seed, shots, rate)
    if not want or "hour-100hz" in want:
        write_hour(a.outdir, a.seed)


if __name__ == "__main__":
    main()
