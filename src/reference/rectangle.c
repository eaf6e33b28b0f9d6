#include "reference/rectangle.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>
#include <string.h>

#define ANGLES PV_EDGE_ANGLES

/* Choices of this search, assumed and tried on simulated cards (tests/outside/card_cases.py).
 * The limits on numbers bound its time. */
#define SPREAD         6 /* bins to each side that an edge pixel votes for: its direction is noisy */
#define PEAKS_MAX      2400 /* lines that are walked */
#define LINES_MAX      360  /* of these, pairs are sought */
#define SHARE          0.30 /* of a side must show an edge */
#define SHARE_OF_THREE 0.45 /* of three sides, where the fourth shows no edge */
#define TURNED         6    /* bins by which sides may be off parallel, or off square */
#define ALIKE_BINS     4    /* lines that are nearer than this, and than ALIKE_PX, are one */
#define ALIKE_PX       2.0
#define ROUNDED_MM     4.0 /* at the ends of a side nothing is expected */

typedef struct ruled {
    int angle;      /* bin of its normal */
    double at;      /* normal . p, px from the ground's middle */
    unsigned votes; /* edge pixels on it; once walked, on its best stretch of a short side */
    pv_vec middle;  /* of that stretch, px from the ground's middle */
    uint16_t *sum;  /* edge pixels along it from its start up to each place */
} ruled;

typedef struct hough {
    const pv_ground *ground;
    pv_edge_map edges;
    pv_vec middle;  /* px */
    size_t reach;   /* px from the middle to a corner, rounded up */
    uint16_t *vote; /* ANGLES rows of 2 reach */
    ruled *line;
    size_t n;
    uint16_t *sums;
    pv_vec normal[ANGLES];
} hough;

static size_t span(const hough *h)
{
    return 2 * h->reach;
}

/* ---- lines ---- */

static void vote(hough *h)
{
    const pv_edge_map *e = &h->edges;
    for (size_t y = 0; y < e->height; y++)
        for (size_t x = 0; x < e->width; x++) {
            int bin = e->bin[y * e->width + x];
            if (bin < 0)
                continue;
            pv_vec p = pv_sub(pv_v((double)x + 0.5, (double)y + 0.5), h->middle);
            for (int k = bin - SPREAD; k <= bin + SPREAD; k++) {
                int angle = (k + ANGLES) % ANGLES;
                double at = pv_dot(h->normal[angle], p) + (double)h->reach;
                uint16_t *cell = &h->vote[(size_t)angle * span(h) + (size_t)at];
                *cell = (uint16_t)(*cell + (*cell < UINT16_MAX));
            }
        }
}

/* Votes of a cell with its neighbours in place: a line falls between two. Angles wrap round to the
 * other side. */
static unsigned votes_at(const hough *h, int angle, ptrdiff_t at)
{
    ptrdiff_t wide = (ptrdiff_t)span(h);
    if (angle < 0 || angle >= ANGLES) {
        angle = (angle + ANGLES) % ANGLES;
        at = wide - 1 - at;
    }
    const uint16_t *row = h->vote + (size_t)angle * span(h);
    unsigned sum = 0;
    for (ptrdiff_t k = at - 1; k <= at + 1; k++)
        if (k >= 0 && k < wide)
            sum += row[k];
    return sum;
}

static bool is_peak(const hough *h, int angle, ptrdiff_t at, unsigned votes)
{
    for (int da = -2; da <= 2; da++)
        for (ptrdiff_t dp = -2; dp <= 2; dp++) {
            bool before = da < 0 || (da == 0 && dp < 0);
            unsigned other = votes_at(h, angle + da, at + dp);
            if ((da != 0 || dp != 0) && (other > votes || (other == votes && before)))
                return false;
        }
    return true;
}

static int by_votes(const void *a, const void *b)
{
    const ruled *x = a, *y = b;
    return pv_order_index(y->votes, x->votes);
}

/* The peaks of at least so many votes, most votes first. */
static bool find_peaks(hough *h, double least)
{
    ptrdiff_t wide = (ptrdiff_t)span(h);
    size_t cap = 0;
    for (int angle = 0; angle < ANGLES; angle++)
        for (ptrdiff_t at = 1; at + 1 < wide; at++) {
            unsigned votes = votes_at(h, angle, at);
            if (!((double)votes >= least) || !is_peak(h, angle, at, votes))
                continue;
            if (!PV_GROW(h->line, h->n, cap))
                return false;
            h->line[h->n++] =
                (ruled){.angle = angle, .at = (double)at + 0.5 - (double)h->reach, .votes = votes};
        }
    if (h->n > 0)
        qsort(h->line, h->n, sizeof *h->line, by_votes);
    h->n = h->n < PEAKS_MAX ? h->n : PEAKS_MAX;
    return true;
}

