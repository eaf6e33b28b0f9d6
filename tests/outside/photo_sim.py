#!/usr/bin/python3
"""A phone's photograph of a printed sheet, simulated with every truth known.

    photo_sim.py sheets.pdf -o photo.jpg --page 2 --tilt 30 --from 140 --k1 0.05 --card

A pinhole camera with radial distortion in OpenCV's convention (x'' = x' (1 + k1 r^2), y'' alike, in
units of the focal length), the sheet in the plane z = 0 or bent to a cylinder, a table beneath it, a
card on it or beside it, uneven light with a soft shadow, defocus, noise, sRGB codes, JPEG."""
import argparse
import json
import math
import sys

import cv2
import numpy as np
from PIL import Image, TiffImagePlugin

import card_sim
import expose
import print_sim
import simulate
from simulate import CODE_OF_LIGHT, FULL

FULL_FRAME_DIAGONAL = 43.27  # mm, what "35 mm" focal lengths of EXIF refer to (CIPA DCG-001)


class Camera:
    """rotation and t: x_camera = rotation x + t, for x = plane mm and height above it (towards the
    camera); camera x to the right, y down, z forward. bend: (axis angle in degrees, curvature 1/mm,
    middle along the bend): heights z = curvature s^2 / 2 over the distance s from the middle line,
    the sheet's own mm being arc length."""

    def __init__(self, size, focal, centre, rotation, t, k1=0.0, bend=None):
        self.size, self.focal, self.centre = size, focal, np.asarray(centre, float)
        self.rotation, self.t, self.k1, self.bend = np.asarray(rotation), np.asarray(t), k1, bend

    def project(self, space):
        """N x 3 to px."""
        c = np.asarray(space, float) @ self.rotation.T + self.t
        x, y = c[:, 0] / c[:, 2], c[:, 1] / c[:, 2]
        grow = 1 + self.k1 * (x * x + y * y)
        return np.column_stack([x * grow, y * grow]) * self.focal + self.centre

    def to_px(self, plane):
        """Points of the sheet's surface, N x 2 plane mm."""
        p = np.atleast_2d(np.asarray(plane, float))
        return self.project(self.surface(p))

    def surface(self, p):
        if self.bend is None:
            return np.column_stack([p, np.zeros(len(p))])
        degrees, curvature, middle = self.bend
        a = math.radians(degrees)
        along, across = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
        s, w = p @ along - middle, p @ across
        ground = np.sin(curvature * s) / curvature  # of a circle, by arc length
        z = (1 - np.cos(curvature * s)) / curvature
        flat = np.outer(ground + middle, along) + np.outer(w, across)
        return np.column_stack([flat, z])

    def rays(self, u, v):
        """Directions in camera axes, with z = 1: the distortion undone by Newton's method."""
        x, y = (u - self.centre[0]) / self.focal, (v - self.centre[1]) / self.focal
        r = np.hypot(x, y)
        s = r.copy()
        for _ in range(8):
            s = s - (s * (1 + self.k1 * s * s) - r) / (1 + 3 * self.k1 * s * s)
        part = np.where(r > 0, s / np.maximum(r, 1e-12), 1)
        return x * part, y * part

    def at_height(self, u, v, z):
        """Where pixels' rays meet the height z, plane mm."""
        x, y = self.rays(u, v)
        r = self.rotation
        direction = [r[0, i] * x + r[1, i] * y + r[2, i] for i in range(3)]
        eye = -r.T @ self.t
        k = (z - eye[2]) / direction[2]
        return eye[0] + k * direction[0], eye[1] + k * direction[1]

    def to_plane(self, u, v):
        if self.bend is None:
            return self.at_height(u, v, 0.0)
        degrees, curvature, middle = self.bend
        a = math.radians(degrees)
        z = np.zeros_like(u)
        limit = 0.9 / abs(curvature)
        low, high = self.at_height(u, v, 0.0), self.at_height(u, v, 1.0)
        run = (high[0] - low[0]) * math.cos(a) + (high[1] - low[1]) * math.sin(a)  # of s, by height
        for _ in range(12):  # Newton's method for the height at which the ray meets the sheet
            x, y = low[0] + z * (high[0] - low[0]), low[1] + z * (high[1] - low[1])
            s = x * math.cos(a) + y * math.sin(a) - middle
            inside = np.clip(s, -limit, limit)
            root = np.sqrt(1 - (curvature * inside) ** 2)
            slope = curvature * inside / root * run
            z = z - ((1 - root) / curvature - z) / np.minimum(slope - 1, -0.05)
        w = y * math.cos(a) - x * math.sin(a)
        arc = np.where(np.abs(s) < limit, np.arcsin(np.clip(curvature * s, -1, 1)) / curvature,
                       s * 1.3) + middle
        return arc * math.cos(a) - w * math.sin(a), arc * math.sin(a) + w * math.cos(a)


