/* Marks on the surface: a picture of each of the largest, and what it means. */
#include "report/html.h"

#include "base/memory.h"
#include "po/po.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Limits that keep a page readable and small: chosen. */
#define CUTS_MAX   12
#define CUT_BESIDE 0.35  /* of a mark's larger side, shown about it, */
#define CUT_LEAST  5.0   /* mm at least */
#define CUT_PX     320.0 /* along a cut-out's larger side, about */
#define CUT_SHARE  24    /* of the sheet's share of bytes, one for each */
#define QUALITY    85

/* A part of the picture. */
typedef struct cut {
    size_t x, y, width, height; /* px of the picture */
    size_t step;                /* every so many px is shown */
} cut;

static cut cut_of(const pv_picture *picture, pv_box sheet, double page_height)
{
    double k = picture->px_per_mm;
    double x0 = fmax(floor(sheet.lo.x * k), 0), y0 = fmax(floor((page_height - sheet.hi.y) * k), 0);
    double x1 = fmin(ceil(sheet.hi.x * k), (double)picture->width);
    double y1 = fmin(ceil((page_height - sheet.lo.y) * k), (double)picture->height);
    cut c = {.step = 1};
    if (!(x1 > x0 && y1 > y0))
        return c;
    c.x = (size_t)x0;
    c.y = (size_t)y0;
    c.step = (size_t)fmax(1, ceil(fmax(x1 - x0, y1 - y0) / CUT_PX - 0.5));
    c.width = (size_t)(x1 - x0) / c.step;
    c.height = (size_t)(y1 - y0) / c.step;
    return c;
}

static bool add_pixels(pv_html *page, pv_text *to, const pv_picture *picture, const cut *c,
                       pv_box where)
{
    unsigned char *rgb = pv_new_array(3 * c->width, c->height);
    if (rgb == NULL) {
        pv_fail_memory(page->diags);
        return false;
    }
    for (size_t y = 0; y < c->height; y++)
        for (size_t x = 0; x < c->width; x++)
            memcpy(rgb + 3 * (y * c->width + x),
                   picture->rgb + 3 * ((c->y + y * c->step) * picture->width + c->x + x * c->step),
                   3);
    pv_bytes jpeg = {NULL, 0};
    bool good = pv_jpeg_encode(rgb, c->width, c->height, QUALITY, &jpeg, page->diags);
    free(rgb);
    if (good && jpeg.size <= page->share / CUT_SHARE) {
        pv_text_add(to, "<image");
        pv_svg_attribute(to, "x", where.lo.x);
        pv_svg_attribute(to, "y", where.lo.y);
        pv_svg_attribute(to, "width", where.hi.x - where.lo.x);
        pv_svg_attribute(to, "height", where.hi.y - where.lo.y);
        pv_text_add(to, " preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,");
        pv_html_base64(to, jpeg.data, jpeg.size);
        pv_text_add(to, "\"/>");
    }
    free(jpeg.data);
    return good;
}

/* The picture about a mark, with its box; sheet mm, y downwards. Members "view" and "cut_svg". */
static bool add_cut(pv_html *page, const pv_html_sheet *sheet, const pv_mark *mark)
{
    const pv_picture *picture = &sheet->in->picture;
    double height = page->plan->page[1];
    pv_vec origin = sheet->sheet->origin;
    pv_box box = {pv_sub(pv_v(mark->lo[0], mark->lo[1]), origin),
                  pv_sub(pv_v(mark->hi[0], mark->hi[1]), origin)};
    double side = fmax(box.hi.x - box.lo.x, box.hi.y - box.lo.y);
    pv_vec mid = pv_box_middle(box);
    double half = side / 2 + fmax(CUT_LEAST, CUT_BESIDE * side);
    pv_box about = {pv_sub(mid, pv_v(half, half)), pv_add(mid, pv_v(half, half))};
    cut c = {0, 0, 0, 0, 1};
    if (picture->rgb != NULL)
        c = cut_of(picture, about, height);
    if (c.width == 0 || c.height == 0) {
        pv_data_text(&page->data, "view", NULL);
        return true;
    }
    double k = picture->px_per_mm, step = (double)c.step;
    pv_vec lo = pv_v((double)c.x / k, (double)c.y / k);
    pv_box shown = {lo, pv_add(lo, pv_v((double)c.width * step / k, (double)c.height * step / k))};
    pv_text svg = PV_TEXT_INIT, view = PV_TEXT_INIT;
    bool good = add_pixels(page, &svg, picture, &c, shown);
    pv_box drawn = {pv_v(box.lo.x, height - box.hi.y), pv_v(box.hi.x, height - box.lo.y)};
    pv_svg_rect(&svg, "", pv_box_grow(drawn, 0.02 * half));
    pv_svg_view(&view, shown);
    pv_data_take(&page->data, "view", &view);
    pv_data_take(&page->data, "cut_svg", &svg);
    return good;
}

static bool add_mark(pv_html *page, const pv_html_sheet *sheet, size_t index)
{
    const pv_mark *mark = &sheet->in->table.marks[index];
    pv_json_writer *w = &page->data;
    char first[2] = {mark->meaning[0], '\0'};
    if (first[0] >= 'a' && first[0] <= 'z')
        first[0] = (char)(first[0] - 'a' + 'A');
    pv_data_open(w, NULL, '{');
    bool good = add_cut(page, sheet, mark);
    pv_data_words(w, "mark", "%c%zu", PV_HTML_MARK, index + 1);
    pv_data_text(w, "name", pv_say(page->language, pv_mark_kind_name(mark->kind)));
    pv_html_verdict(page, mark->verdict);
    pv_data_number(w, "length", mark->length, 1);
    pv_data_number(w, "width", mark->width, 1);
    pv_data_number(w, "x", mark->x, 1);
    pv_data_number(w, "y", mark->y, 1);
    pv_data_bool(w, "darker", mark->contrast < 0);
    pv_data_number(w, "contrast", 100 * fabs(mark->contrast), 0);
    pv_data_number(w, "spot", mark->spot, 1);
    pv_data_number(w, "off", 100 * mark->off, 0);
    pv_data_number(w, "allowed", 100 * mark->tolerance, 0);
    pv_data_words(w, "meaning", "%s%s.", first, first[0] != '\0' ? mark->meaning + 1 : "");
    pv_json_close(w, '}');
    return good;
}

bool pv_html_surface(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_measures *table = &sheet->in->table;
    bool good = true;
    pv_data_bool(&page->data, "marked", table->n_marks > 0);
    pv_data_open(&page->data, "surface", '[');
    for (size_t i = 0; good && i < table->n_marks && i < CUTS_MAX; i++)
        good = add_mark(page, sheet, i);
    pv_json_close(&page->data, ']');
    pv_data_count(&page->data, "surface_more",
                  table->n_marks > CUTS_MAX ? table->n_marks - CUTS_MAX : 0);
    return good;
}
