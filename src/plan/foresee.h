/* On which places of a seam crosses have no room, whatever the other seams do: known before any is
 * chosen, so that the search need not find it out place by place. */
#ifndef PLAN_FORESEE_H
#define PLAN_FORESEE_H

#include "plan/lattice.h"
#include "scene/scene.h"

/* The art is looked at in points so far apart, mm: across the seam, or a place's step if that is
 * more, and along it. Both are less than the side of the box that a cross needs, so that each box
 * holds several. */
#define PV_FORESEE_PITCH 0.5
#define PV_FORESEE_STEP  2.0
/* A seam with more points than this is not foreseen: about 100 MB. */
#define PV_FORESEE_POINTS ((size_t)32 << 20)

/* A box whose points differ in colour is not plain. Where no box is plain over more than
 * PV_CROSS_PITCH of the seam, and no seam across can come to lie so that it parts that, a stretch
 * has no room. *least: by place of seam k, from `lo`: how many stretches, at least. They are those
 * that are surely different ones. The caller frees it. False where memory ran out. */
bool pv_foresee(const pv_scene *scene, bool vertical, const pv_lattice *own, size_t k,
                const pv_lattice *across, size_t **least);

#endif
