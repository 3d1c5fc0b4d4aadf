# SPDX-License-Identifier: GPL-3.0-or-later
"""Wind files through the program: a file and its layer table give the same landings,
and a bad file gives one clear line that says where, and nothing written.

Formats: NOAA NCEI, IGRA v2.2 Format Description, 2023 (columns; its example row is the
level at 925 hPa); NWS Aviation Weather Center, About Forecast Winds and Temperatures
Aloft (the line of ECK). The other rows are made up."""
import os
import xml.etree.ElementTree as xml

from helpers import Case, json, main, quick_plan, read_bytes, read_text, run, tree

FB = """DATA BASED ON 180000Z
VALID 180600Z   FOR USE 0200-0900Z. TEMPS NEG ABV 24000

FT  3000    6000    9000   12000   18000   24000  30000  34000  39000
ECK 3222 3136-08 3139-07 3251-09 3287-17 8202-29 801944 803151 792554
QQQ      1923    9900+05 2609+00 9900-12 2332-25 779937 990048 363655
"""
IGRA = """#XXM00000001 2010 06 01 00 2303    6 ncdc6301 ncdc6301  412889  -984333
21     0 100980B   12     0B 1000     0    20    51\x20
10   242  92500   712B  -12B  954     7    41    26\x20
10   600  85000  1457B   -4B  900     7    60    40\x20
10  1200  70000  3012B  -90B  800     7    75   110\x20
20   100  97290   309B  -24B  949     7 -9999 -9999\x20
30   200  -9999   547 -9999 -9999 -9999    40    31\x20
"""
LAYERS = """# made up
height_msl_ft,direction_deg,speed_kt,speed_sd_mps
2100,220,9,0.8
3000,231.5,14,1.1
5000,250,18,1.4
9000,262,27.25,2
"""


