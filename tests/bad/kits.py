#!/usr/bin/env python3
"""Kits in folders that hold something already, and commands that a signal ends while they write.
Usage: kits.py PAVIOR"""
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile

PAVIOR = os.path.abspath(sys.argv[1])
SMALL = 'course "Quay" edition "1"\nmat 150mm by 120mm ground white\n'


def run(folder, *args):
    done = subprocess.run([PAVIOR, "kit", "quay.course", *args], cwd=folder, capture_output=True, text=True,
                          timeout=120)
    return done.returncode, done.stderr


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def content(folder):
    return {os.path.relpath(os.path.join(where, name), folder): open(os.path.join(where, name), "rb").read()
            for where, _, names in os.walk(folder) for name in names}


def a_kit_stays_unless_it_is_to_be_replaced(folder):
    assert run(folder, "-p", "A4", "-q")[0] == 0
    before = content(folder)
    status, said = run(folder, "-p", "A5", "-q")
    assert status == 64 and "quay-kit holds a kit already" in said and "--replace" in said, said
    assert content(folder) == before
    assert run(folder, "-p", "A4", "-q", "--replace")[0] == 0
    assert content(folder) == before, "the same again"


def foreign_files_stay(folder):
    kit = os.path.join(folder, "quay-kit")
    assert run(folder, "-p", "A4,A5", "-q")[0] == 0
    write(os.path.join(kit, "news.html"), "my own")
    write(os.path.join(kit, "a5", "photo.html"), "my own")
    write(os.path.join(kit, "a5", "index.html"), "changed by hand")
    assert run(folder, "-p", "A4,A6", "-q", "--replace")[0] == 0
    there = content(kit)
    assert there["news.html"] == there["a5/photo.html"] == b"my own"
    assert there["a5/index.html"] == b"changed by hand"
    assert {n for n in there if n.startswith("a5/")} == {"a5/photo.html", "a5/index.html"}, there.keys()
    assert "a6/index.html" in there
    # Of a paper that nobody has touched nothing is left.
    assert run(folder, "-p", "A4", "-q", "--replace")[0] == 0
    assert not os.path.exists(os.path.join(kit, "a6")) and os.path.exists(os.path.join(kit, "a5"))


def other_folders_are_not_ours(folder):
    os.mkdir(os.path.join(folder, "home"))
    write(os.path.join(folder, "home", "kit.json"), '{"somebody": "else"}')
    before = content(folder)
    status, said = run(folder, "-p", "A4", "-q", "-o", "home", "--replace")
    assert status == 64 and "home is there already, and holds no kit" in said, said
    os.mkdir(os.path.join(folder, "empty"))
    assert run(folder, "-p", "A4", "-q", "-o", "empty/")[0] == 0
    after = content(folder)
    assert all(after[name] == text for name, text in before.items())


def nothing_leads_out_of_a_kit(folder):
    kit = os.path.join(folder, "quay-kit")
    assert run(folder, "-p", "A4,A5", "-q")[0] == 0
    write(os.path.join(folder, "mine.txt"), "mine")
    with open(os.path.join(kit, "SHA256SUMS"), "a", encoding="utf-8") as file:
        # Its true sum, so that only the name keeps it from being taken for a former kit's.
        file.write("3fd30542fe3f61b14bd4a4b2dc0b6fb30fa6f63ebce52dd1778aaa8c4dc02cff  ../mine.txt\n")
    shutil.rmtree(os.path.join(kit, "a5"))
    os.mkdir(os.path.join(folder, "outside"))
    os.symlink("../outside", os.path.join(kit, "a5"))
    status, said = run(folder, "-p", "A5", "-q", "--replace")
    assert status == 74 and "quay-kit/a5" in said, (status, said)
    assert not os.listdir(os.path.join(folder, "outside"))
    assert content(folder)["mine.txt"] == b"mine"
    assert not [n for n in os.listdir(folder) if ".new" in n]


