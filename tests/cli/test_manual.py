# SPDX-License-Identifier: GPL-3.0-or-later
"""Help, man page and completions say the same as the parser accepts."""
import json
import re
import shutil
import subprocess
import unittest

from helpers import Case, main, run


def long_options(text):
    return set(re.findall(r"--([a-z]+)", text.replace("\\-", "-")))


class Manual(Case):
    def test_every_option_in_help_man_and_completions(self):
        options = long_options(run("--help")[1])
        self.assertGreater(len(options), 12)
        for part in ("man", "bash", "zsh"):
            status, text, err = run("manual", part)
            self.assertEqual(status, 0, err)
            self.assertLessEqual(options, long_options(text), part)

    def test_every_command_has_help_with_an_example(self):
        commands = re.findall(r"^  ([a-z]+) +[A-Z]", run("--help")[1], re.M)
        self.assertLessEqual({"brief", "scatter", "check", "new"}, set(commands))
        for command in commands:
            status, text, _ = run(command, "--help")
            self.assertEqual(status, 0)
            self.assertIn(f"Example: pappus {command}", text)

    def test_options_of_each_command(self):
        """A command takes the options of its help and refuses the others."""
        values = {"units": "si", "crs": "utm", "landings": "200", "seed": "1", "threads": "1",
                  "set": "run.seed=2", "sounding": "2010-06-01T00Z", "output": "x.csv",
                  "age": "12", "shard": "1/2", "reading": "none", "months": "4-9", "hours": "9-18",
                  "at": "41.76,-98.44", "member": "2", "port": "8123", "listen": "127.0.0.1", "from": "2027-04-17T06Z", "to": "2027-04-17T09Z", "step": "1 h",
                  "time": "2027-04-17T15Z"}
        outputs = {"size": "x.html", "skill": "x.json", "debrief": "x.json"}
        whole = run("--help")[1]
        commands = re.findall(r"^  ([a-z]+) +[A-Z]", whole, re.M)
        for command in commands:
            own = long_options(run(command, "--help")[1])
            for option in long_options(whole) - {"help", "version"}:
                files = ["/absent/absent"] * (2 if command == "debrief" else 1)
                arguments = [command, *files, "--" + option]
                if command in outputs and option == "output":
                    arguments.append(outputs[command])
                elif re.search(rf"--{option} ([A-Z=,/]+|us\|si|wgs84\|utm|lowest\|none) ", whole):
                    arguments.append(values.get(option, "x"))
                status, out, err = run(*arguments, cwd=self.folder)
                with self.subTest(f"{command} --{option}"):
                    wrong = 5 if command == "new" else 1  # it writes, the others read
                    self.assertEqual(status, wrong if option in own else 2, err)
                    self.assertTrue(err or out)
            self.assertLessEqual({"help", "version"}, own)

    def test_wind_table(self):
        """The table of the manual is one, and the one to fill in becomes one."""
        text = run("manual", "wind")[1]
        self.assertIn(text.split("\npappus new")[0], run("wind", "--help")[1])
        table = re.search(r"^$\n((?:  .*\n)+)", text, re.M).group(1)
        self.write("table.csv", table)
        status, out, err = run("wind", self.path("table.csv"), "--json")
        self.assertEqual((status, err), (0, ""))
        self.assertEqual(len(json.loads(out)["profiles"][0]["levels"]), 3)
        path = self.path("new.csv")
        self.assertEqual(run("new", "--wind", path)[0], 0)
        self.assertEqual(run("new", "--wind", path)[0], 1)  # never written over
        status, _, err = run("wind", path)
        self.assertEqual(status, 1)
        self.assertIn("no row under it", err)
        with open(path, "a", encoding="utf-8") as file:
            file.write("30,240,7\n")
        self.assertEqual(run("wind", path)[0], 0)

    def test_unknown_command_names_those_there_are(self):
        status, _, err = run("breif", "plan.json")
        self.assertEqual(status, 2)
        self.assertIn("brief", err)
        self.assertEqual(len(err.splitlines()), 1)

    def completed(self, *words):
        """What bash offers for the last word."""
        asked = ('source ./completion; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _pappus; '
                 'printf "%s\\n" "${COMPREPLY[@]}"')
        done = subprocess.run(["bash", "-c", asked, "bash", "pappus", *words], text=True,
                              cwd=self.folder, capture_output=True, check=True)
        return done.stdout.split()

    def test_bash_completes(self):
        self.write("completion", run("manual", "bash")[1])
        self.write("plan.json", "{}")
        self.assertEqual(self.completed("br"), ["brief"])
        self.assertEqual(self.completed("brief", "--units", ""), ["us", "si"])
        self.assertEqual(self.completed("brief", "pla"), ["plan.json"])
        self.assertEqual(self.completed("brief", "--seed", ""), [])
        for command in ("brief", "wind", "new"):
            offered = {word[2:] for word in self.completed(command, "--")}
            self.assertEqual(offered, long_options(run(command, "--help")[1]), command)
        parts = self.completed("manual", "")
        self.assertGreaterEqual(len(parts), 5)
        for part in parts:
            self.assertEqual(run("manual", part)[0], 0, part)

    @unittest.skipUnless(shutil.which("zsh"), "no zsh here")
    def test_zsh_reads_its_completion(self):
        text = run("manual", "zsh")[1]
        subprocess.run(["zsh", "-n"], input=text, text=True, check=True)
        loads = "autoload -Uz compinit; compinit -u -D; source <(cat); print $_comps[pappus]"
        done = subprocess.run(["zsh", "-fc", loads], input=text, text=True, capture_output=True,
                              check=True)
        self.assertEqual(done.stdout.strip(), "_pappus")

    def test_version(self):
        status, out, _ = run("--version")
        self.assertEqual(status, 0)
        first, kernels, libraries = out.splitlines()
        self.assertRegex(first, r"^pappus \d+\.\d+\.\d+$")
        self.assertRegex(kernels, r"^kernels for (generic|avx2|avx512)$")
        gsl = subprocess.run(["gsl-config", "--version"], capture_output=True, text=True, check=True)
        self.assertIn(f"GSL {gsl.stdout.strip()}, PROJ ", libraries)


if __name__ == "__main__":
    main()
