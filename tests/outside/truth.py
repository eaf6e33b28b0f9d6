"""What a simulated print truly is, line by line: widths and spacings from the plan's own geometry,
the page's raster and the printer's map, by nothing that pavior measures with."""
import json
import math

import cv2
import numpy as np

import simulate

STEP = 1.5  # mm between places along a line
CLEAR = 0.4  # mm on both sides of an edge that its blur may take
FAR = 1.6  # mm from an edge to where its side must still be of one colour
ALIKE = 0.012  # of light, how far one colour's places may differ
SPREAD = 0.010  # mm by which a line's true width may vary and still have one value


class Plan:
    def __init__(self, path):
        with open(path, encoding="utf-8") as file:
            self.data = json.load(file)
        self.sheets = self.data["sheets"]
        self.lines = {line["id"]: line for line in self.data["art"]["lines"]}
        self.tolerances = self.data["tolerances"]

    def box(self, sheet):
        """Of what a sheet's art shows for certain, mat mm."""
        left, bottom, right, top = sheet["cell"]
        width, height = self.data["art"]["size"]
        grow = self.data["bleed"] - 0.5
        return (max(left - grow, 0), max(bottom - grow, 0), min(right + grow, width),
                min(top + grow, height))


def places(pieces):
    """Places along a line's centre: N x 2, unit tangents N x 2, left normals N x 2."""
    points, ways = [], []
    for p in pieces:
        if len(p) == 4:
            a, b = np.array(p[:2]), np.array(p[2:])
            length = np.linalg.norm(b - a)
            t = (np.arange(int(length / STEP)) + 0.5) * STEP
            way = (b - a) / length
            points.append(a + t[:, None] * way)
            ways.append(np.repeat(way[None], len(t), 0))
            continue
        centre, r, start, sweep = np.array(p[4:6]), p[6], p[7], p[8]
        n = int(abs(sweep) * r / STEP)
        angle = start + sweep * (np.arange(n) + 0.5) / max(n, 1)
        points.append(centre + r * np.column_stack([np.cos(angle), np.sin(angle)]))
        ways.append(math.copysign(1, sweep) * np.column_stack([-np.sin(angle), np.cos(angle)]))
    points, ways = np.vstack(points), np.vstack(ways)
    return points, ways, np.column_stack([-ways[:, 1], ways[:, 0]])


def sampled(print_, nominal):
    """Linear light (0 to 1, N x channels) of the page as designed, at sheet places."""
    light, k = print_.ideal.light, print_.px_per_mm
    x = np.clip((nominal[:, 0] * k).astype(int), 0, light.shape[1] - 1)
    y = np.clip(((print_.height - nominal[:, 1]) * k).astype(int), 0, light.shape[0] - 1)
    found = light[y, x].reshape(len(nominal), -1) / simulate.FULL
    if print_.gray and found.shape[1] == 3:
        found = found @ np.array([[0.2126], [0.7152], [0.0722]])
    return found


def jacobian(print_, at):
    """Of nominal to printed mm at places, N x 2 x 2 (columns: images of x and y)."""
    h = 0.5
    dx, dy = np.array([h, 0]), np.array([0, h])
    to = lambda p: print_.to_plane(p, ragged=False)  # noqa: E731
    return np.stack([(to(at + dx) - to(at - dx)) / (2 * h), (to(at + dy) - to(at - dy)) / (2 * h)], 2)


def shares(inside, outside):
    """By which share of the ink's gain an edge moves outwards (print_sim's head says how); NaN where
    the channels move different ways, so that it hangs on how it is looked at."""
    d = outside - inside
    square = (d * d).sum(axis=1)
    t = (d * np.abs(d)).sum(axis=1) / np.maximum(square, 1e-12)
    mixed = (np.abs(t) < 0.985) | (square < 4e-4)
    return np.where(mixed, np.nan, np.sign(t))


def one_colour(print_, at, normal, offsets):
    """The colour over these offsets along the normal, and whether it is one."""
    seen = np.stack([sampled(print_, at + o * normal) for o in offsets])
    return seen.mean(axis=0), (np.ptp(seen, axis=0).max(axis=1) < ALIKE)


