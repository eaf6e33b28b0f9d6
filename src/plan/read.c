/* A plan from its JSON. Whoever reads it may rely on it, so everything is checked: kinds, ranges,
 * that the cells tile the mat exactly, that seams lie between them, that tags say what they should
 * and stand where they may, and that the fingerprint is that of the content. */
#include "plan/read.h"

#include "base/memory.h"
#include "paper/paper.h"
#include "paper/printer.h"
#include "plan/format.h"
#include "plan/make.h"
#include "plan/order.h"

#include <stdlib.h>
#include <string.h>

#define BAR_COUNT_MAX 1000
#define SEAMS_GAP_MAX 1e15 /* more than all seams of any mat cost */

static void read_head(pv_plan_reader *r, const pv_json_node *root)
{
    const pv_json_node *format = pv_json_member(r->json, root, "format");
    if (strcmp(pv_json_get_string(r->json, format), PV_PLAN_FORMAT) != 0)
        pv_json_complain(r->json, format, "must be \"%s\": this is not a plan", PV_PLAN_FORMAT);
    const pv_json_node *version = pv_json_member(r->json, root, "version");
    long long number = pv_json_get_integer(r->json, version, 1, 1000000);
    if (number != PV_PLAN_VERSION)
        pv_json_complain(r->json, version, "is %lld, but this program reads plans of version %d",
                         number, PV_PLAN_VERSION);
    const pv_json_node *unit = pv_json_member(r->json, root, "unit");
    if (strcmp(pv_json_get_string(r->json, unit), "mm") != 0)
        pv_json_complain(r->json, unit, "must be \"mm\"");
}

static void read_kit(pv_plan_reader *r, const pv_json_node *kit)
{
    pv_plan *plan = r->plan;
    plan->art.name = pv_read_string(r, pv_json_member(r->json, kit, "name"), true);
    plan->art.edition = pv_read_string(r, pv_json_member(r->json, kit, "edition"), true);
}

/* Left out, or one that this version has: another page would be drawn in any other. */
static void read_language(pv_plan_reader *r, const pv_json_node *node)
{
    if (node == NULL)
        return;
    const char *code = pv_json_get_string(r->json, node);
    r->plan->language = pv_language_find(code);
    if (pv_read_good(r) && r->plan->language == NULL)
        pv_json_complain(r->json, node, "is %.20s, a language that this version does not have",
                         code);
}

static void read_url(pv_plan_reader *r, const pv_json_node *node)
{
    if (node == NULL)
        return;
    r->plan->url = pv_read_string(r, node, false);
    if (pv_read_good(r) && !pv_url_plain(r->plan->url))
        pv_json_complain(r->json, node, "is no address of a folder on the web");
}

static void read_former(pv_plan_reader *r, const pv_json_node *node)
{
    const char *text = node != NULL ? pv_json_get_string(r->json, node) : "";
    size_t length = strlen(text);
    if (length == PV_KIT_CHARS && strspn(text, PV_CLEAR_LETTERS) == PV_KIT_BREAK &&
        text[PV_KIT_BREAK] == '-' &&
        strspn(text + PV_KIT_BREAK + 1, PV_CLEAR_LETTERS) == PV_KIT_CHARS - PV_KIT_BREAK - 1)
        memcpy(r->plan->former.chars, text, length);
    else if (length > 0)
        pv_json_complain(r->json, node, "must be a kit's fingerprint, such as 5K7-2XQM");
}

