#!/usr/bin/env python3
"""Holds the rooms of src/ against the table of DEVELOPERS.md: a file includes headers of its own room and of
rooms above it only, a third-party header is met in one room, and the command line and the face for
browsers (whose objects are compiled without the way to the rooms) include public headers alone. Within a room no file calls another that, directly
or by way of others, calls it: asked of the objects.
Usage: rooms.py BUILD, the folder of the objects"""
import glob
import os
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
# What a C and a POSIX system has; everything else is a third party's.
SYSTEM = set("""assert ctype dirent errno fcntl float langinfo limits locale math pthread setjmp signal stdarg stdatomic stdbool
stddef stdint stdio stdlib string strings sys/stat time unistd""".split())


def rooms():
    with open(os.path.join(ROOT, "DEVELOPERS.md"), encoding="utf-8") as file:
        return re.findall(r"^\| `(\w+)/` \|", file.read(), re.M)


def room(path):
    return path.split("/")[1]


def includes():
    for path in sorted(glob.glob("src/*/*.[ch]", root_dir=ROOT)):
        with open(os.path.join(ROOT, path), encoding="utf-8") as file:
            for name in re.findall(r'^\s*#\s*include\s+[<"]([^>"]+)[>"]', file.read(), re.M):
                yield path, name


def wrong_includes(order):
    met = {}
    for path, name in includes():
        own = room(path)
        if own not in order:
            yield f"{path}: the table has no room {own}/"
        elif name.startswith("pavior/") or own in ("cli", "web") and \
                os.path.exists(os.path.join(ROOT, "src", own, name)):
            continue
        elif os.path.exists(os.path.join(ROOT, "src", name)):
            if order.index(name.split("/")[0]) > order.index(own) or own in ("cli", "web"):
                yield f"{path} includes {name}"
        elif name.removesuffix(".h") not in SYSTEM:
            met.setdefault(name, {}).setdefault(own, path)
    for name, where in met.items():
        if len(where) > 1:
            yield f"{name} is included in several rooms: {', '.join(where.values())}"


def calls(build):
    """Which objects of src/ need which others, by their sources' names."""
    defined, needed = {}, {}
    for path in sorted(glob.glob("src/*/*.c", root_dir=ROOT)):
        listed = subprocess.run(["nm", os.path.join(build, path[:-2] + ".o")], capture_output=True, text=True,
                                check=True).stdout
        for kind, symbol in re.findall(r" ([A-Za-z]) (\S+)$", listed, re.M):
            if kind == "U":
                needed.setdefault(path, set()).add(symbol)
            elif kind.isupper():
                defined[symbol] = path
    return {path: {defined[s] for s in symbols if s in defined} - {path} for path, symbols in needed.items()}


def circles(graph):
    """Sets of files each of which needs all the others."""
    reach = {path: set(to) for path, to in graph.items()}
    grown = True
    while grown:
        grown = False
        for to in reach.values():
            more = set().union(*(reach.get(p, ()) for p in to)) - to
            to |= more
            grown = grown or bool(more)
    return {frozenset(q for q in to if path in reach.get(q, ())) for path, to in reach.items() if path in to}


def main():
    wrong = list(wrong_includes(rooms()))
    wrong += ["a circle of calls: " + ", ".join(sorted(c)) for c in circles(calls(os.path.abspath(sys.argv[1])))]
    for line in sorted(wrong):
        print("FAIL " + line)
    print(f"rooms: {len(rooms())} in order, {len(wrong)} wrong")
    return 1 if wrong else 0


sys.exit(main())
