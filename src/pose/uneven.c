#include "pose/uneven.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>

#define MEDIAN_LEAST    5 /* sights of which a median is taken; of fewer the mean of those kept */
#define MEDIAN_VARIANCE 1.571 /* of a median against a mean, for normal errors: pi / 2 */

/* The sights of one area that tell one direction. */
typedef struct cell {
    double *off;     /* mm, room for all sights */
    size_t n, kept;  /* sights, and those that were not thrown out */
    double sum;      /* of those kept */
    double variance; /* sum of what each is good to, squared, mm2 */
    double shared;   /* largest of what marks share, mm */
} cell;

typedef struct total {
    double squares; /* of middles, less what noise makes of them, mm2 */
    size_t cells;
} total;

static void add_sight(cell *to, const pv_sight *s, double px_per_mm)
{
    double sigma = s->sigma / px_per_mm, off = s->residual / px_per_mm;
    to->off[to->n++] = off;
    to->variance += sigma * sigma;
    to->shared = fmax(to->shared, s->shared / px_per_mm);
    if (s->weight > 0) {
        to->kept++;
        to->sum += off;
    }
}

/* Counts a cell and empties it. */
static void close_cell(cell *c, total *all)
{
    double n = (double)c->n, middle = 0, variance = c->n > 0 ? c->variance / (n * n) : 0;
    bool counts = c->kept > 0;
    if (c->n >= MEDIAN_LEAST) {
        counts = true;
        middle = pv_median_of(c->off, c->n);
        for (size_t i = 0; i < c->n; i++)
            c->off[i] = fabs(c->off[i] - middle);
        double scatter = PV_MAD_TO_SIGMA * pv_median_of(c->off, c->n);
        variance = MEDIAN_VARIANCE * fmax(variance, scatter * scatter / n);
    } else if (counts) {
        middle = c->sum / (double)c->kept;
        variance = variance * n / (double)c->kept;
    }
    if (counts) {
        all->squares += middle * middle - variance - c->shared * c->shared;
        all->cells++;
    }
    *c = (cell){.off = c->off};
}

bool pv_uneven(const pv_sight *sights, size_t n, const pv_pose *pose, double *uneven)
{
    double *room = PV_NEW_ARRAY(2 * n, double);
    if (room == NULL)
        return false;
    cell cells[2] = {{.off = room}, {.off = room + n}};
    total all = {0, 0};
    for (size_t i = 0; i < n; i++) {
        const pv_sight *s = &sights[i];
        pv_vec dx, dy;
        pv_pose_jacobian(pose, pv_scale(pv_add(s->a, s->b), 0.5), &dx, &dy);
        pv_vec tells = pv_v(pv_dot(dx, s->normal), pv_dot(dy, s->normal));
        double px_per_mm = pv_len(tells);
        if (px_per_mm > 0 && isfinite(s->residual))
            add_sight(&cells[fabs(tells.y) > fabs(tells.x)], s, px_per_mm);
        if (i + 1 == n || sights[i + 1].group != s->group)
            for (int k = 0; k < 2; k++)
                close_cell(&cells[k], &all);
    }
    free(room);
    size_t unknowns = pose->kind == PV_POSE_AFFINE ? 6 : PV_POSE_UNKNOWNS;
    size_t freedom = all.cells > unknowns ? all.cells - unknowns : 1;
    *uneven = all.squares > 0 ? sqrt(all.squares / (double)freedom) : 0;
    return true;
}
