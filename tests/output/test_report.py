# SPDX-License-Identifier: GPL-3.0-or-later
"""The report as a browser shows and prints it: nothing leaves the screen or lies on
something else at 390, 820 and 1440 px, the decision and the three answers are on the
first screen, the slider moves the contours and the legend, nothing is said on the console, it
prints on two pages and the sheet for the flight line on one, no heading alone at a foot, in
the dark it reads as well, and without scripts it tells the same. Facts are compared with
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


def check_legend(name, slider):
    """The map's legend tells the height that is shown, and nothing of the plan's alone."""
    plan, drawn = slider["legend"]
    check(plan.endswith(", as planned") and drawn > 3, f"{name}: legend {slider['legend']}")
    told = [move[2] for move in slider["moves"]]
    check(all(t[0].startswith("Main at ") and "planned" not in t[0] for t in told), f"{name}: {told}")
    check(len({t[0] for t in told}) == len(told), f"{name}: the legend stands still")
    check(not any(t[1] for t in told), f"{name}: the plan's dots or track stay")
    check(slider["legend_after"] == slider["legend"], f"{name}: the legend does not come back")


def check_sizes(name, found):
    """The map fills a phone, and is large on a laptop; the heights' table folds on a phone."""
    check(found[390]["map"] >= 380, f"{name}: map {found[390]['map']} px on a phone")
    check(found[1440]["map"] >= 760, f"{name}: map {found[1440]['map']} px on a laptop")
    check(found[390]["fold"] == [False, True], f"{name}: fold on a phone {found[390]['fold']}")
    check(found[1440]["fold"][0], f"{name}: the table is folded on a laptop")


def headings(page):
    return {re.sub(r"<[^>]*>", "", h).strip() for h in re.findall(r"<h[23]>(.*?)</h[23]>", page)}


def check_print(folder, name, path, paper, most, told):
    pages, size, words, heights = browser.printed(folder, path, paper)
    check(pages <= most, f"{name} on {paper}: {pages} pages")
    check(all(abs(a - b) < 2 for a, b in zip(size, PAPERS[paper])), f"{name} on {paper}: {size}")
    for word in told:
        check(word in words, f"{name} on {paper}: print is cut before {word!r}")
    with open(path, encoding="utf-8") as f:
        titles = headings(f.read())
    for page in words.split("\f"):
        last = [line.strip() for line in page.splitlines() if line.strip()][-1:]
        check(not last or last[0] not in titles, f"{name} on {paper}: {last} alone at the foot")
    return heights


def check_flight_line(folder, name, path, summary):
    """One page; the same decision, heights and places as everywhere."""
    with open(path, encoding="utf-8") as f:
        page = f.read()
    text = text_of(page)
    word = {"go": "GO", "no-go": "NO-GO", "undecided": "UNDECIDED"}[summary["decision"]]
    facts = [word, "A planning estimate. The range safety officer decides.", "mentor"]
    for post in summary["posts"]:
        facts += [f"{post['latitude']:.5f}, {post['longitude']:.5f}", feet(post["distance_m"], 10)]
    for altimeter, height in (("primary", "700 ft"), ("backup", "600 ft")):  # of the plan
        check(re.search(altimeter + r" ?: drogue at apogee \+ [01]\.0 s, main at " + height, text),
              f"{name}: flight line does not set the {altimeter}")
    for fact in facts:
        check(fact in text, f"{name}: flight line does not tell {fact!r}")
    posts = len(summary["posts"])
    check(page.count("<i>in place</i>") == posts, f"{name}: boxes for {posts} posts")
    check_alone(name + " flight line", page)
    for paper in PAPERS:
        check_print(folder, name + " flight line", path, paper, 1, ["mentor", "Who waits where"])


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
    for name in days:
        pages[name + " line"] = os.path.join(folders[name], "flight_line.html")
    for name in ("go", "no_go", "no_go line"):
        pages[name + " dark"] = browser.darkened(home, name.replace(" ", "_"), pages[name])
    found, console = browser.measure(home, pages)
    for line in console:
        check(False, f"console: {line}")
    for name in pages:
        check_layout(name, found[name])
    for name in days:
        page = read(folders[name], "report.html")
        check_first_screen(name, found[name])
        check_slider(name, found[name][390], len(summaries[name]["heights"]["trade"]))
        check_legend(name, found[name][390]["slider"])
        check_sizes(name, found[name])
        check_facts(name, text_of(page), summaries[name])
        check_flight_line(home, name, pages[name + " line"], summaries[name])
        check_alone(name, page)
    plain = re.sub(r"\s+", " ", browser.without_scripts(home, pages["no_go"]))
    check_facts("without scripts", plain, summaries["no_go"])
    check("Try another main height" not in plain, "the slider shows without scripts")
    for name in ("go", "no_go"):
        for paper in PAPERS:
            heights = check_print(home, name, pages[name], paper, 2,
                                  ["mentor", "wind.growth", "None.", "no canopy", "1500 ft"])
            # A word of the wind's drawing: 5 points of letters are 5.8 of line, DejaVu Sans. (M)
            check(heights.get("knots", 0) > 5.8, f"{name}: wind drawing of {heights.get('knots')} pt")

for failure in failures[:40]:
    print(failure)
sys.exit(1 if failures else 0)
