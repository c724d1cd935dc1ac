#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Protects: every command of the README prints what the README shows.

    python3 tests/readme.py BIN [--bless]

A fenced block that starts with '$ ' is a command and what it prints. --bless writes it anew.
"""
import os
import re
import subprocess
import sys

top = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
readme = os.path.join(top, "README.md")
environment = dict(os.environ, PATH=os.path.abspath(sys.argv[1]) + ":" + os.environ["PATH"], LC_ALL="C")
bless = "--bless" in sys.argv
different = 0


def block(match):
    global different
    command = match.group(1)
    run = subprocess.run(["sh", "-c", command], cwd=top, env=environment, stdout=subprocess.PIPE,
                         stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL)
    fresh = "```\n$ " + command + "\n" + run.stdout.decode() + "```\n"
    if fresh != match.group(0) and not bless:
        different += 1
        print("README differs from:", command)
        print(run.stdout.decode())
    return fresh


text = open(readme, encoding="utf-8").read()
fresh, count = re.subn(r"```\n\$ (.*)\n(?:(?!```).*\n)*```\n", block, text)
if bless:
    open(readme, "w", encoding="utf-8").write(fresh)
print(count - different, "passed,", different, "failed")
sys.exit(different > 0 or count == 0)
