# SPDX-License-Identifier: GPL-3.0-or-later
"""Every answer opens with what it rests on, on whatever medium, and what makes it doubtful
stands right under the decision. The values are those of the plan that is given here."""
import math
import re

from helpers import Case, json, main, quick_plan, read_json, read_text, run

FEW = ("-n", "2000", "--threads", "1")


def plain(text):
    return re.sub(r"\s+", " ", re.sub(r"<style>.*?</style>|<[^>]*>", " ", text, flags=re.S))


class Stamp(Case):
    def plan(self, **wind):
        plan = quick_plan()
        plan["wind"].update(wind)
        return self.write("friday.json", plan)

    def stamped(self, text, facts):
        for fact in facts:
            self.assertIn(fact, text)

    def test_every_medium(self):
        plan = self.plan(time="2027-04-17T15:00Z")
        out = self.path("out")
        text = run("brief", plan, *FEW, "-o", out)[1]
        facts = ["friday.json", "41.76250, -98.44100", "flight 2027-04-17 15:00 UTC", "8.0 mph",
                 "gust 11.0 mph", "225 deg", "evening.csv (sounding assumed)", "3.0 h old"]
        self.stamped(plain("".join(text.splitlines(True)[:6])), facts)
        report = plain(read_text(out + "/report.html"))
        self.stamped(report, facts)
        self.assertLess(report.index("friday.json"), report.index("Where to wait"))
        for name in ("map.svg", "posts.gpx", "zone.kml"):
            self.stamped(plain(read_text(f"{out}/{name}")), facts)
        for command in ("heights", "ceiling", "crews"):
            self.stamped(plain("".join(run(command, plan, *FEW)[1].splitlines(True)[:7])), facts)
        stamp = read_json(out + "/summary.json")["stamp"]
        self.assertEqual((stamp["plan"], stamp["flight_time"], stamp["age_h"], stamp["age_assumed"]),
                         ("friday.json", "2027-04-17T15:00:00Z", 3, False))
        self.assertAlmostEqual(stamp["surface_wind"]["speed_mps"], 8 * 0.44704, delta=1e-6)
        self.assertAlmostEqual(stamp["surface_wind"]["gust_mps"], 11 * 0.44704, delta=1e-6)
        self.assertEqual(stamp["winds"],
                         [{"file": "evening.csv", "kind": "sounding", "kind_assumed": True}])

    def test_a_guess_is_told_under_the_decision(self):
        plan = quick_plan()
        del plan["wind"]["profiles"], plan["wind"]["age"], plan["wind"]["error"]
        path, out = self.write("plan.json", plan), self.path("out")
        text = run("brief", path, *FEW, "-o", out)[1]
        self.assertEqual(len(re.findall("only a guess|only guessed", text)), 1)
        self.assertLess(text.index("only a guess"), re.search("BROKEN|UNSURE|met ", text).start())
        report = plain(read_text(out + "/report.html"))
        self.assertEqual(report.count("only a guess"), 1)
        self.assertLess(report.index("only a guess"), report.index("Why"))
        self.assertTrue(read_json(out + "/summary.json")["stamp"]["wind_aloft_guessed"])
        self.assertIn("only guessed", run("check", path)[1])

    def test_a_reading_that_contradicts(self):
        """8 mph from the east where the profile has 10 mph from the south-west."""
        for surface, due in ((("30 mph", "45 deg"), True), (("8 mph", "225 deg"), False)):
            plan = self.plan(surface={"speed": surface[0], "direction": surface[1], "height": "2 m",
                                      "error": "0.5 m/s"})
            text = " ".join(run("brief", plan, *FEW)[1].split())
            stamp = json.loads(run("scatter", plan, *FEW, "--json")[1])["stamp"]
            self.assertEqual(stamp["widening"] > 1.5, due, stamp)
            found = re.search(r"contradicts the winds aloft .*? error is taken ([\d.]+) times", text)
            self.assertEqual(found is not None, due, text)
            if due:
                self.assertAlmostEqual(float(found[1]), math.sqrt(stamp["widening"]), delta=0.051)


if __name__ == "__main__":
    main()
