/* What the page that draws courses calls, compiled for this machine: the same drawings, reviews,
 * plans, sheets and kits as the library's own functions give, and every bad choice refused. */
#include "common.h"

#include "base/memory.h"
#include "web/desk.h"

#include <pavior/pavior.h>

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const char text[] = "course \"Desk\" edition \"2\"\n"
                           "mat 300mm by 200mm ground white\n"
                           "line a width 20mm colour black from (0, 60)mm to (300, 60)mm\n"
                           "line b width 5mm colour black from (20, 100)mm to (20, 150)mm\n";

static desk *d;

static void open_desk(void)
{
    d = desk_open("en");
    ck_assert_ptr_nonnull(d);
}

static void close_desk(void)
{
    desk_close(d);
}

static void put_course(const char *course)
{
    ck_assert(desk_course(d, course, strlen(course), NULL));
}

static void same_text(char *ours, char *theirs)
{
    ck_assert_ptr_nonnull(ours);
    ck_assert_str_eq(ours, theirs);
    pv_free(ours);
    pv_free(theirs);
}

START_TEST(it_draws_and_reviews_as_the_library)
{
    put_course(text);
    pv_course *course = pv_course_parse(text, strlen(text), NULL, test_type(), NULL);
    pv_review *review = pv_review_make(course, NULL);
    ck_assert_str_eq(desk_name(d), "Desk");
    ck_assert_double_eq(desk_width(d), 300);
    ck_assert_double_eq(desk_height(d), 200);
    same_text(desk_drawing(d, false), pv_course_svg(course, false, NULL));
    same_text(desk_review(d, false), pv_review_json(review));
    same_text(desk_review(d, true), pv_review_text(review));
    pv_review_free(review);
    pv_course_free(course);
}
END_TEST

START_TEST(faults_have_their_places)
{
    const char bad[] = "course \"Desk\" edition \"2\"\n"
                       "mat 300mm by 200mm ground white\n"
                       "lien a width 20mm colour black from (0, 60)mm to (300, 60)mm\n";
    ck_assert(!desk_course(d, bad, strlen(bad), NULL));
    ck_assert_uint_ge(desk_said(d), 1);
    ck_assert_int_eq(desk_said_severity(d, 0), PV_ERROR);
    ck_assert_int_eq(desk_said_line(d, 0), 3);
    ck_assert_int_eq(desk_said_column(d, 0), 1);
    ck_assert_int_eq(desk_said_length(d, 0), 4);
    ck_assert_ptr_nonnull(strstr(desk_said_message(d, 0), "lien"));
    ck_assert_ptr_nonnull(strstr(desk_said_hint(d, 0), "line"));
    /* Nothing of the course before stays. */
    ck_assert_str_eq(desk_name(d), "");
    ck_assert_ptr_null(desk_drawing(d, false));
    ck_assert_ptr_null(desk_review(d, false));
    ck_assert(!desk_lay(d));
    ck_assert_ptr_null(desk_plan(d));
    ck_assert_uint_eq(desk_draw(d), 0);
    ck_assert_uint_eq(desk_kit(d, "desk-kit"), 0);
}
END_TEST

static bool keep_pdf(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    pv_bytes *to = context;
    (void)diags;
    to->data = malloc(part->size);
    to->size = part->size;
    memcpy(to->data, part->bytes, part->size);
    return true;
}

START_TEST(it_lays_as_the_library)
{
    static const char *const choices[][2] = {
        {"paper", "A5"},         {"orientation", "landscape"}, {"margin-left", "7mm"},
        {"margin-top", "0.5in"}, {"overlap", "20mm"},          {"border", "5mm"},
        {"joint", "butt"},       {"colours", "grey"},          {"language", "de"}};
    put_course(text);
    desk_usual(d);
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++)
        ck_assert(desk_choose(d, choices[i][0], choices[i][1]));
    ck_assert(desk_lay(d));
    pv_course *course = pv_course_parse(text, strlen(text), NULL, test_type(), NULL);
    ck_assert(pv_course_print_as(course, true, false, NULL));
    pv_layout_options how = pv_layout_defaults();
    how.paper = "A5";
    how.orientation = PV_LANDSCAPE;
    how.margin[0] = 7;
    how.margin[3] = 12.7;
    how.overlap = 20;
    how.border = 5;
    how.joint = PV_JOINT_BUTT;
    how.language = pv_language_find("de");
    how.type = test_type();
    pv_plan *plan = pv_plan_make(course, &how, NULL);
    pv_summary *summary = pv_summary_make(plan, NULL);
    pv_bytes pdf = {0};
    ck_assert(pv_sheets_pdf(plan, NULL, keep_pdf, &pdf, NULL));
    ck_assert_str_eq(desk_kit_identity(d), pv_summary_plan(summary)->kit);
    ck_assert_str_eq(desk_laid_paper(d), "A5");
    ck_assert_uint_eq(desk_sheets(d), pv_summary_plan(summary)->sheets);
    ck_assert_str_eq(desk_sheet(d, 0), "A1");
    for (int side = 0; side < 4; side++)
        ck_assert_double_eq(desk_cell(d, 1, side), pv_summary_sheet(summary, 1)->cell[side]);
    ck_assert_double_gt(desk_minutes(d), 0);
    same_text(desk_plan(d), pv_plan_json(plan, NULL));
    ck_assert_uint_eq(desk_draw(d), 1);
    ck_assert_uint_eq(desk_pdf_size(d, 0), pdf.size);
    ck_assert_mem_eq(desk_pdf(d, 0), pdf.data, pdf.size);
    free(pdf.data);
    pv_summary_free(summary);
    pv_plan_free(plan);
    pv_course_free(course);
}
END_TEST

