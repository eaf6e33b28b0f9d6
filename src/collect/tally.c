#include "collect/tally.h"

#include "base/memory.h"
#include "collect/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- reading ---- */

/* The kit's plans and their sheets. */
static bool load_plans(pv_tally *t, pv_results *results, pv_diags *diags)
{
    pv_sql q, s = {.results = NULL};
    pv_sql_open(&q, results, "SELECT kit, name, edition, paper, proof FROM plan ORDER BY kit",
                diags);
    bool good =
        pv_sql_open(&s, results, "SELECT name FROM sheet WHERE kit = ? ORDER BY number", diags);
    while (good && pv_sql_next(&q)) {
        if (!PV_GROW(t->plans, t->n_plans, t->cap_plans)) {
            pv_fail_memory(diags);
            good = false;
            break;
        }
        pv_tally_plan *plan = &t->plans[t->n_plans++];
        *plan = (pv_tally_plan){.kit = pv_sql_take_text(&q, 0),
                                .name = pv_sql_take_text(&q, 1),
                                .edition = pv_sql_take_text(&q, 2),
                                .paper = pv_sql_take_text(&q, 3),
                                .proof = pv_sql_get_integer(&q, 4) != 0};
        size_t room = 0;
        pv_sql_text(&s, 1, plan->kit);
        while (good && pv_sql_next(&s)) {
            good = PV_GROW(plan->sheets, plan->n_sheets, room);
            if (good)
                plan->sheets[plan->n_sheets++] = pv_sql_take_text(&s, 0);
            else
                pv_fail_memory(diags);
        }
        good = pv_sql_do(&s) && good && !q.failed;
    }
    good = good && !q.failed;
    pv_sql_close(&q);
    pv_sql_close(&s);
    return good;
}

static size_t plan_of(const pv_tally *t, const char *kit)
{
    for (size_t i = 0; i < t->n_plans; i++)
        if (strcmp(t->plans[i].kit, kit) == 0)
            return i;
    return SIZE_MAX;
}

static pv_verdict verdict_of(const char *name)
{
    for (int v = PV_CONFORMS; v <= PV_UNDECIDED; v++)
        if (strcmp(pv_verdict_name((pv_verdict)v), name) == 0)
            return (pv_verdict)v;
    return PV_UNDECIDED;
}

static bool load_row(pv_tally *t, pv_sql *q)
{
    if (!PV_GROW(t->rows, t->n_rows, t->cap_rows)) {
        pv_fail_memory(q->diags);
        return false;
    }
    pv_tally_row *row = &t->rows[t->n_rows++];
    long long asks = pv_sql_get_integer(q, 13);
    *row = (pv_tally_row){.team = pv_sql_take_text(q, 0),
                          .file = pv_sql_take_text(q, 1),
                          .sha256 = pv_sql_take_text(q, 2),
                          .error = pv_sql_take_text(q, 3),
                          .plan = SIZE_MAX,
                          .now_plan = SIZE_MAX,
                          .verdict = PV_UNDECIDED,
                          .photograph = pv_sql_get_integer(q, 6) != 0,
                          .reference = pv_sql_take_text(q, 7),
                          .U_rel = pv_sql_get_number(q, 8),
                          .answer = pv_sql_take_text(q, 9),
                          .advice = pv_sql_take_text(q, 10),
                          .asks_scanner = asks == PV_ASKS_SCANNER,
                          .asks_lengths = asks == PV_ASKS_LENGTHS,
                          .asks_finer = asks == PV_ASKS_FINER,
                          .asks_look = asks == PV_ASKS_LOOK,
                          .code = pv_sql_take_text(q, 14),
                          .scanner = pv_sql_take_text(q, 15),
                          .basis = pv_sql_take_text(q, 16),
                          .picture = pv_sql_get_integer(q, 17) != 0,
                          .scale = {NAN, NAN},
                          .scale_U = {NAN, NAN},
                          .skew = NAN,
                          .skew_U = NAN,
                          .page = (size_t)pv_sql_get_integer(q, 12),
                          .same_as = t->n_rows - 1};
    for (int k = 0; k < PV_TALLY_KINDS; k++)
        row->kind[k] = (pv_tally_kind){
            .verdict = PV_UNDECIDED, .error = NAN, .U = NAN, .mean = NAN, .mean_U = NAN};
    row->verdict = verdict_of(pv_sql_get_text(q, 5));
    if (row->sha256 != NULL && row->basis != NULL)
        pv_report_name(row->report, row->sha256, row->basis, row->page);
    size_t plan = plan_of(t, pv_sql_get_text(q, 11));
    long long number = pv_sql_get_integer(q, 4);
    if (plan != SIZE_MAX && number >= 0 && (size_t)number < t->plans[plan].n_sheets) {
        *(row->error == NULL ? &row->plan : &row->now_plan) = plan;
        *(row->error == NULL ? &row->number : &row->now_number) = (size_t)number;
    }
    return !q->failed;
}

