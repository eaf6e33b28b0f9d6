/* What stands for a verdict, a value, a table. */
#include "report/html.h"

#include <math.h>

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

static double on_gauge(double error, double tolerance)
{
    double tolerances = fmin(fmax(error / tolerance, -GAUGE_REACH), GAUGE_REACH);
    return GAUGE_MID + GAUGE_UNIT * tolerances;
}

/* The zone of tolerance, the interval of the uncertainty, the value in it; an arrow where the value
 * lies beyond the gauge. */
void pv_html_gauge(pv_text *to, const pv_value *value)
{
    double error = value->value - value->nominal, tolerance = value->tolerance;
    if (!value->measured || !(tolerance > 0)) {
        pv_text_add(to, PV_HTML_DASH);
        return;
    }
    pv_text_add(to,
                "<svg class=\"g %s\" viewBox=\"0 0 140 20\" aria-hidden=\"true\">"
                "<use href=\"#zone\"/>",
                pv_html_class(value->verdict));
    double at = on_gauge(error, tolerance);
    if (fabs(error) > GAUGE_REACH * tolerance) {
        double way = error > 0 ? 1 : -1;
        pv_svg_path(to, "d");
        pv_svg_point(to, 'M', pv_v(at - way * 6, 4));
        pv_svg_point(to, 'L', pv_v(at + way * 4, 10));
        pv_svg_point(to, 'L', pv_v(at - way * 6, 16));
        pv_text_add(to, "Z\"/></svg>");
        return;
    }
    pv_svg_rule(to, "i", pv_v(on_gauge(error - value->U, tolerance), 10),
                pv_v(on_gauge(error + value->U, tolerance), 10));
    pv_svg_path(to, "d");
    pv_svg_point(to, 'M', pv_v(at - 1.5, 3));
    pv_text_add(to, "h3v14h-3Z\"/></svg>");
}

void pv_html_name(pv_text *to, const pv_value *value)
{
    pv_html_text(to, value->name);
    if (value->to[0] == '\0')
        return;
    pv_text_add(to, " \xE2\x80\x93 ");
    pv_html_text(to, value->to);
}

void pv_html_table_start(pv_text *to, const char *caption, const char *const *heads)
{
    pv_text_add(to,
                "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"table: %s\">"
                "<table><caption><span>%s</span></caption><thead><tr>",
                caption, caption);
    for (size_t i = 0; heads[i] != NULL; i++)
        pv_text_add(to, "<th scope=\"col\"%s>%s</th>", heads[i][0] == '|' ? " class=\"t\"" : "",
                    heads[i] + (heads[i][0] == '|'));
    pv_text_add(to, "</tr></thead>\n<tbody>\n");
}

void pv_html_table_end(pv_text *to)
{
    pv_text_add(to, "</tbody></table></div>\n");
}