def archives_are_files(folder):
    assert run(folder, "-p", "A5", "-q", "--zip")[0] == 0
    before = content(folder)
    status, said = run(folder, "-p", "A6", "-q", "--zip")
    assert status == 64 and "quay-kit.zip is there already" in said, said
    assert content(folder) == before
    assert run(folder, "-p", "A6", "-q", "--zip", "--replace")[0] == 0
    assert content(folder) != before and len(content(folder)) == 2
    # Nothing in it leads out of where it is unpacked.
    for name in ("...zip", "..zip"):
        assert run(folder, "-p", "A6", "-q", "--zip", "-o", name)[0] == 0
        with zipfile.ZipFile(os.path.join(folder, name)) as archive:
            assert all(n.startswith("kit/") for n in archive.namelist()), archive.namelist()
    assert run(folder, "-p", "A6", "-q", "--zip", "-o", "LOUD.ZIP")[0] == 0
    with zipfile.ZipFile(os.path.join(folder, "LOUD.ZIP")) as archive:
        assert all(n.startswith("LOUD/") for n in archive.namelist()), archive.namelist()
    # An archive's name has its ending.
    assert run(folder, "-p", "A6", "-q", "--zip", "-o", "bare")[0] == 0
    assert not os.path.exists(os.path.join(folder, "bare"))
    with zipfile.ZipFile(os.path.join(folder, "bare.zip")) as archive:
        assert all(n.startswith("bare/") for n in archive.namelist()), archive.namelist()


def of_two_writers_one_gets_the_folder(folder):
    for turn in range(6):
        both = [subprocess.Popen([PAVIOR, "kit", "quay.course", "-p", p, "-q"], cwd=folder, stderr=subprocess.DEVNULL)
                for p in ("A4", "A5")]
        ends = [one.wait(60) for one in both]
        assert ends.count(0) == 1, (turn, ends)
        kit = content(os.path.join(folder, "quay-kit"))
        papers = {n.split("/")[0] for n in kit if "/" in n}
        assert papers == ({"a4"} if ends[0] == 0 else {"a5"}), (turn, papers)
        assert os.listdir(folder) and len(os.listdir(folder)) == 2, os.listdir(folder)
        shutil.rmtree(os.path.join(folder, "quay-kit"))


def heed_signals():
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


