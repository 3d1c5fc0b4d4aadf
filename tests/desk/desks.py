# SPDX-License-Identifier: GPL-3.0-or-later
"""A desk that runs for a test, and what is asked of it. Run as `python3 test_X.py PAPPUS
SOURCE_DIR`."""
import http.client
import json
import os
import re
import signal
import subprocess
import sys
import urllib.parse

SOURCE = os.path.abspath(sys.argv[2])
sys.path.insert(0, os.path.join(SOURCE, "tests", "cli"))
import helpers

FORM = "application/x-www-form-urlencoded"
PATIENCE_S = 120
# How a test ends its desk at last: in tests/coverage.sh so that it puts its counts down.
LAST = signal.SIGINT if os.environ.get("PAPPUS_COUNTED") else signal.SIGKILL


class Desk:
    """`pappus desk` on a plan, until it is interrupted."""

    def __init__(self, plan, *arguments, env=None):
        self.process = subprocess.Popen([helpers.PAPPUS, "desk", plan, *arguments], env=env,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().rstrip("\n")
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/\?key=([0-9a-f]{32})", self.address)
        if not found:
            raise AssertionError((self.address, self.process.communicate()))
        self.port, self.key = int(found[1]), found[2]
        self.origin = f"http://127.0.0.1:{self.port}"

    def end(self, how=signal.SIGINT):
        """(exit status, what else it said)"""
        if self.process.poll() is None:
            self.process.send_signal(how)
        out, err = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, out + err

    def ask(self, method, path, body=None, headers=None, port=None):
        """(status, text, headers) of any request."""
        line = http.client.HTTPConnection("127.0.0.1", port or self.port, timeout=PATIENCE_S)
        try:
            line.request(method, path, body=body, headers=headers or {})
            answer = line.getresponse()
            return answer.status, answer.read().decode(), answer.headers
        finally:
            line.close()

    def get(self, path, **values):
        """The text of a page, which has to be there."""
        query = urllib.parse.urlencode({"key": self.key, **values}, doseq=True)
        status, text, _ = self.ask("GET", f"{path}?{query}")
        if status not in (200, 204):
            raise AssertionError((path, status, text))
        return text

    def post(self, path, **values):
        """(status, text) of a form."""
        status, text, _ = self.ask("POST", path,
                                   urllib.parse.urlencode({"key": self.key, **values}),
                                   {"Origin": self.origin, "Content-Type": FORM})
        return status, text

    def settled(self):
        """The part of the page that answers the last change with all landings."""
        self.get("/", wait=1)
        text = self.get("/part", after=0)
        told = re.search(r'data-number="(\d+)" data-answered="(\d+)" data-refined="(\w+)"', text)
        if told[1] != told[2] or told[3] != "yes":
            raise AssertionError(told[0])
        return text

    def answer(self, *settings):
        return json.loads(self.get("/answer.json", set=list(settings)))


class Case(helpers.Case):
    """Each test has a plan of its own in a folder of its own."""

    def begin(self, plan=None, *arguments, env=None):
        content = plan or quick_plan()
        self.plan = self.write("plan.json", content) if isinstance(content, dict) else content
        desk = Desk(self.plan, "--quiet", *arguments, env=env)
        self.addCleanup(desk.end, LAST)
        return desk

    def assertIn(self, part, whole, message=None):  # pages are long
        self.assertTrue(part in whole, message or f"{part!r} is not there")

    def brief(self, *settings):
        arguments = [word for setting in settings for word in ("--set", setting)]
        status, out, err = helpers.run("brief", self.plan, "--json", *arguments)
        self.assertIn(status, helpers.ANSWERED, err)
        return out


def quick_plan():
    plan = helpers.quick_plan()
    plan["run"] = {"landings": 500}
    return plan
