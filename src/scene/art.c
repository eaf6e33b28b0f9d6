#include "scene/art.h"

#include "base/light.h"
#include "base/memory.h"
#include "scene/outline.h"

#include <stdlib.h>
#include <string.h>

/* ---- who holds it ---- */

void pv_area_clear(pv_area *area)
{
    for (size_t i = 0; i < area->n_rings; i++)
        free(area->rings[i].points);
    free(area->rings);
    free(area->id);
    *area = (pv_area){0};
}

static void line_clear(pv_line *line)
{
    free(line->id);
    free(line->pieces);
    *line = (pv_line){0};
}

bool pv_art_open(pv_art *art)
{
    *art = (pv_art){.users = PV_NEW(atomic_size_t)};
    if (art->users != NULL)
        atomic_init(art->users, 1);
    return art->users != NULL;
}

void pv_art_share(pv_art *to, const pv_art *from)
{
    *to = *from;
    atomic_fetch_add(to->users, 1);
}

void pv_art_clear(pv_art *art)
{
    if (art->users != NULL && atomic_fetch_sub(art->users, 1) > 1) {
        *art = (pv_art){0};
        return;
    }
    free(art->users);
    for (size_t i = 0; i < art->n_colours; i++)
        free(art->colours[i].name);
    for (size_t i = 0; i < art->n_lines; i++)
        line_clear(&art->lines[i]);
    for (size_t i = 0; i < art->n_fills; i++)
        pv_area_clear(&art->fills[i]);
    for (size_t i = 0; i < art->n_marks; i++)
        pv_area_clear(&art->marks[i]);
    for (size_t i = 0; i < art->n_letterings; i++)
        pv_lettering_clear(&art->letterings[i]);
    free(art->colours);
    free(art->lines);
    free(art->fills);
    free(art->marks);
    free(art->letterings);
    free(art->name);
    free(art->edition);
    *art = (pv_art){0};
}

bool pv_area_copy(pv_area *to, const pv_area *from)
{
    *to = (pv_area){.colour = from->colour};
    to->id = from->id != NULL ? pv_copy_text(from->id) : NULL;
    bool good = from->id == NULL || to->id != NULL;
    to->rings = PV_NEW_ARRAY(from->n_rings, pv_ring);
    good = good && to->rings != NULL;
    for (size_t i = 0; good && i < from->n_rings; i++) {
        const pv_ring *ring = &from->rings[i];
        to->rings[i].points = pv_copy_bytes(ring->points, ring->n, sizeof *ring->points);
        to->rings[i].n = ring->n;
        to->n_rings = i + 1;
        good = to->rings[i].points != NULL;
    }
    if (!good)
        pv_area_clear(to);
    return good;
}

/* ---- boxes and areas ---- */

static bool widen(void *context, const pv_solid *solid)
{
    pv_box *sum = context, one = pv_solid_box(solid);
    *sum = pv_box_add(pv_box_add(*sum, one.lo), one.hi);
    return true;
}

pv_box pv_line_box(const pv_line *line)
{
    pv_box box = pv_box_none();
    pv_line_each_solid(line, widen, &box);
    return box;
}

pv_box pv_area_box(const pv_area *area)
{
    pv_box box = pv_box_none();
    for (size_t i = 0; i < area->n_rings; i++)
        for (size_t k = 0; k < area->rings[i].n; k++)
            box = pv_box_add(box, area->rings[i].points[k]);
    return box;
}

/* Whether a ray from p towards +x meets the ring an odd number of times. */
static bool ring_odd(const pv_ring *ring, pv_vec p)
{
    bool odd = false;
    for (size_t i = 0, j = ring->n - 1; i < ring->n; j = i++) {
        pv_vec a = ring->points[j], b = ring->points[i];
        if ((a.y > p.y) == (b.y > p.y))
            continue;
        if (p.x < a.x + (b.x - a.x) * ((p.y - a.y) / (b.y - a.y)))
            odd = !odd;
    }
    return odd;
}

bool pv_area_covers(const pv_area *area, pv_vec p)
{
    bool odd = false;
    for (size_t i = 0; i < area->n_rings; i++)
        odd ^= ring_odd(&area->rings[i], p);
    return odd;
}

/* ---- colour ---- */

void pv_colour_linear(const pv_colour *colour, double rgb[3])
{
    for (int i = 0; i < 3; i++)
        rgb[i] = pv_srgb_decode(colour->rgb[i] / 255.0);
}

double pv_colour_luminance(const pv_colour *colour)
{
    double rgb[3];
    pv_colour_linear(colour, rgb);
    return pv_luminance(rgb);
}

double pv_colour_spread(const pv_colour *own, const pv_colour *side)
{
    double a[3], b[3], signs = 0, squares = 0;
    pv_colour_linear(own, a);
    pv_colour_linear(side, b);
    for (int c = 0; c < 3; c++) {
        double d = b[c] - a[c];
        signs += d * fabs(d);
        squares += d * d;
    }
    return squares > 0 ? signs / squares : 0;
}

pv_lean pv_colour_lean(const pv_colour *own, const pv_colour *left, const pv_colour *right)
{
    double l = pv_colour_spread(own, left), r = pv_colour_spread(own, right);
    return (pv_lean){(l - r) / 2, (1 - fabs(l)) / 2 + (1 - fabs(r)) / 2};
}
