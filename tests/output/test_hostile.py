# SPDX-License-Identifier: GPL-3.0-or-later
"""Hostile text from a plan comes out of every format as the same text: markup,
quotes, line ends, 10 kB, right-to-left. Characters that XML 1.0 forbids (section
2.2, Char) and bytes that are not UTF-8 (RFC 3629) become U+FFFD, one by one. A dbf
field holds 254 bytes and must not end inside a character. On a terminal no text
may move the cursor, turn the direction or widen the answer."""
import json
import os
import subprocess
import sys
import tempfile
import unicodedata
import xml.etree.ElementTree as ET

import shapefile
from osgeo import gdal, ogr

gdal.UseExceptions()
TOOL = os.path.join(os.path.dirname(sys.argv[1]), "tool_sample")
GPX, KML = "{http://www.topografix.com/GPX/1/1}", "{http://www.opengis.net/kml/2.2}"
TEXTS = [
    b"<script>alert('x')</script> & \"quotes\" ]]> <!-- %s %n \\ \\u0041",
    b"one\ntwo\ttabs, and ;DROP\r\nthree",
    "\u05e9\u05d3\u05d4 \u202eabc\u202c \u2067\u0645\u064a\u062f\u0627\u0646\u2069".encode(),
    ("\u00e9" * 5000).encode(),
    ("a" + "\u00e9" * 5000).encode(),
    ("\U0001F680" * 100).encode(),
    b"bell\x07 escape\x1b[31m low\x01 \x7f\xc2\x9b2J",
    b"broken \xff\xfe utf \xc3\x28 \xe2\x82 \xc0\xaf \xed\xa0\x80 \xef\xbf\xbf end",
    b" leading and trailing ",
    b"",
]
failures = []


def check(truth, message):
    if not truth:
        failures.append(message)


def is_xml_char(c):
    return c in "\t\n\r" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c >= "\U00010000"


def clean(raw):
    text, i = "", 0
    while i < len(raw):
        c, length = "\ufffd", 1
        for n in (1, 2, 3, 4):
            one = raw[i:i + n].decode("utf-8", "ignore")
            if len(one) == 1 and one.encode() == raw[i:i + n]:
                if is_xml_char(one):
                    c, length = one, n
                break
        text, i = text + c, i + length
    return text


def check_dbf(folder, expected):
    cut = expected.encode()[:254].decode("utf-8", "ignore")
    for name in ("boundary", "keep_outs", "roads"):
        with shapefile.Reader(f"{folder}/layers/{name}.shp", encoding="utf-8",
                              encodingErrors="strict") as reader:
            found = reader.record(0)["name"] or ""
        # A dbf pads with spaces, so spaces at the ends are not kept apart.
        check(found.strip() == cut.strip(), f"{name}.dbf: {found!r:.90}")
    with shapefile.Reader(f"{folder}/layers/landings.shp", encodingErrors="strict") as reader:
        found = reader.record(3)["keep_out"] or ""
        check(found.strip() == cut.strip(), f"landings.dbf: {found!r:.90}")
    source = ogr.Open(f"{folder}/layers/keep_outs.shp")
    check(source.GetLayer(0).GetFeatureCount() == 2, "keep_outs: GDAL")


def check_json(folder, expected):
    summary = json.load(open(f"{folder}/summary.json", encoding="utf-8"))
    check(summary["title"] == expected, f"summary: title {summary['title']!r:.90}")
    check(summary["limits"][1]["name"] == expected, "summary: name of a limit")
    check(summary["all"]["keep_out"][0]["name"] == expected, "summary: keep-out")
    posts = json.load(open(f"{folder}/layers/posts.geojson", encoding="utf-8"))
    check(posts["features"][0]["properties"]["road"] == expected, "posts.geojson: road")


def check_xml(folder, expected):
    gpx = ET.parse(f"{folder}/posts.gpx").getroot()
    check((gpx.find(f"{GPX}metadata/{GPX}name").text or "") == expected, "gpx: name")
    post = gpx.findall(f"{GPX}wpt/{GPX}desc")[1].text
    check(post.endswith((", on " if expected else "") + expected), f"gpx: road {post!r:.90}")
    kml = ET.parse(f"{folder}/zone.kml").getroot()
    check((kml.find(f"{KML}Document/{KML}name").text or "") == expected, "kml: name")
    names = [name.text or "" for name in kml.iter(KML + "name")]
    check(names.count(expected) >= 2, "kml: names of areas")


def check_terminal(printed):
    text = printed.decode("utf-8", "strict")
    lines = text.split("\n")
    check(len(lines) <= 24, f"terminal: {len(lines)} lines")
    for line in lines:
        check(len(line) <= 78, f"terminal: {len(line)} columns")
        for c in line:
            bad = unicodedata.category(c) == "Cc" or c in "\u202a\u202b\u202c\u202d\u202e" \
                "\u2066\u2067\u2068\u2069"
            check(not bad, f"terminal: U+{ord(c):04X}")
    check(lines[0].startswith("NO-GO"), "terminal: the decision comes first")


with tempfile.TemporaryDirectory() as home:
    for i, raw in enumerate(TEXTS):
        folder = f"{home}/{i}"
        run = subprocess.run([TOOL.encode(), folder.encode(), b"landings=700", b"text=" + raw],
                             check=True, stdout=subprocess.PIPE)
        expected = clean(raw)
        check_dbf(folder, expected)
        check_json(folder, expected)
        check_xml(folder, expected)
        check_terminal(run.stdout)

for failure in failures[:20]:
    print(failure)
sys.exit(1 if failures else 0)
