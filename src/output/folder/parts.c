/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parts of one flight that come down untied: their names, and the decision of
 * the whole, which is the worst of theirs. */
#include "parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_BYTES 64
/* The other files beside the parts. */
static const char *const taken[] = {"summary.json", "index.html", "map.svg"};

/* Letters, digits and what is above ASCII stay; the rest becomes '-'. */
static void stem_of(char stem[NAME_BYTES], const pappus_answer *answer)
{
    const char *path = answer->plan->path ? answer->plan->path : "";
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    size_t length = strlen(name);
    if (length > 5 && strcmp(name + length - 5, ".json") == 0) length -= 5;
    if (length >= NAME_BYTES) length = NAME_BYTES - 1;
    while (length > 0 && ((unsigned char)name[length] & 0xC0) == 0x80)
        length--;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)name[i];
        bool keeps = c >= 0x80 || (c >= '0' && c <= '9') ||
                     ((c | 0x20) >= 'a' && (c | 0x20) <= 'z') || c == '_' || (c == '.' && i > 0);
        stem[i] = keeps ? name[i] : '-';
    }
    stem[length] = '\0';
    bool is_taken = length == 0;
    for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++)
        is_taken |= strcmp(stem, taken[i]) == 0;
    if (is_taken) strcpy(stem, "part");
}

char *pappus_part_name(const pappus_answer *const *answers, size_t part)
{
    char own[NAME_BYTES], other[NAME_BYTES];
    char *name;
    size_t earlier = 0;
    stem_of(own, answers[part]);
    for (size_t i = 0; i < part; i++) {
        stem_of(other, answers[i]);
        earlier += strcmp(own, other) == 0;
    }
    int length = earlier ? asprintf(&name, "%s-%zu", own, part + 1) : asprintf(&name, "%s", own);
    return length < 0 ? NULL : name;
}

pappus_decision pappus_decision_of(const pappus_answer *const *answers, size_t count)
{
    bool decided = true;
    for (size_t i = 0; i < count; i++) {
        const pappus_judgement *judgement = answers[i]->judgement;
        if (judgement && judgement->decision == PAPPUS_NO_GO) return PAPPUS_NO_GO;
        decided = decided && judgement && judgement->decision == PAPPUS_GO;
    }
    return decided ? PAPPUS_GO : PAPPUS_NOT_DECIDED;
}
