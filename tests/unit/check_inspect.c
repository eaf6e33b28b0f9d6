/* The whole way from an image's bytes to a judged inspection, on small sheets painted here. */
#include "sheet_picture.h"
#include "values.h"
#include "wording.h"

#include "reference/ruler.h"
#include "reference/scanner.h"

static const picture_setup plain = {
    .dpi = {200, 200}, .scale = {1, 1}, .turn = 0.013, .stated_dpi = {200, 200}, .shown = 1};

static pv_plan *plan;

static void make_plan(void)
{
    plan = picture_plan();
}

static void drop_plan(void)
{
    pv_plan_free(plan);
}

/* Without options, by a flatbed. */
static pv_inspection *inspected(const picture_setup *s, const pv_inspect_options *options)
{
    pv_inspect_options flatbed = pv_inspect_defaults();
    flatbed.scanner_kind = PV_SCANNER_FLATBED;
    options = options != NULL ? options : &flatbed;
    pv_bytes png = sheet_picture(plan, s);
    pv_diags *diags = pv_diags_new();
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", options, diags);
    ck_assert_ptr_nonnull(in);
    ck_assert_msg(in->sheet.error == NULL, "%s", in->sheet.error);
    ck_assert_uint_eq(pv_diags_size(diags), 0);
    pv_diags_free(diags);
    free(png.data);
    return in;
}

/* One note says all of it. */
static bool noted(const pv_inspection *in, const char *facts)
{
    for (size_t i = 0; i < in->n_notes; i++)
        if (says(in->notes[i], facts))
            return true;
    return false;
}

START_TEST(a_true_print_conforms)
{
    pv_inspection *in = inspected(&plain, NULL);
    ck_assert_str_eq(in->sheet.file, "pier.png");
    ck_assert_str_eq(in->sheet.sheet, "A1");
    ck_assert_int_eq(strncmp(in->sheet.kit, "Pier, edition 1, kit ", 21), 0);
    ck_assert_int_eq(in->sheet.verdict, PV_CONFORMS);
    ck_assert_int_eq(in->sheet.reference, PV_REFERENCE_SCANNER);
    ck_assert_double_eq_tol(in->sheet.reference_U_rel, 2 * 0.002 / sqrt(3), 1e-5);
    ck_assert_str_eq(in->sheet.basis, "taking the flatbed to be true to 0.2 %");
    ck_assert_int_eq(in->sheet.scanner, PV_SCANNER_FLATBED);
    double scale = fmax(fabs(row_of(in, PV_KIND_SCALE, 0)->value - 1),
                        fabs(row_of(in, PV_KIND_SCALE, 1)->value - 1));
    ck_assert_double_eq_tol(in->sheet.turn, 0.013 * 180 / PV_PI, 0.01);
    ck_assert_uint_eq(in->table.n_lines, 4);
    ck_assert_str_eq(in->table.lines[0].id, "low");
    ck_assert_double_eq(in->table.lines[0].nominal, 8);
    double width = fmax(fabs(row_of(in, PV_KIND_WIDTH, 0)->value - 8),
                        fabs(row_of(in, PV_KIND_WIDTH, 1)->value - 5));
    ck_assert_uint_eq(count_spacings(&in->table), 2);
    ck_assert_str_eq(spacing_in(&in->table, 1)->name, "west");
    ck_assert_str_eq(spacing_in(&in->table, 1)->to, "east");
    double spacing = fmax(fabs(spacing_in(&in->table, 0)->value - 25),
                          fabs(spacing_in(&in->table, 1)->value - 70));
    say_worst("scale at 200 dpi, whole chain", scale, 2e-4, "");
    say_worst("widths at 200 dpi, whole chain", width, 0.01, "mm");
    say_worst("spacing at 200 dpi, whole chain", spacing, 0.01, "mm");
    ck_assert_double_lt(scale, 2e-4);
    ck_assert_double_lt(width, 0.01);
    ck_assert_double_lt(spacing, 0.01);
    pv_inspection_free(in);
}
END_TEST

/* More pieces of lines than are paired for spacings: said, and the sheet isn't called conforming.
 */
