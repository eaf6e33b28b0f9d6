/* The review for people. */
#include "base/text.h"
#include "course/review.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LINES_SHOWN 60 /* the JSON has all */
#define LABEL       "  %-11s "

static double inches(double mm)
{
    return mm / PV_MM_PER_IN;
}

/* How many columns a UTF-8 text takes, taking one a character. */
static int columns(const char *text)
{
    int n = 0;
    for (; *text != '\0'; text++)
        n += ((unsigned char)*text & 0xC0) != 0x80;
    return n;
}

/* A text and the blanks that fill it up to a column. */
static void cell(pv_text *out, const char *text, int width)
{
    pv_text_add(out, "%s%*s", text, width > columns(text) ? width - columns(text) : 0, "");
}

static void heading(pv_text *out, const char *text)
{
    pv_text_add(out, "\n%s\n", text);
}

static const char *plural(size_t n)
{
    return n == 1 ? "" : "s";
}

static void add_title(pv_text *out, const pv_review *r)
{
    const char *name = r->name[0] != '\0' ? r->name : "Course without a name";
    size_t start = out->length;
    pv_text_add(out, "%s", name);
    if (r->edition[0] != '\0')
        pv_text_add(out, ", edition %s", r->edition);
    int width = out->chars != NULL ? columns(out->chars + start) : 0;
    pv_text_add(out, "\n");
    for (int i = 0; i < width; i++)
        pv_text_add(out, "=");
    pv_text_add(out, "\n");
    pv_text_add(out, LABEL "%.1f x %.1f mm (%.2f x %.2f in)\n", "Mat", r->size.x, r->size.y,
                inches(r->size.x), inches(r->size.y));
    pv_text_add(out, LABEL "%zu, %.1f mm in all (%.1f in): %zu straight piece%s, %zu arc%s\n",
                "Lines", r->n_lines, r->total_length, inches(r->total_length), r->n_segments,
                plural(r->n_segments), r->n_arcs, plural(r->n_arcs));
    pv_text_add(out, LABEL "%zu, %zu of them filled\n", "Regions", r->n_regions, r->n_fills);
    pv_text_add(out, LABEL "%zu\n", "Texts", r->n_texts);
}

static void add_colours(pv_text *out, const pv_review *r)
{
    int width = 6;
    double mat = r->size.x * r->size.y;
    for (size_t i = 0; i < r->n_colours; i++)
        if (columns(r->colours[i].name) > width)
            width = columns(r->colours[i].name);
    heading(out, "Colours, as one sees them");
    pv_text_add(out, "  %-*s  sRGB     luminance     painted    share\n", width, "colour");
    for (size_t i = 0; i < r->n_colours; i++) {
        const pv_review_colour *c = &r->colours[i];
        if (c->area < 0.005)
            continue;
        pv_text_add(out, "  ");
        cell(out, c->name, width);
        pv_text_add(out, "  #%02X%02X%02X  %9.3f %8.1f cm2 %6.2f %%\n", c->rgb[0], c->rgb[1],
                    c->rgb[2], c->luminance, c->area / 100, 100 * c->area / mat);
    }
}

static void add_lines(pv_text *out, const pv_review *r)
{
    if (r->n_lines == 0)
        return;
    size_t shown = r->n_lines <= LINES_SHOWN ? r->n_lines : LINES_SHOWN;
    int width = 4, colour_width = 6;
    for (size_t i = 0; i < shown; i++) {
        const pv_review_line *line = &r->lines[i];
        const char *colour = r->colours[line->colour].name;
        width = columns(line->id) > width ? columns(line->id) : width;
        colour_width = columns(colour) > colour_width ? columns(colour) : colour_width;
    }
    heading(out, "Lines, along their centres");
    pv_text_add(out, "  %-*s  %-*s     width       length\n", width, "line", colour_width,
                "colour");
    for (size_t i = 0; i < shown; i++) {
        const pv_review_line *line = &r->lines[i];
        pv_text_add(out, "  ");
        cell(out, line->id, width + 2);
        cell(out, r->colours[line->colour].name, colour_width);
        pv_text_add(out, " %6.2f mm %9.1f mm%s\n", line->width, line->length,
                    line->closed ? "  closed" : "");
    }
    if (shown < r->n_lines)
        pv_text_add(out, "  and %zu more: --json has them all\n", r->n_lines - shown);
}

/* Rounded to a tenth, so that a hair below nought is not shown as -0.0. */
static double tenths(double value)
{
    return round(value * 10) / 10 + 0.0;
}

static void add_place(pv_text *out, pv_vec at)
{
    pv_text_add(out, "(%.1f, %.1f) mm", tenths(at.x), tenths(at.y));
}

