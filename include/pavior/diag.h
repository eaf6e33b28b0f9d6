/* pavior/diag.h - what went wrong, where, and what to do about it.
 *
 * Every function of the library that can fail takes a pv_diags and says there what is wrong, in
 * sentences that a user can act on; NULL may stand for it everywhere, and then only the result
 * tells that something failed. A function without one can only run out of memory: NULL says it.
 * Nothing in the library prints or exits. */
#ifndef PAVIOR_DIAG_H
#define PAVIOR_DIAG_H

#include <stdbool.h>
#include <stddef.h>

#ifndef PV_API
#define PV_API __attribute__((visibility("default")))
#endif

#ifdef __cplusplus
extern "C" {
#endif

typedef enum pv_severity {
    PV_NOTE,    /* worth knowing */
    PV_WARNING, /* the work was done, but look at this */
    PV_ERROR    /* the work could not be done */
} pv_severity;

/* Why an error arose; decides a program's exit status. */
typedef enum pv_cause {
    PV_CAUSE_NONE,
    PV_CAUSE_USAGE,  /* asked for something that doesn't exist or doesn't fit together */
    PV_CAUSE_DATA,   /* the input is malformed or contradicts itself */
    PV_CAUSE_LIMIT,  /* the input is larger than a documented limit */
    PV_CAUSE_INPUT,  /* a file cannot be read */
    PV_CAUSE_CREATE, /* a file cannot be created */
    PV_CAUSE_OUTPUT, /* writing failed */
    PV_CAUSE_MEMORY, /* out of memory */
    PV_CAUSE_LIBRARY /* a library that pavior stands on refused */
} pv_cause;

/* One finding. All pointers belong to the list it came from and live as long as that. */
typedef struct pv_diag {
    pv_severity severity;
    pv_cause cause;
    const char *file;    /* name of the input, or NULL */
    int line, column;    /* from 1, column in characters; 0 where there is no place */
    int length;          /* characters to underline, at least 1 where there is a column */
    const char *message; /* one sentence, no full stop, no newline */
    const char *hint;    /* what to do about it, or NULL */
    const char *source;  /* the line of input it is about, without newline, or NULL */
} pv_diag;

typedef struct pv_diags pv_diags;

/* A new, empty list; NULL where memory ran out. The caller frees it. */
PV_API pv_diags *pv_diags_new(void);
PV_API void pv_diags_free(pv_diags *diags); /* NULL is fine */

/* How many findings are at least this severe; and of all findings, how many the list keeps. The
 * first error is among them. NULL has none. */
PV_API size_t pv_diags_count(const pv_diags *diags, pv_severity at_least);
PV_API size_t pv_diags_size(const pv_diags *diags);
PV_API const pv_diag *pv_diags_at(const pv_diags *diags, size_t index); /* NULL past the end */

/* Adds a finding of the caller's own, so that a sink of sheets, say, can tell why it stopped. All
 * is copied; `diags` and `hint` may be NULL; format and what follows are printf's. */
PV_API void pv_diags_say(pv_diags *diags, pv_severity severity, pv_cause cause, const char *hint,
                         const char *format, ...) __attribute__((format(printf, 5, 6)));

/* Cause of the first error; PV_CAUSE_NONE where there is none. PV_CAUSE_MEMORY also where the list
 * itself ran out of memory. */
PV_API pv_cause pv_diags_cause(const pv_diags *diags);

/* In a few words: "bad input", "out of memory". Never NULL. */
PV_API const char *pv_cause_text(pv_cause cause);

/* One finding as text, as a compiler would print it: place, severity, message, the source line with
 * a caret under the place, and the hint. Ends with a newline. The caller frees it with pv_free;
 * NULL where memory ran out. */
PV_API char *pv_diag_text(const pv_diag *diag);

/* Frees what the library handed out as text or bytes. NULL is fine. */
PV_API void pv_free(void *memory);

#ifdef __cplusplus
}
#endif
#endif
