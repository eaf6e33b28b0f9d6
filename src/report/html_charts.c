/* Charts: small pictures of many numbers, readable in gray and without colour. */
#include "judge/judge.h"
#include "report/html.h"

#include <math.h>

/* Limits that keep a page readable: chosen. */
#define PROFILES_MAX 12
#define POINTS_MAX   240 /* of a profile; neighbours are averaged */
#define SPARK_POINTS 60

/* ---- a line's widths along its way ---- */

static const pv_station_result *stations_of(const pv_inspection *in, const pv_line_result *line)
{
    return in->table.stations + line->first_station;
}

double pv_html_gap(const pv_inspection *in, const pv_line_result *line)
{
    if (line->stations < 3)
        return HUGE_VAL;
    const pv_station_result *at = stations_of(in, line);
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

static pv_box frame_box(const frame *f, double x0, double y0, double x1, double y1)
{
    pv_vec a = in_frame(f, x0, y0), b = in_frame(f, x1, y1);
    pv_vec lo = pv_v(fmin(a.x, b.x), fmin(a.y, b.y));
    return (pv_box){lo, pv_v(fmax(a.x, b.x), fmax(fmax(a.y, b.y), lo.y + 0.4))};
}

/* The line's widths less the nominal one as a path's data. */
static void trace_widths(pv_text *to, const pv_inspection *in, const pv_line_result *line,
                         const frame *f, size_t points)
{
    const pv_station_result *at = stations_of(in, line);
    size_t step = (line->stations + points - 1) / points;
    double far = pv_html_gap(in, line);
    bool begun = false;
    for (size_t i = 0; i < line->stations;) {
        double s = 0, width = 0, n = 0;
        bool gap = false;
        do {
            s += at[i].s;
            width += at[i].width - line->nominal;
            n++;
            i++;
            gap = i < line->stations && at[i].s - at[i - 1].s > far;
        } while (n < (double)step && i < line->stations && !gap);
        pv_vec p = in_frame(f, s / n, width / n);
        pv_svg_point(to, begun ? 'L' : 'M', p);
        if (!begun && gap) /* a place by itself shows as a dot */
            pv_text_add(to, "h.1");
        begun = !gap;
    }
}

static void label(pv_text *to, const char *anchor, pv_vec at, double value, int decimals, bool sign,
                  const char *unit)
{
    pv_svg_text(to, "", anchor, at, 0);
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

/* The numbers of a vertical axis at `y`, at the chart's left. */
static void tick(pv_text *to, const frame *f, double y, int decimals, bool sign)
{
    pv_vec at = in_frame(f, f->from, y);
    label(to, "end", pv_v(at.x - 6, at.y + 4), y, decimals, sign, "");
}

static void profile_chart(pv_text *to, const pv_inspection *in, const pv_line_result *line,
                          const pv_value *width, double reach)
{
    const pv_station_result *at = stations_of(in, line);
    frame f = {52, 352, 8, 108, at[0].s, at[line->stations - 1].s, -reach, reach};
    double tolerance = width->tolerance, mean = width->value - width->nominal;
    pv_svg_open(to, "c", (pv_box){pv_v(0, 0), pv_v(360, 132)});
    pv_text_add(to, " role=\"img\" aria-label=\"width of ");
    pv_html_text(to, line->id);
    pv_text_add(to, " along the line, minus the nominal width: mean ");
    pv_html_signed(to, mean, 3);
    pv_text_add(to, " mm, tolerance ");
    pv_html_uncertainty(to, tolerance, 3);
    pv_text_add(to, " mm\">");
    pv_svg_rect(to, "tz", frame_box(&f, f.from, -tolerance, f.to, tolerance));
    pv_svg_rule(to, "tl", in_frame(&f, f.from, tolerance), in_frame(&f, f.to, tolerance));
    pv_svg_rule(to, "tl", in_frame(&f, f.from, -tolerance), in_frame(&f, f.to, -tolerance));
    pv_svg_rule(to, "ax", in_frame(&f, f.from, 0), in_frame(&f, f.to, 0));
    if (width->measured) {
        pv_text_add(to, "<g class=\"%s\">", pv_html_class(width->verdict));
        pv_svg_rect(to, "ub", frame_box(&f, f.from, mean - width->U, f.to, mean + width->U));
        pv_svg_rule(to, "mn", in_frame(&f, f.from, mean), in_frame(&f, f.to, mean));
        pv_text_add(to, "</g>");
    }
    pv_svg_path(to, "pf");
    trace_widths(to, in, line, &f, POINTS_MAX);
    pv_svg_path_end(to);
    for (int side = 1; side >= -1; side--)
        tick(to, &f, side * tolerance, decimals_of(tolerance), true);
    label(to, "start", pv_v(f.left, f.bottom + 18), f.from, 0, false, "");
    label(to, "end", pv_v(f.right, f.bottom + 18), f.to, 0, false, " mm along the line");
    pv_text_add(to, "</svg>\n");
}

double pv_html_widths_range(const pv_inspection *in)
{
    double range = 0;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[i];
        for (size_t k = 0; k < line->stations; k++) {
            double off = fabs(stations_of(in, line)[k].width - line->nominal);
            range = isfinite(off) ? fmax(range, off) : range;
        }
    }
    return range;
}

/* What the small multiples share, so that they compare. */
static double common_reach(const pv_inspection *in)
{
    double reach = pv_html_widths_range(in);
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, i);
        reach = fmax(reach, 1.25 * width->tolerance);
        if (width->measured)
            reach = fmax(reach, 1.05 * (fabs(width->value - width->nominal) + width->U));
    }
    return reach > 0 ? reach : 1;
}

