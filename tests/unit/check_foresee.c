#include "art_by_hand.h"

#include "plan/crosses.h"
#include "plan/foresee.h"
#include "scene/raster.h"

/* Seams across at random places that their lattice allows. */
static void choose(const pv_lattice *l, dice *d, int *j)
{
    for (size_t k = 1; k < l->n; k++) {
        int lo = j[k - 1] + l->narrower, hi = j[k - 1] + l->wider;
        lo = lo > l->lo[k] ? lo : l->lo[k];
        hi = hi < l->hi[k] ? hi : l->hi[k];
        j[k] = lo + (int)pick(d, (size_t)(hi - lo) + 1);
    }
}

static size_t blind_at(const pv_scene *scene, bool vertical, double at, const pv_lattice *across,
                       const int *j)
{
    size_t blind = 0;
    pv_look look = {0};
    for (size_t i = 0; i < across->n; i++) {
        pv_stretch s = {vertical, at, pv_lattice_place(across, i, j[i]),
                        pv_lattice_place(across, i + 1, j[i + 1])};
        bool possible = false;
        ck_assert(pv_crosses_possible(scene, &s, &look, &possible));
        blind += !possible;
    }
    pv_look_drop(&look);
    return blind;
}

typedef struct tally {
    size_t asked, blind, foreseen, several;
} tally;

/* What is foreseen of a seam's places holds for any seams across. */
static void hold_seam(const pv_scene *scene, const pv_lattice l[2], int dir, size_t k, dice *d,
                      tally *t)
{
    const pv_lattice *own = &l[dir], *across = &l[1 - dir];
    size_t *least = NULL;
    int j[8] = {0};
    ck_assert(pv_foresee(scene, dir == 0, own, k, across, &least));
    for (int i = own->lo[k]; i <= own->hi[k]; i++) {
        choose(across, d, j);
        double at = pv_lattice_place(own, k, i);
        size_t blind = blind_at(scene, dir == 0, at, across, j), said = least[i - own->lo[k]];
        ck_assert_msg(said <= blind, "at %g: %zu foreseen, %zu found", at, said, blind);
        t->asked++;
        t->blind += blind;
        t->foreseen += said;
        t->several += said > 1;
    }
    free(least);
}

START_TEST(foreseen_stretches_have_no_room)
{
    dice d = {90125};
    tally t = {0};
    for (int round = 0; round < 300; round++) {
        pv_art art;
        art_random(&art, &d, 900);
        pv_scene *scene = pv_scene_of(&art);
        pv_lattice l[2];
        for (int i = 0; i < 2; i++) {
            double length = i == 0 ? art.size.x : art.size.y;
            size_t n = 1 + pick(&d, 4);
            double even = length / (double)n;
            ck_assert(pv_lattice_make(&l[i], n, length, 0.8 * even, even + between(&d, 0, 12)));
        }
        for (int i = 0; i < 2; i++)
            for (size_t k = 1; k < l[i].n; k++)
                hold_seam(scene, l, i, k, &d, &t);
        for (int i = 0; i < 2; i++)
            pv_lattice_free(&l[i]);
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    %zu places: %zu stretches without room, %zu of them foreseen, %zu times several\n",
           t.asked, t.blind, t.foreseen, t.several);
    ck_assert(t.asked > 5000 && t.foreseen > t.blind / 3 && t.several > 0);
}
END_TEST

/* The colours at the points are the art's. */
START_TEST(colours_at_points_are_the_arts)
{
    dice d = {5150};
    size_t points = 0, letters = 0;
    for (int round = 0; round < 200; round++) {
        pv_art art;
        art_random(&art, &d, 300);
        pv_scene *scene = pv_scene_of(&art);
        pv_points r = {.upright = pick(&d, 2) == 0, .pitch = between(&d, 0.3, 2), .step = 1.7};
        double across = r.upright ? art.size.x : art.size.y;
        double length = r.upright ? art.size.y : art.size.x;
        r.first = between(&d, 0, across / 2);
        r.lines = 1 + pick(&d, 20);
        r.points = (size_t)(length / r.step) + 1;
        r.window = pv_box_all();
        uint8_t *seen = pv_points_colours(&r, scene);
        ck_assert_ptr_nonnull(seen);
        for (size_t c = 0; c < r.lines; c++)
            for (size_t i = 0; i < r.points; i++) {
                double off = r.first + r.pitch * (double)c, along = r.step * (double)i;
                pv_vec p = r.upright ? pv_v(off, along) : pv_v(along, off);
                points++;
                letters += seen[c * r.points + i] == PV_SEEN_TEXT;
                if (seen[c * r.points + i] != PV_SEEN_TEXT)
                    ck_assert_uint_eq(seen[c * r.points + i], pv_scene_at(scene, p).colour);
            }
        free(seen);
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    %zu points, %zu in lettering's boxes\n", points, letters);
    ck_assert(points > 50000);
}
END_TEST

int main(void)
{
    TCase *tc = tcase_create("foresee");
    tcase_set_timeout(tc, 120);
    tcase_add_test(tc, foreseen_stretches_have_no_room);
    tcase_add_test(tc, colours_at_points_are_the_arts);
    Suite *suite = suite_create("foresee");
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
