#include "pose/seed.h"

#include "base/memory.h"
#include "pose/solve.h"

#include <stdlib.h>
#include <string.h>

/* Sizes and limits of the search for tags: assumed, tried on simulated scans and
 * photographs. */
#define SEEK_PER_CELL 4.7  /* px; for cells of 1 mm that is about 120 per inch */
#define SEEK_PIXELS   24e6 /* larger takes long and much memory, and shows nothing new */
#define AGREE_CELLS   0.35 /* a corner may miss by this much of a cell: paper bends, lenses too */
#define AGREE_PX      1.0  /* or by this, in the image in which tags were sought */
#define LENS_STEP     0.02 /* of k1 */
#define CORNER_PX     0.25 /* what tag corners are worth (measured: biased to 0.2, noisy to 0.16) */
#define BLANK_RANGE   24   /* codes between the darkest and lightest thousandth of a blank page */

/* ---- looking ---- */

typedef struct look {
    uint8_t *gray;
    size_t width, height, factor;
    pv_tag_seen *seen;
    size_t n;
    unsigned sheet, fingerprint;
    pv_tag_reading reading;
    size_t places; /* different places among the tags */
} look;

static void drop_look(look *l)
{
    free(l->gray);
    free(l->seen);
    *l = (look){0};
}

/* Reads what the tags say; where that is contradictory, without those that needed correction. */
static void read_tags(look *l)
{
    unsigned ids[64];
    for (int strict = 0; strict < 2; strict++) {
        size_t kept = 0;
        bool place[PV_TAG_PLACES] = {false};
        l->places = 0;
        for (size_t i = 0; i < l->n; i++) {
            if (strict != 0 && l->seen[i].corrected > 0)
                continue;
            unsigned at = pv_tag_place(l->seen[i].id);
            if (at < PV_TAG_PLACES && !place[at]) {
                place[at] = true;
                l->places++;
            }
            if (kept < sizeof ids / sizeof *ids)
                ids[kept++] = l->seen[i].id;
        }
        l->reading = pv_tag_read(ids, kept, &l->sheet, &l->fingerprint);
        if (l->reading != PV_TAGS_DISAGREE)
            return;
    }
}