class Wind(Case):
    def landings(self, name, profile, **wind):
        plan = quick_plan()
        plan["wind"]["profiles"] = [profile]
        plan["wind"].update(wind)
        status, _, err = run("scatter", self.write("plan.json", plan), "-n", "2000", "-o",
                             self.path(name))
        self.assertEqual(status, 0, err)
        return read_bytes(self.path(name + "/layers/landings.dbf"))

    def round_trip(self, content, *options, kind="sounding", **inside):
        source = self.write("source.txt", content)
        status, _, err = run("wind", source, *options, "-o", self.path("layers.csv"), "--quiet")
        self.assertEqual((status, err), (0, ""))
        direct = self.landings("direct", {"file": source, **inside})
        # a table does not say what it was made from: the plan does
        table = {"file": self.path("layers.csv"), "kind": kind}
        self.assertTrue(self.landings("converted", table) == direct)
        # and once more: the table of a table is the same table
        self.assertEqual(run("wind", self.path("layers.csv"), "-o", self.path("again.csv"))[0], 0)
        table = [json.loads(run("wind", self.path(n), "--json")[1])["profiles"][0]["levels"]
                 for n in ("layers.csv", "again.csv")]
        self.assertEqual(table[0], table[1])
        return table[0]

    def test_layer_table(self):
        levels = self.round_trip(LAYERS)
        self.assertEqual(len(levels), 4)
        # 1 kt = 1852 m / 3600 s, 1 ft = 0.3048 m, both exact
        self.assertAlmostEqual(levels[3]["speed_mps"], 27.25 * 1852 / 3600, places=6)
        self.assertAlmostEqual(levels[3]["height_m"], 9000 * 0.3048, places=6)

    def test_igra(self):
        levels = self.round_trip(IGRA)
        # C: the format description's example row: 712 m, -1.2 degC, from 41 deg, 2.6 m/s
        level = next(l for l in levels if l["pressure_pa"] == 92500)
        self.assertAlmostEqual(level["height_m"], 712, places=6)
        self.assertAlmostEqual(level["direction_deg"], 41, places=4)
        self.assertAlmostEqual(level["speed_mps"], 2.6, places=6)
        self.assertAlmostEqual(level["temperature_k"], 273.15 - 1.2, places=6)

    def test_bulletin(self):
        levels = self.round_trip(FB, "--station", "ECK", kind="forecast", station="ECK")
        # C: the page's reading of ECK: 24000 ft from 320 deg at 102 kt, -29 degC;
        # 39000 ft from 290 deg at 125 kt, -54 degC
        for feet, deg, kt, degc in ((24000, 320, 102, -29), (39000, 290, 125, -54)):
            level = next(l for l in levels if abs(l["height_m"] - feet * 0.3048) < 0.01)
            self.assertAlmostEqual(level["direction_deg"], deg, places=4)
            self.assertAlmostEqual(level["speed_mps"], kt * 1852 / 3600, places=5)
            self.assertAlmostEqual(level["temperature_k"], degc + 273.15, places=6)

    def test_several_files_and_a_drawing(self):
        one, two = self.write("one.csv", LAYERS), self.write("two.txt", IGRA)
        status, out, err = run("wind", one, two, "-o", self.path("p.svg"), "--json")
        self.assertEqual(status, 0, err)
        self.assertEqual(len(json.loads(out)["profiles"]), 2)
        self.assertTrue(xml.fromstring(read_text(self.path("p.svg"))).tag.endswith("svg"))
        # two profiles without a time each are not one table
        status, _, err = run("wind", one, two, "-o", self.path("p.csv"))
        self.assertNotEqual(status, 0)
        self.assertFalse(os.path.exists(self.path("p.csv")))
        self.assertEqual(len(err.splitlines()), 1)

    def test_section_of_several_times(self):
        """Each cell's number is the wind between the levels by hand; the chosen time is framed,
        and the listing holds that one alone."""
        rows = ["height_agl_m,u_mps,v_mps,time"]
        for h in range(5):
            rows += [f"{z},{3 + 0.004 * z * h},{-4},2027-04-17T{3 * h:02d}:00Z" for z in (0, 2000)]
        source, picture = self.write("hours.csv", "\n".join(rows) + "\n"), self.path("s.svg")
        status, out, err = run("wind", source, "--sounding", "2027-04-17T06:00Z", "-o", picture,
                               "--json", "--units", "si")
        self.assertEqual(status, 0, err)
        self.assertEqual([p["valid"] for p in json.loads(out)["profiles"]], ["2027-04-17T06:00:00Z"])
        svg = xml.fromstring(read_text(picture))
        numbers = {}
        for text in svg.iter("{http://www.w3.org/2000/svg}text"):
            if text.get("class").startswith("s-number"):
                numbers.setdefault(float(text.get("y")), {})[float(text.get("x"))] = int(text.text)
        labels = [t.text for t in svg.iter("{http://www.w3.org/2000/svg}text")
                  if t.get("class") == "s-text s-end"]
        self.assertEqual(len(labels), len(numbers))
        for label, y in zip(reversed(labels), sorted(numbers)):
            z = float(label.split()[0].replace(",", ""))
            for h, x in enumerate(sorted(numbers[y])):
                self.assertEqual(numbers[y][x], round(((3 + 0.004 * z * h) ** 2 + 16) ** 0.5), (z, h))
        frame = [r for r in svg.iter("{http://www.w3.org/2000/svg}rect") if r.get("class") == "s-chosen"]
        self.assertEqual(len(frame), 1)
        left, width = float(frame[0].get("x")), float(frame[0].get("width"))
        row = sorted(next(iter(numbers.values())))
        self.assertEqual([i for i, x in enumerate(row) if left < x < left + width], [2])

    def test_station_is_named_when_missing(self):
        source = self.write("fb.txt", FB)
        for options in ((), ("--station", "XYZ")):
            status, out, err = run("wind", source, *options)
            self.assertEqual((status, out), (1, ""))
            self.assertIn("ECK", err)
            self.assertEqual(len(err.splitlines()), 1)

    def test_output_names(self):
        source = self.write("in.csv", LAYERS)
        for name in ("x.txt", "x", "x.csv/", "x.CSV.gz"):
            status, out, err = run("wind", source, "-o", self.path(name))
            self.assertEqual((status, out), (2, ""), name)
            self.assertEqual(len(err.splitlines()), 1)
        os.symlink("in.csv", self.path("alias.csv"))
        before = tree(self.folder)
        for name in ("in.csv", "alias.csv", "../" + os.path.basename(self.folder) + "/in.csv"):
            status, _, err = run("wind", source, "-o", os.path.join(self.folder, name))
            self.assertEqual(status, 1, name)
            self.assertEqual(len(err.splitlines()), 1)
        self.assertEqual(tree(self.folder), before)
        plan = quick_plan()
        plan["wind"]["profiles"] = ["in.csv"]
        self.write("plan.json", plan)
        before = tree(self.folder)
        status, _, err = run("wind", self.path("plan.json"), "-o", self.path("in.csv"))
        self.assertEqual(status, 1, err)
        self.assertEqual(tree(self.folder), before)
        self.assertEqual(run("wind", source, "-o", self.path("absent/x.csv"))[0], 5)


