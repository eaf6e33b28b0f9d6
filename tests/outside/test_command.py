#!/usr/bin/python3
"""What the command's options say, against what else is known of it: --list-papers against the sizes
that PWG 5101.1 writes into the names, --explain against the plan and its own sums, --run against the
route, --budget against the u and U that its parts make up.

    test_command.py, with PAVIOR set to the command"""
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

import checks
from checks import expect

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
QUAYSIDE = os.path.join(HERE, "..", "..", "layouts", "quayside.course")
TINY = ('course "Tiny" edition "1"\nmat 20mm by 12mm ground white\n'
        "line a width 3mm colour black from (2, 6)mm to (18, 6)mm\n")

def run(*words, status=(0,)):
    done = subprocess.run([PAVIOR, *words], capture_output=True, text=True, timeout=300)
    if done.returncode not in status:
        raise RuntimeError(f"{words}: status {done.returncode}: {done.stderr}")
    return done.stdout


# ---- papers ----

def papers(folder):
    course = os.path.join(folder, "tiny.course")
    with open(course, "w", encoding="utf-8") as file:
        file.write(TINY)
    rows = re.findall(r"^(\S.*?) +([\d.]+) x +([\d.]+) mm  (\S+)$", run("sheets", "--list-papers"), re.M)
    wrong, refused = [], []
    for name, width, height, pwg in rows:
        size = re.search(r"_([\d.]+)x([\d.]+)(mm|in)$", pwg)
        unit = 25.4 if size[3] == "in" else 1.0
        if any(abs(float(a) - float(b) * unit) > 0.051 for a, b in ((width, size[1]), (height, size[2]))):
            wrong.append(f"{pwg}: {width} x {height}")
        pdf = os.path.join(folder, "paper.pdf")
        done = subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", name, "--margin", "3mm", "-q", "--replace", "-o",
                               pdf],
                              capture_output=True, text=True, timeout=60)
        if done.returncode in (64, 65) and "leave only" in done.stderr and float(width) < 100:
            continue  # too small for a sheet's own marks, and said
        with open(pdf.replace(".pdf", ".plan.json"), encoding="utf-8") as file:
            page = sorted(json.load(file)["page"])
        if done.returncode != 0 or any(abs(a - float(b)) > 0.051
                                       for a, b in zip(page, sorted((width, height), key=float))):
            refused.append(f"{name}: {done.stderr.strip()[:80]} {page}")
    expect(f"--list-papers: {len(rows)} papers, as large as their names say", len(rows) > 50 and not wrong,
           "; ".join(wrong))
    expect("each is taken by --paper, and the plan has its size", not refused, "; ".join(refused[:3]))


# ---- seams ----

def explained(folder):
    pdf, plain = os.path.join(folder, "e.pdf"), os.path.join(folder, "p.pdf")
    said = run("sheets", "--no-guide", QUAYSIDE, "--paper", "A4", "--explain", "-o", pdf)
    run("sheets", "--no-guide", QUAYSIDE, "--paper", "A4", "-q", "-o", plain)
    with open(pdf.replace(".pdf", ".plan.json"), encoding="utf-8") as file:
        text = file.read()
    with open(plain.replace(".pdf", ".plan.json"), encoding="utf-8") as file:
        expect("--explain changes nothing of the plan", file.read() == text)
    plan = json.loads(text)
    of_plan = {True: sorted({round(s["at"], 1) for s in plan["seams"] if s["vertical"]}),
               False: sorted({round(s["at"], 1) for s in plan["seams"] if not s["vertical"]})}
    seams = re.findall(r"^  ([xy]) \d+ +([\d.]+) mm: costs ([\d.]+);.*\n((?:    .*\n)*)", said, re.M)
    for axis, vertical in (("x", True), ("y", False)):
        told = [float(at) for a, at, _, _ in seams if a == axis]
        expect(f"--explain tells where the {len(told)} seams along {axis} lie, as the plan does",
               told == of_plan[vertical], f"{told}")
    sums = 0
    for axis, at, cost, rest in seams:
        parts = re.findall(r"^ +([\d.]+)  \S", rest.split("instead of")[0], re.M)
        if float(cost) == 0 or not parts:
            continue
        sums += 1
        expect(f"costs of seam {axis} at {at} add up", abs(sum(map(float, parts)) - float(cost)) < 0.051 *
               (len(parts) + 1), f"{parts} to {cost}")
    expect("some seams have costs to add", sums >= 2, f"{sums}")


# ---- the run ----

def points(pieces):
    """Places on straight and arc pieces of the plan, 2 mm apart or less."""
    for p in pieces:
        if len(p) == 4:
            n = 1 + int(math.dist(p[:2], p[2:]) / 2)
            for i in range(n + 1):
                yield p[0] + (p[2] - p[0]) * i / n, p[1] + (p[3] - p[1]) * i / n
        else:
            radius, start, sweep = p[6:9]
            n = 1 + int(radius * abs(sweep) / 2)
            for i in range(n + 1):
                angle = start + sweep * i / n
                yield p[4] + radius * math.cos(angle), p[5] + radius * math.sin(angle)


