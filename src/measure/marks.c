/* Squares that are off, joined into marks, and what each mark is. */
#include "measure/surface.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "measure/optics.h"
#include "measure/under_card.h"

#include <stdlib.h>
#include <string.h>

/* Choices of this method, assumed; tried on simulated sheets (tests/outside/test_marks.py). */
#define AREA_MIN    1.0   /* mm2 that hang together: less is grain, and no sensor sees it */
#define CORE        0.5   /* of a mark's full size: within its edge */
#define PAINT_KEY   64.0  /* more than any square is off by */
#define FULL_SHARE  0.8   /* of its squares are off by its full size or less */
#define STEP        0.6   /* of what is off within, over three squares: a sharp edge */
#define SHARP       0.5   /* of a mark's edge: ink is that sharp, a shadow is not */
#define STEPS_MIN   4     /* places on its edge that tell */
#define UP_TO       2.5   /* squares: nearer to the cell's border, a mark comes up to it */
#define DUST_SIDE   2.5   /* mm: dust is no longer, */
#define DUST_THICK  0.8   /* or a hair no thicker as squares of 0.5 mm show it */
#define CARD_PART   30.0  /* mm across: a mark as broad may be a part of a card; assumed */
#define CARD_HIDES  20.0  /* mm along: so much hidden paint may lie beneath a card; assumed */
#define HIDES_AREA  25.0  /* mm2 of it; assumed */
#define CARD_ALIKE  0.15  /* of paper's light: nearer than that looks alike; assumed */
#define CARD_FULL   0.8   /* of a rectangle, less what looks alike, that pieces of a card fill */
#define PIECES_AREA 100.0 /* mm2 of them; assumed */
#define LIGHT_LEFT  0.2   /* of what belongs there: a shadow leaves that much */
#define HUE_LEFT    0.08  /* root mean square: a shadow, or gloss, changes hue by less */
#define SHADE_SIDE  10.0  /* mm: shadows with a sharp edge come in from the side, as wide as that */
#define SHADE_ALIKE 0.15  /* what two pieces of one shadow leave of the light differs by less */
#define SHINE       1.1   /* of paper's light: no ink, but light that something reflects */
#define HAS_PAINT   0.10  /* a planned colour that is so far from paper */
#define LIKE_BARE   0.3   /* of the way from the colour to paper: paint is missing */
#define BY_HUE      0.5   /* less of the difference is luminance: another colour */
#define U_SCAN      0.03  /* k = 2, of light relative to paper: how well paper's is known */
#define U_PHOTO     0.06
#define GAMMA       2.2 /* about sRGB's exponent */

typedef struct joiner {
    const pv_surface *s;
    pv_measures *out;
    uint32_t *mark; /* of each square: 0 none, 1 off, 2 off and no grain, else a mark's */
    size_t *list;   /* squares, those of one mark after another */
    float *spot;    /* by how much a sensor's spot about each square is off */
    double *work;
    double *least;   /* of each paint: from so much on a square is of the mark's core */
    pv_reach *reach; /* of each mark of out */
} joiner;

/* ---- what a sensor's spot sees ---- */

/* Squares that AREA_MIN takes. */
static size_t least_squares(const pv_surface *s)
{
    return (size_t)ceil(AREA_MIN / (s->pitch * s->pitch) - 1e-6);
}

/* Squares along a spot's side. */
static size_t spot_squares(const pv_surface *s)
{
    return (size_t)fmax(1, floor(s->view->art->tolerances.spot / s->pitch + 0.5));
}

/* Adds the square of one channel's mean over the spot about each square; sums has (nx + 1)(ny + 1)
 * places. */
static void add_spots(const joiner *j, int channel, double *sums)
{
    const pv_surface *s = j->s;
    size_t w = s->nx + 1, side = spot_squares(s), before = side / 2;
    memset(sums, 0, w * sizeof *sums);
    for (size_t y = 0; y < s->ny; y++) {
        double row = 0;
        sums[(y + 1) * w] = 0;
        for (size_t x = 0; x < s->nx; x++) {
            row += (double)s->off[3 * (y * s->nx + x) + (size_t)channel];
            sums[(y + 1) * w + x + 1] = sums[y * w + x + 1] + row;
        }
    }
    double share = 1.0 / (double)(side * side * (size_t)s->view->plane->channels);
    for (size_t y = 0; y < s->ny; y++) {
        size_t y0 = y > before ? y - before : 0;
        size_t y1 = y + side - before < s->ny ? y + side - before : s->ny;
        for (size_t x = 0; x < s->nx; x++) {
            size_t x0 = x > before ? x - before : 0;
            size_t x1 = x + side - before < s->nx ? x + side - before : s->nx;
            double sum =
                sums[y1 * w + x1] - sums[y0 * w + x1] - sums[y1 * w + x0] + sums[y0 * w + x0];
            j->spot[y * s->nx + x] += (float)(sum * sum * share / (double)(side * side));
        }
    }
}

