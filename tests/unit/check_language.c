/* The course language: quantities, repetition, names, and the geometry of every statement. Expected
 * values are closed forms; an inch is 25.4 mm and a foot 304.8 mm exactly (international yard and
 * pound agreement, 1959). */
#include "common.h"

#include "base/text.h"
#include "course/model.h"

#include <stdlib.h>
#include <string.h>

/* Fails the test, with its findings, where the text is not a sound course. */
static pv_course *read_course(const char *text)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), "t.course", test_type(), diags);
    char *findings = diags_text(diags);
    ck_assert_msg(course != NULL, "%s\n%s", text, findings);
    ck_assert_msg(pv_diags_size(diags) == 0, "%s\n%s", text, findings);
    pv_free(findings);
    pv_diags_free(diags);
    return course;
}

/* With a mat of 1 m by 1 m stated before. */
static pv_course *on_mat(const char *statements)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "mat 1m by 1m\n%s\n", statements);
    char *chars = pv_text_take(&text);
    pv_course *course = read_course(chars);
    pv_free(chars);
    return course;
}

static double error_of(pv_vec at, double x, double y)
{
    return hypot(at.x - x, at.y - y);
}

#define NEAR(at, x, y) ck_assert_double_le(error_of((at), (x), (y)), 1e-9)

/* --- quantities ---------------------------------------------------------------------------- */

static const struct {
    const char *expression;
    double mm;
} lengths[] = {
    {"300mm", 300},
    {"30cm", 300},
    {"0.3m", 300},
    {"9in", 228.6},
    {"1ft", 304.8},
    {"1.5 ft", 457.2},
    {".5in", 12.7},
    {"(1/2)in", 12.7},
    {"9in - 2cm/2", 218.6},
    {"1ft + 1in + 1mm + 1cm", 341.2},
    {"2 * 3in", 152.4},
    {"3in * 2", 152.4},
    {"1m / 8", 125},
    {"100mm - 20mm - 30mm", 50},
    {"100mm / 2 / 5", 10},
    {"2 * (10mm + 5mm)", 30},
    {"(2 + 3)cm", 50},
    {"-(-70mm)", 70},
    {"--70mm", 70},
    {"1m / 1ft * 304.8mm", 1000},
    {"100mm * sin(30deg)", 50},
    {"100mm * cos(60 deg)", 50},
    {"100mm * tan(pi / 4 * 1rad)", 100},
    {"sqrt(2) * sqrt(2) * 10mm", 20},
    {"hypot(30mm, 40mm)", 50},
    {"abs(3mm - 8mm)", 5},
    {"min(3cm, 20mm, 1in)", 20},
    {"max(3cm, 20mm, 1in)", 30},
    {"mod(7in, 2in)", 25.4},
    {"mod(-1mm, 10mm)", 9},
    {"floor(2.7) * 1mm", 2},
    {"ceil(2.2) * 1mm", 3},
    {"round(2.5) * 1mm", 3},
    {"atan2(1mm, 1mm) / 45deg * 10mm", 10},
    {"asin(0.5) / 30deg * 1mm", 1},
    {"acos(0.5) / 60deg * 1mm", 1},
    {"atan(1) / 45deg * 1mm", 1},
    {"x((3, 4)mm)", 3},
    {"y((3, 4)in)", 101.6},
    {"distance((1, 1)mm, (4, 5)mm)", 5},
    {"direction((1, 1)mm, (1, 5)mm) / 90deg * 1mm", 1},
    {"x(middle((0, 0)mm, (4, 8)mm))", 2},
    {"x(polar(10mm, 60deg))", 5},
    {"y(2 * (1mm, 2mm) - (0mm, 1mm) / 2)", 3.5},
    {"1000mrad / 1rad * 1mm", 1},
};

