/* SPDX-License-Identifier: GPL-3.0-or-later
 * A folder appears whole or not at all: what is refused, what is replaced, what
 * a killed run leaves, a full disk, two runs at once. Checked against what the
 * file system shows afterwards. */
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "publish.h"
#include "sample_answer.h"
#include "suite.h"
#include "test_folder.h"

static void enter_folder(void)
{
    make_folder();
    ck_assert_int_eq(chdir(test_folder), 0);
}

static void leave_folder(void)
{
    ck_assert_int_eq(chdir("/"), 0);
    remove_folder();
}

static void put_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    ck_assert_int_eq(fclose(file), 0);
}

static bool holds_text(const char *path, const char *text)
{
    char found[256] = "";
    FILE *file = fopen(path, "r");
    if (!file) return false;
    size_t length = fread(found, 1, sizeof found - 1, file);
    found[length] = '\0';
    fclose(file);
    return strcmp(found, text) == 0;
}

static int count_entries(const char *folder)
{
    int count = -2; /* . and .. */
    DIR *stream = opendir(folder);
    if (!stream) return -1;
    while (readdir(stream))
        count++;
    closedir(stream);
    return count;
}

static void put_in_stage(const pappus_stage *stage, const char *name, const char *text)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", stage->folder, name);
    put_file(path, text);
}

typedef int put_in_place(pappus_stage *, pappus_error *);
static put_in_place *const ways[] = {pappus_stage_publish, pappus_stage_publish_by_renames};

static void publish_one(put_in_place *way, const char *folder, const char *name, const char *text)
{
    pappus_stage stage;
    ck_assert_int_eq(pappus_stage_begin(&stage, folder, NULL), PAPPUS_OK);
    put_in_stage(&stage, name, text);
    ck_assert_int_eq(way(&stage, NULL), PAPPUS_OK);
}

START_TEST(appears_whole)
{
    pappus_stage stage;
    struct stat state;
    umask(022);
    ck_assert_int_eq(pappus_stage_begin(&stage, "out/", NULL), PAPPUS_OK);
    put_in_stage(&stage, "a", "1");
    ck_assert_int_ne(access("out", F_OK), 0);
    ck_assert_int_eq(ways[_i](&stage, NULL), PAPPUS_OK);
    ck_assert(holds_text("out/a", "1"));
    ck_assert_int_eq(count_entries("out"), 2); /* a and the marker */
    ck_assert_int_eq(count_entries("."), 1);
    ck_assert_int_eq(stat("out", &state), 0);
    ck_assert_int_eq(state.st_mode & 0777, 0755);
}
END_TEST

START_TEST(replaces_an_earlier_result)
{
    publish_one(ways[_i], "out", "a", "1");
    publish_one(ways[_i], "out", "b", "2");
    ck_assert(holds_text("out/b", "2"));
    ck_assert_int_ne(access("out/a", F_OK), 0);
    ck_assert_int_eq(count_entries("."), 1);
}
END_TEST

static void assert_refused(const char *folder)
{
    pappus_stage stage;
    pappus_error error = {0};
    int before = count_entries(".");
    ck_assert_msg(pappus_stage_begin(&stage, folder, &error) == PAPPUS_E_REFUSED, "%s", folder);
    ck_assert_int_gt((int)strlen(error.message), 0);
    ck_assert_ptr_null(strchr(error.message, '\n'));
    ck_assert_int_eq(pappus_output_check(folder, NULL), PAPPUS_E_REFUSED);
    ck_assert_int_eq(count_entries("."), before);
}

