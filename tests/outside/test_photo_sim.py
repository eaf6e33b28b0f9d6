#!/usr/bin/python3
"""Is the simulated camera true? Its projection against opencv's, what it shows of spots and of a card
against the areas that they should cover, and what files say against Pillow's reading."""
import math
import os
import sys
import tempfile

import cv2
import numpy as np
from PIL import Image

import card_sim
import checks
import expose
import photo_sim
import print_sim
import rawpdf
import simulate
from checks import at_most

def a_camera(rng, points, size=(4000, 3000), k1=None):
    return photo_sim.looking(points, size, rng.uniform(0.75, 0.9), rng.uniform(0, 45),
                             rng.uniform(0, 360), rng.uniform(0, 360), rng.uniform(0.2, 0.5),
                             k1=rng.uniform(-0.1, 0.1) if k1 is None else k1, rng=rng)


PAPER = np.array([[0, 0], [210, 0], [210, 297], [0, 297.0]])


def test_projection():
    there, back, area, within = 0.0, 0.0, 0.0, 0.0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        camera = a_camera(rng, PAPER)
        space = np.column_stack([rng.uniform(0, 200, (50, 2)), rng.uniform(0, 5, 50)])
        matrix = np.array([[camera.focal, 0, camera.centre[0]], [0, camera.focal, camera.centre[1]],
                           [0, 0, 1]])
        by_opencv, _ = cv2.projectPoints(space, cv2.Rodrigues(camera.rotation)[0], camera.t, matrix,
                                         np.array([camera.k1, 0, 0, 0]))
        there = max(there, np.abs(camera.project(space) - by_opencv[:, 0]).max())
        x, y = camera.at_height(*camera.project(space).T, space[:, 2])
        back = max(back, np.abs(np.column_stack([x, y]) - space[:, :2]).max())
        if seed % 2:
            camera.bend = rng.uniform(0, 360), rng.choice([-1, 1]) / rng.uniform(500, 4000), 100.0
        p = rng.uniform(0, 200, (50, 2))
        back = max(back, np.abs(np.column_stack(camera.to_plane(*camera.to_px(p).T)) - p).max())
        camera.bend = None
        seen = camera.to_px(PAPER)
        within = max(within, *(-seen).max(axis=0), *(seen - camera.size).max(axis=0))
    at_most("projection with lens, against opencv's", there, 1e-6, "px")
    at_most("back from pixels to a flat and a bent sheet", back, 1e-6, "mm")
    at_most("the sheet lies in the frame, beyond it by", max(within, 0), 0, "px")


def test_bend():
    """Along a bent sheet a millimetre stays one, and its surface has the stated radius."""
    camera = a_camera(np.random.default_rng(1), PAPER)
    camera.bend = 30.0, 1 / 700, 90.0
    t = np.linspace(0, 200, 20001)
    worst = 0.0
    for degrees in (30, 120, 75):
        a = math.radians(degrees)
        s = camera.surface(np.column_stack([t * math.cos(a), t * math.sin(a)]))
        worst = max(worst, abs(np.linalg.norm(np.diff(s, axis=0), axis=1).sum() - 200))
    at_most("lengths along a bent sheet", worst, 1e-5, "mm")


def spots_page(folder):
    path = os.path.join(folder, "spots.pdf")
    drawing = rawpdf.Drawing(210, 297)
    drawing.colour((255, 255, 255))
    drawing.box(-1, -1, 212, 299)
    drawing.colour((0, 0, 0))
    spots = [(x, y) for x in (20, 105, 190) for y in (20, 150, 277)]
    for x, y in spots:
        drawing.box(x - 4, y - 4, 8, 8)
    rawpdf.write(path, [drawing])
    return simulate.render(path, 1, 600), spots


def moments(polygon):
    """Area and centroid."""
    x, y = polygon.T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y2 - x2 * y
    area = cross.sum() / 2
    return area, np.array([((x + x2) * cross).sum(), ((y + y2) * cross).sum()]) / (6 * area)


def test_spots(folder):
    """Squares cover, in the light of the picture, the area that their outlines project to."""
    page, spots = spots_page(folder)
    places, areas = 0.0, 0.0
    for seed in range(4):
        rng = np.random.default_rng(seed)
        p = print_sim.Print(page, seed, scale=(1.004, 0.997), skew_mrad=2, toner=0,
                            bow=(0.4, -0.3) if seed % 2 else (0, 0))
        camera = a_camera(rng, p.corners(), k1=(-0.1, 0.1, 0.05, 0)[seed])
        if seed == 3:
            camera.bend = 20.0, 1 / 900, 100.0
        picture = np.zeros((camera.size[1], camera.size[0]), np.float32)
        for top, left, light, _ in expose.sheet_layers(p, camera, 2, 0.35, colour=False):
            picture[top:top + light.shape[0], left:left + light.shape[1]] = light[:, :, 0]
        t = np.linspace(-4, 4, 81)
        rim = np.concatenate([np.column_stack([t, -4 + 0 * t]), np.column_stack([4 + 0 * t, t]),
                              np.column_stack([-t, 4 + 0 * t]), np.column_stack([-4 + 0 * t, -t])])
        for spot in spots:
            area, at = moments(camera.to_px(p.to_plane(rim + spot)))
            x, y = at.astype(int)
            r = int(0.75 * math.sqrt(abs(area)) * 2)
            part = 1 - picture[y - r:y + r, x - r:x + r].astype(float) / p.paper[0]
            ys, xs = np.mgrid[y - r + 0.5:y + r, x - r + 0.5:x + r]
            found = (part * xs).sum() / part.sum(), (part * ys).sum() / part.sum()
            places = max(places, math.hypot(*np.subtract(found, at)))
            # As the shift of each of the four sides that would explain it.
            areas = max(areas, abs(part.sum() - abs(area)) / math.sqrt(abs(area)) / 4)
    at_most("spots' places in a photograph with lens, bow, bend", places, 0.01, "px")
    at_most("spots' sides", areas, 0.01, "px")


