# SPDX-License-Identifier: GPL-3.0-or-later
"""The desk in a browser: every control leads to the answer that `pappus brief --set` gives, thirty
quick changes end on the last one, keyboard and a phone's screen do, and the page says nothing on
its console. What is waited for is the page's own state. And the guard of the house: the page's
words are those of the report, whose guard (tests/output/test_guard.py) holds them against the
terminal and summary.json."""
import json
import os
import re
import signal
import unittest

from desks import Case, quick_plan
from devtools import Browser
from helpers import main, read_text, run

SETTLED = ("(function (l) { return l.dataset.refined === 'yes' && l.dataset.number === "
           "l.dataset.answered && +l.dataset.number >= %d; })(document.getElementById('live'))")
PARTS = ("verdict", "answer", "zone", "limits", "trade", "ceiling", "wait")


def plain(text):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text)).strip()


def setUpModule():
    global browser
    browser = Browser()
    unittest.addModuleCleanup(browser.close)


def hourly_plan():
    """A forecast of four hours and three members, invented: the wind grows, more so in some."""
    plan = quick_plan()
    rows = [f"2027-04-17T{h}:00Z,{m},forecast,{z},240,{(2 + h - 18 + 1.5 * m) * f:.2f}"
            for h in range(18, 22) for m in (0, 3, 4) for z, f in ((10, 1), (600, 1.8), (2500, 2.5))]
    plan["wind"] = {"profiles": ["hours.csv"], "time": "2027-04-17T19:00Z", "age": "6 h"}
    plan["heights"] = {"from": "500 ft", "to": "700 ft", "step": "200 ft"}
    return plan, "time,member,kind,height_agl_m,direction_deg,speed_mps\n" + "\n".join(rows) + "\n"


class Opened(Case):
    """A desk in the browser."""

    def setUp(self):
        super().setUp()
        self.browser = browser
        self.browser.console.clear()
        self.desk = self.begin(self.plan_of_desk())
        self.addCleanup(self.quiet)

    def plan_of_desk(self):
        return None

    def quiet(self):
        said = list(self.browser.console)
        self.browser.call("Page.navigate", url="about:blank")  # before the desk ends
        self.browser.until("location.href === 'about:blank'")
        self.assertEqual(said, [])

    def open(self, width=1440, height=900, touch=False):
        self.browser.screen(width, height, touch)
        self.browser.go(self.desk.address, "document.getElementById('live')")
        self.browser.until(SETTLED % 1)

    def number(self):
        return int(self.browser.js("document.getElementById('live').dataset.number"))

    def put(self, selector, value, event="change"):
        """As a hand does: the value, and the event that follows."""
        before = self.number()
        self.browser.js(f"(function (e) {{ e.value = {json.dumps(value)}; e.dispatchEvent("
                        f"new Event('{event}', {{bubbles: true}})); }})"
                        f"(document.querySelector({json.dumps(selector)}))")
        self.browser.until(SETTLED % (before + 1))

    def part(self, name):
        return self.browser.js(f"document.querySelector('[data-part={name}]').textContent")

    def choices(self, selector):
        return self.browser.js(f"[].map.call(document.querySelectorAll('{selector} option'), "
                               "function (e) { return [e.value, e.textContent, e.selected]; })")

    def same_as_brief(self, *settings, parts=PARTS):
        """Every part of the page is in the report of a brief with these settings, word for word;
        the terminal opens with the same decision."""
        arguments = [word for setting in settings for word in ("--set", setting)]
        status, out, err = run("brief", self.plan, "-o", self.path("out"), *arguments)
        self.assertTrue(status in (0, 3, 4), err)
        report = self.browser.js(
            "(function (t) { var d = new DOMParser().parseFromString(t, 'text/html');"
            "[].forEach.call(d.querySelectorAll('style,script,.slider'), function (e) { e.remove(); });"
            "return d.body.textContent.replace(/\\s+/g, ' '); })"
            f"({json.dumps(read_text(self.path('out/report.html')))})")
        for name in parts:
            words = self.browser.js(
                f"(function (e) {{ e = e.cloneNode(true); [].forEach.call(e.querySelectorAll("
                f"'style'), function (s) {{ s.remove(); }}); return e.textContent.replace(/\\s+/g, "
                f"' ').trim(); }})(document.querySelector('[data-part={name}]'))")
            pieces = [words] if name != "wait" else words.split(" Where the crews wait")
            for piece in pieces:
                self.assertTrue(piece and piece.strip() in report, (name, settings, piece[:300]))
        shout = self.browser.js("document.querySelector('h1.verdict span').textContent")
        self.assertTrue(out.startswith(shout), (shout, out[:40]))


