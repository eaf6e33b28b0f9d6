/* Measuring against sheets whose picture is worked out in closed form: half planes (and, where
 * curvature over a pixel doesn't matter, circles) behind a Gaussian blur, averaged over square
 * pixels, in linear light, with noise and 8-bit sRGB codes. */
#include "common.h"
#include "half_plane.h"

#include "base/light.h"
#include "measure/measure.h"
#include "measure/screen.h"
#include "measure/stats.h"
#include "reference/combine.h"
#include "reference/scanner.h"
#include "values.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Drawn from once, as a picture has millions of them. */
static float some_gauss(void)
{
    static float table[1 << 16];
    static bool filled;
    for (size_t i = 0; !filled && i < 1 << 16; i++)
        table[i] = (float)gauss();
    filled = true;
    return table[(size_t)(uniform() * (1 << 16))];
}

/* ---- the sheet ---- */

enum { WHITE, BLACK, BLUE, YELLOW, RED, GREY, COLOURS };

static pv_colour colours[COLOURS] = {
    {(char *)"white", {255, 255, 255}}, {(char *)"black", {0, 0, 0}},
    {(char *)"blue", {20, 60, 160}},    {(char *)"yellow", {250, 210, 60}},
    {(char *)"red", {200, 30, 40}},     {(char *)"grey", {150, 150, 150}}};

static double linear[COLOURS][3];

static pv_piece pieces[8];
static pv_line lines[4];
static pv_area fill;
static pv_ring fill_ring;
static pv_vec fill_points[4];
static pv_sheet sheet;

#define WIDE 120.0
#define HIGH 90.0

static pv_plan base_plan(size_t n_lines)
{
    pv_plan plan = {0};
    plan.art.name = (char *)"Quayside";
    plan.art.edition = (char *)"1";
    plan.art.size = pv_v(WIDE, HIGH);
    plan.art.ground = WHITE;
    plan.art.colours = colours;
    plan.art.n_colours = COLOURS;
    plan.art.lines = lines;
    plan.art.n_lines = n_lines;
    plan.page[0] = WIDE + 20;
    plan.page[1] = HIGH + 20;
    sheet = (pv_sheet){.name = "A1", .cell = {{0, 0}, {WIDE, HIGH}}, .origin = {-10, -10}};
    for (int i = 0; i < 4; i++) {
        sheet.side[i] = PV_OUTER;
        sheet.seam[i] = SIZE_MAX;
    }
    plan.sheets = &sheet;
    plan.n_sheets = plan.rows = plan.columns = 1;
    return plan;
}

/* Three level lines: black on white, blue between white and yellow, red on yellow. */
static pv_plan straight_plan(void)
{
    static const double y[] = {20, 45, 75}, width[] = {8, 20, 3};
    static const char *const id[] = {"low", "mid", "high"};
    static const size_t colour[] = {BLACK, BLUE, RED};
    for (size_t i = 0; i < 3; i++) {
        pieces[i] = pv_segment(pv_v(5, y[i]), pv_v(115, y[i]));
        lines[i] = (pv_line){.id = (char *)id[i],
                             .pieces = &pieces[i],
                             .n_pieces = 1,
                             .width = width[i],
                             .colour = colour[i]};
    }
    pv_plan plan = base_plan(3);
    fill_points[0] = pv_v(0, 45);
    fill_points[1] = pv_v(WIDE, 45);
    fill_points[2] = pv_v(WIDE, HIGH);
    fill_points[3] = pv_v(0, HIGH);
    fill_ring = (pv_ring){fill_points, 4};
    fill = (pv_area){.id = (char *)"dock", .rings = &fill_ring, .n_rings = 1, .colour = YELLOW};
    plan.art.fills = &fill;
    plan.art.n_fills = 1;
    return plan;
}

