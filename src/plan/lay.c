#include "plan/lay.h"

#include "base/memory.h"
#include "paper/paper.h"
#include "paper/roll.h"
#include "plan/division.h"
#include "plan/roll.h"
#include "json/json.h"

#include <string.h>

static pv_laying lay(const pv_plan *plan, double width, double height)
{
    pv_laying l = {.page = {width, height}};
    width -= plan->margin[PV_LEFT] + plan->margin[PV_RIGHT];
    height -= plan->margin[PV_BOTTOM] + plan->margin[PV_TOP];
    l.n[0] = pv_laying_cells(plan, plan->art.size.x, width, &l.most[0]);
    l.n[1] = pv_laying_cells(plan, plan->art.size.y, height, &l.most[1]);
    l.seams = (l.n[0] - 1) * plan->art.size.y + (l.n[1] - 1) * plan->art.size.x;
    return l;
}

static bool has_room(const pv_laying *l)
{
    return l->most[0] >= PV_CELL_MIN && l->most[1] >= PV_CELL_MIN;
}

static double sheets_of(const pv_laying *l)
{
    return l->n[0] * l->n[1];
}

static void say_too_small(const pv_plan *plan, const pv_laying *l, pv_diags *diags)
{
    char w[PV_JSON_NUMBER], h[PV_JSON_NUMBER];
    pv_json_format(round(fmax(l->most[0], 0) * 10) / 10, w);
    pv_json_format(round(fmax(l->most[1], 0) * 10) / 10, h);
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "use larger paper, smaller margins or a smaller overlap",
                 "margins and overlap leave only %s x %s mm of a sheet of %s for the course; "
                 "at least %d mm each way are needed",
                 w, h, plan->paper, (int)PV_CELL_MIN);
}

static size_t lay_on_sheets(pv_plan *plan, const pv_layout_options *options, pv_laying layings[2],
                            pv_diags *diags)
{
    double width = 0, height = 0;
    if (!pv_paper_find(options->paper, &plan->paper, &width, &height, diags))
        return 0;
    pv_orientation asked = options->orientation;
    pv_laying portrait = lay(plan, width, height), landscape = lay(plan, height, width);
    bool upright = has_room(&portrait), lying = has_room(&landscape);
    size_t n = 1;
    layings[0] = portrait;
    if (asked == PV_LANDSCAPE ||
        (asked == PV_FEWEST && lying && (!upright || sheets_of(&landscape) < sheets_of(&portrait))))
        layings[0] = landscape;
    else if (asked == PV_FEWEST && upright && lying && width != height &&
             sheets_of(&landscape) == sheets_of(&portrait))
        layings[n++] = landscape;
    if (!has_room(&layings[0])) {
        say_too_small(plan, &layings[0], diags);
        return 0;
    }
    return n;
}

static size_t lay_on_roll(pv_plan *plan, const pv_layout_options *options, pv_laying *l,
                          pv_diags *diags)
{
    char name[PV_ROLL_NAME];
    pv_roll_name(options->roll, name);
    plan->paper = pv_copy_text(name);
    if (plan->paper == NULL) {
        pv_fail_memory(diags);
        return 0;
    }
    if (!pv_roll_lay(plan, options, l, diags))
        return 0;
    memcpy(plan->margin, l->margin, sizeof plan->margin);
    return 1;
}

size_t pv_plan_lay(pv_plan *plan, const pv_layout_options *options, pv_laying layings[2],
                   pv_diags *diags)
{
    size_t n = options->roll != 0 ? lay_on_roll(plan, options, &layings[0], diags)
                                  : lay_on_sheets(plan, options, layings, diags);
    if (n == 0 || sheets_of(&layings[0]) <= PV_PLAN_SHEETS_MAX)
        return n;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL,
                 "use larger paper, which needs fewer sheets",
                 "the course needs %.0f sheets of %s, but a plan can have at most %u",
                 sheets_of(&layings[0]), plan->paper, PV_PLAN_SHEETS_MAX);
    return 0;
}
