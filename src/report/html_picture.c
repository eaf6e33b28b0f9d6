/* A sheet's picture with the plan and the deviations drawn over it. Everything is in the sheet's
 * mm, y downwards; strokes and lettering grow with the page, since the drawing is scaled to the
 * reader's page. */
#include "html/escape.h"
#include "po/po.h"
#include "report/html.h"

#include <math.h>
#include <stdlib.h>

/* Limits that keep a page readable and small: chosen. */
#define PIECES_MAX   20000 /* of outlines on one sheet */
#define WHISKERS_MAX 2400  /* on one sheet; neighbours are averaged */
#define NUMBERS_MAX  60    /* lines that bear their number */
#define LABELS_MAX   100
#define BESIDE       0.10  /* of the page, around it, that the picture may show */
#define DRAWN_MOST   0.030 /* of the page's width: the largest deviation as drawn */

typedef struct overlay {
    pv_html *page;
    pv_text *to; /* the drawing */
    const pv_html_sheet *sheet;
    double factor; /* by which deviations are drawn larger */
    double unit;   /* mm: of the page's width, what is 1 mm on a sheet of 210 mm */
    pv_box seen;   /* sheet mm */
    pv_box labels[LABELS_MAX];
    size_t n_labels;
} overlay;

/* ---- the picture ---- */

static bool image(overlay *o)
{
    const pv_picture *picture = &o->sheet->in->picture;
    pv_bytes jpeg = {NULL, 0};
    if (picture->rgb == NULL || picture->width == 0 || picture->height == 0)
        return true;
    if (!pv_picture_jpeg(picture, o->page->share, &jpeg, o->page->diags))
        return false;
    if (jpeg.data == NULL)
        return true;
    pv_text_add(o->to, "<image class=\"px\"");
    pv_svg_attribute(o->to, "width", o->page->plan->page[0]);
    pv_svg_attribute(o->to, "height", o->page->plan->page[1]);
    pv_text_add(o->to, " preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,");
    pv_html_base64(o->to, jpeg.data, jpeg.size);
    pv_text_add(o->to, "\"/>\n");
    free(jpeg.data);
    return true;
}

/* ---- strokes and labels ---- */

static pv_vec from_mat(const overlay *o, pv_vec mat)
{
    pv_vec p = pv_sub(mat, o->sheet->sheet->origin);
    return pv_v(p.x, o->page->plan->page[1] - p.y);
}

/* A place beside the page isn't worth its characters. */
static bool within(const overlay *o, pv_vec p)
{
    return p.x >= o->seen.lo.x && p.x <= o->seen.hi.x && p.y >= o->seen.lo.y && p.y <= o->seen.hi.y;
}

/* Words on the height of their middle. */
static void text_start(overlay *o, const char *kind, pv_vec mid, const char *anchor)
{
    pv_svg_text(o->to, kind, anchor, pv_v(mid.x, mid.y + 1.35 * o->unit), 0);
}

static pv_box box_about(pv_vec mid, double width, double height)
{
    pv_vec half = pv_v(width / 2, height / 2);
    return (pv_box){pv_sub(mid, half), pv_add(mid, half)};
}

/* Keeps a box for a label if nothing else has it. */
static bool take(overlay *o, pv_box box)
{
    bool free_place = o->n_labels < LABELS_MAX && within(o, box.lo) && within(o, box.hi);
    for (size_t i = 0; free_place && i < o->n_labels; i++)
        free_place = !pv_box_meets(pv_box_grow(box, 0.6 * o->unit), o->labels[i]);
    if (free_place)
        o->labels[o->n_labels++] = box;
    return free_place;
}

/* ---- the plan ---- */

static pv_box from_mat_box(const overlay *o, pv_box mat)
{
    pv_vec lo = from_mat(o, mat.lo), hi = from_mat(o, mat.hi);
    return (pv_box){pv_v(lo.x, hi.y), pv_v(hi.x, lo.y)};
}