static void read_page(pv_plan_reader *r, const pv_json_node *root)
{
    pv_plan *plan = r->plan;
    plan->paper = pv_read_string(r, pv_json_member(r->json, root, "paper"), true);
    pv_read_numbers(r, pv_json_member(r->json, root, "page"), plan->page, 2, 1, PV_PAGE_SIDE_MAX);
    const pv_json_node *margin = pv_json_member(r->json, root, "margin");
    pv_read_numbers(r, margin, plan->margin, 4, 0, PV_PAPER_SIDE_MAX);
    pv_box area = pv_plan_printable(plan);
    if (pv_read_good(r) && !(area.lo.x < area.hi.x && area.lo.y < area.hi.y))
        pv_json_complain(r->json, margin, "leaves nothing of the page");
    plan->bleed = pv_read_number(r, root, "bleed", PV_BLEED, PV_OVERLAP_MAX);
    plan->lap_art = pv_read_number(r, root, "lap_art", PV_LAP_ART, PV_OVERLAP_MAX);
    plan->service = pv_read_number(r, root, "service", PV_SERVICE_MIN, PV_SERVICE);
    plan->overlap = plan->lap_art + plan->service;
    const pv_json_node *border = pv_json_optional(r->json, root, "border");
    if (border != NULL)
        plan->border = pv_json_get_number(r->json, border, 0, PV_BORDER_MAX);
    plan->joint =
        (pv_joint)pv_read_word(r, pv_json_member(r->json, root, "joint"), pv_plan_joint_names);
    const pv_json_node *strips = pv_json_optional(r->json, root, "strips");
    if (strips != NULL)
        plan->strips = (pv_strips)pv_read_word(r, strips, pv_plan_strips_names);
    const pv_json_node *gap = pv_json_optional(r->json, root, "seams_gap");
    if (gap != NULL)
        plan->seams_gap = pv_json_get_number(r->json, gap, 0, SEAMS_GAP_MAX);
    const pv_json_node *kept = pv_json_optional(r->json, root, "kept");
    plan->kept = kept != NULL && pv_json_get_bool(r->json, kept);
    read_former(r, pv_json_optional(r->json, root, "former"));
    const pv_json_node *proof = pv_json_optional(r->json, root, "proof");
    plan->proof = proof != NULL && pv_json_get_bool(r->json, proof);
}

static void read_correction(pv_plan_reader *r, const pv_json_node *root)
{
    const pv_json_node *node = pv_json_optional(r->json, root, "corrected");
    pv_correction *to = &r->plan->corrected;
    *to = (pv_correction){.any = node != NULL, .scale = {1, 1}};
    if (node == NULL)
        return;
    pv_read_numbers(r, pv_json_member(r->json, node, "scale"), to->scale, 2, PV_PRINTER_SCALE_MIN,
                    PV_PRINTER_SCALE_MAX);
    to->skew = pv_read_number(r, node, "skew_mrad", -PV_PRINTER_SKEW_MAX, PV_PRINTER_SKEW_MAX);
    to->ink = pv_read_number(r, node, "ink_mm", -PV_PRINTER_INK_MAX, PV_PRINTER_INK_MAX);
    r->plan->printer = pv_printer_of(to);
    r->out_of_memory = r->out_of_memory || r->plan->printer == NULL;
}

static void read_tolerances(pv_plan_reader *r, const pv_json_node *node)
{
    pv_tolerances *t = &r->plan->art.tolerances;
    const double least = PV_TOLERANCE_LEAST;
    t->scale = pv_read_number(r, node, "scale", least, 1);
    t->width = pv_read_number(r, node, "width_mm", least, PV_COURSE_SIDE_MAX);
    t->spacing = pv_read_number(r, node, "spacing_mm", least, PV_COURSE_SIDE_MAX);
    t->skew = pv_read_number(r, node, "skew_mrad", least, 1000);
    t->straight = pv_read_number(r, node, "straight_mm", least, PV_COURSE_SIDE_MAX);
    t->contrast = pv_read_number(r, node, "contrast", PV_MARK_CONTRAST_MIN, 1);
    t->spot = pv_read_number(r, node, "spot_mm", PV_SPOT_MIN, PV_SPOT_MAX);
}

/* ---- the grid ---- */

static pv_box read_cell(pv_plan_reader *r, const pv_json_node *sheets, size_t index)
{
    const pv_json_node *sheet = pv_json_item(r->json, sheets, index);
    const pv_json_node *cell = pv_json_member(r->json, sheet, "cell");
    double v[4];
    pv_read_numbers(r, cell, v, 4, 0, PV_COURSE_SIDE_MAX);
    if (pv_read_good(r) && !(v[0] < v[2] && v[1] < v[3]))
        pv_json_complain(r->json, cell, "must be left, bottom, right, top");
    return (pv_box){{v[0], v[1]}, {v[2], v[3]}};
}

