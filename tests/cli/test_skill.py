# SPDX-License-Identifier: GPL-3.0-or-later
"""pappus skill: invented archives from file to answer, and archives that are wrong."""
import json
import math
import os
import re
import xml.etree.ElementTree as ET
import random
import subprocess
import tempfile
import unittest
from html import unescape

from helpers import PAPPUS, demo_plan, read_json, run

HEIGHTS = [10, 100, 250, 500, 900, 1400, 2000, 3000, 4000, 5000]


def stamp(hours):
    done = subprocess.run(["date", "-u", "-d", "@%d" % (1.4e9 + 3600 * hours), "+%Y-%m-%dT%H:00Z"],
                          capture_output=True, text=True, check=True)
    return done.stdout.strip()


def wind(seed, sd=4.0):
    """Invented (A): a random walk over height."""
    r, u, v, rows = random.Random(seed), 0.0, 0.0, []
    for z in HEIGHTS:
        u += r.gauss(0, sd / 3)
        v += r.gauss(0, sd / 3)
        rows.append((z, u, v))
    return rows


def table(count, step_h=12, start=0):
    lines = ["time,height_agl_m,u_mps,v_mps"]
    for i in range(count):
        t = stamp(start + step_h * i)
        lines += ["%s,%d,%.3f,%.3f" % (t, *row) for row in wind(i)]
    return "\n".join(lines) + "\n"


def igra(count, station="XXM00012345", surface=True):
    """IGRA v2 (SOURCES 10); the heights of every second level are left to hydrostatics."""
    out = []
    for i in range(count):
        rows, levels = wind(i), []
        for k, (z, u, v) in enumerate(rows):
            z = z if k or not surface else 0  # the station's own height; its wind is 10 m over it
            pressure = round(101325 * (1 - 2.25577e-5 * (z + 200)) ** 5.25588)
            gph = z + 200 if k % 2 or k == 0 else -9999
            kind = "21" if k == 0 and surface else "20"
            direction = math.degrees(math.atan2(-u, -v)) % 360
            levels.append("%s -9999 %6d %5d %5d -9999 -9999 %5d %5d " % (
                kind, pressure, gph, round(10 * (14 - 0.0065 * z)), round(direction) % 360,
                round(10 * math.hypot(u, v))))
        t = stamp(12 * i)
        out.append("#%s %s %s %s %s 9999 %4d                    481000   163000" % (
            station, t[:4], t[5:7], t[8:10], t[11:13], len(levels)))
        out += levels
    return "\n".join(out) + "\n"


LAW_HEIGHTS = [10, 50, 100, 200, 300, 500, 700, 900, 1200, 1500, 1800, 2100, 2500, 3000]
LAW = {"growth": 2.0, "dof": 6, "length": 400, "ground": 0.6, "decoupling": 0.3, "share": 0.4}


def of_the_law(pairs, age_h=12, later=1):
    """X: winds of one speed over height, and 12 h after each one drawn from DESIGN's law of the
    error by its formulas, growing with the wind aloft by the part "share" (head of
    wind_error.c), four days apart so that no other pairs arise; in the second half of the time
    `later` times as large."""
    draw, before = random.Random(21), random.Random(22)
    lines = ["time,height_agl_m,u_mps,v_mps"]
    length = LAW["length"] * math.sqrt(age_h)
    depth = [z / length + LAW["decoupling"] * (1 - math.exp(-z / 60)) for z in LAW_HEIGHTS]
    for i in range(pairs):
        first, then = stamp(96 * i), stamp(96 * i + age_h)
        wind = [before.gauss(0, 6), before.gauss(0, 6)]
        over = math.hypot(*wind) / 8
        lines += ["%s,%d,%.3f,%.3f" % (first, z, *wind) for z in LAW_HEIGHTS]
        chi2 = draw.gammavariate(LAW["dof"] / 2, 2)
        scale = LAW["growth"] * age_h ** (1 / 3) * math.sqrt(
            (LAW["dof"] - 2) / chi2 * (1 + LAW["share"] * (over * over - 1)))
        scale *= later if 2 * i >= pairs else 1
        x = [draw.gauss(0, 1), draw.gauss(0, 1)]
        for j, z in enumerate(LAW_HEIGHTS):
            keep = math.exp(depth[j - 1] - depth[j]) if j else 0
            x = [keep * c + math.sqrt(1 - keep * keep) * draw.gauss(0, 1) for c in x]
            factor = (LAW["ground"] + (1 - LAW["ground"]) * min(z / 400, 1) +
                      0.25 * max(0, z - 2000) / 2500)
            lines.append("%s,%d,%.3f,%.3f" % (then, z, wind[0] + scale * factor * x[0],
                                              wind[1] + scale * factor * x[1]))
    return "\n".join(lines) + "\n"


