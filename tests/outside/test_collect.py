#!/usr/bin/python3
"""`pavior collect`: pictures of many teams, of sheets on four papers, with files among them that are no
pictures of a sheet. Each must be judged as `pavior inspect` does with its plan alone; whatever is done in
between - threads, kills, parts, their order - the same table and pages come out, to the byte.

    PAVIOR=build/pavior test_collect.py [--long]     (24 pictures; --long: 300 of 40 teams, 20 kills)"""
import csv
import filecmp
import glob
import json
import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from html import escape as html, unescape

from PIL import Image

import checks
import simulate
from checks import expect

PAVIOR = os.path.abspath(os.environ.get("PAVIOR", "build/pavior"))
PAPERS = ("A4", "letter", "A3", "tabloid")
CONTACT = "<Mats> & more, by 1 May"
DPI = 150
# A shrunken page, and one that is true; of each tenth picture the first.
SHRUNK, TRUE = 0.97, 1.0004
COURSE = """course "Little harbour" edition "1"
mat 380mm by 250mm ground white
paint width 20mm, colour black, ends flat
line west width 20mm from (30, 10)mm to (30, 240)mm
line middle width 12mm from (190, 60)mm to (190, 240)mm
line east width 20mm from (350, 10)mm to (350, 240)mm
line level width 15mm from (60, 35)mm to (320, 35)mm
"""
# Team names that must do no harm as names of files, in HTML, or in a spreadsheet.
NAMES = ("north end", "=1+1", "<b>bold", "ÄÖ 42", "semi;colon", "-minus", "@at", "Team", "team", "dot.dot")


def run(*words, status=0, **kept):
    done = subprocess.run([PAVIOR, *words], capture_output=True, text=True, **kept)
    if status is not None and done.returncode != status:
        expect(f"pavior {' '.join(words)} ends with {status}", False, f"{done.returncode}: {done.stderr}")
    return done


