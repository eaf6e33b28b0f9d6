#!/usr/bin/python3
"""The HTML report, read by Python's own parser: tags balance, ids are unique, links lead to what is
there, nothing comes from elsewhere, colours have contrast, and one sheet's page stays small.

    test_report.py, with PAVIOR set to the command"""
import html.parser
import os
import re
import subprocess
import sys
import tempfile

import browse
import checks
import simulate
from checks import expect

HERE = os.path.dirname(os.path.abspath(__file__))
PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
LAYOUT = os.path.join(HERE, "..", "..", "layouts", "quayside.course")
VOID = {"meta", "input", "br", "hr", "img", "link"}
BYTES_MOST = 1 << 20
CONTRAST_LEAST = 4.5  # of text to its ground: WCAG 2.1, 1.4.3
MAY_CLOSE_ITSELF = {"path", "rect", "circle", "use", "image"}

class Page(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.open, self.faults, self.ids, self.links, self.outside = [], [], [], [], []
        self.style, self.words = "", []
        self.feed(text)
        self.close()
        self.faults += [f"<{tag}> never closed" for tag in self.open]

    def take(self, tag, attributes):
        names = [name for name, _ in attributes]
        if len(set(names)) < len(names):
            self.faults.append(f"<{tag}> has an attribute twice")
        for name, value in attributes:
            if name == "id":
                self.ids.append(value)
            elif name in ("href", "src", "xlink:href"):
                (self.links if value.startswith("#") else self.outside).append(value)
            elif name.startswith("on"):
                self.faults.append(f"<{tag}> has {name}")
            self.links += ["#" + t for t in re.findall(r"url\(#([^)]+)\)", value or "")]

    def handle_starttag(self, tag, attrs):
        self.take(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.take(tag, attrs)
        if tag not in MAY_CLOSE_ITSELF:
            self.faults.append(f"<{tag}/>")

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> out of turn at {self.getpos()}")

    def handle_data(self, data):
        if self.open and self.open[-1] == "style":
            self.style += data
        else:
            self.words.append(data)


def luminance(colour):
    colour = colour if len(colour) == 7 else "#" + "".join(2 * c for c in colour[1:])
    return sum(w * float(simulate.srgb_to_linear(int(colour[i:i + 2], 16)))
               for w, i in ((0.2126, 1), (0.7152, 3), (0.0722, 5)))


def check(path, images, most):
    size = os.path.getsize(path)
    with open(path, encoding="utf-8") as file:
        text = file.read()
    page = Page(text)
    expect("tags balance", not page.faults, "; ".join(page.faults[:3]))
    twice = {i for i in page.ids if page.ids.count(i) > 1}
    expect("ids are unique", not twice, f"({len(page.ids)}) {sorted(twice)[:3]}")
    lost = {link for link in page.links if link[1:] not in page.ids}
    expect("links lead somewhere", not lost, f"({len(page.links)}) {sorted(lost)[:3]}")
    foreign = [o[:40] for o in page.outside if not o.startswith("data:image/jpeg;base64,")]
    expect("nothing from elsewhere", not foreign and "@import" not in page.style
           and "http" not in page.style and "<script" not in text, str(foreign[:3]))
    expect("a section each", all(f"i{k + 1}" in page.ids for k in range(images)))
    for scheme, block in zip(("light", "dark"), re.findall(r"{([^{}]*--ink:[^{}]*)}", page.style)):
        colours = dict(re.findall(r"--(ink|mut|ok|no|un|er|plan|vi|paper):(#[0-9a-f]{3,6})", block))
        ground = luminance(colours.pop("paper"))
        ratios = {name: (max(ground, luminance(c)) + 0.05) / (min(ground, luminance(c)) + 0.05)
                  for name, c in colours.items()}
        expect(f"contrast, {scheme}", len(ratios) == 8 and min(ratios.values()) >= CONTRAST_LEAST,
               ", ".join(f"{n} {r:.1f}" for n, r in ratios.items()))
    expect("small enough", size <= most, f"({size / 1024:.0f} KiB)")
    head = "".join(page.words)
    head = head[head.index("Inspection report", head.index("Inspection report") + 1):][:300]
    expect("answer first", "True to size, taking" in head if images == 1 else
           "2 true, 1 picture can't be used: " in head and "<b>&amp;.png" in head, head)


def main():
    with tempfile.TemporaryDirectory() as folder:
        pdf, plan = os.path.join(folder, "q.pdf"), os.path.join(folder, "q.plan.json")
        report = os.path.join(folder, "report.html")
        subprocess.run([PAVIOR, "sheets", "--no-guide", LAYOUT, "--paper", "A4", "-q", "-o", pdf], check=True)
        scan, junk = os.path.join(folder, "scan.png"), os.path.join(folder, "<b>&amp;.png")
        image, _ = simulate.scan(simulate.render(pdf, 17, 600, "colour"), dpi=300, kind="colour",
                                 turn=0.7, gain=0.02, seed=1)
        simulate.save(image, scan, dpi=300)
        with open(junk, "w", encoding="utf-8") as file:
            file.write("no image")
        for images in ([scan], [scan, junk, scan]):
            subprocess.run([PAVIOR, "inspect", "--scanner", "flatbed", "--plan", plan, "-q", "--report", report, *images],
                           check=False, stderr=subprocess.DEVNULL)
            print(f"{len(images)} images")
            check(report, len(images), BYTES_MOST * len(images))
            if len(images) > 1:
                found = browse.faults([report])
                if found is not None:
                    expect("nothing for html-validate and axe to find", not found, "; ".join(found[:3]))
            os.remove(report)
    return checks.finish("the report")


if __name__ == "__main__":
    sys.exit(main())
