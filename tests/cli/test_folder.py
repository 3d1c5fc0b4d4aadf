# SPDX-License-Identifier: GPL-3.0-or-later
"""The output folder through the program: what is refused, what is replaced, and
what is left when the disk is full or the run is killed."""
import os
import resource
import signal
import subprocess
import time

from helpers import ANSWERED, PAPPUS, Case, demo_plan, main, run, tree


class Folder(Case):
    def setUp(self):
        super().setUp()
        self.plan = self.write("plan.json", demo_plan())

    def scatter(self, folder, *options, cwd=None):
        return run("scatter", self.plan, "-n", "2000", "-o", folder, *options, cwd=cwd)

    def refused(self, folder, cwd=None):
        before = tree(self.folder)
        status, out, err = self.scatter(folder, cwd=cwd)
        self.assertEqual((status, out), (1, ""), err)
        self.assertEqual(len(err.splitlines()), 1, err)
        self.assertIn("refused", err)
        self.assertEqual(tree(self.folder), before)

    def test_refused(self):
        os.mkdir(self.path("empty_parent"))
        os.mkdir(self.path("foreign"))
        self.write("foreign/notes.txt", "mine")
        self.assertEqual(self.scatter(self.path("ours"))[0], 0)
        os.symlink("ours", self.path("link"))
        os.symlink("nowhere", self.path("dangling"))
        for folder in (".", "..", "/", "", "foreign", "link", "link/", "dangling", "plan.json",
                       "absent/out", "plan.json/out"):
            with self.subTest(folder):
                self.refused(folder, cwd=self.folder)

    def test_a_foreign_file_in_ours(self):
        self.assertEqual(self.scatter(self.path("ours"))[0], 0)
        self.write("ours/layers/my_notes.txt", "mine")
        self.refused(self.path("ours"))

    def test_ours_is_replaced(self):
        self.assertEqual(self.scatter(self.path("ours"))[0], 0)
        first = tree(self.path("ours"))
        self.assertEqual(self.scatter(self.path("ours"), "--seed", "7")[0], 0)
        second = tree(self.path("ours"))
        self.assertEqual(first.keys(), second.keys())
        self.assertNotEqual(first["layers/landings.dbf"], second["layers/landings.dbf"])
        self.assertEqual(self.scatter(self.path("ours"))[0], 0)
        self.assertEqual(tree(self.path("ours")), first)
        self.assertEqual(sorted(os.listdir(self.folder)), ["ours", "plan.json"])

    def test_a_brief_over_a_scatter_and_back(self):
        for command in ("scatter", "brief", "scatter"):
            status, _, err = run(command, self.plan, "-n", "2000", "-o", self.path("ours"))
            self.assertIn(status, ANSWERED, err)
        self.assertFalse(os.path.exists(self.path("ours/posts.gpx")))

    def fails_for_space(self, folder, command, **how):
        done = subprocess.run(command, capture_output=True, text=True, **how)
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertEqual(done.stdout, "")
        self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)

    def test_file_size_limit(self):
        """RLIMIT_FSIZE stands for a full disk: writes beyond it fail."""
        ours = self.path("ours")
        self.assertEqual(self.scatter(ours)[0], 0)
        before = tree(self.folder)

        def limit():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))

        for folder in (ours, self.path("new")):
            self.fails_for_space(folder, [PAPPUS, "scatter", self.plan, "-n", "5000", "-o", folder],
                                 preexec_fn=limit)
        self.assertEqual(tree(self.folder), before)
        self.assertEqual(sorted(os.listdir(self.folder)), ["ours", "plan.json"])

    def test_full_disk(self):
        disk = self.path("disk")
        os.mkdir(disk)
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", disk],
                                 capture_output=True)
        if mounted.returncode != 0:
            self.skipTest("a small file system can be mounted by root only")
        try:
            ours = os.path.join(disk, "ours")
            status, _, err = run("scatter", self.plan, "-n", "2000", "-o", ours)
            # five outcomes of 2000 landings and their layers may be beyond a megabyte
            self.assertIn(status, (0, 5), err)
            before = tree(disk)
            for folder in (ours, os.path.join(disk, "new")):
                self.fails_for_space(folder, [PAPPUS, "scatter", self.plan, "-n", "20000", "-o",
                                              folder])
            self.assertEqual(tree(disk), before)
        finally:
            subprocess.run(["umount", disk], check=True)

    def killed_while_writing(self, ours):
        """Looks only while the run stands still, so that no machine is too fast: what it
        writes to is there and the run is not over, or it is tried again with more work."""
        for landings in (200000 << k for k in range(6)):
            child = subprocess.Popen([PAPPUS, "scatter", self.plan, "-n", str(landings), "-o",
                                      ours], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            while True:
                time.sleep(0.002)
                child.send_signal(signal.SIGSTOP)
                if not os.WIFSTOPPED(os.waitpid(child.pid, os.WUNTRACED)[1]):
                    break
                stages = [n for n in os.listdir(self.folder) if n.startswith(".ours.pappus-")]
                child.send_signal(signal.SIGKILL if stages else signal.SIGCONT)
                if stages:
                    child.wait()
                    return stages
        return []

    def test_killed_run(self):
        """A run killed while it writes leaves nothing visible, and the next tidies up."""
        ours = self.path("ours")
        self.assertEqual(self.scatter(ours)[0], 0)
        before = tree(ours)
        stages = self.killed_while_writing(ours)
        self.assertEqual(len(stages), 1)
        self.assertEqual(tree(ours), before)
        self.assertEqual(sorted(n for n in os.listdir(self.folder) if not n.startswith(".")),
                         ["ours", "plan.json"])
        self.assertEqual(self.scatter(ours)[0], 0)
        self.assertEqual(sorted(os.listdir(self.folder)), ["ours", "plan.json"])
        self.assertEqual(tree(ours), before)

    def test_closed_stdout(self):
        """An answer that cannot be printed is a failure of the machine."""
        if not os.path.exists("/dev/full"):
            self.skipTest("no /dev/full")
        for command in (["scatter", self.plan, "-n", "2000"], ["check", self.plan],
                        ["size", self.plan], ["manual", "man"], ["wind", self.plan], ["--help"],
                        ["--version"]):
            with self.subTest(command[0]), open("/dev/full", "w") as full:
                done = subprocess.run([PAPPUS, *command], stdout=full, stderr=subprocess.PIPE)
                self.assertEqual(done.returncode, 5, done.stderr)


if __name__ == "__main__":
    main()
