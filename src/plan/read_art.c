/* The art in a plan's JSON. */
#include "base/memory.h"
#include "base/words.h"
#include "course/regions.h"
#include "plan/format.h"
#include "plan/read.h"

#include <pavior/course.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool pv_read_good(const pv_plan_reader *r)
{
    return !r->out_of_memory && pv_json_good(r->json);
}

void *pv_read_array(pv_plan_reader *r, size_t n, size_t size)
{
    void *array = pv_new_array(n, size);
    r->out_of_memory = r->out_of_memory || array == NULL;
    return array;
}

void pv_read_numbers(pv_plan_reader *r, const pv_json_node *node, double *out, size_t n,
                     double least, double most)
{
    size_t length = pv_json_length(r->json, node);
    if (length != n && pv_json_good(r->json))
        pv_json_complain(r->json, node, "has %zu numbers, but must have %zu", length, n);
    for (size_t i = 0; i < n; i++)
        out[i] = pv_json_get_number(r->json, pv_json_item(r->json, node, i), least, most);
}

pv_vec pv_read_vec(pv_plan_reader *r, const pv_json_node *node)
{
    double xy[2];
    pv_read_numbers(r, node, xy, 2, -PV_PLAN_COORDINATE_MAX, PV_PLAN_COORDINATE_MAX);
    return pv_v(xy[0], xy[1]);
}

char *pv_read_string(pv_plan_reader *r, const pv_json_node *node, bool printed)
{
    const char *text = pv_json_get_string(r->json, node);
    if (*text == '\0' && pv_json_good(r->json))
        pv_json_complain(r->json, node, "must not be empty");
    if (printed && !pv_text_prints(text, NULL))
        pv_json_complain(r->json, node, "has an unprintable character");
    char *copy = pv_copy_text(text);
    r->out_of_memory = r->out_of_memory || copy == NULL;
    return copy;
}

double pv_read_number(pv_plan_reader *r, const pv_json_node *object, const char *key, double least,
                      double most)
{
    return pv_json_get_number(r->json, pv_json_member(r->json, object, key), least, most);
}

size_t pv_read_count(pv_plan_reader *r, const pv_json_node *object, const char *key, size_t least,
                     size_t most)
{
    const pv_json_node *node = pv_json_member(r->json, object, key);
    return (size_t)pv_json_get_integer(r->json, node, (long long)least, (long long)most);
}

bool pv_read_bool(pv_plan_reader *r, const pv_json_node *object, const char *key)
{
    return pv_json_get_bool(r->json, pv_json_member(r->json, object, key));
}

int pv_read_word(pv_plan_reader *r, const pv_json_node *node, const char *const words[])
{
    const char *text = pv_json_get_string(r->json, node);
    char list[80] = "";
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(text, words[i]) == 0)
            return i;
        size_t n = strlen(list);
        snprintf(list + n, sizeof list - n, "%s\"%s\"",
                 i == 0                 ? ""
                 : words[i + 1] == NULL ? " or "
                                        : ", ",
                 words[i]);
    }
    pv_json_complain(r->json, node, "must be %s", list);
    return 0;
}

static size_t read_colour(pv_plan_reader *r, const pv_json_node *object)
{
    const pv_json_node *node = pv_json_member(r->json, object, "colour");
    size_t n = r->plan->art.n_colours;
    return (size_t)pv_json_get_integer(r->json, node, 0, (long long)n - 1);
}

/* A new array for a list of items; *n is 0 where that fails. */
static void *read_list(pv_plan_reader *r, const pv_json_node *list, size_t size, size_t *n)
{
    size_t length = pv_json_length(r->json, list);
    r->items += length;
    if (r->items > PV_COURSE_ITEMS_MAX)
        pv_json_complain(r->json, list, "brings the art's items past the limit of %u",
                         PV_COURSE_ITEMS_MAX);
    void *items = pv_read_good(r) ? pv_read_array(r, length, size) : NULL;
    *n = items != NULL ? length : 0;
    return items;
}