/* The first row and the first column give the divisions; every cell is then held against them. */
static bool read_divisions(pv_plan_reader *r, const pv_json_node *sheets, size_t columns,
                           size_t rows, pv_division *x, pv_division *y)
{
    *x = (pv_division){.n = columns, .at = pv_read_array(r, columns + 1, sizeof(double))};
    *y = (pv_division){.n = rows, .at = pv_read_array(r, rows + 1, sizeof(double))};
    if (r->out_of_memory)
        return false;
    for (size_t c = 0; c < columns && pv_read_good(r); c++)
        x->at[c + 1] = read_cell(r, sheets, c).hi.x;
    for (size_t row = 0; row < rows && pv_read_good(r); row++)
        y->at[rows - row] = read_cell(r, sheets, row * columns).hi.y;
    pv_vec size = r->plan->art.size;
    if (pv_read_good(r) && (x->at[columns] != size.x || y->at[rows] != size.y))
        pv_json_complain(r->json, sheets, "have cells that don't end at the mat's edge");
    return pv_read_good(r);
}

static void check_cells(pv_plan_reader *r, const pv_json_node *sheets, const pv_division *x,
                        const pv_division *y)
{
    for (size_t i = 0; i < x->n * y->n && pv_read_good(r); i++) {
        pv_box cell = read_cell(r, sheets, i);
        size_t c = i % x->n, up = y->n - 1 - i / x->n;
        if (pv_read_good(r) && (cell.lo.x != x->at[c] || cell.hi.x != x->at[c + 1] ||
                                cell.lo.y != y->at[up] || cell.hi.y != y->at[up + 1])) {
            const pv_json_node *sheet = pv_json_item(r->json, sheets, i);
            pv_json_complain(r->json, pv_json_member(r->json, sheet, "cell"),
                             "doesn't meet its neighbours exactly");
        }
    }
}

static void read_grid(pv_plan_reader *r, const pv_json_node *root, const pv_json_node *sheets)
{
    size_t rows = pv_read_count(r, root, "rows", 1, PV_PLAN_SHEETS_MAX);
    size_t columns = pv_read_count(r, root, "columns", 1, PV_PLAN_SHEETS_MAX);
    if (pv_read_good(r) && r->plan->strips != PV_STRIPS_AROUND && rows * columns != 1)
        pv_json_complain(r->json, root, "has strips at a roll's ends, but more than one sheet");
    if (pv_read_good(r) && rows * columns > PV_PLAN_SHEETS_MAX)
        pv_json_complain(r->json, root, "has more sheets than the limit of %u", PV_PLAN_SHEETS_MAX);
    size_t n = pv_json_length(r->json, sheets);
    if (pv_read_good(r) && n != rows * columns)
        pv_json_complain(r->json, sheets, "has %zu sheets, but rows and columns make %zu", n,
                         rows * columns);
    if (!pv_read_good(r))
        return;
    pv_division x = {0}, y = {0};
    if (read_divisions(r, sheets, columns, rows, &x, &y))
        check_cells(r, sheets, &x, &y);
    if (pv_read_good(r) && !pv_plan_build_grid(r->plan, &x, &y))
        r->out_of_memory = true;
    free(x.at);
    free(y.at);
}

/* ---- sheets ---- */

static bool within(pv_box inner, pv_box outer)
{
    pv_box wide = pv_box_grow(outer, PV_PLAN_JOIN);
    return pv_box_holds(wide, inner.lo) && pv_box_holds(wide, inner.hi);
}

static bool overlap(pv_box a, pv_box b)
{
    return pv_box_meets(a, pv_box_grow(b, -PV_PLAN_JOIN));
}

static pv_box page_box(const pv_plan *plan)
{
    return (pv_box){{0, 0}, {plan->page[0], plan->page[1]}};
}

/* Three in one line could not tell a turn about that line. */
static bool in_one_line(const pv_sheet *sheet)
{
    double widest = 0;
    for (int a = 0; a < PV_TAG_PLACES; a++)
        for (int b = 0; b < a; b++)
            for (int c = 0; c < b; c++) {
                pv_vec ab = pv_sub(sheet->tag[b].centre, sheet->tag[a].centre);
                pv_vec ac = pv_sub(sheet->tag[c].centre, sheet->tag[a].centre);
                widest = fmax(widest, fabs(pv_cross_z(ab, ac)));
            }
    double cell = sheet->tag[0].cell;
    return widest < cell * cell * PV_TAG_CELLS * PV_TAG_CELLS / 2;
}