class Page(Opened):
    def test_controls(self):
        self.open()
        settings = []
        for selector, value, new in (
                ("#k-speed", "13 mph", ["wind.surface.speed=13 mph"]),
                ("#k-from", "W", ["wind.surface.direction=W"]),
                ("#k-gust", "21 mph", ["wind.surface.gust=21 mph"]),
                ("#k-main", "850 ft", ["altimeters[0].main_height=850 ft",
                                       "altimeters[1].main_height=750 ft"]),
                ("#k-apogee", "4000 ft +/- 100 ft", ["apogee.height=4000 ft +/- 100 ft"])):
            settings += new
            self.put(selector, value)
            with self.subTest(selector):
                self.same_as_brief(*settings)
        before = self.number()
        self.browser.js("document.getElementById('k-key').value = 'limits.keep_out';"
                        "document.getElementById('k-value').value = '0.5'")
        self.browser.click("#go")
        self.browser.until(SETTLED % (before + 1))
        self.same_as_brief(*settings, "limits.keep_out=0.5")
        self.assertTrue("First look after" in self.browser.js(
            "document.getElementById('trip').textContent"))

    def test_thirty_changes_end_on_the_last(self):
        self.open()
        before = self.number()
        self.browser.js("""(function () {
            var range = document.querySelector('[data-for=k-speed]'), n = 0;
            return new Promise(function (good) {
                (function step() {
                    range.value = 1 + n % 15;
                    range.dispatchEvent(new Event('input', {bubbles: true}));
                    if (++n < 30) { setTimeout(step, 100); } else { good(); }
                })();
            });
        })()""")  # the length of time is what is tried
        self.browser.until("document.getElementById('changes').textContent.indexOf("
                           "'wind.surface.speed=15 mph') > 0 && " + SETTLED % (before + 1))
        changes = self.browser.js("[].map.call(document.querySelectorAll('#changes span'), "
                                  "function (e) { return e.textContent; })")
        self.assertTrue("wind.surface.speed=15 mph" in changes, changes)
        self.same_as_brief(*changes)

    def test_keyboard(self):
        """From the top by Tab to each control, a slider by its arrows, a form by Enter."""
        self.open()
        seen = []
        for _ in range(40):
            self.browser.key("Tab")
            seen.append(self.browser.js("(function (e) { return e.id || e.getAttribute('data-for') "
                                        "|| e.textContent; })(document.activeElement)"))
        for name in ("k-speed", "k-from", "k-gust", "k-main", "k-key", "note", "go",
                     "Back to the plan", "Write the whole brief"):
            self.assertTrue(name in seen, (name, seen))
        before = self.number()
        self.browser.js("document.querySelector('[data-for=k-speed]').focus()")
        self.browser.key("ArrowRight")
        self.browser.until(SETTLED % (before + 1))
        self.same_as_brief("wind.surface.speed=9 mph")
        self.browser.js("document.getElementById('k-gust').focus();"
                        "document.getElementById('k-gust').value = '19 mph'")
        self.browser.key("Enter")
        self.browser.until("document.getElementById('changes').textContent.indexOf('19 mph') > 0")

    def test_plot_is_clicked(self):
        self.open()
        before = self.number()
        x, y = self.browser.js("""(function (svg, row) {
            var p = svg.createSVGPoint();
            svg.scrollIntoView({block: 'center'});
            p.x = parseFloat(row.getAttribute('data-mark').slice(1)) + 2;
            p.y = 100;
            p = p.matrixTransform(svg.getScreenCTM());
            return [p.x, p.y];
        })(document.querySelector('[data-part=trade] svg'),
           document.querySelectorAll('tr[data-mark]')[1])""")
        self.browser.click_at(x, y)
        self.browser.until(SETTLED % (before + 1))
        self.same_as_brief("altimeters[0].main_height=500 ft", "altimeters[1].main_height=400 ft")

    def test_notes(self):
        self.open()
        self.browser.js("document.getElementById('k-speed').value = '22 mph';"
                        "document.getElementById('k-gust').value = ''")
        before = self.number()
        self.browser.click("#note")
        self.browser.until(SETTLED % (before + 1))
        self.assertTrue("22 mph" in self.part("notes") and "0 min old" in self.part("notes"))
        self.assertTrue("NO-GO" in self.part("verdict"))
        self.browser.click("#notes button[formaction='/strike']")
        self.browser.until(SETTLED % (before + 2))
        self.same_as_brief()

    def test_refused(self):
        self.open()
        self.browser.js("document.getElementById('k-speed').value = '12';"
                        "document.getElementById('k-speed').dispatchEvent("
                        "new Event('change', {bubbles: true}))")
        self.browser.until("document.querySelector('#told .doubt')")
        self.assertTrue("wind.surface.speed" in self.part("told"), self.part("told"))
        # what was refused stays to be mended, and other knobs go on
        self.browser.js("document.getElementById('k-speed').value = '8 mph';"
                        "document.getElementById('k-key').value = 'rocket.mas';"
                        "document.getElementById('k-value').value = '19 lb';"
                        "document.getElementById('k-value').focus()")
        self.browser.key("Enter")
        self.browser.until("document.querySelector('#told').textContent.indexOf('nearest known key') > 0")
        self.assertTrue(self.browser.js("(function (r) { return r.top > 0 && r.bottom < innerHeight; })"
                                        "(document.querySelector('#told p').getBoundingClientRect())"))
        self.put("#k-main", "500 ft")
        self.assertEqual(self.browser.js("document.querySelectorAll('#told p').length"), 0)
        self.browser.js("document.getElementById('k-key').value += 's'")
        before = self.number()
        self.browser.click("#go")
        self.browser.until(SETTLED % (before + 1))
        self.assertTrue("rocket.mass=19 lb" in self.part("changes"), self.part("changes"))
        self.assertEqual(self.browser.js("document.getElementById('k-key').value + "
                                         "document.getElementById('k-value').value"), "")
        self.browser.console.clear()  # a refusal is told on the console too, by its status

    def test_a_desk_that_has_gone(self):
        """What it said last is no answer: told, and dimmed (as what is waited for is)."""
        self.open()
        self.assertEqual(self.browser.js("getComputedStyle(document.querySelector('.d-verdict')).opacity"), "1")
        self.assertEqual(self.browser.js("document.getElementById('trip').textContent"),
                         "Answered with all landings.")
        self.desk.end(signal.SIGKILL)
        self.browser.until("document.querySelector('#live.gone #trip.doubt')")
        for part in ("verdict", "answer", "zone"):
            self.assertEqual(self.browser.js(f"getComputedStyle(document.querySelector('.d-{part}')).opacity"), "0.45")
        self.browser.console.clear()  # that nobody answers

    def test_phone(self):
        """At 390 px nothing is wider than the screen, and every control is 44 px high (WCAG 2.2,
        2.5.5)."""
        self.open(390, 844, True)
        wide, low = self.browser.js("""[document.documentElement.scrollWidth,
            [].filter.call(document.querySelectorAll('.d-knobs input, .d-knobs button, .d-knobs select'),
                function (e) { var r = e.getBoundingClientRect();
                    return r.width > 0 && r.height < 43.5; }).length]""")
        self.assertEqual((wide, low), (390, 0))
        self.put("#k-speed", "14 mph")
        self.same_as_brief("wind.surface.speed=14 mph")
        self.browser.js("document.getElementById('k-value').scrollIntoView()")  # the answer stays in sight
        self.assertEqual(self.browser.js("document.querySelector('h1.verdict').getBoundingClientRect().top"), 0)
        if os.environ.get("PAPPUS_PICTURES"):
            self.browser.picture(os.path.join(os.environ["PAPPUS_PICTURES"], "phone.png"))

    def test_hostile_names(self):
        """What a plan says of itself is text on the page, nothing else."""
        self.desk.post("/change", any="title", value="</title><script>alert(1)</script><b>x")
        self.desk.settled()
        self.open()
        self.assertTrue("<script>alert(1)" in self.browser.js("document.title"))
        self.assertEqual(self.browser.js("document.querySelectorAll('script').length"), 1)

    def test_without_scripts(self):
        """A form, by hand: what is typed and sent leads to the page that answers it."""
        self.browser.scripts(False)
        self.addCleanup(self.browser.scripts, True)
        self.browser.screen(1440, 900)
        self.browser.load(lambda: self.browser.call("Page.navigate", url=self.desk.address))
        self.assertEqual(self.browser.js("[].filter.call(document.querySelectorAll('input[type=range]'),"
                                         "function (e) { return e.offsetWidth > 0; }).length"), 0)
        self.type("#k-speed", "14 mph")
        self.type("#k-main", "500 ft")
        self.browser.load(lambda: self.browser.click("#answer-now"))
        settings = ["wind.surface.speed=14 mph", "altimeters[0].main_height=500 ft",
                    "altimeters[1].main_height=400 ft"]
        self.same_as_brief(*settings)
        self.type("#k-key", "rocket.mass")
        self.type("#k-value", "21 lb")
        self.browser.load(lambda: self.browser.key("Enter"))
        self.same_as_brief(*settings, "rocket.mass=21 lb")
        self.type("#k-gust", "fast")
        self.browser.load(lambda: self.browser.key("Enter"))
        self.assertTrue("wind.surface.gust: found fast" in self.part("told"), self.part("told"))
        self.browser.load(lambda: self.browser.click("#changes button"))
        self.assertEqual(self.part("changes").count("Take back"), 3)
        self.browser.load(lambda: self.browser.click("#note"))
        self.assertTrue("14 mph" not in self.part("changes") and "0 min old" in self.part("notes"))

    def type(self, selector, text):
        """Three clicks choose what is there, keys put other words in its place."""
        self.browser.click(selector, times=3)
        self.browser.call("Input.insertText", text=text)