static bool load_rows(pv_tally *t, pv_results *results, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(&q, results,
                "SELECT team, file, p.sha256, coalesce(p.error, i.error), number, verdict, "
                "photograph, reference, U_rel, answer, advice, kit, page, asks, code, scanner, "
                "p.basis, picture FROM picture p LEFT JOIN inspection i "
                "ON i.sha256 = p.sha256 AND i.basis = p.basis "
                "ORDER BY team, file, page",
                diags);
    bool good = true;
    while (good && pv_sql_next(&q))
        good = load_row(t, &q);
    good = good && !q.failed;
    pv_sql_close(&q);
    return good;
}

/* ---- values ---- */

/* What a kind's rows in the table `value` are called. */
static int tally_kind(const char *name)
{
    static const pv_value_kind kinds[PV_TALLY_KINDS] = {PV_KIND_SCALE, PV_KIND_SKEW, PV_KIND_WIDTH,
                                                        PV_KIND_STRAIGHT, PV_KIND_SPACING};
    for (int k = 0; k < PV_TALLY_KINDS; k++)
        if (strcmp(pv_kind_of(kinds[k])->name, name) == 0)
            return k;
    return -1;
}

/* The worse of two: what fails before what is undecided. */
static pv_verdict worse(pv_verdict a, pv_verdict b)
{
    if (a == PV_DOES_NOT_CONFORM || b == PV_DOES_NOT_CONFORM)
        return PV_DOES_NOT_CONFORM;
    return a == PV_UNDECIDED || b == PV_UNDECIDED ? PV_UNDECIDED : PV_CONFORMS;
}

/* One measured value; *largest is the largest share of a tolerance up to now. */
static bool count_value(pv_tally_kind *to, pv_sql *q, double *largest)
{
    double error = pv_sql_get_number(q, 4) - pv_sql_get_number(q, 3), U = pv_sql_get_number(q, 5);
    double share = fabs(error) / pv_sql_get_number(q, 6);
    pv_verdict verdict = verdict_of(pv_sql_get_text(q, 7));
    to->verdict = to->n == 0 ? verdict : worse(to->verdict, verdict);
    to->mean = to->n == 0 ? error : to->mean + (error - to->mean) / (double)(to->n + 1);
    to->mean_U = to->n == 0 ? U : to->mean_U + (U - to->mean_U) / (double)(to->n + 1);
    to->n++;
    if (to->n > 1 && !(share > *largest))
        return true;
    *largest = share;
    to->error = error;
    to->U = U;
    to->tolerance = pv_sql_get_number(q, 6);
    free(to->name);
    free(to->other);
    to->name = pv_sql_take_text(q, 1);
    to->other = pv_sql_take_text(q, 2);
    return !q->failed;
}

/* All of a picture's; the columns are kind, name, other, nominal, value, U, tolerance, verdict. */
static bool load_values(pv_tally *t, pv_tally_row *row, pv_sql *q)
{
    double largest[PV_TALLY_KINDS] = {0};
    bool good = true;
    while (good && pv_sql_next(q)) {
        int k = tally_kind(pv_sql_get_text(q, 0));
        double value = pv_sql_get_number(q, 4), U = pv_sql_get_number(q, 5);
        double error = value - pv_sql_get_number(q, 3);
        if (k < 0 || !isfinite(error))
            continue;
        if (k == PV_TALLY_SCALE) {
            int axis = strcmp(pv_sql_get_text(q, 1), "y") == 0;
            row->scale[axis] = value;
            row->scale_U[axis] = U;
        } else if (k == PV_TALLY_SKEW) {
            row->skew = value;
            row->skew_U = U;
        } else if (k == PV_TALLY_WIDTH && isfinite(row->U_rel)) {
            good = PV_GROW(t->widths, t->n_widths, t->cap_widths);
            if (good)
                t->widths[t->n_widths++] = error;
        }
        if (!good)
            pv_fail_memory(q->diags);
        good = good && count_value(&row->kind[k], q, &largest[k]);
    }
    return pv_sql_do(q) && good;
}

