#include "reference/edge_map.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* Choices of this search, assumed and tried on simulated cards on simulated tables
 * (tests/outside/card_cases.py): wood grain, soft shadows, busy faces. */
#define SMOOTH     2    /* px to each side that a smoothed code depends on */
#define GRADIENT   2.0  /* codes per px: less is no edge */
#define OVER_GRAIN 1.5  /* times the mean of what is about it: less is no edge */
#define GRAIN_MM   8.0  /* to each side: about it */
#define GRAIN_MOST 20.0 /* codes per px: what is steeper counts as this, in the mean */

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
    int x = 0, y = 0;
    for (size_t c = 0; c < n; c++) {
        const uint8_t *p = g->code + k * n + c, *low = p - row, *high = p + row;
        int left = high[-(ptrdiff_t)n] + 2 * p[-(ptrdiff_t)n] + low[-(ptrdiff_t)n];
        int right = high[n] + 2 * p[n] + low[n];
        int under = low[-(ptrdiff_t)n] + 2 * low[0] + low[n];
        int over = high[-(ptrdiff_t)n] + 2 * high[0] + high[n];
        int dx = right - left, dy = over - under;
        if (dx * dx + dy * dy > x * x + y * y) {
            x = dx;
            y = dy;
        }
    }
    return pv_v(x / 8.0, y / 8.0);
}

static int bin_of(pv_vec d)
{
    double turn = atan2(d.y, d.x) / PV_PI; /* -1 to 1; half turns are alike */
    int bin = (int)floor((turn + 1) * PV_EDGE_ANGLES);
    return ((bin % PV_EDGE_ANGLES) + PV_EDGE_ANGLES) % PV_EDGE_ANGLES;
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
static void mark_edges(const pv_ground *g, const float *size, const grain *sum, pv_edge_map *out)
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

bool pv_edge_map_make(const pv_ground *ground, pv_edge_map *out)
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
            if (all_seen(g, x, y)) {
                pv_vec d = gradient(g, k);
                size[k] = (float)sqrt(pv_dot(d, d));
            }
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

void pv_edge_map_clear(pv_edge_map *map)
{
    free(map->bin);
    *map = (pv_edge_map){.width = 0};
}
