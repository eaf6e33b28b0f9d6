#include "plan/make.h"

#include "base/memory.h"
#include "course/model.h"
#include "paper/paper.h"
#include "paper/printer.h"
#include "plan/anatomy.h"
#include "plan/gauge.h"
#include "plan/keep.h"
#include "plan/lay.h"
#include "plan/order.h"
#include "plan/roll.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pv_plan_free(pv_plan *plan)
{
    if (plan == NULL)
        return;
    pv_scene_free(plan->mat);
    pv_art_clear(&plan->art);
    free(plan->paper);
    free(plan->url);
    free(plan->sheets);
    free(plan->taping);
    free(plan->seams);
    free(plan->crosses);
    free(plan->route);
    pv_printer_free(plan->printer);
    free(plan);
}

/* ---- the options ---- */

/* A length for a message, with a decimal point in every locale. */
static const char *mm(double value, char text[PV_JSON_NUMBER])
{
    pv_json_format(round(value * 10) / 10, text);
    return text;
}

static bool options_are_fair(const pv_layout_options *options, pv_diags *diags)
{
    static const char *const names[4] = {"left", "bottom", "right", "top"};
    char given[PV_JSON_NUMBER];
    for (int i = 0; i < 4; i++) {
        double margin = options->margin[i];
        if (margin >= 0 && margin <= PV_PAPER_SIDE_MAX)
            continue;
        pv_fail(diags, PV_CAUSE_USAGE, "the %s margin must be from 0 mm to %d mm", names[i],
                (int)PV_PAPER_SIDE_MAX);
        return false;
    }
    if (!(options->border >= 0 && options->border <= PV_BORDER_MAX)) {
        pv_fail(diags, PV_CAUSE_USAGE, "the border must be from 0 mm to %d mm", (int)PV_BORDER_MAX);
        return false;
    }
    if (options->overlap >= PV_OVERLAP_MIN && options->overlap <= PV_OVERLAP_MAX)
        return true;
    if (!isfinite(options->overlap)) {
        pv_fail(diags, PV_CAUSE_USAGE, "the overlap must be a length");
        return false;
    }
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "the overlap holds the tags that inspection needs",
                 "an overlap of %s mm "
                 "is not possible; it must be from %d mm to %d mm",
                 mm(options->overlap, given), (int)PV_OVERLAP_MIN, (int)PV_OVERLAP_MAX);
    return false;
}

static void split_overlap(pv_plan *plan)
{
    plan->bleed = PV_BLEED;
    plan->service = fmin(plan->overlap - PV_LAP_ART, PV_SERVICE);
    plan->lap_art = plan->overlap - plan->service;
    plan->overlap = plan->lap_art + plan->service; /* exactly, as when it is read */
}

/* ---- the grid ---- */

/* PV_PLAN_SHEETS_MAX rows need four letters, as many columns five digits. */
void pv_plan_name_sheet(char name[12], size_t row, size_t column)
{
    char letters[5] = "";
    size_t first = sizeof letters - 1;
    for (size_t r = row + 1; r > 0 && first > 0; r = (r - 1) / 26)
        letters[--first] = (char)('A' + (r - 1) % 26);
    snprintf(name, 12, "%s%zu", letters + first, (column + 1) % 100000);
}

/* `first` is the left or upper sheet's side. */
static void add_seam(pv_plan *plan, pv_seam seam, pv_side first, pv_side second)
{
    plan->sheets[seam.under].seam[first] = plan->n_seams;
    plan->sheets[seam.over].seam[second] = plan->n_seams;
    plan->seams[plan->n_seams++] = seam;
}

bool pv_plan_build_grid(pv_plan *plan, const pv_division *x, const pv_division *y)
{
    plan->columns = x->n;
    plan->rows = y->n;
    plan->n_sheets = x->n * y->n;
    plan->sheets = PV_NEW_ARRAY(plan->n_sheets, pv_sheet);
    plan->seams = PV_NEW_ARRAY((x->n - 1) * y->n + x->n * (y->n - 1), pv_seam);
    if (plan->sheets == NULL || plan->seams == NULL)
        return false;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_sheet *sheet = &plan->sheets[i];
        sheet->row = i / x->n;
        sheet->column = i % x->n;
        sheet->number = (unsigned)i;
        pv_plan_name_sheet(sheet->name, sheet->row, sheet->column);
        size_t up = y->n - 1 - sheet->row;
        sheet->cell.lo = pv_v(x->at[sheet->column], y->at[up]);
        sheet->cell.hi = pv_v(x->at[sheet->column + 1], y->at[up + 1]);
        for (int s = 0; s < 4; s++)
            sheet->seam[s] = SIZE_MAX;
    }
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        pv_box c = sheet->cell;
        pv_seam right = {.over = i + 1, .under = i, .vertical = true, .at = c.hi.x};
        right.from = c.lo.y;
        right.to = c.hi.y;
        if (sheet->column + 1 < x->n)
            add_seam(plan, right, PV_RIGHT, PV_LEFT);
        pv_seam below = {.over = i + x->n, .under = i, .at = c.lo.y, .from = c.lo.x, .to = c.hi.x};
        if (sheet->row + 1 < y->n)
            add_seam(plan, below, PV_BOTTOM, PV_TOP);
    }
    pv_plan_set_sides(plan);
    return true;
}

