#include "plan/changes.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "plan/difference.h"

#include <stdlib.h>
#include <string.h>

#define SAME 1e-6 /* mm */

#define NAMES_MOST 12 /* of things that moved alike */

/* One of an art's things, as they are told of. */
typedef struct item {
    pv_thing_kind sort;
    const char *name;
    pv_box box;
    size_t index;
} item;

typedef struct finder {
    const pv_art *art[2]; /* the older one first */
    const pv_language *language;
    pv_change_found **list;
    size_t *n, cap;
    bool failed;
} finder;

static const char *const is_new[PV_THING_KINDS] = {
    PV_SAID("Line %s is new."), PV_SAID("The area %s is new."), PV_SAID("Mark %s is new."),
    PV_SAID("The text \"%s\" is new.")};
static const char *const is_gone[PV_THING_KINDS] = {
    PV_SAID("Line %s is gone."), PV_SAID("The area %s is gone."), PV_SAID("Mark %s is gone."),
    PV_SAID("The text \"%s\" is gone.")};
static const char *const has_moved[PV_THING_KINDS] = {
    PV_SAID("Line %s has moved by %s."), PV_SAID("The area %s has moved by %s."),
    PV_SAID("Mark %s has moved by %s."), PV_SAID("The text \"%s\" has moved by %s.")};
static const char *const has_colour[PV_THING_KINDS] = {
    PV_SAID("Line %s is %s; it was %s."), PV_SAID("The area %s is %s; it was %s."),
    PV_SAID("Mark %s is %s; it was %s."), PV_SAID("The text \"%s\" is %s; it was %s.")};
static const char *const has_size[PV_THING_KINDS] = {
    [PV_THING_LINE] = PV_SAID("Line %s is %s wide; it was %s."),
    [PV_THING_TEXT] = PV_SAID("The text \"%s\" is %s high; it was %s.")};
static const char *const has_shape[PV_THING_KINDS] = {
    PV_SAID("Line %s runs another way."), PV_SAID("The area %s has another shape."),
    PV_SAID("Mark %s has another shape."), PV_SAID("The text \"%s\" is set another way.")};
static const char *const has_order[PV_THING_KINDS] = {
    PV_SAID("Line %s is painted earlier or later."),
    PV_SAID("The area %s is painted earlier or later."),
    PV_SAID("Mark %s is painted earlier or later."),
    PV_SAID("The text \"%s\" is painted earlier or later.")};

/* Takes the text. */
static void add(finder *f, pv_change change, pv_box box, pv_text *text)
{
    char *words = pv_text_take(text);
    if (words == NULL || !PV_GROW(*f->list, *f->n, f->cap)) {
        free(words);
        f->failed = true;
        return;
    }
    (*f->list)[(*f->n)++] =
        (pv_change_found){.info = {change, words, {box.lo.x, box.lo.y, box.hi.x, box.hi.y}}};
}

/* "12.5 mm", or in the course's inches. */
static void add_length(const pv_art *art, pv_text *text, double mm)
{
    bool inches = art->inches;
    pv_text_add(text, "%s %s", pv_fixed(inches ? mm / PV_MM_PER_IN : mm, inches ? 3 : 1).chars,
                inches ? "in" : "mm");
}

static pv_text length(const finder *f, double mm)
{
    pv_text text = PV_TEXT_INIT;
    add_length(f->art[1], &text, mm);
    return text;
}

/* What a thing is called in a sentence: fills have no name but their turn in the course, which
 * tells people nothing, so that they are told of by their place. */
static pv_text label(finder *f, const item *it)
{
    pv_text out = PV_TEXT_INIT;
    if (it->sort != PV_THING_FILL) {
        pv_text_add(&out, "%s", it->name);
    } else {
        pv_text x = length(f, (it->box.lo.x + it->box.hi.x) / 2);
        pv_text y = length(f, (it->box.lo.y + it->box.hi.y) / 2);
        if (x.chars != NULL && y.chars != NULL)
            pv_text_add(&out, pv_say(f->language, "around %s from the left and %s from the bottom"),
                        x.chars, y.chars);
        f->failed = f->failed || x.failed || y.failed;
        pv_text_drop(&x);
        pv_text_drop(&y);
    }
    f->failed = f->failed || out.failed || out.chars == NULL;
    return out;
}

