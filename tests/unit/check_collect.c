/* Results: threads that agree, what is known again, tables that hold, and names that do no harm. */
#include "common.h"

#include "collect/known.h"
#include "collect/sql.h"
#include "collect/tally.h"

#include <pavior/pavior.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

static const char course_text[] = "course \"Check\" edition \"1\"\n"
                                  "mat 120mm by 80mm ground white\n"
                                  "paint width 10mm, colour black, ends flat\n"
                                  "line a width 10mm from (20, 10)mm to (20, 70)mm\n";

static void said(const pv_diags *diags, const char *facts)
{
    char *text = diags_text(diags);
    assert_says(text, facts);
    pv_free(text);
}

#define PICTURES 40

typedef struct source {
    int asked[PICTURES];
    int reports;
} source;

/* No picture is one: what is measured doesn't matter here. Each fourth can't be read, each fifth is
 * the same as another. */
static bool read_any(void *context, size_t index, unsigned char **bytes, size_t *size,
                     pv_diags *diags)
{
    source *s = context;
    s->asked[index]++;
    if (index % 4 == 3) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "it is locked");
        return false;
    }
    char text[40];
    snprintf(text, sizeof text, "no picture %d", index % 5 == 0 ? 0 : (int)index);
    *bytes = (unsigned char *)strdup(text);
    *size = strlen(text);
    return *bytes != NULL;
}

typedef struct fixture {
    char name[64];
    pv_type *type;
    pv_course *course;
    pv_plan *plan;
    pv_diags *diags;
    pv_collect_picture pictures[PICTURES];
    char names[PICTURES][2][24];
} fixture;

static void open_fixture(fixture *f)
{
    memset(f, 0, sizeof *f);
    snprintf(f->name, sizeof f->name, "/tmp/check-collect-%ld.sqlite", (long)getpid());
    unlink(f->name);
    f->diags = pv_diags_new();
    f->type = pv_type_open(NULL, f->diags);
    f->course = pv_course_parse(course_text, strlen(course_text), NULL, f->type, f->diags);
    ck_assert_ptr_nonnull(f->course);
    f->plan = pv_plan_make(f->course, NULL, f->diags);
    ck_assert_ptr_nonnull(f->plan);
    for (int i = 0; i < PICTURES; i++) {
        snprintf(f->names[i][0], sizeof f->names[i][0], "team %d", i % 3);
        snprintf(f->names[i][1], sizeof f->names[i][1], "%02d.png", i);
        f->pictures[i] = (pv_collect_picture){.team = f->names[i][0], .file = f->names[i][1]};
    }
}

static void close_fixture(fixture *f)
{
    pv_plan_free(f->plan);
    pv_course_free(f->course);
    pv_type_free(f->type);
    pv_diags_free(f->diags);
    unlink(f->name);
}

static char *collected(fixture *f, size_t n, size_t threads, source *s, pv_collect_result *out)
{
    const pv_plan *plans[] = {f->plan, f->plan};
    pv_collect_options options = pv_collect_defaults();
    options.threads = threads;
    pv_results *results = pv_results_open(f->name, f->diags);
    ck_assert_ptr_nonnull(results);
    ck_assert(pv_collect(results, plans, 2, f->pictures, n, read_any, s, &options, out, f->diags));
    pv_tally *tally = pv_tally_make(results, f->diags);
    ck_assert_ptr_nonnull(tally);
    ck_assert_uint_eq(pv_tally_pictures(tally), n);
    char *csv = pv_tally_csv(tally);
    pv_tally_free(tally);
    pv_results_close(results);
    return csv;
}

START_TEST(threads_agree)
{
    fixture f;
    char *first = NULL;
    open_fixture(&f);
    for (size_t threads = 1; threads <= 8; threads *= 2) {
        source s = {.reports = 0};
        pv_collect_result out;
        unlink(f.name);
        char *csv = collected(&f, PICTURES, threads, &s, &out);
        for (int i = 0; i < PICTURES; i++)
            ck_assert_int_eq(s.asked[i], 1);
        /* 40: 10 can't be read; of 0, 5, 10, 20, 25, 30 (15 and 35 can't be) five are known. */
        ck_assert_uint_eq(out.measured, 25);
        ck_assert_uint_eq(out.known, 5);
        ck_assert_uint_eq(out.unusable, PICTURES);
        ck_assert(!out.stopped);
        if (first != NULL)
            ck_assert_str_eq(csv, first);
        else
            first = strdup(csv);
        pv_free(csv);
    }
    free(first);
    close_fixture(&f);
}
END_TEST

START_TEST(known_again)
{
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    char *part = collected(&f, 10, 2, &s, &out);
    char *whole = collected(&f, PICTURES, 2, &s, &out);
    ck_assert_uint_eq(out.measured, 25 - 7);
    char *again = collected(&f, 10, 2, &s, &out);
    ck_assert_uint_eq(out.measured, 0);
    ck_assert_str_eq(part, again);
    ck_assert(strlen(whole) > strlen(part));
    pv_free(part);
    pv_free(whole);
    pv_free(again);
    close_fixture(&f);
}
END_TEST

/* Where to send pictures, as the kit says; a kit.json that is none, or says it in lines of its own,
 * is as none. */
