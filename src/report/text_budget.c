/* Uncertainty budgets for people: of each kind of value a table, with the numbers of this image. */
#include "base/memory.h"
#include "po/po.h"
#include "report/rank.h"
#include "report/text_page.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define LABEL 34
#define FIELD 21 /* of one column */
#define SHARE 7  /* of it, for the share of the variance */

/* Values of one kind that a table shows side by side. */
typedef struct budget_table {
    pv_kind_info kind;
    const pv_value *column[2];
    const char *head[2]; /* "typical", or NULL */
    size_t n;
} budget_table;

/* How each is named here, and evaluated (JCGM 100:2008, 4.2 and 4.3). */
static const char *const labels[PV_PARTS][2] = {
    [PV_PART_SCATTER] = {PV_SAID("scatter of the places"), "A"},
    [PV_PART_GRID] = {PV_SAID("pixel grid"), "B"},
    [PV_PART_TONE] = {PV_SAID("tone curve"), "B"},
    [PV_PART_SCREEN] = {PV_SAID("halftone dots"), "B"},
    [PV_PART_POSE] = {PV_SAID("map from sheet to image"), "A"},
    [PV_PART_INK] = {PV_SAID("spread of ink"), "B"},
    [PV_PART_REFERENCE] = {PV_SAID("reference"), "B"}};

static int decimals_of(const budget_table *t)
{
    return t->kind.decimals + 1;
}

static void part_row(pv_text_page *p, const budget_table *t, int part)
{
    bool any = false;
    for (size_t i = 0; i < t->n; i++)
        any = any || t->column[i]->part[part] > 0;
    if (!any)
        return;
    pv_text_add(&p->out, "  ");
    pv_put_left(p, pv_say(p->out.language, labels[part][0]), LABEL - 5);
    pv_text_add(&p->out, "%s  ", labels[part][1]);
    for (size_t i = 0; i < t->n; i++) {
        const pv_value *value = t->column[i];
        double share = value->u > 0 ? value->part[part] / value->u : 0;
        pv_put_number(p, t->kind.factor * value->part[part], decimals_of(t), FIELD - SHARE);
        pv_put_number(p, 100 * share * share, 0, SHARE - 2);
        pv_text_add(&p->out, " %%");
    }
    pv_text_add(&p->out, "\n");
}

/* One number of each column, by its place in a row of the table of values; where it isn't finite,
 * "many". */
static void number_row(pv_text_page *p, const budget_table *t, const char *label, size_t place,
                       double factor, int decimals)
{
    pv_text_add(&p->out, "  ");
    pv_put_left(p, pv_say(p->out.language, label), LABEL - 2);
    for (size_t i = 0; i < t->n; i++) {
        double value;
        memcpy(&value, (const char *)t->column[i] + place, sizeof value);
        if (isfinite(value))
            pv_put_number(p, factor * value, decimals, FIELD - SHARE);
        else
            pv_put_right(p, pv_say(p->out.language, "many"), FIELD - SHARE);
        pv_put_blanks(p, i + 1 < t->n ? SHARE : 0);
    }
    pv_text_add(&p->out, "\n");
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
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s, %s", pv_say(p->out.language, t->kind.name), t->kind.unit);
    bool named = t->column[0]->name[0] != '\0';
    pv_text_add(&p->out, "\n  ");
    const char *title = text.chars != NULL ? text.chars : "";
    pv_put_left(p, title, named ? LABEL - 2 : pv_columns(title));
    p->out.failed = p->out.failed || text.failed;
    pv_text_drop(&text);
    for (size_t i = 0; named && i < t->n; i++) {
        const pv_value *value = t->column[i];
        pv_text_add(&text, "%s%s%s", value->name, value->to[0] != '\0' ? " - " : "", value->to);
        column_head(p, text.chars != NULL ? text.chars : "", i + 1 == t->n);
        p->out.failed = p->out.failed || text.failed;
        pv_text_drop(&text);
    }
    pv_text_add(&p->out, "\n");
    if (t->head[0] == NULL)
        return;
    pv_put_blanks(p, LABEL);
    for (size_t i = 0; i < t->n; i++)
        column_head(p, pv_say(p->out.language, t->head[i]), i + 1 == t->n);
    pv_text_add(&p->out, "\n");
}

