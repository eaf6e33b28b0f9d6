"""Printed sheets cut and laid as somebody would who has nothing but the prints: cut marks and
alignment crosses are found in the rendered pictures, a ruler goes through the two marks of a side, and
sheets are put down one after the other, each turned and moved until its crosses lie on those that lie
already.

The plan says which sheets, in which order, which sides are cut, and where roughly to look. Lengths are
mm of the sheet (origin in the page's lower left corner, y up) or of the mat."""
import cv2
import numpy as np

import imaging
import overlay

LOOK = 2.0  # mm: so far about where the plan has it, a mark is looked for
BEYOND = 14.0  # mm from the cell's corner: bleed or lap, gap and cut mark end before that
THIN, LONG = 0.45, 1.2  # mm: a cut mark is thinner than the one and longer than the other
SAMPLES = 64  # of a pixel where an edge of paper runs through it
LEFT, BOTTOM, RIGHT, TOP = range(4)  # as in a cell


class Print:
    """One sheet's print, and what is found on it."""

    def __init__(self, pdf, plan, sheet, dpi, renderer="pdftocairo"):
        self.pdf, self.sheet, self.dpi, self.renderer = pdf, sheet, dpi, renderer
        self.page = [float(v) for v in plan.page]
        low, high = sheet.on_sheet(*sheet.cell[:2]), sheet.on_sheet(*sheet.cell[2:])
        self.cell = (*low, *high)
        self.cut_lines, self.found = {}, {}  # what was looked for before

    def picture(self, low, high):
        """Of a box of the sheet, as far as the page goes."""
        low = [max(v, 0.0) for v in low]
        high = [min(v, p) for v, p in zip(high, self.page)]
        return imaging.render_box(self.pdf, self.sheet.page, self.page[1], self.dpi, low, high,
                                  self.renderer)

    def cut_line(self, side):
        """The middles (sheet mm) of a side's two cut marks: where the ruler lies."""
        if side in self.cut_lines:
            return self.cut_lines[side]
        upright, at = side in (LEFT, RIGHT), self.cell[side]
        ends = (self.cell[BOTTOM], self.cell[TOP]) if upright else (self.cell[LEFT],
                                                                    self.cell[RIGHT])
        marks = []
        for end, out in zip(ends, (-1, 1)):
            a, b = sorted((end + 1.5 * out, end + BEYOND * out))
            low, high = ((at - LOOK, a), (at + LOOK, b)) if upright else ((a, at - LOOK),
                                                                        (b, at + LOOK))
            mark = find_mark(self.picture(low, high), upright, at)
            if mark is None:
                raise ValueError(f"{self.sheet.name}: no cut mark near {low} to {high}")
            marks.append(mark)
        self.cut_lines[side] = marks
        return marks

    def crosses(self, seam):
        """Centres (sheet mm) of a seam's crosses on this print, along the seam."""
        key = seam["over"], seam["under"]
        if key in self.found:
            return self.found[key]
        upright, at = seam["vertical"], seam["at"]
        low, high = ((at, seam["from"]), (at, seam["to"])) if upright else ((seam["from"], at),
                                                                          (seam["to"], at))
        low, high = self.sheet.on_sheet(*low), self.sheet.on_sheet(*high)
        aside = (LOOK, 0.0) if upright else (0.0, LOOK)
        low = [v - d for v, d in zip(low, aside)]
        high = [v + d for v, d in zip(high, aside)]
        raster = self.picture([v - 4 for v in low], [v + 4 for v in high])
        found = overlay.find_crosses(raster, low, high)
        self.found[key] = sorted(found, key=lambda p: p[1 if upright else 0])
        return self.found[key]


def find_mark(raster, upright, at):
    """Middle (sheet mm) of the thin dark stroke along a side that is nearest to the place of that side
    of which the plan speaks, to a fraction of a pixel; None where there is none."""
    k = raster.k
    gray = raster.code.astype(np.float32).mean(axis=2)
    u0, v0 = raster.px(0, 0)
    n, _, boxes, _ = cv2.connectedComponentsWithStats((gray < 128).astype(np.uint8))
    best = None
    for u, v, wide, tall, _ in boxes[1:n]:
        thin, long = (wide, tall) if upright else (tall, wide)
        if thin > THIN * k or long < LONG * k:
            continue
        # Its darkness in a frame of three pixels about it, away from its ends.
        if upright:
            part = 255 - gray[v + 3:v + tall - 3, max(u - 3, 0):u + wide + 3]
            across = max(u - 3, 0) + centroid(part.sum(axis=0))
            place = (across - u0) / k, (v0 - v - tall / 2) / k
        else:
            part = 255 - gray[max(v - 3, 0):v + tall + 3, u + 3:u + wide - 3]
            across = max(v - 3, 0) + centroid(part.sum(axis=1))
            place = (u + wide / 2 - u0) / k, (v0 - across) / k
        off = abs(place[0 if upright else 1] - at)
        if best is None or off < best[0]:
            best = off, place
    return best and best[1]


def centroid(weights):
    return float((weights * (np.arange(len(weights)) + 0.5)).sum() / weights.sum())


def moved(move, points):
    return np.asarray(points) @ move[:, :2].T + move[:, 2]


