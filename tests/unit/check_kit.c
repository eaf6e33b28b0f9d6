/* The kit: which files it has, what they say of each other, and that their sums are right. */
#include "common.h"

#include "base/sha256.h"
#include "json/json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILES_MAX 2000

/* A kit in memory. */
typedef struct shelf {
    char *name[FILES_MAX], *bytes[FILES_MAX];
    size_t size[FILES_MAX], n;
    size_t stop_at; /* refuses this file; 0: none */
} shelf;

static bool take(void *context, const pv_kit_member *member, pv_diags *diags)
{
    shelf *s = context;
    if (s->stop_at != 0 && s->n + 1 == s->stop_at) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_OUTPUT, NULL, "the shelf is full");
        return false;
    }
    ck_assert_uint_lt(s->n, FILES_MAX);
    s->name[s->n] = pv_copy_text(member->name);
    s->bytes[s->n] = pv_copy_chars(member->bytes, member->size);
    s->size[s->n++] = member->size;
    return true;
}

static void empty(shelf *s)
{
    for (size_t i = 0; i < s->n; i++) {
        free(s->name[i]);
        free(s->bytes[i]);
    }
    *s = (shelf){0};
}

static size_t find(const shelf *s, const char *name)
{
    for (size_t i = 0; i < s->n; i++)
        if (strcmp(s->name[i], name) == 0)
            return i;
    return SIZE_MAX;
}

static pv_kit *make(const char *layout, const pv_kit_options *options, shelf *s, pv_diags *diags)
{
    pv_bytes text = read_input(layout);
    pv_kit *kit = pv_kit_make((const char *)text.data, text.size, layout, test_type(), options,
                              take, s, diags);
    pv_free(text.data);
    return kit;
}

/* The kits of our layouts on the usual papers, for all tests that only read them. */
static const char *const layouts[] = {"layouts/quayside.course", "layouts/pierhead.course",
                                      "layouts/breakwater.course"};
#define LAYOUTS (sizeof layouts / sizeof *layouts)
static shelf usual[LAYOUTS];
static pv_kit *usual_kit[LAYOUTS];

static void make_usual(void)
{
    for (size_t i = 0; i < LAYOUTS; i++) {
        usual_kit[i] = make(layouts[i], NULL, &usual[i], NULL);
        ck_assert_ptr_nonnull(usual_kit[i]);
    }
}

static void drop_usual(void)
{
    for (size_t i = 0; i < LAYOUTS; i++) {
        pv_kit_free(usual_kit[i]);
        empty(&usual[i]);
    }
}

static const shelf *usual_of(const char *layout)
{
    for (size_t i = 0; i < LAYOUTS; i++)
        if (strcmp(layouts[i], layout) == 0)
            return &usual[i];
    ck_abort_msg("%s has no kit here", layout);
}

