/* Where the robot's route crosses a seam: a dart beside it on both sheets, pointing the way that
 * the robot goes across, with a word that says whether it steps up there. It has no stem, so that
 * it isn't taken for the arrow of "this way up". */
#include "page/anatomy.h"
#include "plan/crossings.h"

#include <stdlib.h>

/* Layout: chosen. */
#define EM       2.8 /* mm, the word beside a dart; the dart is as high as the word's box */
#define EM_LEAST 1.9
#define EM_STEP  0.3  /* sizes are tried in steps of this */
#define WORTH    20   /* mm farther from the crossing are taken for 1 mm of size */
#define PAD      0.4  /* ems kept free at both ends */
#define GAP      0.3  /* ems between dart and word */
#define ACROSS   1.0  /* as pv_block's: it is the place along the side that counts */
#define NEAR     8.0  /* mm that the word may keep the dart from where it would stand alone */
#define ALIKE    6.0  /* mm: crossings the same way, closer to each other than this, share a dart */
#define MOST     32   /* darts to a seam */
#define SLIM     0.75 /* a dart's width over its length */
#define NOTCH    0.25 /* of its length */

typedef struct dart {
    pv_side side;
    pv_vec at;      /* the crossing, moved out to the art's edge */
    pv_vec heading; /* unit vector across the seam */
    const char *word;
} dart;

/* Room that was found: for the dart, or for dart and word. */
typedef struct room {
    pv_box box;   /* all of it */
    pv_box arrow; /* the dart's square in it */
    bool worded, turned;
    double em;
    double off; /* mm along the side from the crossing to the dart's middle */
} room;

static bool upright(pv_side side)
{
    return side == PV_LEFT || side == PV_RIGHT;
}

/* As long as a square. */
static void draw_dart(pv_anatomy *a, pv_box box, pv_vec heading)
{
    double half = (box.hi.x - box.lo.x) / 2;
    pv_vec ahead = pv_scale(heading, half), left = pv_scale(pv_left(ahead), SLIM),
           middle = pv_box_middle(box);
    pv_vec back = pv_sub(middle, ahead);
    const pv_vec corners[] = {pv_add(middle, ahead), pv_add(back, left),
                              pv_along(back, ahead, 2 * NOTCH), pv_sub(back, left)};
    pv_page_polygon(a, corners, sizeof corners / sizeof *corners);
    pv_page_end_shape(a);
}

/* The dart's square, at the beginning of its room or at the end, in reading direction. */
static pv_box dart_box(const room *r, double pad, double size, bool first)
{
    pv_box b = r->box;
    if (r->turned) {
        b.lo.y = first ? b.lo.y + pad : b.hi.y - pad - size;
        b.hi.y = b.lo.y + size;
    } else {
        b.lo.x = first ? b.lo.x + pad : b.hi.x - pad - size;
        b.hi.x = b.lo.x + size;
    }
    return b;
}

/* The nearest room for a dart of this size, alone or before or after its word. */
static bool find_room(pv_anatomy *a, const dart *d, double em, bool worded, bool first, room *r)
{
    double size = em * pv_text_height(d->word), pad = PAD * em;
    double width = size + 2 * pad;
    if (worded)
        width += em * (GAP + pv_page_ems(a, d->word, false));
    double shift = first ? (width - size) / 2 - pad : pad - (width - size) / 2;
    pv_block block = {width, size, d->at, true, false, ACROSS};
    *(upright(d->side) ? &block.toward.y : &block.toward.x) += shift;
    *r = (room){.worded = worded, .em = em};
    if (!pv_space_find(&a->space, (int)d->side, &block, &r->box, &r->turned))
        return false;
    r->arrow = dart_box(r, pad, size, first);
    pv_vec off = pv_sub(pv_box_middle(r->arrow), d->at);
    r->off = fabs(upright(d->side) ? off.y : off.x);
    return true;
}

/* The best room, alone or with the word: near the crossing, and large. */
static bool find_best(pv_anatomy *a, const dart *d, bool worded, room *best)
{
    double least = HUGE_VAL;
    for (int try = 0; EM - EM_STEP * try >= EM_LEAST - 1e-9; try++) {
        for (int first = 1; first >= (worded ? 0 : 1); first--) {
            room r;
            double em = EM - EM_STEP * try;
            if (!find_room(a, d, em, worded, first == 1, &r))
                continue;
            double cost = r.off + WORTH * (EM - em);
            if (cost >= least - 1e-9)
                continue;
            least = cost;
            *best = r;
        }
    }
    return least < HUGE_VAL;
}

