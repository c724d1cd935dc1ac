#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: the shared library can be loaded by another language, gives the numbers that the other
one gives, and offers only what the headers declare; and the example of docs/embedding.md in that
language runs as it stands and gets every mark that the same chain prints.

usage: shared_library.py LIBRARY BIN
"""
import ctypes
import json
import os
import re
import subprocess
import sys

library = ctypes.CDLL(sys.argv[1])

# IAPWS SR6-08(2011), table of check values: 889.996773679 uPa s at 298.15 K; equal to all its digits.
library.shot_water_viscosity.restype = ctypes.c_double
library.shot_water_viscosity.argtypes = [ctypes.c_double]
viscosity = library.shot_water_viscosity(25)
assert abs(viscosity / 889.996773679e-6 - 1) < 1e-11, viscosity

# An array goes in: figures in steps of a quarter.
library.shot_resolution.restype = ctypes.c_double
figures = [0.25, 0.5, 1.25, 1.0, 0.75, 0.5, 2.0, 2.25] * 4
step = library.shot_resolution((ctypes.c_double * len(figures))(*figures),
                               ctypes.c_size_t(len(figures)))
assert step == 0.25, step

top = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
listed = subprocess.run(["nm", "-D", "--defined-only", sys.argv[1]], check=True,
                        capture_output=True, text=True).stdout.splitlines()
declared = set()
for folder, _, files in os.walk(os.path.join(top, "libtrace/include")):
    for file in files:
        with open(os.path.join(folder, file), encoding="utf-8") as header:
            declared.update(re.findall(r"\bshot_\w+", header.read()))
others = [line.split()[-1] for line in listed if line.split()[-1] not in declared]
assert not others, others

log = os.path.join(top, "fixtures", "pulses-surge.csv")
filters = "clean | segment | surges"
printed = subprocess.run([os.path.join(sys.argv[2], "shot-run"),
                          filters + " | marks --all --format json", log],
                         check=True, capture_output=True, text=True).stdout.splitlines()
with open(log, encoding="utf-8") as rows:
    heard = subprocess.run([sys.executable, os.path.join(top, "docs/examples/live_marks.py"),
                            sys.argv[1], filters],
                           check=True, capture_output=True, text=True, stdin=rows).stdout
expected = [f"{mark['kind']} at {mark['from']:.2f} s, {mark['id']}" for mark in map(json.loads, printed)]
assert len(expected) > 5
assert [" ".join(line.split()[:5]) for line in heard.splitlines()] == expected, heard

# The lines that the page shows for a function of numbers, and the figure beside the last of them.
with open(os.path.join(top, "docs/embedding.md"), encoding="utf-8") as page:
    shown = page.read().split("```python\n")[1].split("```")[0].replace("build/libtrace/libshottrace.so",
                                                                        sys.argv[1])
*lines, call = shown.splitlines()
names = {}
exec("\n".join(lines), names)
assert str(eval(call, names)).startswith(call.split("# ")[1].split("...")[0]), call

# What a callback raises ends the chain: ctypes would print it and go on.
with open(log, encoding="utf-8") as rows, open("/dev/full", "w", encoding="utf-8") as full:
    failed = subprocess.run([sys.executable, "-u", os.path.join(top, "docs/examples/live_marks.py"),
                             sys.argv[1], filters],
                            check=False, stdout=full, stderr=subprocess.PIPE, text=True, stdin=rows)
assert failed.returncode == 1 and "ctypes" not in failed.stderr, failed.stderr
assert "No space left" in failed.stderr, failed.stderr