static bool take_look(const pv_plane *plane, size_t factor, look *l, pv_diags *diags)
{
    *l = (look){.factor = factor};
    l->gray = pv_plane_reduced(plane, factor, &l->width, &l->height);
    if (l->gray == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    if (!pv_tags_find(l->gray, l->width, l->height, &l->seen, &l->n, diags)) {
        drop_look(l);
        return false;
    }
    read_tags(l);
    return true;
}

/* The least reduction at which the library's limits hold and the work is bounded. */
static size_t least_factor(const pv_plane *plane)
{
    size_t side = plane->width > plane->height ? plane->width : plane->height;
    size_t factor = (side + PV_TAG_IMAGE_SIDE_MAX - 1) / PV_TAG_IMAGE_SIDE_MAX;
    double pixels = (double)plane->width * (double)plane->height;
    size_t by_pixels = (size_t)ceil(sqrt(pixels / SEEK_PIXELS));
    factor = factor > by_pixels ? factor : by_pixels;
    return factor > 0 ? factor : 1;
}

/* Reductions worth trying, best first. */
static size_t list_factors(const pv_plane *plane, double cell, size_t factors[6])
{
    double side = (double)(plane->width > plane->height ? plane->width : plane->height);
    double stated = fmax(plane->resolution[0], plane->resolution[1]);
    double wanted[6] = {stated * cell / SEEK_PER_CELL,
                        side / 2000,
                        side / 3200,
                        side / 1100,
                        side / 6000,
                        side / 600};
    size_t least = least_factor(plane), n = 0;
    for (int i = stated > 0 ? 0 : 1; i < 6; i++) {
        size_t factor = (size_t)ceil(fmax(1, wanted[i]) - 0.1);
        factor = factor > least ? factor : least;
        bool known = false;
        for (size_t k = 0; k < n; k++)
            known |= factors[k] == factor;
        if (!known)
            factors[n++] = factor;
    }
    return n;
}

/* Looks at one reduction after another until three tags are seen; else keeps the best. */
static bool look_for_tags(const pv_plane *plane, double cell, look *best, pv_diags *diags)
{
    size_t factors[6], n = list_factors(plane, cell, factors);
    *best = (look){0};
    for (size_t i = 0; i < n; i++) {
        look l;
        if (!take_look(plane, factors[i], &l, diags)) {
            drop_look(best);
            return false;
        }
        if (i == 0 || l.places > best->places) {
            drop_look(best);
            *best = l;
        } else {
            drop_look(&l);
        }
        if (best->places >= 3)
            break;
    }
    return true;
}

/* ---- the first map ---- */

static void tag_corners(const pv_tag *tag, pv_vec corners[4])
{
    double half = (PV_TAG_CELLS / 2.0 - PV_TAG_INSET) * tag->cell;
    corners[0] = pv_v(tag->centre.x - half, tag->centre.y - half);
    corners[1] = pv_v(tag->centre.x + half, tag->centre.y - half);
    corners[2] = pv_v(tag->centre.x + half, tag->centre.y + half);
    corners[3] = pv_v(tag->centre.x - half, tag->centre.y + half);
}

static double worst_corner(const pv_vec *from, const pv_vec *to, size_t n, const double h[9],
                           double *rms)
{
    double worst = 0, squares = 0;
    for (size_t i = 0; i < n; i++) {
        double off = pv_dist(pv_map_point(h, from[i]), to[i]);
        worst = fmax(worst, off);
        squares += off * off;
    }
    *rms = sqrt(squares / (double)n);
    return worst;
}

/* The map from these tags; worst is in px. A scan is affine, and an affinity carries further than
 * a homography, so that it is taken unless the corners are clearly against it. */
static bool map_from(const pv_vec *from, const pv_vec *to, size_t n, double h[9], double *worst)
{
    double affine[9], perspective[9], rms[2];
    if (!pv_affinity(from, to, n, affine))
        return false;
    *worst = worst_corner(from, to, n, affine, &rms[0]);
    memcpy(h, affine, sizeof affine);
    if (!pv_homography(from, to, n, perspective))
        return true;
    double other = worst_corner(from, to, n, perspective, &rms[1]);
    if (rms[0] > 1.5 * rms[1] + CORNER_PX) {
        memcpy(h, perspective, sizeof perspective);
        *worst = other;
    }
    return true;
}

bool pv_seed_with_lens(const pv_seed *seed, pv_vec middle, double k1, pv_pose *map, double *rms)
{
    pv_vec straight[PV_SEED_CORNERS];
    *map = (pv_pose){.kind = PV_POSE_PERSPECTIVE,
                     .h = {1, 0, 0, 0, 1, 0, 0, 0, 1},
                     .lens = {k1, 0},
                     .lens_centre = middle,
                     .lens_unit = pv_len(middle)};
    for (size_t i = 0; i < seed->n; i++)
        straight[i] = pv_pose_unmap(map, seed->to[i]); /* the lens alone, h being nothing */
    if (seed->n < 4 || !pv_homography(seed->from, straight, seed->n, map->h))
        return false;
    double squares = 0;
    for (size_t i = 0; i < seed->n; i++)
        squares += pow(pv_dist(pv_pose_map(map, seed->from[i]), seed->to[i]), 2);
    *rms = sqrt(squares / (double)seed->n);
    return isfinite(*rms);
}

/* Whether some lens puts all corners where they were seen, give or take most. A lens of a phone
 * moves the corners of a sheet by more than a hidden part of a tag may. */
static bool agree_by_lens(const pv_seed *tried, pv_vec middle, double most)
{
    int steps = (int)lround(PV_SEED_K1_MOST / LENS_STEP);
    for (int i = -steps; i <= steps; i++) {
        pv_pose map;
        double rms, worst = 0;
        if (!pv_seed_with_lens(tried, middle, i * LENS_STEP, &map, &rms))
            continue;
        for (size_t k = 0; k < tried->n; k++)
            worst = fmax(worst, pv_dist(pv_pose_map(&map, tried->from[k]), tried->to[k]));
        if (worst <= most)
            return true;
    }
    return false;
}

/* The corners of those of the tags whose bit is set, and the least size of a cell, px. */
static double gather_corners(const pv_sheet *sheet, const pv_tag_seen *const *at, size_t have,
                             unsigned set, pv_seed *out)
{
    double cell = HUGE_VAL;
    out->n = out->tags = 0;
    for (size_t k = 0; k < have; k++) {
        if ((set >> k & 1) == 0)
            continue;
        tag_corners(&sheet->tag[pv_tag_place(at[k]->id)], out->from + out->n);
        memcpy(out->to + out->n, at[k]->corner, sizeof at[k]->corner);
        out->n += 4;
        out->tags++;
        double side = pv_dist(at[k]->corner[0], at[k]->corner[2]) / sqrt(2) /
                      (PV_TAG_CELLS - 2 * PV_TAG_INSET);
        cell = fmin(cell, side);
    }
    return cell;
}

bool pv_seed_map(const pv_sheet *sheet, const pv_tag_seen *seen, size_t n, pv_vec middle,
                 pv_seed *out)
{
    const pv_tag_seen *at[PV_TAG_PLACES];
    size_t have = 0;
    for (size_t i = 0; i < n && have < PV_TAG_PLACES; i++) {
        unsigned place = pv_tag_place(seen[i].id);
        if (place < PV_TAG_PLACES && seen[i].id == sheet->tag[place].id)
            at[have++] = &seen[i];
    }
    pv_seed best = {.plan = out->plan, .sheet = out->sheet, .error = HUGE_VAL};
    /* Partly hidden tags are seen with wrong corners: the largest set that agrees is taken. */
    for (unsigned set = 1; set < 1u << have; set++) {
        pv_seed one = {.plan = out->plan, .sheet = out->sheet};
        double cell = gather_corners(sheet, at, have, set, &one), worst;
        double most = fmax(AGREE_PX, AGREE_CELLS * cell);
        if (one.tags < 2 || one.tags < best.tags ||
            !map_from(one.from, one.to, one.n, one.h, &worst) ||
            (worst > most && !agree_by_lens(&one, middle, most)))
            continue;
        one.error = worst / cell * sheet->tag[0].cell;
        if (one.tags > best.tags || one.error < best.error)
            best = one;
    }
    *out = best;
    return out->tags >= 2;
}

/* ---- saying why not ---- */

static void say(pv_diags *diags, const char *hint, const char *message)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "%s", message);
}

