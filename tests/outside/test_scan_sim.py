#!/usr/bin/python3
"""Are the simulated printer and scanner true? What they show of spots and bars, against the places
and areas that their outlines should have; tones of halftones; the sensor's luminance."""
import math
import os
import sys
import tempfile

import numpy as np

import checks
import expose
import print_sim
import rawpdf
import scan_sim
import simulate
import truth
from checks import at_most

SPOTS = [(x, y) for x in (12, 45, 80) for y in (12, 60, 100)]


def page_of(folder, name, boxes, size=(92, 112)):
    """Boxes are (rgb, x, y, width, height) on white."""
    drawing = rawpdf.Drawing(*size)
    drawing.colour((255, 255, 255))
    drawing.box(-1, -1, size[0] + 2, size[1] + 2)
    for rgb, *box in boxes:
        drawing.colour(rgb)
        drawing.box(*box)
    path = os.path.join(folder, name)
    rawpdf.write(path, [drawing])
    return simulate.render(path, 1, 600)


def dark_part(print_, device, fringes=None, colour=False, blur=0.4):
    """How much less light than bare paper each pixel has, as a share."""
    w, h = device.size
    picture = np.zeros((h, w, 3 if colour else 1), np.float32)
    for top, left, light, _ in expose.sheet_layers(print_, device, 2, blur, colour, fringes):
        picture[top:top + light.shape[0], left:left + light.shape[1]] = light
    return 1 - picture.astype(float) / print_.paper[:picture.shape[2]]


def spot_of(dark, at, reach):
    """Sum and centroid about a place (px)."""
    x, y = (int(v) for v in at)
    part = dark[y - reach:y + reach, x - reach:x + reach]
    ys, xs = np.mgrid[y - reach + 0.5:y + reach, x - reach + 0.5:x + reach]
    return part.sum(), np.array([(part * xs).sum(), (part * ys).sum()]) / part.sum()


def test_spots(folder):
    page = page_of(folder, "spots.pdf", [((0, 0, 0), x - 4, y - 4, 8, 8) for x, y in SPOTS])
    place, side, gain = 0.0, 0.0, 0.0
    for seed in range(4):
        rng = np.random.default_rng(seed)
        grown = (0, 0.05, -0.03, 0.08)[seed]
        p = print_sim.Print(page, seed, scale=(1.004, 0.997), skew_mrad=2, toner=0, gain=grown,
                            bow=(0.3, -0.2) if seed % 2 else (0, 0))
        dpi = (300, 200, 600, 150)[seed]
        device = scan_sim.Scanner(p, dpi, rng.uniform(-3, 3), (1.002, 0.999), 1.5, shift=rng.uniform(0, 1, 2))
        dark = dark_part(p, device)[:, :, 0]
        t = np.linspace(-4, 4, 81)
        rim = np.concatenate([np.column_stack([t, -4 + 0 * t]), np.column_stack([4 + 0 * t, t]),
                              np.column_stack([-t, 4 + 0 * t]), np.column_stack([-4 + 0 * t, -t])])
        for spot in SPOTS:
            x, y = device.to_px(p.to_plane(rim + spot)).T
            cross = x * np.roll(y, -1) - np.roll(x, -1) * y
            area = abs(cross.sum() / 2)
            centre = np.array([((x + np.roll(x, -1)) * cross).sum(),
                               ((y + np.roll(y, -1)) * cross).sum()]) / (3 * cross.sum())
            found, at = spot_of(dark, centre, int(0.8 * math.sqrt(area)))
            place = max(place, math.hypot(*(at - centre)))
            by = (found - area) / (4 * math.sqrt(area)) / device.px_per_mm  # mm, of each side
            if grown == 0:
                side = max(side, abs(by) * device.px_per_mm)
            else:
                gain = max(gain, abs(by / grown - 1))
    at_most("spots' places in scans", place, 0.01, "px")
    at_most("spots' sides", side, 0.01, "px")
    at_most("ink's gain, at all sides' mean", gain, 0.04, "of it")