static void planned(overlay *o)
{
    const pv_plan *plan = o->page->plan;
    const pv_sheet *sheet = o->sheet->sheet;
    pv_box art = pv_sheet_art_box(plan, sheet);
    size_t room = PIECES_MAX, number = o->sheet->number;
    pv_text_add(o->to, "<clipPath id=\"k%zu\">", number);
    pv_svg_rect(o->to, "", from_mat_box(o, art));
    pv_text_add(o->to, "</clipPath><g class=\"lp\">");
    pv_svg_rect(o->to, "cell", from_mat_box(o, sheet->cell));
    pv_text_add(o->to, "<g clip-path=\"url(#k%zu)\">\n", number);
    for (size_t i = 0; i < plan->art.n_lines; i++) {
        const pv_line *line = &plan->art.lines[i];
        if (!pv_box_meets(pv_line_box(line), art))
            continue;
        pv_text_add(o->to, "<path data-line=\"");
        pv_html_text(o->to, line->id);
        pv_text_add(o->to, "\" d=\"");
        pv_html_outline(o->to, line, art, sheet->origin, plan->page[1], &room);
        pv_text_add(o->to, "\"/>\n");
    }
    pv_text_add(o->to, "</g></g>\n");
}

/* ---- deviations of lines ---- */

/* Some neighbouring stations as one. */
typedef struct place {
    pv_vec at, left; /* page */
    double width, centre;
} place;

static const pv_station_result *stations_of(const overlay *o, const pv_line_result *line)
{
    return o->sheet->in->table.stations + line->first_station;
}

/* Averages up to `step` stations from *i on, which moves past them; *gap says whether the next one
 * lies apart. */
static place next_place(const overlay *o, const pv_line_result *line, size_t *i, size_t step,
                        double far, bool *gap)
{
    place sum = {{0, 0}, {0, 0}, 0, 0};
    size_t n = 0;
    pv_vec normal = {0, 0};
    *gap = false;
    do {
        const pv_station_result *at = stations_of(o, line) + *i;
        sum.at = pv_add(sum.at, pv_v(at->x, at->y));
        normal = pv_add(normal, pv_v(at->nx, at->ny));
        sum.width += at->width;
        sum.centre += at->centre;
        n++;
        ++*i;
        *gap = *i < line->stations && at[1].s - at->s > far;
    } while (n < step && *i < line->stations && !*gap);
    double k = 1 / (double)n;
    pv_vec left = pv_unit(normal);
    return (place){from_mat(o, pv_scale(sum.at, k)), pv_v(left.x, -left.y), k * sum.width,
                   k * sum.centre};
}

typedef enum trace { TRACE_LEFT, TRACE_RIGHT, TRACE_CENTRE } trace;

/* One edge's whiskers, from where it is planned to where it was found, or the way through their
 * ends. */
static void edge(overlay *o, const pv_line_result *line, size_t step, trace which, bool whiskers)
{
    double half = line->nominal / 2, far = pv_html_gap(o->sheet->in, line);
    bool begun = false;
    for (size_t i = 0; i < line->stations;) {
        bool gap;
        place p = next_place(o, line, &i, step, far, &gap);
        double side = which == TRACE_RIGHT ? -1 : 1;
        double off = (p.width - line->nominal) / 2 + side * p.centre;
        pv_vec base = pv_along(p.at, p.left, side * half);
        if (which == TRACE_CENTRE) {
            base = p.at;
            off = p.centre;
        }
        pv_vec tip = pv_along(base, p.left, side * o->factor * off);
        if (!within(o, tip) || !within(o, base)) {
            begun = false;
            continue;
        }
        if (whiskers)
            pv_svg_stroke(o->to, base, tip);
        else
            pv_svg_point(o->to, begun ? 'L' : 'M', tip);
        if (!begun && gap && !whiskers)
            pv_text_add(o->to, "h.1");
        begun = !gap;
    }
}

static void deviations(overlay *o)
{
    const pv_inspection *in = o->sheet->in;
    size_t step = 2 * in->table.n_stations / WHISKERS_MAX + 1;
    pv_text_add(o->to, "<g class=\"ld\">\n");
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[i];
        if (line->stations == 0)
            continue;
        pv_text_add(o->to, "<g class=\"%s\" data-line=\"", pv_html_class(pv_line_verdict(in, i)));
        pv_html_text(o->to, line->id);
        pv_text_add(o->to, "\">");
        pv_svg_path(o->to, "wh");
        edge(o, line, step, TRACE_LEFT, true);
        edge(o, line, step, TRACE_RIGHT, true);
        pv_svg_path_end(o->to);
        pv_svg_path(o->to, "ce");
        edge(o, line, step, TRACE_CENTRE, false);
        pv_svg_path_end(o->to);
        pv_svg_path(o->to, "ed");
        edge(o, line, step, TRACE_LEFT, false);
        edge(o, line, step, TRACE_RIGHT, false);
        pv_text_add(o->to, "\"/></g>\n");
    }
    pv_text_add(o->to, "</g>\n");
}

