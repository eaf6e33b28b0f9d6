/* What is seen on a sheet's cell less what the course may show there.
 *
 * Each colour's look is taken from this very sheet: the median over all places where it stands
 * alone, so that weak toner, a grey print or a tone curve is no mark. Near an edge anything between
 * the colours on its two sides may be seen: edges are judged elsewhere. */
#include "measure/surface.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "measure/lettering.h"

#include <stdlib.h>
#include <string.h>

/* Choices of this method, assumed; tried on simulated clean and marked sheets
 * (tests/outside/test_marks.py). */
#define SAMPLES        2000 /* squares of a colour that its look is taken from, at most */
#define PLACES_MIN     40   /* fewer tell nothing */
#define OFF_MIN        0.10 /* of paper's light: the least that a square may be off and be noted */
#define NOISES         5.0  /* standard deviations of a square's light, alike */
#define HIDDEN_APART   0.15 /* of paper's light: most of a colour is so far from the course's, */
#define HIDDEN_SHOWS   0.2  /* and so much of it shows no farther */
#define HIDDEN_NEAR    0.5  /* than this part of that, */
#define HIDDEN_FAR     0.8  /* but between here and there is */
#define HIDDEN_BETWEEN 0.2  /* no more than so much of it */
#define OVERSHOOT      0.15 /* of an edge's contrast: sharpening goes that far past both sides */
#define BARE           0.25 /* of the way from paper to the colour: no ink */
#define INKED          0.5  /* alike: ink */
#define BARE_SHARE     0.1  /* of a colour: so much of it is bare, and no more than */
#define BARE_BETWEEN   0.2  /* so much of the lesser of the two between bare and inked: a hole */
#define WIDE           0.12 /* a colour that never stands alone may be off by that */
#define BILEVEL_LOW    0.20 /* in a picture of black and white alone: darker than that is black, */
#define BILEVEL_TOP    0.75 /* lighter is white, and between the two nothing is known */

/* ---- the squares ---- */

/* The page's cell, and one square about it as far as the labels go. */
static bool start(pv_surface *s, const pv_view *view)
{
    const pv_labels *labels = &view->labels;
    pv_box cell = view->shown->page->cell;
    double lo[2] = {cell.lo.x - labels->lo.x, cell.lo.y - labels->lo.y};
    double hi[2] = {cell.hi.x - labels->lo.x, cell.hi.y - labels->lo.y};
    const size_t most[2] = {labels->nx, labels->ny};
    size_t n[2];
    for (int k = 0; k < 2; k++) {
        double from = fmax(ceil(lo[k] / labels->cell - 1e-6) - 2, 0);
        double to = fmin(floor(hi[k] / labels->cell + 1e-6) + 2, (double)most[k]);
        s->from[k] = (size_t)from;
        n[k] = to > from ? (size_t)((to - from) / 2) : 0;
    }
    s->view = view;
    s->pitch = 2 * labels->cell;
    s->nx = n[0];
    s->ny = n[1];
    size_t all = s->nx * s->ny;
    s->label = PV_NEW_ARRAY(all, uint32_t);
    s->plain = PV_NEW_ARRAY(all, uint8_t);
    s->lettered = PV_NEW_ARRAY(all, uint8_t);
    s->seen = PV_NEW_ARRAY(3 * all, float);
    s->off = PV_NEW_ARRAY(3 * all, float);
    s->size = PV_NEW_ARRAY(all, float);
    s->limit = PV_NEW_ARRAY(all, float);
    s->paint = PV_NEW_ARRAY(pv_surface_paints(s), pv_paint);
    return s->label != NULL && s->plain != NULL && s->lettered != NULL && s->seen != NULL &&
           s->off != NULL && s->size != NULL && s->limit != NULL && s->paint != NULL;
}

void pv_surface_close(pv_surface *s)
{
    free(s->label);
    free(s->plain);
    free(s->lettered);
    free(s->seen);
    free(s->off);
    free(s->size);
    free(s->limit);
    free(s->paint);
    *s = (pv_surface){0};
}

/* ---- what is seen ---- */

