#include "course/ends.h"

#include "base/memory.h"

#include <stdlib.h>

static const char *nearest_name(const pv_art *art, const pv_dead_end *dead)
{
    if (dead->nearest == SIZE_MAX)
        return "the mat's edge";
    return dead->nearest == dead->line ? "its own line" : art->lines[dead->nearest].id;
}

static bool is_miss(const pv_art *art, const pv_dead_end *dead)
{
    double hair = PV_HAIR_WIDTHS * art->lines[dead->line].width;
    return dead->gap <= hair && dead->stub > hair;
}

/* Ends near the edge of another's paint: drawn to where the paint meets, not to the centre line. */
static bool report_miss(pv_reviewing *r, const pv_dead_end *dead)
{
    const pv_art *art = &r->course->art;
    const pv_line *line = &art->lines[dead->line];
    return pv_found_add(r, PV_RULE_MISS, line->source, &dead->at,
                        (const char *[]){line->id, nearest_name(art, dead)}, (double[]){dead->gap});
}

/* A region that is filled, or is the finish, and the dead ends in it that are no near misses. */
typedef struct region_use {
    size_t fill; /* counted from 1; 0: none */
    bool finish;
    size_t n_ends;
    const pv_dead_end *least; /* the one with the smallest gap */
} region_use;

static void find_uses(const pv_reviewing *r, region_use *uses)
{
    const pv_course *course = r->course;
    for (size_t i = 0; i < course->n_seeds; i++) {
        size_t index = pv_regions_find(r->regions, course->seeds[i].at);
        if (index != SIZE_MAX)
            uses[index].fill = i + 1;
    }
    size_t index = course->finish.given ? pv_regions_find(r->regions, course->finish.at) : SIZE_MAX;
    if (index != SIZE_MAX)
        uses[index].finish = true;
}

static bool report_open(pv_reviewing *r, const region_use *use, pv_rule row, pv_source source,
                        const char *region)
{
    const pv_art *art = &r->course->art;
    const pv_dead_end *dead = use->least;
    return pv_found_add(
        r, row, source, &dead->at,
        (const char *[]){art->lines[dead->line].id, nearest_name(art, dead), region},
        (double[]){dead->gap, (double)use->n_ends});
}

static bool report_uses(pv_reviewing *r, const region_use *use)
{
    const pv_course *course = r->course;
    if (use->least == NULL)
        return true;
    if (use->fill > 0 &&
        !report_open(r, use, PV_RULE_OPEN_FILL, course->seeds[use->fill - 1].source,
                     course->art.fills[use->fill - 1].id))
        return false;
    return !use->finish || report_open(r, use, PV_RULE_OPEN_FINISH, course->finish.source, NULL);
}

static bool review_end(pv_reviewing *r, const pv_dead_end *dead, region_use *uses)
{
    const pv_art *art = &r->course->art;
    if (is_miss(art, dead))
        return report_miss(r, dead);
    if (dead->stub <= PV_HAIR_WIDTHS * art->lines[dead->line].width)
        return true; /* runs past a line that it crosses, by less than its own width */
    size_t index = pv_regions_find(r->regions, dead->at);
    if (index == SIZE_MAX)
        return true;
    region_use *use = &uses[index];
    use->n_ends++;
    if (use->least == NULL || dead->gap < use->least->gap)
        use->least = dead;
    return true;
}

bool pv_review_ends(pv_reviewing *r)
{
    const pv_dead_end *dead;
    size_t n = pv_regions_dead_ends(r->regions, &dead), n_regions = pv_regions_count(r->regions);
    region_use *uses = PV_NEW_ARRAY(n_regions, region_use);
    if (uses == NULL) {
        pv_fail_memory(r->diags);
        return false;
    }
    bool good = true;
    find_uses(r, uses);
    for (size_t i = 0; good && i < n; i++)
        good = review_end(r, &dead[i], uses);
    for (size_t i = 0; good && i < n_regions; i++)
        good = (uses[i].fill == 0 && !uses[i].finish) || report_uses(r, &uses[i]);
    free(uses);
    return good;
}

/* ---- off the mat ---- */

static bool inside(pv_box mat, pv_box box)
{
    return pv_box_holds(mat, box.lo) && pv_box_holds(mat, box.hi);
}

static bool line_outside(pv_reviewing *r, const pv_line *line, pv_box mat)
{
    pv_box box = pv_box_none();
    for (size_t i = 0; i < line->n_pieces; i++) {
        pv_box one = pv_piece_box(&line->pieces[i]);
        box = pv_box_add(pv_box_add(box, one.lo), one.hi);
    }
    pv_vec middle = pv_box_middle(box);
    if (inside(pv_box_grow(mat, line->width), box))
        return true;
    return pv_found_add(r, PV_RULE_LINE_OUTSIDE, line->source, &middle, (const char *[]){line->id},
                        NULL);
}

bool pv_review_outside(pv_reviewing *r)
{
    const pv_art *art = &r->course->art;
    pv_box mat = pv_box_grow((pv_box){{0, 0}, art->size}, PV_TOUCH);
    bool good = true;
    for (size_t i = 0; good && i < art->n_lines; i++)
        good = line_outside(r, &art->lines[i], mat);
    for (size_t i = 0; good && i < art->n_letterings; i++) {
        const pv_lettering *word = &art->letterings[i];
        pv_box box = pv_lettering_box(word);
        if (!inside(mat, box))
            good = pv_found_add(
                r, pv_box_meets(mat, box) ? PV_RULE_TEXT_OVER_EDGE : PV_RULE_TEXT_OUTSIDE,
                word->source, &word->at, (const char *[]){word->text}, NULL);
    }
    for (size_t i = 0; good && i < art->n_marks; i++) {
        pv_box box = pv_area_box(&art->marks[i]);
        pv_vec middle = pv_box_middle(box);
        if (!inside(mat, box))
            good = pv_found_add(r, PV_RULE_MARK_OUTSIDE, r->course->start.source, &middle,
                                (const char *[]){art->marks[i].id}, NULL);
    }
    return good;
}
