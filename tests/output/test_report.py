# SPDX-License-Identifier: GPL-3.0-or-later
"""The report as a browser shows and prints it: nothing leaves the screen or lies on
something else at 390, 820 and 1440 px, the decision and the three answers are on the
first screen, the slider moves the contours, nothing is said on the console, it prints
on at most three pages, and without scripts it tells the same. Facts are compared with
summary.json. Contrast is that of WCAG 2.2, 1.4.3 (from memory)."""
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
TOOL = os.path.join(os.path.dirname(PAPPUS), "tool_sample")
HOSTILE = {
    "markup": "<script>alert('x')</script> & \"quotes\" ]]> <!-- %s </title></style>",
    "long": "\u00e9" * 5000,
    "rtl": "\u05e9\u05d3\u05d4 \u202eabc\u202c \u2067\u0645\u064a\u062f\u0627\u0646\u2069",
}
PAPERS = {"A4": (595, 842), "Letter": (612, 792)}  # points: ISO 216, ANSI A
failures = []


def check(truth, message):
    if not truth:
        failures.append(message)


def brief(folder, plan, options):
    done = subprocess.run([PAPPUS, "brief", os.path.join(SOURCE, "examples", plan), "-o", folder,
                           "--quiet", *options], stdout=subprocess.DEVNULL, check=False)
    check(done.returncode in (0, 3, 4), f"{plan}: exit status {done.returncode}")


