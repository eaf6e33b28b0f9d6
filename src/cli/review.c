/* pavior review: is a course sound, and does its robot fit? */
#include "cli.h"

#include <stdlib.h>
#include <string.h>

typedef struct request {
    const char *course, *out, *svg, *dimensions, *paper, *font;
    bool json, quiet, run, replace;
} request;

static bool one_name(const char *a, const char *b)
{
    return a != NULL && b != NULL && (strcmp(a, b) == 0 || cli_same_file(a, b));
}

/* Options that go together, and outputs that don't destroy each other or the course. */
static bool check_request(const request *ask)
{
    bool writes_review = !ask->quiet || ask->json || ask->out != NULL;
    const char *out = !writes_review ? NULL : ask->out != NULL ? ask->out : "-";
    if (ask->run && ask->svg == NULL) {
        cli_usage("review", "--run draws the run over the picture: name the picture with --svg");
        return false;
    }
    if (ask->paper != NULL && ask->dimensions == NULL) {
        cli_usage("review",
                  "--paper is that of the dimension drawing: name the drawing with --dimensions");
        return false;
    }
    if (one_name(ask->svg, out) || one_name(ask->dimensions, out) ||
        one_name(ask->svg, ask->dimensions)) {
        cli_usage("review", "the review, the picture and the drawing need different names");
        return false;
    }
    return !cli_overwrites("review", ask->out, "course", ask->course) &&
           !cli_overwrites("review", ask->svg, "course", ask->course) &&
           !cli_overwrites("review", ask->dimensions, "course", ask->course);
}

static bool read_options(int argc, char **argv, request *to)
{
    const cli_option options[] = {
        {"json", 0, .flag = &to->json},       {"svg", 0, .word = &to->svg},
        {"output", 'o', .word = &to->out},    {"quiet", 'q', .flag = &to->quiet},
        {"run", 0, .flag = &to->run},         {"font", 0, .word = &to->font},
        {"replace", 0, .flag = &to->replace}, {"dimensions", 0, .word = &to->dimensions},
        {"paper", 0, .word = &to->paper},     {0}};
    int n = cli_options("review", options, to, argc, argv);
    if (n == 0)
        cli_usage("review", "no course given");
    if (n > 1)
        cli_usage("review", "one course at a time: \"%.100s\" is a second", argv[1]);
    to->course = argv[0];
    return n == 1 && check_request(to);
}

static bool write_dimensions(const request *ask, const pv_course *course, pv_diags *diags)
{
    pv_drawing_options options = pv_drawing_defaults();
    options.paper = ask->paper;
    unsigned char *bytes = NULL;
    size_t size = 0;
    bool good = pv_dimensions_pdf(course, &options, &bytes, &size, diags) &&
                cli_write(ask->dimensions, bytes, size, ask->replace, diags);
    pv_free(bytes);
    return good;
}

/* Writes what was asked for; false with an error in diags. */
static bool write_results(const request *ask, const pv_course *course, const pv_review *review,
                          pv_diags *diags)
{
    if (ask->svg != NULL &&
        !cli_write_text(ask->svg, pv_course_svg(course, ask->run, diags), ask->replace, diags))
        return false;
    if (ask->dimensions != NULL && !write_dimensions(ask, course, diags))
        return false;
    /* Where nothing but the verdict is wanted, the exit status has it. */
    if (ask->quiet && ask->out == NULL && !ask->json)
        return true;
    char *text = ask->json ? pv_review_json(review) : pv_review_text(review);
    return cli_write_text(ask->out != NULL ? ask->out : "-", text, ask->replace, diags);
}

static int review_course(const request *ask, pv_diags *diags)
{
    cli_bytes bytes = {NULL, 0};
    bool good = cli_read_kind(ask->course, PV_FILE_COURSE, PV_COURSE_BYTES_MAX, &bytes, diags);
    pv_type *type = good ? pv_type_open(ask->font, diags) : NULL;
    pv_course *course = type != NULL ? pv_course_parse((const char *)bytes.data, bytes.size,
                                                       cli_input_name(ask->course), type, diags)
                                     : NULL;
    pv_review *review = course != NULL ? pv_review_make(course, diags) : NULL;
    good = review != NULL && write_results(ask, course, review, diags);
    int status = !good                     ? cli_status(diags)
                 : pv_review_sound(review) ? CLI_OK
                                           : CLI_DOES_NOT_CONFORM;
    pv_review_free(review);
    pv_course_free(course);
    pv_type_free(type);
    free(bytes.data);
    return status;
}

int cli_review(int argc, char **argv)
{
    request ask = {0};
    if (!read_options(argc, argv, &ask))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    int status = review_course(&ask, diags);
    cli_report(diags, ask.quiet);
    pv_diags_free(diags);
    return status;
}
