# SPDX-License-Identifier: GPL-3.0-or-later
"""What guards against renderers that disagree: terminal, report.html, the desk's page and
summary.json say the same decision, leading limit, recommended height, ceiling and posts. Over hundreds of
answers made at random by tool_guard (parts missing, every limit in the way, hostile texts,
planned heights beside a row by less than is shown), and over real plans through the
command line. What each medium must say is worked out here from summary.json alone (X)."""
import concurrent.futures
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])
sys.path.insert(0, os.path.join(SOURCE, "tests", "cli"))
sys.path.insert(0, os.path.join(SOURCE, "tests", "desk"))
import helpers
from desks import Desk

TOOL = os.path.join(os.path.dirname(PAPPUS), "tool_guard")
ANSWERS = 300
SAME_M = 0.0005  # design: the planned height is the same within rounding
SHOUT = {"go": "GO", "no-go": "NO-GO", "undecided": "UNDECIDED"}
EXIT = {"go": 0, "no-go": 3, "undecided": 4}
MARKS = {"met": "met", "BROKEN": "broken", "UNSURE": "undecided"}
WORDS = {"inside_field": "lands inside the field", "keep_out": "lands on a keep-out area",
         "surface_wind": "surface wind", "landing_speed": "descent rate at touchdown",
         "landing_energy": "touchdown energy", "opening_load": "opening load",
         "main_height": "main fully open at"}
NOUNS = dict(WORDS, inside_field="inside the field", keep_out="keep-out area",
             main_height="height of the open main")
UNITS = {"ft": 0.3048, "m": 1.0, "mph": 0.44704, "m/s": 1.0, "J": 1.0,
         "ft lbf": 1.3558179483314004}  # 0.3048 m x 0.45359237 kg x 9.80665 m/s2, exact
VALUE = r"(\d+(?:\.\d+)?) (ft lbf|ft|mph|m/s|m|J)(?![\w/])"
failures = []


def plain(text):
    return re.sub(r"\s+", " ", text).strip()


def letters(text):
    """What is left when a text is cut, tamed or spaced differently."""
    return re.sub(r"[^!-~]", "", text)


class Terminal:
    """The half screen, its wrapped lines joined again."""

    def __init__(self, text):
        lines = text.split("\n")
        self.first, self.reasons, self.said = lines[0], [], {}
        key = None
        for line in lines if lines[0].startswith("Plan ") else lines[1:]:
            found = re.match(r"  (met|BROKEN|UNSURE) +(.*)", line)
            if found:
                self.reasons.append([found[1], found[2]])
                key = None
            elif line.startswith("  ! "):
                key = None
            elif line.startswith(" " * 10 + "still open after "):
                continue
            elif line.startswith(" " * 10) and self.reasons and key is None:
                self.reasons[-1][1] += " " + line.strip()
            elif re.match(r"(Plan|Surface|Aloft|Field|Lands|Main|Set|Wind|Crews|Faults|Warning) ", line):
                key = line.split()[0]
                self.said.setdefault(key, []).append(line[8:])
            elif line.startswith(" " * 8) and key:
                self.said[key].append(line.strip())

    def line(self, key):
        return " ".join(self.said[key]) if key in self.said else None


class Page:
    def __init__(self, html):
        html = re.sub(r"<script\b.*?</script>", "", html, flags=re.DOTALL)  # of HTML, not XML
        self.root = ET.fromstring(html.replace("<!DOCTYPE html>", ""))
        self.ids = {e.get("id"): e for e in self.root.iter() if e.get("id")}

    def text(self, element):
        return plain("".join(element.itertext()))

    def section(self, name):
        return self.text(self.ids[name]) if name in self.ids else None

    def article(self, number):
        return self.ids["answer"].findall("article")[number]


def metres(found):
    """What a printed value is, and by how much it may be off."""
    decimals = len(found[0].partition(".")[2])
    return float(found[0]) * UNITS[found[1]], 0.5001 * 10.0 ** -decimals * UNITS[found[1]]


