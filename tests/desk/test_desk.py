# SPDX-License-Identifier: GPL-3.0-or-later
"""pappus desk without a browser: what it answers is what `pappus brief` answers, byte for byte;
readings are kept, grow old and are struck; the plan as it stands reads to the same answer; it ends
cleanly, and a kill loses nothing."""
import datetime
import json
import os
import re
import signal

from desks import Case, Desk, quick_plan
from helpers import main, read_json, read_text, run


def changes(part):
    return re.findall(r'<span dir="auto">([\w.\[\]]+=[^<]*)</span>', part)


def utc(minutes_ago):
    time = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(minutes=minutes_ago)
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")


class Answers(Case):
    def test_answer_is_that_of_brief(self):
        desk = self.begin()
        for settings in ([], ["wind.surface.speed=12 mph"], ["wind.surface.gust=null"],
                         ["wind.surface.direction=300 deg", "altimeters[0].main_height=900 ft",
                          "title=a & b = c"]):
            with self.subTest(settings):
                self.assertEqual(desk.get("/answer.json", set=settings), self.brief(*settings))

    def test_settings_of_the_command_line_stay(self):
        desk = self.begin(None, "--set", "wind.surface.speed=10 mph", "-n", "500", "--seed", "7")
        status, out, _ = run("brief", self.plan, "--json", "--set", "wind.surface.speed=10 mph",
                             "-n", "500", "--seed", "7")
        self.assertEqual(desk.get("/answer.json"), out)

    def test_wrong_settings_are_refused_in_a_line(self):
        desk = self.begin()
        for setting in ("wind.surface.sped=3 mph", "wind.surface.speed=12", "rocket.mass=NaN lb",
                        "wind.surface.speed=nan mph", "wind.surface.speed=1e999 mph", "x", "=3",
                        "rocket.mass=-3 lb", "run.landings=1e9"):
            status, text, _ = desk.ask("GET", "/answer.json?key=" + desk.key + "&set=" +
                                       setting.replace(" ", "%20"))
            with self.subTest(setting):
                self.assertEqual(status, 400, text)
                self.assertEqual(len(text.splitlines()), 1)

    def test_change_and_undo(self):
        desk = self.begin()
        first = desk.settled()
        self.assertEqual(changes(first), [])
        self.assertEqual(desk.post("/change", **{"wind.surface.speed": "13 mph"})[0], 200)
        desk.post("/change", any="rocket.mass", value="19 lb")
        part = desk.settled()
        self.assertEqual(changes(part), ["wind.surface.speed=13 mph", "rocket.mass=19 lb"])
        self.assertIn("13.0 mph from", part)
        desk.post("/undo", of="wind.surface.speed")
        self.assertEqual(changes(desk.settled()), ["rocket.mass=19 lb"])
        desk.post("/reset")
        part = desk.settled()
        self.assertEqual(changes(part), [])
        shown = part.split('data-part="answer"')[1]
        self.assertEqual(shown, first.split('data-part="answer"')[1])  # same bytes as before

    def test_main_heights_keep_their_distance(self):
        """The backup's is 100 ft lower in the plan ; 0.3048 m to the foot (exact)."""
        desk = self.begin()
        self.assertEqual(desk.post("/change", main="1000 ft")[0], 200)
        plan = json.loads(desk.get("/plan.json"))
        self.assertEqual(plan["altimeters"][0]["main_height"], "1000 ft")
        self.assertEqual(plan["altimeters"][1]["main_height"], "900 ft")
        self.assertEqual(desk.post("/change", main="1000")[0], 400)
        desk.post("/change", any="altimeters[1].works", value="0.99")
        self.assertEqual(desk.post("/undo", of="altimeters[0].main_height")[0], 200)  # together too
        heights = [a["main_height"] for a in json.loads(desk.get("/plan.json"))["altimeters"]]
        self.assertEqual(heights, ["700 ft", "600 ft"])
        desk.post("/change", main="1000 ft")
        self.assertEqual(desk.post("/undo", of="altimeters[1].main_height")[0], 200)
        self.assertEqual(changes(desk.get("/part", after=0)),
                         ["altimeters[1].works=0.99", "altimeters[0].main_height=1000 ft"])

    def test_refused_change_changes_nothing(self):
        desk = self.begin()
        before = desk.settled()
        for values in ({"wind.surface.speed": "12"}, {"any": "nothing.here", "value": "3"},
                       {"any": "field.boundary", "value": "/etc/passwd"},
                       {"any": "wind", "value": '{"profiles":["/etc/passwd"]}'},
                       {"any": "wind.profiles.0", "value": "/etc/passwd"},
                       {"any": "wind.profiles[0].file", "value": "x"},
                       {"any": "field", "value": '{"roads":"x"}'}, {"any": "base", "value": "x"},
                       {"any": "run.landings", "value": "10000000"},
                       {"any": "heights.step", "value": "1 ft"}):
            with self.subTest(values):
                status, text = desk.post("/change", **values)
                self.assertEqual(status, 400, text)
                part = desk.get("/part", after=0)
                self.assertEqual(changes(part), [])
                self.assertIn('class="doubt"', part.split('data-part="told"')[1][:120])
        for name in ("verdict", "answer", "zone"):
            self.assertEqual(before.split(f'data-part="{name}"')[1].split("data-part")[0],
                             desk.settled().split(f'data-part="{name}"')[1].split("data-part")[0])

    def test_page_without_scripts(self):
        """A form that answers: posted as a browser does, it leads to the answered page."""
        desk = self.begin()
        page = desk.get("/")
        fields = dict(re.findall(r'<input [^>]*name="([\w.]+)" value="([^"]*)"',
                                 page.split('id="knobs"')[1].split("</form>")[0]))
        fields["wind.surface.speed"] = "22 mph"
        fields.pop("key")
        status, text, headers = desk.ask("POST", "/change", "&".join(
            f"{k}={v.replace(' ', '+').replace('+/-', '%2B/-')}" for k, v in
            {"key": desk.key, **fields}.items()), {
                "Origin": desk.origin, "Content-Type": "application/x-www-form-urlencoded"})
        self.assertEqual((status, text), (303, ""))
        status, page, _ = desk.ask("GET", headers["Location"])
        self.assertEqual(status, 200)
        self.assertIn('<h1 class="verdict no">', page)
        self.assertEqual(changes(page), ["wind.surface.speed=22 mph"])