/* The mean over whole pixels about a place; false where they leave the picture. */
static bool see(const pv_plane *plane, pv_vec px, double half, double light[3])
{
    double lo_x = floor(px.x - half + 0.5), hi_x = floor(px.x + half + 0.5);
    double lo_y = floor(px.y - half + 0.5), hi_y = floor(px.y + half + 0.5);
    if (!(half < 1000 && lo_x >= 0 && lo_y >= 0 && hi_x <= (double)plane->width &&
          hi_y <= (double)plane->height))
        return false;
    size_t k = (size_t)plane->channels, x0 = (size_t)lo_x, x1 = (size_t)hi_x;
    size_t y0 = (size_t)lo_y, y1 = (size_t)hi_y;
    x1 += x1 == x0 && x1 < plane->width;
    y1 += y1 == y0 && y1 < plane->height;
    uint64_t sum[3] = {0, 0, 0};
    for (size_t y = y0; y < y1; y++) {
        const uint16_t *row = plane->samples + y * plane->width * k;
        if (k == 1) {
            for (size_t x = x0; x < x1; x++)
                sum[0] += row[x];
        } else {
            for (size_t x = x0; x < x1; x++) {
                sum[0] += row[3 * x];
                sum[1] += row[3 * x + 1];
                sum[2] += row[3 * x + 2];
            }
        }
    }
    double n = (double)((x1 - x0) * (y1 - y0));
    for (size_t c = 0; c < 3; c++)
        light[c] = n > 0 ? (double)sum[c < k ? c : 0] / (65535.0 * n) : 0;
    return n > 0;
}

/* Of one of the labels' cells. Teeth about a card's place are no art, but plain black. */
static uint32_t cell_label(const pv_surface *s, size_t at)
{
    const pv_labels *labels = &s->view->labels;
    if (labels->edged[at] == PV_LABEL_TOOTH)
        return PV_SURFACE_BLACK;
    if (labels->edged[at] != PV_LABEL_BY_TOOTH)
        return labels->edged[at] != 0 ? PV_LABEL_BLOCKED : labels->at[at];
    size_t row = at / labels->nx, column = at - row * labels->nx;
    pv_vec middle = pv_add(labels->lo, pv_v(((double)column + 0.5) * labels->cell,
                                            ((double)row + 0.5) * labels->cell));
    pv_spot spot = pv_scene_at(s->view->shown->page->mat, middle);
    return spot.off ? PV_LABEL_WASTE : (uint32_t)spot.colour;
}

/* Cells [x0, x1) by [y0, y1) of the labels. */
typedef struct reach {
    size_t x0, x1, y0, y1;
} reach;

/* Within one square's reach of a square. */
static reach reach_of(const pv_surface *s, size_t index)
{
    const pv_labels *labels = &s->view->labels;
    size_t i = s->from[0] + 2 * (index % s->nx), j = s->from[1] + 2 * (index / s->nx);
    return (reach){i > 2 ? i - 2 : 0, i + 4 < labels->nx ? i + 4 : labels->nx, j > 2 ? j - 2 : 0,
                   j + 4 < labels->ny ? j + 4 : labels->ny};
}

/* Beside letters' box, with nothing else in reach that hides what is there. */
static bool beside_letters(const pv_surface *s, size_t index)
{
    const pv_labels *labels = &s->view->labels;
    reach r = reach_of(s, index);
    bool beside = false;
    for (size_t y = r.y0; y < r.y1; y++)
        for (size_t x = r.x0; x < r.x1; x++) {
            size_t at = y * labels->nx + x;
            bool letters = labels->edged[at] == PV_LABEL_LETTERED;
            if (!letters && cell_label(s, at) == PV_LABEL_BLOCKED)
                return false;
            beside = beside || letters;
        }
    return beside;
}

/* All labels within one square's reach of a square. */
typedef void visit_label(void *context, uint32_t label);

static void each_label(const pv_surface *s, size_t index, visit_label *visit, void *context)
{
    const pv_labels *labels = &s->view->labels;
    reach r = reach_of(s, index);
    for (size_t y = r.y0; y < r.y1; y++)
        for (size_t x = r.x0; x < r.x1; x++)
            visit(context, cell_label(s, y * labels->nx + x));
}

/* The one label of a square, of two cells each way; BLOCKED where one of them is, save by
 * lettering: then it is the colour beneath. */