START_TEST(the_contact_is_told)
{
    static const char *const kits[] = {"{\"contact\": \"<Mats> & more\"}",
                                       "{\"contact\": null}",
                                       "{\"contact\": 5}",
                                       "[]",
                                       "{\"contact\"",
                                       "{\"contact\": \"two\\nlines\"}",
                                       "{\"contact\": \"\"}",
                                       NULL};
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    const pv_plan *plan = f.plan;
    for (size_t i = 0; i < sizeof kits / sizeof *kits; i++) {
        pv_collect_options options = pv_collect_defaults();
        options.kit_json = kits[i];
        pv_results *results = pv_results_open(f.name, f.diags);
        ck_assert(
            pv_collect(results, &plan, 1, f.pictures, 10, read_any, &s, &options, &out, f.diags));
        ck_assert_uint_eq(out.measured > 0, i == 0);
        pv_tally *tally = pv_tally_make(results, f.diags);
        char *page = pv_tally_team_html(tally, 0, f.diags);
        ck_assert_int_eq(says(page, "Send to:"), i == 0);
        ck_assert(i > 0 || says(page, "<b>&lt;Mats&gt; &amp; more</b>"));
        pv_free(page);
        pv_tally_free(tally);
        pv_results_close(results);
    }
    close_fixture(&f);
}
END_TEST

/* How many of the first ten pictures are measured now, where "team 1" (1, 4 and 7, of which 7 can't
 * be read) is told the first kind, "team 2" the second, and all others the options'. */
static size_t measured_as(fixture *f, const int told[2], pv_scanner_kind others, char **csv)
{
    source s = {.reports = 0};
    pv_collect_result out;
    const pv_plan *plan = f->plan;
    pv_inspect_options how = pv_inspect_defaults();
    how.scanner_kind = others;
    pv_collect_options options = pv_collect_defaults();
    options.how = &how;
    options.threads = 2;
    for (int i = 0; i < 10; i++) {
        int kind = i % 3 > 0 ? told[i % 3 - 1] : -1;
        f->pictures[i].told = kind >= 0;
        f->pictures[i].scanner = kind >= 0 ? (pv_scanner_kind)kind : PV_SCANNER_UNKNOWN;
    }
    pv_results *results = pv_results_open(f->name, f->diags);
    ck_assert(
        pv_collect(results, &plan, 1, f->pictures, 10, read_any, &s, &options, &out, f->diags));
    pv_tally *tally = pv_tally_make(results, f->diags);
    *csv = pv_tally_csv(tally);
    pv_tally_free(tally);
    pv_results_close(results);
    return out.measured;
}

/* Pictures are measured anew when what they are judged on changes, and only then. Read can be 0, 1,
 * 2, 4, 5, 6, 8 and 9, of which 5 (team 2) is 0 (team 0) to the byte. */
START_TEST(each_on_its_own_basis)
{
    static const struct {
        int told[2];
        pv_scanner_kind others;
        size_t measured;
    } runs[] = {
        {{-1, -1}, PV_SCANNER_UNKNOWN, 7},
        {{PV_SCANNER_FLATBED, -1}, PV_SCANNER_UNKNOWN, 2},                /* 1, 4 */
        {{PV_SCANNER_FLATBED, PV_SCANNER_FEEDER}, PV_SCANNER_UNKNOWN, 3}, /* 2, 5, 8 */
        {{PV_SCANNER_FLATBED, PV_SCANNER_FEEDER}, PV_SCANNER_FLATBED, 3}, /* 0, 6, 9 */
        {{-1, PV_SCANNER_FEEDER}, PV_SCANNER_FLATBED, 0},
        {{PV_SCANNER_UNKNOWN, -1}, PV_SCANNER_FLATBED, 2}, /* 2, 8; 5 is 0 */
        {{-1, -1}, PV_SCANNER_UNKNOWN, 0},
    };
    fixture f;
    char *all[sizeof runs / sizeof *runs];
    open_fixture(&f);
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++)
        ck_assert_uint_eq(measured_as(&f, runs[i].told, runs[i].others, &all[i]), runs[i].measured);
    ck_assert_str_eq(all[0], all[6]);
    ck_assert_ptr_nonnull(strstr(all[2], ",flatbed\r\n"));
    ck_assert_ptr_nonnull(strstr(all[2], ",feeder\r\n"));
    ck_assert_ptr_null(strstr(all[0], ",flatbed\r\n"));
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++)
        pv_free(all[i]);
    close_fixture(&f);
}
END_TEST

/* One place tells of one scanner; the same scanner told to a part is no other. */
START_TEST(parts_agree_on_scanners)
{
    static const int flatbed[] = {PV_SCANNER_FLATBED, -1}, none[] = {-1, -1};
    fixture f;
    char *csv, other[80], into[80];
    open_fixture(&f);
    snprintf(other, sizeof other, "%s.other", f.name);
    snprintf(into, sizeof into, "%s.merged", f.name);
    measured_as(&f, flatbed, PV_SCANNER_UNKNOWN, &csv);
    pv_free(csv);
    ck_assert_int_eq(rename(f.name, other), 0);
    measured_as(&f, none, PV_SCANNER_UNKNOWN, &csv);
    pv_free(csv);
    for (int i = 0; i < 2; i++) {
        const char *names[] = {i == 0 ? f.name : other, i == 0 ? other : f.name};
        pv_results *results = pv_results_open(into, f.diags);
        ck_assert(!pv_results_merge(results, names, 2, f.diags));
        said(f.diags, "scanners|01.png|team 1");
        pv_results_close(results);
        unlink(into);
    }
    f.pictures[0].told = true;
    f.pictures[0].scanner = PV_SCANNER_KINDS;
    pv_results *results = pv_results_open(into, f.diags);
    const pv_plan *plan = f.plan;
    pv_collect_result out;
    ck_assert(!pv_collect(results, &plan, 1, f.pictures, 1, read_any, NULL, NULL, &out, f.diags));
    said(f.diags, "no kind of scanner");
    f.pictures[0].told = false;
    pv_collect_options third = pv_collect_defaults();
    third.part = 3;
    third.parts = 2;
    ck_assert(!pv_collect(results, &plan, 1, f.pictures, 1, read_any, NULL, &third, &out, f.diags));
    said(f.diags, "number of a part");
    pv_results_close(results);
    unlink(into);
    unlink(other);
    close_fixture(&f);
}
END_TEST