def signals_leave_nothing(folder):
    """Or all: one that comes when the kit is done comes too late."""
    rng = random.Random(10)
    whole = {}
    for words in ((), ("--zip",)):
        assert run(folder, "-q", "-o", "k", *words)[0] == 0
        whole[words] = content(folder)
        remove(os.path.join(folder, "k.zip" if words else "k"))
    ended = 0
    for turn in range(24):
        number = rng.choice([signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
        words = ("--zip",) if turn % 4 == 3 else ()
        name = "k.zip" if words else "k"
        with subprocess.Popen([PAVIOR, "kit", "quay.course", "-q", "-o", "k", *words], cwd=folder,
                              preexec_fn=heed_signals) as command:
            while command.poll() is None and len(os.listdir(folder)) < 2:
                time.sleep(0.001)
            time.sleep(rng.random() * 0.2)
            command.send_signal(number)
            status = command.wait(60)
        left = set(os.listdir(folder)) - {"quay.course"}
        assert status in (0, -number) and (left == {name} or status != 0 and not left), (turn, status, left)
        ended += not left
        if left:
            assert content(folder) == whole[words], turn
            remove(os.path.join(folder, name))
    assert ended > 3, ended


def remove(place):
    if os.path.isdir(place):
        shutil.rmtree(place)
    else:
        os.unlink(place)


def a_changed_plan_is_no_former_kit(folder):
    assert run(folder, "-p", "A4", "-q", "-o", "k")[0] == 0
    assert run(folder, "-p", "A4", "-q", "-o", "same", "--compare", "k")[0] == 0
    plan = os.path.join(folder, "k", "a4", "mat-a4.plan.json")
    with open(plan, encoding="utf-8") as file:
        text = file.read()
    write(plan, text + "\n")
    status, said = run(folder, "-p", "A4", "-q", "-o", "more", "--compare", "k")
    assert status == 65 and "mat-a4.plan.json has changed since its kit was made" in said, (status, said)
    assert not os.path.exists(os.path.join(folder, "more"))


def nobody_waits_for_a_pipe(folder):
    """Under the names of a kit's files there may be anything."""
    for name in ("SHA256SUMS", "kit.json", "a4/mat-a4.plan.json"):
        kit = os.path.join(folder, "k")
        assert run(folder, "-p", "A4", "-q", "-o", "k")[0] == 0
        os.unlink(os.path.join(kit, name))
        os.mkfifo(os.path.join(kit, name))
        status, said = run(folder, "-p", "A4", "-q", "-o", "more", "--compare", "k")
        assert status == (0 if name == "kit.json" else 66), (name, status, said)
        assert name == "kit.json" or "is no ordinary file" in said, said
        status, said = run(folder, "-p", "A4", "-q", "-o", "k", "--replace")
        assert status == (64 if name == "kit.json" else 0), (name, status, said)
        shutil.rmtree(kit)
        shutil.rmtree(os.path.join(folder, "more"), ignore_errors=True)


def a_kit_is_replaced_whole_or_not(folder):
    kit = os.path.join(folder, "quay-kit")
    assert run(folder, "-p", "A6", "-q")[0] == 0
    os.unlink(os.path.join(kit, "pavior.css"))
    os.mkdir(os.path.join(kit, "pavior.css"))
    write(os.path.join(folder, "quay.course"), SMALL.replace('"1"', '"2"'))
    before = content(kit)
    status, said = run(folder, "-p", "A6", "-q", "--replace")
    assert status == 74 and "cannot write quay-kit/pavior.css: Is a directory" in said, (status, said)
    assert content(kit) == before and sorted(os.listdir(folder)) == ["quay-kit", "quay.course"]


def an_empty_folder_has_many_names(folder):
    """"." and a link to one: neither can be renamed over."""
    here = os.path.join(folder, "here")
    os.mkdir(here)
    os.symlink("here", os.path.join(folder, "link"))
    assert run(folder, "-p", "A6", "-q", "-o", "plain")[0] == 0
    for name in ("here/.", "link"):
        status, said = run(folder, "-p", "A6", "-q", "-o", name)
        assert status == 0, said
        assert content(here) == content(os.path.join(folder, "plain"))
        assert sorted(os.listdir(folder)) == ["here", "link", "plain", "quay.course"]
        shutil.rmtree(here)
        os.mkdir(here)
    os.rmdir(here)
    status, said = run(folder, "-p", "A6", "-q", "-o", "link")
    assert status in (73, 74) and "link" in said and sorted(os.listdir(folder)) == ["link", "plain", "quay.course"], said


def files_have_a_limit(folder):
    """As by ulimit -f: an error like any other."""
    for words in ((), ("--zip",)):
        done = subprocess.run([PAVIOR, "kit", "quay.course", "-p", "A4", "-q", *words], cwd=folder, capture_output=True, text=True,
                              timeout=120, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000)))
        assert done.returncode == 74 and "File too large" in done.stderr, done
        assert os.listdir(folder) == ["quay.course"]


def a_former_kit_is_a_folder_of_ours(folder):
    assert run(folder, "-p", "A6", "-q")[0] == 0
    write(os.path.join(folder, "k.zip"), "no folder")
    for former in (".", "k.zip", "nowhere"):
        status, said = run(folder, "-p", "A6", "-q", "-o", "new", "--compare", former)
        assert status == 66 and f"{former} has no SHA256SUMS" in said and "name the folder that pavior kit made" in said, said
    sums = os.path.join(folder, "quay-kit", "SHA256SUMS")
    with open(sums, encoding="utf-8") as file:
        text = file.read()
    write(sums, text.replace("\n", "\r\n"))
    status, said = run(folder, "-p", "A6", "-q", "-o", "new", "--compare", "quay-kit")
    assert status == 65 and "line 1 of SHA256SUMS" in said and "as it was published" in said, said


def main():
    tests = (a_kit_stays_unless_it_is_to_be_replaced, foreign_files_stay, other_folders_are_not_ours,
             nothing_leads_out_of_a_kit, nobody_waits_for_a_pipe, a_changed_plan_is_no_former_kit,
             a_kit_is_replaced_whole_or_not, an_empty_folder_has_many_names, files_have_a_limit,
             a_former_kit_is_a_folder_of_ours, archives_are_files, of_two_writers_one_gets_the_folder, signals_leave_nothing)
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            write(os.path.join(folder, "quay.course"), SMALL)
            test(os.path.realpath(folder))
    print(f"kits: {len(tests)} passed, 0 failed")


main()
