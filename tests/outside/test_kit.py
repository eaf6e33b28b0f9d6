#!/usr/bin/env python3
"""Kits of all layouts and of a course in Greek, as strangers' tools see them: every link of every page leads to a
file of the kit or a place in a page, and every file is reached from index.html; the sums are sha256sum's; qpdf
finds nothing in the PDFs; unzip and Python give the folder's bytes back; the plans are those of `pavior sheets`;
a sheet's page names the page of the PDF that shows it; html-validate finds nothing in any page, and axe in headless
Chromium nothing in the kinds of page. With --long each page of each kit is opened.
Usage: test_kit.py [--long]; PAVIOR is the command"""
import hashlib
import html.parser
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import urllib.parse
import zipfile

import browse
import npm
from checks import expect, finish

PAVIOR = os.environ["PAVIOR"]
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
COURSES = {name: os.path.join(ROOT, "layouts", name + ".course") for name in ("quayside", "pierhead", "breakwater")}
COURSES["limani"] = os.path.join(ROOT, "tests/outside/limani.course")
URL = "https://example.org/mats/2026/"
LONG = "--long" in sys.argv


class Page(html.parser.HTMLParser):
    """What a page links to, and the places in it that can be linked to."""
    def __init__(self, path):
        super().__init__()
        self.links, self.places = [], set()
        with open(path, encoding="utf-8") as file:
            self.feed(file.read())

    def handle_starttag(self, tag, attrs):
        for name, value in attrs:
            if name in ("href", "src", "action", "data", "poster", "xlink:href") and value != "data:,":  # no icon
                self.links.append(value)
            elif name == "id":
                self.places.add(value)


def members(folder):
    return {os.path.relpath(os.path.join(where, name), folder) for where, _, names in os.walk(folder) for name in names}


def check_links(name, folder, files):
    pages = {f: Page(os.path.join(folder, f)) for f in files if f.endswith(".html")}
    wrong, graph = [], {}
    for f, page in pages.items():
        for link in page.links:
            parts = urllib.parse.urlsplit(link)
            to = os.path.normpath(os.path.join(os.path.dirname(f), urllib.parse.unquote(parts.path))) if parts.path else f
            if parts.scheme or parts.netloc or parts.query or to not in files:
                wrong.append(f"{f}: {link}")
            elif parts.fragment and parts.fragment not in pages[to].places:
                wrong.append(f"{f}: {link} (no such place)")
            graph.setdefault(f, set()).add(to)
    expect(f"{name}: every link of {len(pages)} pages resolves", not wrong, "; ".join(wrong[:3]))
    reached, ahead = set(), ["index.html"]
    while ahead:
        f = ahead.pop()
        if f not in reached:
            reached.add(f)
            ahead += graph.get(f, ())
    expect(f"{name}: every file is reached from index.html", reached == files, ", ".join(sorted(files - reached)[:5]))


def check_clips(name, folder, files):
    """Drawings within one page share its ids: a clip of the same name must be the same clip."""
    shared = []
    for f in (f for f in files if f.endswith(".html")):
        with open(os.path.join(folder, f), encoding="utf-8") as file:
            clips = set(re.findall(r'<clipPath id="([^"]*)">(.*?)</clipPath>', file.read()))
        if len({clip for clip, _ in clips}) < len(clips):
            shared.append(f)
    expect(f"{name}: each drawing keeps its own clips", not shared, f"{shared[:3]}")


def check_commands(name, folder, files):
    """A parent need not know what a terminal is: commands are in parts that open for those who want them."""
    bare = []
    for f in (f for f in files if f.endswith(".html")):
        with open(os.path.join(folder, f), encoding="utf-8") as file:
            if "<code>" in re.sub(r"<details.*?</details>", "", file.read(), flags=re.S):
                bare.append(f)
    expect(f"{name}: no command stands where all read", not bare, ", ".join(sorted(bare)[:5]))