def flat(d):
    """Corners of an SVG path of M, L, C and Z, curves in eight pieces; one list a subpath."""
    paths, at = [], (0.0, 0.0)
    for letter, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        v = [float(n) for n in re.findall(r"-?[\d.]+", numbers)]
        if letter == "M":
            paths.append([])
        for i in range(0, len(v), 6 if letter == "C" else 2):
            if letter == "C":
                a, b, c, e = at, v[i:i + 2], v[i + 2:i + 4], v[i + 4:i + 6]
                for k in range(1, 9):
                    t, s = k / 8, 1 - k / 8
                    paths[-1].append(tuple(s**3 * a[j] + 3 * s * s * t * b[j] + 3 * s * t * t * c[j] +
                                           t**3 * e[j] for j in range(2)))
            else:
                paths[-1].append((v[i], v[i + 1]))
            at = paths[-1][-1]
    return paths


def inside(paths, x, y):
    """By the non-zero winding rule."""
    winding = 0
    for path in paths:
        for (x0, y0), (x1, y1) in zip(path, path[1:] + path[:1]):
            if (y0 <= y) != (y1 <= y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                winding += 1 if y1 > y0 else -1
    return winding != 0


def the_run(folder):
    without, svg, pdf = (os.path.join(folder, n) for n in ("w.svg", "r.svg", "r.pdf"))
    run("review", QUAYSIDE, "--svg", without, "-q")
    run("review", QUAYSIDE, "--svg", svg, "--run", "-q")
    run("sheets", "--no-guide", QUAYSIDE, "--paper", "A4", "-q", "-o", pdf)
    lines = []
    for name in (without, svg):
        xml.etree.ElementTree.parse(name)
        with open(name, encoding="utf-8") as file:
            lines.append(file.read().split("\n"))
    added = [line for line in lines[1] if line not in set(lines[0])]
    expect("--run adds to the course and changes nothing of it",
           added and [line for line in lines[1] if line not in set(added)] == lines[0], f"{len(added)} lines")
    paths = [p for line in added for d in re.findall(r' d="([^"]*)"', line) for p in flat(d)]
    with open(pdf.replace(".pdf", ".plan.json"), encoding="utf-8") as file:
        plan = json.load(file)
    height = plan["art"]["size"][1]
    route = list(points(plan["route"]))
    # Its ends may be cut flat: not asked at the very end.
    seen = [inside(paths, x + 0.01, height - y + 0.01) for x, y in route[1:-1]]
    expect(f"the drawn run covers the route at {len(seen)} places", seen and all(seen),
           f"{100 * sum(seen) / max(1, len(seen)):.1f} %")


# ---- budgets ----

def values_of(result):
    for axis in "xy":
        yield f"scale {axis}", result["scale"][axis], "", 6
    yield "skew", result["skew_mrad"], "", 3
    if result["ink_mm"]["value"] is not None:
        yield "ink spread", result["ink_mm"], "", 4
    for line in result["lines"]:
        yield line["id"], line, "", 4
        if line["bow_mm"] is not None:
            yield line["id"] + " bow", line, "bow_", 4
    for s in result["spacings"]:
        yield f"{s['from']} - {s['to']}", s, "", 4


def budgets(folder):
    pdf, picture = os.path.join(folder, "b.pdf"), os.path.join(folder, "b")
    run("sheets", "--no-guide", os.path.join(HERE, "check36.course"), "--paper", "A4", "-q", "-o", pdf)
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-png", "-f", "8", "-l", "8", "-singlefile", pdf, picture],
                   check=True)
    ask = ["inspect", "--scanner", "flatbed", "--plan", pdf.replace(".pdf", ".plan.json"), "--dpi", "200", picture + ".png"]
    told, plain = (json.loads(run(*ask, "--json", *more, status=(0, 1, 2)))[0] for more in (["--budget"], []))
    worst, n, short = 0.0, 0, []
    for name, value, key, digits in values_of(told):
        budget, u, k = value[key + "budget"], value[key + "u"], value[key + "k"]
        U = value.get("U", value.get(key + "U_mm"))
        parts = math.sqrt(sum(v * v for part, v in budget.items() if part != "freedom"))
        step = 10.0 ** -(digits + 1)  # of u and each part; U has one decimal less
        n += 1
        worst = max(worst, abs(parts - u) / (2 * step), abs(k * u - U) / (k * step + 5 * step))
        if (budget["freedom"] is None) != (abs(k - 2) < 0.0005):
            short.append(name)
        del value[key + "budget"]
    expect(f"--budget: the parts of {n} values make up u, and k u makes U", n >= 7 and worst <= 1,
           f"worst {worst:.2f} of what rounding allows")
    expect("k is 2 where the degrees of freedom are many, and only there", not short, ", ".join(short[:5]))
    expect("it adds the parts to the JSON and changes nothing else", told == plain)
    text = run(*ask, "--budget", status=(0, 1, 2))
    words = ("scatter", "pixel grid", "tone", "halftone", "map", "reference")
    missing = [w for w in words if w not in text]
    expect("as text it has every part, and stands after the report", not missing and
           text.startswith(run(*ask, status=(0, 1, 2)).rstrip("\n")[:200]), ", ".join(missing))
    line = max(told["lines"], key=lambda v: v["U_mm"])
    expect("and the value with the largest U by its name", line["id"] in text, line["id"])


def main():
    with tempfile.TemporaryDirectory() as folder:
        papers(folder)
        explained(folder)
        the_run(folder)
        budgets(folder)
    return checks.finish("the command")


if __name__ == "__main__":
    sys.exit(main())
