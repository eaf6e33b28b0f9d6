"""Where the sheets of a plan lie: from its JSON, with exact numbers (fractions of mm)."""
import json
import re
from fractions import Fraction


class Sheet:
    def __init__(self, index, entry):
        self.page = index + 1  # in the PDF
        self.name = entry["name"]
        self.row, self.column = re.fullmatch(r"([A-Z]+)([0-9]+)", self.name).groups()
        self.cell = entry["cell"]  # left, bottom, right, top on the mat
        self.origin = entry["origin"]  # mat position of the page's lower left corner

    def on_sheet(self, x, y):
        return float(x - self.origin[0]), float(y - self.origin[1])

    def holds(self, x, y, inset_x, inset_y=None):
        """Does the cell hold a point of the mat, so far from its edges?"""
        left, bottom, right, top = self.cell
        inset_y = inset_x if inset_y is None else inset_y
        return left + inset_x <= x <= right - inset_x and bottom + inset_y <= y <= top - inset_y


class Plan:
    def __init__(self, path):
        with open(path, encoding="utf-8") as file:
            self.data = json.load(file, parse_float=Fraction, parse_int=Fraction)
        self.page = self.data["page"]
        self.sheets = [Sheet(i, entry) for i, entry in enumerate(self.data["sheets"])]

    def neighbours(self):
        """Pairs that share a seam: (sheet, sheet to its right or above, upright seam?)."""
        for a in self.sheets:
            for b in self.sheets:
                if a.cell[2] == b.cell[0] and a.cell[1] == b.cell[1]:
                    yield a, b, True
                if a.cell[3] == b.cell[1] and a.cell[0] == b.cell[0]:
                    yield a, b, False
