"""The scan that pictures of results show: sheet C3 of layouts/quayside.course, printed and scanned in simulation."""
import os
import subprocess
import sys

DOCS = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


def scan(pavior, folder, *faults):
    """Makes quayside.plan.json and C3.png in the folder."""
    pdf = os.path.join(folder, "quayside.pdf")
    subprocess.run([pavior, "sheets", "--no-guide", os.path.join(DOCS, "../layouts/quayside.course"), "--paper", "A4",
                    "--quiet", "-o", pdf], check=True)
    subprocess.run([sys.executable, os.path.join(DOCS, "../tests/outside/simulate.py"), pdf, "-o",
                    os.path.join(folder, "C3.png"), "--page", "17", "--dpi", "300", "--kind", "colour", "--turn", "0.8",
                    "--gain", "0.05", *faults], check=True, stdout=subprocess.DEVNULL)