class Guard:
    def __init__(self, name, summary, text, html):
        self.name, self.summary = name, summary
        self.terminal, self.page, self.text = Terminal(text), Page(html), text

    def check(self, truth, message, *seen):
        if not truth:
            failures.append(f"{self.name}: {message} {list(seen)}")

    def all(self):
        for part in (self.stamp, self.decision, self.leading, self.energy, self.height, self.rows,
                     self.ceiling, self.whole_wind, self.posts, self.post_notes):
            try:
                part()
            except (KeyError, IndexError, TypeError, AttributeError) as e:
                self.check(False, f"{part.__name__} cannot be read: {e!r}", self.text)

    def stamp(self):
        """Each line of the terminal's is on the page; values are those of the summary."""
        stamp, page = self.summary["stamp"], self.page.section("stamp")
        for key in ("Plan", "Surface", "Aloft"):
            told = self.terminal.line(key)
            self.check(told and letters(told)[:80] in letters(page), "stamp", key, told, page)
        told, reading = self.terminal.line("Surface"), stamp["surface_wind"]
        if reading is None:
            self.check(told == "wind not measured", "stamp", told)
        else:
            self.near(re.match(VALUE, told), reading["speed_mps"], "surface wind", told)
            gust = re.search("gust " + VALUE, told)
            if reading["gust_mps"] is None:
                self.check("no gust given" in told, "gust", told)
            else:
                self.near(gust, reading["gust_mps"], "gust", told)
        doubts = re.findall(r"only a guess|contradicts the winds aloft", self.text)
        due = stamp["wind_aloft_guessed"] + (stamp["widening"] > 1.5)
        refused = list(self.page.ids["told"]) if "told" in self.page.ids else []  # the desk's own
        on_page = [self.page.text(p) for p in self.page.root.iter("p")
                   if p.get("class") == "doubt" and p not in refused]
        self.check(len(doubts) == len(on_page) == due, "doubts", doubts, on_page, due)

    def decision(self):
        decision = self.summary["decision"]
        heading = self.page.text(self.page.root.find(".//h1"))
        if decision is None:
            self.check(heading == "Landing zone", "no decision in the report", heading)
            self.check(not re.match(r"(GO|NO-GO|UNDECIDED)( |$)", self.text), "no decision", self.text)
            return
        shout = SHOUT[decision]
        told = shout + (" - treat as no-go" if decision == "undecided" else "")
        self.check(re.match(re.escape(told) + r"(   |$)", self.terminal.first), "decision",
                   self.terminal.first, decision)
        told = shout + ("Treat as no-go" if decision == "undecided" else "")
        self.check(heading == told, "decision in the report", heading, decision)

    def leading(self):
        lead, limits = self.summary["leading_limit"], self.summary["limits"]
        listed = [plain(self.page.text(li)) for li in self.page.article(0).iter("li")]
        if not limits:
            self.check(lead is None and not self.terminal.reasons, "a limit leads", lead)
            return
        worst = [v for v in ("broken", "undecided", "met") if any(l["verdict"] == v for l in limits)]
        self.check(lead["verdict"] == worst[0], "leads", lead)
        if worst[0] == "met":
            self.check(listed[0] == "Every limit is met; the tightest are:", "all met", listed)
            listed = listed[1:]
        mark, words = self.terminal.reasons[0]
        self.check(MARKS[mark] == lead["verdict"], "leading verdict", mark, lead)
        self.check(words.startswith(WORDS[lead["limit"]]), "leading limit", words, lead)
        before = "" if worst[0] == "met" else lead["verdict"] + ": "
        for line, (_, told) in zip(listed, self.terminal.reasons):
            cut = letters(told.removesuffix("..."))
            verdict = line.split(": ")[0] + ": " if line.split(": ")[0] in MARKS.values() else ""
            self.check(letters(line.removeprefix(verdict)).startswith(cut), "reason", told, line)
        self.check(listed[0].startswith(before + WORDS[lead["limit"]]), "leading limit", listed[0])

    def energy(self):
        """Beside the limit on the vertical speed's energy, that of the total speed: the largest
        section's. It is left out where a caveat stands."""
        sections = self.summary["outcomes"]["nominal"]["energy_total_j"]
        due = max((s["p95"] for s in sections), default=None)
        for words in [told for _, told in self.terminal.reasons] + [
                plain(self.page.text(li)) for li in self.page.article(0).iter("li")]:
            found = re.search(r"; " + VALUE + " with the drift in it", words)
            energy = WORDS["landing_energy"] in words
            self.check(energy or not found, "total energy elsewhere", words)
            if found:
                self.near(found, due, "total energy", words)
        for limit in self.summary["limits"] or []:
            if limit["limit"] != "landing_energy" or limit["note"]:
                continue
            self.check("with the drift in it" in self.page.section("limits"), "no total energy",
                       self.page.section("limits"))

    def height(self):
        heights, told = self.summary["heights"], self.terminal.line("Main")
        advice = self.page.article(2).find("p")
        if heights is None:
            self.check(told is None and advice is None, "a height without a trade", told)
            return
        advice, trade = self.page.text(advice), self.page.section("trade")
        best, planned = heights["recommended_m"], heights["planned_m"]
        if best is None:
            for words in (told, advice.removeprefix("Main height: ")):
                self.check(words.startswith("no height "), "none recommended", words)
            self.check("Main height: no height " in trade, "none in the trade", trade)
            return
        self.near(re.search("Recommended: " + VALUE, trade), best, "in the trade", trade)
        if abs(best - planned) <= SAME_M:
            self.check("as planned is the recommended height" in told, "kept", told)
            self.check("is the recommended one" in advice, "kept in the report", advice)
            return
        go = self.summary["decision"] in (None, "go")
        forms = (((VALUE + " is recommended", "planned is " + VALUE),
                  ("Recommended is " + VALUE, "rather than " + VALUE)) if go else
                 ((VALUE + " would meet every limit", "planned is " + VALUE),
                  ("At " + VALUE + " every limit is met", "with the main at " + VALUE)))
        for words, form in zip((told, advice), forms):
            found = [re.search(pattern, words) for pattern in form]
            self.near(found[0], best, "recommended", words)
            self.near(found[1], planned, "planned", words)
            self.check(all(found) and found[0].groups() != found[1].groups(), "read apart", words)

    def near(self, found, value, what, words):
        self.check(found, what, words)
        if found:
            told, off = metres(found.groups()[-2:])
            self.check(abs(told - value) <= off, what, words, value)

    def rows(self):
        if self.summary["heights"] is None:
            return
        told = [self.page.text(tr.findall("td")[0])
                for tr in self.page.ids["trade"].iter("tr") if tr.find("td") is not None]
        due = []
        for row in self.summary["heights"]["trade"]:
            before = "undecided: " if row["verdict"] == "undecided" else ""
            due.append("nothing" if row["verdict"] == "met" else before + NOUNS[row["broken"]])
        self.check(told == due, "verdicts of the trade", told, due)

    def ceiling(self):
        ceiling, told = self.summary["ceiling"], self.terminal.line("Wind")
        if ceiling is None:
            self.check(told is None and "ceiling" not in self.page.ids, "a ceiling", told)
            return
        words = self.page.text(self.page.ids["ceiling"].find("p"))
        turn = NOUNS.get(ceiling["turns"], "none")
        field = self.summary["all"]["inside_field"] is not None
        self.check(f"the limit in the way is {turn}" in words, "what turns it", words, turn)
        if not field:
            self.check(words.startswith("No field was given: nothing here is a go."), "field", words)
        if not ceiling["go"]:
            self.check(re.match(r"no wind from \d+ deg is go: " + re.escape(turn), told), "none", told)
            self.check("no wind is go" in words, "none", words)
            return
        floor, top = ceiling["floor_mps"], ceiling["surface_wind_mps"]
        form = "the other limits are met up to " if not field else \
            "still go at " if not ceiling["reached"] else "up to "
        self.below(re.search(form + VALUE, told), top, "ceiling", told)
        if floor > 0:
            self.below(re.search(" in [\\d.]+ \\S+ to " + VALUE, words), top, "ceiling", words)
        else:
            self.below(re.search(" in (?:up to )?" + VALUE, words), top, "ceiling", words)
        if field and ceiling["reached"]:
            self.check(f", then no-go: {turn}" in told, "what turns it", told, turn)
            self.check(told.startswith("go above " if floor > 0 else "go up to"), "floor", told)

    def whole_wind(self):
        """The second question, beside the first where that is of the reading alone."""
        ceiling = self.summary["ceiling"]
        if ceiling is None:
            return
        words = self.page.section("ceiling")
        found = re.search("If the whole wind grows alike, aloft too: (.*)", words)
        self.check(bool(found) == (ceiling["of"] == "reading"), "second question", words)
        if not found:
            return
        row, told = ceiling["whole_wind"], found[1]
        turn = NOUNS.get(row["turns"], "none")
        if not row["go"]:
            self.check(re.match(r"no wind from \d+ deg is go: " + re.escape(turn), told), "none", told)
            return
        field = self.summary["all"]["inside_field"] is not None
        form = "the other limits are met up to " if not field else \
            "still go at " if not row["reached"] else "up to "
        self.below(re.search(form + VALUE, told), row["surface_wind_mps"], "whole wind", told)
        self.check(f"from {row['wind_from_deg']:.0f} deg" in told, "from", told)
        if field and row["reached"]:
            self.check(f", then no-go: {turn}" in told, "what turns it", told, turn)
            floor = re.match("go above " + VALUE, told)
            self.check(bool(floor) == (row["floor_mps"] > 0), "floor", told)
            if floor:
                self.near(floor, row["floor_mps"], "floor", told)

    def below(self, found, value, what, words):
        """A wind that is go is rounded down, never up."""
        self.check(found, what, words)
        if found:
            told, off = metres(found.groups())
            self.check(-1e-6 <= value - told <= 2 * off, what, words, value)

    def posts(self):
        posts, told = self.summary["posts"], self.terminal.line("Crews")
        listed = self.page.article(1)
        if not posts:
            words = self.page.text(listed.find("ol"))
            if posts is None:
                self.check(told is None and words == "No posts were asked for.", "posts", told, words)
                return
            rule = "no place is safe to wait: " + self.summary["crews"]["blocked_by"]
            self.check(told == rule, "rule", told, rule)
            self.check(words.lower() == rule.lower(), "rule in the report", words, rule)
            return
        due = [f"{p['latitude']:.5f}, {p['longitude']:.5f}" for p in posts]
        self.check(re.findall(r"at (-?[\d.]+, -?[\d.]+)", told) == due[:2], "posts", told, due)
        seen = [self.page.text(b) for b in listed.iter("b")]
        self.check(seen == due[:2], "posts in the report", seen, due)
        table = [self.page.text(tr.findall("td")[0]) for tr in self.page.ids["wait"].iter("tr")
                 if tr.find("td") is not None]
        self.check([t.split(" (")[0] for t in table] == due, "posts in the table", table, due)
        for place, post in zip(table, posts):
            self.minutes(re.search(r"\((.*)\)", place), post, place)

    def minutes(self, found, post, words):
        """Degrees and minutes to a thousandth, with the hemisphere's letter."""
        form = r"(\d+) (\d\d\.\d{3}) ([NSEW])"
        told = re.fullmatch(form + ", " + form, found[1]) if found else None
        self.check(told, "minutes", words)
        if not told:
            return
        for part, value, letters_ in ((told.groups()[:3], post["latitude"], "NS"),
                                      (told.groups()[3:], post["longitude"], "EW")):
            degrees = (int(part[0]) + float(part[1]) / 60) * (1 if part[2] == letters_[0] else -1)
            self.check(part[2] in letters_ and abs(degrees - value) <= 0.00051 / 60, "minutes", words)

    def post_notes(self):
        """What may come down near a post; where to look and when; on the terminal's line the
        same place in minutes."""
        posts = self.summary["posts"]
        if not posts:
            return
        notes = [self.page.text(tr.findall("td")[-1]) for tr in self.page.ids["wait"].iter("tr")
                 if tr.find("td") is not None]
        told = self.terminal.line("Crews")
        for place, post in zip(re.findall(r"\(([^)]*)\)", told), posts):
            self.minutes(re.match("(.*)", place), post, told)
        for post, note in zip(posts, notes):
            chance = re.search(r"comes down within \S+ \S+ of it in (under )?([\d.]+) % of flights", note)
            self.check(chance, "chance near a post", note)
            if chance and chance[1]:
                self.check(0 < post["near_chance"] < float(chance[2]) / 100, "chance", note, post)
            elif chance:
                off = 0.5001 * 10.0 ** -len(chance[2].partition(".")[2])
                self.check(abs(100 * post["near_chance"] - float(chance[2])) <= off, "chance", note, post)
        for post, li in zip(posts, self.page.article(1).iter("li")):
            words = self.page.text(li)
            look = re.search(r"opens about (\d+) s after apogee, towards (\d+) deg.*, (\d+) deg up", words)
            self.check(bool(look) == (post["look_s"] is not None), "where to look", words, post)
            if not look:
                continue
            turned = (int(look[2]) - post["look_bearing_deg"] + 180) % 360 - 180
            for off in (int(look[1]) - post["look_s"], turned,
                        int(look[3]) - post["look_elevation_deg"]):
                self.check(abs(off) <= 0.5001, "where to look", words, post)


