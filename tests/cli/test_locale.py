# SPDX-License-Identifier: GPL-3.0-or-later
"""A locale with a decimal comma changes no byte of any output."""
import os
import subprocess

from helpers import SOURCE, Case, demo_plan, main, run, tree

GERMAN = "de_DE.UTF-8"


class Locale(Case):
    def setUp(self):
        super().setUp()
        os.mkdir(self.path("locales"))
        # ends with 1 for a mere warning, so its status says nothing
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", self.path("locales/" + GERMAN)],
                       capture_output=True)
        self.german = {"LC_ALL": GERMAN, "LANG": GERMAN, "LOCPATH": self.path("locales")}
        shown = subprocess.run(["locale", "decimal_point"], capture_output=True, text=True,
                               env=dict(os.environ, **self.german)).stdout.strip()
        if shown != ",":
            self.skipTest("no de_DE locale here")

    def both(self, *arguments):
        plain = run(*arguments, env={"LC_ALL": "C"})
        german = run(*arguments, env=self.german)
        self.assertEqual(german, plain)
        self.assertIn(plain[0], (0, 1, 3, 4), plain[2])
        return plain

    def test_answers(self):
        plan = self.write("plan.json", demo_plan())
        wind = os.path.join(SOURCE, "wind/noon.csv")
        for arguments in (["check", plan], ["size", plan], ["size", plan, "--json"],
                          ["crews", plan, "-n", "2000"], ["scatter", plan, "-n", "2000", "--json"],
                          ["wind", wind], ["wind", wind, "--json"], ["wind", plan, "--units", "si"],
                          ["check", self.write("bad.json", demo_plan() | {"title": 1.5})]):
            with self.subTest(arguments):
                self.both(*arguments)

    def test_files(self):
        plan = self.write("plan.json", demo_plan())
        for folder, environment in (("plain", {"LC_ALL": "C"}), ("german", self.german)):
            status, _, err = run("scatter", plan, "-n", "2000", "-o", self.path(folder),
                                 env=environment)
            self.assertEqual(status, 0, err)
            for ending in ("csv", "svg"):
                status, _, err = run("wind", plan, "-o", self.path(f"{folder}.{ending}"),
                                     env=environment)
                self.assertEqual(status, 0, err)
        self.assertEqual(tree(self.path("german")), tree(self.path("plain")))
        files = tree(self.folder)
        for ending in ("csv", "svg"):
            self.assertEqual(files["german." + ending], files["plain." + ending])


if __name__ == "__main__":
    main()
