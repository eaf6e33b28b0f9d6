#include "plan/order.h"

#include "base/memory.h"
#include "plan/crossings.h"
#include "plan/make.h"
#include "plan/rings.h"

#include <stdlib.h>
#include <string.h>

typedef struct layer_order {
    pv_plan *plan;
    pv_wish *wishes;
    size_t n_wishes;
    size_t *waits; /* by sheet: the weight of wishes for sheets that must lie before it */
    bool *laid;
    double most[2];
} layer_order;

double pv_plan_two_laps(const pv_plan *plan)
{
    return plan->overlap - plan->bleed - PV_LABEL_STRIP;
}

/* ---- sides ---- */

void pv_plan_set_sides(pv_plan *plan)
{
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_sheet *sheet = &plan->sheets[i];
        for (int s = 0; s < 4; s++) {
            if (sheet->seam[s] == SIZE_MAX)
                sheet->side[s] = PV_OUTER;
            else if (plan->joint == PV_JOINT_BUTT || plan->seams[sheet->seam[s]].over == i)
                sheet->side[s] = PV_OVER;
            else
                sheet->side[s] = PV_UNDER;
        }
    }
}

/* ---- wishes ---- */

static bool add_wish(layer_order *o, const pv_seam *seam)
{
    size_t down = 0, up = 0;
    if (!pv_seam_steps(o->plan, seam, &down, &up))
        return false;
    if (down != up) {
        bool as_is = down > up;
        o->wishes[o->n_wishes++] = (pv_wish){.first = as_is ? seam->under : seam->over,
                                             .then = as_is ? seam->over : seam->under,
                                             .weight = as_is ? down - up : up - down};
    }
    return true;
}

static bool find_wishes(layer_order *o)
{
    pv_plan *plan = o->plan;
    o->wishes = PV_NEW_ARRAY(plan->n_seams, pv_wish);
    o->waits = PV_NEW_ARRAY(plan->n_sheets, size_t);
    o->laid = PV_NEW_ARRAY(plan->n_sheets, bool);
    if (o->wishes == NULL || o->waits == NULL || o->laid == NULL)
        return false;
    for (size_t i = 0; i < plan->n_seams; i++)
        if (!add_wish(o, &plan->seams[i]))
            return false;
    bool least;
    return pv_rings_break(o->wishes, o->n_wishes, plan->n_sheets, &least);
}

/* ---- laying ---- */

/* The sheet so many rows and columns from one, or SIZE_MAX past the mat's edge. */
static size_t beside(const pv_plan *plan, size_t i, int down, int right)
{
    size_t row = plan->sheets[i].row, column = plan->sheets[i].column;
    if ((down < 0 && row == 0) || (right < 0 && column == 0) ||
        (down > 0 && row + 1 == plan->rows) || (right > 0 && column + 1 == plan->columns))
        return SIZE_MAX;
    return (size_t)((long long)i + down * (long long)plan->columns + right);
}

static bool waits_for(const layer_order *o, size_t neighbour)
{
    return neighbour != SIZE_MAX && !o->laid[neighbour];
}

/* Would it lie beneath both opposite neighbours without room for two laps? */
static bool is_cramped(const layer_order *o, size_t i)
{
    const pv_plan *plan = o->plan;
    pv_box cell = plan->sheets[i].cell;
    double room = pv_plan_two_laps(plan) - 1e-9;
    bool across = o->most[0] - (cell.hi.x - cell.lo.x) < room;
    bool upright = o->most[1] - (cell.hi.y - cell.lo.y) < room;
    return (across && waits_for(o, beside(plan, i, 0, -1)) &&
            waits_for(o, beside(plan, i, 0, 1))) ||
           (upright && waits_for(o, beside(plan, i, -1, 0)) && waits_for(o, beside(plan, i, 1, 0)));
}

/* Would its lap come to lie on the finished surface of a sheet across a corner? */
static bool is_astride(const layer_order *o, size_t i)
{
    for (int down = -1; down <= 1; down += 2)
        for (int right = -1; right <= 1; right += 2) {
            size_t opposite = beside(o->plan, i, down, right);
            if (opposite != SIZE_MAX && o->laid[opposite] &&
                waits_for(o, beside(o->plan, i, down, 0)) &&
                waits_for(o, beside(o->plan, i, 0, right)))
                return true;
        }
    return false;
}

/* Is nothing laid yet beside which it would lie? */
static bool is_apart(const layer_order *o, size_t i, size_t n_laid)
{
    const size_t next[4] = {beside(o->plan, i, -1, 0), beside(o->plan, i, 1, 0),
                            beside(o->plan, i, 0, -1), beside(o->plan, i, 0, 1)};
    for (int d = 0; d < 4; d++)
        if (next[d] != SIZE_MAX && o->laid[next[d]])
            return false;
    return n_laid > 0;
}

/* Ways to go through all sheets: in reading order first; from other corners, and by columns. */
#define WAYS 8

static size_t sheet_at(const pv_plan *plan, int way, size_t n)
{
    size_t rows = plan->rows, columns = plan->columns;
    size_t row = way & 4 ? n % rows : n / columns, column = way & 4 ? n / rows : n % columns;
    return (way & 2 ? rows - 1 - row : row) * columns + (way & 1 ? columns - 1 - column : column);
}

