#!/usr/bin/env python3
"""Runs every case of bad input. A case is a file NAME.case in a folder below tests/bad:

    args: review tests/bad/course/no-mat.course     (words as a shell would split them)
    stdin: FILE                                     (optional)
    status: 65
    expect: a piece of what standard error must hold   (any number)
    expect-out: the same for standard output           (any number)
    no-file: a file that must not exist afterwards     (any number)

{tmp} in any of them stands for a fresh folder, which must be empty of half-written files at the end; in
args {csi} stands for U+009B, which terminals take for the start of a command, and {nl} for the end of a
line. No control character may come out again, whatever goes in.
Usage: run.py PAVIOR [CASE...]"""
import glob
import os
import shlex
import subprocess
import sys
import tempfile
import unicodedata


def read_case(path):
    case = {"args": None, "stdin": None, "status": None, "expect": [], "expect-out": [],
            "no-file": []}
    for line in open(path, encoding="utf-8"):
        line = line.rstrip("\n")
        if not line or line.startswith("#"):
            continue
        key, value = line.split(": ", 1)
        if isinstance(case[key], list):
            case[key].append(value)
        else:
            case[key] = value
    return case


def run_case(binary, path):
    case = read_case(path)
    wrong = []
    with tempfile.TemporaryDirectory() as tmp:
        args = [w.replace("{tmp}", tmp).replace("{csi}", "\x9b").replace("{nl}", "\n")
                for w in shlex.split(case["args"])]
        stdin = open(case["stdin"], "rb") if case["stdin"] else subprocess.DEVNULL
        env = dict(os.environ, LC_ALL="C.UTF-8", NO_COLOR="1")
        done = subprocess.run([binary] + args, stdin=stdin, capture_output=True, timeout=120,
                              env=env)
        err = done.stderr.decode("utf-8", "replace")
        out = done.stdout.decode("utf-8", "replace")
        if done.returncode != int(case["status"]):
            wrong.append(f"status {done.returncode}, expected {case['status']}")
        wrong += [f"standard error lacks: {t}" for t in case["expect"] if t not in err]
        wrong += [f"standard output lacks: {t}" for t in case["expect-out"] if t not in out]
        if "Sanitizer" in err or "runtime error:" in err:
            wrong.append("a sanitizer spoke")
        for what, text in (("error", err), ("output", out)):
            if any(unicodedata.category(c) == "Cc" and c not in "\n\t\r" for c in text):
                wrong.append(f"standard {what} has control characters")
        for name in case["no-file"]:
            if os.path.exists(name.replace("{tmp}", tmp)):
                wrong.append(f"{name} was left behind")
        wrong += [f"half-written {n}" for n in os.listdir(tmp) if ".new" in n]
        if wrong:
            wrong.append("standard error was:\n" + err[-1500:])
    return wrong


def helps_too_wide(binary):
    """Commands whose help leaves 80 columns, or fails."""
    wide = []
    for command in ([], ["review"], ["sheets"], ["inspect"], ["calibrate"]):
        done = subprocess.run([binary, *command, "--help"], capture_output=True, text=True,
                              timeout=20)
        if done.returncode != 0 or max(map(len, done.stdout.split("\n"))) > 80:
            wide.append(" ".join(["pavior", *command, "--help"]))
    return wide


def main():
    binary = sys.argv[1]
    top = os.path.dirname(os.path.abspath(__file__))
    cases = sys.argv[2:] or sorted(glob.glob(os.path.join(top, "*", "*.case")))
    failed = 0
    for path in cases:
        wrong = run_case(binary, path)
        if wrong:
            failed += 1
            print(f"FAIL {os.path.relpath(path, top)}: " + "\n     ".join(wrong))
    wide = helps_too_wide(binary)
    failed += len(wide)
    for command in wide:
        print(f"FAIL {command}: its lines must fit 80 columns, and its status be 0")
    print(f"bad input: {len(cases) + 5 - failed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
