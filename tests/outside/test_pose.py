#!/usr/bin/python3
"""The pose through the whole chain: pavior's PDF, drawn by poppler, scanned or photographed by
simulate.py with the truth known, found again by the library. Print and scanner are out of true in
every way at once: scale, skew, turn, blur, ink spread, noise, JPEG.

Usage: test_pose.py [CASES [SEED]]    (environment: PAVIOR, POSE_OF)"""
import json
import math
import os
import random
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import checks
import simulate
from checks import at_most, expect

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
POSE_OF = os.environ.get("POSE_OF", "build/tests/outside/pose_of")
COURSE = "layouts/quayside.course"
PAGES = [1, 5, 12]  # a corner of the mat, a seam through the compass rose, lines all over
(FOUND, NO_TAGS, TOO_FEW, DISAGREE, OTHER_PLAN) = range(5)

def poses(plan, files):
    done = subprocess.run([POSE_OF, plan] + files, capture_output=True, text=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()]


def make_sheets(folder, course, name):
    pdf = os.path.join(folder, name + ".pdf")
    subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", "A4", "--quiet", "-o", pdf], check=True)
    return pdf, os.path.join(folder, name + ".plan.json")


def worst_place(pose, truth, page):
    """px, anywhere on the page."""
    h = np.array(pose["h"]).reshape(3, 3)
    return max(math.dist(simulate.to_px(h, x, y), simulate.to_px(truth, x, y))
               for x in np.linspace(0, page.width, 7) for y in np.linspace(0, page.height, 9))


def axes(h):
    """Lengths of the images of 1 mm along x and y, and the angle between them, mrad."""
    x, y = complex(h[0, 0], h[1, 0]), complex(h[0, 1], h[1, 1])
    return abs(x), abs(y), 1000 * np.angle(y / x)


def random_scan(page, rnd, seed):
    dpi = rnd.choice([150, 200, 300])
    wide = rnd.uniform(0.95, 1.01)
    setting = dict(dpi=dpi, kind=rnd.choice(["gray", "colour"]),
                   scale=(wide, wide * rnd.uniform(0.997, 1.003)), skew_mrad=rnd.uniform(-2, 2),
                   turn=rnd.choice([-1, 1]) * rnd.uniform(0.3, 3), quarters=seed,
                   blur=rnd.uniform(0.04, 0.12), gain=rnd.uniform(-0.05, 0.08),
                   noise=rnd.uniform(0.003, 0.012))
    image, truth = simulate.scan(page, seed=seed, **setting)
    return image, truth, dpi


def scans(folder, pages, plan, n, rnd):
    worst = {"scale": 0, "scale / u": 0, "skew": 0, "rms": 0, "place": 0}
    for i in range(n):
        page = pages[i % len(pages)]
        image, truth, dpi = random_scan(page, rnd, i)
        name = os.path.join(folder, "scan.jpg" if i % 2 else "scan.png")
        simulate.save(image, name, dpi=dpi)
        pose = poses(plan, [name])[0]
        if pose["failure"] != FOUND or pose["perspective"]:
            expect(f"scan {i} is found flat", False, f"({pose})")
            continue
        found = axes(np.array(pose["h"]).reshape(3, 3))
        true = axes(truth / truth[2, 2])
        for k in range(2):
            off = abs(found[k] / true[k] - 1)
            worst["scale"] = max(worst["scale"], off)
            worst["scale / u"] = max(worst["scale / u"], off / pose["u_scale"][k])
        worst["skew"] = max(worst["skew"], abs(found[2] - true[2]))
        worst["rms"] = max(worst["rms"], pose["rms"])
        worst["place"] = max(worst["place"], worst_place(pose, truth, page))
    at_most("scans, scale", 100 * worst["scale"], 0.01, "%")
    at_most("scans, scale error / stated u", worst["scale / u"], 3, "")
    at_most("scans, skew", worst["skew"], 0.05, "mrad")
    at_most("scans, residuals", worst["rms"], 0.1, "px RMS")
    at_most("scans, any place on the page", worst["place"], 0.1, "px")


