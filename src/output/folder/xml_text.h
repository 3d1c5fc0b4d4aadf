/* SPDX-License-Identifier: GPL-3.0-or-later
 * An XML document being written in memory by libxml2. A failure is remembered,
 * and told at the end. Text is escaped, and cleaned of what XML cannot hold. */
#ifndef PAPPUS_OUTPUT_XML_TEXT_H
#define PAPPUS_OUTPUT_XML_TEXT_H

#include <libxml/xmlwriter.h>
#include <stdarg.h>

#include "writer.h"

typedef struct {
    xmlBufferPtr buffer;
    xmlTextWriterPtr writer;
    bool failed;
} pappus_xml;

int pappus_xml_begin(pappus_xml *xml, pappus_error *err);
/** The same for a piece of a document: no declaration, no indents. */
int pappus_xml_fragment(pappus_xml *xml, pappus_error *err);
void pappus_xml_start(pappus_xml *xml, const char *element);
/** Closes the element that was started last. */
void pappus_xml_end(pappus_xml *xml);
void pappus_xml_attribute(pappus_xml *xml, const char *name, const char *value);
/** Format as vprintf's, the caller's to free; NULL and remembered when memory is out. */
char *pappus_xml_format(pappus_xml *xml, const char *format, va_list arguments);
/** <element>text</element>; format as printf's. The result is escaped. */
void pappus_xml_element(pappus_xml *xml, const char *element, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/** Text inside the element that was started last. */
void pappus_xml_text(pappus_xml *xml, const char *text);
/** Ends the document and frees the writer; *out, of *size bytes and terminated, is the
 * caller's to free. With a status other than PAPPUS_OK only frees, and returns it. */
int pappus_xml_finish(char **out, size_t *size, pappus_xml *xml, int status, pappus_error *err);
/** Ends the document, writes it to a file of the folder, and frees all. status as
 * with pappus_text_write. */
int pappus_xml_write(pappus_xml *xml, int status, const pappus_output *output, const char *name,
                     pappus_error *err);

#endif
