# SPDX-License-Identifier: GPL-3.0-or-later
"""On a terminal: colour there and nowhere else, NO_COLOR (no-color.org) honoured, a
progress bar when work is long (here by PAPPUS_PROGRESS_AFTER), and no warning told
twice."""
import fcntl
import os
import pty
import re
import struct
import subprocess
import termios

from helpers import PAPPUS, Case, main, quick_plan, run

COLOUR = "\x1b["
FEW = ("-n", "2000")


def on_terminal(*arguments, no_color=None, stdout=True, width=None, kind="xterm",
                bar_after="1000000"):
    """What a terminal gets: all of stderr, and stdout unless it goes elsewhere."""
    master, slave = pty.openpty()
    environment = {key: value for key, value in os.environ.items()
                   if key not in ("NO_COLOR", "COLUMNS")}
    environment["TERM"] = kind
    environment["PAPPUS_PROGRESS_AFTER"] = bar_after
    if width:
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, width, 0, 0))
    if no_color is not None:
        environment["NO_COLOR"] = no_color
    process = subprocess.Popen([PAPPUS, *arguments], env=environment, stderr=slave,
                               stdout=slave if stdout else subprocess.DEVNULL)
    os.close(slave)
    seen = b""
    while True:
        try:
            part = os.read(master, 65536)
        except OSError:  # Linux says so when the last writer has gone
            break
        if not part:
            break
        seen += part
    os.close(master)
    process.wait()
    return seen.decode()


class Terminal(Case):
    def setUp(self):
        super().setUp()
        self.plan = self.write("plan.json", quick_plan())

    def test_colour(self):
        self.assertIn(COLOUR, on_terminal("brief", self.plan, *FEW))
        self.assertIn(COLOUR, on_terminal("brief", self.plan, *FEW, no_color=""))
        self.assertNotIn(COLOUR, on_terminal("brief", self.plan, *FEW, no_color="1"))
        self.assertNotIn(COLOUR, run("brief", self.plan, *FEW)[1])

    def test_dumb_terminal(self):
        self.assertNotIn("\x1b", on_terminal("brief", self.plan, *FEW, kind="dumb"))

    def test_width_of_the_terminal(self):
        """As wide as the terminal, or as COLUMNS says; no word is broken."""
        for command in ("brief", "heights", "crews", "size"):
            few = () if command == "size" else FEW
            words = None
            for width in (60, 80) if command in ("brief", "size") else (60,):
                seen = on_terminal(command, self.plan, *few, "--quiet", no_color="1", width=width)
                lines = seen.replace("\r\n", "\n").split("\n")
                self.assertLessEqual(max(map(len, lines)), width, command)
                self.assertGreater(max(map(len, lines)), width - 15, command)
                if command == "size":
                    told = run(command, self.plan, "--quiet", env={"COLUMNS": str(width)})[1]
                    self.assertEqual(told, seen.replace("\r\n", "\n"))
                if command == "brief":
                    self.assertIn(words, (None, seen.split()))
                    words = seen.split()

    def test_bar_on_one_line(self):
        for width in (30, 60):
            seen = on_terminal("scatter", self.plan, *FEW, stdout=False, width=width, bar_after="0")
            bars = [part for part in seen.split("\r") if "%" in part]
            self.assertTrue(bars)
            self.assertLess(max(map(len, bars)), width)

    def test_progress(self):
        few = ("brief", self.plan, *FEW)
        seen = on_terminal(*few, stdout=False, bar_after="0")
        shown = [int(percent) for percent in re.findall(r"\[[# ]+\] +(\d+) %", seen)]
        self.assertTrue(shown)
        self.assertTrue(all(0 <= percent <= 100 for percent in shown))
        self.assertTrue(seen.endswith("\r"), "the bar is not wiped away")
        self.assertNotRegex(on_terminal(*few, stdout=False), r"\[[# ]+\]")
        self.assertNotRegex(on_terminal(*few, "--quiet", stdout=False, bar_after="0"),
                            r"\[[# ]+\]")

    def test_a_warning_is_told_once(self):
        low = ("--set", "altimeters[1].main_height=250 ft", *FEW)
        for command in ("brief", "scatter", "heights"):
            seen = " ".join(on_terminal(command, self.plan, *low).split())
            self.assertEqual(seen.count("altimeters[1].main_height: found 250 ft"), 1, seen)
        for command in ("brief", "scatter"):
            self.assertIn("pappus: warning: ", on_terminal(command, self.plan, *low, stdout=False))
            self.assertIn("pappus: warning: ", run(command, self.plan, *low)[2])


if __name__ == "__main__":
    main()
