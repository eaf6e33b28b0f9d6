/* Uncertainty budgets for people: of each kind of value a table, with the numbers of this image. */
#include "base/memory.h"
#include "judge/values.h"
#include "report/text_page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LABEL 34
#define FIELD 21 /* of one column */
#define SHARE 7  /* of it, for the share of the variance */

/* What a table shows side by side. */
typedef struct budget_column {
    pv_judged judged;
    const char *head; /* "typical", or NULL */
} budget_column;

typedef struct budget_table {
    const char *title, *unit;
    double factor;
    int decimals;
    bool length;  /* grows with the reference */
    bool decided; /* has a tolerance */
    budget_column column[2];
    size_t n;
} budget_table;

static const char *part_label(pv_contribution part)
{
    static const char *const labels[PV_PARTS] = {
        "scatter of the places",   "pixel grid",    "tone curve", "halftone dots",
        "map from sheet to image", "spread of ink", "reference"};
    return labels[part];
}

/* How it was evaluated (JCGM 100:2008, 4.2 and 4.3). */
static const char *part_type(pv_contribution part)
{
    return part == PV_PART_SCATTER || part == PV_PART_POSE ? "A" : "B";
}

static void row_start(pv_text_page *p, const char *label)
{
    pv_text_add(&p->out, "  ");
    pv_put_left(p, label, LABEL - 2);
}

static void part_row(pv_text_page *p, const budget_table *t, pv_contribution part)
{
    bool any = false;
    for (size_t i = 0; i < t->n; i++)
        any = any || t->column[i].judged.value->part[part] > 0;
    if (!any)
        return;
    pv_text_add(&p->out, "  ");
    pv_put_left(p, part_label(part), LABEL - 5);
    pv_text_add(&p->out, "%s  ", part_type(part));
    for (size_t i = 0; i < t->n; i++) {
        const pv_value *value = t->column[i].judged.value;
        double share = value->u > 0 ? value->part[part] / value->u : 0;
        pv_put_number(p, t->factor * value->part[part], t->decimals, FIELD - SHARE);
        pv_put_number(p, 100 * share * share, 0, SHARE - 2);
        pv_text_add(&p->out, " %%");
    }
    pv_text_add(&p->out, "\n");
}

/* One number of each column; where it isn't finite, "many". */
static void number_row(pv_text_page *p, const budget_table *t, const char *label,
                       double (*of)(const pv_judged *), double factor, int decimals)
{
    row_start(p, label);
    for (size_t i = 0; i < t->n; i++) {
        double value = of(&t->column[i].judged);
        if (isfinite(value))
            pv_put_number(p, factor * value, decimals, FIELD - SHARE);
        else
            pv_put_right(p, "many", FIELD - SHARE);
        pv_put_blanks(p, i + 1 < t->n ? SHARE : 0);
    }
    pv_text_add(&p->out, "\n");
}

static double u_of(const pv_judged *j)
{
    return j->value->u;
}
static double k_of(const pv_judged *j)
{
    return j->value->k;
}
static double freedom_of(const pv_judged *j)
{
    return j->value->freedom < 1e6 ? j->value->freedom : HUGE_VAL;
}
static double U_of(const pv_judged *j)
{
    return j->value->U;
}
static double measured_of(const pv_judged *j)
{
    return j->value->value;
}
static double error_of(const pv_judged *j)
{
    return j->value->value - j->nominal;
}
static double tolerance_of(const pv_judged *j)
{
    return j->value->tolerance;
}
static double probability_of(const pv_judged *j)
{
    return j->value->probability;
}
static double by_reference(const pv_judged *j)
{
    return 0.001 * j->value->value;
}

/* Over the numbers of a column, whose share follows; what is wider takes the share's place too. */
static void column_head(pv_text_page *p, const char *text, bool last)
{
    size_t width = pv_columns(text), numbers = FIELD - SHARE;
    if (width < numbers) {
        pv_put_right(p, text, numbers);
        pv_put_blanks(p, last ? 0 : SHARE);
        return;
    }
    size_t kept = width < FIELD - 2 ? width : FIELD - 2;
    pv_put_blanks(p, FIELD - kept);
    pv_put_left(p, text, kept);
}

static void table_head(pv_text_page *p, const budget_table *t)
{
    pv_text title = PV_TEXT_INIT;
    pv_text_add(&title, "%s, %s", t->title, t->unit);
    pv_text_add(&p->out, "\n  ");
    bool named = t->n > 0 && t->column[0].judged.name[0] != '\0';
    const char *chars = title.chars != NULL ? title.chars : "";
    pv_put_left(p, chars, named ? LABEL - 2 : pv_columns(chars));
    for (size_t i = 0; i < t->n; i++) {
        const pv_judged *j = &t->column[i].judged;
        pv_text name = PV_TEXT_INIT;
        pv_text_add(&name, "%s%s%s", j->name, j->to[0] != '\0' ? " - " : "", j->to);
        if (named)
            column_head(p, name.chars != NULL ? name.chars : "", i + 1 == t->n);
        p->out.failed = p->out.failed || name.failed;
        pv_text_drop(&name);
    }
    p->out.failed = p->out.failed || title.failed;
    pv_text_drop(&title);
    pv_text_add(&p->out, "\n");
    if (t->n == 0 || t->column[0].head == NULL)
        return;
    row_start(p, "");
    for (size_t i = 0; i < t->n; i++)
        column_head(p, t->column[i].head, i + 1 == t->n);
    pv_text_add(&p->out, "\n");
}

