# SPDX-License-Identifier: GPL-3.0-or-later
"""How long the desk takes on the demo plan, from a change sent to the first look and to the answer
with all landings, and whether its memory grows over 2000 changes. Prints JSON; asserts nothing.
Run as `python3 bench_desk.py PAPPUS SOURCE_DIR [CHANGES]`."""
import json
import os
import re
import shutil
import statistics
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.abspath(sys.argv[2]), "tests", "desk"))
from desks import Desk, SOURCE

TRIES = 15
CHANGES = int(sys.argv[3]) if len(sys.argv) > 3 else 2000


def state(text):
    return re.search(r'data-version="(\d+)" data-number="(\d+)" data-answered="(\d+)" '
                     r'data-refined="(\w+)"', text).groups()


def one(desk, value):
    """Seconds to the first look and to the whole answer."""
    version = state(desk.get("/part", after=0))[0]
    began, first = time.monotonic(), None
    number = desk.post("/change", **{"wind.surface.speed": value})[1].strip()
    while True:
        text = desk.get("/part", after=version)
        if not text:
            continue
        version, _, answered, refined = state(text)
        if answered == number:
            first = first or time.monotonic() - began
            if refined == "yes":
                return first, time.monotonic() - began


def memory_kb(desk):
    with open(f"/proc/{desk.process.pid}/status", encoding="ascii") as f:
        return int(re.search(r"VmRSS:\s+(\d+)", f.read())[1])


def settle(desk):
    """Until the last change is answered; the desk puts off who asks too often."""
    while desk.ask("GET", f"/?key={desk.key}&wait=1")[0] == 429:
        time.sleep(0.05)


def many(desk):
    """Resident memory (kB) at every tenth of the changes, which come as fast as they are taken."""
    seen = []
    for i in range(CHANGES):
        while desk.post("/change", **{"wind.surface.speed": f"{3 + i % 14} mph",
                                      "wind.surface.direction": f"{i % 360} deg"})[0] == 429:
            time.sleep(0.05)
        if i % (CHANGES // 10) == 0:
            settle(desk)
            seen.append(memory_kb(desk))
    settle(desk)
    return seen + [memory_kb(desk)]


def main():
    folder = tempfile.mkdtemp(prefix="pappus-bench-")
    for name in ("examples", "wind"):
        shutil.copytree(os.path.join(SOURCE, name), os.path.join(folder, name))
    desk = Desk(os.path.join(folder, "examples", "go_day.json"), "--quiet")
    try:
        desk.get("/", wait=1)
        times = [one(desk, f"{5 + i % 10} mph") for i in range(TRIES)]
        print(json.dumps({
            "first_look_s": {"median": statistics.median(t[0] for t in times),
                             "most": max(t[0] for t in times)},
            "all_landings_s": {"median": statistics.median(t[1] for t in times),
                               "most": max(t[1] for t in times)},
            "changes": CHANGES, "memory_kb": many(desk)}, indent=1))
    finally:
        desk.end()
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
