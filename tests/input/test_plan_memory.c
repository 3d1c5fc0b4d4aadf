/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan read while memory runs out: whichever allocation fails, the reader ends
 * with a plan or with none, and leaves nothing behind. Allocation is failed and
 * counted by own functions over those of the C library (glibc); left out where a
 * sanitiser has its own. */
#include "plan_text.h"

#if defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__)
#define CAN_FAIL 1
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *memory, size_t size);
void __libc_free(void *memory);
#else
#define CAN_FAIL 0
#endif

#if CAN_FAIL
/* Allocations until the one that fails; below 0: none. volatile: the compiler knows
 * malloc and would not see that it reads this. */
static volatile long countdown = -1;
static volatile long failures, live;

static bool fails(void)
{
    if (countdown < 0) return false;
    countdown = countdown - 1;
    if (countdown >= 0) return false;
    failures = failures + 1;
    return true;
}

void *malloc(size_t size)
{
    void *memory = fails() ? NULL : __libc_malloc(size);
    live = live + (memory != NULL);
    return memory;
}

void *calloc(size_t count, size_t size)
{
    void *memory = fails() ? NULL : __libc_calloc(count, size);
    live = live + (memory != NULL);
    return memory;
}

void *realloc(void *memory, size_t size)
{
    void *moved = fails() ? NULL : __libc_realloc(memory, size);
    live = live + (memory == NULL && moved != NULL);
    return moved;
}

void free(void *memory)
{
    live = live - (memory != NULL);
    __libc_free(memory);
}

static bool can_fail(void)
{
    void *volatile memory;
    countdown = 0;
    memory = malloc(16);
    countdown = -1;
    bool works = memory == NULL;
    free(memory);
    failures = 0;
    return works;
}

START_TEST(each_allocation_fails_once)
{
    static const char *const settings[] = {"main.diameter=84 inch", "wind.profiles=[\"a.csv\"]"};
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    options.setting_count = 2;
    options.settings = settings;
    long allocations = 0, good = 0, refused = 0, n;
    if (!can_fail()) { /* valgrind puts its own in the place of ours */
        printf("SKIPPED: allocation cannot be made to fail here\n");
        return;
    }
    for (n = 0; n < 1000000; n++) {
        pappus_log log = {0};
        pappus_plan *plan = NULL;
        long before = live;
        failures = 0;
        countdown = n;
        int status =
            pappus_plan_parse(&plan, good_plan, strlen(good_plan), "t.json", &options, &log);
        countdown = -1;
        ck_assert_msg((status == PAPPUS_OK) == (plan != NULL), "allocation %ld: status %d", n,
                      status);
        good += status == PAPPUS_OK;
        refused += status != PAPPUS_OK;
        pappus_plan_free(plan);
        pappus_log_clear(&log);
        ck_assert_msg(live == before, "allocation %ld: %ld left behind", n, live - before);
        allocations = n;
        if (failures == 0) break;
    }
    ck_assert_int_gt(refused, 300);
    ck_assert_int_ge(good, 1);
    ck_assert_int_gt(allocations, 500);
}
END_TEST
#endif

int main(void)
{
    Suite *suite = suite_create("plan memory");
    TCase *tests = tcase_create("plan memory");
#if CAN_FAIL
    tcase_add_test(tests, each_allocation_fails_once);
#else
    printf("SKIPPED: this build has an allocator of its own\n");
#endif
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed != 0;
}