/* A grey wall between black and white, and a black kerb on the white. */
static pv_plan wall_plan(void)
{
    pieces[0] = pv_segment(pv_v(5, 45), pv_v(115, 45));
    pieces[1] = pv_segment(pv_v(5, 75), pv_v(115, 75));
    lines[0] = (pv_line){
        .id = (char *)"wall", .pieces = &pieces[0], .n_pieces = 1, .width = 8, .colour = GREY};
    lines[1] = (pv_line){
        .id = (char *)"kerb", .pieces = &pieces[1], .n_pieces = 1, .width = 3, .colour = BLACK};
    pv_plan plan = base_plan(2);
    fill_points[0] = pv_v(0, 0);
    fill_points[1] = pv_v(WIDE, 0);
    fill_points[2] = pv_v(WIDE, 45);
    fill_points[3] = pv_v(0, 45);
    fill_ring = (pv_ring){fill_points, 4};
    fill = (pv_area){.id = (char *)"sea", .rings = &fill_ring, .n_rings = 1, .colour = BLACK};
    plan.art.fills = &fill;
    plan.art.n_fills = 1;
    return plan;
}

/* Two arcs about one centre, run in opposite senses, the outer in two pieces. */
static pv_plan round_plan(void)
{
    pieces[0] = pv_arc(pv_v(60, 10), 30, 0.2, 2.6);
    pieces[1] = pv_arc(pv_v(60, 10), 55, 2.9, -1.2);
    pieces[2] = pv_arc(pv_v(60, 10), 55, 1.7, -1.4);
    lines[0] = (pv_line){
        .id = (char *)"inner", .pieces = &pieces[0], .n_pieces = 1, .width = 10, .colour = BLACK};
    lines[1] = (pv_line){
        .id = (char *)"outer", .pieces = &pieces[1], .n_pieces = 2, .width = 5, .colour = BLUE};
    return base_plan(2);
}

/* ---- its picture ---- */

typedef struct setup {
    double dpi, sx, sy, shear, turn; /* shear: x moves by shear * y */
    double blur;                     /* mm, sigma */
    double noise;                    /* linear light */
    double gain;                     /* mm by which ink grows at each edge */
    double bow;                      /* mm by which the lowest line bows upwards in its middle */
} setup;

/* Sheet mm to px; the sheet's corner is put so that all of it lies in the picture. */
static void true_map(const setup *s, double h[9], size_t *width, size_t *height)
{
    double k = s->dpi / 25.4, c = cos(s->turn), n = sin(s->turn);
    double m[4] = {k * (c * s->sx), k * (c * s->shear - n * s->sy), -k * (n * s->sx),
                   -k * (n * s->shear + c * s->sy)};
    pv_box box = pv_box_none();
    for (int i = 0; i < 4; i++) {
        double x = i & 1 ? WIDE + 20 : 0, y = i & 2 ? HIGH + 20 : 0;
        box = pv_box_add(box, pv_v(m[0] * x + m[1] * y, m[2] * x + m[3] * y));
    }
    double all[9] = {m[0], m[1], 3.37 - box.lo.x, m[2], m[3], 5.21 - box.lo.y, 0, 0, 1};
    memcpy(h, all, sizeof all);
    *width = (size_t)(box.hi.x - box.lo.x) + 10;
    *height = (size_t)(box.hi.y - box.lo.y) + 10;
}

typedef struct brush {
    const setup *s;
    double inverse[4]; /* px to mm, without the shift */
    double blur;       /* px */
    double light[3];
} brush;

/* Lays colour `to` over `from` where f > 0; f in mm with the gradient g in mat mm. */
static void lay(brush *b, double f, pv_vec g, size_t from, size_t to)
{
    if (fabs(f) > 1) { /* mm: farther than any blur reaches */
        for (int c = 0; f > 0 && c < 3; c++)
            b->light[c] += linear[to][c] - linear[from][c];
        return;
    }
    const double *m = b->inverse;
    pv_vec in_px = pv_v(g.x * m[0] + g.y * m[2], g.x * m[1] + g.y * m[3]);
    double length = pv_len(in_px);
    double share = pixel_light(f / length, pv_scale(in_px, 1 / length), b->blur);
    for (int c = 0; share != 0 && c < 3; c++)
        b->light[c] += share * (linear[to][c] - linear[from][c]);
}

/* Linear light as a sample that went through an 8-bit sRGB code. */
static uint16_t coded(double light)
{
    static uint16_t table[1 << 14];
    const double top = (1 << 14) - 1;
    for (size_t i = 0; table[(1 << 14) - 1] == 0 && i < 1 << 14; i++)
        table[i] =
            (uint16_t)(65535 * pv_srgb_decode(rint(pv_linear_to_srgb((double)i / top)) / 255));
    return table[(size_t)(fmin(fmax(light, 0), 1) * top + 0.5)];
}

