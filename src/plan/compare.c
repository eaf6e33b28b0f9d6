/* Which sheets of a plan must be printed again where an older plan's lie. */
#include "base/memory.h"
#include "base/text.h"
#include "plan/changes.h"
#include "plan/difference.h"

#include <stdlib.h>
#include <string.h>

/* Parts are joined by squares of the mat. */
#define SQUARE      5.0     /* mm, or more: */
#define SQUARES_MAX 1000000 /* of a mat */

struct pv_comparison {
    const pv_plan *plan[2];
    pv_again_info *sheets;
    size_t n_again;
    char *range;
    const char **gone;
    size_t n_gone;
    pv_change_found *changes;
    size_t n_changes;
    char **told; /* the same in few sentences */
    size_t n_told;
    pv_changed_part *parts;
    size_t n_parts, cap_parts;
};

/* ---- parts ---- */

/* The box of the places in each square that differ; lo > hi where none does. */
typedef struct squares {
    size_t nx, ny;
    double side;
    pv_box *box;
} squares;

static bool open_squares(squares *s, pv_vec size)
{
    s->side = fmax(SQUARE, sqrt(size.x * size.y / SQUARES_MAX));
    s->nx = 1 + (size_t)(size.x / s->side);
    s->ny = 1 + (size_t)(size.y / s->side);
    s->box = PV_NEW_ARRAY(s->nx * s->ny, pv_box);
    for (size_t i = 0; s->box != NULL && i < s->nx * s->ny; i++)
        s->box[i] = pv_box_none();
    return s->box != NULL;
}

static bool note(void *context, pv_vec at)
{
    squares *s = context;
    size_t x = (size_t)fmax(0, at.x / s->side), y = (size_t)fmax(0, at.y / s->side);
    if (x < s->nx && y < s->ny)
        s->box[y * s->nx + x] = pv_box_add(s->box[y * s->nx + x], at);
    return true;
}

static bool is_noted(const squares *s, size_t i)
{
    return s->box[i].lo.x <= s->box[i].hi.x;
}

/* The box of all that hangs together from one square on, which is emptied. */
static pv_box gather(squares *s, size_t *list, size_t start)
{
    pv_box all = pv_box_none();
    size_t n = 0;
    list[n++] = start;
    all = pv_box_add(pv_box_add(all, s->box[start].lo), s->box[start].hi);
    s->box[start] = pv_box_none();
    for (size_t i = 0; i < n; i++) {
        size_t x = list[i] % s->nx, y = list[i] / s->nx; /* NOLINT: nx > 0 */
        for (size_t v = y > 0 ? y - 1 : 0; v <= y + 1 && v < s->ny; v++)
            for (size_t u = x > 0 ? x - 1 : 0; u <= x + 1 && u < s->nx; u++) {
                size_t k = v * s->nx + u;
                if (!is_noted(s, k))
                    continue;
                all = pv_box_add(pv_box_add(all, s->box[k].lo), s->box[k].hi);
                s->box[k] = pv_box_none();
                list[n++] = k;
            }
    }
    return all;
}

/* From the top, and in a row from the left. */
static bool join(pv_comparison *c, squares *s)
{
    size_t *list = PV_NEW_ARRAY(s->nx * s->ny, size_t);
    bool good = list != NULL;
    for (size_t i = 0; good && i < s->nx * s->ny && c->n_parts < PV_CHANGED_PARTS_MAX; i++) {
        size_t k = (s->ny - 1 - i / s->nx) * s->nx + i % s->nx; /* NOLINT: nx > 0 */
        if (!is_noted(s, k))
            continue;
        pv_box box = gather(s, list, k);
        good = PV_GROW(c->parts, c->n_parts, c->cap_parts);
        if (good)
            c->parts[c->n_parts++] = (pv_changed_part){{box.lo.x, box.lo.y, box.hi.x, box.hi.y}};
    }
    free(list);
    return good;
}

/* ---- sheets ---- */

static bool same_identity(const pv_sheet *a, const pv_sheet *b)
{
    for (int p = 0; p < PV_TAG_PLACES; p++)
        if (a->tag[p].id != b->tag[p].id)
            return false;
    return true;
}

typedef struct tally {
    squares *squares;
    bool alike;
} tally;

static bool differ(void *context, pv_vec at)
{
    tally *t = context;
    t->alike = false;
    return note(t->squares, at);
}

