/* Text that grows: appended to with printf's words, checked once at the end. Its numbers have a
 * decimal point, whatever the locale is. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct pv_text {
    char *chars; /* NUL-terminated once anything was appended */
    size_t length, capacity;
    bool failed;                        /* memory ran out: later appends do nothing */
    const struct pv_language *language; /* what pv_text_say (po/po.h) says it in; NULL: English */
} pv_text;

#define PV_TEXT_INIT                                                                               \
    {                                                                                              \
        NULL, 0, 0, false, NULL                                                                    \
    }
#define PV_TEXT_IN(language)                                                                       \
    {                                                                                              \
        NULL, 0, 0, false, language                                                                \
    }

/* Marks a text that is said elsewhere, in the language of whoever asks (po/po.h). */
#define PV_SAID(english) english

void pv_text_add(pv_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
void pv_text_addv(pv_text *text, const char *format, va_list args)
    __attribute__((format(printf, 2, 0)));
void pv_text_bytes(pv_text *text, const void *bytes, size_t length);
/* A stranger's text for a terminal: what doesn't print (pv_prints) and isn't one of the ASCII
 * characters in `also` becomes "?". */
void pv_text_shown(pv_text *text, const char *chars, size_t length, const char *also);

/* A number with so many decimals (0 to 12), in the C locale whatever the locale is, without the
 * sign of a zero. "-" where it isn't finite or beyond 1e15. Meant to stand among printf's
 * arguments: pv_fixed(x, 2).chars. */
typedef struct pv_digits {
    char chars[40];
} pv_digits;
pv_digits pv_fixed(double value, int decimals);

/* Hands the characters over (an empty string where nothing was appended), or NULL where memory ran
 * out; the text is empty again either way, its language is as it was. The caller frees them with
 * pv_free. */
char *pv_text_take(pv_text *text);
void pv_text_drop(pv_text *text);

#endif