static void paint_straight(brush *b, pv_vec p)
{
    pv_vec up = pv_v(0, 1);
    double g = b->s->gain;
    double bow = b->s->bow * (1 - (p.x - 60) * (p.x - 60) / 55 / 55);
    lay(b, p.y - (16 - g) - bow, up, WHITE, BLACK);
    lay(b, p.y - (24 + g) - bow, up, BLACK, WHITE);
    lay(b, p.y - (35 - g), up, WHITE, BLUE);
    lay(b, p.y - (55 + g), up, BLUE, YELLOW);
    lay(b, p.y - (73.5 - g), up, YELLOW, RED);
    lay(b, p.y - (76.5 + g), up, RED, YELLOW);
}

static void paint_round(brush *b, pv_vec p)
{
    pv_vec d = pv_sub(p, pv_v(60, 10));
    double r = pv_len(d), g = b->s->gain;
    pv_vec out = pv_scale(d, r > 0 ? 1 / r : 0);
    if (r < 1)
        return;
    lay(b, r - (25 - g), out, WHITE, BLACK);
    lay(b, r - (35 + g), out, BLACK, WHITE);
    lay(b, r - (52.5 - g), out, WHITE, BLUE);
    lay(b, r - (57.5 + g), out, BLUE, WHITE);
}

/* Black spreads into grey, and grey into white. */
static void paint_wall(brush *b, pv_vec p)
{
    pv_vec up = pv_v(0, 1), down = pv_v(0, -1);
    double g = b->s->gain;
    lay(b, 49 + g - p.y, down, WHITE, GREY);
    lay(b, 41 + g - p.y, down, GREY, BLACK);
    lay(b, p.y - (73.5 - g), up, WHITE, BLACK);
    lay(b, p.y - (76.5 + g), up, BLACK, WHITE);
}

typedef void painter(brush *b, pv_vec mat);

static void picture(const setup *s, painter *paint, pv_plane *plane, double h[9])
{
    *plane = (pv_plane){.channels = 3};
    true_map(s, h, &plane->width, &plane->height);
    plane->samples = calloc(plane->width * plane->height * 3, sizeof(uint16_t));
    ck_assert_ptr_nonnull(plane->samples);
    double det = h[0] * h[4] - h[1] * h[3];
    for (int i = 0; i < COLOURS; i++)
        pv_colour_linear(&colours[i], linear[i]);
    brush b = {.s = s, .inverse = {h[4] / det, -h[1] / det, -h[3] / det, h[0] / det}};
    b.blur = s->blur * s->dpi / 25.4;
    uint16_t *out = plane->samples;
    for (size_t y = 0; y < plane->height; y++) {
        for (size_t x = 0; x < plane->width; x++) {
            double u = (double)x + 0.5 - h[2], v = (double)y + 0.5 - h[5];
            pv_vec mat = pv_v(b.inverse[0] * u + b.inverse[1] * v - 10,
                              b.inverse[2] * u + b.inverse[3] * v - 10);
            b.light[0] = b.light[1] = b.light[2] = 1;
            paint(&b, mat);
            for (int c = 0; c < 3; c++) {
                /* Paper isn't quite white nor ink quite black, so that noise isn't cut off. */
                double light = 0.04 + 0.86 * b.light[c] + s->noise * (double)some_gauss();
                *out++ = coded(light);
            }
        }
    }
}

/* What a scan tells of the print whose resolution is known exactly. */
static pv_metric metric_of_scan(const pv_plane *plane, const pv_pose *pose)
{
    pv_inspect_options options = pv_inspect_defaults();
    options.scanner_U_rel = 0;
    pv_text note = PV_TEXT_INIT;
    pv_scan_reference scan = pv_scan_reference_decide(plane, pose, &options, &note);
    ck_assert(scan.believed);
    pv_text_drop(&note);
    const pv_scanner_limits exact = {{0, 0}, 0, 0};
    pv_evidence evidence = pv_scan_evidence(&scan, pose, &exact, &options);
    return pv_combine(&evidence, 1).metric;
}

/* The pose is told wrong, by 0.15 mm in place, 0.5 mrad in turn and 0.03 % in scale: only scale and
 * skew may depend on it. */
