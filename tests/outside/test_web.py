#!/usr/bin/env python3
"""The page that inspects sheets in a browser: the same pictures through the command and through the kit's
check.html in headless Chromium give the same report, byte by byte, and the same JSON, but for advice, which names no
commands in the page; from a folder on disk, from a
server under a subpath, with the network cut off once the page has loaded, and with scripts blocked. tsc finds nothing
in its scripts. What it weighs. With --long 40 pictures of every kind and fault, one after the other, also with the module
under node, times and memory, as a phone would take them, too.
Usage: test_web.py [--long]; PAVIOR is the command, beside which `make web` has put the module"""
import functools
import gzip
import html as html_text
import http.server
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading

import numpy as np
from PIL import Image

import assorted
import browse
import npm
import simulate
from checks import at_most, expect, finish

PAVIOR = os.path.abspath(os.environ["PAVIOR"])
HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
MODULE = os.path.join(os.path.dirname(PAVIOR), "web", "check-module.js")
LONG = "--long" in sys.argv
WEIGHT = 700_000  # bytes by gzip: the page, its scripts and its stylesheet
FLATBED = 1       # PV_SCANNER_FLATBED


def call(*words):
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=600)
    if done.returncode not in (0, 1, 2, 65):
        raise RuntimeError(f"{' '.join(words)}: {done.stderr[-500:]}")
    return done.stdout


# ---- pictures ----

def last_page(pdf):
    return int(re.search(r"Pages:\s+(\d+)", call("pdfinfo", pdf)).group(1))


def pictures(tmp, kit):
    """Files of every kind: true, not true, undecided, and none at all."""
    sheets = os.path.join(kit, "a4", "mat-a4.pdf")
    page = simulate.render(sheets, last_page(sheets), 600, colour=False)
    path = functools.partial(os.path.join, tmp)
    fine, _ = simulate.scan(page, dpi=200, turn=0.4, seed=1)
    simulate.save(fine, path("true.png"), dpi=200)
    simulate.save(fine, path("unstated.png"))
    small, _ = simulate.scan(page, dpi=150, scale=(0.97, 0.97), seed=2)
    simulate.save(small, path("small.jpg"), dpi=150)
    Image.open(path("true.png")).save(path("true.tif"), compression="tiff_lzw", dpi=(200, 200))
    Image.open(path("true.png")).convert("RGB").save(path("true.webp"), lossless=True)
    Image.open(path("true.png")).save(path("two.pdf"), save_all=True, resolution=200,
                                      append_images=[Image.open(path("small.jpg"))])
    Image.fromarray(np.full((800, 600), 200, np.uint8)).save(path("blank.png"))
    Image.fromarray(np.full((80, 60), 200, np.uint8)).save(path("drawing.gif"))
    with open(path("letter.png"), "w", encoding="utf-8") as file:
        file.write("Dear organiser, here is our sheet.\n")
    call(PAVIOR, "sheets", os.path.join(ROOT, "layouts/pierhead.course"), "-p", "A4", "-q", "-o", path("other.pdf"))
    call("pdftocairo", "-png", "-r", "100", "-f", "1", "-l", "1", "-singlefile", path("other.pdf"), path("other"))
    return [path(f) for f in ("true.png", "small.jpg", "unstated.png", "true.tif", "true.webp", "two.pdf", "blank.png",
                              "drawing.gif", "letter.png", "other.png")]


# ---- both ways ----

def plans(kit):
    """In the page's order."""
    with open(os.path.join(kit, "plans.js"), encoding="utf-8") as file:
        text = file.read()
    return [os.path.join(kit, one["name"]) for one in json.loads(text[text.index("["):text.rindex("]") + 1])]


def by_command(kit, files, *options, more=()):
    """The JSON and the page; names as a browser tells them. `more`: plans of other papers."""
    folder = os.path.dirname(files[0])
    with tempfile.TemporaryDirectory() as tmp:
        words = [PAVIOR, "inspect", *options, *(w for p in [*plans(kit), *more] for w in ("--plan", p)), "--json", "--report",
                 os.path.join(tmp, "report.html"), *map(os.path.basename, files)]
        said = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False, timeout=3600)
        with open(os.path.join(tmp, "report.html"), encoding="utf-8") as file:
            return said.stdout, file.read()


def by_page(place, url, batches=(), **task):
    """What check_page.js answers."""
    return browse.worked("check_page.js", place, url, batches=batches, **task)