/* Edge pixels that may be of a line of that direction; bin -1 is no edge. */
static void list_alike(int angle, bool alike[ANGLES + 1])
{
    alike[0] = false;
    for (int bin = 0; bin < ANGLES; bin++) {
        int apart = abs(bin - angle);
        alike[bin + 1] = (apart > ANGLES / 2 ? ANGLES - apart : apart) <= 4 * SPREAD;
    }
}

/* Narrows [*from, *to) to the s where 1 <= at + s step < size - 1. */
static void clip(double at, double step, double size, double *from, double *to)
{
    if (fabs(step) < 1e-9) {
        if (!(at >= 1 && at < size - 1))
            *to = *from;
        return;
    }
    double a = (1 - at) / step, b = (size - 1 - at) / step;
    *from = fmax(*from, ceil(fmin(a, b) + 1e-6));
    *to = fmin(*to, floor(fmax(a, b) - 1e-6));
}

/* Counts edge pixels along a line, give or take one px across. */
static void walk(const hough *h, const ruled *l, uint16_t *sums)
{
    const pv_edge_map *e = &h->edges;
    bool alike[ANGLES + 1];
    pv_vec n = h->normal[l->angle], along = pv_left(n);
    pv_vec first = pv_along(pv_along(h->middle, n, l->at), along, 0.5 - (double)h->reach);
    double from = 0, to = (double)span(h);
    list_alike(l->angle, alike);
    clip(first.x, along.x, (double)e->width, &from, &to);
    clip(first.y, along.y, (double)e->height, &from, &to);
    unsigned sum = 0;
    for (size_t s = 0; s < span(h); s++) {
        if ((double)s >= from && (double)s < to) {
            bool any = false;
            for (int side = -1; side <= 1; side++) {
                double x = first.x + (double)s * along.x + side * n.x;
                double y = first.y + (double)s * along.y + side * n.y;
                any = any || alike[e->bin[(size_t)(int)y * e->width + (size_t)(int)x] + 1];
            }
            sum += any;
        }
        sums[s] = (uint16_t)sum;
    }
}

/* Finds the stretch of so many px that has the most edge pixels. */
static void find_stretch(const hough *h, const uint16_t *sums, size_t stretch, ruled *l)
{
    size_t at = 0;
    l->votes = 0;
    for (size_t s = stretch; s < span(h); s++) {
        unsigned here = (unsigned)(sums[s] - sums[s - stretch]);
        if (here > l->votes) {
            l->votes = here;
            at = s;
        }
    }
    double middle = (double)at - (double)stretch / 2 - (double)h->reach;
    pv_vec n = h->normal[l->angle];
    l->middle = pv_along(pv_scale(n, l->at), pv_left(n), middle);
}

static int turned(const ruled *a, const ruled *b)
{
    int apart = abs(a->angle - b->angle);
    return apart > ANGLES / 2 ? ANGLES - apart : apart;
}

/* An edge makes several peaks; the first n lines are the better ones. */
static bool is_new(const hough *h, size_t n, const ruled *l)
{
    for (size_t i = 0; i < n; i++) {
        const ruled *other = &h->line[i];
        double apart = pv_dot(h->normal[other->angle], l->middle) - other->at;
        if (turned(other, l) <= ALIKE_BINS && fabs(apart) <= ALIKE_PX)
            return false;
    }
    return true;
}

/* Keeps the lines that have the best stretch of a short side's length: a line right across grain
 * has many edge pixels, too, but nowhere are they close. */
static bool keep_lines(hough *h, size_t stretch)
{
    uint16_t *sums = PV_NEW_ARRAY(span(h), uint16_t);
    if (sums == NULL)
        return false;
    for (size_t i = 0; i < h->n; i++) {
        walk(h, &h->line[i], sums);
        find_stretch(h, sums, stretch, &h->line[i]);
    }
    free(sums);
    if (h->n > 0)
        qsort(h->line, h->n, sizeof *h->line, by_votes);
    size_t kept = 0;
    for (size_t i = 0; i < h->n && kept < LINES_MAX; i++)
        if ((double)h->line[i].votes >= SHARE * (double)stretch && is_new(h, kept, &h->line[i]))
            h->line[kept++] = h->line[i];
    h->n = kept;
    h->sums = PV_NEW_ARRAY(h->n * span(h), uint16_t);
    if (h->sums == NULL)
        return false;
    for (size_t i = 0; i < h->n; i++) {
        h->line[i].sum = h->sums + i * span(h);
        walk(h, &h->line[i], h->line[i].sum);
    }
    return true;
}

/* ---- rectangles ---- */