static void measure(const setup *s, const pv_plan *plan, painter *paint, bool absolute,
                    bool wrong_pose, pv_measures *out)
{
    pv_plane plane;
    pv_pose pose = {.kind = PV_POSE_AFFINE};
    picture(s, paint, &plane, pose.h);
    double k = s->dpi / 25.4;
    if (wrong_pose) {
        double x = pose.h[0], y = pose.h[3];
        pose.h[0] = 1.0003 * x + 0.0005 * y;
        pose.h[3] = 1.0003 * y - 0.0005 * x;
        pose.h[2] += 0.15 * k;
        pose.h[5] -= 0.1 * k;
    }
    pv_diags *diags = pv_diags_new();
    plane.source = PV_RESOLUTION_PNG;
    plane.resolution[0] = plane.resolution[1] = k;
    pv_metric metric = metric_of_scan(&plane, &pose);
    if (!absolute) {
        double skew = metric.skew;
        metric = pv_metric_unknown();
        metric.skew = skew;
        metric.has_skew = true;
    }
    pv_plan with = *plan;
    with.mat = pv_scene_of(&plan->art);
    pv_scene *page = pv_plan_page(&with, &sheet);
    ck_assert_ptr_nonnull(page);
    ck_assert(pv_measure_sheet(page, &plane, &pose, &metric, NULL, out, diags));
    pv_scene_free(page);
    pv_scene_free(with.mat);
    pv_diags_free(diags);
    free(plane.samples);
}

/* ---- tests ---- */

typedef struct tally {
    double width, spacing, straight, U_width, U_spacing;
    double U_coarse; /* of both, where a tone may be screened and pixels hide it */
    size_t inside, all;
} tally;

static void note(tally *t, const pv_value *q, double truth, double *worst, double *U)
{
    ck_assert(q->measured);
    double error = fabs(q->value - truth);
    *worst = fmax(*worst, error);
    pv_value judged = *q;
    judged.tolerance = 1;
    pv_value_judge(&judged);
    *U = fmax(*U, 2 * judged.u);
    t->all++;
    t->inside += error <= U_of(q);
}

static const setup setups[] = {
    {.dpi = 300, .sx = 1, .sy = 1, .blur = 0.06, .noise = 0.01},
    {.dpi = 300, .sx = 1, .sy = 1, .turn = 0.0052, .blur = 0.04, .noise = 0.01},
    {.dpi = 300, .sx = 0.96, .sy = 0.96, .turn = 0.03, .blur = 0.08, .noise = 0.02},
    {.dpi = 300,
     .sx = 1.004,
     .sy = 0.997,
     .shear = 0.002,
     .turn = -0.05,
     .blur = 0.12,
     .noise = 0.01},
    {.dpi = 200, .sx = 1.001, .sy = 0.999, .turn = PV_PI / 2 + 0.02, .blur = 0.08, .noise = 0.01},
    {.dpi = 150, .sx = 0.999, .sy = 1.002, .turn = PV_PI - 0.008, .blur = 0.08, .noise = 0.01},
    {.dpi = 150, .sx = 1, .sy = 1, .turn = -PV_PI / 2, .blur = 0.1, .noise = 0.02},
    {.dpi = 300, .sx = 1, .sy = 1, .turn = 0.01, .blur = 0.04, .noise = 0.02, .gain = 0.05},
};
#define SETUPS (sizeof setups / sizeof *setups)

