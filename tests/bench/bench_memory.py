#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Peak memory on an hour at 100 Hz and on 10,000 shots, as the kernel reports it: of the filters
whose memory is bounded by their window, in all the calls that tests/memory.py looks at; or of every
tool that reads a trace.

usage: bench_memory.py BUILD [all]
"""
import os
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.dirname(HERE))
import memory  # noqa: E402

ALONE = {"shot-run", "shot-synth", "shot-sweep"}  # need a chain, read nothing, or need many shots
LOGS = ("hour-100hz", "k10-10hz")


def logs_in(folder):
    """With lines that tell the noise, so that errors need not wait for an estimate."""
    subprocess.run(["/usr/bin/python3", HERE + "/baselines/make_logs.py", "--only", ",".join(LOGS),
                    folder], check=True, stdout=subprocess.DEVNULL)
    told = "".join("# noise: %s sd=0.03 corr=0s\n" % name for name in memory.CHANNELS)
    for name in LOGS:
        plain, log = os.path.join(folder, name + ".trace"), os.path.join(folder, name)
        with open(plain) as source, open(log, "w") as out:
            for line in source:
                out.write(told + line if line.startswith("time [s]") else line)
        os.remove(plain)
        yield log


def kind(tool):
    help_text = subprocess.run([memory.BIN + "/" + tool, "--help"], capture_output=True, text=True)
    return "window" if "Memory: bounded by its window" in help_text.stdout else "shot"


def shown(call, log):
    """MiB; '-' where the tool wants options or cannot use such a log."""
    kib, status = memory.peak(call, log)
    return "%8.1f" % (kib / 1024) if status == 0 else "%8s" % "-"


def main():
    every = len(sys.argv) > 2 and sys.argv[2] == "all"
    tools = sorted(t for t in os.listdir(memory.BIN) if t.startswith("shot-")) if every \
        else list(memory.window_filters())
    with tempfile.TemporaryDirectory() as folder:
        logs = list(logs_in(folder))
        print("peak memory, MiB                            class   hour at 100 Hz   10,000 shots")
        for call in (call for tool in tools if tool not in ALONE for call in memory.calls_of(tool)):
            print("%-42s  %-6s  %s        %s"
                  % (call, kind(call.split()[0]), *(shown(call, log) for log in logs)), flush=True)


if __name__ == "__main__":
    main()
