#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Interpolation, resampling, windows and spectra against SciPy, on random input."""
import subprocess
import sys

try:
    import numpy as np
    from scipy import interpolate, signal
except ImportError:
    sys.exit(77)

driver = subprocess.Popen([sys.argv[1] + "/outside/resampling_driver"], text=True,
                          stdin=subprocess.PIPE, stdout=subprocess.PIPE)
random = np.random.default_rng(20)
worst = {}


def ask(word, *arguments):
    words = [word]
    for a in arguments:
        if isinstance(a, np.ndarray):
            words.append(str(len(a)))
            words.extend(repr(float(x)) for x in a)
        else:
            words.append(repr(a))
    driver.stdin.write(" ".join(words) + "\n")
    driver.stdin.flush()
    return np.array([float(x) for x in driver.stdout.readline().split()])


def check(what, ours, theirs, tolerance, scale=None):
    """Largest difference, relative to the largest value (or to `scale`)."""
    assert ours.shape == theirs.shape, (what, ours.shape, theirs.shape)
    off = np.max(np.abs(ours - theirs)) / (scale or np.max(np.abs(theirs)) or 1)
    worst[what] = max(worst.get(what, 0), off)
    if not off <= tolerance:
        sys.exit(f"{what}: off by {off:g}, allowed {tolerance:g}")


def uneven(n):
    return np.cumsum(random.exponential(1, n) + 1e-3) - 50


def interpolants():
    for n in (2, 3, 10, 200):
        t = uneven(n)
        y = random.choice([random.standard_normal(n), np.cumsum(random.standard_normal(n)),
                           np.round(random.standard_normal(n))])
        at = np.sort(random.uniform(t[0], t[-1], 300))
        # a few roundings
        check("linear", ask("linear", t, y, at), np.interp(at, t, y), 1e-13)
        check("cubic", ask("cubic", t, y, at), interpolate.PchipInterpolator(t, y)(at), 1e-12)


def resampling():
    """Band-limited noise through SciPy's polyphase resampler with a filter of its own making that
    is 20 dB better: both are the ideal result to within 120 dB, away from the ends."""
    for up, down in ((1, 5), (2, 3), (147, 160), (3, 1), (1, 48), (1, 480)):
        n = 400 * max(up, down) // up + 1
        low = min(1, up / down)                      # the lower band, in units of half the rate
        spectrum = np.fft.rfft(random.standard_normal(2 * n))
        spectrum[int(0.9 * low * n):] = 0
        x = np.fft.irfft(spectrum)[:n]
        length, beta = signal.kaiserord(140, 0.1 * low / up)
        taps = signal.firwin(length | 1, 0.95 * low / up, window=("kaiser", beta))
        theirs = signal.resample_poly(x, up, down, window=taps)
        ours = ask("sinc", down / up, x)
        margin = 100 * max(1, up // down)
        keep = slice(margin, min(len(ours), len(theirs)) - margin)
        check(f"sinc {up}/{down}", ours[keep], theirs[keep], 3e-6, np.std(x) * 3)


WINDOWS = ["boxcar", "hann", "hamming", "blackman", "blackmanharris", "kaiser", "tukey"]


def scipy_window(kind, parameter):
    return (WINDOWS[kind], parameter) if WINDOWS[kind] in ("kaiser", "tukey") else WINDOWS[kind]


def windows():
    for kind in range(len(WINDOWS)):
        for n in (2, 3, 16, 101):
            parameter = float(random.uniform(0.1, 1)) * (10 if WINDOWS[kind] == "kaiser" else 1)
            for symmetric in (0, 1):
                theirs = signal.get_window(scipy_window(kind, parameter), n, fftbins=not symmetric)
                check("window", ask("window", kind, parameter, symmetric, n), theirs, 1e-13, 1)


def spectra():
    for _ in range(40):
        n = int(random.integers(20, 600))
        segment = int(random.integers(4, n + 1))
        overlap = int(random.integers(0, segment))
        kind, detrend, scale = (int(random.integers(0, k)) for k in (len(WINDOWS), 3, 2))
        x = np.cumsum(random.standard_normal(n))
        _, theirs = signal.welch(x, fs=7.3, window=scipy_window(kind, 0.5), nperseg=segment,
                                 noverlap=overlap, detrend=(False, "constant", "linear")[detrend],
                                 scaling=("density", "spectrum")[scale])
        ours = ask("welch", 7.3, segment, overlap, kind, 0.5, detrend, scale, x)
        check("welch", ours, theirs, 1e-10)
    for _ in range(10):
        n = int(random.integers(20, 400))
        t, y = uneven(n), random.standard_normal(n)
        f = 0.03 + 0.01 * np.arange(300)
        y -= np.mean(y)
        theirs = signal.lombscargle(t, y, 2 * np.pi * f)
        ours = ask("lomb", 0, 3, 0.03, 0.01, 300, t, y)
        # their tau and our normal equations round differently where the determinant is small
        check("lomb-scargle", ours, theirs, 1e-9)


interpolants()
resampling()
windows()
spectra()
driver.stdin.close()
if driver.wait() != 0:
    sys.exit("the driver refused a question")
for what, off in worst.items():
    print(f"{what:14s} {off:.1e}")