static bool stop_at_ten(void *context, size_t done, size_t total)
{
    (void)context, (void)total;
    return done < 10;
}

START_TEST(stopped_is_not_complete)
{
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    const pv_plan *plan = f.plan;
    pv_collect_options options = pv_collect_defaults();
    options.progress = stop_at_ten;
    pv_results *results = pv_results_open(f.name, f.diags);
    ck_assert(
        pv_collect(results, &plan, 1, f.pictures, PICTURES, read_any, &s, &options, &out, f.diags));
    ck_assert(out.stopped);
    pv_results_close(results);
    char other[80];
    snprintf(other, sizeof other, "%s.merged", f.name);
    results = pv_results_open(other, f.diags);
    const char *name = f.name;
    ck_assert(!pv_results_merge(results, &name, 1, f.diags));
    said(f.diags, "not complete");
    pv_results_close(results);
    unlink(other);
    close_fixture(&f);
}
END_TEST

static char *told_of(const char *name, pv_diags *diags)
{
    pv_results *results = pv_results_open(name, diags);
    pv_tally *tally = pv_tally_make(results, diags);
    ck_assert_ptr_nonnull(tally);
    char *csv = pv_tally_csv(tally);
    pv_tally_free(tally);
    pv_results_close(results);
    return csv;
}

/* What was merged is complete. A merge that fails makes nothing complete, and leaves what was there
 * as it was: at a part that is not there, or one whose pictures contradict another's. */
START_TEST(failed_merge_changes_nothing)
{
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    char other[80], third[80];
    open_fixture(&f);
    snprintf(other, sizeof other, "%s.merged", f.name);
    snprintf(third, sizeof third, "%s.third", f.name);
    f.pictures[0].team = "another";
    pv_free(collected(&f, 4, 1, &s, &out));
    ck_assert_int_eq(rename(f.name, third), 0);
    f.pictures[0] = (pv_collect_picture){.team = f.names[0][0], .file = f.names[1][1]};
    f.pictures[1] = (pv_collect_picture){.team = f.names[1][0], .file = f.names[0][1]};
    pv_free(collected(&f, 2, 1, &s, &out));
    const char *whole[] = {f.name, "/no/such/results"}, *half = other;
    pv_results *results = pv_results_open(other, f.diags);
    ck_assert(!pv_results_merge(results, whole, 2, f.diags));
    pv_results_close(results);
    results = pv_results_open(f.name, f.diags);
    ck_assert(!pv_results_merge(results, &half, 1, f.diags));
    said(f.diags, "not complete");
    pv_results_close(results);
    results = pv_results_open(other, f.diags);
    ck_assert(pv_results_merge(results, whole, 1, f.diags));
    pv_results_close(results);
    char *before = told_of(other, f.diags);
    const char *contradicting[] = {third, f.name};
    f.pictures[2] = (pv_collect_picture){.team = f.names[2][0], .file = f.names[3][1]};
    f.pictures[3] =
        (pv_collect_picture){.team = f.names[2][0], .file = f.names[2][1], .told = true};
    pv_free(collected(&f, 4, 1, &s, &out));
    for (int i = 0; i < 2; i++) {
        results = pv_results_open(other, f.diags);
        ck_assert(!pv_results_merge(results, i == 0 ? whole : contradicting, 2, f.diags));
        pv_results_close(results);
        char *after = told_of(other, f.diags);
        ck_assert_str_eq(after, before);
        pv_free(after);
    }
    pv_free(before);
    results = pv_results_open(third, f.diags);
    ck_assert(pv_results_merge(results, &half, 1, f.diags));
    pv_results_close(results);
    unlink(other);
    unlink(third);
    close_fixture(&f);
}
END_TEST

/* Tables that are not ours, and what is no database. */
START_TEST(strangers_are_refused)
{
    fixture f;
    open_fixture(&f);
    FILE *file = fopen(f.name, "w");
    for (int i = 0; i < 100; i++)
        fputs("this is a text, not a database\n", file);
    fclose(file);
    ck_assert_ptr_null(pv_results_open(f.name, f.diags));
    ck_assert_int_eq(pv_diags_cause(f.diags), PV_CAUSE_DATA);
    unlink(f.name);
    pv_results *results = pv_results_open(f.name, f.diags);
    ck_assert(pv_sql_run(results,
                         "CREATE TRIGGER sly AFTER INSERT ON picture BEGIN DELETE FROM value; END",
                         f.diags));
    pv_results_close(results);
    ck_assert_ptr_null(pv_results_open(f.name, f.diags));
    said(f.diags, "no file of results");
    close_fixture(&f);
}
END_TEST

/* Values that no measurement gives, in a file that came from elsewhere: they count for nothing, and
 * what has no scale has no chart. */
