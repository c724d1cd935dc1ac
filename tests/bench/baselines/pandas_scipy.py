#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Baseline (i): the obvious pandas + SciPy script, one groupby over shots.

usage: pandas_scipy.py [--stage STAGE] [--out none|summary|traces]
                       [--method pchip|linear] [--rate HZ] FILE.csv
Stages are cumulative: read, resample, despike, smooth, deriv, segment.
"""
import argparse
import sys

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view
from scipy.interpolate import PchipInterpolator
from scipy.signal import savgol_filter

STAGES = ["read", "resample", "despike", "smooth", "deriv", "segment"]
CH = ["pressure [bar]", "flow [ml/s]", "weight [g]", "temperature [degC]"]
DCH = ["pressure rate [bar/s]", "weight rate [g/s]"]
PHASES = np.array(["wet", "ramp", "hold", "decline", "end"])


def hampel(y, half=3, nsigma=3.0):
    win = sliding_window_view(np.pad(y, ((half, half), (0, 0)), "edge"),
                              2 * half + 1, axis=0)
    med = np.median(win, axis=2)
    mad = np.median(np.abs(win - med[:, :, None]), axis=2)
    bad = np.abs(y - med) > nsigma * 1.4826 * mad + 1e-9
    return np.where(bad, med, y), bad


def segment(p):
    """Phase index per sample from thresholds on the peak pressure."""
    peak = p.max()
    above = np.flatnonzero(p >= 0.45 * peak)
    high = np.flatnonzero(p >= 0.9 * peak)
    cuts = [above[0], high[0], high[-1] + 1, max(above[-1] + 1, high[-1] + 1)]
    return np.searchsorted(cuts, np.arange(len(p)), side="right"), cuts


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("file")
    ap.add_argument("--stage", choices=STAGES, default="segment")
    ap.add_argument("--out", choices=["none", "summary", "traces"], default="summary")
    ap.add_argument("--method", choices=["pchip", "linear"], default="pchip")
    ap.add_argument("--rate", type=float, default=10.0)
    a = ap.parse_args()
    level = STAGES.index(a.stage)

    df = pd.read_csv(a.file)
    frames, rows = [], []
    if level == 0:
        if a.out == "traces":
            df.to_csv(sys.stdout, index=False)
        else:
            print(len(df), df[CH].to_numpy().sum())
        return
    for shot, g in df.groupby("shot", sort=False):
        t = g["time [s]"].to_numpy()
        y = g[CH].to_numpy()
        grid = t[0] + np.arange(int((t[-1] - t[0]) * a.rate + 1e-9) + 1) / a.rate
        if a.method == "pchip":
            y = PchipInterpolator(t, y)(grid)
        else:
            y = np.column_stack([np.interp(grid, t, c) for c in y.T])
        spikes, d, phase, cuts = None, None, None, None
        if level >= 2:
            y, bad = hampel(y)
            spikes = int(bad.any(axis=1).sum())
        if level >= 3:
            y = savgol_filter(y, 11, 3, axis=0)
        if level >= 4:
            d = np.gradient(y[:, [0, 2]], 1.0 / a.rate, axis=0)
        if level >= 5:
            phase, cuts = segment(y[:, 0])
        if a.out == "traces":
            f = pd.DataFrame(y, columns=CH)
            f.insert(0, "time [s]", grid)
            f.insert(0, "shot", shot)
            if d is not None:
                f[DCH[0]], f[DCH[1]] = d[:, 0], d[:, 1]
            if phase is not None:
                f["phase"] = PHASES[phase]
            frames.append(f)
        elif a.out == "summary" and level >= 5:
            i1, i2, i3, i4 = cuts
            drip = np.flatnonzero(y[:, 2] > 0.5)
            rows.append({
                "shot": shot, "n": len(grid), "duration [s]": grid[-1] - grid[0],
                "spikes": spikes, "wet [s]": i1 / a.rate,
                "ramp [s]": (i2 - i1) / a.rate, "hold [s]": (i3 - i2) / a.rate,
                "decline [s]": (i4 - i3) / a.rate, "peak [bar]": y[:, 0].max(),
                "hold mean [bar]": y[i2:i3, 0].mean(),
                "hold flow [ml/s]": y[i2:i3, 1].mean(),
                "drip [s]": grid[drip[0]] - grid[0] if len(drip) else np.nan,
                "final [g]": y[-1, 2], "max rate [bar/s]": d[:, 0].max(),
                "mean temp [degC]": y[:, 3].mean()})
    if a.out == "traces":
        pd.concat(frames).to_csv(sys.stdout, index=False, float_format="%.4f")
    elif a.out == "summary" and level >= 5:
        pd.DataFrame(rows).to_csv(sys.stdout, index=False, float_format="%.4f")


if __name__ == "__main__":
    main()
