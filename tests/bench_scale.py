#!/usr/bin/python3
"""How pavior sheets grows: a hall floor in 1, 2, 4 and 8 bays (8 are 30 x 30 m with 20,000 lines), on
A4 and on a 1067 mm roll. For each: sheets, time, peak memory, bytes a sheet, and the ratio to the PDF
library writing the same page contents alone (tests/outside/replay_pages.c). Times are processor
times. Nothing here passes or fails, but it says whether the bars are met: 8 times the work in at most
9 times the time, and at most 1.5 times the library's own.

Usage: bench_scale.py PAVIOR REPLAY_PAGES [BAYS...]"""
import glob
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import zlib

import hall

GROWTH, ALONE = 9, 1.5
RUNS = 2


# A small process of its own starts what is measured: a child's peak counts from when it is a copy of
# its parent, and this one reads whole files.
SPAWN = """import os, sys
pid = os.fork()
if pid == 0:
    null = os.open(os.devnull, os.O_RDWR)
    os.dup2(null, 1)
    os.dup2(null, 2)
    os.execv(sys.argv[1], sys.argv[1:])
_, status, usage = os.wait4(pid, 0)
print(status, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)
"""


def measure(command):
    """Least processor time in s, its wall time, and peak memory in MB."""
    best = (float("inf"), 0, 0)
    for _ in range(RUNS):
        start = time.perf_counter()
        done = subprocess.run([sys.executable, "-S", "-c", SPAWN] + command, check=True,
                              capture_output=True, text=True)
        wall = time.perf_counter() - start
        status, cpu, memory = (float(v) for v in done.stdout.split())
        if status != 0:
            raise SystemExit(f"status {int(status)}: {' '.join(command)}")
        best = min(best, (cpu, wall, memory))
    return best


def unpack(pdf, out):
    """The pages of a PDF of libharu's, as replay_pages reads them."""
    with open(pdf, "rb") as file:
        data = file.read()
    objects = {int(m.group(1)): m.end() for m in re.finditer(rb"(?:^|\n)(\d+) 0 obj", data)}
    with open(out, "wb") as file:
        for page in re.finditer(rb"/Type /Page\n(.*?)\nendobj", data, re.S):
            box = re.search(rb"/MediaBox \[ 0 0 (\S+) (\S+) \]", page.group(1))
            at = objects[int(re.search(rb"/Contents (\d+) 0 R", page.group(1)).group(1))]
            start = re.compile(rb"stream\r?\n").search(data, at).end()
            contents = zlib.decompressobj().decompress(data[start:])
            file.write(b"page %s %s %d\n" % (box.group(1), box.group(2), len(contents)) + contents)


def library_alone(replay, pdfs, folder):
    names = []
    for i, pdf in enumerate(pdfs):
        names.append(os.path.join(folder, f"pages{i}"))
        unpack(pdf, names[-1])
    times = []
    for _ in range(RUNS):
        done = subprocess.run([replay] + names, check=True, capture_output=True, text=True)
        if done.stderr:
            raise SystemExit(done.stderr[:500])
        times.append(float(done.stdout.split()[0]))
    for name in names:
        os.remove(name)
        os.remove(name + ".pdf")
    return min(times)


def row(pavior, replay, paper, bays, folder):
    course, out = os.path.join(folder, "hall.course"), os.path.join(folder, "hall.pdf")
    with open(course, "w", encoding="utf-8") as file:
        file.write(hall.hall(bays))
    cpu, wall, memory = measure([pavior, "sheets", "--no-guide", course] + paper + ["--replace", "-q", "-o", out])
    pdfs = [out] if os.path.exists(out) else sorted(glob.glob(out[:-4] + "-*.pdf"))
    with open(out[:-4] + ".plan.json", encoding="utf-8") as file:
        sheets = len(json.load(file)["sheets"])
    size = sum(os.path.getsize(p) for p in pdfs)
    alone = library_alone(replay, pdfs, folder)
    for pdf in pdfs:
        os.remove(pdf)
    print(f"{bays:4} x {sheets:8} {cpu:9.2f} s {wall:8.2f} s {memory:7.0f} MB {size / sheets:10.0f} "
          f"{1000 * cpu / sheets:9.2f} ms {alone:9.2f} s {cpu / alone:7.2f} x", flush=True)
    return cpu, cpu / alone


def main(argv):
    pavior, replay = argv[:2]
    bays = [int(b) for b in argv[2:]] or [1, 2, 4, 8]
    for paper in (["--paper", "A4"], ["--roll", "1067mm"]):
        print(f"\n{' '.join(paper)}\n{'work':>6} {'sheets':>8} {'time':>11} {'wall':>10} {'memory':>10} "
              f"{'bytes/sheet':>10} {'time/sheet':>11} {'library':>11} {'ratio':>9}")
        with tempfile.TemporaryDirectory() as folder:
            rows = [row(pavior, replay, paper, b, folder) for b in bays]
        growth, work = rows[-1][0] / rows[0][0], bays[-1] / bays[0]
        worst = max(r[1] for r in rows)
        bar = GROWTH * work / 8
        print(f"{work:g} times the work takes {growth:.2f} times the time: "
              f"{'met' if growth <= bar else 'MISSED'} (at most {bar:g}); "
              f"{worst:.2f} times the library alone: {'met' if worst <= ALONE else 'MISSED'} "
              f"(at most {ALONE})")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
