# SPDX-License-Identifier: GPL-3.0-or-later
"""The house: no file over 500 lines but tables and kernels, and no circle between rooms
(folders of src): what a room includes lies upstream of it."""
import pathlib
import re
import sys

SOURCE = pathlib.Path(sys.argv[2]) / "src"
LONGEST = 500
TABLES = {"plan_keys.c", "options.c"}  # and *_kernel.c


def lengths(files):
    for path in files:
        lines = path.read_text().count("\n")
        if lines > LONGEST and path.name not in TABLES and not path.stem.endswith("_kernel"):
            yield f"{path.relative_to(SOURCE)} has {lines} lines, {LONGEST} at most"


def rooms_used(files):
    """{room: rooms whose headers it includes}"""
    homes = {}
    for path in files:
        if path.suffix == ".h":
            homes.setdefault(path.name, []).append(path.parent)
    used = {}
    for path in files:
        for name in re.findall(r'^#include "([^"]+)"', path.read_text(), re.M):
            homes_of = homes.get(name, [])
            assert len(homes_of) == 1, f"{name}, included by {path.name}, is in {homes_of}"
            if homes_of[0] != path.parent:
                used.setdefault(path.parent, set()).add(homes_of[0])
    return used


def circles(used):
    done = set()

    def visit(room, way):
        if room in way:
            yield " -> ".join(str(r.relative_to(SOURCE)) for r in way[way.index(room):] + [room])
            return
        if room in done:
            return
        for other in sorted(used.get(room, ())):
            yield from visit(other, way + [room])
        done.add(room)

    for room in sorted(used):
        yield from visit(room, [])


def main():
    files = sorted(SOURCE.rglob("*.[ch]"))
    used = rooms_used(files)
    faults = [*lengths(files), *("a circle: " + c for c in circles(used))]
    print(f"{len(files)} files, {len(used)} rooms that use others")
    for fault in faults:
        print(fault)
    sys.exit(1 if faults or len(files) < 250 or len(used) < 15 else 0)


main()