static bool find_spots(joiner *j)
{
    const pv_surface *s = j->s;
    double *sums = pv_new_array((s->nx + 1) * (s->ny + 1), sizeof *sums);
    for (int c = 0; sums != NULL && c < s->view->plane->channels; c++)
        add_spots(j, c, sums);
    bool good = sums != NULL;
    free(sums);
    return good;
}

/* ---- joining ---- */

/* Collects into `list` all squares marked `from` within `reach` of one another, from `start` on,
 * and marks them `to`; how many. */
static size_t collect(joiner *j, size_t start, size_t reach, uint32_t from, uint32_t to)
{
    const pv_surface *s = j->s;
    size_t n = 0, nx = s->nx;
    j->list[n++] = start;
    j->mark[start] = to;
    for (size_t at = 0; at < n; at++) {
        size_t x = j->list[at] % nx, y = j->list[at] / nx; /* NOLINT: nx > 0 */
        size_t x0 = x > reach ? x - reach : 0, y0 = y > reach ? y - reach : 0;
        for (size_t v = y0; v <= y + reach && v < s->ny; v++)
            for (size_t u = x0; u <= x + reach && u < nx; u++) {
                size_t k = v * nx + u;
                if (j->mark[k] != from)
                    continue;
                j->mark[k] = to;
                j->list[n++] = k;
            }
    }
    return n;
}

/* ---- what a mark is ---- */

/* One mark's squares, as they are told over. */
typedef struct shape {
    size_t n, core;
    size_t hidden; /* of the core, lighter than what belongs there: no ink does that */
    double full;
    double off[3], seen[3];
    size_t box[4];          /* of the core: first and last column, first and last row */
    double mean[2], cov[3]; /* of the core, squares */
    size_t sides;           /* of squares, on the core's edge */
    size_t steps, sharp;    /* places on its edge where no other edge is; the sharp ones */
    bool border;            /* it reaches the cell's edge, or what is not looked at */
    double spot;
    size_t heaviest; /* a square of the label that most of its squares have */
    pv_reach reach;  /* of the core: mm */
} shape;

static bool in_core(const joiner *j, size_t k, uint32_t mark)
{
    return j->mark[k] == mark &&
           (double)j->s->size[k] >= j->least[pv_surface_paint(j->s, j->s->label[k])];
}

/* Looks over one side of a square of the core: dx, dy lead out. */
static void look_out(const joiner *j, shape *m, size_t k, uint32_t mark, long dx, long dy)
{
    const pv_surface *s = j->s;
    long x = (long)(k % s->nx), y = (long)(k / s->nx);
    long nx = (long)s->nx, ny = (long)s->ny;
    if (x + dx < 1 || y + dy < 1 || x + dx >= nx - 1 || y + dy >= ny - 1) {
        m->border = true;
        m->sides++;
        return;
    }
    long step = dy * nx + dx;
    size_t next = (size_t)((long)k + step), after = (size_t)((long)next + step);
    if (in_core(j, next, mark))
        return;
    m->sides++;
    if (!s->plain[k] || s->label[next] == PV_LABEL_BLOCKED || !s->plain[next])
        return;
    double inner = (double)s->size[k], outer = (double)s->size[next];
    if (x - dx >= 0 && x - dx < nx && y - dy >= 0 && y - dy < ny)
        inner = fmax(inner, (double)s->size[(size_t)((long)k - step)]);
    if (x + 2 * dx >= 0 && x + 2 * dx < nx && y + 2 * dy >= 0 && y + 2 * dy < ny &&
        s->label[after] != PV_LABEL_BLOCKED && s->plain[after])
        outer = fmin(outer, (double)s->size[after]);
    m->steps++;
    m->sharp += inner - outer >= STEP * inner;
}

