/* A first look at a sheet's lines, to learn the picture's optics from. */
#ifndef MEASURE_LOOK_H
#define MEASURE_LOOK_H

#include "measure/station.h"

/* mm between stations of the look */
#define PV_LOOK_PITCH 4.0

/* Sets blur, stretched and fringes as far as the lines show them. False where memory ran out. */
bool pv_optics_look(const pv_shown *shown, const pv_frame *frame, const pv_plane *plane,
                    pv_optics *optics);

/* Channels' displacements by least squares from what edges show of them along their paths; at least
 * PV_FRINGE_EDGES edges. Directions that no edge shows stay as before: none. */
#define PV_FRINGE_EDGES 12
void pv_fringes_fit(const pv_stations *stations, pv_optics *optics);

#endif
