"""Packages of npm, for tests alone, in a folder of the build's own that later runs find again."""
import os
import shutil
import subprocess

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def install(*packages):
    """The folder that has these packages ("mustache@4.2.0") in its node_modules; None, said, without npm."""
    if shutil.which("npm") is None or shutil.which("node") is None:
        print("    skipped: there is no npm here")
        return None
    place = os.path.join(ROOT, "build", "npm", "_".join(p.rpartition("@")[0].replace("/", "-") for p in packages))
    done = os.path.join(place, "done")
    wanted = " ".join(packages)
    if os.path.exists(done) and open(done, encoding="utf-8").read() == wanted:
        return place
    os.makedirs(place, exist_ok=True)
    with open(os.path.join(place, "package.json"), "w", encoding="utf-8") as file:
        file.write('{"private": true}')
    try:
        got = subprocess.run(["npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", *packages], cwd=place,
                             capture_output=True, text=True, timeout=240, check=False)
    except subprocess.TimeoutExpired:
        got = None
    if got is None or got.returncode != 0:
        print(f"    skipped: npm can't bring {wanted}")
        return None
    with open(done, "w", encoding="utf-8") as file:
        file.write(wanted)
    return place