def looking(points, size=(4000, 3000), focal=0.8, tilt=0.0, azimuth=0.0, roll=0.0, area=0.45,
            fill_most=0.97, k1=0.0, off=(0.0, 0.0), rng=None, corners=None):
    """A camera that has plane points (N x 2) in its frame. focal: in picture widths of the longer
    side. tilt: degrees between the view and the plane's normal; azimuth: from where, degrees
    counter-clockwise from x; roll: about the view. area: share of the frame that `corners` (four,
    or the points' hull) take, as far as all points still fit. off: how the points' box stands off
    the middle, as a share (-1 to 1) of what is left."""
    f = focal * max(size)
    centre = np.array(size) / 2 + (rng.uniform(-20, 20, 2) if rng is not None else 0)
    th, az = math.radians(tilt), math.radians(azimuth)
    view = -np.array([math.sin(th) * math.cos(az), math.sin(th) * math.sin(az), math.cos(th)])
    right = np.cross(view, [-math.cos(az) * math.cos(th), -math.sin(az) * math.cos(th), math.sin(th)])
    right /= np.linalg.norm(right)
    down = np.cross(view, right)
    c, s = math.cos(math.radians(roll)), math.sin(math.radians(roll))
    rotation = np.array([c * right + s * down, c * down - s * right, view])
    space = np.column_stack([points, np.zeros(len(points))])
    hull = np.column_stack([corners if corners is not None else points,
                            np.zeros(len(corners if corners is not None else points))])
    aim = np.append((points.min(axis=0) + points.max(axis=0)) / 2, 0)
    shift, distance = np.zeros(2), 2 * np.ptp(points, axis=0).max()
    for _ in range(60):
        t = -rotation @ aim + np.array([*(shift * distance), distance])
        camera = Camera(size, f, centre, rotation, t, k1)
        p = camera.project(space)
        low, high = p.min(axis=0), p.max(axis=0)
        fill = ((high - low) / size).max()
        quad = cv2.contourArea(cv2.convexHull(np.float32(camera.project(hull))))
        grow = min(fill_most / fill, math.sqrt(area * size[0] * size[1] / quad))
        distance /= grow ** 0.7
        left = np.maximum(np.array(size) - (high - low), 0) / 2 * fill_most
        wanted = np.array(size) / 2 + np.array(off) * left
        shift = shift + 0.7 * (wanted - (low + high) / 2) / f
    return camera


# ---- light and what lies about ----

