#!/usr/bin/env python3
"""Holds docs/reference/command-line.md and every shell example of the documents against the program's own
--help: each option of each command has its row, no row is of an option that isn't there, and no example uses
one.
Usage: options.py PAVIOR"""
import glob
import os
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]+")


def output(pavior, *arguments):
    return subprocess.run([pavior, *arguments, "--help"], capture_output=True, text=True, encoding="utf-8",
                          check=True).stdout


def read(path):
    return open(os.path.join(ROOT, path), encoding="utf-8").read()


def commands(pavior):
    """Each command's options, as its --help lists them at the beginning of a line."""
    names = re.findall(r"^  ([a-z]+) {2,}", output(pavior).split("Commands:")[1].split("\n\n")[0], re.M)
    heads = {name: re.findall(r"^ {2,6}(?:-\w, )?(--[a-z][a-z-]+)", output(pavior, name), re.M) for name in names}
    return {name: set(found) for name, found in heads.items()}


def check_reference(known):
    page = "docs/reference/command-line.md"
    parts = dict(re.findall(r"^## `pavior ([a-z]+)`\n(.*?)(?=^## |\Z)", read(page), re.M | re.S))
    wrong = [f"{page}: no section for {name}" for name in known.keys() - parts.keys()]
    wrong += [f"{page}: there is no command {name}" for name in parts.keys() - known.keys()]
    for name in known.keys() & parts.keys():
        rows = set(re.findall(r"^\| (?:`-\w`, )?`(--[a-z][a-z-]+)", parts[name], re.M))
        wrong += [f"{page}: {name} {option} has no row" for option in known[name] - rows]
        wrong += [f"{page}: {name} has no option {option}" for option in rows - known[name]]
    return wrong


def check_examples(known, page):
    """Lines that run pavior, continued ones joined, whether in a block or within a sentence."""
    wrong = []
    text = re.sub(r"\\\n\s*", " ", read(page))
    for name, rest in re.findall(r"\bpavior ([a-z]+)\b((?: [^\n`]*)?)", text):
        for option in OPTION.findall(rest.split(" # ")[0]) if name in known else ():
            if option not in known[name]:
                wrong.append(f"{page}: pavior {name} has no option {option}")
    return wrong


def main():
    known = commands(os.path.abspath(sys.argv[1]))
    pages = ["README.md", *(os.path.relpath(p, ROOT) for p in sorted(glob.glob(ROOT + "/docs/*/*.md")))]
    wrong = check_reference(known) + [line for page in pages for line in check_examples(known, page)]
    for line in sorted(wrong):
        print("FAIL " + line)
    print(f"options: {sum(map(len, known.values()))} of {len(known)} commands, {len(wrong)} wrong")
    return 1 if wrong or not known else 0


sys.exit(main())