def on_mat_of_one_piece(whole):
    """Turn and shift from a sheet that holds the whole mat to the mat, by the corners that its cut
    lines make; and by how much they miss."""
    lines = [whole.cut_line(side) for side in range(4)]
    corners, mat = [], []
    for h in (LEFT, RIGHT):
        for v in (BOTTOM, TOP):
            corners.append(meeting(lines[h], lines[v]))
            mat.append((float(whole.sheet.cell[h]), float(whole.sheet.cell[v])))
    return overlay.rigid(mat, corners)


def meeting(one, two):
    (a, b), (c, d) = np.array(one), np.array(two)
    share = np.linalg.solve(np.column_stack([b - a, c - d]), c - a)[0]
    return a + share * (b - a)


class Laid:
    """A print in its place: `move` (2 x 3) takes its mm to mat mm; the sides that were cut."""

    def __init__(self, print_, move, cut_sides):
        self.print, self.move = print_, move
        self.seen = {}  # its codes by box
        self.cuts = []  # point, unit vector into the sheet: on the mat
        middle = np.array([(print_.cell[0] + print_.cell[2]) / 2,
                           (print_.cell[1] + print_.cell[3]) / 2])
        for side in cut_sides:
            a, b = moved(move, print_.cut_line(side))
            inward = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
            if inward @ (moved(move, [middle])[0] - a) < 0:
                inward = -inward
            self.cuts.append((a, inward))

    def off_by(self, shift):
        """The same print, moved off its place on the mat."""
        other = Laid(self.print, self.move + np.column_stack([np.zeros((2, 2)), shift]), ())
        other.cuts = [(a + shift, inward) for a, inward in self.cuts]
        return other

    def depth(self, x, y):
        """How far inside its nearest edge places of the mat lie, mm; less than 0 outside."""
        back = inverse(self.move)
        width, height = self.print.page
        sx, sy = (back[i, 0] * x + back[i, 1] * y + back[i, 2] for i in (0, 1))
        depth = np.minimum(np.minimum(sx, width - sx), np.minimum(sy, height - sy))
        for a, inward in self.cuts:
            depth = np.minimum(depth, (x - a[0]) * inward[0] + (y - a[1]) * inward[1])
        return depth

    def codes(self, low, high, k):
        """Its picture on the mat's pixels: box from low to high (mat mm), k pixels a mm."""
        key = (*low, *high, k)
        if key not in self.seen:
            self.seen[key] = self.warped(low, high, k)
        return self.seen[key]

    def warped(self, low, high, k):
        back = inverse(self.move)
        corners = moved(back, [low, high, (low[0], high[1]), (high[0], low[1])])
        raster = self.print.picture(corners.min(axis=0) - 1, corners.max(axis=0) + 1)
        n, m = int(round((high[0] - low[0]) * k)), int(round((high[1] - low[1]) * k))
        to_mat = np.array([[1 / k, 0, low[0] + 0.5 / k], [0, -1 / k, high[1] - 0.5 / k], [0, 0, 1]])
        to_px = np.array([[raster.k, 0, raster.left - 0.5], [0, -raster.k, raster.bottom - 0.5],
                          [0, 0, 1]])
        move = (to_px @ np.vstack([back, [0, 0, 1]]) @ to_mat)[:2]
        # Codes, not light: the renderer mixes codes at edges, in proportion to coverage.
        return cv2.warpAffine(np.ascontiguousarray(raster.code), move, (n, m),
                              flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
                              borderValue=(255, 255, 255)).astype(np.float32)


def inverse(move):
    return np.linalg.inv(np.vstack([move, [0, 0, 1]]))[:2]


def shares(laid, x, y, k):
    """How much of each pixel each sheet fills as one sees them from above; `laid` from the top."""
    depths = [sheet.depth(x, y) for sheet in laid]
    free, filled = np.ones(depths[0].shape, bool), []
    for depth in depths:
        filled.append((free & (depth > 0)).astype(np.float32))
        free &= depth <= 0
    at = np.nonzero(np.min([np.abs(depth) for depth in depths], axis=0) < 0.75 / k)
    for share in filled:
        share[at] = 0
    px, py = x[0, at[1]], y[at[0], 0]
    for i in range(SAMPLES):  # Hammersley's points: even over the pixel, and along both its sides
        u, v = (i + 0.5) / SAMPLES, int(f"{i:06b}"[::-1], 2) / SAMPLES + 0.5 / SAMPLES
        sx, sy = px + (u - 0.5) / k, py + (v - 0.5) / k
        free = np.ones(px.shape, bool)
        for sheet, share in zip(laid, filled):
            inside = free & (sheet.depth(sx, sy) > 0)
            share[at] += inside.astype(np.float32) / SAMPLES
            free &= ~inside
    return filled


def composed(laid, low, high, k, table):
    """What one sees from above, on a table of one code; `laid` in the order of laying."""
    n, m = int(round((high[0] - low[0]) * k)), int(round((high[1] - low[1]) * k))
    x = (low[0] + (np.arange(n) + 0.5) / k)[None, :]
    y = (high[1] - (np.arange(m) + 0.5) / k)[:, None]
    top_down = laid[::-1]
    seen, free = np.zeros((m, n, 3), np.float32), np.ones((m, n), np.float32)
    for sheet, share in zip(top_down, shares(top_down, x, y, k)):
        if share.any():
            seen += share[:, :, None] * sheet.codes(low, high, k)
            free -= share
    return seen + np.float32(table) * free[:, :, None]
