#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What shot-write writes, read by the readers of other hands: pandas, Python's csv and json, jq,
sqlite3 and R must find every value of a table or of JSON, GNU Octave, sox and SciPy every sample of
a recording; and what SciPy writes as a recording shot-read must find.  Values are compared as
doubles for equality, but where a program rounds on its own account (named beside it).  A reader
that is not installed is passed over."""
import csv
import io
import json
import os
import random
import shutil
import struct
import subprocess
import sys
import tempfile

BIN = os.path.join(sys.argv[1], "bin")
failures = checks = 0


def run(*words, text=None):
    done = subprocess.run(words, input=text, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return done.stdout, done.stderr.decode()


def check(what, right):
    global failures, checks
    checks += 1
    if not right:
        failures += 1
        print("FAILED:", what)


def random_double(source):
    kind = source.random()
    if kind < 0.2:
        return None
    if kind < 0.6:
        return round(source.uniform(0, 12), 3)
    while True:
        value = struct.unpack("<d", source.randbytes(8))[0]
        if value == value and abs(value) < 1e300 and (value == 0 or abs(value) > 1e-300):
            return value


def random_trace(seed):
    """Two shots with awkward names, columns time, load [N] and 'odd, name'."""
    source = random.Random(seed)
    shots, text = [], ""
    for name in ['Münz "a", 7', "b\u2003c;d"]:
        rows = [[i / 7, random_double(source), random_double(source)] for i in range(40)]
        text += f"# shot: {name}\n# dose: 18.2 g\n"
        text += 'time [s],load [N],"odd, name"\n'
        text += "".join(",".join("" if v is None else repr(v) for v in row) + "\n" for row in rows)
        text += "# mark: knee id=k1 from=1.5 to=1.5 channel=load value=-2.5e-300\n"
        text += "# end: rows=40\n"
        shots.append((name, rows))
    return shots, (text + "# close: shots=2\n").encode()


def flat(shots):
    return [[name] + row for name, rows in shots for row in rows]


def number(text):
    return float(text) if text != "" else None


def check_csv(shots, table, seed):
    rows = list(csv.reader(io.StringIO(table.decode())))
    check("csv titles", rows[0] == ["shot", "time [s]", "load [N]", "odd, name"])
    check(f"csv {seed}", [[r[0]] + [number(v) for v in r[1:]] for r in rows[1:]] == flat(shots))


def check_json(shots, lines, seed):
    found = [json.loads(line) for line in lines.decode().splitlines()]
    check(f"json {seed}", [(o["shot"], [list(row) for row in zip(*o["data"].values())])
                           for o in found] == shots)
    check(f"json marks {seed}", all(o["marks"]["value"] == [-2.5e-300] for o in found))


def check_back(form, seed):
    """read(write(x)) is x, but for the reader's own line of history."""
    back, error = run(os.path.join(BIN, "shot-read"), text=form)
    kept = b"".join(line for line in back.splitlines(True) if not line.startswith(b"# history"))
    again, _ = run(os.path.join(BIN, "shot-write"), "--format", "json", text=kept)
    check(f"json back {seed} {error}", again == form)


def check_pandas(shots, table, seed):
    import pandas
    frame = pandas.read_csv(io.BytesIO(table), float_precision="round_trip")
    frame = frame.astype(object).where(frame.notna(), None)
    check(f"pandas {seed}", frame.values.tolist() == flat(shots))


def check_sqlite(shots, table, seed, folder):
    path = os.path.join(folder, f"{seed}.csv")
    with open(path, "wb") as file:
        file.write(table)
    script = f'.import --csv "{path}" t\n.mode json\nselect "shot","odd, name" from t;\n'
    out, _ = run("sqlite3", ":memory:", text=script.encode())
    found = [[row["shot"], number(row["odd, name"])] for row in json.loads(out)]
    check(f"sqlite3 {seed}", found == [[r[0], r[3]] for r in flat(shots)])


