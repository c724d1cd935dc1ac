# SPDX-License-Identifier: GPL-3.0-or-later
"""Prints each finding as soon as it is decided, from rows of numbers, with the shared library:
    python3 live_marks.py build/libtrace/libshottrace.so "clean | segment | surges" < shot.csv
"""
import ctypes
import json
import sys


class Error(ctypes.Structure):  # shottrace/status.h
    _fields_ = [("code", ctypes.c_int), ("source", ctypes.c_char * 256),
                ("line", ctypes.c_size_t), ("column", ctypes.c_size_t),
                ("what", ctypes.c_char * 400)]


WRITE_FAILED = 9  # SHOT_ERR_WRITE
Write = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_size_t,
                         ctypes.c_void_p)
Say = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_char_p)


class Ends(ctypes.Structure):  # shottrace/chain/chain.h
    _fields_ = [("sink", ctypes.c_void_p), ("write", Write), ("write_user", ctypes.c_void_p),
                ("say", Say), ("say_user", ctypes.c_void_p), ("prepare", ctypes.c_void_p),
                ("go_on", ctypes.c_bool), ("jobs", ctypes.c_size_t),
                ("name", Say), ("name_user", ctypes.c_void_p)]


def main(path, filters):
    library = ctypes.CDLL(path)
    chain, error = ctypes.c_void_p(), Error()

    def call(name, *arguments):
        if getattr(library, "shot_chain_" + name)(*arguments, ctypes.byref(error)) != 0:
            sys.exit(f"line {error.line}: {error.what.decode()}")

    def push(text):
        call("push", chain, text.encode(), ctypes.c_size_t(len(text.encode())))
        call("pause", chain)  # the next row may take a while: hand on what is ready

    @Write
    def write(user, data, count, error):
        try:  # what is raised here cannot get through C: hand on that writing failed
            for line in ctypes.string_at(data, count).decode().splitlines():
                mark = json.loads(line)
                told = f" (refines {mark['refines']})" if mark.get("refines") else ""  # one event
                print(f"{mark['kind']} at {mark['from']:.2f} s, {mark['id']}{told}", flush=True)
        except (OSError, ValueError) as problem:
            print(problem, file=sys.stderr)
            return WRITE_FAILED
        return 0

    ends = Ends(write=write, say=Say(lambda user, text: print(text.decode(), file=sys.stderr)))
    call("new", f"{filters} | marks --all --format json".encode(), ctypes.byref(ends),
         ctypes.byref(chain))
    for line in sys.stdin:  # a sensor would make its rows by f"{time},{pressure},{flow}\n"
        push(line)
    call("finish", chain)
    library.shot_chain_free(chain)


main(*sys.argv[1:3])
