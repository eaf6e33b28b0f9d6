#include "reference/rectangle.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#define ANGLES     360  /* over half a turn */
#define SPREAD     6    /* bins to each side that an edge pixel votes for: its direction is noisy */
#define SMOOTH     2    /* px to each side that a smoothed code depends on */
#define GRADIENT   2.0  /* codes per px: less is no edge */
#define OVER_GRAIN 1.8  /* by how many times an edge is steeper than what is about it on the mean  \
                         */
#define GRAIN_MM   8.0  /* to each side: about it */
#define GRAIN_MOST 20.0 /* codes per px: what is steeper counts as this, in the mean */
#define PEAKS_MAX  2400 /* lines that are walked */
#define LINES_MAX  360  /* of these, pairs are sought */
#define SHARE      0.40 /* of a side must show an edge */
#define TURNED     3    /* bins by which sides may be off parallel, or off square */
#define ROUNDED_MM 4.0  /* at the ends of a side nothing is expected */

typedef struct edges {
    size_t width, height;
    int16_t *bin; /* direction of the gradient, -1: no edge */
} edges;

typedef struct ruled {
    int angle; /* bin of its normal */
    double at; /* normal . p, px from the ground's middle */
    unsigned
        votes;     /* edge pixels on it; where it was walked, on its best stretch of a short side */
    uint16_t *sum; /* edge pixels along it from its start up to each place */
} ruled;