void pv_html_profiles(pv_text *to, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    size_t all = 0, shown = 0, n = in->table.n_lines;
    for (size_t i = 0; i < n; i++)
        all += in->table.lines[i].stations > 1;
    if (all == 0)
        return;
    double reach = common_reach(in);
    pv_text_add(to, "<h3>Width along each line</h3>\n<p class=\"m\">Width minus planned width, mm, "
                    "the worst line first, all to one scale. Grey zone: tolerance. Line with band: "
                    "the mean and its uncertainty \xC2\xB1<i>U</i>.");
    if (all > PROFILES_MAX)
        pv_text_add(to, " The %d worst of %zu lines; the table below has a profile of each.",
                    PROFILES_MAX, all);
    pv_text_add(to, "</p>\n<div class=\"many\">\n");
    for (size_t i = 0; i < n && shown < PROFILES_MAX; i++) {
        const pv_line_result *line = &in->table.lines[sheet->ranking.lines[i]];
        const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, sheet->ranking.lines[i]);
        if (line->stations < 2)
            continue;
        shown++;
        pv_text_add(to, "<figure><figcaption><span class=\"nr\">%zu</span> <b>", i + 1);
        pv_html_text(to, line->id);
        pv_text_add(to, "</b> ");
        pv_html_number(to, line->nominal, 3);
        pv_text_add(to, " mm ");
        pv_html_badge(to, width->verdict);
        pv_text_add(to, "</figcaption>");
        profile_chart(to, in, line, width, reach);
        pv_text_add(to, "</figure>\n");
    }
    pv_text_add(to, "</div>\n");
}

void pv_html_spark(pv_text *to, const pv_inspection *in, const pv_line_result *line, double range)
{
    if (line->stations < 2 || !(range > 0)) {
        pv_text_add(to, PV_HTML_DASH);
        return;
    }
    const pv_station_result *at = stations_of(in, line);
    frame f = {1, 119, 1, 21, at[0].s, at[line->stations - 1].s, -range, range};
    pv_text_add(to, "<svg class=\"s\" viewBox=\"0 0 120 22\" aria-hidden=\"true\">"
                    "<path class=\"ax\" d=\"M1 11H119\"/>");
    pv_svg_path(to, "pf");
    trace_widths(to, in, line, &f, SPARK_POINTS);
    pv_text_add(to, "\"/></svg>");
}

/* ---- histogram ---- */

#define BINS 24

typedef struct spread {
    double mean, deviation, low, high;
    size_t n;
} spread;

/* How far the width is off at each place in turn, of all lines: the i-th of all stations, which
 * stand by line. */
typedef struct walk {
    const pv_inspection *in;
    size_t line, station;
} walk;

static bool next_off(walk *w, double *off)
{
    const pv_measures *table = &w->in->table;
    while (w->station < table->n_stations) {
        const pv_line_result *line = &table->lines[w->line];
        if (w->station >= line->first_station + line->stations) {
            w->line++;
            continue;
        }
        *off = table->stations[w->station++].width - line->nominal;
        if (isfinite(*off))
            return true;
    }
    return false;
}