static void add_nearness(pv_text *out, const pv_review *r, const char *label, const pv_nearness *n)
{
    if (!n->known)
        return;
    pv_text_add(out, LABEL "%.1f mm", label, n->distance);
    if (n->line != SIZE_MAX)
        pv_text_add(out, " to the line %s", r->lines[n->line].id);
    else
        pv_text_add(out, " to the mat's edge");
    pv_text_add(out, " at ");
    add_place(out, n->at);
    pv_text_add(out, ", %.0f mm along the route\n", n->s);
}

static void add_crossings(pv_text *out, const pv_review *r)
{
    static const char *const words[2] = {"Crosses", "Follows"};
    for (int follows = 1; follows >= 0; follows--) {
        size_t n = 0;
        for (size_t i = 0; i < r->n_crossings; i++) {
            const pv_line_met *c = &r->crossings[i];
            if (c->follows != (follows == 1) || n++ >= 20)
                continue;
            if (n == 1)
                pv_text_add(out, LABEL, words[follows]);
            pv_text_add(out, "%s%s at %.0f mm", n == 1 ? "" : ", ", r->lines[c->line].id, c->s);
        }
        if (n > 20)
            pv_text_add(out, " and %zu more", n - 20);
        if (n > 0)
            pv_text_add(out, "\n");
    }
}

static void add_run(pv_text *out, const pv_review *r)
{
    if (!r->robot.given && !r->has_route)
        return;
    heading(out, "The run");
    if (r->robot.given)
        pv_text_add(out, LABEL "%.1f x %.1f mm (%.2f x %.2f in), pivot %.1f mm from its rear\n",
                    "Robot", r->robot.length, r->robot.width, inches(r->robot.length),
                    inches(r->robot.width), r->robot.pivot);
    if (r->has_route)
        pv_text_add(out, LABEL "%.1f mm (%.1f in)\n", "Route", r->route_length,
                    inches(r->route_length));
    add_crossings(out, r);
    add_nearness(out, r, "Clearance", &r->paint);
    add_nearness(out, r, "", &r->edge);
    if (r->mark.known && r->mark.sticks_out == 0)
        pv_text_add(out, LABEL "covered by the robot that stands there\n", "Start mark");
    if (r->mark.known && r->mark.sticks_out > 0)
        pv_text_add(out, LABEL "sticks out %.1f mm from under the robot\n", "Start mark",
                    r->mark.sticks_out);
    if (r->finish.known && r->finish.fits) {
        pv_text_add(out, LABEL "the robot fits, with %.1f mm around it, pivot at ", "Finish",
                    r->finish.margin);
        add_place(out, r->finish.at);
        pv_text_add(out, ", heading %.1f degrees\n", tenths(r->finish.heading * 180 / PV_PI));
    } else if (r->finish.known) {
        pv_text_add(out, LABEL "the robot does not fit\n", "Finish");
    }
}

static void add_finding(pv_text *out, const pv_review *r, const pv_finding *f)
{
    pv_text_add(out, "  ");
    if (f->source_line > 0) {
        const char *file = r->file != NULL ? r->file : "line";
        pv_text_shown(out, file, strlen(file), "");
        pv_text_add(out, ":%d: ", f->source_line);
    }
    pv_text_add(out, "%s: %s", f->problem ? "problem" : "note", f->message);
    if (f->placed) {
        pv_text_add(out, ", at ");
        add_place(out, f->at);
    }
    pv_text_add(out, "\n");
    if (f->hint != NULL)
        pv_text_add(out, "      = %s\n", f->hint);
}

static void add_findings(pv_text *out, const pv_review *r)
{
    if (r->n_problems + r->n_notes > 0)
        heading(out, "Findings");
    for (int problem = 1; problem >= 0; problem--)
        for (size_t i = 0; i < r->n_findings; i++)
            if (r->findings[i].problem == (problem == 1))
                add_finding(out, r, &r->findings[i]);
    size_t all = r->n_problems + r->n_notes;
    if (all > r->n_findings)
        pv_text_add(out, "  and %zu more\n", all - r->n_findings);
    if (r->n_problems == 0)
        pv_text_add(out, "\nSound: nothing is wrong");
    else
        pv_text_add(out, "\nNot sound: %zu problem%s", r->n_problems, plural(r->n_problems));
    if (r->n_notes > 0)
        pv_text_add(out, ", %zu note%s", r->n_notes, plural(r->n_notes));
    pv_text_add(out, ".\n");
}

char *pv_review_text(const pv_review *review)
{
    pv_text out = PV_TEXT_INIT;
    add_title(&out, review);
    add_colours(&out, review);
    add_lines(&out, review);
    add_run(&out, review);
    add_findings(&out, review);
    return pv_text_take(&out);
}
