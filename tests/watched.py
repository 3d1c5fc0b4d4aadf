# SPDX-License-Identifier: GPL-3.0-or-later
"""Small runs of most commands with something that watches: valgrind's memcheck, or a program
built for ThreadSanitizer. Not in the suite: memcheck takes half an hour.

    python3 tests/watched.py memcheck build/release/pappus
    cmake -S . -B build/threads -DCMAKE_C_COMPILER=clang -DPAPPUS_TESTS=OFF -DCMAKE_C_FLAGS="-fsanitize=thread -g"
    cmake --build build/threads -j --target pappus
    python3 tests/watched.py threads build/threads/pappus [COMMAND...]

memcheck: no error, and no memory that nothing points to at the end; what the libraries keep is
in tests/valgrind.supp. threads: Clang, because GCC's libgomp synchronises unseen by the
sanitizer; LLVM's runtime tells it by its tool Archer (libarcher, of libomp-dev)."""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

WAY, PROGRAM, CHOSEN = sys.argv[1], pathlib.Path(sys.argv[2]).resolve(), sys.argv[3:]
SOURCE = pathlib.Path(__file__).resolve().parent.parent
GO, NO_GO = SOURCE / "examples/go_day.json", SOURCE / "examples/no_go_day.json"
FINE = (0, 3, 4)  # go, no-go, undecided
FOUND = 99


def inputs(folder):
    """Invented: some days of wind, and a flight that came down."""
    days = [f"2027-06-{day:02}T{hour:02}Z" for day in range(1, 26) for hour in (0, 12)]
    rows = [f"{t},{z},{3 + i * 7 % 5 + z / 900},{1 + i * 3 % 4 - z / 2000}" for i, t in enumerate(days)
            for z in (10, 100, 500, 1000, 2000, 4000)]
    (folder / "days.csv").write_text("\n".join(["time,height_agl_m,u_mps,v_mps", *rows]) + "\n")
    log = [(0.1 * i, 1560 * (1 - (i / 170 - 1) ** 2)) for i in range(170)]
    log += [(17 + t, 1560 - 19.5 * t) for t in range(0, 69)]
    log += [(86 + t, max(0, 214 - 6.1 * t)) for t in range(0, 60)]
    (folder / "log.csv").write_text("time_s,height_m\n" + "".join(f"{t:.2f},{h:.2f}\n" for t, h in log))
    (folder / "flight.json").write_text(json.dumps({
        "time": "2027-04-17T15:10Z", "log": "log.csv", "mass": "18.2 lb",
        "landing": {"latitude": "41.765 deg", "longitude": "-98.437 deg"},
        "surface": {"speed": "8 mph", "direction": "230 deg"}}))


def runs(few, folder):
    """Name: arguments. The fewest rows of heights that are still a trade."""
    less = ("-n", few, "--quiet", "--set", "heights.from=600 ft", "--set", "heights.to=800 ft")
    hours = ("--set", f"wind.profiles[0]={folder}/days.csv", "--set", "wind.time=2027-06-12T14:00Z")
    return {
        "check": ("check", GO),
        "brief": ("brief", GO, *less, "-o", "day"),
        "no-go": ("brief", NO_GO, *less, "-o", "other"),
        "shapefile": ("check", GO, "--set", f"field.boundary={folder}/day/layers/boundary.shp"),
        "kml": ("check", GO, "--set", f"field.boundary={folder}/day/zone.kml"),
        "ceiling": ("ceiling", GO, *less),
        "crews": ("crews", GO, *less),
        "size": ("size", GO, "-o", "card.html"),
        "wind": ("wind", SOURCE / "wind/evening.csv", "-o", "wind.svg"),
        "window": ("window", GO, *less, *hours, "--from", "2027-06-12T12Z", "--to", "2027-06-12T14Z",
                   "--step", "1 h"),
        "debrief": ("debrief", GO, "flight.json", "-n", few, "--quiet", "-o", "flown.html"),
        "skill": ("skill", "days.csv", "-o", "skill.html"),
        "season": ("season", GO, "days.csv", "-n", few, "--quiet", "-o", "season"),
        "manual": ("manual", "man"),
    }


def memcheck(command, folder, log):
    watched = ["valgrind", "--error-exitcode=%d" % FOUND, "--leak-check=full",
               "--show-leak-kinds=definite", "--errors-for-leak-kinds=definite", "--num-callers=30",
               f"--suppressions={SOURCE}/tests/valgrind.supp", f"--log-file={log}.%p", *command]
    done = subprocess.run(watched, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                          text=True, env={**os.environ, "OMP_NUM_THREADS": "2"})
    said = "".join(path.read_text() for path in sorted(folder.glob(log.name + ".*")))
    counts = [int(n.replace(",", "")) for n in re.findall(r"ERROR SUMMARY: ([\d,]+) errors", said)]
    return done, said, sum(counts), f"{len(counts)} processes"


def threads(command, folder, log):
    archer = [p for p in pathlib.Path("/usr/lib").glob("llvm-*/lib/libarcher.so")]
    assert archer, "libarcher.so is not there (libomp-dev)"
    done = subprocess.run([*command, "--threads", "4"] if "-n" in command else command, cwd=folder,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          env={**os.environ, "OMP_TOOL_LIBRARIES": str(archer[-1]), "OMP_NUM_THREADS": "4",
                               "ARCHER_OPTIONS": "verbose=1",
                               "TSAN_OPTIONS": f"ignore_noninstrumented_modules=1 exitcode={FOUND}"})
    assert "Archer detected" in done.stdout, done.stdout
    return done, done.stdout, done.stdout.count("WARNING: ThreadSanitizer"), "with Archer"


def main():
    failed = False
    way, few = {"memcheck": (memcheck, "200"), "threads": (threads, "2000")}[WAY]
    with tempfile.TemporaryDirectory(prefix="pappus-watched-") as name:
        folder = pathlib.Path(name)
        inputs(folder)
        for name, arguments in runs(few, folder).items():
            if CHOSEN and name not in CHOSEN:
                continue
            done, said, found, how = way([str(PROGRAM), *map(str, arguments)], folder, folder / name)
            good = found == 0 and done.returncode in FINE
            failed |= not good
            print(f"{name:10} status {done.returncode}, {found} found, {how}", flush=True)
            if not good:
                print(done.stdout[-2000:], said[-20000:], sep="\n", flush=True)
    sys.exit(failed)


main()
