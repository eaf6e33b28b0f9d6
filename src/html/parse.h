/* A template as a list of bits: text and tags. Private to this room. */
#ifndef HTML_PARSE_H
#define HTML_PARSE_H

#include "html/html.h"

typedef enum pv_bit_kind {
    PV_BIT_TEXT,
    PV_BIT_VALUE,
    PV_BIT_SVG,
    PV_BIT_SECTION,
    PV_BIT_INVERTED,
    PV_BIT_WORDS, /* {{#_}} */
    PV_BIT_CLOSE,
    PV_BIT_PARTIAL
} pv_bit_kind;

typedef struct pv_bit {
    pv_bit_kind kind;
    const char *text; /* of the template: its characters, or the tag's name */
    size_t length;
    const char *start, *after; /* the whole tag */
    size_t close;              /* of what opens: the bit that closes it */
} pv_bit;

typedef struct pv_markup {
    const pv_template *of;
    pv_bit *items;
    size_t n, cap;
} pv_markup;

/* Borrows the template. False with a finding; the caller drops it either way. */
bool pv_markup_read(pv_markup *markup, const pv_template *template, pv_diags *diags);
void pv_markup_drop(pv_markup *markup);
/* An error at that place of the template. */
void pv_template_fail(const pv_template *template, const char *at, pv_diags *diags, pv_cause cause,
                      const char *format, ...) __attribute__((format(printf, 5, 6)));

#endif
