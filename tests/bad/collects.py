#!/usr/bin/env python3
"""pavior collect among strangers: results, folders and parts that hold what nobody expects.
Usage: collects.py PAVIOR"""
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile

PAVIOR = os.path.abspath(sys.argv[1])
SMALL = 'course "Quay" edition "1"\nmat 150mm by 120mm ground white\n'


def run(folder, *args, command="collect"):
    done = subprocess.run([PAVIOR, command, *args], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode >= 0 and "Sanitizer" not in done.stderr and "runtime error" not in done.stderr, done.stderr
    return done.returncode, done.stdout, done.stderr


def write(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def collect(folder, *more, results="results"):
    return run(folder, "quay-kit", "pictures", "-o", results, "-j", "2", *more)


def table(folder, results="results"):
    with open(os.path.join(folder, results, "results.csv"), encoding="utf-8") as file:
        return file.read().split("\n")[1:-1]


def litter_and_loose_pictures_are_no_teams(folder):
    pictures = os.path.join(folder, "pictures")
    for name in ("Thumbs.db", "north/thumbs.db", "north/desktop.ini", "__MACOSX/north/._a.png", ".DS_Store",
                 "north/.a", "$RECYCLE.BIN/a.png", "System Volume Information/a"):
        write(os.path.join(pictures, name), "litter")
    write(os.path.join(pictures, "north", "a.png"), "no picture")
    write(os.path.join(pictures, "loose.png"), "no picture either")
    status, said, _ = collect(folder)
    assert status == 0 and said.startswith("2 pictures of 1 teams"), said
    assert "0 of 1 teams" in said, said
    assert [line.split(",")[:2] for line in table(folder)] == [["", '"loose.png"'], ['"north"', '"a.png"']]
    with open(os.path.join(folder, "results", "index.html"), encoding="utf-8") as file:
        assert "0 of 1 teams" in file.read()


def main():
    tests = (litter_and_loose_pictures_are_no_teams,)
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            write(os.path.join(folder, "quay.course"), SMALL)
            assert run(folder, "quay.course", "-p", "A4", "-q", command="kit")[0] == 0
            test(os.path.realpath(folder))
    print(f"collects: {len(tests)} passed, 0 failed")


main()
