# SPDX-License-Identifier: GPL-3.0-or-later
"""The map, measured: its own scale bar gives the scale, and with that scale posts, field
and contours lie where summary.json and the layers have them. map.png is compared with
the same drawing rendered by another engine (Chromium)."""
import json
import math
import os
import re
import struct
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

import numpy
from osgeo import gdal

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import browser

gdal.UseExceptions()
PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])
SVG = "{http://www.w3.org/2000/svg}"
FOOT_M = 0.3048  # international foot, exact
TENTH = 0.051    # units: numbers of the drawing have one decimal
failures = []


def check(truth, message):
    if not truth:
        failures.append(message)


def run(*arguments):
    done = subprocess.run([PAPPUS, *arguments, "--quiet"], stdout=subprocess.DEVNULL, check=False)
    check(done.returncode in (0, 3), f"{arguments}: exit status {done.returncode}")


def of_class(root, tag, name):
    return [e for e in root.iter(SVG + tag) if name in e.get("class", "").split()]


def points(path):
    """Rings of a path of M, L and Z with absolute coordinates."""
    rings = []
    for part in re.findall(r"M([^MZ]*)", path):
        rings.append([tuple(map(float, p.split())) for p in part.split("L")])
    return rings


def area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1])) / 2


def scale_of(root):
    """Units per metre, from the bars and their labels."""
    texts = {e.text: e for e in root.iter(SVG + "text")}
    bars = sorted(of_class(root, "rect", "m-bar"), key=lambda e: float(e.get("y")))
    feet = next(float(t[:-3]) for t in texts if re.fullmatch(r"\d+ ft", t))
    metres = next(float(t[:-2]) for t in texts if re.fullmatch(r"\d+ m", t))
    lengths = [sum(float(b.get("width")) for b in bars[i:i + 2]) for i in (0, 2)]
    scale = lengths[1] / metres
    # Two bars of two halves, each rounded to a tenth.
    check(abs(lengths[0] / (feet * FOOT_M) / scale - 1) < 4 * TENTH / min(lengths),
          f"the two scale bars differ: {lengths}")
    return scale, 4 * TENTH / max(lengths)


def check_places(root, summary):
    scale, relative = scale_of(root)
    x, y = map(float, re.match(r"M([\d.]+) ([\d.]+)", of_class(root, "path", "m-pad")[0].get("d"))
               .groups())
    y += 9  # the triangle's tip is 9 above the pad
    posts = [e for e in of_class(root, "rect", "m-post") if float(e.get("width")) < 10]
    check(len(posts) == len(summary["posts"]), f"{len(posts)} posts drawn")
    for drawn, post in zip(posts, summary["posts"]):
        half = float(drawn.get("width")) / 2
        east = (float(drawn.get("x")) + half - x) / scale
        north = (y - float(drawn.get("y")) - half) / scale
        slack = 0.2 / scale + relative * post["distance_m"]
        off = math.hypot(east - post["east_m"], north - post["north_m"])
        check(off < slack, f"post {off:.1f} m off, {slack:.1f} allowed")
    middle = re.match(r"M([\d.]+) ([\d.]+)", of_class(root, "path", "m-middle")[0].get("d"))
    mean = summary["all"]["mean"]
    off = math.hypot((float(middle.group(1)) - x) / scale - mean["east_m"],
                     (y - float(middle.group(2))) / scale - mean["north_m"])
    check(off < 0.2 / scale + relative * 1000, f"middle {off:.1f} m off")
    for i, level in enumerate((50, 90, 95)):
        path = next(e for e in root.iter(SVG + "path") if e.get("id") == f"line-{level}")
        drawn = sum(-area(r) for r in points(path.get("d"))) / scale ** 2  # y points down
        wanted = summary["all"]["contours"][i]["area_m2"]
        check(abs(drawn / wanted - 1) < 0.01 + 2 * relative,
              f"contour {level}: {drawn:.0f} m2 drawn, {wanted:.0f} in summary.json")


def check_field(root):
    """The field's area by the shoelace formula on the layer, in its own degrees."""
    with open(os.path.join(SOURCE, "examples", "field.geojson"), encoding="utf-8") as f:
        ring = json.load(f)["features"][0]["geometry"]["coordinates"][0][:-1]
    latitude = math.radians(ring[0][1])
    # Metres per degree, WGS 84 (a = 6378137 m, e2 = 0.00669438): radii of curvature.
    w = 1 - 0.00669438 * math.sin(latitude) ** 2
    east = math.radians(6378137 / math.sqrt(w) * math.cos(latitude))
    north = math.radians(6378137 * (1 - 0.00669438) / w ** 1.5)
    wanted = abs(area([(p[0] * east, p[1] * north) for p in ring]))
    scale, relative = scale_of(root)
    drawn = abs(area(points(of_class(root, "path", "m-bound")[0].get("d"))[0])) / scale ** 2
    check(abs(drawn / wanted - 1) < 0.003 + 2 * relative, f"field {drawn:.0f} m2, {wanted:.0f} m2")


