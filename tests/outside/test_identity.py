#!/usr/bin/python3
"""Whose sheet a picture shows. With several plans each picture finds its own; a sheet of none is refused;
and one that has a plan's tags, but another sheet's art between them, gets no verdict. True sheets with
faults still get theirs.

Usage: test_identity.py [SHEETS [SEED]]    (environment: PAVIOR)"""
import functools
import json
import os
import sys
import tempfile

import numpy as np

import desk
import simulate
from checks import expect, finish

DPI = 150
AROUND = 3  # mm about the cell that are replaced: the bleed


def editions(folder):
    """One course in two editions of which the second has its lines elsewhere, and on another paper."""
    with open(desk.QUAYSIDE, encoding="utf-8") as file:
        text = file.read()
    other = os.path.join(folder, "other.course")
    with open(other, "w", encoding="utf-8") as file:
        file.write(text.replace('edition "1"', 'edition "2"'))
    return [desk.Kit(folder, "first", desk.QUAYSIDE), desk.Kit(folder, "second", other),
            desk.Kit(folder, "letter", desk.QUAYSIDE, "--paper", "letter")]


rendered = functools.lru_cache(maxsize=4)(simulate.render)


def scanned(kit, page, path, art=None, **faults):
    """art: the page of the same kit whose cell is shown instead."""
    image, _ = simulate.scan(rendered(kit.pdf, page, 300), DPI, **faults)
    if art is not None:
        image = image.copy()
        left, top, right, bottom = cell(kit, page)
        x, y = cell(kit, art)[:2]
        strange, _ = simulate.scan(rendered(kit.pdf, art, 300), DPI, **faults)
        part = strange[y:y + bottom - top, x:x + right - left]
        image[top:bottom, left:right] = 250
        image[top:top + part.shape[0], left:left + part.shape[1]] = part
    simulate.save(image, path, dpi=DPI)
    return image


def cell(kit, page):
    """px: left, top, right, bottom of the cell with its bleed."""
    sheet = kit.plan["sheets"][page - 1]
    (x0, y0, x1, y1), (ox, oy), high = sheet["cell"], sheet["origin"], kit.plan["page"][1]
    mm = [x0 - ox - AROUND, high - (y1 - oy) - AROUND, x1 - ox + AROUND, high - (y0 - oy) + AROUND]
    return [round(v * DPI / 25.4) for v in mm]


def inspected(kits, *paths):
    words = [w for kit in kits for w in ("--plan", kit.path)]
    return json.loads(desk.pavior("inspect", "--json", *words, *paths).stdout)


def check_plans(kits, folder):
    paths = [os.path.join(folder, kit.plan["paper"] + kit.plan["kit"]["edition"] + ".png")
             for kit in kits]
    for kit, path in zip(kits, paths):
        scanned(kit, 12, path)
    for order in (kits, kits[::-1], kits + kits):
        found = inspected(order, *paths)
        own = all(kit.plan["kit"]["fingerprint"] in one.get("kit", "")
                  and one["sheet"] == kit.plan["sheets"][11]["name"]
                  for kit, one in zip(kits, found))
        expect(f"{len(order)} plans: each picture is inspected with its own", own)
    for i, kit in enumerate(kits):
        others = kits[:i] + kits[i + 1:]
        error = inspected(others, paths[i])[0].get("error", "")
        expect(f"kit {kit.plan['kit']['fingerprint']} is of none of the others", "plans" in error)
        error = inspected(others[:1], paths[i])[0].get("error", "")
        expect("nor of one of them", "another plan" in error, error[:60])


def shared(kit, page, image, folder):
    """Which part of the sheet's dark art is dark in the picture, too: neighbours may have a line in
    one place, and are then alike but for what stands beside it."""
    true = scanned(kit, page, os.path.join(folder, "true.png"))
    left, top, right, bottom = cell(kit, page)
    dark = [x[top:bottom, left:right] < 100 for x in (true, image)]
    return (dark[0] & dark[1]).sum() / max(dark[0].sum(), 1)


def check_contents(kit, folder, rng, n):
    """The tags of one sheet about the art of another."""
    pages = kit.busy(12)
    path, judged, tried = os.path.join(folder, "strange.png"), [], 0
    while tried < n:
        page, art = (int(p) for p in rng.choice(pages, 2, replace=False))
        if shared(kit, page, scanned(kit, page, path, art), folder) > 0.25:
            continue
        tried += 1
        one = inspected([kit], path)[0]
        if "error" not in one:
            judged.append((page, art, one["verdict"]))
    expect(f"{n} sheets with another's art get no verdict", not judged, judged)


def check_faults(kit, folder, rng, n):
    """True sheets, out of true, faded, half covered, half in the picture."""
    pages = kit.busy(12)
    path, refused = os.path.join(folder, "faulty.png"), []
    for i in range(n):
        page = int(rng.choice(pages))
        scale = rng.choice([0.94, 0.97, 1.0])
        image = scanned(kit, page, path, scale=(scale, scale * rng.uniform(0.99, 1.01)),
                        turn=rng.uniform(-2, 2), gain=rng.uniform(-0.05, 0.08))
        left, top, right, bottom = cell(kit, page)
        if i % 4 == 1:  # faded to a third
            image = (255 - (255 - image.astype(float)) / 3).astype(np.uint8)
        elif i % 4 == 2:  # a card, light or dark, over a good part of the cell
            w, h = round(85.6 * DPI / 25.4), round(53.98 * DPI / 25.4)
            image[top + 60:top + 60 + h, left + 60:left + 60 + w] = rng.choice([40, 200])
        elif i % 4 == 3:  # darker to one side
            image = (image * np.linspace(1, 0.6, image.shape[1])[None, :]).astype(np.uint8)
        simulate.save(image, path, dpi=DPI)
        one = inspected([kit], path)[0]
        if "error" in one:
            refused.append((page, i % 4, one["error"][:90]))
    expect(f"{n} true sheets with faults get a verdict", not refused, refused)


def main(argv):
    n, seed = [int(w) for w in argv] + [8, 5][len(argv):]
    rng = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as folder:
        kits = editions(folder)
        check_plans(kits, folder)
        check_contents(kits[0], folder, rng, n)
        check_faults(kits[0], folder, rng, n)
    return finish("identity")


sys.exit(main(sys.argv[1:]))