static void draw_room(pv_anatomy *a, const dart *d, const room *r)
{
    pv_space_take(&a->space, r->box);
    draw_dart(a, r->arrow, d->heading);
    if (!r->worded)
        return;
    double pad = PAD * r->em;
    pv_box text = r->box;
    bool first = r->turned ? r->arrow.lo.y - r->box.lo.y < pad + 1e-9
                           : r->arrow.lo.x - r->box.lo.x < pad + 1e-9;
    if (r->turned)
        text.lo.y = first ? r->arrow.hi.y + GAP * r->em : r->box.lo.y + pad;
    else
        text.lo.x = first ? r->arrow.hi.x + GAP * r->em : r->box.lo.x + pad;
    pv_page_words(a, text, r->turned, r->em, false, d->word);
}

/* False where there is no room left for another. */
static bool place_dart(pv_anatomy *a, const dart *d)
{
    room alone = {.em = 0}, worded = {.em = 0};
    if (!find_best(a, d, false, &alone))
        return false;
    bool wordy = find_best(a, d, true, &worded) && worded.off <= alone.off + NEAR;
    draw_room(a, d, wordy ? &worded : &alone);
    return true;
}

static dart dart_of(pv_anatomy *a, pv_side side, const pv_crossing *crossing)
{
    const pv_seam *seam = &a->plan->seams[a->sheet->seam[side]];
    bool up = a->plan->joint == PV_JOINT_LAP && pv_crossing_up(a->plan, seam, crossing);
    double way = crossing->forward ? 1 : -1;
    const pv_box *art = &a->space.art;
    const pv_language *l = a->plan->language;
    dart d = {.side = side,
              .heading = upright(side) ? pv_v(way, 0) : pv_v(0, way),
              .word = up ? pv_say(l, "step up") : pv_say(l, "travel")};
    if (upright(side))
        d.at = pv_v(side == PV_LEFT ? art->lo.x : art->hi.x, crossing->along - a->sheet->origin.y);
    else
        d.at =
            pv_v(crossing->along - a->sheet->origin.x, side == PV_BOTTOM ? art->lo.y : art->hi.y);
    return d;
}

/* Drops crossings that share a dart with one before, and those past the limit. */
static void thin_out(pv_crossings *found)
{
    size_t kept = 0;
    for (size_t i = 0; i < found->n && kept < MOST; i++) {
        bool alike = false;
        for (size_t k = 0; k < kept; k++)
            alike = alike || (found->list[k].forward == found->list[i].forward &&
                              fabs(found->list[k].along - found->list[i].along) < ALIKE);
        if (!alike)
            found->list[kept++] = found->list[i];
    }
    found->n = kept;
}

/* Darts keep within the seam's own length: past its ends they would seem to be another's. */
static void draw_side(pv_anatomy *a, pv_side side, const pv_crossings *found)
{
    pv_box page = a->space.page;
    if (upright(side)) {
        a->space.page.lo.y = fmax(page.lo.y, a->cell.lo.y);
        a->space.page.hi.y = fmin(page.hi.y, a->cell.hi.y);
    } else {
        a->space.page.lo.x = fmax(page.lo.x, a->cell.lo.x);
        a->space.page.hi.x = fmin(page.hi.x, a->cell.hi.x);
    }
    bool more = true;
    for (size_t i = 0; i < found->n && more; i++) {
        dart d = dart_of(a, side, &found->list[i]);
        more = place_dart(a, &d);
    }
    a->space.page = page;
}

/* Where a dart stands if nothing is in its way. */
static pv_box place_of(const dart *d)
{
    double half = EM * pv_text_height(d->word) / 2, out = PV_SPACE_GAP + half;
    pv_vec middle = d->at;
    *(upright(d->side) ? &middle.x : &middle.y) +=
        d->side == PV_LEFT || d->side == PV_BOTTOM ? -out : out;
    return pv_box_grow((pv_box){middle, middle}, half);
}

size_t pv_page_keep_travel(pv_anatomy *a, pv_side side)
{
    pv_crossings found;
    if (!pv_seam_crossings(a->plan, &a->plan->seams[a->sheet->seam[side]], &found)) {
        a->failed = true;
        return 0;
    }
    thin_out(&found);
    size_t before = a->space.n_taken;
    for (size_t i = 0; i < found.n; i++) {
        dart d = dart_of(a, side, &found.list[i]);
        pv_space_take(&a->space, place_of(&d));
    }
    free(found.list);
    return a->space.n_taken - before;
}

void pv_page_travel(pv_anatomy *a)
{
    for (pv_side side = PV_LEFT; side <= PV_TOP && !a->failed; side++) {
        if (a->sheet->side[side] == PV_OUTER)
            continue;
        pv_crossings found;
        a->failed = !pv_seam_crossings(a->plan, &a->plan->seams[a->sheet->seam[side]], &found);
        if (!a->failed) {
            thin_out(&found);
            draw_side(a, side, &found);
        }
        free(found.list);
    }
}
