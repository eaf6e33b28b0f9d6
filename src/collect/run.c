/* A run over pictures, by several threads.
 *
 * Workers take one picture after another: read it, know it again by its bytes or measure it, and
 * hand over what was found. The caller's thread alone writes it into the results. Plans are only
 * read; everything else that a worker touches is its own, but for what the lock guards. What was
 * found and is not yet written is at most three pictures' a worker: one that is being written, one
 * that waits for it, and one in the worker's hand, which then waits, too. So memory is bounded. */
#include "base/memory.h"
#include "collect/known.h"
#include "collect/report_name.h"
#include "collect/store.h"
#include "judge/inspection.h"
#include "po/po.h"

#include <pavior/text.h>

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PATIENCE     200000000L /* ns between two looks at whether to stop */
#define PICTURE_FINE 2.5        /* px per mm of a report's picture: an A4 page's is about 100 kB */

static const pv_collect_options defaults = {.size = sizeof defaults, .threads = 1};

void pv_collect_init(pv_collect_options *options, size_t size)
{
    pv_give_options(options, size, &defaults, sizeof defaults);
}

typedef struct run {
    pv_collect_options options;
    pv_collect_basis basis;
    const pv_collect_picture *pictures;
    size_t n;
    pv_collect_read *read;
    void *context;
    pv_collect_result *out;
    pv_diags *diags; /* the caller's thread's */
    pv_store store;
    pv_looked *taken; /* what is being written */
    pthread_mutex_t lock;
    pthread_cond_t found_one, room;
    /* What the lock guards. */
    pv_known known[PV_BASES];
    size_t next, working; /* the next picture; workers that have not ended */
    pv_looked *waiting;   /* as many as there are workers */
    size_t n_waiting;
    bool stop, no_memory;
} run;

/* ---- one picture ---- */

/* The first error's words. */
static char *reason(const pv_diags *why)
{
    const pv_diag *error = NULL;
    for (size_t i = 0; error == NULL && i < pv_diags_size(why); i++)
        if (pv_diags_at(why, i)->severity == PV_ERROR)
            error = pv_diags_at(why, i);
    return pv_copy_text(error != NULL ? error->message : "it cannot be read");
}

/* A report doesn't name the picture: place.c does, once it is known whose it is. */
static bool leave_unnamed(pv_inspection *in)
{
    pv_text label = PV_TEXT_IN(in->sheet.language);
    if (in->sheet.picture > 0)
        pv_text_say(&label, "page %zu", in->sheet.picture);
    pv_free((char *)in->sheet.label);
    in->sheet.label = pv_text_take(&label);
    return in->sheet.label != NULL;
}

/* In the name stands for the picture's bytes only: the same picture gives the same report wherever
 * it lies. */
static bool measure_page(const run *r, const pv_looked *of, size_t page, const unsigned char *bytes,
                         size_t size, pv_looked_page *out)
{
    char name[40];
    snprintf(name, sizeof name, "picture %.*s", PV_REPORT_NAME, of->sha256);
    const pv_plan *const *plans = (const pv_plan *const *)r->basis.plans;
    pv_inspect_options how = r->basis.how[of->basis];
    how.page = page;
    out->inspection = pv_inspect(plans, r->basis.n_plans, bytes, size, name, &how, NULL);
    if (out->inspection == NULL)
        return false;
    const pv_inspection *one = out->inspection;
    out->json = pv_inspections_json(&one, 1, false);
    bool report = r->options.take_report != NULL && pv_inspection_sheet(one)->error == NULL;
    if (report && out->json != NULL && leave_unnamed(out->inspection))
        out->report = pv_inspections_html(plans, r->basis.n_plans, &one, 1, NULL);
    return out->json != NULL && (!report || out->report != NULL);
}

static bool measure(const run *r, pv_looked *out, const unsigned char *bytes, size_t size)
{
    size_t n = pv_image_pages(bytes, size);
    out->pages = PV_NEW_ARRAY(n, pv_looked_page);
    bool good = out->pages != NULL;
    while (good && out->n_pages < n) {
        size_t page = out->n_pages++;
        good = measure_page(r, out, page, bytes, size, &out->pages[page]);
    }
    return good;
}

static bool is_picture(const unsigned char *bytes, size_t size)
{
    pv_file_kind kind = pv_file_kind_of(bytes, size);
    return kind == PV_FILE_PNG || kind == PV_FILE_JPEG || kind == PV_FILE_PDF ||
           kind == PV_FILE_PICTURE;
}

