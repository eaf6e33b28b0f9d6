#include "course/findings.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* In a message $1 is the first thing's name, #1 the first measure with its unit. */
typedef struct pattern {
    const char *rule;
    bool problem;
    const char *message, *hint;
    const char *things[PV_RULE_THINGS];
    struct {
        const char *name, *unit;
        int decimals;
    } measures[PV_RULE_MEASURES];
} pattern;

/* clang-format off */
#define LARGER_THAN_MEANT                                                                          \
    "if that line should enclose the region, the region is larger than you meant"
#define TEXT_OF(number) #number
#define TEXT(number)    TEXT_OF(number)
#define OTHER_COLOURS                                                                              \
    "choose colours whose luminance differs by " TEXT(PV_CONTRAST_LEAST) " or more"
#define ALIKE "; a reflectance sensor can hardly tell them apart (luminance #1 and #2)"
#define LUMINANCES {{"first_luminance", "", 2}, {"second_luminance", "", 2}}

static const pattern rows[PV_RULE_COUNT] = {
    [PV_RULE_MISS] = {"miss", true,
        "the line $1 ends #1 short of $2",
        "let the centre lines meet: they close regions, the paint does not",
        {"line", "nearest"}, {{"gap", "mm", 3}}},
    [PV_RULE_OPEN_FILL] = {"open", false,
        "the line $1 ends inside the filled region $3, #1 from $2 (open ends in this region: #2)",
        LARGER_THAN_MEANT,
        {"line", "nearest", "region"}, {{"gap", "mm", 1}, {"ends", "", 0}}},
    [PV_RULE_OPEN_FINISH] = {"open", false,
        "the line $1 ends inside the finish region, #1 from $2 (open ends in this region: #2)",
        LARGER_THAN_MEANT,
        {"line", "nearest"}, {{"gap", "mm", 1}, {"ends", "", 0}}},
    [PV_RULE_LINE_OUTSIDE] = {"outside", false,
        "the line $1 runs beyond the mat's edge, where it is cut off",
        NULL,
        {"line"}, {{0}}},
    [PV_RULE_TEXT_OVER_EDGE] = {"outside", true,
        "the text \"$1\" runs over the mat's edge",
        "move it, or make it smaller",
        {"text"}, {{0}}},
    [PV_RULE_TEXT_OUTSIDE] = {"outside", true,
        "the text \"$1\" lies outside the mat",
        "move it onto the mat",
        {"text"}, {{0}}},
    [PV_RULE_MARK_OUTSIDE] = {"outside", true,
        "the mark $1 is not wholly on the mat",
        "move it, or make it smaller",
        {"mark"}, {{0}}},
    [PV_RULE_TOUCH] = {"touch", true,
        "the robot touches the line $1 #1 along its route",
        "move the line or the route, or give the robot more room",
        {"line"}, {{"along", "mm", 1}}},
    [PV_RULE_TOUCH_CROSSED] = {"touch", true,
        "the robot touches the line $1 #1 along its route",
        "the route crosses this line elsewhere, but here the robot's side or corner runs over it",
        {"line"}, {{"along", "mm", 1}}},
    [PV_RULE_TOUCH_START] = {"touch", true,
        "the robot stands on the line $1 where its route begins",
        "move the line or the start, or give the robot more room",
        {"line"}, {{"along", "mm", 1}}},
    [PV_RULE_LEAVES] = {"leaves", true,
        "the robot leaves the mat by #1, #2 along its route",
        "keep the route farther from the mat's edge",
        {0}, {{"beyond", "mm", 1}, {"along", "mm", 0}}},
    [PV_RULE_MARK_STICKS_OUT] = {"start mark", true,
        "the start mark sticks out #1 from under the robot",
        "make the mark smaller, so that the robot covers it at its start",
        {0}, {{"sticks_out", "mm", 1}}},
    [PV_RULE_ROUTE_AWAY] = {"route start", true,
        "the route begins #1 away from the start mark",
        "begin it with \"route from start\"",
        {0}, {{"away", "mm", 1}}},
    [PV_RULE_ROUTE_TURNED] = {"route start", true,
        "the route sets off #1 away from the start mark's heading",
        "turn the start mark, or lead the route off in its heading",
        {0}, {{"turn", "deg", 1}}},
    [PV_RULE_ROUTE_END] = {"route end", true,
        "the route ends outside the finish region",
        "lead it into the finish region",
        {0}, {{0}}},
    [PV_RULE_STANDS_OUTSIDE] = {"finish", true,
        "where the route ends, the robot is not wholly inside the finish region and off its lines",
        "make the region larger, or end the route farther inside it",
        {0}, {{0}}},
    [PV_RULE_NO_PLACE] = {"finish", true,
        "no place was found where the robot is wholly inside the finish region and off its lines",
        "make the region larger",
        {0}, {{0}}},
    [PV_RULE_CONTRAST] = {"contrast", true,
        "$1 and $2 meet along the line $3" ALIKE,
        OTHER_COLOURS,
        {"first_colour", "second_colour", "line"}, LUMINANCES},
    [PV_RULE_CONTRAST_OFF_ROUTE] = {"contrast", false,
        "$1 and $2 meet along the line $3" ALIKE,
        OTHER_COLOURS,
        {"first_colour", "second_colour", "line"}, LUMINANCES},
    [PV_RULE_CONTRAST_MARK] = {"contrast", false,
        "$1 and $2 meet along the mark" ALIKE,
        OTHER_COLOURS,
        {"first_colour", "second_colour"}, LUMINANCES},
    [PV_RULE_CONTRAST_ACROSS] = {"contrast", false,
        "$1 and $2 lie on either side of the line $3" ALIKE,
        OTHER_COLOURS,
        {"first_colour", "second_colour", "line"}, LUMINANCES},
    [PV_RULE_NO_START] = {"missing", false,
        "the course has no start mark: the start is not reviewed",
        NULL,
        {0}, {{0}}},
    [PV_RULE_NO_ROBOT] = {"missing", false,
        "the course states no robot: whether it fits is not reviewed",
        NULL,
        {0}, {{0}}},
    [PV_RULE_NO_ROUTE] = {"missing", false,
        "the course has no route: the way to the finish is not reviewed",
        NULL,
        {0}, {{0}}},
    [PV_RULE_NO_FINISH] = {"missing", false,
        "the course has no finish region: the end of the run is not reviewed",
        NULL,
        {0}, {{0}}},
};
/* clang-format on */

