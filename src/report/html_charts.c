/* Charts: small pictures of many numbers, readable in gray and without colour. */
#include "judge/judge.h"
#include "po/po.h"
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

static void profile_chart(pv_html *page, pv_text *to, const pv_html_sheet *sheet, size_t index,
                          double reach)
{
    const pv_inspection *in = sheet->in;
    const pv_line_result *line = &in->table.lines[index];
    const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, index);
    const pv_station_result *at = stations_of(in, line);
    frame f = {52, 352, 8, 108, at[0].s, at[line->stations - 1].s, -reach, reach};
    double tolerance = width->tolerance, mean = width->value - width->nominal;
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
    label(to, "end", pv_v(f.right, f.bottom + 18), f.to, 0, false,
          pv_say(page->language, " mm along the line"));
}

static void profile(pv_html *page, const pv_html_sheet *sheet, size_t rank, double reach)
{
    pv_json_writer *w = &page->data;
    size_t index = sheet->ranking.lines[rank];
    const pv_line_result *line = &sheet->in->table.lines[index];
    const pv_value *width = pv_inspection_find(sheet->in, PV_KIND_WIDTH, index);
    pv_text svg = PV_TEXT_INIT;
    profile_chart(page, &svg, sheet, index, reach);
    pv_data_open(w, NULL, '{');
    pv_data_count(w, "rank", rank + 1);
    pv_data_text(w, "id", line->id);
    pv_data_number(w, "planned", line->nominal, 3);
    pv_html_verdict(page, width->verdict);
    pv_data_signed(w, "mean", width->value - width->nominal, 3);
    pv_data_uncertainty(w, "tolerance", width->tolerance, 3);
    pv_data_take(w, "chart_svg", &svg);
    pv_json_close(w, '}');
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

static void profiles(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_json_writer *w = &page->data;
    size_t all = 0, shown = 0, n = in->table.n_lines;
    double reach = common_reach(in);
    for (size_t i = 0; i < n; i++)
        all += in->table.lines[i].stations > 1;
    pv_data_open(w, "profiles", '[');
    for (size_t i = 0; i < n && shown < PROFILES_MAX; i++)
        if (in->table.lines[sheet->ranking.lines[i]].stations > 1) {
            profile(page, sheet, i, reach);
            shown++;
        }
    pv_json_close(w, ']');
    pv_data_count(w, "profiled", shown);
    pv_data_count(w, "profiles_of", all > shown ? all : 0);
}

void pv_html_spark(pv_html *page, const pv_inspection *in, const pv_line_result *line, double range)
{
    pv_json_writer *w = &page->data;
    if (line->stations < 2 || !(range > 0)) {
        pv_data_text(w, NULL, PV_DASH);
        return;
    }
    const pv_station_result *at = stations_of(in, line);
    frame f = {1, 119, 1, 21, at[0].s, at[line->stations - 1].s, -range, range};
    pv_text svg = PV_TEXT_INIT;
    pv_svg_path(&svg, "pf");
    trace_widths(&svg, in, line, &f, SPARK_POINTS);
    pv_svg_path_end(&svg);
    pv_cell_start(w, "line");
    pv_data_take(w, "line_svg", &svg);
    pv_cell_end(w);
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

static void histogram_chart(pv_html *page, pv_text *to, const pv_inspection *in, const spread *all,
                            double tolerance)
{
    double step = round_step(fmax((all->high - all->low) / (BINS - 3), 1e-6));
    double low = floor(all->low / step) * step;
    size_t bins[BINS] = {0}, most = count_bins(in, low, step, bins), used = BINS;
    while (used > 1 && bins[used - 1] == 0)
        used--;
    used = used < 6 ? 6 : used;
    frame f = {34, 334, 10, 150, low, low + step * (double)used, 0, (double)most};
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
    pv_svg_text(to, "", "middle", pv_v(184, 186), 0);
    pv_text_add(to, "%s</text>", pv_say(page->language, "mm off the planned width"));
}

static void histogram(pv_html *page, const pv_inspection *in)
{
    pv_json_writer *w = &page->data;
    spread all = spread_of(in);
    if (all.n < 2) {
        pv_data_text(w, "histogram", NULL);
        return;
    }
    double tolerance = pv_inspection_find(in, PV_KIND_WIDTH, 0)->tolerance;
    pv_text svg = PV_TEXT_INIT;
    histogram_chart(page, &svg, in, &all, tolerance);
    pv_data_open(w, "histogram", '{');
    pv_data_count(w, "n", all.n);
    pv_data_signed(w, "mean", all.mean, 3);
    pv_data_number(w, "deviation", all.deviation, 3);
    pv_data_signed(w, "low", all.low, 3);
    pv_data_signed(w, "high", all.high, 3);
    pv_data_uncertainty(w, "tolerance", tolerance, 3);
    pv_data_take(w, "chart_svg", &svg);
    pv_json_close(w, '}');
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

static void form_chart(pv_text *to, const pv_value *const scale[2], const pv_value *skew, double f)
{
    static const pv_vec corners[4] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    double x = scale[0]->value - 1, y = scale[1]->value - 1;
    double lean = skew != NULL ? skew->value / 1000 : 0;
    pv_text_add(to, "<path class=\"tl\" d=\"M118 33h124v124h-124Z\"/><path class=\"fm %s\" d=\"",
                pv_html_class(pv_judge_worse(scale[0]->verdict, scale[1]->verdict)));
    for (int i = 0; i < 4; i++) {
        pv_vec c = corners[i];
        pv_vec p = pv_v(c.x * (1 + f * x) + c.y * f * lean, c.y * (1 + f * y));
        pv_svg_point(to, i == 0 ? 'M' : 'L', pv_v(180 + FORM_HALF * p.x, 95 - FORM_HALF * p.y));
    }
    pv_text_add(to, "Z\"/>");
    pv_svg_text(to, "", "middle", pv_v(180, 188), 0);
    pv_text_add(to, "x ");
    pv_html_number(to, 100 * scale[0]->value, 3);
    pv_text_add(to, " %%</text><text text-anchor=\"middle\" transform=\"translate(96 95) "
                    "rotate(-90)\">y ");
    pv_html_number(to, 100 * scale[1]->value, 3);
    pv_text_add(to, " %%</text>");
    pv_svg_text(to, "", "middle", pv_v(180, 99), 0);
    if (skew != NULL) {
        pv_html_signed(to, skew->value, 2);
        pv_text_add(to, " mrad");
    }
    pv_text_add(to, "</text>");
}

static void form(pv_html *page, const pv_inspection *in)
{
    pv_json_writer *w = &page->data;
    const pv_value *scale[2], *skew = pv_inspection_find(in, PV_KIND_SKEW, 0);
    double most = 0;
    for (size_t i = 0; i < 2; i++) {
        scale[i] = pv_inspection_find(in, PV_KIND_SCALE, i);
        if (scale[i] == NULL || !scale[i]->measured) {
            pv_data_text(w, "form", NULL);
            return;
        }
        most = fmax(most, fabs(scale[i]->value - 1));
    }
    if (skew != NULL && !skew->measured)
        skew = NULL;
    double f = form_factor(fmax(most, skew != NULL ? fabs(skew->value / 1000) : 0));
    pv_text svg = PV_TEXT_INIT;
    form_chart(&svg, scale, skew, f);
    pv_data_open(w, "form", '{');
    pv_data_number(w, "factor", f, 0);
    pv_data_take(w, "chart_svg", &svg);
    pv_json_close(w, '}');
}

void pv_html_charts(pv_html *page, const pv_html_sheet *sheet)
{
    profiles(page, sheet);
    histogram(page, sheet->in);
    form(page, sheet->in);
}
