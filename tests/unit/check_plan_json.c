#include "art_by_hand.h"

#include "course/model.h"
#include "paper/printer.h"
#include "plan/make.h"

#include <pavior/printer.h>

static pv_plan *yard_plan(const char *paper)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.orientation = PV_PORTRAIT;
    art.inches = true;
    pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&art);
    return plan;
}

static pv_plan *parsed(const char *json)
{
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = pv_plan_parse(json, strlen(json), "x.plan.json", diags);
    char *said = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s", said);
    ck_assert_str_eq(said, "");
    pv_free(said);
    pv_diags_free(diags);
    return plan;
}

/* ---- there and back ---- */

static void same_vec(pv_vec a, pv_vec b)
{
    ck_assert(a.x == b.x && a.y == b.y);
}

static void same_box(pv_box a, pv_box b)
{
    same_vec(a.lo, b.lo);
    same_vec(a.hi, b.hi);
}

static void same_numbers(const double *a, const double *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        ck_assert(a[i] == b[i]);
}

static void same_pieces(const pv_piece *a, const pv_piece *b, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        same_vec(a[i].a, b[i].a);
        same_vec(a[i].b, b[i].b);
        ck_assert(a[i].arc == b[i].arc);
        same_vec(a[i].centre, b[i].centre);
        ck_assert(a[i].radius == b[i].radius && a[i].from == b[i].from && a[i].sweep == b[i].sweep);
    }
}

static void same_areas(const pv_area *a, const pv_area *b, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        ck_assert_str_eq(a[i].id, b[i].id);
        ck_assert(a[i].colour == b[i].colour && a[i].n_rings == b[i].n_rings);
        for (size_t r = 0; r < a[i].n_rings; r++) {
            ck_assert_uint_eq(a[i].rings[r].n, b[i].rings[r].n);
            for (size_t k = 0; k < a[i].rings[r].n; k++)
                same_vec(a[i].rings[r].points[k], b[i].rings[r].points[k]);
        }
    }
}

/* But for the lines of the course's text, which a plan does not know. */
static void same_art(const pv_art *a, const pv_art *b)
{
    ck_assert_str_eq(a->name, b->name);
    ck_assert_str_eq(a->edition, b->edition);
    same_vec(a->size, b->size);
    ck_assert(a->ground == b->ground && a->n_colours == b->n_colours && a->n_lines == b->n_lines &&
              a->n_fills == b->n_fills && a->n_marks == b->n_marks &&
              a->n_letterings == b->n_letterings);
    for (size_t i = 0; i < a->n_colours; i++) {
        ck_assert_str_eq(a->colours[i].name, b->colours[i].name);
        ck_assert_mem_eq(a->colours[i].rgb, b->colours[i].rgb, 3);
    }
    for (size_t i = 0; i < a->n_lines; i++) {
        const pv_line *x = &a->lines[i], *y = &b->lines[i];
        ck_assert_str_eq(x->id, y->id);
        ck_assert(x->closed == y->closed && x->width == y->width && x->colour == y->colour &&
                  x->ends == y->ends && x->n_pieces == y->n_pieces);
        same_pieces(x->pieces, y->pieces, x->n_pieces);
    }
    same_areas(a->fills, b->fills, a->n_fills);
    same_areas(a->marks, b->marks, a->n_marks);
    for (size_t i = 0; i < a->n_letterings; i++) {
        const pv_lettering *x = &a->letterings[i], *y = &b->letterings[i];
        ck_assert_str_eq(x->text, y->text);
        same_vec(x->at, y->at);
        ck_assert(x->height == y->height && x->angle == y->angle && x->anchor == y->anchor &&
                  x->colour == y->colour);
        same_box(x->frame, y->frame);
        ck_assert_uint_eq(x->n_rings, y->n_rings);
        for (size_t r = 0; r < x->n_rings; r++) {
            ck_assert_uint_eq(x->rings[r].n, y->rings[r].n);
            for (size_t k = 0; k < x->rings[r].n; k++)
                same_vec(x->rings[r].points[k], y->rings[r].points[k]);
        }
    }
    const pv_tolerances *t = &a->tolerances, *u = &b->tolerances;
    ck_assert(t->scale == u->scale && t->width == u->width && t->spacing == u->spacing &&
              t->skew == u->skew && t->straight == u->straight && t->contrast == u->contrast &&
              t->spot == u->spot);
    ck_assert(a->inches == b->inches);
}

