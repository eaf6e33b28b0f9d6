/* Allocations of a review and of its two forms are refused, one in each run: no crash, no leak
 * (under the sanitizers), and the reason is said. */
#include "common.h"
#include "refuse.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Something for every rule: a miss, an open region, a touch, text over the edge, alike colours. */
static const char text[] = "course \"Slip\" edition \"2\"\n"
                           "mat 400mm by 300mm ground white\n"
                           "colour slate = rgb(60, 60, 60)\n"
                           "paint width 8mm, colour black\n"
                           "line quay from (300, 0)mm by (0, 300)mm\n"
                           "line stub from (200, 250)mm to (295, 250)mm\n"
                           "line spur from (200, 40)mm to (200, 120)mm\n"
                           "circle buoy centre (40, 250)mm radius 20mm\n"
                           "fill at (40, 250)mm colour slate\n"
                           "fill at (100, 40)mm colour slate\n"
                           "text \"SLIP\" at (380, 40)mm height 20mm\n"
                           "finish at (350, 150)mm\n"
                           "robot 60mm by 40mm pivot 20mm\n"
                           "start at (60, 150)mm heading 0deg size 20mm\n"
                           "route from start, ahead 100mm, by (150, 10)mm\n";

typedef struct outcome {
    bool made, silent;
    char *text; /* both forms; NULL where one could not be made */
} outcome;

/* No assertion in here: Check itself needs memory. */
static outcome review(const pv_course *course, pv_diags *diags)
{
    outcome out = {false, false, NULL};
    pv_review *r = pv_review_make(course, diags);
    out.made = r != NULL;
    out.silent = r == NULL && pv_diags_cause(diags) != PV_CAUSE_MEMORY;
    char *said = r != NULL ? pv_review_text(r) : NULL, *json = r != NULL ? pv_review_json(r) : NULL;
    if (said != NULL && json != NULL &&
        (out.text = malloc(strlen(said) + strlen(json) + 1)) != NULL)
        strcat(strcpy(out.text, said), json);
    pv_free(said);
    pv_free(json);
    pv_review_free(r);
    return out;
}

START_TEST(every_allocation_may_fail)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), "slip.course", test_type(), diags);
    char *wrong = diags_text(diags);
    ck_assert_msg(course != NULL, "%s", wrong);
    outcome whole = review(course, diags);
    ck_assert_ptr_nonnull(whole.text);
    pv_free(wrong);
    pv_diags_free(diags);
    long n = 0, made_do = 0;
    for (bool reached = true; reached; n++) {
        diags = pv_diags_new();
        until = n;
        outcome out = review(course, diags);
        reached = until < 0;
        until = -1;
        ck_assert_msg(!out.silent, "refusing allocation %ld gave no reason", n);
        /* Where a quick way lacked memory a slow one may have done, but nothing may be missing. */
        ck_assert_msg(out.text == NULL || strcmp(out.text, whole.text) == 0,
                      "refusing allocation %ld changed the review", n);
        made_do += reached && out.text != NULL;
        free(out.text);
        pv_diags_free(diags);
        ck_assert_int_lt(n, 100000);
    }
    printf("    review: each of %ld allocations refused once; %ld times it made do\n", n - 1,
           made_do);
    ck_assert_int_le(made_do, 4);
    free(whole.text);
    pv_course_free(course);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("alloc_review");
    TCase *tcase = tcase_create("alloc_review");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, every_allocation_may_fail);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