static void read_colours(pv_plan_reader *r, const pv_json_node *list)
{
    pv_art *art = &r->plan->art;
    art->colours = read_list(r, list, sizeof *art->colours, &art->n_colours);
    art->cap_colours = art->n_colours;
    if (art->n_colours == 0 && pv_read_good(r))
        pv_json_complain(r->json, list, "needs at least one colour");
    for (size_t i = 0; i < art->n_colours && pv_read_good(r); i++) {
        const pv_json_node *item = pv_json_item(r->json, list, i);
        art->colours[i].name = pv_read_string(r, pv_json_member(r->json, item, "name"), false);
        const pv_json_node *rgb = pv_json_member(r->json, item, "rgb");
        if (pv_json_length(r->json, rgb) != 3)
            pv_json_complain(r->json, rgb, "needs three numbers: red, green, blue");
        for (size_t c = 0; c < 3; c++)
            art->colours[i].rgb[c] =
                (uint8_t)pv_json_get_integer(r->json, pv_json_item(r->json, rgb, c), 0, 255);
    }
}

static bool meets(pv_vec a, pv_vec b)
{
    return pv_dist(a, b) <= PV_PLAN_JOIN;
}

/* The ends of an arc are written beside what they follow from, and must agree with it as well as a
 * path that was closed does. */
static void check_arc(pv_plan_reader *r, const pv_json_node *node, const pv_piece *p)
{
    pv_vec a = pv_add(p->centre, pv_polar(p->radius, p->from));
    pv_vec b = pv_add(p->centre, pv_polar(p->radius, p->from + p->sweep));
    if (!(p->radius > 0) || p->sweep == 0 || fabs(p->sweep) > 2 * PV_PI * (1 + 1e-12))
        pv_json_complain(r->json, node, "needs a radius above 0 and a sweep of at most a turn");
    else if (pv_dist(a, p->a) > PV_TOUCH + PV_PLAN_JOIN ||
             pv_dist(b, p->b) > PV_TOUCH + PV_PLAN_JOIN)
        pv_json_complain(r->json, node, "is an arc that misses its stated end");
}

static pv_piece read_piece(pv_plan_reader *r, const pv_json_node *node)
{
    double v[9];
    const double most = PV_PLAN_COORDINATE_MAX;
    if (pv_json_length(r->json, node) == 4) {
        pv_read_numbers(r, node, v, 4, -most, most);
        return pv_segment(pv_v(v[0], v[1]), pv_v(v[2], v[3]));
    }
    pv_read_numbers(r, node, v, 9, -most, most);
    pv_piece arc = {.a = {v[0], v[1]}, .b = {v[2], v[3]}, .arc = true, .centre = {v[4], v[5]}};
    arc.radius = v[6];
    arc.from = v[7];
    arc.sweep = v[8];
    if (pv_json_good(r->json))
        check_arc(r, node, &arc);
    return arc;
}

pv_piece *pv_read_pieces(pv_plan_reader *r, const pv_json_node *list, size_t *n)
{
    size_t length = pv_json_length(r->json, list);
    r->pieces += length;
    if (length == 0 && pv_read_good(r))
        pv_json_complain(r->json, list, "needs at least one piece");
    if (r->pieces > PV_COURSE_PIECES_MAX)
        pv_json_complain(r->json, list, "brings the pieces past the limit of %u",
                         PV_COURSE_PIECES_MAX);
    pv_piece *pieces = pv_read_good(r) ? pv_read_array(r, length, sizeof *pieces) : NULL;
    *n = pieces != NULL ? length : 0;
    for (size_t i = 0; i < *n && pv_read_good(r); i++) {
        const pv_json_node *node = pv_json_item(r->json, list, i);
        pieces[i] = read_piece(r, node);
        if (i > 0 && !meets(pieces[i - 1].b, pieces[i].a))
            pv_json_complain(r->json, node, "doesn't start where the piece before ends");
    }
    return pieces;
}

