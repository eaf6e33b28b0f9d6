/* Charts: small pictures of many numbers, readable in gray and without colour. */
#include "report/html.h"

#include <math.h>

#define PROFILES_MAX 12
#define POINTS_MAX   240 /* of a profile; neighbours are averaged */
#define SPARK_POINTS 60

/* ---- a line's widths along its way ---- */

double pv_html_gap(const pv_line_result *line)
{
    if (line->stations < 3)
        return HUGE_VAL;
    const pv_station_result *at = line->station;
    double mean = (at[line->stations - 1].s - at[0].s) / (double)(line->stations - 1), sum = 0;
    size_t n = 0;
    for (size_t k = 1; k < line->stations; k++)
        if (at[k].s - at[k - 1].s <= 2 * mean) {
            sum += at[k].s - at[k - 1].s;
            n++;
        }
    return n > 0 ? 4 * sum / (double)n : HUGE_VAL;
}

/* A frame that numbers are drawn in; y grows downwards on the page, values upwards. */
typedef struct frame {
    double left, right, top, bottom;
    double from, to;  /* along x */
    double low, high; /* along y */
} frame;

static pv_vec in_frame(const frame *f, double x, double y)
{
    double u = f->to > f->from ? (x - f->from) / (f->to - f->from) : 0.5;
    double v = f->high > f->low ? (y - f->low) / (f->high - f->low) : 0.5;
    v = fmin(fmax(v, 0), 1);
    return pv_v(f->left + u * (f->right - f->left), f->bottom - v * (f->bottom - f->top));
}

/* The line's widths less the nominal one as a path's data. */
static void trace_widths(pv_text *to, const pv_line_result *line, const frame *f, size_t points)
{
    size_t step = (line->stations + points - 1) / points;
    double far = pv_html_gap(line);
    bool begun = false;
    for (size_t i = 0; i < line->stations;) {
        double s = 0, width = 0, n = 0;
        bool gap = false;
        do {
            s += line->station[i].s;
            width += line->station[i].width - line->nominal;
            n++;
            i++;
            gap = i < line->stations && line->station[i].s - line->station[i - 1].s > far;
        } while (n < (double)step && i < line->stations && !gap);
        pv_vec p = in_frame(f, s / n, width / n);
        pv_svg_point(to, begun ? 'L' : 'M', p);
        if (!begun && gap) /* a place by itself shows as a dot */
            pv_text_add(to, "h.1");
        begun = !gap;
    }
}

static void rect(pv_text *to, const char *kind, pv_vec a, pv_vec b)
{
    pv_text_add(to, "<rect class=\"%s\" x=\"", kind);
    pv_svg_number(to, fmin(a.x, b.x));
    pv_text_add(to, "\" y=\"");
    pv_svg_number(to, fmin(a.y, b.y));
    pv_text_add(to, "\" width=\"");
    pv_svg_number(to, fabs(a.x - b.x));
    pv_text_add(to, "\" height=\"");
    pv_svg_number(to, fmax(fabs(a.y - b.y), 0.4));
    pv_text_add(to, "\"/>");
}

static void rule(pv_text *to, const char *kind, pv_vec a, pv_vec b)
{
    pv_text_add(to, "<path class=\"%s\" d=\"", kind);
    pv_svg_point(to, 'M', a);
    pv_svg_point(to, 'L', b);
    pv_text_add(to, "\"/>");
}

static void label(pv_text *to, const char *anchor, pv_vec at, double value, int decimals, bool sign,
                  const char *unit)
{
    pv_text_add(to, "<text text-anchor=\"%s\" x=\"", anchor);
    pv_svg_number(to, at.x);
    pv_text_add(to, "\" y=\"");
    pv_svg_number(to, at.y);
    pv_text_add(to, "\">");
    if (sign)
        pv_html_signed(to, value, decimals);
    else
        pv_html_number(to, value, decimals);
    pv_text_add(to, "%s</text>", unit);
}

/* Decimals that tell a value of this size to about three digits. */
static int decimals_of(double value)
{
    return value >= 10 ? 0 : value >= 1 ? 1 : value >= 0.1 ? 2 : 3;
}

