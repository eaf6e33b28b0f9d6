/* Areas of plain colour: how they came out. */
#include "base/light.h"
#include "base/memory.h"
#include "base/numeric.h"
#include "measure/shape.h"

#include <stdlib.h>
#include <string.h>

/* Assumed, tried on faults painted into pages (tests/outside/test_shape.py). */
#define LIKE_PAPER 0.6  /* of the way from the colour to paper: looks bare */
#define ALL_BARE   0.25 /* of the nominal difference from paper: the ink isn't there at all */
#define MOTTLE_NEAR                                                                                \
    0.3 /* of the nominal difference from paper: squares within that of the median                 \
           are ink */

/* A device that whitens: assumed. Scanners take what is nearly white for paper ("remove
 * background", automatic exposure, text modes), and show paper as the lightest code or nearly. */
#define PALE     0.40 /* nominal difference from paper: such a colour may be taken for paper */
#define TOP      0.93 /* of the lightest code's light: paper that is lighter may have been clipped */
#define DARK     0.40 /* luminance of what no device whitens */
#define WELL     0.75 /* of the nominal difference from paper: inked */
#define WELL_FEW 0.10 /* of the area's squares are inked: it is gone all over */

/* Squares of one label that touch. */
typedef struct patch {
    const pv_view *view;
    size_t *items; /* indices of squares; those of one patch after another */
    size_t n;
    double *light; /* n x 3, relative to paper */
    double *work;  /* 2 n */
} patch;

static pv_vec place(const pv_view *view, size_t index)
{
    const pv_cells *cells = &view->cells;
    size_t row = index / cells->nx, column = index % cells->nx;
    return pv_add(cells->lo, pv_v((double)column * cells->pitch, (double)row * cells->pitch));
}

/* Collects the squares that hang together with one, from p->items on; marks them in `taken`. */
static void collect(patch *p, size_t start, bool *taken)
{
    const pv_cells *cells = &p->view->cells;
    uint32_t label = cells->at[start].label;
    p->n = 0;
    p->items[p->n++] = start;
    taken[start] = true;
    for (size_t at = 0; at < p->n; at++) {
        size_t k = p->items[at], i = k % cells->nx, j = k / cells->nx;
        const size_t next[4] = {i > 0 ? k - 1 : k, i + 1 < cells->nx ? k + 1 : k,
                                j > 0 ? k - cells->nx : k, j + 1 < cells->ny ? k + cells->nx : k};
        for (int d = 0; d < 4; d++) {
            if (taken[next[d]] || cells->at[next[d]].label != label)
                continue;
            taken[next[d]] = true;
            p->items[p->n++] = next[d];
        }
    }
}

/* Every square's light relative to paper, and the median. */
static void read_light(patch *p, double median[3])
{
    const pv_view *view = p->view;
    for (size_t i = 0; i < p->n; i++) {
        double white[3];
        pv_white_at(&view->white, place(view, p->items[i]), white);
        const pv_cell *cell = &view->cells.at[p->items[i]];
        for (size_t c = 0; c < 3; c++) {
            size_t from = view->plane->channels == 3 ? c : 0;
            p->light[3 * i + c] = (double)cell->light[from] / white[c];
        }
    }
    for (size_t c = 0; c < 3; c++) {
        for (size_t i = 0; i < p->n; i++)
            p->work[i] = p->light[3 * i + c];
        median[c] = pv_median(p->work, p->n, p->work + p->n);
    }
}

/* How much of the way from paper to the nominal colour. */
static double strength_of(const pv_view *view, const double printed[3], const double nominal[3])
{
    double square = 0, sum = 0;
    int channels = view->plane->channels;
    for (int c = 0; c < channels; c++) {
        square += (1 - nominal[c]) * (1 - nominal[c]);
        sum += (1 - printed[c]) * (1 - nominal[c]);
    }
    return square > 0 ? sum / square : 1;
}

/* Squares that look bare: nearer to paper than to the colour, by a margin. */
static double share_missing(const patch *p, const double colour[3])
{
    size_t n = 0;
    double square = 0;
    int channels = p->view->plane->channels;
    for (int c = 0; c < channels; c++)
        square += (1 - colour[c]) * (1 - colour[c]);
    for (size_t i = 0; i < p->n; i++) {
        double sum = 0;
        for (int c = 0; c < channels; c++)
            sum += (p->light[3 * i + (size_t)c] - colour[c]) * (1 - colour[c]);
        n += sum >= LIKE_PAPER * square;
    }
    return (double)n / (double)p->n;
}

/* The colour is gone evenly, and paper is as light as can be. */
static bool is_whitened(const patch *p, pv_vec at, double asked, double strength,
                        const double nominal[3])
{
    double white[3];
    pv_white_at(&p->view->white, at, white);
    if (asked < PV_FILL_APART || asked > PALE || strength >= PV_STRONG_FAIR ||
        pv_view_luminance(p->view, white) < TOP)
        return false;
    size_t inked = 0;
    for (size_t i = 0; i < p->n; i++)
        inked += strength_of(p->view, &p->light[3 * i], nominal) >= WELL;
    return (double)inked <= WELL_FEW * (double)p->n;
}

/* Of the squares that have ink. */
static double mottle_of(const patch *p, const double median[3], double asked)
{
    double sum = 0, squares = 0;
    size_t n = 0;
    for (size_t i = 0; i < p->n; i++) {
        if (pv_view_apart(p->view, &p->light[3 * i], median) > fmax(MOTTLE_NEAR * asked, 0.05))
            continue;
        double y = pv_view_luminance(p->view, &p->light[3 * i]);
        sum += y;
        squares += y * y;
        n++;
    }
    if (n < 2)
        return 0;
    double mean = sum / (double)n;
    return sqrt(fmax(squares / (double)n - mean * mean, 0));
}

