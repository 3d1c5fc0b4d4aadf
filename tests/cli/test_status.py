# SPDX-License-Identifier: GPL-3.0-or-later
"""Each exit status provoked; --json gives JSON and nothing else; --quiet is quiet;
--set, --pad, --units, --crs and base plans do what they say."""
import math
import os

import shapefile

from helpers import (ANSWERED, SOURCE, Case, demo_plan, json, main, quick_plan, read_json, run,
                     tree)

FEW = ("-n", "2000")
WIND = os.path.join(SOURCE, "wind/noon.csv")


class Status(Case):
    def setUp(self):
        super().setUp()
        self.plan = self.write("plan.json", quick_plan())

    def status(self, *arguments):
        return run(*arguments)[0]

    def test_each_status(self):
        no_go = self.write("no_go.json", demo_plan("no_go_day.json"))
        gusty = ("--set", "wind.surface.gust=24 mph")  # above the limit, the mean is below
        self.assertEqual(self.status("scatter", self.plan, *FEW), 0)
        self.assertEqual(self.status("brief", self.plan, *FEW), 0)
        self.assertEqual(self.status("brief", no_go), 3)
        self.assertEqual(self.status("brief", self.plan, *FEW, *gusty), 4)
        self.assertEqual(self.status("scatter", no_go, *FEW), 0)  # no decision asked
        self.assertEqual(self.status("brief", self.path("absent.json")), 1)
        self.assertEqual(self.status("brief", self.plan, "-n", "few"), 2)
        self.assertEqual(self.status("scatter", self.plan, *FEW, "-o", "/proc/pappus"), 5)

    def test_no_field_is_undecided(self):
        status, out, err = run("brief", self.plan, *FEW, "--set", "field=null")
        self.assertEqual(status, 4, err)
        self.assertTrue(out.startswith("UNDECIDED - treat as no-go"))
        self.assertIn("no field given", out)
        self.assertIn("without a field", out)  # no wind is called go
        self.assertNotIn("Wind    go", out)

    def test_choices(self):
        self.assertEqual(self.status("heights", self.plan, *FEW), 0)
        small = ("--set", 'field={"radius": "100 ft"}')
        self.assertEqual(self.status("heights", self.plan, *FEW, *small), 3)
        heavy = ("--set", "limits.landing_energy=5 ft lbf")  # broken in any wind
        self.assertEqual(self.status("ceiling", self.plan, *FEW, *heavy), 3)
        self.assertEqual(self.status("crews", self.plan, *FEW), 0)
        far = ("--set", "crews.standoff=20 km")
        self.assertEqual(self.status("crews", self.plan, *FEW, *far), 3)

    def test_crews_walk_at_the_given_speed(self):
        few = ("crews", self.plan, *FEW, "--set", "crews.walking_speed=0.5 m/s")
        walk = json.loads(run(*few, "--json")[1])["crews"]["walk_m"]
        minutes = [math.ceil(walk[key] / 0.5 / 60) for key in ("mean", "p90")]
        self.assertIn("{} and {} minutes at 0.5 m/s".format(*minutes),
                      run(*few, "--units", "si")[1])

    def test_json_and_quiet(self):
        bare = self.write("bare.json", {**quick_plan(), "wind": {
            "surface": {"speed": "8 mph", "direction": "225 deg"}}})  # worth a warning
        for command, *options in (["brief", *FEW], ["scatter", *FEW], ["heights", *FEW],
                                  ["ceiling", *FEW], ["crews", *FEW], ["size"], ["wind"],
                                  ["check"]):
            with self.subTest(command):
                status, out, err = run(command, bare, *options, "--json", "--quiet")
                self.assertIn(status, ANSWERED)
                self.assertEqual(err, "")
                self.assertIsInstance(json.loads(out, parse_constant=self.fail), dict)
        status, out, err = run("wind", WIND, "--json", "--quiet")
        self.assertEqual((status, err), (0, ""))
        self.assertEqual(len(json.loads(out)["profiles"]), 1)
        self.assertIn("only a guess", run("scatter", bare, *FEW)[1])  # told once, where it is read

    def test_check_json_holds_every_finding(self):
        bad = demo_plan()
        bad["rocket"]["mass"] = "18.5"
        bad["field"]["roads"] = "absent.geojson"
        status, out, err = run("check", self.write("bad.json", bad), "--json")
        found = json.loads(out)
        self.assertEqual((status, err), (1, ""))
        self.assertEqual(found["errors"], len([f for f in found["findings"]
                                               if f["severity"] == "error"]))
        self.assertIn(("rocket.mass", "18.5"),
                      [(f["key"], f["found"]) for f in found["findings"]])
        good = json.loads(run("check", self.plan, "--json")[1])
        self.assertEqual(good["errors"], 0)
        mass = next(v for v in good["values"] if v["key"] == "rocket.mass")
        # 1 lb = 0.45359237 kg exactly (international pound): 18.5 lb = 8.391459 kg
        self.assertTrue(mass["si"].startswith("8.39146 kg"))
        self.assertEqual(good["field"], {"boundary": True, "keep_outs": 2, "roads": 2})

    def test_a_plan_that_cannot_fly(self):
        """check and brief refuse it alike, by its file."""
        heavy = ("--set", "rocket.mass=4000 lb")
        lines = []
        for command in (["check"], ["brief", *FEW], ["scatter", *FEW]):
            status, out, err = run(*command, self.plan, *heavy)
            self.assertEqual(status, 1, command)
            found = [l for l in (out + err).splitlines() if "error: " in l]
            self.assertEqual(len(found), 1)
            self.assertIn("plan.json" if command[0] != "check" else "drogue", found[0])
            lines.append(found[0].split("drogue: ")[1])
        self.assertEqual(len(set(lines)), 1)
        self.assertIn("492 ft/s", lines[0])  # 150 m/s, in the units of the plan

    def test_a_main_that_is_never_open_in_time_is_told(self):
        """Whatever the limits: 12 m of height are not enough for 10 s of opening."""
        late = ("--set", 'altimeters=[{"main_height": "40 ft", "works": 1}]',
                "--set", "main.opening_time=10 s", "--set", "limits.main_height=off")
        for command in ("scatter", "brief"):
            _, out, err = run(command, self.plan, *FEW, *late)
            self.assertIn("2000 of 2000 landings with nothing failed", err)
            self.assertIn("fully open", out)
        status, out, _ = run("check", self.plan, *late)
        self.assertEqual(status, 0)
        self.assertIn("main: not fully open before the ground", out)

    def test_size_writes_a_page_and_never_over_the_plan(self):
        os.symlink("plan.json", self.path("alias.html"))
        before = tree(self.folder)
        for name, status in (("plan.json", 2), ("card", 2), ("card.html.gz", 2), ("alias.html", 1)):
            found, out, err = run("size", self.plan, "-o", self.path(name))
            self.assertEqual((found, out), (status, ""), name)
            self.assertEqual(len(err.splitlines()), 1)
        self.assertEqual(tree(self.folder), before)
        self.assertEqual(run("size", self.plan, "-o", self.path("card.html"))[0], 0)
        self.assertEqual(set(tree(self.folder)) - set(before), {"card.html"})

    def test_timings_and_units(self):
        status, out, err = run("scatter", self.plan, *FEW, "--timings", "--units", "si")
        self.assertEqual(status, 0)
        self.assertRegex(err, r"\d\.\d{3} s  plan")
        self.assertNotIn("writing", err)
        for command in "scatter", "brief":
            _, _, err = run(command, self.plan, *FEW, "--timings", "-o", self.path("timed"))
            self.assertRegex(err, r"\d\.\d{3} s  writing\n")
        self.assertIn(" m ", out)
        self.assertNotIn(" ft", out)
        self.assertNotIn("mph", out)

    def test_several_faulty_plans_and_none_written(self):
        status, _, err = run("brief", self.plan, self.path("absent.json"), *FEW, "-o",
                             self.path("out"))
        self.assertEqual(status, 1)
        self.assertIn("absent.json", err)
        self.assertFalse(os.path.exists(self.path("out")))

    def test_set_lays_over_any_key(self):
        def mean(*options):
            return json.loads(run("scatter", self.plan, *FEW, "--json", *options)[1])["all"]["mean"]
        plain = mean()
        self.assertEqual(mean("--set", "wind.surface.speed=8 mph"), plain)
        self.assertNotEqual(mean("--set", "altimeters[0].main_height=1500 ft"), plain)
        self.assertEqual(mean("--set", "run.seed=2"), mean("--seed", "2"))
        for bad in ("wind.surface.sped=8 mph", "wind.surface.speed=8", "=8", "wind.surface.speed"):
            status, out, err = run("scatter", self.plan, *FEW, "--set", bad)
            self.assertEqual(status, 1 if "." in bad and "=" in bad else 2, err)
            self.assertEqual((out, len(err.splitlines())), ("", 1))

    def test_base_plan_is_a_merge_patch(self):
        """RFC 7396: objects merge, null removes, all else replaces."""
        self.write("part.json", {"base": "plan.json", "title": "booster alone",
                                 "rocket": {"mass": "8 lb", "sections": None},
                                 "drogue": None, "limits": {"keep_out": "off"}})
        status, out, err = run("check", self.path("part.json"), "--json")
        self.assertEqual(status, 0, err + out)
        values = {v["key"]: v for v in json.loads(out)["values"]}
        self.assertEqual(values["rocket.mass"]["us"], "8 lb")
        self.assertEqual(values["main.diameter"]["us"], "96 inch")
        self.assertFalse([k for k in values if k.startswith(("drogue.", "rocket.sections"))])

    def test_pads(self):
        pads = demo_plan()
        pads["site"]["pads"] = [{"name": "north", "latitude": "41.7645 deg",
                                 "longitude": "-98.4410 deg"},
                                {"name": "south", "latitude": "41.7605 deg",
                                 "longitude": "-98.4410 deg"}]
        del pads["site"]["latitude"], pads["site"]["longitude"]
        plan = self.write("pads.json", pads)
        boxes = {}
        for pad in ("north", "south"):
            status, _, err = run("scatter", plan, *FEW, "--pad", pad, "-o", self.path(pad))
            self.assertEqual(status, 0, err)
            with shapefile.Reader(self.path(pad + "/layers/landings.shp")) as reader:
                boxes[pad] = reader.bbox
        # the pads are 0.004 degrees apart, the same wind carries both clouds alike
        self.assertAlmostEqual(boxes["north"][1] - boxes["south"][1], 0.004, delta=2e-5)
        self.assertEqual(run("scatter", plan, *FEW, "--pad", "east")[0], 1)

    def test_crs(self):
        status, _, err = run("scatter", self.plan, *FEW, "--crs", "utm", "-o", self.path("utm"))
        self.assertEqual(status, 0, err)
        with shapefile.Reader(self.path("utm/layers/landings.shp")) as reader:
            west, south, east, north = reader.bbox
        # zone 14 (central meridian -99): 0.559 deg east of it near 41.76 N
        self.assertTrue(540000 < west < east < 552000 and 4.61e6 < south < north < 4.64e6)

    def test_untied_parts_of_one_name(self):
        os.mkdir(self.path("other"))
        self.write("other/plan.json", quick_plan())
        status, _, err = run("brief", self.plan, self.path("other/plan.json"), *FEW, "-o",
                             self.path("out"))
        self.assertEqual(status, 0, err)
        parts = {name.split("/")[0] for name in tree(self.path("out")) if "/layers/" in name}
        self.assertEqual(len(parts), 2)
        self.assertEqual(read_json(self.path("out/summary.json"))["decision"], "go")


if __name__ == "__main__":
    main()