START_TEST(a_crowded_sheet_says_what_it_leaves_out)
{
    enum { COLUMNS = 47, ROWS = 11 };
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "course \"Crowd\" edition \"1\"\nmat 240mm by 180mm ground white\n"
                       "tolerance scale 0.3 %%, width 0.5mm, spacing 1mm, skew 3mrad\n");
    for (int i = 0; i < COLUMNS * ROWS; i++)
        pv_text_add(&text, "line l%d width 2.5mm colour black from (%d, %d)mm, to (%d, %d)mm\n", i,
                    5 + i % COLUMNS * 5, 4 + i / COLUMNS * 16, 5 + i % COLUMNS * 5,
                    16 + i / COLUMNS * 16);
    pv_plan *pier = plan;
    plan = picture_plan_of(text.chars, "300x240mm");
    picture_setup s = plain;
    s.dpi[0] = s.dpi[1] = s.stated_dpi[0] = s.stated_dpi[1] = 150;
    pv_inspection *in = inspected(&s, NULL);
    size_t found = 0;
    for (size_t i = 0; i < in->table.n_lines; i++)
        found += in->table.lines[i].stations >= 4;
    ck_assert_uint_eq(in->sheet.unpaired, found - 500);
    ck_assert_uint_gt(count_spacings(&in->table), 450);
    ck_assert(noted(in, "17"));
    for (size_t i = 0; i < count_spacings(&in->table); i++)
        ck_assert_int_eq(spacing_in(&in->table, i)->verdict, PV_CONFORMS);
    ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
    pv_inspection_free(in);
    pv_plan_free(plan);
    plan = pier;
    pv_text_drop(&text);
}
END_TEST

START_TEST(a_page_shrunk_to_fit_does_not_conform)
{
    picture_setup s = plain;
    s.scale[0] = s.scale[1] = 0.96;
    pv_inspection *in = inspected(&s, NULL);
    ck_assert_int_eq(in->sheet.verdict, PV_DOES_NOT_CONFORM);
    ck_assert_int_eq(row_of(in, PV_KIND_SCALE, 0)->verdict, PV_DOES_NOT_CONFORM);
    ck_assert_double_eq_tol(row_of(in, PV_KIND_SCALE, 1)->value, 0.96, 2e-4);
    ck_assert_double_eq_tol(row_of(in, PV_KIND_WIDTH, 0)->value, 0.96 * 8, 0.01);
    ck_assert_int_eq(spacing_in(&in->table, 0)->verdict, PV_DOES_NOT_CONFORM);
    assert_says(in->sheet.answer, "Not true|96.0 %");
    assert_says(in->sheet.advice, "actual size|100 %");
    pv_inspection_free(in);
}
END_TEST

START_TEST(no_resolution_leaves_the_scale_undecided)
{
    static const double stated[][2] = {{0, 0},     {72, 72},   {96, 96},  {600, 600},
                                       {100, 100}, {200, 300}, {192, 192}};
    static const char *const facts[] = {
        SAYS_NO_RESOLUTION,          "72 or 96 dpi", "72 or 96 dpi",
        "600 dpi|three times",       "100 dpi|half", "200 x 300 dpi",
        "192 dpi|not set to|resized"};
    for (size_t i = 0; i < sizeof stated / sizeof *stated; i++) {
        picture_setup s = plain;
        memcpy(s.stated_dpi, stated[i], sizeof s.stated_dpi);
        s.scale[0] = s.scale[1] = 0.96; /* which nobody can know */
        pv_inspection *in = inspected(&s, NULL);
        ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
        ck_assert_int_eq(in->sheet.reference, PV_REFERENCE_NONE);
        ck_assert(!row_of(in, PV_KIND_SCALE, 0)->measured &&
                  row_of(in, PV_KIND_SCALE, 0)->verdict == PV_UNDECIDED);
        ck_assert_int_eq(row_of(in, PV_KIND_WIDTH, 0)->verdict, PV_UNDECIDED);
        ck_assert_double_eq_tol(row_of(in, PV_KIND_WIDTH, 0)->value, 8, 0.01);
        ck_assert_msg(noted(in, facts[i]), "%s", facts[i]);
        ck_assert(i > 2 || noted(in, "--dpi"));
        ck_assert_str_eq(in->sheet.basis, "nothing");
        assert_says(in->sheet.answer, "Can't tell|how big");
        assert_says(in->sheet.advice, "bank card");
        pv_inspection_free(in);
    }
}
END_TEST