HOURS = SETTLED + (" && document.querySelector('[data-part=hours]:not(.stale) [data-hour]')")


class Hours(Opened):
    def plan_of_desk(self):
        plan, table = hourly_plan()
        self.write("hours.csv", table)
        return plan

    def until_hours(self, number):
        self.browser.until(HOURS % number)

    def test_hours_and_members(self):
        """Lists of the file's hours and members; each choice, and a click on a cell of the window,
        leads to what `brief --set` says, its hours too."""
        self.open()
        self.until_hours(1)
        self.assertEqual(self.choices("#k-hour"),  # a Saturday by date(1)
                         [[f"2027-04-17T{h}:00:00Z", f"Sat {h}:00Z", h == 19] for h in range(18, 22)])
        self.assertEqual(self.choices("#k-member"), [
            ["", "all 3", True], ["0", "0 alone", False], ["3", "3 alone", False],
            ["4", "4 alone", False]])
        self.browser.click("label[for=all-heights]")  # what is opened stays open
        self.put("#k-member", "4")
        self.until_hours(2)
        self.assertTrue(self.browser.js("document.getElementById('all-heights').checked"))
        self.assertEqual(self.browser.js(  # as the report has them, however they came
            "[].map.call(document.querySelectorAll('.desk-grid > [data-part]'), function (e) "
            "{ return e.dataset.part; })"), ["verdict", "answer", "zone", "trade", "ceiling", "wait",
                                             "hours", "limits", "messages"])
        self.same_as_brief("wind.member=4", parts=(*PARTS, "hours"))
        self.put("#k-hour", "2027-04-17T21:00:00Z")
        self.until_hours(3)
        self.same_as_brief("wind.member=4", "wind.time=2027-04-17T21:00:00Z", parts=(*PARTS, "hours"))
        self.browser.click("[data-hour='2027-04-17T20:00:00Z'] [data-main='500 ft'] rect")
        self.until_hours(4)
        settings = ["wind.time=2027-04-17T20:00:00Z", "altimeters[0].main_height=500 ft",
                    "altimeters[1].main_height=400 ft"]
        self.same_as_brief("wind.member=4", *settings, parts=(*PARTS, "hours"))
        self.assertEqual([value for value, _, chosen in self.choices("#k-hour") + self.choices("#k-member")
                          if chosen], ["2027-04-17T20:00:00Z", "4"])
        self.put("#k-member", "")
        self.same_as_brief(*settings)


if __name__ == "__main__":
    main()