/* False where memory ran out. */
static bool look(run *r, size_t index, pv_looked *out)
{
    *out = (pv_looked){.index = index, .basis = pv_basis_of(&r->basis, &r->pictures[index])};
    unsigned char *bytes = NULL;
    size_t size = 0;
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_diags_speak(why, pv_say, r->basis.language);
    bool good = true;
    if (!r->read(r->context, index, &bytes, &size, why)) {
        out->error = reason(why);
        good = out->error != NULL && pv_diags_cause(why) != PV_CAUSE_MEMORY;
    } else {
        pv_sha256(bytes, size, out->sha256);
        out->picture = is_picture(bytes, size);
        pthread_mutex_lock(&r->lock);
        bool failed = false;
        bool fresh = pv_known_add(&r->known[out->basis], out->sha256, &failed);
        pthread_mutex_unlock(&r->lock);
        good = !failed && (!fresh || measure(r, out, bytes, size));
        pv_free(bytes);
    }
    pv_diags_free(why);
    return good;
}

/* ---- into the results ---- */

static bool put(run *r, const pv_looked *found)
{
    for (size_t i = 0; i < found->n_pages; i++) {
        char name[PV_REPORT_NAME + 1];
        const char *report = found->pages[i].report;
        pv_report_name(name, found->sha256, r->basis.id[found->basis],
                       found->n_pages > 1 ? i + 1 : 0);
        if (report != NULL && !r->options.take_report(r->context, name, report, r->diags))
            return false;
    }
    r->out->measured += found->pages != NULL;
    r->out->known += found->pages == NULL && found->error == NULL;
    return pv_store_put(&r->store, &r->pictures[found->index], found);
}

/* Waits for the disk where something was measured; rows of what was known may be lost, as they are
 * made again. The last of all is put with n = 0. */
static bool put_all(run *r, const pv_looked *found, size_t n)
{
    pv_results *results = r->store.picture.results;
    bool within = sqlite3_get_autocommit(results->db) == 0, measured = n == 0;
    bool good = within || pv_sql_run(results, "BEGIN", r->diags);
    for (size_t i = 0; good && i < n; i++) {
        good = put(r, &found[i]);
        measured = measured || found[i].pages != NULL;
    }
    return good && (!measured || pv_sql_run(results, "COMMIT", r->diags));
}

static bool goes_on(const run *r, size_t done)
{
    return r->options.progress == NULL ||
           r->options.progress(r->options.progress_context, done, r->n);
}

/* ---- threads ---- */

/* One worker, to its end. */
static void *work(void *context)
{
    run *r = context;
    pthread_mutex_lock(&r->lock);
    while (!r->stop && r->next < r->n) {
        size_t index = r->next++;
        pthread_mutex_unlock(&r->lock);
        pv_looked found;
        bool good = look(r, index, &found);
        pthread_mutex_lock(&r->lock);
        while (good && r->n_waiting == r->options.threads)
            pthread_cond_wait(&r->room, &r->lock);
        if (good) {
            r->waiting[r->n_waiting++] = found;
        } else {
            r->no_memory = r->stop = true;
            pv_looked_clear(&found);
        }
        pthread_cond_signal(&r->found_one);
    }
    r->working--;
    pthread_cond_signal(&r->found_one);
    pthread_mutex_unlock(&r->lock);
    return NULL;
}

/* Until something is found, all have ended, or it is time to look whether to stop. */
static void wait_a_little(run *r)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += PATIENCE;
    until.tv_sec += until.tv_nsec / 1000000000L;
    until.tv_nsec %= 1000000000L;
    pthread_cond_timedwait(&r->found_one, &r->lock, &until);
}

/* The caller's thread: writes what the workers find, until all have ended. */
static bool gather(run *r)
{
    bool good = true;
    size_t done = 0;
    pthread_mutex_lock(&r->lock);
    while (r->working > 0 || r->n_waiting > 0) {
        if (r->n_waiting == 0)
            wait_a_little(r);
        size_t n = r->n_waiting;
        memcpy(r->taken, r->waiting, n * sizeof *r->taken);
        r->n_waiting = 0;
        pthread_cond_broadcast(&r->room);
        pthread_mutex_unlock(&r->lock);
        good = good && (n == 0 || put_all(r, r->taken, n));
        for (size_t i = 0; i < n; i++)
            pv_looked_clear(&r->taken[i]);
        done += n;
        bool on = good && goes_on(r, done);
        pthread_mutex_lock(&r->lock);
        r->out->stopped = r->out->stopped || (good && !on);
        r->stop = r->stop || !on;
    }
    pthread_mutex_unlock(&r->lock);
    r->out->stopped = r->out->stopped && done < r->n;
    return good && put_all(r, NULL, 0);
}