static void check_tag(pv_plan_reader *r, const pv_json_node *node, const pv_sheet *sheet,
                      unsigned place)
{
    const pv_tag *tag = &sheet->tag[place];
    pv_box box = pv_tag_box(tag);
    if (!within(box, page_box(r->plan)))
        pv_json_complain(r->json, node, "stands off the page");
    else if (overlap(box, pv_sheet_cell(sheet)))
        pv_json_complain(r->json, node, "stands in the finished surface");
    for (unsigned p = 0; p < place; p++)
        if (overlap(box, pv_tag_box(&sheet->tag[p])))
            pv_json_complain(r->json, node, "stands on another tag");
}

static void read_tags(pv_plan_reader *r, const pv_json_node *list, pv_sheet *sheet)
{
    size_t n = pv_json_length(r->json, list);
    if (pv_read_good(r) && n != PV_TAG_PLACES)
        pv_json_complain(r->json, list, "has %zu tags, but must have %d", n, PV_TAG_PLACES);
    for (unsigned p = 0; p < PV_TAG_PLACES && pv_read_good(r); p++) {
        const pv_json_node *node = pv_json_item(r->json, list, p);
        pv_tag *tag = &sheet->tag[p];
        tag->id = (unsigned)pv_read_count(r, node, "id", 0, PV_TAG_IDS - 1);
        tag->centre = pv_read_vec(r, pv_json_member(r->json, node, "centre"));
        tag->cell = pv_read_number(r, node, "cell", 0.1, 10);
        if (pv_read_good(r))
            check_tag(r, node, sheet, p);
    }
    if (pv_read_good(r) && in_one_line(sheet))
        pv_json_complain(r->json, list, "stand in one line");
}

static void read_bars(pv_plan_reader *r, const pv_json_node *list, pv_sheet *sheet)
{
    size_t n = pv_json_length(r->json, list);
    if (n > PV_SHEET_BARS_MAX)
        pv_json_complain(r->json, list, "has %zu bars, but must have at most %d", n,
                         PV_SHEET_BARS_MAX);
    for (size_t b = 0; b < n && pv_read_good(r); b++) {
        const pv_json_node *node = pv_json_item(r->json, list, b);
        pv_bar *bar = &sheet->bar[sheet->n_bars++];
        bar->at = pv_read_vec(r, pv_json_member(r->json, node, "at"));
        bar->vertical = pv_read_bool(r, node, "vertical");
        bar->inch = pv_read_bool(r, node, "inch");
        bar->count = (int)pv_read_count(r, node, "count", 1, BAR_COUNT_MAX);
        bar->step = pv_read_number(r, node, "step", 0.1, PV_PAPER_SIDE_MAX);
        bar->tick = pv_read_number(r, node, "tick", 0.1, PV_SERVICE);
        double length = bar->count * bar->step;
        pv_vec end =
            pv_add(bar->at, bar->vertical ? pv_v(bar->tick, length) : pv_v(length, bar->tick));
        pv_box box = {bar->at, end};
        if (pv_read_good(r) && !within(box, page_box(r->plan)))
            pv_json_complain(r->json, node, "stands off the page");
        else if (pv_read_good(r) && overlap(box, pv_sheet_cell(sheet)))
            pv_json_complain(r->json, node, "stands in the finished surface");
    }
}

/* P, Q, R and S: an upright rectangle. */
static void read_gauge(pv_plan_reader *r, const pv_json_node *list, pv_sheet *sheet)
{
    if (list == NULL)
        return;
    size_t n = pv_json_length(r->json, list);
    if (n != PV_GAUGE_MARKS)
        pv_json_complain(r->json, list, "has %zu gauge marks, but must have %d", n, PV_GAUGE_MARKS);
    for (size_t i = 0; i < n && pv_read_good(r); i++) {
        const pv_json_node *node = pv_json_item(r->json, list, i);
        pv_vec at = sheet->gauge[i] = pv_read_vec(r, node);
        if (pv_read_good(r) && !within((pv_box){at, at}, page_box(r->plan)))
            pv_json_complain(r->json, node, "stands off the page");
        else if (pv_read_good(r) && overlap((pv_box){at, at}, pv_sheet_cell(sheet)))
            pv_json_complain(r->json, node, "stands in the finished surface");
    }
    if (!pv_read_good(r))
        return;
    const pv_vec *g = sheet->gauge;
    sheet->n_gauge = n;
    if (g[0].y != g[1].y || g[1].x != g[2].x || g[2].y != g[3].y || g[3].x != g[0].x ||
        !(g[2].x - g[0].x >= PV_GAUGE_LEAST) || !(g[2].y - g[0].y >= PV_GAUGE_LEAST))
        pv_json_complain(r->json, list,
                         "must be the corners of an upright rectangle, counter-clockwise from the "
                         "lower left, at least %d mm apart",
                         (int)PV_GAUGE_LEAST);
}

