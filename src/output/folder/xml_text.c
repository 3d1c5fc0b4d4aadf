/* SPDX-License-Identifier: GPL-3.0-or-later
 * XML by libxml2's text writer. It escapes, but writes an ill-formed U+0001 or a
 * broken UTF-8 sequence without complaint: so all text is cleaned first. */
#include "xml_text.h"

#include <libxml/entities.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"

int pappus_xml_fragment(pappus_xml *xml, pappus_error *err)
{
    *xml = (pappus_xml){.buffer = xmlBufferCreate()};
    if (xml->buffer) xml->writer = xmlNewTextWriterMemory(xml->buffer, 0);
    if (xml->writer) return PAPPUS_OK;
    if (xml->buffer) xmlBufferFree(xml->buffer);
    *xml = (pappus_xml){0};
    return pappus_fail_memory(err);
}

int pappus_xml_begin(pappus_xml *xml, pappus_error *err)
{
    int status = pappus_xml_fragment(xml, err);
    if (status != PAPPUS_OK) return status;
    xml->failed = xmlTextWriterSetIndent(xml->writer, 1) < 0 ||
                  xmlTextWriterStartDocument(xml->writer, "1.0", "UTF-8", NULL) < 0;
    return PAPPUS_OK;
}

void pappus_xml_start(pappus_xml *xml, const char *element)
{
    xml->failed |= xmlTextWriterStartElement(xml->writer, BAD_CAST element) < 0;
}

void pappus_xml_end(pappus_xml *xml)
{
    xml->failed |= xmlTextWriterEndElement(xml->writer) < 0;
}

void pappus_xml_attribute(pappus_xml *xml, const char *name, const char *value)
{
    char *clean = pappus_text_clean(value);
    xml->failed |=
        !clean || xmlTextWriterWriteAttribute(xml->writer, BAD_CAST name, BAD_CAST clean) < 0;
    free(clean);
}

/* Encoded here: without memory xmlTextWriterWriteString leaves the text out without a word. */
void pappus_xml_text(pappus_xml *xml, const char *text)
{
    char *clean = pappus_text_clean(text);
    xmlChar *encoded = clean ? xmlEncodeSpecialChars(NULL, BAD_CAST clean) : NULL;
    xml->failed |= !encoded || xmlTextWriterWriteRaw(xml->writer, encoded) < 0;
    xmlFree(encoded);
    free(clean);
}

char *pappus_xml_format(pappus_xml *xml, const char *format, va_list arguments)
{
    char *text;
    if (vasprintf(&text, format, arguments) >= 0) return text;
    xml->failed = true;
    return NULL;
}

void pappus_xml_element(pappus_xml *xml, const char *element, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = pappus_xml_format(xml, format, arguments);
    va_end(arguments);
    if (!text) return;
    pappus_xml_start(xml, element);
    pappus_xml_text(xml, text);
    pappus_xml_end(xml);
    free(text);
}

int pappus_xml_finish(char **out, size_t *size, pappus_xml *xml, int status, pappus_error *err)
{
    *out = NULL;
    *size = 0;
    if (!xml->writer) return status;
    bool failed = xmlTextWriterEndDocument(xml->writer) < 0 || xml->failed;
    xmlFreeTextWriter(xml->writer); /* flushes into the buffer */
    if (status == PAPPUS_OK && !failed) {
        *size = (size_t)xmlBufferLength(xml->buffer);
        *out = strndup((const char *)xmlBufferContent(xml->buffer), *size);
    }
    if (status == PAPPUS_OK && !*out) status = pappus_fail_memory(err);
    xmlBufferFree(xml->buffer);
    *xml = (pappus_xml){0};
    return status;
}

int pappus_xml_write(pappus_xml *xml, int status, const pappus_output *output, const char *name,
                     pappus_error *err)
{
    char *bytes;
    size_t size;
    bool nothing = !xml->writer;
    status = pappus_xml_finish(&bytes, &size, xml, status, err);
    if (status != PAPPUS_OK || nothing) return status;
    status = pappus_output_bytes(output, name, bytes, size, err);
    free(bytes);
    return status;
}