START_TEST(quantities_come_out)
{
    double worst = 0;
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        pv_text text = PV_TEXT_INIT;
        pv_text_add(&text, "line from (0, -1)mm to (%s, 100mm)", lengths[i].expression);
        char *chars = pv_text_take(&text);
        pv_course *course = on_mat(chars);
        double error = fabs(course->art.lines[0].pieces[0].b.x - lengths[i].mm);
        ck_assert_msg(error < 1e-9, "%s", lengths[i].expression);
        worst = fmax(worst, error);
        pv_course_free(course);
        pv_free(chars);
    }
    say_worst("45 expressions against closed forms", worst, 1e-9, "mm");
}
END_TEST

START_TEST(units_of_typed_numbers_are_exact)
{
    pv_course *course = on_mat("line from (0mm, 0mm) to (36in, 1ft)\n"
                               "line from (0mm, 0mm) to (25.4mm, 30.48cm)");
    const pv_line *line = course->art.lines;
    ck_assert(line[0].pieces[0].b.x == 914.4 && line[0].pieces[0].b.y == 304.8);
    ck_assert(line[1].pieces[0].b.x == 25.4 && line[1].pieces[0].b.y == 304.8);
    pv_course_free(course);
}
END_TEST

/* The mat's statement decides; where it has no unit, what most lengths have. */
START_TEST(a_course_has_its_own_unit)
{
    static const struct {
        const char *text;
        bool inches;
    } cases[] = {{"mat 48in by 3ft", true},
                 {"mat 1.2m by 90cm", false},
                 {"mat 48in by 900mm", false}, /* as many: as the whole course, which has as many */
                 {"mat 48in by 900mm\nline from (0, 0)in to (9, 9)in", true},
                 {"mat 1.2m by 90cm\nline from (1in, 1in) to (9in, 9in)", false},
                 {"let w = 48in\nlet h = 36in\nmat w by h\nline from (0, 0)mm to (9, 9)in", true},
                 {"let w = 1200mm\nmat w by w\nline from (0, 0)mm to (9, 9)in", false},
                 {"mat 300mm by 300mm\nline from (0, 0)mm ahead 1ft heading 2deg", false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_course *course = read_course(cases[i].text);
        ck_assert_msg(course->art.inches == cases[i].inches, "%s", cases[i].text);
        pv_course_free(course);
    }
}
END_TEST

START_TEST(names_hold_any_kind)
{
    pv_course *course = on_mat("let gap = 9in - 2cm/2\n"
                               "let corner = (10mm, 20mm)\n"
                               "let turn = 90deg\n"
                               "let half = 1/2\n"
                               "let x = 5mm\n"
                               "line from corner ahead gap heading turn * half by (x, 0mm)");
    const pv_line *line = &course->art.lines[0];
    double d = 218.6 * sqrt(0.5);
    NEAR(line->pieces[0].b, 10 + d, 20 + d);
    NEAR(line->pieces[1].b, 15 + d, 20 + d);
    pv_course_free(course);
}
END_TEST

/* --- setting up ---------------------------------------------------------------------------- */

START_TEST(defaults_are_as_documented)
{
    pv_course *course = read_course("mat 2m by 3ft\nline from (0, 0)mm to (9, 9)mm");
    const pv_art *art = &course->art;
    ck_assert_str_eq(pv_course_name(course), "Unnamed course");
    ck_assert_str_eq(pv_course_edition(course), "1");
    ck_assert_double_eq_tol(pv_course_width(course), 2000, 1e-9);
    ck_assert_double_eq_tol(pv_course_height(course), 914.4, 1e-9);
    ck_assert_str_eq(art->colours[art->ground].name, "white");
    ck_assert(art->tolerances.scale == 0.003 && art->tolerances.width == 0.5 &&
              art->tolerances.spacing == 1 && art->tolerances.straight == 1 &&
              art->tolerances.skew == 3 && art->tolerances.contrast == 0.25 &&
              art->tolerances.spot == 3);
    ck_assert(art->lines[0].width == 20 && art->lines[0].ends == PV_ENDS_FLAT);
    ck_assert_str_eq(art->colours[art->lines[0].colour].name, "black");
    ck_assert(!course->robot.given && !course->start.given && !course->finish.given);
    ck_assert_uint_eq(course->route.n, 0);
    ck_assert_str_eq(course->file, "t.course");
    pv_course_free(course);
}
END_TEST

START_TEST(setting_up)
{
    pv_course *course =
        read_course("course \"Quai n\xC2\xB0 4 \\\"Est\\\"\" edition \"2b\" # a comment\n"
                    "colour sea = rgb(31, 90, 160)\ncolor slate = gray(128)\n"
                    "colour dawn = hex \"#FFc425\"\ncolour dusk = hex \"102030\"\n"
                    "mat 1200mm by 900mm ground dawn\n"
                    "tolerance scale 0.25 %, width 0.4mm, spacing 0.8mm\n"
                    "tolerance straightness 0.6mm skew 2mrad contrast 40% spot 1cm\n"
                    "robot 180mm by 14cm pivot 60mm\n");
    const pv_art *art = &course->art;
    ck_assert_str_eq(pv_course_name(course), "Quai n\xC2\xB0 4 \"Est\"");
    ck_assert_str_eq(pv_course_edition(course), "2b");
    ck_assert_uint_eq(art->n_colours, 6);
    ck_assert_mem_eq(art->colours[2].rgb, "\x1F\x5A\xA0", 3);
    ck_assert_mem_eq(art->colours[3].rgb, "\x80\x80\x80", 3);
    ck_assert_mem_eq(art->colours[4].rgb, "\xFF\xC4\x25", 3);
    ck_assert_mem_eq(art->colours[5].rgb, "\x10\x20\x30", 3);
    ck_assert_uint_eq(art->ground, 4);
    ck_assert_double_eq_tol(art->tolerances.scale, 0.0025, 1e-15);
    ck_assert_double_eq_tol(art->tolerances.skew, 2, 1e-12);
    ck_assert(art->tolerances.width == 0.4 && art->tolerances.spacing == 0.8 &&
              art->tolerances.straight == 0.6 && art->tolerances.contrast == 0.4 &&
              art->tolerances.spot == 10);
    ck_assert(course->robot.given && course->robot.length == 180 && course->robot.width == 140 &&
              course->robot.pivot == 60);
    pv_course_free(course);
}
END_TEST

START_TEST(the_robot_turns_about_its_middle_unless_told)
{
    pv_course *course = on_mat("robot 180mm by 140mm");
    ck_assert_double_eq(course->robot.pivot, 90);
    pv_course_free(course);
}
END_TEST

/* --- lines --------------------------------------------------------------------------------- */

START_TEST(paint_holds_until_the_next)
{
    pv_course *course = on_mat("colour c = grey(9)\nline from (0, 0)mm to (9, 9)mm\n"
                               "paint width 8mm ends round\n"
                               "line from (0, 0)mm to (9, 9)mm\n"
                               "line width 5mm colour c ends square from (0, 0)mm to (9, 9)mm\n"
                               "line from (0, 0)mm to (9, 9)mm");
    const pv_line *line = course->art.lines;
    ck_assert(line[0].width == 20 && line[0].ends == PV_ENDS_FLAT && line[0].colour == 1);
    ck_assert(line[1].width == 8 && line[1].ends == PV_ENDS_ROUND && line[1].colour == 1);
    ck_assert(line[2].width == 5 && line[2].ends == PV_ENDS_SQUARE && line[2].colour == 2);
    ck_assert(line[3].width == 8 && line[3].ends == PV_ENDS_ROUND && line[3].colour == 1);
    ck_assert_int_eq(line[3].source.line, 7);
    pv_course_free(course);
}
END_TEST

/* Pieces follow each other exactly, arcs have what the legs said. */
static void check_joined(const pv_line *line)
{
    for (size_t i = 0; i + 1 < line->n_pieces; i++)
        ck_assert(line->pieces[i].b.x == line->pieces[i + 1].a.x &&
                  line->pieces[i].b.y == line->pieces[i + 1].a.y);
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *p = &line->pieces[i];
        if (!p->arc)
            continue;
        NEAR(p->a, p->centre.x + p->radius * cos(p->from), p->centre.y + p->radius * sin(p->from));
        NEAR(p->b, p->centre.x + p->radius * cos(p->from + p->sweep),
             p->centre.y + p->radius * sin(p->from + p->sweep));
    }
}

