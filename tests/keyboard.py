#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: a filter that waits for a person's typing says so, and is silent where it reads a file or
a pipe, or where nobody would see it.

usage: keyboard.py BIN
"""
import os
import pty
import subprocess
import sys

WORDS = b"reads what is typed"
LOG = b"time,pressure\n0,1\n1,2\n"
failures = 0


def check(what, right, seen):
    global failures
    if not right:
        failures += 1
        print("%s: %r" % (what, seen))


def at_a_terminal(arguments, typed=None, stdin=None):
    """What a person sees of a filter; `typed` is what the terminal sends it, else it reads `stdin`."""
    terminal, side = pty.openpty()
    process = subprocess.Popen([sys.argv[1] + "/shot-marks"] + arguments, stderr=side,
                               stdin=side if typed is not None else stdin, stdout=subprocess.DEVNULL)
    os.close(side)
    if typed is not None:
        os.write(terminal, typed)
    process.wait()
    text = b""
    try:
        while True:
            text += os.read(terminal, 65536)
    except OSError:  # Linux says so at the end
        return text


typed = at_a_terminal([], typed=LOG + b"\x04")
check("a person is told", WORDS in typed, typed)
read, write = os.pipe()
os.write(write, LOG)
os.close(write)
piped = at_a_terminal([], stdin=read)
check("a pipe goes without saying", piped == b"", piped)
named = at_a_terminal(["/dev/null"], typed=b"")
check("so does a file", WORDS not in named, named)
quiet = subprocess.run([sys.argv[1] + "/shot-marks"], stdin=subprocess.DEVNULL, capture_output=True)
check("so does what no terminal shows", WORDS not in quiet.stderr, quiet.stderr)
print(failures, "failed")
sys.exit(failures > 0)
