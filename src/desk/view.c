/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is shown of a session: its pages, the plan as it stands. */
#include "desk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    pappus_desk_note *notes;
    int members[DESK_MOST_MEMBERS];
} shown_lists;

static void fill_view(pappus_desk_view *view, const desk_session *s, bool read_only,
                      shown_lists *lists)
{
    size_t members = pappus_situation_members(lists->members, DESK_MOST_MEMBERS, s->current);
    *view = (pappus_desk_view){.key = read_only ? s->reader_key : s->key,
                               .nonce = s->nonce,
                               .plan = pappus_situation_givens(s->current).plan,
                               .read_only = read_only,
                               .version = s->version,
                               .number = atomic_load(&s->number),
                               .answered = s->answered,
                               .refined = s->refined,
                               .note_count = s->notes.count,
                               .notes = lists->notes,
                               .note = s->wish.past ? s->wish.note : s->notes.count,
                               .change_count = s->wish.changes.count,
                               .changes = (const char *const *)s->wish.changes.items,
                               .message_count = s->messages.count,
                               .messages = (const char *const *)s->messages.items,
                               .member_count =
                                   members < DESK_MOST_MEMBERS ? members : DESK_MOST_MEMBERS,
                               .members = lists->members,
                               .first_utc_s = NAN,
                               .last_utc_s = NAN};
    pappus_situation_span(&view->first_utc_s, &view->last_utc_s, s->current);
}

int desk_page(char **out, desk_session *s, bool part, bool read_only, pappus_error *err)
{
    pappus_desk_view view;
    *out = NULL;
    pthread_mutex_lock(&s->lock);
    shown_lists lists = {.notes = calloc(s->notes.count + 1, sizeof *lists.notes)};
    if (!lists.notes) {
        pthread_mutex_unlock(&s->lock);
        *err = (pappus_error){.code = PAPPUS_E_MEMORY, .message = "out of memory"};
        return PAPPUS_E_MEMORY;
    }
    desk_notes_stand(lists.notes, &s->notes, &s->wish, pappus_situation_givens(s->base).plan,
                     desk_now_utc_s());
    fill_view(&view, s, read_only, &lists);
    const pappus_answer *answer = s->shown ? s->shown->answer : NULL;
    int status = part ? pappus_desk_part(out, &view, answer, err)
                      : pappus_desk_page(out, &view, answer, err);
    pthread_mutex_unlock(&s->lock);
    free(lists.notes);
    return status;
}

int desk_plan_text(char **out, desk_session *s, pappus_error *err)
{
    pthread_mutex_lock(&s->lock);
    int status = pappus_situation_plan_text(out, s->current, err);
    pthread_mutex_unlock(&s->lock);
    return status;
}

bool desk_is_settled(desk_session *s)
{
    pthread_mutex_lock(&s->lock);
    bool settled = s->settled == atomic_load(&s->number) || s->ending;
    pthread_mutex_unlock(&s->lock);
    return settled;
}

uint64_t desk_version(desk_session *s)
{
    pthread_mutex_lock(&s->lock);
    uint64_t version = s->version;
    pthread_mutex_unlock(&s->lock);
    return version;
}
