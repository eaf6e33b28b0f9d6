#!/usr/bin/env python3
"""Reads a filled worksheet and says of each measurement whether the assumed constant holds. What is
measured, in which unit, and the bounds are the table of docs/how/worksheet.md.
Usage: worksheet.py FILE. Status: 0 nothing contradicts, 1 a constant does not hold, 64 usage,
65 the file is no worksheet, 66 it cannot be read."""
import os
import re
import sys

PAGE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "how", "worksheet.md")
NUMBER = r"[-+−]?\d{1,9}(?:[.,]\d{1,9})?"
RESULT = re.compile(rf"({NUMBER})(?:\s*/\s*({NUMBER}))?(?:\s*(?:\+-|±)\s*({NUMBER}))?$")
UNITS = {"share": "", "code": ""}  # written without a unit
LIKE = {"cm": 10, "inches": 25.4, "m": 1000}  # what a length in mm may have been typed in
LINES_MOST = 1000


class Bad(Exception):
    pass


def table():
    """{number: (name, unit, low, high, constant)}"""
    found = {}
    with open(PAGE, encoding="utf-8") as page:
        for line in page:
            cells = [c.strip() for c in line.split("|")[1:-1]]
            if cells and cells[0].isdigit():
                number, name, unit, low, high, constant, _ = cells
                found[int(number)] = name, unit, float(low), float(high), constant.strip("`")
    return found


def number(text):
    return float(text.replace(",", ".").replace("−", "-"))


def result(text, unit, where):
    """A value and its uncertainty from "85.6 +-0.1", "199.7/200"."""
    match = RESULT.match(text)
    if not match:
        raise Bad(f"{where}: \"{text[:40]}\" is no number; write for example 85.6 or 85.6 +-0.1")
    value, under, u = match.groups()
    value = number(value)
    if under is not None:
        if unit not in ("%", "share"):
            raise Bad(f"{where}: a quotient has no unit, but {unit} are asked for")
        if number(under) == 0:
            raise Bad(f"{where}: \"{text}\" divides by 0")
        value = value / number(under)
        value = 100 * (value - 1) if unit == "%" else value
    return value, abs(number(u)) if u else 0.0


def results(text, unit, where):
    """All results of one line; its unit may stand behind each of them, or behind the last."""
    known = UNITS.get(unit, unit)
    found = []
    for part in text.split(";"):
        part = part.strip()
        tail = re.search(r"[^\d\s.,;/+±−-]+$", part)
        if tail:
            if tail.group() not in (known, unit):
                raise Bad(f"{where}: \"{tail.group()[:20]}\" is not the unit; "
                          + (f"write it in {known}" if known else "it has none"))
            part = part[:tail.start()].strip()
        found.append(result(part, unit, where))
    return found


def judged(values, low, high):
    """Of all results together: one beyond its bound is enough."""
    if any(v - u > high or v + u < low for v, u in values):
        return "does not hold"
    if all(low <= v - u and v + u <= high for v, u in values):
        return "holds"
    return "can't tell"


def read(lines, wanted):
    """{number: [(value, uncertainty)]}"""
    found = {}
    if len(lines) > LINES_MOST:
        raise Bad(f"this has {len(lines)} lines: it is no worksheet")
    for i, line in enumerate(lines, 1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        match = re.match(r"(\d{1,3})\s+([^(:]*[^(:\s])\s*(?:\([^)]*\))?\s*:(.*)$", line)
        if not match or int(match[1]) not in wanted:
            raise Bad(f"line {i}: \"{line[:40]}\" is no measurement of the worksheet; "
                      "a remark begins with #")
        n, name = int(match[1]), match[2]
        if name != wanted[n][0]:
            raise Bad(f"line {i}: number {n} is \"{wanted[n][0]}\", not \"{name[:40]}\"")
        if n in found:
            raise Bad(f"line {i}: number {n} stands here twice; several results stand in one line, "
                      "with ; between them")
        text = match[3].split("#")[0].strip()
        found[n] = results(text, wanted[n][1], f"line {i}, {name}") if text else []
    return found


def hint(values, unit, low, high):
    for other, factor in LIKE.items():
        if unit == "mm" and any(low <= v * factor <= high for v, _ in values if v):
            return f": is it in {other}?"
    return ""


def main(args):
    if len(args) != 1 or not args[0]:
        print("worksheet: name the filled worksheet: make worksheet FILE=my-worksheet.txt", file=sys.stderr)
        return 64
    wanted = table()
    try:
        with open(args[0], encoding="utf-8") as file:
            found = read(file.read(1 << 20).splitlines(), wanted)
    except OSError as error:
        print(f"worksheet: {args[0]}: {error.strerror}", file=sys.stderr)
        return 66
    except UnicodeDecodeError:
        print(f"worksheet: {args[0]}: this is no text", file=sys.stderr)
        return 65
    except Bad as error:
        print(f"worksheet: {args[0]}: {error}", file=sys.stderr)
        return 65
    return tell(found, wanted)


def tell(found, wanted):
    counts = {}
    for n, (name, unit, low, high, constant) in wanted.items():
        values = found.get(n, [])
        said = judged(values, low, high) if values else "not measured"
        counts[said] = counts.get(said, 0) + 1
        shown = "; ".join(f"{v:.6g}" + (f" +-{u:g}" if u else "") for v, u in values)
        bounds = f"{low:g} to {high:g} {UNITS.get(unit, unit)}".strip()
        more = hint(values, unit, low, high) if said == "does not hold" else ""
        print(f"{n:2} {name:17} {said:13} {shown:24} ({bounds}; {constant}){more}".rstrip())
    print(", ".join(f"{counts[word]} {word}" for word in ("holds", "does not hold", "can't tell", "not measured")
                    if word in counts))
    return 1 if "does not hold" in counts else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
