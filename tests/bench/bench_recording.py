#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A stereo recording at 48 kHz down to 100 Hz: shot-read, text out, beside SciPy on the same file,
in one run, interleaved: resample_poly with a filter as good as shot-read's (120 dB, 0.9 of the band
kept; Kaiser's design) and with the one it takes by itself, which is far shorter; decimate as it is
by itself, and in three steps, as its documentation advises for factors above 13.

usage: bench_recording.py BUILD [SECONDS [ROUNDS]]

Every figure is the least of the rounds, in CPU seconds.  SciPy's share leaves out the start of the
interpreter and writing text; shot-read's is all of the process.
"""
import os
import resource
import subprocess
import sys
import tempfile
import time

import numpy
import scipy.io.wavfile
import scipy.signal

READ = os.path.join(sys.argv[1], "bin", "shot-read")
SECONDS = int(sys.argv[2]) if len(sys.argv) > 2 else 300
ROUNDS = int(sys.argv[3]) if len(sys.argv) > 3 else 3


def ours(path):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([READ, path], stdout=subprocess.DEVNULL, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def theirs(path, work):
    start = time.process_time()
    _, samples = scipy.io.wavfile.read(path)
    work(samples / 32768)
    return time.process_time() - start


def poly(window):
    return lambda x: scipy.signal.resample_poly(x, 1, 480, axis=0, window=window)


def decimate(*factors):
    def work(x):
        for factor in factors:
            x = scipy.signal.decimate(x, factor, axis=0)
    return work


def equal_filter():
    """The band up to 45 Hz passes, the stop band begins at 50 Hz."""
    taps, beta = scipy.signal.kaiserord(120, 5 / 24000)
    return scipy.signal.firwin(taps | 1, 47.5 / 24000, window=("kaiser", beta))


with tempfile.TemporaryDirectory() as folder:
    wav = os.path.join(folder, "stereo.wav")
    t = numpy.arange(48000 * SECONDS) / 48000
    tracks = numpy.stack([0.5 * numpy.sin(6 * t), 0.3 * numpy.cos(300 * t)], 1)
    scipy.io.wavfile.write(wav, 48000, numpy.round(tracks * 32767).astype(numpy.int16))
    del t, tracks
    others = {"resample_poly, a filter as good": poly(equal_filter()),
              "resample_poly, its own filter": poly(("kaiser", 5.0)),
              "decimate, its own filter": decimate(480),
              "decimate, in three steps": decimate(8, 6, 10)}
    rounds = [[ours(wav)] + [theirs(wav, work) for work in others.values()]
              for _ in range(ROUNDS)]
    least = [min(column) for column in zip(*rounds)]
    print(f"{SECONDS} s of 48 kHz stereo to 100 Hz: shot-read {least[0]:.3f} s")
    for name, seconds in zip(others, least[1:]):
        print(f"  {name}: {seconds:.2f} s, ratio {seconds / least[0]:.1f}")