/* Starts as many as asked for, or as there can be; then gathers. */
static bool run_threads(run *r)
{
    size_t n = 0;
    pthread_t *threads = PV_NEW_ARRAY(r->options.threads, pthread_t);
    r->waiting = PV_NEW_ARRAY(r->options.threads, pv_looked);
    r->taken = PV_NEW_ARRAY(r->options.threads, pv_looked);
    bool good = threads != NULL && r->waiting != NULL && r->taken != NULL;
    if (!good)
        pv_fail_memory(r->diags);
    pthread_mutex_lock(&r->lock);
    while (good && n < r->options.threads && pthread_create(&threads[n], NULL, work, r) == 0)
        n++;
    r->working = n;
    pthread_mutex_unlock(&r->lock);
    if (good && n == 0) {
        pv_fail(r->diags, PV_CAUSE_MEMORY, "the system gives no thread to work with");
        good = false;
    }
    good = good && gather(r);
    for (size_t i = 0; i < n; i++)
        pthread_join(threads[i], NULL);
    free(threads);
    free(r->waiting);
    free(r->taken);
    if (good && r->no_memory) {
        pv_fail_memory(r->diags);
        good = false;
    }
    return good;
}

/* ---- the whole ---- */

/* Whether all reports that a file of that sum should have are there. */
static bool reported(run *r, pv_sql *q, const char *sum, const char *basis)
{
    char name[PV_REPORT_NAME + 1];
    bool there = true;
    pv_sql_text(q, 1, sum);
    pv_sql_text(q, 2, basis);
    while (pv_sql_next(q)) {
        pv_report_name(name, sum, basis, (size_t)pv_sql_get_integer(q, 0));
        there = there && r->options.has_report(r->context, name);
    }
    return pv_sql_do(q) && there;
}

/* Which of the bases that is; PV_BASES where it is none. */
static size_t basis_of(const run *r, const char *id)
{
    size_t which = 0;
    while (which < PV_BASES && strcmp(r->basis.id[which], id) != 0)
        which++;
    return which;
}

/* What is measured on one of these bases already; without its reports it is measured again. */
static bool recall(run *r, pv_results *results)
{
    pv_sql q, pages;
    pv_sql_open(&q, results, "SELECT DISTINCT sha256, basis FROM inspection", r->diags);
    pv_sql_open(&pages, results,
                "SELECT page FROM inspection WHERE sha256 = ? AND basis = ? AND error IS NULL",
                r->diags);
    bool failed = false;
    while (!failed && !pages.failed && pv_sql_next(&q)) {
        const char *sum = pv_sql_get_text(&q, 0), *basis = pv_sql_get_text(&q, 1);
        size_t which = basis_of(r, basis);
        if (which < PV_BASES && strlen(sum) == PV_SHA256_HEX - 1 &&
            (r->options.has_report == NULL || reported(r, &pages, sum, basis)))
            pv_known_add(&r->known[which], sum, &failed);
    }
    if (failed)
        pv_fail_memory(r->diags);
    failed = failed || q.failed || pages.failed;
    pv_sql_close(&q);
    pv_sql_close(&pages);
    return !failed;
}

/* Of which pictures these are a part, so that merging misses none. */
static bool say_part(run *r, pv_results *results)
{
    char part[24], parts[24 + PV_SHA256_HEX], whole[PV_SHA256_HEX];
    if (r->options.parts == 0)
        return true;
    const char *text = r->options.whole != NULL ? r->options.whole : "";
    pv_sha256(text, strlen(text), whole);
    snprintf(part, sizeof part, "%zu", r->options.part);
    snprintf(parts, sizeof parts, "%zu of %s", r->options.parts, whole);
    return pv_sql_say(results, "part", part, r->diags) &&
           pv_sql_say(results, "parts", parts, r->diags);
}

static bool begin(run *r, pv_results *results)
{
    return pv_sql_run(results, "BEGIN", r->diags) && pv_basis_say(&r->basis, results, r->diags) &&
           pv_basis_say_contact(r->options.kit_json, results, r->diags) && say_part(r, results) &&
           pv_sql_run(results, "DELETE FROM picture; COMMIT;", r->diags) && recall(r, results) &&
           pv_store_open(&r->store, results, &r->basis, r->diags);
}

static const char unusable[] =
    "SELECT count(*) FROM picture LEFT JOIN inspection USING (sha256, basis) WHERE verdict IS NULL";
/* Of the pictures that could be read, those that have another's bytes and are judged alike. */
static const char same[] = "SELECT count(*) - count(DISTINCT sha256 || basis) FROM picture "
                           "WHERE sha256 IS NOT NULL";