/* A line's number in the tables, beside one of its stations, if there is room. */
static bool number(overlay *o, size_t rank, const pv_station_result *at, double side)
{
    const pv_inspection *in = o->sheet->in;
    size_t line = o->sheet->ranking.lines[rank];
    double width = (rank < 9 ? 4.6 : 6.4) * o->unit, height = 4.6 * o->unit;
    pv_vec left = pv_v(side * at->nx, -side * at->ny);
    double away = in->table.lines[line].nominal / 2 + 0.4 * o->unit +
                  (fabs(left.x) * width + fabs(left.y) * height) / 2;
    pv_vec mid = pv_along(from_mat(o, pv_v(at->x, at->y)), left, away);
    pv_box box = box_about(mid, width, height);
    if (!take(o, box))
        return false;
    pv_svg_rect(o->to, "tag", box);
    text_start(o, pv_html_class(pv_line_verdict(in, line)), mid, "middle");
    pv_text_add(o->to, "%zu</text>\n", rank + 1);
    return true;
}

/* Beside each line's middle, or where else there is room. */
static void numbers(overlay *o)
{
    static const double along[] = {0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92};
    const pv_measures *table = &o->sheet->in->table;
    pv_text_add(o->to, "<g class=\"ln\">\n");
    for (size_t rank = 0; rank < table->n_lines && rank < NUMBERS_MAX; rank++) {
        const pv_line_result *line = &table->lines[o->sheet->ranking.lines[rank]];
        bool placed = line->stations == 0;
        for (size_t k = 0; !placed && k < 2 * sizeof along / sizeof *along; k++)
            placed =
                number(o, rank,
                       stations_of(o, line) + (size_t)(along[k / 2] * (double)(line->stations - 1)),
                       k % 2 == 0 ? 1 : -1);
    }
    pv_text_add(o->to, "</g>\n");
}

/* ---- deviations of spacings ---- */

static void spacing_label(overlay *o, const pv_value *value, pv_vec a, pv_vec b)
{
    pv_vec mid = pv_scale(pv_add(a, b), 0.5);
    pv_box box = box_about(mid, 14.5 * o->unit, 4 * o->unit);
    if (!(pv_dist(a, b) > 18 * o->unit) || !take(o, box))
        return;
    pv_svg_rect(o->to, "tag", box);
    text_start(o, "st", mid, "middle");
    pv_html_signed(o->to, value->value - value->nominal, 2);
    pv_text_add(o->to, "</text>");
}

static void spacing(overlay *o, const pv_value *value, bool label)
{
    pv_vec a = from_mat(o, pv_v(value->x[0], value->y[0]));
    pv_vec b = from_mat(o, pv_v(value->x[1], value->y[1]));
    pv_vec way = pv_unit(pv_sub(b, a)), tick = pv_scale(pv_left(way), 1.4 * o->unit);
    if (!within(o, a) || !within(o, b) || !value->measured)
        return;
    pv_text_add(o->to, "<g class=\"%s\">", pv_html_class(value->verdict));
    if (label) {
        spacing_label(o, value, a, b);
    } else {
        pv_svg_path(o->to, "sp");
        pv_svg_stroke(o->to, a, b);
        pv_svg_stroke(o->to, pv_sub(a, tick), pv_add(a, tick));
        pv_svg_stroke(o->to, pv_sub(b, tick), pv_add(b, tick));
        pv_svg_path_end(o->to);
        pv_svg_rule(o->to, "so", b, pv_along(b, way, o->factor * (value->value - value->nominal)));
    }
    pv_text_add(o->to, "</g>\n");
}

/* All strokes first, so that none goes through a label. */
static void spacings(overlay *o)
{
    pv_text_add(o->to, "<g class=\"ls\">\n");
    for (int label = 0; label < 2; label++)
        for (size_t i = 0; i < o->sheet->ranking.n_spacings; i++)
            spacing(o, o->sheet->ranking.spacings[i], label == 1);
    pv_text_add(o->to, "</g>\n");
}

/* ---- references ---- */

static pv_vec corner(const overlay *o, const pv_reference_result *reference, int i)
{
    return pv_v(reference->corner[i][0], o->page->plan->page[1] - reference->corner[i][1]);
}

/* Whether a reference has a place in the picture: not one typed in. */
static bool has_outline(const pv_reference_result *reference)
{
    for (int i = 0; i < 4; i++)
        if (!isfinite(reference->corner[i][0]) || !isfinite(reference->corner[i][1]))
            return false;
    return reference->corner[0][0] != reference->corner[2][0] ||
           reference->corner[0][1] != reference->corner[2][1];
}

