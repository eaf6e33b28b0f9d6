#include "common.h"

#include "base/memory.h"
#include "plan/layout.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- art by hand ---- */

enum { WHITE, BLACK, RED, GREEN, N_COLOURS };

static void art_start(pv_art *art, const char *name, double width, double height)
{
    static const struct {
        const char *name;
        uint8_t rgb[3];
    } colours[N_COLOURS] = {{"white", {255, 255, 255}},
                            {"black", {0, 0, 0}},
                            {"red", {200, 30, 20}},
                            {"green", {150, 220, 150}}};
    *art = (pv_art){.name = pv_copy_text(name), .edition = pv_copy_text("1"), .ground = WHITE};
    art->size = pv_v(width, height);
    art->tolerances = (pv_tolerances){0.003, 0.5, 1, 2, 1};
    art->colours = PV_NEW_ARRAY(N_COLOURS, pv_colour);
    art->n_colours = art->cap_colours = N_COLOURS;
    for (int i = 0; i < N_COLOURS; i++) {
        art->colours[i].name = pv_copy_text(colours[i].name);
        memcpy(art->colours[i].rgb, colours[i].rgb, 3);
    }
}

static pv_line *add_line(pv_art *art, double width, size_t colour, pv_ends ends)
{
    ck_assert(PV_GROW(art->lines, art->n_lines, art->cap_lines));
    pv_line *line = &art->lines[art->n_lines];
    char id[32];
    snprintf(id, sizeof id, "line %zu", ++art->n_lines);
    *line = (pv_line){.id = pv_copy_text(id), .width = width, .colour = colour, .ends = ends};
    return line;
}

static void add_piece(pv_line *line, pv_piece piece)
{
    pv_piece *grown = realloc(line->pieces, (line->n_pieces + 1) * sizeof *grown);
    ck_assert_ptr_nonnull(grown);
    line->pieces = grown;
    line->pieces[line->n_pieces++] = piece;
}

static pv_line *add_straight(pv_art *art, double width, pv_vec a, pv_vec b)
{
    pv_line *line = add_line(art, width, BLACK, PV_ENDS_FLAT);
    add_piece(line, pv_segment(a, b));
    return line;
}

static void add_fill(pv_area **areas, size_t *n, size_t *cap, size_t colour, pv_vec centre,
                     double radius, size_t points)
{
    ck_assert(pv_reserve((void **)areas, cap, *n + 1, sizeof **areas));
    char id[32];
    snprintf(id, sizeof id, "area %zu", *n + 1);
    pv_area area = {.id = pv_copy_text(id), .n_rings = 1, .colour = colour};
    area.rings = PV_NEW(pv_ring);
    area.rings->points = PV_NEW_ARRAY(points, pv_vec);
    area.rings->n = points;
    for (size_t i = 0; i < points; i++)
        area.rings->points[i] =
            pv_add(centre, pv_polar(radius, 2 * PV_PI * ((double)i + 0.5) / (double)points));
    (*areas)[(*n)++] = area;
}

static void add_lettering(pv_art *art, const char *text, pv_vec at, double height, double angle)
{
    ck_assert(PV_GROW(art->letterings, art->n_letterings, art->cap_letterings));
    pv_lettering *l = &art->letterings[art->n_letterings++];
    *l = (pv_lettering){.text = pv_copy_text(text), .at = at, .height = height, .angle = angle};
    l->anchor = PV_ANCHOR_CENTRE;
    l->colour = BLACK;
}

/* A square yard with a ring, a cross of lines and a coloured disc. */
static void art_yard(pv_art *art)
{
    art_start(art, "Yard", 914.4, 914.4);
    pv_line *ring = add_line(art, 25, BLACK, PV_ENDS_FLAT);
    ring->closed = true;
    add_piece(ring, pv_arc(pv_v(457.2, 457.2), 380, 0, 2 * PV_PI));
    add_straight(art, 25, pv_v(60, 457.2), pv_v(854, 457.2));
    add_straight(art, 20, pv_v(300, 100), pv_v(650, 820));
    add_fill(&art->fills, &art->n_fills, &art->cap_fills, GREEN, pv_v(620, 620), 90, 64);
    add_fill(&art->marks, &art->n_marks, &art->cap_marks, RED, pv_v(300, 600), 60, 3);
    add_lettering(art, "Yard", pv_v(250, 250), 40, 0.3);
}

static pv_plan *plan_of(const pv_art *art, const char *paper)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = pv_plan_of_art(art, &options, diags);
    char *said = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s: %s", paper, said);
    if (*said != '\0')
        printf("    %s: %s", paper, said);
    pv_free(said);
    pv_diags_free(diags);
    return plan;
}

START_TEST(a_square_yard_on_common_papers)
{
    pv_art art;
    art_yard(&art);
    static const char *const papers[] = {"letter", "A4", "A3", "tabloid", "A0", "A6"};
    for (size_t i = 0; i < 6; i++) {
        pv_plan *plan = plan_of(&art, papers[i]);
        printf("    %-8s %2zu x %2zu = %3zu sheets, %zu crosses, fingerprint %u\n", papers[i],
               plan->columns, plan->rows, plan->n_sheets, plan->n_crosses, plan->fingerprint);
        pv_plan_free(plan);
    }
    pv_art_clear(&art);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("plan");
    TCase *tcase = tcase_create("plan");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, a_square_yard_on_common_papers);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
