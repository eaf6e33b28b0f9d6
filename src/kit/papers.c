/* Which papers a kit is for, and the names of their folders. */
#include "base/text.h"
#include "kit/kit.h"
#include "paper/paper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* assumed: what offices have on both sides of the Atlantic, and the rolls of most wide printers. */
static const char *const usual_papers[] = {"A4", "letter", "A3", "tabloid"};
static const double usual_rolls[] = {36 * PV_MM_PER_IN, 42 * PV_MM_PER_IN};

void pv_kit_id(const char *name, char id[PV_KIT_ID])
{
    bool measures = *name >= '0' && *name <= '9';
    size_t n = 0;
    for (const char *c = name; *c != '\0' && n + 1 < PV_KIT_ID; c++) {
        char low = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
        bool plain = (low >= 'a' && low <= 'z') || (low >= '0' && low <= '9');
        if (plain)
            id[n++] = low;
        else if (n > 0 && id[n - 1] != '-' && !(measures && *c == ' '))
            id[n++] = '-';
    }
    while (n > 0 && id[n - 1] == '-')
        n--;
    id[n] = '\0';
}

static bool wish_for_paper(const char *paper, pv_kit_wish *out, pv_diags *diags)
{
    char *name = NULL;
    double width = 0, height = 0;
    if (!pv_paper_find(paper, &name, &width, &height, diags))
        return false;
    *out = (pv_kit_wish){.paper = paper};
    pv_kit_id(name, out->id);
    free(name);
    return true;
}

/* "roll-36in" of a whole number of inches, else "roll-914mm" or "roll-914-4mm". */
static bool wish_for_roll(double width, pv_kit_wish *out, pv_diags *diags)
{
    double inches = width / PV_MM_PER_IN;
    bool whole = fabs(inches - round(inches)) < 1e-6, round_mm = width == round(width);
    pv_text name = PV_TEXT_INIT;
    *out = (pv_kit_wish){.roll = width};
    pv_text_add(&name, "roll %s%s",
                pv_fixed(whole ? inches : width, whole || round_mm ? 0 : 1).chars,
                whole ? "in" : "mm");
    char *text = pv_text_take(&name);
    if (text == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    pv_kit_id(text, out->id);
    free(text);
    return true;
}

static bool add(const pv_kit_wish *wish, pv_kit_wish wishes[PV_KIT_PAPERS_MAX], size_t *n,
                pv_diags *diags)
{
    for (size_t i = 0; i < *n; i++)
        if (strcmp(wishes[i].id, wish->id) == 0) {
            pv_fail(diags, PV_CAUSE_USAGE, "a kit takes each paper once: %s is there twice",
                    wish->id);
            return false;
        }
    if (*n >= PV_KIT_PAPERS_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "a kit takes at most %u papers", PV_KIT_PAPERS_MAX);
        return false;
    }
    wishes[(*n)++] = *wish;
    return true;
}

bool pv_kit_wishes(const pv_kit_options *options, pv_kit_wish wishes[PV_KIT_PAPERS_MAX], size_t *n,
                   pv_diags *diags)
{
    bool named = options->n_papers + options->n_rolls > 0;
    const char *const *papers = named ? options->papers : usual_papers;
    const double *rolls = named ? options->rolls : usual_rolls;
    size_t n_papers = named ? options->n_papers : sizeof usual_papers / sizeof *usual_papers;
    size_t n_rolls = named ? options->n_rolls : sizeof usual_rolls / sizeof *usual_rolls;
    *n = 0;
    for (size_t i = 0; i < n_papers + n_rolls; i++) {
        pv_kit_wish wish;
        if (!(i >= n_papers ? wish_for_roll(rolls[i - n_papers], &wish, diags)
                            : wish_for_paper(papers[i], &wish, diags)))
            return false;
        wish.named = named;
        if (!add(&wish, wishes, n, diags))
            return false;
    }
    return true;
}
