/* The light of bare paper all over a sheet.
 *
 * The unknowns are ln(light) at the nodes of a grid, between which it is bilinear, and one
 * ln(reflectance) for each colour; paper's is 0. Every plain square gives an equation, second
 * differences between nodes are held small, and it is solved by least squares, a few times over
 * with weights that let go of squares which don't fit: dirt, missing ink (Cauchy's weights). Gray
 * and colour alike are solved channel by channel. */
#include "base/memory.h"
#include "base/numeric.h"
#include "measure/view.h"

#include <stdlib.h>
#include <string.h>

/* Choices of this method, assumed: stiff enough that missing ink stands out, soft enough for a
 * shadow. */
#define EVERY       3  /* squares: one in so many along x and y is used */
#define COLOURS_MAX 64 /* with an unknown reflectance; further ones aren't used */
#define WORDS_APART                                                                                \
    0.08          /* ln: paper in the waste is what is this near to the lightest about it          \
                   */
#define NEAR    2 /* places of the sieve, to each side, in which the lightest is sought */
#define ROUNDS  4
#define STIFF   100.0 /* weight of a bend of 1, against squares of bare paper */
#define DARKEST 0.004 /* of light, before the logarithm */

typedef struct sighting {
    pv_vec at;
    long unknown;  /* index of its colour's reflectance, or -1 for paper */
    double log[3]; /* ln of its light */
    double weight; /* from its lightness: noise in ln(light) is larger in the dark */
    double robust; /* from how it fits */
} sighting;

typedef struct fit {
    sighting *items;
    size_t n, cap;
    pv_white *white;
    long *unknown; /* of each colour of the art, or -1 */
    size_t n_colours, size;
    double *matrix, *right; /* size x size, size */
    double stiff, loose;
} fit;

static const pv_cell *cell_at(const pv_cells *cells, size_t i, size_t j)
{
    return &cells->at[j * cells->nx + i];
}

static double mean_log(const pv_cell *cell, int channels)
{
    double sum = 0;
    for (int c = 0; c < channels; c++)
        sum += log(fmax(cell->light[c], DARKEST));
    return sum / channels;
}

/* In the waste there are words and tags too: paper is what is about as light as anything near. */
static bool bare(const pv_cells *cells, size_t i, size_t j)
{
    double own = mean_log(cell_at(cells, i, j), cells->channels);
    for (long v = -NEAR; v <= NEAR; v++) {
        for (long u = -NEAR; u <= NEAR; u++) {
            long x = (long)i + EVERY * u, y = (long)j + EVERY * v;
            if (x < 0 || y < 0 || x >= (long)cells->nx || y >= (long)cells->ny)
                continue;
            const pv_cell *other = cell_at(cells, (size_t)x, (size_t)y);
            if (other->label == PV_LABEL_WASTE &&
                mean_log(other, cells->channels) > own + WORDS_APART)
                return false;
        }
    }
    return true;
}

static bool is_white(const pv_colour *colour)
{
    return colour->rgb[0] == 255 && colour->rgb[1] == 255 && colour->rgb[2] == 255;
}

static bool add_sighting(fit *f, const pv_cells *cells, const pv_art *art, size_t i, size_t j)
{
    const pv_cell *cell = cell_at(cells, i, j);
    size_t colour = pv_label_colour(art, cell->label);
    sighting one = {.unknown = -1, .robust = 1};
    if (cell->label == PV_LABEL_BLOCKED || (colour == SIZE_MAX && !bare(cells, i, j)))
        return true;
    if (colour != SIZE_MAX && !is_white(&art->colours[colour])) {
        if (f->unknown[colour] < 0 && f->n_colours < COLOURS_MAX)
            f->unknown[colour] = (long)f->n_colours++;
        one.unknown = f->unknown[colour];
        if (one.unknown < 0)
            return true;
    }
    one.at = pv_add(cells->lo, pv_v((double)i * cells->pitch, (double)j * cells->pitch));
    double light = 0;
    for (int c = 0; c < cells->channels; c++) {
        one.log[c] = log(fmax(cell->light[c], DARKEST));
        light += (double)cell->light[c] / cells->channels;
    }
    one.weight = fmax(light * light, 1e-4);
    if (!PV_GROW(f->items, f->n, f->cap))
        return false;
    f->items[f->n++] = one;
    return true;
}

