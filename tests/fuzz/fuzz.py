# SPDX-License-Identifier: GPL-3.0-or-later
"""Fuzzes every target for a while and says how many inputs each had.

    cmake -S . -B build/fuzz -DCMAKE_C_COMPILER=clang -DPAPPUS_FUZZ=ON -DPAPPUS_SANITIZE=ON
    cmake --build build/fuzz -j
    python3 tests/fuzz/fuzz.py build/fuzz SECONDS [TARGET...]

What is found grows in BUILD/corpus/TARGET and is used again; what fails stands in
BUILD/found-TARGET-* and makes the exit status 1. A crash, a leak, an input of more than ten
seconds or 2 GB is a failure."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

BUILD, SECONDS, CHOSEN = pathlib.Path(sys.argv[1]).resolve(), sys.argv[2], sys.argv[3:]
SOURCE = pathlib.Path(__file__).resolve().parent.parent.parent
sys.argv[1:] = [str(BUILD / "pappus"), str(SOURCE)]
sys.path.insert(0, str(SOURCE / "tests/fuzz"))
import test_replay  # noqa: E402

# Memory that dependencies keep for life.
SETTINGS = {"LSAN_OPTIONS": f"suppressions={SOURCE}/tests/lsan.txt:print_suppressions=0",
            "OMP_NUM_THREADS": "1"}


def fuzz(name, seeds, byte_first):
    corpus = BUILD / "corpus" / name
    corpus.mkdir(parents=True, exist_ok=True)
    for seed in seeds:
        for first in (b"", b"\0", b"\1") if byte_first else (b"",):
            (corpus / f"{seed.name}{len(first)}{first.hex()}").write_bytes(first + seed.read_bytes())
    done = subprocess.run([BUILD / f"fuzz_{name}", f"-max_total_time={SECONDS}", "-timeout=10",
                           "-rss_limit_mb=2048", "-max_len=65536", "-print_final_stats=1",
                           f"-artifact_prefix={BUILD}/found-{name}-", corpus],
                          env={**os.environ, **SETTINGS}, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, errors="replace")
    (BUILD / f"fuzz_{name}.log").write_text(done.stdout)
    inputs = re.search(r"number_of_executed_units: (\d+)", done.stdout)
    covered = re.findall(r" cov: (\d+) ft: (\d+)", done.stdout)
    print(f"{name:10} {inputs.group(1) if inputs else '?':>10} inputs, edges and features "
          f"{' '.join(covered[-1]) if covered else '?'}, status {done.returncode}", flush=True)
    return done.returncode == 0


def main():
    with tempfile.TemporaryDirectory(prefix="pappus-fuzz-") as folder:
        corpora = test_replay.corpora(pathlib.Path(folder))
        unknown = set(CHOSEN) - set(corpora)
        if unknown:
            sys.exit(f"no such target: {' '.join(sorted(unknown))}")
        good = [fuzz(name, corpora[name][1], name in ("plan", "wind_text"))
                for name in (CHOSEN or corpora)]
    sys.exit(not all(good))


main()