def guard_answers(folder):
    done = subprocess.run([TOOL, folder, str(ANSWERS)], capture_output=True, text=True, check=False)
    if done.returncode:
        failures.append(f"tool_guard: {done.stderr}")
        return
    for n in range(ANSWERS):
        place = os.path.join(folder, str(n))
        for page in ("report", "desk"):
            Guard(f"{page} of answer {n}", helpers.read_json(os.path.join(place, "summary.json")),
                  helpers.read_text(place + ".txt"),
                  helpers.read_text(os.path.join(place, page + ".html"))).all()


# --------------------------------------------------------------- real plans

HOSTILE = "<b>&amp;\"{{title}}\" %s \u202e\u05e9\u05d3\u05d4"
PLANS = {
    "as it is": ({}, []),
    "planned beside a row": ({"heights": {"from": "699 ft", "to": "699 ft"}}, []),
    "planned on a row": ({"heights": {"from": "700 ft", "to": "700 ft"}}, ["--units", "si"]),
    "no field": ({"field": None}, []),
    "no keep-outs, no crews": ({"field": {"keep_out": None}, "crews": {"posts": 0}}, []),
    "one canopy": ({"drogue": None}, ["--units", "si"]),
    "hostile names": ({"title": HOSTILE, "field": {"keep_out": [
        {"name": HOSTILE, "bearing": "70 deg", "distance": "1500 ft", "radius": "900 ft"},
        {"name": "{{#posts}}", "bearing": "60 deg", "distance": "1500 ft", "radius": "200 ft"}]}}, []),
    "strong wind": ({"wind": {"surface": {"speed": "22 mph", "gust": "30 mph"}}}, []),
    "undecided by the gust": ({"wind": {"surface": {"gust": "24 mph"}}}, []),
    "no limits": ({"limits": None}, []),
    "nowhere to wait": ({"crews": {"standoff": "3 mi"}}, ["--units", "si"]),
    "main too low": ({"limits": {"main_height": "2000 ft"}}, []),
    "none below the apogee": ({"heights": {"from": "6000 ft", "to": "6200 ft"}}, []),
}


