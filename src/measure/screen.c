#include "measure/screen.h"

#include "base/memory.h"

#include <stdlib.h>

/* Nominal codes so near to 0 or 255 are printed solid or not at all. */
#define SOLID 3

/* What all edges told of one colour. */
typedef struct tone {
    double texture; /* sum */
    size_t n;
    double share; /* of paper that it covers, by the plan's luminance */
    bool screened;
} tone;

/* Whether every channel of a colour is all paper or all ink: a printer with inks of its own for
 * them prints it without dots, one that prints gray doesn't. */
static bool is_solid(const pv_colour *colour)
{
    for (int c = 0; c < 3; c++)
        if (colour->rgb[c] > SOLID && colour->rgb[c] < 255 - SOLID)
            return false;
    return true;
}

/* Paper, or solid black. */
static bool is_neutral(const pv_colour *colour)
{
    double light = pv_colour_luminance(colour);
    return is_solid(colour) && (light < 0.5 / 255 || light > 0.99);
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

static void decide(const pv_art *art, tone *tones)
{
    double quiet = HUGE_VAL;
    for (size_t i = 0; i < art->n_colours; i++) {
        tones[i].share = 1 - pv_colour_luminance(&art->colours[i]);
        if (is_neutral(&art->colours[i]) && tones[i].n > 0)
            quiet = fmin(quiet, tones[i].texture / (double)tones[i].n);
    }
    for (size_t i = 0; i < art->n_colours; i++)
        tones[i].screened =
            tones[i].n > 0 && !is_neutral(&art->colours[i]) &&
            (isinf(quiet) ? !is_solid(&art->colours[i])
                          : tones[i].texture / (double)tones[i].n > PV_SCREEN_TEXTURE * quiet);
}

static double edge_screen(const tone *a, const tone *b)
{
    double variance = 0, contrast = fabs(a->share - b->share);
    variance += a->screened ? a->share * (1 - a->share) : 0;
    variance += b->screened ? b->share * (1 - b->share) : 0;
    return contrast > 0 ? PV_SCREEN_REACH * sqrt(variance) / fmax(contrast, PV_CONTRAST_MIN) : 0;
}

bool pv_screen_mark(const pv_art *art, pv_stations *stations)
{
    tone *tones = PV_NEW_ARRAY(art->n_colours, tone);
    if (tones == NULL)
        return false;
    learn(art, stations, tones);
    decide(art, tones);
    for (size_t i = 0; i < stations->n; i++) {
        pv_station *st = &stations->items[i];
        for (int e = 0; e < 2; e++)
            st->seen[e].screen =
                edge_screen(&tones[art->lines[st->line].colour], &tones[st->beside[e]]);
    }
    free(tones);
    return true;
}
