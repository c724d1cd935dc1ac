#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: a standard stream that is closed is not taken for a file that the tool opens, and one that
was set not to wait is waited for.

usage: standard_streams.py BIN
"""
import os
import subprocess
import sys
import tempfile
import threading
import time

BIN = os.path.abspath(sys.argv[1]) + "/"
LOG = b"time,pressure\n" + b"".join(b"%d,%d\n" % (i, i % 9) for i in range(50000))
failures = 0


def check(what, right, seen=b""):
    global failures
    if not right:
        failures += 1
        print("%s: %r" % (what, seen))


def shell(line):
    return subprocess.run(["sh", "-c", line], stdin=subprocess.DEVNULL, capture_output=True,
                          env=dict(os.environ, PATH=BIN + ":" + os.environ["PATH"]))


def content(name):
    with open(name, "rb") as file:
        return file.read()


def closed():
    with open("log.csv", "wb") as log:
        log.write(b"time,pressure\n0,1\n1,2\n")
    shell("shot-run --manifest as-usual clean log.csv no-such-file 2> said")
    said = content("said")
    lost = shell("shot-run --manifest no-messages clean log.csv no-such-file 2>&-")
    check("messages do not go into a manifest",
          lost.returncode == 1 and content("no-messages") == content("as-usual"), content("no-messages"))
    lost = shell("shot-run --manifest no-output clean log.csv no-such-file >&-")
    check("nor does the output", b"chain: clean" in content("no-output") and
          b"time [s]" not in content("no-output"), content("no-output"))
    check("whose loss is told", lost.returncode == 1 and b"cannot write the output" in lost.stderr,
          lost.stderr)
    picture = shell("shot-plot -o shot.svg log.csv >&-")
    check("a picture in a file needs no output", picture.returncode == 0 and
          content("shot.svg").rstrip().endswith(b"</svg>"), picture.returncode)
    check("standard input that is closed cannot be read",
          b"cannot read '-'" in shell("shot-clean <&-").stderr)
    check("there was something to say", said.count(b"\n") == 2, said)


def slowly_read(read, came):
    """All that comes through a pipe whose reader is late, so that it fills."""
    time.sleep(0.3)
    with os.fdopen(read, "rb") as file:
        came.append(file.read())


def output_that_does_not_wait():
    came = []
    read, write = os.pipe()
    os.set_blocking(write, False)
    process = subprocess.Popen([BIN + "shot-clean"], stdin=subprocess.PIPE, stdout=write,
                               stderr=subprocess.PIPE)
    os.close(write)
    late = threading.Thread(target=slowly_read, args=(read, came))
    late.start()
    _, said = process.communicate(LOG)
    late.join()
    check("a full pipe is waited for",
          process.returncode == 0 and came[0].endswith(b"# close: shots=1\n"), said)


def input_that_does_not_wait():
    read, write = os.pipe()
    os.set_blocking(read, False)
    process = subprocess.Popen([BIN + "shot-clean"], stdin=read, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE)
    os.close(read)
    with os.fdopen(write, "wb", buffering=0) as file:
        for line in LOG.splitlines(True)[:3]:
            time.sleep(0.2)  # a logger that pauses
            try:
                file.write(line)
            except BrokenPipeError:  # it has given up, which its status tells
                break
    out, said = process.communicate()
    check("an empty pipe is waited for", process.returncode == 0 and b"# end: rows=2\n" in out, said)


with tempfile.TemporaryDirectory() as place:
    os.chdir(place)
    closed()
output_that_does_not_wait()
input_that_does_not_wait()
sys.exit(failures > 0)
