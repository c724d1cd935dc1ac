#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Logs written by other hands: Python's csv, json, gzip and zoneinfo, and pandas if it is there,
write random tables in many dialects; shot-read must give every value back exactly.

Values are compared as doubles for equality: reading a decimal rounds once, in Python and here."""
import csv
import datetime
import gzip
import io
import json
import os
import random
import subprocess
import sys

READ = os.path.join(sys.argv[1], "bin", "shot-read")
failures = 0


def fail(what, text):
    global failures
    failures += 1
    print("FAILED:", what, "\n", text[:1500])


def read(data, *options):
    run = subprocess.run([READ, *options], input=data, capture_output=True)
    return run.returncode, run.stdout.decode(), run.stderr.decode()


def rows_of(stream):
    """The shots of a trace stream: header and rows, numbers as doubles, empty as None."""
    shots, header = [], None
    for line in stream.splitlines():
        if line.startswith("#"):
            header = None if line.startswith("# shot:") else header
        elif header is None:
            header = line.split(",")
            shots.append((header, []))
        else:
            shots[-1][1].append([float(v) if v else None for v in line.split(",")])
    return shots


def random_table(rng, rows):
    """Time, pressure, flow and weight as a logger has them: rising decimals, some cells empty."""
    digits = rng.randint(1, 4)
    step = rng.choice([0.02, 0.05, 0.1, 0.25])
    table = []
    for i in range(rows):
        row = [round(i * step, 4)]
        for low, high in ((0, 12), (0, 10), (-1, 60)):
            row.append(None if rng.random() < 0.1 else round(rng.uniform(low, high), digits))
        table.append(row)
    return table


def text_of(value, comma):
    if value is None:
        return ""
    text = repr(value)
    return text.replace(".", ",") if comma else text


def compare(what, data, table, *options):
    code, out, err = read(data, *options)
    shots = rows_of(out)
    if code != 0 or err or len(shots) != 1 or shots[0][1] != table:
        got = shots[0][1] if shots else []
        odd = next((i for i, (a, b) in enumerate(zip(table, got)) if a != b), len(got))
        fail(what, f"exit {code}\n{err}{out[:200]}\nrow {odd}: {table[odd:odd+1]} "
                   f"became {got[odd:odd+1]}\n{data[:400]}")


HEADERS = [
    ["time [s]", "pressure [bar]", "flow [ml/s]", "weight [g]"],
    ["Time (s)", "Pressure (bar)", "Flow (ml/s)", "Weight (g)"],
    ["t_s", "p_bar", "flow_ml/s", "weight_g"],
    ["elapsed", "Group Pressure", "flow rate", "mass"],
]


def delimited(rng, count):
    for n in range(count):
        table = random_table(rng, rng.choice([3, 5, 17, 60]))
        delimiter = rng.choice([",", ";", "\t", "|"])
        comma = delimiter != "," and rng.random() < 0.5
        out = io.StringIO()
        for _ in range(rng.choice([0, 0, 1, 3])):
            out.write(rng.choice(["# note: a comment\n", "Bench: quay 2\n", "Exported by hand\n"]))
        writer = csv.writer(out, delimiter=delimiter,
                            quoting=rng.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
                            lineterminator=rng.choice(["\n", "\r\n", "\r"]))
        writer.writerow(rng.choice(HEADERS))
        writer.writerows([[text_of(v, comma) for v in row] for row in table])
        encoding = rng.choice(["utf-8", "utf-8-sig", "latin-1", "utf-16", "utf-16-le", "utf-16-be"])
        data = out.getvalue().encode(encoding)
        packed = rng.random() < 0.3
        if packed:
            data = gzip.compress(data)
        compare(f"csv {n} {delimiter!r} comma={comma} {encoding} gzip={packed}", data, table)


def json_forms(rng, count):
    names = ["time", "pressure", "flow", "weight"]
    for n in range(count):
        table = random_table(rng, rng.choice([3, 20, 60]))
        samples = [dict(zip(names, row)) for row in table]
        forms = {
            "list of objects": json.dumps(samples),
            "indented": json.dumps(samples, indent=rng.choice([1, 2, "\t"])),
            "lines": "\n".join(map(json.dumps, samples)),
            "columns": json.dumps({k: [row[i] for row in table] for i, k in enumerate(names)}),
            "nested": json.dumps({"shot": {"data": {k: {"values": [row[i] for row in table]}
                                                    for i, k in enumerate(names)}}, "dose": 18}),
            "split": json.dumps({"columns": names, "data": table}),
            "samples": json.dumps({"id": 7, "samples": samples}),
        }
        for form, text in forms.items():
            compare(f"json {n} {form}", text.encode(), table)


def pandas_forms(rng, count):
    try:
        import pandas
    except ImportError:
        return
    names = ["time", "pressure", "flow", "weight"]
    for n in range(count):
        table = random_table(rng, rng.choice([3, 20, 60]))
        frame = pandas.DataFrame(table, columns=names)
        compare(f"pandas csv {n}", frame.to_csv(index=False).encode(), table)
        compare(f"pandas csv ; , {n}", frame.to_csv(index=False, sep=";", decimal=",").encode(),
                table)
        for orient, lines in (("records", False), ("records", True), ("list", False),
                              ("split", False)):
            if orient == "list":
                text = json.dumps(frame.astype(object).where(frame.notna(), None).to_dict("list"))
            else:
                text = frame.to_json(orient=orient, lines=lines, double_precision=15,
                                     index=orient != "split")
            compare(f"pandas json {orient} {n}", text.encode(), table)


def clocks(rng):
    """Instants as texts of many clocks; the time of the stream plus its origin is the instant."""
    try:
        from zoneinfo import ZoneInfo
        berlin, new_york = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
    except Exception:
        return
    utc = datetime.timezone.utc
    starts = [datetime.datetime(2024, 10, 27, 0, 59, 58, tzinfo=utc),
              datetime.datetime(2024, 3, 31, 0, 59, 58, tzinfo=utc),
              datetime.datetime(2023, 12, 31, 22, 59, 58, tzinfo=utc),
              datetime.datetime(2024, 11, 3, 5, 59, 58, tzinfo=utc)]
    for start in starts:
        instants = [start + datetime.timedelta(milliseconds=100 * i + i % 3)
                    for i in range(60)]
        for zone in (utc, berlin, new_york):
            local = [i.astimezone(zone) for i in instants]
            forms = {
                "iso zoned": [i.isoformat(timespec="milliseconds") for i in local],
                "iso blank": [i.replace(tzinfo=None).isoformat(" ", "milliseconds") for i in local],
                "day": [i.strftime("%H:%M:%S.") + f"{i.microsecond // 1000:03}" for i in local],
                "german": [i.strftime("%d.%m.%Y %H:%M:%S,") + f"{i.microsecond // 1000:03}"
                           for i in local],
                "epoch": [f"{int(i.timestamp())}.{i.microsecond // 1000:03}" for i in local],
                "epoch ms": [f"{int(i.timestamp())}{i.microsecond // 1000:03}" for i in local],
                "epoch ns": [f"{int(i.timestamp())}{i.microsecond:06}000" for i in local],
            }
            for form, texts in forms.items():
                changes = local[0].utcoffset() != local[-1].utcoffset()
                if form == "day" and changes:
                    continue  # a time of day alone cannot tell
                data = "time;pressure\n" + "".join(f"{t};1\n" for t in texts)
                code, out, err = read(data.encode())
                shots = rows_of(out)
                want = [(i - instants[0]) // datetime.timedelta(milliseconds=1) for i in instants]
                got = [round((r[0] - shots[0][1][0][0]) * 1000) for r in shots[0][1]] if shots else []
                if code != 0 or got != want:
                    fail(f"clock {form} {zone} {start}", f"{err}{got}\n{want}\n{texts[:3]}")


rng = random.Random(7)
delimited(rng, 150)
json_forms(rng, 12)
pandas_forms(rng, 12)
clocks(rng)
print("failures:", failures)
sys.exit(failures != 0)
