/* The review: describes the course, then asks each rule. */
#include "base/memory.h"
#include "course/contrast.h"
#include "course/ends.h"
#include "course/finish.h"
#include "course/run.h"

#include <stdlib.h>

static bool describe_lines(pv_review *to, const pv_art *art)
{
    to->lines = PV_NEW_ARRAY(art->n_lines, pv_review_line);
    if (to->lines == NULL)
        return false;
    pv_review_facts *facts = &to->facts;
    for (size_t i = 0; i < art->n_lines; i++) {
        const pv_line *line = &art->lines[i];
        pv_review_line *out = &to->lines[facts->lines++];
        *out = (pv_review_line){.id = pv_copy_text(line->id),
                                .colour = to->colours[line->colour].name,
                                .width = line->width,
                                .closed = line->closed,
                                .line = line->source.line,
                                .column = line->source.column};
        if (out->id == NULL)
            return false;
        for (size_t k = 0; k < line->n_pieces; k++) {
            out->length += pv_piece_length(&line->pieces[k]);
            *(line->pieces[k].arc ? &out->arcs : &out->straight) += 1;
        }
        facts->arcs += out->arcs;
        facts->straight += out->straight;
        facts->length += out->length;
    }
    return true;
}

static bool describe_colours(pv_review *to, const pv_art *art)
{
    to->colours = PV_NEW_ARRAY(art->n_colours, pv_review_colour);
    if (to->colours == NULL)
        return false;
    for (size_t i = 0; i < art->n_colours; i++) {
        const pv_colour *c = &art->colours[i];
        to->colours[to->n_colours++] = (pv_review_colour){.name = pv_copy_text(c->name),
                                                          .rgb = {c->rgb[0], c->rgb[1], c->rgb[2]},
                                                          .luminance = pv_colour_luminance(c)};
        if (to->colours[i].name == NULL)
            return false;
    }
    return true;
}

/* Copies for the facts; false where memory ran out. */
static bool describe_course(pv_review_facts *to, const pv_course *course)
{
    const pv_art *art = &course->art;
    *to = (pv_review_facts){.name = pv_copy_text(art->name),
                            .edition = pv_copy_text(art->edition),
                            .file = course->file != NULL ? pv_copy_text(course->file) : NULL,
                            .width = art->size.x,
                            .height = art->size.y,
                            .fills = art->n_fills,
                            .texts = art->n_letterings,
                            .marks = art->n_marks,
                            .has_start = course->start.given,
                            .has_finish = course->finish.given,
                            .has_route = course->route.n > 0,
                            .has_robot = course->robot.given,
                            .robot_length = course->robot.length,
                            .robot_width = course->robot.width,
                            .robot_pivot = course->robot.pivot};
    for (size_t i = 0; i < course->route.n; i++)
        to->route_length += pv_piece_length(&course->route.pieces[i]);
    return to->name != NULL && to->edition != NULL && (course->file == NULL || to->file != NULL);
}

static bool describe(pv_reviewing *r)
{
    const pv_art *art = &r->course->art;
    pv_review *to = r->review;
    if (!describe_course(&to->facts, r->course) || !describe_colours(to, art) ||
        !describe_lines(to, art) || (r->met = PV_NEW_ARRAY(art->n_lines, bool)) == NULL) {
        pv_fail_memory(r->diags);
        return false;
    }
    return true;
}

static bool measure(pv_reviewing *r)
{
    const pv_art *art = &r->course->art;
    const pv_dead_end *dead;
    double *areas = PV_NEW_ARRAY(art->n_colours, double);
    r->mat = pv_scene_of(art);
    if (areas == NULL || r->mat == NULL)
        pv_fail_memory(r->diags);
    bool good = areas != NULL && r->mat != NULL &&
                (r->regions = pv_regions_make(art, r->diags)) != NULL &&
                pv_scene_painted(r->mat, areas, r->diags);
    for (size_t i = 0; good && i < art->n_colours; i++)
        r->review->colours[i].area = areas[i];
    if (good) {
        r->review->facts.regions = pv_regions_count(r->regions);
        r->review->facts.dead_ends = pv_regions_dead_ends(r->regions, &dead);
    }
    free(areas);
    return good;
}

pv_review *pv_review_make(const pv_course *course, pv_diags *diags)
{
    pv_reviewing r = {.course = course, .review = PV_NEW(pv_review), .diags = diags};
    if (r.review == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    bool good = describe(&r) && measure(&r) && pv_review_ends(&r) && pv_review_outside(&r) &&
                pv_review_run(&r) && pv_review_finish(&r) && pv_review_contrast(&r);
    pv_found_finish(r.review);
    pv_regions_free(r.regions);
    pv_scene_free(r.mat);
    free(r.met);
    if (good)
        return r.review;
    pv_review_free(r.review);
    return NULL;
}