def differences(a, b, at=""):
    """Where two results differ: words in anything, numbers by more than 1e-9 of them."""
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        return [d for key in a for d in differences(a[key], b[key], f"{at}.{key}")]
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return [d for i, (x, y) in enumerate(zip(a, b)) for d in differences(x, y, f"{at}[{i}]")]
    if isinstance(a, float) and isinstance(b, float) and abs(a - b) <= 1e-9 * max(abs(a), abs(b)):
        return []
    return [] if a == b else [f"{at}: {a} and {b}"]


def in_html(text):
    return html_text.escape(text).replace("&#x27;", "&#39;")


def without_advice(told, *reports):
    """Reports without it, which is taken out of what was told, too: the page's names no command."""
    for one in told:
        advice = in_html(one.pop("advice", "")) or "\0"
        reports = [r.replace(advice, "") for r in reports]
    return reports


def check_same(name, kit, place, files, url=None, more=(), **task):
    json_, html = by_command(kit, files, "--scanner", "flatbed", more=more)
    got = by_page(place, url or f"file://{kit}/check.html", batches=[{"files": [*more, *files], "scanner": FLATBED}], **task)
    ours, theirs = json.loads(json_), json.loads(got["json"])
    named = [one["advice"] for one in theirs if re.search("--|pavior", one["advice"])]
    expect(f"{name}: advice names no command", not named, "; ".join(named))
    html, page = without_advice([*ours, *theirs], html, got["html"])
    apart = differences(ours, theirs)
    expect(f"{name}: the same verdicts and numbers as the command's", not apart, "; ".join(apart[:3]))
    expect(f"{name}: the same report as the command's but for advice, shown and saved",
           html == page and got["html"] == got["frame"])
    told = [one["answer"] if "answer" in one else one["error"] for one in ours]
    shown = [one["words"] for one in got["results"]]
    other = [f"{t} | {s}" for t, s in zip(told, shown) if t not in s]
    expect(f"{name}: the same first lines as the command's", len(told) == len(shown) and not other, "; ".join(other[:3]))
    kinds = {"conforms": "ok", "does not conform": "no", "undecided": "un", None: "er"}
    expect(f"{name}: each with its verdict's sign", [one["kind"] for one in got["results"]] ==
           [kinds[one.get("verdict")] for one in ours], f"{[one['kind'] for one in got['results']]}")
    browse.quiet(name, got)
    return got


# ---- ways to open it ----

class Quiet(http.server.SimpleHTTPRequestHandler):
    """A static host, which has the kit's files and nothing else."""
    def log_message(self, *_):
        pass


def served(folder, host=Quiet):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(host, directory=folder))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def check_places(tmp, kit, place, files):
    server = served(tmp)
    url = f"http://127.0.0.1:{server.server_port}/{os.path.relpath(kit, tmp)}/check.html"
    check_same("from a server under a subpath, then offline", kit, place, files[:1], url, offline=True)
    server.shutdown()
    check_without(tmp, kit, place)


def check_without(tmp, kit, place):
    """Where the page cannot run it says what to do, and nothing else is there to be tried."""
    url, alone = f"file://{kit}/check.html", os.path.join(tmp, "alone.html")
    shutil.copyfile(os.path.join(kit, "check.html"), alone)
    for name, words, got in (
            ("with scripts blocked", "allow JavaScript", by_page(place, url, script=False)),
            ("without its scripts beside it", "a file of the kit is missing", by_page(place, f"file://{alone}", look=True)),
            ("without WebAssembly", "needs WebAssembly", by_page(place, url, look=True, before="delete globalThis.WebAssembly")),
            ("without SIMD", "needs WebAssembly SIMD", by_page(place, url, look=True, before="WebAssembly.validate = () => false"))):
        expect(f"{name}, the page says what to do", words in got["words"] and "newer browser" in got["words"] and
               "to your organiser" in got["words"] and not re.search("(?m)^Measure", got["words"]), got["words"][:300])
    got = by_page(place, url, look=True)
    expect("where it can run, it says nothing of that", "WebAssembly" not in got["words"] and
           re.search("(?m)^Measure", got["words"]) is not None, got["words"][:300])


