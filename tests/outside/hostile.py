#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Files made to hurt end in a message, within a memory that their size or an option bounds.

usage: hostile.py BUILD

Input is made as it is read, so that it takes no disk.  The peak is the resident set that
the kernel reports (peak_memory_driver.c).  Limits are what the documentation promises, with 8 MiB for
the program itself.  A limit of CPU time, a hundred times what the calls take, ends what is not
linear.
"""
import resource
import subprocess
import sys
import threading
import zlib

BIN = sys.argv[1] + "/bin/"
PEAK = sys.argv[1] + "/outside/peak_memory_driver"
MIB = 1 << 20
ENDLESS = 256 * MIB  # eight times the longest line that a reader takes unasked
PROGRAM = 8 * MIB
CPU_SECONDS = 200
ROWS = b"time [s],pressure [bar]\n" + b"".join(b"%d,1\n" % i for i in range(100))


def pieces(chunk, total):
    """`total` bytes of a chunk that repeats."""
    big = chunk * (MIB // len(chunk))
    for _ in range(total // len(big)):
        yield big


def feed(pipe, parts):
    try:
        for part in parts:
            pipe.write(part)
        pipe.close()
    except BrokenPipeError:
        pass


def run(call, parts):
    """Status, lines handed on, messages and peak memory of a call that reads the parts."""
    process = subprocess.Popen(
        [PEAK, BIN + call[0]] + call[1:], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS)))
    said = []
    threads = [threading.Thread(target=feed, args=(process.stdin, parts)),
               threading.Thread(target=lambda: said.append(process.stderr.read()))]
    for thread in threads:
        thread.start()
    lines = 0
    while got := process.stdout.read(MIB):
        lines += got.count(b"\n")
    process.wait()
    for thread in threads:
        thread.join()
    kib, status = said[0].splitlines()[-1].split()
    return int(status), lines, said[0], int(kib) * 1024


def check(what, call, parts, status, message, most, rows=None):
    code, lines, said, peak = run(call, parts)
    faults = []
    if code != status:
        faults.append("exit status %d, not %d" % (code, status))
    if message not in said:
        faults.append("says %r" % said[:300])
    if peak > most:
        faults.append("peak over %.0f MiB" % (most / MIB))
    if rows is not None and lines < rows:
        faults.append("%d lines handed on, not %d" % (lines, rows))
    print("%-44s %-14s %6.1f MiB  %s" % (what, call[0], peak / MIB, "; ".join(faults) or "ok"))
    return bool(faults)


def gzip_of(parts):
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    for part in parts:
        yield packer.compress(part)
    yield packer.flush()


def chain(*parts):
    for part in parts:
        yield from part


def endless_lines():
    """No line of a table is over 32 MiB.  While it comes it takes its bytes, with room to grow by a
    half, and 8 bytes for each field, with room to double."""
    long = 32 * MIB
    yield check("a first line of 256 MiB", ["shot-read"], pieces(b"a", ENDLESS), 1, b"--longest-line",
                long * 3 // 2 + PROGRAM)
    yield check("256 MiB of fields behind 100 rows", ["shot-read"],
                chain([ROWS], pieces(b"1,", ENDLESS)), 1, b"-:102: the line is longer than 32 MiB",
                long * 3 // 2 + 2 * 8 * long // 2 + PROGRAM, rows=100)
    yield check("a line of 96 MiB, allowed", ["shot-read", "--longest-line", "128"],
                chain([ROWS, b"0.5,"], pieces(b"a", 96 * MIB), [b"\n1000,1\n"]), 1,
                b"1 row could not be read", 3 * 96 * MIB + PROGRAM, rows=101)
    yield check("256 MiB of NUL bytes", ["shot-read"], pieces(b"\0", ENDLESS), 1, b"-: ",
                3 * long + PROGRAM)
    for tool in "shot-clean", "shot-segment":
        yield check("256 MiB of NUL bytes behind 100 rows", [tool],
                    chain([ROWS], pieces(b"\0", ENDLESS)), 1, b":102: the line holds a NUL byte",
                    PROGRAM + 8 * MIB, rows=100)


def many_columns():
    """A million columns, and no search among them for each: each takes its title, its value, and
    what the filter knows of it."""
    header = b"time," + b",".join(b"c%d" % i for i in range(1000000)) + b"\n"
    rows = b"".join(b"%d" % i + b",1.25" * 1000000 + b"\n" for i in range(3))
    for tool in "shot-read", "shot-pick", "shot-write":
        yield check("a million columns", [tool], [header, rows], 0, b"", 2048 * MIB, rows=4)


def long_metadata():
    """A line of metadata is held by the reader and by the filter that keeps the head: two copies."""
    note = 16 * MIB
    for call in (["shot-clean"], ["shot-smooth", "--window", "1s"], ["shot-pick"], ["shot-tag"],
                 ["shot-resample", "--rate", "5"], ["shot-write"]):
        yield check("a note of 16 MiB", call, chain([b"# note: "], pieces(b"x", note), [b"\n", ROWS]),
                    0, b"", 2 * note + PROGRAM)


def deep_and_compressed():
    yield check("JSON nested 268 million deep", ["shot-read"], pieces(b"[", ENDLESS), 1, b"deep", PROGRAM)
    yield check("a bomb: 256 MiB in 256 KiB of gzip", ["shot-read"],
                gzip_of(chain([ROWS], pieces(b"\n", ENDLESS))), 1, b"--ratio", PROGRAM + 8 * MIB)
    yield check("a bomb within a bomb", ["shot-read"],
                gzip_of(gzip_of(pieces(b"1\n", ENDLESS))), 1, b"-: ", PROGRAM + 8 * MIB)


def main():
    groups = (deep_and_compressed, endless_lines, long_metadata, many_columns)
    sys.exit(any([fault for group in groups for fault in group()]))


main()
