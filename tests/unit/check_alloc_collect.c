/* Collecting, merging, and all that follows from results, with each allocation refused in turn. */
#include "common.h"
#include "refuse.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char text[] = "course \"Alloc\" edition \"1\"\n"
                           "mat 120mm by 80mm ground white\n"
                           "paint width 10mm, colour black, ends flat\n"
                           "line a width 10mm from (20, 10)mm to (20, 70)mm\n";

static const pv_collect_picture pictures[] = {
    {.team = "north", .file = "1.png"},
    {.team = "north", .file = "2.png", .told = true, .scanner = PV_SCANNER_FEEDER},
    {.team = "south", .file = "=3.png"},
    {.team = "", .file = "4.png"}};
#define PICTURES (sizeof pictures / sizeof *pictures)

static pv_plan *plan;
static char name[64], other[64];

/* No picture; the third cannot be read. */
static bool read_any(void *context, size_t index, unsigned char **bytes, size_t *size,
                     pv_diags *diags)
{
    (void)context;
    if (index == 2) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "it is locked");
        return false;
    }
    *bytes = malloc(12);
    if (*bytes == NULL) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory");
        return false;
    }
    memcpy(*bytes, "no picture ", 12);
    (*bytes)[11] = (unsigned char)('0' + index);
    *size = 12;
    return true;
}

static bool collect(pv_diags *diags)
{
    const pv_plan *const plans[] = {plan};
    pv_collect_result out;
    pv_collect_options options = pv_collect_defaults();
    options.kit_json = "{\"contact\": \"mats@example.org\"}";
    unlink(name);
    pv_results *results = pv_results_open(name, diags);
    bool good = results != NULL && pv_collect(results, plans, 1, pictures, PICTURES, read_any, NULL,
                                              &options, &out, diags);
    pv_results_close(results);
    return good;
}

static bool merge(pv_diags *diags)
{
    const char *const names[] = {name};
    unlink(other);
    pv_results *results = pv_results_open(other, diags);
    bool good = results != NULL && pv_results_merge(results, names, 1, diags);
    pv_results_close(results);
    return good;
}

static bool tell(pv_diags *diags)
{
    pv_results *results = pv_results_open(name, diags);
    pv_tally *tally = results != NULL ? pv_tally_make(results, diags) : NULL;
    bool good = tally != NULL;
    pv_results_close(results);
    pv_tally_free(tally);
    return good;
}

static pv_tally *ready;

static bool give(char *out)
{
    bool good = out != NULL;
    pv_free(out);
    return good;
}

static bool csv(pv_diags *diags)
{
    if (give(pv_tally_csv(ready)))
        return true;
    pv_fail_memory(diags);
    return false;
}

static bool page(pv_diags *diags)
{
    return give(pv_tally_html(ready, diags));
}

static bool team_page(pv_diags *diags)
{
    return give(pv_tally_team_html(ready, 1, diags));
}

START_TEST(without_memory)
{
    snprintf(name, sizeof name, "/tmp/check-alloc-collect-%ld.sqlite", (long)getpid());
    snprintf(other, sizeof other, "/tmp/check-alloc-merged-%ld.sqlite", (long)getpid());
    pv_course *course = pv_course_parse(text, strlen(text), NULL, test_type(), NULL);
    plan = pv_plan_make(course, NULL, NULL);
    ck_assert_ptr_nonnull(plan);
    refuse_each(collect, "collect");
    refuse_each(merge, "merge");
    refuse_each(tell, "tally");
    pv_results *results = pv_results_open(name, NULL);
    ready = pv_tally_make(results, NULL);
    pv_results_close(results);
    ck_assert_ptr_nonnull(ready);
    ck_assert_uint_eq(pv_tally_pictures(ready), PICTURES);
    refuse_each(csv, "CSV");
    refuse_each(page, "the organiser's page");
    refuse_each(team_page, "a team's page");
    pv_tally_free(ready);
    pv_plan_free(plan);
    pv_course_free(course);
    unlink(name);
    unlink(other);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("collect without memory");
    TCase *tcase = tcase_create("collect without memory");
    tcase_set_timeout(tcase, 240);
    tcase_add_test(tcase, without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