START_TEST(the_user_knows_better_than_the_file)
{
    picture_setup s = plain;
    s.stated_dpi[0] = s.stated_dpi[1] = 72;
    pv_inspect_options options = pv_inspect_defaults();
    options.dpi = 200;
    options.scanner_U_rel = 0.0002;
    pv_inspection *in = inspected(&s, &options);
    ck_assert_int_eq(in->sheet.verdict, PV_CONFORMS);
    ck_assert_double_eq_tol(in->sheet.reference_U_rel, 0.0002, 1e-7);
    ck_assert_double_lt(row_of(in, PV_KIND_SCALE, 0)->U, 0.0003);
    pv_inspection_free(in);
    options.dpi = 199; /* to which no scanner is set */
    in = inspected(&s, &options);
    ck_assert_int_eq(in->sheet.reference, PV_REFERENCE_NONE);
    ck_assert(noted(in, "--dpi 199"));
    pv_inspection_free(in);
    options.dpi = 400; /* twice what it is */
    in = inspected(&s, &options);
    ck_assert_int_eq(in->sheet.reference, PV_REFERENCE_NONE);
    ck_assert(noted(in, "--dpi 400|twice|200 dpi"));
    pv_inspection_free(in);
    options.dpi = 180; /* then everything is a ninth too long, and no printer is */
    in = inspected(&s, &options);
    ck_assert_int_eq(in->sheet.reference, PV_REFERENCE_NONE);
    pv_inspection_free(in);
    options.dpi = 180;
    s.dpi[0] = s.dpi[1] = 190; /* a page that came out at 105.6 % */
    in = inspected(&s, &options);
    ck_assert_int_eq(row_of(in, PV_KIND_SCALE, 0)->verdict, PV_DOES_NOT_CONFORM);
    ck_assert_double_eq_tol(row_of(in, PV_KIND_SCALE, 0)->value, 190.0 / 180, 2e-4);
    pv_inspection_free(in);
    s.dpi[0] = s.dpi[1] = 200;
    options.dpi = 200;
    options.scanner_U_rel = 0.01; /* too coarse a scanner to tell 0.3 % */
    in = inspected(&s, &options);
    ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
    assert_says(in->sheet.answer, "Can't tell|true to 1 %");
    assert_says(in->sheet.advice, "bank card|P to Q|P to S");
    pv_inspection_free(in);
}
END_TEST

START_TEST(axes_are_the_sheets_whichever_way_it_lies)
{
    for (int quarter = 0; quarter < 4; quarter++) {
        picture_setup s = plain;
        s.turn = quarter * PV_PI / 2 - 0.02;
        s.scale[0] = 1.01;
        s.dpi[1] = s.stated_dpi[1] = 250; /* and pixels need not be square */
        pv_inspection *in = inspected(&s, NULL);
        ck_assert_double_eq_tol(row_of(in, PV_KIND_SCALE, 0)->value, 1.01, 2e-4);
        ck_assert_double_eq_tol(row_of(in, PV_KIND_SCALE, 1)->value, 1, 2e-4);
        ck_assert_double_eq_tol(row_of(in, PV_KIND_SKEW, 0)->value, 0, 0.1);
        ck_assert_double_eq_tol(row_of(in, PV_KIND_WIDTH, 0)->value, 8, 0.01);
        ck_assert_double_eq_tol(spacing_in(&in->table, 0)->value, 25, 0.012);
        assert_says(in->sheet.answer, "Not true| % across| % along");
        pv_inspection_free(in);
    }
}
END_TEST

