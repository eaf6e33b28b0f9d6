/* A page's data: what json/json.h's writer writes, in the shapes that templates ask for. In all of
 * them key NULL stands for an item of a list. Numbers are text, as they will be read; where a value
 * is not finite they are a dash. */
#ifndef HTML_DATA_H
#define HTML_DATA_H

#include "json/json.h"

#include <pavior/language.h>

#define PV_DASH "\xE2\x80\x93"

/* ---- numbers as text, also for lettering in drawings ---- */

/* With a true minus sign; with its sign always, but for zero; "±0.050". */
void pv_html_number(pv_text *to, double value, int decimals);
void pv_html_signed(pv_text *to, double value, int decimals);
void pv_html_uncertainty(pv_text *to, double U, int decimals);

/* ---- members ---- */

void pv_data_open(pv_json_writer *w, const char *key, char bracket);
void pv_data_text(pv_json_writer *w, const char *key, const char *text); /* NULL is null */
void pv_data_words(pv_json_writer *w, const char *key, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void pv_data_count(pv_json_writer *w, const char *key, size_t n);
void pv_data_bool(pv_json_writer *w, const char *key, bool value);
void pv_data_number(pv_json_writer *w, const char *key, double value, int decimals);
void pv_data_signed(pv_json_writer *w, const char *key, double value, int decimals);
void pv_data_uncertainty(pv_json_writer *w, const char *key, double U, int decimals);
/* A text that was put together, or a drawing (its key ends in "svg"); the text is empty again. */
void pv_data_take(pv_json_writer *w, const char *key, pv_text *text);

/* ---- tables: {{> table}} ----
 *
 * {"caption", "heads", "rows": [[cell, ...], ...], "region"}. A cell that is text is a number's, to
 * the right.
 */

typedef struct pv_head {
    const char *words; /* PV_SAID, or a symbol */
    char how;          /* 0: over numbers; 't': over words, to the left; 'i': a symbol, its unit */
} pv_head;

/* The caption has been said already. `region` tells the table from others of its caption in the
 * same page; NULL where there are none. */
void pv_table_start(pv_json_writer *w, const char *key, const pv_language *language,
                    const char *caption, const pv_head *heads, size_t n);
void pv_table_end(pv_json_writer *w, const char *region);
void pv_row_start(pv_json_writer *w);
void pv_row_end(pv_json_writer *w);
/* The cell that names its row; words, to the left; a number that matters. Empty ones get a dash. */
void pv_cell_head(pv_json_writer *w, const char *text);
void pv_cell_words(pv_json_writer *w, const char *text);
void pv_cell_strong(pv_json_writer *w, const char *text);
/* Of one of these kinds: "th", "left", "strong"; the text is empty again. */
void pv_cell_take(pv_json_writer *w, const char *kind, pv_text *text);
/* Any other: {"o": {kind: {...}}}, to be closed with pv_cell_end. `kind` is one of table.html's. */
void pv_cell_start(pv_json_writer *w, const char *kind);
void pv_cell_end(pv_json_writer *w);

#endif