/* An ID-1 card, upright or lying. */
static bool is_card(pv_box box)
{
    double w = box.hi.x - box.lo.x, h = box.hi.y - box.lo.y;
    return fabs(fmax(w, h) - PV_CARD_LONG) < PV_PLAN_JOIN &&
           fabs(fmin(w, h) - PV_CARD_SHORT) < PV_PLAN_JOIN;
}

static void read_card(pv_plan_reader *r, const pv_json_node *node, pv_sheet *sheet)
{
    double v[4];
    if (node == NULL)
        return;
    pv_read_numbers(r, node, v, 4, 0, PV_PAPER_SIDE_MAX);
    sheet->has_card = true;
    sheet->card = (pv_box){{v[0], v[1]}, {v[2], v[3]}};
    if (!pv_read_good(r))
        return;
    pv_box whole = pv_sheet_card_box(sheet);
    if (!is_card(sheet->card))
        pv_json_complain(r->json, node, "must be left, bottom, right, top of a card of %s x %s mm",
                         pv_fixed(PV_CARD_LONG, 2).chars, pv_fixed(PV_CARD_SHORT, 2).chars);
    else if (!within(whole, pv_plan_printable(r->plan)))
        pv_json_complain(r->json, node, "stands where the printer can't reach");
    for (int p = 0; p < PV_TAG_PLACES; p++)
        if (overlap(whole, pv_tag_box(&sheet->tag[p])))
            pv_json_complain(r->json, node, "stands on a tag");
}

static void read_sheet(pv_plan_reader *r, const pv_json_node *node, pv_sheet *sheet)
{
    const pv_json_node *name = pv_json_member(r->json, node, "name");
    if (strcmp(pv_json_get_string(r->json, name), sheet->name) != 0)
        pv_json_complain(r->json, name, "must be \"%s\" at this place", sheet->name);
    const pv_json_node *origin = pv_json_member(r->json, node, "origin");
    sheet->origin = pv_read_vec(r, origin);
    if (pv_read_good(r) && !within(pv_sheet_cell(sheet), pv_plan_printable(r->plan)))
        pv_json_complain(r->json, origin, "puts the cell where the printer can't reach");
    read_tags(r, pv_json_member(r->json, node, "tags"), sheet);
    read_bars(r, pv_json_member(r->json, node, "bars"), sheet);
    read_gauge(r, pv_json_optional(r->json, node, "gauge"), sheet);
    read_card(r, pv_json_optional(r->json, node, "card"), sheet);
}

/* ---- seams ---- */

static void read_cross(pv_plan_reader *r, const pv_json_node *node, pv_seam *seam)
{
    pv_plan *plan = r->plan;
    if (!PV_GROW(plan->crosses, plan->n_crosses, r->cap_crosses)) {
        r->out_of_memory = true;
        return;
    }
    pv_cross cross = {pv_read_vec(r, pv_json_member(r->json, node, "at")),
                      pv_read_bool(r, node, "light")};
    double on = seam->vertical ? cross.at.x : cross.at.y;
    double along = seam->vertical ? cross.at.y : cross.at.x;
    if (pv_read_good(r) && (on != seam->at || !(along > seam->from && along < seam->to)))
        pv_json_complain(r->json, node, "doesn't stand on its seam");
    plan->crosses[plan->n_crosses++] = cross;
    seam->n_crosses++;
}

/* Which of the two lies over is the planner's choice; which two meet is settled. */
static void read_order(pv_plan_reader *r, const pv_json_node *node, pv_seam *seam)
{
    pv_plan *plan = r->plan;
    const pv_json_node *over_node = pv_json_member(r->json, node, "over");
    const pv_json_node *under_node = pv_json_member(r->json, node, "under");
    size_t over = pv_plan_find_sheet(plan, pv_json_get_string(r->json, over_node));
    size_t under = pv_plan_find_sheet(plan, pv_json_get_string(r->json, under_node));
    if (over == seam->over && under == seam->under)
        return;
    if (over != seam->under || under != seam->over) {
        pv_json_complain(r->json, node, "must lie between sheets %s and %s",
                         plan->sheets[seam->under].name, plan->sheets[seam->over].name);
        return;
    }
    seam->over = over;
    seam->under = under;
}

