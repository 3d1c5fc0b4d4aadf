# SPDX-License-Identifier: GPL-3.0-or-later
"""Hostile text in a plan and in a field file goes through the program: no markup, no
control of the terminal and no turned direction comes of it in any output."""
import re
import unicodedata
import xml.etree.ElementTree as xml
from html.parser import HTMLParser

import shapefile

from helpers import ANSWERED, Case, json, main, quick_plan, read_json, read_text, run

MARKUP = "</title></svg><script>alert(1)</script><img src=x onerror=alert(1)> \"'&amp; ]]> --> %n"
TEXTS = {
    "markup": MARKUP,
    "formula": "=HYPERLINK(\"http://x\")",
    "right to left": "\u05e9\u05d3\u05d4 \u202eabc\u202c",
    "long": "\u00e9" * 50,  # 100 bytes, the most that a name of a plan may have
    "rocket": "\U0001F680 zero\u200bwidth",
}
REFUSED = {"escape": "a\u001b[2Jb", "c1 escape": "a\u009b2Jb", "line": "a\nb", "null": "a\u0000b"}
DIRECTION = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Page(HTMLParser):
    """Counts what a text must not add: scripts, images, event attributes, links out."""
    def __init__(self):
        super().__init__()
        self.found, self.words = [], []

    def handle_starttag(self, tag, attributes):
        if tag in ("script", "img", "iframe", "object", "link", "base", "form"):
            self.found.append(tag)
        self.found += [name for name, _ in attributes if name.startswith("on")]
        self.found += [v for n, v in attributes
                       if n in ("href", "src") and not (v or "").startswith(("#", "data:"))]

    def handle_data(self, data):
        self.words.append(data)


def page(path):
    reader = Page()
    reader.feed(read_text(path))
    return sorted(reader.found), "".join(reader.words)


class Names(Case):
    def make(self, text):
        """The demo plan with the text wherever a plan takes one."""
        plan = quick_plan()
        plan["title"] = text
        for key in ("boundary", "keep_out", "roads"):
            collection = read_json(plan["field"][key])
            for feature in collection["features"]:
                feature["properties"]["name"] = text
            plan["field"][key] = self.write(key + ".geojson", collection)
        plan["rocket"]["sections"] = [{"name": text, "mass": "18.5 lb"}]
        plan["altimeters"][0]["name"] = text
        return self.write("plan.json", plan)

    def safe_on_a_terminal(self, out):
        for c in out:
            self.assertFalse((unicodedata.category(c) == "Cc" and c != "\n") or c in DIRECTION,
                             f"U+{ord(c):04X}")

    def test_every_output(self):
        plain = self.path("plain")
        status, _, err = run("brief", self.make("plain words"), "-n", "2000", "-o", plain)
        self.assertIn(status, ANSWERED, err)
        plain_page = page(plain + "/report.html")[0]
        self.assertEqual(run("size", self.path("plan.json"), "-o", self.path("plain.html"))[0], 0)
        plain_card = page(self.path("plain.html"))[0]
        for name, text in TEXTS.items():
            with self.subTest(name):
                out = self.path("out")
                plan = self.make(text)
                status, answer, err = run("brief", plan, "-n", "2000", "-o", out)
                self.assertIn(status, ANSWERED, err)
                self.safe_on_a_terminal(answer)
                self.safe_on_a_terminal(err)
                self.assertLessEqual(max(map(len, answer.splitlines())), 80)
                self.assertEqual(read_json(out + "/summary.json")["title"], text)
                found, words = page(out + "/report.html")
                self.assertEqual(found, plain_page)
                self.assertIn(text[:20].strip(), words)
                for file in ("posts.gpx", "zone.kml", "map.svg"):
                    root = xml.fromstring(read_text(f"{out}/{file}"))
                    tags = {element.tag.rsplit("}", 1)[-1] for element in root.iter()}
                    self.assertFalse(tags & {"script", "img", "foreignObject"}, file)
                with shapefile.Reader(out + "/layers/keep_outs.shp", encoding="utf-8",
                                      encodingErrors="strict") as reader:
                    kept = reader.record(0)["name"]
                self.assertTrue(text.startswith(kept.strip()), kept)
                self.assertEqual(run("size", plan, "-o", self.path("card.html"))[0], 0)
                self.assertEqual(page(self.path("card.html"))[0], plain_card)
                for command in (["size", plan], ["check", plan], ["wind", plan],
                                ["heights", plan, "-n", "2000"], ["crews", plan, "-n", "2000"]):
                    status, shown, err = run(*command)
                    self.assertIn(status, ANSWERED, err)
                    self.safe_on_a_terminal(shown)
                    self.safe_on_a_terminal(err)

    def test_control_characters_are_refused(self):
        for name, text in REFUSED.items():
            for where in ("title", "altimeters"):
                plan = quick_plan()
                if where == "title":
                    plan["title"] = text
                else:
                    plan["altimeters"][0]["name"] = text
                with self.subTest(f"{name} {where}"):
                    status, out, err = run("scatter", self.write("plan.json", plan))
                    self.assertEqual((status, out), (1, ""))
                    self.safe_on_a_terminal(err)
                    self.assertEqual(len(err.splitlines()), 1, err)

    def test_control_characters_in_a_field(self):
        """A field file may come from anywhere: refused, or shown without them."""
        for name, text in {**REFUSED, "10 kB": "\u00e9" * 5000}.items():
            plan = quick_plan()
            collection = read_json(plan["field"]["keep_out"])
            collection["features"][0]["properties"]["name"] = text
            plan["field"]["keep_out"] = self.write("area.geojson", collection)
            with self.subTest(name):
                for command in ("scatter", "check"):
                    options = ["-n", "2000"] if command == "scatter" else []
                    status, out, err = run(command, self.write("plan.json", plan), *options)
                    self.assertIn(status, (0, 1), err)
                    self.safe_on_a_terminal(out)
                    self.safe_on_a_terminal(err)

    def test_hostile_values_and_keys_in_messages(self):
        for key, value in (("\u009b2J", 1), ("a" * 10000, 1), ("title\u202e", 1),
                           ("title", {"\u001b[2J": 1}), ("site", "\u009b2J" * 300)):
            plan = quick_plan()
            plan[key] = value
            with self.subTest(ascii(key)[:20]):
                status, _, err = run("scatter", self.write("plan.json", plan))
                self.assertEqual(status, 1)
                self.safe_on_a_terminal(err)
                self.assertLess(max(map(len, err.splitlines())), 1300)

    def test_hostile_file_names(self):
        plan = quick_plan()
        name = "wind \u009b2J \u202e.csv"
        plan["wind"]["profiles"] = [name]
        self.write(name, "height_agl_m,direction_deg,speed_mps\n0,240,3\n")
        status, out, err = run("scatter", self.write("plan.json", plan), "-n", "2000")
        self.assertIn(status, (0, 1))
        self.safe_on_a_terminal(out + err)
        self.assertFalse(re.search("[\x00-\x09\x0b-\x1f]", json.dumps(out, ensure_ascii=False)))
        status, out, err = run("wind", self.path(name))
        self.safe_on_a_terminal(out + err)


if __name__ == "__main__":
    main()
