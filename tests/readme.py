#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: every command of the README and of docs/ prints what the page shows.

    python3 tests/readme.py BIN [--bless] [PAGE...]

A fenced block that starts with '$ ' holds commands and what each prints; a command goes on in the
next line after a '|' or a backslash. The commands of a page run one after the other in a folder of
their own that has fixtures/, so that a page may write files and read them back. --bless writes
anew what they print.
"""
import glob
import os
import re
import subprocess
import sys
import tempfile

top = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
environment = dict(os.environ, PATH=os.path.abspath(sys.argv[1]) + ":" + os.environ["PATH"], LC_ALL="C")
bless = "--bless" in sys.argv
named = [os.path.abspath(name) for name in sys.argv[2:] if name != "--bless"]
pages = named or [os.path.join(top, "README.md")] + sorted(glob.glob(os.path.join(top, "docs", "*.md")))
example = re.compile(r"```\n\$ (?:(?!```).*\n)*```\n")
command = re.compile(r"^\$ ((?:.*[|\\]\n)*.*)\n", re.MULTILINE)
count = different = 0


def what_it_prints(line, folder):
    run = subprocess.run(["sh", "-c", line], cwd=folder, env=environment, stdout=subprocess.PIPE,
                         stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL)
    return run.stdout.decode()


def check(page, folder):
    def block(match):
        global count, different
        shown = command.split(match.group(0)[4:-4])[1:]  # command, what it prints, command, ...
        fresh = ""
        for line, printed in zip(shown[::2], shown[1::2]):
            now = what_it_prints(line, folder)
            fresh += "$ " + line + "\n" + now
            count += 1
            if now != printed and not bless:
                different += 1
                print(os.path.relpath(page, top), "differs from:", line)
                print(now)
        return "```\n" + fresh + "```\n"

    with open(page, encoding="utf-8") as file:
        text = file.read()
    fresh = example.sub(block, text)
    if bless and fresh != text:
        with open(page, "w", encoding="utf-8") as file:
            file.write(fresh)


for page in pages:
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(os.path.join(top, "fixtures"), os.path.join(folder, "fixtures"))
        check(page, folder)
print(count - different, "passed,", different, "failed")
sys.exit(different > 0 or count == 0)
