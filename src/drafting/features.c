#include "drafting/features.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>

#define STRAIGHT 1e-6 /* a direction's other part: the piece runs along the axis */

typedef struct finder {
    const pv_course *course;
    pv_features *out;
    bool failed;
} finder;

/* ---- positions ---- */

/* The mat's own sides are no positions: its size says where they are. */
static void add_position(finder *f, int axis, double at, double lo, double hi)
{
    double side = axis == 0 ? f->course->art.size.x : f->course->art.size.y;
    double across = axis == 0 ? f->course->art.size.y : f->course->art.size.x;
    if (!(at > PV_SAME && at < side - PV_SAME) || hi < 0 || lo > across)
        return;
    pv_features *out = f->out;
    if (!PV_GROW(out->positions[axis], out->n[axis], out->cap[axis])) {
        f->failed = true;
        return;
    }
    out->positions[axis][out->n[axis]++] =
        (pv_position){at, fmax(fmin(lo, hi), 0), fmin(fmax(lo, hi), across)};
}

static void add_point(finder *f, pv_vec p, bool along_x, bool along_y)
{
    if (along_x)
        add_position(f, 0, p.x, p.y, p.y);
    if (along_y)
        add_position(f, 1, p.y, p.x, p.x);
}

static int by_place(const void *a, const void *b)
{
    const pv_position *p = a, *q = b;
    int order = pv_order(p->at, q->at);
    return order != 0 ? order : pv_order(p->lo, q->lo);
}

static void merge_positions(pv_features *out, int axis)
{
    pv_position *list = out->positions[axis];
    size_t n = 0;
    if (out->n[axis] > 0)
        qsort(list, out->n[axis], sizeof *list, by_place);
    for (size_t i = 0; i < out->n[axis]; i++) {
        if (n > 0 && list[i].at - list[n - 1].at < PV_SAME) {
            list[n - 1].lo = fmin(list[n - 1].lo, list[i].lo);
            list[n - 1].hi = fmax(list[n - 1].hi, list[i].hi);
        } else {
            list[n++] = list[i];
        }
    }
    out->n[axis] = n;
}

/* ---- notes ---- */

/* The note that says this; NULL where there are too many, or memory ran out. */
static pv_note_item *note_of(finder *f, pv_note_kind kind, double value)
{
    pv_features *out = f->out;
    for (size_t i = 0; i < out->n_notes; i++)
        if (out->notes[i].kind == kind && fabs(out->notes[i].value - value) < PV_SAME)
            return &out->notes[i];
    if (out->n_notes == PV_NOTES_MAX) {
        out->more++;
        return NULL;
    }
    if (!PV_GROW(out->notes, out->n_notes, out->cap_notes)) {
        f->failed = true;
        return NULL;
    }
    out->notes[out->n_notes] = (pv_note_item){.kind = kind, .value = value};
    return &out->notes[out->n_notes++];
}

static void aim(finder *f, pv_note_item *note, pv_vec at, pv_vec out)
{
    pv_vec size = f->course->art.size;
    if (note->n_targets < PV_TARGETS_MAX && pv_box_holds((pv_box){{0, 0}, size}, at))
        note->targets[note->n_targets++] = (pv_note_target){at, out};
}

static const double aims[] = {0.5, 0.3, 0.7, 0.15, 0.85};
#define N_AIMS (sizeof aims / sizeof *aims)

static void note_width(finder *f, const pv_line *line)
{
    pv_note_item *note = note_of(f, PV_NOTE_WIDTH, line->width);
    if (note == NULL)
        return;
    if (note->count++ == 0)
        note->colour = line->colour;
    note->colours = note->colours || line->colour != note->colour;
    /* The longest piece shows it best. */
    const pv_piece *best = &line->pieces[0];
    for (size_t i = 1; i < line->n_pieces; i++)
        if (pv_piece_length(&line->pieces[i]) > pv_piece_length(best))
            best = &line->pieces[i];
    for (size_t i = 0; i < N_AIMS; i++)
        aim(f, note, pv_piece_point(best, pv_piece_length(best) * aims[i]), pv_v(0, 0));
}

static void note_arc(finder *f, const pv_piece *arc)
{
    bool whole = fabs(arc->sweep) > 2 * PV_PI - 1e-9;
    pv_note_item *note = whole ? note_of(f, PV_NOTE_DIAMETER, 2 * arc->radius)
                               : note_of(f, PV_NOTE_RADIUS, arc->radius);
    if (note == NULL)
        return;
    note->count++;
    for (size_t i = 0; i < N_AIMS; i++) {
        pv_vec p = pv_piece_point(arc, pv_piece_length(arc) * aims[i]);
        aim(f, note, p, pv_unit(pv_sub(p, arc->centre)));
    }
}

/* To the lower edge, 0 to 180 degrees, whichever way the piece runs. */
static double slant(pv_vec heading)
{
    double angle = atan2(heading.y, heading.x) * 180 / PV_PI;
    angle = angle < 0 ? angle + 180 : angle;
    return angle >= 180 ? angle - 180 : angle;
}

static void note_slant(finder *f, const pv_piece *piece)
{
    pv_note_item *note = note_of(f, PV_NOTE_ANGLE, slant(pv_piece_heading(piece, 0)));
    if (note == NULL)
        return;
    note->count++;
    note->longest = fmax(note->longest, pv_piece_length(piece));
    for (size_t i = 0; i < N_AIMS; i++)
        aim(f, note, pv_piece_point(piece, pv_piece_length(piece) * aims[i]), pv_v(0, 0));
}