static void profile_chart(pv_text *to, const pv_line_result *line, double reach)
{
    const pv_station_result *first = &line->station[0], *last = &line->station[line->stations - 1];
    frame f = {52, 352, 8, 108, first->s, last->s, -reach, reach};
    const pv_value *width = &line->width;
    double tolerance = width->tolerance, mean = width->value - line->nominal;
    pv_text_add(to, "<svg class=\"c\" viewBox=\"0 0 360 132\" role=\"img\" aria-label=\"width of ");
    pv_html_text(to, line->id);
    pv_text_add(to, " along its way, less the nominal width: mean ");
    pv_html_signed(to, mean, 3);
    pv_text_add(to, " mm, tolerance ");
    pv_html_uncertainty(to, tolerance, 3);
    pv_text_add(to, " mm\">");
    rect(to, "tz", in_frame(&f, f.from, -tolerance), in_frame(&f, f.to, tolerance));
    rule(to, "tl", in_frame(&f, f.from, tolerance), in_frame(&f, f.to, tolerance));
    rule(to, "tl", in_frame(&f, f.from, -tolerance), in_frame(&f, f.to, -tolerance));
    rule(to, "ax", in_frame(&f, f.from, 0), in_frame(&f, f.to, 0));
    if (width->measured) {
        const char *kind = pv_html_class(width->verdict);
        pv_text_add(to, "<g class=\"%s\">", kind);
        rect(to, "ub", in_frame(&f, f.from, mean - width->U), in_frame(&f, f.to, mean + width->U));
        rule(to, "mn", in_frame(&f, f.from, mean), in_frame(&f, f.to, mean));
        pv_text_add(to, "</g>");
    }
    pv_text_add(to, "<path class=\"pf\" d=\"");
    trace_widths(to, line, &f, POINTS_MAX);
    pv_text_add(to, "\"/>");
    int decimals = decimals_of(tolerance);
    const double ticks[] = {tolerance, 0, -tolerance};
    for (int i = 0; i < 3; i++) {
        pv_vec at = in_frame(&f, f.from, ticks[i]);
        label(to, "end", pv_v(at.x - 6, at.y + 4), ticks[i], decimals, true, "");
    }
    label(to, "start", pv_v(f.left, f.bottom + 18), f.from, 0, false, "");
    label(to, "end", pv_v(f.right, f.bottom + 18), f.to, 0, false, " mm along the line");
    pv_text_add(to, "</svg>\n");
}

/* What the small multiples share, so that they compare. */
static double common_reach(const pv_html_sheet *sheet, size_t n)
{
    double reach = 0;
    for (size_t i = 0; i < n; i++) {
        const pv_line_result *line = &sheet->in->lines[sheet->line[i]];
        reach = fmax(reach, 1.25 * line->width.tolerance);
        if (line->width.measured)
            reach = fmax(reach, 1.05 * (fabs(line->width.value - line->nominal) + line->width.U));
        for (size_t k = 0; k < line->stations; k++)
            if (isfinite(line->station[k].width))
                reach = fmax(reach, fabs(line->station[k].width - line->nominal));
    }
    return reach > 0 ? reach : 1;
}

void pv_html_profiles(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    size_t all = 0, shown = 0, n = in->n_lines;
    for (size_t i = 0; i < n; i++)
        all += in->lines[i].stations > 1;
    if (all == 0)
        return;
    double reach = common_reach(sheet, n);
    pv_text_add(to, "<h3>Width along each line</h3>\n<p class=\"m\">Width less the nominal width, "
                    "mm, the worst line first, all to one scale. Gray zone: tolerance. "
                    "Line with band: the mean and its expanded uncertainty <i>U</i>.");
    if (all > PROFILES_MAX)
        pv_text_add(to, " The %d worst of %zu lines; the table below has a profile of each.",
                    PROFILES_MAX, all);
    pv_text_add(to, "</p>\n<div class=\"many\">\n");
    for (size_t i = 0; i < n && shown < PROFILES_MAX; i++) {
        const pv_line_result *line = &in->lines[sheet->line[i]];
        if (line->stations < 2)
            continue;
        shown++;
        pv_text_add(to, "<figure><figcaption><span class=\"nr\">%zu</span> <b>", i + 1);
        pv_html_text(to, line->id);
        pv_text_add(to, "</b> ");
        pv_html_number(to, line->nominal, 3);
        pv_text_add(to, " mm ");
        pv_html_badge(to, line->width.verdict);
        pv_text_add(to, "</figcaption>");
        profile_chart(to, line, reach);
        pv_text_add(to, "</figure>\n");
    }
    pv_text_add(to, "</div>\n");
}