static bool decide(pv_comparison *c, pv_difference *seen, squares *s, size_t i)
{
    const pv_plan *older = c->plan[0], *plan = c->plan[1];
    const pv_sheet *sheet = &plan->sheets[i];
    pv_again_info *out = &c->sheets[i];
    size_t was = pv_difference_sheet(older, sheet->cell);
    *out = (pv_again_info){.name = sheet->name, .again = PV_AGAIN_NEW};
    tally t = {s, true};
    if (!pv_difference_visit(seen, sheet->cell, differ, &t))
        return false;
    if (was == SIZE_MAX)
        return true;
    const pv_sheet *before = &older->sheets[was];
    out->was = before->name;
    out->same_identity = same_identity(before, sheet);
    bool same_edges = older->joint == plan->joint && older->border == plan->border &&
                      memcmp(before->side, sheet->side, sizeof sheet->side) == 0;
    out->again = !t.alike || !pv_difference_same_crosses(seen, before, sheet) ? PV_AGAIN_SURFACE
                 : same_edges                                                 ? PV_AGAIN_NOT
                                                                              : PV_AGAIN_EDGES;
    return true;
}

static bool list_again(pv_comparison *c)
{
    pv_text text = PV_TEXT_INIT;
    for (size_t i = 0; i < c->plan[1]->n_sheets; i++)
        if (c->sheets[i].again != PV_AGAIN_NOT)
            pv_text_add(&text, "%s%s", c->n_again++ > 0 ? "," : "", c->sheets[i].name);
    if (c->n_again > 0)
        c->range = pv_text_take(&text);
    pv_text_drop(&text);
    return c->n_again == 0 || c->range != NULL;
}

static bool list_gone(pv_comparison *c)
{
    const pv_plan *older = c->plan[0];
    c->gone = PV_NEW_ARRAY(older->n_sheets, const char *);
    for (size_t i = 0; c->gone != NULL && i < older->n_sheets; i++)
        if (pv_difference_sheet(c->plan[1], older->sheets[i].cell) == SIZE_MAX)
            c->gone[c->n_gone++] = older->sheets[i].name;
    return c->gone != NULL;
}

static bool compare(pv_comparison *c, const pv_language *language)
{
    const pv_plan *plan = c->plan[1];
    squares s = {0};
    pv_difference seen;
    c->sheets = PV_NEW_ARRAY(plan->n_sheets, pv_again_info);
    bool good = pv_difference_open(&seen, c->plan[0], plan) && c->sheets != NULL &&
                open_squares(&s, plan->art.size);
    for (size_t i = 0; good && i < plan->n_sheets; i++)
        good = decide(c, &seen, &s, i);
    good = good && join(c, &s) && list_again(c) && list_gone(c) &&
           pv_changes_find(&c->plan[0]->art, &plan->art, language, &c->changes, &c->n_changes);
    if (good)
        c->told = pv_changes_told(&plan->art, language, c->changes, c->n_changes, &c->n_told);
    good = good && c->told != NULL;
    pv_difference_close(&seen);
    free(s.box);
    return good;
}

pv_comparison *pv_plan_compare(const pv_plan *older, const pv_plan *plan,
                               const pv_language *language, pv_diags *diags)
{
    if (older->proof || plan->proof) {
        pv_fail(diags, PV_CAUSE_USAGE, "a proof page has no other editions to compare it with");
        return NULL;
    }
    pv_comparison *c = PV_NEW(pv_comparison);
    if (c != NULL) {
        c->plan[0] = older;
        c->plan[1] = plan;
    }
    if (c == NULL || !compare(c, language)) {
        pv_fail_memory(diags);
        pv_comparison_free(c);
        return NULL;
    }
    return c;
}

void pv_comparison_free(pv_comparison *c)
{
    if (c == NULL)
        return;
    for (size_t i = 0; i < c->n_changes; i++)
        free((char *)c->changes[i].info.words);
    for (size_t i = 0; i < c->n_told; i++)
        free(c->told[i]);
    free((void *)c->told);
    free(c->changes);
    free(c->sheets);
    free(c->range);
    free((void *)c->gone);
    free(c->parts);
    free(c);
}

/* ---- what was found ---- */

const pv_again_info *pv_comparison_sheet(const pv_comparison *c, size_t index)
{
    return index < c->plan[1]->n_sheets ? &c->sheets[index] : NULL;
}

size_t pv_comparison_again(const pv_comparison *c)
{
    return c->n_again;
}

const char *pv_comparison_range(const pv_comparison *c)
{
    return c->range;
}

const char *pv_comparison_gone(const pv_comparison *c, size_t index)
{
    return index < c->n_gone ? c->gone[index] : NULL;
}

const pv_change_info *pv_comparison_change(const pv_comparison *c, size_t index)
{
    return index < c->n_changes ? &c->changes[index].info : NULL;
}

const char *pv_comparison_told(const pv_comparison *c, size_t index)
{
    return index < c->n_told ? c->told[index] : NULL;
}

const pv_changed_part *pv_comparison_part(const pv_comparison *c, size_t index)
{
    return index < c->n_parts ? &c->parts[index] : NULL;
}