/* What there is no course or plan for gives nothing, and says so. */
START_TEST(nothing_is_said_to_be_nothing)
{
    for (int what = 0; what < 5; what++) {
        desk *empty = desk_open("en");
        ck_assert_ptr_null(what == 0   ? desk_drawing(empty, true)
                           : what == 1 ? desk_review(empty, false)
                           : what == 2 ? desk_plan(empty)
                                       : NULL);
        if (what == 3)
            ck_assert(!desk_lay(empty));
        if (what == 4)
            ck_assert_uint_eq(desk_draw(empty), 0);
        ck_assert_uint_eq(desk_said(empty), 1);
        ck_assert_int_eq(desk_said_severity(empty, 0), PV_ERROR);
        ck_assert_ptr_nonnull(
            strstr(desk_said_message(empty, 0), what == 2 || what == 4 ? "plan" : "course"));
        desk_close(empty);
    }
}
END_TEST

/* How long the sheets' PDF is, and its sum. */
static size_t drawn(uint32_t *sum)
{
    ck_assert(desk_lay(d));
    ck_assert_uint_eq(desk_draw(d), 1);
    *sum = 0;
    for (size_t i = 0; i < desk_pdf_size(d, 0); i++)
        *sum = *sum * 31 + desk_pdf(d, 0)[i];
    return desk_pdf_size(d, 0);
}

START_TEST(refused_choices_change_nothing)
{
    static const char *const choices[][2] = {
        {"language", "xx"}, {"printer", "{}"}, {"paper", ""}, {"colour", "grey"}};
    static const char printer[] =
        "{\"format\": \"pavior printer\", \"version\": 1, \"paper\": \"A5\", \"page_mm\": [148, "
        "210], "
        "\"scale\": {\"x\": {\"value\": 1.01, \"U\": 0.001, \"corrected\": true}, "
        "\"y\": {\"value\": 1.01, \"U\": 0.001, \"corrected\": true}}, "
        "\"skew_mrad\": {\"value\": null, \"U\": null, \"corrected\": false}, "
        "\"ink_mm\": {\"value\": null, \"U\": null, \"corrected\": false}}";
    uint32_t before = 0, after = 0;
    put_course(text);
    ck_assert(desk_choose(d, "paper", "A5"));
    ck_assert(desk_choose(d, "language", "de"));
    ck_assert(desk_choose(d, "printer", printer));
    size_t size = drawn(&before);
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++) {
        ck_assert(!desk_choose(d, choices[i][0], choices[i][1]));
        ck_assert_uint_eq(drawn(&after), size);
        ck_assert_msg(after == before, "%s", choices[i][0]);
    }
    /* Nor does one bring back what was chosen before. */
    desk_usual(d);
    ck_assert(!desk_choose(d, "paper", ""));
    ck_assert(desk_lay(d));
    ck_assert_str_eq(desk_laid_paper(d), "A4");
}
END_TEST

START_TEST(bad_choices_are_refused)
{
    static const char *const choices[][2] = {
        {"paper", ""},         {"orientation", "askew"}, {"margin-left", "7"},
        {"overlap", "wide"},   {"margin-top", "-1mm"},   {"overlap", "-1mm"},
        {"joint", "glue"},     {"colours", "loud"},      {"language", "xx"},
        {"printer", "{}"},     {"printer-class", "x"},   {"kit-roll", "0mm"},
        {"kit-paper", ""},     {"nothing", "A4"},        {"kit-roll", "wide"},
        {"kit-rolls", "36in"}, {"colour", "grey"}};
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++) {
        ck_assert(!desk_choose(d, choices[i][0], choices[i][1]));
        ck_assert_uint_eq(desk_said(d), 1);
        ck_assert_int_eq(desk_said_severity(d, 0), PV_ERROR);
        /* A printer file's lines are none of the course's. */
        ck_assert_int_eq(desk_said_line(d, 0), 0);
    }
    put_course(text);
    desk_usual(d);
    ck_assert(desk_choose(d, "paper", "A99"));
    ck_assert(!desk_lay(d));
    ck_assert_uint_eq(desk_sheets(d), 0);
    for (unsigned i = 0; i < PV_KIT_PAPERS_MAX; i++)
        ck_assert(desk_choose(d, "kit-paper", "A4"));
    ck_assert(!desk_choose(d, "kit-paper", "A4"));
    ck_assert(!desk_choose(d, "kit-roll", "36in"));
}
END_TEST