class Skill(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name, text=None):
        path = os.path.join(self.folder.name, name)
        if text is not None:
            with open(path, "w", encoding="utf-8") as f:
                f.write(text)
        return path

    def json_of(self, *arguments):
        status, out, err = run("skill", *arguments, "--json")
        self.assertEqual(status, 0, err)
        return json.loads(out)

    def test_json(self):
        answer = self.json_of(self.path("a.csv", table(80)))
        self.assertEqual(answer["pairs"], 79 + 78 + 77 + 76)
        for key in ("error_mps", "growth_mps", "error_dof"):
            value = answer["fit"][key]
            self.assertTrue(0 < value["low"] <= value["value"] <= value["high"], key)
        self.assertEqual([c["age_h"] for c in answer["fit"]["correlation"]], [12, 24, 36, 48])
        rows = [r for r in answer["by_age"] if r["age_h"] == 12]
        self.assertEqual([(r["from_m"], r["to_m"]) for r in rows],
                         [(0, 400), (400, 1250), (1250, 3250), (3250, 6000)])
        # X: two independent winds differ by sqrt 2 of the sd of one, (4/3) sqrt k at level k;
        # linear between levels takes some off. Lowest band: k = 2 to 3.5.
        self.assertTrue(2.2 < rows[0]["rms_mps"] < 3.6)
        self.assertEqual(answer["coverage"], [])

    def test_igra_is_the_table(self):
        a = self.json_of(self.path("a.csv", table(60)))
        b = self.json_of(self.path("b.txt", igra(60)))
        self.assertEqual(b["station"], "XXM00012345")
        self.assertEqual(a["pairs"], b["pairs"])
        for one, other in zip(a["by_age"], b["by_age"]):
            self.assertEqual(one["age_h"], other["age_h"])
            self.assertAlmostEqual(one["rms_mps"], other["rms_mps"], delta=0.1)

    def test_several_files_are_one_archive(self):
        whole = self.json_of(self.path("a.csv", table(60)))
        first = self.path("b.csv", table(30))
        both = table(60).split("\n")
        second = self.path("c.csv", "\n".join([both[0]] + both[1 + 30 * len(HEIGHTS):]))
        self.assertEqual(whole, self.json_of(second, first))
        doubled = self.json_of(first, second, self.path("a.csv"))
        self.assertEqual(doubled["pairs"], whole["pairs"])
        self.assertEqual(doubled["skipped"][0]["count"], 60)

    def test_choice(self):
        archive = self.path("a.csv", table(200))
        noon = self.json_of(archive, "--hours", stamp(0)[11:13])
        self.assertEqual(noon["pairs"], 99 + 99 + 98 + 98)
        old = self.json_of(archive, "--age", "24")
        self.assertEqual(old["fit"]["pairs"], 198)
        month = int(stamp(0)[5:7])
        self.assertTrue(self.json_of(archive, "--months", str(month))["pairs"] < noon["pairs"])
        for option, value in (("--age", "7"), ("--months", "13"), ("--months", "4-"),
                              ("--hours", "24"), ("--hours", ""), ("--hours", "1,,2")):
            status, _, err = run("skill", archive, option, value)
            self.assertEqual((status, len(err.strip().split("\n"))), (2, 1), (option, err))
            self.assertIn("accepted", err)

    def test_forecasts(self):
        lines = ["issued,time,height_agl_m,u_mps,v_mps"]
        for i in range(60):
            valid = stamp(12 * i)
            lines += ["%s,%s,%d,%.3f,%.3f" % (valid, valid, *row) for row in wind(i)]
            for lead in (6, 12, 18):
                lines += ["%s,%s,%d,%.3f,%.3f" % (stamp(12 * i - lead), valid, *row)
                          for row in wind(1000 * i + lead)]
        answer = self.json_of(self.path("f.csv", "\n".join(lines) + "\n"))
        self.assertEqual((answer["kind"], answer["pairs"]), ("forecast", 180))

    def test_output(self):
        archive, learned = self.path("a.csv", table(60)), self.path("learned.json")
        answer = self.json_of(archive, "-o", learned)
        fragment = read_json(learned)["wind"]
        self.assertAlmostEqual(float(fragment["growth"].split()[0]),
                               answer["fit"]["growth_mps"]["value"], delta=0.006)
        self.assertIn("pairs", fragment["learned_from"])
        self.assertEqual(run("skill", archive, "-o", archive)[0], 2)
        self.assertEqual(run("skill", archive, "-o", self.path("x.txt"))[0], 2)

    def test_page(self):
        """The drawings stand over the text of the terminal."""
        archive, page = self.path("a.csv", table(80)), self.path("page.html")
        plan = self.path("plan.json", json.dumps(demo_plan()))
        arguments = ["skill", archive, "--plan", plan, "-n", "300"]
        status, text, err = run(*arguments, "-o", page)
        self.assertEqual(status, 0, err)
        with open(page, encoding="utf-8") as f:
            html = f.read()
        self.assertEqual(html.count("<svg"), 5)
        self.assertTrue(text in unescape(html))
        # X: 4 levels, with and without the reading, learned and as planned, each a dot
        coverage = html.split("<svg")[4]
        self.assertEqual(coverage.count("<circle"), 16 + 4)
        self.ranks_are_drawn(html.split("<svg")[5], self.json_of(*arguments[1:]))
        run("skill", archive, "-o", page)
        with open(page, encoding="utf-8") as f:
            self.assertEqual(f.read().count("<svg"), 3)

    def ranks_are_drawn(self, svg, answer):
        """Every bar is as high as its tenth has flights, without and then with the reading."""
        bars = [float(h) for h in re.findall(r'<rect[^>]* height="([\d.]+)"[^>]*class="k-bar', svg)]
        counts = [n for ranks in answer["proof"]["ranks"] for n in ranks["counts"]]
        self.assertEqual(len(bars), len(counts))
        unit = sum(bars) / sum(counts)
        for bar, count in zip(bars, counts):
            self.assertAlmostEqual(bar, unit * count, delta=0.11)  # drawn to a tenth

    def test_drawing(self):
        archive, svg = self.path("a.csv", table(80)), self.path("skill.svg")
        self.assertEqual(run("skill", archive, "-o", svg)[0], 0)
        root = ET.parse(svg).getroot()
        self.assertEqual(root.tag, "{http://www.w3.org/2000/svg}svg")
        places = [g.get("transform") for g in root.findall("{http://www.w3.org/2000/svg}g")]
        self.assertEqual(places, ["translate(0 0)", "translate(0 340)", "translate(0 680)"])

    def test_learned_is_the_base_of_a_plan(self):
        """A plan laid over what was learned flies with it and tells where it is from."""
        learned = self.path("learned.json")
        self.json_of(self.path("a.csv", table(60)), "-o", learned)
        fragment = read_json(learned)["wind"]
        plan = demo_plan()
        del plan["wind"]["error"]
        plan["base"] = "learned.json"
        path = self.path("plan.json", json.dumps(plan))
        status, out, err = run("check", path, "--json")
        self.assertEqual(status, 0, err)
        values = {v["key"]: v for v in json.loads(out)["values"]}
        for key, given in fragment.items():
            self.assertFalse(values["wind." + key]["assumed"], key)
            if key == "learned_from":
                self.assertEqual(values["wind." + key]["si"], given)
            else:
                self.assertAlmostEqual(float(values["wind." + key]["si"].split()[0]),
                                       float(str(given).split()[0]), delta=0.006, msg=key)
        status, out, err = run("brief", path, "-n", "500", "-o", self.path("out"))
        self.assertIn(status, (0, 1), err)
        with open(self.path("out/report.html"), encoding="utf-8") as report:
            self.assertIn(fragment["learned_from"], report.read())

    def test_proof(self):
        plan = demo_plan()
        path = self.path("plan.json", json.dumps(plan))
        archive = self.path("a.csv", table(80))
        arguments = [archive, "--plan", path, "-n", "500"]
        answer = self.json_of(*arguments)
        self.assertEqual([(c["level"], c["reading"]) for c in answer["coverage"]],
                         [(p, r) for r in (False, True) for p in (0.5, 0.9, 0.95, 0.99)])
        for c in answer["coverage"]:
            self.assertTrue(0 <= c["low"] <= c["share"] <= c["high"] <= 1)
            self.assertEqual(c["pairs"], answer["proof"]["pairs"])
        self.assertEqual(answer["proof"]["pairs"], 78)  # none over the halves' border
        for ranks in answer["proof"]["ranks"]:
            self.assertEqual(sum(ranks["counts"]), 78)
        one = run("skill", *arguments, "--json", "--threads", "1")[1]
        self.assertEqual(one, run("skill", *arguments, "--json", "--threads", "3")[1])

    def test_zones_of_the_true_law_hold_what_they_say(self):
        """Every contour's share within 4 standard errors of the binomial law, by the law as
        planned and as learned, without a reading and with one that has no error."""
        plan = demo_plan()
        plan["wind"].update({"error": "0 m/s", "growth": "2 m/s", "error_dof": 6,
                             "ground_factor": 0.6, "correlation_growth": "400 m",
                             "decoupling": 0.3, "speed_share": 0.4})
        plan["wind"]["surface"]["error"] = "0 m/s"
        answer = self.json_of(self.path("a.csv", of_the_law(400)), "--age", "12", "-n", "500",
                              "--plan", self.path("plan.json", json.dumps(plan)))
        for key in ("coverage", "coverage_as_planned"):
            for c in answer[key]:
                error = math.sqrt(c["level"] * (1 - c["level"]) / c["pairs"])
                self.assertAlmostEqual(c["share"], c["level"], delta=4 * error, msg=(key, c))

    def test_zones_have_not_seen_what_they_are_tried_on(self):
        """Errors four times as large in the second half of the time, and each half is tried by
        what the other taught. X: of the normal law's 99 % contour in a plane, r^2 = -2 ln 0.01,
        the first half is inside all but surely, the second 1 - exp(-r^2 / 2 16) = 25 % of the
        time, the more of it for the rocket's own spread. Tried by its own half's law each would
        be inside 99 % of the time."""
        plan = demo_plan()
        plan["wind"].update({"error": "0 m/s"})
        answer = self.json_of(self.path("a.csv", of_the_law(160, later=4)), "--age", "12", "-n", "300",
                              "--plan", self.path("plan.json", json.dumps(plan)))
        share = [c["share"] for c in answer["coverage"] if c["level"] == 0.99 and not c["reading"]]
        self.assertAlmostEqual(share[0], (1 + 0.25) / 2, delta=0.12)

    def test_winds_that_end_below_the_apogee_prove_nothing(self):
        """Both winds must reach the 95 % quantile of the apogee: 5200 ft and 1.645 times 250 ft,
        1710 m (X). Up to 1500 m, above its 5 % quantile, says nothing of the highest flights."""
        plan = self.path("plan.json", json.dumps(demo_plan()))
        header, *rows = of_the_law(80).splitlines()
        for top, known in ((1500, False), (1800, True)):
            kept = [header, *(row for row in rows if int(row.split(",")[1]) <= top)]
            status, out, err = run("skill", self.path("a.csv", "\n".join(kept) + "\n"), "--age", "12",
                                   "--plan", plan, "-n", "300", "--json")
            self.assertEqual(status, 0 if known else 1, err)
            if known:
                self.assertEqual(json.loads(out)["proof"]["pairs"], 79)  # one is over the border
            else:
                self.assertIn("from the ground to the apogee", err)

    def test_calm_is_proved(self):
        """The same wind every day: flights lie where the zone is, far more than it says."""
        lines = ["time,height_agl_m,u_mps,v_mps"]
        for i in range(80):
            lines += ["%s,%d,%.3f,%.3f" % (stamp(12 * i), *row) for row in wind(5)]
        plan = self.path("plan.json", json.dumps(demo_plan()))
        status, out, err = run("skill", self.path("s.csv", "\n".join(lines) + "\n"), "--plan", plan,
                               "-n", "500", "--json")
        self.assertEqual(status, 0, err)
        answer = json.loads(out)
        self.assertEqual(answer["coverage_as_planned"][1]["share"], 1.0)

    def test_winds_that_begin_aloft_prove_nothing(self):
        """A wind whose lowest level is at 100 m says nothing of the end of a fall: fitted, not
        tried."""
        rows = [line for line in table(80).splitlines()
                if not line.split(",")[1].isdigit() or int(line.split(",")[1]) >= 100]
        plan = self.path("plan.json", json.dumps(demo_plan()))
        status, out, err = run("skill", self.path("s.csv", "\n".join(rows) + "\n"), "--plan", plan,
                               "-n", "500", "--json")
        self.assertEqual((status, out), (1, ""))
        self.assertIn("no pair of winds is known from the ground", err)