/* ---- on the page ---- */

/* The cell with its allowances stands in the middle of what the printer reaches. */
static bool place_sheet(const pv_plan *plan, pv_sheet *sheet)
{
    double past[4];
    for (int s = 0; s < 4; s++)
        past[s] = pv_sheet_allowance(plan, sheet, (pv_side)s);
    pv_box area = pv_plan_printable(plan);
    double width = sheet->cell.hi.x - sheet->cell.lo.x,
           height = sheet->cell.hi.y - sheet->cell.lo.y;
    double slack_x = area.hi.x - area.lo.x - past[PV_LEFT] - past[PV_RIGHT] - width;
    double slack_y = area.hi.y - area.lo.y - past[PV_BOTTOM] - past[PV_TOP] - height;
    pv_vec cell = {area.lo.x + past[PV_LEFT] + slack_x / 2,
                   area.lo.y + past[PV_BOTTOM] + slack_y / 2};
    sheet->origin = pv_sub(sheet->cell.lo, cell);
    if (!pv_sheet_place_tags(plan, sheet))
        return false;
    pv_sheet_place_gauge(plan, sheet);
    pv_sheet_place_bars(plan, sheet);
    return true;
}

/* A mat of a single sheet has no crosses; without bars both ways little is left to measure by. */
static void warn_of_little(const pv_plan *plan, pv_diags *diags)
{
    bool bars[2] = {false, false};
    for (size_t b = 0; b < plan->sheets[0].n_bars; b++)
        bars[plan->sheets[0].bar[b].vertical] = true;
    if (plan->n_sheets == 1 && !(bars[0] && bars[1]))
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "they need a mat of at least 100 by 100 mm",
                     "the mat is too small for scale bars both ways, so inspection may be unable "
                     "to measure its print");
}

static bool place_sheets(pv_plan *plan, pv_diags *diags)
{
    for (size_t i = 0; i < plan->n_sheets; i++) {
        if (place_sheet(plan, &plan->sheets[i]))
            continue;
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     plan->n_sheets > 1 ? "use larger paper"
                                        : "print so small a mat on a sheet of paper, such as A4",
                     "sheet %s has no room for its four tags on %s", plan->sheets[i].name,
                     plan->paper);
        return false;
    }
    warn_of_little(plan, diags);
    return true;
}

/* ---- crosses ---- */

/* What a user should know of crosses that could not be placed well. */
typedef struct shortfall {
    size_t crosses, seams, first;
} shortfall;

/* What making needs and the plan does not keep. */
typedef struct maker {
    pv_plan *plan;
    const pv_regard *regard;
    const pv_layout_options *options;
    pv_laying layings[2]; /* that take as many sheets; the one that was chosen comes first */
    size_t n_layings;
    size_t cap_crosses;
    pv_look look;
    shortfall missing;
} maker;

static bool add_crosses(maker *m, pv_seam *seam, const pv_stretch *stretch,
                        const pv_cross_places *places)
{
    pv_plan *plan = m->plan;
    seam->first_cross = plan->n_crosses;
    seam->n_crosses = places->n;
    for (size_t i = 0; i < places->n; i++) {
        if (!PV_GROW(plan->crosses, plan->n_crosses, m->cap_crosses))
            return false;
        pv_vec at =
            seam->vertical ? pv_v(seam->at, places->along[i]) : pv_v(places->along[i], seam->at);
        size_t colour = 0;
        pv_box box = pv_cross_box(stretch, places->along[i], PV_CROSS_ARM + PV_CROSS_CLEAR);
        if (!pv_scene_plain(plan->mat, box, &colour, &m->look))
            colour = pv_scene_at(plan->mat, at).colour;
        /* The larger difference in linear light, by which inspection sees. */
        bool light = pv_colour_luminance(&plan->art.colours[colour]) < 0.5;
        plan->crosses[plan->n_crosses++] = (pv_cross){at, light};
    }
    return !m->look.failed;
}