/* Into the sentence's two places: a colour's name, with its code where the names are the same. */
static void tell_colours(finder *f, pv_text *text, const char *sentence, const char *thing,
                         const pv_colour *is, const pv_colour *was)
{
    const pv_colour *both[2] = {is, was};
    bool alike = strcmp(is->name, was->name) == 0;
    pv_text names[2] = {PV_TEXT_INIT, PV_TEXT_INIT};
    for (int i = 0; i < 2; i++) {
        pv_text_add(&names[i], "%s", both[i]->name);
        if (alike)
            pv_text_add(&names[i], " (%d, %d, %d)", both[i]->rgb[0], both[i]->rgb[1],
                        both[i]->rgb[2]);
        f->failed = f->failed || names[i].failed;
    }
    if (names[0].chars != NULL && names[1].chars != NULL) {
        if (thing != NULL)
            pv_text_add(text, sentence, thing, names[0].chars, names[1].chars);
        else
            pv_text_add(text, sentence, names[0].chars, names[1].chars);
    }
    pv_text_drop(&names[0]);
    pv_text_drop(&names[1]);
}

/* ---- things ---- */

static size_t count(const pv_art *art, pv_thing_kind sort)
{
    const size_t n[PV_THING_KINDS] = {art->n_lines, art->n_fills, art->n_marks, art->n_letterings};
    return n[sort];
}

static item item_at(const pv_art *art, pv_thing_kind sort, size_t i)
{
    if (sort == PV_THING_LINE)
        return (item){sort, art->lines[i].id, pv_line_box(&art->lines[i]), i};
    if (sort == PV_THING_TEXT)
        return (item){sort, art->letterings[i].text, pv_lettering_box(&art->letterings[i]), i};
    const pv_area *area = sort == PV_THING_FILL ? &art->fills[i] : &art->marks[i];
    return (item){sort, area->id != NULL ? area->id : "", pv_area_box(area), i};
}

static bool same(const finder *f, const item *a, const item *b)
{
    const pv_art *p = f->art[0], *q = f->art[1];
    if (a->sort == PV_THING_LINE)
        return pv_difference_same_line(p, &p->lines[a->index], q, &q->lines[b->index]);
    if (a->sort == PV_THING_TEXT)
        return pv_difference_same_lettering(p, &p->letterings[a->index], q,
                                            &q->letterings[b->index]);
    return a->sort == PV_THING_FILL
               ? pv_difference_same_area(p, &p->fills[a->index], q, &q->fills[b->index])
               : pv_difference_same_area(p, &p->marks[a->index], q, &q->marks[b->index]);
}

static size_t colour_of(const pv_art *art, const item *it)
{
    return it->sort == PV_THING_LINE   ? art->lines[it->index].colour
           : it->sort == PV_THING_FILL ? art->fills[it->index].colour
           : it->sort == PV_THING_MARK ? art->marks[it->index].colour
                                       : art->letterings[it->index].colour;
}

static double size_of(const pv_art *art, const item *it)
{
    return it->sort == PV_THING_LINE   ? art->lines[it->index].width
           : it->sort == PV_THING_TEXT ? art->letterings[it->index].height
                                       : 0;
}

/* By how much all points of it moved alike; false where they did not. */
static bool moved_area(const pv_area *a, const pv_area *b, pv_vec *by)
{
    bool alike = a->n_rings == b->n_rings && a->n_rings > 0 && a->rings[0].n > 0;
    for (size_t r = 0; alike && r < a->n_rings; r++) {
        alike = a->rings[r].n == b->rings[r].n;
        for (size_t i = 0; alike && i < a->rings[r].n; i++) {
            pv_vec step = pv_sub(b->rings[r].points[i], a->rings[r].points[i]);
            if (r == 0 && i == 0)
                *by = step;
            alike = pv_dist(step, *by) <= SAME;
        }
    }
    return alike;
}

static bool moved_line(const pv_line *a, const pv_line *b, pv_vec *by)
{
    bool alike = a->n_pieces == b->n_pieces && a->closed == b->closed && a->ends == b->ends;
    *by = alike && a->n_pieces > 0 ? pv_sub(b->pieces[0].a, a->pieces[0].a) : pv_v(0, 0);
    for (size_t i = 0; alike && i < a->n_pieces; i++) {
        const pv_piece *p = &a->pieces[i], *q = &b->pieces[i];
        alike = p->arc == q->arc && pv_dist(pv_sub(q->a, p->a), *by) <= SAME &&
                pv_dist(pv_sub(q->b, p->b), *by) <= SAME &&
                (!p->arc || (pv_dist(pv_sub(q->centre, p->centre), *by) <= SAME &&
                             (p->sweep > 0) == (q->sweep > 0)));
    }
    return alike;
}