static char *say(const pattern *what, const char *const things[], const double measures[])
{
    pv_text out = PV_TEXT_INIT;
    for (const char *c = what->message; *c != '\0'; c++) {
        size_t k = (*c == '$' || *c == '#') && c[1] >= '1' && c[1] <= '9' ? (size_t)(c[1] - '1')
                                                                          : SIZE_MAX;
        if (k == SIZE_MAX) {
            pv_text_bytes(&out, c, 1);
            continue;
        }
        if (*c == '$')
            pv_text_add(&out, "%s", things[k]);
        else
            pv_text_add(&out, "%.*f%s%s", what->measures[k].decimals, measures[k],
                        *what->measures[k].unit != '\0' ? " " : "",
                        strcmp(what->measures[k].unit, "deg") == 0 ? "degrees"
                                                                   : what->measures[k].unit);
        c++;
    }
    return pv_text_take(&out);
}

static void drop(pv_record *record)
{
    free((void *)record->finding.message);
    for (int i = 0; i < PV_RULE_THINGS; i++)
        free((void *)record->things[i].name);
}

bool pv_found_add(pv_reviewing *r, pv_rule row, pv_source source, const pv_vec *at,
                  const char *const things[], const double measures[])
{
    const pattern *what = &rows[row];
    pv_review *review = r->review;
    *(what->problem ? &review->facts.problems : &review->facts.notes) += 1;
    if (review->n_records >= PV_FINDINGS_MAX)
        return true;
    pv_record record = {0};
    pv_finding *f = &record.finding;
    *f = (pv_finding){.problem = what->problem,
                      .rule = what->rule,
                      .message = say(what, things, measures),
                      .hint = what->hint,
                      .line = source.line,
                      .column = source.column,
                      .placed = at != NULL,
                      .x = at != NULL ? at->x : 0,
                      .y = at != NULL ? at->y : 0};
    bool good = f->message != NULL;
    for (size_t k = 0; good && k < PV_RULE_THINGS && what->things[k] != NULL; k++) {
        record.things[f->n_things++] = (pv_thing){what->things[k], pv_copy_text(things[k])};
        good = record.things[k].name != NULL;
    }
    for (size_t k = 0; k < PV_RULE_MEASURES && what->measures[k].name != NULL; k++)
        record.measures[f->n_measures++] =
            (pv_measure){what->measures[k].name, what->measures[k].unit, measures[k]};
    if (!good || !PV_GROW(review->records, review->n_records, review->cap_records)) {
        drop(&record);
        pv_fail_memory(r->diags);
        return false;
    }
    review->records[review->n_records++] = record;
    return true;
}

void pv_found_finish(pv_review *review)
{
    for (size_t i = 0; i < review->n_records; i++) {
        pv_record *record = &review->records[i];
        record->finding.measures = record->measures;
        record->finding.things = record->things;
    }
}

/* ---- the public face ---- */

void pv_review_free(pv_review *review)
{
    if (review == NULL)
        return;
    for (size_t i = 0; i < review->facts.lines; i++)
        free((void *)review->lines[i].id);
    for (size_t i = 0; i < review->n_colours; i++)
        free((void *)review->colours[i].name);
    for (size_t i = 0; i < review->n_records; i++)
        drop(&review->records[i]);
    free(review->lines);
    free(review->colours);
    free(review->records);
    free(review->crossings);
    free((void *)review->facts.name);
    free((void *)review->facts.edition);
    free((void *)review->facts.file);
    free(review);
}

bool pv_review_sound(const pv_review *review)
{
    return review->facts.problems == 0;
}

const pv_review_facts *pv_review_facts_of(const pv_review *review)
{
    return &review->facts;
}

size_t pv_review_findings(const pv_review *review)
{
    return review->n_records;
}

const pv_finding *pv_review_finding(const pv_review *review, size_t index)
{
    return index < review->n_records ? &review->records[index].finding : NULL;
}

const pv_review_line *pv_review_line_at(const pv_review *review, size_t index)
{
    return index < review->facts.lines ? &review->lines[index] : NULL;
}

size_t pv_review_colours(const pv_review *review)
{
    return review->n_colours;
}

const pv_review_colour *pv_review_colour_at(const pv_review *review, size_t index)
{
    return index < review->n_colours ? &review->colours[index] : NULL;
}

size_t pv_review_crossings(const pv_review *review)
{
    return review->n_crossings;
}

const pv_line_met *pv_review_crossing_at(const pv_review *review, size_t index)
{
    return index < review->n_crossings ? &review->crossings[index] : NULL;
}