static void add_table(pv_text_page *p, const budget_table *t, bool proven)
{
    if (t->n == 0)
        return;
    table_head(p, t);
    for (int part = 0; part < PV_PARTS; part++)
        part_row(p, t, (pv_contribution)part);
    number_row(p, t, "standard uncertainty u", u_of, t->factor, t->decimals);
    number_row(p, t, "effective degrees of freedom", freedom_of, 1, 1);
    number_row(p, t, "coverage factor k, 95.45 %", k_of, 1, 2);
    number_row(p, t, "expanded uncertainty U", U_of, t->factor, t->decimals);
    number_row(p, t, "measured", measured_of, t->factor, t->decimals);
    if (t->decided) {
        number_row(p, t, "off by", error_of, t->factor, t->decimals);
        number_row(p, t, "allowed", tolerance_of, t->factor, t->decimals);
    }
    if (t->decided && proven)
        number_row(p, t, "probability that it conforms, %", probability_of, 100, 1);
    if (t->length && proven)
        number_row(p, t, "moved by 0.1 % of the reference", by_reference, t->factor, t->decimals);
}

/* ---- which values ---- */

typedef struct ranked {
    double U;
    size_t index;
} ranked;

static int compare(const void *a, const void *b)
{
    const ranked *x = a, *y = b;
    if (x->U != y->U)
        return x->U > y->U ? 1 : -1;
    return (x->index > y->index) - (x->index < y->index);
}

/* The value whose U is the middle one of its kind, and that with the largest. False where memory
 * ran out. */
static bool typical_and_worst(const pv_inspection *in, pv_value_kind kind, budget_table *t)
{
    size_t all = pv_judged_count(in), n = 0;
    ranked *some = PV_NEW_ARRAY(all, ranked);
    if (some == NULL)
        return false;
    for (size_t i = 0; i < all; i++) {
        pv_judged one = pv_judged_at(in, i);
        if (one.kind == kind && one.value->measured)
            some[n++] = (ranked){one.value->U, i};
    }
    qsort(some, n, sizeof *some, compare);
    if (n > 0)
        t->column[t->n++] =
            (budget_column){pv_judged_at(in, some[(n - 1) / 2].index), n > 1 ? "typical" : NULL};
    if (n > 1)
        t->column[t->n++] = (budget_column){pv_judged_at(in, some[n - 1].index), "worst"};
    free(some);
    return true;
}

static void add_sheet_tables(pv_text_page *p, const pv_inspection *in)
{
    budget_table scale = {"scale", "%", 100, 4, true, true, {{{0}, NULL}, {{0}, NULL}}, 0};
    for (size_t i = 0; i < 2; i++)
        if (in->scale[i].measured)
            scale.column[scale.n++].judged = pv_judged_at(in, i);
    add_table(p, &scale, true);
    budget_table skew = {"skew", "mrad", 1, 3, false, true, {{{0}, NULL}, {{0}, NULL}}, 0};
    if (in->skew.measured)
        skew.column[skew.n++].judged = pv_judged_at(in, 2);
    add_table(p, &skew, true);
    budget_table ink = {"spread of ink", "mm", 1, 4, false, false, {{{0}, NULL}, {{0}, NULL}}, 0};
    if (in->ink.measured)
        ink.column[ink.n++].judged = (pv_judged){PV_KINDS, &in->ink, 0, "", "", false};
    add_table(p, &ink, true);
}

static void add_references(pv_text_page *p, const pv_inspection *in)
{
    if (in->n_references == 0)
        return;
    pv_text_add(&p->out, "\n  reference             scale x, %%  weight         scale y, %%  "
                         "weight\n");
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        pv_text_add(&p->out, "  ");
        pv_put_left(p, pv_reference_name(one->kind), 12);
        for (int k = 0; k < 2; k++) {
            if (!(one->U[k] > 0)) {
                pv_put_right(p, "-", k == 0 ? 18 : 19);
                pv_put_blanks(p, 8);
                continue;
            }
            pv_put_number(p, 100 * one->scale[k], 3, k == 0 ? 10 : 11);
            pv_put_U(p, 100 * one->U[k], 3, 8);
            pv_put_number(p, one->weight[k], 2, 8);
        }
        pv_text_add(&p->out, "%s\n", one->disagrees ? "  disagrees" : "");
    }
}

static void add_budget(pv_text_page *p, const pv_inspection *in)
{
    if (in->error != NULL)
        return;
    pv_put_bold(p, in->sheet);
    pv_text_add(&p->out, "  uncertainty budget, ");
    pv_put_plain(p, in->file, strlen(in->file));
    pv_text_add(&p->out, "\n");
    pv_put_wrapped(p, "    ",
                   "parts as standard uncertainties, with their share of u squared; A by "
                   "statistics, B otherwise");
    add_references(p, in);
    add_sheet_tables(p, in);
    static const char *const titles[PV_KINDS] = {[PV_KIND_WIDTH] = "width",
                                                 [PV_KIND_STRAIGHT] = "straightness",
                                                 [PV_KIND_SPACING] = "spacing"};
    bool proven = in->reference != PV_REFERENCE_NONE;
    for (int kind = PV_KIND_WIDTH; kind < PV_KINDS; kind++) {
        bool bow = kind == PV_KIND_STRAIGHT;
        budget_table t = {titles[kind], "mm", 1, 4, !bow, true, {{{0}, NULL}, {{0}, NULL}}, 0};
        if (!typical_and_worst(in, (pv_value_kind)kind, &t)) {
            p->out.failed = true;
            return;
        }
        add_table(p, &t, proven || bow);
    }
}

char *pv_inspections_budget(const pv_inspection *const *items, size_t n)
{
    pv_text_page p = {PV_TEXT_INIT, false};
    for (size_t i = 0; i < n; i++) {
        if (p.out.length > 0)
            pv_text_add(&p.out, "\n");
        add_budget(&p, items[i]);
    }
    return pv_text_take(&p.out);
}