START_TEST(a_traverse_of_legs)
{
    pv_course *course = on_mat("line from (100, 100)mm heading 90deg,\n"
                               "     ahead 200mm, # north\n"
                               "     right 90deg radius 50mm,\n"
                               "\n"
                               "     ahead 100mm,\n"
                               "     left 180deg radius 40mm,\n"
                               "     ahead 10mm heading 90deg,\n"
                               "     left 90deg ahead 20mm, to (100, 450)mm by (-50, 0)mm");
    const pv_line *line = &course->art.lines[0];
    ck_assert_uint_eq(line->n_pieces, 8);
    ck_assert(!line->closed);
    check_joined(line);
    NEAR(line->pieces[0].b, 100, 300);
    NEAR(line->pieces[1].centre, 150, 300);
    ck_assert_double_eq_tol(line->pieces[1].sweep, -PV_PI / 2, 1e-15);
    NEAR(line->pieces[1].b, 150, 350);
    NEAR(line->pieces[2].b, 250, 350);
    NEAR(line->pieces[3].centre, 250, 390);
    NEAR(line->pieces[3].b, 250, 430);
    NEAR(line->pieces[4].b, 250, 440);
    NEAR(line->pieces[5].b, 230, 440);
    NEAR(line->pieces[6].b, 100, 450);
    NEAR(line->pieces[7].b, 50, 450);
    pv_course_free(course);
}
END_TEST