typedef struct hough {
    const pv_ground *ground;
    edges edges;
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

/* ---- edges ---- */

/* The image reaches as far as anything that a gradient depends on. */
static bool all_seen(const pv_ground *g, size_t x, size_t y)
{
    size_t d = SMOOTH + 1;
    if (x < d || y < d || x + d >= g->width || y + d >= g->height)
        return false;
    const uint8_t *row = g->seen + y * g->width + x, *low = row - d * g->width,
                  *high = row + d * g->width;
    ptrdiff_t e = (ptrdiff_t)d;
    return low[-e] && low[0] && low[e] && row[-e] && row[e] && high[-e] && high[0] && high[e];
}

/* Binomial weights 1 4 6 4 1 over n values that stand `step` apart, in place; the ends stay. */
static void smooth_line(uint8_t *code, size_t n, size_t step)
{
    if (n < 2 * SMOOTH + 1)
        return;
    unsigned a = code[0], b = code[step], c = code[2 * step], d = code[3 * step];
    for (size_t i = 2; i + 2 < n; i++) {
        unsigned e = code[(i + 2) * step];
        code[i * step] = (uint8_t)((a + e + 4 * (b + d) + 6 * c + 8) / 16);
        a = b;
        b = c;
        c = d;
        d = e;
    }
}

/* Without this the direction of a sharp edge's gradient is off by several degrees, as pixels fall.
 */
static void smooth(pv_ground *g)
{
    size_t n = (size_t)g->channels;
    for (size_t y = 0; y < g->height; y++)
        for (size_t c = 0; c < n; c++)
            smooth_line(g->code + y * g->width * n + c, g->width, n);
    for (size_t x = 0; x < g->width * n; x++)
        smooth_line(g->code + x, g->height, g->width * n);
}

/* Sobel's, codes per px: of the channel that has the largest. */
static pv_vec gradient(const pv_ground *g, size_t k)
{
    size_t n = (size_t)g->channels, row = g->width * n;
    pv_vec best = pv_v(0, 0);
    for (size_t c = 0; c < n; c++) {
        const uint8_t *p = g->code + k * n + c, *low = p - row, *high = p + row;
        int left = high[-(ptrdiff_t)n] + 2 * p[-(ptrdiff_t)n] + low[-(ptrdiff_t)n];
        int right = high[n] + 2 * p[n] + low[n];
        int under = low[-(ptrdiff_t)n] + 2 * low[0] + low[n];
        int over = high[-(ptrdiff_t)n] + 2 * high[0] + high[n];
        pv_vec d = pv_v((right - left) / 8.0, (over - under) / 8.0);
        best = pv_dot(d, d) > pv_dot(best, best) ? d : best;
    }
    return best;
}

static int bin_of(pv_vec d)
{
    double turn = atan2(d.y, d.x) / PV_PI; /* -1 to 1; half turns are alike */
    int bin = (int)floor((turn + 1) * ANGLES);
    return ((bin % ANGLES) + ANGLES) % ANGLES;
}

/* Sums of what lies above and left of each place, at (width + 1) (height + 1) of them: of the
 * gradient's size, none counted as more than GRAIN_MOST, and of the pixels that have one. */
typedef struct grain {
    double size;
    uint32_t seen;
} grain;

static void add_up(const float *size, size_t width, size_t height, grain *sum)
{
    for (size_t y = 0; y < height; y++) {
        grain row = {0, 0};
        grain *to = sum + (y + 1) * (width + 1) + 1;
        for (size_t x = 0; x < width; x++) {
            float one = size[y * width + x];
            row.size += one > 0 ? fmin((double)one, GRAIN_MOST) : 0;
            row.seen += one > 0;
            to[x].size = to[(ptrdiff_t)x - (ptrdiff_t)(width + 1)].size + row.size;
            to[x].seen = to[(ptrdiff_t)x - (ptrdiff_t)(width + 1)].seen + row.seen;
        }
    }
}

/* The gradient's mean size about a place. */
static double grain_at(const pv_ground *g, const grain *sum, size_t x, size_t y)
{
    size_t reach = (size_t)(GRAIN_MM * g->px_per_mm), row = g->width + 1;
    size_t x0 = x > reach ? x - reach : 0, y0 = y > reach ? y - reach : 0;
    size_t x1 = x + reach < g->width ? x + reach : g->width;
    size_t y1 = y + reach < g->height ? y + reach : g->height;
    const grain *a = &sum[y0 * row + x0], *b = &sum[y0 * row + x1];
    const grain *c = &sum[y1 * row + x0], *d = &sum[y1 * row + x1];
    uint32_t seen = d->seen - c->seen - b->seen + a->seen;
    return seen > 0 ? (d->size - c->size - b->size + a->size) / seen : 0;
}

/* Thinned: an edge pixel's gradient is the largest along its own direction. A table's grain is full
 * of edges, so one must also stand out from what is about it. */
static void mark_edges(const pv_ground *g, const float *size, const grain *sum, edges *out)
{
    for (size_t y = 1; y + 1 < g->height; y++)
        for (size_t x = 1; x + 1 < g->width; x++) {
            size_t k = y * g->width + x;
            out->bin[k] = -1;
            if (!((double)size[k] >= GRADIENT))
                continue;
            pv_vec d = pv_unit(gradient(g, k));
            ptrdiff_t step = (ptrdiff_t)g->width * (ptrdiff_t)lround(d.y) + (ptrdiff_t)lround(d.x);
            const float *at = size + k;
            if (*at >= at[step] && *at > at[-step] &&
                (double)*at >= OVER_GRAIN * grain_at(g, sum, x, y))
                out->bin[k] = (int16_t)bin_of(d);
        }
}

static bool find_edges(const pv_ground *ground, edges *out)
{
    pv_ground soft = *ground, *g = &soft;
    size_t n = g->width * g->height, codes = n * (size_t)g->channels;
    soft.code = pv_new_array(codes, 1);
    out->width = g->width;
    out->height = g->height;
    out->bin = PV_NEW_ARRAY(n, int16_t);
    float *size = PV_NEW_ARRAY(n, float);
    grain *sum = PV_NEW_ARRAY((g->width + 1) * (g->height + 1), grain);
    bool good = soft.code != NULL && out->bin != NULL && size != NULL && sum != NULL;
    if (good) {
        memcpy(soft.code, ground->code, codes);
        smooth(g);
    }
    for (size_t k = 0; good && k < n; k++)
        out->bin[k] = -1;
    for (size_t y = 1; good && y + 1 < g->height; y++)
        for (size_t x = 1; x + 1 < g->width; x++) {
            size_t k = y * g->width + x;
            if (all_seen(g, x, y))
                size[k] = (float)pv_len(gradient(g, k));
        }
    if (good) {
        add_up(size, g->width, g->height, sum);
        mark_edges(g, size, sum, out);
    }
    free(soft.code);
    free(size);
    free(sum);
    return good;
}

/* ---- lines ---- */

static void vote(hough *h)
{
    const edges *e = &h->edges;
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
    unsigned x = ((const ruled *)a)->votes, y = ((const ruled *)b)->votes;
    return x < y ? 1 : x > y ? -1 : 0;
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

static bool edge_at(const hough *h, pv_vec p, int angle)
{
    const edges *e = &h->edges;
    if (!(p.x >= 0 && p.y >= 0 && p.x < (double)e->width && p.y < (double)e->height))
        return false;
    int bin = e->bin[(size_t)p.y * e->width + (size_t)p.x];
    if (bin < 0)
        return false;
    int apart = abs(bin - angle);
    apart = apart > ANGLES / 2 ? ANGLES - apart : apart;
    return apart <= 4 * SPREAD;
}

/* Counts edge pixels along a line, give or take one and a half px across. */
static void walk(const hough *h, const ruled *l, uint16_t *sums)
{
    pv_vec n = h->normal[l->angle], along = pv_left(n);
    pv_vec foot = pv_along(h->middle, n, l->at);
    unsigned sum = 0;
    for (size_t s = 0; s < span(h); s++) {
        pv_vec p = pv_along(foot, along, (double)s - (double)h->reach + 0.5);
        sum += edge_at(h, p, l->angle) || edge_at(h, pv_add(p, n), l->angle) ||
               edge_at(h, pv_sub(p, n), l->angle);
        sums[s] = (uint16_t)sum;
    }
}

/* Most edge pixels on a stretch of so many px. */
static unsigned best_stretch(const hough *h, const uint16_t *sums, size_t stretch)
{
    unsigned best = 0;
    for (size_t s = stretch; s < span(h); s++) {
        unsigned here = (unsigned)(sums[s] - sums[s - stretch]);
        best = here > best ? here : best;
    }
    return best;
}

/* Keeps the lines that have the best stretch of a short side's length: a line right across grain
 * has many edge pixels, too, but nowhere are they close. */
static bool keep_lines(hough *h, size_t stretch)
{
    uint16_t *sums = PV_NEW_ARRAY(span(h), uint16_t);
    if (sums == NULL)
        return false;
    size_t kept = 0;
    for (size_t i = 0; i < h->n; i++) {
        ruled *l = &h->line[i];
        walk(h, l, sums);
        l->votes = best_stretch(h, sums, stretch);
        if ((double)l->votes >= SHARE * (double)stretch)
            h->line[kept++] = *l;
    }
    free(sums);
    if (kept > 0)
        qsort(h->line, kept, sizeof *h->line, by_votes);
    h->n = kept < LINES_MAX ? kept : LINES_MAX;
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

static int turned(const ruled *a, const ruled *b)
{
    int apart = abs(a->angle - b->angle);
    return apart > ANGLES / 2 ? ANGLES - apart : apart;
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

static int by_place(const void *a, const void *b)
{
    double x = ((const crossing *)a)->at, y = ((const crossing *)b)->at;
    return x < y ? -1 : x > y;
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
    qsort(across, n, sizeof *across, by_place);
    for (size_t k = 0; k < n; k++)
        for (size_t l = k + 1; l < n; l++) {
            double apart = across[l].at - across[k].at;
            if (apart > r->length * (1 + PV_RECTANGLE_TOO))
                break;
            if (!like(apart, r->length))
                continue;
            double base = share(h, &h->line[first], across[k].at, across[l].at);
            if (base >= SHARE)
                close_up(r, first, &across[k], &across[l], base);
        }
}

bool pv_rectangles_find(const pv_ground *ground, double length, double width,
                        pv_rectangle out[PV_RECTANGLES_MAX], size_t *n)
{
    *n = 0;
    hough *h = PV_NEW(hough);
    if (h == NULL)
        return false;
    h->ground = ground;
    h->middle = pv_v((double)ground->width / 2, (double)ground->height / 2);
    h->reach = (size_t)ceil(pv_len(h->middle)) + 2;
    h->vote = PV_NEW_ARRAY(ANGLES * span(h), uint16_t);
    for (int i = 0; i < ANGLES; i++)
        h->normal[i] = pv_polar(1, PV_PI * (i + 0.5) / ANGLES);
    double k = ground->px_per_mm;
    bool good = h->vote != NULL && find_edges(ground, &h->edges);
    if (good) {
        double stretch = (width - 2 * ROUNDED_MM) * k;
        vote(h);
        good = find_peaks(h, SHARE * stretch) && keep_lines(h, (size_t)stretch);
    }
    rectangles r = {.h = h, .length = length * k, .width = width * k, .out = out};
    for (size_t i = 0; good && i < h->n; i++)
        pairs_on(&r, i);
    *n = r.n;
    free(h->sums);
    free(h->line);
    free(h->vote);
    free(h->edges.bin);
    free(h);
    return good;
}
