"""A PDF written by hand, for checking the checkers: filled boxes, polygons and ring sectors at
exactly known places. Lengths are mm from the page's lower left corner, y up."""
import math

PT = 72.0 / 25.4  # PDF units in a millimetre (ISO 32000-1, 8.3.2.3)


class Drawing:
    def __init__(self, width, height):
        self.width, self.height = width, height
        self.operators = []

    def colour(self, rgb):
        r, g, b = (c / 255.0 for c in rgb)
        self.operators.append(f"{r:.6f} g" if r == g == b else f"{r:.6f} {g:.6f} {b:.6f} rg")

    def polygon(self, points):
        x, y = points[0]
        self.operators.append(f"{x * PT:.6f} {y * PT:.6f} m")
        for x, y in points[1:]:
            self.operators.append(f"{x * PT:.6f} {y * PT:.6f} l")
        self.operators.append("h f")

    def box(self, x, y, width, height):
        self.polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])

    def bar(self, a, b, width):
        """A straight stroke from a to b as a filled box."""
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        nx, ny = (a[1] - b[1]) / length * width / 2, (b[0] - a[0]) / length * width / 2
        self.polygon([(a[0] - nx, a[1] - ny), (b[0] - nx, b[1] - ny),
                      (b[0] + nx, b[1] + ny), (a[0] + nx, a[1] + ny)])

    def ring(self, centre, radius, width, start, sweep):
        """A ring sector; angles in degrees, counter-clockwise. Fine polygons: 0.01 degrees."""
        n = max(2, int(abs(sweep) * 100))
        angles = [math.radians(start + sweep * i / n) for i in range(n + 1)]
        inner, outer = radius - width / 2, radius + width / 2
        rim = [(centre[0] + outer * math.cos(a), centre[1] + outer * math.sin(a)) for a in angles]
        rim += [(centre[0] + inner * math.cos(a), centre[1] + inner * math.sin(a))
                for a in reversed(angles)]
        self.polygon(rim)


def write(path, drawings):
    """One page for each drawing."""
    objects = [b"<</Type/Catalog/Pages 2 0 R>>", None]
    kids = []
    for drawing in drawings:
        stream = "\n".join(drawing.operators).encode()
        page = len(objects) + 1
        kids.append(b"%d 0 R" % page)
        objects.append(b"<</Type/Page/Parent 2 0 R/Resources<<>>/MediaBox[0 0 %.6f %.6f]"
                       b"/Contents %d 0 R>>"
                       % (drawing.width * PT, drawing.height * PT, page + 1))
        objects.append(b"<</Length %d>>stream\n" % len(stream) + stream + b"\nendstream")
    objects[1] = b"<</Type/Pages/Count %d/Kids[%s]>>" % (len(kids), b" ".join(kids))
    out = bytearray(b"%PDF-1.4\n")
    places = []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    xref = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, xref)
    with open(path, "wb") as file:
        file.write(out)