static void add_square(const joiner *j, shape *m, size_t k, uint32_t mark)
{
    const pv_surface *s = j->s;
    size_t x = k % s->nx, y = k / s->nx;
    if (m->core == 0)
        m->box[0] = m->box[1] = x, m->box[2] = m->box[3] = y;
    m->core++;
    m->box[0] = x < m->box[0] ? x : m->box[0];
    m->box[1] = x > m->box[1] ? x : m->box[1];
    m->box[2] = y < m->box[2] ? y : m->box[2];
    m->box[3] = y > m->box[3] ? y : m->box[3];
    m->mean[0] += (double)x;
    m->mean[1] += (double)y;
    m->cov[0] += (double)x * (double)x;
    m->cov[1] += (double)x * (double)y;
    m->cov[2] += (double)y * (double)y;
    m->hidden += s->off[3 * k] >= s->limit[k] || s->off[3 * k + 1] >= s->limit[k] ||
                 s->off[3 * k + 2] >= s->limit[k];
    look_out(j, m, k, mark, 1, 0);
    look_out(j, m, k, mark, -1, 0);
    look_out(j, m, k, mark, 0, 1);
    look_out(j, m, k, mark, 0, -1);
}

/* Boyer and Moore's vote: the label of most of them, if any has most. */
static size_t find_heaviest(const joiner *j, const shape *m)
{
    size_t votes = 0, best = j->list[0];
    for (size_t i = 0; i < m->n; i++) {
        size_t k = j->list[i];
        if (votes == 0)
            best = k;
        votes += j->s->label[k] == j->s->label[best] ? 1 : (size_t)-1;
    }
    return best;
}

/* Its full size, and what is seen where it is off by at least half of that. */
static void weigh(const joiner *j, shape *m)
{
    const pv_surface *s = j->s;
    for (size_t i = 0; i < m->n; i++)
        j->work[i] = (double)s->size[j->list[i]];
    qsort(j->work, m->n, sizeof *j->work, pv_by_value);
    m->full = j->work[(size_t)(FULL_SHARE * (double)(m->n - 1))];
    double n = 0;
    for (size_t i = 0; i < m->n; i++) {
        size_t k = j->list[i];
        if ((double)s->size[k] < CORE * m->full)
            continue;
        n++;
        for (size_t c = 0; c < 3; c++) {
            m->off[c] += (double)s->off[3 * k + c];
            m->seen[c] += (double)s->seen[3 * k + c];
        }
    }
    for (int c = 0; c < 3; c++) {
        m->off[c] /= n;
        m->seen[c] /= n;
    }
}

/* One ink differs from each paint that it lies on by another amount, and its edge is where half of
 * that is gone: also on a paint from which it differs by less than half of its full size, if that
 * is as much as the course doesn't tolerate. */
static void find_core(joiner *j, const shape *m)
{
    const pv_surface *s = j->s;
    size_t few = least_squares(s);
    for (size_t i = 0; i < pv_surface_paints(s); i++)
        j->least[i] = CORE * m->full;
    for (size_t i = 0; i < m->n; i++) {
        size_t k = j->list[i];
        j->work[i] = PAINT_KEY * (double)pv_surface_paint(s, s->label[k]) +
                     fmin((double)s->size[k], PAINT_KEY / 2);
    }
    qsort(j->work, m->n, sizeof *j->work, pv_by_value); /* paint by paint */
    for (size_t i = 0, next; i < m->n; i = next) {
        double paint = floor(j->work[i] / PAINT_KEY);
        for (next = i; next < m->n && j->work[next] < PAINT_KEY * (paint + 1);)
            next++;
        double at = FULL_SHARE * (double)(next - i - 1);
        double full = j->work[i + (size_t)at] - PAINT_KEY * paint;
        if (next - i >= few && full >= s->view->art->tolerances.contrast)
            j->least[(size_t)paint] = fmin(CORE * m->full, CORE * full);
    }
}

