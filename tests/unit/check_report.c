/* Inspections as text and JSON, from results made by hand. */
#include "common.h"
#include "values.h"

#include "base/text.h"
#include "json/json.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINES 40

static const char *notes[] = {"ragged edges: line berth: use smoother paper"};
static const char *const ids[] = {"quay-edge", "berth", "a line with a long name for its place",
                                  "K\xC3\xA4rntner Br\xC3\xBC"
                                  "cke"};

static void add_spacing(pv_measures *m, size_t from, size_t to, pv_value row)
{
    row.subject = from;
    row.other = to;
    add_row(m, row);
}

/* Everything in it but its rows is borrowed; to be dropped with drop(). */
static pv_inspection sample(size_t n_lines)
{
    static pv_reference_result references[2];
    pv_inspection in = {.sheet = {.file = "scans/b2.png",
                                  .label = "scans/b2.png",
                                  .answer = "Not true: the page came out at 96.0 % of its size, "
                                            "taking the scanner to be true to 0.1 %.",
                                  .advice = "Print it again with \"actual size\" (100 %).",
                                  .sheet = "B2",
                                  .kit = "Quayside, edition 1, kit 0A4-F000",
                                  .verdict = PV_DOES_NOT_CONFORM,
                                  .reference = PV_REFERENCE_SCANNER,
                                  .reference_U_rel = 0.001,
                                  .resolution = {300 / 25.4, 300 / 25.4},
                                  .measured_resolution = {288 / 25.4, 288 / 25.4},
                                  .turn = -90.25,
                                  .residual = 0.0612}};
    pv_measures *m = &in.table;
    const pv_verdict yes = PV_CONFORMS, no = PV_DOES_NOT_CONFORM;
    add_row(m, judged_row(PV_KIND_SCALE, 0, 1, 0.96, 0.001, 0.003, no));
    add_row(m, judged_row(PV_KIND_SCALE, 1, 1, 0.9601234, 0.001, 0.003, no));
    add_row(m, judged_row(PV_KIND_SKEW, 0, 0, -0.00001, 1.02, 3, yes));
    for (size_t i = 0; i < n_lines; i++) {
        pv_line_result line = {.id = ids[i % 4],
                               .nominal = 20,
                               .planned = 120,
                               .stations = i == 2 ? 0 : 118,
                               .first_value = m->n_values,
                               .fair = true};
        ck_assert(pv_measures_add_line(m, &line));
        double width = i == 1 ? 20.4 : 20 + 0.001 * (double)i;
        pv_value row = judged_row(PV_KIND_WIDTH, i, 20, width, 0.02, 0.3, i == 1 ? no : yes);
        row.places = line.stations;
        add_row(m, i == 2 ? missing_row(PV_KIND_WIDTH, i, 0.3) : row);
        row = judged_row(PV_KIND_STRAIGHT, i, 0, 0.02, 0.02, 0.5, yes);
        add_row(m, i == 2 ? missing_row(PV_KIND_STRAIGHT, i, 0.5) : row);
    }
    add_spacing(m, 0, 1, judged_row(PV_KIND_SPACING, 0, 60, 60.1, 0.06, 0.5, yes));
    if (n_lines > 3)
        add_spacing(m, 2, 3, judged_row(PV_KIND_SPACING, 2, 160, 159.6, 0.2, 0.5, PV_UNDECIDED));
    references[0] = (pv_reference_result){.kind = PV_REFERENCE_SCANNER,
                                          .scale = {0.96, 0.9601},
                                          .U = {0.001, 0.001},
                                          .weight = {0.8, 1}};
    references[1] = (pv_reference_result){.kind = PV_REFERENCE_RULER,
                                          .scale = {0.9601, 0},
                                          .U = {0.002, 0},
                                          .weight = {0.2, 0},
                                          .disagrees = true};
    in.references = references;
    in.n_references = 2;
    in.notes = (char **)(void *)notes;
    in.n_notes = 1;
    return in;
}

static void drop(pv_inspection *in)
{
    pv_measures_clear(&in->table);
}

