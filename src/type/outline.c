/* A glyph's outline, flattened. */
#include "type/face.h"

#include <hb-ot.h>
#include <math.h>

typedef struct pen {
    pv_type_corner *visit;
    void *context;
    pv_vec at; /* of the glyph's origin */
    double em, flat;
    bool good, drew;
} pen;

static void put(pen *p, bool begins, double x, double y)
{
    pv_vec corner = pv_add(p->at, pv_v(x / p->em, y / p->em));
    p->good = p->good && p->visit(p->context, begins, corner);
    p->drew = true;
}

static void move_to(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x, float y,
                    void *user)
{
    (void)funcs;
    (void)state;
    (void)user;
    put(data, true, (double)x, (double)y);
}

static void line_to(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x, float y,
                    void *user)
{
    (void)funcs;
    (void)state;
    (void)user;
    put(data, false, (double)x, (double)y);
}

/* A parabola a, b, c is off its chord by |a - 2 b + c| / 4 at most, and by 1 / n2 of that where it
 * is cut into n. */
static void quadratic_to(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float bx,
                         float by, float x, float y, void *user)
{
    (void)funcs;
    (void)user;
    pen *p = data;
    double ax = (double)state->current_x, ay = (double)state->current_y;
    double dx = ax - 2 * (double)bx + (double)x, dy = ay - 2 * (double)by + (double)y;
    double n = ceil(sqrt(sqrt(dx * dx + dy * dy) / (4 * p->flat * p->em)));
    for (int i = 1; i < n; i++) {
        double t = i / n, u = 1 - t;
        put(p, false, u * u * ax + 2 * u * t * (double)bx + t * t * (double)x,
            u * u * ay + 2 * u * t * (double)by + t * t * (double)y);
    }
    put(p, false, (double)x, (double)y);
}

bool pv_type_outline(const pv_type *type, const pv_glyph *glyph, double flat, pv_type_corner *visit,
                     void *context)
{
    const pv_face *face = &type->face[glyph->face];
    pen p = {visit, context, glyph->at, face->em, flat, true, false};
    hb_draw_funcs_t *funcs = hb_draw_funcs_create();
    hb_draw_funcs_set_move_to_func(funcs, move_to, NULL, NULL);
    hb_draw_funcs_set_line_to_func(funcs, line_to, NULL, NULL);
    hb_draw_funcs_set_quadratic_to_func(funcs, quadratic_to, NULL, NULL);
#if HB_VERSION_ATLEAST(7, 0, 0)
    hb_font_draw_glyph(face->font, glyph->id, funcs, &p);
#else
    hb_font_get_glyph_shape(face->font, glyph->id, funcs, &p);
#endif
    hb_draw_funcs_destroy(funcs);
    /* Where memory runs out, HarfBuzz draws nothing. */
    return p.good && (p.drew || glyph->ink.lo.x > glyph->ink.hi.x);
}
