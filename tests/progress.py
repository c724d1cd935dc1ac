#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: shot-run shows how far it is on standard error where that is a terminal and the work is
long, leaves no trace of it there, and is silent where standard error is no terminal.

usage: progress.py BIN
"""
import os
import pty
import re
import subprocess
import sys
import tempfile
import time

RUN = sys.argv[1] + "/shot-run"
HEADER = b"time,pressure\n"
failures = 0


def check(what, right, seen=b""):
    global failures
    if not right:
        failures += 1
        print("%s: %r" % (what, seen))


def rows(first, count):
    return b"".join(b"%d,%d\n" % (i, i % 9) for i in range(first, first + count))


def feed_slowly(file, seconds):
    """Rows with pauses, so that the work takes as long."""
    file.write(HEADER)
    for part in range(int(seconds / 0.4)):
        file.write(rows(100 * part, 100))
        file.flush()
        time.sleep(0.4)
    file.close()


def drain(terminal):
    """What a terminal was sent; its other side is closed."""
    text = b""
    while True:
        try:
            more = os.read(terminal, 65536)
        except OSError:  # Linux says so at the end
            return text
        if not more:
            return text
        text += more


def on_a_terminal(arguments, work, **options):
    """What a run sends to the terminal that is its standard error, and its exit status."""
    terminal, side = pty.openpty()
    process = subprocess.Popen([RUN] + arguments, stderr=side, stdout=subprocess.DEVNULL, **options)
    os.close(side)
    work(process)
    status = process.wait()
    return drain(terminal), status


def left_standing(text):
    """What a person sees on the last line, once carriage returns have done their work."""
    line = []
    for part in text.split(b"\n")[-1].split(b"\r"):
        line[:len(part)] = part
    return bytes(line).strip()


def one_long_stream():
    text, status = on_a_terminal(["clean"], lambda p: feed_slowly(p.stdin, 3),
                                 stdin=subprocess.PIPE)
    check("a long stream is followed", re.search(rb"\d+\.\d MB read", text), text)
    check("nothing of it is left", left_standing(text) == b"", text)
    check("it went well", status == 0)


def many_files(folder):
    names = [os.path.join(folder, name) for name in ("first", "bad", "last")]
    os.mkfifo(names[0])
    os.mkfifo(names[2])
    with open(names[1], "wb") as bad:
        bad.write(HEADER + b"0,1\n1,x\n")

    def work(_):
        for name in (names[0], names[2]):
            with open(name, "wb") as file:
                feed_slowly(file, 1.3)

    text, status = on_a_terminal(["clean"] + names, work)
    check("files are counted", re.search(rb"\d of 3 files, \d+\.\d MB read", text), text)
    check("the bad one is named on a line of its own",
          re.search(rb"(^|[\r\n])shot-run: [^\r\n]*bad:3: pressure is 'x'[^\r\n]*\r\n", text), text)
    check("and counted",
          b"1 of 3 files could not be read to the end; the rest went through" in text, text)
    check("the status tells", status == 1)


def no_terminal():
    process = subprocess.Popen([RUN, "clean"], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL,
                               stderr=subprocess.PIPE)
    feed_slowly(process.stdin, 2)
    said = process.stderr.read()
    check("silent where nobody watches", process.wait() == 0 and said == b"", said)


def short_work():
    def work(process):
        process.stdin.write(HEADER + rows(0, 5))
        process.stdin.close()

    text, status = on_a_terminal(["clean"], work, stdin=subprocess.PIPE)
    check("silent where the work is short", status == 0 and text == b"", text)


one_long_stream()
with tempfile.TemporaryDirectory() as place:
    many_files(place)
no_terminal()
short_work()
sys.exit(failures > 0)
