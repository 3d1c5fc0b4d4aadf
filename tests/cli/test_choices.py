# SPDX-License-Identifier: GPL-3.0-or-later
"""The choices through the program: the demo's heights, the ceiling against briefs with the
reading set by hand, and the exit status of each command. What must come out follows from
the rules alone, or is counted by other commands."""
from helpers import Case, demo_plan, json, main, merge, quick_plan, run

MPS_PER_MPH = 0.44704  # exact
HALF_MPH = 0.5
FEW = ("-n", "2000")


def lean(day):
    """A demo plan with one main height and no posts: neither has a say in the ceiling."""
    plan = demo_plan(day)
    plan["heights"] = {"from": "700 ft", "to": "700 ft"}
    plan["crews"]["posts"] = 0
    return plan


class Ceiling(Case):
    def decision(self, plan, speed_mph, *options):
        _, out, err = run("brief", plan, "--json", "--quiet", *options, "--set",
                          f"wind.surface.speed={speed_mph:.4f} mph")
        return json.loads(out)["decision"]

    def turns(self, day, *options):
        """Half a mile per hour below the ceiling a brief is go, as much above it is not."""
        plan = self.write("plan.json", lean(day))
        status, out, err = run("ceiling", plan, "--json", "--quiet", *options)
        self.assertEqual(status, 0, err)
        top = json.loads(out)["ceiling"]["surface_wind_mps"] / MPS_PER_MPH
        self.assertEqual(self.decision(plan, top - HALF_MPH, *options), "go")
        self.assertNotEqual(self.decision(plan, top + HALF_MPH, *options), "go")
        return json.loads(out)["ceiling"], top

    def test_go_day(self):
        ceiling, top = self.turns("go_day.json", *FEW)
        # the gust goes with the reading, 11 for 8 mph, and its limit is 20 mph
        self.assertEqual(ceiling["turns"], "surface_wind")
        self.assertAlmostEqual(top, 20 * 8 / 11, delta=20 / 128)

    def test_no_go_day(self):
        ceiling, top = self.turns("no_go_day.json")
        self.assertEqual(ceiling["turns"], "inside_field")
        self.assertLess(top, 16)  # the day's own reading is no-go


class Heights(Case):
    def recommended_ft(self, day):
        status, out, err = run("heights", self.write("plan.json", demo_plan(day)), "--json",
                               "--quiet")
        self.assertEqual(status, 0, err)
        return json.loads(out)["heights"]

    def test_demo_days(self):
        """The rule of the design on the rows themselves: of those that meet every limit with at
        most half of an allowed chance used up, the nearest to the planned one."""
        for day, due_ft in (("go_day.json", 700), ("no_go_day.json", 500)):
            heights = self.recommended_ft(day)
            good = [r["height_m"] for r in heights["trade"]
                    if r["verdict"] == "met" and (1 - r["inside_field"]["value"]) <= 0.5 * 0.05]
            nearest = min(good, key=lambda h: (round(abs(h - heights["planned_m"]), 6), -h))
            self.assertAlmostEqual(heights["recommended_m"], nearest, delta=1e-9)
            self.assertAlmostEqual(nearest / 0.3048, due_ft, delta=1e-6)


def hours(speed_mps):
    rows = ["height_agl_m,direction_deg,speed_mps,time"]
    rows += [f"{z},250,{speed_mps},2027-04-17T{h:02d}:00:00Z" for h in (12, 13) for z in (10, 3000)]
    return "\n".join(rows) + "\n"


class Exit(Case):
    """What the design says of each: 0, 3 and (heights) 4. And of all: 1 for the plan, 2 for
    the command line."""

    def status(self, command, patch, *options):
        plan = quick_plan()
        merge(plan, patch)
        return run(command, self.write("plan.json", plan), *FEW, "--quiet", *options)[0]

    def test_heights(self):
        self.assertEqual(self.status("heights", {}), 0)
        self.assertEqual(self.status("heights", {"field": {"boundary": None, "radius": "100 ft"}}), 3)
        # no field: nothing is broken, nothing is met
        self.assertEqual(self.status("heights", {"field": {"boundary": None}}), 4)

    def test_heights_when_the_wind_alone_is_too_strong(self):
        strong = {"wind": {"surface": {"speed": "21 mph", "gust": "22 mph"}}}
        self.assertEqual(self.status("heights", strong), 3)

    def test_ceiling(self):
        self.assertEqual(self.status("ceiling", {}), 0)
        # broken in any wind, calm too
        self.assertEqual(self.status("ceiling", {"limits": {"landing_energy": "5 ft lbf"}}), 3)
        # a no-go today, by its wind, is no no-go in calm
        self.assertEqual(self.status("ceiling", {"wind": {"surface": {"speed": "25 mph",
                                                                      "gust": "30 mph"}}}), 0)

    def test_crews(self):
        self.assertEqual(self.status("crews", {}), 0)
        self.assertEqual(self.status("crews", {"crews": {"standoff": "20 km"}}), 3)
        self.assertEqual(self.status("crews", {"limits": {"landing_energy": "5 ft lbf"}}), 0)

    def test_window(self):
        for speed, due in ((3, 0), (30, 3)):
            table = self.write("hours.csv", hours(speed))
            wind = {"profiles": [table], "surface": None, "age": "1 h"}
            wide = {"boundary": None, "keep_out": None, "roads": None, "radius": "2 mi"}
            patch = {"wind": wind, "field": wide}
            self.assertEqual(self.status("window", patch, "--step", "1 h"), due)

    def test_wrong_input_and_command_line(self):
        for command in ("heights", "ceiling", "crews", "window"):
            self.assertEqual(self.status(command, {"rocket": {"mass": "18.5"}}), 1, command)
            self.assertEqual(self.status(command, {}, "--landings", "few"), 2, command)
            self.assertEqual(run(command)[0], 2, command)


if __name__ == "__main__":
    main()
