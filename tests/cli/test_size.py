# SPDX-License-Identifier: GPL-3.0-or-later
"""The bench card through the program. Source letters: P common practice of the trade, no
source; X computed from the formula beside it; C exact by definition."""
import copy
import math
import re

from helpers import Case, demo_plan, json, main, merge, run

FOOT, INCH, POUND, POUND_FORCE = 0.3048, 0.0254, 0.45359237, 4.4482216152605  # C


def bench_plan(**patch):
    """The demo plan without wind and field: all that the bench needs."""
    plan = demo_plan()
    del plan["wind"], plan["field"]
    merge(plan, patch)
    return plan


def certain(text):
    return re.sub(r" *\+/-.*", "", text)


def made_certain(node):
    if isinstance(node, dict):
        return {key: made_certain(value) for key, value in node.items()}
    if isinstance(node, list):
        return [made_certain(value) for value in node]
    return certain(node) if isinstance(node, str) else node


class SizeCase(Case):
    def size(self, plan, *options, expect=0):
        status, out, err = run("size", self.write("plan.json", plan), *options)
        self.assertEqual(status, expect, err)
        return out

    def card(self, plan, *options):
        return json.loads(self.size(plan, "--json", *options))


class Sums(SizeCase):
    def charge(self, **charge):
        plan = bench_plan()
        plan["charges"] = {"main": charge}
        return self.card(plan)["charges"]["main"]

    def test_charges_of_common_practice(self):
        # P: 12.56 in2 by pi 3.14, 0.0082 lb, 3.72 g from the rounded pounds at 454 g
        c = self.charge(bay_diameter="4 inch", bay_length="36 inch", force="200 lbf")
        self.assertAlmostEqual(c["area_m2"] / INCH**2, 12.56, delta=4 * (math.pi - 3.14) + 1e-6)
        self.assertAlmostEqual(c["mass_g"] / 1000 / POUND, 0.0082, delta=0.00005)
        self.assertAlmostEqual(round(c["mass_g"] / 1000 / POUND, 4) * 454, 3.72, delta=0.005)
        # P: 15 psi rule, 4 x 10 inch: 0.97 g
        c = self.charge(bay_diameter="4 inch", bay_length="10 inch", pressure="15 psi")
        self.assertAlmostEqual(c["mass_g"], 0.97, delta=0.005)

    def test_mixed_units_give_the_same_charge(self):
        us = self.charge(bay_diameter="4 inch", bay_length="1 ft", force="200 lbf")
        si = self.charge(bay_diameter="10.16 cm", bay_length="0.3048 m",
                         force=f"{200 * POUND_FORCE} N")
        self.assertAlmostEqual(us["mass_g"], si["mass_g"], delta=1e-6)

    def test_pins_to_force_to_grams_to_force(self):
        pins = self.charge(bay_diameter="4 inch", bay_length="12 inch", friction="10 lbf",
                           shear_pins={"count": 3, "strength": "40 lbf"}, margin=1.5)
        self.assertAlmostEqual(pins["force_n"] / POUND_FORCE, 1.5 * (3 * 40 + 10), delta=1e-6)
        # X: F = m R T / L, R T = 22.16 ft lbf/(lb degR) x 3307 degR
        force_lbf = pins["mass_g"] / 1000 / POUND * 22.16 * 3307 / 1.0
        self.assertAlmostEqual(force_lbf, 195.0, delta=0.001)

    def test_rate_to_diameter_to_rate(self):
        plan = bench_plan(main={"wanted_rate": "18 ft/s"})
        wanted = self.card(plan)["main"]["wanted_diameter_m"]
        plan["main"]["diameter"] = f"{wanted:.9f} m"
        self.assertAlmostEqual(self.card(plan)["main"]["alone_mps"], 18 * FOOT, delta=1e-6)

    def test_every_printed_step_can_be_checked_by_hand(self):
        """Each number from the printed ones before it, to half a unit of the last digit
        of what is printed and of what goes in."""
        plan = bench_plan()
        plan["charges"] = {"main": {"bay_diameter": "4 inch", "bay_length": "36 inch",
                                    "force": "200 lbf"}}
        text = self.size(plan, "--quiet")
        steps = {m[1]: float(m[2]) for m in re.finditer(
            r"^  (area|volume|force|pressure|powder|in grams|backup) .*? {2,}([\d.]+) ", text, re.M)}
        self.assertEqual(steps["area"], 12.57)
        self.assertAlmostEqual(steps["area"] * 36, steps["volume"], delta=0.005 * 36 + 0.05)
        self.assertEqual(steps["force"], 200.0)
        self.assertAlmostEqual(steps["force"] / steps["area"], steps["pressure"], delta=0.015)
        self.assertAlmostEqual(200 * 3 / (22.16 * 3307), steps["powder"], delta=0.0000005)
        primary = float(re.search(r"PRIMARY +([\d.]+) g", text)[1])
        # every factor is in the words of its step: 36 inch / 12, 453.59 g in a pound (C)
        self.assertAlmostEqual(steps["force"] * 36 / 12 / 73283, steps["powder"], delta=0.0000006)
        self.assertAlmostEqual(steps["powder"] * 453.59, steps["in grams"], delta=0.0008)
        self.assertAlmostEqual(steps["in grams"], primary, delta=0.0051)
        self.assertAlmostEqual(steps["in grams"] * 1.25, steps["backup"], delta=0.0012)


