#!/usr/bin/python3
"""Is the simulation itself true? Pages with lines at known places are rasterised, scanned without
noise and measured with closed forms; each edge must lie within 0.01 px of where the stated map puts
it. Then gain, the colours, the resolutions stated in files and the photograph's homography."""
import math
import os
import sys
import tempfile

import cv2
import numpy as np
from PIL import Image

import checks
import rawpdf
import simulate
from checks import at_most

EDGE_MAX = 0.01  # px
LINES = [20.0 + 23.017 * i for i in range(6)]  # mm, centre lines of upright bars
WIDTH = 6.35

def bars(rgb=(0, 0, 0), ground=(255, 255, 255)):
    drawing = rawpdf.Drawing(160, 60)
    drawing.colour(ground)
    drawing.box(-1, -1, 162, 62)
    drawing.colour(rgb)
    for x in LINES:
        drawing.box(x - WIDTH / 2, -1, WIDTH, 62)
    return drawing


def bar_part(image, truth):
    """How much of each pixel is bar, 0 to 1, by the light of bar and ground as pictured (8 bits
    round both, by up to half a code)."""
    light = image if image.dtype == np.float32 else simulate.LIGHT_OF_CODE[image]
    light = light.astype(np.float64)
    (bx, by), (gx, gy) = (simulate.to_px(truth, x, 30) for x in (LINES[2], LINES[2] + 11))
    bar, ground = light[int(by), int(bx)], light[int(gy), int(gx)]
    return (light - ground) / (bar - ground)


def edge_errors(image, truth):
    """Worst error of the edges' mean places, px, for bars that run down the picture (within a few
    degrees). An edge lies where the sum of light across it puts it, whatever the blur."""
    part = bar_part(image, truth)
    reach = int(2.3 * np.hypot(truth[0, 0], truth[1, 0]))
    worst = 0.0
    for x in LINES:
        for side in (-1, 1):
            errors = []
            (x0, y0), (x1, y1) = (simulate.to_px(truth, x + side * WIDTH / 2, y) for y in (0, 60))
            for row in range(int(0.3 * image.shape[0]), int(0.7 * image.shape[0])):
                # Where the true edge crosses the middle of this row.
                at = x0 + (row + 0.5 - y0) / (y1 - y0) * (x1 - x0)
                start, end = int(at) - reach, int(at) + reach
                bar = part[row, start:end].sum()
                errors.append((end - bar if side == -1 else start + bar) - at)
            worst = max(worst, abs(float(np.mean(errors))))
    return worst


def random_scan(page, dpi, kind, seed):
    rng = np.random.default_rng((dpi, seed))
    return simulate.scan(page, dpi=dpi, kind=kind, noise=0, seed=seed, turn=rng.uniform(-3, 3),
                         blur=rng.uniform(0.04, 0.12), skew_mrad=rng.uniform(-2, 2),
                         scale=rng.uniform(0.97, 1.03, 2))


def test_edges(folder):
    path = os.path.join(folder, "bars.pdf")
    rawpdf.write(path, [bars(), bars((200, 30, 20), (20, 60, 160))])
    for dpi, at in ((150, 600), (200, 600), (300, 600), (600, 1200)):
        page = simulate.render(path, 1, at)
        worst = max(edge_errors(*random_scan(page, dpi, "light", seed)) for seed in range(4))
        at_most(f"edges in a scan at {dpi} dpi, as light", worst, EDGE_MAX, "px")
        # Rounding to codes mixes up to half a step into each pixel.
        worst = max(edge_errors(*random_scan(page, dpi, "gray", seed)) for seed in range(4))
        at_most(f"edges in a scan at {dpi} dpi, as 8 bits", worst, 2 * EDGE_MAX, "px")
    page = simulate.render(path, 1, 600)
    image, truth = simulate.scan(page, dpi=300, kind="light", blur=0, turn=0.7)
    at_most("edges without blur", edge_errors(image, truth), EDGE_MAX, "px")
    image, truth = simulate.scan(page, dpi=300, noise=0, kind="bilevel", turn=1.7)
    at_most("edges in black and white", edge_errors(image, truth), 2 * EDGE_MAX, "px")
    page = simulate.render(path, 2, 600)
    image, truth = simulate.scan(page, dpi=300, kind="light", turn=-1.1)
    # The rasteriser rounds coverage to codes: between codes 30 and 60, to 1/30 of its pixel.
    for channel, name, steps in ((0, "red", 180), (1, "green", 30), (2, "blue", 140)):
        at_most(f"edges in colour, {name}", edge_errors(image[:, :, channel], truth),
              EDGE_MAX + 0.5 / steps * 300 / 600, "px")


def width_of_bar(image, truth, x):
    part = bar_part(image, truth)
    rows = range(int(0.3 * image.shape[0]), int(0.7 * image.shape[0]))
    k = truth[0, 0]
    centre = int(simulate.to_px(truth, x, 30)[0])
    reach = int(8 * k)
    return float(np.mean([part[r, centre - reach:centre + reach].sum() for r in rows])) / k