START_TEST(values_of_strangers)
{
    static const char values[] =
        "UPDATE inspection SET error = NULL, U_rel = 0.001, number = 0, verdict = 'conforms', "
        "kit = (SELECT kit FROM plan);"
        "INSERT INTO value SELECT sha256, basis, page, 0, 'scale', 'x', '', 1, "
        "CASE WHEN sha256 < '8' THEN 1e308 ELSE -1e308 END, 0.1, 0.1, 'conforms' FROM inspection;"
        "INSERT INTO value SELECT sha256, basis, page, 1, 'width', 'a', '', 10, 10.25, 0.1, 0.3, "
        "'conforms' FROM inspection;"
        "INSERT INTO value SELECT sha256, basis, page, 3, 'width', 'c', '', 10, 10.25, 0.2, 0.3, "
        "'conforms' FROM inspection;"
        "INSERT INTO value SELECT sha256, basis, page, 2, 'width', 'b', '', NULL, 10.25, 0.1, "
        "0.3, 'conforms' FROM inspection;";
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    pv_free(collected(&f, PICTURES, 2, &s, &out));
    pv_results *results = pv_results_open(f.name, f.diags);
    ck_assert(pv_sql_run(results, values, f.diags));
    pv_tally *tally = pv_tally_make(results, f.diags);
    char *page = pv_tally_html(tally, f.diags);
    const char *widths = strstr(page, "Errors of all line widths</b>");
    const char *scale = strstr(page, "Scale across (x)</b>");
    ck_assert(widths != NULL && scale != NULL);
    ck_assert_ptr_nonnull(strstr(widths, "middle 0.250 mm, spread 0.000 mm, 60 values"));
    for (size_t i = 0; i < tally->n_rows; i++) {
        const pv_tally_kind *width = &tally->rows[i].kind[PV_TALLY_WIDTH];
        ck_assert_uint_eq(width->n, tally->rows[i].error == NULL ? 2 : 0);
        if (width->n == 0)
            continue;
        ck_assert_double_eq_tol(width->mean, 0.25, 1e-12);
        ck_assert_double_eq_tol(width->U, 0.1, 1e-12);
        ck_assert_double_eq_tol(width->mean_U, 0.15, 1e-12);
    }
    ck_assert_ptr_null(strstr(scale, "nan"));
    ck_assert(strstr(scale, "</figure>") < strstr(scale, "<svg"));
    pv_free(page);
    pv_tally_free(tally);
    pv_results_close(results);
    close_fixture(&f);
}
END_TEST

START_TEST(one_at_a_time)
{
    fixture f;
    open_fixture(&f);
    pv_results *first = pv_results_open(f.name, f.diags);
    ck_assert_ptr_nonnull(first);
    ck_assert_ptr_null(pv_results_open(f.name, f.diags));
    said(f.diags, "another program is working");
    pv_results_close(first);
    close_fixture(&f);
}
END_TEST

START_TEST(names_do_no_harm)
{
    static const char *const teams[] = {
        "=1+1",           "-2",  "+3", "@four", "<b>&\"five\"",         "../../six", "six",
        "\xff\xfe seven", "Six", "",   " ",     "\xE3\x80\x80\xC2\xA0", "\xCC\x88",  "con",
        "COM7.x"};
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    size_t n = sizeof teams / sizeof *teams;
    for (size_t i = 0; i < n; i++)
        f.pictures[i] = (pv_collect_picture){.team = teams[i], .file = "=cmd|' /C calc'!A0.png"};
    char *csv = collected(&f, n, 2, &s, &out);
    for (const char *line = csv; *line != '\0'; line = strchr(line, '\n') + 1)
        ck_assert(strchr("=+-@", *line) == NULL && strchr("=+-@", line[*line == '"']) == NULL);
    ck_assert_ptr_null(strstr(csv, ",\"="));
    ck_assert_ptr_nonnull(strstr(csv, "\"'=1+1\",\"'=cmd|' /C calc'!A0.png\""));
    pv_free(csv);
    pv_results *results = pv_results_open(f.name, f.diags);
    pv_tally *tally = pv_tally_make(results, f.diags);
    for (size_t i = 0; i < n; i++) {
        const pv_team_info *a = pv_tally_team_at(tally, i);
        ck_assert_ptr_nonnull(a);
        ck_assert_uint_eq(strspn(a->page, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                          "0123456789-._"),
                          strlen(a->page));
        ck_assert(a->page[0] != '.' && a->page[0] != '-');
        for (size_t k = 0; k < i; k++)
            ck_assert_int_ne(strcasecmp(a->page, pv_tally_team_at(tally, k)->page), 0);
    }
    ck_assert_ptr_null(pv_tally_team_at(tally, n));
    char *page = pv_tally_html(tally, f.diags), *own = pv_tally_team_html(tally, 0, f.diags);
    ck_assert_ptr_nonnull(page);
    ck_assert_ptr_nonnull(own);
    ck_assert_ptr_null(strstr(page, "<b>&\"five"));
    ck_assert_ptr_nonnull(strstr(page, "&lt;b&gt;&amp;"));
    /* Each team's name can be seen, and so its link be followed. */
    ck_assert_ptr_nonnull(strstr(page, ".html\">(a name of blanks)</a>"));
    ck_assert_ptr_null(strstr(page, ".html\"> </a>"));
    ck_assert_ptr_null(strstr(page, ".html\">\xE3\x80\x80"));
    pv_free(page);
    pv_free(own);
    pv_tally_free(tally);
    pv_results_close(results);
    close_fixture(&f);
}
END_TEST

/* In the order of the names' bytes. What differs in its accents alone gets a number. */
START_TEST(names_are_in_latin_letters)
{
    static const struct {
        const char *team, *page;
    } cases[] = {
        {"M\xC3\xBCller Stra\xC3\x9F"
         "e",
         "Muller-Strasse.html"},
        {"Zoe", "Zoe.html"},
        {"Zo\xC3\xAB", "Zoe_-2.html"},
        {"north end", "north-end.html"},
        /* Alpha, theta, eta with tonos, nu, alpha. */
        {"\xCE\x91\xCE\xB8\xCE\xAE\xCE\xBD\xCE\xB1", "Athina.html"},
        /* Shcha, u, ka, a, soft sign. */
        {"\xD0\xA9\xD1\x83\xD0\xBA\xD0\xB0\xD1\x8C 7", "Shchuka-7.html"},
        {"\xE5\x8C\x97", "_e5_8c_97.html"},
    };
    fixture f;
    source s = {.reports = 0};
    pv_collect_result out;
    open_fixture(&f);
    size_t n = sizeof cases / sizeof *cases;
    for (size_t i = 0; i < n; i++)
        f.pictures[i] = (pv_collect_picture){.team = cases[i].team, .file = "a.png"};
    pv_free(collected(&f, n, 1, &s, &out));
    pv_results *results = pv_results_open(f.name, f.diags);
    pv_tally *tally = pv_tally_make(results, f.diags);
    for (size_t i = 0; i < n; i++)
        ck_assert_str_eq(pv_tally_team_at(tally, i)->page, cases[i].page);
    pv_tally_free(tally);
    pv_results_close(results);
    close_fixture(&f);
}
END_TEST

