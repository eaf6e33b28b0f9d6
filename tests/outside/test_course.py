#!/usr/bin/env python3
"""The page that draws courses: the module under node and the command give the same drawing, the same review, the same
plan with the same identity, and the same PDF, byte by byte, for the layouts on several papers; in headless Chromium
the page shows that drawing, follows keys, shows a fault at its place, hands out the same files and the same kit; from
a folder on disk, offline, and with scripts blocked. What it weighs, and how long it takes. With --long the layouts on
ten papers, the page with a slow processor, and the largest layout's sheets.
Usage: test_course.py [--long]; PAVIOR is the command, beside which `make web` has put the modules"""
import contextlib
import functools
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
import time
import zipfile

import browse
import npm
from checks import at_most, expect, finish
from test_web import Quiet, call, served

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


# ---- what goes wrong, and what a person takes back ----

# Answers in a worker's place to what `fake` gives an answer for, and holds back for so many ms what `late` tells.
FAKED = """(() => {
  let opens = 0;
  globalThis.Worker = class extends Worker {
    postMessage(m, ...more) {
      const fake = FAKE(m, m.work === "open" ? ++opens : 0), late = LATE(m);
      if (fake) setTimeout(() => this.onmessage({ data: { id: m.id, ...fake } }));
      else if (late > 0) setTimeout(() => super.postMessage(m, ...more), late);
      else super.postMessage(m, ...more);
    }
  };
})()"""


def faked(fake="() => null", late="() => 0"):
    return FAKED.replace("FAKE", f"({fake})").replace("LATE", f"({late})")


def told(stands):
    """What of the page a failed check is about."""
    return ", ".join(f"{key} {value}" for key, value in stands.items() if value)


class Slow(Quiet):
    """A host that takes its time with the other script, and then has nobody to give it to."""
    def do_GET(self):
        if self.path.endswith("check-module.js"):
            time.sleep(15)
        with contextlib.suppress(BrokenPipeError):
            super().do_GET()


def check_offline(tmp, place):
    """From a static host, with the network cut off once the page has loaded."""
    server = served(WEB)
    got = by_page(place, tmp, f"http://127.0.0.1:{server.server_port}/pavior.html", offline=True, kit={"papers": "A3"})
    server.shutdown()
    browse.quiet("offline", got)
    zipped = os.path.join(tmp, "downloads", "quayside-kit.zip")
    names = zipfile.ZipFile(zipped).namelist() if got["kits"] else []
    expect("offline it makes the kit, with the page that checks sheets", "quayside-kit/check.html" in names and
           got["made"].startswith("The kit is made") and "not beside" not in got["made"], f"{got['made']} {len(names)}")


def check_other_script(tmp, place):
    """A host that answers with a page of its own, or that is slow, in the other script's place."""
    host = shutil.copytree(WEB, os.path.join(tmp, "host"), ignore=shutil.ignore_patterns("src", "lib", "*.o", "*.c", "desk_po"))
    with open(os.path.join(host, "check-module.js"), "w", encoding="utf-8") as file:
        file.write("<!DOCTYPE html>\n<title>Not here</title>\n")
    got = by_page(place, tmp, f"file://{host}/pavior.html", kit={"papers": "A3"})
    expect("without the other script it says so, and makes the kit", "not beside this page" in got["made"] and got["kits"] != [], got["made"])
    server = served(WEB, Slow)
    got = by_page(place, tmp, f"http://127.0.0.1:{server.server_port}/pavior.html", steps=[
        ["fill", {"papers": "A3"}], ["click", "#make-kit"], ["click", "#stop"], ["press", "#lay"]])["steps"]
    server.shutdown()
    expect("while the kit waits for it, Stop has the focus, within its form", got[1]["focus"] == "stop" and
           got[1]["within"] == "publish" and got[1]["busy"] == "true", told(got[1]))
    expect("it stops, and the focus is back", got[2]["kit-now"] == "Stopped." and got[2]["focus"] == "make-kit" and
           got[2]["busy"] == "false", told(got[2]))
    expect("and lays sheets then", got[3]["laid"] == 2 and got[3]["within"] == "layout" and got[3]["focus"] == "lay", told(got[3]))


