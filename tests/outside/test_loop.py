#!/usr/bin/python3
"""The whole loop: sheets are printed and scanned in simulation with known faults, `pavior inspect`
measures them, and its figures and verdicts are held against the truth.

    PAVIOR=build/pavior test_loop.py [--long] [--seed N] [--only TEXT]

Every draw has a recorded seed, so that a run can be repeated. --long makes about forty times as
many draws; --only takes the groups of draws whose name holds TEXT, and no other cases."""
import argparse
import multiprocessing
import os
import sys
import tempfile

import cv2
import numpy as np

import checks
import loop
import rawpdf
import simulate
from checks import expect
from loop import inspect


# ---- pictures of something else ----

def cat(size=1200):
    """A cat, sitting, seen from the front."""
    image = np.full((size, size, 3), (225, 236, 240), np.uint8)
    u = size / 100

    def at(*points):
        return np.int32(np.array(points) * u)
    fur, dark, pink = (70, 110, 150), (35, 45, 55), (140, 130, 215)
    cv2.ellipse(image, (at(78, 74)), at(9, 20), 35, 0, 360, fur, -1, cv2.LINE_AA)
    cv2.ellipse(image, at(50, 76), at(24, 26), 0, 0, 360, fur, -1, cv2.LINE_AA)
    for x in (-1, 1):
        ear = at((50 + 6 * x, 26), (50 + 22 * x, 32), (50 + 20 * x, 8))
        cv2.fillPoly(image, [ear], fur, cv2.LINE_AA)
        inner = at((50 + 11 * x, 26), (50 + 19 * x, 29), (50 + 18 * x, 15))
        cv2.fillPoly(image, [inner], pink, cv2.LINE_AA)
    cv2.ellipse(image, at(50, 38), at(23, 19), 0, 0, 360, fur, -1, cv2.LINE_AA)
    for x in (-1, 1):
        cv2.ellipse(image, at(50 + 9 * x, 35), at(5, 6), 0, 0, 360, (120, 220, 190), -1,
                    cv2.LINE_AA)
        cv2.ellipse(image, at(50 + 9 * x, 35), at(1.4, 5), 0, 0, 360, dark, -1, cv2.LINE_AA)
        for y in (-2, 0, 2):
            cv2.line(image, tuple(at(50 + 5 * x, 46)), tuple(at(50 + 26 * x, 45 + 2 * y)), dark,
                     max(1, int(0.4 * u)), cv2.LINE_AA)
        cv2.ellipse(image, at(50 + 10 * x, 97), at(9, 6), 0, 0, 360, fur, -1, cv2.LINE_AA)
    cv2.fillPoly(image, [at((47, 42), (53, 42), (50, 46))], pink, cv2.LINE_AA)
    for y in range(8, 20, 4):
        cv2.line(image, tuple(at(46, y + 14)), tuple(at(54, y + 14)), dark, max(1, int(u)),
                 cv2.LINE_AA)
    rng = np.random.default_rng(9)
    return np.clip(image + rng.normal(0, 5, image.shape), 0, 255).astype(np.uint8)[:, :, ::-1]


def page_without_tags(folder):
    drawing = rawpdf.Drawing(210, 297)
    drawing.colour((255, 255, 255))
    drawing.box(0, 0, 210, 297)
    drawing.colour((0, 0, 0))
    for i in range(5):
        drawing.box(20 + 35 * i, 20, 20, 250)
    path = os.path.join(folder, "no-tags.pdf")
    rawpdf.write(path, [drawing])
    return path


# ---- verdicts ----

class Cases:
    def __init__(self, kits, folder):
        self.kits, self.folder = kits, folder
        self.plan, self.pdf = kits["check36"].plan_path, kits["check36"].pdf

    def file(self, name, image, **stated):
        path = os.path.join(self.folder, name)
        simulate.save(np.ascontiguousarray(image), path, **stated)
        return path

    def scan(self, name, kit="check36", sheet=loop.SHEET, stated=True, dpi=300, **faults):
        page = loop.rendered(self.kits[kit].pdf, sheet, 600, faults.get("kind", "gray"))
        image, _ = simulate.scan(page, dpi=dpi, **faults)
        if stated is True:
            stated = {"dpi": dpi}
        return self.file(name, image, **(stated or {}))

    def error(self, what, path, *words, plan=None):
        """An image that can't be used: said so, in words that hold these, and no success."""
        status, results, said = inspect(plan or self.plan, path)
        message = (results[0].get("error") or "") if results else said
        good = (status not in (0, 1, 2) and bool(results)
                and all(any(w in message.lower() for w in word.split("|")) for word in words))
        expect(f"{what}: a clear answer", good, f'(status {status}) "{message}"')

    def verdict(self, what, path, status_wanted, verdict, scale=None, reference=None):
        status, results, said = inspect(self.plan, path)
        if not results or "error" in results[0]:
            expect(f"{what}: {verdict}", False, f"(status {status}) {results} {said}")
            return None
        r = results[0]
        good = (status == status_wanted and r["verdict"] == verdict
                and (scale is None or [r["scale"][a]["verdict"] for a in "xy"] == [scale] * 2)
                and (reference is None or r["reference"]["kind"] == reference))
        expect(f"{what}: {verdict}", good, f"(status {status}, {r['verdict']}, scale "
               f"{r['scale']['x']['value']}, {r['scale']['y']['value']}, "
               f"{r['scale']['x']['verdict']}, reference {r['reference']['kind']}) "
               f"{r['answer'] if good else ' '.join([r['answer'], *r['notes']])[:200]}")
        return r


