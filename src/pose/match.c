/* Each pair of neighbouring places tells by how much the course's luminance changes from one to the
 * other, E, and by how much that of the picture does, O, in units of a tag's contrast. Over all
 * pairs, O = gain E + something else. Of the sheet itself the gain is near 1, however it is lit,
 * for light changes slowly; a card, a hand or a fold that hides a part takes only that part of it.
 * Faded ink fades in the tags, too. Of another sheet what is seen has nothing to do with what is
 * expected: the gain is near 0, and all that is printed there is something else. */
#include "pose/match.h"

#include <math.h>

#define PITCH          2.0 /* mm between places */
#define APART          2 /* so many of them between the two of a pair: 4 mm, past any edge's blur */
#define PLACES_MAX     600  /* along a side; larger cells are looked at more coarsely */
#define STEP_LEAST     0.25 /* of E: a change of colour that any print of it shows */
#define STEPS_NEEDED   40   /* fewer tell nothing */
#define SPREAD         0.15 /* mm, or a pixel: what is thinner counts as little as it shows */
#define CONTRAST_LEAST 0.05 /* of a tag, linear light: below, nothing is comparable */
/* Assumed; tests/outside/test_identity.py states what true and strange sheets have. */
#define GAIN_LEAST   0.35
#define STRANGE_MOST 0.15
#define BLACK_LEAST  0.1
#define BLACK_CODE   40 /* a colour whose codes are no higher is printed with black ink */

/* One of the nine points about a place over which both are averaged. */
static pv_vec about(pv_vec at, double spread, int i)
{
    int column = i % 3 - 1, row = i / 3 - 1;
    return pv_add(at, pv_v(column * spread, row * spread));
}

/* Linear luminance about a place of the page; NAN outside the picture. */
static double seen_at(const pv_plane *plane, const pv_pose *pose, pv_vec at, double spread)
{
    static const double share[3] = {0.2126, 0.7152, 0.0722}; /* IEC 61966-2-1 */
    double sum = 0;
    for (int i = 0; i < 9; i++) {
        pv_vec px = pv_pose_map(pose, about(at, spread, i));
        if (!(px.x >= 0 && px.y >= 0 && px.x < (double)plane->width &&
              px.y < (double)plane->height))
            return NAN;
        size_t pixel = (size_t)px.y * plane->width + (size_t)px.x;
        const uint16_t *s = plane->samples + pixel * (size_t)plane->channels;
        if (plane->channels == 1)
            sum += s[0];
        else
            sum += share[0] * s[0] + share[1] * s[1] + share[2] * s[2];
    }
    return sum / 9 / 65535;
}

/* The same of the course; NAN off the mat. */
static double expected_at(const pv_scene *page, pv_vec at, double spread)
{
    double sum = 0;
    for (int i = 0; i < 9; i++) {
        pv_spot spot = pv_scene_at(page, about(at, spread, i));
        sum += spot.off ? NAN : pv_colour_luminance(&page->art->colours[spot.colour]);
    }
    return sum / 9;
}

/* The white ring of a tag less the black one about it, the mean over all that show. */
static double tag_contrast(const pv_scene *page, const pv_plane *plane, const pv_pose *pose)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < page->n_items; i++) {
        if (page->items[i].kind != PV_ITEM_TAG)
            continue;
        double cell = page->items[i].u.tag.cell;
        pv_vec centre = pv_sub(page->items[i].u.tag.centre, page->page.lo);
        for (int side = 0; side < 4; side++) {
            pv_vec out = pv_v(side == 0   ? cell
                              : side == 1 ? -cell
                                          : 0,
                              side == 2   ? cell
                              : side == 3 ? -cell
                                          : 0);
            double inner = PV_TAG_CELLS / 2.0 - PV_TAG_INSET - 0.5, outer = inner + 1;
            double white = seen_at(plane, pose, pv_add(centre, pv_scale(out, inner)), 0);
            double black = seen_at(plane, pose, pv_add(centre, pv_scale(out, outer)), 0);
            if (!isfinite(white - black))
                continue;
            sum += white - black;
            n++;
        }
    }
    return n > 0 ? sum / (double)n : 0;
}

