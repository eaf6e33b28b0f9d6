/* A team's own page: what is proven, and what to do. */
#include "base/memory.h"
#include "collect/page.h"

#include <stdlib.h>
#include <string.h>

#define NAMES_MAX 40   /* files that are named; more are counted */
#define ONE_PDF   1000 /* sheets: a kit has several PDFs of more (docs/reference/kit-format.md) */

/* What a sheet's state is called, its sign, and what to do where no picture's advice says it. */
static const struct {
    const char *kind, *words, *advice;
} states[] = {
    [PV_TALLY_CHANGED] = {"er", PV_SAID("Changed"), NULL},
    [PV_TALLY_UNDECIDED] = {"un", PV_SAID("Can't tell"), NULL},
    [PV_TALLY_UNMEASURED] = {"un", PV_SAID("Lines not measured"), NULL},
    [PV_TALLY_FAILED] = {"no", PV_SAID("Not true"), NULL},
    [PV_TALLY_CONFLICT] = {"no", PV_SAID("Two answers"),
                           PV_SAID("One picture shows this sheet true, another does not. Did you "
                                   "print it again? Then ask the organiser to delete the picture "
                                   "of the old print. If not, tell the organiser which picture "
                                   "is of the sheet in your mat.")},
    [PV_TALLY_PROVEN] = {"ok", PV_SAID("Proven"), NULL},
};

/* What to print in place of a former edition's sheet. */
static void add_changed(pv_results_page *page, const pv_tally_plan *plan, const char *name)
{
    const pv_language *l = page->tally->language;
    pv_text text = PV_TEXT_IN(l), folder = pv_results_folder(plan);
    pv_text_say(&text, "This is the sheet of the former edition; it has changed since.");
    pv_text_add(&text, " ");
    if (plan->n_sheets <= ONE_PDF && folder.chars != NULL)
        pv_text_say(&text,
                    "Print sheet %s of edition %s: again-%s.pdf in the kit has all sheets that "
                    "changed. Send a picture of the new one before you cut it.",
                    name, plan->edition, folder.chars);
    else
        pv_text_say(&text,
                    "Print sheet %s of edition %s. Send a picture of the new one before you cut "
                    "it.",
                    name, plan->edition);
    text.failed = text.failed || folder.failed;
    pv_text_drop(&folder);
    pv_data_text(&page->data, "answer", NULL);
    pv_data_take(&page->data, "advice", &text);
}

/* A sheet, and what is said of it: what its picture says, and what to do. */
typedef struct told {
    const pv_tally_sheet *sheet;
    const char *answer, *advice; /* or NULL */
    bool unsure;                 /* not true, and another picture can't tell */
    bool alone;                  /* it has words of its own */
} told;

static told tell(const pv_tally *t, const pv_tally_sheet *sheet)
{
    const pv_tally_row *row = sheet->row != SIZE_MAX ? &t->rows[sheet->row] : NULL;
    const char *advice = states[sheet->state].advice;
    told out = {.sheet = sheet};
    out.answer = row != NULL && advice == NULL ? row->answer : NULL;
    if (advice != NULL)
        out.advice = pv_say(t->language, advice);
    else if (row != NULL && (sheet->state != PV_TALLY_PROVEN || row->asks_look))
        out.advice = row->advice;
    out.unsure = row != NULL && sheet->state == PV_TALLY_FAILED && sheet->unsure != SIZE_MAX;
    out.alone = sheet->state == PV_TALLY_CHANGED || sheet->state == PV_TALLY_CONFLICT || out.unsure;
    return out;
}

static int by_text(const char *a, const char *b)
{
    return a == NULL || b == NULL ? (a != NULL) - (b != NULL) : strcmp(a, b);
}

/* 0 where one row serves for both. */
static int by_words(const told *p, const told *q)
{
    int order = (p->sheet->state > q->sheet->state) - (p->sheet->state < q->sheet->state);
    order = order != 0 ? order : p->sheet->questioned - q->sheet->questioned;
    order = order != 0 ? order : by_text(p->answer, q->answer);
    order = order != 0 ? order : by_text(p->advice, q->advice);
    return order != 0 || (!p->alone && !q->alone) ? order : (p->sheet > q->sheet) ? 1 : -1;
}

static int alike_first(const void *a, const void *b)
{
    const told *p = a, *q = b;
    int order = p == q ? 0 : by_words(p, q);
    return order != 0 ? order : (p->sheet > q->sheet) - (p->sheet < q->sheet);
}

