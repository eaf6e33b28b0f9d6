/* Options and results can grow (pavior.h): a program that was compiled with a shorter struct of
 * options, or with a longer one, gets defaults for what one side doesn't know. */
#include "art_by_hand.h"

#include "base/memory.h"
#include "plan/options.h"

#include <stddef.h>
#include <string.h>

/* The layout's options as an older header would have had them: no joint and nothing after it. */
typedef struct old_layout {
    size_t size;
    const char *paper;
    pv_orientation orientation;
    double margin[4];
    const char *printer_class;
    double overlap;
} old_layout;

_Static_assert(offsetof(old_layout, overlap) == offsetof(pv_layout_options, overlap),
               "the shorter struct begins as the present one");

/* And as a newer one would have them. */
typedef struct new_layout {
    pv_layout_options now;
    double later[3];
} new_layout;

#define GUARD 0xA5

START_TEST(shorter_options_work)
{
    struct {
        old_layout options;
        unsigned char beyond[64];
    } program;
    memset(&program, GUARD, sizeof program);
    pv_layout_init((pv_layout_options *)&program.options, sizeof program.options);
    for (size_t i = 0; i < sizeof program.beyond; i++)
        ck_assert_uint_eq(program.beyond[i], GUARD); /* nothing is written past its end */
    ck_assert_uint_eq(program.options.size, sizeof(old_layout));
    ck_assert_str_eq(program.options.paper, "A4");
    program.options.paper = "A5";
    program.options.overlap = 20;

    pv_layout_options same = pv_layout_defaults();
    same.paper = "A5";
    same.overlap = 20;
    pv_art art;
    art_yard(&art);
    /* What stands beyond would be a joint, a border and a roll that don't exist. */
    pv_plan *old = pv_plan_of_art(&art, (const pv_layout_options *)&program.options, NULL);
    pv_plan *now = pv_plan_of_art(&art, &same, NULL);
    ck_assert(old != NULL && now != NULL);
    char *one = pv_plan_json(old, NULL), *other = pv_plan_json(now, NULL);
    ck_assert_str_eq(one, other);
    pv_free(one);
    pv_free(other);
    pv_plan_free(old);
    pv_plan_free(now);
    pv_art_clear(&art);
}
END_TEST

START_TEST(longer_options_work)
{
    new_layout later;
    memset(&later, GUARD, sizeof later);
    pv_layout_init(&later.now, sizeof later);
    ck_assert_uint_eq(later.now.size, sizeof later);
    ck_assert(later.later[0] == 0 && later.later[2] == 0); /* what this library doesn't know */
    later.now.paper = "letter";
    pv_settled settled;
    ck_assert(pv_layout_settle(&later.now, &settled, NULL));
    ck_assert_uint_eq(settled.o.size, sizeof settled.o);
    ck_assert_str_eq(settled.o.paper, "letter");
}
END_TEST

START_TEST(no_options_are_the_defaults)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options o = pv_layout_defaults();
    pv_plan *plan = pv_plan_of_art(&art, NULL, NULL), *other = pv_plan_of_art(&art, &o, NULL);
    char *one = pv_plan_json(plan, NULL), *two = pv_plan_json(other, NULL);
    ck_assert_str_eq(one, two);
    pv_free(one);
    pv_free(two);
    pv_plan_free(plan);
    pv_plan_free(other);
    pv_art_clear(&art);
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_plan_proof(NULL, diags)); /* without a typeface */
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
}
END_TEST

START_TEST(every_options_struct_knows_its_size)
{
    pv_pdf_options pdf = pv_pdf_defaults();
    pv_inspect_options inspect = pv_inspect_defaults();
    ck_assert_uint_eq(pdf.size, sizeof pdf);
    ck_assert_uint_eq(inspect.size, sizeof inspect);
    ck_assert_uint_eq(offsetof(pv_layout_options, size), 0);
    ck_assert_uint_eq(offsetof(pv_pdf_options, size), 0);
    ck_assert_uint_eq(offsetof(pv_inspect_options, size), 0);
    ck_assert_double_eq(inspect.scanner_U_rel, -1);
}
END_TEST