def rounded(card, z, n=60):
    w, h = (s / 2 - card.radius for s in card.size)
    c, s = math.cos(math.radians(card.turn)), math.sin(math.radians(card.turn))
    points = []
    for start, (x, y) in zip((0, 90, 180, 270), ((w, h), (-w, h), (-w, -h), (w, -h))):
        a = np.radians(start + np.linspace(0, 90, n))
        points.append(np.column_stack([x + card.radius * np.cos(a), y + card.radius * np.sin(a)]))
    ring = np.vstack(points)
    # Sides too have points: the lens bends them.
    part = np.linspace(0, 1, 50, endpoint=False)[:, None]
    ring = np.vstack([ring[i] + part * (ring[(i + 1) % len(ring)] - ring[i])
                      for i in range(len(ring))])
    flat = ring @ np.array([[c, s], [-s, c]]) + card.centre
    return np.column_stack([flat, np.full(len(flat), z)])


def silhouette(card, camera):
    """The hull of foot and face, before the lens bends it."""
    k1, camera.k1 = camera.k1, 0.0
    both = np.vstack([camera.project(rounded(card, z)) for z in (0, card.thickness)])
    camera.k1 = k1
    hull = both[cv2.convexHull(np.float32(both), returnPoints=False)[:, 0]]
    part = np.linspace(0, 1, 20, endpoint=False)[:, None]
    hull = np.vstack([hull[i] + part * (hull[(i + 1) % len(hull)] - hull[i])
                      for i in range(len(hull))]) - camera.centre
    r2 = (hull ** 2).sum(axis=1, keepdims=True) / camera.focal ** 2
    return hull * (1 + k1 * r2) + camera.centre


def test_card():
    """The upper face and the whole silhouette cover what their outlines project to."""
    worst = {"upper face": 0.0, "silhouette": 0.0}
    places = 0.0
    for seed in range(3):
        rng = np.random.default_rng(seed)
        card = card_sim.Card(rng, (40, 130), rng.uniform(0, 360))
        card.shade = 0.0
        card.face = np.zeros_like(card.face)
        camera = a_camera(rng, PAPER)
        upper = camera.project(rounded(card, card.thickness))
        hull = silhouette(card, camera)
        for what, polygon, wall in (("upper face", upper, 1.0), ("silhouette", hull, 0.0)):
            card.wall = wall
            picture = np.ones((3000, 4000, 3), np.float32)
            card_sim.lay(picture, card, camera)
            dark = 1 - picture[:, :, 1].astype(float)
            area, at = moments(polygon)
            length = np.linalg.norm(polygon - np.roll(polygon, 1, axis=0), axis=1).sum()
            worst[what] = max(worst[what], abs(dark.sum() - abs(area)) / length)
            ys, xs = np.mgrid[0.5:3000, 0.5:4000]
            found = (dark * xs).sum() / dark.sum(), (dark * ys).sum() / dark.sum()
            places = max(places, math.hypot(*np.subtract(found, at)))
    for what, error in worst.items():
        at_most(f"a card's {what}: its edge, on the mean", error, 0.01, "px")
    at_most("a card's place", places, 0.01, "px")


def test_files(folder):
    camera = a_camera(np.random.default_rng(0), PAPER)
    path = os.path.join(folder, "photo.jpg")
    photo_sim.save(np.full((30, 40, 3), 99, np.uint8), path, photo_sim.exif_of(camera, 6))
    exif = Image.open(path).getexif()
    own = exif.get_ifd(0x8769)
    told = own[41989] / photo_sim.FULL_FRAME_DIAGONAL * 5000
    at_most("EXIF's focal length", abs(told / camera.focal - 1), 0.5 / own[41989], "of it")
    at_most("EXIF's orientation", abs(exif[274] - 6), 0, "wrong")


def main():
    with tempfile.TemporaryDirectory() as folder:
        test_projection()
        test_bend()
        test_spots(folder)
        test_card()
        test_files(folder)
    return checks.finish("simulated photographs")


sys.exit(main())
