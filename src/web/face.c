#include "face.h"

#include <pavior/pavior.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PLANS_MAX 100
#define ITEMS_MAX 2000

struct face {
    pv_plan *plans[PLANS_MAX];
    pv_summary *shown[PLANS_MAX]; /* theirs */
    size_t n_plans;
    pv_inspection *items[ITEMS_MAX];
    size_t n_items;
    pv_inspect_options how;
    pv_ruler_reading readings[PV_READINGS_MAX];
    pv_diags *diags;
};

face *face_open(const char *language)
{
    face *f = calloc(1, sizeof *f);
    pv_diags *diags = pv_diags_new();
    if (f == NULL || diags == NULL) {
        free(f);
        pv_diags_free(diags);
        return NULL;
    }
    f->diags = diags;
    f->how = pv_inspect_defaults();
    f->how.language = pv_language_find(language);
    f->how.readings = f->readings;
    f->how.for_sender = f->how.by_page = true; /* the page asks for readings in its own words */
    return f;
}

void face_close(face *f)
{
    if (f == NULL)
        return;
    face_clear(f);
    for (size_t i = 0; i < f->n_plans; i++) {
        pv_summary_free(f->shown[i]);
        pv_plan_free(f->plans[i]);
    }
    pv_diags_free(f->diags);
    free(f);
}

/* Each call that can fail begins with an empty list. False where there is no memory even for that;
 * the former list then stays. */
static bool begin(face *f)
{
    pv_diags *fresh = pv_diags_new();
    if (fresh == NULL)
        return false;
    pv_diags_free(f->diags);
    f->diags = fresh;
    return true;
}

const char *face_said(const face *f)
{
    const char *said = NULL;
    for (size_t i = 0; i < pv_diags_size(f->diags); i++)
        if (pv_diags_at(f->diags, i)->severity == PV_ERROR)
            said = pv_diags_at(f->diags, i)->message;
    return said;
}

bool face_plan(face *f, const char *text, size_t size, const char *name)
{
    if (!begin(f))
        return false;
    if (f->n_plans == PLANS_MAX) {
        pv_diags_say(f->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "there are more than %d plans",
                     PLANS_MAX);
        return false;
    }
    pv_plan *plan = pv_plan_parse(text, size, name, f->diags);
    pv_summary *shown = plan != NULL ? pv_summary_brief(plan, f->diags) : NULL;
    if (shown == NULL) {
        pv_plan_free(plan);
        return false;
    }
    f->shown[f->n_plans] = shown;
    f->plans[f->n_plans++] = plan;
    return true;
}

static const pv_plan_info *whole(const face *f, size_t plan)
{
    return plan < f->n_plans ? pv_summary_plan(f->shown[plan]) : NULL;
}

const char *face_plan_paper(const face *f, size_t plan)
{
    return whole(f, plan) != NULL ? whole(f, plan)->paper : NULL;
}

const char *face_plan_kit(const face *f, size_t plan)
{
    return whole(f, plan) != NULL ? whole(f, plan)->kit : NULL;
}

const char *face_plan_sheet(const face *f, size_t plan, size_t index)
{
    bool mat = whole(f, plan) != NULL && !whole(f, plan)->proof;
    const pv_sheet_info *sheet = mat ? pv_summary_sheet(f->shown[plan], index) : NULL;
    return sheet != NULL ? sheet->name : NULL;
}

/* ---- by what it is measured ---- */

void face_scanner(face *f, int kind)
{
    bool known = kind >= 0 && kind < PV_SCANNER_KINDS;
    f->how.scanner_kind = known ? (pv_scanner_kind)kind : PV_SCANNER_UNKNOWN;
}

static bool is_mark(int c)
{
    return c >= 'P' && c <= 'S';
}

bool face_reading(face *f, int from, int to, double mm)
{
    if (!is_mark(from) || !is_mark(to) || from == to || !(mm > 0 && isfinite(mm)) ||
        f->how.n_readings == PV_READINGS_MAX)
        return false;
    f->readings[f->how.n_readings++] =
        (pv_ruler_reading){.from = (char)from, .to = (char)to, .measured = mm};
    return true;
}

/* ---- inspecting ---- */