static bool is_blank(const look *l)
{
    size_t count[256] = {0}, n = l->width * l->height, seen = 0;
    for (size_t i = 0; i < n; i++)
        count[l->gray[i]]++;
    int low = -1, high = 255;
    for (int code = 0; code < 256; code++) {
        seen += count[code];
        if (low < 0 && seen > n / 1000)
            low = code;
        if (seen <= n - n / 1000)
            high = code;
    }
    return high - low < BLANK_RANGE;
}

/* Turns each row round; tags that show up then were mirrored. */
static bool is_mirrored(const look *l)
{
    uint8_t *turned = pv_new_array(l->width * l->height, 1);
    if (turned == NULL)
        return false;
    for (size_t y = 0; y < l->height; y++)
        for (size_t x = 0; x < l->width; x++)
            turned[y * l->width + x] = l->gray[(y + 1) * l->width - 1 - x];
    look other = {.width = l->width, .height = l->height};
    bool mirrored = false;
    if (pv_tags_find(turned, l->width, l->height, &other.seen, &other.n, NULL)) {
        read_tags(&other);
        mirrored = other.places >= 2;
    }
    free(turned);
    free(other.seen);
    return mirrored;
}

static pv_pose_failure no_tags(const look *l, pv_diags *diags)
{
    if (is_mirrored(l))
        say(diags, "turn off mirroring in the scanner's or camera's settings, or flip the image",
            "the image is mirrored");
    else if (is_blank(l))
        say(diags, "lay the printed side on the scanner's glass",
            "the image is blank: it shows no print");
    else
        say(diags, "scan one whole, untrimmed sheet of this kit, flat and sharp, at 300 dpi",
            "no sheet found: the image shows none of the square tags around a sheet");
    return PV_POSE_NO_TAGS;
}

