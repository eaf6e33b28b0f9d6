#!/usr/bin/env python3
"""A plan's identity is the same on every libm: with one whose last digits are off, at random, each course gives the
fingerprint that it gives with the system's, though not the same coordinates. So a sheet that a browser laid is known to
the command, and the other way round.
Usage: test_libm.py [--long]; PAVIOR is the command"""
import json
import os
import subprocess
import sys
import tempfile

from checks import above, expect, finish

PAVIOR = os.path.abspath(os.environ["PAVIOR"])
HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
COURSES = [os.path.join(ROOT, "layouts", name + ".course") for name in ("quayside", "pierhead", "breakwater")]
LONG = "--long" in sys.argv
PAPERS = ["A4", "letter", "A3", "tabloid", "A5", "legal"] if LONG else ["A4"]
SEEDS = range(1, 13 if LONG else 3)


def plan(course, paper, folder, library=None, seed=0):
    path = os.path.join(folder, "x.plan.json")
    noise = {"LD_PRELOAD": library, "NOISE": str(seed)} if library else {}
    subprocess.run([PAVIOR, "sheets", course, "-p", paper, "-q", "--no-guide", "--replace", "--plan", path, "-o",
                    os.path.join(folder, "x.pdf")], check=True, env={**os.environ, **noise})
    with open(path, encoding="utf-8") as file:
        return file.read()


def main():
    with tempfile.TemporaryDirectory() as tmp:
        library = os.path.join(tmp, "noisy.so")
        subprocess.run(["cc", "-O1", "-shared", "-fPIC", "-fno-builtin", "-o", library,
                        os.path.join(HERE, "noisy_libm.c"), "-ldl", "-lm"], check=True)
        other = 0
        for course in COURSES:
            for paper in PAPERS:
                ours = plan(course, paper, tmp)
                theirs = [plan(course, paper, tmp, library, seed) for seed in SEEDS]
                other += sum(text != ours for text in theirs)
                same = all(json.loads(text)["kit"]["fingerprint"] == json.loads(ours)["kit"]["fingerprint"] for text in theirs)
                expect(f"{os.path.basename(course)} on {paper}: one identity", same)
        above("plans whose last digits differ", other, 0)
    return finish("libm")


if __name__ == "__main__":
    sys.exit(main())
