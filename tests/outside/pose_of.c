/* Prints, for tests, the pose of each image as a line of JSON: pose_of PLAN IMAGE... */
#include "base/file.h"
#include "pose/pose.h"

#include <stdio.h>
#include <stdlib.h>

static void print_words(const pv_diags *diags)
{
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        printf("%s%s", i > 0 ? "; " : "", pv_diags_at(diags, i)->message);
}

static void print_pose(const pv_plan *plan, const char *name)
{
    pv_diags *diags = pv_diags_new();
    pv_bytes bytes = {NULL, 0};
    pv_plane *plane = NULL;
    pv_pose pose = {0};
    int failure = -1;
    if (pv_file_read(name, PV_IMAGE_BYTES_MAX, &bytes, diags))
        plane = pv_plane_decode(bytes.data, bytes.size, PV_IMAGE_PIXELS_MAX, diags);
    if (plane != NULL)
        failure = (int)pv_pose_find(plan, plane, &pose, diags);
    printf(
        "{\"failure\": %d, \"perspective\": %d, \"sheet\": \"%s\", \"rms\": %.6g, \"used\": %zu, "
        "\"rejected\": %zu, \"u_scale\": [%.6g, %.6g], \"u_skew\": %.6g, "
        "\"lens\": [%.9g, %.9g], \"lens_centre\": [%.9g, %.9g], \"lens_unit\": %.9g, "
        "\"uneven\": %.6g, \"h\": [",
        failure, pose.kind == PV_POSE_PERSPECTIVE,
        failure == PV_POSE_FOUND ? pv_plan_sheet_name(plan, pose.sheet) : "", pose.rms, pose.used,
        pose.rejected, pose.u_scale[0], pose.u_scale[1], pose.u_skew, pose.lens[0], pose.lens[1],
        pose.lens_centre.x, pose.lens_centre.y, pose.lens_unit, pose.uneven);
    for (int i = 0; i < 9; i++)
        printf("%s%.15g", i > 0 ? ", " : "", pose.h[i]);
    printf("], \"words\": \"");
    print_words(diags); /* ours hold no quotes where images are concerned */
    printf("\"}\n");
    pv_plane_free(plane);
    pv_free(bytes.data);
    pv_diags_free(diags);
}

int main(int argc, char **argv)
{
    pv_diags *diags = pv_diags_new();
    pv_bytes bytes = {NULL, 0};
    pv_plan *plan = NULL;
    if (argc >= 3 && pv_file_read(argv[1], PV_PLAN_BYTES_MAX, &bytes, diags))
        plan = pv_plan_parse((const char *)bytes.data, bytes.size, argv[1], diags);
    if (plan == NULL) {
        print_words(diags);
        printf("\n");
    }
    for (int i = 2; plan != NULL && i < argc; i++)
        print_pose(plan, argv[i]);
    int status = plan != NULL ? EXIT_SUCCESS : EXIT_FAILURE;
    pv_plan_free(plan);
    pv_free(bytes.data);
    pv_diags_free(diags);
    return status;
}
