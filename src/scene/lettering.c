/* Boxes of lettering, by the metrics of its typeface. */
#include "scene/art.h"
#include "type/type.h"

static double left_end(pv_anchor anchor, double width)
{
    if (anchor == PV_ANCHOR_CENTRE)
        return -width / 2;
    return anchor == PV_ANCHOR_RIGHT ? -width : 0;
}

bool pv_lettering_set(pv_lettering *lettering, const pv_type *type)
{
    pv_setting setting;
    bool good = pv_type_set(type, lettering->text, false, &setting);
    double em = lettering->height / pv_type_cap(type), width = setting.width * em;
    double left = left_end(lettering->anchor, width);
    pv_box frame = {{left, 0}, {left + width, lettering->height}};
    if (setting.ink.lo.x <= setting.ink.hi.x) {
        frame = pv_box_add(frame, pv_v(left + em * setting.ink.lo.x, em * setting.ink.lo.y));
        frame = pv_box_add(frame, pv_v(left + em * setting.ink.hi.x, em * setting.ink.hi.y));
    }
    lettering->frame = frame;
    pv_setting_drop(&setting);
    return good;
}

pv_box pv_lettering_box(const pv_lettering *lettering)
{
    pv_box frame = lettering->frame, box = pv_box_none();
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    for (int i = 0; i < 4; i++) {
        double u = i & 1 ? frame.hi.x : frame.lo.x, v = i & 2 ? frame.hi.y : frame.lo.y;
        box = pv_box_add(box, pv_along(pv_along(lettering->at, x, u), y, v));
    }
    return box;
}

static void place_corners(const pv_lettering *lettering, pv_box box, pv_vec corner[4])
{
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    for (int i = 0; i < 4; i++) {
        double u = i == 1 || i == 2 ? box.hi.x : box.lo.x, v = i > 1 ? box.hi.y : box.lo.y;
        corner[i] = pv_along(pv_along(lettering->at, x, u), y, v);
    }
}

bool pv_lettering_each(const pv_lettering *lettering, const pv_type *type,
                       pv_printed_letter_visit *visit, void *context)
{
    pv_setting setting;
    bool good = pv_type_set(type, lettering->text, false, &setting);
    double em = lettering->height / pv_type_cap(type);
    double left = left_end(lettering->anchor, setting.width * em);
    for (size_t i = 0; good && i < setting.n; i++) {
        const pv_glyph *g = &setting.glyphs[i];
        if (g->ink.lo.x > g->ink.hi.x)
            continue;
        pv_printed_letter letter = {.face = g->face, .glyph = g->id};
        pv_box box = {pv_v(left + em * g->ink.lo.x, em * g->ink.lo.y),
                      pv_v(left + em * g->ink.hi.x, em * g->ink.hi.y)};
        place_corners(lettering, box, letter.corner);
        good = visit(context, &letter);
    }
    pv_setting_drop(&setting);
    return good;
}
