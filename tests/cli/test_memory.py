# SPDX-License-Identifier: GPL-3.0-or-later
"""One allocation fails, of the program or of a library, at places spread over the whole run:
the answer is the right one, or there is a line and status 5; never a signal, a wrong answer, a
false warning or a result half made. (Each allocation of single parts: the *_memory programs.)"""
import os
import subprocess

from helpers import PAPPUS, SOURCE, Case, demo_plan, main, quick_plan, read_bytes

TRIED = int(os.environ.get("PAPPUS_MEMORY_TRIES", "25"))  # places; all of them: a large number


def write_bytes(path, content):
    with open(path, "wb") as f:
        f.write(content)


class Memory(Case):
    def setUp(self):
        super().setUp()
        self.plan = self.write("plan.json", quick_plan())
        self.shim = self.path("failing_malloc.so")
        subprocess.run(["cc", "-O1", "-shared", "-fPIC", "-o", self.shim,
                        os.path.join(SOURCE, "tests/cli/failing_malloc.c")], check=True)

    def run_with(self, command, **settings):
        env = {**os.environ, "LD_PRELOAD": self.shim, "OMP_NUM_THREADS": "1", **settings}
        done = subprocess.run([PAPPUS, *command], env=env, capture_output=True, text=True)
        return done.returncode, done.stdout, done.stderr

    def count(self, command):
        to = self.path("count")
        answer = self.run_with(command, PAPPUS_COUNT_TO=to)
        with open(to) as text:
            return int(text.read()), answer

    def fail_everywhere(self, command, folder=None, file=None):
        """folder: what a brief makes; file: what is written, with the same bytes or not at all."""
        before, _ = self.count(["--version"])  # what loads before main, and is not ours
        total, (status, out, err) = self.count(command)
        self.assertGreater(total, before)
        right = read_bytes(file) if file else None
        told = answered = 0
        for k in range(TRIED):
            at = before + 1 + (total - before) * (2 * k + 1) // (2 * TRIED)
            with self.subTest(at=at, of=total):
                if folder:
                    subprocess.run(["rm", "-rf", folder], check=True)
                if file:
                    os.remove(file)
                got = self.run_with(command, PAPPUS_FAIL_AT=str(at))
                if file and (got[0] == 0 or os.path.exists(file)):
                    self.assertEqual(read_bytes(file), right, "half made")
                elif file:
                    write_bytes(file, right)
                whole = folder is None or os.path.exists(os.path.join(folder, "report.html"))
                if got[0] == 5:
                    self.assertIn("error:", got[2] + got[1])
                    self.assertFalse(folder and os.path.exists(folder), "half made")
                    told += 1
                else:  # a library did without
                    self.assertEqual(got[0], status, got[2])
                    self.assertEqual(got[1], out)
                    self.assertTrue(whole)
                    answered += 1
                left = [n for n in os.listdir(self.folder) if ".pappus-" in n]
                self.assertEqual(left, [])
        self.assertGreater(told, 0)
        print(f"{command[0]}: {total - before} allocations, {TRIED} failed: {told} told, "
              f"{answered} done without")

    def test_check(self):
        self.fail_everywhere(["check", self.plan])

    def debriefed(self, output):
        """A flight with log and place, and one with a place."""
        os.mkdir(self.path("flights"))
        tool = os.path.join(os.path.dirname(PAPPUS), "tool_flown")
        log = subprocess.run([tool, "mass=8.39", "rate=5"], capture_output=True, check=True).stdout
        write_bytes(self.path("flights/a.csv"), log)
        place = {"latitude": "41.7655 deg", "longitude": "98 26.1 W"}
        winds = demo_plan()["wind"]["profiles"]
        self.write("flights/a.json", {"time": "2027-04-17T15Z", "log": "a.csv", "landing": place,
                                      "profiles": winds, "set": {"wind.age": "3 h"}})
        self.write("flights/b.json", {"time": "2027-04-18T15Z", "landing": place, "profiles": winds,
                                      "surface": {"speed": "4 m/s", "direction": "230 deg"}})
        return ["debrief", self.plan, self.path("flights"), "-n", "500", "--json", "-o", output]

    def test_debrief_page(self):
        page = self.path("page.html")
        self.fail_everywhere(self.debriefed(page), file=page)

    def test_debrief_plan(self):
        plan = self.path("plan2.json")
        self.fail_everywhere(self.debriefed(plan), file=plan)

    def test_size(self):
        self.fail_everywhere(["size", self.plan])

    def test_brief(self):
        folder = self.path("day")
        self.fail_everywhere(["brief", self.plan, "-n", "500", "-o", folder], folder)


if __name__ == "__main__":
    main()