static void same_sheets(const pv_sheet *a, const pv_sheet *b, size_t n)
{
    for (size_t i = 0; i < n; i++, a++, b++) {
        ck_assert_str_eq(a->name, b->name);
        ck_assert(a->row == b->row && a->column == b->column && a->number == b->number);
        same_box(a->cell, b->cell);
        same_vec(a->origin, b->origin);
        ck_assert_mem_eq(a->side, b->side, sizeof a->side);
        ck_assert_mem_eq(a->seam, b->seam, sizeof a->seam);
        for (int p = 0; p < PV_TAG_PLACES; p++) {
            ck_assert(a->tag[p].id == b->tag[p].id && a->tag[p].cell == b->tag[p].cell);
            same_vec(a->tag[p].centre, b->tag[p].centre);
        }
        ck_assert_uint_eq(a->n_bars, b->n_bars);
        for (size_t k = 0; k < a->n_bars; k++) {
            const pv_bar *x = &a->bar[k], *y = &b->bar[k];
            same_vec(x->at, y->at);
            ck_assert(x->vertical == y->vertical && x->inch == y->inch && x->count == y->count &&
                      x->step == y->step && x->tick == y->tick);
        }
        ck_assert_uint_eq(a->n_gauge, b->n_gauge);
        for (size_t k = 0; k < a->n_gauge; k++)
            same_vec(a->gauge[k], b->gauge[k]);
        ck_assert(a->has_card == b->has_card);
        same_box(a->card, b->card);
    }
}

static void same_seams(const pv_plan *a, const pv_plan *b)
{
    ck_assert(a->n_seams == b->n_seams && a->n_crosses == b->n_crosses &&
              a->seams_gap == b->seams_gap);
    for (size_t i = 0; i < a->n_seams; i++) {
        const pv_seam *x = &a->seams[i], *y = &b->seams[i];
        ck_assert(x->over == y->over && x->under == y->under && x->vertical == y->vertical &&
                  x->at == y->at && x->from == y->from && x->to == y->to &&
                  x->first_cross == y->first_cross && x->n_crosses == y->n_crosses);
    }
    for (size_t i = 0; i < a->n_crosses; i++) {
        same_vec(a->crosses[i].at, b->crosses[i].at);
        ck_assert(a->crosses[i].light == b->crosses[i].light);
    }
}

static void same_plan(const pv_plan *a, const pv_plan *b)
{
    same_art(&a->art, &b->art);
    ck_assert_str_eq(a->paper, b->paper);
    same_numbers(a->page, b->page, 2);
    same_numbers(a->margin, b->margin, 4);
    ck_assert(a->bleed == b->bleed && a->overlap == b->overlap && a->lap_art == b->lap_art &&
              a->service == b->service && a->border == b->border && a->strips == b->strips);
    ck_assert(a->fingerprint == b->fingerprint && a->proof == b->proof && a->joint == b->joint);
    ck_assert(a->corrected.any == b->corrected.any && a->corrected.skew == b->corrected.skew &&
              a->corrected.ink == b->corrected.ink);
    same_numbers(a->corrected.scale, b->corrected.scale, 2);
    pv_correction drawn = pv_printer_correction(b->printer);
    same_numbers(a->corrected.scale, drawn.scale, 2);
    ck_assert(a->corrected.skew == drawn.skew && a->corrected.ink == drawn.ink);
    ck_assert(a->rows == b->rows && a->columns == b->columns && a->n_sheets == b->n_sheets);
    same_sheets(a->sheets, b->sheets, a->n_sheets);
    ck_assert_mem_eq(a->taping, b->taping, a->n_sheets * sizeof *a->taping);
    same_seams(a, b);
    ck_assert_uint_eq(a->n_route, b->n_route);
    same_pieces(a->route, b->route, a->n_route);
    ck_assert(a->mat->n_items == b->mat->n_items && a->mat->n_areas == b->mat->n_areas);
}

static void check_round_trip(const pv_plan *plan)
{
    char *json = pv_plan_json(plan, NULL);
    ck_assert_ptr_nonnull(json);
    pv_plan *again = parsed(json);
    same_plan(plan, again);
    char *second = pv_plan_json(again, NULL);
    ck_assert(strcmp(json, second) == 0);
    pv_free(json);
    pv_free(second);
    pv_plan_free(again);
}

START_TEST(plans_come_back_byte_for_byte)
{
    static const char *const papers[] = {"letter", "A4", "A6", "A0", "38x38in"};
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        pv_plan *plan = yard_plan(papers[i]);
        check_round_trip(plan);
        pv_plan_free(plan);
    }
    dice d = {99};
    for (int i = 0; i < 25; i++) {
        pv_art art;
        art_random(&art, &d, 900);
        pv_layout_options options = pv_layout_defaults();
        options.overlap = between(&d, 10, 25);
        options.url = i % 2 == 0 ? "https://example.org/mat/a4" : NULL;
        pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
        ck_assert_ptr_nonnull(plan);
        check_round_trip(plan);
        pv_plan_free(plan);
        pv_art_clear(&art);
    }
}
END_TEST