static spread spread_of(const pv_inspection *in)
{
    spread all = {0, 0, HUGE_VAL, -HUGE_VAL, 0};
    double off, sum = 0, squares = 0;
    for (walk w = {in, 0, 0}; next_off(&w, &off); all.n++) {
        sum += off;
        all.low = fmin(all.low, off);
        all.high = fmax(all.high, off);
    }
    all.mean = all.n > 0 ? sum / (double)all.n : 0;
    for (walk w = {in, 0, 0}; next_off(&w, &off);)
        squares += (off - all.mean) * (off - all.mean);
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
    double off;
    for (walk w = {in, 0, 0}; next_off(&w, &off);) {
        double at = (off - low) / step;
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
    pv_svg_open(to, "c h", (pv_box){pv_v(0, 0), pv_v(360, 190)});
    pv_text_add(to, " role=\"img\" aria-label=\"histogram of width minus planned width\">");
    for (size_t i = 0; i < used; i++) {
        double left = low + step * (double)i;
        bool out = fabs(left + step / 2) > tolerance;
        pv_box b = frame_box(&f, left, 0, left + step, (double)bins[i]);
        b.lo.x += 0.75;
        b.hi.x -= 0.75;
        if (bins[i] > 0)
            pv_svg_rect(to, out ? "hb no" : "hb", b);
    }
    pv_svg_rule(to, "ax", in_frame(&f, f.from, 0), in_frame(&f, f.to, 0));
    if (f.from < 0 && f.to > 0)
        pv_svg_rule(to, "mn", in_frame(&f, 0, 0), in_frame(&f, 0, (double)most));
    for (int side = -1; side <= 1; side += 2)
        if (side * tolerance > f.from && side * tolerance < f.to)
            pv_svg_rule(to, "tl", in_frame(&f, side * tolerance, 0),
                        in_frame(&f, side * tolerance, (double)most));
    int decimals = step >= 1 ? 0 : (int)ceil(-log10(step) - 1e-9);
    label(to, "end", pv_v(f.left - 6, f.top + 8), (double)most, 0, false, "");
    label(to, "end", pv_v(f.left - 6, f.bottom + 4), 0, 0, false, "");
    size_t every = used > 12 ? 8 : used > 6 ? 4 : 2;
    for (size_t i = 0; i <= used; i += every) {
        pv_vec at = in_frame(&f, low + step * (double)i, 0);
        pv_svg_rule(to, "ax", at, pv_v(at.x, at.y + 4));
        label(to, "middle", pv_v(at.x, at.y + 17), low + step * (double)i, decimals, true, "");
    }
    pv_text_add(to, "<text text-anchor=\"middle\" x=\"184\" y=\"186\">mm off the planned width"
                    "</text></svg>\n");
}

void pv_html_histogram(pv_text *to, const pv_inspection *in)
{
    spread all = spread_of(in);
    if (all.n < 2)
        return;
    double tolerance = pv_inspection_find(in, PV_KIND_WIDTH, 0)->tolerance;
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

void pv_html_form(pv_text *to, const pv_inspection *in)
{
    const pv_value *scale[2], *skew = pv_inspection_find(in, PV_KIND_SKEW, 0);
    for (size_t i = 0; i < 2; i++) {
        scale[i] = pv_inspection_find(in, PV_KIND_SCALE, i);
        if (scale[i] == NULL || !scale[i]->measured)
            return;
    }
    bool skewed = skew != NULL && skew->measured;
    double x = scale[0]->value - 1, y = scale[1]->value - 1;
    double lean = skewed ? skew->value / 1000 : 0;
    double f = form_factor(fmax(fmax(fabs(x), fabs(y)), fabs(lean)));
    static const pv_vec corners[4] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    pv_text_add(to,
                "<figure><figcaption><b>Shape of the print</b> its scale and skew, exaggerated "
                "%.0f \xC3\x97; dashed: a square as planned</figcaption>",
                f);
    pv_svg_open(to, "c h", (pv_box){pv_v(0, 0), pv_v(360, 190)});
    pv_text_add(to,
                " role=\"img\" aria-label=\"scale and skew of the print, exaggerated\"><path "
                "class=\"tl\" d=\"M118 33h124v124h-124Z\"/><path class=\"fm %s\" d=\"",
                pv_html_class(pv_judge_worse(scale[0]->verdict, scale[1]->verdict)));
    for (int i = 0; i < 4; i++) {
        pv_vec c = corners[i];
        pv_vec p = pv_v(c.x * (1 + f * x) + c.y * f * lean, c.y * (1 + f * y));
        pv_svg_point(to, i == 0 ? 'M' : 'L', pv_v(180 + FORM_HALF * p.x, 95 - FORM_HALF * p.y));
    }
    pv_text_add(to, "Z\"/><text text-anchor=\"middle\" x=\"180\" y=\"188\">x ");
    pv_html_number(to, 100 * scale[0]->value, 3);
    pv_text_add(to, " %%</text><text text-anchor=\"middle\" transform=\"translate(96 95) "
                    "rotate(-90)\">y ");
    pv_html_number(to, 100 * scale[1]->value, 3);
    pv_text_add(to, " %%</text><text text-anchor=\"middle\" x=\"180\" y=\"99\">");
    if (skewed) {
        pv_html_signed(to, skew->value, 2);
        pv_text_add(to, " mrad");
    }
    pv_text_add(to, "</text></svg></figure>\n");
}