/* ---- lines ---- */

static bool upright(const pv_piece *p)
{
    return !p->arc && fabs(pv_piece_heading(p, 0).x) < STRAIGHT;
}

static bool level(const pv_piece *p)
{
    return !p->arc && fabs(pv_piece_heading(p, 0).y) < STRAIGHT;
}

static bool tangent(const pv_piece *a, const pv_piece *b)
{
    pv_vec u = pv_piece_heading(a, pv_piece_length(a)), v = pv_piece_heading(b, 0);
    return fabs(pv_cross_z(u, v)) < STRAIGHT && pv_dot(u, v) > 0;
}

/* An arc's centre, along the axes where no straight line that it continues gives it. */
static void find_arc(finder *f, const pv_line *line, size_t i)
{
    const pv_piece *arc = &line->pieces[i];
    size_t n = line->n_pieces;
    bool along_x = true, along_y = true;
    for (int side = 0; side < 2; side++) {
        bool end = side == 0 ? i == 0 : i + 1 == n;
        if ((end && !line->closed) || n < 2)
            continue;
        const pv_piece *other = &line->pieces[side == 0 ? (i + n - 1) % n : (i + 1) % n];
        if (!(side == 0 ? tangent(other, arc) : tangent(arc, other)))
            continue;
        along_x = along_x && !upright(other);
        along_y = along_y && !level(other);
    }
    add_point(f, arc->centre, along_x, along_y);
    note_arc(f, arc);
}

/* Where two straight pieces meet, or a line is at its end, and at least one slants. */
static void find_corner(finder *f, pv_vec at, const pv_piece *before, const pv_piece *after)
{
    bool has_x = (before != NULL && upright(before)) || (after != NULL && upright(after));
    bool has_y = (before != NULL && level(before)) || (after != NULL && level(after));
    add_point(f, at, !has_x, !has_y);
}

static void find_line(finder *f, const pv_line *line)
{
    size_t n = line->n_pieces;
    note_width(f, line);
    for (size_t i = 0; i < n && !f->failed; i++) {
        const pv_piece *p = &line->pieces[i];
        if (p->arc)
            find_arc(f, line, i);
        else if (upright(p))
            add_position(f, 0, p->a.x, p->a.y, p->b.y);
        else if (level(p))
            add_position(f, 1, p->a.y, p->a.x, p->b.x);
        else
            note_slant(f, p);
        const pv_piece *next = i + 1 < n ? p + 1 : line->closed ? &line->pieces[0] : NULL;
        if (next != NULL && !p->arc && !next->arc)
            find_corner(f, p->b, p, next);
    }
    const pv_piece *first = &line->pieces[0], *last = &line->pieces[n - 1];
    if (!line->closed && !first->arc)
        find_corner(f, first->a, NULL, first);
    if (!line->closed && !last->arc)
        find_corner(f, last->b, last, NULL);
    if (!line->closed && last->arc)
        add_point(f, last->b, true, true);
    if (!line->closed && first->arc)
        add_point(f, first->a, true, true);
}

/* ---- start and finish ---- */

static void find_start(finder *f)
{
    const pv_start *start = &f->course->start;
    if (!start->given)
        return;
    add_point(f, start->at, true, true);
    pv_note_item *note = note_of(f, PV_NOTE_START, start->size);
    if (note != NULL) {
        note->count = 1;
        /* Off the middle, where the lines of its position cross. */
        for (int side = -1; side <= 1; side += 2) {
            pv_vec back = pv_polar(-0.15 * start->size, start->heading);
            aim(f, note, pv_along(pv_add(start->at, back), pv_left(back), side), pv_v(0, 0));
        }
    }
}

static void find_finish(finder *f)
{
    const pv_finish *finish = &f->course->finish;
    if (!finish->given)
        return;
    pv_note_item *note = note_of(f, PV_NOTE_FINISH, 0);
    if (note == NULL)
        return;
    note->count = 1;
    pv_box box = pv_area_box(&finish->outline);
    aim(f, note, finish->at, pv_v(0, 0));
    for (int i = 1; i < 4; i++)
        for (int k = 1; k < 4; k++) {
            pv_vec p = pv_v(box.lo.x + (box.hi.x - box.lo.x) * i / 4,
                            box.lo.y + (box.hi.y - box.lo.y) * k / 4);
            if (pv_area_covers(&finish->outline, p))
                aim(f, note, p, pv_v(0, 0));
        }
}

bool pv_features_find(const pv_course *course, pv_features *out)
{
    *out = (pv_features){0};
    finder f = {course, out, false};
    find_start(&f);
    find_finish(&f);
    for (size_t i = 0; i < course->art.n_lines && !f.failed; i++)
        find_line(&f, &course->art.lines[i]);
    for (int axis = 0; axis < 2; axis++)
        merge_positions(out, axis);
    return !f.failed;
}

void pv_features_drop(pv_features *features)
{
    free(features->positions[0]);
    free(features->positions[1]);
    free(features->notes);
    *features = (pv_features){0};
}

size_t pv_line_widths(const pv_course *course, double widths[PV_WIDTHS_SHOWN], bool *more)
{
    size_t n = 0;
    *more = false;
    for (size_t i = 0; i < course->art.n_lines && !*more; i++) {
        double width = course->art.lines[i].width;
        size_t k = 0;
        while (k < n && fabs(widths[k] - width) >= PV_SAME)
            k++;
        if (k < n)
            continue;
        *more = n == PV_WIDTHS_SHOWN;
        if (!*more)
            widths[n++] = width;
    }
    return n;
}
