# SPDX-License-Identifier: GPL-3.0-or-later
"""The fuzz targets over a small corpus and random changes of it, from a fixed seed: nothing
crashes, hangs, leaks or is refused without a word. (Fuzzing itself: DEVELOPERS.md.)"""
import os
import pathlib
import subprocess
import sys
import tempfile

PROGRAM, SOURCE = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
SEEDS = SOURCE / "tests/fuzz/seeds"
sys.path.insert(0, str(SOURCE / "tests/input"))
import grib_files  # noqa: E402  (ecCodes' tools make the GRIB seeds)


def shapefile(folder):
    """A boundary as .shp and .shx in one file, as fuzz_outline cuts it."""
    subprocess.run([PROGRAM, "scatter", SOURCE / "examples/go_day.json", "-n", "2000", "-o",
                    folder / "day"], check=True, stdout=subprocess.DEVNULL)
    parts = [(folder / f"day/layers/boundary.{end}").read_bytes() for end in ("shp", "shx")]
    longest = max(map(len, parts))  # it cuts in the middle
    path = folder / "boundary.both"
    path.write_bytes(b"".join(p.ljust(longest, b"\0") for p in parts))
    return path


def grib(folder):
    made = []
    for name, sample in (("one.grib", "regular_ll_pl_grib1.tmpl"), ("two.grib", "regular_ll_pl_grib2.tmpl")):
        made.append(grib_files.make(folder / name, sample, [({}, lambda la, lo: 10 + la)]))
    return made


def part(folder):
    """A part of a season of two invented days."""
    rows = "".join(f"2027-06-{day}T15:00Z,{z},{u},{u + 1}\n" for day in (12, 13)
                   for z, u in ((10, 3.1), (2500, 6.1)))
    (folder / "days.csv").write_text("time,height_agl_m,u_mps,v_mps\n" + rows)
    subprocess.run([PROGRAM, "season", SOURCE / "examples/go_day.json", folder / "days.csv", "-n",
                    "200", "--shard", "1/2", "--quiet", "-o", folder / "season"], check=True,
                   stdout=subprocess.DEVNULL)
    return sorted((folder / "season").glob("*.part"))


def corpora(folder):
    examples = sorted((SOURCE / "examples").glob("*.json"))
    fields = sorted((SOURCE / "examples").glob("*.geojson"))
    tables = sorted((SOURCE / "wind").glob("*.csv"))
    return {  # target: (changes of each seed, seeds)
        "plan": (150, [e for e in examples if "schema" not in e.name] + sorted(SEEDS.glob("*.plan"))),
        "wind_text": (250, tables + sorted(SEEDS.glob("*.wind"))),
        "outline": (250, fields + sorted(SEEDS.glob("*.field")) + [shapefile(folder)]),
        "grib": (250, grib(folder)),
        "desk": (400, sorted(SEEDS.glob("*.desk"))),
        "flight": (250, sorted(SEEDS.glob("*.flight"))),
        "part": (250, part(folder)),
    }


def main():
    failed = False
    with tempfile.TemporaryDirectory(prefix="pappus-test-") as folder:
        all_of_them = corpora(pathlib.Path(folder))
        for name, (changes, seeds) in all_of_them.items():
            assert seeds, f"no seeds of {name}"
            done = subprocess.run([PROGRAM.parent / f"replay_{name}", str(changes), *seeds],
                                  capture_output=True, text=True, timeout=300)
            print(f"{name}: {done.stdout.strip()}")
            if done.returncode != 0:
                failed = True
                print(f"status {done.returncode}\n{done.stderr[-3000:]}")
        kinds = {p.stem[5:] for p in (SOURCE / "tests/fuzz").glob("fuzz_*.c")}
        missing = kinds - set(all_of_them)
        if missing:
            failed = True
            print("targets without a corpus:", *missing)
    sys.exit(failed)


if __name__ == "__main__":
    main()
