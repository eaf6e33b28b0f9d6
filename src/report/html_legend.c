/* What the strokes of the picture mean: each has a shape besides its colour. */
#include "report/html.h"

#include <math.h>

bool pv_html_has_outline(const pv_reference_result *reference)
{
    for (int i = 0; i < 4; i++)
        if (!isfinite(reference->corner[i][0]) || !isfinite(reference->corner[i][1]))
            return false;
    return reference->corner[0][0] != reference->corner[2][0] ||
           reference->corner[0][1] != reference->corner[2][1];
}

static void sample(pv_text *to, const char *kind, const char *path, const char *what)
{
    pv_text_add(to,
                "<li><svg class=\"%s\" viewBox=\"0 0 32 12\" aria-hidden=\"true\">%s</svg>%s</li>",
                kind, path, what);
}

void pv_html_legend(pv_text *to, const pv_inspection *in)
{
    bool outlined = false;
    for (size_t i = 0; i < in->n_references; i++)
        outlined = outlined || pv_html_has_outline(&in->references[i]);
    pv_text_add(to, "<ul class=\"lg\">");
    sample(to, "lp", "<path d=\"M0 6h32\" stroke-width=\"1\"/>", "as planned");
    sample(to, "ok", "<path d=\"M0 6h32\" stroke-width=\"1.6\"/>", "conforms");
    sample(to, "un", "<path d=\"M0 6h32\" stroke-width=\"2.4\" stroke-dasharray=\"8 4\"/>",
           "undecided");
    sample(to, "no", "<path d=\"M0 6h32\" stroke-width=\"4\"/>", "does not conform");
    if (outlined)
        sample(to, "vi", "<path d=\"M0 6h32\" stroke-width=\"2\" stroke-dasharray=\"6 3\"/>",
               "a reference");
    if (in->n_flaws > 0)
        sample(to, "vi", "<circle cx=\"16\" cy=\"6\" r=\"4.8\" stroke-width=\"1.8\"/>",
               "a break or a blob");
    pv_text_add(to, "</ul>\n");
}

void pv_html_switches(pv_text *to)
{
    static const char *const layers[][2] = {
        {"p", "plan"}, {"d", "deviations"}, {"s", "spacings"}, {"f", "fade the picture"}};
    pv_text_add(to, "<fieldset class=\"sw\"><legend>Show</legend>");
    for (size_t i = 0; i < sizeof layers / sizeof *layers; i++)
        pv_text_add(to, "<label><input type=\"checkbox\" class=\"x%s\" checked> %s</label> ",
                    layers[i][0], layers[i][1]);
    pv_text_add(to, "</fieldset>\n");
}
