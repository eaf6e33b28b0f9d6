/* Art without a course text, for tests of what is built on it. */
#ifndef TESTS_ART_BY_HAND_H
#define TESTS_ART_BY_HAND_H

#include "common.h"

#include "base/memory.h"
#include "plan/layout.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BY_HAND __attribute__((unused)) static

enum { WHITE, BLACK, RED, GREEN, NAVY, N_COLOURS };

BY_HAND void art_start(pv_art *art, const char *name, double width, double height)
{
    static const struct {
        const char *name;
        uint8_t rgb[3];
    } colours[N_COLOURS] = {{"white", {255, 255, 255}},
                            {"black", {0, 0, 0}},
                            {"red", {200, 30, 20}},
                            {"green", {150, 220, 150}},
                            {"navy", {20, 30, 120}}};
    ck_assert(pv_art_open(art));
    art->name = pv_copy_text(name);
    art->edition = pv_copy_text("1");
    art->ground = WHITE;
    art->size = pv_v(width, height);
    art->tolerances = (pv_tolerances){0.003, 0.5, 1, 2, 1, 0.25, 3};
    art->colours = PV_NEW_ARRAY(N_COLOURS, pv_colour);
    art->n_colours = art->cap_colours = N_COLOURS;
    for (int i = 0; i < N_COLOURS; i++) {
        art->colours[i].name = pv_copy_text(colours[i].name);
        memcpy(art->colours[i].rgb, colours[i].rgb, 3);
    }
}

BY_HAND pv_line *add_line(pv_art *art, double width, size_t colour, pv_ends ends)
{
    ck_assert(PV_GROW(art->lines, art->n_lines, art->cap_lines));
    pv_line *line = &art->lines[art->n_lines];
    char id[32];
    snprintf(id, sizeof id, "line %zu", ++art->n_lines);
    *line = (pv_line){.id = pv_copy_text(id), .width = width, .colour = colour, .ends = ends};
    return line;
}

BY_HAND void add_piece(pv_line *line, pv_piece piece)
{
    pv_piece *grown = realloc(line->pieces, (line->n_pieces + 1) * sizeof *grown);
    ck_assert_ptr_nonnull(grown);
    line->pieces = grown;
    line->pieces[line->n_pieces++] = piece;
}

BY_HAND pv_line *add_straight(pv_art *art, double width, pv_vec a, pv_vec b)
{
    pv_line *line = add_line(art, width, BLACK, PV_ENDS_FLAT);
    add_piece(line, pv_segment(a, b));
    return line;
}

BY_HAND void add_disc(pv_area **areas, size_t *n, size_t *cap, size_t colour, pv_vec centre,
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

BY_HAND void add_fill(pv_art *art, size_t colour, pv_vec centre, double radius, size_t points)
{
    add_disc(&art->fills, &art->n_fills, &art->cap_fills, colour, centre, radius, points);
}

BY_HAND void add_mark(pv_art *art, size_t colour, pv_vec centre, double radius, size_t points)
{
    add_disc(&art->marks, &art->n_marks, &art->cap_marks, colour, centre, radius, points);
}

BY_HAND void add_lettering(pv_art *art, const char *text, pv_vec at, double height, double angle)
{
    ck_assert(PV_GROW(art->letterings, art->n_letterings, art->cap_letterings));
    pv_lettering *l = &art->letterings[art->n_letterings++];
    *l = (pv_lettering){.text = pv_copy_text(text), .at = at, .height = height, .angle = angle};
    l->anchor = PV_ANCHOR_CENTRE;
    l->colour = BLACK;
    ck_assert(pv_lettering_set(l, test_type()));
}

/* A square yard with a ring, lines, a coloured disc and a mark. */
BY_HAND void art_yard(pv_art *art)
{
    art_start(art, "Yard", 914.4, 914.4);
    pv_line *ring = add_line(art, 25, BLACK, PV_ENDS_FLAT);
    ring->closed = true;
    add_piece(ring, pv_arc(pv_v(457.2, 457.2), 380, 0, 2 * PV_PI));
    add_straight(art, 25, pv_v(60, 457.2), pv_v(854, 457.2));
    add_straight(art, 20, pv_v(300, 100), pv_v(650, 820));
    add_fill(art, GREEN, pv_v(620, 620), 90, 64);
    add_mark(art, RED, pv_v(300, 600), 60, 3);
    add_lettering(art, "Yard", pv_v(250, 250), 40, 0.3);
}

/* ---- at random, the same on every machine ---- */

BY_HAND void random_line(pv_art *art, dice *d)
{
    pv_line *line =
        add_line(art, between(d, 3, 60), 1 + pick(d, N_COLOURS - 1), (pv_ends)pick(d, 3));
    pv_vec at = pv_v(between(d, 0, art->size.x), between(d, 0, art->size.y));
    size_t n = 1 + pick(d, 4);
    for (size_t i = 0; i < n; i++) {
        if (pick(d, 3) == 0) {
            double from = between(d, 0, 2 * PV_PI), radius = between(d, 20, 200);
            pv_vec centre = pv_sub(at, pv_polar(radius, from));
            add_piece(line, pv_arc(centre, radius, from, between(d, -5, 5)));
            line->pieces[line->n_pieces - 1].a = at;
        } else {
            /* Some along the axes, since seams run along those. */
            double reach = between(d, 30, 500);
            pv_vec step = pick(d, 2) == 0 ? pv_v(reach, 0) : pv_polar(reach, between(d, 0, 7));
            add_piece(line, pv_segment(at, pv_add(at, step)));
        }
        at = line->pieces[line->n_pieces - 1].b;
    }
}

BY_HAND void art_random(pv_art *art, dice *d, double most)
{
    art_start(art, "Random", between(d, 60, most), between(d, 60, most));
    art->ground = pick(d, 2) == 0 ? WHITE : pick(d, N_COLOURS);
    for (size_t i = pick(d, 6); i > 0; i--)
        random_line(art, d);
    for (size_t i = pick(d, 3); i > 0; i--)
        add_fill(art, pick(d, N_COLOURS),
                 pv_v(between(d, 0, art->size.x), between(d, 0, art->size.y)), between(d, 10, 300),
                 3 + pick(d, 60));
    for (size_t i = pick(d, 2); i > 0; i--)
        add_mark(art, pick(d, N_COLOURS),
                 pv_v(between(d, 0, art->size.x), between(d, 0, art->size.y)), between(d, 10, 60),
                 3 + pick(d, 4));
    for (size_t i = pick(d, 3); i > 0; i--)
        add_lettering(art, "TEST", pv_v(between(d, 0, art->size.x), between(d, 0, art->size.y)),
                      between(d, 5, 60), between(d, -3, 3));
}

#endif