void pv_html_spark(pv_text *to, const pv_line_result *line, double range)
{
    if (line->stations < 2 || !(range > 0)) {
        pv_text_add(to, "\xE2\x80\x93");
        return;
    }
    frame f = {1,      119,  1, 21, line->station[0].s, line->station[line->stations - 1].s,
               -range, range};
    pv_text_add(to, "<svg class=\"s\" viewBox=\"0 0 120 22\" aria-hidden=\"true\">"
                    "<path class=\"ax\" d=\"M1 11H119\"/><path class=\"pf\" d=\"");
    trace_widths(to, line, &f, SPARK_POINTS);
    pv_text_add(to, "\"/></svg>");
}

/* ---- histogram ---- */

#define BINS 24

typedef struct spread {
    double mean, deviation, low, high;
    size_t n;
} spread;

static spread spread_of(const pv_inspection *in)
{
    spread all = {0, 0, HUGE_VAL, -HUGE_VAL, 0};
    double sum = 0, squares = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < in->n_lines; i++)
            for (size_t k = 0; k < in->lines[i].stations; k++) {
                double off = in->lines[i].station[k].width - in->lines[i].nominal;
                if (!isfinite(off))
                    continue;
                all.n += pass == 0;
                sum += pass == 0 ? off : 0;
                squares += (off - all.mean) * (off - all.mean);
                all.low = fmin(all.low, off);
                all.high = fmax(all.high, off);
            }
        all.mean = all.n > 0 ? sum / (double)all.n : 0;
        squares = pass == 0 ? 0 : squares;
    }
    all.deviation = all.n > 1 ? sqrt(squares / (double)(all.n - 1)) : 0;
    return all;
}

/* 1, 2 or 5 times a power of ten, at least `least`. */
static double round_step(double least)
{
    double power = pow(10, floor(log10(least))), rest = least / power;
    return power * (rest <= 1 ? 1 : rest <= 2 ? 2 : rest <= 5 ? 5 : 10);
}

static size_t count_bins(const pv_inspection *in, double low, double step, size_t bins[BINS])
{
    size_t most = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        for (size_t k = 0; k < in->lines[i].stations; k++) {
            double at = (in->lines[i].station[k].width - in->lines[i].nominal - low) / step;
            if (!(at >= 0 && at < BINS))
                continue;
            size_t bin = (size_t)at;
            bins[bin]++;
            most = bins[bin] > most ? bins[bin] : most;
        }
    return most;
}

static void histogram_chart(pv_text *to, const pv_inspection *in, const spread *all,
                            double tolerance)
{
    double step = round_step(fmax((all->high - all->low) / (BINS - 3), 1e-6));
    double low = floor(all->low / step) * step;
    size_t bins[BINS] = {0}, most = count_bins(in, low, step, bins), used = BINS;
    while (used > 1 && bins[used - 1] == 0)
        used--;
    used = used < 6 ? 6 : used;
    frame f = {34, 334, 10, 150, low, low + step * (double)used, 0, (double)most};
    pv_text_add(to,
                "<svg class=\"c h\" viewBox=\"0 0 360 190\" role=\"img\" aria-label=\"histogram "
                "of width less nominal width\">");
    for (size_t i = 0; i < used; i++) {
        double left = low + step * (double)i;
        bool out = fabs(left + step / 2) > tolerance;
        pv_vec a = in_frame(&f, left, 0), b = in_frame(&f, left + step, (double)bins[i]);
        if (bins[i] > 0)
            rect(to, out ? "hb no" : "hb", pv_v(a.x + 0.75, a.y), pv_v(b.x - 0.75, b.y));
    }
    rule(to, "ax", in_frame(&f, f.from, 0), in_frame(&f, f.to, 0));
    if (f.from < 0 && f.to > 0)
        rule(to, "mn", in_frame(&f, 0, 0), in_frame(&f, 0, (double)most));
    for (int side = -1; side <= 1; side += 2)
        if (side * tolerance > f.from && side * tolerance < f.to)
            rule(to, "tl", in_frame(&f, side * tolerance, 0),
                 in_frame(&f, side * tolerance, (double)most));
    int decimals = step >= 1 ? 0 : (int)ceil(-log10(step) - 1e-9);
    label(to, "end", pv_v(f.left - 6, f.top + 8), (double)most, 0, false, "");
    label(to, "end", pv_v(f.left - 6, f.bottom + 4), 0, 0, false, "");
    size_t every = used > 12 ? 8 : used > 6 ? 4 : 2;
    for (size_t i = 0; i <= used; i += every) {
        pv_vec at = in_frame(&f, low + step * (double)i, 0);
        rule(to, "ax", at, pv_v(at.x, at.y + 4));
        label(to, "middle", pv_v(at.x, at.y + 17), low + step * (double)i, decimals, true, "");
    }
    pv_text_add(to, "<text text-anchor=\"middle\" x=\"184\" y=\"186\">mm off the nominal width"
                    "</text></svg>\n");
}

