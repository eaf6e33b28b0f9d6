#include "measure/shape.h"

#include "base/light.h"

#include <string.h>

#define HUE_ROWS    97   /* px between the places where hue is looked for */
#define HUE_SHARE   100  /* one in so many must have some */
#define CHROMA_MIN  0.06 /* root mean square of the channels off their luminance: that is a hue */
#define CHROMA_LEFT 0.25 /* of the nominal hue; less is gray */

void pv_view_nominal(const pv_view *view, size_t colour, double light[3])
{
    pv_colour_linear(&view->art->colours[colour], light);
    if (view->plane->channels == 1)
        light[0] = light[1] = light[2] = pv_colour_luminance(&view->art->colours[colour]);
}

double pv_view_luminance(const pv_view *view, const double light[3])
{
    if (view->plane->channels == 1)
        return light[0];
    return pv_luminance(light);
}

double pv_view_apart(const pv_view *view, const double a[3], const double b[3])
{
    double square = 0;
    int channels = view->plane->channels == 1 ? 1 : 3;
    for (int c = 0; c < channels; c++)
        square += (a[c] - b[c]) * (a[c] - b[c]);
    return sqrt(square / channels);
}

bool pv_view_gray(const pv_view *view, const double printed[3], const double nominal[3])
{
    static const double paper[3] = {1, 1, 1};
    double y = pv_view_luminance(view, printed), y0 = pv_view_luminance(view, nominal);
    double square = 0, sum = 0;
    for (int c = 0; c < 3; c++) {
        square += (nominal[c] - y0) * (nominal[c] - y0);
        sum += (printed[c] - y) * (nominal[c] - y0);
    }
    double asked = pv_view_apart(view, nominal, paper), got = pv_view_apart(view, printed, paper);
    /* A faint print has its hue in proportion. */
    double strength = asked > 0 ? fmin(got / asked, 1) : 0;
    return view->hues && strength > 0.3 && sqrt(square / 3) >= CHROMA_MIN &&
           sum < CHROMA_LEFT * strength * square;
}

/* A gray scan may be stored in three equal channels: nothing can be said of hue then. */
static bool has_hues(const pv_plane *plane)
{
    if (plane->channels != 3)
        return false;
    size_t n = plane->width * plane->height, seen = 0, hues = 0;
    for (size_t i = 0; i < n; i += HUE_ROWS, seen++) {
        const uint16_t *p = plane->samples + 3 * i;
        hues += p[0] != p[1] || p[1] != p[2];
    }
    return hues * HUE_SHARE > seen;
}

bool pv_measure_shape(const pv_plan *plan, const pv_sheet *sheet, const pv_frame *frame,
                      const pv_plane *plane, const pv_scene *scene, double px, pv_measures *out)
{
    pv_view view = {
        .frame = frame, .plane = plane, .art = &plan->art, .px = px, .hues = has_hues(plane)};
    bool soft = frame->pose->kind == PV_POSE_PERSPECTIVE;
    bool good = pv_labels_make(&view.labels, plan, sheet, scene) &&
                pv_cells_make(&view.cells, frame, plane, &view.labels) &&
                pv_white_make(&view.white, &view.cells, &plan->art, soft) &&
                pv_shape_lines(&view, scene, out) && pv_shape_fills(&view, out);
    pv_labels_clear(&view.labels);
    pv_cells_clear(&view.cells);
    pv_white_clear(&view.white);
    return good;
}