START_TEST(refuses_what_is_not_its_own)
{
    publish_one(ways[0], "ours", "a", "1");
    ck_assert_int_eq(symlink("ours", "link"), 0);
    ck_assert_int_eq(symlink("nowhere", "dangling"), 0);
    put_file("file", "x");
    ck_assert_int_eq(mkdir("empty", 0777), 0);
    ck_assert_int_eq(mkdir("theirs", 0777), 0);
    put_file("theirs/thesis.txt", "x");
    const char *const refused[] = {
        "",      ".",    "..",       "/",     "ours/.", "ours/..", "link",
        "link/", "file", "dangling", "empty", "theirs", "file/in", "no/such/parent"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++)
        assert_refused(refused[i]);
    ck_assert(holds_text("theirs/thesis.txt", "x"));
    ck_assert_int_eq(pappus_output_check("ours", NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_output_check("new", NULL), PAPPUS_OK);
}
END_TEST

START_TEST(refuses_a_result_with_other_files_in_it)
{
    static const char *const strangers[] = {"ours/notes.txt", "ours/layers/notes.txt",
                                            "ours/.hidden"};
    publish_one(ways[0], "ours", "a", "1");
    ck_assert_int_eq(mkdir("ours/layers", 0777), 0);
    for (size_t i = 0; i < 3; i++) {
        put_file(strangers[i], "mine");
        assert_refused("ours");
        ck_assert(holds_text(strangers[i], "mine"));
        ck_assert_int_eq(unlink(strangers[i]), 0);
    }
    ck_assert_int_eq(symlink("/etc/passwd", "ours/a-link"), 0);
    assert_refused("ours");
    ck_assert_int_eq(unlink("ours/a-link"), 0);
    put_file("ours/" PAPPUS_MARKER, "not a marker\na\n");
    assert_refused("ours");
}
END_TEST

/* A file that is put in while the new result is being made is kept. */
START_TEST(refuses_what_became_theirs)
{
    pappus_stage stage;
    publish_one(ways[0], "ours", "a", "1");
    ck_assert_int_eq(pappus_stage_begin(&stage, "ours", NULL), PAPPUS_OK);
    put_in_stage(&stage, "b", "2");
    put_file("ours/notes.txt", "mine");
    ck_assert_int_eq(ways[_i](&stage, NULL), PAPPUS_E_REFUSED);
    ck_assert(holds_text("ours/notes.txt", "mine"));
    ck_assert(holds_text("ours/a", "1"));
    ck_assert_int_ne(access("ours/b", F_OK), 0);
    ck_assert_int_eq(count_entries("."), 1);
}
END_TEST

START_TEST(abandons_without_a_trace)
{
    pappus_stage stage;
    publish_one(ways[0], "out", "a", "1");
    ck_assert_int_eq(pappus_stage_begin(&stage, "out", NULL), PAPPUS_OK);
    put_in_stage(&stage, "a", "2");
    pappus_stage_abandon(&stage);
    ck_assert(holds_text("out/a", "1"));
    ck_assert_int_eq(count_entries("."), 1);
}
END_TEST

START_TEST(removes_what_a_killed_run_left)
{
    int report[2];
    char left[256] = "";
    ck_assert_int_eq(pipe(report), 0);
    pid_t child = fork();
    if (child == 0) {
        pappus_stage stage;
        if (pappus_stage_begin(&stage, "out", NULL) != PAPPUS_OK) _exit(1);
        put_in_stage(&stage, "a", "1");
        if (write(report[1], stage.folder, strlen(stage.folder)) < 0) _exit(1);
        for (;;)
            pause();
    }
    ck_assert_int_gt((int)read(report[0], left, sizeof left - 1), 0);
    publish_one(ways[0], "out", "b", "2"); /* the other lives: its stage stays */
    ck_assert_int_eq(access(left, F_OK), 0);
    ck_assert_int_eq(kill(child, SIGKILL), 0);
    ck_assert_int_eq(waitpid(child, NULL, 0), child);
    ck_assert_int_eq(mkdir(".other.pappus-000000", 0777), 0);
    ck_assert_int_eq(mkdir(".out.pappus-mynotes", 0777), 0);
    publish_one(ways[0], "out", "c", "3");
    ck_assert_int_ne(access(left, F_OK), 0);
    ck_assert_int_eq(count_entries("."), 3); /* out, and what is not a stage of it */
    close(report[0]);
    close(report[1]);
}
END_TEST

START_TEST(puts_back_after_a_cut_between_two_renames)
{
    pappus_stage stage;
    publish_one(ways[0], "out", "a", "1");
    ck_assert_int_eq(rename("out", ".out.pappus-before"), 0);
    ck_assert_int_eq(pappus_stage_begin(&stage, "out", NULL), PAPPUS_OK);
    pappus_stage_abandon(&stage);
    ck_assert(holds_text("out/a", "1"));
    ck_assert_int_eq(count_entries("."), 1);
}
END_TEST

#define RUNS 4
#define ROUNDS 10

static void write_often(put_in_place *way, int run)
{
    char text[8];
    snprintf(text, sizeof text, "%d", run);
    for (int i = 0; i < ROUNDS; i++) {
        pappus_stage stage;
        if (pappus_stage_begin(&stage, "out", NULL) != PAPPUS_OK) _exit(1);
        put_in_stage(&stage, "a", text);
        put_in_stage(&stage, i % 2 ? "b" : "c", text);
        if (way(&stage, NULL) != PAPPUS_OK) _exit(2);
    }
    _exit(0);
}

START_TEST(runs_at_once_take_turns)
{
    pid_t children[RUNS];
    char a[8] = "";
    for (int i = 0; i < RUNS; i++)
        if ((children[i] = fork()) == 0) write_often(ways[0], i);
    for (int i = 0; i < RUNS; i++) {
        int status;
        ck_assert_int_eq(waitpid(children[i], &status, 0), children[i]);
        ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "run %d: %x", i,
                      (unsigned)status);
    }
    ck_assert_int_eq(count_entries("."), 1);
    ck_assert_int_eq(count_entries("out"), 3);
    FILE *file = fopen("out/a", "r");
    ck_assert_ptr_nonnull(file);
    ck_assert_ptr_nonnull(fgets(a, sizeof a, file));
    fclose(file);
    ck_assert(holds_text("out/b", a)); /* the last round writes b */
}
END_TEST

