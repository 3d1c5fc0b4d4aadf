/* SPDX-License-Identifier: GPL-3.0-or-later
 * The texts of a plan: its file, the files it is laid over ("base", each a JSON
 * merge patch over the next, RFC 7396) and the settings of the command line. The
 * separate trees are kept, so that a fault can name the file its value is in and
 * a path is taken from the folder of the file that names it. A list is replaced
 * whole, as the RFC has it. */
#include "plan_reader.h"
#include "error.h"
#include "file.h"
#include "utf8.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* -------------------------------------------------------------------- keys */

/* Takes the next step of a dotted key off *key: a name, or an index written "[3]"
 * or "3". False at the end and when there is no step. */
static bool next_step(const char **key, char name[PAPPUS_KEY_LIMIT], int *index)
{
    const char *p = *key;
    *index = -1;
    if (*p == '.') p++;
    size_t n = *p == '[' ? strcspn(p, "]") + 1 : strcspn(p, ".[");
    if (n == 0 || n >= PAPPUS_KEY_LIMIT || n > strlen(p)) return false;
    memcpy(name, p, n);
    name[n] = '\0';
    *key = p + n;
    const char *digits = *p == '[' ? name + 1 : name;
    size_t count = strspn(digits, "0123456789");
    bool whole = digits[count] == (*p == '[' ? ']' : '\0');
    if (count > 0 && count < 7 && whole) *index = (int)strtol(digits, NULL, 10);
    return *p != '[' || *index >= 0;
}

/* True when the key leads somewhere in the tree; a text or number on the way is
 * what the key is about. */
static bool leads(const cJSON *node, const char *key)
{
    char name[PAPPUS_KEY_LIMIT];
    int index;
    while (*key && next_step(&key, name, &index)) {
        if (!cJSON_IsObject(node) && !cJSON_IsArray(node)) return true;
        node = index >= 0 && cJSON_IsArray(node) ? cJSON_GetArrayItem(node, index)
                                                 : cJSON_GetObjectItemCaseSensitive(node, name);
        if (!node) return false;
    }
    return true;
}

static bool is_set(const pappus_plan_sources *sources, const char *key)
{
    for (size_t i = 0; i < sources->setting_count; i++) {
        size_t n = strlen(sources->setting_keys[i]);
        if (strncmp(sources->setting_keys[i], key, n) == 0 && strchr(".[", key[n])) return true;
    }
    return false;
}

static const char *document_of(const pappus_plan_sources *sources, const char *key)
{
    for (size_t i = 0; i < sources->document_count; i++) {
        if (leads(sources->documents[i].tree, key)) return sources->documents[i].path;
    }
    return sources->documents[0].path;
}

const char *pappus_plan_sources_file(const pappus_plan_sources *sources, const char *key)
{
    return is_set(sources, key) ? "--set" : document_of(sources, key);
}

/* `name` from the folder of the file `path`. */
static char *beside(const char *path, const char *name)
{
    const char *slash = strrchr(path, '/');
    size_t folder = slash && name[0] != '/' ? (size_t)(slash + 1 - path) : 0;
    char *joined = malloc(folder + strlen(name) + 1);
    if (!joined) return NULL;
    memcpy(joined, path, folder);
    memcpy(joined + folder, name, strlen(name) + 1);
    return joined;
}

char *pappus_plan_sources_path(const pappus_plan_sources *sources, const char *key,
                               const char *name)
{
    const char *from =
        is_set(sources, key) ? sources->documents[0].path : document_of(sources, key);
    return beside(from, name);
}

/* ---------------------------------------------------------------- settings */

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

static int setting_fault(pappus_log *log, const char *setting, const char *message)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_PLAN, "--set", NULL, setting, "%s", message);
}

/* A setting's text as a value (NULL: out of memory): null, which takes a key away, and an object,
 * list, number, true or false of JSON where it is one and the key is not a text, else a text. */
static cJSON *setting_value(const char *key, const char *text)
{
    const pappus_plan_key *row = pappus_plan_key_find(key, text[0] == '[');
    bool is_text = row && (row->kind == PAPPUS_KEY_TEXT || row->kind == PAPPUS_KEY_PATH);
    if (strcmp(text, "null") == 0) return cJSON_CreateNull();
    if (!is_text && text[0] != '"') {
        cJSON *value;
        pappus_log unread = {0};
        int status = pappus_json_parse(&value, text, strlen(text), "", PAPPUS_E_PLAN, &unread);
        pappus_log_clear(&unread);
        if (status == PAPPUS_OK || status == PAPPUS_E_MEMORY) return value;
    }
    return cJSON_CreateString(text);
}

