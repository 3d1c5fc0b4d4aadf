/* SPDX-License-Identifier: GPL-3.0-or-later
 * Forms as browsers send them (URL Standard, 5.1: application/x-www-form-urlencoded parsing), who
 * may ask (RFC 9110, 7.2: Host; Fetch Standard, 3.2: Origin), and lists of texts. */
#include "http.h"
#include "suite.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static bool read_text(desk_form *form, const char *text)
{
    return desk_form_read(form, text, strlen(text));
}

/* The values of one field; NULL: no field of this name. */
START_TEST(fields_are_decoded)
{
    static const struct {
        const char *text, *name, *value;
    } cases[] = {{"a=b", "a", "b"},
                 {"a=b&c=d", "c", "d"},
                 {"a=b+c", "a", "b c"},
                 {"a=b%20c", "a", "b c"},
                 {"a=%2B%2f%26%3D", "a", "+/&="},
                 {"a=b=c", "a", "b=c"},
                 {"a", "a", ""},
                 {"a=", "a", ""},
                 {"=b", "", "b"},
                 {"&&a=1&&", "a", "1"},
                 {"a%5B0%5D.b=x", "a[0].b", "x"},
                 {"a=1&a=2", "a", "1"}, /* the first, as URLSearchParams.get has it */
                 {"a=%c3%A9", "a", "\xC3\xA9"},
                 {"a=%", "a", "%"}, /* what is no escape stands for itself */
                 {"a=%4", "a", "%4"},
                 {"a=%g1%1g", "a", "%g1%1g"},
                 {"a=%%41", "a", "%A"},
                 {"A=b", "a", NULL},
                 {"", "a", NULL}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        desk_form form;
        ck_assert_msg(read_text(&form, cases[i].text), "%s", cases[i].text);
        const char *value = desk_form_value(&form, cases[i].name);
        ck_assert_msg((value == NULL) == (cases[i].value == NULL), "%s", cases[i].text);
        if (value) ck_assert_str_eq(value, cases[i].value);
        desk_form_clear(&form);
    }
}
END_TEST

START_TEST(control_characters_and_crowds_are_refused)
{
    static const char *const bad[] = {"a=%00", "a=%0a", "a=%0D",    "a=\t", "a=%1f",
                                      "a=%7F", "%00=a", "a=1&b=\n", "\x01", "a=%7f&b=1"};
    char many[2000] = "";
    desk_form form;
    for (size_t i = 0; i < COUNT(bad); i++) {
        ck_assert_msg(!read_text(&form, bad[i]), "%s", bad[i]);
        ck_assert_ptr_null(form.text);
        ck_assert_ptr_null(form.fields);
    }
    ck_assert(!desk_form_read(&form, "a=1\0b=2", 7));
    for (size_t i = 0; i < 200; i++)
        strcat(many, "a=1&");
    ck_assert(read_text(&form, many));
    ck_assert_uint_eq(form.count, 200);
    desk_form_clear(&form);
    ck_assert(!read_text(&form, strcat(many, "a=1")));
}
END_TEST

START_TEST(a_set_takes_the_place_of_the_one_before)
{
    desk_texts list = {0}, copy;
    ck_assert(desk_texts_set(&list, "wind.surface.speed", "3 mph"));
    ck_assert(desk_texts_set(&list, "wind.surface", "null"));
    ck_assert_uint_eq(list.count, 2); /* a key within another is another */
    ck_assert(desk_texts_set(&list, "rocket.mass", "a=b"));
    ck_assert(desk_texts_set(&list, "wind.surface.speed", "9 mph"));
    ck_assert_uint_eq(list.count, 3);
    ck_assert_str_eq(list.items[0], "wind.surface=null");
    ck_assert_str_eq(list.items[1], "rocket.mass=a=b");
    ck_assert_str_eq(list.items[2], "wind.surface.speed=9 mph"); /* the last that was set is last */
    ck_assert(desk_texts_copy(&copy, &list));
    ck_assert_uint_eq(copy.count, 3);
    for (size_t i = 0; i < copy.count; i++)
        ck_assert_str_eq(copy.items[i], list.items[i]);
    desk_texts_remove(&copy, 0);
    ck_assert_uint_eq(copy.count, 2);
    ck_assert_str_eq(copy.items[0], "rocket.mass=a=b");
    desk_texts_clear(&copy);
    desk_texts_clear(&list);
    ck_assert_uint_eq(list.count, 0);
}
END_TEST

/* A door of this machine, one of an address, one of any address. */
START_TEST(hosts_and_origins)
{
    static const desk_door local = {.address = "127.0.0.1", .port = 8123},
                           four = {.address = "192.0.2.7", .port = 8124, .read_only = true},
                           six = {.address = "[2001:db8::7]", .port = 8124, .read_only = true},
                           any = {.port = 8124, .read_only = true};
    static const struct {
        const desk_door *door;
        const char *host;
        bool own;
    } cases[] = {{&local, "127.0.0.1:8123", true},
                 {&local, "localhost:8123", true},
                 {&local, "LOCALHOST:8123", true}, /* RFC 3986, 3.2.2: in any case */
                 {&local, "127.0.0.1:8124", false},
                 {&local, "127.0.0.1", false},
                 {&local, "127.0.0.1:81230", false},
                 {&local, "127.0.0.1:8123.example", false},
                 {&local, "evil.example:8123", false},
                 {&local, "[::1]:8123", false},
                 {&local, "0.0.0.0:8123", false},
                 {&local, "", false},
                 {&four, "192.0.2.7:8124", true},
                 {&four, "localhost:8124", false}, /* a name leads to whom its server says */
                 {&four, "192.0.2.8:8124", false},
                 {&six, "[2001:DB8::7]:8124", true},
                 {&six, "2001:db8::7:8124", false},
                 {&any, "192.0.2.7:8124", true},
                 {&any, "[2001:db8::7]:8124", true},
                 {&any, "192.0.2.7:8125", false},
                 {&any, "192.0.2:8124", false},
                 {&any, "evil.example:8124", false},
                 {&any, "[192.0.2.7]:8124", false},
                 {&any, ":8124", false},
                 {&any, "[]:8124", false},
                 {&any, "]:8124", false},
                 {&any, "[", false},
                 {&any, "", false}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        char origin[100];
        ck_assert_msg(desk_host_is_own(cases[i].door, cases[i].host) == cases[i].own, "%s",
                      cases[i].host);
        snprintf(origin, sizeof origin, "http://%s", cases[i].host);
        ck_assert_msg(desk_origin_is_own(cases[i].door, origin) == cases[i].own, "%s", origin);
        snprintf(origin, sizeof origin, "https://%s", cases[i].host);
        ck_assert_msg(!desk_origin_is_own(cases[i].door, origin), "%s", origin);
    }
    ck_assert(!desk_origin_is_own(&local, "null"));
    ck_assert(!desk_origin_is_own(&local, "127.0.0.1:8123"));
    ck_assert(!desk_origin_is_own(&local, ""));
}
END_TEST

SUITE("desk: forms")
{
    tcase_add_test(tests, fields_are_decoded);
    tcase_add_test(tests, control_characters_and_crowds_are_refused);
    tcase_add_test(tests, a_set_takes_the_place_of_the_one_before);
    tcase_add_test(tests, hosts_and_origins);
}