HEAD = "height_agl_m,direction_deg,speed_mps\n"
SOUNDING = IGRA.splitlines(keepends=True)
# content, words of the one line: row and column as a person counts them, and the text
BAD = [
    ("", []),
    ("\x00\x01", []),
    ("hello\n", []),
    ("height_agl_m,direction_deg\n10,240\n", ["speed"]),
    ("height_agl,direction_deg,speed_mps\n10,240,3\n", ["height"]),
    ("height_agl_m,height_agl_m,direction_deg,speed_mps\n1,1,240,3\n", ["height_agl_m"]),
    (HEAD, []),
    (HEAD + "10,240\n", ["row 2"]),
    (HEAD + "10,240,3,4\n", ["row 2"]),
    (HEAD + "10,240,fast\n", ["row 2", "speed_mps", "fast"]),
    (HEAD + "10,240,3\n20,240,151\n", ["row 3", "speed_mps", "151"]),
    (HEAD + "10,361,3\n", ["row 2", "direction_deg", "361"]),
    (HEAD + "10,240,-3\n", ["row 2", "speed_mps", "-3"]),
    (HEAD + "10,240,nan\n", ["row 2", "speed_mps", "nan"]),
    (HEAD + "10,240,1e999\n", ["row 2", "speed_mps", "1e999"]),
    (HEAD + "10 ft,240,3\n", ["row 2", "height_agl_m", "10 ft"]),
    (HEAD + '10,240,"3\n', []),
    (HEAD + "10,240,3\n10,90,20\n", ["row 3"]),
    (HEAD.replace(",speed", ",time,speed") + "10,240,noon,3\n", ["row 2", "time", "noon"]),
    (SOUNDING[0], []),
    ("".join(SOUNDING[:4]), []),
    ("".join(SOUNDING).replace("2010 06", "2010 13"), ["row 1"]),
    (FB.replace("8202-29", "8X02-29"), ["8X02"]),
    (FB.replace("24000  30000", "24000  3O000"), []),
]


# A level of an archive that cannot be is left out, and told.
LEFT_OUT = [("   41    26", "  410    26", ["row 3", "WDIR", "410"]),
            ("   41    26", "   41  2600", ["row 3", "WSPD", "260 m/s"])]


class FarStation(Case):
    def test_sounding_of_another_place(self):
        """The header's place against the pad's. From the pad, 41.7625 N 98.4410 W, to
        71.2889 N 156.7833 W (columns 56-62, 64-71) PROJ's geod has 4552.6 km on WGS 84; the
        sounding of the test before is 53 km away."""
        near = self.write("near.txt", IGRA)
        far = self.write("far.txt", IGRA.replace("412889  -984333", "712889 -1567833"))
        unknown = self.write("unknown.txt", IGRA.replace(" 412889  -984333", "-988888 -9988888"))
        for source, told in ((near, False), (far, True), (unknown, False)):
            plan = quick_plan()
            plan["wind"]["profiles"] = [source]
            out = run("check", self.write("plan.json", plan), "--json")[1]
            lines = [f["message"] for f in json.loads(out)["findings"] if f["key"] == "station"]
            self.assertEqual(len(lines), told, lines)
            if told:
                km = float(lines[0].split(" km")[0])
                self.assertAlmostEqual(km, 4552.6, delta=0.006 * 4552.6)


class BadWind(Case):
    def test_levels_left_out(self):
        for good, bad, words in LEFT_OUT:
            source = self.write("wind.dat", IGRA.replace(good, bad))
            status, out, err = run("wind", source, "--json")
            self.assertEqual(status, 0, err)
            profile, = json.loads(out)["profiles"]
            self.assertEqual(profile["levels_left_out"], 1)
            self.assertFalse([l for l in profile["levels"] if l["pressure_pa"] == 92500])
            shown = run("wind", source)[1]
            plan = quick_plan()
            plan["wind"]["profiles"] = [source]
            told = run("scatter", self.write("plan.json", plan), "-n", "2000")[2]
            for word in ["wind.dat", *words]:
                self.assertIn(word, shown)
                self.assertIn(word, told)

    def test_bad_files(self):
        for i, (content, words) in enumerate(BAD):
            source = self.write("wind.dat", content)
            plan = quick_plan()
            plan["wind"]["profiles"] = [{"file": source, "station": "ECK"} if "FT  " in content
                                        else source]
            self.write("plan.json", plan)
            before = tree(self.folder)
            for command in (["wind", source, "--station", "ECK", "-o", self.path("x.csv")],
                            ["scatter", self.path("plan.json"), "-o", self.path("out")]):
                if command[0] == "wind" and "FT  " not in content:
                    del command[2:4]
                with self.subTest(f"{i} {command[0]}: {words}"):
                    status, out, err = run(*command)
                    self.assertEqual((status, out), (1, ""), err)
                    self.assertEqual(tree(self.folder), before)
                    lines = [l for l in err.splitlines() if l.startswith("pappus: error: ")]
                    self.assertEqual(len(lines), 1, err)
                    for word in ["wind.dat", *words]:
                        self.assertIn(word, lines[0])


if __name__ == "__main__":
    main()