START_TEST(straight_lines_measure_true)
{
    chance(1);
    pv_plan plan = straight_plan();
    static const double widths[] = {8, 20, 3};
    tally t = {0};
    for (size_t i = 0; i < SETUPS; i++) {
        const setup *s = &setups[i];
        bool coarse = s->dpi < 25.4 * PV_SCREEN_SEEN;
        /* Across a level line: its normal's length after shear and scaling. */
        double across = s->sx * s->sy / hypot(s->sx, 0);
        pv_measures m;
        measure(s, &plan, paint_straight, true, true, &m);
        ck_assert(m.absolute);
        ck_assert_uint_eq(m.n_lines, 3);
        for (size_t k = 0; k < 3; k++) {
            ck_assert_uint_eq(m.lines[k].line, k);
            ck_assert_uint_gt(m.lines[k].stations, 60);
            ck_assert_uint_ge(m.lines[k].planned, m.lines[k].stations);
            note(&t, row_in(&m, PV_KIND_WIDTH, k), (widths[k] + 2 * s->gain) * across, &t.width,
                 coarse ? &t.U_coarse : &t.U_width);
            ck_assert(row_in(&m, PV_KIND_STRAIGHT, k)->measured);
            t.straight = fmax(t.straight, row_in(&m, PV_KIND_STRAIGHT, k)->value);
            ck_assert_double_le(row_in(&m, PV_KIND_STRAIGHT, k)->value,
                                U_of(row_in(&m, PV_KIND_STRAIGHT, k)));
        }
        ck_assert_uint_eq(count_spacings(&m), 2);
        for (size_t k = 0; k < 2; k++) {
            ck_assert_uint_eq(spacing_in(&m, k)->subject, k);
            ck_assert_uint_eq(spacing_in(&m, k)->other, k + 1);
            ck_assert_double_eq_tol(spacing_in(&m, k)->nominal, k == 0 ? 25 : 30, 1e-9);
            note(&t, spacing_in(&m, k), spacing_in(&m, k)->nominal * across, &t.spacing,
                 coarse ? &t.U_coarse : &t.U_spacing);
        }
        pv_measures_clear(&m);
    }
    say_worst("mean width of straight lines, 150 to 300 dpi", t.width, 0.01, "mm");
    say_worst("spacing of straight lines", t.spacing, 0.006, "mm");
    say_worst("bow of lines that have none", t.straight, 0.03, "mm");
    say_worst("2 u of widths, the widest", t.U_width, 0.045, "mm");
    say_worst("2 u of spacings, the widest", t.U_spacing, 0.03, "mm");
    say_worst("both, where pixels hide a screen", t.U_coarse, 0.09, "mm");
    printf("    U holds the truth in %zu of %zu\n", t.inside, t.all);
    ck_assert_double_lt(t.width, 0.01);
    ck_assert_double_lt(t.spacing, 0.006);
    ck_assert_double_lt(t.straight, 0.03);
    ck_assert_double_lt(t.U_width, 0.045);
    ck_assert_double_lt(t.U_spacing, 0.03);
    ck_assert_double_lt(t.U_coarse, 0.09);
    ck_assert_uint_ge(100 * t.inside, 95 * t.all);
}
END_TEST

/* Spreading ink moves the centre of a line between a darker and a lighter side. The spacing's U
 * must hold that, up to the 0.1 mm that docs/how/uncertainty.md names, and nobody else's may grow
 * for it.
 */
START_TEST(a_line_that_leans_says_so)
{
    chance(8);
    static const double gains[] = {-0.1, -0.05, 0, 0.05, 0.1};
    pv_plan plan = wall_plan();
    double worst = 0;
    for (size_t i = 0; i < sizeof gains / sizeof *gains; i++) {
        setup s = {.dpi = 300, .sx = 1, .sy = 1, .turn = 0.02, .blur = 0.06, .noise = 0.01};
        s.gain = gains[i];
        pv_measures m;
        measure(&s, &plan, paint_wall, true, false, &m);
        ck_assert_uint_eq(count_spacings(&m), 1);
        double error = spacing_in(&m, 0)->value - 30, U = U_of(spacing_in(&m, 0));
        worst = fmax(worst, fabs(error + s.gain));
        ck_assert_double_le(fabs(error), U);
        ck_assert_double_lt(U, 0.15);
        ck_assert_double_le(fabs(row_in(&m, PV_KIND_WIDTH, 0)->value - 8),
                            U_of(row_in(&m, PV_KIND_WIDTH, 0)));
        ck_assert_double_lt(U_of(row_in(&m, PV_KIND_STRAIGHT, 0)), 0.03);
        pv_measures_clear(&m);
    }
    say_worst("spacing of a leaning line less the ink's spread", worst, 0.01, "mm");
    ck_assert_double_lt(worst, 0.01);
}
END_TEST

