#!/usr/bin/env python3
"""Plans by their documented format (docs/reference/plan-format.md), read here with Python's own JSON: the cells
make up the mat, tags say which sheet it is, and the fingerprint is that of the canonical text,
all computed anew."""
import json
import os
import subprocess
import sys
import tempfile

PAVIOR = os.environ.get("PAVIOR", "build/pavior")
CASES = [("tests/outside/check36.course", "letter"), ("tests/outside/check36.course", "A3"),
         ("layouts/quayside.course", "A4"), ("layouts/quayside.course", "tabloid")]
BASE = 2113
STEP = 1 + 2 * BASE + 4 * BASE**2


def make_plan(course, paper, folder):
    # a name of its own: a range must fit the plan that is there
    out = os.path.join(folder, f"{os.path.basename(course)}-{paper}.pdf")
    subprocess.run([PAVIOR, "sheets", "--no-guide", course, "--paper", paper, "--range", "A1", "-q", "-o", out],
                   check=True)
    return open(out.replace(".pdf", ".plan.json"), encoding="utf-8").read()


# ---- the canonical text, laid out as the plan is ----

WHOLE = {"version", "rows", "columns", "ground", "colour", "rgb", "count"}  # written without decimals
ONE_LINE = {"gauge", "colours item", "lettering item", "tags item", "bars item", "crosses item", "gauge"}


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
    one_line = flat or key in ONE_LINE
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


def fingerprint(plan):
    content = {k: v for k, v in plan.items()
               if k not in ("corrected", "inches", "tolerances", "taping", "seams_gap", "route", "kept", "language")}
    content["art"] = dict(plan["art"], lettering=[
        {k: v for k, v in t.items() if k not in ("box", "rings")} for t in plan["art"]["lettering"]])
    content["kit"] = {k: plan["kit"][k] for k in ("name", "edition")}
    content["sheets"] = [
        dict(s, tags=[{k: v for k, v in t.items() if k != "id"} for t in s["tags"]])
        for s in plan["sheets"]]
    h = 14695981039346656037
    for byte in (canonical(content) + "\n").encode("utf-8"):
        h = (h ^ byte) * 1099511628211 % 2**64
    return h % BASE**3


def letters(number_):
    digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    text = "".join(digits[number_ >> 5 * i & 31] for i in reversed(range(7)))
    return text[:3] + "-" + text[3:]


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


def words(identity):
    digits = [identity // BASE**i % BASE for i in range(3)]
    return digits + [(digits[0] + 2 * digits[1] + 3 * digits[2]) % BASE]


def check_tags(plan, identity):
    for sheet in plan["sheets"]:
        while len(set(words(identity))) < 4:
            identity = (identity + STEP) % BASE**3
        assert [t["id"] for t in sheet["tags"]] == words(identity), sheet["name"]
        identity = (identity + STEP) % BASE**3


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
            check_taping(plan)
            largest = check_crosses(plan)
            computed = fingerprint(plan)
            assert letters(computed) == plan["kit"]["fingerprint"], (course, paper, computed)
            check_tags(plan, computed)
            again = make_plan(course, paper, folder)
            assert again == text, "two runs differ"
            print(f"    {os.path.basename(course)} on {paper}: {len(plan['sheets'])} sheets, "
                  f"kit {letters(computed)}, crosses at most {largest:.1f} mm apart")
    return 0


sys.exit(main())
