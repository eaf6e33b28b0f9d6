#!/usr/bin/env python3
"""Draws the examples of the documents, or checks that they still come out as committed.

In docs/*/*.md, a block that begins with ```course NAME is an example; its picture is
docs/pictures/NAME.svg. One that states no mat stands on the block ```course-prelude of its document.
A block ```course-wrong is followed by a block ```findings with all that is said of it. The picture of
layouts/quayside.course is docs/pictures/quayside.svg.

Usage: pictures.py [--check] PAVIOR"""
import glob
import os
import re
import subprocess
import sys
import tempfile

DOCS = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
BLOCK = re.compile(r"^```([a-z-]+)(?: ([a-z0-9-]+))?\n(.*?)^```$", re.M | re.S)


def blocks(path):
    return BLOCK.findall(open(path, encoding="utf-8").read())


def review(pavior, folder, name, text, *options):
    """Standard error and status of a review of the text."""
    with open(os.path.join(folder, name), "w", encoding="utf-8") as out:
        out.write(text)
    done = subprocess.run([pavior, "review", *options, name], cwd=folder, capture_output=True,
                          text=True, encoding="utf-8", timeout=60,
                          env=dict(os.environ, LC_ALL="C.UTF-8", NO_COLOR="1"))
    return done.stderr, done.returncode


def draw(pavior, folder, prelude, name, text):
    """The example's picture, or None and what is wrong. A review may find a mere example unsound."""
    if not re.search(r"^mat ", text, re.M):
        text = prelude + text
    said, status = review(pavior, folder, name + ".course", text, "--run", "--svg", name + ".svg")
    if status not in (0, 1) or said:
        return None, f"example {name}: status {status}\n{said}"
    return open(os.path.join(folder, name + ".svg"), encoding="utf-8").read(), None


def settle(check, name, svg):
    """Writes the picture, or compares it with the committed one."""
    path = os.path.join(DOCS, "pictures", name + ".svg")
    if not check:
        with open(path, "w", encoding="utf-8") as out:
            out.write(svg)
        return None
    if not os.path.exists(path):
        return f"example {name}: its picture is missing; make pictures"
    same = open(path, encoding="utf-8").read() == svg
    return None if same else f"example {name}: its picture differs; look at it after make pictures"


def run_document(pavior, folder, check, path, drawn):
    wrong = []
    prelude = ""
    bad = None
    for kind, name, text in blocks(path):
        if kind == "course-prelude":
            prelude = text
        elif kind == "course":
            svg, complaint = draw(pavior, folder, prelude, name, text)
            complaint = complaint or settle(check, name, svg)
            wrong += [complaint] if complaint else []
            drawn.append(name)
        elif kind == "course-wrong":
            bad = text
        elif kind == "findings":
            said, status = review(pavior, folder, "wrong.course", bad)
            if said != text or status != 65:
                wrong.append(f"{path}: other findings, status {status}:\n{said}")
    return wrong


def published(pavior, folder, check):
    """The picture of the published layout."""
    layout = os.path.join(DOCS, "..", "layouts", "quayside.course")
    with open(layout, encoding="utf-8") as file:
        svg, complaint = draw(pavior, folder, "", "quayside", file.read())
    return complaint or settle(check, "quayside", svg)


def readme(pavior, folder):
    """The README's course must parse; it has no picture."""
    text = open(os.path.join(DOCS, "..", "README.md"), encoding="utf-8").read()
    block = re.search(r'^(    course ".*\n(?:    .*\n|\n)*)', text, re.M)
    said, status = review(pavior, folder, "readme.course", re.sub("^    ", "", block[1], flags=re.M))
    return None if status == 0 and not said else f"README.md: its course, status {status}\n{said}"


def main():
    check = "--check" in sys.argv
    pavior = os.path.abspath(sys.argv[-1])
    wrong, drawn = [], []
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted(glob.glob(os.path.join(DOCS, "*", "*.md"))):
            wrong += run_document(pavior, folder, check, path, drawn)
        wrong += [line for line in (published(pavior, folder, check), readme(pavior, folder)) if line]
        drawn.append("quayside")
    wrong += [f"example {n}: there are two" for n in sorted(set(drawn)) if drawn.count(n) > 1]
    for line in wrong:
        print("FAIL " + line)
    print(f"pictures: {len(drawn)} {'checked' if check else 'drawn'}, {len(wrong)} wrong")
    return 1 if wrong or not drawn else 0


sys.exit(main())