/* FIPS 180-4's examples (NIST, "SHA-256 examples", and the message of a million letters a). */
START_TEST(sums_are_those_of_the_standard)
{
    static const char two_blocks[] = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    char hex[PV_SHA256_HEX], *million = malloc(1000000);
    pv_sha256("abc", 3, hex);
    ck_assert_str_eq(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    pv_sha256(two_blocks, strlen(two_blocks), hex);
    ck_assert_str_eq(hex, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    pv_sha256("", 0, hex);
    ck_assert_str_eq(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    ck_assert_ptr_nonnull(million);
    memset(million, 'a', 1000000);
    pv_sha256(million, 1000000, hex);
    ck_assert_str_eq(hex, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(million);
}
END_TEST

START_TEST(usual_papers_are_there)
{
    static const char *const ids[] = {"a4", "letter", "a3", "tabloid", "roll-36in", "roll-42in"};
    const shelf *s = &usual[0];
    const pv_kit *kit = usual_kit[0];
    const pv_kit_info *info = pv_kit_info_of(kit);
    ck_assert_uint_eq(info->papers, 6);
    ck_assert_uint_eq(info->files, s->n);
    ck_assert_ptr_null(pv_kit_paper_at(kit, 6));
    for (size_t i = 0; i < 6; i++) {
        char name[100];
        const pv_kit_paper *paper = pv_kit_paper_at(kit, i);
        ck_assert_str_eq(paper->id, ids[i]);
        snprintf(name, sizeof name, "%s/mat-%s.pdf", ids[i], ids[i]);
        ck_assert_uint_ne(find(s, name), SIZE_MAX);
        ck_assert_uint_ne(find(s, paper->plan), SIZE_MAX);
        snprintf(name, sizeof name, "%s/proof-%s.pdf", ids[i], ids[i]);
        ck_assert_int_eq(find(s, name) != SIZE_MAX, paper->roll == 0);
        /* The plan is that of the sheets. */
        size_t at = find(s, paper->plan);
        pv_plan *plan = pv_plan_parse(s->bytes[at], s->size[at], NULL, NULL);
        pv_summary *summary = pv_summary_make(plan, NULL);
        ck_assert_str_eq(pv_summary_plan(summary)->kit, paper->kit);
        ck_assert_uint_eq(pv_summary_plan(summary)->sheets, paper->sheets);
        pv_summary_free(summary);
        pv_plan_free(plan);
    }
    pv_bytes course = read_input(layouts[0]);
    size_t at = find(s, "mat.course");
    ck_assert_uint_eq(s->size[at], course.size);
    ck_assert_mem_eq(s->bytes[at], course.data, course.size);
    pv_free(course.data);
}
END_TEST

typedef struct checking {
    const shelf *shelf;
    size_t seen;
} checking;

static bool check_sum(void *context, const char *name, const char *sum)
{
    checking *c = context;
    char hex[65];
    size_t at = find(c->shelf, name);
    ck_assert_uint_ne(at, SIZE_MAX);
    pv_kit_sum(c->shelf->bytes[at], c->shelf->size[at], hex);
    ck_assert_str_eq(hex, sum);
    c->seen++;
    return true;
}

START_TEST(lists_name_all_files)
{
    static const char *const papers[] = {"A4"};
    static const double rolls[] = {914.0, 600.5};
    pv_kit_options options = pv_kit_defaults();
    shelf s = {0};
    options.papers = papers;
    options.n_papers = 1;
    options.rolls = rolls;
    options.n_rolls = 2;
    options.url = "https://example.org/mat/";
    pv_kit *kit = make("layouts/pierhead.course", &options, &s, NULL);
    ck_assert_ptr_nonnull(kit);
    ck_assert_str_eq(pv_kit_paper_at(kit, 1)->id, "roll-914mm");
    ck_assert_str_eq(pv_kit_paper_at(kit, 2)->id, "roll-600-5mm");
    assert_says(s.bytes[find(&s, "index.html")], "Roll, 914 mm wide|Roll, 600.5 mm wide");
    checking c = {.shelf = &s};
    size_t sums = find(&s, "SHA256SUMS"), list = find(&s, "kit.json");
    ck_assert_uint_eq(sums, s.n - 1);
    ck_assert(pv_kit_sums_read(s.bytes[sums], s.size[sums], check_sum, &c, NULL));
    ck_assert_uint_eq(c.seen, s.n - 1);
    pv_diags *diags = pv_diags_new();
    pv_json *json = pv_json_parse(s.bytes[list], s.size[list], "kit.json", diags);
    const pv_json_node *root = pv_json_root(json), *files = pv_json_member(json, root, "files");
    ck_assert_uint_eq(pv_json_length(json, files), s.n - 2); /* without the lists themselves */
    for (size_t i = 0; i < s.n - 2; i++) {
        const pv_json_node *file = pv_json_item(json, files, i);
        size_t at = find(&s, pv_json_get_string(json, pv_json_member(json, file, "name")));
        ck_assert_uint_eq(at, i);
        ck_assert_uint_eq(
            (size_t)pv_json_get_integer(json, pv_json_member(json, file, "bytes"), 0, 1000000000),
            s.size[i]);
    }
    const pv_json_node *all = pv_json_member(json, root, "papers");
    ck_assert_uint_eq(pv_json_length(json, all), 3);
    ck_assert_ptr_null(pv_json_optional(json, pv_json_item(json, all, 1), "proof"));
    ck_assert(pv_json_good(json));
    pv_json_free(json);
    pv_diags_free(diags);
    pv_kit_free(kit);
    empty(&s);
}
END_TEST

START_TEST(the_same_input_gives_the_same_bytes)
{
    const shelf *a = usual_of("layouts/pierhead.course");
    shelf b = {0};
    pv_kit *second = make("layouts/pierhead.course", NULL, &b, NULL);
    ck_assert_uint_eq(a->n, b.n);
    for (size_t i = 0; i < b.n; i++) {
        ck_assert_str_eq(a->name[i], b.name[i]);
        ck_assert_uint_eq(a->size[i], b.size[i]);
        ck_assert_mem_eq(a->bytes[i], b.bytes[i], b.size[i]);
    }
    pv_kit_free(second);
    empty(&b);
}
END_TEST

START_TEST(a_sink_that_refuses_stops_it)
{
    for (size_t stop = 1; stop < 12; stop += 3) {
        shelf s = {.stop_at = stop};
        pv_diags *diags = pv_diags_new();
        ck_assert_ptr_null(make("layouts/pierhead.course", NULL, &s, diags));
        ck_assert_uint_eq(s.n, stop - 1);
        ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
        ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_OUTPUT);
        pv_diags_free(diags);
        empty(&s);
    }
}
END_TEST

static bool no_more(void *context, size_t done, size_t total)
{
    *(size_t *)context = total;
    return done < 2;
}

START_TEST(progress_can_stop_it)
{
    shelf s = {0};
    size_t total = 0;
    pv_kit_options options = pv_kit_defaults();
    options.progress = no_more;
    options.progress_context = &total;
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(make("layouts/pierhead.course", &options, &s, diags));
    ck_assert_uint_eq(total, 6);
    assert_says(pv_diags_at(diags, 0)->message, "2|6");
    pv_diags_free(diags);
    empty(&s);
}
END_TEST

/* Of papers that nobody named, those that can't take the mat are left out, and said. */
START_TEST(papers_that_do_not_serve)
{
    static const char wide[] = "course \"Wide\" edition \"1\"\nmat 20m by 20m ground white\n";
    static const double rolls[] = {50.0};
    shelf s = {0};
    pv_diags *diags = pv_diags_new();
    pv_kit_options options = pv_kit_defaults();
    options.rolls = rolls;
    options.n_rolls = 1;
    ck_assert_ptr_null(
        pv_kit_make(wide, strlen(wide), NULL, test_type(), &options, take, &s, diags));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
    char *text = diags_text(diags);
    assert_says(text, "roll-50mm");
    pv_free(text);
    pv_diags_free(diags);
    empty(&s);
}
END_TEST

#define NB "\xC2\xA0"

/* One in ten to spare, rounded up; minutes and metres are pv_takeoff's, which check_takeoff.c
 * checks. Pierhead is one sheet of A4, Quayside 28. */
START_TEST(pages_say_what_one_needs)
{
    static const struct {
        const char *layout, *page, *says;
    } cases[] = {
        {"layouts/quayside.course", "a4/index.html", ": 28 for the mat, 3 to spare"},
        {"layouts/pierhead.course", "a4/index.html",
         "3 sheets: 1 for the mat, 1 to spare, 1 for the proof page<"},
        /* 2 (1.2 + 0.9) m; hypot(1200, 900), and a tape that reads more than that. */
        {"layouts/quayside.course", "a4/index.html",
         "5" NB "m (17" NB "ft) of floor tape|1500" NB "mm (59.06" NB "in)|2" NB "m (7" NB
         "ft) or longer, for the finished mat"},
        /* Seams of 6 times 0.9 m and 3 times 1.2 m, 28 times two pieces of 50 mm, and one metre in
           ten: alike on both pages. */
        {"layouts/quayside.course", "a4/index.html", "13" NB "m (43" NB "ft) for the seams"},
        {"layouts/quayside.course", "a4/guide.html",
         "Thin matt tape: 13 m for the seams. Floor tape: 5 m for"},
        /* Without a contact or a page that checks: only who is asked sends pictures. */
        {"layouts/quayside.course", "index.html",
         "asks for pictures, print sheet A1 first|Send pictures only if your organiser asks for "
         "them.|says where to send it."},
        {"layouts/quayside.course", "a4/index.html", "asks for pictures, print sheet A1 first"},
        {"layouts/quayside.course", "a4/a1.html", "Send pictures only if your organiser asks for"},
        /* A copy shop's print is not the reader's printer's. */
        {"layouts/quayside.course", "roll-36in/index.html", "Take it back to the shop"},
        {"layouts/quayside.course", "roll-36in/index.html", "some hours of drying|Let all prints"},
        {"layouts/quayside.course", "rules.html",
         "1200" NB "\xC3\x97" NB "900" NB "mm|0.30" NB "%|3.6" NB "mm (0.142" NB "in) across|2.7" NB
         "mm (0.106" NB "in) up"},
        /* Its start: berth + (0, 90) mm, heading 90 degrees. */
        {"layouts/quayside.course", "rules.html",
         "260" NB "mm (10.24" NB "in) from the left, 140" NB "mm (5.51" NB "in) from the bottom"},
        {"layouts/quayside.course", "rules.html",
         "160" NB "mm (6.3" NB "in) long, 120" NB "mm (4.72" NB "in) wide, pivot 55" NB "mm"},
        /* The sheet's marks are 284 and 407 mm apart, the proof page's 382, the mat 240 mm wide. */
        {"layouts/pierhead.course", "a3/index.html", "500" NB "mm (19.69" NB "in) or longer"},
        /* P-R of the roll is hypot(1322, 882) mm, which no rule reaches. */
        {"layouts/quayside.course", "roll-36in/index.html",
         "Steel tape measure|2" NB "m (7" NB "ft) or longer, for the print and"},
        /* In inches first, the tolerances as well: 132 in by 60 in, 0.3 %, 0.03 in. */
        {"layouts/breakwater.course", "rules.html",
         "132" NB "\xC3\x97" NB "60" NB "in (|0.396" NB "in|0.18" NB "in (4.57" NB
         "mm) up|\xC2\xB1" NB "0.03" NB "in (0.76" NB "mm)"},
        /* 72.6 in / tan(33.5 degrees), and twice that by both tangents, less what is no whole inch.
         */
        {"layouts/breakwater.course", "camera.html",
         ">phone, main camera, photo<|110" NB "in (2794" NB "mm)|145" NB "\xC3\x97" NB "109" NB
         "in<"},
        /* Three pages of guide, two pieces, each of 3412 mm. */
        {"layouts/breakwater.course", "roll-36in/index.html",
         "print only pages 4 to 5 of this PDF|22.4" NB "ft (6.83" NB "m) of the roll"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const shelf *s = usual_of(cases[i].layout);
        size_t at = find(s, cases[i].page);
        ck_assert_uint_ne(at, SIZE_MAX);
        ck_assert_msg(says(s->bytes[at], cases[i].says), "%s: %s", cases[i].page, cases[i].says);
    }
}
END_TEST

/* A picture needs what is cut away. */
START_TEST(sheets_are_scanned_before_they_are_cut)
{
    static const char *const pages[] = {"a4/index.html", "roll-36in/index.html"};
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < 2; k++) {
            const char *page = usual[i].bytes[find(&usual[i], pages[k])];
            const char *scan = strstr(page, k == 0 ? "<h2>Scan or photograph" : "<h2>Have it scan");
            const char *cut = strstr(page, "<h2>Cut ");
            ck_assert_msg(scan != NULL && cut != NULL && scan < cut, "%s", pages[k]);
            /* And what one needs stands before the first step. */
            ck_assert(strstr(page, "<h2>What you need") < strstr(page, "<ol class=\"steps\">"));
        }
}
END_TEST

/* Of the same course, with a word changed, and perhaps the edition. */
static void remake(const char *from, const char *to, shelf *s, pv_diags *diags)
{
    static const char *const papers[] = {"A4"};
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    const shelf *former = usual_of("layouts/quayside.course");
    size_t at = find(former, "a4/mat-a4.plan.json");
    pv_plan *plan = pv_plan_parse(former->bytes[at], former->size[at], NULL, NULL);
    const pv_plan *older[] = {plan};
    options.older = older;
    options.n_older = 1;
    options.url = "https://example.org/a/very/long/address/that/leaves/no/room/for/its/code/";
    pv_bytes text = read_input("layouts/quayside.course");
    char *course = pv_copy_chars((const char *)text.data, text.size), *word = strstr(course, from);
    ck_assert_ptr_nonnull(word);
    ck_assert_uint_eq(strlen(from), strlen(to));
    memcpy(word, to, strlen(to));
    pv_kit *next = pv_kit_make(course, text.size, NULL, test_type(), &options, take, s, diags);
    ck_assert_ptr_nonnull(next);
    pv_kit_free(next);
    pv_free(course);
    pv_free(text.data);
    pv_plan_free(plan);
}

START_TEST(a_changed_course_wants_a_new_edition)
{
    for (int renewed = 0; renewed < 2; renewed++) {
        shelf s = {0};
        pv_diags *diags = pv_diags_new();
        remake(renewed ? "edition \"1\"" : "TERN", renewed ? "edition \"2\"" : "GULL", &s, diags);
        char *said = diags_text(diags);
        const char *page = s.bytes[find(&s, "changes.html")];
        ck_assert_int_eq(strstr(said, "both edition \"1\"") != NULL, !renewed);
        ck_assert_int_eq(says(page, "<h1>What has changed since edition 1</h1>"), renewed);
        /* A1 may be one that stays. */
        ck_assert(!says(s.bytes[find(&s, "a4/index.html")], "sheet A1 first"));
        ck_assert(!says(s.bytes[find(&s, "a4/guide.html")], "sheet A1 first"));
        /* What is said of sheets names their paper, and is said once. */
        for (size_t i = 0; i < pv_diags_size(diags); i++) {
            const char *message = pv_diags_at(diags, i)->message;
            ck_assert_msg(strstr(message, "QR code") == NULL || strncmp(message, "a4: ", 4) == 0,
                          "%s", message);
        }
        pv_free(said);
        pv_diags_free(diags);
        empty(&s);
    }
}
END_TEST

/* How often it stands after a digit and a blank. */
static size_t measures_in(const char *page, const char *unit)
{
    size_t n = 0, length = strlen(unit);
    for (const char *at = page; (at = strstr(at, unit)) != NULL; at += length)
        n += at - page > 1 && at[-1] == ' ' && at[-2] >= '0' && at[-2] <= '9' &&
             strchr(" .;,\n", at[length]) != NULL;
    return n;
}

/* Whether a sheet's page and the guide ask the same of a ruler, of which nothing is 0. */
static void expect_readings(const shelf *s, const char *sheet)
{
    const char *guide = s->bytes[find(s, "a4/guide.html")];
    const char *said = strstr(s->bytes[find(s, sheet)], "P to Q must be ");
    ck_assert_ptr_nonnull(said);
    size_t length = strcspn(said, "<"), n = 0;
    char words[160] = "";
    ck_assert_uint_lt(length, sizeof words);
    memcpy(words, said, length);
    ck_assert_msg(strstr(guide, words) != NULL, "%s", words);
    static const char off[] = "mm \xC2\xB1" NB;
    for (const char *at = guide; (at = strstr(at, off)) != NULL; n++) {
        at += strlen(off);
        ck_assert_msg(strtod(at, NULL) > 0, "%.20s", at);
    }
    ck_assert_uint_eq(n, 3); /* of sheet A1 and of a row */
}

/* In mm of a course in inches, too; and of a tolerance that is tighter than any ruler. */
START_TEST(readings_are_alike_in_mm_and_not_0)
{
    static const char tight[] = "course \"Tight\" edition \"1\"\nmat 300mm by 300mm ground white\n"
                                "tolerance scale 0.001 %\n";
    static const char *const papers[] = {"A4"};
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    shelf s = {0};
    pv_kit *kit = pv_kit_make(tight, strlen(tight), NULL, test_type(), &options, take, &s, NULL);
    ck_assert_ptr_nonnull(kit);
    expect_readings(&s, "a4/a1.html");
    ck_assert(
        says(s.bytes[find(&s, "a4/index.html")], "\xC2\xB1&nbsp;0.003" NB "mm (0.0001" NB "in)"));
    ck_assert(says(s.bytes[find(&s, "rules.html")], "0.001" NB "%"));
    ck_assert(says(s.bytes[find(&s, "a4/guide.html")], "300" NB "mm \xC2\xB1" NB "0.003" NB "mm"));
    pv_kit_free(kit);
    empty(&s);
    const shelf *inches = usual_of("layouts/breakwater.course");
    expect_readings(inches, "a4/a1.html");
    ck_assert(says(inches->bytes[find(inches, "a4/guide.html")],
                   "3352.8" NB "mm \xC2\xB1" NB "10.1" NB "mm"));
    /* A roll is printed whole. */
    ck_assert(!says(inches->bytes[find(inches, "roll-36in/guide.html")], "sheet A1 first"));
}
END_TEST

/* But for readings in mm and m, or in inches and feet. A guide of many steps leads to each sheet's
 * own one. */
START_TEST(guides_have_one_unit_and_lead_to_each_sheet)
{
    static const struct {
        const char *layout, *own[2], *other[2];
        size_t sheets;
    } cases[] = {
        {"layouts/quayside.course", {"mm", "m"}, {"in", "ft"}, 28},
        {"layouts/breakwater.course", {"in", "ft"}, {"mm", "m"}, 114},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const shelf *s = usual_of(cases[i].layout);
        const char *page = s->bytes[find(s, "a4/guide.html")];
        for (int k = 0; k < 2; k++) {
            ck_assert_uint_gt(measures_in(page, cases[i].own[k]), 1);
            ck_assert_uint_eq(measures_in(page, cases[i].other[k]), 0);
        }
        size_t n = 0, step;
        char sheet[8], title[80];
        for (const char *at = page; (at = strstr(at, "<li><a href=\"#step-")) != NULL; at++, n++) {
            ck_assert_int_eq(sscanf(at, "<li><a href=\"#step-%zu\">%7[A-Z0-9]</a>", &step, sheet),
                             2);
            snprintf(title, sizeof title, "<section id=\"step-%zu\">\n<h3>Step %zu: sheet %s</h3>",
                     step, step, sheet);
            ck_assert_msg(strstr(page, title) != NULL, "%s", title);
        }
        ck_assert_uint_eq(n, cases[i].sheets);
    }
}
END_TEST

/* Where to send it is said where something is to be sent, as text; what is no line is refused. */
START_TEST(contacts_are_lines_of_text)
{
    static const char *const pages[] = {"index.html", "a4/index.html", "a4/a1.html",
                                        "run-record.html"};
    static const char *const bad[] = {"", "  ", "a\nb", "a\x1b[1m", "\xff", "\xc2\x85"};
    static const char *const papers[] = {"A4"};
    char longest[PV_KIT_CONTACT_MAX + 2] = "";
    memset(longest, 'm', PV_KIT_CONTACT_MAX + 1);
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    options.contact = "<Mats> & more, mats@example.org";
    shelf s = {0};
    pv_kit_free(make("layouts/pierhead.course", &options, &s, NULL));
    for (size_t i = 0; i < sizeof pages / sizeof *pages; i++) {
        const char *page = s.bytes[find(&s, pages[i])];
        assert_says(page, i == 1 || i == 2 ? "Send the pictures, also of sheets that are true, to:"
                                           : "Send to:");
        assert_says(page, "<b>&lt;Mats&gt; &amp; more, mats@example.org</b>");
        ck_assert_ptr_null(strstr(page, "Your organiser says"));
        ck_assert_ptr_null(strstr(page, "only if your organiser"));
    }
    assert_says(s.bytes[find(&s, "kit.json")], "\"contact\": \"<Mats> & more, mats@example.org\"");
    empty(&s);
    for (size_t i = 0; i <= sizeof bad / sizeof *bad; i++) {
        pv_diags *diags = pv_diags_new();
        options.contact = i < sizeof bad / sizeof *bad ? bad[i] : longest;
        ck_assert_ptr_null(make("layouts/pierhead.course", &options, &s, diags));
        ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
        assert_says(pv_diags_at(diags, 0)->message, "contact|200");
        pv_diags_free(diags);
        empty(&s);
    }
    longest[PV_KIT_CONTACT_MAX] = '\0';
    pv_kit_free(make("layouts/pierhead.course", &options, &s, NULL));
    ck_assert_uint_gt(s.n, 0);
    empty(&s);
}
END_TEST

/* The course is called "Λιμάνι & <Αιγαίο>". */
START_TEST(strangers_names_are_escaped)
{
    static const char raw[] = "<\xCE\x91\xCE\xB9\xCE\xB3";
    shelf s = {0};
    pv_kit *kit = make("tests/outside/limani.course", NULL, &s, NULL);
    ck_assert_ptr_nonnull(kit);
    for (size_t i = 0; i < s.n; i++) {
        const char *dot = strrchr(s.name[i], '.');
        if (dot == NULL || (strcmp(dot, ".html") != 0 && strcmp(dot, ".svg") != 0))
            continue;
        ck_assert_msg(strstr(s.bytes[i], raw) == NULL, "%s", s.name[i]);
        if (strcmp(dot, ".html") == 0)
            ck_assert_msg(says(s.bytes[i], "&lt;\xCE\x91\xCE\xB9\xCE\xB3"), "%s", s.name[i]);
    }
    pv_kit_free(kit);
    empty(&s);
}
END_TEST

START_TEST(another_language_is_on_pages_and_sheets)
{
    const shelf *english = usual_of("layouts/pierhead.course");
    shelf german = {0};
    pv_kit_options options = pv_kit_defaults();
    options.language = pv_language_find("de");
    pv_kit *kit = make("layouts/pierhead.course", &options, &german, NULL);
    ck_assert(says(german.bytes[find(&german, "index.html")], "<html lang=\"de\">"));
    ck_assert(says(german.bytes[find(&german, "kit.json")], "\"language\": \"de\""));
    /* "Off" of a printer's setting, which is no deviation. */
    const char *page = german.bytes[find(&german, "a4/index.html")];
    ck_assert(says(page, "Randlos</th><td class=\"t\">aus</td>"));
    ck_assert_uint_eq(english->n, german.n);
    size_t pdf = find(&german, "a4/mat-a4.pdf");
    ck_assert(english->size[pdf] != german.size[pdf] ||
              memcmp(english->bytes[pdf], german.bytes[pdf], german.size[pdf]) != 0);
    pv_kit_free(kit);
    empty(&german);
}
END_TEST

static bool count(void *context, const char *name, const char *sum)
{
    (void)name;
    (void)sum;
    ++*(size_t *)context;
    return true;
}

START_TEST(strangers_sums_lead_nowhere)
{
#define SUM "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    static const char *const bad[] = {SUM "  ../up.pdf\n",
                                      SUM "  /etc/passwd\n",
                                      SUM "  a4/../../up.pdf\n",
                                      SUM "  a4//x.pdf\n",
                                      SUM "  a4/\n",
                                      SUM "  .hidden\n",
                                      SUM "  \n",
                                      SUM " *a4/x.pdf\n",
                                      "x" SUM "  a4/x.pdf\n",
                                      "\n",
                                      SUM "  a4/x\ty.pdf\n"};
    size_t n = 0;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pv_diags *diags = pv_diags_new();
        ck_assert(!pv_kit_sums_read(bad[i], strlen(bad[i]), count, &n, diags));
        ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
        pv_diags_free(diags);
    }
    ck_assert_uint_eq(n, 0);
    static const char good[] = SUM "  a4/x-1.pdf\n" SUM "  kit.json";
    ck_assert(pv_kit_sums_read(good, strlen(good), count, &n, NULL));
    ck_assert_uint_eq(n, 2);
}
END_TEST

static bool add_bytes(void *context, const void *bytes, size_t size, pv_diags *diags)
{
    (void)diags;
    pv_bytes *to = context;
    unsigned char *more = realloc(to->data, to->size + size);
    ck_assert_ptr_nonnull(more);
    memcpy(more + to->size, bytes, size);
    *to = (pv_bytes){more, to->size + size};
    return true;
}

/* How it unpacks is held against other programs by tests/outside/test_kit.py. */
START_TEST(archives_know_no_time)
{
    pv_bytes once[2] = {{0}};
    for (int i = 0; i < 2; i++) {
        setenv("TZ", i == 0 ? "America/New_York" : "Asia/Tokyo", 1);
        pv_kit_zip *zip = pv_kit_zip_open("kit", add_bytes, &once[i], NULL);
        ck_assert(pv_kit_zip_add(zip, &(pv_kit_member){"a4/x.txt", "abc", 3}, NULL));
        ck_assert(pv_kit_zip_add(zip, &(pv_kit_member){"empty.txt", "", 0}, NULL));
        ck_assert(pv_kit_zip_close(zip, NULL));
    }
    ck_assert_uint_gt(once[0].size, 100);
    ck_assert_uint_eq(once[0].size, once[1].size);
    ck_assert_mem_eq(once[0].data, once[1].data, once[0].size);
    pv_free(once[0].data);
    pv_free(once[1].data);
    pv_kit_zip_free(NULL);
    ck_assert(!pv_kit_zip_close(NULL, NULL));
}
END_TEST

static bool leads_to(const shelf *s, const char *page)
{
    return strstr(s->bytes[find(s, "index.html")], page) != NULL;
}

/* The plans that its page knows are those of the kit, byte by byte, and no page leads to one that
 * isn't there. */
START_TEST(a_checker_brings_its_page)
{
    static const char *const papers[] = {"A4"}, *const names[] = {"check.html", "page.js",
                                                                  "check.js", "check-module.js"};
    static const char begin[] = "\"use strict\";\nglobalThis.paviorPlans = ";
    const shelf *without = usual_of("layouts/quayside.course");
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    options.checker = "script";
    options.checker_size = 6;
    shelf s = {0};
    pv_kit *kit = make("layouts/quayside.course", &options, &s, NULL);
    ck_assert_ptr_nonnull(kit);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        ck_assert_uint_ne(find(&s, names[i]), SIZE_MAX);
        ck_assert_uint_eq(find(without, names[i]), SIZE_MAX);
    }
    ck_assert(leads_to(&s, "check.html") && !leads_to(without, "check.html"));
    size_t plans = find(&s, "plans.js"), length = strlen(begin), end = s.size[plans] - 2;
    ck_assert_mem_eq(s.bytes[find(&s, "check-module.js")], "script", 6);
    ck_assert_mem_eq(s.bytes[plans], begin, length);
    ck_assert_str_eq(s.bytes[plans] + end, ";\n");
    pv_json *json = pv_json_parse(s.bytes[plans] + length, end - length, NULL, NULL);
    const pv_json_node *root = pv_json_root(json);
    ck_assert_uint_eq(pv_json_length(json, root), 2);
    for (size_t i = 0; i < 2; i++) {
        const pv_json_node *one = pv_json_item(json, root, i);
        const char *name = pv_json_get_string(json, pv_json_member(json, one, "name"));
        const char *text = pv_json_get_string(json, pv_json_member(json, one, "text"));
        size_t at = find(&s, name);
        ck_assert_uint_ne(at, SIZE_MAX);
        ck_assert_uint_eq(strlen(text), s.size[at]);
        ck_assert_mem_eq(text, s.bytes[at], s.size[at]);
    }
    pv_json_free(json);
    pv_kit_free(kit);
    empty(&s);
}
END_TEST

