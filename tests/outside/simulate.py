#!/usr/bin/python3
"""Printing and scanning (or photographing) a sheet, simulated from its PDF with every truth known.

    simulate.py sheets.pdf -o scan.png --page 2 --dpi 300 --scale 0.998,1.001 --turn 1.2
    simulate.py sheets.pdf -o photo.jpg --photo --tilt 8,-4

As a library: render() a page, scan() or photograph() it as often as wanted, save() the picture.

The page is rasterised by poppler with exact coverage, taken to linear light (IEC 61966-2-1), given
ink gain, blurred by a Gaussian, mapped by the exact affine map or homography and integrated over
square pixels; then come reflectances of paper and ink, noise, the sRGB curve and 8 bits. What this
does to an edge is checked against closed forms in test_simulate.py.

Coordinates: sheet mm have their origin in the page's lower left corner, y up. Pixels have (0,0) at
the outer corner of the first one, y down, so pixel centres are at .5."""
import argparse
import json
import math
import os
import struct
import subprocess
import sys
import tempfile

import cv2
import numpy as np
from PIL import Image

Image.MAX_IMAGE_PIXELS = None
MM_PER_INCH = 25.4
FULL = 65535


def srgb_to_linear(code):
    """Codes 0 to 255 to linear light 0 to 1."""
    c = np.asarray(code, np.float64) / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(light):
    """Linear light 0 to 1 to codes 0 to 255, not rounded."""
    v = np.clip(np.asarray(light, np.float64), 0, 1)
    return 255.0 * np.where(v <= 0.04045 / 12.92, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)


LIGHT_OF_CODE = srgb_to_linear(np.arange(256)).astype(np.float32)
CODE_OF_LIGHT = linear_to_srgb(np.arange(FULL + 1) / FULL).astype(np.float32)


class Page:
    """A page as it should look: linear light as 16 bits, and its size in mm."""

    def __init__(self, light, dpi, width, height):
        self.light, self.dpi, self.width, self.height = light, dpi, width, height

    @property
    def px_per_mm(self):
        return self.dpi / MM_PER_INCH

    @property
    def colour(self):
        return self.light.ndim == 3


def coverage_to_light(code):
    """One channel of an antialiased raster to linear light.

    A rasteriser mixes codes in proportion to coverage, but light mixes in proportion to coverage:
    decoding the mixed code would move every edge towards the dark. So the two colours that meet in
    a pixel are read from its 3 x 3 neighbourhood, and mixed again as light. Exact for any straight
    edge between areas wider than two pixels."""
    kernel = np.ones((3, 3), np.uint8)
    low, high = cv2.erode(code, kernel), cv2.dilate(code, kernel)
    light = cv2.LUT(code, np.rint(LIGHT_OF_CODE * FULL).astype(np.uint16))
    mixed = np.flatnonzero(low != high)
    a, b = low.ravel()[mixed], high.ravel()[mixed]
    part = (code.ravel()[mixed].astype(np.float32) - a) / (b.astype(np.float32) - a)
    mix = LIGHT_OF_CODE[a] + part * (LIGHT_OF_CODE[b] - LIGHT_OF_CODE[a])
    light.ravel()[mixed] = np.rint(mix * FULL).astype(np.uint16)
    return light


def luminance(channels):
    """Y of red, green, blue in linear light (IEC 61966-2-1)."""
    mix = cv2.addWeighted(channels[0], 0.2126, channels[1], 0.7152, 0)
    return cv2.addWeighted(mix, 1, channels[2], 0.0722, 0)


def page_size(pdf, page):
    """Width and height in mm of a page, from poppler."""
    text = subprocess.run(["pdfinfo", "-f", str(page), "-l", str(page), "-box", pdf], check=True,
                          capture_output=True, text=True).stdout
    for line in text.splitlines():
        if "MediaBox" in line:
            x0, y0, x1, y1 = (float(w) for w in line.split(":")[1].split())
            return (x1 - x0) * MM_PER_INCH / 72, (y1 - y0) * MM_PER_INCH / 72
    raise ValueError(f"{pdf} has no page {page}")