/* Without a reference. */
static void unprove(pv_inspection *in)
{
    in->sheet.reference = PV_REFERENCE_NONE;
    for (size_t i = 0; i < 2; i++) {
        pv_value *row = row_of(in, PV_KIND_SCALE, i);
        const char *name = row->name;
        *row = missing_row(PV_KIND_SCALE, i, 0.003);
        row->name = name;
        row->to = "";
    }
}

static pv_inspection failed(void)
{
    return (pv_inspection){.sheet = {.file = "b\a\x1b[31md.png",
                                     .label = "b\a\x1b[31md.png",
                                     .error = "no tags seen: lay the sheet flat and uncover its "
                                              "tags, and check that the picture isn't mirrored",
                                     .answer = "Can't use this picture: no tags seen.",
                                     .advice = "Lay the sheet flat and uncover its tags.",
                                     .verdict = PV_UNDECIDED}};
}

/* Longest line in characters, UTF-8 counted right, escapes of colour left out. */
static size_t widest(const char *text)
{
    size_t most = 0, n = 0;
    for (; *text != '\0'; text++) {
        if (*text == '\033') {
            text = strchr(text, 'm');
            continue;
        }
        n += (*text & 0xC0) != 0x80;
        if (*text == '\n')
            n = 0;
        most = n > most ? n : most;
    }
    return most;
}

static size_t count(const char *text, const char *what)
{
    size_t n = 0;
    for (; (text = strstr(text, what)) != NULL; text += strlen(what))
        n++;
    return n;
}

START_TEST(text_leads_with_the_answer_and_fits_a_terminal)
{
    pv_inspection one = sample(LINES), two = failed();
    const pv_inspection *items[] = {&one, &two};
    char *text = pv_inspections_text(items, 2, false);
    ck_assert_ptr_nonnull(text);
    /* Of several the summary, then of each its answer and what to do, then notes and numbers. */
    static const char *const order[] = {"1 not true: B2; 1 picture can't be used: b?",
                                        "\n\nB2  Not true: ",
                                        "\n    Print it again with",
                                        "\n  - ragged edges",
                                        "\n  For engineers: ",
                                        "scale x"};
    const char *at = text;
    ck_assert_int_eq(strncmp(text, order[0], strlen(order[0])), 0);
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        at = strstr(at, order[i]);
        ck_assert_msg(at != NULL, "no \"%s\" in its place in:\n%s", order[i], text);
    }
    say_worst("widest line of a report", (double)widest(text), 80, "columns");
    ck_assert_uint_le(widest(text), 80);
    ck_assert_ptr_nonnull(strstr(text, "96.000"));
    ck_assert_ptr_nonnull(strstr(text, "\xC2\xB1"
                                       "0.300 %"));
    assert_says(text, "16 more");
    assert_says(text, "no tags seen");                    /* as given */
    assert_says(text, "berth, 0.400 mm too wide, 133 %"); /* as the table has it */
    ck_assert_ptr_nonnull(strstr(text, "+0.400  \xC2\xB1"
                                       "0.300"));
    ck_assert_ptr_null(strchr(text, '\033'));
    ck_assert_ptr_null(strchr(text, '\a'));
    ck_assert_ptr_null(strstr(text, "-0.00"));
    pv_free(text);
    drop(&one);
}
END_TEST

START_TEST(lengths_are_in_the_courses_unit)
{
    pv_inspection one = sample(5);
    one.sheet.inches = true;
    for (size_t i = 0; i < one.table.n_values; i++)
        one.table.values[i].inches = true;
    row_of(&one, PV_KIND_WIDTH, 1)->verdict = PV_UNDECIDED;
    row_of(&one, PV_KIND_WIDTH, 1)->U_needed = 0.1;
    const pv_inspection *items[] = {&one};
    char *text = pv_inspections_text(items, 1, false);
    /* 20, 20.4, 0.02 and 0.3 mm over 25.4, as bc has them */
    ck_assert_ptr_nonnull(strstr(text, "  0.7874  0.8031 \xC2\xB1"
                                       "0.0008 +0.0157 \xC2\xB1"
                                       "0.0118"));
    ck_assert_ptr_nonnull(strstr(text, "line, in"));
    assert_says(text, "berth, 0.0157 in too wide");
    say_worst("widest line in inches", (double)widest(text), 80, "columns");
    ck_assert_uint_le(widest(text), 80);
    pv_free(text);
    text = pv_inspections_json(items, 1, false); /* stays in mm */
    ck_assert_ptr_nonnull(strstr(text, "\"width_mm\": 20.4"));
    pv_free(text);
    drop(&one);
}
END_TEST