START_TEST(courses_come_back_byte_for_byte)
{
    static const char *const courses[] = {"tests/outside/check36.course",
                                          "layouts/quayside.course"};
    for (size_t i = 0; i < 2; i++) {
        pv_bytes text = read_input(courses[i]);
        pv_course *course =
            pv_course_parse((const char *)text.data, text.size, NULL, test_type(), NULL);
        ck_assert_ptr_nonnull(course);
        pv_layout_options options = pv_layout_defaults();
        pv_plan *plan = pv_plan_make(course, &options, NULL);
        ck_assert_ptr_nonnull(plan);
        check_round_trip(plan);
        pv_plan_free(plan);
        pv_course_free(course);
        pv_free(text.data);
    }
}
END_TEST

/* What the language takes at its limits, a plan can carry: a path closed over less than a
 * micrometre, the largest and least tolerances, angles of many turns. */
START_TEST(limits_of_a_course_are_within_those_of_a_plan)
{
    static const char text[] =
        "course \"Limits\"\n"
        "mat 400mm by 300mm\n"
        "tolerance scale 10%, width 100m, spacing 0.00000001mm, skew 1rad\n"
        "tolerance contrast 10%, spot 50mm\n"
        "paint width 10mm\n"
        "line from (100, 100)mm heading 0deg, ahead 100mm, right 180deg radius 30.0002mm,\n"
        "    ahead 100mm, right 180deg radius 30mm, close\n"
        "arc centre (200, 200)mm radius 50mm from 1000rad sweep -90deg\n"
        "text \"A\" at (20, 250)mm height 10mm angle -1000rad\n"
        "text \"";
    pv_text words = PV_TEXT_INIT;
    pv_text_add(&words, "%s", text);
    for (unsigned i = 0; i < PV_COURSE_TEXT_MAX; i++)
        pv_text_add(&words, "W");
    pv_text_add(&words, "\" at (390, 290)mm height 5m\n");
    pv_course *course = pv_course_parse(words.chars, strlen(words.chars), NULL, test_type(), NULL);
    pv_text_drop(&words);
    ck_assert_ptr_nonnull(course);
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_make(course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    check_round_trip(plan);
    pv_plan_free(plan);
    pv_course_free(course);
}
END_TEST

START_TEST(same_input_same_plan)
{
    pv_plan *a = yard_plan("A4"), *b = yard_plan("A4");
    char *x = pv_plan_json(a, NULL), *y = pv_plan_json(b, NULL);
    ck_assert_str_eq(x, y);
    pv_free(x);
    pv_free(y);
    pv_plan_free(a);
    pv_plan_free(b);
}
END_TEST

/* ---- the fingerprint ---- */

static uint64_t print_of(const char *name, const char *edition, double width, const char *paper,
                         double margin)
{
    pv_art art;
    art_yard(&art);
    free(art.name);
    free(art.edition);
    art.name = pv_copy_text(name);
    art.edition = pv_copy_text(edition);
    art.lines[1].width = width;
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.margin[0] = margin;
    pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    uint64_t print = plan->fingerprint;
    pv_plan_free(plan);
    pv_art_clear(&art);
    return print;
}

/* A sheet's identity as its tags have it, by the format's words: three digits to the base 2113. */
static uint64_t identity_of(const pv_sheet *sheet)
{
    return sheet->tag[0].id + 2113 * (sheet->tag[1].id + UINT64_C(2113) * sheet->tag[2].id);
}

START_TEST(fingerprint_tells_kits_and_editions_apart)
{
    uint64_t base = print_of("Yard", "1", 25, "A4", 5);
    ck_assert(base < PV_TAG_IDENTITIES);
    ck_assert(base == print_of("Yard", "1", 25, "A4", 5));
    uint64_t others[] = {print_of("Yard", "2", 25, "A4", 5), print_of("Yard", "1", 25.5, "A4", 5),
                         print_of("Yard", "1", 25, "A3", 5), print_of("Yard", "1", 25, "A4", 6),
                         print_of("Harbour", "1", 25, "A4", 5)};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        ck_assert(others[i] != base);
}
END_TEST

/* Seven digits to the base 32, the highest first, of 0 to 9 and the alphabet without I, L, O, U. */
START_TEST(kit_is_the_fingerprint_in_letters)
{
    pv_plan plan = {.fingerprint = 0};
    ck_assert_str_eq(pv_plan_kit(&plan).chars, "000-0000");
    plan.fingerprint = 10 + 32 * 31;
    ck_assert_str_eq(pv_plan_kit(&plan).chars, "000-00ZA");
    plan.fingerprint = UINT64_C(9434056896); /* 8 x 32^6 + 25 x 32^5 + 5 x 32^4 + ... */
    ck_assert_int_eq(pv_plan_kit(&plan).chars[0], '8');
    uint64_t back = 0;
    for (const char *at = pv_plan_kit(&plan).chars; *at != '\0'; at++)
        if (*at != '-')
            back = 32 * back + (uint64_t)(strchr("0123456789ABCDEFGHJKMNPQRSTVWXYZ", *at) -
                                          "0123456789ABCDEFGHJKMNPQRSTVWXYZ");
    ck_assert(back == plan.fingerprint);
}
END_TEST

static int by_number(const void *a, const void *b)
{
    uint64_t p = *(const uint64_t *)a, q = *(const uint64_t *)b;
    return (p > q) - (p < q);
}

/* Plans of one course that differ in what a user may choose, all different: no two are alike, and
 * no sheet of one is taken for one of another. PAVIOR_DRAWS of them, as make test-long asks. */
START_TEST(random_plans_are_told_apart)
{
    static const char *const papers[] = {"A4", "A3", "letter", "legal", "tabloid", "A2"};
    const char *asked = getenv("PAVIOR_DRAWS");
    size_t n = asked != NULL ? strtoul(asked, NULL, 10) : 60, sheets = 0, cap = 0, same = 0;
    uint64_t *print = malloc(n * sizeof *print), *identity = NULL;
    pv_art art;
    art_yard(&art);
    chance(33);
    for (size_t i = 0; i < n; i++) {
        char edition[24];
        pv_layout_options options = pv_layout_defaults();
        options.paper = papers[(size_t)(uniform() * 6)];
        for (int side = 0; side < 4; side++)
            options.margin[side] = 3 + floor(uniform() * 120) / 10;
        options.overlap = 12 + floor(uniform() * 100) / 10;
        options.joint = uniform() < 0.5 ? PV_JOINT_LAP : PV_JOINT_BUTT;
        snprintf(edition, sizeof edition, "%zu", i / 2); /* every other has the one before's */
        free(art.edition);
        art.edition = pv_copy_text(edition);
        pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
        ck_assert_ptr_nonnull(plan);
        print[i] = plan->fingerprint;
        for (size_t k = 0; k < plan->n_sheets; k++) {
            ck_assert(PV_GROW(identity, sheets, cap));
            identity[sheets++] = identity_of(&plan->sheets[k]);
        }
        pv_plan_free(plan);
    }
    qsort(print, n, sizeof *print, by_number);
    for (size_t i = 1; i < n; i++)
        ck_assert(print[i] != print[i - 1]);
    qsort(identity, sheets, sizeof *identity, by_number);
    for (size_t i = 1; i < sheets; i++)
        same += identity[i] == identity[i - 1];
    printf("    %zu random plans, no two alike; %zu sheets, of which %zu have another's tags\n", n,
           sheets, same);
    ck_assert_uint_eq(same, 0);
    pv_art_clear(&art);
    free(print);
    free(identity);
}
END_TEST

/* ---- malformed plans ---- */

/* The first `from` after the first `anchor` is replaced by `to`; `says` is what must be said. */
typedef struct mutation {
    const char *anchor, *from, *to, *says;
} mutation;

static const mutation mutations[] = {
    {"", "pavior plan", "another plan", "format:"},
    {"", "\"version\": 3", "\"version\": 4", "version:|4"},
    {"", "\"version\": 3", "\"version\": 2", "version:|2"},
    {"", "\"rows\": 4", "\"strips\": \"along z\", \"rows\": 4", "strips:"},
    {"", "\"rows\": 4", "\"strips\": \"along x\", \"rows\": 4", "but more than one sheet"},
    {"\"taping\"", "\"seams\"", "\"seams_gap\": -1, \"seams\"", "seams_gap:|-1"},
    {"", "\"joint\": \"lap\"", "\"joint\": \"glue\"", "joint:"},
    {"", "\"joint\": \"lap\"", "\"joint\": \"butt\"", "kit:"},
    {"\"taping\"", "\"A1\"", "\"A2\"", "must name each of the plan's sheets once"},
    {"\"taping\"", "\"A1\"", "\"Q1\"", "taping[0]:"},
    {"\"taping\"", "\"A1\", ", "", "taping:|23"},
    {"\"taping\"", "\"A1\", \"A2\"", "\"A2\", \"A1\"", "has sheet A2 before A1, over which"},
    {"", "\"version\": 3", "\"version\": 1.5", "version:"},
    {"", "\"unit\": \"mm\"", "\"unit\": \"in\"", "unit:"},
    {"", "\"unit\": \"mm\"", "\"unit\": 5", "unit:"},
    {"", "\"name\": \"Yard\"", "\"name\": \"\"", "kit.name:"},
    {"", "\"name\": \"Yard\"", "\"name\": \"Y\\u0001\"", "kit.name:"},
    {"", "\"name\": \"Yard\"", "\"name\": \"Yarn\"", "kit:"},
    {"", "\"edition\": \"1\"", "\"edition\": \"2\"", "kit:"},
    {"", "\"edition\": \"1\"", "\"edition\": null", "kit.edition:"},
    {"", "\"fingerprint\": \"", "\"fingerprint\": \"9", "kit:|9"},
    {"", "\"fingerprint\": \"", "\"fingerprint\": 7, \"was\": \"", "kit.fingerprint:"},
    {"", "\"paper\": \"A4\"", "\"paper\": \"A5\"", "kit:"},
    {"\"crosses\"", "true", "false", "kit:"},
    {"", "\"paper\": \"A4\"", "\"paper\": [\"A4\"]", "paper:"},
    {"", "\"page\": [210, 297]", "\"page\": [210]", "page:|1"},
    {"", "\"page\": [210, 297]", "\"page\": [210, 1e9]", "page[1]:|1000000000"},
    {"", "\"page\": [210, 297]", "\"page\": [150, 297]", "origin:"},
    {"", "\"margin\": [5, 5, 5, 5]", "\"margin\": [5, -5, 5, 5]", "margin[1]:|-5"},
    {"", "\"margin\": [5, 5, 5, 5]", "\"margin\": [5, 5, 205, 5]", "margin:"},
    {"", "\"bleed\": 3", "\"bleed\": 1", "bleed:|1"},
    {"", "\"bleed\": 3", "\"bleed\": 300", "prints art where the printer can't reach"},
    {"", "\"lap_art\": 4", "\"lap_art\": 9", "sheets[0]:|tag"},
    {"", "\"service\": 12", "\"service\": 0", "service:|0"},
    {"", "\"rows\": 4", "\"rows\": 5", "sheets:|24"},
    {"", "\"rows\": 4", "\"rows\": 0", "rows:|0"},
    {"", "\"rows\": 4", "\"rows\": 32000", "has more sheets than the limit of 32768"},
    {"tolerances", "\"scale\": 0.003", "\"scale\": 0", "tolerances.scale:|0"},
    {"tolerances", "\"width_mm\"", "\"width\"", "tolerances.width_mm:"},
    {"\"art\"", "\"size\": [914.4, 914.4]", "\"size\": [914.4, 914]", "end at the mat's edge"},
    {"\"art\"", "\"size\": [914.4, 914.4]", "\"size\": [914.4, 1e300]", "art.size[1]:|1e+300"},
    {"\"art\"", "\"ground\": 0", "\"ground\": 5", "art.ground:|5"},
    {"\"colours\"", "[255, 255, 255]", "[256, 255, 255]", "art.colours[0].rgb[0]:|256"},
    {"\"colours\"", "[255, 255, 255]", "[255, 255]", "art.colours[0].rgb:"},
    {"\"fills\"", "\"colour\": 3", "\"colour\": 9", "art.fills[0].colour:|9"},
    {"\"fills\"", "\"rings\": [", "\"rings\": [[1, 2, 3, 4],", "rings[0]:"},
    {"\"fills\"", "\"rings\": [", "\"rings\": [[1, 2, 3, 4, 5, 6, 7],", "rings[0]:"},
    {"\"lines\"", "\"width\": 25", "\"width\": -25", "art.lines[0].width:|-25"},
    {"\"lines\"", "\"width\": 25", "\"width\": 25.5", "kit:"},
    {"\"lines\"", "\"closed\": true", "\"closed\": 1", "lines[0].closed:"},
    {"\"lines\"", "\"ends\": \"flat\"", "\"ends\": \"sharp\"", "must be \"flat\", \"square\" or"},
    {"\"lines\"", "\"line 2\"", "\"line 1\"", "art.lines[1]:"},
    {"\"line 2\"", "[60, 457.2, 854, 457.2]", "", "art.lines[1].pieces:"},
    {"\"line 2\"", "[60, 457.2, 854, 457.2]", "[60, 457.2, 854]", "pieces[0]:|3"},
    {"\"line 2\"", "[60, 457.2, 854, 457.2]", "[1, 2, 3, 4], [5, 6, 7, 8]",
     "art.lines[1].pieces[1]:"},
    {"\"line 2\"", "\"closed\": false", "\"closed\": true", "of a closed line don't end"},
    {"\"line 1\"", "380, 0, 6.28", "381, 0, 6.28", "is an arc that misses its stated end"},
    {"\"line 1\"", "380, 0, 6.28", "380, 0, 16.28", "sweep of at most a turn"},
    {"\"lettering\"", "\"text\": \"Yard\"", "\"text\": \"Ya\xE2\x80\xAErd\"",
     "an unprintable character"},
    {"\"lettering\"", "\"rings\": [[", "\"rings\": [[1, 2], [", "lettering[0].rings[0]:"},
    {"\"lettering\"", "\"anchor\": \"centre\"", "\"anchor\": \"middle\"", "lettering[0].anchor:"},
    {"\"sheets\"", "\"name\": \"A1\"", "\"name\": \"A2\"", "sheets[0].name:"},
    {"\"sheets\"", "\"cell\": [0, ", "\"cell\": [1, ", "sheets[0].cell:"},
    {"\"A2\"", "\"cell\": [173.4, ", "\"cell\": [173.5, ", "sheets[1].cell:"},
    {"\"A2\"", "\"cell\": [173.4, ", "\"cell\": [500, ", "sheets[1].cell:"},
    {"\"sheets\"", "\"origin\": [-", "\"origin\": [-9", "sheets[0].origin:"},
    {"\"tags\"", "\"id\": ", "\"id\": 1", "sheets[0].tags"},
    {"\"tags\"", "{\"id\"", "{\"id\": 5, \"id\"", "duplicate"},
    {"\"tags\"", "\"centre\": [", "\"centre\": [1000", "stands off the page"},
    {"\"tags\"", "\"centre\": [", "\"centre\": [100, 150], \"was\": [", "in the finished surface"},
    {"\"tags\"", "\"cell\": 1", "\"cell\": 0", "tags[0].cell:|0"},
    {"\"bars\"", "\"count\": 10", "\"count\": 100", ": stands off the page"},
    {"\"bars\"", "\"step\": 10", "\"step\": -10", "bars[0].step:|-10"},
    {"\"seams\"", "\"over\": \"A2\"", "\"over\": \"A3\"", "seams[0]:"},
    {"\"seams\"", "\"over\": \"A2\"", "\"over\": \"Q77\"", "seams[0]:"},
    {"\"seams\"", "\"vertical\": true", "\"vertical\": false", "where its two cells meet"},
    {"\"seams\"", "\"at\": 173.4", "\"at\": 173.5", "seams[0]:"},
    {"\"crosses\"", "\"at\": [173.4, ", "\"at\": [152, ", "crosses[0]:"},
    {"\"crosses\"", "\"light\": false", "\"light\": \"no\"", "light:"},
    {"", "\"seams\": [", "\"seams\": [], \"more\": [", "seams:|0"},
    {"", "\"seams\": [", "\"seams\": [\n", NULL},
};

static char *mutated(const char *json, const mutation *m)
{
    const char *anchor = strstr(json, m->anchor);
    ck_assert_msg(anchor != NULL, "no %s", m->anchor);
    const char *at = strstr(anchor, m->from);
    ck_assert_msg(at != NULL, "no %s after %s", m->from, m->anchor);
    size_t before = (size_t)(at - json), length = strlen(json);
    char *out = malloc(length + strlen(m->to) + 1);
    ck_assert_ptr_nonnull(out);
    memcpy(out, json, before);
    strcpy(out + before, m->to);
    strcat(out, at + strlen(m->from));
    return out;
}

static void check_mutations(const pv_plan *plan, const mutation *list, size_t n)
{
    char *json = pv_plan_json(plan, NULL);
    for (size_t i = 0; i < n; i++) {
        char *text = mutated(json, &list[i]);
        pv_diags *diags = pv_diags_new();
        pv_plan *read = pv_plan_parse(text, strlen(text), "x.plan.json", diags);
        char *said = diags_text(diags);
        if (list[i].says == NULL) {
            ck_assert_msg(read != NULL, "%s", said);
        } else {
            ck_assert_msg(read == NULL, "accepted %s", list[i].to);
            assert_says(said, list[i].says);
            ck_assert_uint_eq(pv_diags_size(diags), 1);
            ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_DATA);
        }
        pv_free(said);
        pv_diags_free(diags);
        pv_plan_free(read);
        free(text);
    }
    pv_free(json);
}

