#!/usr/bin/env python3
"""The page that draws courses: the module under node and the command give the same drawing, the same review, the same
plan with the same identity, and the same PDF, byte by byte, for the layouts on several papers; in headless Chromium
the page shows that drawing, follows keys, shows a fault at its place, hands out the same files and the same kit; from
a folder on disk, offline, and with scripts blocked. What it weighs, and how long it takes. With --long the layouts on
ten papers, the page with a slow processor, and the largest layout's sheets.
Usage: test_course.py [--long]; PAVIOR is the command, beside which `make web` has put the modules"""
import gzip
import hashlib
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import zipfile

import browse
import npm
from checks import at_most, expect, finish
from test_web import call

PAVIOR = os.path.abspath(os.environ["PAVIOR"])
HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
WEB = os.path.join(os.path.dirname(PAVIOR), "web")
MODULE = os.path.join(WEB, "course-module.js")
LONG = "--long" in sys.argv
LAYOUTS = ["quayside", "breakwater", "pierhead"]
PAPERS = ["A4", "letter", "A3"] + (["A2", "A1", "A0", "tabloid", "legal", "ARCH C", "300x450mm"] if LONG else [])
WEIGHT = 2_200_000  # bytes by gzip: both pages, their scripts and their stylesheets
FOLLOW_MS = 100     # from a key to the drawing of Quayside
FOLLOW_SLOW_MS = 500  # six times slower
SHEETS_S = 10       # the largest layout's sheets


def text_of(layout):
    with open(os.path.join(ROOT, "layouts", f"{layout}.course"), encoding="utf-8") as file:
        return file.read()


def bytes_of(path):
    with open(path, "rb") as file:
        return file.read()


# ---- the module under node ----

def by_module(jobs):
    task = {"module": MODULE, "jobs": jobs}
    got = subprocess.run(["node", os.path.join(HERE, "course_module.js")], input=json.dumps(task), text=True,
                         capture_output=True, check=False, timeout=3600)
    if got.returncode != 0:
        raise RuntimeError(got.stderr[-2000:])
    return json.loads(got.stdout)


def check_module(tmp):
    jobs = [{"layout": layout, "paper": paper, "text": text_of(layout), "choices": [["paper", paper]],
             "out": os.path.join(tmp, f"{layout}-{paper}".replace(" ", "-"))} for layout in LAYOUTS for paper in PAPERS]
    same_plans = same_pdfs = 0
    worst = {}
    for job, got in zip(jobs, by_module(jobs)):
        name, ours = f"{job['layout']} on {job['paper']}", job["out"] + "-command.pdf"
        done = subprocess.run([PAVIOR, "sheets", os.path.join(ROOT, "layouts", f"{job['layout']}.course"), "-p", job["paper"],
                               "-q", "-o", ours], capture_output=True, text=True, check=False)
        if done.returncode != 0:
            expect(f"{name}: the module refuses what the command refuses", not got["good"], done.stderr[:200])
            continue
        plan = bytes_of(ours.replace(".pdf", ".plan.json"))
        theirs = bytes_of(job["out"] + ".plan.json") if got["good"] else b""
        pdf = bytes_of(f"{job['out']}-1.pdf") if got.get("pdfs") == 1 else b""
        same_plans += plan == theirs
        same_pdfs += pdf == bytes_of(ours)
        expect(f"{name}: the same plan, the same PDF", plan == theirs and pdf == bytes_of(ours) and
               got["identity"] == json.loads(plan)["kit"]["fingerprint"], f"(kit {got.get('identity')}) {got['said'][:2]}")
        for work, seconds in got["times"].items():
            worst[work] = max(worst.get(work, 0), seconds)
    print(f"    {same_plans} plans and {same_pdfs} PDFs the same to the byte; longest: " +
          ", ".join(f"{work} {seconds:.2f} s" for work, seconds in worst.items()))
    for layout in LAYOUTS:
        kit = os.path.join(tmp, f"{layout}-kit")
        out = os.path.join(tmp, f"{layout}-{PAPERS[0]}")
        call(PAVIOR, "kit", os.path.join(ROOT, f"layouts/{layout}.course"), "-p", PAPERS[0], "-q", "-o", kit)
        expect(f"{layout}: the same drawing", bytes_of(f"{out}.svg") == bytes_of(os.path.join(kit, "mat.svg")))
        said = call(PAVIOR, "review", "--json", os.path.join(ROOT, f"layouts/{layout}.course"))
        ours, theirs = json.loads(said), json.loads(bytes_of(f"{out}.review.json"))
        expect(f"{layout}: the same review", {**ours, "file": None} == {**theirs, "file": None})
    return kit