def check_states(kit, place, files):
    """What a person can do wrong, or stop."""
    url = f"file://{kit}/check.html"
    got = by_page(place, url, batches=[{"files": []}])
    expect("without a picture it asks for one", got["now"] == "Choose a picture first." and not got["has_report"], got["now"])
    got = by_page(place, url, batches=[{"files": files[:2], "readings": {"PQ": "170.1"}}])
    expect("readings of two pictures are refused", "one picture" in got["now"] and not got["has_report"], got["now"])
    got = by_page(place, url, batches=[{"files": files[:1], "readings": {"PQ": "long"}}])
    expect("a reading that is no length is refused", "“long” is not a length" in got["now"], got["now"])
    got = by_page(place, url, batches=[{"files": files[:1] + files[2:3], "scanner": FLATBED, "stop_s": 0.2},
                                       {"files": files[:1], "scanner": FLATBED}])
    expect("it stops, and measures again", got["now"] == "Done." and got["results"][0]["kind"] == "ok", got["now"])
    browse.quiet("stopped and begun again", got)
    expect("links of the shown report stay in it", got["within"])
    got = by_page(place, url, batches=[{"files": [files[0], *files[2:4]], "scanner": FLATBED, "stop_after": 1},
                                       {"files": files[2:3], "scanner": FLATBED}])
    told = [one["file"] for one in json.loads(got["json"])] if "json" in got else []
    lost = ["Not in a report" in one["words"] for one in got["results"]]
    expect("what is new stands first, and what was stopped is said to be in no report", lost == [False] + [True] * (len(lost) - 1) and len(lost) > 1 and
           len(told) == 1, f"({lost}, {told})")


# A worker whose module may have so many bytes and no more; a page whose worker can't write a report; browsers that start none.
SMALL = """const B = Blob; globalThis.Blob = function (parts, how) { return how.type !== "text/javascript" ? new B(parts, how) : new B([`
const grow = WebAssembly.Memory.prototype.grow;
WebAssembly.Memory.prototype.grow = function (n) {
  if (this.buffer.byteLength + n * 65536 > %d) throw new RangeError("no");
  return grow.call(this, n);
};`, ...parts], how); }"""
UNWRITTEN = """const post = Worker.prototype.postMessage; Worker.prototype.postMessage = function (what, ...more) {
  post.call(this, what.work === "report" ? { ...what, work: "nothing" } : what, ...more); }"""
SILENT = """globalThis.Worker = class { constructor() { setTimeout(() => this.onerror(new Event("error"))); } postMessage() {} terminate() {} }"""


def files_of(got):
    """Those that the report on show has, by its JSON."""
    return [one["file"] for one in json.loads(got.get("json", "[]"))]


def lost(got):
    return ["Not in a report" in one["words"] for one in got["results"]]


def check_reports(kit, place, files):
    """Whose the report on show is, where something goes wrong."""
    url, fine, small = f"file://{kit}/check.html", {"files": files[:1], "scanner": FLATBED}, {"files": files[1:2], "scanner": FLATBED}
    unwritten = {**small, "begin": UNWRITTEN}
    got = by_page(place, url, batches=[unwritten])
    expect("a report that can't be written is said, and none is offered", got["now"].startswith("The report could not be written. Choose") and
           not got["has_report"] and lost(got) == [True], f"{got['now']} {lost(got)}")
    for name, second in (("can't be written", unwritten), ("is stopped", {**small, "stop_s": 0.05})):
        got = by_page(place, url, batches=[fine, second])
        expect(f"where a second report {name}, the first is said to be older", got["older"] and files_of(got) == ["true.png"] and
               "true.png" in got["codes"] and lost(got)[-1:] == [False] and not any(not one for one in lost(got)[:-1]), f"{lost(got)} {got['now']}")
    got = by_page(place, url, batches=[fine, {**small, "stop_s": 0.05}, small])
    expect("a report after that has its own pictures alone, and says so", not got["older"] and files_of(got) == ["small.jpg"] and
           lost(got) == [False] + [True] * (len(lost(got)) - 1), f"{lost(got)} {files_of(got)}")