START_TEST(a_line_that_is_half_missing_is_undecided)
{
    picture_setup s = plain;
    s.shown = 0.4;
    pv_inspection *in = inspected(&s, NULL);
    ck_assert_int_eq(row_of(in, PV_KIND_WIDTH, 0)->verdict, PV_UNDECIDED);
    ck_assert_uint_lt(2 * in->table.lines[0].stations, in->table.lines[0].planned);
    ck_assert_uint_gt(in->table.lines[0].stations, 0);
    ck_assert_int_ne(in->sheet.verdict, PV_CONFORMS);
    ck_assert(noted(in, "low, high, west, east"));
    pv_inspection_free(in);
}
END_TEST

START_TEST(what_is_no_picture_of_a_sheet_says_so)
{
    pv_diags *diags = pv_diags_new();
    pv_bytes png = sheet_picture(plan, &plain);
    pv_inspect_options options = pv_inspect_defaults();
    for (int what = 0; what < 4; what++) {
        size_t size = what == 0 ? 0 : what == 1 ? 20 : what == 2 ? png.size / 2 : png.size;
        options.pixels_max = what == 3 ? 1000 : options.pixels_max;
        pv_inspection *in =
            pv_inspect((const pv_plan *[]){plan}, 1, png.data, size, "x", &options, diags);
        ck_assert_ptr_nonnull(in);
        ck_assert_ptr_nonnull(in->sheet.error);
        ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
        const pv_inspection *items[] = {in};
        char *text = pv_inspections_text(items, 1, false);
        ck_assert_int_eq(strncmp(text, "x  ", 3), 0);
        pv_free(text);
        pv_inspection_free(in);
    }
    free(png.data);
    pv_diags_free(diags);
}
END_TEST

/* A reading that can't be one of the sheet's marks is refused, with what they are apart, and with
 * what may have happened. */
START_TEST(readings_are_of_marks_that_the_sheet_has)
{
    pv_diags *diags = pv_diags_new();
    pv_sheet sheet = plan->sheets[0];
    ck_assert_uint_eq(sheet.n_gauge, PV_GAUGE_MARKS);
    double w = pv_dist(sheet.gauge[0], sheet.gauge[1]), h = pv_dist(sheet.gauge[0], sheet.gauge[3]);
    const pv_ruler_reading good[] = {{'P', 'Q', 0.94 * w, 0},
                                     {'S', 'R', w, 1},
                                     {'S', 'P', 1.01 * h, 0},
                                     {'R', 'P', hypot(w, h), 0.1},
                                     {'Q', 'S', hypot(w, h), 0}};
    ck_assert(pv_ruler_readings_fit(&sheet, good, 5, diags));
    const pv_ruler_reading wrong[] = {{'Q', 'P', 1.2 * w, 0},
                                      {'P', 'Q', h, 0},
                                      {'P', 'Q', w / 25.4, 0},
                                      {'P', 'R', w / 7, 0},
                                      {'P', 'R', hypot(w, h), 0.2 * w},
                                      {'P', 'X', w, 0},
                                      {'P', 'P', w, 0}};
    for (int i = 0; i < 7; i++)
        ck_assert_msg(!pv_ruler_readings_fit(&sheet, &wrong[i], 1, diags), "%d", i);
    char *said = diags_text(diags);
    assert_says(said, "Q-P|A1|P to S|inches|middle|uncertain|P-X");
    free(said);
    sheet.n_gauge = 0;
    ck_assert(!pv_ruler_readings_fit(&sheet, good, 1, diags));
    pv_diags_free(diags);

    pv_bytes png = sheet_picture(plan, &plain);
    pv_inspect_options options = pv_inspect_defaults();
    options.readings = wrong;
    options.n_readings = 1;
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "x", &options, NULL);
    ck_assert_ptr_nonnull(in);
    ck_assert_ptr_nonnull(in->sheet.error);
    assert_says(in->sheet.error, "Q-P|A1|mm apart");
    pv_inspection_free(in);
    free(png.data);
}
END_TEST

/* ---- the reference by itself ---- */

static pv_scan_reference decided(const pv_plane *plane, pv_pose_kind kind, double dpi, char **note)
{
    double k = 300 / 25.4;
    pv_pose pose = {.kind = kind, .h = {k, 0, 0, 0, -k, 3000, 0, 0, 1}};
    pv_inspect_options options = pv_inspect_defaults();
    options.dpi = dpi;
    pv_text text = PV_TEXT_INIT;
    pv_scan_reference out = pv_scan_reference_decide(plane, &pose, &options, &text);
    *note = pv_text_take(&text);
    return out;
}

