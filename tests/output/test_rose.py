# SPDX-License-Identifier: GPL-3.0-or-later
"""The rose of the winds that are go, and the frame of the map near the pad, measured on the
drawings of a report against its summary.json: geometry worked out here (X)."""
import json
import math
import os
import re
import sys
import tempfile

SOURCE = os.path.abspath(sys.argv[2])
sys.path.insert(0, os.path.join(SOURCE, "tests", "cli"))
from helpers import demo_plan, run

NUMBER = r"(-?[\d.]+)"
failures = []


def check(truth, *seen):
    if not truth:
        failures.append(seen)


def numbers(text):
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]


def polar(x, y, middle):
    """Distance from the middle, and bearing clockwise from up."""
    dx, dy = x - middle[0], middle[1] - y
    return math.hypot(dx, dy), math.degrees(math.atan2(dx, dy)) % 360


def near_deg(a, b, by):
    return abs((a - b + 180) % 360 - 180) <= by


def check_rose(svg, summary):
    ground = re.search(rf'<circle cx="{NUMBER}" cy="{NUMBER}" r="{NUMBER}" class="r-ground"', svg)
    middle, rim = (float(ground[1]), float(ground[2])), float(ground[3])
    ceiling, reading = summary["ceiling"], summary["stamp"]["surface_wind"]
    go = [row for row in ceiling["directions"] if row["go"]]
    sectors = [numbers(d) for d in re.findall(r'class="r-go" d="([^"]*)"', svg)]
    check(len(sectors) == len(go) > 0, "sectors", len(sectors), len(go))
    # the scale from today's dot: its distance is the reading
    dot = re.findall(rf'<circle cx="{NUMBER}" cy="{NUMBER}" r="4.5" class="r-dot"', svg)[0]
    at, bearing = polar(float(dot[0]), float(dot[1]), middle)
    per_mps = at / reading["speed_mps"]
    check(near_deg(bearing, reading["direction_deg"], 0.2), "today from", bearing)
    check(at < rim, "today beyond the rim")
    for row, d in zip(go, sectors):
        inner, a = polar(d[0], d[1], middle)
        outer, a_out = polar(d[2], d[3], middle)
        b = polar(d[9], d[10], middle)[1]
        check(abs(outer - row["surface_wind_mps"] * per_mps) < 0.3, "reach", row, outer)
        check(abs(inner - row["floor_mps"] * per_mps) < 0.3, "floor", row, inner)
        check(near_deg(a_out, row["wind_from_deg"] - 15, 0.3), "one side", row, a_out)
        check(near_deg(b, row["wind_from_deg"] + 15, 0.3), "other side", row, b)
    turns = [numbers(d) for d in re.findall(r'class="r-turn" d="([^"]*)"', svg)]
    check(len(turns) == sum(row["reached"] for row in go), "turns", len(turns))
    gust = re.findall(rf'<line x1="{NUMBER}" y1="{NUMBER}" x2="{NUMBER}" y2="{NUMBER}" '
                      'class="r-gust"', svg)[0]
    reach = polar(float(gust[2]), float(gust[3]), middle)[0]
    check(abs(reach - reading["gust_mps"] * per_mps) < 0.3, "gust", reach)


def frame(svg, name):
    return [float(n) for n in re.search(rf'<rect x="{NUMBER}" y="{NUMBER}" width="{NUMBER}" '
                                        rf'height="{NUMBER}" class="{name}"', svg).groups()]


def check_inset(overview, near):
    """The dashed frame in the overview is the ground of the map near the pad: the pad lies in
    both at the same part of the width, and both have one shape."""
    box, whole = frame(overview, "m-inset"), frame(near, "m-frame")
    pads = [float(re.search(rf'class="m-pad" d="M{NUMBER}', svg)[1]) for svg in (overview, near)]
    parts = [(x - f[0]) / f[2] for x, f in zip(pads, (box, whole))]
    check(abs(parts[0] - parts[1]) < 0.003, "pad in the frame", parts)
    check(abs(box[2] / box[3] - whole[2] / whole[3]) < 0.01, "shape", box, whole)
    check(whole[2] / box[2] > 2, "the near map is no larger", whole, box)


with tempfile.TemporaryDirectory() as home:
    plan, out = os.path.join(home, "plan.json"), os.path.join(home, "out")
    with open(plan, "w", encoding="utf-8") as f:
        json.dump(demo_plan("no_go_day.json"), f)
    run("brief", plan, "-n", "3000", "--quiet", "-o", out)
    with open(os.path.join(out, "report.html"), encoding="utf-8") as f:
        drawings = re.findall(r'<svg[^>]*class="pappus".*?</svg>', f.read(), re.S)
    with open(os.path.join(out, "summary.json"), encoding="utf-8") as f:
        answer = json.load(f)
    check_rose(next(d for d in drawings if "r-ground" in d), answer)
    inset = [d for d in drawings if 'class="m-inset"' in d]
    maps = [d for d in drawings if 'class="m-pad"' in d and 'class="m-inset"' not in d]  # zone, outcomes, hazard
    check(len(inset) == 1 and len(maps) == 3, "maps", len(inset), len(maps))
    check_inset(inset[0], maps[1])

for failure in failures[:20]:
    print(*failure)
sys.exit(1 if failures else 0)
