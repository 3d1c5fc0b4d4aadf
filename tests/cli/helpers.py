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


def run(*arguments, cwd=None, env=None, timeout=300):
    """Runs pappus; returns (exit status, stdout, stderr)."""
    environment = dict(os.environ, **(env or {}))
    done = subprocess.run([PAPPUS, *arguments], cwd=cwd, env=environment, timeout=timeout,
                          capture_output=True, text=True, errors="surrogateescape")
    return done.returncode, done.stdout, done.stderr


def demo_plan(name="go_day.json"):
    """The demo plan as one self-standing dictionary with absolute paths."""
    examples = os.path.join(SOURCE, "examples")
    plan = json.load(open(os.path.join(examples, name)))
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


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="pappus-test-")
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)

    def path(self, name):
        return os.path.join(self.folder, name)

    def write(self, name, content):
        mode = "wb" if isinstance(content, bytes) else "w"
        with open(self.path(name), mode) as f:
            f.write(content if isinstance(content, (str, bytes)) else json.dumps(content))
        return self.path(name)


def main():
    unittest.main(argv=sys.argv[:1], verbosity=1)