class Notes(Case):
    def note(self, desk, minutes, speed="12 mph", direction="240 deg", height="2 m", gust="17 mph"):
        return desk.post("/note", time=utc(minutes), **{
            "wind.surface.speed": speed, "wind.surface.direction": direction,
            "wind.surface.height": height, "wind.surface.gust": gust})

    def test_a_reading_counts_with_its_age(self):
        """Error at the ground: the reading's own 1 m/s and 2.4 m/s for an hour as its cube root,
        half of it at the ground (0.5 at 0 m, 1 from 400 m up); half an hour makes
        sqrt(1 + (2.4 * 0.5025 * 0.5^(1/3))^2) at 2 m (README, How sure; X)."""
        desk = self.begin()
        self.assertEqual(self.note(desk, 30)[0], 200)
        plan = json.loads(desk.get("/plan.json"))
        surface = plan["wind"]["surface"]
        self.assertEqual((surface["speed"], surface["gust"]), ("12 mph", "17 mph"))
        own, growth = 1.0, 2.4 * (0.5 + 0.5 * 2 / 400) * 0.5 ** (1 / 3)
        # the age is in whole minutes; the clock may pass one between
        self.assertAlmostEqual(float(surface["error"].split()[0]), (own**2 + growth**2) ** 0.5, 1)
        part = desk.settled()
        self.assertRegex(part, r"(29|30|31) min old")

    def test_newest_of_a_height_counts(self):
        desk = self.begin()
        self.note(desk, 40, speed="9 mph")
        self.note(desk, 20, speed="30 mph", height="150 m", gust="")
        self.note(desk, 10, speed="14 mph")
        self.note(desk, 300, speed="3 mph")
        plan = json.loads(desk.get("/plan.json"))
        self.assertEqual(plan["wind"]["surface"]["speed"], "14 mph")
        self.assertEqual([(o["height"], o["speed"]) for o in plan["wind"]["observations"]],
                         [("150 m", "30 mph")])
        notes = desk.get("/part", after=0).split('data-part="notes"')[1]
        self.assertEqual(notes.count("min old"), 2)
        self.assertEqual(notes.count("a newer one at its height counts"), 1)
        self.assertEqual(notes.count("too far from the flight to count"), 1)

    def test_a_reading_after_the_flight(self):
        """It counts by its distance in time too, and is not called old."""
        plan = quick_plan()
        plan["wind"] |= {"time": utc(40)[:17] + "00Z"}
        desk = self.begin(plan)
        self.note(desk, 10)
        self.assertRegex(desk.get("/part", after=0), "(29|30|31) min after the flight")

    def test_back_and_forth(self):
        """At an earlier reading the answer is as it was then: later ones do not count, and it is
        not old."""
        desk = self.begin()
        self.note(desk, 50, speed="9 mph", gust="")
        self.note(desk, 10, speed="14 mph", gust="")
        def surface():
            return json.loads(desk.get("/plan.json"))["wind"]["surface"]
        self.assertEqual(desk.post("/show", number=1)[0], 200)
        self.assertEqual((surface()["speed"], surface()["error"]), ("9 mph", "1 m/s"))
        self.assertEqual(desk.post("/show", number=0)[0], 200)
        self.assertEqual(surface()["speed"], "14 mph")
        self.assertEqual(desk.post("/strike", number=2)[0], 200)
        self.assertEqual(surface()["speed"], "9 mph")
        for number in ("3", "-1", "x", "", "99999999999999999999"):
            self.assertEqual(desk.post("/show", number=number)[0], 400)

    def test_a_kill_loses_no_note(self):
        desk = self.begin()
        for minutes in (30, 20, 10):
            self.assertEqual(self.note(desk, minutes, speed=f"{minutes} mph", gust="")[0], 200)
        desk.post("/strike", number=2)
        desk.end(signal.SIGKILL)
        lines = read_text(self.plan + ".notes").splitlines()
        self.assertEqual(len(lines), 4)
        with open(self.plan + ".notes", "a", encoding="utf-8") as f:
            f.write('{"time":"2027-04-')  # what a crash cuts short
        again = Desk(self.plan)
        self.addCleanup(again.end, signal.SIGKILL)
        notes = again.get("/part", after=0).split('data-part="notes"')[1]
        self.assertEqual(re.findall(r"</b> (\d+) mph from", notes), ["30", "10"])
        self.assertEqual(self.note(again, 5, speed="11 mph", gust="")[0], 200)
        status, said = again.end()
        self.assertEqual(status, 0)
        self.assertIn("line 5", said)
        self.assertEqual(json.loads(read_text(self.plan + ".notes").splitlines()[-1])["speed"],
                         "11 mph")

    def test_refused_notes_are_not_kept(self):
        desk = self.begin()
        for values in ({"speed": "12"}, {"direction": "up"}, {"height": "2 mph"},
                       {"gust": "3 mph"}, {"speed": ""}, {"speed": "nan mph"}):
            with self.subTest(values):
                self.assertEqual(self.note(desk, 5, **values)[0], 400)
        self.assertFalse(os.path.exists(self.plan + ".notes"))
        self.assertEqual(desk.post("/note", time="noon", **{
            "wind.surface.speed": "3 mph", "wind.surface.direction": "90 deg"})[0], 400)