# ---- the page ----

def by_page(place, tmp, url, **task):
    """What course_page.js answers; what it saved lies in the folder `downloads` of `tmp`."""
    downloads = os.path.join(tmp, "downloads")
    shutil.rmtree(downloads, ignore_errors=True)
    os.makedirs(downloads)
    return browse.worked("course_page.js", place, url, downloads, **{"width": 1400, "height": 900, **task})


def paths_of(svg):
    return re.findall(r'<path[^>]* d="([^"]*)"', svg)


def check_page(tmp, place):
    """By itself, as `make web` leaves it, with Quayside on it."""
    url = f"file://{WEB}/pavior.html"
    got = by_page(place, tmp, url, offline=True, type=[" ", "#", " ", "x", "y", "z"], lay={"paper": "A3"}, kit={"papers": "A3"},
                  axe=True, fault=text_of("quayside").replace("paint width 14mm", "piant width 14mm", 1))
    browse.quiet("the page", got)
    svg = bytes_of(os.path.join(tmp, "quayside-kit", "mat.svg")).decode()
    expect("it shows Quayside's drawing", got["name"] == "Quayside" and paths_of(svg) == got["paths"] != [],
           f"({len(got['paths'])} paths)")
    expect("it says what the review says", got["verdict"] == "Sound" and
           got["review"] == call(PAVIOR, "review", os.path.join(ROOT, "layouts/quayside.course")))
    # The best of several keys: what else the machine does is no part of the page.
    at_most("the drawing follows a key", statistics.median(got["drawn_ms"]), FOLLOW_MS, "ms")
    print(f"    each key: {got['drawn_ms']} ms; sheets {got['lay_s']:.1f} s, kit {got['kit_s']:.1f} s")
    check_files(tmp, got)
    lines = text_of("quayside").split("\n")
    line = next(i for i, words in enumerate(lines, 1) if "paint width 14mm" in words)
    fault = got["fault"]
    expect("a fault is shown at its place, with its advice", fault["at"] == line and fault["word"] == "piant" and
           fault["marked"][:1] == ["piant"] and str(line) in fault["flagged"] and
           any(f"Line {line}" in one["words"] and "paint" in one["words"] for one in fault["findings"]), f"{fault}")
    expect("and the drawing stays, said to be of the text before", fault["kept"] and "fault" in fault["state"].lower() and
           fault["verdict"].startswith("Faults"), fault["state"])
    expect("axe finds nothing in it", not got["axe"], "\n    ".join(got["axe"]))
    for name, more in (("with scripts blocked", {"script": False}),
                       ("without WebAssembly", {"look": True, "before": "delete globalThis.WebAssembly"})):
        got = by_page(place, tmp, url, **more)
        expect(f"{name} it says what to do", "WebAssembly" in got["words"] and "newer browser" in got["words"] and
               "the program" in got["words"] and "Lay the sheets" not in got["words"].split("\n"), got["words"][:300])


