#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Conditioning against the GNU Scientific Library and a resampling library, on random input.

GSL (libgsl, 2.5 or later): least squares in tapered windows on uneven times with holes, running
medians, the impulse detector (which is the Hampel identifier), linear interpolation, and the
propagation of errors by its numerical derivatives.  libsoxr, at its very high quality: band-limited
resampling.  The libraries are called through ctypes; without one of them its part is skipped.
"""
import ctypes as c
import ctypes.util
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    sys.exit(77)

BIN = sys.argv[1] + "/bin/"
failures = 0
random = np.random.default_rng(31)


def load(name, mode=c.DEFAULT_MODE):
    path = ctypes.util.find_library(name)
    return c.CDLL(path, mode=mode) if path else None


load("gslcblas", c.RTLD_GLOBAL)
gsl = load("gsl")
soxr = load("soxr")


def check(what, ours, theirs, tolerance):
    """Largest difference, relative to the largest value; missing values must agree."""
    global failures
    ours, theirs = np.asarray(ours), np.asarray(theirs)
    same = ours.shape == theirs.shape and np.all(np.isnan(ours) == np.isnan(theirs))
    off = np.nanmax(np.abs(ours - theirs)) / (np.nanmax(np.abs(theirs)) or 1) if same else np.inf
    if not off <= tolerance:
        failures += 1
        print("%s: off by %.3g (allowed %.3g)" % (what, off, tolerance))
    else:
        print("%-46s %.1e" % (what, off))


def run(words, t, columns):
    """The table that a tool makes of a shot, NaN where empty."""
    head = ",".join(["time"] + list(columns))
    lines = [",".join([repr(float(a))] + ["" if np.isnan(v[i]) else repr(float(v[i]))
                                          for v in columns.values()]) for i, a in enumerate(t)]
    out = subprocess.run([BIN + "shot-" + words[0]] + words[1:],
                         input=head + "\n" + "\n".join(lines) + "\n",
                         capture_output=True, text=True, check=True).stdout
    rows = [line.split(",") for line in out.splitlines() if line and line[0] in "-0123456789"]
    return np.array([[float(x) if x else np.nan for x in row] for row in rows])


def series(n, missing, even=False):
    t = np.arange(n) / 20 if even else np.round(np.cumsum(random.uniform(0.01, 0.11, n)), 4)
    y = 5 + 4 * np.sin(t) + random.normal(0, 0.3, n)
    y[random.random(n) < missing] = np.nan
    return t, y


# ---- GSL ----

class Vector(c.Structure):
    _fields_ = [("size", c.c_size_t), ("stride", c.c_size_t), ("data", c.c_void_p),
                ("block", c.c_void_p), ("owner", c.c_int)]


class Matrix(c.Structure):
    _fields_ = [("size1", c.c_size_t), ("size2", c.c_size_t), ("tda", c.c_size_t),
                ("data", c.c_void_p), ("block", c.c_void_p), ("owner", c.c_int)]


def vector(x):
    return c.byref(Vector(len(x), 1, x.ctypes.data, None, 0))


def matrix(x):
    return c.byref(Matrix(x.shape[0], x.shape[1], x.shape[1], x.ctypes.data, None, 0))


def declare(name, result, *arguments):
    function = getattr(gsl, name)
    function.restype = result
    function.argtypes = arguments
    return function


def weighted_fit(x, y, weights, order):
    """Value and slope at 0 of the polynomial of that order, by gsl_multifit_wlinear."""
    powers = np.ascontiguousarray(np.vander(x, order + 1, increasing=True))
    coefficients, covariance = np.zeros(order + 1), np.zeros((order + 1, order + 1))
    squares = c.c_double()
    alloc = declare("gsl_multifit_linear_alloc", c.c_void_p, c.c_size_t, c.c_size_t)
    release = declare("gsl_multifit_linear_free", None, c.c_void_p)
    work = alloc(len(x), order + 1)
    gsl.gsl_multifit_wlinear(matrix(powers), vector(weights), vector(y), vector(coefficients),
                             matrix(covariance), c.byref(squares), c.c_void_p(work))
    release(work)
    return coefficients[0], coefficients[1] if order > 0 else 0.0


def tapered_windows():
    """Tricube weights in a window of 1 s, evaluated inside and, at the ends, off its middle."""
    for trial in range(6):
        order = trial % 3 + 1
        t, y = series(160, 0.2 * (trial % 2), even=trial == 4)
        there = ~np.isnan(y)
        first, last = t[there][0], t[there][-1]
        want = np.full((len(t), 2), np.nan)
        for i in np.flatnonzero(there):
            middle = min(max(t[i], first + 0.5), last - 0.5)
            u = np.abs(t - middle) / 0.5
            use = there & (u < 1)
            if np.sum(use) <= order:
                continue
            x = np.ascontiguousarray(t[use] - t[i])
            want[i] = weighted_fit(x, np.ascontiguousarray(y[use]), (1 - u[use] ** 3) ** 3, order)
        inside = (t > first + 0.55) & (t < last - 0.55)
        for tool, column, d in (("smooth", 1, 0), ("diff", 2, 1)):
            got = run([tool, "--window", "1s", "--order", str(order), "--taper"], t,
                      {"pressure": y})[:, column]
            # both solve for the same few coefficients in double precision; GSL on raw powers
            check("%s, taper, order %d, GSL" % (tool, order), got[inside], want[inside, d], 1e-10)


def medians_and_impulses():
    filter_alloc = declare("gsl_filter_median_alloc", c.c_void_p, c.c_size_t)
    impulse_alloc = declare("gsl_filter_impulse_alloc", c.c_void_p, c.c_size_t)
    truncate, mad = 2, 0  # GSL_FILTER_END_TRUNCATE, GSL_FILTER_SCALE_MAD
    for window in (5, 11, 31):
        t, y = series(300, 0, even=True)
        y[random.choice(300, 12, replace=False)] += 5
        want = np.zeros(300)
        gsl.gsl_filter_median(truncate, vector(y), vector(want),
                              c.c_void_p(filter_alloc(window)))
        got = run(["smooth", "--method", "median", "--window", str(window)], t, {"pressure": y})
        check("running median of %d, GSL" % window, got[:, 1], want, 0)
        median, sigma, flags = np.zeros(300), np.zeros(300), np.zeros(300, dtype=np.int32)
        clean, count = np.zeros(300), c.c_size_t()
        flagged = c.byref(Vector(300, 1, flags.ctypes.data, None, 0))
        gsl.gsl_filter_impulse(truncate, mad, c.c_double(3.0), vector(y), vector(clean),
                               vector(median), vector(sigma), c.byref(count), flagged,
                               c.c_void_p(impulse_alloc(window)))
        rows = "".join("%r %r\n" % (float(a), float(b)) for a, b in zip(t, y))
        out = subprocess.run([sys.argv[1] + "/outside/hampel_driver", str(window // 2), "3", "0"],
                             input=rows, capture_output=True, text=True, check=True).stdout
        got = np.array([line.split() for line in out.splitlines()], dtype=float)
        check("Hampel median of %d, GSL" % window, got[:, 0], median, 0)
        # GSL takes 1.482602218505602 for the scale: the last digit may differ
        check("Hampel scale of %d, GSL" % window, got[:, 1], sigma, 1e-15)
        check("Hampel verdicts of %d, GSL" % window, got[:, 2], flags, 0)


def interpolation():
    """Without anti-aliasing, which a rising rate needs not, linear is GSL's linear."""
    kind = c.c_void_p.in_dll(gsl, "gsl_interp_linear")
    alloc = declare("gsl_spline_alloc", c.c_void_p, c.c_void_p, c.c_size_t)
    evaluate = declare("gsl_spline_eval", c.c_double, c.c_void_p, c.c_double, c.c_void_p)
    t, y = series(80, 0)
    spline = alloc(kind, len(t))
    gsl.gsl_spline_init(c.c_void_p(spline), c.c_void_p(t.ctypes.data), c.c_void_p(y.ctypes.data),
                        c.c_size_t(len(t)))
    got = run(["resample", "--rate", "200", "--method", "linear"], t, {"pressure": y})
    got = got[~np.isnan(got[:, 1])]
    check("linear, GSL", got[:, 1], [evaluate(spline, x, None) for x in got[:, 0]], 1e-13)