static bool gather(fit *f, const pv_cells *cells, const pv_art *art)
{
    f->unknown = PV_NEW_ARRAY(art->n_colours, long);
    if (f->unknown == NULL)
        return false;
    for (size_t c = 0; c < art->n_colours; c++)
        f->unknown[c] = -1;
    for (size_t j = 1; j < cells->ny; j += EVERY)
        for (size_t i = 1; i < cells->nx; i += EVERY)
            if (!add_sighting(f, cells, art, i, j))
                return false;
    for (size_t i = 0; i < f->n; i++)
        f->white->known = f->white->known || f->items[i].unknown < 0;
    return true;
}

/* ---- the grid ---- */

/* The four nodes about a place, and their shares. */
static void shares(const pv_white *white, pv_vec at, size_t node[4], double share[4])
{
    double u = fmin(fmax((at.x - white->lo.x) / white->step[0], 0), (double)(white->nx - 1));
    double v = fmin(fmax((at.y - white->lo.y) / white->step[1], 0), (double)(white->ny - 1));
    size_t i = (size_t)u, j = (size_t)v;
    i = i > white->nx - 2 ? white->nx - 2 : i;
    j = j > white->ny - 2 ? white->ny - 2 : j;
    u -= (double)i;
    v -= (double)j;
    for (int k = 0; k < 4; k++) {
        node[k] = (j + (size_t)(k >> 1)) * white->nx + i + (size_t)(k & 1);
        share[k] = ((k & 1) != 0 ? u : 1 - u) * ((k >> 1) != 0 ? v : 1 - v);
    }
}

static bool start(pv_white *white, const pv_cells *cells)
{
    double wide = (double)cells->nx * cells->pitch, high = (double)cells->ny * cells->pitch;
    size_t most = PV_WHITE_NODES - 1;
    size_t nx = (size_t)fmin(fmax(ceil(wide / PV_WHITE_PITCH), 2), (double)most);
    size_t ny = (size_t)fmin(fmax(ceil(high / PV_WHITE_PITCH), 2), (double)most);
    white->lo = cells->lo;
    white->step[0] = wide / (double)nx;
    white->step[1] = high / (double)ny;
    white->nx = nx + 1;
    white->ny = ny + 1;
    white->channels = cells->channels;
    white->at = PV_NEW_ARRAY(white->nx * white->ny * 3, double);
    return white->at != NULL;
}

/* ---- the equations ---- */

/* One equation: sum of factor x unknown = value. Only the lower half is kept. */
static void add_equation(fit *f, const size_t *index, const double *factor, size_t n, double weight,
                         double value)
{
    for (size_t a = 0; a < n; a++) {
        for (size_t b = 0; b < n; b++)
            if (index[b] <= index[a])
                f->matrix[index[a] * f->size + index[b]] += weight * factor[a] * factor[b];
        f->right[index[a]] += weight * factor[a] * value;
    }
}

static void add_bends(fit *f)
{
    static const double bend[3] = {1, -2, 1}, twist[4] = {1, -1, -1, 1};
    const pv_white *w = f->white;
    for (size_t j = 0; j < w->ny; j++) {
        for (size_t i = 0; i < w->nx; i++) {
            size_t k = j * w->nx + i;
            size_t along[3] = {k, k + 1, k + 2}, up[3] = {k, k + w->nx, k + 2 * w->nx};
            size_t square[4] = {k, k + 1, k + w->nx, k + w->nx + 1};
            if (i + 2 < w->nx)
                add_equation(f, along, bend, 3, f->stiff, 0);
            if (j + 2 < w->ny)
                add_equation(f, up, bend, 3, f->stiff, 0);
            if (i + 1 < w->nx && j + 1 < w->ny)
                add_equation(f, square, twist, 4, 2 * f->stiff, 0);
        }
    }
    /* Where nothing at all was seen. */
    for (size_t k = 0; k < f->size; k++)
        f->matrix[k * f->size + k] += 1e-7;
}