START_TEST(arcs_as_legs)
{
    pv_course *course =
        on_mat("line a arc centre (100, 100)mm radius 50mm from 0deg sweep 90deg,\n"
               "     arc centre (100, 200)mm radius 50mm from -90deg sweep -90deg,\n"
               "     to (50, 300)mm, ahead 10mm\n"
               "line b from (200, 0)mm to (200, 100)mm arc centre (100, 100)mm, sweep 180deg,\n"
               "     left 90deg radius 10mm");
    const pv_line *line = course->art.lines;
    check_joined(&line[0]);
    check_joined(&line[1]);
    NEAR(line[0].pieces[0].a, 150, 100);
    NEAR(line[0].pieces[1].b, 50, 200);
    NEAR(line[0].pieces[3].b, 50, 310);
    ck_assert_double_eq_tol(line[1].pieces[1].radius, 100, 1e-9);
    NEAR(line[1].pieces[1].b, 0, 100);
    NEAR(line[1].pieces[2].b, 10, 90);
    pv_course_free(course);
}
END_TEST

START_TEST(closed_paths_end_where_they_begin)
{
    pv_course *course = on_mat("line a from (0, 0)mm to (90, 0)mm to (0, 90)mm close\n"
                               "line b from (0, 0)mm to (90, 0)mm to (0, 90)mm to (0, 0)mm close\n"
                               "line c from (50, 0)mm heading 90deg left 180deg radius 50mm close\n"
                               "circle d centre (200, 200)mm radius 30mm width 2mm\n"
                               "arc e centre (200, 300)mm radius 30mm from 90deg sweep -360deg\n"
                               "box f from (400, 400)mm to (300, 450)mm\n"
                               "box g from (300, 400)mm by (50, -60)mm");
    const pv_line *line = course->art.lines;
    static const size_t pieces[] = {3, 3, 2, 1, 1, 4, 4};
    for (int i = 0; i < 7; i++) {
        ck_assert_msg(line[i].closed, "%s", line[i].id);
        ck_assert_uint_eq(line[i].n_pieces, pieces[i]);
        check_joined(&line[i]);
        pv_vec a = line[i].pieces[0].a, b = line[i].pieces[pieces[i] - 1].b;
        ck_assert_msg(a.x == b.x && a.y == b.y, "%s", line[i].id);
    }
    ck_assert_double_eq_tol(line[4].pieces[0].sweep, -2 * PV_PI, 1e-15);
    NEAR(line[4].pieces[0].a, 200, 330);
    NEAR(line[5].pieces[0].a, 300, 400);
    NEAR(line[5].pieces[1].b, 400, 450);
    NEAR(line[6].pieces[0].a, 300, 340);
    NEAR(line[6].pieces[1].b, 350, 400);
    pv_course_free(course);
}
END_TEST