static int by_place(const void *a, const void *b)
{
    const pv_collect_picture *p = *(const pv_collect_picture *const *)a;
    const pv_collect_picture *q = *(const pv_collect_picture *const *)b;
    int order = strcmp(p->team, q->team);
    return order != 0 ? order : strcmp(p->file, q->file);
}

/* A picture that is named twice is told the same scanner: else the last that is measured would
 * count. */
static bool agree(const run *r)
{
    const pv_collect_picture **all = PV_NEW_ARRAY(r->n, const pv_collect_picture *);
    if (all == NULL) {
        pv_fail_memory(r->diags);
        return false;
    }
    for (size_t i = 0; i < r->n; i++)
        all[i] = &r->pictures[i];
    qsort((void *)all, r->n, sizeof(const pv_collect_picture *), by_place);
    const pv_collect_picture *twice = NULL;
    for (size_t i = 1; i < r->n && twice == NULL; i++)
        if (by_place(&all[i - 1], &all[i]) == 0 &&
            (all[i]->told != all[i - 1]->told ||
             (all[i]->told && all[i]->scanner != all[i - 1]->scanner)))
            twice = all[i];
    free((void *)all);
    if (twice != NULL)
        pv_diags_say(r->diags, PV_ERROR, PV_CAUSE_DATA,
                     "name it once, with what it was scanned with",
                     "%s is named twice for one team, with different scanners", twice->file);
    return twice == NULL;
}

static bool fits(const run *r, size_t n_plans, const pv_inspect_options *how)
{
    for (size_t i = 0; i < r->n; i++)
        if (r->pictures[i].told && (unsigned)r->pictures[i].scanner >= PV_SCANNER_KINDS) {
            pv_fail(r->diags, PV_CAUSE_USAGE, "picture %zu has no kind of scanner", i);
            return false;
        }
    if (n_plans == 0)
        pv_fail(r->diags, PV_CAUSE_USAGE, "collecting needs at least one plan");
    else if (r->n > PV_COLLECT_PICTURES_MAX)
        pv_fail(r->diags, PV_CAUSE_LIMIT, "these are more pictures than results can hold: %u",
                PV_COLLECT_PICTURES_MAX);
    else if (r->options.threads < 1 || r->options.threads > PV_COLLECT_THREADS_MAX)
        pv_fail(r->diags, PV_CAUSE_USAGE, "the number of threads is from 1 to %u",
                PV_COLLECT_THREADS_MAX);
    else if (r->options.parts > 0 && (r->options.part < 1 || r->options.part > r->options.parts))
        pv_fail(r->diags, PV_CAUSE_USAGE, "the number of a part is from 1 to that of all parts");
    else if (how->n_readings > 0)
        pv_fail(r->diags, PV_CAUSE_USAGE,
                "readings belong to one sheet, and can't be taken for all pictures alike");
    else
        return agree(r);
    return false;
}

bool pv_collect(pv_results *results, const pv_plan *const *plans, size_t n_plans,
                const pv_collect_picture *pictures, size_t n, pv_collect_read *read, void *context,
                const pv_collect_options *options, pv_collect_result *out, pv_diags *diags)
{
    *out = (pv_collect_result){.measured = 0};
    run r = {.options = defaults,
             .pictures = pictures,
             .n = n,
             .read = read,
             .context = context,
             .out = out,
             .diags = diags,
             .lock = PTHREAD_MUTEX_INITIALIZER,
             .found_one = PTHREAD_COND_INITIALIZER,
             .room = PTHREAD_COND_INITIALIZER};
    pv_take_options(&r.options, sizeof r.options, options);
    pv_inspect_options how = pv_inspect_defaults();
    pv_take_options(&how, sizeof how, r.options.how);
    how.for_sender = true;
    how.picture_px_per_mm = r.options.take_report != NULL ? PICTURE_FINE : 0;
    bool good = fits(&r, n_plans, &how) && pv_basis_make(&r.basis, plans, n_plans, &how, diags) &&
                begin(&r, results) && (n == 0 || run_threads(&r));
    if (good && !out->stopped)
        good = pv_sql_say(results, "complete", "yes", diags);
    good = good && pv_sql_count(results, unusable, &out->unusable, diags) &&
           pv_sql_count(results, same, &out->same, diags);
    pv_store_close(&r.store);
    if (sqlite3_get_autocommit(results->db) == 0)
        pv_sql_run(results, "ROLLBACK", NULL);
    for (size_t i = 0; i < PV_BASES; i++)
        pv_known_clear(&r.known[i]);
    pv_basis_clear(&r.basis);
    return good;
}