typedef struct crossing {
    size_t line;
    double at; /* px along the line that is crossed, from its foot */
    pv_vec p;
} crossing;

static bool cross_at(const hough *h, const ruled *a, const ruled *b, crossing *out)
{
    pv_vec na = h->normal[a->angle], nb = h->normal[b->angle];
    double det = pv_cross_z(na, nb);
    if (fabs(det) < 0.5)
        return false;
    pv_vec p = pv_v((a->at * nb.y - b->at * na.y) / det, (b->at * na.x - a->at * nb.x) / det);
    out->p = p;
    out->at = pv_dot(pv_left(na), p);
    return fabs(out->at) < (double)h->reach;
}

/* Share of a line between two places that shows an edge, without the rounded ends. */
static double share(const hough *h, const ruled *l, double from, double to)
{
    double cut = ROUNDED_MM * h->ground->px_per_mm;
    double lo = fmin(from, to) + cut + (double)h->reach,
           hi = fmax(from, to) - cut + (double)h->reach;
    if (!(lo >= 0 && hi > lo && hi < (double)span(h)))
        return 0;
    size_t a = (size_t)lo, b = (size_t)hi;
    return b > a ? (double)(l->sum[b] - l->sum[a]) / (double)(b - a) : 0;
}

static double share_between(const hough *h, const ruled *l, pv_vec a, pv_vec b)
{
    pv_vec along = pv_left(h->normal[l->angle]);
    return share(h, l, pv_dot(along, a), pv_dot(along, b));
}

static bool like(double value, double nominal)
{
    return fabs(value / nominal - 1) <= PV_RECTANGLE_TOO;
}

typedef struct rectangles {
    const hough *h;
    double length, width; /* px */
    pv_rectangle *out;
    size_t n;
} rectangles;

static bool same_place(const pv_rectangle *a, const pv_rectangle *b)
{
    for (int k = 0; k < 4; k++) {
        double nearest = HUGE_VAL;
        for (int i = 0; i < 4; i++)
            nearest = fmin(nearest, pv_dist(a->corner[k], b->corner[i]));
        if (nearest > 0.7)
            return false;
    }
    return true;
}

/* Sorted by score; of two at one place the better. */
static void keep_rectangle(rectangles *r, const pv_rectangle *one)
{
    for (size_t i = 0; i < r->n; i++) {
        if (!same_place(&r->out[i], one))
            continue;
        if (r->out[i].score >= one->score)
            return;
        memmove(&r->out[i], &r->out[i + 1], (r->n - i - 1) * sizeof *r->out);
        r->n--;
        break;
    }
    if (r->n == PV_RECTANGLES_MAX && r->out[r->n - 1].score >= one->score)
        return;
    size_t k = r->n < PV_RECTANGLES_MAX ? r->n++ : r->n - 1;
    for (; k > 0 && r->out[k - 1].score < one->score; k--)
        r->out[k] = r->out[k - 1];
    r->out[k] = *one;
}

static void keep_corners(rectangles *r, const pv_vec corner[4], double score)
{
    const hough *h = r->h;
    pv_rectangle one = {.score = score};
    bool left = pv_cross_z(pv_sub(corner[1], corner[0]), pv_sub(corner[2], corner[1])) > 0;
    for (int k = 0; k < 4; k++) {
        /* Turned round, the long side stays first. */
        pv_vec px = pv_add(corner[left ? k : k ^ 1], h->middle);
        one.corner[k] = pv_ground_sheet(h->ground, px.x, px.y);
    }
    keep_rectangle(r, &one);
}

/* A long side with both its short ones: is there another long side? */
static void close_up(rectangles *r, size_t first, const crossing *k, const crossing *l, double base)
{
    const hough *h = r->h;
    const ruled *i = &h->line[first], *a = &h->line[k->line], *b = &h->line[l->line];
    for (size_t j = first + 1; j < h->n; j++) {
        const ruled *other = &h->line[j];
        crossing p, q;
        if (turned(i, other) > TURNED || !cross_at(h, other, a, &p) || !cross_at(h, other, b, &q))
            continue;
        if (!like(pv_dist(p.p, k->p), r->width) || !like(pv_dist(q.p, l->p), r->width) ||
            !like(pv_dist(p.p, q.p), r->length))
            continue;
        double far = share(h, other, p.at, q.at), left = share_between(h, a, k->p, p.p);
        double right = share_between(h, b, l->p, q.p);
        if (far < SHARE || left < SHARE || right < SHARE)
            continue;
        pv_vec corner[4] = {k->p, l->p, q.p, p.p};
        keep_corners(r, corner, base + far + left + right);
    }
}

/* A side with both its neighbours, which show well: the fourth may hardly show. Its place follows
 * from the shape. */