/* A card that lies far beside the sheet isn't worth a picture in which the sheet is small. */
static bool shown(const overlay *o, const pv_reference_result *reference)
{
    const double *page = o->page->plan->page;
    bool near = has_outline(reference);
    for (int i = 0; near && i < 4; i++) {
        pv_vec p = corner(o, reference, i);
        near = p.x > -BESIDE * page[0] && p.x < (1 + BESIDE) * page[0] && p.y > -BESIDE * page[1] &&
               p.y < (1 + BESIDE) * page[1];
    }
    return near;
}

static void references(overlay *o)
{
    const pv_inspection *in = o->sheet->in;
    pv_text_add(o->to, "<g class=\"lr\">\n");
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        if (!shown(o, one))
            continue;
        pv_svg_path(o->to, "");
        for (int k = 0; k < 4; k++)
            pv_svg_point(o->to, k == 0 ? 'M' : 'L', corner(o, one, k));
        pv_text_add(o->to, "Z\"/>");
        pv_vec a = corner(o, one, 0), b = corner(o, one, 2), mid = pv_scale(pv_add(a, b), 0.5);
        if (one->kind == PV_REFERENCE_PAPER)
            mid = pv_v(mid.x, fmin(a.y, b.y) + 3 * o->unit);
        if (take(o, box_about(mid, 16 * o->unit, 4 * o->unit))) {
            text_start(o, "rt", mid, "middle");
            pv_text_add(o->to, "%s</text>\n",
                        pv_say(o->page->language, pv_reference_name(one->kind)));
        }
    }
    pv_text_add(o->to, "</g>\n");
}

/* ---- breaks and blobs ---- */

static void flaws(overlay *o)
{
    const pv_inspection *in = o->sheet->in;
    pv_text_add(o->to, "<g class=\"lw\">");
    for (size_t i = 0; i < in->table.n_flaws; i++) {
        const pv_flaw *flaw = &in->table.flaws[i];
        pv_vec at = from_mat(o, pv_v(flaw->x, flaw->y));
        if (!within(o, at))
            continue;
        pv_svg_circle(o->to, at, flaw->length / 2 + 1.5 * o->unit);
    }
    pv_text_add(o->to, "</g>\n");
}

/* ---- marks ---- */

static void marks(overlay *o)
{
    const pv_measures *table = &o->sheet->in->table;
    pv_text_add(o->to, "<g class=\"lm\">");
    for (size_t i = 0; i < table->n_marks; i++) {
        const pv_mark *mark = &table->marks[i];
        pv_box mat = {pv_v(mark->lo[0], mark->lo[1]), pv_v(mark->hi[0], mark->hi[1])};
        pv_box box = pv_box_grow(from_mat_box(o, mat), o->unit);
        pv_text_add(o->to, "<g class=\"%s\">", pv_html_class(mark->verdict));
        pv_svg_rect(o->to, "", box);
        pv_vec mid = pv_v((box.lo.x + box.hi.x) / 2, box.lo.y - 2.6 * o->unit);
        pv_box tag = box_about(mid, 7 * o->unit, 4.6 * o->unit);
        if (take(o, tag)) {
            pv_svg_rect(o->to, "tag", tag);
            text_start(o, "", mid, "middle");
            pv_text_add(o->to, "%c%zu</text>", PV_HTML_MARK, i + 1);
        }
        pv_text_add(o->to, "</g>\n");
    }
    pv_text_add(o->to, "</g>\n");
}

/* ---- the whole ---- */

/* By how many times deviations are drawn larger, so that the largest is still near its line. */
static double choose_factor(double deviation, double page)
{
    static const double factors[] = {1000, 500, 200, 100, 50, 20, 10, 5, 2, 1};
    size_t i = 0;
    while (i + 1 < sizeof factors / sizeof *factors && factors[i] * deviation > DRAWN_MOST * page)
        i++;
    return factors[i];
}

/* 1, 2 or 5 times a power of ten: the longest that fits. */
static double round_length(double most)
{
    double power = pow(10, floor(log10(most))), rest = most / power;
    return power * (rest >= 5 ? 5 : rest >= 2 ? 2 : 1);
}

