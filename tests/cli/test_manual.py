# SPDX-License-Identifier: GPL-3.0-or-later
"""Help, man page and completions say the same as the parser accepts."""
import re
import subprocess

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

    def test_every_listed_option_is_accepted(self):
        values = {"units": "si", "crs": "utm", "landings": "200", "seed": "1", "threads": "1",
                  "set": "a=b", "sounding": "2010-06-01T00Z"}
        for option in long_options(run("--help")[1]) - {"help", "version"}:
            takes_value = re.search(rf"--{option} [A-Z|a-z]+", run("--help")[1])
            arguments = ["check", "/absent.json", "--" + option]
            if re.search(rf"--{option} ([A-Z=]+|us\|si|wgs84\|utm) ", run("--help")[1]):
                arguments.append(values.get(option, "x"))
            status, _, err = run(*arguments)
            self.assertEqual(status, 1, f"{option}: {err} {takes_value}")

    def test_completions_are_valid_shell(self):
        text = run("manual", "bash")[1]
        subprocess.run(["bash", "-n"], input=text, text=True, check=True)

    def test_version(self):
        status, out, _ = run("--version")
        self.assertEqual(status, 0)
        self.assertRegex(out, r"^pappus \d+\.\d+\.\d+$")


if __name__ == "__main__":
    main()