def check_jq(shots, lines, seed):
    """jq 1.6 prints at most 17 digits, not always the nearest: 1e-15."""
    out, _ = run("jq", "-c", '[.shot, .data["load [N]"]]', text=lines)
    found = [json.loads(line) for line in out.decode().splitlines()]
    want = [[name, [r[1] for r in rows]] for name, rows in shots]
    close = all(a == b or (None not in (a, b) and abs(a - b) <= 1e-15 * abs(b))
                for f, w in zip(found, want) for a, b in zip(f[1], w[1]))
    check(f"jq {seed}", [f[0] for f in found] == [w[0] for w in want] and close)


def check_r(shots, table, seed, folder):
    """R reads decimals in extended precision, not always to the nearest double: 1e-15."""
    path = os.path.join(folder, f"{seed}.r.csv")
    with open(path, "wb") as file:
        file.write(table)
    out, _ = run("Rscript", "-e", f'x <- read.csv("{path}", encoding="UTF-8"); cat(nrow(x), '
                 'formatC(x[[3]], digits=17, format="g", width=1), sep="\\n")')
    words = out.decode().split()
    want = [r[2] for r in flat(shots)]
    close = all((w is None and g == "NA") or
                (w is not None and g != "NA" and abs(float(g) - w) <= 1e-15 * abs(w))
                for g, w in zip(words[1:], want))
    check(f"R {seed}", words[:1] == ["80"] and close)


def check_recordings(folder):
    """What SciPy writes as a recording of numbers comes back to the bit."""
    try:
        import numpy
        import scipy.io.wavfile
    except ImportError:
        return
    values = numpy.random.default_rng(7).normal(size=(50, 2))
    path = os.path.join(folder, "x.wav")
    scipy.io.wavfile.write(path, 50, values)
    out, error = run(os.path.join(BIN, "shot-read"), path)
    rows = [line.split(",") for line in out.decode().splitlines() if line[0] not in "#t"]
    check("wav of doubles " + error, [[float(v) for v in r] for r in rows] ==
          [[i / 50, *row] for i, row in enumerate(values.tolist())])
    # 5005 Hz would fold to 5 Hz; 120 dB leave 0.4e-6 of it.  The ends look 78 rows far.
    t = numpy.arange(4 * 48000) / 48000
    wave = 0.5 * numpy.sin(2 * numpy.pi * 5 * t) + 0.4 * numpy.sin(2 * numpy.pi * 5005 * t)
    scipy.io.wavfile.write(path, 48000, wave)
    out, _ = run(os.path.join(BIN, "shot-read"), path)
    rows = [line.split(",") for line in out.decode().splitlines() if line[0] not in "#t"]
    k = numpy.arange(len(rows))
    error = numpy.abs(numpy.array([float(r[1]) for r in rows]) -
                      0.5 * numpy.sin(2 * numpy.pi * 5 * k / 100))[80:-80]
    check(f"5005 Hz does not fold to 5 Hz: {error.max()}", len(rows) == 400 and error.max() < 1e-6)


def even_trace(seed):
    """The text of one shot at 50 Hz with two channels, and its samples."""
    source = random.Random(seed)
    rows = [[random_double(source) or 0.0, source.uniform(-9, 9)] for _ in range(200)]
    text = "# shot: quay-7\ntime [s],load [N],pressure [bar]\n"
    text += "".join(f"{i / 50!r},{a!r},{b!r}\n" for i, (a, b) in enumerate(rows))
    return rows, text.encode()


def write_file(folder, name, text, *options):
    path = os.path.join(folder, name)
    _, error = run(os.path.join(BIN, "shot-write"), "--output", path, *options, text=text)
    return path, error


def check_octave(folder, rows, text):
    """Octave's load, of both MAT-files that libsndfile writes: a track is a row of `wavedata`."""
    for form in "mat5", "mat4":
        path, _ = write_file(folder, form + ".mat", text, "--format", form)
        out, error = run("octave-cli", "--eval", f'x = load("{path}"); '
                         'printf("%d\\n", x.samplerate); printf("%.17g %.17g\\n", x.wavedata);')
        words = out.decode().split("\n")
        check(f"octave {form} rate {error}", words[0] == "50")
        check(f"octave {form}", [[float(w) for w in line.split()] for line in words[1:-1]] == rows)


