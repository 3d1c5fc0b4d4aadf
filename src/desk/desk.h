/* SPDX-License-Identifier: GPL-3.0-or-later
 * The desk: one open situation, one computing thread, a page on this machine. What is here is of
 * the program; the library is used through its public header.
 *
 *   session.c   what is asked for: the plan, what was changed, which reading is shown
 *   layers.c    from that to a situation: notes under changes, over the plan as it was read
 *   notes.c     the readings, in a file beside the plan that only grows
 *   worker.c    the computing thread: a first look, then all, then the hours; errands
 *   server.c    what is asked over HTTP, and who may ask
 *   guard.c     key, Host, Origin, sizes, rates
 *   form.c      forms as browsers send them */
#ifndef PAPPUS_DESK_INSIDE_H
#define PAPPUS_DESK_INSIDE_H

#include <pappus/pappus.h>

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>

enum {
    DESK_MOST_NOTES = 500,
    DESK_MOST_CHANGES = 100,
    DESK_MOST_MESSAGES = 20,
    DESK_MOST_MEMBERS = 200, /* in the list of the page */
    DESK_MOST_ERRANDS = 8,
    DESK_MOST_LANDINGS = 200000,
    DESK_LINE = 1200,
    DESK_KEY = 33 /* 128 bits in hexadecimal, and its end */
};

/* ------------------------------------------------------------------- lists */

/** A growing list of texts that it owns. */
typedef struct {
    size_t count;
    char **items;
} desk_texts;

/** Adds a copy; false when out of memory. */
bool desk_texts_add(desk_texts *list, const char *text);
/** Adds "key=value", in place of what the key was set to before. */
bool desk_texts_set(desk_texts *list, const char *key, const char *value);
void desk_texts_remove(desk_texts *list, size_t index);
void desk_texts_clear(desk_texts *list);
bool desk_texts_copy(desk_texts *out, const desk_texts *from);

/* -------------------------------------------------------------------- forms */

typedef struct {
    char *name, *value;
} desk_field;

typedef struct {
    size_t count;
    desk_field *fields;
    char *text; /**< owned; names and values point into it */
} desk_form;

/** Reads an application/x-www-form-urlencoded body (URL Standard, 5.1). False: out of memory, or
 * a NUL or control character in it, or more than 200 fields. */
bool desk_form_read(desk_form *out, const char *bytes, size_t size);
void desk_form_clear(desk_form *form);
/** NULL when there is none. */
const char *desk_form_value(const desk_form *form, const char *name);

/* -------------------------------------------------------------------- notes */

/** A reading, its values as they were given. */
typedef struct {
    double time_utc_s;
    char *speed, *direction, *height, *gust; /**< gust NULL: none */
    double height_m;
    size_t line; /**< of the file, from 1 */
} desk_note;

typedef struct {
    char *path;
    size_t count;
    desk_note *items; /**< in order of time */
    size_t lines;     /**< of the file, a note or not */
} desk_notes;

/** Reads the notes beside a plan; a file that is not there has none. Lines that are no notes are
 * told and left. */
int desk_notes_open(desk_notes *notes, const char *plan_path, pappus_log *log);
/** Appends to the file, to the disk, and then to the list. */
int desk_notes_add(desk_notes *notes, const desk_note *note, pappus_error *err);
/** Strikes a note: the file says so, the list no longer has it. */
int desk_notes_strike(desk_notes *notes, size_t index, pappus_error *err);
void desk_notes_close(desk_notes *notes);

/* ------------------------------------------------------------------- layers */

/** What is asked for over the plan as it was read. */
typedef struct {
    desk_texts changes; /**< "key=value" */
    char *pad;          /**< NULL: as the plan was opened */
    bool past;          /**< as at a note, not now */
    size_t note;        /**< the note that is shown when `past` */
} desk_wish;

bool desk_wish_copy(desk_wish *out, const desk_wish *from);
void desk_wish_clear(desk_wish *wish);

/** How each of the notes stands at the time of a wish; out has notes->count of them. */
void desk_notes_stand(pappus_desk_note *out, const desk_notes *notes, const desk_wish *wish,
                      const pappus_plan *plan, double now_utc_s);
/** The settings of a wish: those that count of the notes, then what was changed. */
int desk_layers_settings(desk_texts *out, const desk_wish *wish, const desk_notes *notes,
                         const pappus_plan *plan, double now_utc_s);

/* ------------------------------------------------------------------- session */

/** An answer that several may look at. */
typedef struct {
    atomic_size_t holders;
    pappus_answer *answer;
} desk_shown;

/** Something to be computed for one who waits. */
typedef struct desk_errand {
    enum { DESK_ANSWER_JSON, DESK_WRITE } kind;
    pappus_situation *situation; /**< of DESK_ANSWER_JSON */
    atomic_bool done;
    int status; /**< a pappus_status */
    char *text; /**< the answer, or what went wrong */
    void *waiter;
    struct desk_errand *next;
} desk_errand;

