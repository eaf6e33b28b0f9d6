/* Where a camera sees the whole mat: a pinhole above its middle. */
#include "course/model.h"
#include "po/po.h"

#include <pavior/drawing.h>

#define PIXELS    1920.0 /* of a common video's width */
#define ANGLE_MAX 170.0  /* degrees; past it a height means nothing */

typedef struct typical {
    const char *name;
    double across[2];
} typical;

/* Assumed. Angles from the focal length that makers state, as of a picture with a diagonal of
 * 43.3 mm: 2 atan(half a side / focal length), sides by the picture's shape. */
static const typical cameras[] = {
    {PV_SAID("phone, main camera, video"), {61, 36}},  /* 26 mm, 16:9, 12 % cut off to steady it */
    {PV_SAID("phone, wide camera, video"), {99, 67}},  /* 13 mm, as the main one */
    {PV_SAID("web camera"), {70, 43}},                 /* 78 degrees along the diagonal, 16:9 */
    {PV_SAID("phone, main camera, photo"), {67, 53}},  /* 26 mm, 4:3 */
    {PV_SAID("phone, wide camera, photo"), {106, 90}}, /* 13 mm, 4:3 */
};

bool pv_camera_of(const pv_course *course, const double across[2], pv_camera_info *camera)
{
    pv_vec size = course->art.size;
    const double side[2] = {fmax(size.x, size.y), fmin(size.x, size.y)};
    double half[2], border = PV_CAMERA_BORDER * side[0];
    *camera = (pv_camera_info){.across = {across[0], across[1]}};
    for (int i = 0; i < 2; i++) {
        if (!(across[i] > 0 && across[i] < ANGLE_MAX))
            return false;
        half[i] = tan(across[i] * PV_PI / 360);
        camera->height = fmax(camera->height, (side[i] / 2 + border) / half[i]);
    }
    for (int i = 0; i < 2; i++)
        camera->seen[i] = 2 * camera->height * half[i];
    camera->per_mm = PIXELS / camera->seen[0];
    return true;
}

bool pv_camera_at(const pv_course *course, size_t index, pv_camera_info *camera)
{
    if (index >= sizeof cameras / sizeof *cameras)
        return false;
    bool good = pv_camera_of(course, cameras[index].across, camera);
    camera->name = cameras[index].name;
    return good;
}
