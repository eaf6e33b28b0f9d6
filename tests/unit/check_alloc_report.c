/* Allocations of an inspection with every reference that options can give, and each one of its
 * reports, are refused: no crash, no leak (under the sanitizers), and the reason is said. */
#include "refuse.h"
#include "sheet_picture.h"

static pv_plan *plan;
static pv_bytes png;
static pv_inspection *whole;
static long silent; /* runs that failed without saying why */

/* Readings that contradict each other, so that the notes about it are made, too. */
static const pv_ruler_reading readings[] = {
    {'P', 'Q', 128, 0.3}, {'R', 'S', 134, 0.3}, {'P', 'S', 86, 0.3}};
static const pv_scanner scanner = {{1.001, 0.999}, {3e-4, 3e-4}, 0.2, 0.3};

static pv_inspect_options with_all(void)
{
    pv_inspect_options options = pv_inspect_defaults();
    options.readings = readings;
    options.n_readings = 3;
    options.scanner = &scanner;
    options.picture_px_per_mm = PV_PICTURE_PX_PER_MM;
    return options;
}

/* No assertion in these: Check itself needs memory. */
static bool inspect(pv_diags *diags)
{
    pv_inspect_options options = with_all();
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", &options, diags);
    bool good = in != NULL && pv_inspection_sheet(in)->error == NULL;
    silent += in == NULL && pv_diags_cause(diags) != PV_CAUSE_MEMORY;
    pv_inspection_free(in);
    return good;
}

static bool report(pv_diags *diags)
{
    const pv_inspection *items[] = {whole, whole};
    char *html = pv_inspections_html((const pv_plan *[]){plan}, 1, items, 2, diags);
    silent += html == NULL && pv_diags_cause(diags) != PV_CAUSE_MEMORY;
    pv_free(html);
    return html != NULL;
}

static bool certify(pv_diags *diags)
{
    const pv_inspection *items[] = {whole, whole};
    unsigned char *bytes;
    size_t size;
    forget_widths();
    bool good = pv_inspections_certificate((const pv_plan *[]){plan}, 1, items, 2, test_type(),
                                           &bytes, &size, diags);
    silent += !good && pv_diags_cause(diags) != PV_CAUSE_MEMORY;
    pv_free(bytes);
    return good;
}

static bool say(char *text)
{
    bool good = text != NULL;
    pv_free(text);
    return good;
}

static bool budget(pv_diags *diags)
{
    (void)diags;
    const pv_inspection *items[] = {whole, whole};
    return say(pv_inspections_budget(items, 2));
}

static bool text(pv_diags *diags)
{
    (void)diags;
    const pv_inspection *items[] = {whole, whole};
    return say(pv_inspections_text(items, 2, true));
}

static bool json(pv_diags *diags)
{
    (void)diags;
    const pv_inspection *items[] = {whole, whole};
    return say(pv_inspections_json(items, 2, true));
}

static bool state(pv_diags *diags)
{
    (void)diags;
    return say(pv_inspection_statement(whole));
}

static bool code(pv_diags *diags)
{
    (void)diags;
    return pv_inspection_code(whole).chars[0] != '\0';
}

/* The first `each` ones each by itself, then ever fewer: most of the rest grow one list or another.
 */
static void refuse_many(bool (*work)(pv_diags *), const char *name, long each, long step)
{
    pv_diags *diags = pv_diags_new();
    made = silent = 0;
    bool good = work(diags);
    long all = made, runs = 0; /* before the assertion, which needs memory too */
    ck_assert_msg(good, "%s", name);
    pv_diags_free(diags);
    for (long n = 0; n < all; n += n < each ? 1 : 1 + n / step, runs++) {
        diags = pv_diags_new();
        until = n;
        good = work(diags);
        until = -1;
        ck_assert_msg(!good, "%s: refusing allocation %ld of %ld went unnoticed", name, n, all);
        pv_diags_free(diags);
    }
    ck_assert_msg(silent == 0, "%s: %ld refusals were not said", name, silent);
    printf("    %s: %ld of %ld allocations refused\n", name, runs, all);
}

static void make_all(void)
{
    picture_setup s = {.dpi = {120, 120},
                       .scale = {0.97, 0.97},
                       .turn = 0.01,
                       .stated_dpi = {120, 120},
                       .shown = 1};
    plan = picture_plan();
    png = sheet_picture(plan, &s);
    pv_inspect_options options = with_all();
    whole =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", &options, NULL);
    ck_assert(whole != NULL && pv_inspection_sheet(whole)->error == NULL);
    ck_assert_uint_ge(pv_inspection_references(whole), 2);
}

static void drop_all(void)
{
    pv_inspection_free(whole);
    pv_plan_free(plan);
    free(png.data);
}

START_TEST(references_without_memory)
{
    refuse_many(inspect, "inspection with references", 40, 30);
}
END_TEST

START_TEST(reports_without_memory)
{
    refuse_many(report, "page for people", 150, 60);
    refuse_many(certify, "certificate", 150, 60);
    refuse_many(state, "statement", 1000, 1);
    refuse_many(code, "code", 1000, 1);
    refuse_many(budget, "budget", 1000, 1);
    refuse_many(text, "text", 1000, 1);
    refuse_many(json, "json", 300, 60);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("report without memory");
    TCase *tcase = tcase_create("report without memory");
    tcase_set_timeout(tcase, 240);
    tcase_add_unchecked_fixture(tcase, make_all, drop_all);
    tcase_add_test(tcase, references_without_memory);
    tcase_add_test(tcase, reports_without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