class Work:
    def __init__(self, folder, pictures, teams):
        self.folder, self.n, self.n_teams = folder, pictures, teams
        self.kit, self.pictures = os.path.join(folder, "kit"), os.path.join(folder, "pictures")
        self.rng = random.Random(11)
        self.truth = {}  # (team, file): (plan, sheet, scale) or None

    def make_kit(self):
        course = os.path.join(self.folder, "harbour.course")
        with open(course, "w", encoding="utf-8") as file:
            file.write(COURSE)
        run("kit", course, "--paper", ",".join(PAPERS), "--contact", CONTACT, "-q", "-o", self.kit)
        self.pages = []
        for plan in sorted(glob.glob(os.path.join(self.kit, "*", "mat-*.plan.json"))):
            with open(plan, encoding="utf-8") as file:
                sheets = json.load(file)["sheets"]
            pdf = plan[:-len(".plan.json")] + ".pdf"
            said = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
            # The guide's pages come first.
            guide = int(re.search(r"^Pages: *(\d+)", said, re.M).group(1)) - len(sheets)
            for number, sheet in enumerate(sheets[:3]):
                self.pages.append((plan, sheet["name"], simulate.render(pdf, guide + number + 1, 300)))

    def team(self, i):
        return NAMES[i] if i < len(NAMES) else f"team {i:02}"

    def make_pictures(self):
        garbage = (b"", b"not a picture", b"\x89PNG\r\n\x1a\n" + bytes(40), b"\xff\xd8\xff\xe0" + bytes(100),
                   b"%PDF-1.4\n%%EOF\n")
        for i in range(self.n):
            team, name = self.team(i % self.n_teams), f"picture {i:03}.jpg"
            path = os.path.join(self.pictures, team, name)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            if i % 10 == 7:
                with open(path, "wb") as file:
                    file.write(garbage[i // 10 % len(garbage)])
                self.truth[team, name] = None
                continue
            plan, sheet, page = self.pages[self.rng.randrange(len(self.pages))]
            scale = SHRUNK if i % 10 == 3 else TRUE
            image, _ = simulate.scan(page, dpi=DPI, scale=(scale, scale), turn=self.rng.uniform(-2, 2),
                                     seed=i, fine=2)
            simulate.save(image, path, dpi=DPI)
            self.truth[team, name] = (plan, sheet, scale)
        # A link that leads out, and one in a circle.
        os.symlink("/etc/hostname", os.path.join(self.pictures, self.team(0), "zz-link.jpg"))
        self.truth[self.team(0), "zz-link.jpg"] = None
        os.symlink("..", os.path.join(self.pictures, self.team(0), "zz-up"))
        self.truth[self.team(0), "zz-up"] = None
        # A team that sent nothing.
        os.makedirs(os.path.join(self.pictures, "silent", "scans"))
        self.truth["silent", ""] = None

    def collect(self, name, *words, status=0):
        out = os.path.join(self.folder, name)
        run("collect", self.kit, self.pictures, "-o", out, "--scanner", "flatbed", *words, status=status)
        return out


def rows(results):
    with open(os.path.join(results, "results.csv"), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def files(results):
    """All that was written but for the database, by name."""
    found = glob.glob("**/*", root_dir=results, recursive=True)
    return sorted(f for f in found if os.path.isfile(os.path.join(results, f)) and not f.startswith("results.sqlite"))


def same(what, a, b):
    names = files(a)
    differ = names != files(b) or filecmp.cmpfiles(a, b, names, shallow=False)[1:] != ([], [])
    expect(f"{what}: the same {len(names)} files, to the byte", not differ and len(names) > 1)


def bare(name):
    """A cell's text without the apostrophe that keeps a spreadsheet from reckoning it."""
    return name[1:] if name[:1] == "'" and name[1:2] in "=+-@" else name


def no_verdict(work, row):
    path = os.path.join(work.pictures, bare(row["team"]), bare(row["file"]))
    if not row["file"] or os.path.islink(path):
        return "not read" if row["file"] else "nothing sent"
    with open(path, "rb") as file:
        return "no picture" if file.read(3) in (b"", b"not") else "unusable"


def check_rows(work, results):
    table = rows(results)
    seen = {(bare(r["team"]), bare(r["file"])): r for r in table}
    expect("one row for each file", len(table) == len(work.truth) and set(seen) == set(work.truth))
    expect("every row has all columns", all(None not in r and None not in r.values() for r in table))
    bad = [r for k, r in seen.items() if work.truth[k] is None]
    expect("each bad file has a row with its reason",
           all(r["verdict"] == no_verdict(work, r) and len(r["answer"]) > 10 for r in bad), f"({len(bad)})")
    good = {k: r for k, r in seen.items() if work.truth[k] is not None}
    expect("every good one has its own sheet", all(r["sheet"] == work.truth[k][1] for k, r in good.items()),
           f"({len(good)})")
    with_plan = {}
    for plan in {t[0] for t in work.truth.values() if t}:
        with open(plan, encoding="utf-8") as file:
            with_plan[plan] = json.load(file)["kit"]["fingerprint"]
    expect("and its own plan", all(r["kit"] == with_plan[work.truth[k][0]] for k, r in good.items()))
    expect("shrunken ones fail, true ones conform",
           all(r["verdict"] == ("does not conform" if work.truth[k][2] == SHRUNK else "conforms")
               for k, r in good.items()))
    off = max(abs(float(r["scale_" + a]) - work.truth[k][2]) - float(r[f"scale_{a}_U"])
              for k, r in good.items() for a in "xy")
    checks.at_most("scale, beyond its U", off, 0)
    expect("no cell begins a formula", all(v[:1] not in tuple("=+@") for r in table for v in r.values()))
    return good


def check_pages(work, results):
    """Every link leads somewhere, every team has its page, and no name became markup."""
    def read(name):
        with open(os.path.join(results, name), encoding="utf-8") as file:
            return file.read()
    summary = read("index.html")
    links = [unescape(a) for a in re.findall(r'href="([^"#]+)"', summary)]
    expect("every link of the summary leads to a file", all(os.path.isfile(os.path.join(results, a)) for a in links),
           f"({len(links)})")
    expect("and every place of it is there", all(f'id="{a}"' in summary for a in re.findall(r'href="#([^"]+)"', summary)))
    reports = [a for a in links if a.startswith("report/")]
    good = sum(t is not None for t in work.truth.values())
    for a in set(reports):
        text = read(a)
        back = [os.path.normpath(os.path.join("report", unescape(b))) for b in re.findall(r'href="(\.\./[^"#]+)', text)]
        title = unescape(re.search(r"<title>(.*?)</title>", text).group(1))
        if not (any(b.startswith("team/") for b in back) and all(os.path.isfile(os.path.join(results, b)) for b in back)
                and title.startswith("picture ") and "): Little harbour" in title):
            expect("a report says whose it is, and leads back", False, f"{a}: {title} {back}")
    expect("every good picture's report is led to", len(set(reports)) == good and len(reports) >= good)
    pages = {a for a in links if a.startswith("team/")}
    expect("each team has a page, and so has the one that sent nothing", len(pages) == work.n_teams + 1)
    texts = [read(a) for a in pages]
    expect("which leads nowhere", not any(re.search(r"<(a|link|img|script)[\s>]", t) for t in texts))
    expect("where something is left to send, it says where to", all(
        (f"<b>{html(CONTACT)}</b>" in t) != ("Nothing is left to do" in t) for t in texts))
    expect("no name became markup", not any("<b>bold" in t.replace("<b>&lt;b&gt;bold", "") for t in texts + [summary]))
    expect("a team's page names no other team", all(sum(f"<b>{html(n)}</b>:" in t for n in map(
        work.team, range(work.n_teams))) == (0 if "<b>silent</b>:" in t else 1) for t in texts))


def check_inspect(work, results, good):
    """Against pavior inspect with the one plan."""
    database = sqlite3.connect(os.path.join(results, "results.sqlite"))
    wrong = 0
    for (team, name), row in list(good.items())[:4]:
        path = os.path.join(work.pictures, team, name)
        alone = json.loads(run("inspect", "--plan", work.truth[team, name][0], "--scanner", "flatbed", "--json",
                               path, status=None).stdout)[0]
        kept = json.loads(database.execute("SELECT json FROM inspection WHERE sha256 = ?",
                                           (row["sha256"],)).fetchone()[0])[0]
        alone.pop("file"), kept.pop("file")
        wrong += alone != kept
    checks.at_most("inspections other than with the one plan", wrong, 0)


def killed(work, times):
    out = os.path.join(work.folder, "killed")
    words = [PAVIOR, "collect", work.kit, work.pictures, "-o", out, "--scanner", "flatbed", "-j", "2", "-q"]
    # Lines of a run that nobody stops say how long one takes.
    kills, before, lost = 0, 0, 0
    for _ in range(times):
        process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(work.rng.uniform(0.05, 2.5 * work.seconds / times))
        process.send_signal(signal.SIGKILL)
        kills += process.wait() == -signal.SIGKILL
        try:
            database = sqlite3.connect(os.path.join(out, "results.sqlite"))
            n = database.execute("SELECT count(*) FROM inspection").fetchone()[0]
            database.close()
        except sqlite3.OperationalError:
            n = 0  # killed before there was a table
        lost += n < before
        before = n
    checks.at_most("kills after which something finished was gone", lost, 0)
    print(f"  killed {kills} of {times} times, with {before} measured by then")
    said = run(*words[1:-1]).stdout
    expect("the last run goes on from there", f"{before} known" in said or before == 0, said.split("\n")[0])
    return out


def merged(work):
    parts = [work.collect(f"part{k}", "--part", f"{k}/3", "-j", "1", "-q") for k in (1, 2, 3)]
    outs = []
    for order in ((0, 1, 2), (2, 0, 1), (1, 2, 0)):
        out = os.path.join(work.folder, "merged" + "".join(map(str, order)))
        run("collect", "--merge", *[parts[i] for i in order], "-o", out, "-q")
        outs.append(out)
    return parts, outs


def refusals(work, parts):
    other = os.path.join(work.folder, "other")
    run("collect", os.path.join(work.kit, "a4"), work.pictures, "-o", other, "--part", "1/20", "-q")
    done = run("collect", "--merge", parts[0], other, "-o", os.path.join(work.folder, "no"), status=65)
    expect("results of another kit are refused", "another kit" in done.stderr)
    done = run("collect", work.kit, work.pictures, "-o", os.path.join(work.pictures, "out"), status=64)
    expect("results among the pictures are refused, and no folder is left", "among the pictures" in done.stderr
           and not os.path.exists(os.path.join(work.pictures, "out")))
    done = run("collect", "--merge", parts[0], os.path.join(work.folder, "none"), "-o",
               os.path.join(work.folder, "no"), status=None)
    expect("missing results are refused", done.returncode == 66 and not os.path.exists(
        os.path.join(work.folder, "none")), done.stderr)


def stopped(work):
    """Ctrl-C: ends by itself, having kept what was measured."""
    out = os.path.join(work.folder, "stopped")
    process = subprocess.Popen([PAVIOR, "collect", work.kit, work.pictures, "-o", out, "-j", "2", "--scanner",
                                "flatbed"], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                               preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))
    reports = os.path.join(out, "report")
    while process.poll() is None and not (os.path.isdir(reports) and os.listdir(reports)):
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    said = process.communicate()[1]
    expect("Ctrl-C ends it with 130, and says how to go on",
           process.returncode == 130 and "run the same command again" in said, said)
    done = run("collect", "--merge", out, "-o", os.path.join(work.folder, "no"), status=65)
    expect("and it is not merged as if it were whole", "not complete" in done.stderr)
    return work.collect("stopped", "-q")


def changed(work, results):
    """One picture is replaced, one is taken away, one comes: the next run measures two."""
    pictures = sorted(k for k, t in work.truth.items() if t)
    paths = [os.path.join(work.pictures, *k) for k in pictures[:3]]
    with open(paths[0], "ab") as file:
        file.write(b"\0")
    os.remove(paths[1])
    shutil.copy(paths[2], paths[2] + ".again.jpg")
    said = run("collect", work.kit, work.pictures, "-o", results, "--scanner", "flatbed").stdout
    expect("only what changed is measured again", "\n1 measured now" in said, said.split("\n")[0])
    names = {(bare(r["team"]), bare(r["file"])) for r in rows(results)}
    left = set(os.listdir(os.path.join(results, "report")))
    expect("reports of what is gone are gone", left == {r["report"] + ".html" for r in rows(results) if r["report"]})
    expect("what is gone has no row, what came has one", pictures[1] not in names and
           (pictures[2][0], pictures[2][1] + ".again.jpg") in names)


def several_pages(work):
    """A TIFF of two sheets has two rows."""
    folder = os.path.join(work.folder, "several")
    os.makedirs(os.path.join(folder, "one"))
    names = [k for k, t in work.truth.items() if t and os.path.exists(os.path.join(work.pictures, *k))][:2]
    pictures = [Image.open(os.path.join(work.pictures, *k)) for k in names]
    pictures[0].save(os.path.join(folder, "one", "both.tif"), save_all=True, append_images=pictures[1:],
                     dpi=(DPI, DPI), compression="tiff_lzw")
    out = os.path.join(work.folder, "of-several")
    run("collect", work.kit, folder, "-o", out, "-q", "--scanner", "flatbed")
    found = [(r["page"], r["sheet"]) for r in rows(out)]
    expect("each page of a TIFF has its row", found == [("1", work.truth[names[0]][1]), ("2", work.truth[names[1]][1])],
           str(found))


def listed(work, results):
    """The same pictures by a list."""
    name = os.path.join(work.folder, "list")
    with open(name, "w", encoding="utf-8") as file:
        for team, picture in work.truth:
            file.write(f"{team}\t{os.path.join(team, picture)}\n")
    out = os.path.join(work.folder, "listed")
    shutil.copytree(results, out)  # all is known
    work.collect("listed", "--list", name, "-q")
    # In a list the folder of the team that sent nothing is a path that is no picture.
    a, b = ({(r["team"], r["sha256"], r["verdict"]) for r in rows(of) if r["team"] != "silent"} for of in (results, out))
    expect("a list of the same pictures gives the same rows", a == b)


def asked(work):
    """Without --scanner: pictures that it may settle are counted, and it settles them. A code of the table is right.
    Of a sheet printed again both pictures are named, until the old one goes."""
    folder, out = os.path.join(work.folder, "asked"), os.path.join(work.folder, "of-asked")
    _, sheet, page = work.pages[0]
    for i, (name, scale) in enumerate((("old.jpg", SHRUNK), ("new.jpg", TRUE))):
        os.makedirs(os.path.join(folder, "one"), exist_ok=True)
        image, _ = simulate.scan(page, dpi=DPI, scale=(scale, scale), turn=1, seed=i, fine=2)
        simulate.save(image, os.path.join(folder, "one", name), dpi=DPI)

    def read(name):
        with open(os.path.join(out, name), encoding="utf-8") as file:
            return re.sub(r"<[^>]+>", "", file.read())
    said = run("collect", work.kit, folder, "-o", out).stdout
    new = next(r for r in rows(out) if r["file"] == "new.jpg")
    expect("one picture asks for its scanner", new["verdict"] == "undecided" and "1 picture that can't tell may" in said, said)
    expect("two pictures are too few to be odd", "too few pictures to say" in read("index.html"))
    expect("so do the summary and the team's page", "pictures that can't tell, 1 may only lack" in read("index.html")
           and "Tell the organiser what you scanned with" in read("team/one.html"))
    said = run("collect", work.kit, folder, "-o", out, "--scanner", "flatbed").stdout
    new = next(r for r in rows(out) if r["file"] == "new.jpg")
    expect("told, it is decided and asks no more", new["verdict"] == "conforms" and "can't tell" not in said
           and "only lack" not in read("index.html") and "Tell the organiser what" not in read("team/one.html"))
    expect("two pictures that disagree are named", f"sheet {sheet}: new.jpg shows it true, old.jpg does not"
           in read("index.html") and "True: new.jpg. Not true: old.jpg." in read("team/one.html"))
    run("collect", work.kit, folder, "--verify", new["code"], "--scanner", "flatbed")
    os.remove(os.path.join(folder, "one", "old.jpg"))
    run("collect", work.kit, folder, "-o", out, "--scanner", "flatbed")
    expect("until the old one is gone", "disagree" not in read("index.html") and "Two answers" not in read("team/one.html"))


def by_team(work):
    """The same picture of three teams: each is judged by what its own team scanned with. What is told as a list, in
    parts and again gives the same; a word more makes that team's picture new, and no other."""
    folder = os.path.join(work.folder, "by-team")
    image, _ = simulate.scan(work.pages[0][2], dpi=DPI, scale=(TRUE, TRUE), turn=1, seed=7, fine=2)
    for team, kind in (("glass", "flatbed"), ("fed", "feeder"), ("untold", None)):
        os.makedirs(os.path.join(folder, team))
        simulate.save(image, os.path.join(folder, team, "a.jpg"), dpi=DPI)
        if kind:
            with open(os.path.join(folder, team, "scanner.txt"), "w", encoding="utf-8") as file:
                file.write(kind + "\r\n")

    def collect(name, *words, of=(folder,)):
        out = os.path.join(work.folder, "by-team-" + name)
        return out, run("collect", work.kit, *of, "-o", out, *words).stdout
    out, _ = collect("one")
    found = {r["team"]: (r["verdict"], r["scanner"]) for r in rows(out)}
    expect("each team's picture is judged by its own scanner", found == {
        "glass": ("conforms", "flatbed"), "fed": ("undecided", "feeder"), "untold": ("undecided", "")}, str(found))
    expect("and by it alone as inspect does", all(
        (json.loads(run("inspect", "--json", "--plan", work.pages[0][0], *words, os.path.join(folder, team, "a.jpg"),
                        status=None).stdout)[0]["verdict"]) == found[team][0]
        for team, *words in (("glass", "--scanner", "flatbed"), ("fed", "--scanner", "feeder"), ("untold",))))
    with open(os.path.join(out, "index.html"), encoding="utf-8") as file:
        page = file.read()
    expect("the summary says what was stated, and asks one team",
           page.count("scanner stated: ") == 2 and "pictures that can't tell, 1 may only lack" in page)
    with open(os.path.join(work.folder, "by-team.list"), "w", encoding="utf-8") as file:
        for team, kind in (("untold", ""), ("fed", ",feeder"), ("glass", ",flatbed")):
            file.write(f"{team},{folder}/{team}/a.jpg{kind}\n")
    listed, _ = collect("list", "--list", os.path.join(work.folder, "by-team.list"), of=())
    expect("a list gives the same", [[r[k] for k in ("team", "verdict", "report", "scanner")] for r in rows(out)] ==
           [[r[k] for k in ("team", "verdict", "report", "scanner")] for r in rows(listed)])
    parts = [collect(f"part{k}", "--part", f"{k}/2", "-j", "1")[0] for k in (1, 2)]
    for order in (parts, parts[::-1]):
        whole = os.path.join(work.folder, "by-team-merged-" + os.path.basename(order[0]))
        run("collect", "--merge", *order, "-o", whole)
        same("parts with scanners of their own", out, whole)
    with open(os.path.join(folder, "untold", "scanner.txt"), "w", encoding="utf-8") as file:
        file.write("feeder-long")
    said = collect("one")[1]
    expect("told later, only that team's picture is measured again", "1 measured now, 2 known" in said, said)
    os.remove(os.path.join(folder, "glass", "scanner.txt"))
    said = collect("one", "--scanner", "flatbed")[1]
    expect("what all scan with makes nothing new of what was told the same", "0 measured now, 3 known" in said, said)


def editions(work):
    """A sheet that a new edition has changed, and one of another course: the team is told what it can do about it, by
    neither a command nor a count of plans. The file that is named is in the kit."""
    old, new, other = (os.path.join(work.folder, f"edition{i}") for i in (1, 2, 3))
    course = os.path.join(work.folder, "next.course")
    for kit, text, words in ((old, COURSE, ()), (new, COURSE.replace('edition "1"', 'edition "2"')
                             + "line more width 12mm from (60, 200)mm to (120, 200)mm\n", ("--compare", old)),
                             (other, COURSE.replace("harbour", "port"), ())):
        with open(course, "w", encoding="utf-8") as file:
            file.write(text)
        run("kit", course, "--paper", "A4", "-q", "-o", kit, *words)
    names, ids = [], []
    for kit in (old, new):
        with open(os.path.join(kit, "a4", "mat-a4.plan.json"), encoding="utf-8") as file:
            sheets = json.load(file)["sheets"]
        names.append([s["name"] for s in sheets])
        ids.append([[t["id"] for t in s["tags"]] for s in sheets])
    changed = [i for i in range(len(ids[0])) if ids[0][i] != ids[1][i]]
    expect("some sheets changed, and no place", 0 < len(changed) < len(ids[0]) and names[0] == names[1], str(changed))
    folder, out = os.path.join(work.folder, "editions"), os.path.join(work.folder, "of-editions")
    for name, kit in (("old", old), ("other", other)):
        pdf = os.path.join(kit, "a4", "mat-a4.pdf")
        said = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
        guide = int(re.search(r"^Pages: *(\d+)", said, re.M).group(1)) - len(ids[0])
        os.makedirs(os.path.join(folder, name))
        image, _ = simulate.scan(simulate.render(pdf, guide + changed[0] + 1, 300), dpi=DPI, scale=(TRUE, TRUE), turn=1,
                                 seed=3, fine=2)
        simulate.save(image, os.path.join(folder, name, "a.jpg"), dpi=DPI)
    run("collect", new, folder, "-o", out, "--scanner", "flatbed")
    pages = {}
    for name in ("team/old.html", "team/other.html", "index.html"):
        with open(os.path.join(out, name), encoding="utf-8") as file:
            pages[name] = unescape(re.sub(r"<[^>]+>", "", file.read()))
    sheet = names[0][changed[0]]
    mine, theirs = pages["team/old.html"], pages["team/other.html"]
    missing = re.search(r"No picture yet of ([^.]*)\.", mine)
    expect("a former edition's sheet has changed, and is not missing besides", "former edition" in mine and
           f"Print sheet {sheet} of edition 2" in mine and (missing is None or sheet not in missing.group(1).split(", ")))
    expect("its file is in the kit", all(os.path.isfile(os.path.join(new, "a4", n))
                                         for n in re.findall(r"again[-a-z0-9]*\.pdf", mine) or [""]))
    expect("another course's is none of the kit's", "not one of this kit's" in theirs and "from the kit" in theirs)
    expect("no page names commands or counts plans", not any(w in mine + theirs for w in ("pavior", "plans", "printer file")))
    expect("two files are unusable, by each count", sum(r["verdict"] == "unusable" for r in rows(out)) == 2 and
           re.search(r"Unusable pictures\s*2", pages["index.html"]) is not None)


def main(argv):
    long = "--long" in argv
    with tempfile.TemporaryDirectory() as folder:
        work = Work(folder, *((300, 40) if long else (24, 8)))
        work.make_kit()
        work.make_pictures()
        start = time.monotonic()
        first = work.collect("first", "-j", "2", "-q")
        work.seconds = time.monotonic() - start
        good = check_rows(work, first)
        check_inspect(work, first, good)
        check_pages(work, first)
        same("one thread and two", first, work.collect("one", "-j", "1", "-q"))
        same("killed and resumed", first, killed(work, 20 if long else 4))
        parts, outs = merged(work)
        for out in outs:
            same("three parts merged", first, out)
        refusals(work, parts)
        same("stopped and resumed", first, stopped(work))
        listed(work, first)
        several_pages(work)
        asked(work)
        by_team(work)
        editions(work)
        changed(work, first)
    return checks.finish("test_collect")


if __name__ == "__main__":
    sys.exit(main(sys.argv))