/* With the course's text in it, and a way to it. */
START_TEST(a_maker_brings_its_page)
{
    static const char *const papers[] = {"A4"}, *const names[] = {"pavior.html", "page.js",
                                                                  "course.js", "course.css",
                                                                  "course-module.js"};
    const shelf *without = usual_of("layouts/pierhead.course");
    pv_kit_options options = pv_kit_defaults();
    options.papers = papers;
    options.n_papers = 1;
    options.maker = "script";
    options.maker_size = 6;
    shelf s = {0};
    pv_kit *kit = make("layouts/pierhead.course", &options, &s, NULL);
    ck_assert_ptr_nonnull(kit);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        ck_assert_uint_ne(find(&s, names[i]), SIZE_MAX);
        ck_assert_uint_eq(find(without, names[i]), SIZE_MAX);
    }
    ck_assert(leads_to(&s, "pavior.html") && !leads_to(without, "pavior.html"));
    ck_assert_mem_eq(s.bytes[find(&s, "course-module.js")], "script", 6);
    ck_assert_ptr_nonnull(
        strstr(s.bytes[find(&s, "pavior.html")], "\nmat 240mm by 160mm ground deck\n"));
    pv_kit_free(kit);
    empty(&s);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("kit");
    TCase *tc = tcase_create("kit");
    tcase_set_timeout(tc, 60);
    tcase_add_unchecked_fixture(tc, make_usual, drop_usual);
    tcase_add_test(tc, sums_are_those_of_the_standard);
    tcase_add_test(tc, usual_papers_are_there);
    tcase_add_test(tc, lists_name_all_files);
    tcase_add_test(tc, the_same_input_gives_the_same_bytes);
    tcase_add_test(tc, a_sink_that_refuses_stops_it);
    tcase_add_test(tc, progress_can_stop_it);
    tcase_add_test(tc, papers_that_do_not_serve);
    tcase_add_test(tc, pages_say_what_one_needs);
    tcase_add_test(tc, sheets_are_scanned_before_they_are_cut);
    tcase_add_test(tc, a_changed_course_wants_a_new_edition);
    tcase_add_test(tc, readings_are_alike_in_mm_and_not_0);
    tcase_add_test(tc, guides_have_one_unit_and_lead_to_each_sheet);
    tcase_add_test(tc, contacts_are_lines_of_text);
    tcase_add_test(tc, strangers_names_are_escaped);
    tcase_add_test(tc, another_language_is_on_pages_and_sheets);
    tcase_add_test(tc, strangers_sums_lead_nowhere);
    tcase_add_test(tc, archives_know_no_time);
    tcase_add_test(tc, a_checker_brings_its_page);
    tcase_add_test(tc, a_maker_brings_its_page);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
