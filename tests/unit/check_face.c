/* What a browser's page calls, compiled for this machine: the same answers as the library's own
 * functions give, and every bad question refused. */
#include "sheet_picture.h"

#include "web/face.h"

#include <math.h>
#include <string.h>

static const picture_setup plain = {
    .dpi = {200, 200}, .scale = {1, 1}, .turn = 0.013, .stated_dpi = {200, 200}, .shown = 1};

static pv_plan *plan;
static face *page;

static void open_page(void)
{
    plan = picture_plan();
    page = face_open("en");
    char *json = pv_plan_json(plan, NULL);
    ck_assert(face_plan(page, json, strlen(json), "a4/mat-a4.plan.json"));
    pv_free(json);
}

static void close_page(void)
{
    face_close(page);
    pv_plan_free(plan);
}

START_TEST(it_answers_as_the_library)
{
    pv_bytes png = sheet_picture(plan, &plain);
    pv_inspect_options how = pv_inspect_defaults();
    how.scanner_kind = PV_SCANNER_FLATBED;
    how.picture_px_per_mm = PV_PICTURE_PX_PER_MM;
    how.for_sender = how.by_page = true;
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", &how, NULL);
    const pv_inspection *all[] = {in};
    char *html = pv_inspections_html((const pv_plan *[]){plan}, 1, all, 1, NULL);
    char *json = pv_inspections_json(all, 1, false);
    face_scanner(page, PV_SCANNER_FLATBED);
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 1), 1);
    ck_assert_int_eq(face_verdict(page, 0), PV_CONFORMS);
    ck_assert_str_eq(face_sheet(page, 0), "A1");
    ck_assert_uint_eq(face_of(page, 0), 0);
    ck_assert(!face_asks_finer(page, 0));
    ck_assert_str_eq(face_label(page, 0), "pier.png");
    ck_assert_str_eq(face_answer(page, 0), pv_inspection_sheet(in)->answer);
    ck_assert_str_eq(face_advice(page, 0), pv_inspection_sheet(in)->advice);
    char *texts[] = {face_html(page), face_json(page), face_code(page, 0), face_steps(page, 0)};
    ck_assert_str_eq(texts[0], html);
    ck_assert_str_eq(texts[1], json);
    ck_assert_str_eq(texts[2], pv_inspection_code(in).chars);
    ck_assert_str_eq(texts[3], "");
    for (int i = 0; i < 4; i++)
        pv_free(texts[i]);
    face_clear(page);
    ck_assert_uint_eq(face_count(page), 0);
    pv_inspection_free(in);
    pv_free(html);
    pv_free(json);
    pv_free(png.data);
}
END_TEST

/* What the page's total counts by; a proof page has no sheets of a mat. */
START_TEST(plans_are_told)
{
    pv_layout_options options = pv_layout_defaults();
    options.type = test_type();
    pv_plan *proof = pv_plan_proof(&options, NULL);
    char *json = pv_plan_json(proof, NULL);
    ck_assert(face_plan(page, json, strlen(json), "proof.plan.json"));
    ck_assert_str_eq(face_plan_paper(page, 0), plan->paper);
    ck_assert_str_eq(face_plan_kit(page, 0), pv_plan_kit(plan).chars);
    for (size_t i = 0; i < plan->n_sheets; i++)
        ck_assert_str_eq(face_plan_sheet(page, 0, i), plan->sheets[i].name);
    ck_assert_ptr_null(face_plan_sheet(page, 0, plan->n_sheets));
    ck_assert_str_eq(face_plan_paper(page, 1), "A4");
    ck_assert_ptr_null(face_plan_sheet(page, 1, 0));
    ck_assert_ptr_null(face_plan_paper(page, 2));
    ck_assert_ptr_null(face_plan_kit(page, 2));
    ck_assert_ptr_null(face_plan_sheet(page, 2, 0));
    pv_free(json);
    pv_plan_free(proof);
}
END_TEST