def check_reviews(tmp, place):
    """A review that is stopped, refused, broken; a drawing that is late; a worker that does not open."""
    url, text = f"file://{WEB}/pavior.html", text_of("quayside")
    piant = text.replace("paint width 14mm", "piant width 14mm", 1)
    late = faked(late="(m) => m.work === 'review' ? 800 : 0")
    got = by_page(place, tmp, url, before=late, steps=[
        ["text", text + "\n"], ["wait", 500], ["click", "#lay"], ["click", "#stop"], ["until", "verdict", "Sound"]])["steps"]
    expect("stopped with the sheets, the review is made anew", got[3]["now"] == "Stopped." and got[4]["verdict"] == "Sound", told(got[4]))
    said = '{severity: 2, line: 0, column: 0, length: 0, message: "it is too tangled", hint: "untangle it"}'
    for name, fake, words in (
            ("refused", "{done: {good: false, read: true, said: [" + said + "]}}", "it is too tangled; untangle it"),
            ("broken", '{failed: "unreachable"}', "not enough memory")):
        got = by_page(place, tmp, url, before=faked(f"(m) => m.work === 'review' ? {fake} : null"), steps=[["until", "verdict", "Not"]])["steps"]
        expect(f"of a review that is {name} it says why", got[0]["verdict"] == "Not reviewed" and
               words in got[0]["findings"] + got[0]["told"], told(got[0]))
    late = faked(late="(m) => m.work === 'draw' && m.asked.text.includes('piant') ? 2500 : 0")
    got = by_page(place, tmp, url, before=late, steps=[
        ["text", piant], ["text", text + "\n"], ["until", "verdict", "Sound"], ["wait", 3000]])["steps"]
    expect("a late fault is that of a former text", got[2]["verdict"] == got[3]["verdict"] == "Sound" and not got[3]["stale"] and
           got[3]["findings"] == "", told(got[3]))
    fails = faked("(m) => m.work === 'draw' && m.asked.text.includes('piant') ? {failed: 'odd'} : null")
    got = by_page(place, tmp, url, before=fails, steps=[["text", piant], ["until", "held", "Something"], ["text", text], ["until", "held", ""]])["steps"]
    expect("a drawing that fails is said, the former is pale, and the next comes", got[1]["held"] == "Something went wrong: odd" and
           got[1]["stale"] and got[3]["held"] == "" and not got[3]["stale"], told(got[1]))
    got = by_page(place, tmp, url, before=faked("(m, opens) => opens === 2 ? {failed: 'odd'} : null"), steps=[["press", "#lay"]])["steps"]
    expect("a worker that did not open is opened again", got[0]["laid"] == 2, told(got[0]))
    none = """globalThis.Worker = class { postMessage() { queueMicrotask(() => this.onerror({})); } terminate() {} }"""
    got = by_page(place, tmp, url, look=True, before=none)
    expect("one that can't begin is not said to lack memory", "Something went wrong" in got["words"] and "memory" not in got["words"],
           got["words"][:300])


def check_files_chosen(tmp, place):
    """What is no course, and what can't be read."""
    url, text = f"file://{WEB}/pavior.html", text_of("quayside")
    path = functools.partial(os.path.join, tmp)
    for name, content in (("latin.course", text.encode() + b"# gr\xfcn\n"), ("large.course", b"#" * (4 << 20) + b"\n"),
                          ("good.course", b"\xef\xbb\xbf" + text.encode() + "# gr\u00fcn\n".encode()),
                          ("odd.json", b'{"format": "pavior printer",\n"version": "one"}\n')):
        with open(path(name), "wb") as file:
            file.write(content)
    got = by_page(place, tmp, url, steps=[
        ["choose", "#file", path("latin.course")], ["until", "state", "latin"], ["choose", "#file", path("large.course")],
        ["until", "state", "large"], ["choose", "#file", path("good.course")], ["wait", 500]])["steps"]
    expect("a file that is not UTF-8 is refused, and the text stays", got[1]["state"].startswith("latin.course is not text in UTF-8") and
           got[1]["text"] == len(text) and got[1]["file"] == "", told(got[1]))
    expect("one that is too large is refused", got[3]["state"].startswith("large.course is too large") and "4 MiB" in got[3]["state"] and
           got[3]["text"] == len(text), told(got[3]))
    expect("one in UTF-8 is opened", got[5]["state"] == "" and got[5]["text"] == len(text) + len("# gr\u00fcn\n"), told(got[5]))
    got = by_page(place, tmp, url, steps=[
        ["fill", {"across": "99.2", "up": "99.2"}], ["choose", "#printer", path("odd.json")], ["press", "#lay"],
        ["click", "#layout details summary"], ["click", "#no-file"], ["press", "#lay"]])["steps"]
    expect("of a bad printer file it says what, without a line of the course", got[2]["laid"] == 0 and got[2]["refused"] != "" and
           got[2]["places"] == 0 and got[2]["by_file"], told(got[2]))
    expect("and does without it, by what was typed", not got[4]["by_file"] and got[5]["laid"] == 2 and got[5]["refused"] == "", told(got[5]))


