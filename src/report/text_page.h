/* Text for a terminal: columns of UTF-8, colour, words wrapped. */
#ifndef REPORT_TEXT_PAGE_H
#define REPORT_TEXT_PAGE_H

#include "base/text.h"

#include <pavior/inspect.h>

#define PV_COLUMNS    78
#define PV_PLUS_MINUS "\xC2\xB1"

typedef struct pv_text_page {
    pv_text out;
    bool colour;
} pv_text_page;

/* Columns that a UTF-8 text takes, one for each character. */
size_t pv_columns(const char *text);

void pv_put_blanks(pv_text_page *p, size_t n);
/* Bytes from files and names: control characters don't reach a terminal. */
void pv_put_plain(pv_text_page *p, const char *text, size_t length);
/* Left in a field of so many columns; of what is longer an ellipsis takes the middle out, since
 * names differ at their ends. */
void pv_put_left(pv_text_page *p, const char *text, size_t width);
void pv_put_right(pv_text_page *p, const char *text, size_t width);
void pv_put_number(pv_text_page *p, double value, int decimals, size_t width);
/* "\xC2\xB10.020" */
void pv_put_U(pv_text_page *p, double U, int decimals, size_t width);
/* With its sign, save for a zero. */
void pv_put_off(pv_text_page *p, double error, int decimals, size_t width);
void pv_put_painted(pv_text_page *p, pv_verdict verdict, const char *text);
void pv_put_bold(pv_text_page *p, const char *text);
/* Words of a sentence, broken at blanks; from column `at` on, later lines indented. */
void pv_put_words(pv_text_page *p, size_t indent, size_t at, const char *text);
/* After a lead, later lines as far in as it. */
void pv_put_wrapped(pv_text_page *p, const char *lead, const char *text);

#endif