class Files(Case):
    def test_plan_as_it_stands(self):
        """Beside the plan it reads to the answer that is shown, a gust that went along too."""
        desk = self.begin()
        desk.post("/change", **{"wind.surface.speed": "11 mph", "main": "800 ft"})
        settings = changes(desk.settled())
        saved = self.write("saved.json", desk.get("/plan.json"))
        status, out, err = run("brief", saved, "--json")
        one, other = json.loads(out), json.loads(self.brief(*settings))
        for key in ("limits", "all", "outcomes", "heights", "ceiling", "posts"):
            self.assertEqual(one[key], other[key], key)

    def test_whole_brief(self):
        desk = self.begin()
        desk.post("/change", any="rocket.mass", value="19 lb")
        self.assertEqual(desk.post("/write")[0], 200)
        folder = self.path("plan_desk")
        self.assertEqual(read_json(folder + "/summary.json"), json.loads(self.brief("rocket.mass=19 lb")))
        self.assertTrue(os.path.exists(folder + "/report.html"))
        self.assertEqual(desk.post("/write")[0], 200)  # over an earlier one
        os.rename(folder, folder + ".old")
        os.mkdir(folder)
        self.write("plan_desk/mine.txt", "kept")
        status, text = desk.post("/write")
        self.assertEqual(status, 422, text)
        self.assertEqual(os.listdir(folder), ["mine.txt"])

    def test_files_are_read_again_on_the_button_alone(self):
        desk = self.begin()
        desk.post("/change", any="rocket.mass", value="19 lb")
        plan = quick_plan()
        plan["wind"]["surface"]["speed"] = "5 mph"
        self.write("plan.json", plan)
        desk.post("/change", any="rocket.mass", value="20 lb")
        self.assertIn(">8.0 mph from", desk.settled())
        self.assertEqual(desk.post("/reread")[0], 200)
        part = desk.settled()
        self.assertIn(">5.0 mph from", part)
        self.assertEqual(changes(part), ["rocket.mass=20 lb"])
        self.write("plan.json", "{")
        self.assertEqual(desk.post("/reread")[0], 400)
        self.assertIn(">5.0 mph from", desk.settled())

    def test_pads(self):
        plan = quick_plan()
        site = plan["site"]
        plan["site"] = {k: v for k, v in site.items() if k not in ("latitude", "longitude")}
        plan["site"]["pads"] = [
            {"name": "near", "latitude": site["latitude"], "longitude": site["longitude"]},
            {"name": "far <b>", "latitude": "41.7600 deg", "longitude": "-98.4400 deg"}]
        desk = self.begin(plan)
        self.assertEqual(desk.post("/change", pad="far <b>")[0], 200)
        self.assertIn("41.76000, -98.44000", desk.settled())
        _, out, _ = run("brief", self.plan, "--json", "--pad", "far <b>")
        saved = self.write("saved.json", desk.get("/plan.json"))
        self.assertEqual(json.loads(run("brief", saved, "--json")[1])["posts"], json.loads(out)["posts"])
        self.assertEqual(desk.post("/change", pad="none such")[0], 400)


