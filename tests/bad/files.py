#!/usr/bin/env python3
"""What a single case of bad input can't show: commands one after the other in one folder, and
commands that a signal ends while they write. Usage: files.py PAVIOR"""
import fcntl
import os
import select
import signal
import subprocess
import sys
import tempfile
import time

PAVIOR = os.path.abspath(sys.argv[1])
COURSE = os.path.abspath("layouts/quayside.course")
SMALL = 'course "Quay" edition "1"\nmat 150mm by 120mm ground white\n'


def run(folder, *args, stdin=None):
    done = subprocess.run([PAVIOR, *args], cwd=folder, capture_output=True, text=True, timeout=120,
                          input=stdin)
    return done.returncode, done.stderr


def content(folder):
    return {name: open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)}


def other_prints_keep_their_plan(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0, "the same again"
    before = content(folder)
    status, said = run(folder, "sheets", "quay.course", "--paper", "A5", "-q")
    assert status == 64 and "belongs to prints of another layout" in said, said
    assert "A4, 1 sheet)" in said and "--replace" in said, said
    assert content(folder) == before, "a file was touched"
    # Naming the file is no leave to lose it.
    status, said = run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "-o", "quay.pdf")
    assert status == 64 and "belongs to prints of another layout" in said, said
    status, said = run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "-o", "quay.pdf",
                       "--plan", "other.json")
    assert status == 64 and "quay.pdf is there already" in said, said
    assert content(folder) == before, "a file was touched"
    assert run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "-o", "five.pdf")[0] == 0
    assert set(content(folder)) == set(before) | {"five.pdf", "five.plan.json"}
    assert run(folder, "sheets", "quay.course", "--paper", "A5", "-q", "--replace")[0] == 0
    assert content(folder)["quay.plan.json"] == content(folder)["five.plan.json"]
    assert run(folder, "sheets", "--proof", "--paper", "A4", "-q")[0] == 0
    assert run(folder, "sheets", "--proof", "--paper", "letter", "-q")[0] == 64


def a_changed_course_is_no_edition(folder):
    course = os.path.join(folder, "quay.course")
    for text in (SMALL, SMALL + "tolerance width 0.4mm\n", SMALL.replace("120mm", "121mm")):
        with open(course, "w", encoding="utf-8") as file:
            file.write(text)
        status, said = run(folder, "sheets", "quay.course", "--paper", "A4", "-q")
        assert (status == 0) == (text == SMALL), (status, said)
        if "121mm" in text:
            assert "same edition 1" in said and "new edition" in said, said