static uint32_t own_label(const pv_surface *s, size_t index, uint8_t *lettered)
{
    const pv_labels *labels = &s->view->labels;
    size_t i = index % s->nx, j = index / s->nx;
    size_t first = (s->from[1] + 2 * j) * labels->nx + s->from[0] + 2 * i;
    const size_t at[4] = {first, first + 1, first + labels->nx, first + labels->nx + 1};
    for (int k = 0; k < 4; k++) {
        bool letters = labels->edged[at[k]] == PV_LABEL_LETTERED;
        if (!letters && cell_label(s, at[k]) == PV_LABEL_BLOCKED)
            return PV_LABEL_BLOCKED;
        *lettered |= letters;
    }
    *lettered = *lettered || beside_letters(s, index);
    if (!*lettered)
        return cell_label(s, first);
    pv_spot spot = pv_scene_at(s->view->shown->page->mat, pv_surface_place(s, index));
    return spot.off || spot.colour >= s->view->art->n_colours ? PV_LABEL_BLOCKED
                                                              : (uint32_t)spot.colour;
}

static void read_squares(pv_surface *s)
{
    const pv_view *view = s->view;
    for (size_t index = 0; index < s->nx * s->ny; index++) {
        s->label[index] = own_label(s, index, &s->lettered[index]);
        if (s->label[index] == PV_LABEL_BLOCKED)
            continue;
        pv_vec at = pv_surface_place(s, index);
        pv_local local = pv_frame_at(view->frame, at);
        double half = s->pitch / 2 * sqrt(fabs(pv_cross_z(local.dx, local.dy)));
        double light[3], white[3];
        if (!see(view->plane, local.px, half, light)) {
            s->label[index] = PV_LABEL_BLOCKED;
            continue;
        }
        pv_white_at(&view->white, at, white);
        for (size_t c = 0; c < 3; c++)
            s->seen[3 * index + c] = (float)(light[c] / white[c]);
    }
}

/* ---- where one colour stands alone ---- */

typedef struct alone {
    const pv_surface *s;
    size_t paint;
    bool is;
} alone;

static void compare_label(void *context, uint32_t label)
{
    alone *a = context;
    a->is = a->is && label != PV_LABEL_BLOCKED && pv_surface_paint(a->s, label) == a->paint;
}

static void find_plain(pv_surface *s)
{
    for (size_t index = 0; index < s->nx * s->ny; index++) {
        if (s->label[index] == PV_LABEL_BLOCKED || s->lettered[index])
            continue;
        alone a = {.s = s, .paint = pv_surface_paint(s, s->label[index]), .is = true};
        each_label(s, index, compare_label, &a);
        s->plain[index] = a.is;
    }
}

/* ---- what each colour looks like ---- */

/* How much of the way from paper to a colour, 1: there. */
static double way_from_paper(const pv_view *view, const float seen[3], const double nominal[3])
{
    double square = 0, sum = 0;
    for (int c = 0; c < view->plane->channels; c++) {
        square += (1 - nominal[c]) * (1 - nominal[c]);
        sum += (1 - (double)seen[c]) * (1 - nominal[c]);
    }
    return square > 0 ? sum / square : 1;
}

/* What nothing on the sheet shows: about what the course says. */
static void paint_by_course(const double nominal[3], pv_paint *paint)
{
    for (int c = 0; c < 3; c++) {
        paint->lo[c] = 0;
        paint->hi[c] = (float)fmin(nominal[c] + WIDE, 1);
        paint->middle[c] = (float)nominal[c];
    }
}

typedef struct palette {
    pv_surface *s;
    float *items; /* 3 SAMPLES */
    double *work; /* 2 SAMPLES */
} palette;

static size_t sample(palette *p, size_t colour, size_t all)
{
    const pv_surface *s = p->s;
    size_t step = all / SAMPLES + 1, met = 0, n = 0;
    for (size_t k = 0; k < s->nx * s->ny && n < SAMPLES; k++) {
        if (!s->plain[k] || pv_surface_paint(s, s->label[k]) != colour || met++ % step != 0)
            continue;
        memcpy(p->items + 3 * n++, s->seen + 3 * k, 3 * sizeof *p->items);
    }
    return n;
}

/* Ink of a colour, weak or not: nearer to it than bare paper is. What is darker by far lies on it.
 */