/* A file's name of any length is shown whole, and nothing of it but what prints. */
START_TEST(names_of_files_are_shown_whole_and_harmless)
{
    char name[1400] = "a\nA1  True\xC2\x9B", shown[1400] = "a?A1  True?";
    for (size_t i = 0; i < 600; i++) {
        strcat(name, "\xC3\xA9"); /* from an odd byte on, so that none is cut in two */
        strcat(shown, "\xC3\xA9");
    }
    pv_inspection one = sample(2), two = failed();
    one.sheet.file = two.sheet.file = name;
    one.sheet.label = two.sheet.label = name;
    const pv_inspection *items[] = {&one, &two};
    char *text = pv_inspections_text(items, 2, false), *budget = pv_inspections_budget(items, 2);
    /* Words are put into lines one by one. */
    ck_assert_uint_eq(count(text, strchr(shown, 'T')), 3); /* in the summary, too */
    ck_assert_uint_eq(count(text, "\xC2\x9B") + count(text, "\nA1  True"), 0);
    ck_assert_uint_gt(count(budget, shown), 0);
    pv_free(text);
    pv_free(budget);
    drop(&one);
}
END_TEST

START_TEST(colour_adds_nothing_but_colour)
{
    pv_inspection one = sample(5);
    const pv_inspection *items[] = {&one};
    char *plain = pv_inspections_text(items, 1, false),
         *colour = pv_inspections_text(items, 1, true);
    ck_assert_uint_eq(count(plain, "\033"), 0);
    ck_assert_uint_gt(count(colour, "\033[1;31m"), 0);
    char *to = colour;
    for (const char *from = colour; *from != '\0'; from++) {
        if (*from == '\033')
            from = strchr(from, 'm');
        else
            *to++ = *from;
    }
    *to = '\0';
    ck_assert_str_eq(plain, colour);
    pv_free(plain);
    pv_free(colour);
    drop(&one);
}
END_TEST

