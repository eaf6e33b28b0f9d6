/* Whether a picture shows what the plan has there, as a whole: whatever its tags say. */
#ifndef POSE_MATCH_H
#define POSE_MATCH_H

#include "pose/pose.h"

typedef struct pv_match {
    size_t steps;      /* places looked at where the course goes from one colour to another */
    double gain;       /* by how much the light changes, of what it should: 1 is all of it */
    double strange;    /* and how much else it changes, as a share of what it should */
    size_t black;      /* of the steps, those to or from black, and their own gain */
    double black_gain; /* (the tags are of the same ink) */
} pv_match;

/* Compares the light of neighbouring places of the cell with the course's. Every change is relative
 * to that between black and white in the sheet's own tags. */
pv_match pv_match_page(const pv_scene *page, const pv_plane *plane, const pv_pose *pose);

/* Whether that is another print: it lacks what the course has, and has what the course lacks; or it
 * has all of the tags' black, and none of the course's. */
bool pv_match_contradicts(const pv_match *match);

#endif