START_TEST(lines_have_ids)
{
    pv_course *course = on_mat("line from (0, 0)mm to (9, 9)mm\n"
                               "line kerb from (0, 0)mm to (9, 9)mm\n"
                               "repeat i from 1 to 2\n"
                               "  line rail from (i, 0)mm to (9, 9)mm\n"
                               "  repeat j from 1 to 2\n"
                               "    circle buoy centre (i, j)cm radius 1mm\n"
                               "  end\n"
                               "  line from (0, 0)mm to (9, 9)mm\n"
                               "end\n");
    static const char *const ids[] = {"L1", "kerb",   "rail-1", "buoy-1", "buoy-2",
                                      "L2", "rail-2", "buoy-3", "buoy-4", "L3"};
    ck_assert_uint_eq(course->art.n_lines, 10);
    for (int i = 0; i < 10; i++)
        ck_assert_str_eq(course->art.lines[i].id, ids[i]);
    pv_course_free(course);
}
END_TEST

/* --- repetition ---------------------------------------------------------------------------- */

static const struct {
    const char *range;
    size_t times;
    double last; /* of 100mm * position, or of the value where it is a length */
} ranges[] = {
    {"i from 1 to 5", 5, 500},
    {"i from 5 to 1 step -2", 3, 100},
    {"i from 0 to 1 step 0.1", 11, 100},
    {"i from 9in to 27in step 9in", 3, 685.8},
    {"i from 0.1mm to 0.7mm step 0.1mm", 7, 0.7},
    {"i from 3cm to 1cm step -5mm", 5, 10},
    {"i from 2 to 2", 1, 200},
    {"i from 0 to 1 step 2", 1, 0},
};

START_TEST(repetitions_run_to_their_end)
{
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
        bool length =
            strstr(ranges[i].range, "mm") != NULL || strstr(ranges[i].range, "in ") != NULL;
        pv_text text = PV_TEXT_INIT;
        pv_text_add(&text,
                    "repeat %s\nlet place = i * %s\nline from (place, -1mm) to (place, 900mm)\nend",
                    ranges[i].range, length ? "1" : "100mm");
        char *chars = pv_text_take(&text);
        pv_course *course = on_mat(chars);
        const pv_art *art = &course->art;
        ck_assert_msg(art->n_lines == ranges[i].times, "%s: %zu", chars, art->n_lines);
        NEAR(art->lines[art->n_lines - 1].pieces[0].a, ranges[i].last, -1);
        pv_course_free(course);
        pv_free(chars);
    }
}
END_TEST

START_TEST(names_in_a_repetition_are_its_own)
{
    pv_course *course = on_mat("repeat i from 1 to 3\n  let a = i * 10mm\nend\n"
                               "let a = 5mm\nlet i = 7mm\nline from (a, i) to (90, 90)mm");
    NEAR(course->art.lines[0].pieces[0].a, 5, 7);
    pv_course_free(course);
}
END_TEST

/* --- fills, texts, start, finish, route ---------------------------------------------------- */

static double ring_area(const pv_ring *ring)
{
    double twice = 0;
    for (size_t i = 0; i < ring->n; i++)
        twice += pv_cross_z(ring->points[i], ring->points[(i + 1) % ring->n]);
    return fabs(twice) / 2;
}

