#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Baseline (ii): the same work, vectorised across all shots at once.

pandas' C engine reads; everything else is whole-array NumPy with shot
boundaries handled by index arithmetic; text is written by bulk '%'.

usage: numpy_fast.py [--stage STAGE] [--out none|summary|traces]
                     [--method pchip|linear] [--rate HZ] FILE.csv
"""
import argparse
import sys

import numpy as np
import pandas as pd

STAGES = ["read", "resample", "despike", "smooth", "deriv", "segment"]
CH = ["pressure [bar]", "flow [ml/s]", "weight [g]", "temperature [degC]"]
DCH = ["pressure rate [bar/s]", "weight rate [g/s]"]
PHASES = np.array(["wet", "ramp", "hold", "decline", "end"])
CHUNK = 1 << 16
NET7 = [(0, 6), (2, 3), (4, 5), (0, 2), (1, 4), (3, 6), (0, 1), (2, 5), (3, 4),
        (1, 2), (4, 6), (2, 3), (4, 5), (1, 2), (3, 4), (5, 6)]


def median7(rows):
    r = [x.copy() for x in rows]
    for i, j in NET7:
        lo = np.minimum(r[i], r[j])
        np.maximum(r[i], r[j], out=r[j])
        r[i] = lo
    return r[3]


def hampel(y, first, last, nsigma=3.0):
    out, bad = np.empty_like(y), np.empty(len(y), bool)
    for lo in range(0, len(y), CHUNK):
        hi = min(len(y), lo + CHUNK)
        i = np.arange(lo, hi)
        f, l = first[lo:hi], last[lo:hi]
        win = [y[np.clip(i + k, f, l)] for k in range(-3, 4)]
        med = median7(win)
        mad = median7([np.abs(w - med) for w in win])
        b = np.abs(y[lo:hi] - med) > nsigma * 1.4826 * mad + 1e-9
        out[lo:hi] = np.where(b, med, y[lo:hi])
        bad[lo:hi] = b
    return out, bad


def pchip_slopes(t, y, s, e):
    """Fritsch-Butland slopes for all shots; s, e: first and last row of each."""
    h, dl = np.diff(t), np.diff(y)
    with np.errstate(all="ignore"):
        dl = dl / h
        w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
        m = (w1 + w2) / (w1 / dl[:-1] + w2 / dl[1:])
    m = np.where(dl[:-1] * dl[1:] > 0, m, 0.0)
    d = np.empty_like(y)
    d[1:-1] = m

    def end(h0, h1, d0, d1):
        x = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
        x = np.where(np.sign(x) != np.sign(d0), 0.0, x)
        return np.where((np.sign(d0) != np.sign(d1)) & (np.abs(x) > 3 * np.abs(d0)),
                        3 * d0, x)
    d[s] = end(h[s], h[s + 1], dl[s], dl[s + 1])
    d[e] = end(h[e - 1], h[e - 2], dl[e - 1], dl[e - 2])
    return d


def savgol(y, first_rows, n, w=11, order=3):
    k = w // 2
    x = np.arange(-k, k + 1)
    v = np.vander(x, order + 1, increasing=True)
    hat = v @ np.linalg.pinv(v)               # w x w projection
    out = np.convolve(y, hat[k][::-1], "same")
    head = y[first_rows[:, None] + np.arange(w)] @ hat[:k].T
    out[first_rows[:, None] + np.arange(k)] = head
    tail0 = first_rows + n - w
    out[tail0[:, None] + np.arange(k + 1, w)] = \
        y[tail0[:, None] + np.arange(w)] @ hat[k + 1:].T
    return out


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("file")
    ap.add_argument("--stage", choices=STAGES, default="segment")
    ap.add_argument("--out", choices=["none", "summary", "traces"], default="summary")
    ap.add_argument("--method", choices=["pchip", "linear"], default="pchip")
    ap.add_argument("--rate", type=float, default=10.0)
    a = ap.parse_args()
    level, rate = STAGES.index(a.stage), a.rate

    df = pd.read_csv(a.file, engine="c", dtype={"shot": "category"})
    t = df["time [s]"].to_numpy()
    code = df["shot"].cat.codes.to_numpy()
    cols = [df[c].to_numpy() for c in CH]
    s = np.r_[0, np.flatnonzero(np.diff(code)) + 1]
    names = df["shot"].cat.categories[code[s]].to_numpy()
    e = np.r_[s[1:], len(t)] - 1
    del df

    if level == 0:
        if a.out == "traces":
            write_traces(names, s, e - s + 1, t, cols, None)
        else:
            print(len(t), sum(c.sum() for c in cols))
        return

    # one global, strictly increasing clock: shot k lives at k * 1e4 s
    gn = ((t[e] - t[s]) * rate + 1e-9).astype(np.int64) + 1
    gs = np.r_[0, np.cumsum(gn)[:-1]]
    ge = gs + gn - 1
    which = np.repeat(np.arange(len(s)), gn)
    pos = np.arange(gn.sum()) - np.repeat(gs, gn)
    grid = t[s][which] + pos / rate
    off_in = np.repeat(np.arange(len(s)) * 1e4, e - s + 1)
    T, G = t + off_in, grid + which * 1e4
    if a.method == "linear":
        cols = [np.interp(G, T, c) for c in cols]
    else:
        i = np.clip(np.searchsorted(T, G, side="right") - 1, s[which], e[which] - 1)
        h = t[i + 1] - t[i]
        u = (grid - t[i]) / h
        h00, h10 = (1 + 2 * u) * (1 - u) ** 2, u * (1 - u) ** 2 * h
        h01, h11 = u * u * (3 - 2 * u), u * u * (u - 1) * h
        cols = [h00 * c[i] + h10 * d[i] + h01 * c[i + 1] + h11 * d[i + 1]
                for c, d in ((c, pchip_slopes(t, c, s, e)) for c in cols)]
    del T, G
    first, last = gs[which], ge[which]
    bad, deriv, phase = None, None, None
    if level >= 2:
        bad = np.zeros(len(grid), bool)
        for k in range(4):
            cols[k], b = hampel(cols[k], first, last)
            bad |= b
    if level >= 3:
        cols = [savgol(c, gs, gn) for c in cols]
    if level >= 4:
        deriv = []
        for c in (cols[0], cols[2]):
            d = np.empty_like(c)
            d[1:-1] = (c[2:] - c[:-2]) * (rate / 2)
            d[gs] = (c[gs + 1] - c[gs]) * rate
            d[ge] = (c[ge] - c[ge - 1]) * rate
            deriv.append(d)
    if level >= 5:
        p = cols[0]
        peak = np.maximum.reduceat(p, gs)
        big = len(p)
        above, high = p >= (0.45 * peak)[which], p >= (0.9 * peak)[which]
        i1 = np.minimum.reduceat(np.where(above, pos, big), gs)
        i2 = np.minimum.reduceat(np.where(high, pos, big), gs)
        i3 = np.maximum.reduceat(np.where(high, pos, -1), gs) + 1
        i4 = np.maximum(np.maximum.reduceat(np.where(above, pos, -1), gs) + 1, i3)
        phase = ((pos >= i1[which]).astype(np.int8) + (pos >= i2[which])
                 + (pos >= i3[which]) + (pos >= i4[which]))
    if a.out == "traces":
        write_traces(names, gs, gn, grid, cols + (deriv or []), phase)
    elif a.out == "summary" and level >= 5:
        hold = phase == 2
        nh = np.add.reduceat(hold, gs, dtype=float)
        drip = np.minimum.reduceat(np.where(cols[2] > 0.5, pos, big), gs)
        pd.DataFrame({
            "shot": names, "n": gn, "duration [s]": grid[ge] - grid[gs],
            "spikes": np.add.reduceat(bad, gs, dtype=np.int64), "wet [s]": i1 / rate,
            "ramp [s]": (i2 - i1) / rate, "hold [s]": (i3 - i2) / rate,
            "decline [s]": (i4 - i3) / rate, "peak [bar]": peak,
            "hold mean [bar]": np.add.reduceat(np.where(hold, p, 0), gs) / nh,
            "hold flow [ml/s]": np.add.reduceat(np.where(hold, cols[1], 0), gs) / nh,
            "drip [s]": np.where(drip < big, drip / rate, np.nan),
            "final [g]": cols[2][ge], "max rate [bar/s]": np.maximum.reduceat(deriv[0], gs),
            "mean temp [degC]": np.add.reduceat(cols[3], gs) / gn,
        }).to_csv(sys.stdout, index=False, float_format="%.4f")


def write_traces(names, start, count, t, cols, phase):
    head = ["shot", "time [s]"] + CH + DCH[:len(cols) - 4]
    sys.stdout.write(",".join(head + (["phase"] if phase is not None else [])) + "\n")
    row = ",%.4f" * (1 + len(cols)) + (",%s" if phase is not None else "") + "\n"
    m = np.column_stack([t] + cols)
    for name, lo, n in zip(names, start, count):
        block = m[lo:lo + n]
        if phase is None:
            vals = tuple(block.ravel().tolist())
        else:
            rows = block.tolist()
            vals = tuple(v for r, q in zip(rows, PHASES[phase[lo:lo + n]].tolist())
                         for v in (*r, q))
        sys.stdout.write((name + row) * n % vals)


if __name__ == "__main__":
    main()