/* ---- tallies by hand ---- */

static char empty[] = "", kit[] = "K", paper[] = "A4", north[] = "north", answer[] = "An answer.";
static char names[][8] = {"A1", "A2", "A3", "A4", "A5"};
static char *sheets[] = {names[0], names[1], names[2], names[3], names[4]};
static char files[][8] = {"a.png", "b.png", "c.png", "d.png", "e.png", "f.txt", "g.png"};

/* Of the first n of those sheets. */
static pv_tally_plan plan_of(size_t n)
{
    return (pv_tally_plan){
        .kit = kit, .name = kit, .edition = kit, .paper = paper, .sheets = sheets, .n_sheets = n};
}

/* Of a sheet of the only plan. */
static pv_tally_row picture_of(char *file, char *advice, pv_verdict verdict, size_t number)
{
    return (pv_tally_row){.team = north,
                          .file = file,
                          .picture = true,
                          .answer = answer,
                          .advice = advice,
                          .reference = empty,
                          .verdict = verdict,
                          .number = number,
                          .now_plan = SIZE_MAX};
}

static pv_tally tally_of(pv_tally_plan *plan, pv_tally_row *rows, size_t n)
{
    pv_tally t = {.plans = plan, .n_plans = 1, .rows = rows, .n_rows = n};
    t.kit = t.options = t.version = t.scanners = empty;
    ck_assert(pv_tally_sort_teams(&t));
    return t;
}

static void drop_tally(pv_tally *t)
{
    for (size_t i = 0; i < t->n_teams; i++)
        free((char *)t->teams[i].info.page);
    free(t->teams);
    free(t->mats);
    free(t->sheets);
}

/* Each team stands in one group, by the worst of its sheets, and leads to its page; pictures of no
 * team in none. */
START_TEST(teams_stand_by_what_is_to_do)
{
    static char error[] = "it is no picture";
    pv_tally_plan plan = plan_of(2);
    static char teams[][8] = {"", "bad", "half", "none", "odd", "text", "whole"};
    static const struct {
        size_t team, number;
        pv_verdict verdict;
        bool unusable;
    } sent[] = {
        {0, 0, PV_CONFORMS, false}, {1, 0, PV_DOES_NOT_CONFORM, false}, {1, 1, PV_UNDECIDED, false},
        {2, 0, PV_CONFORMS, false}, {3, SIZE_MAX, PV_UNDECIDED, false}, {4, 0, PV_UNDECIDED, false},
        {5, 0, PV_UNDECIDED, true}, {6, 0, PV_CONFORMS, false},         {6, 1, PV_CONFORMS, false}};
    static const char *const said[] = {"Sheets that are not true: 1",
                                       "\"team/bad.html\"",
                                       "tell: 1",
                                       "\"team/odd.html\"",
                                       "Only some sheets missing: 1",
                                       "\"team/half.html\"",
                                       "1 of 2",
                                       "No sheet seen in what was sent: 1",
                                       "\"team/text.html\"",
                                       "Nothing sent: 1",
                                       "\"team/none.html\"",
                                       "Whole mat proven: 1",
                                       "\"team/whole.html\"",
                                       "id=\"teams\""};
    size_t n = sizeof sent / sizeof *sent;
    pv_tally_row rows[9] = {{.team = NULL}};
    for (size_t i = 0; i < n; i++) {
        bool nothing = sent[i].number == SIZE_MAX, none = nothing || sent[i].unusable;
        rows[i] = picture_of(nothing ? empty : files[0], answer, sent[i].verdict, sent[i].number);
        rows[i].team = teams[sent[i].team];
        rows[i].picture = !nothing;
        rows[i].error = none ? error : NULL;
        rows[i].plan = none ? SIZE_MAX : 0;
    }
    pv_tally t = tally_of(&plan, rows, n);
    pv_diags *diags = pv_diags_new();
    char *page = pv_tally_html(&t, diags);
    ck_assert_ptr_nonnull(page);
    const char *at = strstr(page, "id=\"whom\"");
    for (size_t i = 0; at != NULL && i < sizeof said / sizeof *said; i++) {
        at = strstr(at, said[i]);
        ck_assert_msg(at != NULL, "%s", said[i]);
    }
    ck_assert_ptr_nonnull(at);
    pv_free(page);
    drop_tally(&t);
    pv_diags_free(diags);
}
END_TEST

START_TEST(known_sums)
{
    pv_known known = {.sums = NULL};
    bool failed = false;
    char sum[PV_SHA256_HEX];
    for (int round = 0; round < 2; round++)
        for (unsigned i = 0; i < 500; i++) {
            snprintf(sum, sizeof sum, "%064u", i * 2654435761u % 1000);
            bool first = round == 0;
            for (unsigned k = 0; first && k < i; k++)
                first = k * 2654435761u % 1000 != i * 2654435761u % 1000;
            ck_assert(pv_known_add(&known, sum, &failed) == first);
        }
    ck_assert(!failed);
    pv_known_clear(&known);
}
END_TEST