def check_verdicts(kits, folder):
    c = Cases(kits, folder)
    c.verdict("a true print", c.scan("true.png", turn=1.1), 0, "conforms", "conforms", "scanner")
    c.verdict("a print at 96 %", c.scan("shrunk.png", scale=(0.96, 0.96), turn=-0.7), 1,
              "does not conform", "does not conform", "scanner")
    c.verdict("a print at 99.2 % in x alone", c.scan("narrow.png", scale=(0.992, 1.0)), 1,
              "does not conform")
    c.error("a sheet of another kit", c.scan("other.png", kit="quayside"), "kit")
    c.error("a sheet of another edition", c.scan("edition.png", kit="edition2"), "edition")
    lines = simulate.render(page_without_tags(folder), 1, 600)
    image, _ = simulate.scan(lines, dpi=200)
    c.error("a page with lines and no tags", c.file("no-tags.png", image, dpi=200), "tag")
    blank = np.full((2338, 1654), 236, np.uint8)
    c.error("a blank page", c.file("blank.png", blank, dpi=200), "blank|tag")
    c.error("a picture of a cat", c.file("cat.jpg", cat(), dpi=72), "tag")
    mirrored, _ = simulate.scan(loop.rendered(c.pdf, loop.SHEET, 600, "gray"), dpi=200)
    c.error("a mirrored scan", c.file("mirrored.png", mirrored[:, ::-1], dpi=200), "mirror")
    two = [simulate.scan(loop.rendered(c.pdf, n, 600, "gray"), dpi=150, seed=1)[0]
           for n in (loop.SHEET, loop.SHEET + 1)]
    height = min(i.shape[0] for i in two)
    both = np.hstack([i[:height] for i in two])
    c.error("two sheets in one picture", c.file("two.png", both, dpi=150), "more than one")


def check_resolutions(kits, folder):
    c = Cases(kits, folder)
    for what, name, stated in (("no resolution stated, PNG", "none.png", {}),
                               ("no resolution stated, JPEG", "none.jpg", {}),
                               ("72 dpi stated of a scan at 300", "absurd.png", {"dpi": 72}),
                               ("JFIF and EXIF disagree", "torn.jpg",
                                {"dpi": 300, "exif_dpi": 200})):
        r = c.verdict(what, c.scan(name, stated=stated, turn=0.4, lid=0.7), 2, "undecided", "undecided",
                      "paper")
        if r is not None:
            expect(f"{what}: it says why", any("resolution" in n for n in r["notes"]),
                   str(r["notes"])[:200])
    page = loop.rendered(kits["check36"].pdf, loop.SHEET, 600, "colour")
    for tilt, turn in (((8, -5), 3), ((-4, 10), 92)):
        image, _ = simulate.photograph(page, tilt=tilt, turn=turn, seed=turn)
        r = c.verdict(f"a photograph, tilted {tilt} degrees", c.file("photo.jpg", image, dpi=72),
                      2, "undecided", "undecided", "paper")
        if r is not None:
            widths = [abs(line["width_mm"] - line["nominal_mm"]) for line in r["lines"]
                      if line["width_mm"] is not None]
            expect("widths in the photograph, by the sheet's own size",
                   bool(widths) and max(widths) < 0.1, f"(worst {max(widths, default=0):.3f} mm)")


def check_several(kits, folder):
    """One image that can't be used doesn't stop the others."""
    c = Cases(kits, folder)
    good, bad = c.scan("good.png"), c.file("empty.png", np.full((99, 99), 250, np.uint8))
    status, results, _ = inspect(c.plan, bad, os.path.join(folder, "missing.png"), good)
    expect("three images, one of use: three answers",
           bool(results) and len(results) == 3 and ["error" in r for r in results]
           == [True, True, False] and status not in (0, 1, 2), f"(status {status})")


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--long", action="store_true")
    p.add_argument("--seed", type=int, default=20, help="of the first draw")
    p.add_argument("--only", default="")
    a = p.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        kits = loop.make_kits(folder)
        if not a.only:
            check_verdicts(kits, folder)
            check_resolutions(kits, folder)
            check_several(kits, folder)
        jobs = loop.jobs_of(kits, folder, a.long, a.seed, a.only)
        with multiprocessing.Pool(2) as pool:
            exact, doubtful = loop.summary(
                jobs, pool.imap_unordered(loop.run_draw, jobs, chunksize=2))
        loop.judge_errors(exact)
        if any(loop.GROUPS[index].kit == "pairs" for index in exact):
            loop.judge_pairs(exact)
        loop.judge_intervals("exact scanner", exact)
        loop.judge_intervals("doubtful scanner", doubtful)
    return checks.finish("the loop")


if __name__ == "__main__":
    sys.exit(main())
