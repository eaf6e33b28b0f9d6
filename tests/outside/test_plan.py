#!/usr/bin/env python3
"""Plans by their documented format (docs/reference/plan-format.md), read here with Python's own JSON: the cells
make up the mat, tags say sheet and fingerprint, and the fingerprint is that of the canonical text,
all computed anew."""
import json
import os
import subprocess
import sys
import tempfile

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
CASES = [("tests/outside/check36.course", "letter"), ("tests/outside/check36.course", "A3"),
         ("layouts/quayside.course", "A4"), ("layouts/quayside.course", "tabloid")]


def make_plan(course, paper, folder):
    # a name of its own: a range must fit the plan that is there
    out = os.path.join(folder, f"{os.path.basename(course)}-{paper}.pdf")
    subprocess.run([PAVIOR, "sheets", course, "--paper", paper, "--range", "A1", "-q", "-o", out],
                   check=True)
    return open(out.replace(".pdf", ".plan.json"), encoding="utf-8").read()


# ---- the canonical text, laid out as the plan is ----

WHOLE = {"rows", "columns", "ground", "colour", "rgb", "over"}  # written without decimals


def number(value, key):
    if key in WHOLE:
        return str(value)
    text = f"{value:.6f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def canonical(value, key="", depth=0):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return number(value, key)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    flat = isinstance(value, list) and value and isinstance(value[0], (int, float))
    one_line = flat or key in ("colours item", "lettering item")
    if isinstance(value, list):
        parts = [canonical(v, key if flat else key + " item", depth + 1) for v in value]
        brackets = "[]"
    else:
        parts = [f'"{k}": {canonical(v, k, depth + 1)}' for k, v in value.items()]
        brackets = "{}"
    if not parts:
        return brackets
    if one_line:
        return brackets[0] + ", ".join(parts) + brackets[1]
    indent = "  " * (depth + 1)
    return (brackets[0] + "\n" + ",\n".join(indent + p for p in parts) + "\n" + "  " * depth +
            brackets[1])


def fnv(text):
    h = 14695981039346656037
    for byte in text.encode("utf-8"):
        h = (h ^ byte) * 1099511628211 % 2**64
    return (h ^ h >> 32) % 2**32


def fold(h, bits):
    folded = 0
    while h:
        folded ^= h % 2**bits
        h >>= bits
    return folded


def fingerprint(plan):
    content = {"name": plan["kit"]["name"], "edition": plan["kit"]["edition"]}
    for key in ("page", "margin", "bleed", "lap_art", "service", "rows", "columns", "joint",
                "art"):
        content[key] = plan[key]
    if "route" in plan:
        content["route"] = plan["route"]
    content["cells"] = [p for s in plan["sheets"] for p in (s["cell"][:2], s["cell"][2:])]
    numbers = {s["name"]: i for i, s in enumerate(plan["sheets"])}
    content["over"] = [numbers[s["over"]] for s in plan["seams"]]
    return fold(fnv(content["name"]), 6) * 128 + fold(fnv(canonical(content) + "\n"), 7)


# ---- the checks ----

def check_cells(plan):
    width, height = plan["art"]["size"]
    area = 0
    for i, sheet in enumerate(plan["sheets"]):
        left, bottom, right, top = sheet["cell"]
        row, column = divmod(i, plan["columns"])
        area += (right - left) * (top - bottom)
        assert left == (plan["sheets"][i - 1]["cell"][2] if column else 0), sheet["name"]
        above = plan["sheets"][i - plan["columns"]]["cell"][1] if row else height
        assert top == above, sheet["name"]
    assert abs(area - width * height) < 1e-6 and plan["sheets"][-1]["cell"][1:3] == [0, width]


def check_taping(plan):
    """Each sheet once, after all those over which it lies; no lap on a finished surface."""
    turn = {name: i for i, name in enumerate(plan["taping"])}
    assert set(turn) == {s["name"] for s in plan["sheets"]} and len(plan["taping"]) == len(turn)
    assert all(turn[s["over"]] > turn[s["under"]] for s in plan["seams"])
    wide, names = plan["columns"], [s["name"] for s in plan["sheets"]]
    for i in range(len(names) - wide - 1):
        if (i + 1) % wide:
            a, b, c, d = (turn[names[k]] for k in (i, i + 1, i + wide + 1, i + wide))
            assert max(a, c) > min(b, d) and max(b, d) > min(a, c), names[i]


def check_tags(plan):
    for number_, sheet in enumerate(plan["sheets"]):
        bits = number_ + 16384 * plan["kit"]["fingerprint"]
        words = [bits >> s & 511 for s in (0, 9, 18)]
        words.append(words[0] ^ words[1] ^ words[2])
        ids = [t["id"] for t in sheet["tags"]]
        assert ids == [512 * p + w for p, w in enumerate(words)], sheet["name"]


def check_crosses(plan):
    largest = 0
    for seam in plan["seams"]:
        axis = 1 if seam["vertical"] else 0
        places = [c["at"][axis] for c in seam["crosses"]]
        assert len(places) >= 2 and all(c["at"][1 - axis] == seam["at"] for c in seam["crosses"])
        stops = [seam["from"]] + places + [seam["to"]]
        largest = max(largest, max(b - a for a, b in zip(stops, stops[1:])))
    assert largest <= 80
    return largest


def main():
    with tempfile.TemporaryDirectory() as folder:
        for course, paper in CASES:
            text = make_plan(course, paper, folder)
            plan = json.loads(text)
            check_cells(plan)
            check_tags(plan)
            check_taping(plan)
            largest = check_crosses(plan)
            computed = fingerprint(plan)
            assert computed == plan["kit"]["fingerprint"], (course, paper, computed)
            again = make_plan(course, paper, folder)
            assert again == text, "two runs differ"
            print(f"    {os.path.basename(course)} on {paper}: {len(plan['sheets'])} sheets, "
                  f"fingerprint {computed}, crosses at most {largest:.1f} mm apart")
    return 0


sys.exit(main())
