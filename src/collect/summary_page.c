/* The organiser's page: who has proven what, what is usual, and who is odd. */
#include "base/memory.h"
#include "base/numeric.h"
#include "collect/chart.h"
#include "collect/counts.h"
#include "collect/groups.h"
#include "collect/page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NAMES_MAX 12 /* sheets that are named in a team's row; more are counted */

/* ---- teams ---- */

/* The kinds of scanner that were stated for the team's pictures, as they are written; empty where
 * none was. */
static void add_stated(pv_results_page *page, const pv_tally_team *team)
{
    const pv_tally *t = page->tally;
    pv_text text = PV_TEXT_INIT;
    for (int k = 0; k < PV_SCANNER_KINDS; k++) {
        const char *name = pv_scanner_kind_name((pv_scanner_kind)k);
        size_t i = team->first, end = team->first + team->n;
        while (i < end && (t->rows[i].scanner == NULL || strcmp(t->rows[i].scanner, name) != 0))
            i++;
        if (i < end)
            pv_text_add(&text, "%s%s", text.length > 0 ? ", " : "", name);
    }
    pv_data_take(&page->data, "stated", &text);
}

static void add_team(pv_results_page *page, const pv_tally_team *team, size_t index)
{
    const pv_tally *t = page->tally;
    const char *kind;
    const char *words = pv_group_words(t, &team->info, &kind);
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "team", pv_results_team(t, team->info.name));
    pv_data_text(&page->data, "page", team->info.page);
    pv_data_words(&page->data, "id", "t%zu", index + 1);
    pv_data_text(&page->data, "kind", kind);
    pv_data_text(&page->data, "words", words);
    pv_data_count(&page->data, "pictures", team->info.pictures);
    pv_data_count(&page->data, "others", team->info.others);
    add_stated(page, team);
    pv_results_shared(page, team, NAMES_MAX, false);
    pv_data_open(&page->data, "mats", '[');
    for (size_t i = 0; i < team->n_mats; i++) {
        const pv_tally_mat *mat = &t->mats[team->first_mat + i];
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "paper", t->plans[mat->plan].paper);
        pv_data_count(&page->data, "proven", mat->state[PV_TALLY_PROVEN]);
        pv_data_count(&page->data, "all", mat->n);
        pv_results_sheets(page, "changed", mat, 1u << PV_TALLY_CHANGED, NAMES_MAX);
        pv_results_sheets(page, "failed", mat, 1u << PV_TALLY_FAILED, NAMES_MAX);
        pv_results_sheets(page, "disputed", mat, 1u << PV_TALLY_CONFLICT, NAMES_MAX);
        pv_results_sheets(page, "undecided", mat, 1u << PV_TALLY_UNDECIDED, NAMES_MAX);
        pv_results_sheets(page, "unmeasured", mat, 1u << PV_TALLY_UNMEASURED, NAMES_MAX);
        pv_results_sheets(page, "missing", mat, i == 0 ? 1u << PV_TALLY_MISSING : 0, NAMES_MAX);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
    pv_data_open(&page->data, "rows", '[');
    for (size_t i = team->first; i < team->first + team->n; i++) {
        pv_json_open(&page->data, '{');
        pv_results_row(page, &t->rows[i]);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
    pv_json_close(&page->data, '}');
}

/* Sheets of which two pictures disagree, of any paper. */
static void add_disputes(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    pv_data_open(&page->data, "disputes", '[');
    for (size_t i = 0; i < t->n_teams; i++)
        for (size_t k = 0; k < t->teams[i].n_mats; k++) {
            const pv_tally_mat *mat = &t->mats[t->teams[i].first_mat + k];
            for (size_t s = mat->first; s < mat->first + mat->n; s++) {
                if (t->sheets[s].state != PV_TALLY_CONFLICT)
                    continue;
                pv_json_open(&page->data, '{');
                pv_data_text(&page->data, "team", pv_results_team(t, t->teams[i].info.name));
                pv_data_text(&page->data, "sheet", t->plans[mat->plan].sheets[t->sheets[s].number]);
                pv_results_dispute(page, &t->sheets[s]);
                pv_json_close(&page->data, '}');
            }
        }
    pv_json_close(&page->data, ']');
}

/* ---- what is usual, and who is odd ---- */

static const struct {
    const char *name; /* for people */
    double nominal, factor;
    const char *unit;
    int decimals, kind;
} quantities[PV_ODDS] = {
    [PV_ODD_SCALE_X] = {PV_SAID("Scale across (x)"), 1, 100, "%", 3, PV_TALLY_SCALE},
    [PV_ODD_SCALE_Y] = {PV_SAID("Scale upwards (y)"), 1, 100, "%", 3, PV_TALLY_SCALE},
    [PV_ODD_SKEW] = {PV_SAID("Skew"), 0, 1, "mrad", 3, PV_TALLY_SKEW},
    [PV_ODD_WIDTH] = {PV_SAID("Mean error of line widths"), 0, 1, "mm", 3, PV_TALLY_WIDTH},
};