class OneAnswer(SizeCase):
    """size and brief agree: the same plan, every uncertainty and error off."""

    def agree(self, plan):
        """The card, after its landing is compared with the median of the nominal
        landings, all of which are the same."""
        card = self.card({k: v for k, v in plan.items() if k not in ("wind", "field")})
        status, out, err = run("scatter", self.write("cloud.json", plan), "--json", "-n", "2000")
        self.assertEqual(status, 0, err)
        nominal = json.loads(out)["outcomes"]["nominal"]
        landing = nominal["landing_vz_mps"]
        self.assertAlmostEqual(landing["p05"], landing["p95"], delta=1e-3)
        self.assertAlmostEqual(card["touchdown_mps"], landing["p50"], delta=0.005 * landing["p50"])
        return card, nominal

    def plan(self, **patch):
        plan = made_certain(demo_plan())
        merge(plan, {"apogee": {"spread": "0 ft", "heading": "90 deg"}, "rocket": {"hanging_share": 0.25}})
        plan["wind"] = {"surface": {"speed": "0 m/s", "direction": "0 deg", "height": "2 m",
                                    "error": "0 m/s"}, "error": "0 m/s", "growth": "0 m/s"}
        merge(plan, patch)
        return plan

    def loads_agree(self, plan):
        card, nominal = self.agree(plan)
        for canopy in ("drogue", "main"):
            planned = card[canopy]["opening_loads"][0]["peak_g"]
            flown = nominal[canopy + "_load_g"]["p50"]
            self.assertAlmostEqual(planned, flown, delta=0.02 * flown)
        return card

    def test_two_canopies(self):
        card = self.loads_agree(self.plan(rocket={"tumble_drag_area": "0.06 m2"}))
        self.assertLess(card["main"]["flown_mps"], card["main"]["alone_mps"])

    def test_a_fast_apogee_in_a_dead_calm(self):
        """Upwind is nowhere then; the airspeed is there all the same, on card and in cloud."""
        slow = self.loads_agree(self.plan(apogee={"heading": "upwind", "speed": "0 ft/s"}))
        fast = self.loads_agree(self.plan(apogee={"heading": "upwind", "speed": "300 ft/s"}))
        self.assertGreater(fast["drogue"]["opening_loads"][0]["peak_g"],
                           4 * slow["drogue"]["opening_loads"][0]["peak_g"])

    def test_brief_says_the_same(self):
        plan = self.plan()
        card, _ = self.agree(plan)
        status, out, err = run("brief", self.write("brief.json", plan), "--json", "-n", "2000")
        self.assertIn(status, (0, 3, 4), err)
        limits = {limit["limit"]: limit["value"] for limit in json.loads(out)["limits"]}
        self.assertAlmostEqual(card["touchdown_mps"], limits["landing_speed"],
                               delta=0.005 * card["touchdown_mps"])

    def test_main_alone(self):
        plan = self.plan()
        del plan["drogue"]
        self.agree(plan)

    def test_high_and_hot_field(self):
        self.agree(self.plan(site={"elevation": "6000 ft", "temperature": "35 degC"}))


