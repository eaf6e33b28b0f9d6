#!/usr/bin/python3
"""The shape of printed lines and areas, against truth painted into the page: halftones, ragged
edges, dust, speckle, JPEG and uneven light must raise no alarm; breaks, blobs, missing fills and
colours printed gray must be found; and a ragged edge of known standard deviation must come out.

Pages are rasterised by poppler, faults painted with OpenCV, then printed and scanned (or
photographed) by simulate.py, print_sim.py and photo_sim.py. Places for faults are sought in the
raster itself, by colours, along the plan's centre lines. Every draw has a seed.

    test_shape.py [--long] [--only WORD] [--seed N]"""
import argparse
import json
import math
import os
import subprocess
import sys
import tempfile

import cv2
import numpy as np

import checks
import photo_sim
import print_sim
import simulate
from checks import expect
from simulate import FULL

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUT = os.path.join(HERE, "..", "..", "layouts", "quayside.course")
CHECK = os.path.join(HERE, "check36.course")
QUIET_MIN = 0.99  # share of lines, and of areas, without a false alarm
FOUND_MIN = 0.98  # share of painted faults
BREAK, BLOB, MISSING = 0.5, 0.4, 0.05  # mm, mm, share: from here on faults must be found

# ---- kits and pages ----

class Kit:
    def __init__(self, name, folder, course):
        self.pdf = os.path.join(folder, name + ".pdf")
        self.plan = os.path.join(folder, name + ".plan.json")
        subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", "A4", "-q", "-o", self.pdf],
                       check=True)
        with open(self.plan, encoding="utf-8") as file:
            self.data = json.load(file)


PAGES = {}


def page_of(kit, page, dpi=600):
    key = kit.pdf, page, dpi
    if key not in PAGES:
        PAGES.clear()
        PAGES[key] = simulate.render(kit.pdf, page, dpi, None)
    return PAGES[key]


def copied(page):
    light = page.light
    if light.ndim == 2:
        light = np.stack([light] * 3, axis=2)
    return simulate.Page(light.copy(), page.dpi, page.width, page.height)


# ---- places on lines ----

def along(piece, s):
    """Place and unit heading of a piece of the plan at part s of it."""
    if len(piece) == 4:
        a, b = np.array(piece[:2]), np.array(piece[2:])
        return a + s * (b - a), (b - a) / np.linalg.norm(b - a)
    c, r, angle = np.array(piece[4:6]), piece[6], piece[7] + s * piece[8]
    t = np.array([-math.sin(angle), math.cos(angle)]) * math.copysign(1, piece[8])
    return c + r * np.array([math.cos(angle), math.sin(angle)]), t


def length(piece):
    return math.dist(piece[:2], piece[2:4]) if len(piece) == 4 else abs(piece[6] * piece[8])


def sampled(page, points):
    """Linear light at sheet places, N x 2; NaN off the page."""
    k = page.px_per_mm
    x = np.floor(points[:, 0] * k).astype(int)
    y = np.floor((page.height - points[:, 1]) * k).astype(int)
    good = (x >= 0) & (y >= 0) & (x < page.light.shape[1]) & (y < page.light.shape[0])
    out = np.full((len(points), 3), np.nan)
    out[good] = page.light[y[good], x[good]] / FULL
    return out


def plain(page, at, t, width):
    """Line, and one other colour on each side, over 4 mm along; gives the two sides' colours."""
    n = np.array([-t[1], t[0]])
    s = np.linspace(-2, 2, 9)[:, None, None]

    def patch(low, high):
        w = np.linspace(low, high, 9)[None, :, None]
        return sampled(page, (at + s * t + w * n).reshape(-1, 2))
    zones = [patch(-width / 2 + 0.2, width / 2 - 0.2), patch(width / 2 + 0.2, width / 2 + 2.2),
             patch(-width / 2 - 2.2, -width / 2 - 0.2)]
    if any(not np.isfinite(z).all() or np.ptp(z, axis=0).max() > 0.01 for z in zones):
        return None
    line, left, right = (z.mean(axis=0) for z in zones)
    if min(np.abs(line - left).max(), np.abs(line - right).max()) < 0.3:
        return None
    return line, left, right