/* The tightest tolerance that any picture was judged by; NAN where there is none. */
static double tolerance_of(const pv_tally *t, int kind)
{
    double least = NAN;
    for (size_t i = 0; i < t->n_rows; i++)
        if (t->rows[i].kind[kind].n > 0)
            least = fmin(least, t->rows[i].kind[kind].tolerance);
    return least;
}

static void add_chart(pv_results_page *page, const char *name, const pv_chart *c)
{
    pv_text words = PV_TEXT_INIT, svg = PV_TEXT_INIT;
    pv_text_add(&words,
                pv_say(page->tally->language, "%s: the middle of %zu is %s %s, the usual "
                                              "spread (one standard deviation) %s %s"),
                name, c->n, pv_results_number(c->factor * c->middle, c->decimals).chars, c->unit,
                pv_results_number(c->factor * c->spread, c->decimals).chars, c->unit);
    pv_chart_draw(&svg, c, words.chars != NULL ? words.chars : "");
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "name", name);
    pv_data_count(&page->data, "n", c->n);
    pv_data_words(&page->data, "middle", "%s %s",
                  pv_results_number(c->factor * c->middle, c->decimals).chars, c->unit);
    pv_data_words(&page->data, "spread", "%s %s",
                  pv_results_number(c->factor * c->spread, c->decimals).chars, c->unit);
    pv_data_take(&page->data, "chart_svg", &svg);
    pv_json_close(&page->data, '}');
    page->data.out.failed = page->data.out.failed || words.failed;
    pv_text_drop(&words);
}

static void chart_of(pv_results_page *page, int which, double *values)
{
    const pv_tally *t = page->tally;
    if (t->usual[which].n < PV_ODD_LEAST)
        return;
    pv_chart c = {.values = values,
                  .middle = t->usual[which].median - quantities[which].nominal,
                  .spread = t->usual[which].spread,
                  .tolerance = tolerance_of(t, quantities[which].kind),
                  .factor = quantities[which].factor,
                  .unit = quantities[which].unit,
                  .decimals = quantities[which].decimals};
    for (size_t i = 0; i < t->n_rows; i++) {
        double value = pv_tally_odd_value(&t->rows[i], which) - quantities[which].nominal;
        if (isfinite(value))
            values[c.n++] = value;
    }
    add_chart(page, pv_say(t->language, quantities[which].name), &c);
}

/* Of all lines of all pictures. */
static void chart_of_widths(pv_results_page *page, double *values)
{
    const pv_tally *t = page->tally;
    if (t->n_widths < PV_ODD_LEAST)
        return;
    pv_chart c = {.values = t->widths,
                  .n = t->n_widths,
                  .tolerance = tolerance_of(t, PV_TALLY_WIDTH),
                  .factor = 1,
                  .unit = "mm",
                  .decimals = 3};
    for (size_t i = 0; i < c.n; i++)
        values[i] = t->widths[i];
    c.middle = pv_median_of(values, c.n);
    for (size_t i = 0; i < c.n; i++)
        values[i] = fabs(t->widths[i] - c.middle);
    c.spread = PV_MAD_TO_SIGMA * pv_median_of(values, c.n);
    add_chart(page, pv_say(t->language, "Errors of all line widths"), &c);
}

static bool add_charts(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    size_t most = t->n_widths > t->n_rows ? t->n_widths : t->n_rows;
    double *values = PV_NEW_ARRAY(most, double);
    if (values == NULL)
        return false;
    pv_data_open(&page->data, "charts", '[');
    for (int which = 0; which < PV_ODDS; which++)
        chart_of(page, which, values);
    chart_of_widths(page, values);
    pv_json_close(&page->data, ']');
    free(values);
    return true;
}

/* "Scale across (x) -3.0 % (usual: 0.04 %); ..." */
static void add_odd_values(pv_results_page *page, const pv_tally_row *row)
{
    const pv_tally *t = page->tally;
    pv_text text = PV_TEXT_INIT;
    for (int which = 0; which < PV_ODDS; which++) {
        if ((row->odd & 1u << which) == 0)
            continue;
        double factor = quantities[which].factor, nominal = quantities[which].nominal;
        double value = factor * (pv_tally_odd_value(row, which) - nominal);
        double usual = factor * (t->usual[which].median - nominal);
        pv_digits own = pv_results_number(value, quantities[which].decimals);
        pv_digits other = pv_results_number(usual, quantities[which].decimals);
        pv_text_add(&text, "%s", text.length > 0 ? "; " : "");
        pv_text_add(&text, pv_say(t->language, "%s %s %s (usual: %s %s)"),
                    pv_say(t->language, quantities[which].name), own.chars, quantities[which].unit,
                    other.chars, quantities[which].unit);
    }
    pv_data_take(&page->data, "values", &text);
}

