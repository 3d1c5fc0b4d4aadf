# SPDX-License-Identifier: GPL-3.0-or-later
"""The desk in a browser: every control leads to the answer that `pappus brief --set` gives, thirty
quick changes end on the last one, keyboard and a phone's screen do, and the page says nothing on
its console. What is waited for is the page's own state. And the guard of the house: the page's
words are those of the report, whose guard (tests/output/test_guard.py) holds them against the
terminal and summary.json."""
import json
import os
import re

from desks import Case
from devtools import Browser
from helpers import main, read_text, run

SETTLED = ("(function (l) { return l.dataset.refined === 'yes' && l.dataset.number === "
           "l.dataset.answered && +l.dataset.number >= %d; })(document.getElementById('live'))")
PARTS = ("verdict", "answer", "zone", "limits", "trade", "ceiling", "wait")


def plain(text):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text)).strip()


class Page(Case):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.browser = Browser()
        cls.addClassCleanup(cls.browser.close)

    def setUp(self):
        super().setUp()
        self.browser.console.clear()
        self.desk = self.begin()
        self.addCleanup(self.quiet)

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

    def same_as_brief(self, *settings):
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
        for name in PARTS:
            words = self.browser.js(
                f"(function (e) {{ e = e.cloneNode(true); [].forEach.call(e.querySelectorAll("
                f"'style'), function (s) {{ s.remove(); }}); return e.textContent.replace(/\\s+/g, "
                f"' ').trim(); }})(document.querySelector('[data-part={name}]'))")
            pieces = [words] if name != "wait" else words.split(" Where the crews wait")
            for piece in pieces:
                self.assertTrue(piece and piece.strip() in report, (name, settings, piece[:300]))
        shout = self.browser.js("document.querySelector('h1.verdict span').textContent")
        self.assertTrue(out.startswith(shout), (shout, out[:40]))

    def test_controls(self):
        self.open()
        self.same_as_brief()
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
        self.browser.console.clear()  # a refusal is told on the console too, by its status

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
        if os.environ.get("PAPPUS_PICTURES"):
            self.browser.picture(os.path.join(os.environ["PAPPUS_PICTURES"], "phone.png"))

    def test_hostile_names(self):
        """What a plan says of itself is text on the page, nothing else."""
        self.desk.post("/change", any="title", value="</title><script>alert(1)</script><b>x")
        self.desk.settled()
        self.open()
        self.assertTrue("<script>alert(1)" in self.browser.js("document.title"))
        self.assertEqual(self.browser.js("document.querySelectorAll('script').length"), 1)


if __name__ == "__main__":
    main()