typedef struct sums {
    double ee, eo, oo;
    size_t steps;
} sums;

/* A place of the cell: what the course has there, and what is seen. */
typedef struct place {
    double expected, seen; /* linear luminance; NAN where there is none */
    bool black;
} place;

static void add(sums *to, double expected, double seen)
{
    to->ee += expected * expected;
    to->eo += expected * seen;
    to->oo += seen * seen;
    to->steps += fabs(expected) >= STEP_LEAST;
}

/* all[1] has the steps to or from black alone. */
static void compare(sums all[2], const place *a, const place *b, double contrast)
{
    double expected = a->expected - b->expected, seen = (a->seen - b->seen) / contrast;
    if (!isfinite(expected) || !isfinite(seen))
        return;
    add(&all[0], expected, seen);
    if (a->black != b->black && fabs(expected) >= STEP_LEAST)
        add(&all[1], expected, seen);
}

static void look_along(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                       pv_vec from, double pitch, size_t n, double spread, place *out)
{
    for (size_t i = 0; i < n; i++) {
        pv_vec at = pv_add(from, pv_v(pitch * (double)i, 0));
        pv_spot spot = pv_scene_at(page, at);
        const pv_colour *colour = &page->art->colours[spot.colour];
        out[i].expected = expected_at(page, at, spread);
        out[i].black = colour->rgb[0] <= BLACK_CODE && colour->rgb[1] <= BLACK_CODE &&
                       colour->rgb[2] <= BLACK_CODE;
        out[i].seen = seen_at(plane, pose, pv_sub(at, page->page.lo), spread);
    }
}

pv_match pv_match_page(const pv_scene *page, const pv_plane *plane, const pv_pose *pose)
{
    pv_match out = {.gain = 1, .black_gain = 1};
    double contrast = tag_contrast(page, plane, pose);
    double width = page->cell.hi.x - page->cell.lo.x, height = page->cell.hi.y - page->cell.lo.y;
    pv_vec middle = pv_sub(pv_box_middle(page->cell), page->page.lo);
    double pitch = fmax(PITCH, fmax(width, height) / (PLACES_MAX - 1));
    double spread = fmax(SPREAD, 1 / pv_pose_px_per_mm(pose, middle));
    size_t columns = (size_t)(width / pitch), rows = (size_t)(height / pitch);
    place rows_kept[APART + 1][PLACES_MAX];
    sums s[2] = {{.steps = 0}, {.steps = 0}};
    for (size_t y = 0; y < rows && contrast >= CONTRAST_LEAST; y++) {
        place *now = rows_kept[y % (APART + 1)];
        const place *before = rows_kept[(y + 1) % (APART + 1)];
        pv_vec from = pv_add(page->cell.lo, pv_v(pitch / 2, pitch * ((double)y + 0.5)));
        look_along(page, plane, pose, from, pitch, columns, spread, now);
        for (size_t x = 0; x < columns; x++) {
            if (x >= APART)
                compare(s, &now[x], &now[x - APART], contrast);
            if (y >= APART)
                compare(s, &now[x], &before[x], contrast);
        }
    }
    out.steps = s[0].steps;
    out.black = s[1].steps;
    if (out.steps >= STEPS_NEEDED) {
        out.gain = s[0].eo / s[0].ee;
        out.strange = s[0].oo / s[0].ee - out.gain * out.gain;
    }
    if (out.black >= STEPS_NEEDED)
        out.black_gain = s[1].eo / s[1].ee;
    return out;
}

bool pv_match_contradicts(const pv_match *match)
{
    return (match->gain < GAIN_LEAST && match->strange > STRANGE_MOST) ||
           match->black_gain < BLACK_LEAST;
}
