/* The plan as JSON: docs/reference/plan-format.md describes every key. */
#include "plan/format.h"
#include "plan/make.h"

#include <stdlib.h>

const char *const pv_plan_ends_names[] = {"flat", "square", "round", NULL};
const char *const pv_plan_anchor_names[] = {"left", "centre", "right", NULL};
const char *const pv_plan_joint_names[] = {"lap", "butt", NULL};
const char *const pv_plan_strips_names[] = {"around", "along y", "along x", NULL};

static void write_vec(pv_json_writer *w, pv_vec p)
{
    pv_json_open_inline(w, '[');
    pv_json_number(w, p.x);
    pv_json_number(w, p.y);
    pv_json_close(w, ']');
}

static void write_numbers(pv_json_writer *w, const double *values, size_t n)
{
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < n; i++)
        pv_json_number(w, values[i]);
    pv_json_close(w, ']');
}

static void key_vec(pv_json_writer *w, const char *key, pv_vec value)
{
    pv_json_key(w, key);
    write_vec(w, value);
}

/* ---- the art ---- */

static void write_colours(pv_json_writer *w, const pv_art *art)
{
    pv_json_key(w, "colours");
    pv_json_open(w, '[');
    for (size_t i = 0; i < art->n_colours; i++) {
        const pv_colour *colour = &art->colours[i];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "name", colour->name);
        pv_json_key(w, "rgb");
        pv_json_open(w, '[');
        for (int c = 0; c < 3; c++)
            pv_json_integer(w, colour->rgb[c]);
        pv_json_close(w, ']');
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_piece(pv_json_writer *w, const pv_piece *p)
{
    const double values[9] = {p->a.x,      p->a.y,    p->b.x,  p->b.y,  p->centre.x,
                              p->centre.y, p->radius, p->from, p->sweep};
    write_numbers(w, values, p->arc ? 9 : 4);
}

static void write_pieces(pv_json_writer *w, const char *key, const pv_piece *pieces, size_t n)
{
    pv_json_key(w, key);
    pv_json_open(w, '[');
    for (size_t i = 0; i < n; i++)
        write_piece(w, &pieces[i]);
    pv_json_close(w, ']');
}

static void write_lines(pv_json_writer *w, const pv_art *art)
{
    pv_json_key(w, "lines");
    pv_json_open(w, '[');
    for (size_t i = 0; i < art->n_lines; i++) {
        const pv_line *line = &art->lines[i];
        pv_json_open(w, '{');
        pv_json_key_string(w, "id", line->id);
        pv_json_key_number(w, "width", line->width);
        pv_json_key_count(w, "colour", line->colour);
        pv_json_key_bool(w, "closed", line->closed);
        pv_json_key_string(w, "ends", pv_plan_ends_names[line->ends]);
        write_pieces(w, "pieces", line->pieces, line->n_pieces);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_rings(pv_json_writer *w, const char *key, const pv_ring *rings, size_t n)
{
    pv_json_key(w, key);
    pv_json_open(w, '[');
    for (size_t r = 0; r < n; r++) {
        pv_json_open_inline(w, '[');
        for (size_t k = 0; k < rings[r].n; k++) {
            pv_json_number(w, rings[r].points[k].x);
            pv_json_number(w, rings[r].points[k].y);
        }
        pv_json_close(w, ']');
    }
    pv_json_close(w, ']');
}

static void write_areas(pv_json_writer *w, const char *key, const pv_area *areas, size_t n)
{
    pv_json_key(w, key);
    pv_json_open(w, '[');
    for (size_t i = 0; i < n; i++) {
        pv_json_open(w, '{');
        pv_json_key_string(w, "id", areas[i].id);
        pv_json_key_count(w, "colour", areas[i].colour);
        write_rings(w, "rings", areas[i].rings, areas[i].n_rings);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

/* The text that the fingerprint is made of: rounded, and without what the finished mat and the tags
 * don't show. */
static bool canonical(const pv_json_writer *w)
{
    return w->decimals > 0;
}

static void write_lettering(pv_json_writer *w, const pv_art *art)
{
    pv_json_key(w, "lettering");
    pv_json_open(w, '[');
    for (size_t i = 0; i < art->n_letterings; i++) {
        const pv_lettering *l = &art->letterings[i];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "text", l->text);
        key_vec(w, "at", l->at);
        pv_json_key_number(w, "height", l->height);
        pv_json_key_number(w, "angle", l->angle);
        pv_json_key_string(w, "anchor", pv_plan_anchor_names[l->anchor]);
        pv_json_key_count(w, "colour", l->colour);
        const double box[4] = {l->frame.lo.x, l->frame.lo.y, l->frame.hi.x, l->frame.hi.y};
        if (!canonical(w)) {
            pv_json_key(w, "box");
            write_numbers(w, box, 4);
            write_rings(w, "rings", l->rings, l->n_rings);
        }
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

void pv_plan_write_art(pv_json_writer *w, const pv_art *art)
{
    pv_json_key(w, "art");
    pv_json_open(w, '{');
    key_vec(w, "size", art->size);
    pv_json_key_count(w, "ground", art->ground);
    write_colours(w, art);
    write_areas(w, "fills", art->fills, art->n_fills);
    write_lines(w, art);
    write_areas(w, "marks", art->marks, art->n_marks);
    write_lettering(w, art);
    pv_json_close(w, '}');
}

/* ---- the plan ---- */

static void write_kit(pv_json_writer *w, const pv_plan *plan)
{
    pv_json_key(w, "kit");
    pv_json_open(w, '{');
    pv_json_key_string(w, "name", plan->art.name);
    pv_json_key_string(w, "edition", plan->art.edition);
    if (!canonical(w))
        pv_json_key_string(w, "fingerprint", pv_plan_kit(plan).chars);
    pv_json_close(w, '}');
}

static void write_tolerances(pv_json_writer *w, const pv_tolerances *t)
{
    pv_json_key(w, "tolerances");
    pv_json_open(w, '{');
    pv_json_key_number(w, "scale", t->scale);
    pv_json_key_number(w, "width_mm", t->width);
    pv_json_key_number(w, "spacing_mm", t->spacing);
    pv_json_key_number(w, "skew_mrad", t->skew);
    pv_json_key_number(w, "straight_mm", t->straight);
    pv_json_key_number(w, "contrast", t->contrast);
    pv_json_key_number(w, "spot_mm", t->spot);
    pv_json_close(w, '}');
}

/* What decides the geometry besides the art. */
static void write_page(pv_json_writer *w, const pv_plan *plan)
{
    pv_json_key(w, "page");
    write_numbers(w, plan->page, 2);
    pv_json_key(w, "margin");
    write_numbers(w, plan->margin, 4);
    pv_json_key_number(w, "bleed", plan->bleed);
    pv_json_key_number(w, "lap_art", plan->lap_art);
    pv_json_key_number(w, "service", plan->service);
    if (plan->border > 0)
        pv_json_key_number(w, "border", plan->border);
    pv_json_key_count(w, "rows", plan->rows);
    pv_json_key_count(w, "columns", plan->columns);
    pv_json_key_string(w, "joint", pv_plan_joint_names[plan->joint]);
    if (plan->proof)
        pv_json_key_bool(w, "proof", true);
}

/* Left out where nothing is corrected. Not in the fingerprint: the mat comes out the same. */
static void write_correction(pv_json_writer *w, const pv_correction *c)
{
    if (!c->any)
        return;
    pv_json_key(w, "corrected");
    pv_json_open(w, '{');
    pv_json_key(w, "scale");
    write_numbers(w, c->scale, 2);
    pv_json_key_number(w, "skew_mrad", c->skew);
    pv_json_key_number(w, "ink_mm", c->ink);
    pv_json_close(w, '}');
}

static void write_box(pv_json_writer *w, pv_box box)
{
    const double values[4] = {box.lo.x, box.lo.y, box.hi.x, box.hi.y};
    write_numbers(w, values, 4);
}

/* Left out where there is none. Not in the fingerprint: seams, over and under say what comes of it.
 */
static void write_route(pv_json_writer *w, const pv_plan *plan)
{
    if (plan->n_route > 0 && !canonical(w))
        write_pieces(w, "route", plan->route, plan->n_route);
}

static void write_tags(pv_json_writer *w, const pv_sheet *sheet)
{
    pv_json_key(w, "tags");
    pv_json_open(w, '[');
    for (int p = 0; p < PV_TAG_PLACES; p++) {
        const pv_tag *tag = &sheet->tag[p];
        pv_json_open_inline(w, '{');
        if (!canonical(w))
            pv_json_key_count(w, "id", tag->id);
        key_vec(w, "centre", tag->centre);
        pv_json_key_number(w, "cell", tag->cell);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_bars(pv_json_writer *w, const pv_sheet *sheet)
{
    pv_json_key(w, "bars");
    pv_json_open(w, '[');
    for (size_t b = 0; b < sheet->n_bars; b++) {
        const pv_bar *bar = &sheet->bar[b];
        pv_json_open_inline(w, '{');
        key_vec(w, "at", bar->at);
        pv_json_key_bool(w, "vertical", bar->vertical);
        pv_json_key_bool(w, "inch", bar->inch);
        pv_json_key_count(w, "count", (size_t)bar->count);
        pv_json_key_number(w, "step", bar->step);
        pv_json_key_number(w, "tick", bar->tick);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_gauge(pv_json_writer *w, const pv_sheet *sheet)
{
    if (sheet->n_gauge == 0)
        return;
    pv_json_key(w, "gauge");
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < sheet->n_gauge; i++)
        write_vec(w, sheet->gauge[i]);
    pv_json_close(w, ']');
}

static void write_sheet(pv_json_writer *w, const pv_sheet *sheet)
{
    pv_json_open(w, '{');
    pv_json_key_string(w, "name", sheet->name);
    pv_json_key(w, "cell");
    write_box(w, sheet->cell);
    key_vec(w, "origin", sheet->origin);
    write_tags(w, sheet);
    write_bars(w, sheet);
    write_gauge(w, sheet);
    if (sheet->has_card) {
        pv_json_key(w, "card");
        write_box(w, sheet->card);
    }
    pv_json_close(w, '}');
}

static void write_seam(pv_json_writer *w, const pv_plan *plan, const pv_seam *seam)
{
    pv_json_open(w, '{');
    pv_json_key_string(w, "over", plan->sheets[seam->over].name);
    pv_json_key_string(w, "under", plan->sheets[seam->under].name);
    pv_json_key_bool(w, "vertical", seam->vertical);
    pv_json_key_number(w, "at", seam->at);
    pv_json_key_number(w, "from", seam->from);
    pv_json_key_number(w, "to", seam->to);
    pv_json_key(w, "crosses");
    pv_json_open(w, '[');
    for (size_t c = 0; c < seam->n_crosses; c++) {
        const pv_cross *cross = &plan->crosses[seam->first_cross + c];
        pv_json_open_inline(w, '{');
        key_vec(w, "at", cross->at);
        pv_json_key_bool(w, "light", cross->light);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}

static void write_taping(pv_json_writer *w, const pv_plan *plan)
{
    pv_json_key(w, "taping");
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < plan->n_sheets; i++)
        pv_json_string(w, plan->sheets[plan->taping[i]].name);
    pv_json_close(w, ']');
}

static void write_plan(pv_json_writer *w, const pv_plan *plan)
{
    pv_json_open(w, '{');
    pv_json_key_string(w, "format", PV_PLAN_FORMAT);
    pv_json_key_count(w, "version", PV_PLAN_VERSION);
    pv_json_key_string(w, "unit", "mm");
    write_kit(w, plan);
    pv_json_key_string(w, "paper", plan->paper);
    write_page(w, plan);
    if (plan->strips != PV_STRIPS_AROUND)
        pv_json_key_string(w, "strips", pv_plan_strips_names[plan->strips]);
    if (!canonical(w)) {
        if (plan->language != NULL)
            pv_json_key_string(w, "language", pv_language_code(plan->language));
        if (plan->url != NULL)
            pv_json_key_string(w, "url", plan->url);
        if (plan->art.inches)
            pv_json_key_bool(w, "inches", true);
        write_correction(w, &plan->corrected);
        write_tolerances(w, &plan->art.tolerances);
    }
    pv_plan_write_art(w, &plan->art);
    write_route(w, plan);
    pv_json_key(w, "sheets");
    pv_json_open(w, '[');
    for (size_t i = 0; i < plan->n_sheets; i++)
        write_sheet(w, &plan->sheets[i]);
    pv_json_close(w, ']');
    if (!canonical(w))
        write_taping(w, plan);
    if (!canonical(w) && plan->kept)
        pv_json_key_bool(w, "kept", true);
    if (!canonical(w) && *plan->former.chars != '\0')
        pv_json_key_string(w, "former", plan->former.chars);
    if (!canonical(w) && plan->seams_gap > 0)
        pv_json_key_number(w, "seams_gap", plan->seams_gap);
    pv_json_key(w, "seams");
    pv_json_open(w, '[');
    for (size_t i = 0; i < plan->n_seams; i++)
        write_seam(w, plan, &plan->seams[i]);
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}

char *pv_plan_canonical(const pv_plan *plan)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    w.decimals = PV_PLAN_FINGERPRINT_DECIMALS;
    write_plan(&w, plan);
    return pv_json_take(&w);
}

char *pv_plan_json(const pv_plan *plan, pv_diags *diags)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    write_plan(&w, plan);
    size_t size = w.out.length;
    char *text = pv_json_take(&w);
    if (text == NULL)
        pv_fail_memory(diags);
    if (text != NULL && size >= PV_PLAN_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "the plan would be larger than the limit of %u bytes",
                PV_PLAN_BYTES_MAX);
        free(text);
        return NULL;
    }
    return text;
}
