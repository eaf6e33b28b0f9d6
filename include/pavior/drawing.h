/* pavior/drawing.h - pictures of a course for people: its dimension drawing, figures for the page
 * of a mat's rules, and where a camera sees all of it.
 *
 * The mat itself as a drawing is pv_course_svg (pavior/course.h). */
#ifndef PAVIOR_DRAWING_H
#define PAVIOR_DRAWING_H

#include <pavior/course.h>
#include <pavior/language.h>

#ifdef __cplusplus
extern "C" {
#endif

/* All pointers are borrowed. Start from pv_drawing_defaults. */
typedef struct pv_drawing_options {
    size_t size;          /* of this struct, for the library: pv_drawing_defaults sets it */
    const char *paper;    /* of the dimension drawing: a name as in pv_layout_options; NULL: A3. It
                             lies on its long side. */
    const char *identity; /* what the title block calls the course's identity; NULL: none */
    const pv_language *language; /* of all words; NULL: English */
} pv_drawing_options;

PV_API void pv_drawing_init_options(pv_drawing_options *options, size_t size);
static inline pv_drawing_options pv_drawing_defaults(void)
{
    pv_drawing_options options;
    pv_drawing_init_options(&options, sizeof options);
    return options;
}

/* The dimension drawing: the mat to a scale of ISO 5455 on one page, in the manner of ISO 128 and
 * ISO 129-1, in mm with inches in brackets. Each feature has its dimension once: where lines lie,
 * their widths, radii, diameters, what slants; the start mark, the finish region, the robot. As PDF
 * (the caller frees *bytes with pv_free) or as SVG (pv_free). `options` may be NULL. False or NULL
 * with a reason: no such paper, a page too small, memory, a library that refused. */
PV_API bool pv_dimensions_pdf(const pv_course *course, const pv_drawing_options *options,
                              unsigned char **bytes, size_t *size, pv_diags *diags);
PV_API char *pv_dimensions_svg(const pv_course *course, const pv_drawing_options *options,
                               pv_diags *diags);

/* What the page of a mat's rules shows, each a drawing of its own about 100 mm wide. */
typedef enum pv_figure {
    PV_FIGURE_START,  /* the start mark with what is around it, and its size */
    PV_FIGURE_FINISH, /* the finish region, with its size */
    PV_FIGURE_LINES,  /* a line of each width, with the width and what it may be off */
    PV_FIGURE_ROBOT,  /* the robot's footprint and pivot */
    PV_FIGURE_CAMERA  /* how high a camera stands: pv_camera_at has the numbers */
} pv_figure;

/* Whether the course has what such a figure shows. */
PV_API bool pv_figure_shows(const pv_course *course, pv_figure figure);
/* As SVG. The caller frees it with pv_free. NULL with a reason: the course has no such thing, or
 * memory. */
PV_API char *pv_figure_svg(const pv_course *course, pv_figure figure, pv_diags *diags);

/* ---- where a camera goes ---- */

/* A camera that looks straight down at the mat's middle, its picture's long side along the mat's.
 */
typedef struct pv_camera_info {
    const char *
        name; /* of a typical camera, in English: "phone, main camera, video"; NULL: angles alone */
    double across[2]; /* degrees: what it sees along its picture's long and short side */
    double height;    /* mm of its lens above the floor from which the mat is in view with the
                         border */
    double seen[2];   /* mm of floor that it then sees, along the same sides */
    double per_mm;    /* pixels on a millimetre of the floor, for a picture 1920 pixels wide */
} pv_camera_info;

/* Left free on all sides of the mat, as a share of its longer side. */
#define PV_CAMERA_BORDER 0.05

/* Which of the typical ones the figure shows. */
#define PV_CAMERA_SHOWN 0

/* Typical cameras, those that film first; false past the end. */
PV_API bool pv_camera_at(const pv_course *course, size_t index, pv_camera_info *camera);
/* The same for a camera of these angles in degrees, each above 0 and below 170; false else. */
PV_API bool pv_camera_of(const pv_course *course, const double across[2], pv_camera_info *camera);

#ifdef __cplusplus
}
#endif
#endif
