/* What several pages say alike. Private to this room. */
#ifndef COLLECT_PAGE_H
#define COLLECT_PAGE_H

#include "collect/tally.h"
#include "html/data.h"
#include "po/po.h"

typedef struct pv_results_page {
    const pv_tally *tally;
    pv_json_writer data;
    pv_diags *diags;
} pv_results_page;

/* Begins with what all pages have: language, title, course and edition. */
void pv_results_page_begin(pv_results_page *page, const pv_tally *tally, const char *title,
                           pv_diags *diags);
/* The page; NULL with a reason. */
char *pv_results_page_end(pv_results_page *page, const char *template_name);

/* With a true minus sign. */
pv_digits pv_results_number(double value, int decimals);

/* A team's name; what stands for it where a picture lies in no team's folder. */
const char *pv_results_team(const pv_tally *tally, const char *name);
/* Names of a mat's sheets in any of the states (bits 1 << PV_TALLY_..., PV_TALLY_QUESTIONED), "A1,
 * A2, B1 and 7 more" where they are more than most; empty where there are none. */
void pv_results_sheets(pv_results_page *page, const char *key, const pv_tally_mat *mat,
                       unsigned states, size_t most);
/* Of a sheet with two answers: true_file and false_file, the pictures that give them. */
void pv_results_dispute(pv_results_page *page, const pv_tally_sheet *sheet);
/* The name of a plan's folder in the kit, "a4" or "roll-36in"; to be dropped. */
pv_text pv_results_folder(const pv_tally_plan *plan);
/* "1 of 25 sheets is proven" */
void pv_results_proven(pv_results_page *page, const char *key, size_t proven, size_t all);
/* Whether a team has sent nothing but, perhaps, its scanner.txt: this row stands for that. */
bool pv_results_nothing(const pv_tally_row *row);
/* shared: the team's pictures that another team sent, too, to the byte: "A1 (1.png), A2 (2.png) and
 * 7 more". left: only those of its mat's sheets that no picture of its own proves. */
void pv_results_shared(pv_results_page *page, const pv_tally_team *team, size_t most, bool left);
/* A picture: file (with its page), sheet, paper, verdict in words, answer, advice, report. */
void pv_results_row(pv_results_page *page, const pv_tally_row *row);

#endif
