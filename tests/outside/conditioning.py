#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""shot-smooth, shot-diff and shot-integrate against NumPy and SciPy on random input.

Each tolerance is what rounding leaves: both sides work in double precision on values near 10.
"""
import subprocess
import sys

try:
    import numpy as np
    from scipy import integrate, ndimage, signal
except ImportError:
    sys.exit(77)

BIN = sys.argv[1] + "/bin/"
failures = 0


def run(tool, t, y):
    """The columns that a tool makes of one channel, NaN where empty."""
    rows = "".join("%r,%s\n" % (float(a), "" if np.isnan(b) else repr(float(b)))
                   for a, b in zip(t, y))
    out = subprocess.run([BIN + "shot-" + tool[0]] + tool[1:], input="time,pressure\n" + rows,
                         capture_output=True, text=True, check=True).stdout
    table = [line.split(",") for line in out.splitlines() if line and line[0] in "-0123456789"]
    return np.array([[float(field) if field else np.nan for field in row] for row in table])


def check(what, got, want, tolerance):
    global failures
    same = np.isnan(got) == np.isnan(want)
    worst = np.nanmax(np.abs(got - want)) if np.any(~np.isnan(want)) else 0.0
    if not np.all(same) or not worst <= tolerance:
        failures += 1
        print("%s: off by %.3g (allowed %.3g), %d missing values differ"
              % (what, worst, tolerance, np.sum(~same)))


def even(rng, n):
    t = np.arange(n) / 20
    return t, 5 + 4 * np.sin(t) + rng.normal(0, 0.3, n)


def uneven(rng, n, missing):
    t = np.round(np.cumsum(rng.uniform(0.01, 0.11, n)), 4)
    y = 5 + 4 * np.sin(t) + rng.normal(0, 0.3, n)
    y[rng.random(n) < missing] = np.nan
    return t, y


def savgol_even(rng):
    """savgol_filter with mode 'interp' has the same end rule."""
    for _ in range(12):
        t, y = even(rng, int(rng.integers(60, 400)))
        window = 2 * int(rng.integers(3, 25)) + 1
        order = int(rng.integers(1, min(6, window - 1)))
        derivative = int(rng.integers(1, order + 1))
        name = "window %d order %d" % (window, order)
        got = run(["smooth", "--window", str(window), "--order", str(order)], t, y)
        # SciPy solves for its weights on powers of whole numbers: 1e-10 and more of rounding
        check("smooth " + name, got[:, 1], signal.savgol_filter(y, window, order), 1e-9)
        got = run(["diff", "--window", str(window), "--order", str(order),
                   "--derivative", str(derivative)], t, y)
        want = signal.savgol_filter(y, window, order, deriv=derivative, delta=0.05)
        # a derivative grows by the rate each time, and so does that rounding
        check("diff %s derivative %d" % (name, derivative), got[:, 2], want,
              1e-8 * np.max(np.abs(want)))


def polyfit_at(t, y, at, low, high, order, derivative):
    inside = (t >= low - 1e-7) & (t <= high + 1e-7) & ~np.isnan(y)
    if np.sum(inside) <= order:
        return np.nan
    p = np.polynomial.Polynomial.fit(t[inside] - at, y[inside], order)
    return p.deriv(derivative)(0) if derivative else p(0)


def fits_on_uneven_times(rng):
    """A window of 1 s about each row, pushed inside at the ends, by NumPy's least squares."""
    for trial in range(8):
        t, y = uneven(rng, 200, 0.2 * (trial % 2))
        order = trial % 4 + 1
        present = t[~np.isnan(y)]
        low = np.clip(t - 0.5, present[0], max(present[0], present[-1] - 1))
        want = np.array([[np.nan if np.isnan(y[i]) else
                          polyfit_at(t, y, t[i], low[i], low[i] + 1, order, d)
                          for i in range(len(t))] for d in (0, 1)])
        got = run(["smooth", "--window", "1s", "--order", str(order)], t, y)
        check("smooth on uneven times, order %d" % order, got[:, 1], want[0],
              1e-9 * np.nanmax(np.abs(want[0])))
        got = run(["diff", "--window", "1s", "--order", str(order)], t, y)
        check("diff on uneven times, order %d" % order, got[:, 2], want[1],
              1e-9 * np.nanmax(np.abs(want[1])))


def medians(rng):
    """Inside, the running median is ndimage's."""
    for window in (3, 11, 31):
        t, y = even(rng, 300)
        got = run(["smooth", "--method", "median", "--window", str(window)], t, y)[:, 1]
        want = ndimage.median_filter(y, window)
        half = window // 2
        check("median of %d" % window, got[half:-half], want[half:-half], 0)


def lowpass(rng):
    """Far from the ends two passes are filtfilt's, whatever the end rule."""
    for order in (1, 2, 4):
        t, y = even(rng, 600)
        cutoff = 1.5
        got = run(["smooth", "--method", "lowpass", "--cutoff", str(cutoff), "--order",
                   str(order)], t, y)[:, 1]
        wider = np.arctan(np.tan(np.pi * cutoff / 20) * (np.sqrt(2) - 1) ** (-0.5 / order)) / np.pi
        sos = signal.butter(order, 2 * wider, output="sos")
        want = signal.sosfiltfilt(sos, y)
        check("low-pass of order %d" % order, got[150:-150], want[150:-150], 1e-9)


def integrals(rng):
    for missing in (0, 0.3):
        t, y = uneven(rng, 300, missing)
        y[0] = 5
        kept = ~np.isnan(y)
        want = np.full(len(t), np.nan)
        want[kept] = integrate.cumulative_trapezoid(y[kept], t[kept], initial=0)
        got = run(["integrate", "--channel", "pressure", "--max-gap", "0"], t, y)
        check("trapezoid", got[:, 2], want, 1e-11)
        # a smooth channel: the cubic rule meets the true integral far closer than the trapezoids
        smooth = 5 + 4 * np.sin(t)
        got = run(["integrate", "--channel", "pressure", "--rule", "cubic"], t, smooth)
        truth = 5 * (t - t[0]) - 4 * (np.cos(t) - np.cos(t[0]))
        check("cubic rule", got[:, 2], truth, 1e-4)


generator = np.random.default_rng(20)
for part in (savgol_even, fits_on_uneven_times, medians, lowpass, integrals):
    part(generator)
sys.exit(1 if failures else 0)
