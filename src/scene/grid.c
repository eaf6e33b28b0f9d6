#include "scene/grid.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>

#define SHARE    4     /* entries to a box, on average, at most */
#define SPARE    64    /* and so many besides, so that few boxes have a grid, too */
#define SIDE_MIN 0.001 /* mm */

static bool is_box(const pv_box *b)
{
    return isfinite(b->lo.x) && isfinite(b->lo.y) && isfinite(b->hi.x) && isfinite(b->hi.y) &&
           b->lo.x <= b->hi.x && b->lo.y <= b->hi.y;
}

/* Squares from and to which a box reaches, those at the grid's edge standing for all beyond. */
typedef struct squares {
    size_t column[2], row[2];
} squares;

static size_t square(double off, double side, size_t n)
{
    double k = floor(off / side);
    return k < 0 ? 0 : k < (double)n ? (size_t)k : n - 1;
}

static squares squares_of(const pv_grid *g, pv_box b)
{
    return (squares){{square(b.lo.x - g->origin.x, g->side, g->columns),
                      square(b.hi.x - g->origin.x, g->side, g->columns)},
                     {square(b.lo.y - g->origin.y, g->side, g->rows),
                      square(b.hi.y - g->origin.y, g->side, g->rows)}};
}

/* Into how many squares all boxes together go. */
static size_t count_entries(const pv_grid *g, size_t n)
{
    size_t total = 0;
    for (size_t i = 0; i < n; i++) {
        if (!is_box(&g->boxes[i].box))
            continue;
        squares s = squares_of(g, g->boxes[i].box);
        total += (s.column[1] - s.column[0] + 1) * (s.row[1] - s.row[0] + 1);
    }
    return total;
}

static void choose_side(pv_grid *g, size_t n)
{
    pv_box all = pv_box_none();
    for (size_t i = 0; i < n; i++)
        if (is_box(&g->boxes[i].box))
            all = pv_box_add(pv_box_add(all, g->boxes[i].box.lo), g->boxes[i].box.hi);
    if (!is_box(&all))
        all = (pv_box){{0, 0}, {0, 0}};
    g->origin = all.lo;
    double width = all.hi.x - all.lo.x, height = all.hi.y - all.lo.y, most = (double)n + 1;
    /* At most n squares and a row and a column more, however slim the whole is. */
    g->side = fmax(fmax(sqrt(width * height / most), fmax(width, height) / most), SIDE_MIN);
    bool fits = false;
    while (!fits) {
        g->columns = (size_t)floor(width / g->side) + 1;
        g->rows = (size_t)floor(height / g->side) + 1;
        fits = count_entries(g, n) <= SHARE * n + SPARE;
        if (!fits)
            g->side *= 2;
    }
}

/* Entries are counted into first[k + 1], summed up, and then put in place, which moves each first
 * to where the next begins. */
static void fill(pv_grid *g, size_t n)
{
    size_t n_squares = g->columns * g->rows;
    for (int put = 0; put < 2; put++) {
        for (size_t i = 0; i < n; i++) {
            if (!is_box(&g->boxes[i].box))
                continue;
            squares s = squares_of(g, g->boxes[i].box);
            for (size_t r = s.row[0]; r <= s.row[1]; r++)
                for (size_t c = s.column[0]; c <= s.column[1]; c++) {
                    size_t k = r * g->columns + c;
                    if (put)
                        g->entries[g->first[k]++] = i;
                    else
                        g->first[k + 1]++;
                }
        }
        for (size_t k = 0; !put && k < n_squares; k++)
            g->first[k + 1] += g->first[k];
    }
    for (size_t k = n_squares; k > 0; k--)
        g->first[k] = g->first[k - 1];
    g->first[0] = 0;
}

bool pv_grid_open(pv_grid *grid, const pv_grid_box *boxes, size_t n)
{
    *grid = (pv_grid){.boxes = boxes};
    choose_side(grid, n);
    grid->first = PV_NEW_ARRAY(grid->columns * grid->rows + 1, size_t);
    grid->entries = PV_NEW_ARRAY(count_entries(grid, n), size_t);
    if (grid->first == NULL || grid->entries == NULL)
        return false;
    fill(grid, n);
    return true;
}

void pv_grid_close(pv_grid *grid)
{
    free(grid->first);
    free(grid->entries);
    *grid = (pv_grid){0};
}

#define FEW 24 /* things that are sorted where they stand */

/* What comes from one square is in order already, or nearly so. */
static void sort_few(size_t *list, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        size_t thing = list[i], at = i;
        for (; at > 0 && list[at - 1] > thing; at--)
            list[at] = list[at - 1];
        list[at] = thing;
    }
}

static void sort_and_thin(pv_found *found)
{
    size_t kept = 0;
    if (found->n <= FEW)
        sort_few(found->list, found->n);
    else
        qsort(found->list, found->n, sizeof *found->list, pv_by_index);
    for (size_t i = 0; i < found->n; i++)
        if (kept == 0 || found->list[kept - 1] != found->list[i])
            found->list[kept++] = found->list[i];
    found->n = kept;
}

bool pv_grid_find(const pv_grid *grid, pv_box window, pv_found *found)
{
    found->n = 0;
    if (!is_box(&window))
        return true;
    squares s = squares_of(grid, window);
    for (size_t r = s.row[0]; r <= s.row[1]; r++)
        for (size_t c = s.column[0]; c <= s.column[1]; c++) {
            size_t k = r * grid->columns + c;
            for (size_t e = grid->first[k]; e < grid->first[k + 1]; e++) {
                const pv_grid_box *b = &grid->boxes[grid->entries[e]];
                if (!pv_box_meets(b->box, window))
                    continue;
                if (!PV_GROW(found->list, found->n, found->cap))
                    return false;
                found->list[found->n++] = b->thing;
            }
        }
    sort_and_thin(found);
    return true;
}

void pv_grid_visit_down(const pv_grid *grid, pv_box window, pv_grid_visit *visit, void *context)
{
    if (!is_box(&window))
        return;
    squares s = squares_of(grid, window);
    for (size_t r = s.row[0]; r <= s.row[1]; r++)
        for (size_t c = s.column[0]; c <= s.column[1]; c++) {
            size_t k = r * grid->columns + c;
            for (size_t e = grid->first[k + 1]; e-- > grid->first[k];) {
                const pv_grid_box *b = &grid->boxes[grid->entries[e]];
                if (pv_box_meets(b->box, window) && !visit(context, b->thing))
                    break;
            }
        }
}