def check_sox(folder, rows, text):
    """Whole numbers are the nearest steps of full scale; sox gives them to the bit."""
    scale = ("--channel", "pressure", "--scale", "pressure=0FS:0bar,1FS:10bar")
    for name, bits in ("a.wav", 16), ("a.wav", 24), ("a.flac", 24), ("a.flac", 16), ("a.aiff", 24):
        path, error = write_file(folder, name, text, "--samples", f"s{bits}", *scale)
        out, more = run("sox", path, "-t", "raw", "-e", "signed", "-b", "32", "-L", "-")
        found = [v[0] for v in struct.iter_unpack("<i", out)]
        want = [round(b / 10 * 2 ** (bits - 1)) << (32 - bits) for _, b in rows]
        check(f"sox {name} {bits} {error}{more}", found == want)
        rate, _ = run("sox", "--i", "-r", path)
        check(f"sox {name} rate", rate.strip() == b"50")
    out, _ = run("sox", "--i", "-a", write_file(folder, "w.flac", text, *scale)[0])
    check("sox reads title and head from a comment",
          b"quay-7" in out and b"time [s],pressure [bar]" in out)


def check_scipy(folder, rows, text):
    """SciPy's readers of WAV and of MAT-files; NaN stays NaN."""
    try:
        import numpy
        import scipy.io
        import scipy.io.wavfile
    except ImportError:
        return
    path, _ = write_file(folder, "d.wav", text)
    rate, found = scipy.io.wavfile.read(path)
    check("scipy wav", rate == 50 and found.dtype == numpy.float64 and found.tolist() == rows)
    for form in "mat5", "mat4":
        path, _ = write_file(folder, form + ".mat", text, "--format", form)
        found = scipy.io.loadmat(path)
        check("scipy " + form, found["samplerate"].item() == 50 and
              found["wavedata"].T.tolist() == rows)
    lacking = b"time,load\n0,1\n0.02,\n0.04,3\n"
    _, found = scipy.io.wavfile.read(write_file(folder, "n.wav", lacking, "--missing", "nan")[0])
    check("scipy wav with NaN", found[0] == 1 and numpy.isnan(found[1]) and found[2] == 3)


def check_written_recordings(folder):
    rows, text = even_trace(11)
    check_scipy(folder, rows, text)
    if shutil.which("octave-cli"):
        check_octave(folder, rows, text)
    if shutil.which("sox"):
        check_sox(folder, rows, text)
    for name in "r.wav", "r.rf64", "r.aiff", "r.caf":
        path, error = write_file(folder, name, text)
        back, more = run(os.path.join(BIN, "shot-read"), path)
        found = [[float(v) for v in line.split(b",")[1:]] for line in back.splitlines()
                 if line[:1] not in (b"#", b"t")]
        check(f"{name} comes back {error}{more}", found == rows)


with tempfile.TemporaryDirectory() as folder:
    for seed in range(5):
        shots, trace = random_trace(seed)
        table, error = run(os.path.join(BIN, "shot-write"), text=trace)
        check("the note names what is left out", "2 marks and 2 lines" in error)
        lines, _ = run(os.path.join(BIN, "shot-write"), "--format", "json", text=trace)
        check_csv(shots, table, seed)
        check_json(shots, lines, seed)
        check_back(lines, seed)
        try:
            check_pandas(shots, table, seed)
        except ImportError:
            pass
        if shutil.which("sqlite3"):
            check_sqlite(shots, table, seed, folder)
        if shutil.which("jq"):
            check_jq(shots, lines, seed)
        if shutil.which("Rscript") and seed == 0:
            check_r(shots, table, seed, folder)
    check_recordings(folder)
    check_written_recordings(folder)
print(checks, "checks,", failures, "failed")
sys.exit(failures > 0)
