/* Adding findings to a pv_diags (its public face is pavior/diag.h). */
#ifndef BASE_DIAG_H
#define BASE_DIAG_H

#include <pavior/diag.h>
#include <pavior/language.h>

/* A place in an input. Zero means: no place. */
typedef struct pv_place {
    const char *file;   /* borrowed, may be NULL */
    const char *source; /* start of the line in the input, ends at newline or source_length */
    size_t source_length;
    int line, column, length;
} pv_place;

/* Past this many findings the rest is only counted: hostile input can't flood the terminal. Only
 * the first error is always kept, in the place of a note. */
#define PV_DIAGS_MAX 100

/* Says all later messages and hints by `say` in that language, a message also as it is once it is
 * made: pv_say (po/po.h), which stands above
 * this room. diags may be NULL. */
typedef const char *pv_sayer(const pv_language *language, const char *english);
void pv_diags_speak(pv_diags *diags, pv_sayer *say, const pv_language *language);
/* For texts that go into them. */
const pv_language *pv_diags_language(const pv_diags *diags);

/* Copies everything. diags may be NULL (the finding is dropped). place and hint may be NULL. */
void pv_diags_add(pv_diags *diags, pv_severity severity, pv_cause cause, const pv_place *place,
                  const char *hint, const char *format, ...) __attribute__((format(printf, 6, 7)));

/* An error without a place. */
void pv_fail(pv_diags *diags, pv_cause cause, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Says that memory ran out; needs none itself. */
void pv_fail_memory(pv_diags *diags);

bool pv_diags_full(const pv_diags *diags);

#endif