static bool place_crosses_on(maker *m, size_t index)
{
    pv_seam *seam = &m->plan->seams[index];
    pv_stretch stretch = {seam->vertical, seam->at, seam->from, seam->to};
    pv_cross_places places = {NULL, 0, 0};
    const pv_plan *keep = m->options->keep, *plan = m->plan;
    bool good = keep == NULL || pv_keep_crosses(keep, plan, index, &m->look, &places);
    if (good && places.n == 0) {
        free(places.along);
        good = pv_crosses_place(plan->mat, &stretch, &m->look, &places);
    }
    good = good && add_crosses(m, seam, &stretch, &places);
    size_t short_of = places.unclear + (places.n < 2 ? 1 : 0);
    if (good && short_of > 0) {
        if (m->missing.seams++ == 0)
            m->missing.first = index;
        m->missing.crosses += short_of;
    }
    free(places.along);
    return good;
}

static void say_shortfall(const pv_plan *plan, const shortfall *missing, pv_diags *diags)
{
    const pv_seam *seam = &plan->seams[missing->first];
    pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                 plan->kept ? "seams stay where the older plan has them: planned without it, they "
                              "can move, but then all sheets are new"
                            : "choose another paper, margin or orientation to move the seams",
                 "%zu alignment cross%s of %zu seam%s could not be placed on one plain colour, the "
                 "first between sheets %s and %s",
                 missing->crosses, missing->crosses == 1 ? "" : "es", missing->seams,
                 missing->seams == 1 ? "" : "s", plan->sheets[seam->under].name,
                 plan->sheets[seam->over].name);
}

/* ---- all together ---- */

/* A laying with its seams in their places. */
typedef struct divided {
    pv_division x, y;
    pv_placing placing;
} divided;

static bool divide(pv_vec size, const pv_laying *l, pv_cost_axis *const axis[2],
                   const pv_scene *scene, divided *d)
{
    return pv_divide(&d->x, size.x, (size_t)l->n[0], l->most[0]) &&
           pv_divide(&d->y, size.y, (size_t)l->n[1], l->most[1]) &&
           pv_place_seams(axis, scene, &d->x, &d->y, &d->placing);
}

/* Cheaper seams, then less seam, then portrait, which comes first. */
static bool better(const pv_laying *a, const divided *x, const pv_laying *b, const divided *y)
{
    const pv_placing *p = &x->placing, *q = &y->placing;
    if (p->blind != q->blind)
        return p->blind < q->blind;
    return p->cost != q->cost ? p->cost < q->cost : a->seams < b->seams;
}

static bool take_division(maker *m, size_t chosen, const divided *d)
{
    pv_plan *plan = m->plan;
    m->layings[0] = m->layings[chosen];
    const pv_laying *l = &m->layings[0];
    memcpy(plan->page, l->page, sizeof plan->page);
    plan->strips = l->strips;
    plan->seams_gap = (double)d->placing.gap / PV_COST_TENTHS;
    return pv_plan_build_grid(plan, &d->x, &d->y);
}

/* An older plan's seams, of the laying on its page. */
static bool keep_division(maker *m, pv_diags *diags)
{
    divided d = {.x = {0, NULL, 0}};
    const pv_plan *keep = m->options->keep;
    size_t chosen = m->n_layings == 2 && m->layings[1].page[0] == keep->page[0];
    bool good = pv_keep_divide(keep, m->plan, m->options->roll != 0, &m->layings[chosen], &d.x,
                               &d.y, diags);
    if (good && !take_division(m, chosen, &d)) {
        pv_fail_memory(diags);
        good = false;
    }
    m->plan->kept = true;
    m->plan->former = pv_plan_kit(keep);
    free(d.x.at);
    free(d.y.at);
    return good;
}

/* Of layings that take as many sheets the one whose seams cost least. */
static bool choose_division(maker *m)
{
    divided d[2] = {{.x = {0, NULL, 0}}, {.x = {0, NULL, 0}}};
    pv_cost_axis *axis[2] = {pv_cost_axis_new(m->regard, true), pv_cost_axis_new(m->regard, false)};
    const pv_scene *mat = m->plan->mat;
    pv_vec size = m->plan->art.size;
    bool good = axis[0] != NULL && axis[1] != NULL;
    for (size_t i = 0; i < m->n_layings; i++)
        good = good && divide(size, &m->layings[i], axis, mat, &d[i]);
    bool second = good && m->n_layings == 2 && better(&m->layings[1], &d[1], &m->layings[0], &d[0]);
    good = good && take_division(m, second, &d[second]);
    for (int i = 0; i < 2; i++) {
        pv_cost_axis_free(axis[i]);
        free(d[i].x.at);
        free(d[i].y.at);
    }
    return good;
}

