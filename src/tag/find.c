/* Finding tags, by libapriltag.
 *
 * Kept from it: images narrower than it can cut into tiles (it crashes at 1 x 1) and wider than its
 * 16-bit coordinates. One bit is corrected: the tables for two take 384 MB, and a wrong tag is
 * worse than a missing one. The detector goes before its family, which it points into. */
#include "tag/tag.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <apriltag/apriltag.h>
#include <apriltag/tagStandard41h12.h>
#include <stdlib.h>
#include <string.h>

#define BITS_CORRECTED 1
#define SIDE_MIN       16 /* no tag fits into less */
/* Codes by which white is lighter than black in a tag, at least. Shaded print has fifty; at the
 * library's own 5, noise on plain paper is searched for tags, for seconds. */
#define CONTRAST_MIN 20
/* A blank decides by a hair: matches of noise have margins of a few codes, printed tags of tens. */
#define MARGIN_MIN 10.0

static int by_id(const void *a, const void *b)
{
    const pv_tag_seen *p = a, *q = b;
    int order = pv_order_index(p->id, q->id);
    order = order != 0 ? order : pv_order(p->centre.y, q->centre.y);
    return order != 0 ? order : pv_order(p->centre.x, q->centre.x);
}

static bool copy_seen(const zarray_t *found, pv_tag_seen **seen, size_t *n)
{
    size_t count = (size_t)zarray_size(found);
    pv_tag_seen *list = PV_NEW_ARRAY(count, pv_tag_seen);
    if (list == NULL)
        return false;
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        apriltag_detection_t *one = NULL;
        zarray_get(found, (int)i, &one);
        if (one->decision_margin < MARGIN_MIN)
            continue;
        pv_tag_seen *to = &list[kept++];
        to->id = (unsigned)one->id;
        to->corrected = one->hamming;
        to->margin = one->decision_margin;
        to->centre = pv_v(one->c[0], one->c[1]);
        for (int k = 0; k < 4; k++)
            to->corner[k] = pv_v(one->p[k][0], one->p[k][1]);
    }
    qsort(list, kept, sizeof *list, by_id);
    *seen = list;
    *n = kept;
    return true;
}

/* Runs a detector that has its family. */
static bool detect(apriltag_detector_t *detector, const uint8_t *gray, size_t width, size_t height,
                   pv_tag_seen **seen, size_t *n)
{
    detector->nthreads = 1;
    detector->quad_decimate = 1; /* the caller has reduced the image */
    detector->quad_sigma = 0;
    detector->refine_edges = true;
    detector->debug = false;
    detector->qtp.min_white_black_diff = CONTRAST_MIN;
    image_u8_t *image = image_u8_create((unsigned)width, (unsigned)height);
    if (image == NULL)
        return false;
    for (size_t y = 0; y < height; y++)
        memcpy(image->buf + y * (size_t)image->stride, gray + y * width, width);
    zarray_t *found = apriltag_detector_detect(detector, image);
    bool good = found != NULL && copy_seen(found, seen, n);
    if (found != NULL)
        apriltag_detections_destroy(found);
    image_u8_destroy(image);
    return good;
}

bool pv_tags_find(const uint8_t *gray, size_t width, size_t height, pv_tag_seen **seen, size_t *n,
                  pv_diags *diags)
{
    *seen = NULL;
    *n = 0;
    if (width > PV_TAG_IMAGE_SIDE_MAX || height > PV_TAG_IMAGE_SIDE_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT,
                "the search for tags takes at most %d x %d pixels; this image has %zu x %zu",
                PV_TAG_IMAGE_SIDE_MAX, PV_TAG_IMAGE_SIDE_MAX, width, height);
        return false;
    }
    bool good = false;
    if (width < SIDE_MIN || height < SIDE_MIN) {
        *seen = PV_NEW(pv_tag_seen); /* an empty list */
        good = *seen != NULL;
    } else {
        apriltag_family_t *family = tagStandard41h12_create();
        apriltag_detector_t *detector = family != NULL ? apriltag_detector_create() : NULL;
        if (detector != NULL) {
            apriltag_detector_add_family_bits(detector, family, BITS_CORRECTED);
            good = detect(detector, gray, width, height, seen, n);
            apriltag_detector_destroy(detector);
        }
        if (family != NULL)
            tagStandard41h12_destroy(family);
    }
    if (!good)
        pv_fail_memory(diags);
    return good;
}
