/* Every allocation of reading a course is refused once, for a sound course and for a wrong one: no
 * crash, no leak (under the sanitizers), no course, and the reason is said. */
#include "common.h"
#include "refuse.h"

#include "course/model.h"
#include "type/face.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Something of everything, with a warning. */
static const char sound[] = "course \"Alloc {1 + 1}\" edition \"1\"\n"
                            "colour sea = rgb(10, 20, 200)\n"
                            "colour fog = hex \"c0c0c0\"\n"
                            "mat 250mm by 150mm ground fog\n"
                            "paint width 5mm, colour black, ends flat\n"
                            "let gap = 10mm\n"
                            "repeat i from 1 to 9\n"
                            "  let here = i * gap\n"
                            "  line rail from (here, 0mm) to (here, 20mm)\n"
                            "end\n"
                            "line from (0, 40)mm heading 0deg ahead 60mm left 90deg radius 9mm\n"
                            "arc centre (200, 90)mm radius 9mm from 0deg sweep 90deg\n"
                            "circle centre (150, 90)mm radius 9mm\n"
                            "box dock from (180, 50)mm to (240, 80)mm\n"
                            "fill at (150, 90)mm colour sea\n"
                            "fill at (152, 90)mm colour sea\n"
                            "text \"HELLO\" at (20, 100)mm height 12mm\n"
                            "start at (30, 60)mm heading 0deg\n"
                            "finish at (200, 60)mm\n"
                            "robot 30mm by 20mm pivot 9mm\n"
                            "route from start, ahead 100mm, to finish\n";

static const char wrong[] = "mat 250mm by 150mm\n"
                            "let gap = 9inn\n"
                            "line width 3mm, wdith from (0, 0)mm\n"
                            "text \"\xCE\xA9\" at (1, 1)mm height 2mm\n"
                            "course \"Quay\n"
                            "repeat i from 1 to 3\n";

/* Nothing is missing: where a library's quick way lacked memory, its slow way may have done. */
static bool whole(const pv_course *course)
{
    bool filled = course->art.n_fills == 2 && course->finish.outline.n_rings == 1;
    /* The second fills the region of the first, and adds nothing. */
    filled = filled && course->art.fills[0].n_rings == 1 && course->art.fills[1].n_rings == 0;
    return filled && course->art.n_lines == 13 && course->art.n_letterings == 1 &&
           course->art.n_marks == 1 && course->route.n == 2;
}

static void refuse_course(const char *text, bool is_sound)
{
    long n = 0;
    for (bool reached = true; reached; n++) {
        pv_diags *said = pv_diags_new();
        until = n;
        pv_course *course = pv_course_parse(text, strlen(text), "alloc.course", test_type(), said);
        reached = until < 0;
        until = -1;
        if (course != NULL && (!is_sound || !whole(course)))
            ck_abort_msg("refusing allocation %ld went unnoticed", n);
        if (course == NULL && is_sound && (!reached || pv_diags_cause(said) != PV_CAUSE_MEMORY))
            ck_abort_msg("refusing allocation %ld gave cause %d", n, (int)pv_diags_cause(said));
        if (course == NULL && pv_diags_count(said, PV_ERROR) == 0)
            ck_abort_msg("refusing allocation %ld gave no reason", n);
        pv_course_free(course);
        pv_diags_free(said);
        ck_assert_int_lt(n, 100000);
    }
    printf("    %s course: each of %ld allocations refused once\n", is_sound ? "sound" : "wrong",
           n - 1);
}

START_TEST(sound_course)
{
    refuse_course(sound, true);
}
END_TEST

START_TEST(wrong_course)
{
    refuse_course(wrong, false);
}
END_TEST

/* That memory ran out is no word about what is installed: of a character that no face has, and of
 * one that some machines have a face for. */
START_TEST(faces_for_characters)
{
    static const uint32_t codes[] = {0x378, 0x2603};
    pv_type *own = pv_type_open(NULL, NULL);
    pv_finder_free(own->finder);
    own->finder = NULL;
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        long n = 0;
        for (bool reached = true; reached; n++) {
            until = n;
            pv_cover covered = pv_type_cover(own, codes[i]);
            reached = until < 0;
            until = -1;
            ck_assert_int_eq(covered == PV_COVER_NO_MEMORY, reached);
        }
    }
    pv_type_free(own);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("memory of the language");
    TCase *memory = tcase_create("memory");
    tcase_set_timeout(memory, 60);
    tcase_add_test(memory, sound_course);
    tcase_add_test(memory, wrong_course);
    tcase_add_test(memory, faces_for_characters);
    suite_add_tcase(suite, memory);
    return run_suite(suite);
}
