/* pavior/course.h - a course: the drawing at true size, in mm, origin lower left, y up.
 *
 * The language is described in docs/reference/course-language.md. */
#ifndef PAVIOR_COURSE_H
#define PAVIOR_COURSE_H

#include <pavior/type.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct pv_course pv_course;

/* Limits on what a course file may ask for; past them there is an error with its place. */
#define PV_COURSE_BYTES_MAX  (4u << 20) /* size of the text */
#define PV_COURSE_PIECES_MAX 200000u    /* straight and arc pieces in all lines together */
#define PV_COURSE_ITEMS_MAX  100000u    /* statements carried out, repetitions counted */
#define PV_COURSE_SIDE_MAX   100000.0   /* mm, a side of the mat */
#define PV_COURSE_SIDE_MIN   10.0       /* mm */
#define PV_COURSE_WIDTH_MIN  0.1        /* mm, a line's width and any other painted size */
#define PV_COURSE_REACH      1000000.0  /* mm, how far a point may lie from the origin */
#define PV_COURSE_ANGLE_MAX  1000.0     /* radians either way: some 159 turns */
#define PV_COURSE_LETTER_MAX 5000.0     /* mm, a text's height: PDF's largest (ISO 32000-1, C.2) */
#define PV_COURSE_TEXT_MAX   200u       /* characters in one text */
#define PV_COURSE_NEST_MAX   64         /* parentheses and calls within each other */
#define PV_COURSE_REPEAT_MAX 16         /* repetitions within each other */
#define PV_COURSE_POINTS_MAX 4000000u   /* corners of all arcs, flattened to within a micrometre */
#define PV_COURSE_STEPS_MAX  10000000u  /* words and signs read, repetitions counted */

/* Reads a course. `name` stands for the input in messages and may be NULL. Its texts are set in
 * `type`, which must outlive the course; faces for characters that it lacks are added to it.
 * Reports all the errors it finds. NULL where there is any error; warnings alone don't fail. The
 * caller frees it. */
PV_API pv_course *pv_course_parse(const char *text, size_t length, const char *name, pv_type *type,
                                  pv_diags *diags);
PV_API void pv_course_free(pv_course *course); /* NULL is fine */

/* Changes the course's colours to those that are printed: by black ink alone, so that neighbours
 * differ in luminance; with fills as pale as their neighbours let them be, lines staying as they
 * are; or both. A warning where neighbours can't be told apart. False with a reason. */
PV_API bool pv_course_print_as(pv_course *course, bool gray, bool sparing, pv_diags *diags);

/* All belong to the course. */
PV_API const char *pv_course_name(const pv_course *course);
PV_API const char *pv_course_edition(const pv_course *course);
PV_API double pv_course_width(const pv_course *course);  /* mm */
PV_API double pv_course_height(const pv_course *course); /* mm */

/* The course as an SVG 1.1 drawing at true size (width and height in mm); with `run`, the robot's
 * route is drawn over it, and the robot where it starts and ends. The caller frees it with pv_free.
 */
PV_API char *pv_course_svg(const pv_course *course, bool run, pv_diags *diags);

#ifdef __cplusplus
}
#endif
#endif
