/* A window on the pose, for tests.
 *
 *   pose_of PLAN IMAGE...            each image's pose as a line of JSON
 *   pose_of --places PLAN IMAGE...   with every place that was sighted, seen once more by the final
 * map: kind, a and b (sheet mm), normal, place along it (px), residual (px, predicted - seen),
 * standard error (px), mark pose_of --fit WIDTH HEIGHT       the map through points, "x y u v" a
 * line on standard input, in mm and px: the fit alone, as a photograph's */
#include "base/memory.h"
#include "pose/fit.h"
#include "pose/pose.h"
#include "pose/solve.h"
#include "pose/target.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define REACH      0.6 /* mm, as in the last round of pv_pose_find */
#define FIT_SIGMA  0.1 /* px */
#define POINTS_MAX 4096

static void print_words(const pv_diags *diags)
{
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        printf("%s%s", i > 0 ? "; " : "", pv_diags_at(diags, i)->message);
}

static void print_map(const pv_pose *pose)
{
    printf("\"lens\": [%.9g, %.9g], \"lens_centre\": [%.9g, %.9g], \"lens_unit\": %.9g, \"h\": [",
           pose->lens[0], pose->lens[1], pose->lens_centre.x, pose->lens_centre.y, pose->lens_unit);
    for (int i = 0; i < 9; i++)
        printf("%s%.15g", i > 0 ? ", " : "", pose->h[i]);
    printf("]");
}

static void print_places(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                         pv_diags *diags)
{
    static const char *const kinds[] = {"line", "stroke", "tag"};
    pv_target *targets = NULL;
    size_t n = 0;
    pv_scene *page = pv_plan_page(plan, &plan->sheets[pose->sheet]);
    bool listed = page != NULL && pv_targets_list(page, &targets, &n, diags);
    pv_scene_free(page);
    if (!listed)
        return;
    const char *between = "";
    printf(", \"places\": [");
    for (size_t i = 0; i < n; i++) {
        pv_sight s;
        if (!pv_target_sight(&targets[i], plane, pose, REACH, &s))
            continue;
        pv_vec middle = pv_scale(pv_add(pv_pose_map(pose, s.a), pv_pose_map(pose, s.b)), 0.5);
        printf("%s[\"%s\", %.9g, %.9g, %.9g, %.9g, %.9g, %.9g, %.9g, %.6g, %.4g, %zu]", between,
               kinds[targets[i].kind], s.a.x, s.a.y, s.b.x, s.b.y, s.normal.x, s.normal.y, s.at,
               pv_dot(s.normal, middle) - s.at, s.sigma, s.mark);
        between = ", ";
    }
    printf("]");
    free(targets);
}

static bool read_file(const char *name, pv_bytes *out)
{
    FILE *file = fopen(name, "rb");
    if (file == NULL || fseek(file, 0, SEEK_END) != 0)
        return false;
    *out = (pv_bytes){NULL, (size_t)ftell(file)};
    rewind(file);
    out->data = malloc(out->size + 1);
    bool good = out->data != NULL && fread(out->data, 1, out->size, file) == out->size;
    fclose(file);
    return good;
}

static void print_pose(const pv_plan *plan, const char *name, bool places)
{
    pv_diags *diags = pv_diags_new();
    pv_bytes bytes = {NULL, 0};
    pv_plane *plane = NULL;
    pv_pose pose = {0};
    int failure = -1;
    if (read_file(name, &bytes))
        plane = pv_plane_decode(bytes.data, bytes.size, 0, PV_IMAGE_PIXELS_MAX, diags);
    if (plane != NULL)
        failure = (int)pv_pose_find((const pv_plan *[]){plan}, 1, plane, &pose, diags);
    printf(
        "{\"failure\": %d, \"perspective\": %d, \"sheet\": \"%s\", \"rms\": %.6g, \"used\": %zu, "
        "\"rejected\": %zu, \"u_scale\": [%.6g, %.6g], \"u_skew\": %.6g, \"uneven\": %.6g, ",
        failure, pose.kind == PV_POSE_PERSPECTIVE,
        failure == PV_POSE_FOUND ? plan->sheets[pose.sheet].name : "", pose.rms, pose.used,
        pose.rejected, pose.u_scale[0], pose.u_scale[1], pose.u_skew, pose.uneven);
    print_map(&pose);
    if (places && failure == PV_POSE_FOUND)
        print_places(plan, plane, &pose, diags);
    printf(", \"words\": \"");
    print_words(diags); /* ours hold no quotes where images are concerned */
    printf("\"}\n");
    pv_plane_free(plane);
    pv_free(bytes.data);
    pv_diags_free(diags);
}

static int print_poses(int n, char **names, bool places)
{
    pv_diags *diags = pv_diags_new();
    pv_bytes bytes = {NULL, 0};
    pv_plan *plan = NULL;
    if (n >= 2 && read_file(names[0], &bytes))
        plan = pv_plan_parse((const char *)bytes.data, bytes.size, names[0], diags);
    if (plan == NULL) {
        print_words(diags);
        printf("\n");
    }
    for (int i = 1; plan != NULL && i < n; i++)
        print_pose(plan, names[i], places);
    int status = plan != NULL ? EXIT_SUCCESS : EXIT_FAILURE;
    pv_plan_free(plan);
    pv_free(bytes.data);
    pv_diags_free(diags);
    return status;
}

/* Two sights for each point, along the picture's x and y. */
static int print_fit(double width, double height)
{
    static pv_vec from[POINTS_MAX], to[POINTS_MAX];
    static pv_sight sights[2 * POINTS_MAX];
    size_t n = 0;
    while (n < POINTS_MAX &&
           scanf("%lf %lf %lf %lf", &from[n].x, &from[n].y, &to[n].x, &to[n].y) == 4) {
        for (size_t k = 0; k < 2; k++)
            sights[2 * n + k] = (pv_sight){.a = from[n],
                                           .b = from[n],
                                           .normal = k == 0 ? pv_v(1, 0) : pv_v(0, 1),
                                           .at = k == 0 ? to[n].x : to[n].y,
                                           .group = n,
                                           .mark = 2 * n + k,
                                           .sigma = FIT_SIGMA,
                                           .weight = 1};
        n++;
    }
    pv_pose start = {0};
    pv_fitted fitted;
    if (!pv_homography(from, to, n, start.h) ||
        pv_fit(PV_POSE_PERSPECTIVE, sights, 2 * n, &start, pv_v(width / 2, height / 2), &fitted) !=
            PV_FIT_DONE)
        return EXIT_FAILURE;
    printf("{\"rms\": %.9g, \"used\": %zu, ", fitted.rms, fitted.used);
    print_map(&fitted.map);
    printf("}\n");
    return EXIT_SUCCESS;
}

int main(int argc, char **argv)
{
    if (argc == 4 && strcmp(argv[1], "--fit") == 0)
        return print_fit(strtod(argv[2], NULL), strtod(argv[3], NULL));
    bool places = argc > 1 && strcmp(argv[1], "--places") == 0;
    return print_poses(argc - 1 - places, argv + 1 + places, places);
}
