#include "report/jpeg.h"

#include <stdlib.h>

#define QUALITY     82
#define WIDTH_LEAST 160 /* px: below this a picture shows nothing any more */

static unsigned char *halved(const pv_picture *from, pv_picture *to)
{
    *to = (pv_picture){
        .width = from->width / 2, .height = from->height / 2, .px_per_mm = from->px_per_mm / 2};
    to->rgb = pv_new_array(3 * to->width, to->height);
    for (size_t y = 0; to->rgb != NULL && y < to->height; y++)
        for (size_t x = 0; x < 3 * to->width; x++) {
            const unsigned char *at = from->rgb + 6 * from->width * y + 6 * (x / 3) + x % 3;
            const unsigned char *below = at + 3 * from->width;
            to->rgb[3 * to->width * y + x] =
                (unsigned char)((at[0] + at[3] + below[0] + below[3] + 2) / 4);
        }
    return to->rgb;
}

bool pv_picture_jpeg(const pv_picture *picture, size_t share, pv_bytes *out, pv_diags *diags)
{
    pv_picture now = *picture;
    bool good = true;
    *out = (pv_bytes){NULL, 0};
    while (good && now.width >= WIDTH_LEAST) {
        good = pv_jpeg_encode(now.rgb, now.width, now.height, QUALITY, out, diags);
        if (!good || out->size <= share)
            break;
        free(out->data);
        *out = (pv_bytes){NULL, 0};
        pv_picture less;
        if (halved(&now, &less) == NULL) {
            pv_fail_memory(diags);
            good = false;
        }
        if (now.rgb != picture->rgb)
            free(now.rgb);
        now = less;
    }
    if (now.rgb != picture->rgb)
        free(now.rgb);
    return good;
}
