/* Where both edges of a line can be seen. */
#include "scene/scene.h"

static pv_vec place(const pv_stand *s, double along, double across)
{
    pv_vec p = pv_along(s->at, s->heading, along);
    /* A curved line leaves its tangent by along^2 / 2 radius. */
    return pv_along(p, pv_left(s->heading), across + along * along * s->bend / 2);
}

/* Point i of n from the skirt to `depth` off an edge. */
static double off_edge(const pv_stand *s, double depth, int i, int n)
{
    return s->skirt + (depth - s->skirt) * i / (n - 1);
}

/* The line itself, uncovered, from its edge inwards. */
static bool inside_clear(const pv_scene *scene, const pv_stand *s, double along, double side)
{
    double half = scene->art->lines[s->line].width / 2;
    for (int i = 0; i < s->n_inside; i++) {
        double across = side * (half - off_edge(s, s->inside, i, s->n_inside));
        pv_spot spot = pv_scene_at(scene, place(s, along, across));
        if (spot.mark || spot.line != (long)s->line)
            return false;
    }
    return true;
}

/* One colour, not of this line, from the edge outwards. *colour: what was seen so far, or SIZE_MAX.
 */
static bool outside_clear(const pv_scene *scene, const pv_stand *s, double along, double side,
                          size_t *colour)
{
    double half = scene->art->lines[s->line].width / 2;
    for (int i = 0; i < s->n_outside; i++) {
        double across = side * (half + off_edge(s, s->outside, i, s->n_outside));
        pv_spot spot = pv_scene_at(scene, place(s, along, across));
        bool itself = spot.line == (long)s->line && !spot.mark;
        if (*colour == SIZE_MAX)
            *colour = spot.colour;
        if (itself || spot.colour != *colour || (spot.mark && s->marks_blur))
            return false;
    }
    return true;
}

bool pv_scene_clear(const pv_scene *scene, const pv_stand *s, size_t beside[2])
{
    beside[0] = beside[1] = SIZE_MAX;
    for (size_t r = 0; r < s->n_rows; r++)
        for (int k = 0; k < 2; k++)
            if (!inside_clear(scene, s, s->rows[r], k == 0 ? -1 : 1))
                return false;
    for (size_t r = 0; r < s->n_rows; r++)
        for (int k = 0; k < 2; k++)
            if (!outside_clear(scene, s, s->rows[r], k == 0 ? -1 : 1, &beside[k]))
                return false;
    return true;
}
