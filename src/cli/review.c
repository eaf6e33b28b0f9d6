/* pavior review: is a course sound, and does its robot fit? */
#include "cli/cli.h"

#include <string.h>

typedef struct request {
    const char *course, *out, *svg, *font;
    bool json, quiet, run;
} request;

/* Options that go together, and outputs that don't destroy each other or the course. */
static bool check_request(const request *ask)
{
    const char *out = ask->out != NULL ? ask->out : "-";
    bool writes_review = !ask->quiet || ask->json || ask->out != NULL;
    bool one_name =
        ask->svg != NULL && (strcmp(ask->svg, out) == 0 || cli_same_file(ask->svg, out));
    if (ask->run && ask->svg == NULL) {
        cli_usage("review", "--run draws over the picture: say by --svg where it goes");
        return false;
    }
    if (one_name && writes_review) {
        cli_usage("review", "the review and the picture need two names");
        return false;
    }
    return !cli_overwrites("review", ask->out, "course", ask->course) &&
           !cli_overwrites("review", ask->svg, "course", ask->course);
}

static bool read_options(int argc, char **argv, request *to)
{
    static const cli_option options[] = {
        {"json", 0, false}, {"svg", 0, true},  {"output", 'o', true}, {"quiet", 'q', false},
        {"run", 0, false},  {"font", 0, true}, {NULL, 0, false}};
    cli_scan scan = cli_scan_start("review", options, argc, argv);
    for (int got; (got = cli_scan_next(&scan)) != CLI_END;) {
        switch (got) {
        case 0:
            to->json = true;
            break;
        case 1:
            to->svg = scan.value;
            break;
        case 2:
            to->out = scan.value;
            break;
        case 3:
            to->quiet = true;
            break;
        case 4:
            to->run = true;
            break;
        case 5:
            to->font = scan.value;
            break;
        case CLI_OPERAND:
            if (to->course != NULL) {
                cli_usage("review", "one course at a time, not also \"%.100s\"", scan.value);
                return false;
            }
            to->course = scan.value;
            break;
        default:
            return false;
        }
    }
    if (to->course == NULL) {
        cli_usage("review", "which course?");
        return false;
    }
    return check_request(to);
}

/* Writes what was asked for; false with an error in diags, or where memory ran out. */
static bool write_results(const request *ask, const pv_course *course, const pv_review *review,
                          pv_diags *diags)
{
    if (ask->svg != NULL &&
        !cli_write_text(ask->svg, pv_course_svg(course, ask->run, diags), diags))
        return false;
    /* Where nothing but the verdict is wanted, the exit status has it. */
    if (ask->quiet && ask->out == NULL && !ask->json)
        return true;
    char *text = ask->json ? pv_review_json(review) : pv_review_text(review);
    return cli_write_text(ask->out != NULL ? ask->out : "-", text, diags);
}

static int review_course(const request *ask, const pv_bytes *bytes, pv_diags *diags)
{
    const char *name = strcmp(ask->course, "-") == 0 ? "standard input" : ask->course;
    pv_type *type = pv_type_open(ask->font, diags);
    pv_course *course =
        type != NULL ? pv_course_parse((const char *)bytes->data, bytes->size, name, type, diags)
                     : NULL;
    pv_review *review = course != NULL ? pv_review_make(course, diags) : NULL;
    int status = CLI_OK;
    if (review == NULL || !write_results(ask, course, review, diags))
        status = pv_diags_count(diags, PV_ERROR) > 0 ? cli_status(diags) : CLI_OS;
    else if (!pv_review_sound(review))
        status = CLI_DOES_NOT_CONFORM;
    pv_review_free(review);
    pv_course_free(course);
    pv_type_free(type);
    return status;
}

static int run(int argc, char **argv)
{
    request ask = {0};
    if (!read_options(argc, argv, &ask))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    if (diags == NULL)
        return CLI_OS;
    pv_bytes bytes = {NULL, 0};
    int status;
    if (cli_read_kind(ask.course, CLI_KIND_COURSE, PV_COURSE_BYTES_MAX, &bytes, diags))
        status = review_course(&ask, &bytes, diags);
    else
        status = cli_status(diags);
    cli_report(diags, ask.quiet);
    pv_free(bytes.data);
    pv_diags_free(diags);
    return status;
}

const cli_command cli_review = {
    "review", "is a course sound, and does its robot fit?",
    "Says what a course holds, what is wrong with it, and whether its robot fits.\n"
    "\n"
    "Usage: pavior review COURSE [OPTION...]\n"
    "\n"
    "      --svg FILE       also draw the course, as SVG at true size\n"
    "      --run            and draw the robot's run over it; needs --svg\n"
    "      --font NAME      the typeface of the course's texts: an installed family,\n"
    "                       or a TrueType file; without it Liberation Sans\n"
    "      --json           the review as JSON; docs/reference/course-review.md\n"
    "                       has its keys\n"
    "  -o, --output FILE    write the review to FILE instead of standard output\n"
    "  -q, --quiet          no text: only errors, and the exit status\n"
    "      --help           this text\n"
    "\n"
    "COURSE is a course file (docs/reference/course-language.md), or \"-\" for\n"
    "standard input.\n"
    "\n"
    "Exit status: 0 sound; 1 something is wrong; 64 wrong usage; 65 the course has\n"
    "errors; 66 it cannot be read; 71 out of memory; 73 or 74 the output cannot be\n"
    "written.\n"
    "\n"
    "Examples:\n"
    "  pavior review layouts/quayside.course\n"
    "  pavior review layouts/quayside.course --json -o review.json\n"
    "  pavior review layouts/quayside.course --svg course.svg --run\n"
    "  pavior review my.course --quiet && echo sound\n",
    run};
