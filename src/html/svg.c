#include "html/svg.h"

#include <math.h>

void pv_svg_number(pv_text *to, double value)
{
    char digits[24];
    size_t at = sizeof digits;
    if (!(fabs(value) < 1e12))
        value = 0;
    long long parts = llround(value * 100);
    unsigned long long rest = (unsigned long long)(parts < 0 ? -parts : parts);
    int decimals = rest % 100 == 0 ? 0 : rest % 10 == 0 ? 1 : 2;
    for (int i = decimals; i < 2; i++)
        rest /= 10;
    for (int i = 0; i < decimals; i++, rest /= 10)
        digits[--at] = (char)('0' + rest % 10);
    if (decimals > 0)
        digits[--at] = '.';
    if (rest > 0 || decimals == 0)
        do {
            digits[--at] = (char)('0' + rest % 10);
            rest /= 10;
        } while (rest > 0);
    if (parts < 0)
        digits[--at] = '-';
    pv_text_bytes(to, digits + at, sizeof digits - at);
}

void pv_svg_attribute(pv_text *to, const char *name, double value)
{
    pv_text_add(to, " %s=\"", name);
    pv_svg_number(to, value);
    pv_text_bytes(to, "\"", 1);
}

static void element(pv_text *to, const char *name, const char *kind)
{
    pv_text_add(to, "<%s", name);
    if (*kind != '\0')
        pv_text_add(to, " class=\"%s\"", kind);
}

void pv_svg_view(pv_text *to, pv_box view)
{
    const double numbers[] = {view.lo.x, view.lo.y, view.hi.x - view.lo.x, view.hi.y - view.lo.y};
    for (int i = 0; i < 4; i++) {
        pv_text_add(to, "%s", i == 0 ? "" : " ");
        pv_svg_number(to, numbers[i]);
    }
}

void pv_svg_open(pv_text *to, const char *kind, pv_box view)
{
    element(to, "svg", kind);
    pv_text_add(to, " viewBox=\"");
    pv_svg_view(to, view);
    pv_text_bytes(to, "\"", 1);
}

static void place(pv_text *to, pv_box box)
{
    pv_svg_attribute(to, "x", box.lo.x);
    pv_svg_attribute(to, "y", box.lo.y);
    pv_svg_attribute(to, "width", box.hi.x - box.lo.x);
    pv_svg_attribute(to, "height", box.hi.y - box.lo.y);
    pv_text_add(to, "/>");
}

void pv_svg_rect(pv_text *to, const char *kind, pv_box box)
{
    element(to, "rect", kind);
    place(to, box);
}

void pv_svg_circle(pv_text *to, pv_vec middle, double radius)
{
    pv_text_add(to, "<circle");
    pv_svg_attribute(to, "cx", middle.x);
    pv_svg_attribute(to, "cy", middle.y);
    pv_svg_attribute(to, "r", radius);
    pv_text_add(to, "/>");
}

void pv_svg_use(pv_text *to, const char *id, pv_box box)
{
    pv_text_add(to, "<use href=\"#%s\"", id);
    place(to, box);
}

void pv_svg_path(pv_text *to, const char *kind)
{
    element(to, "path", kind);
    pv_text_add(to, " d=\"");
}

void pv_svg_point(pv_text *to, char letter, pv_vec p)
{
    pv_text_bytes(to, &letter, 1);
    pv_svg_number(to, p.x);
    pv_text_bytes(to, " ", 1);
    pv_svg_number(to, p.y);
}

void pv_svg_stroke(pv_text *to, pv_vec a, pv_vec b)
{
    pv_svg_point(to, 'M', a);
    pv_svg_point(to, 'L', b);
}

void pv_svg_path_end(pv_text *to)
{
    pv_text_add(to, "\"/>");
}

void pv_svg_rule(pv_text *to, const char *kind, pv_vec a, pv_vec b)
{
    pv_svg_path(to, kind);
    pv_svg_stroke(to, a, b);
    pv_svg_path_end(to);
}

void pv_svg_text(pv_text *to, const char *kind, const char *anchor, pv_vec at, double size)
{
    element(to, "text", kind);
    pv_text_add(to, " text-anchor=\"%s\"", anchor);
    if (size > 0)
        pv_svg_attribute(to, "font-size", size);
    pv_svg_attribute(to, "x", at.x);
    pv_svg_attribute(to, "y", at.y);
    pv_text_add(to, ">");
}