static void look_over(const joiner *j, shape *m, uint32_t mark)
{
    for (size_t i = 0; i < m->n; i++) {
        size_t k = j->list[i];
        m->spot = fmax(m->spot, (double)j->spot[k]);
        if (in_core(j, k, mark))
            add_square(j, m, k, mark);
    }
    double n = (double)m->core;
    m->mean[0] /= n;
    m->mean[1] /= n;
    m->cov[0] = m->cov[0] / n - m->mean[0] * m->mean[0];
    m->cov[1] = m->cov[1] / n - m->mean[0] * m->mean[1];
    m->cov[2] = m->cov[2] / n - m->mean[1] * m->mean[1];
    m->heaviest = find_heaviest(j, m);
}

/* Extents along and across the main axis of its squares, each of which adds its own side. */
static void find_extents(const joiner *j, const shape *m, uint32_t of, pv_mark *mark)
{
    const pv_surface *s = j->s;
    double turn = atan2(2 * m->cov[1], m->cov[0] - m->cov[2]) / 2;
    double lo[2] = {HUGE_VAL, HUGE_VAL}, hi[2] = {-HUGE_VAL, -HUGE_VAL};
    double c = cos(turn), n = sin(turn);
    for (size_t i = 0; i < m->n; i++) {
        size_t k = j->list[i];
        if (!in_core(j, k, of))
            continue;
        size_t column = k % s->nx, row = k / s->nx;
        double x = (double)column, y = (double)row;
        const double at[2] = {x * c + y * n, y * c - x * n};
        for (int a = 0; a < 2; a++) {
            lo[a] = fmin(lo[a], at[a]);
            hi[a] = fmax(hi[a], at[a]);
        }
    }
    double side = s->pitch;
    mark->length = (hi[0] - lo[0]) * s->pitch + side;
    mark->width = (hi[1] - lo[1]) * s->pitch + side;
    mark->area = (double)m->core * s->pitch * s->pitch;
    mark->stroke = m->sides > 0 ? 2 * mark->area / ((double)m->sides * s->pitch) : mark->width;
}

/* By the ends of each row: no other square reaches farther. */
static void find_reach(const joiner *j, shape *m, uint32_t of)
{
    const pv_surface *s = j->s;
    double half = s->pitch / 2;
    for (size_t y = m->box[2]; y <= m->box[3]; y++) {
        size_t first = SIZE_MAX, last = 0;
        for (size_t x = m->box[0]; x <= m->box[1]; x++)
            if (in_core(j, y * s->nx + x, of)) {
                first = first == SIZE_MAX ? x : first;
                last = x;
            }
        if (first == SIZE_MAX)
            continue;
        pv_vec from = pv_surface_place(s, y * s->nx + first);
        pv_vec to = pv_surface_place(s, y * s->nx + last);
        for (int up = -1; up <= 1; up += 2) {
            pv_reach_add(&m->reach, pv_v(from.x - half, from.y + up * half));
            pv_reach_add(&m->reach, pv_v(to.x + half, to.y + up * half));
        }
    }
}

static pv_mark_kind kind_of(const pv_view *view, const pv_mark *mark, double off)
{
    static const double paper[3] = {1, 1, 1};
    if (pv_view_apart(view, mark->planned, paper) < HAS_PAINT)
        return PV_MARK_STRAY;
    double square = 0, sum = 0;
    for (int c = 0; c < view->plane->channels; c++) {
        square += (1 - mark->planned[c]) * (1 - mark->planned[c]);
        sum += (mark->seen[c] - mark->planned[c]) * (1 - mark->planned[c]);
    }
    if (sum >= LIKE_BARE * square)
        return PV_MARK_MISSING;
    return fabs(mark->contrast) < BY_HUE * off || mark->contrast > 0 ? PV_MARK_COLOUR
                                                                     : PV_MARK_STRAY;
}

/* No larger than a card, and as long as one of its sides; or it may be the part that shows of a
 * card whose rest looks like what it lies on: a broad piece of its face, or what hides paint, which
 * ink cannot. */
static bool like_card(const joiner *j, const shape *m, const pv_mark *mark)
{
    double side = j->s->pitch, hidden = (double)m->hidden * side * side;
    return pv_reach_under_one_card(&m->reach, &m->reach) &&
           (pv_like_card_side(mark->length) || pv_like_card_side(mark->width) ||
            mark->width >= CARD_PART || (mark->length >= CARD_HIDES && hidden >= HIDES_AREA));
}

/* How much of the light that belongs there is left, where all colours have lost alike, as in a
 * shadow; else 0. */