ON_DESK = ("as it is", "hostile names", "strong wind", "nowhere to wait")  # through the desk itself


def guard_plan(name, patch, options, folder):
    plan = helpers.quick_plan()
    patch = json.loads(json.dumps(patch))
    if isinstance(patch.get("field"), dict) and not isinstance(patch["field"].get("keep_out"), list):
        plan["field"].pop("keep_out")
        patch["field"].pop("keep_out")
    helpers.merge(plan, patch)
    plan = {key: value for key, value in plan.items() if value is not None}
    path, out = os.path.join(folder, name + ".json"), os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as f:
        json.dump(plan, f)
    command = ["brief", path, "-n", "200", "--threads", "1", "--quiet", *options]
    status, text, faults = helpers.run(*command, "-o", out)
    if status not in helpers.ANSWERED:
        failures.append(f"{name}: exit {status}: {faults}")
        return
    guard = Guard(name, helpers.read_json(os.path.join(out, "summary.json")), text,
                  helpers.read_text(os.path.join(out, "report.html")))
    guard.check(EXIT[guard.summary["decision"]] == status, "exit status", status)
    if options:
        guard.check(helpers.run(*command, "--json")[1] ==
                    helpers.read_text(os.path.join(out, "summary.json")), "--json differs")
    guard.all()
    if name in ON_DESK:
        desk = Desk(path, *command[2:])
        page = desk.get("/", wait=1)
        given = helpers.read_text(os.path.join(out, "summary.json"))
        told = desk.get("/answer.json")
        status, said = desk.end()
        whole = Guard(name + " on the desk", guard.summary, text, page)
        whole.check(status == 0 and not said, "end of the desk", status, said)
        whole.check(told == given, "answer.json differs")
        whole.all()


def main():
    folder = tempfile.mkdtemp(prefix="pappus-test-")
    try:
        guard_answers(folder)
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            list(pool.map(lambda item: guard_plan(item[0], *item[1], folder), PLANS.items()))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    for failure in failures[:20]:
        print(failure)
    print(f"{len(failures)} failures over {ANSWERS} answers and {len(PLANS)} plans")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