def photographs(folder, pages, plan, n, rnd):
    worst, rms = 0, 0
    for i in range(n):
        page = pages[i % len(pages)]
        size = rnd.choice([(3000, 2250), (2000, 1500)])
        image, truth = simulate.photograph(
            page, size=size, tilt=(rnd.uniform(-20, 20), rnd.uniform(-20, 20)),
            turn=rnd.uniform(-20, 20), quarters=i, fill=rnd.uniform(0.6, 0.9), seed=i,
            gain=rnd.uniform(0, 0.05))
        name = os.path.join(folder, "photo.jpg")
        simulate.save(image, name, quality=90)
        pose = poses(plan, [name])[0]
        if pose["failure"] != FOUND or not pose["perspective"]:
            expect(f"photograph {i} is found", False, f"({pose})")
            continue
        worst = max(worst, worst_place(pose, truth, page))
        rms = max(rms, pose["rms"])
    at_most("photographs, any place on the page", worst, 0.4, "px")
    at_most("photographs, residuals", rms, 0.15, "px RMS")


def covered(image, truth, box):
    out = image.copy()
    (x0, y0), (x1, y1) = (simulate.to_px(truth, *box[:2]), simulate.to_px(truth, *box[2:]))
    cv2.rectangle(out, (round(x0), round(y0)), (round(x1), round(y1)), 90, -1)
    return out


def tag_box(plan, sheet, place, part):
    """A part of a tag's box, from its lower edge."""
    with open(plan, encoding="utf-8") as file:
        tags = json.load(file)["sheets"][sheet]["tags"]
    x, y = tags[place]["centre"]
    half = 4.5 * tags[place]["cell"]
    return x - half, y - half, x + half, y - half + 2 * half * part


def oddities(folder, page, other, plan, plans):
    """Pictures that are something else, or not all there."""
    image, truth = simulate.scan(page, dpi=200, turn=0.8, quarters=0, seed=4)
    neighbour, _ = simulate.scan(other, dpi=200, turn=-0.6, seed=5)
    height = max(image.shape[0], neighbour.shape[0])
    both = np.hstack([np.pad(a, ((0, height - a.shape[0]), (0, 0)), constant_values=200)
                      for a in (image, neighbour)])
    table = simulate.table_top((1600, 1200), np.random.default_rng(1))
    one = covered(image, truth, tag_box(plan, 4, 1, 0.45))
    two = covered(one, truth, tag_box(plan, 4, 2, 1))
    cases = [("blank", np.full_like(image, 240), plan, NO_TAGS, "blank"),
             ("a table top", simulate.linear_to_srgb(table).astype(np.uint8), plan, NO_TAGS,
              "none of the square tags"),
             ("mirrored", image[:, ::-1], plan, NO_TAGS, "mirrored"),
             ("two sheets", both, plan, DISAGREE, "more than one sheet"),
             ("half a sheet", image[image.shape[0] // 2:], plan, TOO_FEW, "can be read"),
             ("a tag half covered", one, plan, FOUND, ""),
             ("two tags covered", two, plan, TOO_FEW, "only 2 of the sheet's 4"),
             ("another kit", image, plans["kit"], OTHER_PLAN, "belongs to another plan"),
             ("another edition", image, plans["edition"], OTHER_PLAN, "belongs to another plan"),
             ("wrong resolution stated", image, plan, FOUND, "")]
    for what, picture, of, failure, word in cases:
        name = os.path.join(folder, "odd.png")
        simulate.save(np.ascontiguousarray(picture), name, dpi=1200 if "wrong" in what else 200)
        pose = poses(of, [name])[0]
        good = pose["failure"] == failure and word in pose["words"]
        if failure == FOUND and good:
            good = worst_place(pose, truth, page) < 0.1
        expect(what, good, f"({pose['words'] or 'found'})")


def main():
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    rnd = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 20)
    with tempfile.TemporaryDirectory() as folder:
        pdf, plan = make_sheets(folder, COURSE, "quayside")
        with open(COURSE, encoding="utf-8") as file:
            text = file.read()
        plans = {}
        for what, old, new in (("kit", 'course "Quayside"', 'course "Wharf"'),
                               ("edition", 'edition "1"', 'edition "2"')):
            assert old in text
            changed = os.path.join(folder, what + ".course")
            with open(changed, "w", encoding="utf-8") as file:
                file.write(text.replace(old, new))
            plans[what] = make_sheets(folder, changed, what)[1]
        pages = [simulate.render(pdf, page, 600) for page in PAGES]
        scans(folder, pages, plan, n, rnd)
        photographs(folder, pages, plan, (n + 1) // 2, rnd)
        oddities(folder, pages[1], pages[2], plan, plans)
    return checks.finish("the pose")


sys.exit(main())
