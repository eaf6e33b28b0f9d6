/* A picture rectified through the pose, lens and all. */
#include "pose/rectify.h"

#include "base/light.h"
#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#define GRID_MAX  8   /* samples along each side of a pixel */
#define GRID_FINE 3.0 /* px of the image: below this, samples between pixels are interpolated */

typedef struct rectifier {
    const pv_plane *plane;
    const pv_pose *pose;
    double page[2];
    pv_picture *out;
    unsigned char *codes; /* of each 16-bit light */
} rectifier;

static unsigned char *make_codes(void)
{
    unsigned char *codes = PV_NEW_ARRAY(65536, unsigned char);
    size_t light = 0;
    for (int code = 0; codes != NULL && code < 256; code++) {
        double end = code < 255 ? 65535 * pv_srgb_decode((code + 0.5) / 255) : 65536;
        for (; (double)light < end && light < 65536; light++)
            codes[light] = (unsigned char)code;
    }
    return codes;
}

static pv_vec place(const rectifier *r, double column, double row)
{
    double k = r->out->px_per_mm;
    return pv_pose_map(r->pose, pv_v(column / k, r->page[1] - row / k));
}

/* Adds the light at a place inside of the image; px is not farther out than its edge. */
static void add_between(const pv_plane *plane, pv_vec px, double sum[3])
{
    double x = fmin(fmax(px.x - 0.5, 0), (double)plane->width - 1);
    double y = fmin(fmax(px.y - 0.5, 0), (double)plane->height - 1);
    size_t left = (size_t)x, top = (size_t)y, c = (size_t)plane->channels;
    size_t right = left + 1 < plane->width ? c : 0;
    size_t below = top + 1 < plane->height ? c * plane->width : 0;
    double u = x - (double)left, v = y - (double)top;
    const uint16_t *at = plane->samples + (top * plane->width + left) * c;
    for (size_t i = 0; i < c; i++)
        sum[i] += (1 - v) * ((1 - u) * at[i] + u * at[right + i]) +
                  v * ((1 - u) * at[below + i] + u * at[below + right + i]);
}

static void add_nearest(const pv_plane *plane, pv_vec px, double sum[3])
{
    size_t c = (size_t)plane->channels, x = (size_t)px.x, y = (size_t)px.y;
    x = x < plane->width ? x : plane->width - 1;
    y = y < plane->height ? y : plane->height - 1;
    const uint16_t *at = plane->samples + (y * plane->width + x) * c;
    for (size_t i = 0; i < c; i++)
        sum[i] += at[i];
}

/* One pixel, whose middle is `at`; dx and dy lead to its neighbours. */
static void fill_pixel(const rectifier *r, pv_vec at, pv_vec dx, pv_vec dy, unsigned char *rgb)
{
    const pv_plane *plane = r->plane;
    double reach = fmax(pv_len(dx), pv_len(dy));
    /* A comparison that a place which isn't finite fails, too. */
    bool inside = at.x >= 0 && at.y >= 0 && at.x <= (double)plane->width &&
                  at.y <= (double)plane->height && reach < 1e6;
    if (!inside) {
        memset(rgb, PV_PICTURE_OUTSIDE, 3);
        return;
    }
    int n = (int)fmin(fmax(ceil(reach), 2), GRID_MAX), taken = 0;
    double sum[3] = {0, 0, 0};
    for (int i = 0; i < n; i++) {
        pv_vec row = pv_along(at, dy, (i + 0.5) / n - 0.5);
        for (int k = 0; k < n; k++) {
            pv_vec px = pv_along(row, dx, (k + 0.5) / n - 0.5);
            if (!(px.x >= 0 && px.y >= 0 && px.x <= (double)plane->width &&
                  px.y <= (double)plane->height))
                continue;
            taken++;
            if (reach < GRID_FINE)
                add_between(plane, px, sum);
            else
                add_nearest(plane, px, sum);
        }
    }
    for (int i = 0; i < 3; i++) {
        double light = taken > 0 ? sum[plane->channels == 3 ? i : 0] / taken : 0;
        rgb[i] = taken > 0 ? r->codes[(size_t)(light + 0.5) & 0xFFFF] : PV_PICTURE_OUTSIDE;
    }
}

static void fill(const rectifier *r)
{
    pv_picture *out = r->out;
    for (size_t row = 0; row < out->height; row++) {
        double y = (double)row + 0.5;
        for (size_t column = 0; column < out->width; column++) {
            double x = (double)column + 0.5;
            pv_vec at = place(r, x, y);
            pv_vec dx = pv_sub(place(r, x + 1, y), at), dy = pv_sub(place(r, x, y + 1), at);
            fill_pixel(r, at, dx, dy, out->rgb + 3 * (row * out->width + column));
        }
    }
}

/* px per mm: the least of the request, the image's own and the limit; 0 if none is left. */
static double choose_resolution(const rectifier *r, double px_per_mm)
{
    pv_vec dx, dy;
    pv_pose_jacobian(r->pose, pv_v(r->page[0] / 2, r->page[1] / 2), &dx, &dy);
    double k = fmin(px_per_mm, fmax(pv_len(dx), pv_len(dy)));
    k = fmin(k, sqrt(PV_PICTURE_PIXELS_MAX / (r->page[0] * r->page[1])));
    return isfinite(k) && k * fmin(r->page[0], r->page[1]) >= 1 ? k : 0;
}

bool pv_rectify(const pv_plane *plane, const pv_pose *pose, const double page[2], double px_per_mm,
                pv_picture *out)
{
    rectifier r = {.plane = plane, .pose = pose, .page = {page[0], page[1]}, .out = out};
    *out = (pv_picture){.px_per_mm = choose_resolution(&r, px_per_mm)};
    if (out->px_per_mm == 0)
        return true;
    out->width = (size_t)(page[0] * out->px_per_mm + 0.5);
    out->height = (size_t)(page[1] * out->px_per_mm + 0.5);
    out->rgb = pv_new_array(3 * out->width, out->height);
    r.codes = make_codes();
    bool good = out->rgb != NULL && r.codes != NULL;
    if (good)
        fill(&r);
    free(r.codes);
    if (!good) {
        free(out->rgb);
        *out = (pv_picture){0};
    }
    return good;
}
