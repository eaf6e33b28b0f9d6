#include "collect/counts.h"

#include "po/po.h"

static void count_row(pv_counts *c, const pv_tally *t, const pv_tally_row *row)
{
    bool usable = row->error == NULL, proof = row->plan != SIZE_MAX && t->plans[row->plan].proof;
    c->proofs += usable && proof;
    c->verdict[row->verdict] += usable && !proof;
    c->shared += row->twin != NULL;
}

pv_counts pv_counts_of(const pv_tally *t)
{
    pv_counts c = {.pictures = 0};
    for (size_t i = 0; i < t->n_rows; i++)
        count_row(&c, t, &t->rows[i]);
    for (size_t i = 0; i < t->n_teams; i++) {
        const pv_team_info *info = &t->teams[i].info;
        bool team = *info->name != '\0'; /* not what belongs to none */
        c.pictures += info->pictures;
        c.unusable += info->unusable;
        c.others += info->others;
        c.teams += team;
        c.whole +=
            team && info->sheets > 0 && info->proven == info->sheets && info->questioned == 0;
        c.failed += team ? info->failed : 0;
        c.undecided += team ? info->undecided : 0;
        c.disputed += team ? info->disputed : 0;
    }
    return c;
}

void pv_counts_say_whole(pv_text *to, const pv_tally *t, const pv_counts *c)
{
    pv_text_add(to,
                pv_say_count(t->language, "Whole mats proven: %zu of %zu team",
                             "Whole mats proven: %zu of %zu teams", c->teams),
                c->whole, c->teams);
}

/* ---- the answer ---- */

static void say_pictures(pv_text *to, const pv_language *l, const pv_counts *c)
{
    pv_text_add(to, pv_say_count(l, "%zu picture", "%zu pictures", c->pictures), c->pictures);
    pv_text_add(to, pv_say_count(l, " of %zu team", " of %zu teams", c->teams), c->teams);
    pv_text_add(to, pv_say(l, ": %zu usable, %zu unusable"), c->pictures - c->unusable,
                c->unusable);
    if (c->others > 0)
        pv_text_add(to, pv_say_count(l, "; and %zu other file", "; and %zu other files", c->others),
                    c->others);
    pv_text_add(to, "\n");
}

static void say_run(pv_text *to, const pv_language *l, const pv_collect_result *run)
{
    pv_text_add(to, pv_say(l, "%zu measured now, %zu known"), run->measured,
                run->known - run->same);
    if (run->same > 0)
        pv_text_add(to, pv_say(l, ", %zu the same as another"), run->same);
    pv_text_add(to, "\n");
}

/* A line of what is counted, unless there is none. */
static void say_line(pv_text *to, size_t n, const char *counted)
{
    if (n == 0)
        return;
    pv_text_add(to, counted, n);
    pv_text_add(to, "\n");
}

char *pv_tally_text(const pv_tally *t, const pv_collect_result *run, const char *page)
{
    const pv_language *l = t->language;
    pv_counts c = pv_counts_of(t);
    pv_text out = PV_TEXT_INIT;
    say_pictures(&out, l, &c);
    if (run != NULL)
        say_run(&out, l, run);
    pv_counts_say_whole(&out, t, &c);
    pv_text_add(&out, "\n");
    size_t asking = pv_tally_asking(t);
    say_line(&out, c.failed,
             pv_say_count(l, "%zu sheet is not true", "%zu sheets are not true", c.failed));
    say_line(&out, c.undecided,
             pv_say_count(l, "the pictures of %zu sheet can't tell",
                          "the pictures of %zu sheets can't tell", c.undecided));
    say_line(&out, c.disputed,
             pv_say_count(l, "two pictures disagree on %zu sheet",
                          "two pictures disagree on %zu sheets", c.disputed));
    say_line(&out, c.shared,
             pv_say_count(l, "%zu picture is, to the byte, another team's as well",
                          "%zu pictures are, to the byte, another team's as well", c.shared));
    say_line(&out, asking,
             pv_say_count(l,
                          "%zu picture that can't tell may do so if it was scanned on a flatbed's "
                          "glass: ask the team, and state it by --scanner or scanner.txt (pavior "
                          "collect --help)",
                          "%zu pictures that can't tell may do so if they were scanned on a "
                          "flatbed's glass: ask the teams, and state it by --scanner or "
                          "scanner.txt (pavior collect --help)",
                          asking));
    if (page != NULL) {
        pv_text_add(&out, "\n");
        pv_text_add(&out, pv_say(l, "Begin with %s."), page);
        pv_text_add(&out, "\n");
    }
    return pv_text_take(&out);
}