def places(kit, page_number, page, rng, count, apart=8.0):
    """Random plain places on lines of a page: (line, sheet place, heading, colours)."""
    sheet = kit.data["sheets"][page_number - 1]
    origin = np.array(sheet["origin"])
    # Where the sheet shows art and its neighbours' crosses don't lie.
    low, high = np.array(sheet["cell"][:2]) + 3, np.array(sheet["cell"][2:]) - 3
    found = []
    lines = [(line, piece) for line in kit.data["art"]["lines"] for piece in line["pieces"]]
    weights = np.array([length(piece) for _, piece in lines])
    for _ in range(4000):
        if len(found) == count:
            break
        line, piece = lines[rng.choice(len(lines), p=weights / weights.sum())]
        at, t = along(piece, rng.uniform(0.02, 0.98))
        if (at < low).any() or (at > high).any():
            continue
        at = at - origin
        if any(np.linalg.norm(at - other[1]) < apart + line["width"] for other in found):
            continue
        colours = plain(page, at, t, line["width"])
        if colours is not None:
            found.append((line, at, t, colours))
    return found


# ---- painting faults ----

def paint(page, points, light):
    """A polygon in sheet mm, antialiased by being drawn four times as fine."""
    k = page.px_per_mm
    px = np.column_stack([points[:, 0] * k, (page.height - points[:, 1]) * k])
    low = np.maximum(np.floor(px.min(axis=0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(px.max(axis=0)).astype(int) + 2, page.light.shape[1::-1])
    mask = np.zeros((*(high - low)[::-1] * 4,), np.uint8)
    cv2.fillPoly(mask, [np.rint((px - low) * 4 * 16).astype(np.int32)], 255, cv2.LINE_8, 4)
    cover = cv2.resize(mask, tuple(high - low), interpolation=cv2.INTER_AREA)[:, :, None] / 255.0
    area = page.light[low[1]:high[1], low[0]:high[0]]
    area[:] = np.rint(area * (1 - cover) + np.asarray(light) * FULL * cover).astype(np.uint16)


def paint_break(page, place, size, share=1.0, side=1.0):
    """The line's ink missing over `size` mm along it, from one edge over a share of its width."""
    line, at, t, colours = place
    n = np.array([-t[1], t[0]]) * side
    half = line["width"] / 2
    w0, w1 = half + 0.05, half - share * line["width"] - (0.05 if share == 1 else 0)
    corners = [at + a * t + w * n for a, w in ((-size / 2, w0), (size / 2, w0), (size / 2, w1),
                                               (-size / 2, w1))]
    light_line = colours[0].mean() > max(colours[1].mean(), colours[2].mean())
    paint(page, np.array(corners), colours[1] if light_line else (1, 1, 1))


def paint_blob(page, place, reach, side=1.0):
    """Ink that bulges out from the edge by `reach`, as long as a disc twice that wide."""
    line, at, t, colours = place
    n = np.array([-t[1], t[0]]) * side
    a = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    centre = at + n * line["width"] / 2
    disc = centre + np.outer(np.cos(a), t) * reach + np.outer(np.sin(a), n) * reach
    paint(page, disc, colours[0])


def dusted(image, px_per_mm, rng, count):
    """Specks of 0.2 to 0.5 mm on the glass, light or dark, in codes."""
    out = image
    for _ in range(count):
        r = rng.uniform(0.1, 0.25) * px_per_mm
        x, y = rng.uniform(0, 1, 2) * image.shape[1::-1]
        value = int(rng.choice([30, 90, 235]))
        axes = (max(int(r * 16), 8), max(int(r * rng.uniform(0.5, 1) * 16), 8))
        cv2.ellipse(out, (int(x * 16), int(y * 16)), axes, rng.uniform(0, 180), 0, 360,
                    [value] * 3 if image.ndim == 3 else value, -1, cv2.LINE_AA, 4)
    return out


# ---- draws ----

def printed(page, rng, **more):
    faults = dict(seed=int(rng.integers(1 << 30)), gain=rng.uniform(-0.03, 0.06),
                  ragged=(rng.uniform(0, 0.03), rng.uniform(0.15, 0.5)),
                  toner=rng.uniform(0.03, 0.09))
    if rng.random() < 0.6:
        faults["screen"] = ("clustered", rng.uniform(106, 150))
    elif rng.random() < 0.5:
        faults["screen"] = ("dispersed", 600)
    if rng.random() < 0.4:
        faults["bands"] = (rng.uniform(0, 0.25), rng.uniform(3, 40))
    if rng.random() < 0.4:
        faults["speckle"] = rng.uniform(0.5, 6)
    faults.update(more)
    return print_sim.Print(page, **faults)


def flat(print_):
    """The printed sheet as a page again, for scan(): reflectances are in it."""
    light = [np.rint(np.clip(c * np.float32(print_.light(i)[0]) + FULL * print_.light(i)[1], 0, FULL))
             .astype(np.uint16) for i, c in enumerate(print_.channels)]
    light = simulate.joined(light if len(light) == 3 else light * 3)
    return simulate.Page(light, print_.dpi, print_.width, print_.height)


def scanned(sheet, path, rng, dpi=None, kind=None, dust=True):
    dpi = dpi or int(rng.choice([150, 200, 300, 300, 300, 600]))
    kind = kind or str(rng.choice(["gray", "colour", "colour"]))
    image, truth = simulate.scan(sheet, dpi=dpi, kind=kind, turn=rng.uniform(-2, 2),
                                 quarters=int(rng.integers(4)), blur=rng.uniform(0.04, 0.10),
                                 noise=rng.uniform(0.003, 0.015), paper=1.0, ink=0.0,
                                 seed=int(rng.integers(1 << 30)))
    # Light that falls off along the carriage, by up to 4 %.
    fall = 1 - rng.uniform(0, 0.04) * np.linspace(0, 1, image.shape[1])[None, :] ** 2
    image = np.rint(image * (fall if image.ndim == 2 else fall[:, :, None]) ** (1 / 2.2))
    image = image.astype(np.uint8)
    if dust:
        image = dusted(image, dpi / 25.4, rng, int(rng.integers(0, 40)))
    path += ".jpg" if rng.random() < 0.4 else ".png"
    simulate.save(image, path, dpi=dpi, quality=int(rng.integers(80, 95)))
    return path, f"{dpi} dpi {kind} {path[-3:]}"


def photographed(sheet, path, rng):
    print_ = sheet
    corners = print_.corners()
    camera = photo_sim.looking(corners, tilt=rng.uniform(0, 30), azimuth=rng.uniform(0, 360),
                               roll=rng.uniform(-20, 20) + 90 * int(rng.integers(4)),
                               area=rng.uniform(0.45, 0.7), rng=rng)
    shadow = rng.uniform(0, 0.35)
    image = photo_sim.photograph(print_, camera, rng, blur=rng.uniform(0.6, 1.2),
                                 noise=rng.uniform(0.003, 0.008), shadow=shadow)
    path += ".jpg"
    photo_sim.save(image, path, exif=photo_sim.exif_of(camera))
    return path, f"photograph, shadow {shadow:.2f}"


def inspected(kit, path):
    done = subprocess.run([PAVIOR, "inspect", "--scanner", "flatbed", "--plan", kit.plan, "--json", path],
                          capture_output=True, text=True, timeout=300)
    os.remove(path)
    results = json.loads(done.stdout)
    return None if "error" in results[0] else results[0]


def alarms(result):
    """False alarms of an image without faults: of lines and of areas, as texts."""
    lines = [f"{n['line']} {n['kind']} {n['length_mm']} x {n['reach_mm']} mm at "
             f"{n['x_mm']}, {n['y_mm']}" for n in result["flaws"]]
    for line in result["lines"]:
        shape = line["shape"]
        if not shape["fair"] and not shape["breaks"] and not shape["blobs"]:
            lines.append(f"{line['id']} {shape}")
    areas = [str(f) for f in result["fills"] if not f["fair"]]
    return lines, areas


SHEETS = [("quayside", n) for n in (2, 4, 7, 8, 10, 12, 13, 14, 16, 17, 18, 20, 22)] + \
         [("check36", n) for n in (2, 6, 8, 11)]


def quiet(kits, folder, seed, draws):
    """No alarms where nothing is wrong."""
    lines = areas = 0
    bad_lines, bad_areas = set(), []
    for k in range(draws):
        rng = np.random.default_rng((seed, 1, k))
        name, number = SHEETS[int(rng.integers(len(SHEETS)))]
        page = copied(page_of(kits[name], number))
        path = os.path.join(folder, f"quiet{k}")
        photo = k % 4 == 3
        sheet = printed(page, rng)
        path, what = photographed(sheet, path, rng) if photo else scanned(flat(sheet), path, rng)
        result = inspected(kits[name], path)
        if result is None:
            print(f"    draw {k}: not inspected ({name} {number}, {what})")
            continue
        lines += sum(line["shape"]["looked_mm"] > 0 for line in result["lines"])
        areas += len(result["fills"])
        wrong = alarms(result)
        for text in wrong[0]:
            bad_lines.add((k, text.split()[0]))
        bad_areas += wrong[1]
        for text in wrong[0][:3] + wrong[1][:2]:
            print(f"    draw {k} ({name} {number}, {what}, {sheet_words(sheet)}): {text}")
    expect("lines without a false alarm", len(bad_lines) <= (1 - QUIET_MIN) * lines,
           f"({len(bad_lines)} of {lines} lines in {draws} draws)")
    expect("areas without a false alarm", len(bad_areas) <= (1 - QUIET_MIN) * areas,
           f"({len(bad_areas)} of {areas} areas)")


def sheet_words(sheet):
    return getattr(sheet, "words", "")


def near(flaw, at, kind, within):
    return flaw["kind"] == kind and math.dist((flaw["x_mm"], flaw["y_mm"]), at) < within


def found_flaws(kits, folder, seed, draws):
    """Breaks and blobs that are there, and no others."""
    asked, found, sizes, lost, false, lines = [0, 0], [0, 0], [], [], 0, 0
    for k in range(draws):
        rng = np.random.default_rng((seed, 2, k))
        name, number = SHEETS[int(rng.integers(len(SHEETS)))]
        page = copied(page_of(kits[name], number))
        origin = np.array(kits[name].data["sheets"][number - 1]["origin"])
        truths = []
        for i, place in enumerate(places(kits[name], number, page, rng, 10)):
            side = rng.choice([-1.0, 1.0])
            if i % 2 == 0:
                size, share = rng.uniform(BREAK, 2.0), 1.0 if i % 4 == 0 else rng.uniform(0.75, 1)
                truths.append(("break", place[1] + origin, size, place[0]["id"]))
                paint_break(page, place, size, share, side)
            else:
                size = rng.uniform(BLOB, 0.9)
                n = np.array([-place[2][1], place[2][0]]) * side
                truths.append(("blob", place[1] + origin + n * place[0]["width"] / 2, size,
                               place[0]["id"]))
                paint_blob(page, place, size, side)
        path = os.path.join(folder, f"flaw{k}")
        sheet = printed(page, rng, gain=rng.uniform(-0.02, 0.03))
        photo = k % 5 == 4
        path, what = photographed(sheet, path, rng) if photo else \
            scanned(flat(sheet), path, rng, dust=False)
        result = inspected(kits[name], path)
        if result is None:
            print(f"    draw {k}: not inspected ({name} {number}, {what})")
            continue
        lines += len(result["lines"])
        left = list(result["flaws"])
        for kind, at, size, line in truths:
            hit = next((f for f in left if near(f, at, kind, 1.5)), None)
            asked[kind == "blob"] += 1
            if hit is None:
                lost.append(f"draw {k} {what}: {kind} of {size:.2f} mm on {line} ({name} {number})")
                continue
            found[kind == "blob"] += 1
            left.remove(hit)
            if kind == "break":
                sizes.append(hit["length_mm"] - size)
        false += len([f for f in left if not any(math.dist((f["x_mm"], f["y_mm"]), at) < 1.5
                                                 for _, at, _, _ in truths)])
        for f in left:
            print(f"    draw {k} {what}: not painted: {f}")
    for text in lost[:20]:
        print("    lost: " + text)
    for i, kind in enumerate((f"breaks from {BREAK} mm on", f"blobs from {BLOB} mm on")):
        expect(f"{kind} are found", found[i] >= FOUND_MIN * asked[i],
               f"({found[i]} of {asked[i]})")
    expect("no others", false <= 0.01 * lines, f"({false}, {lines} lines)")
    expect("lengths of breaks", np.percentile(np.abs(sizes), 95) <= 0.25,
           f"(mean error {np.mean(sizes):+.3f} mm, 95 % within {np.percentile(np.abs(sizes), 95):.3f})")


def fill_places(kit, number, page):
    """Areas of plain colour in the raster: colour of the plan, mask (at a quarter of the raster)."""
    sheet = kit.data["sheets"][number - 1]
    small = page.light[::4, ::4]
    found = []
    x0, y0, x1, y1 = (np.array(sheet["cell"]) - np.tile(sheet["origin"], 2)) * page.px_per_mm / 4
    rows = small.shape[0]
    for colour in kit.data["art"]["colours"]:
        light = simulate.srgb_to_linear(np.array(colour["rgb"])) * FULL
        if np.sqrt(np.mean((1 - light / FULL) ** 2)) < 0.15:
            continue
        mask = (np.abs(small - light).max(axis=2) < 0.01 * FULL).astype(np.uint8)
        mask[:max(int(rows - y1), 0)] = mask[int(rows - y0):] = 0
        mask[:, :int(x0)] = mask[:, int(x1):] = 0
        count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
        k = (page.px_per_mm / 4) ** 2
        for i in range(1, count):
            area = stats[i, cv2.CC_STAT_AREA] / k
            inner = cv2.erode((labels == i).astype(np.uint8), np.ones((97, 97)))
            if area > 900 and inner.any():
                found.append((colour["name"], labels == i, area))
    return found


def damaged_fills(kits, folder, seed, draws):
    """Part of an area without ink; colours printed gray; weak toner."""
    count = {"missing": [0, 0], "gray": [0, 0], "weak": [0, 0]}
    errors = []
    for k in range(draws):
        rng = np.random.default_rng((seed, 3, k))
        number = int(rng.choice([2, 7, 8, 12, 13, 16, 17, 18]))
        kit = kits["quayside"]
        page = copied(page_of(kit, number))
        fills = fill_places(kit, number, page)
        if not fills:
            continue
        what = ("missing", "missing", "gray", "weak")[k % 4]
        colour, mask, area = fills[int(rng.integers(len(fills)))]
        share = 0.0
        if what == "missing":
            share = rng.uniform(MISSING + 0.02, 0.5)
            rows, columns = np.nonzero(mask)
            # From one side on, so that the share is right.
            order = np.argsort(columns if rng.random() < 0.5 else rows, kind="stable")
            gone = order[:int(share * len(order))]
            bare = np.zeros(mask.shape, np.uint8)
            bare[rows[gone], columns[gone]] = 1
            bare = cv2.resize(bare, page.light.shape[1::-1], interpolation=cv2.INTER_NEAREST)
            page.light[bare > 0] = FULL
        elif what == "weak":
            page.light[:] = FULL - np.rint((FULL - page.light) * rng.uniform(0.2, 0.45))
        path = os.path.join(folder, f"fill{k}")
        sheet = printed(page, rng, gray=what == "gray", bands=(0.0, 20.0))
        photo = k % 5 == 4
        path, how = photographed(sheet, path, rng) if photo else \
            scanned(flat(sheet), path, rng, kind="colour" if what == "gray" else None)
        result = inspected(kit, path)
        if result is None:
            print(f"    draw {k}: not inspected (quayside {number}, {how})")
            continue
        same = [f for f in result["fills"] if f["colour"] == colour]
        count[what][1] += 1
        if what == "missing":
            hit = max((f["missing"] or 0 for f in same), default=0) >= 0.03
            if hit and len(same) == 1:
                errors.append(same[0]["missing"] - share)
        elif what == "gray":
            hueless = colour in ("ink", "steel", "black")
            hit = hueless or all(f["gray"] for f in same if f["area_mm2"] > 100)
        else:
            hit = all(f["weak"] for f in same)
        count[what][0] += hit
        if not hit:
            print(f"    draw {k} {how}: {what} {share:.2f} of {colour} ({area:.0f} mm2) on "
                  f"{number}: {same}")
    for what, (found, asked) in count.items():
        expect(f"areas that are {what}", found >= FOUND_MIN * asked, f"({found} of {asked})")
    if errors:
        print(f"    share missing: mean error {np.mean(errors):+.3f}, worst "
              f"{max(np.abs(errors)):.3f}")


def raggedness(kits, folder, seed, draws):
    """A known displacement of the edges is recovered."""
    ratios = []
    for k in range(draws):
        rng = np.random.default_rng((seed, 4, k))
        name, number = SHEETS[int(rng.integers(len(SHEETS)))]
        page = copied(page_of(kits[name], number))
        rms, size = rng.uniform(0.03, 0.12), rng.uniform(0.15, 0.5)
        sheet = printed(page, rng, ragged=(rms, size), screen=None, gain=0.0, speckle=0.0,
                        bands=(0.0, 20.0))
        path, what = scanned(flat(sheet), os.path.join(folder, f"ragged{k}"), rng,
                             dpi=int(rng.choice([300, 600])), dust=False)
        result = inspected(kits[name], path)
        if result is None:
            continue
        seen = [(line["shape"]["raggedness_mm"], line["shape"]["looked_mm"])
                for line in result["lines"] if line["shape"]["raggedness_mm"]
                and line["shape"]["looked_mm"] > 60]
        if not seen:
            continue
        values, weights = np.array(seen).T
        ratio = math.sqrt(np.sum(values ** 2 * weights) / weights.sum()) / rms
        ratios.append(ratio)
        if abs(ratio - 1) > 0.12:
            print(f"    draw {k} {what}: {rms:.3f} mm, length {size:.2f}: {ratio:.3f} of it")
    worst = max(abs(r - 1) for r in ratios)
    expect("raggedness within 15 %", worst <= 0.15,
           f"(worst {100 * worst:.1f} %, mean ratio {np.mean(ratios):.3f}, {len(ratios)} sheets)")


def proofs(_, folder, *__):
    """A perfect proof has nothing to say of its ink: its finest lines are no mottle."""
    for paper in ("A4", "letter", "A5"):
        pdf, name = os.path.join(folder, f"proof-{paper}.pdf"), os.path.join(folder, f"proof-{paper}")
        subprocess.run([PAVIOR, "sheets", "--proof", "--paper", paper, "-q", "-o", pdf], check=True)
        subprocess.run(["pdftoppm", "-r", "300", "-png", "-singlefile", pdf, name], check=True)
        done = subprocess.run([PAVIOR, "inspect", "--scanner", "flatbed", "--plan", name + ".plan.json", "--json",
                               name + ".png"], capture_output=True, text=True)
        result = json.loads(done.stdout)[0]
        worst = max(fill["mottle"] for fill in result["fills"])
        expect(f"a perfect proof on {paper} is evenly inked",
               done.returncode == 0 and all(fill["fair"] for fill in result["fills"])
               and worst < 0.005 and result["fills"], f"(mottle {worst:.4f})")


def main(argv):
    p = argparse.ArgumentParser()
    p.add_argument("--long", action="store_true")
    p.add_argument("--only", default="")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--draws", type=int)
    a = p.parse_args(argv)
    parts = {"quiet": (quiet, 2, 120), "flaws": (found_flaws, 1, 60),
             "fills": (damaged_fills, 1, 60), "ragged": (raggedness, 1, 30), "proofs": (proofs, 1, 1)}
    with tempfile.TemporaryDirectory() as folder:
        kits = {"quayside": Kit("quayside", folder, LAYOUT),
                "check36": Kit("check36", folder, CHECK)}
        for name, (part, short, long) in parts.items():
            if a.only and a.only != name:
                continue
            print(f"{name}, seed {a.seed}")
            part(kits, folder, a.seed, a.draws or (long if a.long else short))
    return checks.finish("shape")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