static void add_table(pv_text_page *p, const budget_table *t, bool proven)
{
    double factor = t->kind.factor;
    int decimals = decimals_of(t);
    table_head(p, t);
    for (int part = 0; part < PV_PARTS; part++)
        part_row(p, t, part);
    number_row(p, t, PV_SAID("standard uncertainty u"), offsetof(pv_value, u), factor, decimals);
    number_row(p, t, PV_SAID("effective degrees of freedom"), offsetof(pv_value, freedom), 1, 1);
    number_row(p, t, PV_SAID("coverage factor k, 95.45 %"), offsetof(pv_value, k), 1, 2);
    number_row(p, t, PV_SAID("expanded uncertainty U"), offsetof(pv_value, U), factor, decimals);
    number_row(p, t, PV_SAID("planned"), offsetof(pv_value, nominal), factor, decimals);
    number_row(p, t, PV_SAID("measured"), offsetof(pv_value, value), factor, decimals);
    if (!t->kind.judged)
        return;
    number_row(p, t, PV_SAID("allowed off"), offsetof(pv_value, tolerance), factor, decimals);
    if (proven || !t->kind.length)
        number_row(p, t, PV_SAID("probability that it conforms, %"),
                   offsetof(pv_value, probability), 100, 1);
    if (proven && (t->kind.length || t->column[0]->kind == PV_KIND_SCALE))
        number_row(p, t, PV_SAID("moved by 0.1 % of the reference"), offsetof(pv_value, value),
                   0.001 * factor, decimals);
}

/* ---- which values ---- */

static int by_U(const void *a, const void *b)
{
    const pv_value *x = *(const pv_value *const *)a, *y = *(const pv_value *const *)b;
    if (x->U != y->U)
        return x->U > y->U ? 1 : -1;
    return (x > y) - (x < y);
}

/* Of few all; of many that whose U is the middle one, and that with the largest. False where memory
 * ran out. */
static bool choose(const pv_inspection *in, pv_value_kind kind, budget_table *t)
{
    const pv_value **some = PV_NEW_ARRAY(in->table.n_values, const pv_value *);
    size_t n = 0;
    if (some == NULL)
        return false;
    *t = (budget_table){.kind = *pv_kind_of(kind)};
    for (size_t i = 0; i < in->table.n_values; i++)
        if (in->table.values[i].kind == kind && in->table.values[i].measured)
            some[n++] = &in->table.values[i];
    if (n > 0)
        t->kind = pv_value_shown(some[0]);
    bool few = t->kind.of == PV_OF_SHEET;
    if (!few)
        qsort((void *)some, n, sizeof(const pv_value *), by_U); /* NOLINT: of pointers */
    t->n = n < 2 ? n : 2;
    if (n > 0)
        t->column[0] = few ? some[0] : some[(n - 1) / 2];
    if (n > 1)
        t->column[1] = few ? some[1] : some[n - 1];
    if (n > 1 && !few) {
        t->head[0] = PV_SAID("typical");
        t->head[1] = PV_SAID("worst");
    }
    free((void *)some);
    return true;
}

static void add_references(pv_text_page *p, const pv_inspection *in)
{
    if (in->n_references == 0)
        return;
    const pv_language *l = p->out.language;
    /* TRANSLATORS: a table's head: its columns must end where they end in English. */
    const char *head =
        PV_SAID("reference             scale x, %  weight         scale y, %  weight");
    pv_text_add(&p->out, "\n  %s\n", pv_say(l, head));
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        pv_text_add(&p->out, "  ");
        pv_put_left(p, pv_say(l, pv_reference_name(one->kind)), 12);
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
        pv_text_add(&p->out, "%s\n", one->disagrees ? pv_say(l, "  disagrees") : "");
    }
}

static void add_budget(pv_text_page *p, const pv_inspection *in)
{
    if (in->sheet.error != NULL)
        return;
    pv_put_bold(p, in->sheet.sheet);
    pv_text_say(&p->out, "  uncertainty budget, ");
    pv_put_plain(p, in->sheet.label, strlen(in->sheet.label));
    pv_text_add(&p->out, "\n");
    pv_put_wrapped(p, "    ",
                   pv_say(p->out.language, "parts as standard uncertainties, with their share of u "
                                           "squared; A: evaluated by statistics, B: otherwise"));
    add_references(p, in);
    bool proven = in->sheet.reference != PV_REFERENCE_NONE;
    for (int kind = 0; kind < PV_KINDS; kind++) {
        budget_table t;
        if (!choose(in, (pv_value_kind)kind, &t)) {
            p->out.failed = true;
            return;
        }
        if (t.n > 0 && (t.kind.judged || t.kind.of == PV_OF_SHEET))
            add_table(p, &t, proven);
    }
}

char *pv_inspections_budget(const pv_inspection *const *items, size_t n)
{
    pv_text_page p = {PV_TEXT_IN(n > 0 ? items[0]->sheet.language : NULL), false};
    for (size_t i = 0; i < n; i++) {
        if (p.out.length > 0)
            pv_text_add(&p.out, "\n");
        add_budget(&p, items[i]);
    }
    return pv_text_take(&p.out);
}
