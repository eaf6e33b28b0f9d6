/* The review of lines: ends that miss, regions left open, what lies off the mat. */
#include "base/memory.h"
#include "course/review.h"

#include <stdio.h>
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
    return pv_review_add(r, true, "miss", line->source_line, &dead->at,
                         "let the centre lines meet: regions are closed by them, not by the paint",
                         "the line %s ends %.3f mm short of %s", line->id, dead->gap,
                         nearest_name(art, dead));
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

static bool report_open(pv_reviewing *r, const region_use *use, const char *what, int source_line)
{
    const pv_art *art = &r->course->art;
    const pv_dead_end *dead = use->least;
    char others[60] = "";
    if (use->n_ends > 1)
        snprintf(others, sizeof others, ", and so %s %zu more %s", use->n_ends == 2 ? "does" : "do",
                 use->n_ends - 1, use->n_ends == 2 ? "end" : "ends");
    return pv_review_add(r, false, "open", source_line, &dead->at,
                         "if that line was to enclose the region, the region is larger than meant",
                         "the line %s ends inside %s, %.1f mm from %s%s", art->lines[dead->line].id,
                         what, dead->gap, nearest_name(art, dead), others);
}

static bool report_uses(pv_reviewing *r, const region_use *use)
{
    const pv_course *course = r->course;
    bool good = true;
    if (use->least == NULL)
        return true;
    if (use->fill > 0) {
        const char *id = course->art.fills[use->fill - 1].id;
        char what[80];
        snprintf(what, sizeof what, "the filled region %.60s", id != NULL ? id : "");
        good = report_open(r, use, what, course->seeds[use->fill - 1].source_line);
    }
    if (good && use->finish)
        good = report_open(r, use, "the finish region", course->finish.source_line);
    return good;
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
    return pv_review_add(r, false, "outside", line->source_line, &middle, NULL,
                         "the line %s runs beyond the mat's edge, where it is cut off", line->id);
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
            good = pv_review_add(r, true, "outside", 0, &word->at, "move it, or make it smaller",
                                 "the text \"%.40s\" %s", word->text,
                                 pv_box_meets(mat, box) ? "runs over the mat's edge"
                                                        : "lies outside the mat");
    }
    for (size_t i = 0; good && i < art->n_marks; i++) {
        pv_box box = pv_area_box(&art->marks[i]);
        pv_vec middle = pv_box_middle(box);
        if (!inside(mat, box))
            good = pv_review_add(r, true, "outside", r->course->start.source_line, &middle, NULL,
                                 "the mark %s is not wholly on the mat",
                                 art->marks[i].id != NULL ? art->marks[i].id : "");
    }
    return good;
}
