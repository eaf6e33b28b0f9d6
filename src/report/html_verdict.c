/* Verdicts, how near to its limit a value is, and which comes first. */
#include "report/html.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

#define GAUGE_REACH 2.0 /* tolerances to each side */
#define GAUGE_UNIT  32.0
#define GAUGE_MID   70.0

const char *pv_html_class(pv_verdict verdict)
{
    return verdict == PV_CONFORMS ? "ok" : verdict == PV_DOES_NOT_CONFORM ? "no" : "un";
}

void pv_html_sign(pv_text *to, const char *kind)
{
    pv_text_add(to,
                "<svg class=\"v %s\" viewBox=\"0 0 20 20\" aria-hidden=\"true\">"
                "<use href=\"#%s\"/></svg>",
                kind, kind);
}

void pv_html_badge(pv_text *to, pv_verdict verdict)
{
    const char *kind = pv_html_class(verdict);
    pv_text_add(to, "<span class=\"b %s\">", kind);
    pv_html_sign(to, kind);
    pv_text_add(to, "%s</span>", pv_verdict_name(verdict));
}

double pv_html_strain(const pv_value *value, double nominal)
{
    if (!value->measured)
        return 0;
    double most = fabs(value->value - nominal) + value->U;
    return value->tolerance > 0 ? most / value->tolerance : most > 0 ? HUGE_VAL : 0;
}

static double on_gauge(double error, double tolerance)
{
    double tolerances = fmin(fmax(error / tolerance, -GAUGE_REACH), GAUGE_REACH);
    return GAUGE_MID + GAUGE_UNIT * tolerances;
}

/* The zone of tolerance, the interval of the uncertainty, the value in it; an arrow where the value
 * lies beyond the gauge. */
void pv_html_gauge(pv_text *to, const pv_value *value, double nominal)
{
    double error = value->value - nominal, tolerance = value->tolerance;
    if (!value->measured || !(tolerance > 0)) {
        pv_text_add(to, "\xE2\x80\x93");
        return;
    }
    pv_text_add(to,
                "<svg class=\"g %s\" viewBox=\"0 0 140 20\" aria-hidden=\"true\">"
                "<use href=\"#zone\"/>",
                pv_html_class(value->verdict));
    double at = on_gauge(error, tolerance);
    if (fabs(error) > GAUGE_REACH * tolerance) {
        double way = error > 0 ? 1 : -1;
        pv_text_add(to, "<path class=\"d\" d=\"");
        pv_svg_point(to, 'M', pv_v(at - way * 6, 4));
        pv_svg_point(to, 'L', pv_v(at + way * 4, 10));
        pv_svg_point(to, 'L', pv_v(at - way * 6, 16));
        pv_text_add(to, "Z\"/></svg>");
        return;
    }
    pv_text_add(to, "<path class=\"i\" d=\"");
    pv_svg_point(to, 'M', pv_v(on_gauge(error - value->U, tolerance), 10));
    pv_text_add(to, "H");
    pv_svg_number(to, on_gauge(error + value->U, tolerance));
    pv_text_add(to, "\"/><path class=\"d\" d=\"");
    pv_svg_point(to, 'M', pv_v(at - 1.5, 3));
    pv_text_add(to, "h3v14h-3Z\"/></svg>");
}

/* ---- the worst first ---- */

typedef struct ranked {
    int rank; /* by verdict */
    double strain;
    size_t index;
} ranked;

static int worse_first(const void *x, const void *y)
{
    const ranked *a = x, *b = y;
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    if (a->strain != b->strain)
        return a->strain > b->strain ? -1 : 1;
    return a->index < b->index ? -1 : a->index > b->index;
}

static int rank_of(const pv_value *value)
{
    return value->verdict == PV_DOES_NOT_CONFORM ? 0
           : value->verdict == PV_UNDECIDED      ? (value->measured ? 1 : 2)
                                                 : 3;
}

static ranked rank_line(const pv_line_result *line, size_t index)
{
    int width = rank_of(&line->width);
    int straight = line->straight.measured ? rank_of(&line->straight) : 3;
    double strain =
        fmax(pv_html_strain(&line->width, line->nominal), pv_html_strain(&line->straight, 0));
    bool counts = line->planned > 0;
    return (ranked){!counts ? 4 : width < straight ? width : straight, strain, index};
}

static size_t *in_order(ranked *list, size_t n)
{
    size_t *order = PV_NEW_ARRAY(n, size_t);
    if (order == NULL)
        return NULL;
    qsort(list, n, sizeof *list, worse_first);
    for (size_t i = 0; i < n; i++)
        order[i] = list[i].index;
    return order;
}

static void widen(double *most, double deviation)
{
    if (isfinite(deviation))
        *most = fmax(*most, fabs(deviation));
}

static double largest_deviation(const pv_inspection *in)
{
    double most = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        for (size_t k = 0; k < in->lines[i].stations; k++) {
            const pv_station_result *at = &in->lines[i].station[k];
            double half = (at->width - in->lines[i].nominal) / 2;
            widen(&most, half + at->centre);
            widen(&most, half - at->centre);
        }
    return most;
}

bool pv_html_sheet_open(pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    ranked *list =
        PV_NEW_ARRAY(in->n_lines > in->n_spacings ? in->n_lines : in->n_spacings, ranked);
    if (list == NULL)
        return false;
    for (size_t i = 0; i < in->n_lines; i++)
        list[i] = rank_line(&in->lines[i], i);
    sheet->line = in_order(list, in->n_lines);
    for (size_t i = 0; i < in->n_spacings; i++) {
        const pv_spacing_result *one = &in->spacings[i];
        list[i] = (ranked){rank_of(&one->value), pv_html_strain(&one->value, one->nominal), i};
    }
    sheet->spacing = in_order(list, in->n_spacings);
    free(list);
    sheet->deviation = largest_deviation(in);
    return sheet->line != NULL && sheet->spacing != NULL;
}

void pv_html_sheet_close(pv_html_sheet *sheet)
{
    free(sheet->line);
    free(sheet->spacing);
    sheet->line = sheet->spacing = NULL;
}
