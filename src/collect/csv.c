/* The table of all pictures as CSV (RFC 4180). */
#include "base/text.h"
#include "collect/tally.h"

#include <math.h>
#include <string.h>

static const char heading[] =
    "team,file,page,verdict,sheet,paper,kit,picture,reference,reference_U_percent,"
    "scale_x,scale_x_U,scale_y,scale_y_U,scale_verdict,skew_mrad,skew_U_mrad,skew_verdict,"
    "lines,width_mean_error_mm,width_worst_line,width_worst_error_mm,width_worst_U_mm,"
    "width_verdict,straight_worst_line,straight_worst_mm,straight_worst_U_mm,straight_verdict,"
    "spacings,spacing_worst_from,spacing_worst_to,spacing_worst_error_mm,spacing_worst_U_mm,"
    "spacing_verdict,odd,answer,advice,report,sha256,code,scanner\r\n";

/* A stranger's text: always quoted, without control characters; what a spreadsheet would take for a
 * formula has an apostrophe before it. NULL is nothing. */
static void text(pv_text *to, const char *field)
{
    if (field == NULL || *field == '\0')
        return;
    pv_text safe = PV_TEXT_INIT;
    pv_text_shown(&safe, field, strlen(field), "");
    pv_text_add(to, "\"");
    const char *s = safe.chars != NULL ? safe.chars : "";
    if (*s != '\0' && strchr("=+-@", *s) != NULL)
        pv_text_add(to, "'");
    for (; *s != '\0'; s++)
        pv_text_bytes(to, *s == '"' ? "\"\"" : s, *s == '"' ? 2 : 1);
    pv_text_add(to, "\"");
    to->failed = to->failed || safe.failed;
    pv_text_drop(&safe);
}

/* What is letters and digits, unless somebody has edited the results. */
static void code(pv_text *to, const char *field)
{
    static const char plain[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-";
    if (field != NULL && field[strspn(field, plain)] == '\0' && *field != '-')
        pv_text_add(to, "%s", field);
    else
        text(to, field);
}

/* A comma and a number of ours; nothing where it isn't known. */
static void number(pv_text *to, double value, int decimals)
{
    pv_text_add(to, ",");
    if (isfinite(value))
        pv_text_add(to, "%s", pv_fixed(value, decimals).chars);
}

static void verdict(pv_text *to, const pv_tally_kind *kind)
{
    pv_text_add(to, ",%s", kind->n > 0 ? pv_verdict_name(kind->verdict) : "");
}

static void add_values(pv_text *to, const pv_tally_row *row)
{
    const pv_tally_kind *width = &row->kind[PV_TALLY_WIDTH];
    const pv_tally_kind *straight = &row->kind[PV_TALLY_STRAIGHT];
    const pv_tally_kind *spacing = &row->kind[PV_TALLY_SPACING];
    for (int axis = 0; axis < 2; axis++) {
        number(to, row->scale[axis], 6);
        number(to, row->scale_U[axis], 6);
    }
    verdict(to, &row->kind[PV_TALLY_SCALE]);
    number(to, row->skew, 3);
    number(to, row->skew_U, 3);
    verdict(to, &row->kind[PV_TALLY_SKEW]);
    pv_text_add(to, ",%zu", width->n);
    number(to, width->mean, 4);
    pv_text_add(to, ",");
    text(to, width->name);
    number(to, width->error, 4);
    number(to, width->U, 4);
    verdict(to, width);
    pv_text_add(to, ",");
    text(to, straight->name);
    number(to, straight->error, 4);
    number(to, straight->U, 4);
    verdict(to, straight);
    pv_text_add(to, ",%zu,", spacing->n);
    text(to, spacing->name);
    pv_text_add(to, ",");
    text(to, spacing->other);
    number(to, spacing->error, 4);
    number(to, spacing->U, 4);
    verdict(to, spacing);
}

static void add_odd(pv_text *to, unsigned odd)
{
    static const char *const names[PV_ODDS] = {"scale x", "scale y", "skew", "width"};
    bool any = false;
    pv_text_add(to, ",");
    for (int i = 0; i < PV_ODDS; i++)
        if ((odd & 1u << i) != 0) {
            pv_text_add(to, "%s%s", any ? "; " : "", names[i]);
            any = true;
        }
}

/* Of what is no picture of a sheet of the kit. */
static const char *no_verdict(const pv_tally_row *row)
{
    return *row->file == '\0'    ? "nothing sent"
           : row->sha256 == NULL ? "not read"
           : row->picture        ? "unusable"
                                 : "no picture";
}

static void add_row(pv_text *to, const pv_tally *t, const pv_tally_row *row)
{
    text(to, row->team);
    pv_text_add(to, ",");
    text(to, row->file);
    pv_text_add(to, ",");
    if (row->page > 0)
        pv_text_add(to, "%zu", row->page);
    if (row->error != NULL || row->plan == SIZE_MAX) {
        pv_text_add(to, ",%s,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,", no_verdict(row));
    } else {
        const pv_tally_plan *plan = &t->plans[row->plan];
        pv_text_add(to, ",%s,", pv_verdict_name(row->verdict));
        text(to, plan->proof ? "proof" : plan->sheets[row->number]);
        pv_text_add(to, ",");
        text(to, plan->paper);
        pv_text_add(to, ",");
        text(to, plan->kit);
        pv_text_add(to, ",%s,", row->photograph ? "photograph" : "scan");
        text(to, row->reference);
        number(to, 100 * row->U_rel, 3);
        add_values(to, row);
        add_odd(to, row->odd);
    }
    pv_text_add(to, ",");
    text(to, row->error != NULL ? row->error : row->answer);
    pv_text_add(to, ",");
    text(to, row->advice);
    const char *report = pv_row_report(row);
    pv_text_add(to, ",%s,", report != NULL ? report : "");
    code(to, row->sha256);
    pv_text_add(to, ",");
    code(to, row->error == NULL ? row->code : NULL);
    pv_text_add(to, ",");
    code(to, row->scanner);
    pv_text_add(to, "\r\n");
}

char *pv_tally_csv(const pv_tally *t)
{
    pv_text out = PV_TEXT_INIT;
    pv_text_add(&out, "%s", heading);
    for (size_t i = 0; i < t->n_rows; i++)
        add_row(&out, t, &t->rows[i]);
    return pv_text_take(&out);
}
