#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Do the intervals of measures that follow from marks hold the truth of simulated shots?

usage: eval_intervals.py BUILD [GRADE [SHOTS [SEED...]]]

Ten styles, SHOTS of each and of each SEED (6; 700 800).  Times are held against the marks of the
same shot with --truth; water and the cup against what the clean logger writes of it, between those
marks.  A line a measure: how many intervals held it, of how many, median width, median error.
"""
import csv
import os
import statistics
import subprocess
import sys

BIN = os.path.join(sys.argv[1], "bin")
GRADE = sys.argv[2] if len(sys.argv) > 2 else "typical"
SHOTS = sys.argv[3] if len(sys.argv) > 3 else "6"
SEEDS = sys.argv[4:] or ["700", "800"]
STYLES = "restrictor line soak pulses spring hand step free flow choked".split()


def run(command):
    full = " | ".join("'%s'/shot-%s" % (BIN, part) for part in command.split(" | "))
    return subprocess.run(full, shell=True, capture_output=True, text=True).stdout


def marks_of(table):
    """The last from and to of each kind of mark, of each shot."""
    found = {}
    for row in csv.DictReader(table.splitlines()):
        ends = float(row["from"] or "nan"), float(row["to"] or "nan")
        found.setdefault(row["shot"], {}).setdefault(row["kind"], []).append(ends)
    return found


def channels_of(trace):
    """For each shot, (time, value) of each channel where it has one."""
    shots, titles = {}, []
    for line in trace.splitlines():
        if line.startswith("# shot: "):
            shot = shots.setdefault(line[8:], {})
        elif line.startswith("time"):
            titles = [title.split(" [")[0] for title in line.split(",")]
        elif line and not line.startswith("#"):
            cells = dict(zip(titles, line.split(",")))
            for title in titles[1:]:
                if cells[title]:
                    shot.setdefault(title, []).append((float(cells["time"]), float(cells[title])))
    return shots


def passed(flow, start, end):
    total = 0
    for (t0, q0), (t1, q1) in zip(flow, flow[1:]):
        low, high = max(start, t0), min(end, t1)
        if high > low:
            total += (high - low) * (q0 + ((low + high) / 2 - t0) / (t1 - t0) * (q1 - q0))
    return total


def times_of(marks):
    (water, full), (_, end) = marks["preinfusion"][-1], marks["brew"][-1]
    truth = {"preinfusion.clock": water, "shot.time": end - water,
             "preinfusion.time": full - water, "brew.time": end - full,
             "preinfusion.share": 100 * (full - water) / (end - water)}
    for kind in ("fill", "soak", "ramp", "release"):
        if kind in marks:
            truth[kind + ".time"] = marks[kind][-1][1] - marks[kind][-1][0]
    if "first-drip" in marks:
        truth["first-drip.time"] = marks["first-drip"][-1][0] - water
    if len(marks.get("surge", [])) == 1:
        truth["surge.first"] = marks["surge"][0][0] - water
    return truth


def amounts_of(marks, channels):
    (water, full), (_, end) = marks["preinfusion"][-1], marks["brew"][-1]
    truth = {}
    if "flow" in channels:
        before, used = passed(channels["flow"], water, full), passed(channels["flow"], water, end)
        truth = {"preinfusion.water": before, "water.used": used,
                 "preinfusion.water-share": 100 * before / used}
        if "fill" in marks:
            start, stop = marks["fill"][-1]
            truth["fill.flow"] = passed(channels["flow"], start, stop) / (stop - start)
    if "weight" in channels:
        last = channels["weight"][-1][0]
        truth["beverage.mass"] = statistics.mean(
            w for t, w in channels["weight"] if t > last - 0.5)
    return truth


def judge(style, seed, results):
    made = "synth --style %s --seed %s --count %s --name %s-%s" % (style, seed, SHOTS, style, seed)
    clean = run(made + " --logger clean --truth | clean")
    clean_marks = marks_of(run(made + " --logger clean --truth | clean | marks"))
    clean_channels = channels_of(clean)
    marks = marks_of(run("%s --logger %s --truth | clean | marks" % (made, GRADE)))
    told = run("%s --logger %s | find | report --format csv" % (made, GRADE))
    rows = list(csv.DictReader(told.splitlines()))
    surges = {row["shot"] for row in rows if row["measure"] == "surge.count" and row["value"] == "1"}
    for row in rows:
        shot, name = row["shot"], row["measure"]
        if not row["low"] or "brew" not in marks.get(shot, {}):
            continue
        truth = {**times_of(marks[shot]),
                 **amounts_of(clean_marks[shot], clean_channels[shot])}
        if name not in truth or (name == "surge.first" and shot not in surges):
            continue
        low, high, value = float(row["low"]), float(row["high"]), float(row["value"])
        if truth[name] != truth[name]:
            continue
        holds = low - 1e-9 <= truth[name] <= high + 1e-9
        results.setdefault(name, []).append((holds, high - low, abs(value - truth[name])))


results = {}
for style in STYLES:
    for seed in SEEDS:
        judge(style, seed, results)
print("%-26s %6s %5s %6s %8s %8s" % ("measure", "held", "of", "%", "width", "error"))
for name, found in results.items():
    held = sum(holds for holds, _, _ in found)
    print("%-26s %6d %5d %6.1f %8.3g %8.3g" % (
        name, held, len(found), 100 * held / len(found),
        statistics.median(width for _, width, _ in found),
        statistics.median(error for _, _, error in found)))