def check_typed(tmp, place):
    """Lengths as people type them, and refusals in the page's words; what a later change does to what was made."""
    url, text = f"file://{WEB}/pavior.html", text_of("quayside")
    two = {"paper": "", "custom": "30 x 45,5 cm", "overlap": "16"}
    got = by_page(place, tmp, url, steps=[
        ["fill", two], ["press", "#lay"], ["fill", {"overlap": "wide"}], ["press", "#lay"], ["fill", {"overlap": "15,5mm", "across": "9.92", "up": "99"}],
        ["press", "#lay"], ["fill", {"across": "9.92 cm"}], ["press", "#lay"], ["fill", {"custom": "large"}], ["press", "#lay"],
        ["fill", {"custom": "300x450mm", "margins": "own", "margin-top": "-1mm"}], ["press", "#lay"],
        ["fill", {"papers": "A2", "paper": "A3", "margins": ""}], ["press", "#make-kit"], ["press", "#lay"], ["text", text + "\n"], ["until", "verdict", "Sound"]])["steps"]
    expect("bare numbers are mm, and commas points", "of 300 x 455 mm" in got[1]["now"] and got[1]["cells"] > 1, told(got[1]))
    expect("what is no length is refused by the field's name", got[3]["now"] ==
           "Overlap of the sheets: \u201cwide\u201d is not a length. Write it as 16 or 16 mm.", got[3]["now"])
    expect("and the former sheets are gone from the drawing", got[3]["cells"] == 0 and got[3]["laid"] == 0, told(got[3]))
    expect("no printer makes so little of 100 mm", "\u201c9.92\u201d is not from 90 to 110 mm" in got[5]["now"], got[5]["now"])
    expect("a correction on a size of one's own is one for it", got[7]["laid"] == 2 and got[7]["refused"] == "", told(got[7]))
    expect("what is no size is refused", "\u201clarge\u201d is not a size" in got[9]["now"], got[9]["now"])
    expect("nor is -1 mm a margin", got[11]["now"].startswith("Top: \u201c-1mm\u201d is not a length"), got[11]["now"])
    expect("a later change takes sheets and kit away, and says so", got[14]["kits"] == 1 and got[14]["laid"] == 2 and
           got[16]["kits"] == got[16]["laid"] == got[16]["cells"] == 0 and "lay it again" in got[16]["now"] and
           "make the kit again" in got[16]["kit-now"], told(got[16]))


def check_keys(tmp, place):
    """F8 goes on from the caret; Ctrl and S saves, whatever caps lock does."""
    lines = text_of("quayside").split("\n")
    wrong = [i for i, words in enumerate(lines) if words.startswith(("line", "arc", "text"))][:2]
    for i in wrong:
        lines[i] = "x" + lines[i]
    got = by_page(place, tmp, f"file://{WEB}/pavior.html", steps=[
        ["keys", {"key": "S", "ctrlKey": True}], ["text", "\n".join(lines)], ["until", "verdict", "Faults in the text: 2"],
        ["caret", sum(len(words) + 1 for words in lines[:wrong[0] + 1])], ["key", "F8"], ["key", "F8"]])["steps"]
    expect("F8 goes to the next finding beyond the caret, then to the first", [one["line"] - 1 for one in got[4:]] == wrong[::-1],
           f"{[one['line'] for one in got[4:]]} {wrong}")
    expect("Ctrl and S saves with caps lock", os.listdir(os.path.join(tmp, "downloads")) == ["quayside.course"],
           f"{os.listdir(os.path.join(tmp, 'downloads'))}")


# ---- its weight ----

def check_weight(kit):
    names = ("pavior.html", "course.css", "page.js", "course.js", "course-module.js", "pavior.css", "check.html", "check.js", "check-module.js")
    sizes = {f: len(gzip.compress(bytes_of(os.path.join(kit, f)), 9)) for f in names}
    print("    by gzip: " + ", ".join(f"{f} {n}" for f, n in sizes.items()))
    at_most("both pages with all that they load, by gzip", sum(sizes.values()), WEIGHT, "bytes")
    with open(MODULE, "rb") as file:
        print(f"    course-module.js: SHA-256 {hashlib.sha256(file.read()).hexdigest()}")


def check_long(tmp, place):
    # The median of several keys: what else the machine does is no part of the page.
    for how, slower, limit in (("", None, FOLLOW_MS), ("six times slower ", 6, FOLLOW_SLOW_MS)):
        got = by_page(place, tmp, f"file://{WEB}/pavior.html", slower=slower, type=[" ", "#", " ", "x", "y"], pause=2000)
        at_most(f"{how}the drawing follows a key", statistics.median(got["drawn_ms"]), limit, "ms")
    got = by_module([{"text": text_of("breakwater"), "choices": [["paper", "A4"]], "out": os.path.join(tmp, "large")}])[0]
    at_most("the largest layout's sheets", got["times"]["lay"] + got["times"]["files"], SHEETS_S, "s")


def main():
    if not os.path.exists(MODULE):
        print("    skipped: there is no module for browsers; `make web` makes it")
        return 0
    with tempfile.TemporaryDirectory() as tmp:
        kit = check_module(tmp)
        check_weight(kit)
        browse.check_types(["src/web/embedded/page.js", "src/web/embedded/course.js"], "src/web/unpack.js", "src/web/memory.js", "src/web/desk_worker.js")
        place = npm.install(*browse.PACKAGES)
        if place is None or shutil.which("chromium") is None:
            print("    skipped: there is no chromium here")
        else:
            marked = browse.validate(place, [os.path.join(WEB, "pavior.html"), os.path.join(kit, "pavior.html")])
            expect("html-validate finds nothing in it", not any(marked), f"{marked}")
            check_page(tmp, place)
            check_kit(tmp, place, kit)
            check_offline(tmp, place)
            check_other_script(tmp, place)
            check_reviews(tmp, place)
            check_files_chosen(tmp, place)
            check_typed(tmp, place)
            check_keys(tmp, place)
            if LONG:
                check_long(tmp, place)
    return finish("course")


if __name__ == "__main__":
    sys.exit(main())