static pv_pose_failure few_tags(const look *l, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "show the whole sheet, untrimmed, flat and sharp, with nothing lying on it",
                 "only %zu of the sheet's %d tags can be read; three are needed", l->places,
                 PV_TAG_PLACES);
    return PV_POSE_TOO_FEW_TAGS;
}

static pv_pose_failure other_kit(const pv_plan *plan, unsigned fingerprint, pv_diags *diags)
{
    unsigned low = PV_FINGERPRINT_BITS - PV_FINGERPRINT_NAME_BITS;
    bool same_name = fingerprint >> low == plan->fingerprint >> low;
    const char *name = plan->art.name != NULL ? plan->art.name : "";
    const char *edition = plan->art.edition != NULL ? plan->art.edition : "";
    if (same_name)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "inspect it with the plan that it was printed from, or reprint it",
                     "the sheet belongs to another edition or layout of %s (kit %04X); this plan "
                     "is edition %s (kit %04X)",
                     name, fingerprint, edition, plan->fingerprint);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "inspect it with the plan that it was printed from",
                     "the sheet belongs to another kit (%04X); this plan is of %s (kit %04X)",
                     fingerprint, name, plan->fingerprint);
    return same_name ? PV_POSE_OTHER_EDITION : PV_POSE_OTHER_KIT;
}

/* ---- the whole ---- */

/* The plan whose tags these are; the first where they are of none. */
static size_t find_plan(const pv_plan *const *plans, size_t n_plans, look *l)
{
    for (size_t i = 0; i < n_plans; i++) {
        unsigned sheet = l->sheet, fingerprint = l->fingerprint;
        pv_tag_put_right(plans[i]->n_sheets, &sheet, &fingerprint);
        if (fingerprint != plans[i]->fingerprint)
            continue;
        l->sheet = sheet;
        l->fingerprint = fingerprint;
        return i;
    }
    return 0;
}

static pv_pose_failure judge_look(const pv_plan *plan, const look *l, pv_seed *out, pv_diags *diags)
{
    if (l->places == 0)
        return no_tags(l, diags);
    if (l->reading == PV_TAGS_TOO_FEW)
        return few_tags(l, diags);
    if (l->reading == PV_TAGS_DISAGREE) {
        say(diags, "show one whole sheet in each image",
            "the tags contradict each other: there is more than one sheet in the image");
        return PV_POSE_TAGS_DISAGREE;
    }
    if (l->fingerprint != plan->fingerprint)
        return other_kit(plan, l->fingerprint, diags);
    if (l->sheet >= plan->n_sheets) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, "check that the plan file is complete",
                     "the tags name sheet number %u; the plan has only %zu sheets", l->sheet + 1,
                     plan->n_sheets);
        return PV_POSE_NO_SUCH_SHEET;
    }
    out->sheet = l->sheet;
    pv_vec middle = pv_v((double)l->width / 2, (double)l->height / 2);
    if (!pv_seed_map(&plan->sheets[l->sheet], l->seen, l->n, middle, out)) {
        pv_diags_add(
            diags, PV_ERROR, PV_CAUSE_DATA, NULL, "lay the sheet flat and uncover its tags",
            "the tags of sheet %s are not where the plan places them", plan->sheets[l->sheet].name);
        return PV_POSE_NO_FIT;
    }
    /* To px of the whole image. */
    for (int i = 0; i < 6; i++)
        out->h[i] *= (double)l->factor;
    for (size_t i = 0; i < out->n; i++)
        out->to[i] = pv_scale(out->to[i], (double)l->factor);
    return PV_POSE_FOUND;
}

pv_pose_failure pv_seed_find(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                             pv_seed *out, pv_diags *diags)
{
    look best;
    if (!look_for_tags(plane, plans[0]->sheets[0].tag[0].cell, &best, diags))
        return PV_POSE_NO_FIT;
    out->plan = find_plan(plans, n_plans, &best);
    pv_pose_failure failure = judge_look(plans[out->plan], &best, out, diags);
    drop_look(&best);
    return failure;
}