static bool inked(const pv_view *view, const float seen[3], const double nominal[3])
{
    static const double paper[3] = {1, 1, 1};
    const double shown[3] = {(double)seen[0], (double)seen[1], (double)seen[2]};
    return way_from_paper(view, seen, nominal) > INKED &&
           pv_view_apart(view, shown, nominal) < pv_view_apart(view, paper, nominal);
}

/* Where much of a colour is bare and some of it is not, its look is that of what is not. */
static size_t keep_inked(palette *p, size_t n, const double nominal[3])
{
    const pv_view *view = p->s->view;
    size_t count = 0, bare = 0;
    for (size_t i = 0; i < n; i++) {
        p->work[i] = way_from_paper(view, p->items + 3 * i, nominal);
        bare += p->work[i] <= BARE;
        count += inked(view, p->items + 3 * i, nominal);
    }
    double between = (double)(n - bare) - (double)count;
    bool hole = (double)bare >= BARE_SHARE * (double)n &&
                between <= BARE_BETWEEN * (double)(bare < count ? bare : count);
    bool most = pv_median(p->work, n, p->work + SAMPLES) <= BARE;
    if (count < PLACES_MIN || !(hole || most))
        return n;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (inked(view, p->items + 3 * i, nominal))
            memmove(p->items + 3 * kept++, p->items + 3 * i, 3 * sizeof *p->items);
    return kept;
}

static double from_course(const pv_view *view, const float seen[3], const double nominal[3])
{
    const double shown[3] = {(double)seen[0], (double)seen[1], (double)seen[2]};
    return pv_view_apart(view, shown, nominal);
}

/* Where something hides most of a colour but a good part of it shows, its look is that of the part:
 * nearer to what the course says, with little between the two. */
static size_t keep_nearer(palette *p, size_t n, const double nominal[3])
{
    const pv_view *view = p->s->view;
    size_t near = 0, between = 0;
    for (size_t i = 0; i < n; i++)
        p->work[i] = from_course(view, p->items + 3 * i, nominal);
    double far = pv_median(p->work, n, p->work + SAMPLES), most = HIDDEN_NEAR * far;
    for (size_t i = 0; i < n; i++) {
        double apart = from_course(view, p->items + 3 * i, nominal);
        near += apart <= most;
        between += apart > most && apart <= HIDDEN_FAR * far;
    }
    if (far < HIDDEN_APART || near < PLACES_MIN || (double)near < HIDDEN_SHOWS * (double)n ||
        (double)between > HIDDEN_BETWEEN * (double)near)
        return n;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (from_course(view, p->items + 3 * i, nominal) <= most)
            memmove(p->items + 3 * kept++, p->items + 3 * i, 3 * sizeof *p->items);
    return kept;
}

static void look_of(palette *p, size_t n, pv_paint *paint)
{
    double square = 0;
    int channels = p->s->view->plane->channels;
    for (int c = 0; c < 3; c++) {
        for (size_t i = 0; i < n; i++)
            p->work[i] = (double)p->items[3 * i + (size_t)c];
        double middle = pv_median(p->work, n, p->work + SAMPLES);
        for (size_t i = 0; i < n; i++)
            p->work[i] = fabs(p->work[i] - middle);
        double noise = PV_MAD_TO_SIGMA * pv_median(p->work, n, p->work + SAMPLES);
        paint->lo[c] = paint->hi[c] = paint->middle[c] = (float)middle;
        square += c < channels ? noise * noise / channels : 0;
    }
    paint->noise = (float)sqrt(square);
    paint->known = true;
}

/* A picture of black and white alone: colours near the cut come out as either. */
static bool near_cut(const pv_view *view, const double nominal[3])
{
    double luminance = pv_view_luminance(view, nominal);
    return view->plane->bilevel && luminance > BILEVEL_LOW && luminance < BILEVEL_TOP;
}