def check_refused(tmp, kit, place, files):
    """What one picture is refused for costs the others nothing."""
    url, huge = f"file://{kit}/check.html", os.path.join(tmp, "huge.png")
    with open(huge, "wb") as file:
        file.truncate(2**30 + 1)
    large = os.path.join(tmp, "large.png")
    Image.open(files[0]).resize((4000, 5600)).save(large)
    got = by_page(place, url, batches=[{"files": [files[0], huge, large, files[1]], "scanner": FLATBED}], before=SMALL % 52e6)
    words = [one["words"] for one in got["results"]]
    expect("a file past the limit and one past the memory are refused, and the others are in the report",
           [one["kind"] for one in got["results"]] == ["ok", "er", "er", "no"] and "larger than 1024 MiB" in words[1] and
           "not enough memory for large.png" in words[2] and files_of(got) == ["true.png", "small.jpg"] and not any(lost(got)),
           f"{files_of(got)}")
    got = by_page(place, url, batches=[{"files": [files[0], large, files[1]], "scanner": FLATBED}], before=SMALL % 80e6)
    expect("where the module breaks down, the pictures that it held are said to be in no report",
           [one["kind"] for one in got["results"]] == ["ok", "er", "no"] and files_of(got) == ["small.jpg"] and
           lost(got) == [True, False, False], f"{lost(got)} {files_of(got)}")
    for name, before in (("silently", SILENT), ("by an error", "const B = Blob; globalThis.Blob = function (parts, how) { return new B(['throw 1'], how); }")):
        got = by_page(place, url, batches=[{"files": files[:1]}], before=before)
        expect(f"a worker that fails to start {name} is not called short of memory", got["now"].startswith("Something went wrong: "), got["now"])


def check_form(kit, place, files):
    """What the form says counts as it was when measuring began; a camera's pictures add up; who reads with a keyboard or
    by ear is led along."""
    url = f"file://{kit}/check.html"
    got = by_page(place, url, batches=[{"files": files[:2], "scanner": FLATBED, "meanwhile": "document.getElementById('scanner').value = '4'"}])
    expect("the kind of scan is what it was when measuring began", {one["reference"]["scanner"] for one in json.loads(got["json"])} == {"flatbed"} and
           got["codes"].count("(Scanned on the glass)") == 1 and "small.jpg" not in got["codes"] and got["hint"], got["codes"])
    expect("Stop has the keyboard while Measure is away", got["focus"] == ["stop", "measure"], f"{got['focus']}")
    expect("each state is said once", got["said"] == ["Getting ready", "Measuring picture 1 of 2: true.png", "Measuring picture 2 of 2: small.jpg",
                                                      "Writing the report", "Done."], f"{got['said']}")
    got = by_page(place, url, batches=[{"files": [], "photographs": files[:3], "readings": {}}])
    expect("photographs taken one by one add up", "Photographs to measure: 3." in got["taken"] and
           files_of(got) == ["true.png", "small.jpg", "unstated.png"] and {one["reference"]["scanner"] for one in json.loads(got["json"])} == {"unknown"},
           f"{got['taken']} {got['now']}")


def check_readings(kit, place, files):
    """A scan that states no resolution, and what a ruler reads: as --measured."""
    got = by_page(place, f"file://{kit}/check.html", batches=[{"files": files[2:3]}])
    words = got["results"][0]["words"]
    expect("an undecided sheet asks for no code in the run record", not got["hint"] and got["codes"] == "")
    expect("an undecided sheet says what to measure", got["results"][0]["kind"] == "un" and
           "steel rule: P to Q, P to S" in words and "--" not in words, words)
    with open(os.path.join(kit, "a4", "mat-a4.plan.json"), encoding="utf-8") as file:
        sheets = {sheet["name"]: sheet["gauge"] for sheet in json.load(file)["sheets"]}
    p, q, _, s = sheets[words[:words.index(":")]]
    across, up = math.dist(p, q), math.dist(p, s)
    read = {"PQ": f"{across:.1f}", "PS": f"{up:.1f} mm"}
    for name, one in (("a picture", files[2]), ("a file of several pages, which is refused", files[5])):
        json_, html = by_command(kit, [one], "--measured", f"P-Q={across:.1f}mm", "--measured", f"P-S={up:.1f}mm")
        got = by_page(place, f"file://{kit}/check.html", batches=[{"files": [one], "readings": read}])
        ours, theirs = json.loads(json_), json.loads(got["json"])
        html, page = without_advice([*ours, *theirs], html, got["html"])
        expect(f"ruler readings of {name} give what --measured gives", html == page and not differences(ours, theirs))
    expect("of several pages none is shown", len(got["results"]) == 1 and "several pages" in got["results"][0]["words"] and
           got["codes"] == "", f"{got['results']}")