def propagation():
    """u^2 = sum (df/dx)^2 u^2 with derivatives by gsl_deriv_central."""
    function = c.CFUNCTYPE(c.c_double, c.c_double, c.c_void_p)

    class Function(c.Structure):
        _fields_ = [("function", function), ("parameters", c.c_void_p)]

    def slope(f, at):
        value, error = c.c_double(), c.c_double()
        gsl.gsl_deriv_central(c.byref(Function(function(lambda x, _: f(x)), None)),
                              c.c_double(at), c.c_double(1e-3), c.byref(value), c.byref(error))
        return value.value

    t = np.arange(40) / 10
    p, q = random.uniform(1, 10, 40), random.uniform(0.5, 4, 40)
    sd = {"pressure": 0.3, "flow": 0.06}
    head = "".join("# noise: %s sd=%g corr=0s\n" % item for item in sd.items())
    rows = "".join("%g,%r,%r\n" % row for row in zip(t, map(float, p), map(float, q)))
    out = subprocess.run([BIN + "shot-derive", "--errors", "--quantity",
                          "hydraulic-resistance,hydraulic-conductance,hydraulic-power"],
                         input=head + "time,pressure,flow\n" + rows, capture_output=True,
                         text=True, check=True).stdout
    got = np.array([line.split(",") for line in out.splitlines() if line[0] in "0123456789"],
                   dtype=float)
    for name, column, f in (("resistance", 4, lambda a, b: a / b),
                            ("conductance", 6, lambda a, b: b / a),
                            ("power", 8, lambda a, b: a * b / 10)):
        want = [np.hypot(slope(lambda x: f(x, b), a) * 0.3, slope(lambda x: f(a, x), b) * 0.06)
                for a, b in zip(p, q)]
        check("error of %s, GSL" % name, got[:, column], want, 1e-9)  # what GSL's steps leave


