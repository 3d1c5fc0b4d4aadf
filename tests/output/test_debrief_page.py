# SPDX-License-Identifier: GPL-3.0-or-later
"""A debrief's page: the team's table holds what `debrief --json` holds, in the reader's units; the
histogram of ranks has the counts, and a band that is the binomial law's (outside reference:
SciPy); it fits the screen at 390, 820 and 1440 px and prints; text of a plan stays text."""
import json
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

from scipy.stats import binom

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import browser

PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])
SVG = "{http://www.w3.org/2000/svg}"
FOOT = 0.3048
failures = []


def check(truth, message):
    if not truth:
        failures.append(message)


def write(path, text):
    with open(path, "w", encoding="utf-8") as f:
        f.write(text if isinstance(text, str) else json.dumps(text))


def flown(seed):
    """The log of an invented flight (tool_flown.c)."""
    done = subprocess.run([os.path.join(os.path.dirname(PAPPUS), "tool_flown"), "mass=8.39",
                           "drogue=0.32", "main=3.2", f"apogee={1500 + 20 * seed}",
                           "main_shown=213", "elevation=612.6", "temperature=291.15", "rate=10",
                           f"seed={seed}"], capture_output=True, text=True, check=True)
    return done.stdout


def season(home):
    """Six invented flights: all there is, one without a place, one without a log, one whose main
    stayed in."""
    plan = {"base": os.path.join(SOURCE, "examples", "go_day.json"), "run": {"landings": 1000},
            "title": "A <b>bold</b> & long title, of a team that has a name of many words"}
    write(f"{home}/plan.json", plan)
    os.mkdir(f"{home}/flights")
    wind = os.path.join(SOURCE, "wind", "evening.csv")
    for i in range(6):
        record = {"time": f"2027-0{4 + i}-17T15:10Z", "profiles": [wind], "set": {"wind.age": "3 h"}}
        if i != 1:
            record["landing"] = {"latitude": f"{41.7635 + 0.002 * i} deg",
                                 "longitude": f"{-98.4350 + 0.001 * i} deg"}
        if i != 2:
            rows = flown(i).splitlines()
            write(f"{home}/flights/{i}.csv", "\n".join(rows[:len(rows) * 3 // 5] if i == 3 else rows))
            record["log"] = f"{i}.csv"
        write(f"{home}/flights/{i}.json", record)


def debrief(home, *arguments):
    done = subprocess.run([PAPPUS, "debrief", f"{home}/plan.json", *arguments, "--quiet"],
                          capture_output=True, text=True)
    check(done.returncode == 0 and not done.stderr, f"{arguments}: {done.returncode} {done.stderr}")
    return done.stdout


def page_of(home, name, *flights):
    path = f"{home}/{name}.html"
    found = json.loads(debrief(home, *flights, "--json", "-o", path))
    with open(path, encoding="utf-8") as f:
        page = f.read()
    return path, page, ET.fromstring(page.replace("<!DOCTYPE html>", "")), found


def rows_of(root, section):
    table = root.find(f".//section[@id='{section}']//table")
    return [["".join(cell.itertext()).replace("\u00a0", " ").strip() for cell in row]
            for row in table.find("tbody")]


def area(e):
    if e is None:
        return "-"
    return "{:.2f} ft2, {:.2f} to {:.2f}".format(*(e[k] / FOOT**2 for k in ("value", "low", "high")))


def check_table(root, found):
    rows = rows_of(root, "flights")
    check(len(rows) == len(found["flights"]), f"{len(rows)} rows")
    for row, f in zip(rows, found["flights"]):
        check(f["time"][:10] in row[0] and os.path.basename(f["record"]) in row[0], f"name {row[0]}")
        told = ["-" if f["apogee_m"] is None else f"{f['apogee_m'] / FOOT:.0f} ft",
                "-" if f["main_fired_shown_m"] is None
                else f"{f['main_fired_shown_m'] / FOOT:.0f} ft, set to 700 ft"]
        check(row[1:3] == told, f"{row[1:3]}, not {told}")
        rates = [p["rate_mps"]["value"] / FOOT for p in f["log"]["phases"]] if f["log"] else []
        check(row[3] == ("{:.1f}, then {:.1f} ft/s" if len(rates) == 2 else "{:.1f} ft/s" if rates
                         else "-").format(*rates), f"rates {row[3]}")
        told = [area(f["drogue_drag_area_m2"]), area(f["main_drag_area_m2"])]
        check(row[4:6] == told, f"{row[4:6]}, not {told}")
        told = "-" if f["time_aloft_s"] is None else \
            f"{f['time_aloft_s']:.0f} s, above {100 * f['share_below']['time_aloft']:.0f} %"
        check(row[6] == told, f"{row[6]}, not {told}")
        check((row[7] == "-") == (f["offset_m"] is None), f"offset {row[7]}")
        told = "-" if f["level"] is None else f"{100 * f['level']:.0f} %" if f["level"] < 1 else "none"
        check(row[8] == told, f"contour {row[8]}, not {told}")
        check(row[9] == (f["causes"]["most"] if f["causes"] else "-"), f"cause {row[9]}")
    known = rows_of(root, "known")
    check(len(known) == 1 + len(found["flights"]), f"{len(known)} rows of what is known")
    for row, f in zip(known[1:], found["flights"]):
        told = [area(f["known"]["drogue_drag_area_m2"]), area(f["known"]["main_drag_area_m2"])]
        check(row[1:3] == told, f"{row[1:3]}, not {told}")
    check(known[-1][2] == area(found["learned"]["main_drag_area_m2"]), "the last row is not learned")


def check_ranks(root, calibration):
    """The band's edges are the binomial law's with 5 % over the number of parts outside."""
    n, ranks = calibration["flights"], calibration["ranks"]
    ends = binom.ppf([0.025 / len(ranks), 1 - 0.025 / len(ranks)], n, 1 / len(ranks))
    check([calibration["ranks_low"], calibration["ranks_high"]] == list(ends),
          f"band {calibration['ranks_low']} to {calibration['ranks_high']}, by the law {ends}")
    check(sum(ranks) == n and len(ranks) == 5, f"ranks {ranks}")
    drawing = next(s for s in root.iter(f"{SVG}svg") if "Histogram" in s.get("aria-label"))
    bars = [float(r.get("height")) for r in drawing.iter(f"{SVG}rect")]
    most = max(range(len(ranks)), key=lambda i: ranks[i])
    check(len(bars) == len(ranks), f"{len(bars)} bars")
    for bar, count in zip(bars, ranks):
        check(abs(bar * ranks[most] - count * bars[most]) < 0.2 * ranks[most], f"bars {bars}: {ranks}")


with tempfile.TemporaryDirectory() as home:
    season(home)
    path, page, root, found = page_of(home, "season", f"{home}/flights")
    check("A &lt;b&gt;bold&lt;/b&gt; &amp; long title" in page and "<b>bold" not in page, "title is not text")
    check(not list(root.iter("script")), "a script")
    check_table(root, found)
    check_ranks(root, found["calibration"])
    check(found["calibration"]["flights"] == 5, "five have a landing")
    check("range safety officer" in page, "no caution")
    alone, *_ = page_of(home, "alone", f"{home}/flights/0.json")
    placeless, _, root, _ = page_of(home, "placeless", f"{home}/flights/1.json")
    drawn = [s.get("aria-label") for s in root.iter(f"{SVG}svg")]
    check(len(drawn) == 2 and "Histogram" not in str(drawn), f"without a place: {drawn}")
    seen, console = browser.measure(home, {"season": path, "alone": alone, "placeless": placeless})
    for name, widths in seen.items():
        for width, one in widths.items():
            for fault in (one or {"faults": ["not measured"]})["faults"]:
                check(False, f"{name} at {width}: {fault}")
    check(not console, f"console: {console}")
    pages, _, words, _ = browser.printed(home, path, "A4")
    check(pages <= 8, f"{pages} pages on A4")
    for word in ("Most by", "What is known after each flight", "In numbers", "range safety officer"):
        check(word in words, f"print lacks {word!r}")
    for f in found["flights"]:
        check(words.count(os.path.basename(f["record"])) >= 3, f"print is cut at {f['record']}")

for failure in failures[:30]:
    print(failure)
sys.exit(1 if failures else 0)
