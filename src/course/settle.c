#include "course/settle.h"

#include "base/memory.h"
#include "course/regions.h"

#include <stdlib.h>

static bool has_mat(pv_parser *p)
{
    pv_place place = {.file = p->file};
    if ((p->seen[0] & PV_W(PV_WORD_MAT)) != 0)
        return true;
    if (p->errors == 0) /* otherwise it may be the mat's own line that is wrong */
        pv_diags_add(p->diags, PV_ERROR, PV_CAUSE_DATA, &place,
                     "state it, such as mat 1200mm by 900mm", "the course states no mat");
    return pv_silent(p);
}

/* The line whose centre passes nearest to a point. */
static size_t nearest_line(const pv_art *art, pv_vec at, double *distance)
{
    size_t nearest = SIZE_MAX;
    *distance = HUGE_VAL;
    for (size_t i = 0; i < art->n_lines; i++) {
        for (size_t j = 0; j < art->lines[i].n_pieces; j++) {
            const pv_piece *piece = &art->lines[i].pieces[j];
            double d = pv_dist(at, pv_piece_point(piece, pv_piece_nearest(piece, at)));
            if (d < *distance) {
                *distance = d;
                nearest = i;
            }
        }
    }
    return nearest;
}

/* A point that is in no region lies on what bounds regions. */
static bool in_no_region(pv_parser *p, const pv_place_tokens *place, pv_vec at, const char *what)
{
    const pv_art *art = &p->course->art;
    double distance;
    size_t line = nearest_line(art, at, &distance);
    double edge = fmin(fmin(at.x, art->size.x - at.x), fmin(at.y, art->size.y - at.y));
    const char *hint = "name the region by a point well inside it";
    if (line == SIZE_MAX || edge < distance)
        return pv_wrong(p, place->first, place->last, hint,
                        "the %s's point lies on the mat's edge, not in a region", what);
    return pv_wrong(p, place->first, place->last, hint,
                    "the %s's point lies on the centre of line \"%s\", not in a region", what,
                    art->lines[line].id);
}

/* The region at a point, into *out. */
static bool find_region(pv_parser *p, const pv_regions *regions, const pv_place_tokens *place,
                        pv_vec at, const char *what, pv_area *out, size_t *index)
{
    size_t errors = pv_diags_count(p->diags, PV_ERROR);
    *out = (pv_area){0};
    if (pv_regions_at(regions, at, out, index, p->diags))
        return true;
    if (pv_diags_count(p->diags, PV_ERROR) > errors) {
        p->stopped = true;
        return pv_silent(p);
    }
    return in_no_region(p, place, at, what);
}

/* `owner` has, for each region, the number + 1 of the fill that came first. */
static bool settle_fill(pv_parser *p, const pv_regions *regions, size_t i, size_t *owner)
{
    pv_art *art = &p->course->art;
    const pv_fill_seed *seeds = p->course->seeds;
    const pv_place_tokens *place = &p->seed_places[i];
    pv_area area;
    size_t index;
    if (!find_region(p, regions, place, seeds[i].at, "fill", &area, &index))
        return false;
    size_t first = owner[index];
    if (first == 0) {
        owner[index] = i + 1;
        art->fills[i].rings = area.rings;
        art->fills[i].n_rings = area.n_rings;
        return true;
    }
    pv_area_clear(&area); /* filled already: once more would only be more work for everybody */
    size_t colour = art->fills[first - 1].colour;
    if (colour == art->fills[i].colour) {
        pv_warn(p, place->first, place->last, NULL, "line %d fills this region already",
                seeds[first - 1].source.line);
        return true;
    }
    return pv_wrong(p, place->first, place->last, "is a line missing between the two?",
                    "line %d fills this region in \"%s\", line %d in \"%s\"",
                    seeds[first - 1].source.line, art->colours[colour].name, seeds[i].source.line,
                    art->colours[art->fills[i].colour].name);
}

static void settle_regions(pv_parser *p)
{
    pv_course *course = p->course;
    pv_regions *regions = pv_regions_make(&course->art, p->diags);
    size_t *owner = NULL, index;
    if (regions == NULL) {
        pv_silent(p);
        return;
    }
    owner = PV_NEW_ARRAY(pv_regions_count(regions), size_t);
    if (owner == NULL)
        pv_no_memory(p);
    for (size_t i = 0; i < course->n_seeds && !p->stopped; i++)
        settle_fill(p, regions, i, owner);
    if (course->finish.given && !p->stopped)
        find_region(p, regions, &p->finish_place, course->finish.at, "finish",
                    &course->finish.outline, &index);
    free(owner);
    pv_regions_free(regions);
}

void pv_settle(pv_parser *p)
{
    if (has_mat(p) && p->errors == 0 && (p->course->n_seeds > 0 || p->course->finish.given))
        settle_regions(p);
}