START_TEST(malformed_plans_are_refused_with_their_place)
{
    pv_plan *plan = yard_plan("A4");
    check_mutations(plan, mutations, sizeof mutations / sizeof *mutations);
    printf("    %zu malformed plans\n", sizeof mutations / sizeof *mutations - 1);
    pv_plan_free(plan);
}
END_TEST

/* ---- the route ---- */

static pv_plan *routed_plan(double end)
{
    struct pv_course course = {.robot = {.given = false}};
    art_yard(&course.art);
    pv_piece route[] = {pv_segment(pv_v(100, 200), pv_v(100, 600)),
                        pv_arc(pv_v(200, 600), 100, PV_PI, -PV_PI / 2),
                        pv_segment(pv_v(200, 700), pv_v(end, 700))};
    route[2].a = route[1].b;
    course.route = (pv_route){.pieces = route, .n = 3};
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_make(&course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&course.art);
    return plan;
}

START_TEST(routes_come_back_and_leave_the_fingerprint)
{
    pv_plan *plain = yard_plan("A4"), *a = routed_plan(800), *b = routed_plan(801);
    check_round_trip(a);
    ck_assert_uint_eq(a->n_route, 3);
    char *json = pv_plan_json(a, NULL);
    pv_plan *again = parsed(json);
    ck_assert_uint_eq(again->n_route, 3);
    for (size_t i = 0; i < 3; i++) {
        pv_piece p = a->route[i], q = again->route[i];
        ck_assert(p.arc == q.arc && pv_dist(p.a, q.a) == 0 && pv_dist(p.b, q.b) == 0);
        ck_assert(p.radius == q.radius && p.from == q.from && p.sweep == q.sweep);
    }
    uint64_t prints[3] = {plain->fingerprint, a->fingerprint, b->fingerprint};
    /* The two ways cross the same seams; without one the sheets lie over each other another way. */
    ck_assert(prints[0] != prints[1] && prints[1] == prints[2]);
    pv_free(json);
    pv_plan_free(again);
    pv_plan_free(plain);
    pv_plan_free(a);
    pv_plan_free(b);
}
END_TEST