# ---- libsoxr ----

class IoSpec(c.Structure):
    _fields_ = [("itype", c.c_int), ("otype", c.c_int), ("scale", c.c_double),
                ("e", c.c_void_p), ("flags", c.c_ulong)]


class QualitySpec(c.Structure):
    _fields_ = [("precision", c.c_double), ("phase_response", c.c_double),
                ("passband_end", c.c_double), ("stopband_begin", c.c_double),
                ("e", c.c_void_p), ("flags", c.c_ulong)]


def resampled(x, rate_in, rate_out):
    soxr.soxr_io_spec.restype = IoSpec
    soxr.soxr_io_spec.argtypes = [c.c_int, c.c_int]
    soxr.soxr_quality_spec.restype = QualitySpec
    soxr.soxr_quality_spec.argtypes = [c.c_ulong, c.c_ulong]
    soxr.soxr_oneshot.restype = c.c_char_p
    float64, very_high, no_droop = 1, 6, 2  # SOXR_FLOAT64_I, SOXR_VHQ, SOXR_ROLLOFF_NONE
    out = np.zeros(int(len(x) * rate_out / rate_in) + 16)
    done = c.c_size_t()
    io, quality = soxr.soxr_io_spec(float64, float64), soxr.soxr_quality_spec(very_high, no_droop)
    error = soxr.soxr_oneshot(c.c_double(rate_in), c.c_double(rate_out), c.c_uint(1),
                              c.c_void_p(x.ctypes.data), c.c_size_t(len(x)), None,
                              c.c_void_p(out.ctypes.data), c.c_size_t(len(out)), c.byref(done),
                              c.byref(io), c.byref(quality), None)
    if error:
        sys.exit("soxr: %s" % error.decode())
    return out[:done.value]


def band_limited():
    """Noise up to 0.85 of the lower band, through both, away from the ends: each is the ideal result
    to 120 dB and better."""
    for rate_in, rate_out in ((100, 20), (20, 50), (48, 32), (50, 13.7), (10, 10.9)):
        n = 4000
        low = min(1.0, rate_out / rate_in)
        spectrum = np.fft.rfft(random.standard_normal(2 * n))
        spectrum[int(0.85 * low * n):] = 0
        x = np.ascontiguousarray(5 + np.fft.irfft(spectrum)[:n])
        t = np.arange(n) / rate_in
        got = run(["resample", "--rate", repr(rate_out), "--method", "sinc"], t, {"pressure": x})
        want = resampled(x, rate_in, rate_out)
        m = min(len(got), len(want))
        keep = slice(m // 5, 4 * m // 5)
        check("sinc %g to %g Hz, libsoxr" % (rate_in, rate_out), got[:m][keep, 1], want[:m][keep],
              1e-6)


if gsl is not None:
    for part in (tapered_windows, medians_and_impulses, interpolation, propagation):
        part()
if soxr is not None:
    band_limited()
if gsl is None and soxr is None:
    sys.exit(77)
sys.exit(1 if failures else 0)
