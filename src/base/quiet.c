/* SPDX-License-Identifier: GPL-3.0-or-later
 * Silences what would abort or print behind a caller's back. */
#include <pappus/status.h>

#include <gsl/gsl_errno.h>
#include <libxml/xmlerror.h>
#include <proj.h>
#include <udunits2.h>

static void ignore_xml(void *context, const char *message, ...)
{
    (void)context;
    (void)message;
}

static void ignore_proj(void *context, int level, const char *message)
{
    (void)context;
    (void)level;
    (void)message;
}

void pappus_quiet_dependencies(void)
{
    proj_log_func(NULL, NULL, ignore_proj); /* contexts to come inherit it */
    gsl_set_error_handler_off();
    ut_set_error_message_handler(ut_ignore);
    xmlSetGenericErrorFunc(NULL, ignore_xml);
}