static void read_seam(pv_plan_reader *r, const pv_json_node *node, size_t index)
{
    pv_seam *seam = &r->plan->seams[index];
    read_order(r, node, seam);
    const double most = PV_PLAN_COORDINATE_MAX;
    bool vertical = pv_read_bool(r, node, "vertical");
    double at = pv_read_number(r, node, "at", 0, most);
    double from = pv_read_number(r, node, "from", 0, most);
    double to = pv_read_number(r, node, "to", 0, most);
    if (pv_read_good(r) &&
        (vertical != seam->vertical || at != seam->at || from != seam->from || to != seam->to))
        pv_json_complain(r->json, node, "doesn't lie where its two cells meet");
    seam->first_cross = r->plan->n_crosses;
    const pv_json_node *crosses = pv_json_member(r->json, node, "crosses");
    size_t n = pv_json_length(r->json, crosses);
    for (size_t c = 0; c < n && pv_read_good(r); c++)
        read_cross(r, pv_json_item(r->json, crosses, c), seam);
}

/* ---- the order of taping ---- */

/* A sheet is taped after all that lie beneath it. */
static void check_taping(pv_plan_reader *r, const pv_json_node *list, const size_t *turn)
{
    const pv_plan *plan = r->plan;
    for (size_t i = 0; i < plan->n_seams; i++) {
        const pv_seam *seam = &plan->seams[i];
        if (turn[seam->over] > turn[seam->under])
            continue;
        pv_json_complain(r->json, list, "has sheet %s before %s, over which it lies",
                         plan->sheets[seam->over].name, plan->sheets[seam->under].name);
        return;
    }
}

static void read_taping(pv_plan_reader *r, const pv_json_node *list)
{
    pv_plan *plan = r->plan;
    size_t n = pv_json_length(r->json, list);
    size_t *turn = pv_read_array(r, plan->n_sheets, sizeof *turn);
    if (pv_read_good(r) && n != plan->n_sheets)
        pv_json_complain(r->json, list, "has %zu sheets, but the plan has %zu", n, plan->n_sheets);
    for (size_t i = 0; i < plan->n_sheets && pv_read_good(r); i++) {
        const pv_json_node *node = pv_json_item(r->json, list, i);
        size_t sheet = pv_plan_find_sheet(plan, pv_json_get_string(r->json, node));
        if (sheet == SIZE_MAX || turn[sheet] != 0)
            pv_json_complain(r->json, node, "must name each of the plan's sheets once");
        else {
            plan->taping[i] = sheet;
            turn[sheet] = i + 1;
        }
    }
    if (pv_read_good(r))
        check_taping(r, list, turn);
    free(turn);
}

static void read_order_of_all(pv_plan_reader *r, const pv_json_node *root)
{
    bool ring = false;
    if (!pv_plan_order_from_seams(r->plan, &ring)) {
        r->out_of_memory = true;
        return;
    }
    if (ring)
        pv_json_complain(r->json, pv_json_member(r->json, root, "seams"),
                         "make a ring in which each sheet lies over the next");
    else
        read_taping(r, pv_json_member(r->json, root, "taping"));
}

/* ---- all together ---- */

static void check_pages(pv_plan_reader *r, const pv_json_node *sheets)
{
    const pv_plan *plan = r->plan;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        pv_box art = pv_sheet_art_box(plan, sheet);
        pv_box on_page = {pv_sub(art.lo, sheet->origin), pv_sub(art.hi, sheet->origin)};
        pv_box kept = pv_sheet_kept_box(plan, sheet);
        pv_box kept_on_page = {pv_sub(kept.lo, sheet->origin), pv_sub(kept.hi, sheet->origin)};
        const pv_json_node *node = pv_json_item(r->json, sheets, i);
        if (!within(on_page, pv_plan_printable(plan)))
            pv_json_complain(r->json, node, "prints art where the printer can't reach");
        for (int p = 0; p < PV_TAG_PLACES; p++)
            if (overlap(pv_tag_box(&sheet->tag[p]), kept_on_page))
                pv_json_complain(r->json, node, "has a tag in its art or border");
    }
}