/* Pictures of the same bytes: whose else they are is said to the organiser, and to each team whose
 * sheet rests on nothing else; but not of one team's own copies, nor of what is no picture of a
 * sheet. Page and answer say the same numbers. */
START_TEST(twins_are_told)
{
    static char sums[][4] = {"own", "own", "ab", "bad", "ab", "txt", "bad"};
    static char teams[][8] = {"north", "south"}, error[] = "it is no picture";
    pv_tally_plan plan = plan_of(1);
    pv_tally_row rows[7] = {{.team = NULL}};
    for (size_t i = 0; i < 7; i++) {
        bool bad = i == 3 || i >= 5;
        rows[i] = picture_of(files[i], answer, PV_CONFORMS, 0);
        rows[i].team = teams[i >= 4];
        rows[i].sha256 = sums[i];
        rows[i].picture = i != 5;
        rows[i].error = bad ? error : NULL;
        rows[i].plan = bad ? SIZE_MAX : 0;
        rows[i].same_as = i;
    }
    pv_tally t = tally_of(&plan, rows, 7);
    ck_assert_ptr_eq(rows[2].twin, &rows[4]);
    ck_assert_ptr_eq(rows[4].twin, &rows[2]);
    for (size_t i = 0; i < 7; i++)
        ck_assert(i == 2 || i == 4 || rows[i].twin == NULL);
    pv_collect_result run = {.measured = 4, .known = 3, .same = 3};
    char *said = pv_tally_text(&t, &run, "out/index.html"), *page = pv_tally_html(&t, NULL);
    assert_says(said, "6 pictures of 2 teams: 4 usable, 2 unusable; and 1 other file|4 measured "
                      "now, 0 known, 3 the same|1 of 2 teams|2 pictures are|out/index.html.");
    assert_says(page, "<dt>Pictures</dt><dd><b>6<|is true</dt><dd><b>4<|Unusable "
                      "pictures</dt><dd><b>2<|Other files</dt><dd><b>1<");
    assert_says(page, "same picture: A1 (c.png)<|same picture: A1 (e.png)<|that another team sent, "
                      "too: 1 team<|team/south.html|Whole mat proven: 1 team<|team/north.html");
    /* The first team has a picture of its own, which proves the sheet. */
    for (size_t i = 0; i < 2; i++) {
        char *own = pv_tally_team_html(&t, i, NULL);
        assert_says(own, i == 0 ? "mat is proven<|Nothing is left to do|Proven</span>"
                                : "mat is proven; in question: A1<|of your own print: A1.|"
                                  "same picture:</span> A1 (e.png), to|In question</span>");
        ck_assert_int_eq(strstr(own, "Another team sent the same") != NULL, i == 1);
        ck_assert_ptr_null(strstr(own, i == 0 ? "south" : "north"));
        pv_free(own);
    }
    pv_free(said);
    pv_free(page);
    drop_tally(&t);
}
END_TEST

/* An organiser's own copy beside the teams' folders is no other team's. */
START_TEST(no_team_is_no_twin)
{
    static char sum[] = "ab", teams[][8] = {"", "north", "south"};
    pv_tally_plan plan = plan_of(1);
    pv_tally_row rows[3] = {{.team = NULL}};
    for (size_t n = 2; n <= 3; n++) {
        for (size_t i = 0; i < n; i++) {
            rows[i] = picture_of(files[i], answer, PV_CONFORMS, 0);
            rows[i].team = teams[i];
            rows[i].sha256 = sum;
            rows[i].same_as = i;
        }
        pv_tally t = tally_of(&plan, rows, n);
        ck_assert_ptr_null(rows[0].twin);
        ck_assert_ptr_eq(rows[1].twin, n == 2 ? NULL : &rows[2]);
        ck_assert_ptr_eq(rows[2].twin, n == 2 ? NULL : &rows[1]);
        drop_tally(&t);
    }
}
END_TEST

/* The table tells a proof page from a sheet of the mat, and a file of another kind from a picture.
 */
START_TEST(the_table_names_what_was_sent)
{
    static char sum[] = "00", error[] = "it is no picture";
    pv_tally_plan plan = plan_of(1);
    plan.proof = true;
    pv_tally_row rows[4] = {{.team = NULL}};
    for (size_t i = 0; i < 4; i++) {
        rows[i] = picture_of(files[i], answer, PV_CONFORMS, 0);
        rows[i].sha256 = i < 3 ? sum : NULL;
        rows[i].picture = i < 2;
        rows[i].error = i > 0 ? error : NULL;
        rows[i].plan = i > 0 ? SIZE_MAX : 0;
    }
    pv_tally t = tally_of(&plan, rows, 4);
    char *table = pv_tally_csv(&t);
    assert_says(table, "\"a.png\",,conforms,\"proof\",\"A4\"|\"b.png\",,unusable,,|\"c.png\",,no "
                       "picture,,|\"d.png\",,not read,,");
    pv_free(table);
    drop_tally(&t);
}
END_TEST

