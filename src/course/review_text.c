/* The review for people. */
#include "base/text.h"
#include "base/vec.h"

#include <pavior/review.h>

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

static int wider(int width, const char *text)
{
    return columns(text) > width ? columns(text) : width;
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

static void add_title(pv_text *out, const pv_review_facts *f)
{
    const char *name = f->name[0] != '\0' ? f->name : "Course without a name";
    size_t start = out->length;
    pv_text_add(out, "%s", name);
    if (f->edition[0] != '\0')
        pv_text_add(out, ", edition %s", f->edition);
    int width = out->chars != NULL ? columns(out->chars + start) : 0;
    pv_text_add(out, "\n");
    for (int i = 0; i < width; i++)
        pv_text_add(out, "=");
    pv_text_add(out, "\n");
    pv_text_add(out, LABEL "%.1f x %.1f mm (%.2f x %.2f in)\n", "Mat", f->width, f->height,
                inches(f->width), inches(f->height));
    pv_text_add(out, LABEL "%zu, %.1f mm in all (%.1f in): %zu straight piece%s, %zu arc%s\n",
                "Lines", f->lines, f->length, inches(f->length), f->straight, plural(f->straight),
                f->arcs, plural(f->arcs));
    pv_text_add(out, LABEL "%zu, %zu of them filled\n", "Regions", f->regions, f->fills);
    pv_text_add(out, LABEL "%zu\n", "Texts", f->texts);
}

static void add_colours(pv_text *out, const pv_review *r)
{
    int width = 6;
    const pv_review_facts *f = pv_review_facts_of(r);
    double mat = f->width * f->height;
    for (size_t i = 0; i < pv_review_colours(r); i++)
        width = wider(width, pv_review_colour_at(r, i)->name);
    heading(out, "Colours, as one sees them");
    pv_text_add(out, "  %-*s  sRGB     luminance     painted    share\n", width, "colour");
    for (size_t i = 0; i < pv_review_colours(r); i++) {
        const pv_review_colour *c = pv_review_colour_at(r, i);
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
    size_t n = pv_review_facts_of(r)->lines, shown = n <= LINES_SHOWN ? n : LINES_SHOWN;
    if (n == 0)
        return;
    int width = 4, colour_width = 6;
    for (size_t i = 0; i < shown; i++) {
        width = wider(width, pv_review_line_at(r, i)->id);
        colour_width = wider(colour_width, pv_review_line_at(r, i)->colour);
    }
    heading(out, "Lines, along their centres");
    pv_text_add(out, "  %-*s  %-*s     width       length\n", width, "line", colour_width,
                "colour");
    for (size_t i = 0; i < shown; i++) {
        const pv_review_line *line = pv_review_line_at(r, i);
        pv_text_add(out, "  ");
        cell(out, line->id, width + 2);
        cell(out, line->colour, colour_width);
        pv_text_add(out, " %6.2f mm %9.1f mm%s\n", line->width, line->length,
                    line->closed ? "  closed" : "");
    }
    if (shown < n)
        pv_text_add(out, "  and %zu more\n", n - shown);
}

/* Rounded to a tenth, so that a hair below nought is not shown as -0.0. */
static double tenths(double value)
{
    return round(value * 10) / 10 + 0.0;
}

static void add_place(pv_text *out, double x, double y)
{
    pv_text_add(out, "(%.1f, %.1f) mm", tenths(x), tenths(y));
}

static void add_clearance(pv_text *out, const char *label, const pv_clearance *n)
{
    if (!n->known)
        return;
    pv_text_add(out, LABEL "%.1f mm", label, n->distance);
    if (n->line != NULL)
        pv_text_add(out, " to the line %s", n->line);
    else
        pv_text_add(out, " to the mat's edge");
    pv_text_add(out, " at ");
    add_place(out, n->x, n->y);
    pv_text_add(out, ", %.0f mm along the route\n", n->along);
}

static void add_crossings(pv_text *out, const pv_review *r)
{
    static const char *const words[2] = {"Crosses", "Follows"};
    for (int follows = 1; follows >= 0; follows--) {
        size_t n = 0;
        for (size_t i = 0; i < pv_review_crossings(r); i++) {
            const pv_line_met *c = pv_review_crossing_at(r, i);
            if (c->follows != (follows == 1) || n++ >= 20)
                continue;
            if (n == 1)
                pv_text_add(out, LABEL, words[follows]);
            pv_text_add(out, "%s%s at %.0f mm", n == 1 ? "" : ", ", c->line, c->along);
        }
        if (n > 20)
            pv_text_add(out, " and %zu more", n - 20);
        if (n > 0)
            pv_text_add(out, "\n");
    }
}

static void add_run(pv_text *out, const pv_review *r)
{
    const pv_review_facts *f = pv_review_facts_of(r);
    if (!f->has_robot && !f->has_route)
        return;
    heading(out, "The run");
    if (f->has_robot)
        pv_text_add(out, LABEL "%.1f x %.1f mm (%.2f x %.2f in), pivot %.1f mm from its rear\n",
                    "Robot", f->robot_length, f->robot_width, inches(f->robot_length),
                    inches(f->robot_width), f->robot_pivot);
    if (f->has_route)
        pv_text_add(out, LABEL "%.1f mm (%.1f in)\n", "Route", f->route_length,
                    inches(f->route_length));
    add_crossings(out, r);
    add_clearance(out, "Clearance", &f->paint);
    add_clearance(out, "", &f->edge);
    if (f->mark_known && f->mark_sticks_out == 0)
        pv_text_add(out, LABEL "covered by the robot that stands there\n", "Start mark");
    if (f->mark_known && f->mark_sticks_out > 0)
        pv_text_add(out, LABEL "sticks out %.1f mm from under the robot\n", "Start mark",
                    f->mark_sticks_out);
    if (f->finish.known && f->finish.fits) {
        pv_text_add(out, LABEL "the robot fits, with %.1f mm around it, pivot at ", "Finish",
                    f->finish.margin);
        add_place(out, f->finish.x, f->finish.y);
        pv_text_add(out, ", heading %.1f degrees\n", tenths(f->finish.heading * 180 / PV_PI));
    } else if (f->finish.known) {
        pv_text_add(out, LABEL "the robot does not fit\n", "Finish");
    }
}

static void add_finding(pv_text *out, const char *file, const pv_finding *f)
{
    pv_text_add(out, "  ");
    if (f->line > 0) {
        pv_text_shown(out, file != NULL ? file : "line", strlen(file != NULL ? file : "line"), "");
        pv_text_add(out, ":%d:%d: ", f->line, f->column);
    }
    pv_text_add(out, "%s: %s", f->problem ? "problem" : "note", f->message);
    if (f->placed) {
        pv_text_add(out, ", at ");
        add_place(out, f->x, f->y);
    }
    pv_text_add(out, "\n");
    if (f->hint != NULL)
        pv_text_add(out, "      = %s\n", f->hint);
}

static void add_findings(pv_text *out, const pv_review *r)
{
    const pv_review_facts *facts = pv_review_facts_of(r);
    size_t all = facts->problems + facts->notes, n = pv_review_findings(r);
    if (all > 0)
        heading(out, "Findings");
    for (int problem = 1; problem >= 0; problem--)
        for (size_t i = 0; i < n; i++)
            if (pv_review_finding(r, i)->problem == (problem == 1))
                add_finding(out, facts->file, pv_review_finding(r, i));
    if (all > n)
        pv_text_add(out, "  and %zu more\n", all - n);
    if (facts->problems == 0)
        pv_text_add(out, "\nSound: nothing is wrong");
    else
        pv_text_add(out, "\nNot sound: %zu problem%s", facts->problems, plural(facts->problems));
    if (facts->notes > 0)
        pv_text_add(out, ", %zu note%s", facts->notes, plural(facts->notes));
    pv_text_add(out, ".\n");
}

char *pv_review_text(const pv_review *review)
{
    pv_text out = PV_TEXT_INIT;
    add_title(&out, pv_review_facts_of(review));
    add_colours(&out, review);
    add_lines(&out, review);
    add_run(&out, review);
    add_findings(&out, review);
    return pv_text_take(&out);
}