class Plans(SizeCase):
    def variants(self):
        yield "both", bench_plan()
        for gone in ("drogue", "main", "charges", "altimeters", "limits", "faults"):
            plan = bench_plan()
            del plan[gone]
            if gone == "altimeters":
                plan["altimeters"] = [{"name": "one", "main_height": "700 ft"}]
            yield "no " + gone, plan
        plan = bench_plan(motor_delay="2 s")
        del plan["drogue"]
        for altimeter in plan["altimeters"]:
            del altimeter["main_height"]
        yield "main at apogee", plan
        yield "streamer", bench_plan(drogue={"type": "streamer", "length": "10 ft",
                                             "width": "8 inch", "drag_coefficient": "0.2",
                                             "diameter": None, "area_basis": None})
        yield "bundle", bench_plan(main={"held": "bundle", "held_drag_area": "0.05 m2"})
        yield "rate from a label", bench_plan(main={
            "rate": {"speed": "18 ft/s", "mass": "15 lb"}, "diameter": None,
            "drag_coefficient": None, "area_basis": None})
        yield "long names", bench_plan(
            title="Ü" * 100, rocket={"sections": [{"name": "é" * 50, "mass": "18.5 lb"}]})

    def test_no_wind_no_field(self):
        for name, plan in self.variants():
            plan = json.loads(json.dumps(plan))
            for canopy in ("drogue", "main"):
                plan[canopy] = {k: v for k, v in plan.get(canopy, {}).items() if v is not None}
                if not plan[canopy]:
                    del plan[canopy]
            with self.subTest(name):
                for units in ("us", "si"):
                    text = self.size(plan, "--units", units)
                    for line in text.splitlines():
                        self.assertLessEqual(len(line), 100, line)
                    self.assertNotIn("nan", text)
                    self.assertNotIn("inf ", text)
                    self.assertIn("never a setting", text)
                    self.assertIn("does not fly", text)
                json.loads(self.size(plan, "--json"))

    def test_the_field_changes_nothing_and_the_wind_its_air_alone(self):
        with_wind = demo_plan()
        whole = self.card(with_wind)
        del with_wind["field"]
        self.assertEqual(self.card(with_wind), whole)
        bench = self.card(bench_plan())
        self.assertEqual(whole["charges"], bench["charges"])
        self.assertAlmostEqual(whole["touchdown_mps"], bench["touchdown_mps"], delta=0.02)
        with_wind["wind"]["profiles"] = ["gone.csv"]
        self.assertEqual(self.card(with_wind), bench)

    def test_true_heights_as_the_report_has_them(self):
        plan = self.write("plan.json", demo_plan("no_go_day.json"))
        run("brief", plan, "-n", "2000", "-o", self.path("out"))
        with open(self.path("out/report.html"), encoding="utf-8") as report:
            told = re.findall(r'"True height today">(.*?)</td>', report.read())
        rows = re.findall(r"^  (?:primary|backup) .* (\d+ ft)$", run("size", plan)[1], re.M)
        self.assertEqual(len(rows), 2)
        self.assertEqual([t.replace("\u00a0", " ").split(" (")[0] for t in told], rows)

    def test_head_and_what_fires_when(self):
        """The plan's name, a line to fill in, and each charge with its pins and its times."""
        text = self.size(demo_plan())
        head = text.split("SET ON")[0]
        self.assertIn("Plan plan.json; pad 41.76250, -98.44100; flight time not given.", head)
        self.assertRegex(head, "Date _+  Checked by _+")
        fires = re.sub(r"\s+", " ", text.split("WHAT FIRES WHEN")[1].split("EJECTION")[0])
        for words in ("drogue", "4.0 x 12.0 inch", "2 of 35.00 lbf", "0.65 g", "0.81 g",
                      "primary apogee + 0.0 s, backup apogee + 1.0 s", "4.0 x 20.0 inch",
                      "3 of 35.00 lbf", "primary at 700 ft, backup at 600 ft"):
            self.assertIn(words, fires)

    def test_si_comes_first(self):
        text = self.size(bench_plan(), "--units", "si")
        self.assertIn("81.07 cm2 (12.57 in2)", text)
        self.assertIn("12.57 in2 (81.07 cm2)", self.size(bench_plan()))

    def test_page(self):
        text = self.size(bench_plan(), "-o", self.path("card.html"))
        self.assertTrue(text)
        with open(self.path("card.html"), encoding="utf-8") as page:
            self.assertIn("never a setting", page.read())

    def test_names_do_not_drive_the_terminal(self):
        # U+202E turns the direction of text
        plan = bench_plan(title="left\u202eright", rocket={"sections": [
            {"name": "no\u202ese", "mass": "18.5 lb"}]})
        self.assertNotIn("\u202e", self.size(plan))