/* Their names, and their files. */
static void add_names(pv_results_page *page, const pv_tally_plan *plan, const told *all, size_t n)
{
    const pv_tally *t = page->tally;
    pv_text names = PV_TEXT_INIT, files = PV_TEXT_INIT;
    for (size_t i = 0; i < n; i++) {
        const pv_tally_sheet *sheet = all[i].sheet;
        pv_text_add(&names, "%s%s", i > 0 ? ", " : "", plan->sheets[sheet->number]);
        if (sheet->row != SIZE_MAX && i < NAMES_MAX)
            pv_text_add(&files, "%s%s", i > 0 ? ", " : "", t->rows[sheet->row].file);
    }
    if (n > NAMES_MAX)
        pv_text_add(&files, pv_say(t->language, " and %zu more"), n - NAMES_MAX);
    pv_data_take(&page->data, "name", &names);
    pv_data_take(&page->data, "file", &files);
}

/* A row for sheets of which the same is said. */
static void add_row(pv_results_page *page, const pv_tally_plan *plan, const told *all, size_t n)
{
    const pv_tally *t = page->tally;
    const pv_tally_sheet *sheet = all->sheet;
    pv_json_open(&page->data, '{');
    add_names(page, plan, all, n);
    bool asked = sheet->questioned;
    pv_data_text(&page->data, "kind", asked ? "un" : states[sheet->state].kind);
    pv_data_text(&page->data, "words",
                 asked ? pv_say(t->language, "In question")
                       : pv_say(t->language, states[sheet->state].words));
    if (sheet->state == PV_TALLY_CHANGED) {
        add_changed(page, plan, plan->sheets[sheet->number]);
    } else {
        pv_data_text(&page->data, "answer", all->answer);
        pv_data_text(&page->data, "advice", all->advice);
    }
    pv_data_bool(&page->data, "disputed", sheet->state == PV_TALLY_CONFLICT);
    if (sheet->state == PV_TALLY_CONFLICT)
        pv_results_dispute(page, sheet);
    pv_data_bool(&page->data, "unsure", all->unsure);
    if (all->unsure) {
        pv_data_text(&page->data, "unsure_file", t->rows[sheet->unsure].file);
        pv_data_text(&page->data, "unsure_advice", t->rows[sheet->unsure].advice);
    }
    pv_json_close(&page->data, '}');
}

typedef struct group {
    const told *first;
    size_t n;
} group;

static int by_first(const void *a, const void *b)
{
    const group *p = a, *q = b;
    return (p->first->sheet > q->first->sheet) - (p->first->sheet < q->first->sheet);
}

/* All sheets that were sent, those of which the same is said in one row. */
static void add_sheets(pv_results_page *page, const pv_tally_plan *plan, const pv_tally_mat *mat)
{
    const pv_tally *t = page->tally;
    told *all = PV_NEW_ARRAY(mat->n, told);
    group *groups = PV_NEW_ARRAY(mat->n, group);
    size_t n = 0, rows = 0;
    page->data.out.failed = page->data.out.failed || all == NULL || groups == NULL;
    for (size_t i = 0; i < mat->n && all != NULL; i++)
        if (t->sheets[mat->first + i].state != PV_TALLY_MISSING)
            all[n++] = tell(t, &t->sheets[mat->first + i]);
    if (n > 0)
        qsort(all, n, sizeof *all, alike_first);
    for (size_t i = 0; i < n && groups != NULL; i++)
        if (i > 0 && by_words(&all[i - 1], &all[i]) == 0)
            groups[rows - 1].n++;
        else
            groups[rows++] = (group){&all[i], 1};
    if (rows > 0)
        qsort(groups, rows, sizeof *groups, by_first);
    for (size_t i = 0; i < rows; i++)
        add_row(page, plan, groups[i].first, groups[i].n);
    free(all);
    free(groups);
}

/* Where a sheet's size is off, so are all that were printed like it: that comes before more
 * pictures. Of the first such sheet. */
static void add_off(pv_results_page *page, const pv_tally_mat *mat)
{
    const pv_tally *t = page->tally;
    pv_text text = PV_TEXT_IN(t->language);
    for (size_t i = 0; i < mat->n && text.length == 0; i++) {
        const pv_tally_sheet *sheet = &t->sheets[mat->first + i];
        if (sheet->state != PV_TALLY_FAILED)
            continue;
        const pv_tally_row *row = &t->rows[sheet->row];
        const char *name = t->plans[mat->plan].sheets[sheet->number];
        if (row->kind[PV_TALLY_SCALE].verdict != PV_DOES_NOT_CONFORM)
            continue;
        if (row->scale[0] < 1 && row->scale[1] < 1)
            pv_text_say(&text,
                        "Sheet %s is too small. %s All sheets that were printed with the same "
                        "settings are too small, too: print them again before you scan more.",
                        name, row->advice);
        else if (row->scale[0] > 1 && row->scale[1] > 1)
            pv_text_say(&text,
                        "Sheet %s is too large. %s All sheets that were printed with the same "
                        "settings are too large, too: print them again before you scan more.",
                        name, row->advice);
        else
            pv_text_say(&text,
                        "Sheet %s is distorted. %s All sheets that were printed with the same "
                        "settings are distorted, too: print them again before you scan more.",
                        name, row->advice);
    }
    pv_data_take(&page->data, "off", &text);
}

