#!/usr/bin/env python3
"""Checks that every link of README.md, DEVELOPERS.md and the documents leads to a file and, behind a #, to a
heading, that every source file and constant that they name exists, and every document that sources and tests name.
Usage: links.py"""
import glob
import os
import re
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LINK = re.compile(r"\]\(([^)#\s]*)(?:#([^)\s]+))?\)")
SOURCE = re.compile(r"`(?:src/)?([a-z]+/[a-z_]+\.[ch])`")
NAMED = re.compile(r"\bdocs/[a-z_/-]+\.(?:md|py|svg|png)\b")


def read(path):
    return open(path, encoding="utf-8").read()


def anchors(path):
    """The anchors that a page of Markdown gets on common hosts: the heading's letters, spaces as hyphens."""
    heads = re.findall(r"^#+ (.+)$", re.sub(r"^```.*?^```$", "", read(path), flags=re.M | re.S), re.M)
    return {re.sub(r"[^\w -]", "", h.lower()).strip().replace(" ", "-") for h in heads}


def check_links(path):
    wrong = []
    for target, anchor in LINK.findall(read(path)):
        if target.startswith(("http:", "https:")):
            continue
        file = os.path.normpath(os.path.join(os.path.dirname(path), target)) if target else path
        if not os.path.exists(file):
            wrong.append(f"{path}: no file {target}")
        elif anchor and file.endswith(".md") and anchor not in anchors(file):
            wrong.append(f"{path}: no heading {anchor} in {os.path.relpath(file, ROOT)}")
    return wrong


def check_constants(path):
    """Constants that the page names and the code no longer has."""
    known = {word for f in (*glob.glob("src/*/*.[ch]"), *glob.glob("include/*/*.h"))
             for word in re.findall(r"\w+", read(f))}
    return [f"{path}: no constant {name}" for name in re.findall(r"`([A-Z][A-Z0-9_]+)`", read(path))
            if name not in known]


def main():
    os.chdir(ROOT)
    pages = ["README.md", "DEVELOPERS.md", *sorted(glob.glob("docs/**/*.md", recursive=True))]
    wrong = [line for page in pages for line in check_links(page)]
    for page in pages:
        for name in SOURCE.findall(read(page)):
            if not any(os.path.exists(os.path.join(place, name)) for place in ("src", "include", "tests")):
                wrong.append(f"{page}: no source {name}")
    for page in ("docs/how/assumptions.md", "docs/how/worksheet.md"):
        wrong += check_constants(page)
    naming = [*pages, "Makefile", *glob.glob("docs/scripts/*"), *glob.glob("layouts/*"),
              *glob.glob("include/*/*.h"), *glob.glob("src/*/*.[ch]"), *glob.glob("tests/**/*.py", recursive=True),
              *glob.glob("tests/unit/*.[ch]"), *glob.glob("tests/bad/**/*.case", recursive=True)]
    for file in naming:
        for name in NAMED.findall(read(file)):
            if not os.path.exists(name):
                wrong.append(f"{file}: no {name}")
    for line in wrong:
        print("FAIL " + line)
    print(f"links: {len(pages)} pages, {len(wrong)} wrong")
    return 1 if wrong else 0


sys.exit(main())
