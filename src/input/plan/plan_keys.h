/* SPDX-License-Identifier: GPL-3.0-or-later
 * The one table of a plan's keys. The reader, the starter plan, the JSON Schema
 * and the manual's key list all come from it. */
#ifndef PAPPUS_INPUT_PLAN_KEYS_H
#define PAPPUS_INPUT_PLAN_KEYS_H

#include <pappus/plan.h>
#include "units.h"

typedef enum {
    PAPPUS_KEY_OBJECT,    /**< offset: bool that says it is there, or none */
    PAPPUS_KEY_LIST,      /**< of objects; offset: pointer, extra: count */
    PAPPUS_KEY_VALUE,     /**< double */
    PAPPUS_KEY_UNCERTAIN, /**< pappus_uncertain */
    PAPPUS_KEY_TEXT,      /**< char *, low to high bytes long */
    PAPPUS_KEY_PATH,      /**< char *, relative to the folder of the file it is in */
    PAPPUS_KEY_CHOICE,    /**< enum (unsigned) of choices */
    PAPPUS_KEY_SWITCH,    /**< bool: the second of two choices */
    PAPPUS_KEY_SIZE,      /**< size_t */
    PAPPUS_KEY_INT,       /**< int */
    PAPPUS_KEY_UINT64,    /**< uint64_t */
    PAPPUS_KEY_HEADING,   /**< pappus_heading: a bearing, upwind or downwind */
    PAPPUS_KEY_BEARING,   /**< double, degrees true */
    PAPPUS_KEY_TIME,      /**< double, seconds since 1970 */
    PAPPUS_KEY_POINTS     /**< double *, extra: count of latitude, longitude pairs */
} pappus_key_kind;

enum {
    PAPPUS_KEY_REQUIRED = 1,  /**< in its object, when that is there */
    PAPPUS_KEY_OPTIONAL = 2,  /**< of an object: when absent its keys have no defaults */
    PAPPUS_KEY_CAN_BE_OFF = 4 /**< null and "off" switch it off */
};

/** What of a situation a key spoils, beside the plan itself: the wind files as read, the
 * winds at the launch, which are made of them, the air, which is made of the winds, and the
 * field. What spoils one spoils all that is made of it. */
enum {
    PAPPUS_SPOILS_FILES = 1,
    PAPPUS_SPOILS_WINDS = 2,
    PAPPUS_SPOILS_FIELD = 4,
    PAPPUS_SPOILS_AIR = 8
};

#define PAPPUS_NO_OFFSET ((size_t)-1)

typedef struct {
    const char *key; /**< dotted; "[]" after the name of a list */
    unsigned spoils; /**< 0: what is read and made before the sampling does not depend on it */
    pappus_key_kind kind;
    pappus_dimension dimension;
    const char *const *choices; /**< ends in NULL */
    size_t offset;              /**< in pappus_plan, or in the element of the list it is in */
    size_t extra;               /**< list and points: the count; else bool: it was given */
    size_t size;                /**< list: of an element */
    const char *shorthand;      /**< list: a text stands for an object with this key */
    double low, high;           /**< SI, both accepted */
    const char *assumed;        /**< default, as a plan would write it; NULL: none */
    const char *starter;        /**< value in the starter plan; elements of a list parted by | */
    unsigned flags;
    const char *help;
} pappus_plan_key;

extern const pappus_plan_key pappus_plan_keys[];
extern const size_t pappus_plan_key_count;

/** The row of a dotted key, with "[]" or "[3]" after the names of lists. A list
 * and a value may share their name (field.keep_out): list says which. */
const pappus_plan_key *pappus_plan_key_find(const char *key, bool list);
/** What a value set at a dotted key spoils: at the key itself and, when that is a group, a
 * list or one of its elements, everywhere below it. */
unsigned pappus_plan_key_spoils(const char *key);
/** True when a value set there could hold a path: at the key itself or below it. */
bool pappus_plan_key_holds_path(const char *key);
/** True when the row lies directly in `parent` ("" for the plan, "altimeters[]"
 * inside an altimeter). */
bool pappus_plan_key_is_in(const pappus_plan_key *row, const char *parent);
/** The last name of the key, without "[]"; copied, cut to size. */
void pappus_plan_key_leaf(char *out, size_t size, const pappus_plan_key *row);
/** The key nearest to an unknown one in `parent` by edit distance. */
const pappus_plan_key *pappus_plan_key_nearest(const char *parent, const char *name);

#endif
