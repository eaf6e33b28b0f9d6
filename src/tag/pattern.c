#include "tag/tag.h"

#include <apriltag/apriltag.h>
#include <apriltag/tagStandard41h12.h>

bool pv_tag_cells(unsigned id, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], pv_diags *diags)
{
    if (id >= PV_TAG_IDS) {
        pv_fail(diags, PV_CAUSE_DATA, "no tag has the number %u; the last is %u", id,
                PV_TAG_IDS - 1);
        return false;
    }
    apriltag_family_t *family = tagStandard41h12_create();
    image_u8_t *image = family != NULL ? apriltag_to_image(family, (int)id) : NULL;
    bool good = image != NULL && image->width == PV_TAG_CELLS && image->height == PV_TAG_CELLS;
    for (int row = 0; good && row < PV_TAG_CELLS; row++)
        for (int column = 0; column < PV_TAG_CELLS; column++)
            cells[row][column] = image->buf[row * image->stride + column] < 128;
    if (!good)
        pv_fail(diags, PV_CAUSE_LIBRARY, "the tag library gave no pattern for the number %u", id);
    if (image != NULL)
        image_u8_destroy(image);
    if (family != NULL)
        tagStandard41h12_destroy(family);
    return good;
}