/* Not cJSON's replacement: when memory is short that leaves a member without name. */
static cJSON_bool set_member(cJSON *object, const char *name, cJSON *value)
{
    cJSON_DeleteItemFromObjectCaseSensitive(object, name);
    return cJSON_AddItemToObject(object, name, value);
}

/* The member of node for a step, made when it is missing: the shape it gets is
 * that of the step after it. NULL: the step does not fit, or no memory. */
static cJSON *descend(cJSON *node, const char *name, int index, bool next_is_index)
{
    bool list = cJSON_IsArray(node);
    if (list ? index < 0 : !cJSON_IsObject(node) || index >= 0) return NULL;
    if (list && index > cJSON_GetArraySize(node)) return NULL;
    cJSON *child =
        list ? cJSON_GetArrayItem(node, index) : cJSON_GetObjectItemCaseSensitive(node, name);
    if (child && !cJSON_IsNull(child)) return child;
    cJSON *fresh = next_is_index ? cJSON_CreateArray() : cJSON_CreateObject();
    if (!fresh) return NULL;
    cJSON_bool added = child && list ? cJSON_ReplaceItemInArray(node, index, fresh)
                       : list        ? cJSON_AddItemToArray(node, fresh)
                                     : set_member(node, name, fresh);
    if (added) return fresh;
    cJSON_Delete(fresh);
    return NULL;
}

/* A null takes an element out of its list; as a member it stays, for it may mean off. */
static bool place(cJSON *node, const char *name, int index, cJSON *value)
{
    if (cJSON_IsArray(node)) {
        int count = cJSON_GetArraySize(node);
        if (index < 0 || index > count) return false;
        if (cJSON_IsNull(value)) {
            cJSON_DeleteItemFromArray(node, index);
            cJSON_Delete(value);
            return true;
        }
        return index == count ? cJSON_AddItemToArray(node, value)
                              : cJSON_ReplaceItemInArray(node, index, value);
    }
    return cJSON_IsObject(node) && index < 0 && set_member(node, name, value);
}

/* Walks to the place a key names and puts the value there (or frees it). */
static bool put(cJSON *node, const char *key, cJSON *value)
{
    char name[PAPPUS_KEY_LIMIT], following[PAPPUS_KEY_LIMIT];
    int index, next_index;
    while (node && next_step(&key, name, &index)) {
        if (*key == '\0') {
            if (place(node, name, index, value)) return true;
            break;
        }
        const char *peek = key;
        if (!next_step(&peek, following, &next_index)) break;
        node = descend(node, name, index, next_index >= 0);
    }
    cJSON_Delete(value);
    return false;
}

/* The key with every index as [n], as the reader writes it. */
static char *normal_key(const char *key)
{
    char name[PAPPUS_KEY_LIMIT];
    int index;
    size_t n = 0, size = 2 * strlen(key) + 16;
    char *out = calloc(1, size);
    while (out && *key && next_step(&key, name, &index)) {
        if (index >= 0) {
            n += (size_t)snprintf(out + n, size - n, "[%d]", index);
        } else {
            n += (size_t)snprintf(out + n, size - n, "%s%s", n ? "." : "", name);
        }
    }
    if (out && (*key || n == 0)) out[0] = '\0'; /* not a key */
    return out;
}

/* What is no key, or cannot be read for want of memory, is not let through either. */
bool pappus_plan_key_names_file(const char *key)
{
    char *normal = normal_key(key);
    bool names = !normal || strcmp(normal, "base") == 0 || pappus_plan_key_holds_path(normal);
    free(normal);
    return names;
}

/* Keeps the key (takes it over), once. */
static int note_setting(pappus_plan_sources *sources, char *key, pappus_log *log)
{
    for (size_t i = 0; i < sources->setting_count; i++) {
        if (strcmp(sources->setting_keys[i], key) != 0) continue;
        free(key);
        return PAPPUS_OK;
    }
    char **keys = realloc(sources->setting_keys, (sources->setting_count + 1) * sizeof *keys);
    if (!keys) {
        free(key);
        return memory_fault(log);
    }
    sources->setting_keys = keys;
    keys[sources->setting_count++] = key;
    return PAPPUS_OK;
}

/* Puts a text as a value at a key, which it takes over. */
static int set_key(pappus_plan_sources *sources, char *key, const char *setting, const char *text,
                   pappus_log *log)
{
    bool settable = key[0] != '\0' && strcmp(key, "base") != 0;
    cJSON *value = settable ? setting_value(key, text) : NULL;
    if (settable && !value) {
        free(key);
        return memory_fault(log);
    }
    errno = 0;
    if (settable && put(sources->whole, key, value)) return note_setting(sources, key, log);
    free(key);
    if (errno == ENOMEM) return memory_fault(log);
    return setting_fault(log, setting,
                         "no such place in the plan; accepted is a dotted key, with an index "
                         "that is there or one past the last, as in altimeters[0].main_height");
}

