# SPDX-License-Identifier: GPL-3.0-or-later
"""A season's page and footprint: the page fits the screen at 390, 820 and 1440 px, its drawings
hold the numbers of season.json, text of a plan stays text; the footprint's layers read alike by
pyshp and as GeoJSON (RFC 7946), with the areas that season.json tells (outside reference:
Shapely, on the local plane)."""
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

import shapefile
from shapely.geometry import shape
from shapely.ops import transform

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import browser

PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])
failures = []
SVG = "{http://www.w3.org/2000/svg}"


def check(truth, message):
    if not truth:
        failures.append(message)


def write(path, text):
    with open(path, "w", encoding="utf-8") as f:
        f.write(text)


def read(path):
    with open(path, encoding="utf-8") as f:
        return f.read()


def archive(days):
    """Invented: every fifth day, so that all months are there."""
    rows = ["height_agl_m,direction_deg,speed_mps,time"]
    for i in range(days):
        for z, factor in ((10, 1.0), (500, 1.3), (2500, 1.6)):
            speed = factor * (4.0 + 3.2 * math.sin(1.3 * i))
            rows.append(f"{z},{(200 + 31 * i) % 360},{speed:.2f},"
                        f"2026-{1 + i % 12:02d}-{1 + i // 12:02d}T{6 * (i % 3):02d}:00Z")
    return "\n".join(rows) + "\n"


with tempfile.TemporaryDirectory() as home:
    plan = {"base": os.path.join(SOURCE, "examples", "go_day.json"), "title": "A <b>bold</b> & long title",
            "wind": {"profiles": None, "surface": None, "age": None},
            "field": {"boundary": None, "roads": None, "radius": "800 m", "keep_out": [
                {"name": "car park", "bearing": "90 deg", "distance": "500 m", "radius": "60 m"}]}}
    write(f"{home}/plan.json", json.dumps(plan))
    write(f"{home}/other.json", json.dumps({"base": "plan.json", "limits": {"surface_wind": "6 mph"}}))
    write(f"{home}/days.csv", archive(72))
    done = subprocess.run([PAPPUS, "season", f"{home}/plan.json", f"{home}/other.json", f"{home}/days.csv",
                           "-n", "400", "-o", f"{home}/out", "--quiet"], capture_output=True, text=True)
    check(done.returncode == 0, done.stderr)
    found = json.loads(read(f"{home}/out/season.json"))
    page = read(f"{home}/out/season.html")
    check("A &lt;b&gt;bold&lt;/b&gt; &amp; long title" in page and "<b>bold" not in page, "title is not text")
    root = ET.fromstring(page.replace("<!DOCTYPE html>", ""))
    drawings = root.findall(f".//{SVG}svg")
    check(len(drawings) == 8, f"{len(drawings)} drawings")
    for k, name in enumerate(("plan", "other")):
        months = {g["month"]: g for g in found["months"] if g["plan"] == name}
        cells = {(g["month"], g["hour"]): g for g in found["groups"] if g["plan"] == name}
        hours = sorted({h for _, h in cells})
        numbers = [t.text for t in drawings[4 * k].iter(f"{SVG}text") if "s-number" in t.get("class", "")]
        meant = [f"{100 * cells[m, h]['go']['value']:.0f}" for h in hours for m in range(1, 13) if (m, h) in cells]
        meant += [f"{100 * months[m]['go']['value']:.0f}" for m in range(1, 13) if m in months]
        check(numbers == meant, f"{name}: hours are {numbers}, not {meant}")
        numbers = [t.text for t in drawings[4 * k + 1].iter(f"{SVG}text") if "s-number" in t.get("class", "")]
        count = len(months[1]["height_days"])
        meant = [f"{100 * months[m]['height_days'][h] / months[m]['days']:.0f}"
                 for h in range(count) for m in range(1, 13)]
        check(sorted(numbers) == sorted(meant), f"{name}: heights are {numbers}, not {meant}")
        framed = sum(m["best_main_m"] is not None for m in months.values())
        frames = [r for r in drawings[4 * k + 1].iter(f"{SVG}rect") if r.get("class") == "s-best"]
        check(len(frames) == framed, f"{name}: {len(frames)} frames, {framed} best heights")

    # a degree on the sphere of the place is off by 0.3 % at most, WGS 84's own by less
    lat = 41.7625
    north = 111132.92 - 559.82 * math.cos(math.radians(2 * lat)) + 1.175 * math.cos(math.radians(4 * lat))
    east = 111412.84 * math.cos(math.radians(lat)) - 93.5 * math.cos(math.radians(3 * lat))
    features = json.loads(read(f"{home}/out/layers/footprint.geojson"))["features"]
    told = [(p["plan"], c["level"], c["area_m2"]) for p in found["plans"] for c in p["footprint"]]
    check(len(features) == len(told) and len(told) >= 6, f"{len(features)} features, {len(told)} told")
    records = shapefile.Reader(f"{home}/out/layers/footprint.shp")
    for feature, record, (name, level, area) in zip(features, records.iterShapeRecords(), told):
        one = shape(feature["geometry"])
        flat = transform(lambda x, y: (x * east, y * north), one)
        check(one.is_valid and feature["properties"]["plan"] == name and
              feature["properties"]["level"] == level, f"{name} {level}: {feature['properties']}")
        check(abs(flat.area / area - 1) < 0.003, f"{name} {level}: {flat.area} m2, told {area}")
        other = shape(record.shape.__geo_interface__)
        check(abs(other.area / one.area - 1) < 1e-6, f"{name} {level}: shapefile and GeoJSON differ")
        check(record.record["level"] == level and record.record["plan"] == name, "shapefile's table")
        check(abs(feature["properties"]["share"] - level) < 0.02, f"share {feature['properties']}")

    seen, console = browser.measure(home, {"season": f"{home}/out/season.html"})
    for width, one in seen["season"].items():
        for fault in (one or {"faults": ["not measured"]})["faults"]:
            check(False, f"page at {width}: {fault}")
    check(not console, f"console: {console}")

for failure in failures[:30]:
    print(failure)
sys.exit(1 if failures else 0)