def test_gain(folder):
    path = os.path.join(folder, "bars.pdf")
    page = simulate.render(path, 1, 600)
    worst = 0.0
    for gain in (-0.05, 0.02, 0.07):
        image, truth = simulate.scan(page, dpi=300, noise=0, gain=gain)
        worst = max(worst, abs(width_of_bar(image, truth, LINES[2]) - WIDTH - 2 * gain))
    at_most("a line's width under ink gain", worst, 0.002, "mm")


def test_quarters(folder):
    path = os.path.join(folder, "dot.pdf")
    drawing = rawpdf.Drawing(100, 60)
    drawing.colour((255, 255, 255))
    drawing.box(-1, -1, 102, 62)
    drawing.colour((0, 0, 0))
    drawing.box(79, 14, 4, 4)
    rawpdf.write(path, [drawing])
    page = simulate.render(path, 1, 600)
    worst = 0.0
    for quarters in range(4):
        image, truth = simulate.scan(page, dpi=200, noise=0, lid=1, quarters=quarters, turn=2)
        light = simulate.LIGHT_OF_CODE[image]
        dark = np.clip(light.max() - light - 0.02, 0, None)
        ys, xs = np.mgrid[0.5:image.shape[0], 0.5:image.shape[1]]
        at = (dark * xs).sum() / dark.sum(), (dark * ys).sum() / dark.sum()
        worst = max(worst, *np.abs(np.subtract(at, simulate.to_px(truth, 81, 16))))
    at_most("a spot after quarter turns", worst, 0.01, "px")


def test_photograph(folder):
    """Spots in a photograph lie where the homography puts them, and the homography is that of a
    camera: opencv finds a pose of the stated camera that puts them there too."""
    path = os.path.join(folder, "spots.pdf")
    drawing = rawpdf.Drawing(200, 150)
    drawing.colour((255, 255, 255))
    drawing.box(-1, -1, 202, 152)
    drawing.colour((0, 0, 0))
    spots = [(x, y) for x in (20, 100, 180) for y in (20, 75, 130)]
    for x, y in spots:
        drawing.box(x - 2, y - 2, 4, 4)
    rawpdf.write(path, [drawing])
    page = simulate.render(path, 1, 600)
    image, truth = simulate.photograph(page, size=(2400, 1800), tilt=(9, -6), turn=4, noise=0,
                                       kind="gray", scale=(1.01, 0.99))
    light = simulate.LIGHT_OF_CODE[image]
    worst = 0.0
    for x, y in spots:
        # The centroid of a small square's picture is its centre's but for terms of second order.
        px, py = simulate.to_px(truth, x, y)
        r = 40
        part = light[int(py) - r:int(py) + r, int(px) - r:int(px) + r].astype(np.float64)
        rim = np.concatenate([part[0], part[-1]]).mean()
        dark = np.clip(rim - part - 0.06, 0, None)
        ys, xs = np.mgrid[int(py) - r + 0.5:int(py) + r, int(px) - r + 0.5:int(px) + r]
        found = (dark * xs).sum() / dark.sum(), (dark * ys).sum() / dark.sum()
        worst = max(worst, math.hypot(found[0] - px, found[1] - py))
    at_most("spots in a photograph", worst, 0.1, "px")
    model = np.float32([(x * 1.01, y * 0.99, 0) for x, y in spots])
    seen = np.float32([simulate.to_px(truth, x, y) for x, y in spots])
    focal = 1.1 * 2400
    # The principal point is seeded noise about the middle: try to a pixel.
    rng = np.random.default_rng(0)
    middle = np.array([1200, 900]) + rng.uniform(-20, 20, 2)
    camera = np.array([[focal, 0, middle[0]], [0, focal, middle[1]], [0, 0, 1]])
    good, r, t = cv2.solvePnP(model, seen, camera, None)
    back, _ = cv2.projectPoints(model, r, t, camera, None)
    at_most("opencv's pose of the photograph", float(np.abs(back[:, 0] - seen).max()) if good else 9,
          0.01, "px")


def test_files(folder):
    gray = np.full((40, 60), 200, np.uint8)
    gray[10:20] = 30
    where = {n: os.path.join(folder, n) for n in ("a.png", "b.png", "c.jpg", "d.jpg", "e.jpg")}
    simulate.save(gray, where["a.png"], dpi=600)
    simulate.save(np.where(gray > 100, 255, 0).astype(np.uint8), where["b.png"])
    simulate.save(gray, where["c.jpg"], dpi=300)
    simulate.save(gray, where["d.jpg"])
    simulate.save(gray, where["e.jpg"], dpi=300, exif_dpi=72)
    states = {name[0]: Image.open(path) for name, path in where.items()}
    good = (abs(states["a"].info["dpi"][0] - 599.9988) < 1e-3 and states["b"].mode == "1"
            and "dpi" not in states["b"].info and states["c"].info["dpi"] == (300, 300)
            and "dpi" not in states["d"].info and states["e"].info["jfif_density"] == (300, 300)
            and states["e"].getexif()[282] == 72)
    at_most("resolutions stated in files", 0 if good else 1, 0, "wrong")


def main():
    with tempfile.TemporaryDirectory() as folder:
        test_edges(folder)
        test_gain(folder)
        test_quarters(folder)
        test_photograph(folder)
        test_files(folder)
    return checks.finish("simulation")


sys.exit(main())