START_TEST(fills_take_the_region_of_their_point)
{
    pv_course *course = on_mat("colour sea = rgb(0, 0, 200)\n"
                               "line from (500, 0)mm to (500, 1000)mm\n"
                               "circle centre (250, 250)mm radius 100mm\n"
                               "fill at (10, 10)mm colour sea\n"
                               "repeat i from 0 to 1\n"
                               "  fill at (250mm + i * 500mm, 250mm), colour black\nend");
    const pv_art *art = &course->art;
    ck_assert_uint_eq(art->n_fills, 3);
    ck_assert_uint_eq(course->n_seeds, 3);
    ck_assert_str_eq(art->fills[1].id, "fill-2");
    double circle = PV_PI * 100 * 100;
    ck_assert_uint_eq(art->fills[0].n_rings, 2);
    double outer = ring_area(&art->fills[0].rings[0]), hole = ring_area(&art->fills[0].rings[1]);
    ck_assert_double_eq_tol(fmax(outer, hole) - fmin(outer, hole), 500 * 1000 - circle, 1);
    ck_assert_double_eq_tol(ring_area(&art->fills[1].rings[0]), circle, 1);
    ck_assert_double_eq_tol(ring_area(&art->fills[2].rings[0]), 500 * 1000, 1e-6);
    ck_assert(art->fills[0].colour == 2 && art->fills[2].colour == 1);
    ck_assert_int_eq(course->seeds[0].source.line, 5);
    pv_course_free(course);
}
END_TEST

START_TEST(texts)
{
    pv_course *course = on_mat("text \"BERTH 4\" at (30, 40)mm height 18mm\n"
                               "repeat i from 1 to 2\n"
                               "  text \"{{{i / 4}}} {9in / 1mm}\" at (i, i)cm, height 1cm,\n"
                               "       angle 90deg anchor right colour white\nend");
    const pv_lettering *text = course->art.letterings;
    ck_assert_uint_eq(course->art.n_letterings, 3);
    ck_assert_str_eq(text[0].text, "BERTH 4");
    NEAR(text[0].at, 30, 40);
    ck_assert(text[0].height == 18 && text[0].angle == 0 && text[0].anchor == PV_ANCHOR_LEFT &&
              text[0].colour == 1);
    ck_assert_str_eq(text[1].text, "{0.25} 228.6");
    ck_assert_str_eq(text[2].text, "{0.5} 228.6");
    ck_assert(text[2].anchor == PV_ANCHOR_RIGHT && text[2].colour == 0);
    ck_assert_double_eq_tol(text[2].angle, PV_PI / 2, 1e-15);
    pv_course_free(course);
}
END_TEST

START_TEST(the_start_mark_is_a_wedge)
{
    pv_course *course = on_mat("start at (300, 400)mm heading 90deg size 60mm");
    const pv_area *mark = &course->art.marks[0];
    ck_assert_uint_eq(course->art.n_marks, 1);
    ck_assert_str_eq(mark->id, "start");
    ck_assert_uint_eq(mark->rings[0].n, 3);
    NEAR(mark->rings[0].points[0], 300, 440);
    NEAR(mark->rings[0].points[1], 279, 380);
    NEAR(mark->rings[0].points[2], 321, 380);
    ck_assert(course->start.given && course->start.size == 60);
    ck_assert_int_eq(course->start.source.line, 2);
    pv_course_free(course);
}
END_TEST

START_TEST(finish_and_route)
{
    pv_course *course = on_mat("box from (600, 600)mm by (200, 300)mm\n"
                               "start at (100, 100)mm heading 90deg\n"
                               "finish at (700, 700)mm\n"
                               "route from start, ahead 100mm, right 90deg, ahead 50mm,\n"
                               "      to finish + (0, 10)mm");
    ck_assert(course->finish.given);
    ck_assert_double_eq_tol(ring_area(&course->finish.outline.rings[0]), 60000, 1e-6);
    ck_assert_uint_eq(course->route.n, 3);
    NEAR(course->route.pieces[0].b, 100, 200);
    NEAR(course->route.pieces[1].b, 150, 200);
    NEAR(course->route.pieces[2].b, 700, 710);
    pv_course_free(course);
}
END_TEST

/* --- whole files --------------------------------------------------------------------------- */