static void guess_fourth(rectangles *r, size_t first, const crossing *k, const crossing *l,
                         double base, bool long_first)
{
    const hough *h = r->h;
    const ruled *a = &h->line[k->line], *b = &h->line[l->line];
    double size = pv_dist(k->p, l->p) * (long_first ? r->width / r->length : r->length / r->width);
    pv_vec n = h->normal[h->line[first].angle], da = pv_left(h->normal[a->angle]);
    pv_vec db = pv_left(h->normal[b->angle]);
    for (int side = -1; side <= 1; side += 2) {
        pv_vec d = pv_along(k->p, da, pv_dot(da, n) * side > 0 ? size : -size);
        pv_vec c = pv_along(l->p, db, pv_dot(db, n) * side > 0 ? size : -size);
        double left = share_between(h, a, k->p, d), right = share_between(h, b, l->p, c);
        if (fmin(base, fmin(left, right)) < SHARE_OF_THREE)
            continue;
        pv_vec corner[4] = {k->p, l->p, c, d}, turned_on[4] = {l->p, c, d, k->p};
        keep_corners(r, long_first ? corner : turned_on, base + left + right);
    }
}

static int by_place(const void *a, const void *b)
{
    const crossing *x = a, *y = b;
    return pv_order(x->at, y->at);
}

static void pairs_on(rectangles *r, size_t first)
{
    const hough *h = r->h;
    crossing across[LINES_MAX];
    size_t n = 0;
    for (size_t k = 0; k < h->n; k++)
        if (abs(turned(&h->line[first], &h->line[k]) - ANGLES / 2) <= TURNED &&
            cross_at(h, &h->line[first], &h->line[k], &across[n]))
            across[n++].line = k;
    if (n < 2)
        return;
    qsort(across, n, sizeof *across, by_place);
    for (size_t k = 0; k < n; k++)
        for (size_t l = k + 1; l < n; l++) {
            double apart = across[l].at - across[k].at;
            if (apart > r->length * (1 + PV_RECTANGLE_TOO))
                break;
            bool is_long = like(apart, r->length);
            if (!is_long && !like(apart, r->width))
                continue;
            double base = share(h, &h->line[first], across[k].at, across[l].at);
            if (is_long && base >= SHARE)
                close_up(r, first, &across[k], &across[l], base);
            if (base >= SHARE_OF_THREE)
                guess_fourth(r, first, &across[k], &across[l], base, is_long);
        }
}

/* The edges of `all`, but for those within a box (sheet mm). */
static bool copy_without(const pv_ground *ground, const pv_edge_map *all, const pv_box *box,
                         pv_edge_map *out)
{
    *out = *all;
    out->bin = pv_copy_bytes(all->bin, all->width * all->height, sizeof *all->bin);
    for (size_t y = 0; out->bin != NULL && y < out->height; y++)
        for (size_t x = 0; x < out->width; x++)
            if (pv_box_holds(*box, pv_ground_sheet(ground, (double)x + 0.5, (double)y + 0.5)))
                out->bin[y * out->width + x] = -1;
    return out->bin != NULL;
}

static bool find_lines(hough *h, double stretch)
{
    h->vote = PV_NEW_ARRAY(ANGLES * span(h), uint16_t);
    if (h->vote == NULL)
        return false;
    vote(h);
    return find_peaks(h, SHARE * stretch) && keep_lines(h, (size_t)stretch);
}

bool pv_rectangles_find(const pv_ground *ground, const pv_edge_map *edges, double length,
                        double width, const pv_box *without, pv_rectangle out[PV_RECTANGLES_MAX],
                        size_t *n)
{
    *n = 0;
    hough *h = PV_NEW(hough);
    if (h == NULL)
        return false;
    h->ground = ground;
    h->edges = *edges;
    h->middle = pv_v((double)ground->width / 2, (double)ground->height / 2);
    h->reach = (size_t)ceil(pv_len(h->middle)) + 2;
    for (int i = 0; i < ANGLES; i++)
        h->normal[i] = pv_polar(1, PV_PI * (i + 0.5) / ANGLES);
    double k = ground->px_per_mm;
    bool good = (without == NULL || copy_without(ground, edges, without, &h->edges)) &&
                find_lines(h, (width - 2 * ROUNDED_MM) * k);
    rectangles r = {.h = h, .length = length * k, .width = width * k, .out = out};
    for (size_t i = 0; good && i < h->n; i++)
        pairs_on(&r, i);
    *n = r.n;
    if (without != NULL)
        pv_edge_map_clear(&h->edges);
    free(h->sums);
    free(h->line);
    free(h->vote);
    free(h);
    return good;
}
