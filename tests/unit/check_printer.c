/* The printer's file, and drawing so that a printer comes out true, against the printer's own map
 * and against ink that is spread by distance. */
#include "art_by_hand.h"

#include "draw/art.h"
#include "draw/gain.h"
#include "paper/printer.h"

#include <math.h>

/* ---- the file ---- */

static pv_printer *parsed(const char *text, pv_diags *diags)
{
    return pv_printer_parse(text, strlen(text), "p.json", diags);
}

static pv_printer example(void)
{
    return (pv_printer){.name = (char *)"the hall's printer",
                        .paper = (char *)"A4 (210 \xC3\x97 297 mm)",
                        .page = {210, 297},
                        .scale = {{0.989123, 0.00042, true}, {1.000004, 0.0004, false}},
                        .skew = {-2.125, 0.75, true},
                        .ink = {0.0625, 0.0125, true}};
}

static double value_off(const pv_printer_value *a, const pv_printer_value *b)
{
    ck_assert_int_eq(a->corrected, b->corrected);
    return fmax(fabs(a->value - b->value), fabs(a->U - b->U));
}

START_TEST(a_file_comes_back)
{
    double worst = 0;
    for (int named = 0; named < 2; named++) {
        pv_printer p = example();
        if (!named)
            p.name = NULL;
        pv_diags *diags = pv_diags_new();
        char *json = pv_printer_json(&p, diags);
        pv_printer *back = parsed(json, diags);
        ck_assert_ptr_nonnull(back);
        ck_assert_uint_eq(pv_diags_size(diags), 0);
        if (named)
            ck_assert_str_eq(back->name, p.name);
        else
            ck_assert_ptr_null(back->name);
        ck_assert_str_eq(back->paper, p.paper);
        ck_assert(back->page[0] == 210 && back->page[1] == 297);
        worst = fmax(worst, fmax(value_off(&p.scale[0], &back->scale[0]),
                                 value_off(&p.scale[1], &back->scale[1])));
        worst = fmax(worst, fmax(value_off(&p.skew, &back->skew), value_off(&p.ink, &back->ink)));
        /* What was read is written alike. */
        char *again = pv_printer_json(back, diags);
        ck_assert_str_eq(json, again);
        ck_assert_str_eq(pv_printer_words(back), named ? p.name : "one printer");
        pv_free(json);
        pv_free(again);
        pv_printer_free(back);
        pv_diags_free(diags);
    }
    say_worst("a printer's values through its file", worst, 1e-12, "");
    ck_assert_double_lt(worst, 1e-12);
    pv_printer_free(NULL);
}
END_TEST

/* The first `from` in the example's file becomes `to`. */
typedef struct change {
    const char *from, *to, *says; /* says NULL: it is taken */
} change;

static const change changes[] = {
    {"\"pavior printer\"", "\"pavior scanner\"", "format|\"pavior printer\""},
    {"\"version\": 1", "\"version\": 2", "version|1"},
    {"\"version\": 1", "\"version\": 0", "version"},
    {"\"version\": 1", "\"version\": \"1\"", "version"},
    {"[210", "[49.9", "page_mm"},
    {"297]", "5080.1]", "page_mm"},
    {"[210", "[298", "page_mm"},
    {"0.989123", "0.9", NULL},
    {"0.989123", "1.1", NULL},
    {"0.989123", "0.899999", "scale.x.value"},
    {"0.989123", "1.100001", "scale.x.value"},
    {"0.989123", "\"0.989\"", "scale.x.value"},
    {"0.989123", "NaN", "p.json:"},
    {"0.989123", "null", "scale.x.value"},
    {"0.989123", "1e999", "p.json:"},
    {"0.00042", "-0.1", "scale.x.U"},
    {"0.00042", "1.5", "scale.x.U"},
    {"{\"value\": 1.000004, \"U\": 0.000400, ", "{\"value\": null, \"U\": null, ", NULL},
    {"{\"value\": 0.989123, \"U\": 0.000420, ", "{\"value\": null, \"U\": null, ",
     "scale.x.corrected"},
    {"1.000004", "null", "scale.y.value"},
    {"-2.125", "-20", NULL},
    {"-2.125", "20.1", "skew_mrad.value"},
    {"0.0625", "-0.3", NULL},
    {"0.0625", "0.31", "ink_mm.value"},
    {"\"corrected\": true", "\"corrected\": 1", "corrected"},
    {"the hall's printer", "\\u202e", "name"},
    {"the hall's printer", "a\\nb", "name"},
    {"\"ink_mm\"", "\"ink\"", "ink_mm"},
    {"\"name\"", "\"version\"", "p.json:"},
};