static const mutation of_route[] = {
    {"", "\"route\": [", "\"route\": [], \"was\": [", "route:"},
    {"", "\"route\": [", "\"route\": 7, \"was\": [", "route:"},
    {"\"route\"", "[100, 200, 100, 600]", "[100, 200, 100]", "route[0]:|3"},
    {"\"route\"", "[100, 200, 100, 600]", "[100, 200, 100, \"600\"]", "route[0][3]:"},
    {"\"route\"", "[100, 200, 100, 600]", "[100, 200, 100, 1e9]", "route[0][3]:|1000000000"},
    {"\"route\"", "[100, 200, 100, 600]", "[100, 200, 100, 601]", "route[1]:"},
    {"\"route\"", "200, 600, 100, 3.14", "200, 600, 101, 3.14", "route[1]:"},
    {"\"route\"", "200, 600, 100, 3.14", "200, 600, -100, 3.14", "route[1]:"},
};

START_TEST(malformed_routes_are_refused_with_their_place)
{
    pv_plan *plan = routed_plan(800);
    check_mutations(plan, of_route, sizeof of_route / sizeof *of_route);
    pv_plan_free(plan);
}
END_TEST

/* A plan cut off anywhere, or with any one byte changed, is read or refused, but never harms. */
/* ---- corrections ---- */