/* The next to lay: the first on the way that may be laid and waits for nothing, else the one whose
 * wishes weigh least. It lies beside one that is laid already. SIZE_MAX where there is none that
 * may be laid. */
static size_t choose(const layer_order *o, int way, size_t from, size_t n_laid)
{
    size_t best = SIZE_MAX;
    for (size_t n = from; n < o->plan->n_sheets; n++) {
        size_t i = sheet_at(o->plan, way, n);
        if (o->laid[i] || (best != SIZE_MAX && o->waits[i] >= o->waits[best]) ||
            is_apart(o, i, n_laid) || is_cramped(o, i) || is_astride(o, i))
            continue;
        best = i;
        if (o->waits[i] == 0)
            break;
    }
    return best;
}

static void lay(layer_order *o, size_t i)
{
    o->laid[i] = true;
    /* Wishes for it to lie before others are fulfilled; a sheet has few neighbours, but wishes have
     * no index by sheet. */
    for (size_t w = 0; w < o->n_wishes; w++)
        if (!o->wishes[w].given_up && o->wishes[w].first == i)
            o->waits[o->wishes[w].then] -= o->wishes[w].weight;
}

static void begin(layer_order *o)
{
    for (size_t i = 0; i < o->plan->n_sheets; i++) {
        o->laid[i] = false;
        o->waits[i] = 0;
    }
    for (size_t w = 0; w < o->n_wishes; w++)
        if (!o->wishes[w].given_up)
            o->waits[o->wishes[w].then] += o->wishes[w].weight;
}

/* Lays all sheets into turn[]; gives the weight of the wishes that it breaks, SIZE_MAX where it
 * finds no end. */
static size_t lay_all(layer_order *o, int way, size_t *turn)
{
    const pv_plan *plan = o->plan;
    size_t from = 0, broken = 0;
    begin(o);
    for (size_t n = 0; n < plan->n_sheets; n++) {
        while (o->laid[sheet_at(plan, way, from)])
            from++;
        size_t i = choose(o, way, from, n);
        if (i == SIZE_MAX)
            return SIZE_MAX;
        turn[n] = i;
        broken += o->waits[i];
        lay(o, i);
    }
    return broken;
}

/* Of all ways the first that breaks least; the plan has reading order to begin with, which can
 * always be laid. False where memory ran out. */
static bool lay_best(layer_order *o)
{
    pv_plan *plan = o->plan;
    size_t *turn = PV_NEW_ARRAY(plan->n_sheets, size_t), least = SIZE_MAX;
    if (turn == NULL)
        return false;
    for (int way = 0; way < WAYS && least > 0; way++) {
        size_t broken = lay_all(o, way, turn);
        if (broken >= least)
            continue;
        least = broken;
        memcpy(plan->taping, turn, plan->n_sheets * sizeof *turn);
    }
    free(turn);
    return true;
}

/* Of each seam the sheet that is laid later lies over. */
static bool set_over(pv_plan *plan)
{
    size_t *rank = PV_NEW_ARRAY(plan->n_sheets, size_t);
    if (rank == NULL)
        return false;
    for (size_t n = 0; n < plan->n_sheets; n++)
        rank[plan->taping[n]] = n;
    for (size_t i = 0; i < plan->n_seams; i++) {
        pv_seam *seam = &plan->seams[i];
        if (rank[seam->over] < rank[seam->under]) {
            size_t over = seam->over;
            seam->over = seam->under;
            seam->under = over;
        }
    }
    free(rank);
    pv_plan_set_sides(plan);
    return true;
}

bool pv_plan_order(pv_plan *plan, const double most[2])
{
    layer_order o = {.plan = plan};
    for (int d = 0; d < 2; d++)
        o.most[d] = most[d] + plan->border; /* a sheet between two others has none there */
    plan->taping = PV_NEW_ARRAY(plan->n_sheets, size_t);
    bool good = plan->taping != NULL;
    for (size_t i = 0; good && i < plan->n_sheets; i++)
        plan->taping[i] = i;
    if (good && plan->joint == PV_JOINT_LAP) {
        good = find_wishes(&o) && lay_best(&o);
    }
    good = good && set_over(plan);
    free(o.wishes);
    free(o.waits);
    free(o.laid);
    return good;
}

bool pv_plan_order_from_seams(pv_plan *plan, bool *ring)
{
    size_t *waits = PV_NEW_ARRAY(plan->n_sheets, size_t);
    plan->taping = PV_NEW_ARRAY(plan->n_sheets, size_t);
    *ring = false;
    if (waits == NULL || plan->taping == NULL) {
        free(waits);
        return false;
    }
    for (size_t i = 0; i < plan->n_seams; i++)
        waits[plan->seams[i].over]++;
    size_t n = 0;
    for (bool more = true; more && n < plan->n_sheets;) {
        more = false;
        for (size_t i = 0; i < plan->n_sheets; i++) {
            if (waits[i] != 0)
                continue;
            plan->taping[n++] = i;
            waits[i] = SIZE_MAX;
            more = true;
            for (int s = 0; s < 4; s++) {
                size_t seam = plan->sheets[i].seam[s];
                if (seam != SIZE_MAX && plan->seams[seam].under == i)
                    waits[plan->seams[seam].over]--;
            }
        }
    }
    *ring = n < plan->n_sheets;
    free(waits);
    pv_plan_set_sides(plan);
    return true;
}
