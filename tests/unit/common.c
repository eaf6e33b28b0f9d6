#include "common.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>

static pv_type *type;

pv_type *test_type(void)
{
    return type;
}

static void open_type(void)
{
    pv_diags *diags = pv_diags_new();
    type = pv_type_open(NULL, diags);
    if (type == NULL || pv_diags_size(diags) > 0) {
        fputs("the default typeface is not installed\n", stderr);
        exit(EXIT_FAILURE);
    }
    pv_diags_free(diags);
}

int run_suite(Suite *suite)
{
    open_type(); /* before Check forks: each test has its own copy */
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    pv_type_free(type);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

pv_bytes read_input(const char *path)
{
    pv_bytes bytes;
    pv_diags *diags = pv_diags_new();
    ck_assert_msg(pv_file_read(path, 1u << 30, &bytes, diags), "cannot read %s", path);
    pv_diags_free(diags);
    return bytes;
}

char *diags_text(const pv_diags *diags)
{
    pv_text out = PV_TEXT_INIT;
    for (size_t i = 0; i < pv_diags_size(diags); i++) {
        char *one = pv_diag_text(pv_diags_at(diags, i));
        pv_text_add(&out, "%s", one != NULL ? one : "");
        pv_free(one);
    }
    return pv_text_take(&out);
}

void say_worst(const char *what, double worst, double allowed, const char *unit)
{
    printf("    %-58s worst %.3g %s (allowed %.3g)\n", what, worst, unit, allowed);
    fflush(stdout);
}