static void bar(overlay *o, pv_vec at, double length, double value, int decimals, const char *what)
{
    double u = o->unit;
    pv_svg_path(o->to, "key");
    pv_svg_stroke(o->to, at, pv_v(at.x + length, at.y));
    pv_svg_stroke(o->to, pv_v(at.x, at.y - u), pv_v(at.x, at.y + u));
    pv_svg_stroke(o->to, pv_v(at.x + length, at.y - u), pv_v(at.x + length, at.y + u));
    pv_svg_path_end(o->to);
    text_start(o, "kt", pv_v(at.x + length + 2 * u, at.y), "start");
    pv_html_number(o->to, value, decimals);
    pv_text_add(o->to, "%s</text>\n", pv_say(o->page->language, what));
}

/* Below the page: how long is a millimetre of the sheet, and of the deviations. */
static void scale_key(overlay *o)
{
    double y = o->seen.hi.y - 4.5 * o->unit, width = o->page->plan->page[0];
    double one = round_length(0.16 * width / o->factor), all = round_length(0.24 * width);
    pv_text_add(o->to, "<g class=\"lk\">");
    bar(o, pv_v(2 * o->unit, y), one * o->factor, one, one >= 1 ? 0 : (int)ceil(-log10(one) - 1e-9),
        PV_SAID(" mm of deviation"));
    bar(o, pv_v(width - all - 42 * o->unit, y), all, all, all >= 1 ? 0 : 2,
        PV_SAID(" mm of the sheet"));
    pv_text_add(o->to, "</g>\n");
}

static pv_box seen_box(const overlay *o)
{
    const double *page = o->page->plan->page;
    pv_box box = {pv_v(0, 0), pv_v(page[0], page[1])};
    for (size_t i = 0; i < o->sheet->in->n_references; i++)
        for (int k = 0; shown(o, &o->sheet->in->references[i]) && k < 4; k++)
            box = pv_box_add(box, corner(o, &o->sheet->in->references[i], k));
    box = pv_box_grow(box, 0.5 * o->unit);
    box.hi.y += 9 * o->unit;
    return box;
}

/* mm by which any edge is off its place, at most. */
static double largest_deviation(const pv_inspection *in)
{
    double most = 0;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[i];
        for (size_t k = 0; k < line->stations; k++) {
            const pv_station_result *at = &in->table.stations[line->first_station + k];
            double off = fabs((at->width - line->nominal) / 2) + fabs(at->centre);
            most = isfinite(off) ? fmax(most, off) : most;
        }
    }
    return most;
}

static void legend(const overlay *o)
{
    const pv_inspection *in = o->sheet->in;
    pv_json_writer *w = &o->page->data;
    bool outlined = false;
    for (size_t i = 0; i < in->n_references; i++)
        outlined = outlined || has_outline(&in->references[i]);
    pv_data_bool(w, "outlined", outlined);
    pv_data_bool(w, "flawed", in->table.n_flaws > 0);
    pv_data_bool(w, "kept", in->picture.rgb != NULL);
    pv_data_open(w, "beside", '[');
    for (size_t i = 0; i < in->n_references; i++)
        if (has_outline(&in->references[i]) && !shown(o, &in->references[i]))
            pv_data_text(w, NULL,
                         pv_say(o->page->language, pv_reference_name(in->references[i].kind)));
    pv_json_close(w, ']');
}

static void overlays(overlay *o)
{
    const double *page = o->page->plan->page;
    pv_svg_rect(o->to, "sheet", (pv_box){pv_v(0, 0), pv_v(page[0], page[1])});
    planned(o);
    spacings(o);
    deviations(o);
    references(o);
    flaws(o);
    marks(o);
    numbers(o);
    scale_key(o);
}

bool pv_html_picture(pv_html *page, const pv_html_sheet *sheet)
{
    pv_text svg = PV_TEXT_INIT, view = PV_TEXT_INIT, unit = PV_TEXT_INIT;
    overlay o = {.page = page, .to = &svg, .sheet = sheet};
    pv_json_writer *w = &page->data;
    double deviation = largest_deviation(sheet->in);
    o.unit = page->plan->page[0] / 210;
    o.factor = choose_factor(deviation, page->plan->page[0]);
    o.seen = seen_box(&o);
    bool good = image(&o);
    if (good)
        overlays(&o);
    pv_svg_view(&view, o.seen);
    pv_svg_number(&unit, o.unit);
    pv_data_open(w, "picture", '{');
    pv_data_text(w, "name", sheet->in->sheet.sheet);
    pv_data_number(w, "factor", o.factor, 0);
    pv_data_number(w, "deviation", deviation, 3);
    pv_data_take(w, "view", &view);
    pv_data_take(w, "unit", &unit);
    pv_data_take(w, "picture_svg", &svg);
    legend(&o);
    pv_json_close(w, '}');
    return good;
}