static bool moved(const finder *f, const item *a, const item *b, pv_vec *by)
{
    const pv_art *p = f->art[0], *q = f->art[1];
    if (a->sort == PV_THING_LINE)
        return moved_line(&p->lines[a->index], &q->lines[b->index], by);
    if (a->sort == PV_THING_FILL)
        return moved_area(&p->fills[a->index], &q->fills[b->index], by);
    if (a->sort == PV_THING_MARK)
        return moved_area(&p->marks[a->index], &q->marks[b->index], by);
    const pv_lettering *u = &p->letterings[a->index], *v = &q->letterings[b->index];
    *by = pv_sub(v->at, u->at);
    return u->anchor == v->anchor && fabs(u->angle - v->angle) <= 1e-9;
}

/* "12 mm to the right and 3 mm down" */
static void add_way(pv_text *out, const pv_art *art, const pv_language *language, pv_vec by)
{
    const double steps[2] = {by.x, by.y};
    static const char *const words[2][2] = {{PV_SAID("%s to the left"), PV_SAID("%s to the right")},
                                            {PV_SAID("%s down"), PV_SAID("%s up")}};
    for (int i = 0; i < 2; i++) {
        if (fabs(steps[i]) <= SAME)
            continue;
        pv_text far = PV_TEXT_INIT;
        add_length(art, &far, fabs(steps[i]));
        pv_text_add(out, "%s", out->length > 0 ? pv_say(language, " and ") : "");
        pv_text_add(out, pv_say(language, words[i][steps[i] > 0]),
                    far.chars != NULL ? far.chars : "");
        out->failed = out->failed || far.failed;
        pv_text_drop(&far);
    }
}

/* The one change of the thing, if it is that. */
static void tell_moved(finder *f, const item *b, const char *name, pv_vec by, size_t before)
{
    pv_text text = PV_TEXT_INIT, so = PV_TEXT_INIT;
    add_way(&so, f->art[1], f->language, by);
    pv_text_add(&text, pv_say(f->language, has_moved[b->sort]), name,
                so.chars != NULL ? so.chars : "");
    f->failed = f->failed || so.failed;
    pv_text_drop(&so);
    add(f, PV_CHANGE_OTHER, b->box, &text);
    if (f->failed)
        return;
    pv_change_found *found = &(*f->list)[*f->n - 1];
    found->moved = *f->n == before + 1;
    found->kind = b->sort;
    found->name = b->name;
    found->by = by;
}

/* One sentence for each thing about it that changed. */
static void tell(finder *f, const item *a, const item *b)
{
    const pv_language *l = f->language;
    pv_text text = PV_TEXT_INIT, called = label(f, b);
    const char *name = called.chars != NULL ? called.chars : "";
    pv_vec by = {0, 0};
    size_t before = *f->n;
    size_t c = colour_of(f->art[0], a), d = colour_of(f->art[1], b);
    if (!pv_difference_same_colour(f->art[0], c, f->art[1], d)) {
        tell_colours(f, &text, pv_say(l, has_colour[a->sort]), name, &f->art[1]->colours[d],
                     &f->art[0]->colours[c]);
        add(f, PV_CHANGE_OTHER, b->box, &text);
    }
    double s = size_of(f->art[0], a), t = size_of(f->art[1], b);
    if (fabs(s - t) > SAME) {
        pv_text is = length(f, t), was = length(f, s);
        if (is.chars != NULL && was.chars != NULL)
            pv_text_add(&text, pv_say(l, has_size[a->sort]), name, is.chars, was.chars);
        f->failed = f->failed || is.failed || was.failed;
        pv_text_drop(&is);
        pv_text_drop(&was);
        add(f, PV_CHANGE_OTHER, b->box, &text);
    }
    if (!moved(f, a, b, &by)) {
        pv_text_add(&text, pv_say(l, has_shape[a->sort]), name);
        add(f, PV_CHANGE_OTHER, b->box, &text);
    } else if (pv_len(by) > SAME) {
        tell_moved(f, b, name, by, before);
    }
    if (*f->n == before && !f->failed) { /* in an arc's radius, say */
        pv_text_add(&text, pv_say(l, has_shape[a->sort]), name);
        add(f, PV_CHANGE_OTHER, b->box, &text);
    }
    pv_text_drop(&called);
}

/* ---- pairs ---- */

static int by_name(const void *x, const void *y)
{
    const item *a = x, *b = y;
    int order = strcmp(a->name, b->name);
    return order != 0 ? order : (a->index > b->index) - (a->index < b->index);
}

static item *sorted(const pv_art *art, pv_thing_kind sort, size_t n)
{
    item *items = PV_NEW_ARRAY(n, item);
    for (size_t i = 0; items != NULL && i < n; i++)
        items[i] = item_at(art, sort, i);
    if (items != NULL && n > 1)
        qsort(items, n, sizeof *items, by_name);
    return items;
}