/* What is missing of the first; of others only what was sent. */
static void add_mat(pv_results_page *page, const pv_tally_mat *mat, bool first)
{
    const pv_tally *t = page->tally;
    const pv_tally_plan *plan = &t->plans[mat->plan];
    pv_json_open(&page->data, '{');
    pv_data_bool(&page->data, "also", !first);
    pv_data_text(&page->data, "paper", plan->paper);
    pv_data_text(&page->data, "set", plan->kit);
    pv_results_proven(page, "proven", mat->state[PV_TALLY_PROVEN], mat->n);
    add_off(page, mat);
    pv_results_sheets(page, "missing", mat, first ? 1u << PV_TALLY_MISSING : 0, SIZE_MAX);
    pv_data_open(&page->data, "sheets", '[');
    add_sheets(page, plan, mat);
    pv_json_close(&page->data, ']');
    pv_json_close(&page->data, '}');
}

/* Whether the reason ends with the advice, which is then a sentence of the same words. */
static bool says_advice(const pv_tally_row *row)
{
    size_t words = row->advice != NULL ? strlen(row->advice) : 0, reason = strlen(row->error);
    return words < 2 || (reason >= words - 2 && strncmp(row->error + reason - (words - 2),
                                                        row->advice + 1, words - 2) == 0);
}

/* What cannot be used, and why, but for what stands among the sheets as changed; and what shows a
 * proof page. */
static void add_rest(pv_results_page *page, const pv_tally_team *team, bool proofs)
{
    const pv_tally *t = page->tally;
    pv_data_open(&page->data, proofs ? "proofs" : "unusable", '[');
    for (size_t i = team->first; i < team->first + team->n; i++) {
        const pv_tally_row *row = &t->rows[i];
        bool proof = row->plan != SIZE_MAX && t->plans[row->plan].proof;
        bool unusable = row->error != NULL && row->now_plan == SIZE_MAX && !pv_results_nothing(row);
        if (proofs ? !proof : !unusable)
            continue;
        pv_json_open(&page->data, '{');
        pv_results_row(page, row);
        pv_data_text(&page->data, "then", unusable && !says_advice(row) ? row->advice : NULL);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* One of its proven sheets wants to be looked at. */
static bool asks_look(const pv_tally *t, const pv_tally_team *team)
{
    const pv_tally_mat *mat = &t->mats[team->first_mat];
    bool any = false;
    for (size_t i = 0; i < mat->n; i++) {
        const pv_tally_sheet *sheet = &t->sheets[mat->first + i];
        any = any || (sheet->state == PV_TALLY_PROVEN && t->rows[sheet->row].asks_look);
    }
    return any;
}

char *pv_tally_team_html(const pv_tally *t, size_t index, pv_diags *diags)
{
    const pv_tally_team *team = &t->teams[index];
    pv_results_page page;
    bool whole = team->info.sheets > 0 && team->info.proven == team->info.sheets;
    bool good = whole && team->info.questioned == 0;
    pv_results_page_begin(&page, t, pv_results_team(t, team->info.name), diags);
    pv_data_text(&page.data, "team", pv_results_team(t, team->info.name));
    pv_data_text(&page.data, "kind",
                 good                                          ? "ok"
                 : team->info.failed + team->info.disputed > 0 ? "no"
                 : team->info.sheets > 0                       ? "un"
                                                               : "er");
    pv_data_bool(&page.data, "whole", whole);
    pv_data_bool(&page.data, "look", whole && asks_look(t, team));
    pv_data_bool(&page.data, "begun", team->info.sheets > 0);
    pv_results_proven(&page, "proven", team->info.proven, team->info.sheets);
    pv_data_bool(&page.data, "nothing", team->n == 1 && pv_results_nothing(&t->rows[team->first]));
    pv_data_bool(&page.data, "asking", team->asking > 0 && !whole);
    pv_data_text(&page.data, "contact", good ? NULL : t->contact);
    if (team->n_mats > 0)
        pv_results_sheets(&page, "questioned", &t->mats[team->first_mat], PV_TALLY_QUESTIONED,
                          NAMES_MAX);
    pv_results_shared(&page, team, NAMES_MAX, true);
    pv_data_open(&page.data, "mats", '[');
    for (size_t i = 0; i < team->n_mats; i++)
        add_mat(&page, &t->mats[team->first_mat + i], i == 0);
    pv_json_close(&page.data, ']');
    add_rest(&page, team, false);
    add_rest(&page, team, true);
    return pv_results_page_end(&page, "results_team");
}
