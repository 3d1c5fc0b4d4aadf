# SPDX-License-Identifier: GPL-3.0-or-later
"""The README does what it says: every command of its sh blocks runs, in the order
in which a new user types them, and its smallest plan gives an answer."""
import os
import re
import shlex
import shutil
import subprocess

from helpers import ANSWERED, PAPPUS, SOURCE, Case, json, main, read_text, run

README = read_text(os.path.join(SOURCE, "README.md"))

def blocks(language):
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.M | re.S)


class Readme(Case):
    def test_commands_run(self):
        shutil.copy(os.path.join(SOURCE, "wind/evening.csv"), self.folder)
        log = subprocess.run([os.path.join(os.path.dirname(PAPPUS), "tool_flown")],
                             capture_output=True, text=True, check=True).stdout
        self.write("log.csv", log)
        self.write("soundings.txt", "height_agl_m,direction_deg,speed_mps,time\n" + "".join(
            f"{z},{40 * day},{(day % 5) * f},2026-06-{day:02d}T18:00Z\n"
            for day in range(1, 9) for z, f in ((10, 1), (500, 1.5), (3000, 2))))
        lines = [line for block in blocks("sh") for line in block.splitlines() if line]
        self.assertGreater(len(lines), 6)
        for line in lines:
            with self.subTest(line):
                program, *arguments = shlex.split(line)
                self.assertEqual(program, "pappus")
                status, out, err = run(*arguments, cwd=self.folder)
                self.assertIn(status, ANSWERED, err)
                self.assertTrue(out)
                if arguments[0] == "new":  # few landings: quick
                    plan = json.loads(read_text(self.path(arguments[1])))
                    plan["run"] = {"landings": 2000}
                    self.write(arguments[1], plan)
        for made in ("plan.json", "saturday", "season", "card.html", "profile.svg"):
            self.assertTrue(os.path.exists(self.path(made)), made)

    def masked(self, text):
        """Numbers may move with the sampling and the libraries; words and layout may not."""
        return re.sub(r"\s+", " ", re.sub(r"\d+(\.\d+)?", "#", text)).strip()

    def test_walk(self):
        """Each command of the ten minutes prints what the README shows."""
        self.write("wind.csv", blocks("csv")[0])
        walk = blocks("console")
        self.assertGreaterEqual(len(walk), 5)
        for block in walk:
            command, _, shown = block.partition("\n")
            program, *arguments = shlex.split(command.removeprefix("$ "))
            self.assertEqual(program, "pappus")
            status, out, err = run(*arguments, cwd=self.folder)
            self.assertIn(status, ANSWERED, err)
            self.assertEqual(self.masked(out), self.masked(shown), command)
        for name in ("report.html", "flight_line.html", "layers"):
            self.assertTrue(os.path.exists(self.path("saturday/" + name)), name)

    def test_answer_and_picture(self):
        """The eight lines are lines of the demo's answer, and the picture is its map."""
        day = self.path("day")
        status, out, err = run("brief", os.path.join(SOURCE, "examples/go_day.json"), "-o", day)
        self.assertEqual(status, 0, err)
        lines = [self.masked(line) for line in out.splitlines()]
        shown = blocks("text")[0].splitlines()
        self.assertEqual(len(shown), 8)
        for line in shown:
            self.assertIn(self.masked(line), lines)
        from osgeo import gdal
        gdal.UseExceptions()
        shown = gdal.Open(os.path.join(SOURCE, "examples/zone.png"))
        size = shown.RasterXSize, shown.RasterYSize
        made = gdal.Translate("", gdal.Open(os.path.join(day, "map.png")), format="MEM",
                              width=size[0], height=size[1], resampleAlg="average")
        differ = abs(shown.ReadAsArray()[:3].astype(float) - made.ReadAsArray()[:3].astype(float))
        self.assertLess((differ.max(axis=0) > 64).mean(), 0.02)

    def test_every_file_named_is_written(self):
        part = README.split("## What it writes")[1].split("\n## ")[0]
        part, shapes = part.split("`layers/` the shapefiles")
        files = re.findall(r"`([a-z]+\.[a-z]+)`", part)
        self.assertIn("summary.json", files)
        files += [f"layers/{name}.shp" for name in re.findall(r"`([a-z_]+)`", shapes)]
        files += [f"layers/{name}.geojson" for name in ("ellipses", "contours", "posts")]
        plan = os.path.join(SOURCE, "examples/go_day.json")
        status, _, err = run("brief", plan, "-n", "2000", "-o", self.path("out"))
        self.assertIn(status, ANSWERED, err)
        for name in files:
            self.assertTrue(os.path.exists(self.path("out/" + name)), name)

    def test_smallest_plan(self):
        plan = blocks("json")[0]  # the first is a plan
        path = self.write("plan.json", plan)
        status, out, err = run("brief", path, "-n", "2000")
        self.assertIn(status, ANSWERED, err)
        self.assertEqual(run("check", path)[0], 0)
        # The smallest indeed: without any one of its keys the plan is refused, or the
        # answer lacks what the key told.
        for key in ("site", "rocket", "apogee", "altimeters", "wind"):
            smaller = json.loads(plan)
            del smaller[key]
            self.assertEqual(run("brief", self.write("less.json", smaller))[0], 1, key)

    def test_manual_parts_and_files_named(self):
        for words in re.findall(r"`pappus (manual [a-z]+)`", README):
            self.assertEqual(run(*words.split())[0], 0, words)
        for name in re.findall(r"`(examples/[a-z_.]+)`|\]\(([A-Za-z./]+)\)", README):
            self.assertTrue(os.path.exists(os.path.join(SOURCE, name[0] or name[1])), name)

    def test_opening_names_the_job(self):
        opening = README.split("\n\n")[1].replace("\n", " ")
        first = opening.split(". ")[0]
        self.assertIn("where a high-power rocket under parachute will land", first)
        for words in ("go or no-go", "open the main", "recovery crews"):
            self.assertIn(words, opening)

    def test_starter_plan(self):
        path = self.path("starter.json")
        self.assertEqual(run("new", path)[0], 0)
        self.assertEqual(run("check", path)[0], 0)
        status, out, err = run("brief", path, "-n", "2000")
        self.assertIn(status, ANSWERED, err)
        first = read_text(path)
        status, _, err = run("new", path)  # a plan is never written over
        self.assertNotEqual(status, 0)
        self.assertEqual(len(err.splitlines()), 1)
        self.assertEqual(read_text(path), first)

    def test_man_page_is_well_formed(self):
        page = run("manual", "man")[1]
        if not shutil.which("groff"):
            self.skipTest("no groff")
        done = subprocess.run(["groff", "-man", "-Tutf8", "-ww"], input=page, text=True,
                              capture_output=True)
        self.assertEqual(done.stderr, "")


if __name__ == "__main__":
    main()