/* A tally by hand: what is odd, by the definition. */
START_TEST(odd_ones)
{
    /* Median 1.0000, deviations 0 to 4 in 0.0001: the median of |d| is 0.0002. */
    static const double scales[] = {0.9996, 0.9997, 0.9998, 0.9999, 1.0000, 1.0001, 1.0002,
                                    1.0003, 1.0004, 1.0008, 1.0010, 0.9990, 0.9992};
    size_t n = sizeof scales / sizeof *scales;
    pv_tally_row rows[13] = {{.team = NULL}};
    pv_tally t = {.rows = rows, .n_rows = n};
    for (size_t i = 0; i < n; i++) {
        rows[i].U_rel = 0.001;
        rows[i].scale[0] = scales[i];
        rows[i].scale[1] = rows[i].skew = rows[i].kind[PV_TALLY_WIDTH].mean = NAN;
        rows[i].scale_U[0] = i == 10 ? 0.002 : 0.0001;
    }
    ck_assert(pv_tally_compare(&t));
    ck_assert(fabs(t.usual[PV_ODD_SCALE_X].median - 1.0000) < 1e-12);
    /* |d|: 4 3 2 1 0 1 2 3 4 8 10 10 8: the median is 3, the bound 3 x 1.4826 x 3 = 13.3. */
    ck_assert(fabs(t.usual[PV_ODD_SCALE_X].spread - 1.4826 * 0.0003) < 1e-12);
    for (size_t i = 0; i < n; i++)
        ck_assert_uint_eq(rows[i].odd, 0);
    rows[9].scale[0] = 1.0020;
    rows[10].scale[0] = 1.0015;
    ck_assert(pv_tally_compare(&t));
    ck_assert_uint_eq(rows[9].odd, 1);
    ck_assert_uint_eq(rows[10].odd, 0); /* as far, within its own U */
    ck_assert_uint_eq(t.usual[PV_ODD_SKEW].n, 0);
    /* Widths by the U of their mean, not that of the worst line. */
    for (size_t i = 0; i < n; i++) {
        rows[i].odd = 0;
        rows[i].kind[PV_TALLY_WIDTH].mean = scales[i] - 1;
        rows[i].kind[PV_TALLY_WIDTH].U = i == 9 ? 1 : 0;
        rows[i].kind[PV_TALLY_WIDTH].mean_U = i == 10 ? 1 : 0;
    }
    rows[9].kind[PV_TALLY_WIDTH].mean = rows[10].kind[PV_TALLY_WIDTH].mean = 0.01;
    ck_assert(pv_tally_compare(&t));
    ck_assert((rows[9].odd & 1u << PV_ODD_WIDTH) != 0);
    ck_assert((rows[10].odd & 1u << PV_ODD_WIDTH) == 0);
}
END_TEST

/* Sheets of which the same is said share a row of their team's page, in the place of the first. */
START_TEST(the_same_is_said_once)
{
    static char same[] = "Do this.", other[] = "Do that.";
    char *const advice[] = {same, other, same, same, same};
    static const pv_verdict verdicts[] = {PV_UNDECIDED, PV_UNDECIDED, PV_UNDECIDED,
                                          PV_DOES_NOT_CONFORM, PV_UNDECIDED};
    pv_tally_plan plan = plan_of(5);
    pv_tally_row rows[5] = {{.team = NULL}};
    for (size_t i = 0; i < 5; i++)
        rows[i] = picture_of(files[i], advice[i], verdicts[i], i);
    pv_tally t = tally_of(&plan, rows, 5);
    char *page = pv_tally_team_html(&t, 0, NULL);
    assert_says(page, ">A1, A3, A5</th>|>a.png, c.png, e.png<|>A2</th>|>b.png<|>A4</th>|>d.png<");
    ck_assert(strstr(page, ">A1, A3") < strstr(page, ">A2</th>"));
    ck_assert(strstr(page, ">A2</th>") < strstr(page, ">A4</th>"));
    pv_free(page);
    drop_tally(&t);
}
END_TEST

/* A sheet's state by a picture that fails it, and what another adds that can't tell: its line is
 * there, whichever came first by name, and only where the sheet is not true. */
START_TEST(what_cannot_tell_stands_beside_what_fails)
{
    static char advice[][32] = {"First advice.", "Second advice."};
    pv_tally_plan plan = plan_of(4);
    static const pv_verdict pairs[][2] = {{PV_DOES_NOT_CONFORM, PV_UNDECIDED},
                                          {PV_UNDECIDED, PV_DOES_NOT_CONFORM},
                                          {PV_CONFORMS, PV_UNDECIDED},
                                          {PV_UNDECIDED, PV_UNDECIDED},
                                          {PV_DOES_NOT_CONFORM, PV_DOES_NOT_CONFORM},
                                          {PV_CONFORMS, PV_DOES_NOT_CONFORM}};
    pv_diags *diags = pv_diags_new();
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        pv_tally_row rows[2] = {{.team = NULL}};
        for (int k = 0; k < 2; k++) {
            rows[k] = picture_of(files[k], advice[k], pairs[i][k], 2);
            rows[k].asks_scanner = true;
        }
        pv_tally t = tally_of(&plan, rows, 2);
        /* What is proven asks for nothing more; of all else each picture that could. */
        bool proven = pairs[i][0] == PV_CONFORMS && pairs[i][1] == PV_UNDECIDED;
        ck_assert_uint_eq(pv_tally_asking(&t), proven ? 0 : 2);
        char *page = pv_tally_team_html(&t, 0, diags);
        ck_assert_ptr_nonnull(page);
        ck_assert_int_eq(strstr(page, "Tell the organiser what you scanned with") != NULL, !proven);
        const char *line = strstr(page, "Another picture of it can't tell:");
        ck_assert_int_eq(line != NULL, i < 2);
        if (line != NULL) {
            size_t other = i == 0 ? 1 : 0;
            const char *end = strstr(line, "</tr>"), *file = strstr(line, files[other]);
            const char *what = strstr(line, advice[other]);
            ck_assert(file != NULL && what != NULL && file < what && what < end);
            ck_assert_ptr_null(strstr(line + 1, "Another picture"));
        }
        pv_free(page);
        drop_tally(&t);
    }
    pv_diags_free(diags);
}
END_TEST

/* A picture that is true to size and too coarse for any line proves no sheet, and disputes none; it
 * is not asked for once another proves the sheet. */
