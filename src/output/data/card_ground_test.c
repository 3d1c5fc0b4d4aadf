/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ground test on the bench card: what to check, and the record to fill in. */
#include "card_ground_test.h"

static const char *const checklist[] = {
    "Local law, the range safety officer and an experienced mentor agree to the test.",
    "Final flight configuration: packed canopies, harness, wadding or blanket, shear pins, "
    "sealed bay, vent holes, altimeters or their weight. What is tested is what flies.",
    "Airframe in a cradle on soft clear ground; nobody before or behind it; eyes and ears "
    "protected; an extinguisher at hand; nothing near that can burn.",
    "Charge connected last, leads shorted until then. Fired through remote leads by the one "
    "person who holds the key, after a loud count, with everyone standing well clear.",
    "PASS: all pins sheared, full separation, canopy and harness fully out, nothing burnt or "
    "torn; twice in a row with the primary alone, then once with the backup alone.",
    "NO PASS: wait a minute, short the leads, then go near. Change one thing, write it down, "
    "test again.",
    "A configuration that has not passed its ground test does not fly.",
    NULL};

static const char caution[] =
    "These masses are a starting point for a ground test, never a setting. Leaks, vents, packing "
    "and heat loss change what a charge does. Energetic materials only under local law and with an "
    "experienced mentor. Local safety codes and the range safety officer stand above this card.";

bool card_charged(const pappus_card *card)
{
    return card->drogue_charge.present || card->main_charge.present;
}

/* Lines of the record, to be filled in by hand. */
static void add_records(const sheet *s, cJSON *table, const pappus_charge *c)
{
    for (int backup = 0; c->present && backup < 2; backup++)
        sheet_row(s, table, false, sheet_text(s, "%s, %s", c->name, backup ? "backup" : "primary"),
                  sheet_text(s, "%.2f g", 1000 * (backup ? c->backup_mass_kg : c->mass_kg)), "", "",
                  "", "", "", NULL);
}

void card_ground_test(const sheet *s, const pappus_card *card)
{
    cJSON *to = sheet_section(
        s, (sheet_heading){
               .id = "ground-test", .text = "Ground test", .list = "check", .caution = caution});
    for (const char *const *line = checklist; *line; line++)
        sheet_say(s, to, "items", *line);
    cJSON *table = sheet_part(s, to, NULL, "blanks", "Tests made",
                              "Charge|Card|Tested, g|Date|What changed|Pass?|By");
    add_records(s, table, &card->drogue_charge);
    add_records(s, table, &card->main_charge);
    if (!card_charged(card)) sheet_row(s, table, false, "", "", "", "", "", "", "", NULL);
}