/* Shares of light move by their own ink. */
START_TEST(colours_tell_where_spreading_ink_goes)
{
    static const pv_colour black = {(char *)"k", {0, 0, 0}}, white = {(char *)"w", {255, 255, 255}},
                           grey = {(char *)"g", {150, 150, 150}}, red = {(char *)"r", {255, 0, 0}},
                           cyan = {(char *)"c", {0, 255, 255}};
    ck_assert_double_eq(pv_colour_spread(&black, &white), 1);
    ck_assert_double_eq(pv_colour_spread(&white, &black), -1);
    ck_assert_double_eq(pv_colour_spread(&red, &red), 0);
    /* Green and blue one way, red the other, all by as much. */
    ck_assert_double_eq_tol(pv_colour_spread(&red, &cyan), 1.0 / 3, 1e-12);
    pv_lean level = pv_colour_lean(&black, &white, &grey);
    ck_assert(level.left == 0 && level.doubt == 0);
    pv_lean wall = pv_colour_lean(&grey, &white, &black);
    ck_assert(wall.left == 1 && wall.doubt == 0);
    pv_lean hue = pv_colour_lean(&red, &cyan, &cyan);
    ck_assert_double_eq_tol(hue.doubt, 2.0 / 3, 1e-12);
}
END_TEST

START_TEST(arcs_measure_true)
{
    chance(2);
    pv_plan plan = round_plan();
    tally t = {0};
    for (size_t i = 0; i < SETUPS; i += 3) {
        setup s = setups[i];
        s.sy = s.sx; /* circles stay circles, which is what the picture's closed form knows */
        s.shear = 0;
        pv_measures m;
        measure(&s, &plan, paint_round, true, i != 0, &m);
        ck_assert_uint_eq(m.n_lines, 2);
        note(&t, row_in(&m, PV_KIND_WIDTH, 0), (10 + 2 * s.gain) * s.sx, &t.width, &t.U_width);
        note(&t, row_in(&m, PV_KIND_WIDTH, 1), (5 + 2 * s.gain) * s.sx, &t.width, &t.U_width);
        for (size_t k = 0; k < 2; k++)
            t.straight = fmax(t.straight, row_in(&m, PV_KIND_STRAIGHT, k)->value);
        ck_assert_uint_eq(count_spacings(&m), 1);
        ck_assert_double_eq_tol(spacing_in(&m, 0)->nominal, 25, 1e-9);
        note(&t, spacing_in(&m, 0), 25 * s.sx, &t.spacing, &t.U_spacing);
        pv_measures_clear(&m);
    }
    say_worst("mean width of arcs, 150 to 300 dpi", t.width, 0.01, "mm");
    say_worst("spacing of arcs about one centre", t.spacing, 0.006, "mm");
    say_worst("bow of arcs that have none", t.straight, 0.03, "mm");
    printf("    U holds the truth in %zu of %zu\n", t.inside, t.all);
    ck_assert_double_lt(t.width, 0.01);
    ck_assert_double_lt(t.spacing, 0.006);
    ck_assert_double_lt(t.straight, 0.03);
    ck_assert_uint_ge(100 * t.inside, 95 * t.all);
}
END_TEST

START_TEST(scale_skew_and_turn_come_from_the_pose)
{
    chance(3);
    pv_plan plan = straight_plan();
    double worst = 0, worst_skew = 0;
    for (size_t i = 2; i < 6; i++) {
        const setup *s = &setups[i];
        pv_measures m;
        measure(s, &plan, paint_straight, true, false, &m);
        double sy = hypot(s->sy, s->shear);
        worst = fmax(worst, fmax(fabs(row_in(&m, PV_KIND_SCALE, 0)->value / s->sx - 1),
                                 fabs(row_in(&m, PV_KIND_SCALE, 1)->value / sy - 1)));
        worst_skew = fmax(worst_skew,
                          fabs(row_in(&m, PV_KIND_SKEW, 0)->value - 1000 * atan2(s->shear, s->sy)));
        ck_assert_double_eq_tol(m.turn, s->turn * 180 / PV_PI, 1e-6);
        pv_measures_clear(&m);
    }
    say_worst("scale by an exact pose", worst, 1e-9, "");
    say_worst("skew by an exact pose", worst_skew, 1e-6, "mrad");
    ck_assert_double_lt(worst, 1e-9);
    ck_assert_double_lt(worst_skew, 1e-6);
}
END_TEST