/* Of another plan's sheet the page says what the command says, and advises what a team can do. */
START_TEST(a_stranger_has_the_commands_answer)
{
    pv_plan *other = picture_plan_of(picture_course, "150x110mm");
    pv_bytes png = sheet_picture(other, &plain);
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", NULL, NULL);
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 1), 1);
    const pv_inspected *command = pv_inspection_sheet(in);
    ck_assert_int_eq(face_verdict(page, 0), -1);
    ck_assert_str_eq(face_answer(page, 0), command->answer);
    ck_assert_ptr_nonnull(strstr(command->answer, "another plan"));
    char *json = face_json(page);
    ck_assert_ptr_nonnull(strstr(json, command->error));
    ck_assert_ptr_nonnull(strstr(face_advice(page, 0), "from the kit"));
    ck_assert_ptr_null(strstr(command->advice, "from the kit"));
    pv_free(json);
    json = pv_plan_json(other, NULL);
    ck_assert(face_plan(page, json, strlen(json), "other.plan.json"));
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 2), 1);
    ck_assert_str_eq(face_sheet(page, 1), "A1");
    ck_assert_uint_eq(face_of(page, 1), 1);
    pv_free(json);
    pv_inspection_free(in);
    pv_plan_free(other);
    pv_free(png.data);
}
END_TEST

/* True, but so coarse that its one line can't be measured. */
START_TEST(a_finer_scan_is_asked_for)
{
    pv_plan *thin =
        picture_plan_of("course \"Thin\" edition \"1\"\nmat 90mm by 60mm ground white\n"
                        "tolerance scale 1 %, width 0.3mm\n"
                        "line low width 1.2mm colour black from (18, 15)mm, to (72, 15)mm\n",
                        "140x110mm");
    char *json = pv_plan_json(thin, NULL);
    ck_assert(face_plan(page, json, strlen(json), "thin.plan.json"));
    picture_setup coarse = plain;
    for (int i = 0; i < 2; i++)
        coarse.dpi[i] = coarse.stated_dpi[i] = 100;
    pv_bytes png = sheet_picture(thin, &coarse);
    face_scanner(page, PV_SCANNER_FLATBED);
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "thin.png", 1), 1);
    ck_assert_int_eq(face_verdict(page, 0), PV_CONFORMS);
    ck_assert(face_asks_finer(page, 0));
    pv_free(json);
    pv_plan_free(thin);
    pv_free(png.data);
}
END_TEST

/* A scan that states no resolution is undecided until a ruler says how large the sheet is. */
START_TEST(readings_are_of_one_inspection)
{
    picture_setup unstated = plain;
    unstated.stated_dpi[0] = unstated.stated_dpi[1] = 0;
    pv_bytes png = sheet_picture(plan, &unstated);
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 1), 1);
    ck_assert_int_eq(face_verdict(page, 0), PV_UNDECIDED);
    char *steps = face_steps(page, 0);
    ck_assert_uint_ge(strlen(steps), 6);
    ck_assert_int_eq(steps[2], ' ');
    pv_free(steps);
    double w = plan->sheets[0].gauge[1].x - plan->sheets[0].gauge[0].x;
    double h = plan->sheets[0].gauge[3].y - plan->sheets[0].gauge[0].y;
    ck_assert(face_reading(page, 'P', 'Q', w));
    ck_assert(face_reading(page, 'P', 'S', h));
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 2), 1);
    ck_assert_uint_eq(face_inspect(page, png.data, png.size, "pier.png", 3), 1);
    char *json = face_json(page);
    const char *first = strstr(json, "\"ruler\"");
    ck_assert_ptr_nonnull(first);
    ck_assert_ptr_null(strstr(strstr(first, "\"file\""), "\"ruler\""));
    pv_free(json);
    pv_free(png.data);
}
END_TEST