static const mutation of_correction[] = {
    {"corrected", "\"scale\": [0.989, 1]", "\"scale\": [0.889, 1]", "corrected.scale[0]"},
    {"corrected", "\"scale\": [0.989, 1]", "\"scale\": [0.989]", "corrected.scale"},
    {"corrected", "\"skew_mrad\": -2.5", "\"skew_mrad\": -25", "corrected.skew_mrad"},
    {"corrected", "\"ink_mm\": 0.06", "\"ink_mm\": \"some\"", "corrected.ink_mm"},
};

START_TEST(corrections_come_back_and_leave_the_fingerprint)
{
    pv_printer printer = {.scale = {{0.989, 0.001, true}, {0.996, 0.001, false}},
                          .skew = {-2.5, 0.5, true},
                          .ink = {0.06, 0.01, true}};
    pv_plan *plan = yard_plan("A4");
    char *plain = pv_plan_json(plan, NULL);
    ck_assert_ptr_null(strstr(plain, "\"corrected\""));
    uint64_t before = plan->fingerprint, after;
    plan->corrected = pv_printer_correction(&printer);
    check_round_trip(plan);
    ck_assert(pv_plan_compute_fingerprint(plan, &after));
    ck_assert(after == before);
    char *json = pv_plan_json(plan, NULL);
    pv_plan *again = parsed(json);
    const pv_correction *c = &again->corrected;
    ck_assert(c->any && c->scale[0] == 0.989 && c->scale[1] == 1); /* y was not corrected */
    ck_assert(c->skew == -2.5 && c->ink == 0.06);
    pv_correction printed = pv_printer_correction(again->printer);
    ck_assert_mem_eq(printed.scale, c->scale, sizeof c->scale);
    ck_assert(printed.skew == c->skew && printed.ink == c->ink);
    check_mutations(plan, of_correction, sizeof of_correction / sizeof *of_correction);
    plan->corrected = pv_printer_correction(NULL);
    char *bare = pv_plan_json(plan, NULL);
    ck_assert_str_eq(bare, plain);
    pv_free(plain);
    pv_free(json);
    pv_free(bare);
    pv_plan_free(again);
    pv_plan_free(plan);
}
END_TEST

