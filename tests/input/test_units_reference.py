#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Units against two outside references: exact fractions of Python's standard
library from the defining constants (international yard and pound 1959, nautical
mile, standard gravity), and the udunits2 program for units that it means the same
way.

usage: test_units_reference.py PAPPUS SOURCE_DIR (tool_plan lies beside PAPPUS)
"""
import os
import random
import re
import shutil
import subprocess
import sys
from fractions import Fraction as F

tool = os.path.join(os.path.dirname(sys.argv[1]), "tool_plan")
failures = []

FOOT, POUND, G = F("0.3048"), F("0.45359237"), F("9.80665")
INCH, YARD, MILE, NMI, LBF = FOOT / 12, 3 * FOOT, 5280 * FOOT, F(1852), POUND * G
exact = {
    "LENGTH": {"m": F(1), "ft": FOOT, "inch": INCH, "in": INCH, "yd": YARD, "mi": MILE,
               "nmi": NMI, "km": F(1000), "cm": F("0.01"), "mm": F("0.001")},
    "SPEED": {"m/s": F(1), "ft/s": FOOT, "fps": FOOT, "mph": MILE / 3600, "kt": NMI / 3600,
              "kts": NMI / 3600, "kph": F(1000, 3600), "km/h": F(1000, 3600),
              "ft/min": FOOT / 60, "yd/s": YARD},
    "MASS": {"kg": F(1), "g": F("0.001"), "lb": POUND, "oz": POUND / 16, "slug": LBF / FOOT},
    "TIME": {"s": F(1), "min": F(60), "h": F(3600), "ms": F("0.001"), "day": F(86400)},
    "PRESSURE": {"Pa": F(1), "hPa": F(100), "mb": F(100), "psi": LBF / INCH**2,
                 "psf": LBF / FOOT**2, "bar": F(100000), "atm": F(101325)},
    "FORCE": {"N": F(1), "lbf": LBF, "kgf": G, "kN": F(1000)},
    "ENERGY": {"J": F(1), "ft lbf": FOOT * LBF, "N m": F(1), "kJ": F(1000)},
    "AREA": {"m2": F(1), "ft2": FOOT**2, "in2": INCH**2, "sq ft": FOOT**2, "cm2": F("0.0001"),
             "yd2": YARD**2, "acre": 4840 * YARD**2, "ha": F(10000)},
    "LOAD": {"g": F(1), "m/s2": 1 / G, "ft/s2": FOOT / G},
    "DENSITY": {"kg/m3": F(1), "lb/ft3": POUND / FOOT**3, "g/cm3": F(1000)},
}
offsets = {"degC": (F("273.15"), F(1)), "degF": (F("459.67"), F(5, 9)), "K": (F(0), F(1))}

draw = random.Random(1)
rows, expected = [], []
for dimension, units in exact.items():
    for unit, factor in units.items():
        for _ in range(8):
            number = f"{draw.choice(['', '-'])}{draw.randrange(10**6)}.{draw.randrange(10**4):04d}"
            if draw.random() < 0.3:
                number += f"e{draw.randrange(-6, 7)}"
            rows.append(f"{dimension}\t{number} {unit}")
            expected.append(F(number) * factor)
for unit, (offset, factor) in offsets.items():
    for _ in range(20):
        number = f"{draw.randrange(-1000, 1000) / 10:.1f}"
        rows.append(f"TEMPERATURE\t{number} {unit}")
        expected.append((F(number) + offset) * factor)


def read(lines):
    answer = subprocess.run([tool, "value"], input="\n".join(lines) + "\n", capture_output=True,
                            text=True, check=True).stdout.split("\n")[:-1]
    assert len(answer) == len(lines), (len(answer), len(lines))
    return answer


for row, got, want in zip(rows, read(rows), expected):
    # A number read, a factor and their product: at most four roundings of 2^-53. A
    # temperature is a sum first, whose terms bound its rounding.
    scale = abs(want) + (600 if row.startswith("TEMPERATURE") else 0)
    if got == "refused" or abs(F(float(got)) - want) > 4 * F(1, 2**53) * scale:
        failures.append(f"{row}: {got}, exact {float(want)!r}")

# The udunits2 program: only words it means as flyers do.
same = {"LENGTH": ("m", ["ft", "inch", "mi", "km", "furlong", "chain", "micron", "nautical_mile"]),
        "SPEED": ("m/s", ["ft/s", "km/h", "knot", "ft/min", "cm/s", "mi/h"]),
        "MASS": ("kg", ["lb", "g", "mg", "grain"]),
        "PRESSURE": ("Pa", ["psi", "hPa", "kPa", "inHg", "mmHg", "bar", "torr"]),
        "FORCE": ("N", ["lbf", "kgf", "kN", "dyne"]),
        "ENERGY": ("J", ["ft lbf", "kJ", "W h", "erg"]),
        "AREA": ("m2", ["ft2", "in2", "cm2", "hectare"]),
        "TIME": ("s", ["min", "h", "ms", "week"])}
compared = 0
if shutil.which("udunits2"):
    for dimension, (base, units) in same.items():
        for unit in units:
            text = subprocess.run(["udunits2", "-H", unit, "-W", base], capture_output=True,
                                  text=True, check=False, env={**os.environ, "LC_ALL": "C"}).stdout
            found = re.search(r"1 .* = ([-+0-9.eE]+)", text)
            got = read([f"{dimension}\t1 {unit}"])[0]
            compared += 1
            # It prints its factors to 6 digits or more.
            if not found or got == "refused":
                failures.append(f"{unit}: {got}, udunits2 says {text!r}")
            elif abs(float(got) / float(found.group(1)) - 1) > 1e-5:
                failures.append(f"{unit}: {got}, udunits2 {found.group(1)}")
else:
    print("SKIPPED: no udunits2 program on this machine")

for failure in failures:
    print("FAILED:", failure)
print(f"{len(rows)} values against exact fractions, {compared} units against udunits2,"
      f" {len(failures)} failures")
sys.exit(1 if failures else 0)