int pappus_plan_sources_set(pappus_plan_sources *sources, const char *setting, unsigned *spoiled,
                            pappus_log *log)
{
    size_t bad;
    const char *equals = strchr(setting, '=');
    if (!pappus_utf8_is_valid(setting, strlen(setting), &bad)) {
        return setting_fault(log, NULL, "a setting is not valid UTF-8");
    }
    if (!equals || equals == setting || equals - setting >= PAPPUS_KEY_LIMIT) {
        return setting_fault(log, setting,
                             "accepted is KEY=VALUE, as in main.diameter=\"84 inch\"");
    }
    char raw[PAPPUS_KEY_LIMIT];
    memcpy(raw, setting, (size_t)(equals - setting));
    raw[equals - setting] = '\0';
    char *key = normal_key(raw);
    if (!key) return memory_fault(log);
    *spoiled |= pappus_plan_key_spoils(key);
    return set_key(sources, key, setting, equals + 1, log);
}

static int apply_settings(pappus_plan_sources *sources, const pappus_plan_options *options,
                          pappus_log *log)
{
    int result = PAPPUS_OK;
    unsigned spoiled = 0;
    for (size_t i = 0; i < options->setting_count; i++) {
        int status = pappus_plan_sources_set(sources, options->settings[i], &spoiled, log);
        if (status && result != PAPPUS_E_MEMORY) result = status;
    }
    return result;
}

/* ------------------------------------------------------------------- chain */

static int chain_fault(pappus_log *log, const char *file, const char *value, const char *message)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_PLAN, file, "base", value, "%s", message);
}

static bool is_in_chain(const pappus_plan_sources *sources, const char *path)
{
    char *real = realpath(path, NULL);
    bool found = false;
    for (size_t i = 0; real && i < sources->document_count; i++) {
        char *other = realpath(sources->documents[i].path, NULL);
        found = found || (other && strcmp(real, other) == 0);
        free(other);
    }
    free(real);
    return found;
}

static int read_tree(cJSON **out, const char *path, pappus_log *log)
{
    char *text;
    size_t length;
    pappus_error error = {0};
    int status = pappus_file_read(&text, &length, path, PAPPUS_FILE_LIMIT, PAPPUS_E_PLAN, &error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    status = pappus_json_parse_keep(out, text, length, path, PAPPUS_E_PLAN, log);
    free(text);
    return status;
}

static int add_document(pappus_plan_sources *sources, const char *path, const char *text,
                        size_t length, pappus_log *log)
{
    pappus_plan_document *document = &sources->documents[sources->document_count];
    cJSON *tree = NULL;
    int status = text ? pappus_json_parse_keep(&tree, text, length, path, PAPPUS_E_PLAN, log)
                      : read_tree(&tree, path, log);
    if (!tree || status == PAPPUS_E_MEMORY) {
        cJSON_Delete(tree);
        return status;
    }
    sources->faulty = sources->faulty || status != PAPPUS_OK;
    if (!cJSON_IsObject(tree)) {
        cJSON_Delete(tree);
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_PLAN, path, NULL, NULL,
                              "not a plan; accepted is one JSON object, {\"site\": ...}");
    }
    document->path = strdup(path);
    document->tree = tree;
    sources->document_count++;
    return document->path ? PAPPUS_OK
                          : pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, path, NULL, NULL,
                                           "out of memory");
}

/* Follows "base" from the last document; *more is false at the end of the chain. */
static int follow_base(pappus_plan_sources *sources, bool *more, pappus_log *log)
{
    const pappus_plan_document *last = &sources->documents[sources->document_count - 1];
    const cJSON *base = cJSON_GetObjectItemCaseSensitive(last->tree, "base");
    *more = base && !cJSON_IsNull(base);
    if (!*more) return PAPPUS_OK;
    if (!cJSON_IsString(base) || base->valuestring[0] == '\0') {
        char value[PAPPUS_KEY_LIMIT];
        pappus_json_text(value, sizeof value, base);
        return chain_fault(log, last->path, value, "accepted is the path of a plan in quotes");
    }
    if (sources->document_count == PAPPUS_BASE_LIMIT) {
        return chain_fault(log, last->path, base->valuestring,
                           "more than 16 plans over one another");
    }
    char *path = beside(last->path, base->valuestring);
    if (!path) return chain_fault(log, last->path, NULL, "out of memory");
    int status = is_in_chain(sources, path)
                     ? chain_fault(log, last->path, base->valuestring,
                                   "the plans go in a circle; accepted is a chain that ends")
                     : add_document(sources, path, NULL, 0, log);
    free(path);
    return status;
}

