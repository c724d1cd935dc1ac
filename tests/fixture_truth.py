#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: the main pipe finds in the fixtures what really happened in them.

    python3 tests/fixture_truth.py BIN

Each fixture has its truth beside it (fixtures/README.md).  Tolerances, and why:
  phases   0.5 s, the window in which a person calls two instants the same
  drip     0.7 s after the scale lag, up to 0.8 s, which these logs do not tell
  pulses   0.1 s on and off
  surges   onset 1 s, size a quarter of itself
  water    without a flow meter nobody sees it: the interval must hold it
Knees are judged over thousands of shots by tests/bench/eval_findings.c; here none is demanded but the
final rise, whose height must be 0.1 to 0.6 bar.
"""
import csv
import io
import os
import subprocess
import sys

top = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
environment = dict(os.environ, PATH=os.path.abspath(sys.argv[1]) + ":" + os.environ["PATH"], LC_ALL="C")
FIXTURES = {
    "nine-bar-jet": "", "soak-spring": "", "pulses-surge": "", "line-step": "", "choked": "",
    "quay-day": "--by shot",
}
NO_FLOW = {"line-step", "choked"}
WINDOW = {"preinfusion": 0.5, "fill": 0.5, "soak": 0.5, "ramp": 0.5, "brew": 0.5, "release": 0.5,
          "first-drip": 0.7 + 0.8, "pulse": 0.1, "surge": 1.0}


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def number(text):
    return float(text) if text else None


def found_marks(name, options):
    pipe = ("shot-read %s fixtures/%s.csv | shot-clean | shot-segment | shot-knees | shot-surges | "
            "shot-pulses | shot-marks" % (options, name))
    run = subprocess.run(["sh", "-c", pipe], cwd=top, env=environment, capture_output=True, text=True)
    return rows(run.stdout)


def near(truth, found, window, field):
    a, b = number(truth[field]), number(found[field])
    return a is None or (b is not None and abs(a - b) <= window)


def holds(truth, found, field):
    low, high = number(found[field + ".low"]), number(found[field + ".high"])
    return low is not None and low <= number(truth[field]) <= high


def matches(name, truth, found):
    kind, window = truth["kind"], WINDOW[truth["kind"]]
    if kind in ("preinfusion", "fill") and name in NO_FLOW:
        start = holds(truth, found, "from")
    elif kind == "ramp" and name in NO_FLOW:
        start = True
    else:
        start = near(truth, found, window, "from")
    if kind == "surge":
        size = abs(number(found["value"]) - number(truth["value"])) <= 0.25 * number(truth["value"])
        return start and size
    if kind == "fill" and name == "choked":
        return start
    return start and near(truth, found, window, "to")


def check(name, options):
    failures, count = [], 0
    found = found_marks(name, options)
    for truth in rows(open(os.path.join(top, "fixtures", name + ".truth.csv")).read()):
        if truth["kind"] not in WINDOW:
            continue
        count += 1
        same = [f for f in found if f["kind"] == truth["kind"] and
                (f["shot"] == truth["shot"] or name != "quay-day")]
        if not any(matches(name, truth, f) for f in same):
            failures.append("%s %s: truth %s..%s value %s, found %s" % (
                name, truth["kind"], truth["from"], truth["to"], truth["value"],
                [(f["from"], f["to"], f["value"]) for f in same]))
    for kind in ("surge", "pulse"):
        wanted = len([t for t in rows(open(os.path.join(top, "fixtures", name + ".truth.csv")).read())
                      if t["kind"] == kind])
        got = len([f for f in found if f["kind"] == kind])
        count += 1
        if wanted != got:
            failures.append("%s: %d %ss, found %d" % (name, wanted, kind, got))
    return count, failures


total, bad = 0, []
for fixture, read_options in FIXTURES.items():
    n, failed = check(fixture, read_options)
    total += n
    bad += failed
print("\n".join(bad))
print(total - len(bad), "passed,", len(bad), "failed")
sys.exit(bool(bad))
