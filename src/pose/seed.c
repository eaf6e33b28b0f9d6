#include "pose/seed.h"

#include "base/memory.h"
#include "po/po.h"
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
#define TAGS_NEEDED   3    /* that give a sheet's identity (tag/tag.h) */
#define BLANK_RANGE   24   /* codes between the darkest and lightest thousandth of a blank page */

/* ---- looking ---- */

typedef struct look {
    uint8_t *gray;
    size_t width, height, factor;
    pv_tag_seen *seen;
    size_t n;
    size_t ids;         /* different ones among them, */
    size_t own;         /* of which so many are those of */
    size_t plan, sheet; /* this sheet, and of no other more */
    size_t strange;     /* tags that aren't that sheet's, or are there again */
} look;

static void drop_look(look *l)
{
    free(l->gray);
    free(l->seen);
    *l = (look){0};
}

static size_t count_own(const pv_sheet *sheet, const uint8_t seen[PV_TAG_IDS])
{
    size_t own = 0;
    for (int p = 0; p < PV_TAG_PLACES; p++)
        own += seen[sheet->tag[p].id] > 0;
    return own;
}

/* Whose tags these are; where that is contradictory, without those that needed correction. */
static void read_tags(look *l, const pv_plan *const *plans, size_t n_plans)
{
    for (int strict = 0; strict < 2; strict++) {
        uint8_t seen[PV_TAG_IDS] = {0};
        size_t kept = 0;
        l->ids = l->own = 0;
        for (size_t i = 0; i < l->n; i++) {
            if (strict != 0 && l->seen[i].corrected > 0)
                continue;
            kept++;
            l->ids += seen[l->seen[i].id] == 0;
            seen[l->seen[i].id] = 1;
        }
        for (size_t k = 0; l->ids > 0 && k < n_plans; k++)
            for (size_t i = 0; i < plans[k]->n_sheets; i++) {
                size_t own = count_own(&plans[k]->sheets[i], seen);
                if (own <= l->own)
                    continue;
                l->own = own;
                l->plan = k;
                l->sheet = i;
            }
        l->strange = kept - l->own;
        if (l->own < TAGS_NEEDED || l->strange == 0)
            return;
    }
}

static bool take_look(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                      size_t factor, look *l, pv_diags *diags)
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
    read_tags(l, plans, n_plans);
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

/* Looks at one reduction after another until a sheet of ours is seen, or all tags of another; else
 * keeps the best. */
static bool look_for_tags(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                          look *best, pv_diags *diags)
{
    double cell = HUGE_VAL;
    for (size_t i = 0; i < n_plans; i++)
        cell = fmin(cell, plans[i]->sheets[0].tag[0].cell);
    size_t factors[6], n = list_factors(plane, cell, factors);
    *best = (look){0};
    for (size_t i = 0; i < n; i++) {
        look l;
        if (!take_look(plans, n_plans, plane, factors[i], &l, diags)) {
            drop_look(best);
            return false;
        }
        if (i == 0 || l.own > best->own || (l.own == best->own && l.ids > best->ids)) {
            drop_look(best);
            *best = l;
        } else {
            drop_look(&l);
        }
        if (best->own >= TAGS_NEEDED || (best->own == 0 && best->ids >= PV_TAG_PLACES))
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

/* A tag that was seen, and the one of the sheet that it is. */
typedef struct known_tag {
    const pv_tag_seen *seen;
    const pv_tag *tag;
} known_tag;

static size_t list_known(const pv_sheet *sheet, const pv_tag_seen *seen, size_t n,
                         known_tag known[PV_TAG_PLACES])
{
    size_t have = 0;
    for (size_t i = 0; i < n; i++)
        for (int p = 0; p < PV_TAG_PLACES && have < PV_TAG_PLACES; p++)
            if (seen[i].id == sheet->tag[p].id)
                known[have++] = (known_tag){&seen[i], &sheet->tag[p]};
    return have;
}

/* The corners of those of the tags whose bit is set, and the least size of a cell, px. */
static double gather_corners(const known_tag *known, size_t have, unsigned set, pv_seed *out)
{
    double cell = HUGE_VAL;
    out->n = out->tags = 0;
    for (size_t k = 0; k < have; k++) {
        if ((set >> k & 1) == 0)
            continue;
        const pv_vec *corner = known[k].seen->corner;
        tag_corners(known[k].tag, out->from + out->n);
        memcpy(out->to + out->n, corner, sizeof known[k].seen->corner);
        out->n += 4;
        out->tags++;
        double side = pv_dist(corner[0], corner[2]) / sqrt(2) / (PV_TAG_CELLS - 2 * PV_TAG_INSET);
        cell = fmin(cell, side);
    }
    return cell;
}

bool pv_seed_map(const pv_sheet *sheet, const pv_tag_seen *seen, size_t n, pv_vec middle,
                 pv_seed *out)
{
    known_tag known[PV_TAG_PLACES];
    size_t have = list_known(sheet, seen, n, known);
    pv_seed best = {.plan = out->plan, .sheet = out->sheet, .error = HUGE_VAL};
    /* Partly hidden tags are seen with wrong corners: the largest set that agrees is taken. */
    for (unsigned set = 1; set < 1u << have; set++) {
        pv_seed one = {.plan = out->plan, .sheet = out->sheet};
        double cell = gather_corners(known, have, set, &one), worst;
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
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "%s",
                 pv_say(pv_diags_language(diags), message));
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
        read_tags(&other, NULL, 0);
        mirrored = other.ids >= 2;
    }
    free(turned);
    free(other.seen);
    return mirrored;
}

static pv_pose_failure no_tags(const look *l, pv_diags *diags)
{
    if (is_mirrored(l))
        say(diags,
            PV_SAID("turn off mirroring in the scanner's or camera's settings, or flip the image"),
            PV_SAID("the image is mirrored"));
    else if (is_blank(l))
        say(diags, PV_SAID("lay the printed side on the scanner's glass"),
            PV_SAID("the image is blank: it shows no print"));
    else
        say(diags,
            PV_SAID("scan one whole, untrimmed sheet of this kit, flat and sharp, at 300 dpi"),
            PV_SAID("no sheet found: the image shows none of the square tags around a sheet"));
    return PV_POSE_NO_TAGS;
}

static pv_pose_failure few_tags(const look *l, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "show the whole sheet, untrimmed, flat and sharp, with nothing lying on it",
                 "only %zu of the sheet's %d tags can be read; three are needed", l->ids,
                 PV_TAG_PLACES);
    return PV_POSE_TOO_FEW_TAGS;
}