def edge_place(print_, at, normal, half, inside, outside):
    """Where the raster's edge truly lies along the normal, mm beyond its nominal place, by area: as
    the renderer drew it, which fills pixels that ink touches or blends shared edges twice."""
    k, light = print_.px_per_mm, print_.drawn
    step = 0.5 / k
    offsets = np.arange(-CLEAR, CLEAR + step / 2, step)
    d = outside - inside
    square = (d * d).sum(axis=1)
    covered = np.zeros(len(at))
    for o in offsets:
        p = at + (half + o) * normal
        x = (p[:, 0] * k - 0.5).astype(np.float32)[:, None]
        y = ((print_.height - p[:, 1]) * k - 0.5).astype(np.float32)[:, None]
        seen = cv2.remap(light, x, y, cv2.INTER_LINEAR).reshape(len(p), -1)
        share = 1 - ((seen / simulate.FULL - inside) * d).sum(axis=1) / square
        covered += np.where((o == offsets[0]) | (o == offsets[-1]), 0.5, 1) * step * share
    return covered - CLEAR


def widths(plan, sheet, print_):
    """{line id: (true mean width in mm, how many places)} of lines whose width has one value."""
    found = {}
    low_x, low_y, high_x, high_y = plan.box(sheet)
    origin = np.array(sheet["origin"])
    for line in plan.data["art"]["lines"]:
        p, way, normal = places(line["pieces"])
        half = line["width"] / 2
        # Both sides must show, as far out as they are looked at, and a little along the line.
        reach = np.abs(normal) * (half + FAR) + np.abs(way)
        inside = ((p - reach > [low_x, low_y]) & (p + reach < [high_x, high_y])).all(axis=1)
        p, way, normal = p[inside] - origin, way[inside], normal[inside]
        if len(p) == 0:
            continue
        core = min(CLEAR, half * 0.6)
        middle, one = one_colour(print_, p, normal, np.linspace(-half + core, half - core, 7))
        left, left_one = one_colour(print_, p, normal, half + np.linspace(CLEAR, FAR, 4))
        right, right_one = one_colour(print_, p, normal, -half - np.linspace(CLEAR, FAR, 4))
        by_ink = [shares(middle, side) for side in (left, right)]
        if print_.gain == 0:
            by_ink = [np.where(np.isnan(t), 0, t) for t in by_ink]
        good = one & left_one & right_one & ~np.isnan(by_ink[0] + by_ink[1])
        good &= ((left - middle) ** 2).sum(axis=1) > 1e-4
        good &= ((right - middle) ** 2).sum(axis=1) > 1e-4
        if good.sum() < 4:
            continue
        p, way, normal = p[good], way[good], normal[good]
        left_off = edge_place(print_, p, normal, half, middle[good], left[good])
        right_off = edge_place(print_, p, -normal, half, middle[good], right[good])
        left_at = half + left_off + print_.gain * by_ink[0][good]
        right_at = half + right_off + print_.gain * by_ink[1][good]
        step = (print_.to_plane(p + left_at[:, None] * normal, ragged=False)
                - print_.to_plane(p - right_at[:, None] * normal, ragged=False))
        t = np.einsum("nij,nj->ni", jacobian(print_, p), way)
        width = np.abs(t[:, 0] * step[:, 1] - t[:, 1] * step[:, 0]) / np.linalg.norm(t, axis=1)
        # The renderer's pixels under an edge are alike along it or average out, and are no spread.
        drawn = width - left_off - right_off
        if np.ptp(drawn) <= SPREAD:
            found[line["id"]] = float(width.mean()), len(p)
    return found


def centres(print_, at, normal, half):
    """A line's centre as printed: the middle between its edges."""
    return (print_.to_plane(at + half * normal, ragged=False)
            + print_.to_plane(at - half * normal, ragged=False)) / 2


def _straight_pair(a, b):
    """The stretch that two parallel straight pieces share: points on both centres, or None."""
    a0, a1, b0 = np.array(a[:2]), np.array(a[2:]), np.array(b[:2])
    way = (a1 - a0) / np.linalg.norm(a1 - a0)
    other = np.array(b[2:]) - b0
    if abs(way[0] * other[1] - way[1] * other[0]) > 1e-6 * np.linalg.norm(other):
        return None
    s = sorted(((b0 - a0) @ way, (np.array(b[2:]) - a0) @ way))
    low, high = max(0, s[0]), min(np.linalg.norm(a1 - a0), s[1])
    if high - low < 6:
        return None
    t = np.arange(low + 0.5, high, 2.0)
    normal = np.array([-way[1], way[0]])
    d = (b0 - a0) @ normal
    on_a = a0 + t[:, None] * way
    return on_a, on_a + d * normal, np.repeat(way[None], len(t), 0), abs(d)