typedef struct {
    const char *plan_path;
    pappus_plan_options plan;
    pappus_run run;
    pappus_crs crs;
} desk_options;

typedef struct {
    desk_options options;
    char key[DESK_KEY], reader_key[DESK_KEY], nonce[DESK_KEY];

    pthread_mutex_t lock; /* of all that follows */
    pthread_cond_t work;
    pthread_t thread;
    atomic_bool ending;
    pappus_situation *base;    /* the plan as it was read */
    pappus_situation *current; /* as it is asked for */
    desk_texts laid;           /* the settings of current over base */
    char *laid_pad;
    desk_wish wish;
    desk_notes notes;
    desk_texts messages;
    atomic_ulong number; /* of the change that is asked for */
    uint64_t version;    /* of what is shown */
    desk_shown *shown;
    uint64_t answered; /* number of the change that shown is for */
    uint64_t settled;  /* number of the last change that was computed to its end, or failed */
    bool refined;
    desk_errand *errands; /* the first is next */
    atomic_size_t errand_count;
    void (*tell)(void *context, desk_errand *errand); /* NULL: something new is shown */
    void *tell_context;

} desk_session;

/** Opens plan and notes; the log gets faults, warnings and notes. */
int desk_session_open(desk_session *s, const desk_options *options, pappus_log *log);
int desk_session_start(desk_session *s);
/** Stops the computing and waits for it. */
void desk_session_stop(desk_session *s);
void desk_session_close(desk_session *s);
double desk_now_utc_s(void);

/** Each of these takes one request and returns PAPPUS_OK, or says in `err` what is refused;
 * what is then shown is as before. */
int desk_change(desk_session *s, const desk_form *form, pappus_error *err);
int desk_take_note(desk_session *s, const desk_form *form, pappus_error *err);
int desk_strike(desk_session *s, const desk_form *form, pappus_error *err);
int desk_show(desk_session *s, const desk_form *form, pappus_error *err);
int desk_undo(desk_session *s, const desk_form *form, pappus_error *err);
int desk_reset(desk_session *s, const desk_form *form, pappus_error *err);
int desk_reread(desk_session *s, const desk_form *form, pappus_error *err);

/** PAPPUS_E_REFUSED for a key that names a file, or too much to compute. */
int desk_setting_check(const char *setting, pappus_error *err);
/** An errand for the computing thread; NULL when there are too many. settings: of
 * DESK_ANSWER_JSON, over the plan as it was read. */
int desk_errand_begin(desk_errand **out, desk_session *s, int kind, size_t count,
                      const char *const *settings, void *waiter, pappus_error *err);
void desk_errand_free(desk_errand *errand);

/** A page, or the part of it that changes; the caller frees. */
int desk_page(char **out, desk_session *s, bool part, bool read_only, pappus_error *err);
int desk_plan_text(char **out, desk_session *s, pappus_error *err);
/** Whether the last change has been answered with all landings, or cannot be. */
bool desk_is_settled(desk_session *s);
uint64_t desk_version(desk_session *s);

/* What requests need of the session; the lock is held. */
int desk_fail(pappus_error *err, int code, const char *value, const char *message);
int desk_fail_memory(pappus_error *err);
/** The first fault of a log, else the text of the status. */
int desk_fail_log(pappus_error *err, const pappus_log *log, int status);
int desk_read_plan(pappus_situation **out, const desk_session *s, pappus_log *log);
/** Another situation with settings laid over one; the same when there are none. */
int desk_vary(pappus_situation **out, const pappus_situation *from, const desk_texts *settings,
              pappus_log *log);
/** Makes what a wish asks for the current situation. */
int desk_make(desk_session *s, const desk_wish *wish, pappus_error *err);
/** The same, and takes the wish in place of the one before; takes it over either way. */
int desk_take(desk_session *s, desk_wish *wish, pappus_error *err);

/* What the computing thread calls. */
void *desk_work(void *session);
/** The first fault of a log in one line. */
void desk_log_line(char out[DESK_LINE], const pappus_log *log, int status);
/** Adds a message to what is shown; the lock is held. */
void desk_say(desk_session *s, const char *format, ...) __attribute__((format(printf, 2, 3)));
void desk_shown_release(desk_shown *shown);

/* -------------------------------------------------------------------- server */

typedef struct desk_server desk_server;
/** Serves at 127.0.0.1:port (0: one that is free), and where `listen` (NULL: not) says for
 * those who look only. */
int desk_server_start(desk_server **out, desk_session *s, int port, const char *listen,
                      pappus_error *err);
int desk_server_port(const desk_server *server, bool readers);
/** What is to be done each second: requests that never end, those who wait too long. */
void desk_server_tick(desk_server *server);
void desk_server_stop(desk_server *server);

#endif