static char *changed(const char *json, const change *c)
{
    const char *at = strstr(json, c->from);
    ck_assert_msg(at != NULL, "the file has no %s", c->from);
    size_t size = strlen(json) + strlen(c->to) + 1;
    char *out = malloc(size);
    snprintf(out, size, "%.*s%s%s", (int)(at - json), json, c->to, at + strlen(c->from));
    return out;
}

START_TEST(what_is_no_printer_is_refused_and_said)
{
    pv_printer p = example();
    char *json = pv_printer_json(&p, NULL);
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        char *text = changed(json, &changes[i]);
        pv_diags *diags = pv_diags_new();
        pv_printer *got = parsed(text, diags);
        char *said = diags_text(diags);
        const char *why = changes[i].says;
        ck_assert_msg((got != NULL) == (why == NULL), "%s: \"%s\"", changes[i].to, said);
        if (why != NULL) {
            assert_says(said, why);
            ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
            ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_DATA);
        }
        pv_printer_free(got);
        pv_free(said);
        free(text);
        pv_diags_free(diags);
    }
    pv_free(json);
}
END_TEST

START_TEST(size_and_length_of_name_are_limited)
{
    pv_diags *diags = pv_diags_new();
    char *large = malloc(PV_PRINTER_BYTES_MAX + 1);
    memset(large, ' ', PV_PRINTER_BYTES_MAX + 1);
    ck_assert_ptr_null(pv_printer_parse(large, PV_PRINTER_BYTES_MAX + 1, "p", diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    free(large);
    pv_diags_free(diags);
    char name[PV_PRINTER_NAME_MAX + 2];
    for (int more = 0; more < 2; more++) {
        size_t n = PV_PRINTER_NAME_MAX + (size_t)more;
        memset(name, 'x', n);
        name[n] = '\0';
        pv_printer p = example(), *back;
        p.name = name;
        char *json = pv_printer_json(&p, NULL);
        back = parsed(json, NULL);
        ck_assert_int_eq(back == NULL, more);
        pv_printer_free(back);
        pv_free(json);
    }
}
END_TEST

/* ---- the map ---- */

static pv_printer printer_of(double sx, double sy, double skew, double ink)
{
    return (pv_printer){.scale = {{sx, 1e-4, true}, {sy, 1e-4, true}},
                        .skew = {skew, 0.1, true},
                        .ink = {ink, 0.01, true}};
}

/* What pavior/printer.h says of a point of the upright page, from its middle. */
static pv_vec print(const pv_printer *p, pv_vec at)
{
    double y = p->scale[1].value * at.y, skew = p->skew.value / 1000;
    return pv_v(p->scale[0].value * at.x + y * sin(skew), y * cos(skew));
}

static pv_vec drawn_at(const pv_linear *m, pv_vec p)
{
    return pv_v(m->a * p.x + m->b * p.y, m->c * p.x + m->d * p.y);
}

START_TEST(the_inverse_undoes_the_printer)
{
    dice d = {.state = 5};
    double upright = 0, lying = 0;
    for (int i = 0; i < 400; i++) {
        pv_printer p = printer_of(between(&d, 0.9, 1.1), between(&d, 0.9, 1.1),
                                  between(&d, -20, 20), between(&d, -0.3, 0.3));
        pv_linear m = pv_printer_inverse(&p, (double[]){210, 297});
        pv_vec at = pv_v(between(&d, -105, 105), between(&d, -148, 148));
        upright = fmax(upright, pv_dist(print(&p, drawn_at(&m, at)), at));
        /* A page that lies comes to the paper turned by a quarter, one way or the other. What is
         * printed is true but for a turn: all distances are. */
        m = pv_printer_inverse(&p, (double[]){297, 210});
        for (int way = -1; way <= 1; way += 2) {
            pv_vec q = pv_v(between(&d, -148, 148), between(&d, -105, 105));
            pv_vec a = pv_scale(pv_left(drawn_at(&m, q)), way);
            pv_vec b = pv_scale(pv_left(drawn_at(&m, at)), way);
            double far = pv_dist(print(&p, a), print(&p, b));
            lying = fmax(lying, fabs(far - pv_dist(q, at)));
        }
        ck_assert_double_eq(pv_printer_ink(&p), p.ink.value);
    }
    say_worst("inverse, then printer, upright", upright, 1e-11, "mm");
    say_worst("distances by a page that lies", lying, 1e-11, "mm");
    ck_assert_double_lt(upright, 1e-11);
    ck_assert_double_lt(lying, 1e-11);
}
END_TEST

START_TEST(what_is_not_corrected_counts_as_true)
{
    pv_printer p = printer_of(0.95, 1.05, 15, 0.2);
    p.scale[0].corrected = p.scale[1].corrected = p.skew.corrected = p.ink.corrected = false;
    pv_linear m = pv_printer_inverse(&p, (double[]){210, 297});
    ck_assert(m.a == 1 && m.b == 0 && m.c == 0 && m.d == 1);
    ck_assert_double_eq(pv_printer_ink(&p), 0);
    m = pv_printer_inverse(NULL, (double[]){210, 297});
    ck_assert(m.a == 1 && m.b == 0 && m.c == 0 && m.d == 1);
    ck_assert_double_eq(pv_printer_ink(NULL), 0);
    /* The axis that is corrected, of a page that lies. */
    p.scale[0].corrected = true;
    m = pv_printer_inverse(&p, (double[]){297, 210});
    ck_assert(m.a == 1 && m.b == 0 && m.c == 0);
    ck_assert_double_eq(m.d, 1 / 0.95);
}
END_TEST

START_TEST(margins_hold_what_the_inverse_moves)
{
    dice d = {.state = 9};
    double least = HUGE_VAL, most = 0;
    for (int i = 0; i < 500; i++) {
        pv_printer p =
            printer_of(between(&d, 0.9, 1.1), between(&d, 0.9, 1.1), between(&d, -20, 20), 0);
        double page[2] = {between(&d, 60, 300), between(&d, 300, 900)}, margin[4] = {5, 6, 7, 8};
        double by = pv_printer_widen(&p, page, margin), reach = 0;
        for (int lies = 0; lies < 2; lies++) {
            double size[2] = {page[lies], page[!lies]};
            pv_linear m = pv_printer_inverse(&p, size);
            for (int k = 0; k < 4; k++) {
                pv_vec at = drawn_at(
                    &m, pv_v((k & 1 ? 1 : -1) * size[0] / 2, (k & 2 ? 1 : -1) * size[1] / 2));
                reach = fmax(reach, fabs(at.x) - size[0] / 2);
                reach = fmax(reach, fabs(at.y) - size[1] / 2);
            }
        }
        least = fmin(least, by - reach);
        most = fmax(most, by - reach);
        ck_assert_double_eq(margin[0], 5 + by);
        ck_assert_double_eq(margin[3], 8 + by);
    }
    say_worst("margins wider than they need be", most, 0.1, "mm");
    ck_assert_double_ge(least, -1e-9);
    ck_assert_double_le(most, 0.1 + 1e-9);
}
END_TEST

/* A whole sheet as it is drawn for a printer comes out of the printer as the sheet itself. */
START_TEST(a_sheet_comes_out_of_its_printer_as_planned)
{
    pv_art art;
    art_yard(&art);
    static const pv_orientation ways[] = {PV_PORTRAIT, PV_LANDSCAPE};
    double worst = 0;
    for (int way = 0; way < 2; way++) {
        pv_layout_options options = pv_layout_defaults();
        options.paper = "A3";
        options.orientation = ways[way];
        pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
        ck_assert_ptr_nonnull(plan);
        pv_printer p = printer_of(0.989, 0.996, 2, 0);
        pv_drawing plain, own;
        ck_assert(pv_draw_sheet(&plain, plan, 0, test_type(), NULL));
        ck_assert(pv_draw_sheet_for(&own, plan, 0, test_type(), &p, plan->mat, NULL, NULL));
        ck_assert(plain.width == own.width && plain.height == own.height);
        pv_vec middle = pv_v(plain.width / 2, plain.height / 2), first[2] = {{0, 0}, {0, 0}};
        size_t paths = 0;
        /* What stands in words says more on the one, so that places are compared by the paths. */
        for (size_t i = 0, k = 0; i < plain.n_ops && k < own.n_ops; i++, k++) {
            while (i < plain.n_ops && plain.ops[i].kind == PV_OP_TEXT)
                i++;
            while (k < own.n_ops && own.ops[k].kind == PV_OP_TEXT)
                k++;
            if (i >= plain.n_ops || k >= own.n_ops || plain.ops[i].kind > PV_OP_CURVE)
                continue;
            ck_assert_int_eq(plain.ops[i].kind, own.ops[k].kind);
            int n = plain.ops[i].kind == PV_OP_CURVE ? 3 : 1;
            for (int j = 0; j < n; j++) {
                pv_vec a = pv_sub(plain.ops[i].p[j], middle), b = pv_sub(own.ops[k].p[j], middle);
                pv_vec seen = print(&p, way == 0 ? b : pv_left(b));
                if (paths++ == 0) {
                    first[0] = a;
                    first[1] = seen;
                }
                worst = fmax(worst, fabs(pv_dist(a, first[0]) - pv_dist(seen, first[1])));
            }
        }
        ck_assert_uint_gt(paths, 500);
        pv_drawing_clear(&plain);
        pv_drawing_clear(&own);
        pv_plan_free(plan);
    }
    say_worst("distances on a sheet out of its printer", worst, 1e-9, "mm");
    ck_assert_double_lt(worst, 1e-9);
    pv_art_clear(&art);
}
END_TEST

/* ---- ink: closed forms ---- */

/* It borrows from the art. */
static pv_art gained(const pv_art *art, double ink)
{
    pv_art out;
    pv_scene *mat = pv_scene_of(art);
    ck_assert_ptr_nonnull(mat);
    ck_assert(pv_gain_art(mat, ink, &out));
    pv_scene_free(mat);
    return out;
}

START_TEST(a_stroke_gets_narrower_and_never_vanishes)
{
    ck_assert_double_eq_tol(pv_gain_stroke(2, 0.06, false), 1.88, 1e-12);
    ck_assert_double_eq_tol(pv_gain_stroke(2, 0.06, true), 2.12, 1e-12);
    ck_assert_double_eq_tol(pv_gain_stroke(2, -0.06, false), 2.12, 1e-12);
    ck_assert_double_eq_tol(pv_gain_stroke(0.25, 0.06, false), 0.13, 1e-12);
    /* Narrower than the gain: PV_GAIN_LEAST is left, or the width where that is less. */
    ck_assert_double_eq(pv_gain_stroke(0.25, 0.3, false), PV_GAIN_LEAST);
    ck_assert_double_eq(pv_gain_stroke(0.05, 0.3, false), 0.05);
    ck_assert_double_eq(pv_gain_stroke(0.25, -0.3, true), PV_GAIN_LEAST);
}
END_TEST

START_TEST(a_line_alone_has_another_width_and_other_ends)
{
    static const double inks[] = {0.06, -0.05, 0.3, 0};
    double worst = 0;
    for (size_t i = 0; i < sizeof inks / sizeof *inks; i++) {
        double ink = inks[i];
        pv_art art;
        art_start(&art, "One", 200, 100);
        add_straight(&art, 12, pv_v(40, 50), pv_v(160, 50));
        pv_line *arc = add_line(&art, 5, BLACK, PV_ENDS_FLAT);
        add_piece(arc, pv_arc(pv_v(100, 20), 15, 0.2, 2));
        pv_art out = gained(&art, ink);
        ck_assert_uint_eq(out.n_lines, 2);
        const pv_line *l = &out.lines[0], *c = &out.lines[1];
        worst = fmax(worst, fabs(l->width - (12 - 2 * ink)));
        worst = fmax(worst, fabs(l->pieces[0].a.x - (40 + ink)));
        worst = fmax(worst, fabs(l->pieces[0].b.x - (160 - ink)));
        worst = fmax(worst, fabs(c->width - (5 - 2 * ink)));
        worst = fmax(worst, fabs(c->pieces[0].radius - 15));
        worst = fmax(worst, fabs(15 * (c->pieces[0].from - 0.2) - ink));
        worst = fmax(worst, fabs(15 * (c->pieces[0].sweep - 2) + 2 * ink));
        pv_gain_drop(&out);
        pv_art_clear(&art);
    }
    say_worst("a line's width and ends against the ink", worst, 1e-9, "mm");
    ck_assert_double_lt(worst, 1e-9);
}
END_TEST

START_TEST(a_white_line_on_black_gets_wider)
{
    pv_art art;
    art_start(&art, "White", 200, 100);
    art.ground = BLACK;
    pv_line *line = add_line(&art, 8, WHITE, PV_ENDS_FLAT);
    add_piece(line, pv_segment(pv_v(40, 50), pv_v(160, 50)));
    pv_art out = gained(&art, 0.06);
    ck_assert_uint_eq(out.n_lines, 1);
    ck_assert_double_eq_tol(out.lines[0].width, 8.12, 1e-9);
    ck_assert_double_eq_tol(out.lines[0].pieces[0].a.x, 39.94, 1e-9);
    pv_gain_drop(&out);
    pv_art_clear(&art);
}
END_TEST

START_TEST(lines_thinner_than_the_gain_stay)
{
    pv_art art;
    art_start(&art, "Thin", 200, 100);
    add_straight(&art, 0.4, pv_v(40, 30), pv_v(160, 30));
    add_straight(&art, 0.08, pv_v(40, 60), pv_v(160, 60));
    pv_art out = gained(&art, 0.25);
    ck_assert_uint_eq(out.n_lines, 2);
    ck_assert_double_eq_tol(out.lines[0].width, PV_GAIN_LEAST, 1e-9);
    ck_assert_double_eq_tol(out.lines[1].width, 0.08, 1e-9);
    pv_gain_drop(&out);
    pv_art_clear(&art);
}
END_TEST

static void add_box(pv_art *art, size_t colour, pv_box box)
{
    add_fill(art, colour, pv_box_middle(box), 1, 4);
    pv_vec *p = art->fills[art->n_fills - 1].rings[0].points;
    p[0] = box.lo;
    p[1] = pv_v(box.hi.x, box.lo.y);
    p[2] = box.hi;
    p[3] = pv_v(box.lo.x, box.hi.y);
}

START_TEST(a_boxs_corners_move_both_ways)
{
    pv_art art;
    art_start(&art, "Box", 200, 100);
    add_box(&art, BLACK, (pv_box){{40, 20}, {90, 70}});
    double worst = 0;
    static const double inks[] = {0.06, -0.04};
    for (int i = 0; i < 2; i++) {
        pv_art out = gained(&art, inks[i]);
        pv_box box = pv_area_box(&out.fills[0]);
        ck_assert_uint_eq(out.fills[0].rings[0].n, 4);
        worst = fmax(worst, fabs(box.lo.x - 40 - inks[i]) + fabs(box.lo.y - 20 - inks[i]));
        worst = fmax(worst, fabs(box.hi.x - 90 + inks[i]) + fabs(box.hi.y - 70 + inks[i]));
        pv_gain_drop(&out);
    }
    say_worst("a box's corners against the ink", worst, 1e-9, "mm");
    ck_assert_double_lt(worst, 1e-9);
    pv_art_clear(&art);
}
END_TEST

START_TEST(what_is_cut_off_at_the_mats_edge_stays_there)
{
    pv_art art;
    art_start(&art, "Edge", 200, 100);
    add_straight(&art, 10, pv_v(0, 50), pv_v(200, 50));
    pv_art out = gained(&art, 0.1);
    ck_assert_double_eq(out.lines[0].pieces[0].a.x, 0);
    ck_assert_double_eq(out.lines[0].pieces[0].b.x, 200);
    ck_assert_double_eq_tol(out.lines[0].width, 9.8, 1e-9);
    pv_gain_drop(&out);
    pv_art_clear(&art);
}
END_TEST

/* ---- ink: spread by distance ---- */

static bool black_at(const pv_art *art, pv_vec p)
{
    return spot_by_hand(art, p).colour == BLACK;
}

/* What comes out where dark spreads by `ink` into light: black where any place within that distance
 * is drawn black; where ink is negative, white where any place is white. */
static bool printed_black(const pv_art *drawn, pv_vec p, double ink)
{
    bool spreading = ink > 0, own = black_at(drawn, p);
    for (int ring = 1; ring <= 2 && own != spreading; ring++)
        for (int k = 0; k < 48 && own != spreading; k++) {
            pv_vec at = pv_add(p, pv_polar(fabs(ink) * ring / 2, 2 * PV_PI * k / 48));
            own = black_at(drawn, at);
        }
    return own;
}

/* The distance from p to where the plan changes its colour, up to `most`: by looking around. */
static bool near_edge(const pv_art *art, pv_vec p, double within)
{
    bool own = black_at(art, p);
    for (int ring = 1; ring <= 3; ring++)
        for (int k = 0; k < 48; k++)
            if (black_at(art, pv_add(p, pv_polar(within * ring / 3, 2 * PV_PI * k / 48))) != own)
                return true;
    return false;
}

/* All straight edges of the plan, and where any two of them meet: the corners. */
typedef struct edges {
    pv_vec a[64], b[64];
    size_t n;
    pv_vec corner[400];
    size_t n_corners;
} edges;

static void add_ring(edges *e, const pv_vec *p, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        ck_assert_uint_lt(e->n, 64);
        e->a[e->n] = p[i];
        e->b[e->n++] = p[(i + 1) % n];
    }
}

static edges edges_of(const pv_art *art)
{
    edges e = {.n = 0};
    for (size_t i = 0; i < art->n_fills; i++)
        add_ring(&e, art->fills[i].rings[0].points, art->fills[i].rings[0].n);
    for (size_t i = 0; i < art->n_lines; i++) {
        const pv_piece *p = &art->lines[i].pieces[0];
        pv_vec out = pv_scale(pv_left(pv_unit(pv_sub(p->b, p->a))), art->lines[i].width / 2);
        const pv_vec ring[4] = {pv_add(p->a, out), pv_add(p->b, out), pv_sub(p->b, out),
                                pv_sub(p->a, out)};
        add_ring(&e, ring, 4);
    }
    for (size_t i = 0; i < e.n; i++)
        for (size_t k = 0; k < i; k++) {
            pv_vec u = pv_sub(e.b[i], e.a[i]), v = pv_sub(e.b[k], e.a[k]);
            double cross = pv_cross_z(u, v);
            if (fabs(cross) < 1e-9)
                continue;
            double s = pv_cross_z(pv_sub(e.a[k], e.a[i]), v) / cross;
            double t = pv_cross_z(pv_sub(e.a[k], e.a[i]), u) / cross;
            ck_assert_uint_lt(e.n_corners, 400);
            if (fmin(s, t) > -1e-6 && fmax(s, t) < 1 + 1e-6)
                e.corner[e.n_corners++] = pv_along(e.a[i], u, s);
        }
    return e;
}

static bool at_corner(const edges *e, pv_vec p, double within)
{
    for (size_t i = 0; i < e->n_corners; i++)
        if (pv_dist(p, e->corner[i]) <= within)
            return true;
    return false;
}

/* A place by an edge, at random, no farther than 3 |ink| from it; of arcs, anywhere. */
static pv_vec place(const pv_art *art, const edges *e, double ink, dice *d)
{
    if (e->n == 0)
        return pv_v(between(d, 1, art->size.x - 1), between(d, 1, art->size.y - 1));
    size_t i = pick(d, e->n);
    pv_vec way = pv_sub(e->b[i], e->a[i]), out = pv_left(pv_unit(way));
    return pv_along(pv_along(e->a[i], way, between(d, 0, 1)), out, 3 * ink * between(d, -1, 1));
}

typedef struct spread {
    size_t looked, at_corners, wrong;
    pv_vec first;
} spread;

/* Places near a planned edge, but not within `clear` of it. */
static spread look(const pv_art *art, double ink, double clear, size_t n)
{
    edges e = {.n = 0};
    if (!art->lines[0].pieces[0].arc)
        e = edges_of(art);
    pv_art drawn = gained(art, ink);
    dice d = {.state = 77};
    spread out = {0, 0, 0, {0, 0}};
    for (size_t tries = 0; tries < 1000 * n && out.looked < n; tries++) {
        pv_vec p = place(art, &e, ink, &d);
        if (near_edge(art, p, clear) || (e.n == 0 && !near_edge(art, p, 3 * fabs(ink))))
            continue;
        out.looked++;
        if (printed_black(&drawn, p, ink) == black_at(art, p))
            continue;
        /* Where what stands beside a line changes, its edge jumps: there, and no farther than ink
         * reaches, a corner may be off by 0.7 of the ink. */
        if (at_corner(&e, p, 1.02 * fabs(ink) + 0.06))
            out.at_corners++;
        else if (out.wrong++ == 0)
            out.first = p;
    }
    pv_gain_drop(&drawn);
    return out;
}

static void check_spread(const char *what, pv_art *art)
{
    static const double inks[] = {0.2, 0.06, -0.1};
    size_t n = art->lines[0].pieces[0].arc ? 400 : 3000;
    for (size_t i = 0; i < sizeof inks / sizeof *inks; i++) {
        double ink = inks[i];
        spread s = look(art, ink, 0.45 * fabs(ink) + 0.004, n);
        printf("    %-34s ink %5.2f mm: %zu of %zu places wrong, %zu at corners\n", what, ink,
               s.wrong, s.looked, s.at_corners);
        ck_assert_uint_ge(s.looked, n);
        ck_assert_uint_le(s.at_corners, n / 100);
        ck_assert_msg(s.wrong == 0, "%s, ink %g: %zu of %zu places, first (%.3f, %.3f)", what, ink,
                      s.wrong, s.looked, s.first.x, s.first.y);
    }
    pv_art_clear(art);
}

/* Corners of what is drawn are sharp, and ink rounds them by (sqrt(2) - 1) times its spread at
 * right angles: 0.45 of it is left out. */
START_TEST(straight_lines_and_boxes_print_true)
{
    pv_art art;
    art_start(&art, "Straight", 40, 30);
    add_straight(&art, 4, pv_v(5, 20), pv_v(35, 22));
    add_box(&art, BLACK, (pv_box){{6, 4}, {15, 12}});
    add_straight(&art, 1.5, pv_v(22, 4), pv_v(34, 12));
    check_spread("lines and a box", &art);
}
END_TEST

START_TEST(arcs_and_rings_print_true)
{
    pv_art art;
    art_start(&art, "Arcs", 40, 40);
    pv_line *ring = add_line(&art, 3, BLACK, PV_ENDS_FLAT);
    ring->closed = true;
    add_piece(ring, pv_arc(pv_v(20, 20), 14, 0, 2 * PV_PI));
    pv_line *arc = add_line(&art, 4, BLACK, PV_ENDS_FLAT);
    add_piece(arc, pv_arc(pv_v(20, 20), 6, 0.3, 4));
    check_spread("a ring and an arc", &art);
}
END_TEST

START_TEST(crossing_lines_print_true)
{
    pv_art art;
    art_start(&art, "Cross", 40, 30);
    add_straight(&art, 4, pv_v(5, 15), pv_v(35, 15));
    add_straight(&art, 3, pv_v(20, 3), pv_v(20, 27));
    add_straight(&art, 2, pv_v(8, 6), pv_v(30, 25));
    check_spread("crossing lines", &art);
}
END_TEST

START_TEST(lines_that_end_in_others_print_true)
{
    pv_art art;
    art_start(&art, "Tee", 40, 30);
    add_straight(&art, 4, pv_v(5, 15), pv_v(35, 15));
    add_straight(&art, 4, pv_v(20, 15), pv_v(20, 28));
    add_straight(&art, 3, pv_v(12, 13), pv_v(12, 3)); /* its end only touches */
    check_spread("lines that end in others", &art);
}
END_TEST

START_TEST(lines_side_by_side_print_true)
{
    pv_art art;
    art_start(&art, "Touch", 40, 30);
    add_straight(&art, 4, pv_v(5, 15), pv_v(35, 15));
    add_straight(&art, 4, pv_v(12, 19), pv_v(28, 19)); /* along the first */
    add_box(&art, BLACK, (pv_box){{8, 7}, {20, 13}});  /* a fill along its other side */
    check_spread("lines and a fill side by side", &art);
}
END_TEST

START_TEST(fills_beside_lines_print_true)
{
    pv_art art;
    art_start(&art, "Beside", 40, 30);
    add_box(&art, BLACK, (pv_box){{3, 3}, {24, 27}});
    pv_line *line = add_line(&art, 3, WHITE, PV_ENDS_FLAT); /* leaves the black */
    add_piece(line, pv_segment(pv_v(8, 15), pv_v(36, 15)));
    add_straight(&art, 2, pv_v(15, 8), pv_v(36, 8)); /* leaves it, too, in its own colour */
    check_spread("fills and lines that leave them", &art);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("printer");
    TCase *tcase = tcase_create("printer");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, a_file_comes_back);
    tcase_add_test(tcase, what_is_no_printer_is_refused_and_said);
    tcase_add_test(tcase, size_and_length_of_name_are_limited);
    tcase_add_test(tcase, the_inverse_undoes_the_printer);
    tcase_add_test(tcase, what_is_not_corrected_counts_as_true);
    tcase_add_test(tcase, margins_hold_what_the_inverse_moves);
    tcase_add_test(tcase, a_sheet_comes_out_of_its_printer_as_planned);
    tcase_add_test(tcase, a_stroke_gets_narrower_and_never_vanishes);
    tcase_add_test(tcase, a_line_alone_has_another_width_and_other_ends);
    tcase_add_test(tcase, a_white_line_on_black_gets_wider);
    tcase_add_test(tcase, lines_thinner_than_the_gain_stay);
    tcase_add_test(tcase, a_boxs_corners_move_both_ways);
    tcase_add_test(tcase, what_is_cut_off_at_the_mats_edge_stays_there);
    tcase_add_test(tcase, straight_lines_and_boxes_print_true);
    tcase_add_test(tcase, arcs_and_rings_print_true);
    tcase_add_test(tcase, crossing_lines_print_true);
    tcase_add_test(tcase, lines_that_end_in_others_print_true);
    tcase_add_test(tcase, lines_side_by_side_print_true);
    tcase_add_test(tcase, fills_beside_lines_print_true);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