static double shaded(const pv_view *view, const pv_mark *mark)
{
    double left =
        pv_view_luminance(view, mark->seen) / fmax(pv_view_luminance(view, mark->planned), 1e-3);
    double even[3];
    for (int c = 0; c < 3; c++)
        even[c] = left * mark->planned[c];
    bool alike = pv_view_apart(view, even, mark->seen) < HUE_LEFT;
    return left < 1 && left > LIGHT_LEFT && alike ? left : 0;
}

/* Lighter by the same light in all colours. */
static bool shines(const pv_view *view, const pv_mark *mark)
{
    double even[3];
    for (int c = 0; c < 3; c++)
        even[c] = mark->planned[c] + mark->contrast;
    return mark->contrast > 0 && pv_view_apart(view, even, mark->seen) < HUE_LEFT;
}

/* What else it may be, that one picture can't tell. */
static unsigned doubt_of(const joiner *j, const shape *m, const pv_mark *mark)
{
    const pv_view *view = j->s->view;
    bool photo = view->frame->pose->kind == PV_POSE_PERSPECTIVE;
    bool soft = m->steps >= STEPS_MIN && (double)m->sharp < SHARP * (double)m->steps;
    bool from_side = photo && m->border && mark->width >= SHADE_SIDE;
    bool bright = photo && pv_view_luminance(view, mark->seen) > SHINE;
    bool cut =
        view->plane->bilevel; /* to black or white: soft or sharp, faint or dark, all alike */
    unsigned doubt = 0;
    if (mark->length <= DUST_SIDE || mark->stroke <= DUST_THICK)
        doubt |= PV_DOUBT_DUST;
    if (like_card(j, m, mark))
        doubt |= PV_DOUBT_CARD;
    if ((shaded(view, mark) > 0 && (soft || from_side)) || (cut && mark->contrast < 0))
        doubt |= PV_DOUBT_SHADOW;
    if ((shines(view, mark) && (soft || bright)) || (cut && mark->contrast > 0))
        doubt |= PV_DOUBT_GLOSS;
    return doubt;
}

/* A shadow on a photograph falls across several things of the course, and each piece of it may end
 * sharply at theirs: what leaves as much light as a shadow does may be of it. */
static void share_shadows(const pv_view *view, pv_measures *out)
{
    if (view->frame->pose->kind != PV_POSE_PERSPECTIVE)
        return;
    for (size_t i = 0; i < out->n_marks; i++) {
        double left = shaded(view, &out->marks[i]);
        if ((out->marks[i].doubt & PV_DOUBT_SHADOW) == 0 || left == 0)
            continue;
        for (size_t k = 0; k < out->n_marks; k++) {
            double other = shaded(view, &out->marks[k]);
            if (other > 0 && fabs(other - left) <= SHADE_ALIKE)
                out->marks[k].doubt |= PV_DOUBT_SHADOW;
        }
    }
}

/* Whether a square shows what one of the marks shows: there, what hides the sheet may lie upon what
 * looks like it. */
static bool looks_like(const joiner *j, const bool *in, size_t k)
{
    const float *light = j->s->seen + 3 * k;
    const double seen[3] = {(double)light[0], (double)light[1], (double)light[2]};
    for (size_t i = 0; i < j->out->n_marks; i++)
        if (in[i] && pv_view_apart(j->s->view, seen, j->out->marks[i].seen) < CARD_ALIKE)
            return true;
    return false;
}

/* Whether marks fill the rectangle about them, but for what looks like them; if it is a card's. */
static bool fill_card(const joiner *j, const bool *in, const pv_reach *all)
{
    const pv_surface *s = j->s;
    int turn = pv_reach_card_turn(all);
    size_t off = 0, others = 0;
    for (size_t k = 0; turn < PV_CARD_TURNS && k < s->nx * s->ny; k++) {
        if (s->label[k] == PV_LABEL_BLOCKED || !pv_reach_holds(all, turn, pv_surface_place(s, k)))
            continue;
        if (j->mark[k] != 0)
            off++;
        else if (!looks_like(j, in, k))
            others++;
    }
    return (double)off * s->pitch * s->pitch >= PIECES_AREA &&
           (double)off >= CARD_FULL * (double)(off + others);
}