def read(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8") as f:
        return f.read()


def text_of(page):
    """All text of a page but its script and styles, with plain spaces."""
    root = ET.fromstring(page.replace("<!DOCTYPE html>", ""))
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.endswith(("script", "style")):
                parent.remove(child)
    return re.sub(r"\s+", " ", " ".join(root.itertext()))


def check_layout(name, found):
    for width, seen in found.items():
        if not seen:
            check(False, f"{name} at {width}: not measured")
            continue
        check(seen["wide"] == width, f"{name}: {seen['wide']} px wide, not {width}")
        for fault in seen["faults"]:
            check(False, f"{name} at {width}: {fault}")


def check_first_screen(name, found):
    for width, seen in found.items():
        for what, bottom in (seen or {"bottoms": {}})["bottoms"].items():
            check(bottom is not None and bottom <= 1, f"{name} at {width}: {what} ends at {bottom}")


def check_slider(name, seen, rows):
    slider = seen["slider"]
    check(slider["shown"] and slider["label"] and slider["tab"] >= 0, f"{name}: slider {slider}")
    paths = [move[0] for move in slider["moves"]]
    check(len(paths) == rows, f"{name}: {len(paths)} heights on the slider, {rows} in the trade")
    check(len(set(paths)) == rows, f"{name}: the slider leaves a contour as it is")
    check(all(move[1].startswith("Main at ") for move in slider["moves"]), f"{name}: slider is mute")
    check(slider["after"] == slider["before"], f"{name}: the plan's contour does not come back")


def feet(metres, step):
    return f"{round(metres / 0.3048 / step) * step:.0f} ft"


def check_facts(name, text, summary):
    """What the report must tell, in the units of the reader."""
    word = {"go": "GO", "no-go": "NO-GO", "undecided": "UNDECIDED Treat as no-go"}
    word = word[summary["decision"]]
    facts = [word, "A planning estimate. The range safety officer decides."]
    for post in summary["posts"]:
        facts += [f"{post['latitude']:.5f}, {post['longitude']:.5f}", post["road"],
                  feet(post["distance_m"], 10)]
    for row in summary["heights"]["trade"]:
        facts += [feet(row["height_m"], 1), feet(row["walk_m"], 10)]
    again = [row for row in summary["ceiling"]["directions"]
             if row["go"] and not row["monotonic"] and not row["floor_mps"] > 0]
    check(text.count("mph *") >= len(again), f"{name}: go again in stronger wind is not marked")
    check(("* Go again in stronger wind" in text) == ("mph *" in text), f"{name}: a mark untold")
    for outcome in summary["outcomes"]:
        facts.append(outcome)
    for entry in summary["assumptions"]:
        facts.append(entry["key"])
    facts += ["mentor", "Local safety codes", "altimeters[1].main_height", "wind aloft"]
    for fact in facts:
        check(fact in text, f"{name}: does not tell {fact!r}")


def check_alone(name, page):
    """Nothing to fetch: no address but that of SVG, whose name it is, and data."""
    for address in re.findall(r"(?:src|href|action)=\"([^\"]*)\"|url\(([^)]*)\)", page):
        for part in address:
            check(not part or part.startswith(("data:", "#")), f"{name}: fetches {part:.60}")
    names = set(re.findall(r"https?://[^\"'< ]+", re.sub(r"base64,[^\"]*", "", page)))
    check(names <= {"http://www.w3.org/2000/svg"}, f"{name}: addresses {names}")
    check("default-src 'none'" in page, f"{name}: no content security policy")
    check(len(page.encode()) < 1.5e6, f"{name}: {len(page)} characters")


def check_hostile(folder, pages):
    for name, words in HOSTILE.items():
        target = os.path.join(folder, name)
        subprocess.run([TOOL, target, "landings=700", "text=" + words], check=True,
                       stdout=subprocess.DEVNULL)
        page = read(target, "report.html")
        root = ET.fromstring(page.replace("<!DOCTYPE html>", ""))
        scripts = [e for e in root.iter() if e.tag.endswith("script")]
        check(len(scripts) == 1, f"{name}: {len(scripts)} scripts")
        check(words[:100] in "".join(root.itertext()), f"{name}: the title is not told")
        pages[name] = os.path.join(target, "report.html")


def check_print(folder, name, path, paper):
    pages, size, words = browser.printed(folder, path, paper)
    check(pages <= 3, f"{name} on {paper}: {pages} pages")
    check(all(abs(a - b) < 2 for a, b in zip(size, PAPERS[paper])), f"{name} on {paper}: {size}")
    check("mentor" in words and "altimeters[1].main_height" in words, f"{name}: print is cut")


with tempfile.TemporaryDirectory() as home:
    # A gust above the bound leaves the surface wind undecided.
    days = {"go": ("go_day.json", ["--landings", "6000"]),
            "no_go": ("no_go_day.json", ["--landings", "6000"]),
            "undecided": ("go_day.json", ["--landings", "2000", "--set",
                                          "limits.surface_wind=10 mph"])}
    folders = {name: os.path.join(home, name) for name in days}
    for name, (plan, options) in days.items():
        brief(folders[name], plan, options)
    pages = {name: os.path.join(folder, "report.html") for name, folder in folders.items()}
    summaries = {name: json.loads(read(folder, "summary.json")) for name, folder in folders.items()}
    check(len({s["decision"] for s in summaries.values()}) == 3, "the days do not differ")
    check_hostile(home, pages)
    found, console = browser.measure(home, pages)
    for line in console:
        check(False, f"console: {line}")
    for name in pages:
        check_layout(name, found[name])
    for name in days:
        page = read(folders[name], "report.html")
        check_first_screen(name, found[name])
        check_slider(name, found[name][390], len(summaries[name]["heights"]["trade"]))
        check_facts(name, text_of(page), summaries[name])
        check_alone(name, page)
    plain = re.sub(r"\s+", " ", browser.without_scripts(home, pages["no_go"]))
    check_facts("without scripts", plain, summaries["no_go"])
    check("Try another main height" not in plain, "the slider shows without scripts")
    check_print(home, "go", pages["go"], "Letter")
    check_print(home, "no_go", pages["no_go"], "A4")
    check_print(home, "no_go", pages["no_go"], "Letter")

for failure in failures[:40]:
    print(failure)
sys.exit(1 if failures else 0)
