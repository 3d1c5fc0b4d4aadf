#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The JSON Schema of a plan against an outside validator (python3-jsonschema).

usage: test_schema.py PAPPUS SOURCE_DIR (tool_plan lies beside PAPPUS)
"""
import copy
import json
import os
import subprocess
import sys
import tempfile

import jsonschema

tool = os.path.join(os.path.dirname(sys.argv[1]), "tool_plan")
source = sys.argv[2]
failures = []


def check(good, what):
    if not good:
        failures.append(what)
        print("FAILED:", what)


def ask(*arguments):
    return subprocess.run([tool, *arguments], capture_output=True, text=True, check=True).stdout


def reads(plan):
    """True when the library takes the plan."""
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(plan, file)
        file.flush()
        return subprocess.run([tool, "read", file.name], capture_output=True).returncode == 0


def change(plan, path, value):
    """A copy of the plan with one place changed; value ... takes it away."""
    plan = copy.deepcopy(plan)
    node = plan
    for step in path[:-1]:
        node = node[step] if isinstance(step, int) else node.setdefault(step, {})
    if value is ...:
        del node[path[-1]]
    else:
        node[path[-1]] = value
    return plan


with open(os.path.join(source, "examples", "plan.schema.json"), encoding="utf-8") as file:
    kept = file.read()
check(kept == ask("schema"),
      "examples/plan.schema.json is not what the key table gives; write it anew by"
      " `tool_plan schema`")
schema = json.loads(kept)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
starter = json.loads(ask("starter"))

# Each leaf of the table is in the schema and the other way round.
table = [line.split("\t") for line in ask("keys").strip().splitlines()[1:]]


def schema_keys(node, path):
    forms = node.get("anyOf", [node])
    for form in forms:
        for name, below in form.get("properties", {}).items():
            key = f"{path}.{name}" if path else name
            for branch in below.get("anyOf", [below]):
                items = branch.get("items")
                if items:
                    yield key + "[]"
                    yield from schema_keys(items, key + "[]")
                else:
                    yield key
                    yield from schema_keys(branch, key)


differing = {row[0] for row in table} ^ set(schema_keys(schema, ""))
check(not differing, f"keys of table and schema differ: {sorted(differing)}")

# Right for both.
good = [
    ((), None),
    (("apogee", "height"), "5200 +/- 250 ft"),
    (("apogee", "height"), "5200 ft ± 250 ft"),
    (("apogee", "height"), {"mean": "5200 ft", "sd": "5 %"}),
    (("apogee", "height"), {"low": "5000 ft", "high": "5300 ft"}),
    (("apogee", "height"), {"low": "5000 ft", "mode": "5200 ft", "high": "5300 ft"}),
    (("apogee", "height"), {"mean": "5200 ft", "sd": "250 ft", "distribution": "lognormal"}),
    (("apogee", "bearing"), "240 degM"),
    (("apogee", "bearing"), "WSW"),
    (("rocket", "tumble_drag_area"), "0.06 m2 +/- 20 %"),
    (("rocket", "tumble_drag_area"), "90 sq in"),
    (("main", "drag_coefficient"), 0.78),
    (("main", "drag_coefficient"), "0.78 +/- 10 %"),
    (("main", "drag_coefficient"), {"mean": 0.78, "sd": 0.05}),
    (("site", "temperature"), "27 °C"),
    (("limits", "surface_wind"), None),
    (("limits", "surface_wind"), "off"),
    (("limits", "keep_out"), "1 %"),
    (("limits", "landing_energy"), "75 ft lbf"),
    (("limits", "opening_load"), "390 m/s^2"),
    (("wind", "profiles"), ["a.csv", {"file": "b.csv", "weight": 2}]),
    (("wind", "time"), "2027-04-17T15:00Z"),
    (("wind", "time"), "2027-04-17 10:00 -05:00"),
    (("site", "latitude"), "41 15.000 N"),
    (("units",), "si"),
    (("field", "keep_out"), "k.geojson"),
    (("field", "keep_out"), [{"name": "crowd", "bearing": "90 deg", "distance": "50 m",
                              "radius": "20 m"}]),
    (("field",), {"points": [[41, -96], [41.1, -96], [41, -96.2]]}),
    (("field",), {"points": [["41 00.000 N", "96 00.000 W"], [41.1, -96], [41, -96.2]]}),
    (("$schema",), "plan.schema.json"),
]
for path, value in good:
    plan = change(starter, path, value) if path else starter
    check(reads(plan), f"the reader refuses {path} = {value}")
    check(validator.is_valid(plan), f"the schema refuses {path} = {value}")

# Wrong for both.
bad = [
    (("apogee", "height"), 5200),
    (("apogee", "height"), "5200"),
    (("apogee", "height"), "1,000 ft"),
    (("apogee", "height"), "10 ft 3"),
    (("apogee", "height"), "5200 ft +/- 250"),
    (("apogee", "height"), {"mean": "5200 ft"}),
    (("apogee", "height"), {"mean": "5200 ft", "sd": 250}),
    (("apogee", "height"), {"low": "5200 ft", "mode": "5200 ft"}),
    (("apogee", "height"), {"mean": "5200 ft", "sd": "250 ft", "distribution": "gumbel"}),
    (("apogee", "bearing"), "240"),
    (("apogee", "bearing"), "sideways"),
    (("main", "type"), "parasol"),
    (("main", "diametre"), "96 inch"),
    (("mian",), {}),
    (("title",), 5),
    (("altimeters",), {}),
    (("altimeters", 0, "works"), 2),
    (("altimeters", 0, "hight"), "700 ft"),
    (("rocket", "sections", 0), "nose"),
    (("rocket", "sections", 0, "mass"), ...),
    (("run", "landings"), 50),
    (("run", "landings"), 1000.5),
    (("run", "seed"), -1),
    (("crews", "posts"), 21),
    (("wind", "profiles"), [5]),
    (("wind", "profiles"), [{"station": "DSM"}]),
    (("wind", "time"), "today"),
    (("field",), {"points": [[41, -96], [41.1, -96]]}),
    (("field",), {"points": [[41, -96], [41.1, -96], [41]]}),
    (("site",), ...),
    (("rocket", "mass"), ...),
    (("apogee", "height"), ...),
]
for path, value in bad:
    plan = change(starter, path, value)
    check(not reads(plan), f"the reader takes {path} = {value}")
    check(not validator.is_valid(plan), f"the schema takes {path} = {value}")
neither = change(change(starter, ("main",), ...), ("drogue",), ...)
check(not reads(neither) and not validator.is_valid(neither), "a plan without canopy is taken")

# A plan over a base need not have anything, and may take away by null.
check(validator.is_valid({"base": "whole.json", "drogue": None, "rocket": {"mass": "4 lb"}}),
      "the schema refuses a plan over a base")
check(not validator.is_valid({"base": "whole.json", "rocket": {"mas": "4 lb"}}),
      "the schema takes an unknown key over a base")

# Plans that come along as examples.
for folder, _, names in os.walk(os.path.join(source, "examples")):
    for name in names:
        if not name.endswith(".json") or name == "plan.schema.json":
            continue
        with open(os.path.join(folder, name), encoding="utf-8") as file:
            plan = json.load(file)
        if isinstance(plan, dict) and ("rocket" in plan or "base" in plan):
            for error in validator.iter_errors(plan):
                check(False, f"{name}: {list(error.path)}: {error.message}")

print(f"{len(good)} right and {len(bad)} wrong changes, {len(table)} keys,"
      f" {len(failures)} failures")
sys.exit(1 if failures else 0)