static const mutation of_language[] = {
    {"fingerprint", "\"language\": \"de\"", "\"language\": \"xx\"", "language"},
    {"fingerprint", "\"language\": \"de\"", "\"language\": 7", "language"},
};

/* A plan records its language, which is no part of the fingerprint. */
START_TEST(a_language_comes_back_and_leaves_the_fingerprint)
{
    pv_plan *plan = yard_plan("A4");
    char *plain = pv_plan_json(plan, NULL);
    ck_assert_ptr_null(strstr(plain, "\"language\""));
    uint64_t before = plan->fingerprint, after;
    plan->language = pv_language_find("de");
    check_round_trip(plan);
    ck_assert(pv_plan_compute_fingerprint(plan, &after));
    ck_assert(after == before);
    char *json = pv_plan_json(plan, NULL);
    pv_plan *again = parsed(json);
    ck_assert_str_eq(pv_language_code(again->language), "de");
    check_mutations(plan, of_language, sizeof of_language / sizeof *of_language);
    pv_free(plain);
    pv_free(json);
    pv_plan_free(again);
    pv_plan_free(plan);
}
END_TEST

START_TEST(damaged_plans_do_no_harm)
{
    pv_plan *plan = yard_plan("A0");
    char *json = pv_plan_json(plan, NULL);
    size_t length = strlen(json), refused = 0, read = 0;
    dice d = {7};
    for (size_t i = 0; i < 700; i++) {
        char *text = pv_copy_text(json);
        size_t n = length;
        if (i % 3 == 0)
            n = pick(&d, length);
        else
            text[pick(&d, length)] = "0123456789-[]{},\"e.ntf\x80"[pick(&d, 23)];
        pv_diags *diags = pv_diags_new();
        pv_plan *got = pv_plan_parse(text, n, NULL, diags);
        ck_assert((got == NULL) == (pv_diags_count(diags, PV_ERROR) == 1));
        refused += got == NULL;
        read += got != NULL;
        pv_plan_free(got);
        pv_diags_free(diags);
        free(text);
    }
    printf("    700 damaged plans: %zu refused, %zu harmless\n", refused, read);
    ck_assert_uint_gt(refused, 400);
    pv_free(json);
    pv_plan_free(plan);
}
END_TEST

