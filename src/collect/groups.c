#include "collect/groups.h"

/* In the order in which an organiser wants to write to them. */
enum { FAILED, DISPUTED, QUESTIONED, UNDECIDED, MISSING, NO_SHEET, NOTHING, PROVEN, GROUPS };

static const struct {
    const char *kind, *words, *heading;
} groups[GROUPS] = {
    [FAILED] = {"no", PV_SAID("has sheets that are not true"), PV_SAID("Sheets that are not true")},
    [DISPUTED] = {"no", PV_SAID("has sheets with two answers"), PV_SAID("Sheets with two answers")},
    [QUESTIONED] = {"un", PV_SAID("has sheets in question"),
                    PV_SAID("Proven by a picture that another team sent, too")},
    [UNDECIDED] = {"un", PV_SAID("some pictures can't tell"), PV_SAID("Pictures that can't tell")},
    [MISSING] = {"un", PV_SAID("has sheets missing"), PV_SAID("Only some sheets missing")},
    [NO_SHEET] = {"er", PV_SAID("no sheet seen"), PV_SAID("No sheet seen in what was sent")},
    [NOTHING] = {"er", PV_SAID("nothing sent"), PV_SAID("Nothing sent")},
    [PROVEN] = {"ok", PV_SAID("whole mat proven"), PV_SAID("Whole mat proven")},
};

static int group_of(const pv_team_info *team)
{
    if (team->pictures + team->others == 0)
        return NOTHING;
    if (team->sheets == 0)
        return NO_SHEET;
    return team->failed > 0               ? FAILED
           : team->disputed > 0           ? DISPUTED
           : team->questioned > 0         ? QUESTIONED
           : team->proven == team->sheets ? PROVEN
           : team->undecided > 0          ? UNDECIDED
                                          : MISSING;
}

const char *pv_group_words(const pv_tally *t, const pv_team_info *team, const char **kind)
{
    int group = group_of(team);
    *kind = groups[group].kind;
    return pv_say(t->language, groups[group].words);
}

static bool belongs(const pv_tally *t, size_t team, int group)
{
    const pv_team_info *info = &t->teams[team].info;
    return *info->name != '\0' && group_of(info) == group;
}

static void add_group(pv_results_page *page, int group, size_t n)
{
    const pv_tally *t = page->tally;
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "kind", groups[group].kind);
    pv_data_text(&page->data, "heading", pv_say(t->language, groups[group].heading));
    pv_data_words(&page->data, "n", pv_say_count(t->language, "%zu team", "%zu teams", n), n);
    pv_data_open(&page->data, "teams", '[');
    for (size_t i = 0; i < t->n_teams; i++) {
        const pv_team_info *info = &t->teams[i].info;
        if (!belongs(t, i, group))
            continue;
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "team", pv_results_team(t, info->name));
        pv_data_text(&page->data, "page", info->page);
        pv_data_bool(&page->data, "part", info->sheets > 0 && group != PROVEN);
        pv_data_count(&page->data, "proven", info->proven);
        pv_data_count(&page->data, "sheets", info->sheets);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
    pv_json_close(&page->data, '}');
}

void pv_groups_add(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    bool any = false;
    pv_data_open(&page->data, "groups", '[');
    for (int group = 0; group < GROUPS; group++) {
        size_t n = 0;
        for (size_t i = 0; i < t->n_teams; i++)
            n += belongs(t, i, group);
        if (n > 0)
            add_group(page, group, n);
        any = any || n > 0;
    }
    pv_json_close(&page->data, ']');
    pv_data_bool(&page->data, "grouped", any);
}