static void read_line_pieces(pv_plan_reader *r, const pv_json_node *list, pv_line *line)
{
    line->pieces = pv_read_pieces(r, list, &line->n_pieces);
    if (line->closed && line->n_pieces > 0 && pv_read_good(r) &&
        !meets(line->pieces[line->n_pieces - 1].b, line->pieces[0].a))
        pv_json_complain(r->json, list, "of a closed line don't end where they start");
}

typedef struct named {
    const char *id;
    size_t index;
} named;

static int by_id(const void *a, const void *b)
{
    const named *x = a, *y = b;
    int order = strcmp(x->id, y->id);
    return order != 0 ? order : x->index < y->index ? -1 : 1;
}

/* Results name lines by their ids. */
static void check_ids(pv_plan_reader *r, const pv_json_node *list)
{
    const pv_art *art = &r->plan->art;
    named *names = pv_read_good(r) ? pv_read_array(r, art->n_lines, sizeof *names) : NULL;
    if (names == NULL)
        return;
    for (size_t i = 0; i < art->n_lines; i++)
        names[i] = (named){art->lines[i].id, i};
    qsort(names, art->n_lines, sizeof *names, by_id);
    for (size_t i = 1; i < art->n_lines; i++)
        if (strcmp(names[i - 1].id, names[i].id) == 0)
            pv_json_complain(r->json, pv_json_item(r->json, list, names[i].index),
                             "has the id of line %zu", names[i - 1].index);
    free(names);
}

static void read_lines(pv_plan_reader *r, const pv_json_node *list)
{
    pv_art *art = &r->plan->art;
    art->lines = read_list(r, list, sizeof *art->lines, &art->n_lines);
    art->cap_lines = art->n_lines;
    for (size_t i = 0; i < art->n_lines && pv_read_good(r); i++) {
        const pv_json_node *item = pv_json_item(r->json, list, i);
        pv_line *line = &art->lines[i];
        line->id = pv_read_string(r, pv_json_member(r->json, item, "id"), false);
        line->width = pv_read_number(r, item, "width", 1e-3, PV_COURSE_SIDE_MAX);
        line->colour = read_colour(r, item);
        line->closed = pv_read_bool(r, item, "closed");
        line->ends =
            (pv_ends)pv_read_word(r, pv_json_member(r->json, item, "ends"), pv_plan_ends_names);
        read_line_pieces(r, pv_json_member(r->json, item, "pieces"), line);
    }
    check_ids(r, list);
}

static void read_ring(pv_plan_reader *r, const pv_json_node *list, double most, pv_ring *ring)
{
    size_t n = pv_json_length(r->json, list);
    if ((n < 6 || n % 2 != 0) && pv_read_good(r))
        pv_json_complain(r->json, list, "needs three corners or more, two numbers each");
    ring->points = pv_read_good(r) ? pv_read_array(r, n / 2, sizeof *ring->points) : NULL;
    ring->n = ring->points != NULL ? n / 2 : 0;
    for (size_t i = 0; i < ring->n && pv_read_good(r); i++) {
        const pv_json_node *x = pv_json_item(r->json, list, 2 * i);
        const pv_json_node *y = pv_json_item(r->json, list, 2 * i + 1);
        ring->points[i].x = pv_json_get_number(r->json, x, -most, most);
        ring->points[i].y = pv_json_get_number(r->json, y, -most, most);
    }
}

static pv_ring *read_rings(pv_plan_reader *r, const pv_json_node *list, double most, size_t *n)
{
    size_t length = pv_json_length(r->json, list);
    pv_ring *rings = pv_read_good(r) ? pv_read_array(r, length, sizeof *rings) : NULL;
    *n = rings != NULL ? length : 0;
    for (size_t k = 0; k < *n && pv_read_good(r); k++)
        read_ring(r, pv_json_item(r->json, list, k), most, &rings[k]);
    return rings;
}