def check_dots(root):
    dots = max(of_class(root, "path", "m-dots"), key=lambda e: len(e.get("d"))).get("d").count("h0")
    said = [re.match(r"(\d+) of 1000 dots", e.text or "") for e in root.iter(SVG + "text")]
    beyond = sum(int(m.group(1)) for m in said if m)
    check(dots + beyond == 1000, f"{dots} dots in the frame and {beyond} beyond it")


def check_words(root, surface, decision):
    texts = [e.text or "" for e in root.iter(SVG + "text")]
    for words in (surface, decision, "pad", "50 %", "90 %", "95 %", "Spectator line", "Farmstead",
                  "Mulberry Flat", "N", "A planning estimate. The range safety officer decides."):
        check(words in texts, f"the map does not say {words!r}")


def numbers(element, *names):
    return [float(element.get(n)) for n in names]


def inside(ring, x, y):
    """Even-odd rule: crossings of a ray."""
    pairs = zip(ring, ring[1:] + ring[:1])
    return sum((a[1] > y) != (b[1] > y) and
               a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) > x for a, b in pairs) % 2 == 1


def half_width(text, size=14):
    """Half of a name's width: DejaVu Sans Bold is 0.69 em a letter on average. (M)"""
    return 0.69 * size * len(text) / 2


def check_names(root):
    """The field's name lies within the field; a road's lies along the road, within a
    letter's height of it; every other name is in the frame."""
    field = points(of_class(root, "path", "m-bound")[0].get("d"))[0]
    frame = numbers(of_class(root, "rect", "m-frame")[0], "x", "y", "width", "height")
    name = of_class(root, "text", "m-green")[0]
    x, y = numbers(name, "x", "y")
    half = half_width(name.text)
    for corner in ((x - half, y), (x + half, y), (x - half, y - 11), (x + half, y - 11), (x, y - 5)):
        check(inside(field, *corner), f"{name.text!r} leaves its field at {corner}")
    roads = [[tuple(map(float, p.split())) for p in e.get("d")[1:].split("L")]
             for e in of_class(root, "path", "m-road")]
    for name in of_class(root, "text", "m-along"):
        x, y, turn = map(float, re.match(r"translate\(([-\d.]+) ([-\d.]+)\) rotate\(([-\d.]+)\)",
                                         name.get("transform")).groups())
        along = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        y, x = y - 5 * along[0], x + 5 * along[1]  # from the baseline to the letters' middle
        offs = []
        for share in (-1, -0.5, 0, 0.5, 1):
            at = [c + share * half_width(name.text, 12) * d for c, d in zip((x, y), along)]
            offs.append(min(distance(at, a, b) for road in roads for a, b in zip(road, road[1:])))
        check(max(offs) < 16, f"{name.text!r} is {max(offs):.0f} off its road")
    for name in of_class(root, "text", "m-label"):
        if name.get("x"):
            x, y = numbers(name, "x", "y")
            check(frame[0] < x < frame[0] + frame[2] and frame[1] < y < frame[1] + frame[3],
                  f"{name.text!r} is outside the frame")


def distance(p, a, b):
    """Of a point from a piece of line."""
    d = (b[0] - a[0], b[1] - a[1])
    share = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] ** 2 + d[1] ** 2)
    share = max(0, min(1, share))
    return math.hypot(p[0] - a[0] - share * d[0], p[1] - a[1] - share * d[1])


def check_margin(root):
    """Scale and north lie below the frame, where they cover nothing of the field."""
    y, height = numbers(of_class(root, "rect", "m-frame")[0], "y", "height")
    for bar in of_class(root, "rect", "m-bar"):
        check(float(bar.get("y")) >= y + height, "a scale bar lies on the map")


def check_sight(root, summary):
    """The middle is drawn after the posts and reaches further than half a post; the ellipse
    is that of the nominal landings."""
    order = [e for e in root.iter() if e.get("class", "").split()[:1] in (["m-post"], ["m-middle"])]
    kinds = [e.get("class") for e in order if e.tag.endswith("path") or float(e.get("width")) < 10]
    check("m-middle" in kinds and "m-post" not in kinds[kinds.index("m-middle"):],
          f"posts cover the middle: {kinds}")
    reach = abs(float(re.match(r"M\S+ [\d.]+h(-\d+)", of_class(root, "path", "m-middle")[0].get("d"))
                      .group(1)))
    check(reach > max(float(e.get("width")) / 2 for e in order
                      if e.tag.endswith("rect") and float(e.get("width")) < 10) + 2, "middle hidden")
    scale, _ = scale_of(root)
    wanted = next(e for e in summary["outcomes"]["nominal"]["ellipses"] if e["level"] == 0.95)
    drawn = of_class(root, "ellipse", "m-ellipse")[0]
    for name, key in (("rx", "minor_m"), ("ry", "major_m")):
        check(abs(float(drawn.get(name)) / scale / wanted[key] - 1) < 0.02, f"ellipse {name}")


