#include "collect/chart.h"

#include "collect/page.h"
#include "html/escape.h"
#include "html/svg.h"

#include <math.h>

/* Units of the drawing. */
#define WIDTH      320.0
#define HEIGHT     150.0
#define FLOOR      120.0 /* y of the axis */
#define ROOF       8.0
#define SIDE       14.0
#define HALF_LABEL 40.0 /* half the width of "-0.300 mrad" */
#define BARS       31   /* odd: one stands in the middle */

typedef struct scale {
    double from, to; /* values */
} scale;

static double place(const scale *s, double value)
{
    return SIDE + (value - s->from) / (s->to - s->from) * (WIDTH - 2 * SIDE);
}

/* Five robust standard deviations to either side, and all of the tolerance. */
static scale choose(const pv_chart *c)
{
    double half = 5 * c->spread;
    if (!(half > 0))
        half = fabs(c->middle) > 0 ? fabs(c->middle) : 1e-3;
    scale s = {c->middle - half, c->middle + half};
    if (isfinite(c->tolerance) && c->tolerance > 0) {
        s.from = fmin(s.from, -1.1 * c->tolerance);
        s.to = fmax(s.to, 1.1 * c->tolerance);
    }
    return s;
}

static void bars(pv_text *to, const pv_chart *c, const scale *s)
{
    size_t count[BARS] = {0}, most = 1;
    size_t below = 0, above = 0;
    for (size_t i = 0; i < c->n; i++) {
        double at = (c->values[i] - s->from) / (s->to - s->from) * BARS;
        below += !(at >= 0);
        above += at >= BARS;
        count[!(at >= 0) ? 0 : at >= BARS ? BARS - 1 : (size_t)at]++;
    }
    for (int i = 0; i < BARS; i++)
        most = count[i] > most ? count[i] : most;
    double step = (WIDTH - 2 * SIDE) / BARS;
    for (int i = 0; i < BARS; i++) {
        if (count[i] == 0)
            continue;
        bool beyond = (i == 0 && below > 0) || (i == BARS - 1 && above > 0);
        double x = SIDE + step * i, y = FLOOR - (FLOOR - ROOF) * (double)count[i] / (double)most;
        pv_svg_rect(to, beyond ? "hb no" : "hb",
                    (pv_box){pv_v(x + 0.5, fmin(y, FLOOR - 1)), pv_v(x + step - 0.5, FLOOR)});
    }
}

/* Beneath its place, but within the drawing. */
static void label(pv_text *to, const scale *s, double y, const pv_chart *c, double value)
{
    double x = fmin(fmax(place(s, value), SIDE), WIDTH - SIDE);
    const char *anchor = x < HALF_LABEL ? "start" : x > WIDTH - HALF_LABEL ? "end" : "middle";
    pv_svg_text(to, "", anchor, pv_v(x, y), 0);
    pv_text_add(to, "%s %s</text>", pv_results_number(c->factor * value, c->decimals).chars,
                c->unit);
}

void pv_chart_draw(pv_text *to, const pv_chart *c, const char *words)
{
    scale s = choose(c);
    if (!(s.to - s.from > 0 && isfinite(s.to - s.from)))
        return;
    pv_svg_open(to, "c h", (pv_box){pv_v(0, 0), pv_v(WIDTH, HEIGHT)});
    pv_text_add(to, " role=\"img\" aria-label=\"");
    pv_html_text(to, words);
    pv_text_add(to, "\">");
    bool bound = isfinite(c->tolerance) && c->tolerance > 0;
    if (bound) {
        double left = fmax(-c->tolerance, s.from), right = fmin(c->tolerance, s.to);
        if (left < right)
            pv_svg_rect(to, "tz",
                        (pv_box){pv_v(place(&s, left), ROOF), pv_v(place(&s, right), FLOOR)});
    }
    bars(to, c, &s);
    pv_svg_rule(to, "ax", pv_v(SIDE, FLOOR), pv_v(WIDTH - SIDE, FLOOR));
    double middle = place(&s, c->middle);
    pv_svg_rule(to, "mn", pv_v(middle, ROOF), pv_v(middle, FLOOR + 4));
    /* The band's edges, unless their labels could meet: one may end at its place, the other
     * stands about its own. */
    bool wide = bound && place(&s, c->tolerance) - place(&s, -c->tolerance) > 3 * HALF_LABEL;
    label(to, &s, FLOOR + 16, c, wide ? -c->tolerance : s.from);
    label(to, &s, FLOOR + 16, c, wide ? c->tolerance : s.to);
    label(to, &s, FLOOR + 29, c, c->middle);
    pv_text_add(to, "</svg>");
}