START_TEST(what_shows_no_line_proves_nothing)
{
    static char advice[] = "Scan it finer.";
    pv_tally_plan plan = plan_of(1);
    static const struct {
        pv_verdict other; /* in the second picture; the first conforms, without a line */
        size_t n, proven, failed, undecided;
        const char *word;
    } cases[] = {{PV_CONFORMS, 1, 0, 0, 1, "Lines not measured"},
                 {PV_UNDECIDED, 2, 0, 0, 1, "Lines not measured"},
                 {PV_CONFORMS, 2, 1, 0, 0, "Proven"},
                 {PV_DOES_NOT_CONFORM, 2, 0, 1, 0, "Not true"}};
    pv_diags *diags = pv_diags_new();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (size_t first = 0; first < cases[i].n; first++) {
            pv_tally_row rows[2] = {{.team = NULL}};
            for (size_t k = 0; k < cases[i].n; k++) {
                rows[k] =
                    picture_of(files[k], advice, k == first ? PV_CONFORMS : cases[i].other, 0);
                rows[k].asks_finer = k == first;
            }
            pv_tally t = tally_of(&plan, rows, cases[i].n);
            const pv_team_info *info = &t.teams[0].info;
            ck_assert_uint_eq(info->proven, cases[i].proven);
            ck_assert_uint_eq(info->failed, cases[i].failed);
            ck_assert_uint_eq(info->undecided, cases[i].undecided);
            ck_assert_uint_eq(info->disputed, 0);
            char *own = pv_tally_team_html(&t, 0, diags), *all = pv_tally_html(&t, diags);
            ck_assert(own != NULL && all != NULL);
            ck_assert_ptr_nonnull(strstr(own, cases[i].word));
            ck_assert_int_eq(strstr(own, "whole mat is proven") != NULL, cases[i].proven > 0);
            ck_assert_int_eq(strstr(own, advice) != NULL, cases[i].proven == 0);
            ck_assert_int_eq(strstr(all, "lines not measured: A1") != NULL, cases[i].undecided > 0);
            pv_free(own);
            pv_free(all);
            drop_tally(&t);
        }
    pv_diags_free(diags);
}
END_TEST

/* A team's page where a sheet is of the former edition, and where one has not its size: what to do
 * first comes first, and nobody is asked for a picture of what is to be printed again. */
START_TEST(what_to_do_comes_in_order)
{
    static char roll[] = "36 in roll", advice[] = "Some advice.", error[] = "it has changed";
    static char two[] = "2";
    pv_diags *diags = pv_diags_new();
    for (int i = 0; i < 6; i++) {
        bool changed = i < 2;
        pv_tally_plan plan = plan_of(4);
        plan.edition = two;
        plan.paper = i == 1 ? roll : paper;
        pv_tally_row row = picture_of(files[0], advice, PV_DOES_NOT_CONFORM, 2);
        row.error = changed ? error : NULL;
        row.plan = changed ? SIZE_MAX : 0;
        row.now_plan = changed ? 0 : SIZE_MAX;
        row.now_number = 2;
        row.kind[PV_TALLY_SCALE].verdict = i < 5 ? PV_DOES_NOT_CONFORM : PV_CONFORMS;
        row.scale[0] = i == 3 ? 1.02 : 0.97;
        row.scale[1] = i > 2 ? 1.02 : 0.97;
        pv_tally t = tally_of(&plan, &row, 1);
        ck_assert_uint_eq(t.teams[0].info.missing, changed ? 4 : 3);
        char *page = pv_tally_team_html(&t, 0, diags);
        ck_assert_ptr_nonnull(page);
        const char *missing = strstr(page, "No picture yet of A1, A2, A4.");
        const char *first = strstr(page, "Do this first:"), *list = strstr(page, "<table");
        ck_assert(missing != NULL && list != NULL);
        ck_assert_ptr_null(strstr(page, "cannot be used"));
        ck_assert_int_eq(first != NULL, i > 1 && i < 5);
        ck_assert_int_eq(missing < list, first == NULL);
        static const char *const says[] = {"again-a4.pdf",    "again-roll-36in.pdf",
                                           "A3 is too small", "A3 is too large",
                                           "A3 is distorted", "0 of 4 sheets are proven"};
        ck_assert_ptr_nonnull(strstr(page, says[i]));
        pv_free(page);
        drop_tally(&t);
    }
    pv_diags_free(diags);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("collect");
    TCase *tests = tcase_create("collect");
    tcase_add_test(tests, threads_agree);
    tcase_add_test(tests, known_again);
    tcase_add_test(tests, the_contact_is_told);
    tcase_add_test(tests, each_on_its_own_basis);
    tcase_add_test(tests, parts_agree_on_scanners);
    tcase_add_test(tests, stopped_is_not_complete);
    tcase_add_test(tests, failed_merge_changes_nothing);
    tcase_add_test(tests, strangers_are_refused);
    tcase_add_test(tests, values_of_strangers);
    tcase_add_test(tests, one_at_a_time);
    tcase_add_test(tests, names_do_no_harm);
    tcase_add_test(tests, names_are_in_latin_letters);
    tcase_add_test(tests, teams_stand_by_what_is_to_do);
    tcase_add_test(tests, twins_are_told);
    tcase_add_test(tests, no_team_is_no_twin);
    tcase_add_test(tests, the_same_is_said_once);
    tcase_add_test(tests, the_table_names_what_was_sent);
    tcase_add_test(tests, known_sums);
    tcase_add_test(tests, odd_ones);
    tcase_add_test(tests, what_cannot_tell_stands_beside_what_fails);
    tcase_add_test(tests, what_shows_no_line_proves_nothing);
    tcase_add_test(tests, what_to_do_comes_in_order);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