static size_t equation_of(const fit *f, const sighting *s, size_t index[5], double factor[5])
{
    shares(f->white, s->at, index, factor);
    if (s->unknown < 0)
        return 4;
    index[4] = f->white->nx * f->white->ny + (size_t)s->unknown;
    factor[4] = 1;
    return 5;
}

static double left_over(const fit *f, const sighting *s, int channel, const double *solution)
{
    size_t index[5];
    double factor[5], sum = s->log[channel];
    size_t n = equation_of(f, s, index, factor);
    for (size_t k = 0; k < n; k++)
        sum -= factor[k] * solution[index[k]];
    return sum;
}

/* Solves one channel into `solution`; false where nothing determines it. */
static bool solve(fit *f, int channel, double *solution)
{
    memset(f->matrix, 0, f->size * f->size * sizeof *f->matrix);
    memset(f->right, 0, f->size * sizeof *f->right);
    for (size_t i = 0; i < f->n; i++) {
        const sighting *s = &f->items[i];
        size_t index[5];
        double factor[5];
        size_t n = equation_of(f, s, index, factor);
        add_equation(f, index, factor, n, s->weight * s->robust, s->log[channel]);
    }
    add_bends(f);
    if (!pv_cholesky(f->matrix, f->size))
        return false;
    memcpy(solution, f->right, f->size * sizeof *solution);
    pv_cholesky_solve(f->matrix, f->size, solution);
    return true;
}

static bool solve_all(fit *f, double *solutions)
{
    int channels = f->white->channels;
    double stiff = f->stiff;
    for (int round = 0; round < ROUNDS; round++) {
        /* Stiff at first, so that missing ink stands out and isn't taken for light. */
        f->stiff = fmax(stiff, STIFF / pow(4, round));
        /* The weights are settled with one channel (green), the others then take them over. */
        int middle = channels / 2;
        if (!solve(f, middle, solutions))
            return false;
        for (size_t i = 0; i < f->n && round + 1 < ROUNDS; i++) {
            double off = left_over(f, &f->items[i], middle, solutions) / f->loose;
            f->items[i].robust = 1 / (1 + off * off);
        }
    }
    for (int c = 0; c < channels; c++) {
        if (c != channels / 2 && !solve(f, c, solutions + f->size))
            return false;
        const double *from = c == channels / 2 ? solutions : solutions + f->size;
        for (size_t k = 0; k < f->white->nx * f->white->ny; k++)
            f->white->at[3 * k + (size_t)c] = exp(fmin(fmax(from[k], -7), 1));
    }
    return true;
}

bool pv_white_make(pv_white *white, const pv_cells *cells, const pv_art *art, bool soft)
{
    *white = (pv_white){0};
    fit f = {.white = white, .stiff = soft ? 2 : STIFF, .loose = soft ? 0.12 : 0.05};
    bool good = start(white, cells) && gather(&f, cells, art);
    if (good && white->known) {
        f.size = white->nx * white->ny + f.n_colours;
        f.matrix = PV_NEW_ARRAY(f.size * f.size, double);
        f.right = PV_NEW_ARRAY(f.size, double);
        double *solutions = PV_NEW_ARRAY(2 * f.size, double);
        good = f.matrix != NULL && f.right != NULL && solutions != NULL;
        white->known = good && solve_all(&f, solutions);
        free(solutions);
    }
    free(f.matrix);
    free(f.right);
    free(f.items);
    free(f.unknown);
    if (!good)
        pv_white_clear(white);
    return good;
}

void pv_white_clear(pv_white *white)
{
    free(white->at);
    *white = (pv_white){0};
}

void pv_white_at(const pv_white *white, pv_vec mat, double light[3])
{
    size_t node[4];
    double share[4];
    shares(white, mat, node, share);
    for (int c = 0; c < 3; c++) {
        int from = c < white->channels ? c : 0;
        light[c] = 0;
        for (int k = 0; k < 4; k++)
            light[c] += share[k] * white->at[3 * node[k] + (size_t)from];
    }
}