static bool load_all_values(pv_tally *t, pv_results *results, pv_diags *diags)
{
    pv_sql q;
    bool good = pv_sql_open(&q, results,
                            "SELECT kind, name, other, nominal, value, U, tolerance, verdict "
                            "FROM value WHERE sha256 = ? AND basis = ? AND page = ? ORDER BY n",
                            diags);
    for (size_t i = 0; good && i < t->n_rows; i++) {
        if (t->rows[i].error != NULL || t->rows[i].sha256 == NULL)
            continue;
        pv_sql_text(&q, 1, t->rows[i].sha256);
        pv_sql_text(&q, 2, t->rows[i].basis);
        pv_sql_integer(&q, 3, (long long)t->rows[i].page);
        good = load_values(t, &t->rows[i], &q);
    }
    pv_sql_close(&q);
    return good;
}

/* ---- the whole ---- */

pv_tally *pv_tally_make(pv_results *results, pv_diags *diags)
{
    pv_tally *t = PV_NEW(pv_tally);
    if (t == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    t->kit = pv_sql_said(results, "kit", diags);
    t->options = pv_sql_said(results, "options", diags);
    t->version = pv_sql_said(results, "version", diags);
    t->scanners = pv_sql_said(results, "scanners", diags);
    t->contact = pv_sql_said(results, "contact", diags);
    char *language = pv_sql_said(results, "language", diags);
    t->language = language != NULL ? pv_language_find(language) : NULL;
    bool good = t->kit != NULL && t->options != NULL && t->version != NULL && t->scanners != NULL &&
                t->contact != NULL && language != NULL && load_plans(t, results, diags) &&
                load_rows(t, results, diags) && load_all_values(t, results, diags);
    if (good && !(pv_tally_sort_teams(t) && pv_tally_compare(t) && pv_tally_index_reports(t))) {
        pv_fail_memory(diags);
        good = false;
    }
    free(language);
    if (good)
        return t;
    pv_tally_free(t);
    return NULL;
}

static void free_row(pv_tally_row *row)
{
    char *texts[] = {row->team,   row->file,   row->sha256, row->error,   row->reference,
                     row->answer, row->advice, row->code,   row->scanner, row->basis};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        free(texts[i]);
    for (int k = 0; k < PV_TALLY_KINDS; k++) {
        free(row->kind[k].name);
        free(row->kind[k].other);
    }
}

static void free_plan(pv_tally_plan *plan)
{
    for (size_t i = 0; i < plan->n_sheets; i++)
        free(plan->sheets[i]);
    free(plan->sheets);
    free(plan->kit);
    free(plan->name);
    free(plan->edition);
    free(plan->paper);
}

void pv_tally_free(pv_tally *t)
{
    if (t == NULL)
        return;
    for (size_t i = 0; i < t->n_rows; i++)
        free_row(&t->rows[i]);
    for (size_t i = 0; i < t->n_plans; i++)
        free_plan(&t->plans[i]);
    for (size_t i = 0; i < t->n_teams; i++)
        free((char *)t->teams[i].info.page);
    free(t->rows);
    free(t->plans);
    free(t->teams);
    free(t->mats);
    free(t->sheets);
    free(t->widths);
    free(t->kit);
    free(t->options);
    free(t->version);
    free(t->scanners);
    free(t->contact);
    free((void *)t->by_report);
    free(t);
}

size_t pv_tally_pictures(const pv_tally *tally)
{
    return tally->n_rows;
}

size_t pv_tally_asking(const pv_tally *tally)
{
    size_t n = 0;
    for (size_t i = 0; i < tally->n_teams; i++)
        n += tally->teams[i].asking;
    return n;
}

const char *pv_tally_report(const pv_tally *tally, size_t picture)
{
    return picture < tally->n_rows ? pv_row_report(&tally->rows[picture]) : NULL;
}

void pv_tally_lacks_report(pv_tally *tally, size_t picture)
{
    if (picture < tally->n_rows)
        tally->rows[picture].lacks_report = true;
}

const pv_team_info *pv_tally_team_at(const pv_tally *tally, size_t index)
{
    return index < tally->n_teams ? &tally->teams[index].info : NULL;
}