def test_fringes(folder):
    page = page_of(folder, "fringes.pdf", [((0, 0, 0), x - 4, y - 4, 8, 8) for x, y in SPOTS])
    p = print_sim.Print(page, 0, toner=0)
    device = scan_sim.Scanner(p, 300)
    dark = dark_part(p, device, [(0.0, 0.4), (0.0, 0.0), (0.0, -0.4)], True)
    worst = 0.0
    for spot in SPOTS:
        at = device.to_px([spot])[0]
        y = [spot_of(dark[:, :, i], at, 60)[1][1] for i in range(3)]
        worst = max(worst, abs(y[0] - y[1] - 0.4), abs(y[2] - y[1] + 0.4))
    at_most("colour fringes", worst, 0.01, "px")


def test_tones(folder):
    """A halftone's mean is the tone it stands for; a gray sensor sees luminance."""
    colours = [(60, 60, 60), (190, 120, 40), (40, 90, 200), (200, 200, 120)]
    page = page_of(folder, "tones.pdf",
                   [(c, 4 + 22 * i, 10, 20, 90) for i, c in enumerate(colours)])
    tone = 0.0
    for screen in (("clustered", 106), ("clustered", 150), ("dispersed", 600)):
        p = print_sim.Print(page, 1, screen=screen, toner=0, paper=(1, 1, 1))
        k = p.px_per_mm
        for i, colour in enumerate(colours):
            rows = slice(int(15 * k), int(100 * k))
            columns = slice(int((6 + 22 * i) * k), int((22 + 22 * i) * k))
            for channel in range(3):
                mean = p.channels[channel][rows, columns].mean() / simulate.FULL
                tone = max(tone, abs(mean - simulate.srgb_to_linear(colour[channel])))
    at_most("halftones' mean tone", tone, 0.02, "of light")
    p = print_sim.Print(page, 1, toner=0.04)
    gray = scan_sim.Grayed(p)
    factor, offset = gray.light(0)
    worst = 0.0
    for i, colour in enumerate(colours):
        light = simulate.srgb_to_linear(np.array(colour)) * (1 - 0.04) + 0.04
        wanted = float((light * p.paper) @ scan_sim.LUMA)
        row, column = int(50 * p.px_per_mm), int((14 + 22 * i) * p.px_per_mm)
        worst = max(worst, abs(gray.channels[0][row, column] / simulate.FULL * factor + offset - wanted))
    at_most("a gray sensor's light", worst, 0.001, "of light")


def test_truth(folder):
    """Widths and spacings as campaigns take them for true, where closed forms tell them."""
    page = page_of(folder, "lines.pdf", [((0, 0, 0), 20, 5, 6, 100), ((0, 0, 0), 50, 5, 10, 100)])
    data = {"sheets": [{"cell": [0, 0, 92, 112], "origin": [0, 0]}], "bleed": 3, "tolerances": {},
            "art": {"size": [92, 112], "lines": [
                {"id": "a", "width": 6, "pieces": [[23, 5, 23, 105]]},
                {"id": "b", "width": 10, "pieces": [[55, 5, 55, 105]]}]}}
    plan = truth.Plan.__new__(truth.Plan)
    plan.data, plan.sheets = data, data["sheets"]
    plan.lines = {line["id"]: line for line in data["art"]["lines"]}
    p = print_sim.Print(page, 0, scale=(1.01, 0.98), skew_mrad=3, gain=0.05)
    widths = truth.widths(plan, plan.sheets[0], p)
    # A strip's width: x runs along it, so its area over its length; the skew turns lengths along y.
    lean = math.cos(0.003)
    worst = max(abs(widths["a"][0] - 6.1 * 1.01 * lean), abs(widths["b"][0] - 10.1 * 1.01 * lean))
    worst = max(worst, abs(truth.spacing(plan, plan.sheets[0], p, "a", "b", 32) - 32 * 1.01 * lean))
    at_most("true widths and spacings against closed forms", worst, 1.4e-3, "mm")  # of 1/32 px, at which opencv looks


def main():
    with tempfile.TemporaryDirectory() as folder:
        test_spots(folder)
        test_fringes(folder)
        test_tones(folder)
        test_truth(folder)
    return checks.finish("simulated printers and scanners")


sys.exit(main())
