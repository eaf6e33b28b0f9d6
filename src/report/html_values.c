/* What stands for a verdict, a value. */
#include "report/html.h"

#include "po/po.h"

#include <math.h>

#define GAUGE_REACH 2.0 /* tolerances to each side */
#define GAUGE_UNIT  32.0
#define GAUGE_MID   70.0

const char *pv_html_class(pv_verdict verdict)
{
    return verdict == PV_CONFORMS ? "ok" : verdict == PV_DOES_NOT_CONFORM ? "no" : "un";
}

void pv_html_verdict(pv_html *page, pv_verdict verdict)
{
    pv_data_text(&page->data, "kind", pv_html_class(verdict));
    pv_data_text(&page->data, "words", pv_say(page->language, pv_verdict_name(verdict)));
}

void pv_html_badge(pv_html *page, const char *key, pv_verdict verdict)
{
    pv_data_open(&page->data, key, '{');
    pv_html_verdict(page, verdict);
    pv_json_close(&page->data, '}');
}

static double on_gauge(double error, double tolerance)
{
    double tolerances = fmin(fmax(error / tolerance, -GAUGE_REACH), GAUGE_REACH);
    return GAUGE_MID + GAUGE_UNIT * tolerances;
}

bool pv_html_gauged(const pv_value *value)
{
    return value->measured && value->tolerance > 0;
}

/* The interval of the uncertainty, the value in it; an arrow where the value lies beyond the gauge.
 */
static void draw_gauge(pv_text *to, const pv_value *value)
{
    double error = value->value - value->nominal, tolerance = value->tolerance;
    double at = on_gauge(error, tolerance);
    if (fabs(error) > GAUGE_REACH * tolerance) {
        double way = error > 0 ? 1 : -1;
        pv_svg_path(to, "d");
        pv_svg_point(to, 'M', pv_v(at - way * 6, 4));
        pv_svg_point(to, 'L', pv_v(at + way * 4, 10));
        pv_svg_point(to, 'L', pv_v(at - way * 6, 16));
        pv_text_add(to, "Z\"/>");
        return;
    }
    pv_svg_rule(to, "i", pv_v(on_gauge(error - value->U, tolerance), 10),
                pv_v(on_gauge(error + value->U, tolerance), 10));
    pv_svg_path(to, "d");
    pv_svg_point(to, 'M', pv_v(at - 1.5, 3));
    pv_text_add(to, "h3v14h-3Z\"/>");
}

void pv_html_gauge(pv_html *page, const char *key, const pv_value *value)
{
    if (!pv_html_gauged(value)) {
        pv_data_text(&page->data, key, NULL);
        return;
    }
    pv_text svg = PV_TEXT_INIT;
    draw_gauge(&svg, value);
    pv_data_open(&page->data, key, '{');
    pv_data_text(&page->data, "kind", pv_html_class(value->verdict));
    pv_data_take(&page->data, "gauge_svg", &svg);
    pv_json_close(&page->data, '}');
}

void pv_html_name(pv_text *to, const pv_value *value)
{
    pv_text_add(to, "%s", value->name);
    if (value->to[0] != '\0')
        pv_text_add(to, " " PV_DASH " %s", value->to);
}

void pv_html_what(pv_html *page, pv_text *to, const pv_value *value)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    pv_text name = PV_TEXT_INIT;
    pv_html_name(&name, value);
    const char *of = name.chars != NULL ? name.chars : "";
    if (kind->of == PV_OF_LINE)
        /* TRANSLATORS: width of a line: its name follows */
        pv_text_add(to, pv_say(page->language, "%s of %s"), pv_say(page->language, kind->name), of);
    else
        pv_text_add(to, "%s%s%s", pv_say(page->language, kind->name), *of != '\0' ? " " : "", of);
    to->failed = to->failed || name.failed;
    pv_text_drop(&name);
}

void pv_html_base64(pv_text *to, const unsigned char *bytes, size_t size)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char line[4096];
    size_t used = 0;
    for (size_t i = 0; i < size; i += 3) {
        size_t left = size - i;
        unsigned long three = (unsigned long)bytes[i] << 16;
        three |= left > 1 ? (unsigned long)bytes[i + 1] << 8 : 0;
        three |= left > 2 ? bytes[i + 2] : 0;
        for (size_t k = 0; k < 4; k++)
            line[used++] = k <= left ? letters[three >> (18 - 6 * k) & 63] : '=';
        if (used == sizeof line) {
            pv_text_bytes(to, line, used);
            used = 0;
        }
    }
    pv_text_bytes(to, line, used);
}