GOOD = table(40)
IGRA = igra(40)


def without(text, n):
    return "\n".join(text.split("\n")[:n]) + "\n"


# Name, text, whether something is left (a counted skip) or nothing (one fault).
BAD = [
    ("empty", "", False),
    ("a header alone", "time,height_agl_m,u_mps,v_mps\n", False),
    ("no time", GOOD.replace("time,", "x,"), False),
    ("no height", GOOD.replace("height_agl_m", "z"), False),
    ("no v", GOOD.replace(",v_mps", ",w"), False),
    ("unit not known", GOOD.replace("u_mps", "u_furlong"), False),
    ("unit missing", GOOD.replace("height_agl_m", "height"), False),
    ("a word for a wind", GOOD.replace("\n", "\n", 1).replace(",10,", ",ten,", 1), False),
    ("a time of no calendar", GOOD.replace("T", "T25:", 1), False),
    ("a row too short", GOOD + "2014-06-01T00:00Z,10\n", False),
    ("a quote never closed", GOOD + '"2014', False),
    ("a control character", GOOD.replace("2014", "20\x0114", 1), False),
    ("too fast", GOOD.replace(",10,", ",10,999,1\n2014-01-01T00:00Z,10,", 1), False),
    ("one sounding", without(GOOD, 11), False),
    ("two soundings", without(GOOD, 21), False),
    ("twenty soundings", without(GOOD, 1 + 10 * 15), False),
    ("one level each", "\n".join([GOOD.split("\n")[0]] + GOOD.split("\n")[1::10]) + "\n", False),
    ("all of one time", GOOD.replace(GOOD.split("\n")[11][:17], GOOD.split("\n")[1][:17])[:900],
     False),
    ("years apart", "\n".join(GOOD.split("\n")[:11]) + "\n2019-01-01T00:00Z,10,1,1\n"
     "2019-01-01T00:00Z,90,1,1\n", False),
    ("a picture", "\x89PNG\r\n", False),
    ("a plan", '{"title": "no archive"}', False),
    ("prose", "Winds were light.\n", False),
    ("not UTF-8", None, False),
    ("igra: cut within a sounding", IGRA[:-200], True),
    ("igra: cut within a line", IGRA[:-20], True),
    ("igra: a header alone at the end", IGRA + IGRA.split("\n")[0] + "\n", True),
    ("igra: another station in it", IGRA + igra(3, "YYM00054321"), True),
    ("igra: a day of no calendar", IGRA.replace(" 2014 05 13 ", " 2014 02 30 ").replace(
        " 2014 05 15 ", " 2014 02 30 "), True),
    ("igra: more levels said", IGRA.replace("9999   10 ", "9999   11 ", 1), True),
    ("igra: fewer levels said", IGRA.replace("9999   10 ", "9999    9 ", 1), True),
    ("igra: a letter in a wind", IGRA.replace("-9999 -9999", "-9999 -99x9", 1).replace(
        "20 -9999 ", "20 -99x9 ", 1), True),
    ("igra: a line too short", IGRA.replace(" -9999 -9999 ", " ", 1), True),
    ("igra: a direction of 999", "\n".join(
        l[:40] + "  999" + l[45:] if i == 5 else l for i, l in enumerate(IGRA.split("\n"))), True),
    ("igra: a speed of 9000", "\n".join(
        l[:46] + " 9000" + l[51:] if i == 5 else l for i, l in enumerate(IGRA.split("\n"))), True),
    ("igra: no wind in one", "\n".join(
        l[:40] + "-9999 -9999 " if 0 < i < 11 else l for i, l in enumerate(IGRA.split("\n"))), True),
    ("igra: removed winds", "\n".join(
        l[:40] + "-8888 -8888 " if i in (3, 4) else l for i, l in enumerate(IGRA.split("\n"))), True),
    ("igra: no heights in one", "\n".join(
        l[:16] + "-9999" + l[21:] if 0 < i < 11 else l for i, l in enumerate(IGRA.split("\n"))), True),
    ("igra: no surface", igra(40, surface=False), True),
    ("igra: every sounding twice", IGRA + IGRA, True),
    ("igra: out of order", "".join(reversed(["#" + s for s in IGRA.split("#")[1:]])), True),
    ("igra: empty lines", IGRA.replace("\n", "\n\n"), True),
]


class Bad(unittest.TestCase):
    def test_forty_kinds(self):
        self.assertGreaterEqual(len(BAD), 40)
        for name, text, left in BAD:
            with self.subTest(name), tempfile.TemporaryDirectory() as folder:
                path = os.path.join(folder, "a")
                with open(path, "wb") as f:
                    f.write(b"time,height_agl_m\xff\xfe,u_mps\n" if text is None else text.encode())
                status, out, err = run("skill", path)
                self.assertEqual(status, 0 if left else 1, err + out[:500])
                self.assertLess(len([l for l in err.split("\n") if "error:" in l]), 23, err)
                self.assertEqual("error:" in err, not left, err)
                self.assertEqual(out != "", left)
                if not left:
                    self.assertIn(path, err)


if __name__ == "__main__":
    unittest.main(argv=[PAPPUS])
