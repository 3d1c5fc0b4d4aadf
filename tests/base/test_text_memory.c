/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of a text put together by printing, those inside the
 * C library too: PAPPUS_E_MEMORY or the whole text, never a part of it. */
#include "failing_allocator.h"
#include "suite.h"
#include "text_stream.h"

#include <string.h>

#define LINES 3000
#define LINE "a line of text\n"

static int print(void *unused)
{
    pappus_text text;
    (void)unused;
    int status = pappus_text_begin(&text, NULL);
    if (status != PAPPUS_OK) return status;
    for (int i = 0; i < LINES; i++)
        fprintf(text.stream, "%s", LINE);
    status = pappus_text_finish(&text, NULL);
    if (status != PAPPUS_OK) return text.bytes ? ATTEMPT_BROKEN : status;
    bool whole = text.size == LINES * strlen(LINE) && strlen(text.bytes) == text.size;
    free(text.bytes);
    return whole ? PAPPUS_OK : ATTEMPT_BROKEN;
}

START_TEST(every_allocation)
{
    if (!allocation_can_fail()) return;
    everywhere = true;
    allocation_trial trial = fail_each_allocation(print, NULL);
    everywhere = false;
    ck_assert_int_ge(trial.refused, 5); /* the text, the stream, 45000 bytes by doublings */
}
END_TEST

START_TEST(an_empty_text)
{
    pappus_text text;
    ck_assert_int_eq(pappus_text_begin(&text, NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_text_finish(&text, NULL), PAPPUS_OK);
    ck_assert_str_eq(text.bytes, "");
    ck_assert_uint_eq(text.size, 0);
    free(text.bytes);
}
END_TEST

SUITE("text memory")
{
    tcase_add_test(tests, every_allocation);
    tcase_add_test(tests, an_empty_text);
}