START_TEST(json_has_the_fixed_keys)
{
    pv_inspection one = sample(4), two = failed();
    const pv_inspection *items[] = {&one, &two};
    char *text = pv_inspections_json(items, 2, true);
    pv_diags *diags = pv_diags_new();
    pv_json *json = pv_json_parse(text, strlen(text), "report", diags);
    ck_assert_ptr_nonnull(json);
    const pv_json_node *root = pv_json_root(json), *first = pv_json_item(json, root, 0);
    ck_assert_uint_eq(pv_json_length(json, root), 2);
#define STRING(node, key) pv_json_get_string(json, pv_json_member(json, node, key))
#define NUMBER(node, key) pv_json_get_number(json, pv_json_member(json, node, key), -1e9, 1e9)
    ck_assert_str_eq(STRING(first, "file"), "scans/b2.png");
    ck_assert_str_eq(STRING(first, "sheet"), "B2");
    ck_assert_str_eq(STRING(first, "kit"), "Quayside, edition 1, kit 0A4-F000");
    ck_assert_str_eq(STRING(first, "verdict"), "does not conform");
    ck_assert_str_eq(STRING(first, "answer"), one.sheet.answer);
    ck_assert_str_eq(STRING(first, "advice"), one.sheet.advice);
    const pv_json_node *reference = pv_json_member(json, first, "reference");
    ck_assert_str_eq(STRING(reference, "kind"), "scanner");
    ck_assert_double_eq(NUMBER(reference, "U_rel"), 0.001);
    const pv_json_node *scale = pv_json_member(json, first, "scale");
    ck_assert_double_eq(NUMBER(pv_json_member(json, scale, "x"), "value"), 0.96);
    ck_assert_double_eq(NUMBER(pv_json_member(json, scale, "y"), "value"), 0.960123);
    ck_assert_double_eq(NUMBER(pv_json_member(json, scale, "y"), "U"), 0.001);
    ck_assert_str_eq(STRING(pv_json_member(json, scale, "y"), "verdict"), "does not conform");
    ck_assert_double_eq(NUMBER(pv_json_member(json, first, "skew_mrad"), "value"), 0);
    ck_assert_double_eq(NUMBER(pv_json_member(json, first, "skew_mrad"), "U"), 1.02);
    const pv_json_node *list = pv_json_member(json, first, "lines");
    ck_assert_uint_eq(pv_json_length(json, list), 3);
    const pv_json_node *line = pv_json_item(json, list, 1);
    ck_assert_str_eq(STRING(line, "id"), "berth");
    ck_assert_double_eq(NUMBER(line, "nominal_mm"), 20);
    ck_assert_double_eq(NUMBER(line, "width_mm"), 20.4);
    ck_assert_double_eq(NUMBER(line, "U_mm"), 0.02);
    ck_assert_str_eq(STRING(line, "verdict"), "does not conform");
    ck_assert_double_eq(NUMBER(line, "stations"), 118);
    const pv_json_node *gap = pv_json_item(json, pv_json_member(json, first, "spacings"), 1);
    ck_assert_str_eq(STRING(gap, "from"), ids[2]);
    ck_assert_str_eq(STRING(gap, "to"), ids[3]);
    ck_assert_double_eq(NUMBER(gap, "nominal_mm"), 160);
    ck_assert_double_eq(NUMBER(gap, "value_mm"), 159.6);
    ck_assert_double_eq(NUMBER(gap, "U_mm"), 0.2);
    ck_assert_str_eq(STRING(gap, "verdict"), "undecided");
    ck_assert_str_eq(
        pv_json_get_string(json, pv_json_item(json, pv_json_member(json, first, "notes"), 0)),
        notes[0]);
    const pv_json_node *second = pv_json_item(json, root, 1);
    ck_assert_ptr_nonnull(strstr(STRING(second, "error"), "no tags seen"));
    ck_assert_str_eq(STRING(second, "answer"), two.sheet.answer);
    ck_assert_ptr_null(pv_json_optional(json, second, "verdict"));
    ck_assert(pv_json_good(json));
    pv_json_free(json);
    pv_diags_free(diags);
    /* What wasn't measured stands apart, so that every line has its numbers. */
    ck_assert_ptr_null(strstr(text, "\"width_mm\": null"));
    ck_assert_ptr_nonnull(strstr(text, "\"unmeasured\": [\n      {\"id\": "));
    pv_free(text);
    drop(&one);
}
END_TEST

START_TEST(without_a_reference_the_scale_is_null)
{
    pv_inspection one = sample(2);
    unprove(&one);
    row_of(&one, PV_KIND_WIDTH, 0)->probability = NAN;
    const pv_inspection *items[] = {&one};
    char *text = pv_inspections_json(items, 1, true);
    ck_assert_ptr_nonnull(strstr(text, "\"probability\": null"));
    ck_assert_ptr_nonnull(strstr(text, "\"kind\": \"none\", \"U_rel\": null"));
    ck_assert_ptr_nonnull(strstr(text, "\"value\": null, \"U\": null"));
    pv_free(text);
    text = pv_inspections_text(items, 1, false);
    ck_assert_ptr_nonnull(strstr(text, "no reference"));
    ck_assert_uint_eq(count(text, "not measured"), 2);
    pv_free(text);
    drop(&one);
}
END_TEST