static pv_pose_failure other_plan(const pv_plan *const *plans, size_t n_plans, pv_diags *diags)
{
    const char *hint = PV_SAID("give the plan of the kit that is printed beside the sheet's name");
    if (n_plans > 1)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "it is of another edition, course or paper, or was printed with a printer "
                     "file: print the sheet that belongs here, or judge it with pavior inspect and "
                     "the plan of the kit that is printed beside the sheet's name",
                     "the sheet belongs to none of these %zu plans", n_plans);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint,
                     "the sheet belongs to another plan; this one is of %s, edition %s, kit %s",
                     plans[0]->art.name, plans[0]->art.edition, pv_plan_kit(plans[0]).chars);
    return PV_POSE_OTHER_PLAN;
}

static pv_pose_failure contradiction(pv_diags *diags)
{
    say(diags, PV_SAID("show one whole sheet in each image"),
        PV_SAID("the tags contradict each other: there is more than one sheet in the image"));
    return PV_POSE_TAGS_DISAGREE;
}

/* Whether four tags are one sheet's: some order of them is right. */
static bool make_a_sheet(const look *l)
{
    if (l->n != PV_TAG_PLACES || l->ids != PV_TAG_PLACES)
        return false;
    unsigned ids[PV_TAG_PLACES];
    for (int code = 0; code < 256; code++) { /* two bits a place */
        unsigned used = 0;
        for (int p = 0; p < PV_TAG_PLACES; p++) {
            ids[p] = l->seen[code >> (2 * p) & 3].id;
            used |= 1u << (code >> (2 * p) & 3);
        }
        if (used == 15 && pv_tag_ids_agree(ids))
            return true;
    }
    return false;
}

/* ---- the whole ---- */

static pv_pose_failure judge_look(const pv_plan *const *plans, size_t n_plans, const look *l,
                                  pv_seed *out, pv_diags *diags)
{
    if (l->ids == 0)
        return no_tags(l, diags);
    if (l->own >= TAGS_NEEDED && l->strange > 0)
        return contradiction(diags);
    if (l->ids < TAGS_NEEDED)
        return few_tags(l, diags);
    /* By chance a strange sheet shares a tag with one of ours, in a large plan even two. */
    if (l->own < TAGS_NEEDED && (make_a_sheet(l) || (l->own < 2 && l->ids == TAGS_NEEDED)))
        return other_plan(plans, n_plans, diags);
    if (l->own < TAGS_NEEDED)
        return contradiction(diags);
    const pv_plan *plan = plans[l->plan];
    out->plan = l->plan;
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
    if (!look_for_tags(plans, n_plans, plane, &best, diags))
        return PV_POSE_NO_FIT;
    pv_pose_failure failure = judge_look(plans, n_plans, &best, out, diags);
    drop_look(&best);
    return failure;
}
