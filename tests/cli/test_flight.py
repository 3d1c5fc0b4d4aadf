# SPDX-License-Identifier: GPL-3.0-or-later
"""Several plans: parts of one flight, of which the worst decides, or alternatives side by
side. What each says of itself is compared with a brief of it alone."""
import os
import re
import urllib.parse
import xml.etree.ElementTree as ET

from helpers import Case, json, main, quick_plan, read_json, read_text, run

FEW = ("-n", "2000", "--threads", "1", "--quiet")
SVG = "{http://www.w3.org/2000/svg}"


def plain(text):
    return re.sub(r"\s+", " ", re.sub(r"<style>.*?</style>|<[^>]*>", " ", text, flags=re.S))


class Flight(Case):
    def setUp(self):
        super().setUp()
        self.go = self.write("go & stay.json", quick_plan())
        self.no = self.write("windy.json", quick_plan("no_go_day.json"))

    def alone(self, plan):
        return json.loads(run("brief", plan, *FEW, "--json")[1])

    def write_all(self, *options):
        out = self.path("out")
        status, text, err = run("brief", self.go, self.no, *FEW, *options, "-o", out)
        self.assertEqual(err, "")
        return status, text, out

    def index(self, out):
        page = read_text(out + "/index.html")
        root = ET.fromstring(page.replace("<!DOCTYPE html>", ""))
        links = [a.get("href") for a in root.iter("a")]
        for link in links:
            self.assertTrue(os.path.exists(os.path.join(out, urllib.parse.unquote(link))), link)
        self.assertEqual(len(links), 2)
        zones = [p for p in ET.parse(out + "/map.svg").iter(SVG + "path")
                 if "f-zone" in p.get("class", "")]
        self.assertEqual(len(zones), 2)
        numbers = [t.text for t in ET.parse(out + "/map.svg").iter(SVG + "text")
                   if t.get("class") == "f-number"]
        self.assertEqual(numbers, ["1", "2"])
        return plain(page)

    def test_parts(self):
        status, text, out = self.write_all()
        self.assertEqual(status, 3)
        self.assertTrue(text.startswith("NO-GO   the flight, in 2 parts"))
        summary = read_json(out + "/summary.json")
        self.assertEqual(summary["decision"], "no-go")
        self.assertEqual([p["summary"] for p in summary["parts"]],
                         [self.alone(self.go), self.alone(self.no)])
        page = self.index(out)
        self.assertIn("NO-GO, the flight in 2 parts", page)
        self.assertIn("the worst of them decides", page)
        # what the joint page tells of each part, by the summary alone
        self.assertIn("windy: broken: lands inside the field", page)
        for part in summary["parts"]:
            for post in part["summary"]["posts"]:
                self.assertIn(f"{post['latitude']:.5f}, {post['longitude']:.5f}", page)
        squares = [r for r in ET.parse(out + "/map.svg").iter(SVG + "rect")
                   if r.get("class") == "f-post"]
        self.assertEqual(len(squares), sum(len(p["summary"]["posts"]) for p in summary["parts"]))
        names = [n.text for n in ET.parse(out + "/map.svg").iter(SVG + "text")
                 if n.get("class") == "f-name"]
        self.assertEqual(names, ["Spectator line", "Farmstead"])
        self.assertIn("go & stay.json".replace("&", "&amp;"), page)

    def test_alternatives(self):
        """The best of them is the exit status; each decision stands by its own plan."""
        status, text, out = self.write_all("--compare")
        self.assertEqual(status, 0)
        told = " ".join(text.split())
        summary = read_json(out + "/summary.json")
        self.assertNotIn("decision", summary)
        self.assertEqual([a["summary"]["decision"] for a in summary["alternatives"]],
                         ["go", "no-go"])
        page = self.index(out)
        for words in (told, page):
            self.assertLess(re.search(r"(?<!NO-)\bGO\b", words).start(), words.index("NO-GO"))
            self.assertNotIn("worst decides", words)
            for alternative in summary["alternatives"]:
                walk_ft = 10 * round(alternative["summary"]["crews"]["walk_m"]["mean"] / 3.048)
                self.assertIn(f" {walk_ft} ft ", words.replace("\u00a0", " "))
            self.assertIn("descent rate at touchdown", words)
            self.assertIn("lands inside the field", words)
        self.assertNotIn("worst of its parts", read_text(out + "/windy/report.html"))
        both = ("brief", self.no, self.no, *FEW, "--compare", "--json")
        self.assertEqual(run(*both)[0], 3)
        self.assertEqual(list(json.loads(run(*both)[1])), ["pappus", "alternatives"])

    def test_two_pads_are_on_no_map(self):
        plan = quick_plan()
        plan["site"]["latitude"] = "41.7630 deg"
        self.no = self.write("other pad.json", plan)
        out = self.write_all("--compare")[2]
        self.assertFalse(os.path.exists(out + "/map.svg"))
        self.assertNotIn("<svg", read_text(out + "/index.html"))

    def test_both_are_in_the_manual(self):
        for part in (("manual", "man"), ("brief", "--help")):
            text = " ".join(run(*part)[1].replace("\\", "").split())
            self.assertIn("parts of one flight", text)
            self.assertIn("--compare", text)


if __name__ == "__main__":
    main()