static bool find_paints(pv_surface *s)
{
    const pv_view *view = s->view;
    size_t n_paints = pv_surface_paints(s), paper = view->art->n_colours;
    palette p = {.s = s};
    size_t *count = PV_NEW_ARRAY(n_paints, size_t);
    p.items = PV_NEW_ARRAY(3 * SAMPLES, float);
    p.work = PV_NEW_ARRAY(2 * SAMPLES, double);
    bool good = count != NULL && p.items != NULL && p.work != NULL;
    for (size_t k = 0; good && k < s->nx * s->ny; k++)
        if (s->plain[k])
            count[pv_surface_paint(s, s->label[k])]++;
    for (size_t i = 0; good && i < n_paints; i++) {
        double light = i == paper ? 1 : 0, nominal[3] = {light, light, light};
        if (i < paper)
            pv_view_nominal(view, i, nominal);
        paint_by_course(nominal, &s->paint[i]);
        if (near_cut(view, nominal)) {
            for (int c = 0; c < 3; c++)
                s->paint[i].hi[c] = 1;
        } else if (i == paper) {
            for (int c = 0; c < 3; c++)
                s->paint[i].lo[c] = s->paint[i].hi[c] = 1;
        } else if (count[i] >= PLACES_MIN) {
            size_t n = keep_inked(&p, sample(&p, i, count[i]), nominal);
            n = keep_nearer(&p, n, nominal);
            look_of(&p, n, &s->paint[i]);
        }
    }
    free(count);
    free(p.items);
    free(p.work);
    return good;
}

/* ---- what is off ---- */

typedef struct widening {
    const pv_surface *s;
    pv_range range;
} widening;

/* A label that is blocked hides a thin line, or what isn't the course's. */
static void widen_range(void *context, uint32_t label)
{
    widening *w = context;
    if (label == PV_LABEL_BLOCKED)
        w->range.blind = true;
    else
        pv_range_add(&w->range, &w->s->paint[pv_surface_paint(w->s, label)]);
}

static void compare(pv_surface *s, const pv_letterings *letterings, size_t index)
{
    const pv_paint *own = &s->paint[pv_surface_paint(s, s->label[index])];
    widening w = {.s = s, .range.noise = own->noise};
    pv_range *r = &w.range;
    memcpy(r->lo, own->lo, sizeof r->lo);
    memcpy(r->hi, own->hi, sizeof r->hi);
    if (s->lettered[index] == PV_LETTERED_MAYBE || s->lettered[index] == PV_LETTERED_BARE)
        pv_letterings_widen(letterings, s, index, r);
    else if (s->lettered[index] == 0 && !s->plain[index])
        each_label(s, index, widen_range, &w);
    if (r->blind) {
        s->label[index] = PV_LABEL_BLOCKED;
        return;
    }
    double square = 0;
    int channels = s->view->plane->channels;
    for (int c = 0; c < 3; c++) {
        float past = (float)OVERSHOOT * (r->hi[c] - r->lo[c]);
        float seen = s->seen[3 * index + (size_t)c];
        float off = seen - fminf(fmaxf(seen, r->lo[c] - past), r->hi[c] + past);
        s->off[3 * index + (size_t)c] = off;
        square += c < channels ? (double)(off * off) / channels : 0;
    }
    s->size[index] = (float)sqrt(square);
    s->limit[index] = fmaxf((float)OFF_MIN, (float)NOISES * r->noise);
}

/* The outermost squares stand outside of the cell. */
static bool outside(const pv_surface *s, size_t index)
{
    size_t i = index % s->nx, j = index / s->nx;
    return i == 0 || j == 0 || i + 1 == s->nx || j + 1 == s->ny;
}

static void compare_all(pv_surface *s, const pv_letterings *letterings)
{
    size_t all = 0, asked = 0;
    for (size_t k = 0; k < s->nx * s->ny; k++) {
        if (outside(s, k)) {
            s->label[k] = PV_LABEL_BLOCKED;
            continue;
        }
        all++;
        if (s->label[k] != PV_LABEL_BLOCKED)
            compare(s, letterings, k);
        asked += s->label[k] != PV_LABEL_BLOCKED;
    }
    s->asked = all > 0 ? (double)asked / (double)all : 0;
}

bool pv_surface_open(pv_surface *s, const pv_view *view)
{
    *s = (pv_surface){0};
    if (!start(s, view))
        return false;
    read_squares(s);
    find_plain(s);
    pv_letterings letterings = {0};
    bool good = pv_letterings_find(&letterings, view->shown) &&
                pv_letterings_place(&letterings, s) && find_paints(s);
    if (good)
        compare_all(s, &letterings);
    good = good && pv_letterings_fill(&letterings, s);
    pv_letterings_clear(&letterings);
    return good;
}
