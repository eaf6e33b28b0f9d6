/* Making a kit, with its allocations refused in turn: no crash, no leak (under the sanitizers), and
 * the reason is said. */
#include "common.h"
#include "refuse.h"

#include <string.h>

static const char text[] = "course \"Alloc\" edition \"1\"\n"
                           "mat 120mm by 90mm ground white\n"
                           "line a width 20mm colour black from (0, 40)mm to (120, 40)mm\n";

static bool take(void *context, const pv_kit_member *member, pv_diags *diags)
{
    (void)diags;
    *(size_t *)context += member->size;
    return true;
}

static bool make_kit(pv_diags *diags)
{
    static const char *const papers[] = {"A6"};
    static const double rolls[] = {300.0};
    size_t size = 0;
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    options.rolls = rolls;
    options.n_rolls = 1;
    options.checker = "script";
    options.checker_size = 6;
    options.maker = "script";
    options.maker_size = 6;
    pv_kit *kit = pv_kit_make(text, strlen(text), NULL, test_type(), &options, take, &size, diags);
    pv_kit_free(kit);
    return kit != NULL;
}

/* With a former kit's plan, of which one line has changed. */
static bool make_next(pv_diags *diags)
{
    static const char *const papers[] = {"A6"};
    static const char next[] = "course \"Alloc\" edition \"2\"\n"
                               "mat 120mm by 90mm ground white\n"
                               "line a width 20mm colour black from (0, 40)mm to (120, 40)mm\n"
                               "line b width 5mm colour black from (5, 10)mm to (15, 10)mm\n";
    pv_course *course = pv_course_parse(text, strlen(text), NULL, test_type(), diags);
    pv_layout_options how = pv_layout_defaults();
    how.paper = papers[0];
    pv_plan *older = course != NULL ? pv_plan_make(course, &how, diags) : NULL;
    const pv_plan *list[] = {older};
    size_t size = 0;
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    options.older = list;
    options.n_older = 1;
    pv_kit *kit = older != NULL ? pv_kit_make(next, strlen(next), NULL, test_type(), &options, take,
                                              &size, diags)
                                : NULL;
    pv_kit_free(kit);
    pv_plan_free(older);
    pv_course_free(course);
    return kit != NULL;
}

static bool take_bytes(void *context, const void *bytes, size_t size, pv_diags *diags)
{
    (void)diags;
    (void)bytes;
    *(size_t *)context += size;
    return true;
}

static bool make_zip(pv_diags *diags)
{
    size_t size = 0;
    pv_kit_zip *zip = pv_kit_zip_open("kit", take_bytes, &size, diags);
    bool good = zip != NULL && pv_kit_zip_add(zip, &(pv_kit_member){"x.txt", "abc", 3}, diags);
    if (good)
        return pv_kit_zip_close(zip, diags);
    pv_kit_zip_free(zip);
    return false;
}

/* Each so many-th: there are thousands, and what a kit is made of has programs of its own that
 * refuse each. The two kits, nearly alike, take turns, unless PAVIOR_DRAWS is set. */
#define APART 37

static bool (*const kits[])(pv_diags *) = {make_kit, make_next};

START_TEST(kits_say_that_memory_ran_out)
{
    long before = made;
    ck_assert(kits[_i](NULL));
    long all = made - before;
    bool whole = getenv("PAVIOR_DRAWS") != NULL;
    long first = 5 + (whole ? 0 : _i * APART), apart = whole ? APART : 2 * APART;
    for (long n = first; n < all; n += apart) {
        pv_diags *said = pv_diags_new();
        until = n;
        bool good = kits[_i](said), reached = until < 0;
        until = -1;
        ck_assert_msg(good != reached, "refusing allocation %ld of %ld went unnoticed", n, all);
        ck_assert_msg(good || pv_diags_cause(said) == PV_CAUSE_MEMORY,
                      "refusing allocation %ld of %ld gave cause %d", n, all,
                      (int)pv_diags_cause(said));
        pv_diags_free(said);
    }
    printf("    kit: every %ldth of %ld allocations refused once\n", apart, all);
}
END_TEST

START_TEST(archives_say_that_memory_ran_out)
{
    refuse_each(make_zip, "zip");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("alloc_kit");
    TCase *tc = tcase_create("alloc_kit");
    tcase_set_timeout(tc, 300);
    tcase_add_loop_test(tc, kits_say_that_memory_ran_out, 0, 2);
    tcase_add_test(tc, archives_say_that_memory_ran_out);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