# what is changed, and words of the one line
IMPOSSIBLE = [
    ("pounds-force for pounds", {"rocket": {"mass": "18.5 lbf"}}, ["rocket.mass", "18.5 lbf"]),
    ("pounds for pounds-force", {"charges": {"main": {"force": "200 lb"}}},
     ["charges.main.force", "200 lb"]),
    ("inches for feet", {"charges": {"main": {"bay_length": "36 ft"}}},
     ["charges.main.bay_length", "36 ft", "10 m"]),
    ("coefficient of 15", {"main": {"drag_coefficient": "15"}}, ["main.drag_coefficient", "15"]),
    ("no pins", {"charges": {"main": {"shear_pins": {"count": 0, "strength": "35 lbf"}}}},
     ["charges.main.shear_pins.count", "0"]),
    ("negative length", {"charges": {"main": {"bay_length": "-12 inch"}}},
     ["charges.main.bay_length", "-12 inch"]),
    ("bare number", {"charges": {"main": {"bay_length": 12}}}, ["charges.main.bay_length", "12"]),
    ("backup smaller than the primary", {"charges": {"main": {"backup_factor": 0.8}}},
     ["charges.main.backup_factor", "0.8"]),
    ("rate of nothing", {"main": {"wanted_rate": "0 ft/s"}}, ["main.wanted_rate", "0 ft/s"]),
    ("rate without a unit of speed", {"main": {"wanted_rate": "18 ft"}},
     ["main.wanted_rate", "18 ft"]),
]

IMPLAUSIBLE = [
    ("feet for inches", {"charges": {"main": {"bay_length": "20 ft"}}}, "usual is 3 to 60 inch"),
    ("coefficient of the mouth on the cloth", {"main": {"drag_coefficient": "1.6"}},
     "handbooks have"),
    ("newtons for pounds-force",
     {"charges": {"main": {"shear_pins": {"count": 3, "strength": "155 lbf"}}}},
     "nylon pins usually take"),
    ("many pins", {"charges": {"main": {"shear_pins": {"count": 12, "strength": "35 lbf"}}}},
     "usual is 2 to 6"),
    ("pins that hold", {"charges": {"main": {"force": "90 lbf"}}}, "does NOT shear"),
    ("metres for feet", {"main": {"wanted_rate": "18 m/s"}}, "usual is 17 to 22 ft/s"),
]


class Mistakes(SizeCase):
    def test_impossible(self):
        for name, patch, words in IMPOSSIBLE:
            with self.subTest(name):
                plan = self.write("plan.json", bench_plan(**copy.deepcopy(patch)))
                status, out, err = run("size", plan, "--quiet")
                self.assertEqual(status, 1, out)
                self.assertEqual(out, "")
                self.assertEqual(len(err.splitlines()), 1, err)
                for word in words:
                    self.assertIn(word, err)

    def test_implausible(self):
        usual = run("size", self.write("plan.json", bench_plan()))
        for name, patch, words in IMPLAUSIBLE:
            with self.subTest(name):
                plan = self.write("plan.json", bench_plan(**copy.deepcopy(patch)))
                status, out, err = run("size", plan)
                self.assertEqual(status, 0, err)
                told = re.sub(r"\s+", " ", out + err)
                self.assertIn(words, told)
                self.assertNotIn(words + ":", re.sub(r"\s+", " ", usual[1] + usual[2]))

    def test_charge_of_nothing(self):
        plan = bench_plan()
        plan["charges"] = {"main": {"bay_diameter": "4 inch", "bay_length": "12 inch"}}
        status, out, err = run("size", self.write("plan.json", plan), "--quiet")
        self.assertEqual((status, out, len(err.splitlines())), (1, "", 1), err)
        self.assertIn("charges.main", err)
        self.assertIn("shear_pins", err)


main()