static void add_odd(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    bool compared = false;
    for (int which = 0; which < PV_ODDS; which++)
        compared = compared || t->usual[which].n >= PV_ODD_LEAST;
    pv_data_bool(&page->data, "compared", compared);
    pv_data_count(&page->data, "least", PV_ODD_LEAST);
    pv_data_open(&page->data, "odd", '[');
    for (size_t i = 0; i < t->n_rows; i++) {
        if (t->rows[i].odd == 0)
            continue;
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "team", pv_results_team(t, t->rows[i].team));
        pv_results_row(page, &t->rows[i]);
        add_odd_values(page, &t->rows[i]);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* ---- files ---- */

/* Undecided prints that no flatbed takes, of sheets that no picture has proven: what is measured by
 * hand may settle them, with the program for one picture. */
static void add_large(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    pv_data_open(&page->data, "large", '[');
    for (size_t i = 0; i < t->n_teams; i++)
        for (size_t k = t->teams[i].first; k < t->teams[i].first + t->teams[i].n; k++) {
            const pv_tally_row *row = &t->rows[k];
            if (!row->asks_lengths || row->plan == SIZE_MAX ||
                pv_tally_proven(t, &t->teams[i], row))
                continue;
            pv_text folder = pv_results_folder(&t->plans[row->plan]);
            pv_json_open(&page->data, '{');
            pv_data_text(&page->data, "team", pv_results_team(t, row->team));
            pv_results_row(page, row);
            pv_data_take(&page->data, "folder", &folder);
            pv_data_text(&page->data, "scanner", row->scanner);
            pv_json_close(&page->data, '}');
        }
    pv_json_close(&page->data, ']');
}

static void add_unusable(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    pv_data_open(&page->data, "unusable", '[');
    for (size_t i = 0; i < t->n_rows; i++) {
        if (t->rows[i].error == NULL || pv_results_nothing(&t->rows[i]))
            continue;
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "team", pv_results_team(t, t->rows[i].team));
        pv_results_row(page, &t->rows[i]);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* Pictures of sheets that came more than once, to the byte. */
static void add_same(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    pv_data_open(&page->data, "same", '[');
    for (size_t i = 0; i < t->n_rows; i++) {
        const pv_tally_row *first = &t->rows[t->rows[i].same_as];
        if (t->rows[i].same_as == i || t->rows[i].error != NULL)
            continue;
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "team", pv_results_team(t, t->rows[i].team));
        pv_data_text(&page->data, "file", t->rows[i].file);
        pv_data_text(&page->data, "first_team", pv_results_team(t, first->team));
        pv_data_text(&page->data, "first_file", first->file);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* ---- the whole ---- */

static void add_counts(pv_results_page *page)
{
    const pv_tally *t = page->tally;
    pv_counts c = pv_counts_of(t);
    pv_text whole = PV_TEXT_INIT;
    pv_counts_say_whole(&whole, t, &c);
    pv_data_take(&page->data, "whole", &whole);
    pv_data_count(&page->data, "n_pictures", c.pictures);
    pv_data_count(&page->data, "n_true", c.verdict[PV_CONFORMS]);
    pv_data_count(&page->data, "n_false", c.verdict[PV_DOES_NOT_CONFORM]);
    pv_data_count(&page->data, "n_undecided", c.verdict[PV_UNDECIDED]);
    pv_data_count(&page->data, "n_proofs", c.proofs);
    pv_data_count(&page->data, "n_unusable", c.unusable);
    pv_data_count(&page->data, "n_others", c.others);
    pv_data_bool(&page->data, "any_unusable", c.unusable > 0);
    pv_data_count(&page->data, "n_asking", pv_tally_asking(t));
}

char *pv_tally_html(const pv_tally *t, pv_diags *diags)
{
    pv_results_page page;
    pv_results_page_begin(&page, t, pv_say(t->language, "Results of all teams"), diags);
    add_counts(&page);
    pv_groups_add(&page);
    pv_data_open(&page.data, "teams", '[');
    for (size_t i = 0; i < t->n_teams; i++)
        add_team(&page, &t->teams[i], i);
    pv_json_close(&page.data, ']');
    add_disputes(&page);
    page.data.out.failed = !add_charts(&page) || page.data.out.failed;
    add_odd(&page);
    add_large(&page);
    add_unusable(&page);
    add_same(&page);
    pv_data_text(&page.data, "kit", t->kit);
    pv_data_text(&page.data, "scanners", t->scanners);
    pv_data_text(&page.data, "version", t->version);
    return pv_results_page_end(&page, "results_summary");
}
