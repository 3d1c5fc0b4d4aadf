# SPDX-License-Identifier: GPL-3.0-or-later
"""A seed gives the same bytes on every instruction set: what is printed and every file of both
demo days and of a windier one. Without the C library's functions for FMA (which sets of
processors lack) what is printed is the same too; of the numbers only those of led landings move
(chances of areas, the hazard's field): their walks part ways at a last bit, and what they estimate is
as two draws of one chance are: their intervals of 95 % overlap."""
import os
import re
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from helpers import ANSWERED, PAPPUS, SOURCE, Case, main, read_json, tree  # noqa: E402

NO_FMA = "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX512F,-AVX512VL"
PLANS = (("go_day",), ("no_go_day",),
         ("go_day", "--set", "apogee.height=12000 ft", "--set", "wind.surface.speed=14 mph",
          "--set", "run.seed=7"))


def differing(a, b, at=""):
    """Where two trees of JSON differ, by how much of the larger number."""
    if isinstance(a, dict) and isinstance(b, dict):
        for key in sorted(set(a) | set(b)):
            yield from differing(a.get(key), b.get(key), f"{at}.{key}")
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for i, (x, y) in enumerate(zip(a, b)):
            yield from differing(x, y, f"{at}[{i}]")
    elif a != b:
        numbers = all(isinstance(x, (int, float)) for x in (a, b))
        yield at, abs(a - b) / max(abs(a), abs(b)) if numbers else float("inf")


def estimates(a, b, at=""):
    """The pairs of estimates with an interval in two trees of one shape."""
    if isinstance(a, dict):
        if a.get("low") is not None and a.get("high") is not None:
            yield at, a, b
        for key in sorted(a):
            yield from estimates(a[key], b[key], f"{at}.{key}")
    elif isinstance(a, list):
        for i, (x, y) in enumerate(zip(a, b)):
            yield from estimates(x, y, f"{at}[{i}]")


class Sets(Case):
    def brief(self, name, plan, **environment):
        """What is printed, and the folder."""
        out = self.path(name)
        done = subprocess.run([PAPPUS, "brief", os.path.join(SOURCE, "examples", plan[0] + ".json"),
                               *plan[1:], "-n", "2000", "-o", out], capture_output=True, text=True,
                              env={**os.environ, **environment})
        self.assertIn(done.returncode, ANSWERED, done.stderr)
        return done.stdout, out

    def test_sets_and_the_c_library(self):
        for number, plan in enumerate(PLANS):
            said, best = self.brief(f"{number}best", plan)
            also, folder = self.brief(f"{number}generic", plan, PAPPUS_ISA="generic")
            self.assertEqual(also, said)
            self.assertEqual(tree(folder), tree(best))
            also, folder = self.brief(f"{number}less", plan, GLIBC_TUNABLES=NO_FMA)
            self.assertEqual(also, said)
            a, b = (read_json(os.path.join(f, "summary.json")) for f in (best, folder))
            for at, share in differing(a, b):
                if not re.search(r"\.(keep_out|risk|hazard|limits)\b", at):
                    self.assertLess(share, 1e-6, at)
            for at, x, y in estimates(a, b):
                self.assertLessEqual(max(x["low"], y["low"]), min(x["high"], y["high"]), at)


main()
