# SPDX-License-Identifier: GPL-3.0-or-later
"""One allocation fails, of the program or of a library, at places spread over the whole run:
the answer is the right one, or there is a line and status 5; never a signal, a wrong answer, a
false warning or a result half made. (Each allocation of single parts: the *_memory programs.)"""
import os
import subprocess

from helpers import PAPPUS, SOURCE, Case, main, quick_plan

TRIED = int(os.environ.get("PAPPUS_MEMORY_TRIES", "25"))  # places; all of them: a large number


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

    def fail_everywhere(self, command, folder=None):
        before, _ = self.count(["--version"])  # what loads before main, and is not ours
        total, (status, out, err) = self.count(command)
        self.assertGreater(total, before)
        told = answered = 0
        for k in range(TRIED):
            at = before + 1 + (total - before) * (2 * k + 1) // (2 * TRIED)
            with self.subTest(at=at, of=total):
                if folder:
                    subprocess.run(["rm", "-rf", folder], check=True)
                got = self.run_with(command, PAPPUS_FAIL_AT=str(at))
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

    def test_size(self):
        self.fail_everywhere(["size", self.plan])

    def test_brief(self):
        folder = self.path("day")
        self.fail_everywhere(["brief", self.plan, "-n", "500", "-o", folder], folder)


if __name__ == "__main__":
    main()