/* Lines and areas that look like a card cut it into pieces, none of which is like a card. */
static void find_cut_card(joiner *j, size_t first, bool *in)
{
    pv_measures *out = j->out;
    pv_reach all = j->reach[first];
    size_t n = 0;
    for (size_t k = 0; k < out->n_marks; k++) {
        in[k] = pv_reach_under_one_card(&all, &j->reach[k]);
        if (in[k])
            all = pv_reach_join(&all, &j->reach[k]);
        n += in[k];
    }
    if (n < 2 || !fill_card(j, in, &all))
        return;
    for (size_t k = 0; k < out->n_marks; k++)
        out->marks[k].doubt |= in[k] ? PV_DOUBT_CARD : 0;
}

/* Pieces of a card that show apart from it. */
static bool share_cards(joiner *j)
{
    pv_measures *out = j->out;
    bool *shared = PV_NEW_ARRAY(out->n_marks, bool);
    if (shared == NULL)
        return false;
    for (size_t i = 0; i < out->n_marks; i++)
        if ((out->marks[i].doubt & PV_DOUBT_CARD) == 0)
            find_cut_card(j, i, shared);
    memset(shared, 0, out->n_marks * sizeof *shared);
    for (size_t i = 0; i < out->n_marks; i++)
        for (size_t k = 0; (out->marks[i].doubt & PV_DOUBT_CARD) != 0 && k < out->n_marks; k++)
            shared[k] = shared[k] || pv_reach_under_one_card(&j->reach[i], &j->reach[k]);
    for (size_t k = 0; k < out->n_marks; k++)
        out->marks[k].doubt |= shared[k] ? PV_DOUBT_CARD : 0;
    free(shared);
    return true;
}

/* What is not known of the light: paper's own, and the tone curve (measure/optics.h), any exponent
 * between its bounds as likely as another: half their distance over root 3, and k = 2. */
static double u_of(const pv_view *view, const pv_mark *mark)
{
    double seen = fmin(fmax(pv_view_luminance(view, mark->seen), 0), 1);
    double planned = fmin(fmax(pv_view_luminance(view, mark->planned), 0), 1);
    double low = GAMMA / PV_TONE_EXPONENT_MAX, high = GAMMA / PV_TONE_EXPONENT_MIN;
    double a = pow(seen, low) - pow(planned, low), b = pow(seen, high) - pow(planned, high);
    bool photo = view->frame->pose->kind == PV_POSE_PERSPECTIVE;
    return hypot((a - b) / sqrt(3), photo ? U_PHOTO : U_SCAN);
}

static bool name_place(const pv_surface *s, uint32_t label, pv_mark *mark)
{
    const pv_art *art = s->view->art;
    size_t paint = pv_surface_paint(s, label);
    const char *name = paint < art->n_colours ? art->colours[paint].name : "";
    mark->colour = pv_copy_text(label == PV_SURFACE_BLACK ? "black" : name);
    bool line = label >= art->n_colours && label < PV_SURFACE_BLACK;
    if (line)
        mark->line = pv_copy_text(art->lines[label - art->n_colours].id);
    return mark->colour != NULL && (!line || mark->line != NULL);
}

static bool smaller(const pv_mark *a, const pv_mark *b)
{
    return a->off < b->off;
}

/* Keeps the largest where they are too many; the mark's texts move over. */
static bool keep(joiner *j, const pv_reach *reach, pv_mark *mark)
{
    pv_measures *out = j->out;
    size_t at = 0;
    if (out->n_marks < PV_MARKS_MAX) {
        if (!PV_GROW(out->marks, out->n_marks, out->cap_marks))
            return false;
        at = out->n_marks++;
        out->marks[at] = (pv_mark){0};
    } else {
        for (size_t i = 1; i < out->n_marks; i++)
            if (smaller(&out->marks[i], &out->marks[at]))
                at = i;
        if (!smaller(&out->marks[at], mark))
            return true;
    }
    pv_mark gone = out->marks[at];
    out->marks[at] = *mark;
    *mark = gone;
    j->reach[at] = *reach;
    return true;
}

/* By the mat's edge nothing is seen within a square's reach: a mark that comes up to there goes on
 * to the edge, or ends within that. */