/* A list of the patch takes the place of a longer one: easily meant as a change of some of
 * its elements. */
static void tell_shortened(const cJSON *target, const cJSON *patch, const char *path,
                           const char *file, pappus_log *log)
{
    const cJSON *member;
    cJSON_ArrayForEach(member, patch)
    {
        char key[PAPPUS_KEY_LIMIT];
        const cJSON *under = cJSON_GetObjectItemCaseSensitive(target, member->string);
        int n = snprintf(key, sizeof key, "%s%s%s", path, path[0] ? "." : "", member->string);
        if (!under || n >= (int)sizeof key) continue;
        if (cJSON_IsObject(member) && cJSON_IsObject(under))
            tell_shortened(under, member, key, file, log);
        if (!cJSON_IsArray(member) || !cJSON_IsArray(under)) continue;
        int count = cJSON_GetArraySize(member), before = cJSON_GetArraySize(under);
        if (count < before)
            pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, key, NULL,
                           "%d here take the place of all %d of the base: a list is replaced "
                           "whole",
                           count, before);
    }
}

static int merge_all(pappus_plan_sources *sources, pappus_log *log)
{
    pappus_error error = {0};
    size_t last = sources->document_count - 1;
    /* Not by the merge: it would take away the last one's nulls, which mean off. */
    sources->whole = cJSON_Duplicate(sources->documents[last].tree, true);
    int status = sources->whole ? PAPPUS_OK : pappus_fail_memory(&error);
    for (size_t i = last; status == PAPPUS_OK && i-- > 0;) {
        tell_shortened(sources->whole, sources->documents[i].tree, "", sources->documents[i].path,
                       log);
        status = pappus_json_merge(&sources->whole, sources->documents[i].tree, &error);
    }
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    cJSON_DeleteItemFromObjectCaseSensitive(sources->whole, "base");
    return PAPPUS_OK;
}

int pappus_plan_sources_read(pappus_plan_sources *out, const char *path, const char *text,
                             size_t length, const pappus_plan_options *options, pappus_log *log)
{
    bool more = true;
    *out = (pappus_plan_sources){0};
    int status = add_document(out, path, text, length, log);
    while (status == PAPPUS_OK && more)
        status = follow_base(out, &more, log);
    if (status == PAPPUS_OK) status = merge_all(out, log);
    if (status == PAPPUS_OK) status = apply_settings(out, options, log);
    if (status == PAPPUS_E_PLAN && out->whole) {
        out->faulty = true;
        status = PAPPUS_OK;
    }
    if (status != PAPPUS_OK) pappus_plan_sources_clear(out);
    return status;
}

static bool copy_document(pappus_plan_document *out, const pappus_plan_document *from)
{
    out->path = strdup(from->path);
    out->tree = cJSON_Duplicate(from->tree, true);
    return out->path && out->tree;
}

int pappus_plan_sources_copy(pappus_plan_sources *out, const pappus_plan_sources *from,
                             pappus_log *log)
{
    bool copied = true;
    *out = (pappus_plan_sources){.document_count = from->document_count, .faulty = from->faulty};
    out->whole = cJSON_Duplicate(from->whole, true);
    out->setting_keys = calloc(from->setting_count + 1, sizeof *out->setting_keys);
    for (size_t i = 0; i < from->document_count; i++)
        copied = copy_document(&out->documents[i], &from->documents[i]) && copied;
    for (size_t i = 0; out->setting_keys && i < from->setting_count; i++) {
        out->setting_keys[i] = strdup(from->setting_keys[i]);
        if (!out->setting_keys[i]) break;
        out->setting_count = i + 1;
    }
    if (copied && out->whole && out->setting_count == from->setting_count) return PAPPUS_OK;
    pappus_plan_sources_clear(out);
    return memory_fault(log);
}

void pappus_plan_sources_clear(pappus_plan_sources *sources)
{
    for (size_t i = 0; i < sources->document_count; i++) {
        free(sources->documents[i].path);
        cJSON_Delete(sources->documents[i].tree);
    }
    for (size_t i = 0; i < sources->setting_count; i++)
        free(sources->setting_keys[i]);
    free(sources->setting_keys);
    cJSON_Delete(sources->whole);
    *sources = (pappus_plan_sources){0};
}