def check_files(tmp, got):
    """The same files as the command's. The course has one more line by then."""
    course = os.path.join(tmp, "typed.course")
    with open(course, "w", encoding="utf-8") as file:
        file.write(text_of("quayside") + " # xyz")
    call(PAVIOR, "sheets", course, "-p", "A3", "-q", "-o", os.path.join(tmp, "typed.pdf"))
    downloads = os.path.join(tmp, "downloads")
    expect("it hands out sheets and plan", got["files"] == ["quayside-a3.pdf", "quayside-a3.plan.json"] and
           got["cells"] > 1 and " of A3" in got["laid"], f"{got['files']} {got['laid']} {got['refused']}")
    if len(got["files"]) == 2:
        expect("they are the command's", bytes_of(os.path.join(downloads, got["files"][0])) ==
               bytes_of(os.path.join(tmp, "typed.pdf")) and bytes_of(os.path.join(downloads, got["files"][1])) ==
               bytes_of(os.path.join(tmp, "typed.plan.json")))
    zipped = os.path.join(tmp, "quayside-kit.zip")
    call(PAVIOR, "kit", course, "-p", "A3", "-q", "--zip", "-o", zipped)
    expect("it hands out the kit", got["kits"] == ["quayside-kit.zip"], f"{got['kits']} {got['made']}")
    if got["kits"] == ["quayside-kit.zip"]:
        with zipfile.ZipFile(zipped) as ours, zipfile.ZipFile(os.path.join(downloads, "quayside-kit.zip")) as theirs:
            other = [n for n in ours.namelist() if n not in theirs.namelist() or ours.read(n) != theirs.read(n)]
            expect("all its files are the command's", ours.namelist() == theirs.namelist() and not other, f"{other[:5]}")


def check_kit(tmp, place, kit):
    """In a kit it has the kit's course, and another to begin with."""
    got = by_page(place, tmp, f"file://{kit}/pavior.html", begin="quayside.course")
    browse.quiet("in a kit", got)
    expect("in a kit it draws the kit's course, then another", got["name"] == "Pierhead" and got["begun"] == "Quayside",
           f"{got['name']} {got.get('begun')}")


# ---- its weight ----

def check_weight(kit):
    names = ("pavior.html", "course.css", "course.js", "course-module.js", "pavior.css", "check.html", "check.js", "check-module.js")
    sizes = {f: len(gzip.compress(bytes_of(os.path.join(kit, f)), 9)) for f in names}
    print("    by gzip: " + ", ".join(f"{f} {n}" for f, n in sizes.items()))
    at_most("both pages with all that they load, by gzip", sum(sizes.values()), WEIGHT, "bytes")
    with open(MODULE, "rb") as file:
        print(f"    course-module.js: SHA-256 {hashlib.sha256(file.read()).hexdigest()}")


def check_long(tmp, place):
    url = f"file://{WEB}/pavior.html"
    got = by_page(place, tmp, url, slower=6, type=[" ", "#", " ", "x", "y"], pause=2000)
    at_most("six times slower the drawing follows a key", statistics.median(got["drawn_ms"]), FOLLOW_SLOW_MS, "ms")
    got = by_module([{"text": text_of("breakwater"), "choices": [["paper", "A4"]], "out": os.path.join(tmp, "large")}])[0]
    at_most("the largest layout's sheets", got["times"]["lay"] + got["times"]["files"], SHEETS_S, "s")


def main():
    if not os.path.exists(MODULE):
        print("    skipped: there is no module for browsers; `make web` makes it")
        return 0
    with tempfile.TemporaryDirectory() as tmp:
        kit = check_module(tmp)
        check_weight(kit)
        browse.check_types("src/web/embedded/course.js", "src/web/unpack.js", "src/web/memory.js", "src/web/desk_worker.js")
        place = npm.install(*browse.PACKAGES)
        if place is None or shutil.which("chromium") is None:
            print("    skipped: there is no chromium here")
        else:
            marked = browse.validate(place, [os.path.join(WEB, "pavior.html"), os.path.join(kit, "pavior.html")])
            expect("html-validate finds nothing in it", not any(marked), f"{marked}")
            check_page(tmp, place)
            check_kit(tmp, place, kit)
            if LONG:
                check_long(tmp, place)
    return finish("course")


if __name__ == "__main__":
    sys.exit(main())