def check_avif(tmp, kit, place, files):
    """A picture that this browser decodes, and the module doesn't."""
    name = os.path.join(tmp, "true.avif")
    call("convert", files[0], os.path.join(tmp, "rgb.png"))
    call("heif-enc", "-A", "-q", "90", os.path.join(tmp, "rgb.png"), "-o", name)
    got = by_page(place, f"file://{kit}/check.html", batches=[{"files": [name]}])
    words = got["results"][0]["words"]
    expect("AVIF is measured by the browser's decoder, said, without a code", got["results"][0]["kind"] == "un" and
           "This browser opened the picture" in words and "true.avif, opened by the browser" in got["html"] and
           got["codes"] == "", words)


def pierhead_pages(tmp, kit, folder, names):
    """A true scan of each of its sheets, with what makes others; by sheet."""
    pdf = os.path.join(kit, folder, f"mat-{folder}.pdf")
    first = last_page(pdf) - len(names) + 1
    files = {}
    for i, name in enumerate(names):
        page = simulate.render(pdf, first + i, 600, colour=False)
        for kind, scale in (("true", (1, 1)), ("small", (0.97, 0.97))):
            scan, _ = simulate.scan(page, dpi=200, turn=0.4, scale=scale, seed=i)
            files[kind, name] = os.path.join(tmp, f"{folder}-{name}-{kind}.png")
            simulate.save(scan, files[kind, name], dpi=200)
        files["unstated", name] = os.path.join(tmp, f"{folder}-{name}-unstated.png")
        simulate.save(scan, files["unstated", name])
    return files


def check_plan(tmp, place):
    """A sheet of a paper that the kit lacks, with its plan beside it: as with the command's --plan. Plans are strangers'."""
    kit, course = os.path.join(tmp, "laid"), os.path.join(ROOT, "layouts/pierhead.course")
    call(PAVIOR, "kit", course, "-p", "A5", "-q", "-o", kit)
    os.mkdir(os.path.join(kit, "a4"))
    call(PAVIOR, "sheets", course, "-p", "A4", "-q", "-o", os.path.join(kit, "a4", "mat-a4.pdf"))
    plan, files = os.path.join(kit, "a4", "mat-a4.plan.json"), pierhead_pages(tmp, kit, "a4", ["A1"])
    one, url = files["true", "A1"], f"file://{kit}/check.html"
    got = by_page(place, url, batches=[{"files": [one], "scanner": FLATBED}])
    expect("without its plan such a sheet is refused, and the page asks for the plan", got["results"][0]["kind"] == "er" and
           "choose that paper's .plan.json together with the picture" in got["results"][0]["words"], got["results"][0]["words"])
    got = check_same("with its plan", kit, place, [one, files["small", "A1"]], more=[plan])
    expect("the plan's paper is told among the kit's", got["papers"] == "Papers that are known here: A5, A4.", got["papers"])
    certificate = os.path.join(tmp, "certificate.pdf")
    call(PAVIOR, "inspect", "--plan", plan, "--scanner", "flatbed", "-q", "--certificate", certificate, one)
    code = re.search(r"code: (\S+)", got["results"][0]["words"]).group(1)
    expect("its certificate's code is the command's", code in call("pdftotext", certificate, "-"), code)
    got = by_page(place, url, batches=[{"files": [plan, *plans(kit)], "scanner": FLATBED}, {"files": [one], "scanner": FLATBED},
                                       {"files": [plan], "photographs": [one]}])
    expect("a plan alone says what to do, and counts for the pictures that follow; chosen again it is no other", got["end"][0] ==
           "Noted. Now choose the pictures." and [one["kind"] for one in got["results"]] == ["un", "ok"] and
           got["papers"].endswith(": A5, A4.") and got["totals"][2][0] == "", f"{got['end']} {got['results']} {got['papers']}")
    check_bad_plans(tmp, place, url, plan, one)