def render(pdf, page=1, dpi=600, colour=None):
    """A page of a PDF. colour: False gives luminance alone, None gives it where nothing is
    coloured. Twice the resolution of the scan to come, or more, is exact enough."""
    width, height = page_size(pdf, page)
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, "page")
        subprocess.run(["pdftocairo", "-tiff", "-tiffcompression", "packbits", "-r", str(dpi),
                        "-f", str(page), "-l", str(page), "-singlefile", pdf, name], check=True)
        code = cv2.imread(name + ".tif", cv2.IMREAD_UNCHANGED)
    if code is None:
        raise ValueError(f"page {page} of {pdf} was not rendered")
    if code.ndim == 3:
        channels = cv2.split(code)[2::-1]  # any alpha aside
        if all(np.array_equal(channels[0], other) for other in channels[1:]):
            code = channels[0]
        else:
            light = [coverage_to_light(c) for c in channels]
            light = luminance(light) if colour is False else cv2.merge(light)
            return Page(light, dpi, width, height)
    return Page(coverage_to_light(code), dpi, width, height)


def planes(light):
    if light.ndim == 2:
        return [light]
    return list(cv2.split(light))


def joined(channels):
    return channels[0] if len(channels) == 1 else cv2.merge(channels)


def grow_ink(light, px):
    """Moves every edge by px into the lighter side. Whole pixels by shifting the darker value into
    its neighbours, the rest by mixing. The mix of cross and square moves edges along the axes and
    at 45 degrees exactly, those between by up to 8 % more."""
    def one_more(a):
        cross = cv2.erode(a, cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3)))
        square = cv2.erode(a, np.ones((3, 3), np.uint8))
        return cv2.addWeighted(cross, 0.5858, square, 0.4142, 0)
    for _ in range(int(px)):
        light = one_more(light)
    rest = px - int(px)
    return light if rest == 0 else cv2.addWeighted(one_more(light), rest, light, 1 - rest, 0)


def prepared(page, kind, blur, gain):
    """The page's channels after ink gain and blur (both in mm)."""
    channels = planes(page.light)
    if kind in ("gray", "bilevel") and len(channels) == 3:
        channels = [luminance(channels)]
    done = []
    for light in channels:
        if gain < 0:
            light = FULL - grow_ink(FULL - light, -gain * page.px_per_mm)
        elif gain > 0:
            light = grow_ink(light, gain * page.px_per_mm)
        if blur > 0:
            # In float32: opencv's 16-bit path rounds the kernel's weights.
            light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), blur * page.px_per_mm,
                                     borderType=cv2.BORDER_REPLICATE)
        done.append(light)
    return done


def sheet_to_source(page):
    """3 x 3: sheet mm to the page raster's px (edge coordinates, y down)."""
    k = page.px_per_mm
    return np.array([[k, 0, 0], [0, -k, page.height * k], [0, 0, 1.0]])


def centres(matrix, fine):
    """The map in edge coordinates of a grid `fine` times finer, rewritten for pixel centres."""
    to_px = np.array([[1 / fine, 0, 0.5 / fine], [0, 1 / fine, 0.5 / fine], [0, 0, 1]])
    to_index = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    return to_index @ matrix @ to_px


def mapped(page, channels, truth, size, fine, outside, background=None):
    """Integrates the page over the pixels of a picture. truth: 3 x 3, sheet mm to px. outside:
    light beside the page, where there is no background picture (float32, 0 to 1)."""
    width, height = size
    inverse = centres(sheet_to_source(page) @ np.linalg.inv(truth), fine)
    affine = abs(inverse[2, 0]) + abs(inverse[2, 1]) < 1e-15

    def warp(light, beside):
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        big = (width * fine, height * fine)
        if affine:
            out = cv2.warpAffine(light, inverse[:2] / inverse[2, 2], big, flags=flags,
                                 borderMode=cv2.BORDER_CONSTANT, borderValue=beside)
        else:
            out = cv2.warpPerspective(light, inverse, big, flags=flags,
                                      borderMode=cv2.BORDER_CONSTANT, borderValue=beside)
        return cv2.resize(out, (width, height), interpolation=cv2.INTER_AREA)

    if background is None:
        return joined([warp(c, outside * FULL).astype(np.float32) / FULL for c in channels])
    cover = warp(np.full(channels[0].shape[:2], 1, np.float32), 0)
    out = []
    for i, light in enumerate(channels):
        behind = background[:, :, i] if background.ndim == 3 else background
        out.append(warp(light, 0).astype(np.float32) / FULL + (1 - cover) * behind)
    return joined(out)


