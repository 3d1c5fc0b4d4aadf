# SPDX-License-Identifier: GPL-3.0-or-later
"""The bench card's page: it holds what `size --json` holds, in the reader's units; it
fits the screen at 390, 820 and 1440 px and two sheets of paper; text of the plan stays
text; a page that cannot be written leaves the old one."""
import json
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import browser

PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])
PLAN = os.path.join(SOURCE, "examples", "go_day.json")
failures = []


def check(truth, message):
    if not truth:
        failures.append(message)


def size(*options, plan=PLAN):
    return subprocess.run([PAPPUS, "size", plan, *options], capture_output=True, text=True,
                          check=False)


def page_of(home, name, *options, plan=PLAN):
    path = os.path.join(home, name + ".html")
    done = size("-o", path, *options, plan=plan)
    check(done.returncode == 0, f"{name}: exit status {done.returncode}: {done.stderr}")
    with open(path, encoding="utf-8") as f:
        page = f.read()
    root = ET.fromstring(page.replace("<!DOCTYPE html>", ""))
    for style in root.iter("style"):
        style.text = ""
    return path, re.sub(r"\s+", " ", " ".join(root.itertext())), root


def numbers(value, key=""):
    """Every number of a JSON value with its key."""
    if isinstance(value, dict):
        for k, v in value.items():
            yield from numbers(v, k)
    elif isinstance(value, list):
        for v in value:
            yield from numbers(v, key)
    elif isinstance(value, float):
        yield key, value


def check_values(text, card):
    """Masses of powder to 0.01 g, forces and energies by the exact definitions of the
    pound-force (NIST SP 811, appendix B) and the foot."""
    found = list(numbers(card))
    grams = [v for k, v in found if k in ("mass_g", "backup_mass_g")]
    check(len(grams) == 4, f"{len(grams)} charges in the JSON")
    for value in grams:
        check(f"{value:.2f} g" in text, f"charge of {value:.2f} g is not on the page")
    for key, value in found:
        if key == "energy_j":
            check(f"{value / 1.3558179483314004:.1f} ft lbf" in text, f"{key} {value} is missing")
        if key == "main_height_true_m":
            check(f"{value / 0.3048:.0f} ft" in text, f"{key} {value} is missing")
        if key == "alone_mps":
            check(f"{value / 0.3048:.1f} ft/s" in text, f"{key} {value} is missing")


def check_words(text):
    for words in ("Ground test", "never a setting", "experienced mentor", "range safety officer",
                  "local law", "primary", "backup", "twice in a row", "booster", "payload"):
        check(words.lower() in text.lower(), f"the page does not say {words!r}")


def words(text):
    """Words and numbers without the marks about them, whatever their case."""
    return {word.strip("()[].,;:!_").lower() for word in text.split()}


def check_whole(text, *options):
    """The page tells all that the terminal does."""
    lost = words(size(*options).stdout) - words(text) - {""}
    check(not lost, f"{options}: not on the page: {sorted(lost)}")


def check_hostile(home):
    title = "<script>alert(1)</script> & \"q\" ]]>"
    _, text, root = page_of(home, "hostile", "--set", "title=" + title)
    check(title in text, "the title is not told as it is")
    check(not list(root.iter("script")), "text became a script")


def check_old_page_stays(home):
    folder = os.path.join(home, "gone")
    done = size("-o", os.path.join(folder, "card.html"))
    check(done.returncode == 5, f"no such folder: exit status {done.returncode}")
    check("card.html" in done.stderr, f"no such folder: {done.stderr!r}")
    check(not os.path.exists(folder), "a folder was made")


with tempfile.TemporaryDirectory() as home:
    path, text, _ = page_of(home, "us")
    check_values(text, json.loads(size("--json").stdout))
    check_words(text)
    check_whole(text)
    _, si, _ = page_of(home, "si", "--units", "si")
    check("8.391 kg (18.50 lb) under canopy" in si, "SI: mass under canopy")
    check("18.50 lb (8.391 kg) under canopy" in text, "US: mass under canopy")
    check_whole(si, "--units", "si")
    check_hostile(home)
    check_old_page_stays(home)
    found, console = browser.measure(home, {"card": path, "hostile": f"{home}/hostile.html"})
    for name, widths in found.items():
        for width, seen in widths.items():
            for fault in (seen or {"faults": ["not measured"]})["faults"]:
                check(False, f"{name} at {width}: {fault}")
    check(not console, f"console: {console}")
    for paper in ("A4", "Letter"):
        pages, _, words, _ = browser.printed(home, path, paper)
        check(pages <= 2, f"{pages} pages on {paper}")
        check("booster" in words and "never a setting" in words, f"{paper}: print is cut")

for failure in failures[:30]:
    print(failure)
sys.exit(1 if failures else 0)
