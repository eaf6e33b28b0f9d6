/* From words and marks to items. */
#include "page/anatomy.h"

static void add_item(pv_anatomy *a, const pv_item *item)
{
    a->failed = a->failed || !pv_scene_add(a->page, item);
}

void pv_page_polygon(pv_anatomy *a, const pv_vec *corners, size_t n)
{
    pv_item item = {.kind = PV_ITEM_SHAPE, .of = a->shape, .colour = PV_COLOUR_BLACK};
    item.box = pv_box_none();
    item.u.shape.n = n;
    for (size_t i = 0; i < n; i++) {
        item.u.shape.corner[i] = pv_add(corners[i], a->page->origin);
        item.box = pv_box_add(item.box, item.u.shape.corner[i]);
    }
    add_item(a, &item);
}

void pv_page_box(pv_anatomy *a, pv_box b)
{
    const pv_vec corners[] = {b.lo, {b.hi.x, b.lo.y}, b.hi, {b.lo.x, b.hi.y}};
    pv_page_polygon(a, corners, 4);
}

void pv_page_bar(pv_anatomy *a, pv_vec from, pv_vec to, double width)
{
    pv_vec side = pv_scale(pv_left(pv_unit(pv_sub(to, from))), width / 2);
    const pv_vec corners[] = {pv_sub(from, side), pv_sub(to, side), pv_add(to, side),
                              pv_add(from, side)};
    pv_page_polygon(a, corners, 4);
}

void pv_page_end_shape(pv_anatomy *a)
{
    a->shape++;
}

void pv_page_end_code(pv_anatomy *a)
{
    a->page->code = a->shape;
    pv_page_end_shape(a);
}

double pv_page_ems(pv_anatomy *a, const char *text, bool bold)
{
    double ems = pv_type_ems(a->type, text, bold);
    a->failed = a->failed || ems < 0;
    return fmax(ems, 0);
}

void pv_page_text(pv_anatomy *a, pv_vec at, double em, double angle, bool bold, const char *text)
{
    if (*text == '\0')
        return;
    pv_item item = {.kind = PV_ITEM_WORDS, .colour = PV_COLOUR_BLACK};
    pv_vec along = pv_polar(em * pv_page_ems(a, text, bold), angle);
    item.u.words.at = pv_add(at, a->page->origin);
    item.u.words.em = em;
    item.u.words.angle = angle;
    item.u.words.bold = bold;
    item.box = pv_box_add((pv_box){item.u.words.at, item.u.words.at}, item.u.words.at);
    item.box = pv_box_grow(pv_box_add(item.box, pv_add(item.u.words.at, along)), em);
    a->failed = a->failed || !pv_scene_text(a->page, text, &item.u.words.text);
    add_item(a, &item);
}

double pv_text_height(const char *text)
{
    for (const char *c = text; *c != '\0'; c++) /* any letter past ASCII may carry an accent */
        if ((unsigned char)*c >= 0xC3)
            return PV_TEXT_BELOW + 0.94;
    return PV_TEXT_BELOW + 0.775;
}

void pv_page_words(pv_anatomy *a, pv_box box, bool turned, double em, bool bold, const char *text)
{
    double below = PV_TEXT_BELOW * em;
    pv_vec at = turned ? pv_v(box.hi.x - below, box.lo.y) : pv_v(box.lo.x, box.lo.y + below);
    pv_page_text(a, at, em, turned ? PV_PI / 2 : 0, bold, text);
}