START_TEST(references_are_believed_or_not)
{
    char *note;
    pv_plane plane = {.source = PV_RESOLUTION_CONFLICT};
    ck_assert(!decided(&plane, PV_POSE_AFFINE, 0, &note).believed);
    assert_says(note, "disagree");
    free(note);
    plane = (pv_plane){.source = PV_RESOLUTION_EXIF, .resolution = {300 / 25.4, 300 / 25.4}};
    ck_assert(!decided(&plane, PV_POSE_PERSPECTIVE, 0, &note).believed);
    assert_says(note, "photograph");
    free(note);
    /* Not even by --dpi: a photograph has no one resolution. */
    ck_assert(!decided(&plane, PV_POSE_PERSPECTIVE, 300, &note).believed);
    free(note);
    pv_scan_reference r = decided(&plane, PV_POSE_AFFINE, 0, &note);
    ck_assert(r.believed);
    ck_assert_str_eq(note, "");
    free(note);
    /* --dpi counts, but where it contradicts the image, that is said; and not where it contradicts
     * the sheet. */
    r = decided(&plane, PV_POSE_AFFINE, 250, &note);
    ck_assert(!r.believed);
    free(note);
    plane.resolution[0] = plane.resolution[1] = 250 / 25.4;
    r = decided(&plane, PV_POSE_AFFINE, 300, &note);
    ck_assert(r.believed);
    assert_says(note, "--dpi 300|250 x 250 dpi");
    free(note);
    plane = (pv_plane){.source = PV_RESOLUTION_ABSENT};
    r = decided(&plane, PV_POSE_AFFINE, 150, &note);
    ck_assert(!r.believed);
    assert_says(note, "--dpi 150|half|300 dpi");
    free(note);
    r = decided(&plane, PV_POSE_AFFINE, 300, &note);
    ck_assert_str_eq(note, "");
    free(note);
    /* 118 pixels per round numbers stand for 117.5 to 118.5. */
    plane = (pv_plane){.source = PV_RESOLUTION_JFIF, .resolution = {11.8, 11.8}};
    r = decided(&plane, PV_POSE_AFFINE, 0, &note);
    ck_assert(r.believed);
    ck_assert_double_eq_tol(r.rounding_u, 0.5 / 118 / sqrt(3), 1e-9);
    assert_says(note, "round numbers");
    free(note);
    /* As shown, but for what PNG rounds; neither what no scanner is set to nor what the sheet
     * contradicts. */
    static const double dpi[] = {300, 299.9994, 250, 360, 600, 288, 299, 310};
    for (size_t i = 0; i < sizeof dpi / sizeof *dpi; i++) {
        plane =
            (pv_plane){.source = PV_RESOLUTION_PNG, .resolution = {dpi[i] / 25.4, dpi[i] / 25.4}};
        r = decided(&plane, PV_POSE_AFFINE, 0, &note);
        ck_assert_msg(r.believed == (i < 2), "%g dpi", dpi[i]);
        free(note);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("inspect");
    TCase *tcase = tcase_create("inspect");
    tcase_set_timeout(tcase, 120);
    tcase_add_unchecked_fixture(tcase, make_plan, drop_plan);
    tcase_add_test(tcase, a_true_print_conforms);
    tcase_add_test(tcase, a_crowded_sheet_says_what_it_leaves_out);
    tcase_add_test(tcase, a_page_shrunk_to_fit_does_not_conform);
    tcase_add_test(tcase, no_resolution_leaves_the_scale_undecided);
    tcase_add_test(tcase, the_user_knows_better_than_the_file);
    tcase_add_test(tcase, axes_are_the_sheets_whichever_way_it_lies);
    tcase_add_test(tcase, a_line_that_is_half_missing_is_undecided);
    tcase_add_test(tcase, what_is_no_picture_of_a_sheet_says_so);
    tcase_add_test(tcase, readings_are_of_marks_that_the_sheet_has);
    tcase_add_test(tcase, references_are_believed_or_not);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