class Ends(Case):
    def test_interrupt(self):
        for how in (signal.SIGINT, signal.SIGTERM):
            desk = self.begin()
            self.assertEqual(desk.end(how), (0, ""))  # while it computes

    def test_wrong_plans(self):
        self.assertEqual(run("desk", self.path("none.json"))[0], 1)
        status, out, err = run("desk", self.write("bad.json", {"site": 3}))
        self.assertEqual((status, out), (1, ""))
        self.assertEqual(run("desk", self.write("p.json", quick_plan()), "--port", "80")[0], 2)
        self.assertEqual(run("desk", self.write("p.json", quick_plan()), "--listen", "here")[0], 5)

    def opened_by(self, script):
        """A desk that finds this and nothing else as xdg-open (freedesktop.org's xdg-utils)."""
        os.mkdir(self.path("bin"))
        if script:
            os.chmod(self.write("bin/xdg-open", "#!/bin/sh\n" + script), 0o755)
        return self.begin(None, "--open", env=dict(os.environ, PATH=self.path("bin")))

    def test_open(self):
        """The browser is given the address that was printed, in a session of its own (proc(5):
        the sixth field of stat), none of the signals held back that end a desk, SIGPIPE as usual."""
        told = self.path("told")
        os.mkfifo(told)
        desk = self.opened_by(f"""exec > '{told}'
            echo "$#" "$1"
            read -r stat < /proc/$$/stat
            echo "$stat"
            while read -r line; do echo "$line"; done < /proc/$$/status""")
        lines = read_text(told).splitlines()  # until it ends
        self.assertEqual(lines[0], "1 " + desk.address)
        process = lines[1].split(" ")
        self.assertEqual(process[0], process[5])
        masks = dict(line.split(":\t") for line in lines[2:] if line.startswith("Sig"))
        self.assertEqual(int(masks["SigBlk"], 16) & 0x4003, 0)  # hangup, interrupt, terminate
        self.assertEqual(int(masks["SigIgn"], 16) & 1 << signal.SIGPIPE - 1, 0)
        desk.settled()
        self.assertEqual(desk.end(), (0, ""))

    def test_nothing_opens(self):
        for script, why in (("", "not found"), ("exit 3", "it failed")):
            desk = self.opened_by(script)
            line = desk.process.stderr.readline()
            self.assertEqual(line, f"pappus: warning: --open: xdg-open: {why}; open the address yourself\n")
            desk.settled()  # and it runs on
            self.assertEqual(desk.end(), (0, ""))
            os.rename(self.path("bin"), self.path("bin " + why))

    def test_threads_sleep_while_they_wait(self):
        """OpenMP 5.0, 6.7: OMP_WAIT_POLICY; what the user says stands."""
        rest = {k: v for k, v in os.environ.items() if k not in ("OMP_WAIT_POLICY", "GOMP_SPINCOUNT")}
        for env, due in ((rest, b"OMP_WAIT_POLICY=passive"),
                         (dict(rest, OMP_WAIT_POLICY="active"), b"OMP_WAIT_POLICY=active"),
                         (dict(rest, GOMP_SPINCOUNT="7"), None)):
            desk = self.begin(env=env)
            with open(f"/proc/{desk.process.pid}/environ", "rb") as f:
                found = [v for v in f.read().split(b"\0") if v.startswith(b"OMP_WAIT_POLICY=")]
            self.assertEqual(found, [due] if due else [])
            with open(f"/proc/{desk.process.pid}/cmdline", "rb") as f:
                self.assertIn(self.plan.encode(), f.read().split(b"\0"))
            self.assertEqual(desk.end(), (0, ""))

    def test_port(self):
        desk = self.begin()
        status, _, err = run("desk", self.plan, "--port", str(desk.port))
        self.assertEqual(status, 5)
        self.assertEqual(len(err.splitlines()), 1)


if __name__ == "__main__":
    main()