START_TEST(a_budget_is_a_table_of_each_kind)
{
    pv_inspection one = sample(LINES), two = failed();
    pv_value *worst = row_of(&one, PV_KIND_WIDTH, 7);
    worst->part[PV_PART_TONE] = worst->part[PV_PART_SCATTER];
    worst->U = 0.05; /* the largest of all */
    worst->freedom = 11.26;
    worst->k = 2.25;
    worst->probability = 0.977;
    const pv_inspection *items[] = {&one, &two};
    char *text = pv_inspections_budget(items, 2);
    ck_assert_ptr_nonnull(text);
    say_worst("widest line of a budget", (double)widest(text), 80, "columns");
    ck_assert_uint_le(widest(text), 80);
    ck_assert_uint_eq(count(text, "uncertainty budget"), 1); /* none of what can't be used */
    ck_assert_uint_eq(count(text, "standard uncertainty u"), 5);
    ck_assert_ptr_nonnull(strstr(text, "\n  scale, %"));
    ck_assert_ptr_nonnull(strstr(text, "\n  skew, mrad\n"));
    ck_assert_ptr_nonnull(strstr(text, "\n  straightness, mm"));
    ck_assert_ptr_nonnull(strstr(text, "\n  spacing, mm"));
    ck_assert_ptr_nonnull(strstr(text, "disagrees"));
    const char *width = strstr(text, "\n  width, mm");
    ck_assert_ptr_nonnull(width);
    ck_assert_ptr_nonnull(strstr(width, "11.3"));
    ck_assert_ptr_nonnull(strstr(width, "2.25"));
    ck_assert_ptr_nonnull(strstr(width, "97.7"));
    ck_assert_ptr_nonnull(strstr(width, "tone curve"));
    ck_assert_ptr_null(strstr(text, " \n"));
    pv_free(text);
    /* Without a reference nothing is proven of lengths. */
    unprove(&one);
    text = pv_inspections_budget(items, 1);
    ck_assert_ptr_null(strstr(text, "\n  scale, %"));
    width = strstr(text, "\n  width, mm");
    ck_assert_ptr_nonnull(width);
    ck_assert_uint_eq(count(width, "moved by"), 0);
    pv_free(text);
    drop(&one);
}
END_TEST

/* The reader refuses an object that has a key twice. */
START_TEST(no_two_kinds_of_one_subject_share_a_key)
{
    pv_inspection in = {
        .sheet = {.file = "a.png", .label = "a.png", .sheet = "A1", .kit = "", .paper = "A4"}};
    for (int of = PV_OF_SHEET; of <= PV_OF_AREA; of++) {
        pv_line_result line = {.id = "a", .stations = 1, .first_value = in.table.n_values};
        pv_fill_result fill = {.colour = "black", .first_value = in.table.n_values};
        ck_assert(of != PV_OF_LINE || pv_measures_add_line(&in.table, &line));
        ck_assert(of != PV_OF_AREA || pv_measures_add_fill(&in.table, &fill));
        for (int kind = 0; kind < PV_KINDS; kind++) {
            pv_value row = judged_row((pv_value_kind)kind, 0, 1, 1, 0.1, 0.1, PV_UNDECIDED);
            row.remedy = PV_REMEDY_REFERENCE;
            if ((int)pv_kind_of(row.kind)->of == of)
                add_row(&in.table, row);
        }
    }
    ck_assert_uint_eq(in.table.n_values, PV_KINDS);
    const pv_inspection *items[] = {&in};
    char *text = pv_inspections_json(items, 1, true);
    for (int kind = 0; kind < PV_KINDS; kind++)
        ck_assert_ptr_nonnull(strstr(text, pv_kind_of((pv_value_kind)kind)->key));
    pv_json *json = pv_json_parse(text, strlen(text), "report", NULL);
    ck_assert_msg(json != NULL, "%s", text);
    pv_json_free(json);
    pv_free(text);
    drop(&in);
}
END_TEST

