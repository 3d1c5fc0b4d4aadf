# SPDX-License-Identifier: GPL-3.0-or-later
"""What the command line tests share. Each test program is run as
`python3 test_X.py PAPPUS SOURCE_DIR`."""
import json
import os
import shutil
import subprocess
import sys
import tempfile
import unittest

PAPPUS, SOURCE = (os.path.abspath(a) for a in sys.argv[1:3])


def run(*arguments, cwd=None, env=None):
    """Runs pappus; returns (exit status, stdout, stderr)."""
    environment = dict(os.environ, **(env or {}))
    done = subprocess.run([PAPPUS, *arguments], cwd=cwd, env=environment, capture_output=True,
                          text=True, errors="surrogateescape")
    return done.returncode, done.stdout, done.stderr


def read_bytes(path):
    with open(path, "rb") as f:
        return f.read()


def read_text(path):
    return read_bytes(path).decode("utf-8")


def read_json(path):
    return json.loads(read_text(path))


def tree(folder):
    """Every file of a folder with its bytes; a link with where it leads."""
    files = {}
    for at, _, names in os.walk(folder):
        for name in names:
            path = os.path.join(at, name)
            key = os.path.relpath(path, folder)
            files[key] = os.readlink(path) if os.path.islink(path) else read_bytes(path)
    return files


def demo_plan(name="go_day.json"):
    """The demo plan as one self-standing dictionary with absolute paths."""
    examples = os.path.join(SOURCE, "examples")
    plan = read_json(os.path.join(examples, name))
    if "base" in plan:
        patch = plan
        plan = demo_plan(patch.pop("base"))
        merge(plan, patch)
    field = plan["field"]
    for key in ("boundary", "keep_out", "roads"):
        if isinstance(field.get(key), str):
            field[key] = os.path.join(examples, field[key])
    plan["wind"]["profiles"] = [os.path.normpath(os.path.join(examples, p))
                                for p in plan["wind"]["profiles"]]
    return plan


def merge(target, patch):
    for key, value in patch.items():
        if isinstance(value, dict) and isinstance(target.get(key), dict):
            merge(target[key], value)
        else:
            target[key] = value


def quick_plan(name="go_day.json"):
    """The demo plan with nothing that fails and few heights: a fraction of the work."""
    plan = demo_plan(name)
    plan["faults"] = {"drogue_fails": 0, "main_fails": 0, "main_early": 0}
    for altimeter in plan["altimeters"]:
        altimeter["works"] = 1
    plan["heights"] = {"from": "300 ft", "to": "900 ft", "step": "200 ft"}
    return plan


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="pappus-test-")
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, content):
        text = content if isinstance(content, (str, bytes)) else json.dumps(content)
        with open(self.path(name), "wb") as f:
            f.write(text.encode("utf-8") if isinstance(text, str) else text)
        return self.path(name)


ANSWERED = (0, 3, 4)  # go, no-go, undecided: the input was right


def main():
    unittest.main(argv=sys.argv[:1], verbosity=1)
