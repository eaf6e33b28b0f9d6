"""The libraries' sources, which sources.txt pins: in a folder that outlives the build, from whichever mirror this
machine has its Debian packages from, or else from Debian's archive of all that it ever published."""
import glob
import hashlib
import http.client
import os
import re
import subprocess
import sys
import urllib.request

HERE = os.path.dirname(os.path.abspath(__file__))
RELEASE = "bookworm"
# What was in Debian on a day, under the day's date: for machines that have their packages from another release.
ARCHIVE = "http://snapshot.debian.org/archive/{0}/20261101T000000Z/pool/{1}"
POOLS = [ARCHIVE.format("debian", "main"), ARCHIVE.format("debian-security", "updates/main")]


def kept():
    """The folder for what is fetched and built once: sources, and libraries by the sum of all that they are made by."""
    return os.path.abspath(os.environ.get("PAVIOR_KEPT") or os.path.expanduser(os.path.join(
        os.environ.get("XDG_CACHE_HOME") or "~/.cache", "pavior-web")))


def pinned():
    """Of each Debian package its tarball and, where it has any, its patches: a version, a file's name and its sum."""
    pins = {}
    with open(os.path.join(HERE, "sources.txt"), encoding="utf-8") as file:
        for name, *pin in (line.split() for line in file if not line.startswith("#")):
            pins.setdefault(name, []).append(pin)
    return pins


def is_good(path, digest):
    if not os.path.exists(path):
        return False
    with open(path, "rb") as file:
        return hashlib.sha256(file.read()).hexdigest() == digest


# ---- by apt ----

def source_lists():
    """What apt reads on this machine to find packages of the release, asking for their sources instead."""
    found = []
    for path in ["/etc/apt/sources.list", *glob.glob("/etc/apt/sources.list.d/*")]:
        if not path.endswith((".list", ".sources")) or not os.path.exists(path):
            continue
        with open(path, encoding="utf-8") as file:
            text = file.read()
        # Of the old kind each line is one, of the new kind each paragraph.
        of_lines = path.endswith(".list")
        for one in text.split("\n" if of_lines else "\n\n"):
            if re.search(rf"(?m)^[^#\n]*\s{RELEASE}(-updates|-security)?(\s|$)", one):
                found.append((path, re.sub(r"^deb\s", "deb-src ", one) if of_lines else
                              re.sub(r"(?m)^Types:.*", "Types: deb-src", one)))
    return found


def by_apt(place, wanted):
    """What of `wanted` apt can bring into the folder. It keeps its lists beside it, and none of the machine's own."""
    here = os.path.join(place, "apt")
    parts = os.path.join(here, "parts")
    os.makedirs(parts, exist_ok=True)
    os.makedirs(os.path.join(here, "lists", "partial"), exist_ok=True)
    for i, (path, text) in enumerate(source_lists()):
        with open(os.path.join(parts, f"{i}{os.path.splitext(path)[1]}"), "w", encoding="utf-8") as file:
            file.write(text + "\n")
    apt = ["apt-get", "-q", "-o", "Dir::Etc::SourceList=/dev/null", "-o", f"Dir::Etc::SourceParts={parts}",
           "-o", f"Dir::State::Lists={here}/lists", "-o", f"Dir::Cache={here}", "-o", "APT::Sandbox::User=",
           "-o", "Acquire::Retries=2", "-o", "Acquire::http::Timeout=60"]
    tarballs = [name for name, _, file, _ in wanted if ".orig." in file]
    patches = [f"{name}={version}" for name, version, file, _ in wanted if ".debian." in file]
    said = ""
    for call in (["update"], ["source", "--download-only", "--tar-only", *tarballs] if tarballs else None,
                 ["source", "--download-only", "--diff-only", *patches] if patches else None):
        try:
            done = subprocess.run(apt + call, cwd=place, capture_output=True, text=True, check=False) if call else None
        except OSError as error:
            return f"apt-get: {error}\n"
        said += "".join(line + "\n" for line in done.stderr.split("\n") if line.startswith("E:")) if done else ""
    return said


# ---- by the archive ----

def by_archive(place, package, name):
    """A file, from the first pool that has it; says why where none has."""
    folder, faults = package[:4] if package.startswith("lib") else package[0], ""
    for pool in POOLS:
        try:
            with urllib.request.urlopen(f"{pool}/{folder}/{package}/{name.replace('+', '%2b')}", timeout=120) as got:
                data = got.read()
        except (OSError, http.client.HTTPException) as error:
            faults += f"{pool}: {name}: {error}\n"
            continue
        with open(os.path.join(place, name), "wb") as file:
            file.write(data)
        return ""
    return faults


def fetch(packages):
    """Brings what isn't there yet. A file's sum vouches for it."""
    place, pins = os.path.join(kept(), "sources"), pinned()
    os.makedirs(place, exist_ok=True)

    def missing():
        return [(package, *pin) for package in packages for pin in pins[package]
                if not is_good(os.path.join(place, pin[1]), pin[2])]
    wanted = missing()
    if wanted:
        print(f"SOURCES {' '.join(sorted({package for package, *_ in wanted}))}", flush=True)
        for _, _, name, _ in wanted:
            if os.path.exists(os.path.join(place, name)):
                os.remove(os.path.join(place, name))
        said = by_apt(place, wanted)
        for package, _, name, _ in missing():
            said += by_archive(place, package, name)
        wanted = missing()
    if wanted:
        sys.exit(f"{said}These are not to be had as src/web/sources.txt names them: "
                 f"{', '.join(name for _, _, name, _ in wanted)}. If Debian has newer ones, name those.")
    return place
