# SPDX-License-Identifier: GPL-3.0-or-later
"""A machine that fails: each fault ends in one line and status 5, nothing half written, no
signal; what was computed is still told; and what is the user's own is not touched."""
import os
import resource
import stat
import subprocess

from helpers import PAPPUS, SOURCE, Case, main, quick_plan, read_text, run, tree

FEW = ("-n", "2000")
NOON = os.path.join(SOURCE, "wind/noon.csv")


class Machine(Case):
    def setUp(self):
        super().setUp()
        self.plan = self.write("plan.json", quick_plan())

    def limited(self, which, value, *arguments, **settings):
        done = subprocess.run([PAPPUS, *arguments], capture_output=True, text=True,
                              env={**os.environ, **settings.get("env", {})},
                              preexec_fn=lambda: resource.setrlimit(which, (value, value)))
        return done.returncode, done.stdout, done.stderr

    def one_line(self, err):
        lines = [line for line in err.splitlines() if line.startswith("pappus: error:")]
        self.assertEqual(len(lines), 1, err)
        return lines[0]

    def test_a_full_device_is_told_by_every_part_of_the_manual(self):
        for part in ("man", "keys", "schema", "wind", "bash", "zsh"):
            with self.subTest(part), open("/dev/full", "w") as full:
                done = subprocess.run([PAPPUS, "manual", part], stdout=full,
                                      stderr=subprocess.PIPE, text=True)
                self.assertEqual(done.returncode, 5)
                self.one_line(done.stderr)

    def test_what_is_there_is_not_written_over(self):
        mine = self.write("mine.csv", "height_agl_m,direction_deg,speed_mps\n10,240,5\n")
        before = read_text(mine)
        for command in (("wind", NOON, "-o", mine), ("new", mine), ("new", "--wind", mine)):
            status, _, err = run(*command)
            self.assertEqual(status, 1, err)
            self.assertIn("is there already", self.one_line(err))
        page = self.write("mine.html", "<p>my own page</p>")
        self.assertEqual(run("size", self.plan, "-o", page)[0], 1)
        self.assertEqual(read_text(mine), before)
        self.assertEqual(read_text(page), "<p>my own page</p>")

    def test_a_file_of_ours_is_replaced(self):
        for name, command in (("a.csv", ("wind", NOON)), ("a.svg", ("wind", NOON)),
                              ("a.html", ("size", self.plan))):
            for _ in range(2):
                status, _, err = run(*command, "-o", self.path(name))
                self.assertEqual(status, 0, err)

    def test_the_stage_of_a_killed_run_is_removed(self):
        for ending in ("aB3dE6", "zzzzzz"):
            self.write(f".a.csv.pappus-{ending}", "half")
        self.write(".a.csv.pappus-toolong", "not a stage")
        self.assertEqual(run("wind", NOON, "-o", self.path("a.csv"))[0], 0)
        left = [name for name in os.listdir(self.folder) if "a.csv" in name]
        self.assertEqual(sorted(left), [".a.csv.pappus-toolong", "a.csv"])

    def test_an_empty_folder_of_the_users_own_is_kept(self):
        day = self.path("day")
        self.assertEqual(run("brief", self.plan, *FEW, "-o", day)[0], 0)
        os.mkdir(os.path.join(day, "mine"))
        status, _, err = run("brief", self.plan, *FEW, "-o", day)
        self.assertEqual(status, 1)
        self.assertIn("mine", self.one_line(err))
        self.assertTrue(os.path.isdir(os.path.join(day, "mine")))

    def test_the_same_files_by_a_relative_and_an_absolute_path(self):
        here = os.getcwd()
        self.addCleanup(os.chdir, here)
        os.chdir(self.folder)
        run("brief", "plan.json", *FEW, "-o", "one")
        run("brief", self.plan, *FEW, "-o", "two")
        self.assertEqual(tree("one"), tree("two"))

    def without_projs_data(self, command, *arguments):
        return subprocess.run([PAPPUS, command, self.plan, *arguments], capture_output=True, text=True,
                              env={**os.environ, "PROJ_DATA": "/nowhere", "PROJ_LIB": "/nowhere"})

    def with_a_shapefile(self):
        """The setting of a boundary whose reference system PROJ has to look up."""
        run("scatter", self.plan, *FEW, "--crs", "utm", "-o", self.path("earlier"))
        return "--set", "field.boundary=" + self.path("earlier/layers/boundary.shp")

    def test_projs_data_missing_is_no_fault_of_the_plan(self):
        """Nor is it needed for the pad's plane, nor for layers in WGS 84."""
        plain = self.without_projs_data("scatter", *FEW, "-o", self.path("plain"))
        self.assertEqual(plain.returncode, 0, plain.stderr)
        ours = "field.boundary=" + self.path("plain/layers/boundary.shp")
        self.assertEqual(self.without_projs_data("check", "--set", ours).returncode, 0)
        for command, more in (("check", self.with_a_shapefile()),
                              ("scatter", (*FEW, "--crs", "utm", "-o", self.path("day")))):
            done = self.without_projs_data(command, *more)
            self.assertEqual(done.returncode, 5)
            self.assertIn("proj.db", done.stdout + done.stderr)
            self.assertNotIn("proj_create", done.stderr)
        self.assertFalse(os.path.exists(self.path("day")))

    def test_what_the_machine_lacks_comes_before_what_is_wrong(self):
        """A wind file is not there and PROJ has no data: the plan may be right elsewhere."""
        done = self.without_projs_data("scatter", *self.with_a_shapefile(), "--set",
                                       "wind.profiles[0]=nowhere.csv")
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertIn("nowhere.csv", done.stderr)
        self.assertIn("proj.db", done.stderr)

    def test_what_is_put_in_place_is_synced_before_and_its_folder_after(self):
        """A power cut then leaves the earlier result or the new one (fsync(2): a new name is
        lasting when its folder has been synced)."""
        shim, seen, day = self.path("seen.so"), self.path("seen"), self.path("out/day")
        subprocess.run(["cc", "-shared", "-fPIC", "-o", shim,
                        os.path.join(SOURCE, "tests/cli/seen_sync.c"), "-ldl"], check=True)
        os.mkdir(self.path("out"))
        subprocess.run([PAPPUS, "scatter", self.plan, *FEW, "-o", day], check=True,
                       stdout=subprocess.DEVNULL,
                       env={**os.environ, "LD_PRELOAD": shim, "PAPPUS_SEEN": seen})
        lines = read_text(seen).splitlines()
        place = lines.index(f"place {day}")
        before = [line for line in lines[:place] if line.endswith(".shp")]
        self.assertGreater(len(before), 3)
        self.assertIn(f"sync {self.path('out')}", lines[place + 1:])

    def test_no_file_handles(self):
        """One is enough to read, not to write a folder."""
        self.assertEqual(self.limited(resource.RLIMIT_NOFILE, 4, "check", self.plan)[0], 0)
        for command, more in (("check", self.with_a_shapefile()),
                              ("scatter", (*FEW, "-o", self.path("day")))):
            status, out, err = self.limited(resource.RLIMIT_NOFILE, 4, command, self.plan, *more)
            self.assertEqual(status, 5, out + err)
            self.assertIn("Too many open files", out + err)
        self.assertFalse(os.path.exists(self.path("day")))

    def test_files_over_the_limit(self):
        """SIGXFSZ would end it; the answer is told though it cannot be written."""
        status, out, err = self.limited(resource.RLIMIT_FSIZE, 1024, "brief", self.plan, *FEW, "-o",
                                        self.path("day"))
        self.assertEqual(status, 5, err)
        self.assertTrue(out.startswith("GO "), out)
        self.one_line(err)
        status, _, err = self.limited(resource.RLIMIT_FSIZE, 1024, "new", self.path("new.json"))
        self.assertEqual(status, 5, err)
        self.assertEqual(os.listdir(self.folder), ["plan.json"])

    def test_more_threads_than_can_start(self):
        for given in ({"OMP_NUM_THREADS": "100000"}, {"OMP_NUM_THREADS": "x"}):
            done = subprocess.run([PAPPUS, "scatter", self.plan, *FEW], capture_output=True,
                                  env={**os.environ, **given})
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_a_stack_too_small(self):
        status, _, err = self.limited(resource.RLIMIT_STACK, 64 << 10, "check", self.plan)
        self.assertEqual(status, 5)
        self.assertIn("stack", self.one_line(err))

    def test_little_memory(self):
        """At every size: an answer, or a line and status 5; never a signal."""
        for megabytes in (120, 180, 300):
            status, out, err = self.limited(resource.RLIMIT_AS, megabytes << 20, "brief", self.plan,
                                            *FEW, "-o", self.path("day"))
            self.assertIn(status, (0, 5, 127), err)  # 127: the libraries themselves do not load
            self.assertEqual(os.path.exists(self.path("day/report.html")), status == 0 or
                             os.path.exists(self.path("day")))
            if status == 0:
                self.assertTrue(out.startswith("GO "))

    def test_a_pipe(self):
        pipe = self.path("pipe")
        os.mkfifo(pipe)
        self.assertTrue(stat.S_ISFIFO(os.stat(pipe).st_mode))
        status, _, err = run("scatter", pipe)
        self.assertEqual(status, 1)
        self.assertIn("nobody", self.one_line(err))
        done = subprocess.run(["bash", "-c", f"{PAPPUS} scatter -n 2000 <(cat {self.plan})"],
                              capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)


if __name__ == "__main__":
    main()
