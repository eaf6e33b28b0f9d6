/* Every allocation of calibrating, of a printer's and a scanner's file and of drawing for a printer
 * is refused once: no crash, no leak (under the sanitizers), and the reason is said. */
#include "common.h"
#include "refuse.h"

#include <pavior/printer.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define REFERENCE(kind, x, y, disagrees)                                                           \
    "{\"kind\": \"" kind "\", \"x\": {\"value\": " x ", \"U\": 0.0008}, \"y\": {\"value\": " y     \
    ", \"U\": 0.0008}, \"skew_mrad\": {\"value\": 2, \"U\": 0.5}, \"disagrees\": " disagrees "}"

static const char report[] =
    "[{\"file\": \"dark.png\", \"error\": \"it is dark\"}, {\"file\": \"a.png\", \"paper\": "
    "\"A4\", \"page_mm\": [210, 297], \"photograph\": false, \"reference\": {\"U_rel\": 0.001, "
    "\"scanner\": \"flatbed\"}, "
    "\"scale\": {\"x\": {\"value\": 0.989, \"U\": 0.001}, \"y\": {\"value\": 0.996, \"U\": "
    "0.001}}, "
    "\"skew_mrad\": {\"value\": 2, \"U\": 1}, \"ink_mm\": {\"value\": 0.06, \"U\": 0.01}, "
    "\"turn_deg\": 0.1, \"references\": [" REFERENCE("scanner", "0.989", "0.996",
                                                     "false") ", " REFERENCE("card", "0.990",
                                                                             "0.997", "true") "]}]";

static const char course_text[] = "course \"Alloc\" edition \"1\"\n"
                                  "mat 150mm by 100mm ground white\n"
                                  "paint width 20mm, colour black, ends flat\n"
                                  "line a from (10, 10)mm to (140, 90)mm\n"
                                  "line b width 4mm, from (10, 90)mm to (140, 80)mm\n"
                                  "text \"HELLO\" at (20, 60)mm height 12mm\n";

/* Made once, with all the memory there is. */
static pv_plan *plan;
static pv_printer *printer;
static pv_scanner scanner;
static char *printer_json, *scanner_json;

/* No assertion in these: Check itself needs memory. */
static bool find_printer(pv_diags *diags)
{
    pv_report_text two[] = {{"r", report, sizeof report - 1}, {"s", report, sizeof report - 1}};
    pv_printer *found = pv_calibrate_printer(two, 2, NULL, diags);
    pv_printer_free(found);
    return found != NULL;
}

static bool find_scanner(pv_diags *diags)
{
    pv_report_text two[] = {{"r", report, sizeof report - 1}, {"s", report, sizeof report - 1}};
    pv_scanner found;
    return calibrate_scanner(two, 2, &found, diags);
}

static bool write_printer(pv_diags *diags)
{
    char *text = pv_printer_json(printer, diags);
    pv_free(text);
    return text != NULL;
}

static bool read_printer(pv_diags *diags)
{
    pv_printer *read = pv_printer_parse(printer_json, strlen(printer_json), "p", diags);
    pv_printer_free(read);
    return read != NULL;
}

static bool write_scanner(pv_diags *diags)
{
    char *text = pv_scanner_json(&scanner, diags);
    pv_free(text);
    return text != NULL;
}

static bool read_scanner(pv_diags *diags)
{
    pv_scanner read;
    return scanner_parse(scanner_json, strlen(scanner_json), "s", &read, diags);
}

static bool draw(pv_diags *diags)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    bool good = sheets_pdf(plan, NULL, &bytes, &size, diags);
    bool same = good == (bytes != NULL);
    pv_free(bytes);
    return same && good;
}

static bool make_proof(pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A4";
    options.type = test_type();
    pv_plan *proof = pv_plan_proof(&options, diags);
    pv_plan_free(proof);
    return proof != NULL;
}

static void make_all(void)
{
    pv_diags *diags = pv_diags_new();
    pv_report_text one = {"r", report, sizeof report - 1};
    printer = pv_calibrate_printer(&one, 1, NULL, diags);
    bool good = printer != NULL && calibrate_scanner(&one, 1, &scanner, diags);
    pv_course *course =
        pv_course_parse(course_text, sizeof course_text - 1, NULL, test_type(), diags);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A5";
    options.printer = printer;
    plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    char *why = diags_text(diags);
    ck_assert_msg(good && plan != NULL, "%s", why);
    printer_json = pv_printer_json(printer, diags);
    scanner_json = pv_scanner_json(&scanner, diags);
    pv_free(why);
    pv_course_free(course);
    pv_diags_free(diags);
}

static void drop_all(void)
{
    pv_plan_free(plan);
    pv_printer_free(printer);
    pv_free(printer_json);
    pv_free(scanner_json);
}

START_TEST(calibrating_without_memory)
{
    refuse_each(find_printer, "calibrate");
    refuse_each(find_scanner, "calibrate --scanner");
}
END_TEST

START_TEST(files_without_memory)
{
    refuse_each(write_printer, "printer file, writing");
    refuse_each(read_printer, "printer file, reading");
    refuse_each(write_scanner, "scanner file, writing");
    refuse_each(read_scanner, "scanner file, reading");
}
END_TEST

START_TEST(drawing_without_memory)
{
    refuse_each(draw, "pdf for a printer");
    refuse_each(make_proof, "proof page");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("calibrate without memory");
    TCase *tcase = tcase_create("calibrate without memory");
    tcase_set_timeout(tcase, 120);
    tcase_add_unchecked_fixture(tcase, make_all, drop_all);
    tcase_add_test(tcase, calibrating_without_memory);
    tcase_add_test(tcase, files_without_memory);
    tcase_add_test(tcase, drawing_without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