void pv_html_histogram(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    spread all = spread_of(in);
    if (all.n < 2)
        return;
    double tolerance = in->lines[0].width.tolerance;
    pv_text_add(to, "<figure><figcaption><b>Widths at all places</b> %zu places: mean ", all.n);
    pv_html_signed(to, all.mean, 3);
    pv_text_add(to, " mm, standard deviation ");
    pv_html_number(to, all.deviation, 3);
    pv_text_add(to, " mm, from ");
    pv_html_signed(to, all.low, 3);
    pv_text_add(to, " to ");
    pv_html_signed(to, all.high, 3);
    pv_text_add(to, " mm; tolerance of a line\xE2\x80\x99s mean ");
    pv_html_uncertainty(to, tolerance, 3);
    pv_text_add(to, " mm</figcaption>");
    histogram_chart(to, in, &all, tolerance);
    pv_text_add(to, "</figure>\n");
}

/* ---- the print's own shape ---- */

#define FORM_HALF 62.0 /* half the nominal square's side, on the chart */

/* By how many times the deviations are drawn, so that the largest shows well. */
static double form_factor(double most)
{
    static const double factors[] = {1000, 500, 200, 100, 50, 20, 10, 5, 2, 1};
    size_t i = 0;
    while (i + 1 < sizeof factors / sizeof *factors && factors[i] * most > 0.3)
        i++;
    return factors[i];
}

void pv_html_form(pv_html *page, const pv_inspection *in)
{
    pv_text *to = &page->out;
    if (!in->scale[0].measured || !in->scale[1].measured)
        return;
    double x = in->scale[0].value - 1, y = in->scale[1].value - 1;
    double skew = in->skew.measured ? in->skew.value / 1000 : 0;
    double f = form_factor(fmax(fmax(fabs(x), fabs(y)), fabs(skew)));
    pv_verdict worst = in->scale[0].verdict;
    if (worst == PV_CONFORMS || in->scale[1].verdict == PV_DOES_NOT_CONFORM)
        worst = in->scale[1].verdict;
    static const pv_vec corners[4] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    pv_text_add(to,
                "<figure><figcaption><b>Shape of the print</b> its scale and skew drawn %.0f "
                "times; dashed: a square as planned</figcaption>"
                "<svg class=\"c h\" viewBox=\"0 0 360 190\" role=\"img\" aria-label=\"scale and "
                "skew of the print, exaggerated\"><path class=\"tl\" d=\"M118 33h124v124h-124Z"
                "\"/><path class=\"fm %s\" d=\"",
                f, pv_html_class(worst));
    for (int i = 0; i < 4; i++) {
        pv_vec c = corners[i];
        pv_vec p = pv_v(c.x * (1 + f * x) + c.y * f * skew, c.y * (1 + f * y));
        pv_svg_point(to, i == 0 ? 'M' : 'L', pv_v(180 + FORM_HALF * p.x, 95 - FORM_HALF * p.y));
    }
    pv_text_add(to, "Z\"/><text text-anchor=\"middle\" x=\"180\" y=\"188\">x ");
    pv_html_number(to, 100 * in->scale[0].value, 3);
    pv_text_add(to, " %%</text><text text-anchor=\"middle\" transform=\"translate(96 95) "
                    "rotate(-90)\">y ");
    pv_html_number(to, 100 * in->scale[1].value, 3);
    pv_text_add(to, " %%</text><text text-anchor=\"middle\" x=\"180\" y=\"99\">");
    if (in->skew.measured) {
        pv_html_signed(to, in->skew.value, 2);
        pv_text_add(to, " mrad");
    }
    pv_text_add(to, "</text></svg></figure>\n");
}