def exposed(light, kind, paper, ink, noise, rng, threshold, tone=1.0):
    """Reflectance, noise, the sRGB curve, 8 bits (or black and white). "light" stays as it is."""
    if kind == "light":
        return light
    if kind == "colour" and light.ndim == 2:
        light = np.stack([light] * 3, axis=2)
    light = ink + (paper - ink) * light
    if noise > 0:
        light = light + np.float32(noise) * rng.standard_normal(light.shape, np.float32)
    if kind == "bilevel":
        return np.where(light > threshold, 255, 0).astype(np.uint8)
    index = np.rint(np.clip(light, 0, 1) * FULL).astype(np.uint16)
    if tone != 1:
        codes = linear_to_srgb((np.arange(FULL + 1) / FULL) ** tone)
        return np.rint(codes).astype(np.uint8)[index]
    return np.rint(CODE_OF_LIGHT).astype(np.uint8)[index]


QUARTERS = {1: cv2.ROTATE_90_COUNTERCLOCKWISE, 2: cv2.ROTATE_180, 3: cv2.ROTATE_90_CLOCKWISE}


def turned(image, quarters):
    """By counter-clockwise quarter turns."""
    return cv2.rotate(image, QUARTERS[quarters % 4]) if quarters % 4 else image


def turned_quarters(image, truth, quarters):
    """Counter-clockwise quarter turns of picture and map."""
    for i in range(quarters % 4):
        width = image.shape[1 - i % 2]
        truth = np.array([[0, 1, 0], [-1, 0, width], [0, 0, 1.0]]) @ truth
    return turned(image, quarters), truth


def print_matrix(scale, skew_mrad):
    """Nominal to printed mm: lengths along x and y grow by scale, and the right angle between them
    shrinks by the skew (y leans to the right where it is positive)."""
    s = skew_mrad / 1000.0
    return np.array([[scale[0], scale[1] * math.sin(s)], [0, scale[1] * math.cos(s)]])


def scan(page, dpi=300, kind="gray", scale=(1.0, 1.0), skew_mrad=0.0, turn=0.0, quarters=0,
         blur=0.06, gain=0.0, noise=0.008, paper=0.87, ink=0.03, threshold=None, margin=3.0,
         lid=1.0, seed=0, fine=None, tone=1.0):
    """A flatbed scan. scale: printed mm per nominal mm along the sheet's x and y. turn: degrees
    counter-clockwise. blur: standard deviation of the Gaussian, mm on the sheet. gain: mm by which
    ink grows on each side of a line. kind: "gray", "colour", "bilevel", or "light" for the linear
    light of 0 to 1 before reflectance, noise and coding. noise: standard deviation in linear light
    (white is 1). tone: the scanner codes light ** tone by the sRGB curve. margin: mm around the page's
    bounding box. lid: its light as a share of the paper's; the page's edges are those of the print, which
    grow and shrink with it as no paper does, so that by itself they don't show. seed also decides the place within a pixel.
    Returns the picture and the truth, a 3 x 3 from sheet mm (nominal) to px."""
    rng = np.random.default_rng(seed)
    k = dpi / MM_PER_INCH
    a = math.radians(turn)
    turning = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    linear = np.diag([k, -k]) @ turning @ print_matrix(scale, skew_mrad)
    corners = linear @ np.array([[0, page.width, page.width, 0], [0, 0, page.height, page.height]])
    low, high = corners.min(axis=1) - margin * k, corners.max(axis=1) + margin * k
    shift = -low + rng.uniform(0, 1, 2)
    size = tuple(int(v) for v in np.ceil(high - low) + 1)
    truth = np.eye(3)
    truth[:2, :2], truth[:2, 2] = linear, shift
    if fine is None:
        fine = max(2, round(page.dpi / dpi))
    light = mapped(page, prepared(page, kind, blur, gain), truth, size, fine, lid)
    if threshold is None:
        threshold = (paper + ink) / 2
    image = exposed(light, kind, paper, ink, noise, rng, threshold, tone)
    return turned_quarters(image, truth, quarters)