def check_sums(name, folder, files):
    got = subprocess.run(["sha256sum", "-c", "--strict", "--quiet", "SHA256SUMS"], cwd=folder, capture_output=True,
                         text=True, check=False)
    with open(os.path.join(folder, "SHA256SUMS"), encoding="utf-8") as file:
        summed = {line[66:].rstrip("\n") for line in file}
    expect(f"{name}: sha256sum agrees, and SHA256SUMS has all files", got.returncode == 0 and
           summed == files - {"SHA256SUMS"}, got.stderr[:200])
    expect(f"{name}: names are plain", all(re.fullmatch(r"[a-z0-9][a-z0-9./-]*|SHA256SUMS", f) for f in files))


def check_pdfs(name, folder, files):
    wrong = [f for f in sorted(files) if f.endswith(".pdf") and
             subprocess.run(["qpdf", "--check", os.path.join(folder, f)], capture_output=True, check=False).returncode]
    expect(f"{name}: qpdf finds nothing in the PDFs", not wrong, ", ".join(wrong))


def check_plans(name, folder, kit, course):
    for paper in kit["papers"][::2]:
        with tempfile.TemporaryDirectory() as tmp:
            how = ["--roll", f"{paper['roll_mm']}mm"] if paper["roll_mm"] else ["--paper", paper["paper"]]
            if kit["url"]:
                how += ["--url", f"{kit['url'].rstrip('/')}/{paper['id']}/"]
            subprocess.run([PAVIOR, "sheets", course, *how, "-q", "-o", os.path.join(tmp, "x.pdf")], check=True)
            same = all(open(os.path.join(tmp, "x" + end), "rb").read() == open(os.path.join(folder, f), "rb").read()
                       for end, f in ((".plan.json", paper["plan"]), (".pdf", paper["pdf"][0])))
        expect(f"{name}, {paper['id']}: the plan and the PDF are those of pavior sheets", same)


