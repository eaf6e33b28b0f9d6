/* Files that belong together: staged beside their places, and sheets in more than one PDF. */
#include "art_by_hand.h"

#include "cli/cli.h"

#include <pavior/printer.h>

#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[] = "/tmp/pavior-files-XXXXXX";

static void open_folder(void)
{
    strcpy(folder + strlen(folder) - 6, "XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
}

static const char *inside(const char *name)
{
    static char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static size_t files_there(void)
{
    size_t n = 0;
    DIR *dir = opendir(folder);
    ck_assert_ptr_nonnull(dir);
    for (struct dirent *e; (e = readdir(dir)) != NULL;)
        n += e->d_name[0] != '.';
    closedir(dir);
    return n;
}

START_TEST(output_replaces_whole_files_only)
{
    open_folder();
    pv_diags *diags = pv_diags_new();
    ck_assert(cli_write(inside("out"), "first", 5, false, diags));
    ck_assert(!cli_write(inside("out"), "second", 6, false, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    diags = pv_diags_new();
    ck_assert(cli_write(inside("out"), "first", 5, false, diags)); /* the same: nothing is lost */
    ck_assert(cli_write(inside("out"), "second", 6, true, diags));
    cli_bytes bytes;
    ck_assert(cli_read(inside("out"), 100, &bytes, diags));
    ck_assert_uint_eq(bytes.size, 6);
    ck_assert_mem_eq(bytes.data, "second", 6);
    free(bytes.data);
    ck_assert(!cli_write("/nowhere/at/all", "x", 1, false, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_CREATE);
    pv_diags_free(diags);
    unlink(inside("out"));
    ck_assert_int_eq(rmdir(folder), 0); /* nothing else was left beside it */
}
END_TEST

START_TEST(full_disk_is_an_output_error)
{
    pv_diags *diags = pv_diags_new();
    ck_assert(!cli_write("/dev/full", "x", 1, false, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_OUTPUT);
    pv_diags_free(diags);
}
END_TEST

START_TEST(reading_keeps_its_limit)
{
    pv_diags *diags = pv_diags_new();
    cli_bytes bytes;
    ck_assert(!cli_read("/dev/zero", 1000, &bytes, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_diags_free(diags);
}
END_TEST

START_TEST(staged_files_are_settled_or_gone)
{
    open_folder();
    pv_diags *diags = pv_diags_new();
    cli_staged staged, *alone[] = {&staged};
    ck_assert(cli_write(inside("a"), "old", 3, false, diags));
    ck_assert_int_eq(chmod(inside("a"), 0640), 0);
    ck_assert(cli_stage(inside("a"), "new", 3, &staged, diags));
    cli_bytes bytes;
    ck_assert(cli_read(inside("a"), 100, &bytes, diags));
    ck_assert_mem_eq(bytes.data, "old", 3);
    pv_free(bytes.data);
    ck_assert_uint_eq(files_there(), 2);
    cli_discard(&staged);
    ck_assert_uint_eq(files_there(), 1);
    ck_assert(cli_stage(inside("a"), "newer", 5, &staged, diags));
    const char *place[] = {inside("a")};
    ck_assert(cli_settle(alone, place, 1, true, diags));
    ck_assert(cli_read(inside("a"), 100, &bytes, diags));
    ck_assert_uint_eq(bytes.size, 5);
    pv_free(bytes.data);
    struct stat info;
    ck_assert_int_eq(stat(inside("a"), &info), 0);
    ck_assert_uint_eq(info.st_mode & 0777, 0640);
    /* In place of a folder: refused, and nothing left. */
    ck_assert_int_eq(mkdir(inside("b"), 0755), 0);
    ck_assert(!cli_stage(inside("b"), "x", 1, &staged, diags));
    ck_assert(cli_stage(inside("c"), "x", 1, &staged, diags));
    place[0] = inside("b");
    ck_assert(!cli_settle(alone, place, 1, true, diags));
    ck_assert_uint_eq(files_there(), 2);
    ck_assert(cli_is_stream("-") && cli_is_stream("/dev/null"));
    ck_assert(!cli_is_stream(inside("a")) && !cli_is_stream(inside("none")));
    ck_assert_int_eq(rmdir(inside("b")), 0);
    ck_assert_int_eq(unlink(inside("a")), 0);
    ck_assert_int_eq(rmdir(folder), 0);
    pv_diags_free(diags);
}
END_TEST

static void holds(const char *name, const char *content)
{
    cli_bytes bytes;
    ck_assert(cli_read(inside(name), 100, &bytes, NULL));
    ck_assert_str_eq((const char *)bytes.data, content);
    pv_free(bytes.data);
}

/* One late failure, at each place in turn, and none: all are new, or all as they were. */
START_TEST(files_are_replaced_together_or_not_at_all)
{
    static const char *const plain[] = {"a", "b", "c"};
    for (size_t fails = 0; fails <= 3; fails++) {
        open_folder();
        char names[3][256];
        cli_staged staged[3];
        pv_diags *diags = pv_diags_new();
        for (int i = 0; i < 3; i++) {
            strcpy(names[i], inside(plain[i]));
            if (i != 1)
                ck_assert(cli_write(names[i], "old", 3, false, diags));
            ck_assert(cli_stage(names[i], "new", 3, &staged[i], diags));
        }
        if (fails < 3)
            ck_assert_int_eq(unlink(staged[fails].beside), 0);
        cli_staged *all[] = {&staged[0], &staged[1], &staged[2]};
        const char *const places[] = {names[0], names[1], names[2]};
        ck_assert_int_eq(cli_settle(all, places, 3, true, diags), fails == 3);
        ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), fails < 3);
        for (int i = 0; i < 3; i++)
            cli_discard(&staged[i]);
        for (int i = 0; i < 3; i += 2)
            holds(plain[i], fails == 3 ? "new" : "old");
        ck_assert_int_eq(access(names[1], F_OK) == 0, fails == 3);
        ck_assert_uint_eq(files_there(), fails == 3 ? 3 : 2);
        for (int i = 0; i < 3; i++)
            unlink(names[i]);
        ck_assert_int_eq(rmdir(folder), 0);
        pv_diags_free(diags);
    }
}
END_TEST

/* Without `replace`, what holds something else stays, and what was claimed before it goes again;
 * what holds the same stays, too. */
START_TEST(places_that_are_taken_stay)
{
    static const char *const plain[] = {"a", "b", "c"};
    for (size_t taken = 0; taken <= 3; taken++) {
        open_folder();
        char names[3][256];
        cli_staged staged[3];
        pv_diags *diags = pv_diags_new();
        for (size_t i = 0; i < 3; i++) {
            strcpy(names[i], inside(plain[i]));
            ck_assert(cli_stage(names[i], "new", 3, &staged[i], diags));
        }
        ck_assert(cli_write(names[1], taken == 1 ? "old" : "new", 3, false, diags));
        if (taken < 3 && taken != 1)
            ck_assert(cli_write(names[taken], "old", 3, false, diags));
        cli_staged *all[] = {&staged[0], &staged[1], &staged[2]};
        const char *const places[] = {names[0], names[1], names[2]};
        ck_assert_int_eq(cli_settle(all, places, 3, false, diags), taken == 3);
        for (size_t i = 0; i < 3; i++) {
            cli_discard(&staged[i]);
            bool there = taken == 3 || i == 1 || i == taken;
            ck_assert_int_eq(access(names[i], F_OK) == 0, there);
            if (there)
                holds(plain[i], i == taken ? "old" : "new");
            unlink(names[i]);
        }
        ck_assert_int_eq(rmdir(folder), 0);
        pv_diags_free(diags);
    }
}
END_TEST

typedef struct seen {
    pv_pdf_part part[8];
    size_t n, stop_at;
} seen;

static bool see(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    seen *s = context;
    ck_assert(part->size > 100 && memcmp(part->bytes, "%PDF-", 5) == 0);
    if (part->number == s->stop_at) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_OUTPUT, NULL, "that is enough");
        return false;
    }
    ck_assert_uint_lt(s->n, 8);
    s->part[s->n++] = *part;
    return true;
}

START_TEST(many_sheets_are_several_files)
{
    pv_art art;
    art_start(&art, "Many", 3000, 3000);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A6";
    options.type = test_type();
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = pv_plan_of_art(&art, &options, diags);
    ck_assert_ptr_nonnull(plan);
    size_t sheets = plan->n_sheets;
    ck_assert(sheets > PV_PDF_PAGES_MAX && sheets < 2 * PV_PDF_PAGES_MAX);
    seen s = {.n = 0};
    pv_pdf_options how = pv_pdf_defaults();
    how.no_guide = true;
    ck_assert(pv_sheets_pdf(plan, &how, see, &s, diags));
    ck_assert_uint_eq(s.n, 2);
    ck_assert_uint_eq(s.part[0].guide, 0);
    ck_assert(s.part[0].number == 1 && s.part[0].first == 0 && s.part[1].number == 2);
    ck_assert_uint_eq(s.part[0].pages, PV_PDF_PAGES_MAX);
    ck_assert_uint_eq(s.part[0].last, PV_PDF_PAGES_MAX - 1);
    ck_assert_uint_eq(s.part[1].first, PV_PDF_PAGES_MAX);
    ck_assert_uint_eq(s.part[1].last, sheets - 1);
    ck_assert_uint_eq(s.part[1].pages, sheets - PV_PDF_PAGES_MAX);
    /* The guide comes first, and takes the place of sheets. */
    how.no_guide = false;
    s.n = 0;
    ck_assert(pv_sheets_pdf(plan, &how, see, &s, diags));
    ck_assert(s.n == 2 && s.part[0].guide > 2 && s.part[1].guide == 0);
    ck_assert_uint_eq(s.part[0].pages, PV_PDF_PAGES_MAX);
    ck_assert_uint_eq(s.part[0].last, PV_PDF_PAGES_MAX - s.part[0].guide - 1);
    ck_assert_uint_eq(s.part[1].pages, sheets - PV_PDF_PAGES_MAX + s.part[0].guide);
    /* What is left out is no page of any file. */
    how.range = "B3-B5,C7";
    s.n = 0;
    ck_assert(pv_sheets_pdf(plan, &how, see, &s, diags));
    ck_assert(s.n == 1 && s.part[0].pages == 4);
    ck_assert_uint_eq(s.part[0].first, plan->columns + 2);
    ck_assert_uint_eq(s.part[0].last, 2 * plan->columns + 6);
    s = (seen){.stop_at = 1};
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 0);
    ck_assert(!pv_sheets_pdf(plan, &how, see, &s, diags));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
    pv_plan_free(plan);
    pv_diags_free(diags);
    pv_art_clear(&art);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("files");
    TCase *t = tcase_create("files");
    tcase_set_timeout(t, 120);
    tcase_add_test(t, output_replaces_whole_files_only);
    tcase_add_test(t, full_disk_is_an_output_error);
    tcase_add_test(t, reading_keeps_its_limit);
    tcase_add_test(t, staged_files_are_settled_or_gone);
    tcase_add_test(t, files_are_replaced_together_or_not_at_all);
    tcase_add_test(t, places_that_are_taken_stay);
    tcase_add_test(t, many_sheets_are_several_files);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