static void read_areas(pv_plan_reader *r, const pv_json_node *list, pv_area **areas, size_t *n,
                       size_t *capacity)
{
    *areas = read_list(r, list, sizeof **areas, n);
    *capacity = *n;
    for (size_t i = 0; i < *n && pv_read_good(r); i++) {
        const pv_json_node *item = pv_json_item(r->json, list, i);
        pv_area *area = &(*areas)[i];
        area->id = pv_read_string(r, pv_json_member(r->json, item, "id"), false);
        area->colour = read_colour(r, item);
        area->rings = read_rings(r, pv_json_member(r->json, item, "rings"), PV_PLAN_COORDINATE_MAX,
                                 &area->n_rings);
    }
}

/* Left, bottom, right, top. */
static void read_frame(pv_plan_reader *r, const pv_json_node *node, pv_lettering *l)
{
    double v[4];
    const double most = PV_PLAN_TEXT_REACH;
    pv_read_numbers(r, node, v, 4, -most, most);
    if (pv_read_good(r) && !(v[0] <= v[2] && v[1] <= v[3]))
        pv_json_complain(r->json, node, "must be left, bottom, right, top");
    l->frame = (pv_box){{v[0], v[1]}, {v[2], v[3]}};
}

static void read_lettering(pv_plan_reader *r, const pv_json_node *list)
{
    pv_art *art = &r->plan->art;
    art->letterings = read_list(r, list, sizeof *art->letterings, &art->n_letterings);
    art->cap_letterings = art->n_letterings;
    for (size_t i = 0; i < art->n_letterings && pv_read_good(r); i++) {
        const pv_json_node *item = pv_json_item(r->json, list, i);
        pv_lettering *l = &art->letterings[i];
        const pv_json_node *text = pv_json_member(r->json, item, "text");
        l->text = pv_read_string(r, text, true);
        if (pv_read_good(r) && strlen(l->text) > 4 * PV_COURSE_TEXT_MAX) /* bytes of UTF-8 */
            pv_json_complain(r->json, text, "has more than %u characters", PV_COURSE_TEXT_MAX);
        l->at = pv_read_vec(r, pv_json_member(r->json, item, "at"));
        l->height = pv_read_number(r, item, "height", 1e-3, PV_COURSE_LETTER_MAX);
        l->angle = pv_read_number(r, item, "angle", -PV_COURSE_ANGLE_MAX, PV_COURSE_ANGLE_MAX);
        l->anchor = (pv_anchor)pv_read_word(r, pv_json_member(r->json, item, "anchor"),
                                            pv_plan_anchor_names);
        l->colour = read_colour(r, item);
        read_frame(r, pv_json_member(r->json, item, "box"), l);
        const pv_json_node *rings = pv_json_member(r->json, item, "rings");
        l->rings = read_rings(r, rings, PV_PLAN_TEXT_REACH, &l->n_rings);
        l->cap_rings = l->n_rings;
        if (pv_read_good(r) && pv_lettering_corners(l) > PV_OUTLINE_MAX)
            pv_json_complain(r->json, rings, "have more than %u corners", PV_OUTLINE_MAX);
    }
}

void pv_read_art(pv_plan_reader *r, const pv_json_node *node)
{
    pv_art *art = &r->plan->art;
    double size[2];
    pv_read_numbers(r, pv_json_member(r->json, node, "size"), size, 2, PV_COURSE_SIDE_MIN,
                    PV_COURSE_SIDE_MAX);
    art->size = pv_v(size[0], size[1]);
    read_colours(r, pv_json_member(r->json, node, "colours"));
    if (pv_read_good(r))
        art->ground = pv_read_count(r, node, "ground", 0, art->n_colours - 1);
    read_areas(r, pv_json_member(r->json, node, "fills"), &art->fills, &art->n_fills,
               &art->cap_fills);
    read_lines(r, pv_json_member(r->json, node, "lines"));
    read_areas(r, pv_json_member(r->json, node, "marks"), &art->marks, &art->n_marks,
               &art->cap_marks);
    read_lettering(r, pv_json_member(r->json, node, "lettering"));
}
