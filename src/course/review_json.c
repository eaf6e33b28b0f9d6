/* The review for machines; docs/reference/course-review.md has the keys. */
#include "course/review.h"
#include "json/json.h"

#include <stdio.h>

/* Lengths to a micrometre, areas to 0.01 mm2, angles to a thousandth of a degree. */
static void length(pv_json_writer *w, const char *key, double mm)
{
    pv_json_key(w, key);
    pv_json_rounded(w, mm, 3);
}

static void count(pv_json_writer *w, const char *key, size_t n)
{
    pv_json_key(w, key);
    pv_json_integer(w, (long long)n);
}

static void string(pv_json_writer *w, const char *key, const char *text)
{
    pv_json_key(w, key);
    pv_json_string(w, text);
}

static void flag(pv_json_writer *w, const char *key, bool value)
{
    pv_json_key(w, key);
    pv_json_bool(w, value);
}

static void place(pv_json_writer *w, const char *key, pv_vec at)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    pv_json_rounded(w, at.x, 3);
    pv_json_rounded(w, at.y, 3);
    pv_json_close(w, ']');
}

static void write_size(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "size");
    pv_json_open_inline(w, '{');
    length(w, "width_mm", r->size.x);
    length(w, "height_mm", r->size.y);
    length(w, "width_in", r->size.x / PV_MM_PER_IN);
    length(w, "height_in", r->size.y / PV_MM_PER_IN);
    pv_json_close(w, '}');
    pv_json_key(w, "counts");
    pv_json_open_inline(w, '{');
    count(w, "lines", r->n_lines);
    count(w, "straight", r->n_segments);
    count(w, "arcs", r->n_arcs);
    count(w, "fills", r->n_fills);
    count(w, "regions", r->n_regions);
    count(w, "texts", r->n_texts);
    count(w, "marks", r->n_marks);
    count(w, "dead_ends", r->n_dead_ends);
    pv_json_close(w, '}');
    length(w, "length_mm", r->total_length);
}

static void write_colours(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "colours");
    pv_json_open(w, '[');
    for (size_t i = 0; i < r->n_colours; i++) {
        const pv_review_colour *c = &r->colours[i];
        char code[8];
        snprintf(code, sizeof code, "#%02X%02X%02X", c->rgb[0], c->rgb[1], c->rgb[2]);
        pv_json_open_inline(w, '{');
        string(w, "name", c->name);
        string(w, "srgb", code);
        pv_json_key(w, "luminance");
        pv_json_rounded(w, c->luminance, 4);
        pv_json_key(w, "area_mm2");
        pv_json_rounded(w, c->area, 2);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_lines(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "lines");
    pv_json_open(w, '[');
    for (size_t i = 0; i < r->n_lines; i++) {
        const pv_review_line *line = &r->lines[i];
        pv_json_open_inline(w, '{');
        string(w, "id", line->id);
        length(w, "width_mm", line->width);
        length(w, "length_mm", line->length);
        string(w, "colour", r->colours[line->colour].name);
        count(w, "straight", line->segments);
        count(w, "arcs", line->arcs);
        flag(w, "closed", line->closed);
        count(w, "source_line", (size_t)line->source_line);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_nearness(pv_json_writer *w, const char *key, const pv_review *r,
                           const pv_nearness *n)
{
    pv_json_key(w, key);
    if (!n->known) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open_inline(w, '{');
    length(w, "clearance_mm", n->distance);
    place(w, "at", n->at);
    length(w, "along_mm", n->s);
    if (n->line != SIZE_MAX)
        string(w, "line", r->lines[n->line].id);
    pv_json_close(w, '}');
}

static void write_robot(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "robot");
    if (!r->robot.given) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open_inline(w, '{');
    length(w, "length_mm", r->robot.length);
    length(w, "width_mm", r->robot.width);
    length(w, "pivot_mm", r->robot.pivot);
    pv_json_close(w, '}');
}

static void write_route(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "route");
    if (!r->has_route) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open(w, '{');
    length(w, "length_mm", r->route_length);
    write_nearness(w, "paint", r, &r->paint);
    write_nearness(w, "edge", r, &r->edge);
    pv_json_key(w, "crossings");
    pv_json_open(w, '[');
    for (size_t i = 0; i < r->n_crossings; i++) {
        const pv_line_met *c = &r->crossings[i];
        pv_json_open_inline(w, '{');
        string(w, "line", r->lines[c->line].id);
        string(w, "how", c->follows ? "follows" : "crosses");
        length(w, "along_mm", c->s);
        place(w, "at", c->at);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}

static void write_ends(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "start_mark");
    if (r->mark.known) {
        pv_json_open_inline(w, '{');
        flag(w, "covered", r->mark.sticks_out == 0);
        length(w, "sticks_out_mm", r->mark.sticks_out);
        pv_json_close(w, '}');
    } else {
        pv_json_string(w, NULL);
    }
    pv_json_key(w, "finish");
    if (!r->finish.known) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open_inline(w, '{');
    flag(w, "fits", r->finish.fits);
    length(w, "margin_mm", r->finish.margin);
    place(w, "at", r->finish.at);
    pv_json_key(w, "heading_deg");
    pv_json_rounded(w, r->finish.heading * 180 / PV_PI, 3);
    pv_json_close(w, '}');
}

static void write_findings(pv_json_writer *w, const pv_review *r)
{
    count(w, "problems", r->n_problems);
    count(w, "notes", r->n_notes);
    pv_json_key(w, "findings");
    pv_json_open(w, '[');
    for (size_t i = 0; i < r->n_findings; i++) {
        const pv_finding *f = &r->findings[i];
        pv_json_open(w, '{');
        string(w, "kind", f->problem ? "problem" : "note");
        string(w, "rule", f->code);
        string(w, "message", f->message);
        if (f->hint != NULL)
            string(w, "hint", f->hint);
        if (f->source_line > 0)
            count(w, "source_line", (size_t)f->source_line);
        if (f->placed)
            place(w, "at", f->at);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

char *pv_review_json(const pv_review *review)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    string(&w, "course", review->name);
    string(&w, "edition", review->edition);
    string(&w, "file", review->file);
    flag(&w, "sound", pv_review_sound(review));
    write_size(&w, review);
    write_colours(&w, review);
    write_lines(&w, review);
    write_robot(&w, review);
    write_route(&w, review);
    write_ends(&w, review);
    write_findings(&w, review);
    pv_json_close(&w, '}');
    return pv_json_take(&w);
}
