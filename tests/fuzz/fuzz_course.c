/* Fuzz target: any bytes as a course. Whatever they are, the parser answers with a course or with
 * at least one error, and every finding can be put into words. */
#include <pavior/pavior.h>

#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static pv_type *type;

static void close_type(void)
{
    pv_type_free(type);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (type == NULL) {
        type = pv_type_open(NULL, NULL);
        atexit(close_type);
    }
    pv_diags *diags = pv_diags_new();
    if (diags == NULL || type == NULL)
        abort();
    pv_course *course = pv_course_parse((const char *)data, size, "fuzz", type, diags);
    if ((course == NULL) != (pv_diags_count(diags, PV_ERROR) > 0))
        abort();
    for (size_t i = 0; i < pv_diags_size(diags); i++) {
        char *text = pv_diag_text(pv_diags_at(diags, i));
        if (text == NULL)
            abort();
        pv_free(text);
    }
    if (course != NULL && !(pv_course_width(course) >= PV_COURSE_SIDE_MIN &&
                            pv_course_height(course) <= PV_COURSE_SIDE_MAX))
        abort();
    pv_course_free(course);
    pv_diags_free(diags);
    return 0;
}