START_TEST(json_has_the_budget_where_it_is_asked_for)
{
    pv_inspection one = sample(4);
    pv_value *doubt = spacing_in(&one.table, 1);
    doubt->remedy = PV_REMEDY_REFERENCE;
    doubt->U_needed = 0.1;
    doubt->probability = 0.84134;
    const pv_inspection *items[] = {&one};
    char *text = pv_inspections_json(items, 1, false);
    ck_assert_ptr_null(strstr(text, "budget"));
    ck_assert_uint_eq(count(text, "\"settle\""), 1);
    ck_assert_ptr_nonnull(strstr(text, "\"probability\": 0.8413, "
                                       "\"settle\": \"U must fall from 0.200 to 0.100 mm: "));
    pv_free(text);
    text = pv_inspections_json(items, 1, true);
    pv_diags *diags = pv_diags_new();
    pv_json *json = pv_json_parse(text, strlen(text), "report", diags);
    ck_assert_ptr_nonnull(json);
    const pv_json_node *first = pv_json_item(json, pv_json_root(json), 0);
    const pv_json_node *gap = pv_json_item(json, pv_json_member(json, first, "spacings"), 1);
    const pv_json_node *budget = pv_json_member(json, gap, "budget");
    static const char *const parts[] = {"grid", "tone", "map", "ink", "reference"};
    for (size_t i = 0; i < 5; i++)
        ck_assert_double_eq(NUMBER(budget, parts[i]), 0);
    ck_assert_double_eq(NUMBER(budget, "scatter"), 0.1);
    ck_assert_ptr_null(pv_json_optional(json, budget, "freedom"));
    ck_assert_double_eq(NUMBER(gap, "k"), 2);
    ck_assert_double_eq(NUMBER(gap, "u"), 0.1);
    const pv_json_node *line = pv_json_item(json, pv_json_member(json, first, "lines"), 0);
    pv_json_member(json, line, "bow_budget");
    pv_json_member(json, pv_json_member(json, first, "skew_mrad"), "budget");
    ck_assert(pv_json_good(json));
    pv_json_free(json);
    pv_diags_free(diags);
    pv_free(text);
    drop(&one);
}
END_TEST

START_TEST(numbers_are_the_same_in_any_locale)
{
    ck_assert_str_eq(pv_fixed(3.14159, 2).chars, "3.14");
    ck_assert_str_eq(pv_fixed(-0.0004, 3).chars, "0.000");
    ck_assert_str_eq(pv_fixed(-2.5, 1).chars, "-2.5");
    ck_assert_str_eq(pv_fixed(7, 0).chars, "7");
    ck_assert_str_eq(pv_fixed(NAN, 3).chars, "-");
    ck_assert_str_eq(pv_fixed(1e300, 3).chars, "-");
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "ps_AF"};
    pv_inspection one = sample(5);
    const pv_inspection *items[] = {&one};
    char *before = pv_inspections_text(items, 1, false),
         *json = pv_inspections_json(items, 1, true);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (setlocale(LC_ALL, names[i]) == NULL)
            continue;
        char *text = pv_inspections_text(items, 1, false),
             *other = pv_inspections_json(items, 1, true);
        ck_assert_str_eq(text, before);
        ck_assert_str_eq(other, json);
        pv_free(text);
        pv_free(other);
    }
    setlocale(LC_ALL, "C");
    pv_free(before);
    pv_free(json);
    drop(&one);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("report");
    TCase *tcase = tcase_create("report");
    tcase_add_test(tcase, text_leads_with_the_answer_and_fits_a_terminal);
    tcase_add_test(tcase, lengths_are_in_the_courses_unit);
    tcase_add_test(tcase, names_of_files_are_shown_whole_and_harmless);
    tcase_add_test(tcase, colour_adds_nothing_but_colour);
    tcase_add_test(tcase, json_has_the_fixed_keys);
    tcase_add_test(tcase, without_a_reference_the_scale_is_null);
    tcase_add_test(tcase, a_budget_is_a_table_of_each_kind);
    tcase_add_test(tcase, json_has_the_budget_where_it_is_asked_for);
    tcase_add_test(tcase, no_two_kinds_of_one_subject_share_a_key);
    tcase_add_test(tcase, numbers_are_the_same_in_any_locale);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