static void tell_simply(finder *f, const char *sentence, pv_change change, const item *it)
{
    pv_text text = PV_TEXT_INIT, called = label(f, it);
    if (called.chars != NULL)
        pv_text_add(&text, pv_say(f->language, sentence), called.chars);
    pv_text_drop(&called);
    add(f, change, it->box, &text);
}

static void tell_alone(finder *f, pv_change change, const item *it)
{
    const char *const *words = change == PV_CHANGE_NEW ? is_new : is_gone;
    tell_simply(f, words[it->sort], change, it);
}

/* Of one name the first goes with the first. Where all of them are the same, their order may still
 * differ: those that are painted in another place among their neighbours. */
static void pair(finder *f, pv_thing_kind sort)
{
    size_t n = count(f->art[0], sort), m = count(f->art[1], sort), i = 0, k = 0;
    item *a = sorted(f->art[0], sort, n), *b = sorted(f->art[1], sort, m);
    f->failed = f->failed || a == NULL || b == NULL;
    while (!f->failed && (i < n || k < m)) {
        int order = i == n ? 1 : k == m ? -1 : strcmp(a[i].name, b[k].name);
        if (order < 0) {
            tell_alone(f, PV_CHANGE_GONE, &a[i++]);
        } else if (order > 0) {
            tell_alone(f, PV_CHANGE_NEW, &b[k++]);
        } else {
            if (!same(f, &a[i], &b[k]))
                tell(f, &a[i], &b[k]);
            i++, k++;
        }
    }
    free(a);
    free(b);
}

/* Where both have the same things, those that come in another turn. */
static void tell_order(finder *f, pv_thing_kind sort)
{
    size_t n = count(f->art[0], sort);
    bool same_set = n == count(f->art[1], sort);
    item *a = same_set ? sorted(f->art[0], sort, n) : NULL;
    item *b = same_set ? sorted(f->art[1], sort, n) : NULL;
    f->failed = f->failed || (same_set && (a == NULL || b == NULL));
    for (size_t i = 0; a != NULL && b != NULL && i < n && same_set; i++)
        same_set = strcmp(a[i].name, b[i].name) == 0;
    for (size_t i = 0; a != NULL && b != NULL && i < n && same_set; i++) {
        if (a[i].index == b[i].index)
            continue;
        tell_simply(f, has_order[sort], PV_CHANGE_OTHER, &b[i]);
    }
    free(a);
    free(b);
}

static void tell_mat(finder *f)
{
    const pv_art *p = f->art[0], *q = f->art[1];
    pv_box mat = {{0, 0}, q->size};
    pv_text text = PV_TEXT_INIT;
    if (pv_dist(p->size, q->size) > SAME) {
        pv_text is[2] = {length(f, q->size.x), length(f, q->size.y)};
        pv_text was[2] = {length(f, p->size.x), length(f, p->size.y)};
        if (is[0].chars != NULL && is[1].chars != NULL && was[0].chars != NULL &&
            was[1].chars != NULL)
            pv_text_add(&text, pv_say(f->language, "The mat is %s by %s; it was %s by %s."),
                        is[0].chars, is[1].chars, was[0].chars, was[1].chars);
        for (int i = 0; i < 2; i++) {
            f->failed = f->failed || is[i].failed || was[i].failed;
            pv_text_drop(&is[i]);
            pv_text_drop(&was[i]);
        }
        add(f, PV_CHANGE_OTHER, mat, &text);
    }
    if (!pv_difference_same_colour(p, p->ground, q, q->ground)) {
        tell_colours(f, &text, pv_say(f->language, "The ground is %s; it was %s."), NULL,
                     &q->colours[q->ground], &p->colours[p->ground]);
        add(f, PV_CHANGE_OTHER, mat, &text);
    }
}

bool pv_changes_find(const pv_art *older, const pv_art *art, const pv_language *language,
                     pv_change_found **list, size_t *n)
{
    finder f = {.art = {older, art}, .language = language, .list = list, .n = n, .cap = *n};
    tell_mat(&f);
    for (pv_thing_kind sort = PV_THING_LINE; sort < PV_THING_KINDS; sort++) {
        pair(&f, sort);
        tell_order(&f, sort);
    }
    return !f.failed;
}

/* ---- in few sentences ---- */

/* A change that is a move, to be sorted by that. */
typedef struct move {
    double by[2]; /* in steps of SAME */
    size_t index;
} move;