def table(size, rng, tone):
    """A grained top, linear light; tone: its mean in red, green, blue."""
    w, h = size
    grain = cv2.resize(rng.standard_normal((h // 4 + 2, w // 48 + 2), np.float32), (w, h),
                       interpolation=cv2.INTER_CUBIC)
    slow = cv2.resize(rng.standard_normal((5, 5), np.float32), (w, h),
                      interpolation=cv2.INTER_CUBIC)
    shade = np.clip(1 + 0.12 * grain + 0.1 * slow, 0.4, 1.8)
    return cv2.merge([shade * np.float32(t) for t in tone])


def illumination(size, rng, fall=0.12, slope=0.1, shadow=0.0):
    """Light over the picture: falls off towards the corners, leans to one side, and a soft shadow
    (as of a hand or a head) takes `shadow` of it away on one side of a bent line."""
    w, h = size
    x, y = np.meshgrid(np.linspace(-1, 1, w // 8, dtype=np.float32),
                       np.linspace(-1, 1, h // 8, dtype=np.float32))
    a, b = rng.uniform(0, 2 * math.pi, 2)
    light = 1 - fall * (x * x + y * y) + slope * (x * math.cos(a) + y * math.sin(a))
    if shadow > 0:
        d = x * math.cos(b) + y * math.sin(b) + 0.15 * np.sin(3 * (y * math.cos(b) - x * math.sin(b))
                                                            + rng.uniform(0, 6))
        soft = rng.uniform(0.04, 0.25)
        light *= 1 - shadow / (1 + np.exp(-(d - rng.uniform(-0.3, 0.5)) / soft))
    return cv2.resize(light, (w, h), interpolation=cv2.INTER_LINEAR)


def photograph(print_, camera, rng, card=None, blur=0.8, noise=0.006, tone=(0.22, 0.11, 0.05),
               fall=0.12, slope=0.08, shadow=0.0, exposure=0.95, fine=2, curve=None):
    """8-bit colour codes. blur: standard deviation in px. exposure: what white paper would give,
    1 is the sensor's full light. curve: a function from light to codes, sRGB unless told."""
    size = camera.size
    first = min(0.35, blur)  # before sampling, against aliasing; the rest after
    picture = table(size, rng, tone)
    for top, left, light, cover in expose.sheet_layers(print_, camera, fine, first):
        at = (slice(top, top + light.shape[0]), slice(left, left + light.shape[1]))
        picture[at] = picture[at] * (1 - cover) + light
    if card is not None:
        card_sim.lay(picture, card, camera, first)
    rest = math.sqrt(max(blur * blur - first * first, 0))
    if rest > 0.2:
        picture = cv2.GaussianBlur(picture, (0, 0), rest, borderType=cv2.BORDER_REPLICATE)
    picture *= (illumination(size, rng, fall, slope, shadow)
                * np.float32(exposure / print_.paper.max()))[:, :, None]
    return developed(picture, noise, rng, curve)


def developed(light, noise, rng, curve=None):
    """Noise (of light, growing with its root: noise at white), codes, 8 bits."""
    for top in range(0, light.shape[0], 500):
        part = light[top:top + 500]
        grains = rng.standard_normal(part.shape, np.float32)
        part += grains * (np.float32(noise) * np.sqrt(np.clip(part, 0.02, None)))
    table_of_codes = np.rint(CODE_OF_LIGHT if curve is None
                             else curve(np.arange(FULL + 1) / FULL)).astype(np.uint8)
    np.clip(light, 0, 1, out=light)
    return table_of_codes[np.rint(light * FULL).astype(np.uint16)]


# ---- files as phones write them ----

def exif_of(camera, orientation=1, stated_focal=True):
    """Orientation (274) and the camera's tags: maker, model, focal length and its 35 mm equivalent
    (EXIF 2.3: 37386, 41989)."""
    exif = Image.Exif()
    exif[274] = orientation
    exif[271], exif[272] = "Simulated", "Pinhole"
    exif[282] = exif[283] = TiffImagePlugin.IFDRational(72)
    exif[296] = 2
    if stated_focal:
        diagonal = math.hypot(*camera.size)
        exif[0x8769] = {37386: TiffImagePlugin.IFDRational(round(100 * camera.focal / diagonal * 8),
                                                          100),
                        41989: round(camera.focal / diagonal * FULL_FRAME_DIAGONAL)}
    return exif


def save(image, path, exif=None, quality=92, subsampling=2):
    options = {} if exif is None else {"exif": exif}
    Image.fromarray(image).save(path, quality=quality, subsampling=subsampling, compress_level=1, **options)


def main(argv):
    p = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    p.add_argument("pdf")
    p.add_argument("-o", "--output", required=True, help="JPEG")
    p.add_argument("--page", type=int, default=1)
    p.add_argument("--scale", type=simulate.pair, default=(1, 1))
    p.add_argument("--skew", type=float, default=0, help="mrad")
    p.add_argument("--gain", type=float, default=0, help="mm of ink at each edge")
    p.add_argument("--bow", type=simulate.pair, default=(0, 0), help="mm, of upright, level lines")
    p.add_argument("--size", type=simulate.pair, default=(4000, 3000), help="px")
    p.add_argument("--focal", type=float, default=0.8, help="of the longer side")
    p.add_argument("--tilt", type=float, default=0, help="degrees off the sheet's normal")
    p.add_argument("--from", dest="azimuth", type=float, default=0, help="degrees from the sheet's x")
    p.add_argument("--roll", type=float, default=90)
    p.add_argument("--area", type=float, default=0.45, help="of the frame that the sheet takes")
    p.add_argument("--k1", type=float, default=0)
    p.add_argument("--bend", type=float, default=0, help="radius in mm of a sheet that isn't flat")
    p.add_argument("--blur", type=float, default=0.8, help="px")
    p.add_argument("--noise", type=float, default=0.006)
    p.add_argument("--shadow", type=float, default=0)
    p.add_argument("--card", nargs="?", const="beside", help="X,Y[,TURN] in mm on the sheet's plane,"
                   " its centre; or nothing: beside the sheet")
    p.add_argument("--orientation", type=int, default=1)
    p.add_argument("--quality", type=int, default=92)
    p.add_argument("--seed", type=int, default=0)
    a = p.parse_args(argv)
    rng = np.random.default_rng(a.seed)
    page = simulate.render(a.pdf, a.page, 600)
    print_ = print_sim.Print(page, a.seed, scale=a.scale, skew_mrad=a.skew, gain=a.gain, bow=a.bow)
    points, card = expose.outline(print_), None
    if a.card:
        at = (-60.0, 100.0, 90.0) if a.card == "beside" else [float(v) for v in a.card.split(",")]
        card = card_sim.Card(rng, at[:2], at[2] if len(at) > 2 else 0.0)
        points = np.vstack([points, card.outline(0)[:, :2]])
    camera = looking(points, tuple(int(v) for v in a.size), a.focal, a.tilt, a.azimuth, a.roll, a.area,
                     k1=a.k1, rng=rng, corners=print_.corners())
    if a.bend:
        camera.bend = (0.0, 1 / a.bend, page.width / 2)
    image = photograph(print_, camera, rng, card, a.blur, a.noise, shadow=a.shadow)
    save(image, a.output, exif_of(camera, a.orientation), a.quality)
    sx, sy, skew = print_.affine()
    print(json.dumps({"scale": [sx, sy], "skew_mrad": skew, "focal_px": camera.focal,
                      "centre": list(camera.centre), "rotation": camera.rotation.tolist(),
                      "t": camera.t.tolist(), "k1": camera.k1, "matrix": print_.matrix.tolist(),
                      "card": card.truth() if card else None}))


if __name__ == "__main__":
    main(sys.argv[1:])
