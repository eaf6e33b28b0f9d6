/* The plane of the sheet as seen from straight above, coarsely: where cards and paper's edges are
 * searched. */
#ifndef REFERENCE_GROUND_H
#define REFERENCE_GROUND_H

#include "pose/pose.h"

#include <stdint.h>

#define PV_GROUND_PX_PER_MM 4.0     /* at most */
#define PV_GROUND_PX_LEAST  1.0     /* less shows nothing */
#define PV_GROUND_PIXELS    3200000 /* at most */
#define PV_GROUND_MARGIN    150.0   /* mm around the sheet: a card's diagonal and some more */

/* Row 0 is the lowest (y up); pixel (i, j) has its centre at lo + ((i, j) + 0.5) / px_per_mm. */
typedef struct pv_ground {
    double px_per_mm;
    pv_vec lo; /* sheet mm */
    size_t width, height;
    int channels;  /* the plane's, 1 or 3 */
    uint8_t *code; /* sRGB codes, interleaved; 0 where the image doesn't reach */
    uint8_t *seen; /* 1 where it does */
} pv_ground;

/* `found` is false where the image shows the sheet too small. False where memory ran out. */
bool pv_ground_make(const pv_plane *plane, const pv_pose *pose, const double page[2],
                    pv_ground *out, bool *found);
void pv_ground_clear(pv_ground *ground);

static inline pv_vec pv_ground_sheet(const pv_ground *ground, double x, double y)
{
    return pv_v(ground->lo.x + x / ground->px_per_mm, ground->lo.y + y / ground->px_per_mm);
}

#endif
