#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""pappus season: days against single briefs on the same soundings, groups counted anew from the
table of days, parts of a season in every order, a run that is killed, memory, bad input. All
winds are invented."""
import collections
import csv
import datetime
import io
import json
import math
import os
import signal
import subprocess
import time
import zoneinfo

from helpers import Case, PAPPUS, main, quick_plan, read_bytes, read_json, read_text, run, tree

START = datetime.datetime(2026, 1, 5, tzinfo=datetime.timezone.utc)
HEIGHTS = (10, 150, 600, 1500, 3500)
ZONE = "America/Chicago"


def stamp(i):
    return (START + datetime.timedelta(hours=12 * i)).strftime("%Y-%m-%dT%H:%MZ")


def speed(i):
    """Near the ground, m/s: calm and windy spells of some days."""
    return 4.2 + 2.8 * math.sin(0.37 * i) + 0.7 * math.sin(2.1 * i)


def levels(i):
    for z in HEIGHTS:
        yield z, (230 + 37 * i + z / 100) % 360, speed(i) * (1 + 0.25 * math.log10(z / 10)), \
            14 - 0.0065 * z


def table(days, at=None, offset=0):
    rows = ["height_agl_m,direction_deg,speed_mps,temperature_degC" + ("" if at is not None else ",time")]
    for i in ([at] if at is not None else range(offset, offset + days)):
        rows += [f"{z},{d:.2f},{s:.3f},{t:.2f}" + ("" if at is not None else f",{stamp(i)}")
                 for z, d, s, t in levels(i)]
    return "\n".join(rows) + "\n"


class Season(Case):
    def plan(self, name="plan.json", **more):
        plan = quick_plan()
        plan["site"]["time_zone"] = ZONE
        plan["field"] = {"radius": "700 m", "keep_out": [
            {"name": "car park", "bearing": "90 deg", "distance": "500 m", "radius": "60 m"}]}
        plan["wind"] = {"error": "1 m/s"}
        plan["faults"]["no_power"] = 0
        plan["heights"] = {"from": "400 ft", "to": "900 ft", "step": "250 ft"}
        plan.pop("crews", None)
        plan.update(more)
        return self.write(name, plan)

    def archive(self, days, name="archive.csv"):
        return self.write(name, table(days))

    def season(self, *arguments):
        status, out, err = run("season", *arguments, "--quiet")
        self.assertEqual(status, 0, err)
        return out

    def days(self, folder):
        return list(csv.DictReader(io.StringIO(read_text(os.path.join(folder, "days.csv")))))

    # Against briefs: of one outcome, so that a brief has as many landings.
    def test_days_are_briefs(self):
        plan, archive = self.plan(), self.archive(9)
        self.season(plan, archive, "-n", "2000", "-o", self.path("out"), "--age", "3")
        days = self.days(self.path("out"))
        self.assertEqual(len(days), 9)
        decided = set()
        for i in (2, 4, 8):
            self.write("day.csv", table(1, at=i))
            z, direction, at_10, _ = next(levels(i))
            reading = {"speed": f"{at_10:.3f} m/s", "direction": f"{direction:.2f} deg", "height": f"{z} m"}
            _, out, err = run("brief", plan, "--json", "--quiet", "-n", "2000", "--seed", days[i]["seed"],
                              "--set", 'wind.profiles=["day.csv"]', "--set", "wind.age=3 h",
                              "--set", "wind.surface=" + json.dumps(reading))
            brief = json.loads(out)
            rows = {round(r["height_m"], 3): r for r in brief["heights"]["trade"]}
            planned = rows[round(700 * 0.3048, 3)]
            self.assertAlmostEqual(float(days[i]["inside_field"]), planned["inside_field"]["value"], 9)
            self.assertEqual(days[i]["decision"] == "go", planned["verdict"] == "met")
            best = brief["heights"]["recommended_m"]
            self.assertEqual(days[i]["recommended_m"], "" if best is None else f"{best:.10g}", err)
            if brief["all"]["landings"] == 2000:  # decided at the first look: the same landings
                drift = brief["all"]["drift_m"]
                self.assertAlmostEqual(float(days[i]["drift_p50_m"]), drift["p50"], 6)
                self.assertAlmostEqual(float(days[i]["drift_p95_m"]), drift["p95"], 6)
            decided.add(days[i]["decision"])
        self.assertEqual(decided, {"go", "no-go"})

    # Counted anew by Python, with its own time zones.
    def test_groups(self):
        plan = self.plan()
        second = self.plan("second.json", limits={**quick_plan()["limits"], "surface_wind": "8 mph"})
        self.season(plan, second, self.archive(80), "-n", "200", "-o", self.path("out"))
        found = read_json(self.path("out/season.json"))
        days = self.days(self.path("out"))
        self.assertEqual((found["days"], len(days)), (80, 160))
        groups = collections.defaultdict(list)
        for day in days:
            at = datetime.datetime.fromisoformat(day["time"].replace("Z", "+00:00"))
            local = at.astimezone(zoneinfo.ZoneInfo(ZONE))
            self.assertEqual((int(day["month"]), int(day["hour"])), (local.month, local.hour))
            groups[day["plan"], local.month, local.hour].append(day)
        self.assertEqual(len(found["groups"]), len(groups))
        for g in found["groups"]:
            own = groups[g["plan"], g["month"], g["hour"]]
            self.assertEqual(g["days"], len(own))
            go = sum(d["decision"] == "go" for d in own)
            self.assertAlmostEqual(g["go"]["value"], go / len(own), 9)
            self.assertLessEqual(g["go"]["low"], g["go"]["value"])
            self.assertGreaterEqual(g["go"]["high"], g["go"]["value"])
            any_go = sum(d["decision"] == "go" or d["recommended_m"] != "" for d in own)
            self.assertAlmostEqual(g["go_any"], any_go / len(own), 9)
            heights = next(p for p in found["plans"] if p["plan"] == g["plan"])["heights_m"]
            most = max(g["height_days"])
            if most:
                self.assertEqual(g["height_days"][heights.index(g["best_main_m"])], most)
                self.assertAlmostEqual(g["go_best"], most / len(own), 9)
        windy = sum(float(d["surface_wind_mps"]) > 8 * 0.44704 for d in days if d["plan"] == "second")
        second = next(g for g in found["all"] if g["plan"] == "second")
        self.assertEqual(second["unmet_days"]["surface_wind"], windy)
        rose = next(p for p in found["plans"] if p["plan"] == "second")["rose"]
        self.assertEqual(sum(p["days"] for p in rose), 80)
        self.assertEqual(sum(p["go"] for p in rose), round(second["go"]["value"] * 80))
        # each design sees the same days by the same draws
        seeds = collections.defaultdict(set)
        for d in days:
            seeds[d["time"]].add(d["seed"])
        self.assertTrue(all(len(s) == 1 for s in seeds.values()) and len(seeds) == 80)

    def shards(self, plan, archive, count, folder, order=None):
        for k in order or range(1, count + 1):
            self.season(plan, archive, "-n", "200", "--shard", f"{k}/{count}", "-o", self.path(folder))

    def test_shards(self):
        plan, archive = self.plan(), self.archive(31)
        self.season(plan, archive, "-n", "200", "-o", self.path("one"))
        one = tree(self.path("one"))
        for count, order in ((1, None), (3, (2, 3, 1)), (8, (8, 1, 5, 3, 2, 7, 4))):
            self.shards(plan, archive, count, f"parts{count}", order)
            if count == 8:  # the sixth is missing, and is named
                status, _, err = run("season", "--merge", self.path("parts8"))
                self.assertEqual(status, 1)
                self.assertIn("1 of 8 missing: 6", err)
                self.shards(plan, archive, 8, "parts8", (6,))
            self.season("--merge", self.path(f"parts{count}"), "-o", self.path(f"out{count}"))
            self.assertEqual(tree(self.path(f"out{count}")), one, count)
        parts = self.path("parts8")
        third = read_bytes(os.path.join(parts, "season-3-of-8.part"))
        self.write("parts8/season-copy.part", third)  # one twice counts once
        self.season("--merge", parts, "-o", self.path("twice"))
        self.assertEqual(tree(self.path("twice")), one)
        for broken in (third[:-1], third[:len(third) // 2], third.replace(b'"seed":', b'"sEed":', 1),
                       third + b"{}\n", b"", b"{}\n"):
            self.write("parts8/season-copy.part", broken)
            status, out, err = run("season", "--merge", parts, "-o", self.path("never"))
            self.assertEqual((status, out), (1, ""), broken[:40])
            self.assertIn("season-copy.part", err)
            self.assertEqual(err.count("\n"), 1, err)
            self.assertFalse(os.path.exists(self.path("never")))
        os.remove(os.path.join(parts, "season-copy.part"))
        other = self.plan("other.json", limits={**quick_plan()["limits"], "inside_field": 0.9})
        elsewhere = self.archive(32, "longer.csv")
        for name, what, arguments in (("a", "plan", (other, archive)), ("b", "archive", (plan, elsewhere)),
                                      ("c", "landings", (plan, archive, "--age", "2")),
                                      ("d", "seed", (plan, archive, "--seed", "9"))):
            self.season(*arguments, "-n", "200", "--shard", "3/8", "-o", self.path(name))
            status, _, err = run("season", "--merge", parts, self.path(name))
            self.assertEqual(status, 1)
            self.assertIn(what, err)

    # The run is stopped as soon as it has put something down: somewhere in the middle.
    def test_kill_and_resume(self):
        plan, archive = self.plan(), self.archive(400)
        arguments = [plan, archive, "-n", "100", "--threads", "2", "--quiet", "-o", self.path("out")]
        part = self.path(".out.season")
        work = subprocess.Popen([PAPPUS, "season", *arguments], stdout=subprocess.DEVNULL,
                                env={**os.environ, "PAPPUS_SEASON_PUT_AFTER": "0"})
        while not os.path.exists(part) and work.poll() is None:
            time.sleep(0.002)
        work.send_signal(signal.SIGKILL)
        work.wait()
        self.assertFalse(os.path.exists(self.path("out")))
        done = json.loads(read_bytes(part).splitlines()[-1])["days"]
        self.assertTrue(0 < done < 400, done)
        status, _, err = run("season", "--merge", part)
        self.assertEqual((status, f"is not done: {done} of 400 days" in err), (1, True), err)
        status, _, err = run("season", *arguments)  # hours of work are not thrown away unasked
        self.assertEqual(status, 1)
        self.assertIn("--resume", err)
        status, _, err = run("season", *arguments, "--resume", "--seed", "5")
        self.assertEqual(status, 1)
        self.assertIn("other plans", err)
        status, _, err = run("season", *arguments, "--resume")
        self.assertEqual(status, 0, err)
        self.assertFalse(os.path.exists(part))
        self.season(plan, archive, "-n", "100", "--threads", "1", "-o", self.path("once"))
        self.assertEqual(tree(self.path("out")), tree(self.path("once")))
        self.assertEqual(sorted(os.listdir(self.folder)), ["archive.csv", "once", "out", "plan.json"])

    def peak_kb(self, *arguments):
        script = ("import resource,subprocess,sys;subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,"
                  "check=True);print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
        done = subprocess.run(["/usr/bin/python3", "-c", script, PAPPUS, "season", *arguments, "--quiet"],
                              capture_output=True, text=True, check=True)
        return int(done.stdout)

    # An archive that is streamed: thirteen times as long, hardly more memory. (24 bytes a sounding
    # are kept, 30 more to count them.)
    def test_memory(self):
        def igra(days):  # IGRA v2 (SOURCES 10), the station 187 m high as the demo's field
            lines = []
            for i in range(days):
                at = START + datetime.timedelta(hours=12 * i)
                lines.append("#XXM00012345 %s 9999 %4d                    417625  -984410" %
                             (at.strftime("%Y %m %d %H"), len(HEIGHTS)))
                for k, (z, d, s, t) in enumerate(levels(i)):
                    height = 187 + (z if k else 0)  # the station's own level: its wind 10 m over it
                    pressure = round(101325 * (1 - 2.25577e-5 * height) ** 5.25588)
                    lines.append("%s -9999 %6d %5d %5d -9999 -9999 %5d %5d " % (
                        20 if k else 21, pressure, height, round(10 * t), round(d) % 360, round(10 * s)))
            return "\n".join(lines) + "\n"
        plan = self.plan(heights={"from": "700 ft", "to": "700 ft", "step": "100 ft"})
        self.write("short.txt", igra(30))
        self.write("long.txt", igra(400))
        self.season(plan, self.path("short.txt"), "-n", "100", "-o", self.path("out"))
        self.assertEqual(len(self.days(self.path("out"))), 30)
        self.assertTrue(all(d["reading"] == "1" and d["why"] == "" for d in self.days(self.path("out"))))
        short = self.peak_kb(plan, self.path("short.txt"), "-n", "100", "--threads", "1")
        long = self.peak_kb(plan, self.path("long.txt"), "-n", "100", "--threads", "1")
        self.assertLess(long - short, 3000)

    def test_days_left_out(self):
        low = "\n".join(line for line in table(2).splitlines() if not line.startswith("3500,")) + "\n"
        high = "\n".join(l for l in table(2, offset=5).splitlines()[1:]
                         if not l.startswith(("10,", "150,"))) + "\n"
        plan = self.plan()
        self.season(plan, self.write("gaps.csv", low + high), "-n", "100", "-o", self.path("out"))
        whys = [d["why"] for d in self.days(self.path("out"))]
        self.assertEqual(whys[:2], ["its winds end under the apogee"] * 2)
        self.assertEqual(whys[2:], ["its winds begin more than 300 m above the pad"] * 2)
        found = read_json(self.path("out/season.json"))
        self.assertEqual((found["groups"], found["plans"][0]["left_out"]), ([], 4))

    def test_cost_told_first(self):
        """The day that tells the cost is judged again and counts once; plans of one name are two."""
        os.mkdir(self.path("other"))
        plans = self.plan(), self.plan("other/plan.json", title="other")
        archive = self.archive(2)
        self.season(*plans, archive, "-n", "100", "-o", self.path("quiet"))
        status, _, err = run("season", *plans, archive, "-n", "100", "-o", self.path("told"))
        self.assertEqual(status, 0, err)
        self.assertIn("season: 2 of 2 days, 2 plans, 4 main heights, 100 landings each: about ", err)
        told, quiet = tree(self.path("told")), tree(self.path("quiet"))
        self.assertEqual(told.keys(), quiet.keys())
        self.assertEqual([name for name in told if told[name] != quiet[name]], [])
        names = [p["plan"] for p in read_json(self.path("told/season.json"))["plans"]]
        self.assertEqual(names, ["plan", "plan-2"])
        self.assertEqual({d["plan"] for d in self.days(self.path("told"))}, set(names))

    def test_reading(self):
        plan, archive = self.plan(), self.archive(4)
        self.season(plan, archive, "-n", "2000", "-o", self.path("with"))
        self.season(plan, archive, "-n", "2000", "-o", self.path("without"), "--reading", "none")
        self.assertEqual([d["reading"] for d in self.days(self.path("with"))], ["1"] * 4)
        self.assertEqual([d["reading"] for d in self.days(self.path("without"))], ["0"] * 4)
        # known winds near the ground: less spread
        spread = [sum(float(d["drift_p95_m"]) - float(d["drift_p05_m"]) for d in self.days(self.path(f)))
                  for f in ("with", "without")]
        self.assertLess(spread[0], 0.97 * spread[1])

    def test_heights_above_the_sea(self):
        """Of a table that names no station the ground is where its days begin, in the middle."""
        lines = table(4).splitlines()
        ground = 612.648 - 10.0  # of the plan's pad; the lowest level, 10 m up, is read at a mast's 10 m
        rows = [lines[0].replace("height_agl_m", "height_msl_m")]
        rows += [f"{float(z) + ground + 10.0:.3f},{rest}" for z, rest in
                 (line.split(",", 1) for line in lines[1:])]
        plan = self.plan()
        self.season(plan, self.archive(4), "-n", "500", "-o", self.path("agl"))
        self.season(plan, self.write("msl.csv", "\n".join(rows) + "\n"), "-n", "500", "-o", self.path("msl"))
        for agl, msl in zip(self.days(self.path("agl")), self.days(self.path("msl")), strict=True):
            self.assertEqual((msl["reading"], msl["decision"]), ("1", agl["decision"]))
            for key in ("surface_wind_mps", "drift_p05_m", "drift_p50_m", "drift_p95_m"):
                self.assertAlmostEqual(float(msl[key]), float(agl[key]), delta=0.01 * float(agl[key]))

    def test_own_day_is_left_out(self):
        """What a plan measured on its own day says nothing of another."""
        archive = self.archive(4)
        own = {"error": "1 m/s", "time": "2027-04-17T15:00Z",
               "surface": {"speed": "9 m/s", "direction": "10 deg", "gust": "14 m/s", "error": "1 m/s"},
               "observations": [{"height": "150 m", "speed": "20 m/s", "direction": "15 deg"}]}
        self.season(self.plan(), archive, "-n", "200", "-o", self.path("bare"))
        self.season(self.plan(wind=own), archive, "-n", "200", "-o", self.path("own"))
        self.assertEqual(read_bytes(self.path("own/days.csv")), read_bytes(self.path("bare/days.csv")))

    def test_one_day_for_one_time(self):
        """Of two soundings of a time the one with more levels counts, wherever it stands."""
        lines = table(3).splitlines()
        sparse = [line for line in lines if line.startswith(("10,", "3500,"))]
        plan = self.plan()
        self.season(plan, self.write("whole.csv", table(3)), "-n", "200", "-o", self.path("whole"))
        self.write("sparse.csv", "\n".join([lines[0], *sparse]) + "\n")
        for name, files in (("before", ("sparse.csv", "whole.csv")), ("behind", ("whole.csv", "sparse.csv"))):
            self.season(plan, *map(self.path, files), "-n", "200", "-o", self.path(name))
            self.assertEqual(read_bytes(self.path(f"{name}/days.csv")),
                             read_bytes(self.path("whole/days.csv")), name)
            skipped = read_json(self.path(f"{name}/season.json"))["archive"]["skipped"]
            self.assertEqual([s["count"] for s in skipped], [3])

    def test_bad_input(self):
        plan, archive = self.plan(), self.archive(3)
        empty = self.write("empty.csv", "height_agl_m,direction_deg,speed_mps\n10,20,3\n500,30,4\n")
        site = json.loads(read_text(plan))["site"]
        for status, words, arguments in (
                (2, "no archive", (plan,)), (2, "no plan", (archive,)),
                (2, "--shard: found 0/3", (plan, archive, "--shard", "0/3", "-o", self.path("x"))),
                (2, "--shard: found 4/3", (plan, archive, "--shard", "4/3", "-o", self.path("x"))),
                (2, "--shard: found 1/3x", (plan, archive, "--shard", "1/3x", "-o", self.path("x"))),
                (2, "--shard: found no --output", (plan, archive, "--shard", "1/3")),
                (2, "--resume: found no --output", (plan, archive, "--resume")),
                (2, "--merge: found --shard", (self.folder, "--merge", "--shard", "1/2", "-o", self.path("x"))),
                (2, "--age", (plan, archive, "--age", "49")),
                (2, "--reading", (plan, archive, "--reading", "some")),
                (1, "no wind of a known time", (plan, empty)),
                (1, "cannot be opened", (plan, self.path("none.csv"))),
                (1, "holds no part", ("--merge", self.folder)),
                (1, "site.latitude", (plan, self.plan("b.json", site={**site, "latitude": "12 deg"}),
                                      archive))):
            got, out, err = run("season", *arguments, "--quiet")
            self.assertEqual((got, out), (status, ""), (arguments, err))
            self.assertIn(words, err)
        self.assertFalse(os.path.exists(self.path("x")))


if __name__ == "__main__":
    main()