static int by_way(const void *x, const void *y)
{
    const move *a = x, *b = y;
    for (int i = 0; i < 2; i++)
        if (a->by[i] != b->by[i])
            return a->by[i] < b->by[i] ? -1 : 1;
    return (a->index > b->index) - (a->index < b->index);
}

/* Of each change the next that is the same move, or SIZE_MAX; and whether one before it is. */
static bool chain(const pv_change_found *list, size_t n, size_t *next, bool *follows)
{
    move *moves = PV_NEW_ARRAY(n, move);
    size_t m = 0;
    for (size_t i = 0; moves != NULL && i < n; i++) {
        next[i] = SIZE_MAX;
        if (list[i].moved)
            moves[m++] = (move){{round(list[i].by.x / SAME), round(list[i].by.y / SAME)}, i};
    }
    if (m > 1)
        qsort(moves, m, sizeof *moves, by_way);
    for (size_t i = 1; i < m; i++)
        if (moves[i].by[0] == moves[i - 1].by[0] && moves[i].by[1] == moves[i - 1].by[1]) {
            next[moves[i - 1].index] = moves[i].index;
            follows[moves[i].index] = true;
        }
    free(moves);
    return moves != NULL;
}

/* "8 lines, 8 areas and 8 texts" */
static void add_counts(pv_text *out, const pv_language *l, const size_t count[PV_THING_KINDS])
{
    size_t kinds = 0, at = 0;
    for (int k = 0; k < PV_THING_KINDS; k++)
        kinds += count[k] > 0;
    for (int k = 0; k < PV_THING_KINDS; k++) {
        if (count[k] == 0)
            continue;
        at++;
        pv_text_add(out, "%s", at == 1 ? "" : at < kinds ? ", " : pv_say(l, " and "));
        pv_text_add(out,
                    k == PV_THING_LINE   ? pv_say_count(l, "%zu line", "%zu lines", count[k])
                    : k == PV_THING_FILL ? pv_say_count(l, "%zu area", "%zu areas", count[k])
                    : k == PV_THING_MARK ? pv_say_count(l, "%zu mark", "%zu marks", count[k])
                                         : pv_say_count(l, "%zu text", "%zu texts", count[k]),
                    count[k]);
    }
}

/* The change at an index and those chained to it, as one sentence. */
static char *tell_group(const pv_art *art, const pv_language *l, const pv_change_found *list,
                        const size_t *next, size_t first)
{
    size_t count[PV_THING_KINDS] = {0}, named = 0;
    pv_text out = PV_TEXT_INIT, what = PV_TEXT_INIT, so = PV_TEXT_INIT, names = PV_TEXT_INIT;
    pv_text_add(&names, "%s", "");
    for (size_t i = first; i != SIZE_MAX; i = next[i]) {
        count[list[i].kind]++;
        if (list[i].kind != PV_THING_FILL && named++ < NAMES_MOST)
            pv_text_add(&names, list[i].kind == PV_THING_TEXT ? "%s\"%s\"" : "%s%s",
                        named > 1 ? ", " : ": ", list[i].name);
    }
    if (named > NAMES_MOST)
        pv_text_add(&names, pv_say(l, " and %zu more"), named - NAMES_MOST);
    add_counts(&what, l, count);
    add_way(&so, art, l, list[first].by);
    if (what.chars != NULL && so.chars != NULL && names.chars != NULL)
        pv_text_add(&out, pv_say(l, "%s have moved by %s%s."), what.chars, so.chars, names.chars);
    out.failed = out.failed || what.failed || so.failed || names.failed;
    pv_text_drop(&what);
    pv_text_drop(&so);
    pv_text_drop(&names);
    return pv_text_take(&out);
}

char **pv_changes_told(const pv_art *art, const pv_language *language, const pv_change_found *list,
                       size_t n, size_t *told)
{
    char **out = PV_NEW_ARRAY(n, char *);
    size_t *next = PV_NEW_ARRAY(n, size_t);
    bool *follows = PV_NEW_ARRAY(n, bool);
    bool good = out != NULL && next != NULL && follows != NULL && chain(list, n, next, follows);
    *told = 0;
    for (size_t i = 0; good && i < n; i++) {
        if (follows[i])
            continue;
        out[*told] = next[i] != SIZE_MAX ? tell_group(art, language, list, next, i)
                                         : pv_copy_text(list[i].info.words);
        good = out[(*told)++] != NULL;
    }
    free(next);
    free(follows);
    if (good)
        return out;
    for (size_t i = 0; out != NULL && i < *told; i++)
        free(out[i]);
    free((void *)out);
    *told = 0;
    return NULL;
}
