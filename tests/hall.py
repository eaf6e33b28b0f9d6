#!/usr/bin/python3
"""Writes the course of a hall floor, for times and growth: up to eight bays of 30 x 3.75 m, each with
2,500 lines, some of them arcs, closed paths and lanes as long as the hall; lettering, and a route.
Eight bays are the whole hall: 30 x 30 m with 20,000 lines. The same number gives the same text.

Usage: hall.py BAYS > hall.course"""
import random
import sys

WIDTH, BAY = 30000, 3750  # mm
LINES = 2500              # of a bay


def bay(rng, index, out):
    """One bay: four lanes along it, then places in rows, dashes between them, and bends."""
    low = index * BAY
    left = LINES
    for lane in range(4):
        out.append(f"line width 20mm colour steel from (0, {low + 300 + 1000 * lane})mm "
                   f"by ({WIDTH}, 0)mm")
        left -= 1
    for row in range(4):
        for place in range(120):
            x, y = 120 + 248 * place, low + 380 + 1000 * row
            out.append(f"line width 12mm from ({x}, {y})mm by (0, 480)mm, by (160, 0)mm, "
                       f"by (0, -480)mm")
            left -= 1
            if place % 12 == 0:
                out.append(f'text "{chr(65 + index)}{row + 1}-{place + 1}" at ({x + 20}, {y + 200})mm '
                           "height 40mm")
    while left > 0:
        x, y = rng.uniform(50, WIDTH - 250), low + rng.uniform(50, BAY - 250)
        kind = rng.random()
        if kind < 0.5:
            dx, dy = rng.uniform(-40, 140), rng.uniform(20, 140)
            out.append(f"line width {rng.choice((6, 8, 10))}mm from ({x:.1f}, {y:.1f})mm "
                       f"by ({dx:.1f}, {dy:.1f})mm")
        elif kind < 0.85:
            out.append(f"arc width 10mm centre ({x:.1f}, {y:.1f})mm "
                       f"radius {rng.uniform(20, 90):.1f}mm from {rng.uniform(0, 360):.0f}deg "
                       f"sweep {rng.uniform(30, 180):.0f}deg")
        else:
            out.append(f"line width 4mm from ({x:.1f}, {y:.1f})mm by (80, 0)mm, by (-40, 70)mm, "
                       "close")
        left -= 1


def hall(bays):
    rng = random.Random(30)
    out = [f'course "Hall" edition "{bays}"', "colour steel = grey(150)",
           f"mat {WIDTH}mm by {BAY * bays}mm", "paint width 10mm, colour black"]
    for index in range(bays):
        bay(rng, index, out)
    out.append("start at (600, 150)mm heading 0deg size 80mm")
    legs = ["route from start, ahead 28500mm"]
    for index in range(bays - 1):
        turn = "left" if index % 2 == 0 else "right"
        legs.append(f"{turn} 90deg radius 400mm, ahead {BAY - 800}mm, {turn} 90deg radius 400mm, "
                    "ahead 28000mm")
    out.append(",\n     ".join(legs))
    return "\n".join(out) + "\n"


if __name__ == "__main__":
    sys.stdout.write(hall(int(sys.argv[1])))