static void find_box(const pv_surface *s, const shape *m, pv_mark *mark)
{
    pv_box cell = s->view->shown->page->cell;
    pv_vec lo = pv_surface_place(s, m->box[2] * s->nx + m->box[0]);
    pv_vec hi = pv_surface_place(s, m->box[3] * s->nx + m->box[1]);
    const double from[2] = {lo.x, lo.y}, to[2] = {hi.x, hi.y};
    const double first[2] = {cell.lo.x, cell.lo.y}, last[2] = {cell.hi.x, cell.hi.y};
    for (int k = 0; k < 2; k++) {
        mark->lo[k] = from[k] - s->pitch / 2;
        mark->hi[k] = to[k] + s->pitch / 2;
        if (mark->lo[k] - first[k] < UP_TO * s->pitch)
            mark->lo[k] = first[k];
        if (last[k] - mark->hi[k] < UP_TO * s->pitch)
            mark->hi[k] = last[k];
    }
    mark->x = (mark->lo[0] + mark->hi[0]) / 2;
    mark->y = (mark->lo[1] + mark->hi[1]) / 2;
}

static bool describe(joiner *j, size_t n, uint32_t of)
{
    const pv_surface *s = j->s;
    shape m = {.n = n, .reach = pv_reach_none()};
    weigh(j, &m);
    pv_mark mark = {.verdict = PV_UNDECIDED,
                    .tolerance = s->view->art->tolerances.contrast,
                    .spot = s->view->art->tolerances.spot};
    for (int c = 0; c < 3; c++) {
        mark.seen[c] = m.seen[c];
        mark.planned[c] = m.seen[c] - m.off[c];
    }
    mark.contrast = pv_view_luminance(s->view, m.off);
    find_core(j, &m);
    look_over(j, &m, of);
    mark.off = sqrt(m.spot);
    find_box(s, &m, &mark);
    find_extents(j, &m, of, &mark);
    find_reach(j, &m, of);
    mark.kind = kind_of(s->view, &mark, m.full);
    mark.doubt = doubt_of(j, &m, &mark);
    mark.U = u_of(s->view, &mark);
    bool good = name_place(s, s->label[m.heaviest], &mark) && keep(j, &m.reach, &mark);
    free((char *)mark.colour);
    free((char *)mark.line);
    return good;
}

static int by_off(const void *a, const void *b)
{
    const pv_mark *p = a, *q = b;
    if (p->off != q->off)
        return pv_order(q->off, p->off);
    return p->y != q->y ? pv_order(p->y, q->y) : pv_order(p->x, q->x);
}

static bool join(joiner *j)
{
    const pv_surface *s = j->s;
    size_t n = s->nx * s->ny, least = least_squares(s);
    uint32_t next = 3;
    for (size_t k = 0; k < n; k++)
        j->mark[k] = s->label[k] != PV_LABEL_BLOCKED && s->size[k] >= s->limit[k];
    for (size_t k = 0; k < n; k++) {
        if (j->mark[k] != 1)
            continue;
        size_t size = collect(j, k, 1, 1, 2);
        for (size_t i = 0; size < least && i < size; i++)
            j->mark[j->list[i]] = 0;
    }
    for (size_t k = 0; k < n; k++)
        if (j->mark[k] == 2) {
            size_t size = collect(j, k, spot_squares(s) / 2 + 1, 2, next);
            if (!describe(j, size, next++))
                return false;
        }
    return true;
}

bool pv_surface_marks(const pv_surface *s, pv_measures *out)
{
    size_t n = s->nx * s->ny;
    joiner j = {.s = s, .out = out};
    j.mark = PV_NEW_ARRAY(n, uint32_t);
    j.list = PV_NEW_ARRAY(n, size_t);
    j.spot = PV_NEW_ARRAY(n, float);
    j.work = PV_NEW_ARRAY(n, double);
    j.least = PV_NEW_ARRAY(pv_surface_paints(s), double);
    j.reach = PV_NEW_ARRAY(PV_MARKS_MAX, pv_reach);
    bool good = j.mark != NULL && j.list != NULL && j.spot != NULL && j.work != NULL &&
                j.least != NULL && j.reach != NULL && find_spots(&j) && join(&j);
    if (good) {
        share_shadows(s->view, out);
        good = share_cards(&j);
    }
    if (good && out->n_marks > 1)
        qsort(out->marks, out->n_marks, sizeof *out->marks, by_off);
    free(j.mark);
    free(j.list);
    free(j.spot);
    free(j.work);
    free(j.least);
    free(j.reach);
    return good;
}