def check_page_numbers(name, folder, kit):
    """The page that a sheet's page names has that sheet's name in a line of its own or at a line's start."""
    paper, wrong = kit["papers"][0], []
    names = sorted(f for f in os.listdir(os.path.join(folder, paper["id"])) if re.fullmatch(r"[a-z]+\d+\.html", f))
    for f in names[:: max(1, len(names) // 4)]:
        with open(os.path.join(folder, paper["id"], f), encoding="utf-8") as file:
            number = re.search(r"page (\d+) of the PDF", file.read()).group(1)
        text = subprocess.run(["pdftotext", "-f", number, "-l", number, os.path.join(folder, paper["pdf"][0]), "-"],
                              capture_output=True, text=True, check=True).stdout
        sheet = f[:-5].upper()
        if not re.search(rf"\b{sheet}\b", text) or len(re.findall(r"\bkit\b", text)) == 0:
            wrong.append(f"{sheet} is not page {number}")
    expect(f"{name}: a sheet's page names its page of the PDF", not wrong, ", ".join(wrong))


def check_rulers(name, folder, kit):
    """What a sheet's page asks of a ruler is the marks' distance in its plan, and the course's tolerance of it."""
    paper, wrong = kit["papers"][0], []
    with open(os.path.join(folder, paper["plan"]), encoding="utf-8") as file:
        plan = json.load(file)
    for sheet in plan["sheets"][:: max(1, len(plan["sheets"]) // 4)]:
        p, q, _, s = sheet["gauge"]
        want = [part for to in (q, s) for part in (math.dist(p, to), plan["tolerances"]["scale"] * math.dist(p, to))]
        with open(os.path.join(folder, paper["id"], f"{sheet['name'].lower()}.html"), encoding="utf-8") as file:
            got = re.search(r"P to Q must be ([\d.]+) mm ± ([\d.]+) mm, P to S ([\d.]+) mm ± ([\d.]+) mm",
                            file.read().replace("\xa0", " "))
        if got is None or any(abs(float(a) - b) > 0.051 for a, b in zip(got.groups(), want)):
            wrong.append(f"{sheet['name']}: {got and got.groups()} for {want}")
    expect(f"{name}: a sheet's page gives a ruler the plan's lengths and tolerance", not wrong, ", ".join(wrong))


def check_zip(name, folder, course, how):
    with tempfile.TemporaryDirectory() as tmp:
        sums = set()
        for zone, end in (("America/New_York", ".ZIP"), ("Asia/Tokyo", ".zip")):
            path = os.path.join(tmp, os.path.basename(folder) + end)
            subprocess.run([PAVIOR, "kit", course, "-q", "--zip", "-o", path, *how],
                           check=True, env={**os.environ, "TZ": zone})
            sums.add(hashlib.sha256(open(path, "rb").read()).hexdigest())
        expect(f"{name}: two archives have the same bytes", len(sums) == 1)
        with zipfile.ZipFile(path) as archive:
            there = {info.filename: archive.read(info) for info in archive.infolist()}
        here = {os.path.join(os.path.basename(folder), f): open(os.path.join(folder, f), "rb").read()
                for f in members(folder)}
        expect(f"{name}: the archive holds the folder", there == here)


def check_pages(name, folder, files):
    place = npm.install(*browse.PACKAGES)
    if place is None:
        return
    pages = sorted(f for f in files if f.endswith(".html"))
    said = browse.validate(place, [os.path.join(folder, f) for f in pages])
    wrong = [f"{f}: {fault}" for f, faults in zip(pages, said) for fault in faults]
    expect(f"{name}: html-validate finds nothing in {len(pages)} pages", not wrong, "\n    ".join(wrong[:8]))
    if not LONG:
        kinds = {}
        for f in pages:
            kinds.setdefault(re.sub(r"^(a4|roll-36in)/[a-z]+\d+", r"\1/SHEET", f) if "/" in f else f, f)
        pages = [f for kind, f in kinds.items() if "/" not in f or kind.startswith(("a4/", "roll-36in/index"))]
        pages = pages if name == "quayside" else pages[:3] if name == "limani" else []
    if not pages:
        return
    few = {} if LONG or name == "quayside" else {"widths": [360], "schemes": ["dark"]}
    said = browse.browse(place, [os.path.join(folder, f) for f in pages], **few)
    if said is not None:
        wrong = [f"{f}: {fault}" for f, faults in zip(pages, said) for fault in faults]
        expect(f"{name}: axe and a browser find nothing in {', '.join(pages[:12])}", not wrong,
               "\n    ".join(wrong[:8]))


def main():
    with tempfile.TemporaryDirectory() as tmp:
        for name, course in COURSES.items():
            folder = os.path.join(tmp, f"{name}-kit")
            # One with an address: some of its sheets of letter have no room for their code, which is said.
            how = ["--url", URL] if name == "quayside" else []
            got = subprocess.run([PAVIOR, "kit", course, "-o", folder, *how], capture_output=True, text=True,
                                 check=True)
            if how:
                expect(f"{name}: a warning of codes names the paper",
                       re.search(r"letter: \d+ of 25 sheets have no room", got.stderr) is not None, got.stderr)
            files = members(folder)
            with open(os.path.join(folder, "kit.json"), encoding="utf-8") as file:
                kit = json.load(file)
            expect(f"{name}: kit.json has all files",
                   {f["name"]: f["bytes"] for f in kit["files"]} ==
                   {f: os.path.getsize(os.path.join(folder, f)) for f in files - {"kit.json", "SHA256SUMS"}})
            check_links(name, folder, files)
            check_clips(name, folder, files)
            check_commands(name, folder, files)
            check_sums(name, folder, files)
            check_pdfs(name, folder, files)
            check_page_numbers(name, folder, kit)
            check_rulers(name, folder, kit)
            check_pages(name, folder, files)
            if name in ("quayside", "limani"):
                check_plans(name, folder, kit, course)
                check_zip(name, folder, course, how)
    return finish("kit")


if __name__ == "__main__":
    sys.exit(main())