/* Whether the last work said so; whatever it said, it named no option, for the page has none. */
static bool said(const char *what)
{
    bool found = false;
    for (size_t i = 0; i < desk_said(d); i++) {
        const char *hint = desk_said_hint(d, i), *message = desk_said_message(d, i);
        ck_assert_ptr_null(strstr(message, "--"));
        ck_assert_msg(hint == NULL || strstr(hint, "--") == NULL, "%s", hint);
        found = found || strstr(message, what) != NULL;
    }
    return found;
}

START_TEST(advice_names_no_options)
{
    static const char small[] = "course \"Small\" edition \"1\"\nmat 10mm by 10mm ground white\n";
    static const char large[] = "course \"Large\" edition \"1\"\nmat 1.8m by 1.8m ground white\n";
    static const char many[] =
        "course \"Many\" edition \"1\"\nmat 900mm by 900mm ground white\n"
        "repeat i from 1 to 70\n"
        "  line width 5mm colour black from (i * 10mm, 9mm) to (i * 10mm, 99mm)\n"
        "end\n";
    put_course(small);
    desk_usual(d);
    ck_assert(desk_choose(d, "kit-roll", "36in"));
    ck_assert_uint_eq(desk_kit(d, "small-kit"), 0);
    ck_assert(said("four tags"));
    put_course(large);
    desk_usual(d);
    ck_assert(desk_choose(d, "kit-paper", "A6"));
    desk_kit(d, "large-kit");
    ck_assert(said("more than most teams will tape"));
    put_course(text);
    desk_usual(d);
    ck_assert(desk_choose(d, "kit-roll", "200mm"));
    desk_kit(d, "roll-kit");
    ck_assert(said("does not fit the"));
    put_course(many);
    char *whole = desk_review(d, true);
    ck_assert_ptr_nonnull(strstr(whole, "and 10 more"));
    ck_assert_ptr_null(strstr(whole, "--"));
    pv_free(whole);
}
END_TEST

static bool add_bytes(void *context, const void *bytes, size_t size, pv_diags *diags)
{
    pv_bytes *to = context;
    (void)diags;
    to->data = realloc(to->data, to->size + size);
    memcpy(to->data + to->size, bytes, size);
    to->size += size;
    return true;
}

static char *script(const char *what)
{
    char *copy = malloc(strlen(what) + 1);
    strcpy(copy, what);
    return copy;
}

START_TEST(it_makes_the_same_kit)
{
    static const char *const papers[] = {"A6"};
    put_course(text);
    desk_usual(d);
    ck_assert(desk_choose(d, "kit-paper", "A6"));
    desk_scripts(d, script("check"), 5, script("course"), 6);
    size_t size = desk_kit(d, "desk-kit");
    ck_assert_msg(size > 0, "%s", desk_said(d) > 0 ? desk_said_message(d, desk_said(d) - 1) : "");
    pv_bytes zip = {0};
    pv_kit_zip *to = pv_kit_zip_open("desk-kit", add_bytes, &zip, NULL);
    pv_kit_options how = pv_kit_defaults();
    how.papers = papers;
    how.n_papers = 1;
    how.checker = "check";
    how.checker_size = 5;
    how.maker = "course";
    how.maker_size = 6;
    pv_kit_free(pv_kit_make(text, strlen(text), NULL, test_type(), &how, pv_kit_zip_add, to, NULL));
    ck_assert(pv_kit_zip_close(to, NULL));
    ck_assert_uint_eq(size, zip.size);
    ck_assert_mem_eq(desk_kit_bytes(d), zip.data, zip.size);
    free(zip.data);
}
END_TEST

/* A stranger's text can end neither the page's field nor begin a script. */
START_TEST(the_page_holds_the_text)
{
    put_course("course \"</textarea><script>\" edition \"1\"\nmat 100mm by 80mm ground white\n");
    char *page = desk_page(d);
    ck_assert_ptr_nonnull(strstr(page, "\ncourse \"&lt;/textarea&gt;") != NULL
                              ? page
                              : strstr(page, "\ncourse &quot;&lt;/textarea&gt;"));
    ck_assert_ptr_null(strstr(page, "</textarea><script>"));
    ck_assert_ptr_null(strstr(page, "{{"));
    pv_free(page);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("desk");
    TCase *tc = tcase_create("desk");
    tcase_set_timeout(tc, 60);
    tcase_add_checked_fixture(tc, open_desk, close_desk);
    tcase_add_test(tc, it_draws_and_reviews_as_the_library);
    tcase_add_test(tc, faults_have_their_places);
    tcase_add_test(tc, it_lays_as_the_library);
    tcase_add_test(tc, nothing_is_said_to_be_nothing);
    tcase_add_test(tc, refused_choices_change_nothing);
    tcase_add_test(tc, bad_choices_are_refused);
    tcase_add_test(tc, advice_names_no_options);
    tcase_add_test(tc, it_makes_the_same_kit);
    tcase_add_test(tc, the_page_holds_the_text);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
