# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job through the program: demo days, layers read back by GDAL and by
pyshp, the count inside recounted by shapely, threads, bad input."""
import filecmp
import os

import shapefile
from osgeo import ogr, osr
from scipy.stats import binom
from shapely.geometry import Point, shape
from shapely.prepared import prep

from helpers import Case, demo_plan, json, main, read_json, run

ogr.UseExceptions()

LANDING_FIELDS = ["id", "outcome", "weight", "east_m", "north_m", "time_s", "speed_mps", "vz_mps",
                  "energy_j", "inside", "keep_out", "main_m"]
ZONE_FIELDS = ["outcome", "level", "share", "major_m", "minor_m", "bearing", "area_m2"]


def tree(folder):
    return sorted(os.path.relpath(os.path.join(at, name), folder)
                  for at, _, names in os.walk(folder) for name in names)


class Demo(Case):
    def brief(self, day, *options, expect):
        status, out, err = run("brief", self.write("plan.json", demo_plan(day)), "-o",
                               self.path("out"), *options)
        self.assertEqual(status, expect, err)
        return out, read_json(self.path("out/summary.json"))

    def test_go_day(self):
        out, summary = self.brief("go_day.json", expect=0)
        self.assertEqual(summary["decision"], "go")
        self.assertLessEqual(len(out.splitlines()), 14)  # read in seconds: half a screen
        self.assertLessEqual(max(len(line) for line in out.splitlines()), 80)
        self.assertIn("GO", out.splitlines()[0])

    def test_no_go_day(self):
        out, summary = self.brief("no_go_day.json", expect=3)
        self.assertEqual(summary["decision"], "no-go")
        self.assertTrue(any(l["verdict"] == "broken" for l in summary["limits"]))
        self.assertIn("NO-GO", out.splitlines()[0])

    def test_a_tie_is_left_open_and_the_cap_is_said(self):
        """The bound is put on the very share that the last look finds: no interval clears it."""
        plan = self.write("plan.json", demo_plan("no_go_day.json"))
        once = json.loads(run("scatter", plan, "-n", "48000", "--json")[1])
        share = once["all"]["inside_field"]["value"]
        out, summary = self.brief("no_go_day.json", "-n", "3000", "--set",
                                  f"limits.inside_field={share:.6f}", expect=4)
        self.assertAlmostEqual(summary["all"]["inside_field"]["value"], share, delta=1e-9)
        self.assertTrue(summary["capped"])
        self.assertEqual(summary["looks"], 5)
        landings = summary["all"]["landings"]
        self.assertEqual(landings, 3000 * 2 ** 4)
        self.assertIn(f"still open after {landings} landings", out)
        with open(self.path("out/report.html"), encoding="utf-8") as f:
            self.assertIn(f"{landings} landings were sampled, the most that are", f.read())

    def test_layers_by_gdal_and_pyshp(self):
        _, summary = self.brief("go_day.json", expect=0)
        layers = self.path("out/layers")
        for name, fields in (("landings", LANDING_FIELDS), ("ellipses", ZONE_FIELDS),
                             ("contours", ZONE_FIELDS)):
            source = ogr.Open(os.path.join(layers, name + ".shp"))
            layer = source.GetLayer(0)
            definition = layer.GetLayerDefn()
            self.assertEqual([definition.GetFieldDefn(i).GetName()
                              for i in range(definition.GetFieldCount())], fields)
            wgs84 = osr.SpatialReference()
            wgs84.ImportFromEPSG(4326)
            wgs84.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
            self.assertTrue(layer.GetSpatialRef().IsSame(wgs84))
            with shapefile.Reader(os.path.join(layers, name + ".shp"), encoding="utf-8") as reader:
                self.assertEqual(len(reader), layer.GetFeatureCount())
            for suffix in (".shx", ".dbf", ".prj", ".cpg"):
                self.assertTrue(os.path.exists(os.path.join(layers, name + suffix)))
        source = ogr.Open(os.path.join(layers, "landings.shp"))  # a layer dies with its source
        landings = source.GetLayer(0)
        self.assertEqual(landings.GetFeatureCount(), summary["all"]["landings"])
        west, east, south, north = landings.GetExtent()
        self.assertTrue(-98.6 < west < east < -98.3 and 41.65 < south < north < 41.95)

    def recount(self, day, expect):
        """The share inside the field and on each keep-out, recounted by shapely on
        the written layers, against the summary."""
        _, summary = self.brief(day, expect=expect)
        layers = self.path("out/layers/")
        with shapefile.Reader(layers + "boundary.shp", encoding="utf-8") as reader:
            outline = shape(reader.shape(0).__geo_interface__)
        with shapefile.Reader(layers + "keep_outs.shp", encoding="utf-8") as reader:
            areas = {r.record["name"]: prep(shape(r.shape.__geo_interface__))
                     for r in reader.iterShapeRecords()}
        field = prep(outline)
        inside, differing, hits = 0.0, [], dict.fromkeys(areas, 0.0)
        count = {(name, outcome): 0 for name in areas for outcome in summary["outcomes"]}
        with shapefile.Reader(layers + "landings.shp", encoding="utf-8") as reader:
            total = len(reader)
            for item in reader.iterShapeRecords():
                point = Point(item.shape.points[0])
                weight = item.record["weight"]
                inside += weight * bool(item.record["inside"])
                if field.contains(point) != bool(item.record["inside"]):
                    differing.append(point)
                for name, area in areas.items():
                    hits[name] += weight * area.contains(point)
                    count[name, item.record["outcome"]] += area.contains(point)
        self.assertEqual(total, summary["all"]["landings"])
        # Edges are straight on the plane of the pad; as written, in degrees, they follow that
        # to a millimetre. Points that near to one may differ, of 20000 over a kilometre: none
        # expected, one allowed.
        for point in differing:
            self.assertLess(outline.exterior.distance(point), 0.002 / 111e3)
        self.assertLessEqual(len(differing), 1)
        # weights are written with finitely many digits: 1e-6 of a probability
        self.assertAlmostEqual(inside, summary["all"]["inside_field"]["value"], delta=1e-6)
        # What was hit 50 times in every outcome is counted; else landings were led there, and
        # the count must not contradict their chance (exact binomial tails, 1 in 1000).
        for i, row in enumerate(summary["all"]["keep_out"]):
            if all(count[row["name"], outcome] >= 50 for outcome in summary["outcomes"]):
                self.assertAlmostEqual(hits[row["name"]], row["value"], delta=1e-6)
            for outcome, zone in summary["outcomes"].items():
                seen, given = count[row["name"], outcome], zone["keep_out"][i]
                self.assertGreater(binom.sf(seen - 1, zone["landings"], given["high"]), 1e-3)
                self.assertGreater(binom.cdf(seen, zone["landings"], given["low"]), 1e-3)

    def test_recount_go(self):
        self.recount("go_day.json", 0)

    def test_recount_no_go(self):
        self.recount("no_go_day.json", 3)

    def test_same_bytes_for_any_threads(self):
        plan = self.write("plan.json", demo_plan())
        for threads in ("1", "2"):
            status, _, err = run("brief", plan, "-o", self.path("out" + threads), "-n", "4000",
                                 "--threads", threads)
            self.assertIn(status, (0, 3, 4), err)
        names = tree(self.path("out1"))
        self.assertEqual(names, tree(self.path("out2")))
        self.assertGreater(len(names), 10)
        for name in names:
            self.assertTrue(filecmp.cmp(self.path("out1/" + name), self.path("out2/" + name),
                                        shallow=False), name)

    def test_a_seed_changes_the_landings_and_a_setting_the_answer(self):
        plan = self.write("plan.json", demo_plan())
        means = []
        for options in (("--seed", "1"), ("--seed", "2"),
                        ("--set", "wind.surface.speed=18 mph")):
            status, out, err = run("scatter", plan, "--json", "-n", "4000", *options)
            self.assertEqual(status, 0, err)
            means.append(json.loads(out)["all"]["mean"])
        self.assertNotEqual(means[0], means[1])
        self.assertGreater(means[2]["east_m"], means[0]["east_m"] + 20.0)

    def test_units_of_the_plan(self):
        plan = demo_plan("go_day.json")
        plan["units"] = "si"
        plan = self.write("plan.json", plan)
        shown = [run("brief", plan, "-n", "2000", *options)[1]
                 for options in ((), ("--units", "si"), ("--units", "us"),
                                 ("--set", "units=null"))]
        self.assertEqual(shown[0], shown[1])
        self.assertEqual(shown[2], shown[3])
        self.assertIn(" m/s", shown[0])
        self.assertNotIn(" mph", shown[0])
        self.assertIn(" mph", shown[2])
        # a warning too: the profile of 3 km under an apogee of 6 km
        high = ("--set", "apogee.height=6000 m +/- 100 m", "-n", "2000")
        self.assertRegex(run("scatter", plan, *high)[2], r"ends \d+ m above")
        self.assertRegex(run("scatter", plan, *high, "--units", "us")[2], r"ends \d+ ft above")

    def test_a_plan_without_nominal_flights(self):
        """A main that always comes out early: no flight goes as planned, and what is judged by
        planned ones is left open; the field is broken all the same."""
        for command in ("brief", "heights", "ceiling", "crews"):
            status, out, err = run(command, self.write("plan.json", demo_plan("go_day.json")),
                                   "-n", "2000", "--set", "faults.main_early=1")
            self.assertIn(status, (0, 3, 4), err)
            self.assertTrue(out)
            if command != "brief":
                continue
            self.assertEqual(status, 3)
            self.assertIn("no nominal", " ".join(out.split()))

    def test_without_output_nothing_is_written(self):
        status, out, _ = run("brief", self.write("plan.json", demo_plan()), "-n", "4000",
                             cwd=self.folder)
        self.assertIn(status, (0, 3, 4))
        self.assertTrue(out)
        self.assertEqual(tree(self.folder), ["plan.json"])

    def test_untied_parts_worst_wins(self):
        go = self.write("go.json", demo_plan())
        no_go = self.write("no_go.json", demo_plan("no_go_day.json"))
        status, out, err = run("brief", go, no_go, "-o", self.path("out"), "-n", "4000")
        self.assertEqual(status, 3, err)
        self.assertIn("NO-GO", out.splitlines()[0])
        self.assertEqual(read_json(self.path("out/summary.json"))["decision"], "no-go")
        for part in ("go", "no_go"):
            self.assertTrue(os.path.exists(self.path(f"out/{part}/layers/landings.shp")))


def changed(**changes):
    def make():
        plan = demo_plan()
        for key, value in changes.items():
            at = plan
            *way, last = key.split("__")
            for step in way:
                at = at[step]
            if value is None:
                del at[last]
            else:
                at[last] = value
        return json.dumps(plan)
    return make


def unsorted_wind(case):
    return case.write("wind.csv", "height_agl_m,direction_deg,speed_mps\n0,240,3\n300,250,999\n")


# name, plan text (or what makes it), words that the one line must hold
BAD = [
    ("bare number", changed(apogee__height=5200), ["apogee.height", "5200", "ft"]),
    ("wrong dimension", changed(rocket__mass="18.5 ft"), ["rocket.mass", "18.5 ft"]),
    ("force for mass", changed(rocket__mass="18.5 lbf"), ["rocket.mass", "18.5 lbf"]),
    ("unknown key", changed(apogee__hieght="5200 ft"), ["apogee.hieght", "height"]),
    ("duplicate key", lambda: json.dumps(demo_plan())[:-1] + ', "title": "again"}', ["title"]),
    ("broken JSON", lambda: json.dumps(demo_plan())[:-1], ["plan.json"]),
    ("empty file", lambda: "", ["plan.json"]),
    ("missing wind file", changed(wind__profiles=["no_such.csv"]), ["no_such.csv"]),
    ("missing field", changed(field__boundary="no_such.geojson"), ["no_such.geojson"]),
    ("no canopy", lambda: json.dumps({k: v for k, v in demo_plan().items()
                                      if k not in ("drogue", "main")}), ["drogue", "main"]),
    ("no apogee", changed(apogee=None), ["apogee"]),
    ("negative mass", changed(rocket__mass="-3 lb"), ["rocket.mass", "-3 lb"]),
    ("probability above one", changed(faults__main_fails=1.5), ["faults.main_fails", "1.5"]),
    ("unknown unit", changed(apogee__height="5200 feets"), ["apogee.height", "5200 feets"]),
    ("latitude off the earth", changed(site__latitude="141 deg"), ["site.latitude", "141"]),
    ("not an object", lambda: "[1, 2]", ["plan.json"]),
]

SELF_CROSSING = json.dumps({"type": "Polygon", "coordinates": [[
    [-98.46, 41.75], [-98.42, 41.78], [-98.42, 41.75], [-98.46, 41.78], [-98.46, 41.75]]]})


class BadInput(Case):
    def refused(self, plan, words, *options):
        before = tree(self.folder)
        status, out, err = run("brief", plan, "-o", self.path("out"), *options)
        self.assertEqual(status, 1, out + err)
        self.assertEqual(tree(self.folder), before)
        lines = [line for line in err.splitlines() if "error" in line]
        self.assertTrue(any(all(word in line for word in words) for line in lines), err)
        self.assertEqual(out, "")
        return lines

    def test_bad_plans(self):
        for name, make, words in BAD:
            with self.subTest(name):
                self.assertEqual(len(self.refused(self.write("plan.json", make()), words)), 1)

    def test_missing_plan(self):
        self.refused(self.path("absent.json"), ["absent.json"])

    def test_self_crossing_boundary(self):
        boundary = self.write("crossing.geojson", SELF_CROSSING)
        plan = self.write("plan.json", changed(field__boundary=boundary)())
        self.refused(plan, ["crossing.geojson"])

    def test_absurd_wind(self):
        plan = self.write("plan.json", changed(wind__profiles=[unsorted_wind(self)])())
        self.refused(plan, ["wind.csv", "999"])

    def test_several_faults_at_once(self):
        plan = self.write("plan.json", changed(apogee__height=5200, rocket__mass="18.5 ft",
                                               faults__main_fails=2)())
        self.assertEqual(len(self.refused(plan, ["apogee.height"])), 3)

    def test_faults_of_winds_and_field_together(self):
        plan = self.write("plan.json", changed(wind__profiles=["no_such.csv"],
                                               field__boundary="no_such.geojson")())
        self.assertEqual(len(self.refused(plan, ["no_such.csv"])), 2)

    def test_usage(self):
        for arguments in (["brief"], ["brrief", "x"], ["brief", "--units", "furlongs", "x"],
                          ["brief", "-n", "-4", "x"], ["brief", "--no-such", "x"],
                          ["brief", "x", "--set", "novalue"], []):
            status, out, err = run(*arguments)
            self.assertEqual(status, 2, arguments)
            self.assertEqual(out, "")
            self.assertTrue(err)


if __name__ == "__main__":
    main()