START_TEST(bad_questions_are_refused)
{
    ck_assert(!face_reading(page, 'P', 'P', 100));
    ck_assert(!face_reading(page, 'A', 'Q', 100));
    ck_assert(!face_reading(page, 'P', 'Q', 0));
    ck_assert(!face_reading(page, 'P', 'Q', (double)NAN));
    ck_assert(!face_reading(page, 'P', 'Q', (double)INFINITY));
    for (int i = 0; i < PV_READINGS_MAX; i++)
        ck_assert(face_reading(page, 'P', 'Q', 100));
    ck_assert(!face_reading(page, 'P', 'Q', 100));
    ck_assert_ptr_null(face_said(page));
    ck_assert(!face_plan(page, "{}", 2, "a5"));
    ck_assert_ptr_nonnull(face_said(page));
    face_scanner(page, -1);
    face_scanner(page, 1000);
    ck_assert_ptr_null(face_label(page, 0));
    ck_assert_int_eq(face_verdict(page, 0), -1);
    const unsigned char gif[] = "GIF89a";
    ck_assert_uint_eq(face_inspect(page, gif, sizeof gif, "a.gif", 1), 1);
    ck_assert_int_eq(face_verdict(page, 0), -1);
    ck_assert_ptr_null(face_sheet(page, 0));
    ck_assert_ptr_nonnull(strstr(face_answer(page, 0), "GIF"));
    char *code = face_code(page, 0), *html = face_html(page);
    ck_assert_str_eq(code, "");
    ck_assert_ptr_nonnull(strstr(html, "GIF"));
    pv_free(code);
    pv_free(html);
}
END_TEST

/* Two pages of one white pixel each, as TIFF. */
static const unsigned char two_pages[] = {
#define TAG(n, type, value) n, 1, type, 0, 1, 0, 0, 0, value, 0, 0, 0
#define PAGE(next)                                                                                 \
    8, 0, TAG(0, 3, 1), TAG(1, 3, 1), TAG(2, 3, 8), TAG(3, 3, 1), TAG(6, 3, 1), TAG(17, 4, 8),     \
        TAG(22, 3, 1), TAG(23, 4, 1), next, 0, 0, 0
    'I', 'I', 42, 0, 10, 0, 0, 0, 255, 255, PAGE(112), PAGE(0)};

/* Of a file whose last page is one too many nothing stays, and what was said of it is forgotten at
 * the next call. */
START_TEST(half_a_file_is_none)
{
    const unsigned char gif[] = "GIF89a";
    ck_assert_uint_eq(pv_image_pages(two_pages, sizeof two_pages), 2);
    ck_assert_uint_eq(face_inspect(page, two_pages, sizeof two_pages, "a.tif", 1), 2);
    for (int i = 2; i < 1999; i++)
        ck_assert_uint_eq(face_inspect(page, gif, sizeof gif, "a.gif", 1), 1);
    ck_assert_ptr_null(face_said(page));
    ck_assert_uint_eq(face_inspect(page, two_pages, sizeof two_pages, "b.tif", 1), 0);
    ck_assert_ptr_nonnull(strstr(face_said(page), "2000"));
    ck_assert_uint_eq(face_count(page), 1999);
    ck_assert_uint_eq(face_inspect(page, gif, sizeof gif, "a.gif", 1), 1);
    ck_assert_ptr_null(face_said(page));
}
END_TEST

/* As the command does. */
START_TEST(readings_of_several_pages_are_refused)
{
    ck_assert(face_reading(page, 'P', 'Q', 100));
    ck_assert_uint_eq(face_inspect(page, two_pages, sizeof two_pages, "a.tif", 1), 1);
    ck_assert_int_eq(face_verdict(page, 0), -1);
    ck_assert_str_eq(face_label(page, 0), "a.tif");
    ck_assert_ptr_nonnull(strstr(face_answer(page, 0), "several pages"));
    char *code = face_code(page, 0);
    ck_assert_str_eq(code, "");
    pv_free(code);
    ck_assert_uint_eq(face_inspect(page, two_pages, sizeof two_pages, "a.tif", 2), 2);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("face");
    TCase *tc = tcase_create("face");
    tcase_set_timeout(tc, 60);
    tcase_add_checked_fixture(tc, open_page, close_page);
    tcase_add_test(tc, it_answers_as_the_library);
    tcase_add_test(tc, plans_are_told);
    tcase_add_test(tc, a_stranger_has_the_commands_answer);
    tcase_add_test(tc, a_finer_scan_is_asked_for);
    tcase_add_test(tc, readings_are_of_one_inspection);
    tcase_add_test(tc, readings_of_several_pages_are_refused);
    tcase_add_test(tc, bad_questions_are_refused);
    tcase_add_test(tc, half_a_file_is_none);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