static int write_sample(size_t landings, const char *folder, pappus_error *error)
{
    sample_answer *sample = sample_answer_make(landings, "A flight");
    int status = pappus_answer_write(&sample->answer, folder, NULL, error);
    sample_answer_clear(sample);
    return status;
}

/* A file may not grow beyond a size, as on a disk that fills up: at each size
 * another write, or only a close, is the one that fails. */
START_TEST(survives_a_full_disk)
{
    struct rlimit whole, small;
    pappus_error error = {0};
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &whole), 0);
    ck_assert_int_eq(write_sample(700, "out", NULL), PAPPUS_OK);
    int files = count_entries("out"), layers = count_entries("out/layers");
    static const rlim_t sizes[] = {0, 4, 99, 150, 300, 5000, 19000, 30000, 60000, 90000};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        small = (struct rlimit){sizes[i], whole.rlim_max};
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
        error = (pappus_error){0};
        int status = write_sample(700, "out", &error);
        int fresh = write_sample(700, "fresh", NULL);
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &whole), 0);
        ck_assert_msg(status == PAPPUS_E_OUTPUT, "size %ld: %d", (long)sizes[i], status);
        ck_assert_int_eq(fresh, PAPPUS_E_OUTPUT);
        ck_assert_msg(strstr(error.message, "File too large"), "%s", error.message);
        ck_assert_int_eq(count_entries("."), 1);
        ck_assert_int_eq(count_entries("out"), files);
        ck_assert_int_eq(count_entries("out/layers"), layers);
    }
}
END_TEST

SUITE("publish")
{
    tcase_add_checked_fixture(tests, enter_folder, leave_folder);
    tcase_add_loop_test(tests, appears_whole, 0, 2);
    tcase_add_loop_test(tests, replaces_an_earlier_result, 0, 2);
    tcase_add_test(tests, refuses_what_is_not_its_own);
    tcase_add_test(tests, refuses_a_result_with_other_files_in_it);
    tcase_add_loop_test(tests, refuses_what_became_theirs, 0, 2);
    tcase_add_test(tests, abandons_without_a_trace);
    tcase_add_test(tests, removes_what_a_killed_run_left);
    tcase_add_test(tests, puts_back_after_a_cut_between_two_renames);
    tcase_add_test(tests, runs_at_once_take_turns);
    tcase_add_test(tests, survives_a_full_disk);
}