/* An area with its values, which are kept apart until it is known which areas are. */
typedef struct found_area {
    pv_fill_result area;
    pv_value strength, missing, mottle;
} found_area;

static void measure_area(patch *p, size_t colour, found_area *out)
{
    static const double paper[3] = {1, 1, 1};
    const pv_view *view = p->view;
    double median[3], nominal[3];
    read_light(p, median);
    pv_view_nominal(view, colour, nominal);
    pv_vec at = place(view, p->items[p->n / 2]);
    pv_fill_result *area = &out->area;
    *area = (pv_fill_result){.colour = view->art->colours[colour].name,
                             .x = at.x,
                             .y = at.y,
                             .area = (double)p->n * view->cells.pitch * view->cells.pitch,
                             .gray = pv_view_gray(view, median, nominal)};
    memcpy(area->nominal, nominal, sizeof area->nominal);
    memcpy(area->printed, median, sizeof area->printed);
    double asked = pv_view_apart(view, nominal, paper), got = pv_view_apart(view, median, paper);
    double strength = strength_of(view, median, nominal), mottle = mottle_of(p, median, asked);
    bool told = asked >= PV_FILL_APART, bare = told && got < ALL_BARE * asked;
    double missing = told ? share_missing(p, bare ? nominal : median) : 0;
    out->strength = (pv_value){.kind = PV_KIND_STRENGTH,
                               .nominal = 1,
                               .value = strength,
                               .tolerance = 1 - PV_STRONG_FAIR,
                               .measured = true,
                               .fair = !told || bare || strength >= PV_STRONG_FAIR};
    out->missing = (pv_value){.kind = PV_KIND_MISSING,
                              .value = missing,
                              .tolerance = PV_MISSING_FAIR,
                              .measured = told,
                              .fair = missing < PV_MISSING_FAIR};
    out->mottle = (pv_value){.kind = PV_KIND_MOTTLE,
                             .value = mottle,
                             .tolerance = PV_MOTTLE_FAIR,
                             .measured = true,
                             .fair = mottle <= PV_MOTTLE_FAIR};
    area->whitened = is_whitened(p, at, asked, strength, nominal);
    area->fair = out->strength.fair && out->missing.fair && out->mottle.fair && !area->gray;
}

typedef struct found_areas {
    found_area *items;
    size_t n, cap;
} found_areas;

/* Whether any dark area or line came out well, so that a pale one's loss isn't weak toner's. */
static bool dark_is_fine(const found_areas *list, const pv_measures *out)
{
    for (size_t i = 0; i < list->n; i++)
        if (pv_luminance(list->items[i].area.nominal) < DARK &&
            list->items[i].strength.value >= WELL)
            return true;
    for (size_t i = 0; i < out->n_values; i++) {
        const pv_value *row = &out->values[i];
        if (row->kind == PV_KIND_CONTRAST && row->measured && row->nominal > 1 - DARK &&
            row->value >= WELL * row->nominal)
            return true;
    }
    return false;
}

/* Keeps the largest where they are too many. */
static bool keep(found_areas *list, const found_area *one)
{
    if (list->n < PV_FILLS_MAX) {
        if (!PV_GROW(list->items, list->n, list->cap))
            return false;
        list->items[list->n++] = *one;
        return true;
    }
    size_t least = 0;
    for (size_t i = 1; i < list->n; i++)
        if (list->items[i].area.area < list->items[least].area.area)
            least = i;
    if (list->items[least].area.area < one->area.area)
        list->items[least] = *one;
    return true;
}

static bool add_area(pv_measures *out, found_area *one)
{
    one->strength.subject = one->missing.subject = one->mottle.subject = out->n_fills;
    return pv_measures_add_fill(out, &one->area) && pv_measures_add(out, &one->strength) &&
           pv_measures_add(out, &one->missing) && pv_measures_add(out, &one->mottle);
}

static bool is_bare(const pv_colour *colour)
{
    return colour->rgb[0] == 255 && colour->rgb[1] == 255 && colour->rgb[2] == 255;
}

bool pv_shape_fills(const pv_view *view, pv_measures *out)
{
    const pv_cells *cells = &view->cells;
    size_t n = cells->nx * cells->ny;
    if (!view->white.known || view->plane->bilevel)
        return true;
    patch p = {.view = view};
    found_areas found = {0};
    bool *taken = PV_NEW_ARRAY(n, bool);
    p.items = PV_NEW_ARRAY(n, size_t);
    p.light = PV_NEW_ARRAY(3 * n, double);
    p.work = PV_NEW_ARRAY(2 * n, double);
    bool good = taken != NULL && p.items != NULL && p.light != NULL && p.work != NULL;
    for (size_t k = 0; good && k < n; k++) {
        uint32_t label = cells->at[k].label;
        if (taken[k] || label >= view->art->n_colours || is_bare(&view->art->colours[label]))
            continue;
        collect(&p, k, taken);
        if (p.n < PV_FILL_CELLS_MIN)
            continue;
        found_area one;
        measure_area(&p, label, &one);
        good = keep(&found, &one);
    }
    if (!dark_is_fine(&found, out))
        for (size_t i = 0; i < found.n; i++)
            found.items[i].area.whitened = false;
    for (size_t i = 0; good && i < found.n; i++)
        good = add_area(out, &found.items[i]);
    free(found.items);
    free(taken);
    free(p.items);
    free(p.light);
    free(p.work);
    return good;
}
