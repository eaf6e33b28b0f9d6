/* A course as read: the art, and what is said of the robot's run. */
#ifndef COURSE_MODEL_H
#define COURSE_MODEL_H

#include "course/art.h"

#include <pavior/course.h>

typedef struct pv_robot {
    bool given;
    double length, width; /* mm; length along its heading */
    double pivot;         /* mm from its rear end to the point that it turns about */
} pv_robot;

typedef struct pv_start {
    bool given;
    pv_vec at;      /* where the robot's pivot stands */
    double heading; /* radians */
    double size;    /* mm, the mark's length; its outline is the art's mark "start" */
    pv_source source;
} pv_start;

/* The region into which the robot must come to stand: a region that centre lines and the mat's edge
 * enclose. */
typedef struct pv_finish {
    bool given;
    pv_vec at;       /* the point that names it */
    pv_area outline; /* colour unused */
    pv_source source;
} pv_finish;

/* The way of the robot's pivot. */
typedef struct pv_route {
    pv_piece *pieces;
    size_t n;
    pv_source source;
} pv_route;

/* A fill as the text asks for it; the art's fill of the same index is its outline, which is empty
 * where an earlier fill has the same region. */
typedef struct pv_fill_seed {
    pv_vec at;
    pv_source source;
} pv_fill_seed;

struct pv_course {
    pv_art art;
    pv_robot robot;
    pv_start start;
    pv_finish finish;
    pv_route route;
    pv_fill_seed *seeds; /* one for each of art.fills */
    size_t n_seeds, cap_seeds;
    pv_type *type; /* that its texts are set in; borrowed */
    char *file;    /* name of the input, for the review's messages; may be NULL */
};

#endif
