/* Which values matter most: the same order in every report. Private to this room.
 *
 * The reporting room, from top to bottom. An inspection holds one table of values
 * (<pavior/inspect.h>), and every report is a renderer over it. What a kind of value is called, its
 * unit, its decimals and its JSON keys come from pv_kind_of. The tables of judged values, the
 * budgets and the reasons follow from that for a new kind. Where a report chooses kinds for what
 * they mean, it names them: the order of lines (rank.c), text.c's columns, the tiles, overview and
 * charts of the page. DEVELOPERS.md lists those places.
 *
 * - rank.h puts lines and spacings in order, the worst first, for all reports that people read.
 * - text.c and text_budget.c write for a terminal of 80 columns, on text_page.h.
 * - json.c writes for machines. calibrate_read.c reads the same keys back; calibrate.c makes a
 *   printer's correction of them, calibrate_scanner.c a scanner's.
 * - html.c puts together the data of one self-contained page from parts (html.h); its words and its
 *   markup are the templates of embedded/.
 * - certificate.c sets one page to sign, certified.h says what it states, code.c makes its code. */
#ifndef REPORT_RANK_H
#define REPORT_RANK_H

#include "judge/inspection.h"

/* The share of its tolerance that a value's error is. */
double pv_strain(const pv_value *value);
/* The one whose error is the largest share of its tolerance; NULL where none was measured. */
const pv_value *pv_worst(const pv_inspection *in, pv_value_kind kind);
/* Of widths and straightnesses. */
const pv_value *pv_worst_of_lines(const pv_inspection *in);

/* What a line is seen to be: the worse of its width's and its straightness' verdicts. */
pv_verdict pv_line_verdict(const pv_inspection *in, size_t line);

/* By verdict, then by strain, the worst first; both lists are freed with pv_ranking_clear. */
typedef struct pv_ranking {
    size_t *lines; /* each line's index */
    const pv_value **spacings;
    size_t n_spacings;
} pv_ranking;

/* False where memory ran out; to be cleared either way. */
bool pv_ranking_make(pv_ranking *ranking, const pv_inspection *in);
void pv_ranking_clear(pv_ranking *ranking);

#endif
