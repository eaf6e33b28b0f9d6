/* The review: puts its parts together. */
#include "course/review.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>

bool pv_review_add(pv_reviewing *r, bool problem, const char *code, int source_line,
                   const pv_vec *at, const char *hint, const char *format, ...)
{
    pv_review *review = r->review;
    *(problem ? &review->n_problems : &review->n_notes) += 1;
    if (review->n_findings >= PV_FINDINGS_MAX)
        return true;
    pv_text message = PV_TEXT_INIT;
    va_list args;
    va_start(args, format);
    pv_text_addv(&message, format, args);
    va_end(args);
    pv_finding finding = {.problem = problem, .code = code, .source_line = source_line};
    finding.message = pv_text_take(&message);
    finding.hint = hint != NULL ? pv_copy_text(hint) : NULL;
    finding.placed = at != NULL;
    if (at != NULL)
        finding.at = *at;
    if (finding.message == NULL || (hint != NULL && finding.hint == NULL) ||
        !PV_GROW(review->findings, review->n_findings, review->cap_findings)) {
        free(finding.message);
        free(finding.hint);
        pv_fail_memory(r->diags);
        return false;
    }
    review->findings[review->n_findings++] = finding;
    return true;
}

static bool copy_texts(pv_review *to, const pv_course *course)
{
    const pv_art *art = &course->art;
    to->name = pv_copy_text(art->name);
    to->edition = pv_copy_text(art->edition);
    to->file = course->file != NULL ? pv_copy_text(course->file) : NULL;
    return to->name != NULL && to->edition != NULL && (course->file == NULL || to->file != NULL);
}

static bool describe_lines(pv_review *to, const pv_art *art)
{
    to->lines = PV_NEW_ARRAY(art->n_lines, pv_review_line);
    if (to->lines == NULL)
        return false;
    for (size_t i = 0; i < art->n_lines; i++) {
        const pv_line *line = &art->lines[i];
        pv_review_line *out = &to->lines[to->n_lines++];
        *out = (pv_review_line){.width = line->width,
                                .colour = line->colour,
                                .closed = line->closed,
                                .source_line = line->source_line};
        for (size_t k = 0; k < line->n_pieces; k++) {
            out->length += pv_piece_length(&line->pieces[k]);
            *(line->pieces[k].arc ? &out->arcs : &out->segments) += 1;
        }
        to->n_arcs += out->arcs;
        to->n_segments += out->segments;
        to->total_length += out->length;
        out->id = pv_copy_text(line->id);
        if (out->id == NULL)
            return false;
    }
    return true;
}

static bool describe_colours(pv_reviewing *r)
{
    const pv_art *art = &r->course->art;
    pv_review *to = r->review;
    double *areas = PV_NEW_ARRAY(art->n_colours, double);
    to->colours = PV_NEW_ARRAY(art->n_colours, pv_review_colour);
    bool good = areas != NULL && to->colours != NULL;
    if (!good)
        pv_fail_memory(r->diags);
    good = good && pv_paint_areas(&r->paint, areas, r->diags);
    for (size_t i = 0; good && i < art->n_colours; i++) {
        const pv_colour *colour = &art->colours[i];
        pv_review_colour *out = &to->colours[to->n_colours++];
        *out = (pv_review_colour){.luminance = pv_colour_luminance(colour), .area = areas[i]};
        for (int k = 0; k < 3; k++)
            out->rgb[k] = colour->rgb[k];
        out->name = pv_copy_text(colour->name);
        good = out->name != NULL;
        if (!good)
            pv_fail_memory(r->diags);
    }
    free(areas);
    return good;
}

static bool describe(pv_reviewing *r)
{
    const pv_course *course = r->course;
    pv_review *to = r->review;
    const pv_dead_end *dead;
    to->size = course->art.size;
    to->n_fills = course->art.n_fills;
    to->n_texts = course->art.n_letterings;
    to->n_marks = course->art.n_marks;
    to->n_regions = pv_regions_count(r->regions);
    to->n_dead_ends = pv_regions_dead_ends(r->regions, &dead);
    to->robot = course->robot;
    to->has_start = course->start.given;
    to->has_finish = course->finish.given;
    to->has_route = course->route.n > 0;
    for (size_t i = 0; i < course->route.n; i++)
        to->route_length += pv_piece_length(&course->route.pieces[i]);
    if (copy_texts(to, course) && describe_lines(to, &course->art))
        return describe_colours(r);
    pv_fail_memory(r->diags);
    return false;
}

pv_review *pv_review_make(const pv_course *course, pv_diags *diags)
{
    pv_reviewing r = {.course = course, .review = PV_NEW(pv_review), .diags = diags};
    if (r.review == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    bool good = pv_paint_open(&r.paint, &course->art, diags) &&
                (r.regions = pv_regions_make(&course->art, diags)) != NULL && describe(&r) &&
                pv_review_ends(&r) && pv_review_outside(&r) && pv_review_run(&r) &&
                pv_review_finish(&r) && pv_review_contrast(&r);
    if (good && (r.paint.geos.failed || !pv_regions_good(r.regions))) {
        pv_fail_memory(diags);
        good = false;
    }
    pv_regions_free(r.regions);
    pv_paint_close(&r.paint);
    if (!good) {
        pv_review_free(r.review);
        return NULL;
    }
    return r.review;
}

void pv_review_free(pv_review *review)
{
    if (review == NULL)
        return;
    for (size_t i = 0; i < review->n_lines; i++)
        free(review->lines[i].id);
    for (size_t i = 0; i < review->n_colours; i++)
        free(review->colours[i].name);
    for (size_t i = 0; i < review->n_findings; i++) {
        free(review->findings[i].message);
        free(review->findings[i].hint);
    }
    free(review->lines);
    free(review->colours);
    free(review->findings);
    free(review->crossings);
    free(review->name);
    free(review->edition);
    free(review->file);
    free(review);
}

bool pv_review_sound(const pv_review *review)
{
    return review->n_problems == 0;
}