def check_track(root, summary):
    """The track begins at the ring of the apogee and ends near the middle of the nominal
    landings, the diamond is on it."""
    track = points(of_class(root, "path", "m-track")[0].get("d"))[0]
    ring = of_class(root, "circle", "m-event")[0]
    check(math.dist(numbers(ring, "cx", "cy"), track[0]) < 0.2, "the track begins elsewhere")
    x, y = map(float, re.match(r"M([\d.]+) ([\d.]+)", of_class(root, "path", "m-event")[0].get("d"))
               .groups())
    check(min(distance((x, y + 6), a, b) for a, b in zip(track, track[1:])) < 0.5,
          "the main opens off the track")
    scale, _ = scale_of(root)
    pad = points(of_class(root, "path", "m-pad")[0].get("d").split("l")[0])[0][0]
    mean = summary["outcomes"]["nominal"]["mean"]
    end = [(track[-1][0] - pad[0]) / scale, (pad[1] + 9 - track[-1][1]) / scale]
    # A flight of mean values is not the mean of the flights: within a tenth of the way (A).
    check(math.dist(end, (mean["east_m"], mean["north_m"])) < 0.1 * math.hypot(*end),
          f"the track ends at {end}, the landings' middle is {mean}")


def check_patterns(root):
    """Without colour the lines still differ: by dash pattern or by width."""
    style = "".join(e.text for e in root.iter(SVG + "style"))
    looks = {}
    for name in ("m-c50", "m-c90", "m-c95", "m-ellipse", "m-track", "m-bound", "m-road"):
        rules = "".join(re.findall(r"\." + name + r"(?:,[^{]*)?\{([^}]*)\}", style))
        look = tuple(re.findall(r"stroke-(?:width|dasharray):([^;}]*)", rules))
        check(look not in looks.values(), f"{name} looks like another line: {look}")
        looks[name] = look
    outcomes = [re.findall(r"\.m-o%d\{[^}]*stroke-dasharray:([^;}]*)" % i, style) for i in range(5)]
    check(len({str(o) for o in outcomes}) == 5, f"outcomes share a dash pattern: {outcomes}")


def check_png(folder, root):
    path = os.path.join(folder, "map.png")
    with open(path, "rb") as f:
        width, height = struct.unpack(">II", f.read(24)[16:24])  # PNG, IHDR
    units = [float(root.get(k)) for k in ("width", "height")]
    check((width, height) == (1440, round(3 * units[1])), f"map.png is {width} by {height}")
    shot = os.path.join(folder, "..", "shot.png")
    browser.chromium(os.path.join(folder, ".."), f"--window-size={int(units[0])},{int(units[1])}",
                     "--force-device-scale-factor=1", f"--screenshot={shot}",
                     f"file://{folder}/map.svg")
    size = {"width": int(units[0]), "height": int(units[1])}
    ours = gdal.Translate("", path, format="MEM", resampleAlg="average", **size).ReadAsArray()[:3]
    other = gdal.Open(shot).ReadAsArray()[:3]
    if ours.shape != other.shape:  # a window is not narrower than the browser's own least
        other = other[:, :ours.shape[1], :ours.shape[2]]
    off = numpy.abs(ours.astype(float) - other).mean()
    # Edges of letters and lines differ between engines (2 to 3 of 255 here), a shape or
    # colour that is missing makes more, a blank picture 23.
    check(off < 6, f"librsvg and Chromium differ by {off:.1f} of 255")


def check_layers_only(home):
    folder = os.path.join(home, "scatter")
    run("scatter", os.path.join(SOURCE, "examples", "go_day.json"), "-o", folder,
        "--landings", "2000")
    for name in ("map.svg", "map.png", "report.html"):
        check(not os.path.exists(os.path.join(folder, name)), f"scatter writes {name}")


with tempfile.TemporaryDirectory() as home:
    cases = {"go_day": ("8.0 mph SW", "GO", ()), "no_go_day": ("7.2 m/s SSW", "NO-GO",
                                                              ("--units", "si"))}
    for name, (surface, decision, options) in cases.items():
        folder = os.path.join(home, name)
        run("brief", os.path.join(SOURCE, "examples", name + ".json"), "-o", folder,
            "--landings", "6000", *options)
        drawing = os.path.join(folder, "map.svg")
        check(os.path.getsize(drawing) < 400000, "map.svg is too large")
        subprocess.run(["xmllint", "--noout", drawing], check=True)
        root = ET.parse(drawing).getroot()
        with open(os.path.join(folder, "summary.json"), encoding="utf-8") as f:
            summary = json.load(f)
        check_places(root, summary)
        check_field(root)
        check_dots(root)
        check_words(root, surface, decision)
        check_names(root)
        check_margin(root)
        check_sight(root, summary)
        check_track(root, summary)
        check_patterns(root)
        check_png(folder, root)
    check_layers_only(home)

for failure in failures[:30]:
    print(failure)
sys.exit(1 if failures else 0)