static bool fill_plan(maker *m, pv_diags *diags)
{
    pv_plan *plan = m->plan;
    const pv_plan *keep = m->options->keep;
    bool ordered = false;
    plan->mat = pv_scene_of(&plan->art);
    if (plan->mat != NULL && keep != NULL && !keep_division(m, diags))
        return false;
    bool good = plan->mat != NULL &&
                (keep == NULL ? choose_division(m) : pv_keep_order(keep, plan, &ordered));
    good = good && (ordered || pv_plan_order(plan, m->layings[0].most));
    if (good && m->options->roll != 0)
        pv_roll_cut(plan, &m->layings[0]);
    for (size_t i = 0; good && i < plan->n_seams; i++)
        good = place_crosses_on(m, i);
    pv_look_drop(&m->look);
    if (!good) {
        pv_fail_memory(diags);
        return false;
    }
    if (!place_sheets(plan, diags))
        return false;
    if (!(keep != NULL ? pv_keep_identities(keep, plan) : pv_plan_identify(plan))) {
        pv_fail_memory(diags);
        return false;
    }
    if (m->missing.seams > 0)
        say_shortfall(plan, &m->missing, diags);
    return true;
}

static bool copy_route(pv_plan *plan, const pv_piece *route, size_t n)
{
    if (n == 0)
        return true;
    plan->route = PV_NEW_ARRAY(n, pv_piece);
    if (plan->route == NULL)
        return false;
    memcpy(plan->route, route, n * sizeof *route);
    plan->n_route = n;
    return true;
}

/* For a printer, or for none. */
static bool take_printer(pv_plan *plan, const pv_settled *how)
{
    plan->corrected = pv_printer_correction(how->o.printer);
    if (how->o.printer != NULL)
        plan->printer = pv_printer_copy(how->o.printer);
    return how->o.printer == NULL || plan->printer != NULL;
}

static bool take_url(pv_plan *plan, const char *url)
{
    if (url != NULL)
        plan->url = pv_copy_text(url);
    return url == NULL || plan->url != NULL;
}

pv_plan *pv_plan_of(const pv_regard *regard, const pv_settled *how, pv_type *type, pv_diags *diags)
{
    const pv_layout_options *options = &how->o;
    if (!options_are_fair(options, diags))
        return NULL;
    pv_plan *plan = PV_NEW(pv_plan);
    if (plan != NULL)
        pv_art_share(&plan->art, regard->art);
    if (plan == NULL || !copy_route(plan, regard->route, regard->n_route) ||
        !take_printer(plan, how) || !take_url(plan, how->o.url)) {
        pv_fail_memory(diags);
        pv_plan_free(plan);
        return NULL;
    }
    memcpy(plan->margin, options->margin, sizeof plan->margin);
    plan->overlap = options->overlap;
    plan->border = options->border;
    plan->joint = options->joint;
    plan->type = type;
    /* English is what a plan has that names none: the same plan either way. */
    if (how->o.language != pv_language_at(0))
        plan->language = how->o.language;
    split_overlap(plan);
    maker m = {.plan = plan, .regard = regard, .options = options};
    m.n_layings = pv_plan_lay(plan, options, m.layings, diags);
    if (m.n_layings == 0 || !fill_plan(&m, diags)) {
        pv_plan_free(plan);
        return NULL;
    }
    pv_roll_say(plan, options, diags);
    return plan;
}

pv_plan *pv_plan_of_art(const pv_art *art, const pv_layout_options *options, pv_diags *diags)
{
    pv_settled how;
    if (!pv_layout_settle(options, &how, diags))
        return NULL;
    return pv_plan_of(&(pv_regard){.art = art}, &how, how.o.type, diags);
}

pv_regard pv_regard_of(const pv_course *course)
{
    return (pv_regard){.art = &course->art,
                       .route = course->route.pieces,
                       .n_route = course->route.n,
                       .finish = course->finish.given ? &course->finish.outline : NULL};
}

pv_plan *pv_plan_make(const pv_course *course, const pv_layout_options *options, pv_diags *diags)
{
    pv_settled how;
    if (!pv_layout_settle(options, &how, diags))
        return NULL;
    pv_regard regard = pv_regard_of(course);
    return pv_plan_of(&regard, &how, course->type, diags);
}