START_TEST(without_a_reference_lengths_are_relative)
{
    chance(4);
    pv_plan plan = straight_plan();
    setup s = {.dpi = 300, .sx = 0.96, .sy = 0.96, .turn = 0.02, .blur = 0.06, .noise = 0.01};
    pv_measures m;
    measure(&s, &plan, paint_straight, false, false, &m);
    ck_assert(!m.absolute);
    ck_assert(!row_in(&m, PV_KIND_SCALE, 0)->measured && !row_in(&m, PV_KIND_SCALE, 1)->measured);
    ck_assert(row_in(&m, PV_KIND_SKEW, 0)->measured);
    ck_assert_double_eq_tol(row_in(&m, PV_KIND_WIDTH, 1)->value, 20, 0.01);
    ck_assert_double_eq_tol(spacing_in(&m, 0)->value, 25, 0.01);
    pv_measures_clear(&m);
}
END_TEST

START_TEST(a_bowed_line_is_seen)
{
    chance(5);
    pv_plan plan = straight_plan();
    setup s = {.dpi = 300, .sx = 1, .sy = 1, .turn = 0.02, .blur = 0.06, .noise = 0.01, .bow = 0.5};
    pv_measures m;
    measure(&s, &plan, paint_straight, true, false, &m);
    /* y = h (1 - x^2 / 55^2), seen for |x| <= X, leaves its best straight line by
     * h / 55^2 (x^2 - X^2 / 3): most at the ends, where five stations are averaged. The first
     * station that keeps clear of the line's end is the second of 74. */
    const pv_value *straight = row_in(&m, PV_KIND_STRAIGHT, 0);
    double pitch = 110.0 / 74, X = 55 - 1.5 * pitch, x = X - 2 * pitch;
    double expected = 0.5 / 55 / 55 * (x * x - X * X / 3);
    say_worst("bow of 0.5 mm", fabs(straight->value - expected), 0.01, "mm");
    ck_assert_double_eq_tol(straight->value, expected, 0.01);
    ck_assert_double_lt(row_in(&m, PV_KIND_STRAIGHT, 1)->value, 0.03);
    pv_measures_clear(&m);
}
END_TEST

/* An autoregressive series x' = a x + e has a mean whose variance is (1 + a) / (1 - a) times that
 * of independent values of the same variance, for long series. */
START_TEST(correlated_stations_count_for_fewer)
{
    chance(7);
    enum { N = 20000 };
    static double x[N];
    static const double a[] = {0, 0.5, 0.8};
    double worst = 0;
    for (size_t k = 0; k < 3; k++) {
        double now = 0, sum = 0;
        for (int i = -100; i < N; i++) {
            now = a[k] * now + sqrt(1 - a[k] * a[k]) * gauss();
            if (i >= 0)
                sum += x[i] = now;
        }
        double freedom, u = pv_mean_u(x, N, sum / N, 0, &freedom);
        double expected = sqrt((1 + a[k]) / (1 - a[k]) / N);
        worst = fmax(worst, fabs(u / expected - 1));
    }
    say_worst("u of the mean of a correlated series", worst, 0.2, "");
    ck_assert_double_lt(worst, 0.2);
}
END_TEST

START_TEST(outliers_are_found_and_others_kept)
{
    double x[] = {1.0, 1.1, 0.9, 1.05, 0.95, 9, 1.0, -4}, scratch[8];
    bool keep[8];
    ck_assert_uint_eq(pv_outliers(x, 8, 4.5, 0, keep, scratch), 6);
    ck_assert(!keep[5] && !keep[7] && keep[0] && keep[6]);
    double same[] = {2, 2, 2, 2};
    ck_assert_uint_eq(pv_outliers(same, 4, 4.5, 0, keep, scratch), 4);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("measure");
    TCase *tcase = tcase_create("measure");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, straight_lines_measure_true);
    tcase_add_test(tcase, a_line_that_leans_says_so);
    tcase_add_test(tcase, colours_tell_where_spreading_ink_goes);
    tcase_add_test(tcase, arcs_measure_true);
    tcase_add_test(tcase, scale_skew_and_turn_come_from_the_pose);
    tcase_add_test(tcase, without_a_reference_lengths_are_relative);
    tcase_add_test(tcase, a_bowed_line_is_seen);
    tcase_add_test(tcase, correlated_stations_count_for_fewer);
    tcase_add_test(tcase, outliers_are_found_and_others_kept);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
