#include "measure/look.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>

#define ROUNDS 2 /* a blur that is large hides part of itself from plateaus that stand too near */

/* Blur and blackness of all edges that were found; work: 4 places a station. */
static bool learn(const pv_stations *stations, pv_optics *optics, double *work)
{
    double *blur = work, *scratch = work + 2 * stations->n;
    size_t n = 0;
    for (size_t i = 0; i < stations->n; i++)
        for (int k = 0; stations->items[i].found && k < 2; k++)
            blur[n++] = stations->items[i].seen[k].blur;
    if (n == 0)
        return false;
    optics->blur = pv_median(blur, n, scratch);
    n = 0;
    double darkest = 1;
    for (size_t i = 0; i < stations->n; i++) {
        const pv_station *st = &stations->items[i];
        if (!st->found)
            continue;
        blur[n++] = fmin(st->seen[0].dark, st->seen[1].dark);
        /* Of one line, so that no speck decides. */
        if (i + 1 == stations->n || stations->items[i + 1].line != st->line) {
            darkest = fmin(darkest, pv_median(blur, n, scratch));
            n = 0;
        }
    }
    optics->stretched = !optics->bilevel && darkest < PV_STRETCHED_BLACK;
    return true;
}

static bool look_once(const pv_shown *shown, const pv_frame *frame, const pv_plane *plane,
                      pv_optics *optics, bool last)
{
    pv_stations stations;
    if (!pv_stations_plan(shown, frame, optics, PV_LOOK_PITCH, &stations))
        return false;
    for (size_t i = 0; i < stations.n; i++) {
        pv_station *st = &stations.items[i];
        double width = shown->art->lines[st->line].width;
        pv_station_measure(frame, plane, optics, width, last, st);
    }
    double *work = stations.n > 0 ? PV_NEW_ARRAY(4 * stations.n, double) : NULL;
    bool good = stations.n == 0 || work != NULL;
    if (work != NULL && learn(&stations, optics, work) && last && plane->channels == 3)
        pv_fringes_fit(&stations, optics);
    free(work);
    free(stations.items);
    return good;
}

bool pv_optics_look(const pv_shown *shown, const pv_frame *frame, const pv_plane *plane,
                    pv_optics *optics)
{
    for (int i = 1; i <= ROUNDS; i++)
        if (!look_once(shown, frame, plane, optics, i == ROUNDS))
            return false;
    return true;
}
