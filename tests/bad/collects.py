#!/usr/bin/env python3
"""pavior collect among strangers: results, folders and parts that hold what nobody expects.
Usage: collects.py PAVIOR"""
import hashlib
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time

PAVIOR = os.path.abspath(sys.argv[1])
SMALL = 'course "Quay" edition "1"\nmat 150mm by 120mm ground white\n'


def run(folder, *args, command="collect"):
    done = subprocess.run([PAVIOR, command, *args], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode >= 0 and "Sanitizer" not in done.stderr and "runtime error" not in done.stderr, done.stderr
    return done.returncode, done.stdout, done.stderr


def write(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def collect(folder, *more, results="results"):
    return run(folder, "quay-kit", "pictures", "-o", results, "-j", "2", *more)


def table(folder, results="results"):
    with open(os.path.join(folder, results, "results.csv"), encoding="utf-8") as file:
        return file.read().split("\n")[1:-1]


def litter_and_loose_pictures_are_no_teams(folder):
    pictures = os.path.join(folder, "pictures")
    for name in ("Thumbs.db", "north/thumbs.db", "north/desktop.ini", "__MACOSX/north/._a.png", ".DS_Store",
                 "north/.a", "$RECYCLE.BIN/a.png", "System Volume Information/a"):
        write(os.path.join(pictures, name), "litter")
    write(os.path.join(pictures, "north", "a.png"), "no picture")
    write(os.path.join(pictures, "loose.png"), "no picture either")
    status, said, _ = collect(folder)
    assert status == 0 and said.startswith("0 pictures of 1 team: 0 usable, 0 unusable; and 2 other files\n2 measured now, "), said
    assert "0 of 1 team\n" in said, said
    assert [line.split(",")[:2] for line in table(folder)] == [["", '"loose.png"'], ['"north"', '"a.png"']]
    with open(os.path.join(folder, "results", "index.html"), encoding="utf-8") as file:
        assert "0 of 1 team<" in file.read()


def only_pictures_count_as_such(folder):
    """By its first bytes: a damaged picture is one, an office document or a text is none, nor is an empty folder."""
    heads = {"a.png": b"\x89PNG\r\n\x1a\n", "b.jpg": b"\xff\xd8\xff\xe0", "c.tif": b"II*\0", "d.tif": b"MM\0*", "e.tif": b"MM\0+",
             "f.webp": b"RIFF\4\0\0\0WEBP", "g.heic": b"\0\0\0\x18ftypheic", "h.pdf": b"%PDF-1.4\n"}
    others = {"notes.docx": b"PK\3\4", "notes.txt": b"", "a.jpg": b"I am no JPEG", "old.doc": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(40)}
    for name, head in {**heads, **others}.items():
        write(os.path.join(folder, "pictures", "north", name), "")
        with open(os.path.join(folder, "pictures", "north", name), "wb") as file:
            file.write(head)
    os.makedirs(os.path.join(folder, "pictures", "silent"))
    status, said, _ = collect(folder)
    assert status == 0 and said.startswith("8 pictures of 2 teams: 0 usable, 8 unusable; and 4 other files\n"), said
    with open(os.path.join(folder, "results", "index.html"), encoding="utf-8") as file:
        page = file.read()
    assert "<dt>Pictures</dt><dd><b>8</b>" in page and "Other files</dt><dd><b>4</b>" in page
    assert re.search(r">Unusable pictures</dt><dd><b>8</b>", page)
    section = page[page.index('<h2 id="unusable">'):page.index('<h2 id="pictures">')]
    assert section.count("<li>") == 12
    assert re.search(r'>8</a>, 4 other</td>', page) and re.search(r'>0</a></td>', page)
    assert len(table(folder)) == 13 and [sum(f",{word}," in line for line in table(folder)) for word in ("unusable", "no picture")] == [8, 4]


def some_pictures(folder, n=3):
    for team in ("north", "south"):
        for i in range(n):
            write(os.path.join(folder, "pictures", team, f"{i}.png"), f"no picture {team} {i}")


def edit(folder, *statements, results="results"):
    database = sqlite3.connect(os.path.join(folder, results, "results.sqlite"), isolation_level=None)
    for statement in statements:
        database.execute(statement)
    database.close()


def merged(folder, *parts, into="merged"):
    return run(folder, "--merge", *parts, "-o", into)


def results_are_not_merged_into_themselves(folder):
    some_pictures(folder)
    assert collect(folder)[0] == 0
    os.symlink("results", os.path.join(folder, "link"))
    for into in ("results", "./results/", "results/../results", "link"):
        status, _, said = merged(folder, "results", into=into)
        assert status == 64 and "one of the results to be merged" in said, (into, status, said)
    assert merged(folder, "results")[0] == 0 and len(table(folder, "merged")) == 6


def nobody_waits_for_a_pipe(folder):
    some_pictures(folder)
    assert collect(folder)[0] == 0
    for name in ("results.sqlite", "results.sqlite-journal", "results.sqlite-wal"):
        part = os.path.join(folder, "part")
        shutil.copytree(os.path.join(folder, "results"), part)
        if os.path.exists(os.path.join(part, name)):
            os.unlink(os.path.join(part, name))
        os.mkfifo(os.path.join(part, name))
        for status, _, said in (merged(folder, "part"), collect(folder, results="part")):
            assert status == 66 and f"part/{name}: it is no ordinary file" in said, (status, said)
        shutil.rmtree(part)


def somebodys_folder_is_no_place_for_results(folder):
    some_pictures(folder)
    write(os.path.join(folder, "mine", "index.html"), "my own page")
    for status, _, said in (collect(folder, results="mine"), merged(folder, "mine", into="mine")):
        assert status == 64, (status, said)
    status, _, said = collect(folder, results="mine")
    assert "mine is there already, and holds no results" in said, said
    assert os.listdir(os.path.join(folder, "mine")) == ["index.html"]
    write(os.path.join(folder, "empty", ".DS_Store"), "litter")
    assert collect(folder, results="empty")[0] == 0


def nothing_is_left_among_the_pictures(folder):
    some_pictures(folder)
    for place in ("pictures/results", "pictures/north/results"):
        status, _, said = collect(folder, results=place)
        assert status == 64 and "would lie among the pictures" in said, said
        assert not os.path.exists(os.path.join(folder, place))


def a_spreadsheets_list_is_read(folder):
    some_pictures(folder)
    with open(os.path.join(folder, "list.csv"), "wb") as file:
        file.write(b"\xef\xbb\xbfnorth,north/0.png\r\nsouth\tsouth/1.png\r\n\r\n")
    assert collect(folder, "--list", "list.csv")[0] == 0
    assert [line.split(",")[0] for line in table(folder)] == ['"north"', '"south"']


def scanners_of_strangers(folder):
    """A team's wrong word makes its own scanner unknown and stops nobody; a list's stops the run, with its place."""
    pictures = os.path.join(folder, "pictures")
    teams = {"bare": None, "good": "\ufeffflatbed\r\n\r\n", "long": "flatbed\n" * 200, "odd": "flat bed", "nul": "flatbed\0x",
             "other": "Epson", "empty": "", "feeder": "feeder"}
    for team, word in teams.items():
        write(os.path.join(pictures, team, "a.png"), "no picture")
        if word is not None:
            write(os.path.join(pictures, team, "scanner.txt"), word)
    write(os.path.join(pictures, "alone", "scanner.txt"), "flatbed")
    write(os.path.join(pictures, "linked", "a.png"), "no picture")
    os.symlink("../good/scanner.txt", os.path.join(pictures, "linked", "scanner.txt"))
    write(os.path.join(pictures, "scanner.txt"), "flatbed")
    assert collect(folder, "--scanner", "feeder-short")[0] == 0
    got = {tuple(cell.strip('"') for cell in line.split(",")[:2]): line.strip().split(",")[-1] for line in table(folder)}
    for team in ("long", "odd", "nul", "other", "empty", "linked"):
        assert got.pop((team, "a.png")) == got.pop((team, "scanner.txt")) == "unknown", got
    assert got == {("", "scanner.txt"): "", ("bare", "a.png"): "", ("good", "a.png"): "flatbed",
                   ("feeder", "a.png"): "feeder", ("alone", ""): "flatbed"}, got
    with open(os.path.join(folder, "results", "index.html"), encoding="utf-8") as file:
        page = file.read()
    assert page.count("scanner.txt: it must hold one word: flatbed,") == 5 and "scanner stated: feeder<" in page
    parts = [f"part{k}" for k in range(3)]
    for k, part in enumerate(parts):
        assert collect(folder, "--scanner", "feeder-short", "--part", f"{k + 1}/3", results=part)[0] == 0
    for order in (parts, parts[::-1]):
        assert merged(folder, *order)[0] == 0 and table(folder, "merged") == table(folder)

    def listed(text, *more):
        write(os.path.join(folder, "list"), text)
        return collect(folder, "--list", "list", *more, results="listed")
    for line, what in (("odd,odd/a.png,flatbad", '"flatbad" is no kind of scanner'), ("odd,odd/a.png,flatbed,", '"flatbed,"'),
                       ("odd\todd/a.png\tflat\x1b[31m", '"flat?[31m"'), ("odd,,flatbed", "has no team and path"),
                       ("odd", "has no team and path")):
        status, _, said = listed("good,good/a.png,flatbed\n" + line + "\n")
        assert status == 65 and "line 2 of the list" in said and what in said, said
        assert not os.path.exists(os.path.join(folder, "listed"))
    write(os.path.join(pictures, "good", "a,b.png"), "no picture")
    assert listed("good,good/a.png,feeder\nodd,odd/a.png,\ngood\tgood/a,b.png\tflatbed\nbare,bare/a.png\n")[0] == 0
    assert sorted(line.strip().split(",")[-1] for line in table(folder, "listed")) == ["", "", "feeder", "flatbed"]


def edited_results_do_no_harm(folder):
    """Each statement, what merging them ends with, and what is said."""
    some_pictures(folder, 1)
    assert collect(folder, results="whole")[0] == 0
    cases = (
        ("CREATE TRIGGER t AFTER INSERT ON picture BEGIN DELETE FROM value; END", 65, "no file of results"),
        ("CREATE VIEW v AS SELECT 1", 65, "no file of results"),
        ("DROP TABLE value", 65, "no file of results"),
        ("ANALYZE", 0, ""),
        ("PRAGMA journal_mode = WAL", 0, ""),
        ("UPDATE picture SET error = zeroblob(70000000)", 65, "results/results.sqlite is damaged"),
        ("WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c WHERE i < 1000000) "
         "INSERT INTO picture SELECT 'team ' || i, 'f', NULL, 'e', NULL, 0, 'b' FROM c", 65, "more pictures than results can hold"),
        ("UPDATE inspection SET page = -5", 0, ""),
        ("UPDATE run SET value = 'xx' WHERE key = 'language'", 0, ""),
        ("UPDATE inspection SET error = NULL, kit = (SELECT kit FROM plan LIMIT 1), number = 1e15, "
         "verdict = 'conforms', asks = 2",
         0, ""),
        ("UPDATE picture SET scanner = '=1' || char(10) || '<script>', basis = '<script>'", 0, ""),
        ("UPDATE picture SET sha256 = '=1+1' || char(10) || '../x'", 0, ""),
        ("UPDATE inspection SET error = NULL, kit = (SELECT kit FROM plan LIMIT 1), number = 0, verdict = 'conforms', "
         "code = '=1+1,' || char(10), answer = '<script>', advice = '<script>', reference = '=2'", 0, ""),
    )
    for statement, expected, what in cases:
        for name in ("results", "merged"):
            shutil.rmtree(os.path.join(folder, name), ignore_errors=True)
        shutil.copytree(os.path.join(folder, "whole"), os.path.join(folder, "results"))
        edit(folder, statement)
        status, _, said = merged(folder, "results")
        assert status == expected and what in said, (statement, status, said)
        if expected != 0:
            continue
        lines = table(folder, "merged")
        assert len(lines) == 2 and all(line.count('"') % 2 == 0 for line in lines), (statement, lines)
        assert not any(cell.startswith("=") for line in lines for cell in line.split(",")), (statement, lines)
        with open(os.path.join(folder, "merged", "index.html"), encoding="utf-8") as file:
            assert "<script>" not in file.read(), statement
        assert len(os.listdir(os.path.join(folder, "merged", "team"))) == 2


def parts_are_all_there(folder):
    """Where one is missing, or a file came between them, some pictures would be in none."""
    def part(k, of=3):
        assert collect(folder, "--part", f"{k}/{of}", results=f"part{k}")[0] == 0
    some_pictures(folder, 4)
    parts = ["part1", "part2", "part3"]
    for k in (1, 2, 3):
        part(k)
    assert collect(folder)[0] == merged(folder, *parts, "part2")[0] == 0 and table(folder, "merged") == table(folder)
    for some, found in ((("part1", "part3"), 2), (("part2", "part2"), 1)):
        status, _, said = merged(folder, *some)
        assert status == 65 and f"missing: found {found} of 3, among them part {some[0][-1]}/3" in said, said
        assert table(folder, "merged") == table(folder)
    write(os.path.join(folder, "pictures", "aft", "0.png"), "no picture, but the first by name")
    part(2)
    status, _, said = merged(folder, *parts)
    assert status == 65 and "found 1 of 3" in said and "run every part again" in said, said
    part(1)
    part(3)
    assert collect(folder)[0] == merged(folder, *parts)[0] == 0 and table(folder, "merged") == table(folder)
    # With results that are no part; and a part alone is one no more once it was collected whole.
    assert merged(folder, *parts, "results")[0] == 0
    assert collect(folder, results="part1")[0] == merged(folder, "part1")[0] == 0


def a_list_means_one_thing(folder):
    some_pictures(folder)

    def listed(data, results):
        with open(os.path.join(folder, "list"), "wb") as file:
            file.write(data)
        return collect(folder, "--list", "list", results=results)
    for kinds in ((b"", b",flatbed"), (b",feeder", b",flatbed")):
        status, _, said = listed(b"south,south/1.png\n" + b"\n".join(b"north,north/0.png" + kind for kind in kinds), "twice")
        assert status == 65 and "north/0.png is named twice for one team, with different scanners" in said, said
    assert listed(b"north,north/0.png,flatbed\nsouth,south/0.png\nnorth,north/0.png,flatbed\n", "same")[0] == 0
    assert len(table(folder, "same")) == 2


def no_plan_of_a_kit_is_passed_over(folder):
    some_pictures(folder, 1)
    kit = os.path.join(folder, "quay-kit")
    plan = os.path.join(kit, "a4", "mat-a4.plan.json")
    odd = os.path.join(kit, "odd.plan.json")
    for make, said_of in ((lambda: os.symlink(plan, odd), "odd.plan.json: it is a link"), (lambda: os.mkfifo(odd), "odd.plan.json: it is no ordinary")):
        make()
        status, _, said = collect(folder)
        assert status == 66 and said_of in said, said
        os.unlink(odd)
    os.symlink("../quay-kit/a4", os.path.join(kit, "a5"))
    status, _, said = collect(folder)
    assert status == 66 and "quay-kit/a5: it is a link" in said, said
    os.unlink(os.path.join(kit, "a5"))
    os.symlink("a4/index.html", os.path.join(kit, "start.html"))
    os.mkdir(os.path.join(kit, "empty"))
    shutil.copy(plan, odd)
    assert collect(folder)[0] == 0
    with open(odd, encoding="utf-8") as file:
        text = file.read()
    write(odd, re.sub(r'("scale": )0\.0\d+', r"\g<1>0.4", text, count=1))
    status, _, said = collect(folder)
    assert status == 65 and "two plans of the same sheets (A4, kit " in said and "different tolerances" in said, said


def reports_are_there_or_not_led_to(folder):
    some_pictures(folder, 1)
    assert collect(folder)[0] == 0
    edit(folder, "UPDATE inspection SET error = NULL, kit = (SELECT kit FROM plan LIMIT 1), number = 0, verdict = 'conforms'")
    assert collect(folder, "--no-reports")[0] == 0
    with open(os.path.join(folder, "results", "index.html"), encoding="utf-8") as file:
        assert "report/" not in file.read()
    assert sum(",conforms," in line for line in table(folder)) == 2
    database = sqlite3.connect(os.path.join(folder, "results", "results.sqlite"))
    keys = list(database.execute("SELECT sha256, basis FROM inspection"))
    database.close()
    for text in ("", "<title>somebody's own</title>"):
        for sha256, basis in keys:
            name = hashlib.sha256(f"{sha256} {basis} 0".encode()).hexdigest()[:16]
            write(os.path.join(folder, "results", "report", name + ".html"), text)
        status, _, said = collect(folder)
        assert status == 65 and re.search(r"report/[0-9a-f]{16}\.html is no report of a picture\n +. delete it", said), said


def a_code_is_not_wrong_of_what_was_not_read(folder):
    def verify(*where):
        return run(folder, "quay-kit", *where, "--verify", "WBT6-FPN4-7PQB-XZA0")
    some_pictures(folder, 1)
    os.makedirs(os.path.join(folder, "empty", "team"))
    status, said, told = verify("pictures")
    assert status == 1 and "none of 2 pictures" in said and not told, (status, said, told)
    status, said, told = verify("empty")
    assert status == 66 and told == "empty: there is no picture in this folder\n" and not said, (status, said, told)
    os.symlink("0.png", os.path.join(folder, "pictures", "north", "1.png"))
    status, said, told = verify("pictures")
    assert status == 66 and told.startswith("pictures/north/1.png: it is a link") and not said, (status, said, told)


def damaged_results_are_refused_or_whole(folder):
    some_pictures(folder)
    assert collect(folder)[0] == 0
    with open(os.path.join(folder, "results", "results.sqlite"), "rb") as file:
        data = file.read()
    rng = random.Random(5)
    for turn in range(40):
        broken = bytearray(data)
        if turn % 2 == 0:
            broken = broken[:rng.randrange(len(broken))]
        else:
            page = rng.randrange(len(broken) // 4096) * 4096
            broken[page:page + 4096] = rng.randbytes(4096)
        shutil.rmtree(os.path.join(folder, "merged"), ignore_errors=True)
        with open(os.path.join(folder, "results", "results.sqlite"), "wb") as file:
            file.write(broken)
        status, _, said = merged(folder, "results")
        assert status in (0, 65, 74), (turn, status, said)
        assert status == 0 or "results/results.sqlite" in said and "merged/" not in said, (turn, status, said)


def one_run_at_a_time(folder):
    some_pictures(folder, 80)
    words = [PAVIOR, "collect", "quay-kit", "pictures", "-o", "results", "-q", "--no-reports"]
    runs = [subprocess.Popen(words, cwd=folder, stderr=subprocess.PIPE, text=True) for _ in range(3)]
    ends = [(one.communicate()[1], one.returncode) for one in runs]
    assert [status for _, status in ends].count(0) >= 1, ends
    assert all(status == 0 or status == 73 and "another program is working" in said for said, status in ends), ends
    first = table(folder)
    for _ in range(4):
        with subprocess.Popen([*words[:5], "killed", *words[6:]], cwd=folder, stderr=subprocess.DEVNULL) as one:
            time.sleep(0.1 + 0.4 * random.random())
            one.kill()
    assert collect(folder, "--no-reports", results="killed")[0] == 0
    assert len(first) == 160 and table(folder, "killed") == first


def main():
    tests = (litter_and_loose_pictures_are_no_teams, only_pictures_count_as_such, results_are_not_merged_into_themselves, nobody_waits_for_a_pipe,
             somebodys_folder_is_no_place_for_results, nothing_is_left_among_the_pictures, a_spreadsheets_list_is_read, scanners_of_strangers,
             parts_are_all_there, a_list_means_one_thing, no_plan_of_a_kit_is_passed_over, reports_are_there_or_not_led_to,
             a_code_is_not_wrong_of_what_was_not_read, edited_results_do_no_harm, damaged_results_are_refused_or_whole,
             one_run_at_a_time)
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            write(os.path.join(folder, "quay.course"), SMALL)
            assert run(folder, "quay.course", "-p", "A4", "-q", command="kit")[0] == 0
            test(os.path.realpath(folder))
    print(f"collects: {len(tests)} passed, 0 failed")


main()