def _arc_pair(a, b):
    """The same of two arcs about one centre."""
    if math.hypot(a[4] - b[4], a[5] - b[5]) > 1e-6:
        return None
    step = 2.0 / max(a[6], b[6])
    angles = []
    for p in (a, b):
        n = max(int(abs(p[8]) / step), 1)
        angles.append((p[7] + p[8] * (np.arange(n) + 0.5) / n) % (2 * math.pi))
    bins = [set((x / step).astype(int)) for x in angles]
    shared = np.array(sorted(bins[0] & bins[1])) * step + step / 2
    if len(shared) < 4:
        return None
    ray = np.column_stack([np.cos(shared), np.sin(shared)])
    centre = np.array(a[4:6])
    return (centre + a[6] * ray, centre + b[6] * ray, np.column_stack([-ray[:, 1], ray[:, 0]]),
            abs(a[6] - b[6]))


def spacing(plan, sheet, print_, first, second, nominal):
    """The true mean distance of two centre lines, that stand `nominal` apart by the plan; None where
    the plan has no such pair, or it varies too much to have one value."""
    values = []
    low_x, low_y, high_x, high_y = plan.box(sheet)
    origin = np.array(sheet["origin"])
    for a in plan.lines[first]["pieces"]:
        for b in plan.lines[second]["pieces"]:
            if a is b or len(a) != len(b):
                continue
            pair = (_straight_pair if len(a) == 4 else _arc_pair)(a, b)
            if pair is None or abs(pair[3] - nominal) > 2e-3:
                continue
            p, q, way, _ = pair
            both = np.ones(len(p), bool)
            for at in (p, q):
                both &= ((at[:, 0] > low_x + 1) & (at[:, 0] < high_x - 1) & (at[:, 1] > low_y + 1)
                         & (at[:, 1] < high_y - 1))
            if both.sum() < 3:
                continue
            p, q, way = p[both] - origin, q[both] - origin, way[both]
            t = np.einsum("nij,nj->ni", jacobian(print_, p), way)
            t /= np.linalg.norm(t, axis=1)[:, None]
            normal = np.column_stack([-way[:, 1], way[:, 0]])
            half = [plan.lines[name]["width"] / 2 for name in (first, second)]
            d = centres(print_, q, normal, half[1]) - centres(print_, p, normal, half[0])
            values.append(np.abs(t[:, 0] * d[:, 1] - t[:, 1] * d[:, 0]))
    if not values:
        return None
    values = np.concatenate(values)
    return float(values.mean()) if np.ptp(values) <= 3 * SPREAD else None


def bow(plan, sheet, print_, name):
    """How far the printed centre of a line of one straight piece, averaged over 5 x 1.5 mm as the
    documents state, strays at most from its own best fit, as far as this sheet surely shows it; None of
    others and of short ones."""
    pieces = plan.lines[name]["pieces"]
    if len(pieces) != 1 or len(pieces[0]) != 4:
        return None
    low_x, low_y, high_x, high_y = plan.box(sheet)
    p, way, normal = places(pieces)
    inside = (p > [low_x + 1, low_y + 1]).all(axis=1) & (p < [high_x - 1, high_y - 1]).all(axis=1)
    if inside.sum() * STEP < 40:
        return None
    p, normal = p[inside] - np.array(sheet["origin"]), normal[inside]
    seen = centres(print_, p, normal, plan.lines[name]["width"] / 2)
    seen = seen - seen.mean(axis=0)
    axis = np.linalg.svd(seen, full_matrices=False)[2]
    return float(np.abs(np.convolve(seen @ axis[1], np.full(5, 0.2), "valid")).max())


def gauge(sheet, print_, pair):
    """True length in mm between two of a sheet's gauge marks."""
    p = print_.to_plane(np.array(sheet["gauge"]), ragged=False)
    return float(np.linalg.norm(p["PQRS".index(pair[1])] - p["PQRS".index(pair[0])]))