START_TEST(line_ends_and_byte_order_mark)
{
    pv_course *a =
        read_course("\xEF\xBB\xBFmat 1m by 2m\r\nline from (0, 0)mm,\r\n to (9, 9)mm\r\n");
    pv_course *b = read_course("\t mat 1m by 2m,\n\n  # nothing\n");
    ck_assert_uint_eq(a->art.n_lines, 1);
    ck_assert(pv_course_height(a) == 2000 && pv_course_height(b) == 2000);
    pv_course_free(a);
    pv_course_free(b);
}
END_TEST

static pv_course *read_file(const char *path)
{
    pv_bytes bytes = read_input(path);
    pv_diags *diags = pv_diags_new();
    pv_course *course =
        pv_course_parse((const char *)bytes.data, bytes.size, path, test_type(), diags);
    char *findings = diags_text(diags);
    ck_assert_msg(course != NULL && pv_diags_size(diags) == 0, "%s", findings);
    pv_free(findings);
    pv_diags_free(diags);
    pv_free(bytes.data);
    return course;
}

/* Dimensions that are common practice in the trade, no source: 36 in square, 2 cm lines, centres at
 * 9, 18 and 27 in from the page's edge. */
START_TEST(the_check_course_has_its_dimensions)
{
    pv_course *course = read_file("tests/outside/check36.course");
    const pv_art *art = &course->art;
    ck_assert(art->size.x == 914.4 && art->size.y == 914.4);
    double worst = 0;
    for (size_t i = 0; i < 6; i++) {
        double at = (double)(i % 3 + 1) * 228.6;
        pv_vec a = art->lines[i].pieces[0].a, b = art->lines[i].pieces[0].b;
        worst = fmax(worst, i < 3 ? error_of(a, at, 0) : error_of(a, 0, at));
        worst = fmax(worst, i < 3 ? error_of(b, at, 914.4) : error_of(b, 914.4, at));
        ck_assert_double_eq(art->lines[i].width, 20);
    }
    for (size_t i = 6; i < 10; i++)
        worst = fmax(worst, fabs(art->lines[i].pieces[0].radius - 228.6));
    say_worst("36 in check course: places of centre lines", worst, 1e-9, "mm");
    ck_assert_double_le(worst, 1e-9);
    pv_course_free(course);
}
END_TEST

START_TEST(layouts_are_sound_to_read)
{
    pv_course_free(read_file("layouts/quayside.course"));
    pv_course_free(read_file("layouts/pierhead.course"));
    pv_course_free(read_file("layouts/breakwater.course"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("language");
    TCase *values = tcase_create("quantities");
    tcase_add_test(values, quantities_come_out);
    tcase_add_test(values, units_of_typed_numbers_are_exact);
    tcase_add_test(values, a_course_has_its_own_unit);
    tcase_add_test(values, names_hold_any_kind);
    suite_add_tcase(suite, values);
    TCase *statements = tcase_create("statements");
    tcase_add_test(statements, defaults_are_as_documented);
    tcase_add_test(statements, setting_up);
    tcase_add_test(statements, the_robot_turns_about_its_middle_unless_told);
    tcase_add_test(statements, paint_holds_until_the_next);
    tcase_add_test(statements, a_traverse_of_legs);
    tcase_add_test(statements, arcs_as_legs);
    tcase_add_test(statements, closed_paths_end_where_they_begin);
    tcase_add_test(statements, lines_have_ids);
    tcase_add_test(statements, repetitions_run_to_their_end);
    tcase_add_test(statements, names_in_a_repetition_are_its_own);
    tcase_add_test(statements, fills_take_the_region_of_their_point);
    tcase_add_test(statements, texts);
    tcase_add_test(statements, the_start_mark_is_a_wedge);
    tcase_add_test(statements, finish_and_route);
    suite_add_tcase(suite, statements);
    TCase *files = tcase_create("files");
    tcase_add_test(files, line_ends_and_byte_order_mark);
    tcase_add_test(files, the_check_course_has_its_dimensions);
    tcase_add_test(files, layouts_are_sound_to_read);
    suite_add_tcase(suite, files);
    return run_suite(suite);
}
