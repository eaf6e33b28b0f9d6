/* The review for machines; docs/reference/course-review.md has the keys. */
#include "base/vec.h"
#include "json/json.h"

#include <pavior/review.h>

#include <stdio.h>

/* Lengths to a micrometre, areas to 0.01 mm2, angles to a thousandth of a degree. */
static void length(pv_json_writer *w, const char *key, double mm)
{
    pv_json_key_rounded(w, key, mm, 3);
}

static void place(pv_json_writer *w, double x, double y)
{
    pv_json_key(w, "at");
    pv_json_open_inline(w, '[');
    pv_json_rounded(w, x, 3);
    pv_json_rounded(w, y, 3);
    pv_json_close(w, ']');
}

/* Where it isn't known: null, and false. */
static bool open_known(pv_json_writer *w, const char *key, bool known)
{
    pv_json_key(w, key);
    if (known)
        pv_json_open_inline(w, '{');
    else
        pv_json_string(w, NULL);
    return known;
}

static void write_size(pv_json_writer *w, const pv_review_facts *f)
{
    pv_json_key(w, "size");
    pv_json_open_inline(w, '{');
    length(w, "width_mm", f->width);
    length(w, "height_mm", f->height);
    length(w, "width_in", f->width / PV_MM_PER_IN);
    length(w, "height_in", f->height / PV_MM_PER_IN);
    pv_json_close(w, '}');
    pv_json_key(w, "counts");
    pv_json_open_inline(w, '{');
    pv_json_key_count(w, "lines", f->lines);
    pv_json_key_count(w, "straight", f->straight);
    pv_json_key_count(w, "arcs", f->arcs);
    pv_json_key_count(w, "fills", f->fills);
    pv_json_key_count(w, "regions", f->regions);
    pv_json_key_count(w, "texts", f->texts);
    pv_json_key_count(w, "marks", f->marks);
    pv_json_key_count(w, "dead_ends", f->dead_ends);
    pv_json_close(w, '}');
    length(w, "length_mm", f->length);
}

static void write_colours(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "colours");
    pv_json_open(w, '[');
    for (size_t i = 0; i < pv_review_colours(r); i++) {
        const pv_review_colour *c = pv_review_colour_at(r, i);
        char code[8];
        snprintf(code, sizeof code, "#%02X%02X%02X", c->rgb[0], c->rgb[1], c->rgb[2]);
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "name", c->name);
        pv_json_key_string(w, "srgb", code);
        pv_json_key_rounded(w, "luminance", c->luminance, 4);
        pv_json_key_rounded(w, "area_mm2", c->area, 2);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_lines(pv_json_writer *w, const pv_review *r)
{
    pv_json_key(w, "lines");
    pv_json_open(w, '[');
    const pv_review_line *line;
    for (size_t i = 0; (line = pv_review_line_at(r, i)) != NULL; i++) {
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "id", line->id);
        length(w, "width_mm", line->width);
        length(w, "length_mm", line->length);
        pv_json_key_string(w, "colour", line->colour);
        pv_json_key_count(w, "straight", line->straight);
        pv_json_key_count(w, "arcs", line->arcs);
        pv_json_key_bool(w, "closed", line->closed);
        pv_json_key_count(w, "source_line", (size_t)line->line);
        pv_json_key_count(w, "source_column", (size_t)line->column);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_clearance(pv_json_writer *w, const char *key, const pv_clearance *c)
{
    if (!open_known(w, key, c->known))
        return;
    length(w, "clearance_mm", c->distance);
    place(w, c->x, c->y);
    length(w, "along_mm", c->along);
    if (c->line != NULL)
        pv_json_key_string(w, "line", c->line);
    pv_json_close(w, '}');
}

static void write_route(pv_json_writer *w, const pv_review *r, const pv_review_facts *f)
{
    pv_json_key(w, "route");
    if (!f->has_route) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open(w, '{');
    length(w, "length_mm", f->route_length);
    write_clearance(w, "paint", &f->paint);
    write_clearance(w, "edge", &f->edge);
    pv_json_key(w, "crossings");
    pv_json_open(w, '[');
    for (size_t i = 0; i < pv_review_crossings(r); i++) {
        const pv_line_met *c = pv_review_crossing_at(r, i);
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "line", c->line);
        pv_json_key_string(w, "how", c->follows ? "follows" : "crosses");
        length(w, "along_mm", c->along);
        place(w, c->x, c->y);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}

static void write_run(pv_json_writer *w, const pv_review *r, const pv_review_facts *f)
{
    if (open_known(w, "robot", f->has_robot)) {
        length(w, "length_mm", f->robot_length);
        length(w, "width_mm", f->robot_width);
        length(w, "pivot_mm", f->robot_pivot);
        pv_json_close(w, '}');
    }
    write_route(w, r, f);
    if (open_known(w, "start_mark", f->mark_known)) {
        pv_json_key_bool(w, "covered", f->mark_sticks_out == 0);
        length(w, "sticks_out_mm", f->mark_sticks_out);
        pv_json_close(w, '}');
    }
    if (open_known(w, "finish", f->finish.known)) {
        pv_json_key_bool(w, "fits", f->finish.fits);
        length(w, "margin_mm", f->finish.margin);
        place(w, f->finish.x, f->finish.y);
        pv_json_key_rounded(w, "heading_deg", f->finish.heading * 180 / PV_PI, 3);
        pv_json_close(w, '}');
    }
}

static void write_finding(pv_json_writer *w, const pv_finding *f)
{
    pv_json_open(w, '{');
    pv_json_key_string(w, "kind", f->problem ? "problem" : "note");
    pv_json_key_string(w, "rule", f->rule);
    pv_json_key_string(w, "message", f->message);
    if (f->hint != NULL)
        pv_json_key_string(w, "hint", f->hint);
    if (f->line > 0) {
        pv_json_key_count(w, "source_line", (size_t)f->line);
        pv_json_key_count(w, "source_column", (size_t)f->column);
    }
    if (f->placed)
        place(w, f->x, f->y);
    for (size_t i = 0; i < f->n_things; i++)
        pv_json_key_string(w, f->things[i].role, f->things[i].name);
    for (size_t i = 0; i < f->n_measures; i++) {
        const pv_measure *m = &f->measures[i];
        char key[40];
        snprintf(key, sizeof key, "%s%s%s", m->name, *m->unit != '\0' ? "_" : "", m->unit);
        pv_json_key_rounded(w, key, m->value, 4);
    }
    pv_json_close(w, '}');
}

char *pv_review_json(const pv_review *review)
{
    const pv_review_facts *f = pv_review_facts_of(review);
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    pv_json_key_string(&w, "course", f->name);
    pv_json_key_string(&w, "edition", f->edition);
    pv_json_key_string(&w, "file", f->file);
    pv_json_key_bool(&w, "sound", pv_review_sound(review));
    write_size(&w, f);
    write_colours(&w, review);
    write_lines(&w, review);
    write_run(&w, review, f);
    pv_json_key_count(&w, "problems", f->problems);
    pv_json_key_count(&w, "notes", f->notes);
    pv_json_key(&w, "findings");
    pv_json_open(&w, '[');
    for (size_t i = 0; i < pv_review_findings(review); i++)
        write_finding(&w, pv_review_finding(review, i));
    pv_json_close(&w, ']');
    pv_json_close(&w, '}');
    return pv_json_take(&w);
}