def check_bad_plans(tmp, place, url, plan, picture):
    with open(plan, "rb") as file:
        whole = file.read()
    bad = {"cut": (whole[:len(whole) // 2], "damaged"), "changed": (whole.replace(b'"Pierhead"', b'"Pierheat"'), "was changed after it was made"),
           "no UTF-8": (whole.replace(b'"Pierhead"', b'"Pier\xffead"'), "damaged"), "deep": (b"[" * 1000000, "damaged"),
           "empty": (b"", "damaged"), "a report": (b'[{"file": "a.png"}]', "damaged")}
    for name, (content, words) in bad.items():
        file = os.path.join(tmp, "bad.plan.json")
        with open(file, "wb") as to:
            to.write(content)
        got = by_page(place, url, batches=[{"files": [picture, file]}, {"files": [picture, plan], "scanner": FLATBED}])
        expect(f"a plan that is {name}: one error, nothing measured, and the page goes on", got["end"][0].startswith("bad.plan.json is damaged, no plan, or one too many: ") and
               words in got["end"][0] and [one["kind"] for one in got["results"]] == ["ok"], f"{got['end'][0]} {len(got['results'])}")
    many = [os.path.join(tmp, f"{i}.plan.json") for i in range(100)]
    for i, one in enumerate(many):
        with open(one, "wb") as to:
            to.write(whole + b" " * i)
    with open(file, "wb") as to:
        to.write(b" " * 100_000_000)
    for name, given, words, how in (("the one too many is named, of a kit with two", many, "98.plan.json is damaged, no plan, or one too many: take plans as the drawing table saved them. (there are more than 100 plans)", {}),
                                    ("one past the memory asks for no scan", [file], "This device has not enough memory for that. Close other pages", {"before": SMALL % 52e6}),
                                    ("a worker that ends is not their fault", [plan], "Something went wrong: ", {"before": UNWRITTEN.replace("report", "plan")})):
        got = by_page(place, url, batches=[{"files": given}], **how)
        expect(f"of plans, {name}", got["now"].startswith(words), got["now"])
    with open(file, "wb") as to:
        to.truncate(2**27 + 1)
    got = by_page(place, url, batches=[{"files": [file, picture]}])
    expect("a plan past the limit is refused", got["now"] == "bad.plan.json is larger than 128 MiB, the limit for such a file." and not got["results"], got["now"])


def check_total(tmp, place):
    """What all pictures come to: who has which sheets, and what is left to do, said once."""
    kit, names = os.path.join(tmp, "pierhead"), ["A1", "A2", "A3"]
    call(PAVIOR, "kit", os.path.join(ROOT, "layouts/pierhead.course"), "-p", "A5", "-q", "-o", kit)
    files = pierhead_pages(tmp, kit, "a5", names)
    steps = [[("true", "A1")], [("unstated", "A2")], [("true", "A2"), ("small", "A3")], [("true", "A3")]]
    got = by_page(place, f"file://{kit}/check.html", batches=[{"files": [files[one] for one in step], "scanner": FLATBED} for step in steps])
    print_others, cut = "Print the other sheets with the same settings on the same paper, and check them, too.", "All sheets are true."
    expect("after one true sheet it says to print the others, and no total", got["totals"][0] == ["", print_others, ""], f"{got['totals'][0]}")
    expect("of two the total tells, and names what is missing", got["totals"][1] ==
           ["A5: 1 of 3 sheets true; not true: none; can't tell: A2; missing: A3.", print_others, ""], f"{got['totals'][1]}")
    expect("a picture that tells counts before one that can't", got["totals"][2] ==
           ["A5: 2 of 3 sheets true; not true: A3; can't tell: none; missing: none.", "", ""], f"{got['totals'][2]}")
    total, *rest = got["totals"][3]
    expect("a sheet with two answers is not counted, and what to do is said",
           total.startswith("A5: 2 of 3 sheets true; not true: A3; can't tell: none; missing: none.") and
           "True in one picture, not true in another: A3." in total and rest == ["", ""], f"{got['totals'][3]}")
    got = by_page(place, f"file://{kit}/check.html", batches=[{"files": [files["true", name] for name in names], "scanner": FLATBED}])
    expect("once all are true it leads to cutting and taping, and says nothing more of printing", got["totals"][0][:2] ==
           ["A5: 3 of 3 sheets true; not true: none; can't tell: none; missing: none.", ""] and got["totals"][0][2].startswith(cut),
           f"{got['totals'][0]}")
    expect("no answer by itself speaks of other sheets", not any("other sheets" in one["words"] for one in got["results"]))
    check_total_again(kit, place, files["unstated", "A2"])
    check_total_of_mats(kit, tmp, place, files)


def check_total_again(kit, place, picture):
    """With wrong readings, then with right ones: as bytes count for a team, once."""
    with open(os.path.join(kit, "a5", "mat-a5.plan.json"), encoding="utf-8") as file:
        p, q, _, s = next(sheet["gauge"] for sheet in json.load(file)["sheets"] if sheet["name"] == "A2")
    got = by_page(place, f"file://{kit}/check.html", batches=[
        {"files": [picture], "scanner": FLATBED, "readings": {"PQ": f"{share * math.dist(p, q):.1f}", "PS": f"{share * math.dist(p, s):.1f}"}} for share in (0.97, 1)])
    expect("a picture that is measured again counts once, as it was measured last", [one["kind"] for one in got["results"]] == ["ok", "no"] and
           [one[0] for one in got["totals"]] == ["", ""] and got["totals"][1][1].startswith("Print the other sheets"), f"{got['totals']} {got['results']}")


def check_total_of_mats(kit, tmp, place, files):
    """A mat of another paper beside it, of one sheet: what to do is said only where it holds for both."""
    names, url, course = ["A1", "A2", "A3"], f"file://{kit}/check.html", os.path.join(ROOT, "layouts/pierhead.course")
    os.mkdir(os.path.join(kit, "a4"))
    call(PAVIOR, "sheets", course, "-p", "A4", "-q", "-o", os.path.join(kit, "a4", "mat-a4.pdf"))
    plan, single = os.path.join(kit, "a4", "mat-a4.plan.json"), pierhead_pages(tmp, kit, "a4", ["A1"])
    got = by_page(place, url, batches=[{"files": [plan, single["true", "A1"]], "scanner": FLATBED},
                                       {"files": [files["true", "A2"], files["true", "A3"]], "scanner": FLATBED}])
    expect("a true mat of one sheet has nothing to be taped", got["totals"][0] == ["", "", ""], f"{got['totals'][0]}")
    expect("each sheet counts for its own mat, and a complete one asks for no others", got["totals"][1] ==
           ["A5: 2 of 3 sheets true; not true: none; can't tell: none; missing: A1.", "", ""], f"{got['totals'][1]}")
    got = by_page(place, url, batches=[{"files": [plan, single["small", "A1"], *(files["true", name] for name in names)], "scanner": FLATBED}])
    expect("while another mat's sheet is not true, it isn't said that all are", got["totals"][0] ==
           ["A5: 3 of 3 sheets true; not true: none; can't tell: none; missing: none.", "", ""], f"{got['totals'][0]}")


# ---- its weight ----

def check_weight(kit):
    sizes = {f: len(gzip.compress(open(os.path.join(kit, f), "rb").read(), 9))
             for f in ("check.html", "pavior.css", "page.js", "check.js", "check-module.js", "plans.js")}
    print("    by gzip: " + ", ".join(f"{f} {n}" for f, n in sizes.items()))
    at_most("the page, its scripts and stylesheet by gzip", sum(sizes.values()) - sizes["plans.js"], WEIGHT, "bytes")


# ---- with --long ----

SLOWER = 2.5    # times the command's CPU time, at most
SLOW_S = 60     # on a phone: six times slower
GAP_S = 1       # for which the page may stand still
MEMORY = 600e6  # bytes of the module
GROWTH = 1      # the module's memory after all pictures three times, to that after twice


def by_module(kit, files, rounds, scanner=0):
    """What check_module.js answers."""
    task = {"module": MODULE, "plans": plans(kit), "files": files, "rounds": rounds, "scanner": scanner}
    got = subprocess.run(["node", os.path.join(HERE, "check_module.js")], input=json.dumps(task), text=True,
                         capture_output=True, check=False, timeout=3600)
    if got.returncode != 0:
        raise RuntimeError(got.stderr[-2000:])
    return json.loads(got.stdout)


def cpu_of(kit, file):
    """The command's, in s."""
    start = os.times()
    by_command(kit, [file])
    end = os.times()
    return end.children_user + end.children_system - start.children_user - start.children_system


def check_times(kit, place, files):
    """A 12-megapixel photograph and a 300 dpi scan, the better of three."""
    for name, file in files.items():
        ours = min(cpu_of(kit, file) for _ in range(3))
        rounds = [one[0] for one in by_module(kit, [file], 3)["rounds"]]
        theirs, memory = min(one["cpu"] for one in rounds), max(one["memory"] for one in rounds)
        print(f"    {name}: the command {ours:.1f} s, the module {theirs:.1f} s (CPU), {memory / 1e6:.0f} MB")
        at_most(f"{name}: the module's CPU time to the command's", theirs / ours, SLOWER)
        at_most(f"{name}: the module's memory", memory, MEMORY, "bytes")
        slow = by_page(place, f"file://{kit}/check.html", [{"files": [file]}], slower=6, width=360)
        at_most(f"{name}: {slow['slower']:.1f} times slower", slow["seconds"][0], SLOW_S, "s")
        at_most(f"{name}: so slow, the longest time without progress", slow["gap_s"], GAP_S, "s")


def without_words(text):
    """JSON without advice, which the page words for itself; all else as it is, byte by byte."""
    return re.sub(r'"advice": "([^"\\]|\\.)*"', "", text)


def check_same_bytes(name, kit, place, files, scanner):
    """With the command, with the module under node three times over, and in the page."""
    json_, html = by_command(kit, files, *(["--scanner", "flatbed"] if scanner else []))
    got = by_module(kit, files, 3, scanner)
    ours, theirs = json.loads(json_), json.loads(got["json"])
    ours_html, theirs_html = without_advice([*ours, *theirs], html, got["html"])
    expect(f"{name}: the module's JSON is the command's, byte by byte, but for advice",
           without_words(got["json"]) == without_words(json_), "; ".join(differences(ours, theirs)[:5]))
    expect(f"{name}: the module's report is the command's, byte by byte, but for advice", ours_html == theirs_html)
    memory = [one[-1]["memory"] for one in got["rounds"]]
    at_most(f"{name}: the module's memory", memory[-1], MEMORY, "bytes")
    at_most(f"{name} three times: the module's memory to that after twice", memory[2] / memory[1], GROWTH)
    page = by_page(place, f"file://{kit}/check.html", [{"files": files, "scanner": scanner}])
    print("    " + ", ".join(f"{kind} {sum(one['kind'] == kind for one in page['results'])}" for kind in ("ok", "no", "un", "er")))
    expect(f"{name}: the page's JSON and report are the module's, byte by byte", page["json"] == got["json"] and
           page["html"] == got["html"])
    at_most(f"{name}: the longest time without progress", page["gap_s"], GAP_S, "s")
    browse.quiet(name, page)


def check_long(tmp, kit, place):
    sheets = os.path.join(kit, "a4", "mat-a4.pdf")
    files = assorted.forty(os.path.join(tmp, "forty"), sheets, last_page(sheets), os.path.join(tmp, "other.pdf"))
    scans = {name for name, *_ in assorted.SCANS}
    check_same_bytes("scans on the glass", kit, place, [f for f in files if os.path.basename(f) in scans], FLATBED)
    check_same_bytes("other pictures", kit, place, [f for f in files if os.path.basename(f) not in scans], 0)
    named = {os.path.basename(f): f for f in files}
    check_times(kit, place, {"a photograph of 12 megapixels": named["large.jpg"], "a scan at 300 dpi": named["plain.png"]})


def main():
    if not os.path.exists(MODULE):
        print("    skipped: there is no module for browsers; `make web` makes it")
        return 0
    place = npm.install(*browse.PACKAGES)
    if place is None or shutil.which("chromium") is None:
        print("    skipped: there is no chromium here")
        return 0
    with tempfile.TemporaryDirectory() as tmp:
        kit = os.path.join(tmp, "events", "mat")
        os.makedirs(os.path.dirname(kit))
        call(PAVIOR, "kit", os.path.join(ROOT, "layouts/quayside.course"), "-p", "A4", "-q", "-o", kit)
        files = pictures(tmp, kit)
        check_weight(kit)
        browse.check_types(["src/web/embedded/page.js", "src/web/embedded/check.js"], "src/web/unpack.js", "src/web/memory.js", "src/web/worker.js")
        got = check_same("from a folder on disk", kit, place, files, axe=True)
        expect("axe finds nothing in the page with its results", not got["axe"], "\n    ".join(got["axe"]))
        check_places(tmp, kit, place, files)
        check_readings(kit, place, files)
        check_avif(tmp, kit, place, files)
        check_states(kit, place, files)
        check_reports(kit, place, files)
        check_refused(tmp, kit, place, files)
        check_form(kit, place, files)
        check_total(tmp, place)
        check_plan(tmp, place)
        if LONG:
            check_long(tmp, kit, place)
    return finish("web")


if __name__ == "__main__":
    sys.exit(main())
