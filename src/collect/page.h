/* Data of a page, key by key, and what several pages say alike. Private to this room. */
#ifndef COLLECT_PAGE_H
#define COLLECT_PAGE_H

#include "collect/tally.h"
#include "po/po.h"
#include "json/json.h"

typedef struct pv_results_page {
    const pv_tally *tally;
    pv_json_writer data;
    pv_diags *diags;
    bool failed; /* memory ran out */
} pv_results_page;

/* Begins with what all pages have: language, title, course and edition. */
void pv_results_page_begin(pv_results_page *page, const pv_tally *tally, const char *title,
                           pv_diags *diags);
/* The page; NULL with a reason. */
char *pv_results_page_end(pv_results_page *page, const char *template_name);

void pv_results_text(pv_results_page *page, const char *key, const char *text);
void pv_results_count(pv_results_page *page, const char *key, size_t n);
/* printf's words. */
void pv_results_say(pv_results_page *page, const char *key, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Takes a text over, such as a drawing. */
void pv_results_take(pv_results_page *page, const char *key, pv_text *text);

/* With a true minus sign. */
pv_digits pv_results_number(double value, int decimals);

/* A verdict's sign and colour: "ok", "no", "un", "er". */
const char *pv_results_kind(const pv_tally_row *row);
/* A picture: file (with its page), sheet, paper, verdict in words, answer, advice, report. */
void pv_results_row(pv_results_page *page, const pv_tally_row *row);

#endif