def table_top(size, rng):
    """A brown, grained table, linear light."""
    width, height = size
    grain = rng.standard_normal((height // 4 + 2, width // 64 + 2)).astype(np.float32)
    grain = cv2.resize(grain, (width, height), interpolation=cv2.INTER_CUBIC)
    slow = rng.standard_normal((5, 5)).astype(np.float32)
    slow = cv2.resize(slow, (width, height), interpolation=cv2.INTER_CUBIC)
    tone = np.clip(1 + 0.12 * grain + 0.1 * slow, 0.4, 1.8)
    return tone[:, :, None] * np.array([0.22, 0.11, 0.05], np.float32)


def photograph(page, size=(4000, 3000), kind="colour", tilt=(0.0, 0.0), turn=0.0, quarters=0,
               fill=0.85, focal=1.1, scale=(1.0, 1.0), skew_mrad=0.0, blur=0.12, gain=0.0,
               noise=0.006, paper=0.8, ink=0.035, seed=0, fine=2):
    """A photograph by a pinhole camera above a table. size: px. tilt: degrees about the sheet's x
    and y. fill: part of the picture's shorter fit that the sheet takes. focal: focal length in
    picture widths. Returns the picture and the truth as scan() does."""
    rng = np.random.default_rng(seed)
    printed = np.eye(3)
    printed[:2, :2] = print_matrix(scale, skew_mrad)
    printed[:2, 2] = -printed[:2, :2] @ [page.width / 2, page.height / 2]
    a, (tx, ty) = math.radians(turn), (math.radians(t) for t in tilt)
    about_z = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    about_x = np.array([[1, 0, 0], [0, math.cos(tx), -math.sin(tx)],
                        [0, math.sin(tx), math.cos(tx)]])
    about_y = np.array([[math.cos(ty), 0, math.sin(ty)], [0, 1, 0],
                        [-math.sin(ty), 0, math.cos(ty)]])
    turning = about_x @ about_y @ about_z
    f = focal * size[0]
    span_x = abs(page.width * math.cos(a)) + abs(page.height * math.sin(a))
    span_y = abs(page.width * math.sin(a)) + abs(page.height * math.cos(a))
    distance = f * max(span_x / size[0], span_y / size[1]) / fill
    # The sheet lies in the plane z = 0 before it is turned; the camera looks along -z.
    pose = np.column_stack([turning[:, 0], turning[:, 1], [0, 0, -distance]])
    centre = np.array(size) / 2 + rng.uniform(-20, 20, 2)
    camera = np.array([[f, 0, -centre[0]], [0, -f, -centre[1]], [0, 0, -1]])
    truth = camera @ pose @ printed
    truth /= truth[2, 2]
    background = table_top(size, rng)
    if kind != "colour":
        background = background @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    channels = prepared(page, kind, blur, gain)
    if kind == "colour" and len(channels) == 1:
        channels = channels * 3
    light = mapped(page, channels, truth, size, fine, 0, background)
    x, y = np.linspace(-1, 1, size[0]), np.linspace(-1, 1, size[1])
    shade = (1 - 0.12 * np.hypot(*np.meshgrid(x, y)) ** 2 + 0.05 * x[None, :]).astype(np.float32)
    light = light * (shade if light.ndim == 2 else shade[:, :, None])
    image = exposed(light, kind, paper, ink, noise, rng, (paper + ink) / 2)
    return turned_quarters(image, truth, quarters)


def exif_with_resolution(dpi):
    """The least EXIF block that states a resolution (TIFF 6.0 tags 282, 283, 296)."""
    entries = [(282, 5, 1, 50), (283, 5, 1, 58), (296, 3, 1, 2)]
    body = struct.pack("<2sHI", b"II", 42, 8) + struct.pack("<H", len(entries))
    for tag, kind, count, value in entries:
        body += struct.pack("<HHII", tag, kind, count, value)
    body += struct.pack("<I", 0)
    assert len(body) == 50
    return b"Exif\0\0" + body + struct.pack("<II", dpi, 1) * 2


def save(image, path, dpi=None, quality=85, exif_dpi=None, level=0):
    """PNG or JPEG by the file's name. dpi: what the file states (pHYs or JFIF density), None:
    nothing. exif_dpi: what a JPEG's EXIF states beside it. Black-and-white pictures are saved as
    1-bit PNG. level: by which a PNG is compressed; 0, since packing noise takes longer than writing it."""
    bilevel = image.ndim == 2 and path.endswith(".png") and ((image == 0) | (image == 255)).all()
    picture = Image.fromarray(image)
    if bilevel:
        picture = picture.convert("1", dither=Image.Dither.NONE)
    options = {}
    if dpi is not None:
        options["dpi"] = tuple(dpi) if np.ndim(dpi) else (dpi, dpi)
    if path.endswith(".png"):
        options["compress_level"] = max(level, int(bilevel))
    else:
        options["quality"] = quality
        if exif_dpi is not None:
            options["exif"] = exif_with_resolution(exif_dpi)
    picture.save(path, **options)


def to_px(truth, x, y):
    """Sheet mm to px."""
    u = truth @ np.array([x, y, 1.0])
    return u[0] / u[2], u[1] / u[2]


def pair(text):
    a, b = text.split(",")
    return float(a), float(b)


def main(argv):
    p = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    p.add_argument("pdf")
    p.add_argument("-o", "--output", required=True, help="PNG or JPEG")
    p.add_argument("--page", type=int, default=1)
    p.add_argument("--dpi", type=float, default=300)
    p.add_argument("--state", type=float, help="dpi to state, 0: none; default: the true one")
    p.add_argument("--exif", type=int, help="dpi that EXIF states beside it (JPEG)")
    p.add_argument("--kind", choices=["gray", "colour", "bilevel"])
    p.add_argument("--scale", type=pair, default=(1, 1), help="X,Y: printed mm per nominal mm")
    p.add_argument("--skew", type=float, default=0, help="mrad")
    p.add_argument("--turn", type=float, default=0, help="degrees, counter-clockwise")
    p.add_argument("--quarters", type=int, default=0)
    p.add_argument("--blur", type=float, default=None, help="standard deviation, mm")
    p.add_argument("--gain", type=float, default=0, help="mm of ink on each side")
    p.add_argument("--noise", type=float, default=0.008)
    p.add_argument("--seed", type=int, default=0)
    p.add_argument("--render", type=int, help="dpi at which the page is rendered")
    p.add_argument("--photo", action="store_true")
    p.add_argument("--tilt", type=pair, default=(0, 0), help="degrees about x and y (photo)")
    p.add_argument("--size", type=pair, default=(4000, 3000), help="px (photo)")
    a = p.parse_args(argv)
    common = dict(scale=a.scale, skew_mrad=a.skew, turn=a.turn, quarters=a.quarters, gain=a.gain,
                  noise=a.noise, seed=a.seed, kind=a.kind or ("colour" if a.photo else "gray"))
    if a.blur is not None:
        common["blur"] = a.blur
    at = a.render or (600 if a.photo or a.dpi <= 300 else 1200)
    page = render(a.pdf, a.page, at, colour=None if common["kind"] == "colour" else False)
    if a.photo:
        image, truth = photograph(page, size=tuple(int(v) for v in a.size), tilt=a.tilt, **common)
        stated = a.state
    else:
        image, truth = scan(page, dpi=a.dpi, **common)
        stated = a.dpi if a.state is None else a.state
    save(image, a.output, dpi=stated or None, exif_dpi=a.exif, level=1)
    print(json.dumps({"sheet_mm_to_px": truth.tolist(), "size": list(image.shape[1::-1])}))


if __name__ == "__main__":
    main(sys.argv[1:])
