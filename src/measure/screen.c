#include "measure/screen.h"

#include "base/light.h"
#include "base/memory.h"

#include <stdlib.h>

/* Nominal codes so near to 0 or 255 are printed solid or not at all. */
#define SOLID 3
/* Cells from a tag's middle to that of its quiet zone: 9 cells are the tag's, 12 its box's. */
#define QUIET_ZONE 5.25

/* What all edges show about one colour. */
typedef struct tone {
    double texture; /* sum */
    size_t n;
    double share; /* of paper that it covers, by the plan's luminance */
    bool screened;
} tone;

/* Paper, or solid black. */
static bool is_neutral(const pv_colour *colour)
{
    int least = 255, most = 0;
    for (int c = 0; c < 3; c++) {
        least = colour->rgb[c] < least ? colour->rgb[c] : least;
        most = colour->rgb[c] > most ? colour->rgb[c] : most;
    }
    return most <= SOLID || least >= 255 - SOLID;
}

double pv_texture(const pv_plane *plane, pv_vec middle, pv_vec along, double half)
{
    pv_profile row;
    if (!pv_profile_take(plane, middle, along, half, 0, &row) || row.n < 4)
        return -1;
    double sum = 0, moment = 0, squares = 0, spread = 0, centre = (double)(row.n - 1) / 2;
    for (size_t i = 0; i < row.n; i++) {
        const double *rgb = row.rgb[i];
        double v = row.channels == 1 ? rgb[0] : pv_luminance(rgb);
        double t = (double)i - centre;
        sum += v;
        squares += v * v;
        moment += v * t;
        spread += t * t;
    }
    double n = (double)row.n;
    return fmax(0, squares - sum * sum / n - moment * moment / spread) / (n - 2);
}

static void learn(const pv_art *art, const pv_stations *stations, tone *tones)
{
    for (size_t i = 0; i < stations->n; i++) {
        const pv_station *st = &stations->items[i];
        for (int e = 0; st->found && e < 2; e++)
            for (int side = 0; side < 2; side++) {
                /* An edge's outer side is the neighbour's, its inner one the line's own. */
                size_t own = art->lines[st->line].colour;
                tone *t = &tones[side == e ? st->beside[e] : own];
                if (st->seen[e].texture[side] < 0)
                    continue;
                t->texture += st->seen[e].texture[side];
                t->n++;
            }
    }
}

/* Rows of bare paper in the quiet zone of every tag. 0 where none can be looked at. */
static double paper_texture(const pv_frame *frame, const pv_plane *plane, const pv_scene *page)
{
    static const double off[4][2] = {{0, 1}, {1, 0}, {0, -1}, {-1, 0}};
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < 4 * page->n_items; i++) {
        const pv_item *item = &page->items[i / 4];
        if (item->kind != PV_ITEM_TAG)
            continue;
        pv_vec out = pv_v(off[i % 4][0], off[i % 4][1]), dx, dy;
        pv_vec at =
            pv_along(pv_sub(item->u.tag.centre, page->origin), out, QUIET_ZONE * item->u.tag.cell);
        pv_pose_jacobian(frame->pose, at, &dx, &dy);
        pv_vec along = pv_add(pv_scale(dx, -out.y), pv_scale(dy, out.x));
        double px = pv_len(along);
        double one = px > 0 ? pv_texture(plane, pv_pose_map(frame->pose, at), pv_unit(along),
                                         PV_STATION_BAND * px)
                            : -1;
        sum += one >= 0 ? one : 0;
        n += one >= 0;
    }
    return n > 0 ? sum / (double)n : 0;
}

/* seen: the picture would show dots. */
static void decide(const pv_art *art, double paper, bool seen, tone *tones)
{
    double quiet = fmax(paper, PV_SCREEN_QUIET);
    for (size_t i = 0; i < art->n_colours; i++) {
        tones[i].share = 1 - pv_colour_luminance(&art->colours[i]);
        if (is_neutral(&art->colours[i]) && tones[i].n > 0)
            quiet = fmax(quiet, tones[i].texture / (double)tones[i].n);
    }
    for (size_t i = 0; i < art->n_colours; i++)
        tones[i].screened =
            tones[i].n > 0 && !is_neutral(&art->colours[i]) &&
            (!seen || tones[i].texture / (double)tones[i].n > PV_SCREEN_TEXTURE * quiet);
}

/* px per mm amid the tags. */
static double resolution(const pv_frame *frame, const pv_scene *page)
{
    pv_vec at = {0, 0};
    double n = 0;
    for (size_t i = 0; i < page->n_items; i++)
        if (page->items[i].kind == PV_ITEM_TAG) {
            at = pv_add(at, pv_sub(page->items[i].u.tag.centre, page->origin));
            n++;
        }
    return pv_pose_px_per_mm(frame->pose, pv_scale(at, 1 / n));
}

static double edge_screen(const tone *a, const tone *b, double reach)
{
    double variance = 0, contrast = fabs(a->share - b->share);
    variance += a->screened ? a->share * (1 - a->share) : 0;
    variance += b->screened ? b->share * (1 - b->share) : 0;
    return contrast > 0 ? reach * sqrt(variance) / fmax(contrast, PV_CONTRAST_MIN) : 0;
}

bool pv_screen_mark(const pv_frame *frame, const pv_plane *plane, const pv_scene *page,
                    pv_stations *stations)
{
    const pv_art *art = page->art;
    tone *tones = PV_NEW_ARRAY(art->n_colours, tone);
    if (tones == NULL)
        return false;
    learn(art, stations, tones);
    bool seen = resolution(frame, page) >= PV_SCREEN_SEEN;
    double reach = plane->bilevel ? PV_SCREEN_REACH_BILEVEL : PV_SCREEN_REACH;
    decide(art, paper_texture(frame, plane, page), seen, tones);
    for (size_t i = 0; i < stations->n; i++) {
        pv_station *st = &stations->items[i];
        for (int e = 0; e < 2; e++)
            st->seen[e].screen =
                edge_screen(&tones[art->lines[st->line].colour], &tones[st->beside[e]], reach);
    }
    free(tones);
    return true;
}
