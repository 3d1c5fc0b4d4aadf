/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of a drawing, those inside libxml2 too:
 * PAPPUS_E_MEMORY or the whole drawing, never one that lacks a text. */
#include "drawing_svg.h"
#include "failing_allocator.h"
#include "suite.h"

#include <string.h>

static char right[4096];

static int draw(void *unused)
{
    pappus_xml xml;
    char *svg = NULL;
    size_t size;
    svg_trace line;
    (void)unused;
    int status = pappus_xml_fragment(&xml, NULL);
    if (status != PAPPUS_OK) return status;
    svg_begin(&xml, 100, 100, "A \"drawing\" & more");
    svg_text(&xml, 4, 18, "text", "%s", "where <it> lay & was expected");
    svg_trace_begin(&line, &xml);
    for (int i = 0; i < 100; i++)
        svg_trace_to(&line, i, 100 - i);
    svg_trace_put(&line, "line", NULL);
    pappus_xml_end(&xml);
    status = pappus_xml_finish(&svg, &size, &xml, xml.failed ? PAPPUS_E_MEMORY : PAPPUS_OK, NULL);
    if (status == PAPPUS_OK && !right[0]) snprintf(right, sizeof right, "%s", svg);
    if (status == PAPPUS_OK && strcmp(svg, right) != 0) status = ATTEMPT_BROKEN;
    free(svg);
    return status;
}

START_TEST(every_allocation)
{
    long refused = 0;
    bool failed = true;
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    ck_assert_int_eq(draw(NULL), PAPPUS_OK); /* libxml2 keeps memory for life, and its
                                              * last error: what is held cannot be told */
    ck_assert(strstr(right, "where &lt;it&gt; lay &amp; was expected") &&
              strstr(right, "L99.0 1.0"));
    everywhere = true;
    for (long n = 0; failed; n++) {
        until_failure = n;
        armed = true;
        int status = draw(NULL);
        armed = false;
        failed = until_failure < 0;
        refused += status != PAPPUS_OK;
        ck_assert(status == PAPPUS_OK || (failed && status == PAPPUS_E_MEMORY));
    }
    everywhere = false;
    ck_assert_int_ge(refused, 20);
}
END_TEST

SUITE("xml memory")
{
    tcase_add_test(tests, every_allocation);
}