/* On a roll without room beside the mat; with an overlap that is no sum of round numbers; a proof.
 */
START_TEST(plans_of_all_kinds_come_back)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options roll = pv_layout_defaults(), odd = roll, proof = roll;
    roll.roll = 924.4;
    odd.overlap = 15.3;
    odd.border = 0.7;
    proof.type = test_type();
    pv_plan *plans[] = {pv_plan_of_art(&art, &roll, NULL), pv_plan_of_art(&art, &odd, NULL),
                        pv_plan_proof(&proof, NULL)};
    for (int i = 0; i < 3; i++) {
        ck_assert_ptr_nonnull(plans[i]);
        check_round_trip(plans[i]);
    }
    ck_assert(plans[0]->strips == PV_STRIPS_ALONG_Y);
    ck_assert(plans[2]->proof);
    plans[1]->seams_gap = 12.3;
    check_round_trip(plans[1]);
    for (int i = 0; i < 3; i++)
        pv_plan_free(plans[i]);
    pv_art_clear(&art);
}
END_TEST

START_TEST(butt_joints_come_back)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options options = pv_layout_defaults();
    pv_plan *lap = pv_plan_of_art(&art, &options, NULL);
    options.joint = PV_JOINT_BUTT;
    pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
    check_round_trip(plan);
    ck_assert(plan->fingerprint != lap->fingerprint);
    pv_plan_free(plan);
    pv_plan_free(lap);
    pv_art_clear(&art);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("plan JSON");
    TCase *tcase = tcase_create("plan JSON");
    tcase_set_timeout(tcase, getenv("PAVIOR_DRAWS") != NULL ? 3600 : 120);
    tcase_add_test(tcase, plans_come_back_byte_for_byte);
    tcase_add_test(tcase, courses_come_back_byte_for_byte);
    tcase_add_test(tcase, limits_of_a_course_are_within_those_of_a_plan);
    tcase_add_test(tcase, same_input_same_plan);
    tcase_add_test(tcase, fingerprint_tells_kits_and_editions_apart);
    tcase_add_test(tcase, kit_is_the_fingerprint_in_letters);
    tcase_add_test(tcase, random_plans_are_told_apart);
    tcase_add_test(tcase, malformed_plans_are_refused_with_their_place);
    tcase_add_test(tcase, routes_come_back_and_leave_the_fingerprint);
    tcase_add_test(tcase, malformed_routes_are_refused_with_their_place);
    tcase_add_test(tcase, corrections_come_back_and_leave_the_fingerprint);
    tcase_add_test(tcase, a_language_comes_back_and_leaves_the_fingerprint);
    tcase_add_test(tcase, damaged_plans_do_no_harm);
    tcase_add_test(tcase, plans_of_all_kinds_come_back);
    tcase_add_test(tcase, butt_joints_come_back);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