static void check_identity(pv_plan_reader *r, const pv_json_node *root, const pv_json_node *sheets)
{
    const pv_json_node *kit = pv_json_member(r->json, root, "kit");
    const char *stated = pv_json_get_string(r->json, pv_json_member(r->json, kit, "fingerprint"));
    if (!pv_plan_compute_fingerprint(r->plan, &r->plan->fingerprint)) {
        r->out_of_memory = true;
        return;
    }
    pv_kit_text computed = pv_plan_kit(r->plan);
    size_t wrong = 0;
    if (!pv_plan_ids_differ(r->plan, &wrong)) {
        r->out_of_memory = true;
        return;
    }
    if (pv_read_good(r) && strcmp(stated, computed.chars) != 0)
        pv_json_complain(r->json, kit,
                         "has the fingerprint %.20s, but the plan's content makes %s: the plan was "
                         "changed after it was made",
                         stated, computed.chars);
    else if (pv_read_good(r) && wrong != SIZE_MAX)
        pv_json_complain(
            r->json, pv_json_member(r->json, pv_json_item(r->json, sheets, wrong), "tags"),
            r->plan->kept ? "do not have the ids of a sheet, or have another sheet's"
                          : "do not have the ids that the fingerprint and the sheet's number "
                            "make");
}

static void read_plan(pv_plan_reader *r)
{
    const pv_json_node *root = pv_json_root(r->json);
    read_head(r, root);
    read_kit(r, pv_json_member(r->json, root, "kit"));
    read_language(r, pv_json_optional(r->json, root, "language"));
    read_url(r, pv_json_optional(r->json, root, "url"));
    read_page(r, root);
    const pv_json_node *inches = pv_json_optional(r->json, root, "inches");
    r->plan->art.inches = inches != NULL && pv_json_get_bool(r->json, inches);
    read_correction(r, root);
    read_tolerances(r, pv_json_member(r->json, root, "tolerances"));
    pv_read_art(r, pv_json_member(r->json, root, "art"));
    const pv_json_node *route = pv_json_optional(r->json, root, "route");
    if (route != NULL)
        r->plan->route = pv_read_pieces(r, route, &r->plan->n_route);
    const pv_json_node *sheets = pv_json_member(r->json, root, "sheets");
    read_grid(r, root, sheets);
    for (size_t i = 0; i < r->plan->n_sheets && pv_read_good(r); i++)
        read_sheet(r, pv_json_item(r->json, sheets, i), &r->plan->sheets[i]);
    const pv_json_node *seams = pv_json_member(r->json, root, "seams");
    size_t n = pv_json_length(r->json, seams);
    if (pv_read_good(r) && n != r->plan->n_seams)
        pv_json_complain(r->json, seams, "has %zu seams, but the sheets make %zu", n,
                         r->plan->n_seams);
    for (size_t i = 0; i < r->plan->n_seams && pv_read_good(r); i++)
        read_seam(r, pv_json_item(r->json, seams, i), i);
    if (pv_read_good(r))
        read_order_of_all(r, root);
    if (pv_read_good(r))
        check_pages(r, sheets);
    if (pv_read_good(r))
        check_identity(r, root, sheets);
    if (pv_read_good(r)) {
        r->plan->mat = pv_scene_of(&r->plan->art);
        r->out_of_memory = r->plan->mat == NULL;
    }
}

pv_plan *pv_plan_parse(const char *text, size_t length, const char *name, pv_diags *diags)
{
    if (length > PV_PLAN_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "%s is larger than the limit of %u bytes for a plan",
                name != NULL ? name : "the input", PV_PLAN_BYTES_MAX);
        return NULL;
    }
    pv_plan_reader r = {.json = pv_json_parse(text, length, name, diags)};
    if (r.json == NULL)
        return NULL;
    r.plan = PV_NEW(pv_plan);
    r.out_of_memory = r.plan == NULL;
    if (!r.out_of_memory)
        read_plan(&r);
    if (r.out_of_memory)
        pv_fail_memory(diags);
    bool good = pv_read_good(&r);
    pv_json_free(r.json);
    if (good)
        return r.plan;
    pv_plan_free(r.plan);
    return NULL;
}