def foreign_files_stay(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    names = ("quay.pdf", "quay.plan.json", "quay.svg", "quay.txt")
    for name in names:
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write("my grandmother's recipes")
    before = content(folder)
    for words in (("sheets", "quay.course", "--paper", "A4"),
                  ("sheets", "quay.course", "--paper", "A4", "-o", "quay.pdf"),
                  ("sheets", "quay.course", "--paper", "A4", "--plan", "new.json"),
                  ("review", "quay.course", "--svg", "quay.svg"),
                  ("review", "quay.course", "-o", "quay.txt")):
        status, said = run(folder, *words, "-q")
        assert status == 64 and "is there already" in said, (words, status, said)
        assert content(folder) == before, words
    assert run(folder, "review", "quay.course", "-q", "--svg", "quay.svg", "--replace")[0] == 0
    assert run(folder, "sheets", "quay.course", "-q", "--replace")[0] == 0
    after = content(folder)
    assert all(after[name] != before[name] for name in names[:3])


def ranges_go_beside_their_set(folder):
    assert run(folder, "sheets", COURSE, "--paper", "A4", "-q")[0] == 0
    before = content(folder)
    assert run(folder, "sheets", COURSE, "--paper", "A4", "-q", "--range", "A2-B3")[0] == 0
    after = content(folder)
    assert set(after) == set(before) | {"quayside-A2-B3.pdf"}
    assert all(after[name] == before[name] for name in before)
    for more in (("-o", "quayside.pdf"), ("--replace",), ("-o", "quayside.pdf", "--replace")):
        status, said = run(folder, "sheets", COURSE, "--paper", "A4", "-q", "--range", "A2", *more)
        assert status == 64, (more, said)
        assert content(folder) == after, more


def former_parts_do_not_stay(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    for i in (1, 2):
        with open(os.path.join(folder, f"quay-{i}.pdf"), "w", encoding="utf-8") as file:
            file.write("%PDF-1.6")
    status, said = run(folder, "sheets", "quay.course", "--paper", "A4", "-q")
    assert status == 64 and "quay-1.pdf" in said, said
    assert set(content(folder)) == {"quay.course", "quay-1.pdf", "quay-2.pdf"}
    # With a plan of its own it is another course's.
    with open(os.path.join(folder, "quay-1.plan.json"), "w", encoding="utf-8") as file:
        file.write("{}")
    assert run(folder, "sheets", "quay.course", "--paper", "A4", "-q")[0] == 0


def of_two_writers_one_gets_the_name(folder):
    """Both start at once, some are killed; whatever stands there at the end belongs together."""
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    for paper in ("A4", "A5"):
        assert run(folder, "sheets", "quay.course", "--paper", paper, "-q", "-o", f"{paper}.pdf")[0] == 0
    good = {tuple(content(folder)[f"{paper}{end}"] for end in (".pdf", ".plan.json"))
            for paper in ("A4", "A5")}
    for turn in range(20):
        both = [subprocess.Popen([PAVIOR, "sheets", "quay.course", "--paper", paper, "-q", "-o", "m.pdf"],
                                 cwd=folder, stderr=subprocess.PIPE) for paper in ("A4", "A5")]
        if turn % 4 == 3:
            time.sleep(0.002 * turn)
            both[0].kill()
        ends = [one.wait(60) for one in both]
        for one in both:
            one.stderr.close()
        there = content(folder)
        if 0 in ends:
            assert ends.count(0) == 1, (turn, ends)
            assert (there["m.pdf"], there["m.plan.json"]) in good, (turn, ends)
        for name in list(there):
            if name.startswith("m."):
                os.unlink(os.path.join(folder, name))


def writers_that_replace_keep_pairs_together(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    for paper in ("A4", "A5"):
        assert run(folder, "sheets", "quay.course", "--paper", paper, "-q", "-o", f"{paper}.pdf")[0] == 0
    there = content(folder)
    good = {(there[f"{paper}.pdf"], there[f"{paper}.plan.json"]) for paper in ("A4", "A5")}
    # While another one puts files there, one waits.
    other = os.open(folder, os.O_RDONLY)
    fcntl.flock(other, fcntl.LOCK_EX)
    one = subprocess.Popen([PAVIOR, "sheets", "quay.course", "--paper", "A4", "-q", "-o", "m.pdf"], cwd=folder)
    time.sleep(0.5)
    assert one.poll() is None and not {"m.pdf", "m.plan.json"} & set(content(folder))
    os.close(other)
    assert one.wait(60) == 0
    for turn in range(8):
        both = [subprocess.Popen([PAVIOR, "sheets", "quay.course", "--paper", paper, "-q", "-o", "m.pdf",
                                  "--replace"], cwd=folder) for paper in ("A4", "A5")]
        assert [one.wait(60) for one in both] == [0, 0], turn
        there = content(folder)
        assert (there["m.pdf"], there["m.plan.json"]) in good, turn
        assert len(there) == 7, there.keys()


def reports_replace_reports_only(folder):
    """A report takes the place of a former one, but not of what only resembles one."""
    path = os.path.join(folder, "r.json")
    assert run(folder, "sheets", COURSE, "--paper", "A4", "-q")[0] == 0
    words = ("inspect", "--plan", "quayside.plan.json", COURSE, "--json", "-o", "r.json", "-q")
    assert run(folder, *words)[0] == 65
    with open(path, "r+", encoding="utf-8") as file:
        first = file.read()
        file.write("\n")
    assert run(folder, *words)[0] == 65
    with open(path, encoding="utf-8") as file:
        assert file.read() == first
    foreign = '[\n  {"file": "holiday.jpg", "answer": "a lovely day"}\n]\n'
    for text, mode in ((foreign, 0o644), (first + "\n", 0o444)):
        os.unlink(path)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        os.chmod(path, mode)
        status, said = run(folder, *words)
        assert status == 64 and "r.json is there already" in said, (status, said)
        with open(path, encoding="utf-8") as file:
            assert file.read() == text
        assert run(folder, *words, "--replace")[0] == 65


def standard_output_may_be_a_file(folder):
    for name in ("-", "/dev/stdout"):
        with open(os.path.join(folder, "out"), "w", encoding="utf-8") as file:
            subprocess.run([PAVIOR, "sheets", COURSE, "--paper", "A4", "-q", "-o", name, "--plan", "p.json"],
                           cwd=folder, stdout=file, check=True)
        assert content(folder)["out"].startswith(b"%PDF"), name


def two_outputs_are_two_files(folder):
    with open(os.path.join(folder, "quay.course"), "w", encoding="utf-8") as file:
        file.write(SMALL)
    os.mkdir(os.path.join(folder, "sub"))
    os.symlink("sub", os.path.join(folder, "link"))
    there = os.path.basename(folder)
    for a, b in (("m.pdf", "./m.pdf"), ("m.pdf", f"../{there}/m.pdf"), ("sub/m", "link/m"),
                 ("sub//m", "sub/./m"), (os.path.join(folder, "m"), "m")):
        status, said = run(folder, "sheets", "quay.course", "-q", "--plan", a, "-o", b)
        assert status == 64 and "different names" in said, (a, b, status, said)
        status, said = run(folder, "review", "quay.course", "-q", "--svg", a, "-o", b)
        assert status == 64, (a, b, status, said)
    assert set(os.listdir(folder)) == {"quay.course", "sub", "link"}, os.listdir(folder)
    assert not os.listdir(os.path.join(folder, "sub"))
    assert run(folder, "sheets", "quay.course", "-q", "--plan", "m", "-o", "sub/m")[0] == 0


ENDING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGPIPE)


def heed_signals():
    """Who started this program may have had them ignored, as shells do for what they run beside."""
    for number in ENDING:
        signal.signal(number, signal.SIG_DFL)


def signals_leave_nothing(folder):
    """The plan is staged by the time the PDF goes out, and nobody reads that: the pipe is full."""
    for number in ENDING:
        with subprocess.Popen([PAVIOR, "sheets", COURSE, "--paper", "A4", "-q", "-o", "-", "--plan",
                               "p.json"], cwd=folder, stdout=subprocess.PIPE,
                              preexec_fn=heed_signals) as command:
            ready, _, _ = select.select([command.stdout], [], [], 60)
            assert ready and len(os.listdir(folder)) == 1, os.listdir(folder)
            if number == signal.SIGPIPE:
                command.stdout.close()
            else:
                command.send_signal(number)
                assert command.wait(60) == -number
                command.stdout.read()
            assert command.wait(60) == -number, (number, command.returncode)
        assert not os.listdir(folder), (number, os.listdir(folder))
    # One that is ignored, as nohup does, stays ignored.
    with subprocess.Popen([PAVIOR, "sheets", COURSE, "--paper", "A4", "-q", "-o", "-", "--plan",
                           "p.json"], cwd=folder, stdout=subprocess.PIPE,
                          preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN)) as command:
        select.select([command.stdout], [], [], 60)
        command.send_signal(signal.SIGHUP)
        assert command.stdout.read()[:5] == b"%PDF-"
        assert command.wait(60) == 0
    assert os.listdir(folder) == ["p.json"]


def main():
    tests = (other_prints_keep_their_plan, a_changed_course_is_no_edition, foreign_files_stay,
             ranges_go_beside_their_set, former_parts_do_not_stay, of_two_writers_one_gets_the_name,
             writers_that_replace_keep_pairs_together, reports_replace_reports_only, standard_output_may_be_a_file,
             two_outputs_are_two_files, signals_leave_nothing)
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            test(os.path.realpath(folder))
    print(f"files: {len(tests)} passed, 0 failed")


main()
