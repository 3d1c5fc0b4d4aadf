#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""pappus window: against single briefs at the same hours, a front at a known hour, hours
that cannot be judged, measured winds, zones, local time (outside reference: Python's zoneinfo)."""
import csv
import datetime
import io
import json
import os
import re
import zoneinfo

from helpers import Case, main, quick_plan, read_json, read_text, run

DAY = "2027-04-17"
CALM, STORM = 3.0, 15.0   # m/s near the ground, invented
FRONT = 12                # hour of the front


def hour(h):
    return f"{DAY}T{h:02d}:00:00Z"


def table(hours, speed, top=6000):
    """An hourly layer table; speed(hour) near the ground, a third more aloft."""
    rows = ["height_agl_m,direction_deg,speed_mps,temperature_degC,time,issued"]
    for h in hours:
        for z, factor in ((10, 1.0), (500, 1.2), (1500, 1.3), (top(h) if callable(top) else top, 1.3)):
            rows.append(f"{z},250,{factor * speed(h):.3f},{18 - 0.0065 * z:.2f},{hour(h)},{hour(0)}")
    return "\n".join(rows) + "\n"


def front(h):
    return CALM if h < FRONT else STORM


class Window(Case):
    def plan(self, text, keep_out=False, **wind):
        """Without keep-outs the boundary and the surface wind decide: calm is go."""
        plan = quick_plan()
        if not keep_out:
            del plan["field"]["keep_out"]
        plan["wind"] = {"profiles": [self.write("hours.csv", text)], "error": "1 m/s", **wind}
        plan["run"]["landings"] = 2000
        return self.write("plan.json", plan)

    def window(self, *arguments):
        status, out, err = run("window", *arguments, "--json")
        self.assertIn(status, (0, 3), err)
        return status, json.loads(out), err

    def test_same_as_briefs(self):
        # 7 h apart: a brief has no hours of its own to judge
        plan = self.plan(table(range(0, 22, 7), lambda h: 2.0 + 0.3 * h), keep_out=True)
        _, found, _ = self.window(plan, "--step", "5 h")
        self.assertEqual([h["time"] for h in found["hours"]], [hour(h) for h in range(0, 21, 5)])
        for one in found["hours"]:
            status, out, err = run("brief", plan, "--json", "--set", f"wind.time={one['time']}")
            brief = json.loads(out)
            self.assertEqual(one["decision"], brief["decision"], (one, err))
            self.assertEqual(status, {"go": 0, "no-go": 3, "undecided": 4}[one["decision"]])
            inside = brief["all"]["inside_field"]
            self.assertAlmostEqual(one["inside_field"]["value"], inside["value"], places=12)
            self.assertAlmostEqual(one["inside_field"]["low"], inside["low"], places=12)
            self.assertEqual(one["recommended_m"], brief["heights"]["recommended_m"])
            rows = {r["height_m"]: r["verdict"] for r in brief["heights"]["trade"]}
            for cell in one["heights"]:
                self.assertEqual(cell["verdict"], rows[cell["main_height_m"]], (one["time"], cell))

    def test_brief_shows_the_hours_about_the_flight(self):
        """6 h to either side as far as the winds go, as `pappus window` has them; winds of one
        time, or of times over 6 h apart, have no hours."""
        plan = self.plan(table(range(0, 19), lambda h: 2.0 + 0.5 * h), time=hour(15))
        out = self.path("out")
        status, text, err = run("brief", plan, "-o", out, "--json")
        brief = json.loads(text)["window"]
        _, found, _ = self.window(plan, "--from", hour(9), "--to", hour(18))
        self.assertEqual(brief["hours"], found["hours"])
        self.assertEqual([h["time"] for h in brief["hours"]], [hour(h) for h in range(9, 19)])
        flight = next(h for h in brief["hours"] if h["time"] == hour(15))
        self.assertEqual(flight["decision"], json.loads(text)["decision"])
        page = read_text(os.path.join(out, "report.html"))
        self.assertIn("Which hour", page)
        for one in brief["hours"]:
            self.assertIn(one["time"][11:16] + "Z", page)
        for hours in ([15], [6, 14, 22]):
            plan = self.plan(table(hours, lambda h: 3.0), time=hour(14 if len(hours) > 1 else 15))
            self.assertIsNone(json.loads(run("brief", plan, "--json")[1])["window"], hours)

    def test_front(self):
        plan = self.plan(table(range(6, 19), front))
        status, found, _ = self.window(plan)
        self.assertEqual(status, 0)
        decisions = {h["time"]: h["decision"] for h in found["hours"]}
        for h in range(6, FRONT):
            self.assertEqual(decisions[hour(h)], "go", h)
        for h in range(FRONT, 19):
            self.assertEqual(decisions[hour(h)], "no-go", h)
        self.assertEqual(found["stretch"], {"from": hour(6), "to": hour(FRONT - 1)})
        self.assertIn(found["best"]["time"], [hour(h) for h in range(6, FRONT)])
        status, out, _ = run("window", plan)
        self.assertIn(f"Go 06:00Z to {FRONT - 1:02d}:00Z; best ", out)

    def test_gusts_of_a_table(self):
        """In any unit, of the lowest row; linear between the hours, and the same when the table
        is written and read again."""
        rows = ["height_agl_m,direction_deg,speed_mps,gust_mph,time"]
        for h, gust in ((6, 10), (8, 18)):
            rows += [f"6000,250,5,99,{hour(h)}", f"10,250,3,{gust},{hour(h)}", f"500,250,4,,{hour(h)}"]
        text = "\n".join(rows) + "\n"
        source, again = self.write("g.csv", text), self.path("again.csv")
        status, _, err = run("wind", source, "-o", again)
        self.assertEqual(status, 0, err)
        for table_text in (text, read_text(again)):
            _, found, _ = self.window(self.plan(table_text))
            for one, mph in zip(found["hours"], (10, 14, 18), strict=True):
                self.assertAlmostEqual(one["gust_mps"], mph * 0.44704, places=6)
        for bad in ("-3", "400", "x"):
            status, _, err = run("wind", self.write("bad.csv", text.replace(",18,", f",{bad},")))
            self.assertEqual(status, 1)
            self.assertIn("gust", err)

    def test_no_hour_is_go(self):
        plan = self.plan(table(range(12, 15), front))
        status, found, _ = self.window(plan)
        self.assertEqual(status, 3)
        self.assertIsNone(found["best"])
        self.assertIn("No hour is go", run("window", plan)[1])

    def test_hours_that_cannot_be_judged(self):
        """Marked and not dropped: without a wind, and with winds that end under the apogee."""
        plan = self.plan(table(range(6, 10), lambda h: CALM, lambda h: 1580 if h > 7 else 6000))
        _, found, _ = self.window(plan, "--from", hour(5), "--to", hour(11))
        self.assertEqual(len(found["hours"]), 7)
        why = [(h["decision"], h["why"]) for h in found["hours"]]
        for i in (0, 5, 6):
            self.assertEqual(why[i], (None, "no wind for this hour"))
        for i in (1, 2):
            self.assertEqual(why[i], ("go", None))
        for i in (3, 4):
            self.assertIsNone(why[i][0])
            self.assertIn("under the apogee", why[i][1])

    def test_measured_wind(self):
        """Counts for hours within wind.surface.holds of wind.time, and is told to be left out."""
        surface = {"speed": "30 mph", "direction": "250 deg", "height": "2 m"}
        plan = self.plan(table(range(6, 19), lambda h: CALM), surface=surface, time=hour(12))
        _, found, _ = self.window(plan)
        for one in found["hours"]:
            off = abs(int(one["time"][11:13]) - 12)
            self.assertEqual(one["reading_left_out"], off > 2, one["time"])
            self.assertEqual(one["decision"], "go" if off > 2 else "no-go", one["time"])
        self.assertIn("left out in 8 of 13 hours", run("window", plan)[1])
        _, found, _ = self.window(plan, "--set", "wind.surface.holds=5 h")
        self.assertEqual(sum(h["reading_left_out"] for h in found["hours"]), 2)

    def test_threads_and_order(self):
        plan = self.plan(table(range(6, 19, 4), front))
        self.assertEqual(self.window(plan, "--threads", "1")[1], self.window(plan, "--threads", "2")[1])

    def test_local_time(self):
        plan = self.plan(table(range(6, 9), lambda h: CALM))
        for name in ("America/Chicago", "Europe/Vienna", "Asia/Kathmandu", "-06:30"):
            _, found, _ = self.window(plan, "--set", f"site.time_zone={name}")
            for one in found["hours"]:
                utc = datetime.datetime.fromisoformat(one["time"].replace("Z", "+00:00"))
                zone = (datetime.timezone(-datetime.timedelta(hours=6, minutes=30))
                        if name[0] == "-" else zoneinfo.ZoneInfo(name))
                self.assertEqual(one["local"].split()[0], utc.astimezone(zone).strftime("%H:%M"), name)
        for bad in ("Mars/Olympus", "../etc/passwd", "/etc/passwd", "x"):
            status, _, err = run("window", plan, "--set", f"site.time_zone={bad}")
            self.assertEqual(status, 1, bad)
            self.assertIn("site.time_zone", err)

    def test_folder(self):
        plan = self.plan(table(range(6, 9), lambda h: CALM))
        out = self.path("out")
        status, _, err = run("window", plan, "-o", out, "--json")
        self.assertEqual(status, 0, err)
        found = read_json(os.path.join(out, "window.json"))
        rows = list(csv.DictReader(io.StringIO(read_text(os.path.join(out, "window.csv")))))
        self.assertEqual([r["time"] for r in rows], [h["time"] for h in found["hours"]])
        self.assertEqual([float(r["inside_field"]) for r in rows],
                         [h["inside_field"]["value"] for h in found["hours"]])
        zones = read_json(os.path.join(out, "layers", "hours.geojson"))["features"]
        self.assertEqual({(z["properties"]["time"], z["properties"]["level"]) for z in zones},
                         {(h["time"], p) for h in found["hours"] for p in (0.5, 0.95)})
        self.assertTrue(os.path.exists(os.path.join(out, "layers", "hours.shp")))
        picture = read_text(os.path.join(out, "window.svg"))
        self.assertIn("every limit met", picture)
        self.assertIn("best ", picture)

    def test_stamp(self):
        """What every hour rests on opens the answer, whatever its form."""
        plan = self.plan(table(range(6, 9), lambda h: CALM), time=hour(7), kind="forecast")
        out = self.path("out")
        _, text, _ = run("window", plan, "-o", out)
        _, found, _ = self.window(plan)
        picture = re.sub(r"\s+", " ", re.sub(r"<style>.*?</style>|<[^>]*>", " ",
                                             read_text(os.path.join(out, "window.svg")), flags=re.S))
        for told in (re.sub(r"\s+", " ", text[:text.index("Go 06:00Z")]), picture):
            for fact in ("plan.json", "41.76250, -98.44100", f"flight {DAY} 07:00 UTC", "not measured",
                         f"hours.csv (forecast), of {DAY} 00:00 UTC"):
                self.assertIn(fact, told)
        self.assertEqual(found["stamp"]["plan"], "plan.json")
        self.assertEqual(found["stamp"]["winds"][0]["kind"], "forecast")

    def test_bad_asks(self):
        plan = self.plan(table(range(6, 9), lambda h: CALM))
        for ask, status in ((("--from", "soon"), 2), (("--step", "soon"), 2), (("--step", "5 s"), 1),
                            (("--from", hour(9), "--to", hour(8)), 1), (("--step", "-1 h"), 1)):
            got, out, err = run("window", plan, *ask)
            self.assertEqual((got, out), (status, ""), (ask, err))
            self.assertEqual(err.count("\n"), 1, err)


if __name__ == "__main__":
    main()
