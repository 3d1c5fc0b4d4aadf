#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Forecasts in several files, runs and members through the program, against winds that are
reckoned by hand: linear in time between two hours of one member (X). All winds are invented."""
import json
import os
import re
import sys

sys.path[:0] = [os.path.join(sys.argv[2], "tests", "cli"), os.path.join(sys.argv[2], "tests", "input")]
import grib_files as g
from helpers import Case, main, quick_plan, run

BOX = {"latitudeOfFirstGridPointInDegrees": 42, "longitudeOfFirstGridPointInDegrees": 260,
       "latitudeOfLastGridPointInDegrees": 41, "longitudeOfLastGridPointInDegrees": 262,
       "iDirectionIncrementInDegrees": 2, "jDirectionIncrementInDegrees": 1, "Ni": 2, "Nj": 2}
GUST = {"discipline": 0, "parameterCategory": 2, "parameterNumber": 22, "typeOfFirstFixedSurface": 1}


def hour(h):
    return f"2027-04-{17 + h // 24}T{h % 24:02d}:00:00Z"


class Forecasts(Case):
    def forecast(self, name, run_hour, winds, gust=None, near=True, aloft=True):
        """winds: {(hour, member): u}; v is 0. Level at 10 m and, of half as much more, far up."""
        fields = []
        for (h, member), u in winds.items():
            keys = {"dataDate": 20270417, "dataTime": 100 * run_hour, "stepUnits": 1}
            if member >= 0:
                keys |= {"productDefinitionTemplateNumber": 1, "perturbationNumber": member,
                         "numberOfForecastsInEnsemble": 9}
            keys["forecastTime"] = h - run_hour
            calm = lambda la, lo: 1e-6 * la
            if near:
                fields += [({**keys, **what, **g.above_ground2(10)}, f)
                           for what, f in ((g.U2, lambda la, lo, u=u: u + 1e-6 * la), (g.V2, calm))]
            if aloft:
                fields += [({**keys, **what, **g.isobaric2(500)}, f)
                           for what, f in ((g.U2, lambda la, lo, u=u: 1.5 * u + 1e-6 * la), (g.V2, calm),
                                           (g.H2, lambda la, lo: 5600 + 1e-4 * la))]
            if gust:
                fields.append(({**keys, **GUST}, lambda la, lo: gust + 1e-6 * la))
        return str(g.make(self.path(name), "regular_ll_pl_grib2.tmpl", fields, BOX))

    def plan(self, profiles, **wind):
        plan = quick_plan()
        del plan["field"]["keep_out"]  # the boundary and the surface wind decide
        plan["wind"] = {"profiles": profiles, "error": "1 m/s", **wind}
        plan["run"]["landings"] = 2000
        return self.write("plan.json", plan)

    def hours(self, plan, first, last, *more):
        status, out, err = run("window", plan, "--from", hour(first), "--to", hour(last), "--step", "3 h",
                               "--json", "--set", "heights.step=1000 ft", *more)
        self.assertIn(status, (0, 3), err)
        return json.loads(out)["hours"], err

    def check_winds(self, hours, winds):
        for one, u in zip(hours, winds, strict=True):
            self.assertAlmostEqual(one["surface_wind_mps"], u, delta=0.02, msg=one["time"])

    def test_one_file_an_hour(self):
        files = [self.forecast(f"{h}.grib2", 0, {(h, -1): u}) for h, u in ((6, 3), (9, 6), (12, 4))]
        hours, _ = self.hours(self.plan(files[::-1]), 6, 12)
        self.check_winds(hours, (3, 6, 4))
        hours, _ = self.hours(self.plan(files), 7, 10)
        self.check_winds(hours, (4, 6 - 2 / 3))

    def test_parts_of_a_run_in_files(self):
        """Near the ground in one, pressure levels in another: one profile of both."""
        winds = {(6, -1): 3, (12, -1): 6}
        files = [self.forecast("near.grib2", 0, winds, aloft=False),
                 self.forecast("aloft.grib2", 0, winds, near=False)]
        for order in (files, files[::-1]):
            plan = self.plan([*order, files[0]], time=hour(9))  # one of them twice
            status, out, err = run("check", plan, "--json")
            profiles = json.loads(out)["winds"]
            self.assertEqual(len(profiles), 1, err)
            self.assertEqual(profiles[0]["levels_read"], 6, profiles)  # 3 at each hour
            hours, _ = self.hours(plan, 6, 12)
            self.check_winds(hours, (3, 4.5, 6))

    def test_the_newer_run_wins(self):
        """In two files, in one, and where each has but one hour; told."""
        old, new = {(6, -1): 3, (12, -1): 3}, {(6, -1): 5, (12, -1): 5}
        files = [self.forecast("old.grib2", 0, old), self.forecast("new.grib2", 6, new)]
        both = self.path("both.grib2")
        with open(both, "wb") as out:
            for name in files:
                with open(name, "rb") as part:
                    out.write(part.read())
        one_hour = [self.forecast("a.grib2", 0, {(9, -1): 3}), self.forecast("b.grib2", 6, {(9, -1): 5})]
        for profiles in (files, files[::-1], [both], one_hour):
            hours, err = self.hours(self.plan(profiles, time=hour(9)), 9, 9)
            self.check_winds(hours, (5,))
            self.assertIn("a run issued later has the same time", err)
        # where the newer run has no wind the older holds
        files[1] = self.forecast("new.grib2", 6, {(12, -1): 5})
        hours, _ = self.hours(self.plan(files, time=hour(9)), 6, 12)
        self.check_winds(hours, (3, 4, 5))

    def test_a_member_missing_at_an_hour(self):
        winds = {(6, 0): 2, (6, 1): 4, (6, 2): 9, (12, 0): 2, (12, 1): 4}
        hours, _ = self.hours(self.plan([self.forecast("m.grib2", 0, winds)]), 6, 12)
        self.check_winds(hours, (5, 3, 3))
        lost = ["1 of 3 members have no wind on both sides" in " ".join(h["warnings"]) for h in hours]
        self.assertEqual(lost, [False, True, True])
        text = run("window", self.path("plan.json"), "--from", hour(6), "--to", hour(12), "--step", "3 h")[1]
        self.assertIn("09:00Z: 1 of 3 members have no wind on both sides of it and are left out "
                      "(in 2 hours alike)", text)

    def test_section_of_members(self):
        """The mean of the components, or one member."""
        winds = {(h, m): u for h in (6, 9) for m, u in ((0, 2), (1, -6), (2, 16))}
        path = self.forecast("m.grib2", 0, winds, aloft=False)
        for more, speed in (((), 4), (("--member", "1"), 6), (("--member", "2"), 16)):
            status, _, err = run("wind", path, "--at", "41.76,-98.44", "--units", "si", "-o",
                                 self.path("s.svg"), *more)
            self.assertEqual(status, 0, err)
            with open(self.path("s.svg"), encoding="utf-8") as f:
                numbers = re.findall(r'class="s-number[^"]*"[^>]*>(\d+)<', f.read())
            self.assertEqual(numbers, [str(speed)] * 2, more)

    def test_a_member_of_the_plan(self):
        """wind.member makes the winds that `wind --member` shows the only ones, at each hour; the
        answer says so, in words and in summary.json; one that is not
        there is refused with those that are. Member m has 3 + m m/s at 6 h, 1 m/s more at 9 h (X)."""
        winds = {(h, m): 3 + m + (h - 6) / 3 for h in (6, 9) for m in range(5)}
        path = self.forecast("m.grib2", 0, winds)
        hours, _ = self.hours(self.plan([path]), 6, 9, "--set", "wind.member=4")
        self.check_winds(hours, (7, 8))
        plan = self.plan([path], time=hour(6), member=1)
        status, out, err = run("brief", plan, "--json", "--set", "heights.step=1000 ft")
        self.assertIn(status, (0, 3, 4), err)
        self.assertEqual(json.loads(out)["stamp"]["member"], 1)
        text = " ".join(run("brief", plan, "--set", "heights.step=1000 ft")[1].split())
        self.assertIn("m.grib2 (forecast), member 1 alone, 6.0 h old", text)
        every = json.loads(run("brief", plan, "--json", "--set", "heights.step=1000 ft", "--set",
                               "wind.member=null")[1])
        self.assertIsNone(every["stamp"]["member"])
        status, _, err = run("brief", plan, "--set", "wind.member=5")
        self.assertEqual((status, len(err.splitlines())), (1, 1), err)
        self.assertIn("wind.member: found 5: not there; accepted is one of 0 to 4", err)

    def test_valid_with_members(self):
        files = [self.forecast(f"{h}.grib2", 0, {(h, m): u + m for m in range(3)}) for h, u in ((6, 3), (12, 6))]
        profiles = [{"file": f, "valid": hour(h)} for f, h in zip(files, (6, 12))]
        hours, _ = self.hours(self.plan(profiles, time=hour(9)), 6, 12)
        self.check_winds(hours, (4, 5.5, 7))
        status, out, _ = run("check", self.plan([{"file": files[0], "valid": hour(7)}], time=hour(7)))
        self.assertEqual(status, 1)
        self.assertIn("the file is valid at", out)

    def test_hours_without_winds(self):
        hours, _ = self.hours(self.plan([self.forecast("f.grib2", 0, {(6, -1): 3, (9, -1): 3})]), 3, 12)
        self.assertEqual([h["decision"] is None for h in hours], [True, False, False, True])
        self.assertEqual([bool(h["why"]) for h in hours], [True, False, False, True])
        plan = self.plan([self.forecast("f.grib2", 0, {(6, -1): 3, (9, -1): 3}, aloft=False)])
        hours, _ = self.hours(plan, 6, 9)
        self.assertTrue(all("under the apogee" in h["why"] for h in hours), hours)

    def test_a_front(self):
        winds = {(h, -1): 3 if h < 12 else 15 for h in range(6, 19, 3)}
        hours, _ = self.hours(self.plan([self.forecast("f.grib2", 0, winds)]), 6, 18)
        self.assertEqual([h["decision"] for h in hours], ["go", "go", "no-go", "no-go", "no-go"])

    def test_gusts(self):
        """A forecast's gust stands where nothing is measured; over the limit (20 mph, 8.94 m/s)
        the decision is open, and a reading puts its own in the place."""
        calm = self.forecast("calm.grib2", 0, {(6, 0): 3, (9, 0): 3, (6, 1): 3, (9, 1): 3}, gust=6)
        hours, _ = self.hours(self.plan([calm]), 6, 9)
        self.assertEqual([(h["decision"], round(h["gust_mps"], 3)) for h in hours], [("go", 6.0)] * 2)
        gusty = self.plan([self.forecast("gusty.grib2", 0, {(6, -1): 3, (9, -1): 3}, gust=9.5)], time=hour(7))
        hours, _ = self.hours(gusty, 6, 9)
        self.assertEqual([(h["decision"], h["limit"]) for h in hours], [("undecided", "surface_wind")] * 2)
        status, out, _ = run("brief", gusty, "--set", "heights.step=1000 ft")
        self.assertEqual(status, 4)
        self.assertIn("gust of the forecast 21.3 mph", " ".join(out.split()))
        reading = {"speed": "3 m/s", "direction": "270 deg", "height": "10 m"}
        for gust, decision in ((None, "go"), ("9 m/s", "undecided"), ("4 m/s", "go")):
            plan = self.plan([self.path("gusty.grib2")], time=hour(7),
                             surface=reading | ({"gust": gust} if gust else {}))
            hours, _ = self.hours(plan, 7, 7)
            self.assertEqual(hours[0]["decision"], decision, gust)


if __name__ == "__main__":
    main()