/* Back to so many. */
static void forget(face *f, size_t n)
{
    while (f->n_items > n)
        pv_inspection_free(f->items[--f->n_items]);
}

void face_clear(face *f)
{
    forget(f, 0);
}

static bool keep(face *f, pv_inspection *one)
{
    if (one != NULL && f->n_items < ITEMS_MAX) {
        f->items[f->n_items++] = one;
        return true;
    }
    if (one != NULL)
        pv_diags_say(f->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "there are more than %d pictures",
                     ITEMS_MAX);
    pv_inspection_free(one);
    return false;
}

size_t face_inspect(face *f, const unsigned char *bytes, size_t size, const char *name,
                    size_t files)
{
    pv_inspect_options how = f->how;
    size_t pages = pv_image_pages(bytes, size), before = f->n_items;
    double pictures = (double)(files > 0 ? files - 1 : 0) + (double)pages;
    how.picture_px_per_mm = fmin(PV_PICTURE_PX_PER_MM, sqrt(PV_PICTURES_PX_PER_MM2 / pictures));
    f->how.n_readings = 0;
    if (!begin(f))
        return 0;
    if (pages > 1 && how.n_readings > 0)
        return keep(f, pv_inspection_several(name, how.language)) ? 1 : 0;
    for (how.page = 0; how.page < pages; how.page++)
        if (!keep(f, pv_inspect((const pv_plan *const *)f->plans, f->n_plans, bytes, size, name,
                                &how, f->diags))) {
            forget(f, before);
            return 0;
        }
    return f->n_items - before;
}

/* ---- what came out ---- */

size_t face_count(const face *f)
{
    return f->n_items;
}

static const pv_inspected *at(const face *f, size_t i)
{
    return i < f->n_items ? pv_inspection_sheet(f->items[i]) : NULL;
}

int face_verdict(const face *f, size_t i)
{
    const pv_inspected *sheet = at(f, i);
    return sheet == NULL || sheet->error != NULL ? -1 : (int)sheet->verdict;
}

const char *face_label(const face *f, size_t i)
{
    const pv_inspected *sheet = at(f, i);
    return sheet != NULL ? sheet->label : NULL;
}

const char *face_sheet(const face *f, size_t i)
{
    const pv_inspected *sheet = at(f, i);
    return sheet != NULL && sheet->error == NULL && !sheet->proof ? sheet->sheet : NULL;
}

size_t face_of(const face *f, size_t i)
{
    return at(f, i) != NULL ? at(f, i)->plan : 0;
}

bool face_asks_finer(const face *f, size_t i)
{
    return at(f, i) != NULL && at(f, i)->asks_finer;
}

const char *face_answer(const face *f, size_t i)
{
    const pv_inspected *sheet = at(f, i);
    return sheet != NULL ? sheet->answer : NULL;
}

const char *face_advice(const face *f, size_t i)
{
    const pv_inspected *sheet = at(f, i);
    return sheet != NULL ? sheet->advice : NULL;
}

char *face_code(const face *f, size_t i)
{
    pv_code code = {""};
    if (at(f, i) != NULL)
        code = pv_inspection_code(f->items[i]);
    char *text = malloc(sizeof code.chars);
    if (text != NULL)
        memcpy(text, code.chars, sizeof code.chars);
    return text;
}

char *face_steps(const face *f, size_t i)
{
    size_t n = at(f, i) != NULL ? pv_inspection_steps(f->items[i]) : 0, length = 0;
    char *text = malloc(3 * n + 1);
    for (size_t k = 0; text != NULL && k < n; k++) {
        const pv_distance *step = pv_inspection_step(f->items[i], k);
        text[length++] = step->from;
        text[length++] = step->to;
        text[length++] = ' ';
    }
    if (text != NULL)
        text[length] = '\0';
    return text;
}

static const pv_inspection *const *listed(const face *f)
{
    return (const pv_inspection *const *)f->items;
}

char *face_html(face *f)
{
    return begin(f) ? pv_inspections_html((const pv_plan *const *)f->plans, f->n_plans, listed(f),
                                          f->n_items, f->diags)
                    : NULL;
}

char *face_json(const face *f)
{
    return pv_inspections_json(listed(f), f->n_items, false);
}