/* ---- settled options ---- */

START_TEST(margins_that_are_left_open_are_the_usual)
{
    pv_settled s;
    pv_layout_options o = pv_layout_defaults();
    o.margin[1] = 12;
    ck_assert(pv_layout_settle(&o, &s, NULL));
    ck_assert(s.o.margin[0] == 5 && s.o.margin[1] == 12);
    o.printer_class = "inkjet";
    o.orientation = PV_PORTRAIT;
    ck_assert(pv_layout_settle(&o, &s, NULL));
    ck_assert(s.o.margin[0] == 4 && s.o.margin[1] == 12 && s.o.margin[3] == 3);
    pv_diags *diags = pv_diags_new();
    o.printer_class = "typewriter";
    ck_assert(!pv_layout_settle(&o, &s, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    o.printer_class = NULL;
    o.roll = 914;
    ck_assert(pv_layout_settle(&o, &s, NULL));
    ck_assert(s.o.margin[0] == 5 && s.o.margin[1] == 12 && s.o.margin[3] == 18);
}
END_TEST

/* The plan, its margins and its pages are of one printer. */
START_TEST(a_printer_widens_margins_and_is_kept)
{
    char paper[] = "A4";
    pv_printer printer = {.paper = paper, .page = {210, 297}};
    for (int i = 0; i < 2; i++)
        printer.scale[i] = (pv_printer_value){0.99, 0.001, true};
    pv_art art;
    art_yard(&art);
    pv_layout_options o = pv_layout_defaults();
    o.printer = &printer;
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = pv_plan_of_art(&art, &o, diags);
    ck_assert_ptr_nonnull(plan);
    ck_assert_uint_eq(pv_diags_size(diags), 0);
    /* Drawn larger by 1/0.99, a page of 297 mm reaches 1.5 mm further at each end. */
    ck_assert_double_eq_tol(plan->margin[0], 5 + 1.5, 1e-9);
    pv_summary *summary = pv_summary_make(plan, NULL);
    ck_assert_double_eq_tol(pv_summary_plan(summary)->widened, 1.5, 1e-9);
    pv_summary_free(summary);
    ck_assert(plan->corrected.any && plan->corrected.scale[0] == 0.99);
    ck_assert(plan->printer != NULL && plan->printer != &printer);
    pv_plan_free(plan);
    o.paper = "A3"; /* not the paper that it was measured on */
    plan = pv_plan_of_art(&art, &o, diags);
    ck_assert_ptr_nonnull(plan);
    ck_assert_uint_eq(pv_diags_count(diags, PV_WARNING), 1);
    pv_plan_free(plan);
    o.roll = 914;
    ck_assert_ptr_null(pv_plan_of_art(&art, &o, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    pv_art_clear(&art);
}
END_TEST

/* ---- the summary ---- */

START_TEST(a_summary_says_what_the_plan_holds)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options o = pv_layout_defaults();
    pv_plan *plan = pv_plan_of_art(&art, &o, NULL);
    pv_summary *summary = pv_summary_make(plan, NULL);
    ck_assert_ptr_nonnull(summary);
    const pv_plan_info *whole = pv_summary_plan(summary);
    ck_assert_str_eq(whole->name, art.name);
    ck_assert_str_eq(whole->paper, "A4");
    ck_assert_str_eq(whole->kit, pv_plan_kit(plan).chars);
    ck_assert_uint_eq(whole->sheets, whole->rows * whole->columns);
    ck_assert_uint_gt(whole->sheets, 1);
    size_t crosses = 0, taped = 0;
    double area = 0;
    for (size_t i = 0; i < whole->seams; i++)
        crosses += pv_summary_seam(summary, i)->crosses;
    for (size_t i = 0; i < whole->sheets; i++) {
        const double *cell = pv_summary_sheet(summary, i)->cell;
        area += (cell[2] - cell[0]) * (cell[3] - cell[1]);
        taped += pv_summary_taped(summary, i)->row + 1; /* each once */
    }
    ck_assert_uint_eq(crosses, whole->crosses);
    ck_assert_double_eq_tol(area, whole->mat[0] * whole->mat[1], 1e-6);
    ck_assert_uint_eq(taped, whole->columns * whole->rows * (whole->rows + 1) / 2);
    ck_assert_str_eq(pv_summary_sheet(summary, 0)->name, "A1");
    ck_assert_ptr_null(pv_summary_sheet(summary, whole->sheets));
    ck_assert_ptr_null(pv_summary_taped(summary, whole->sheets));
    ck_assert_ptr_null(pv_summary_seam(summary, whole->seams));
    pv_summary_free(summary);
    pv_plan_free(plan);
    pv_art_clear(&art);
}
END_TEST

/* ---- what people give ---- */

START_TEST(files_are_known_by_their_first_bytes)
{
    static const struct {
        const char *bytes;
        pv_file_kind kind;
    } files[] = {{"%PDF-1.7", PV_FILE_PDF},
                 {"\x89PNG\r\n\x1A\n....", PV_FILE_PNG},
                 {"\xFF\xD8\xFF\xE0", PV_FILE_JPEG},
                 {"PK\x03\x04", PV_FILE_ZIP},
                 {"{\"format\": \"pavior plan\"", PV_FILE_PLAN},
                 {" \n{ \"format\": \"pavior printer\"", PV_FILE_PRINTER},
                 {"{\"format\": \"pavior scanner\"", PV_FILE_SCANNER},
                 {"{\"format\": \"another\"", PV_FILE_TEXT},
                 {"[{\"file\": \"a.png\"", PV_FILE_REPORT},
                 {"course \"Quay\" edition \"1\"", PV_FILE_COURSE},
                 {"", PV_FILE_TEXT}};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        ck_assert_int_eq(pv_file_kind_of(files[i].bytes, strlen(files[i].bytes)), files[i].kind);
    ck_assert_int_eq(pv_file_kind_of("\0\0\0\0\0", 5), PV_FILE_BINARY);
    ck_assert_int_eq(pv_file_kind_of("\xFF\xFE"
                                     "a\0b\0c\0d\0e\0",
                                     12),
                     PV_FILE_TEXT);
    ck_assert_str_eq(pv_file_kind_name(PV_FILE_PNG), "a PNG picture");
}
END_TEST

START_TEST(strangers_text_is_made_safe)
{
    char *safe = pv_text_safe("a\x1B[31m\xC2\x9B b\xFF"), *json = pv_text_json("a\"\\\n\x01\xFF");
    ck_assert_str_eq(safe, "a?[31m? b?");
    ck_assert_str_eq(json, "\"a\\\"\\\\\\n\\u0001\xEF\xBF\xBD\"");
    pv_free(safe);
    pv_free(json);
    for (int cause = PV_CAUSE_NONE; cause <= PV_CAUSE_LIBRARY; cause++)
        ck_assert_ptr_nonnull(pv_cause_text((pv_cause)cause));
    ck_assert_str_eq(pv_cause_text(PV_CAUSE_MEMORY), "out of memory");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("options");
    TCase *t = tcase_create("options");
    tcase_add_test(t, shorter_options_work);
    tcase_add_test(t, longer_options_work);
    tcase_add_test(t, no_options_are_the_defaults);
    tcase_add_test(t, every_options_struct_knows_its_size);
    tcase_add_test(t, margins_that_are_left_open_are_the_usual);
    tcase_add_test(t, a_printer_widens_margins_and_is_kept);
    tcase_add_test(t, a_summary_says_what_the_plan_holds);
    tcase_add_test(t, files_are_known_by_their_first_bytes);
    tcase_add_test(t, strangers_text_is_made_safe);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
