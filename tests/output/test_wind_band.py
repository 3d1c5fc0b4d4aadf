#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The band of a wind drawing against scipy: the speed of a wind whose components
are normal with one standard deviation has Rice's distribution (Rice, 1945). The
prior at the top of the drawing (2000 m, the level's own wind of 9.6 m/s) has
sd^2 = 1.0^2 + (1.5 * 2^(1/3))^2 per component for winds two hours old."""
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET

from scipy.stats import rice

SVG = "{http://www.w3.org/2000/svg}"
MPS_PER_MPH = 0.44704


def outline(band):
    """Points of one closed outline of M and L with absolute coordinates."""
    data = re.fullmatch(r"M([^MZ]*)Z", band.get("d")).group(1)
    return [tuple(map(float, p.split())) for p in data.split("L")]


def main(program, source):
    tool = os.path.join(os.path.dirname(program), "tool_wind_files")
    text = subprocess.run([tool, "air", os.path.join(source, "wind", "evening.csv")],
                          capture_output=True, text=True, check=True).stdout
    root = ET.fromstring(text)
    # the axis as drawn: numbers under the speed panel
    marks = [(float(t.text), float(t.get("x"))) for t in root.iter(SVG + "text")
             if t.get("class") == "label middle" and re.fullmatch(r"\d+", t.text or "")]
    assert len(marks) >= 3, marks
    (s0, x0), (s1, x1) = marks[0], marks[-1]

    def mps(x):
        return (s0 + (x - x0) * (s1 - s0) / (x1 - x0)) * MPS_PER_MPH

    bands = [p for p in root.iter(SVG + "path") if p.get("class") == "prior speed"]
    assert len(bands) == 1
    points = outline(bands[0])
    top = min(y for _, y in points)
    low, high = sorted(mps(x) for x, y in points if y == top)
    sd = (1.0 + (1.5 * 2 ** (1 / 3)) ** 2) ** 0.5
    expected = rice(9.6 / sd, scale=sd)
    # 51 x 51 quantiles in place of the distribution, and a drawing of 0.1 px
    for name, drawn, p in (("5 %", low, 0.05), ("95 %", high, 0.95)):
        error = drawn - expected.ppf(p)
        print(f"{name}: drawn {drawn:.3f} m/s, Rice {expected.ppf(p):.3f} m/s")
        assert abs(error) < 0.05 * sd, name
    after = [p for p in root.iter(SVG + "path") if p.get("class") == "after speed"]
    assert len(after) == 1

    def width(band):
        xs = outline(band)
        bottom = max(y for _, y in xs)
        ends = [x for x, y in xs if bottom - 40 < y]
        return max(ends) - min(ends)

    # a measured surface wind narrows the band near the ground
    assert width(after[0]) < width(bands[0])


main(sys.argv[1], sys.argv[2])
