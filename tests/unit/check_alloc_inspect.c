/* Allocations of a whole inspection and of its reports are refused, one in each run: no crash, no
 * leak (under the sanitizers), and the reason is said. */
#include "refuse.h"
#include "sheet_picture.h"

static long silent; /* runs that failed without saying why */

/* No assertion in here: Check itself needs memory. */
static bool inspect(const pv_plan *plan, const pv_bytes *png, pv_diags *diags)
{
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png->data, png->size, "pier.png", NULL, diags);
    bool good = in != NULL && pv_inspection_sheet(in)->error == NULL;
    silent += in == NULL && pv_diags_cause(diags) != PV_CAUSE_MEMORY;
    if (good) {
        const pv_inspection *items[] = {in, in};
        char *text = pv_inspections_text(items, 2, true),
             *json = pv_inspections_json(items, 2, true), *budget = pv_inspections_budget(items, 2);
        good = text != NULL && json != NULL && budget != NULL;
        pv_free(budget);
        pv_free(text);
        pv_free(json);
    }
    pv_inspection_free(in);
    return good;
}

START_TEST(every_allocation_may_fail)
{
    pv_plan *plan = picture_plan();
    picture_setup s = {.dpi = {110, 110},
                       .scale = {0.97, 0.97},
                       .turn = 0.01,
                       .stated_dpi = {110, 110},
                       .shown = 1};
    pv_bytes png = sheet_picture(plan, &s);
    pv_diags *diags = pv_diags_new();
    made = 0;
    bool whole = inspect(plan, &png, diags);
    long all = made; /* before the assertion, which needs memory too */
    ck_assert(whole);
    pv_diags_free(diags);
    /* The first ones each by itself, then ever fewer: most of the rest grow one list or another. */
    long runs = 0;
    for (long n = 0; n < all; n += n < 60 ? 1 : 1 + n / 40, runs++) {
        diags = pv_diags_new();
        until = n;
        bool good = inspect(plan, &png, diags);
        until = -1;
        ck_assert_msg(!good, "refusing allocation %ld of %ld went unnoticed", n, all);
        pv_diags_free(diags);
    }
    ck_assert_int_eq(silent, 0);
    printf("    %ld of %ld allocations refused\n", runs, all);
    free(png.data);
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("alloc inspect");
    TCase *tcase = tcase_create("alloc inspect");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, every_allocation_may_fail);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
