/* Teams by what is left to do. Private to this room. */
#ifndef COLLECT_GROUPS_H
#define COLLECT_GROUPS_H

#include "collect/page.h"

/* What a team has reached, in a few words, and its sign. */
const char *pv_group_words(const pv_tally *tally, const pv_team_info *team, const char **kind);

/* groups: of the teams that are alike in this, those with most to mend first: kind, heading, n, and
 * teams with their pages and how much is proven. */
void pv_groups_add(pv_results_page *page);

#endif
