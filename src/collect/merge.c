/* Results of several runs, of one machine or more, into one. */
#include "collect/sql.h"

#include <stdlib.h>
#include <string.h>

/* The other was made with the same as those before it; says what differs. */
static bool same_basis(pv_results *into, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(
        &q, into,
        "SELECT CASE a.key WHEN 'kit' THEN 'another kit' WHEN 'options' THEN 'other options' "
        "ELSE 'another version of pavior' END FROM fresh.run a LEFT JOIN other.run b ON "
        "a.key = b.key WHERE a.key IN ('kit', 'options', 'version') AND a.value IS NOT "
        "b.value ORDER BY a.key LIMIT 1",
        diags);
    bool differs = pv_sql_next(&q);
    if (differs)
        pv_diags_say(
            diags, PV_ERROR, PV_CAUSE_DATA, "collect its pictures again as the others were",
            "%s was made with %s than the files before it", into->reads, pv_sql_get_text(&q, 0));
    bool good = !differs && !q.failed;
    pv_sql_close(&q);
    return good;
}

static bool is_complete(pv_results *from, pv_diags *diags)
{
    char *said = pv_sql_said(from, "complete", diags);
    bool good = said != NULL && strcmp(said, "yes") == 0;
    if (said != NULL && !good)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                     "run the same command again: it goes on from there",
                     "%s is not complete: its run was stopped before the end", from->name);
    free(said);
    return good;
}

/* One place tells of one picture. */
static bool agree(pv_results *into, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(&q, into,
                "SELECT a.team, a.file FROM fresh.picture a JOIN other.picture b "
                "ON a.team = b.team AND a.file = b.file "
                "WHERE (a.sha256, a.error, a.scanner, a.basis) IS NOT "
                "(b.sha256, b.error, b.scanner, b.basis) ORDER BY 1, 2 LIMIT 1",
                diags);
    bool differ = pv_sql_next(&q);
    if (differ)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                     "collect that picture in one of them only, or both from the same folder",
                     "two of the results tell of different pictures or scanners as %s of team %s",
                     pv_sql_get_text(&q, 1), pv_sql_get_text(&q, 0));
    bool good = !differ && !q.failed;
    pv_sql_close(&q);
    return good;
}

/* All is put together in `fresh`, a database of its own that SQLite removes, and goes into the
 * results at once: what fails before that leaves them as they were. */
static const char prepare[] = "ATTACH '' AS fresh;"
#define LIKE(table, key)                                                                           \
    "CREATE TABLE fresh." table " AS SELECT * FROM main." table " LIMIT 0;"                        \
    "CREATE UNIQUE INDEX fresh." table "_key ON " table " (" key ");"
    LIKE("run", "key") LIKE("plan", "kit") LIKE("sheet", "kit, number")
        LIKE("picture", "team, file") LIKE("inspection", "sha256, basis, page")
            LIKE("value", "sha256, basis, page, n") "CREATE TABLE fresh.part (part, parts);";

/* Two machines may differ in a last digit: of two results of the same bytes the one whose JSON
 * comes first in the alphabet stays, whichever came first. So of what they are told of the contact:
 * the last. */
#define OLDER(into, from)                                                                          \
    " WHERE (sha256, basis, page) IN (SELECT a.sha256, a.basis, a.page FROM " into                 \
    ".inspection a JOIN " from ".inspection b USING (sha256, basis, page) WHERE b.json < a.json);"
#define TAKE(into, from)                                                                           \
    "DELETE FROM " into ".value" OLDER(into, from) "DELETE FROM " into ".inspection" OLDER(        \
        into, from) "INSERT INTO " into ".value SELECT * FROM " from                               \
                    ".value WHERE (sha256, basis, page) IN"                                        \
                    "  (SELECT sha256, basis, page FROM " from ".inspection"                       \
                    "   EXCEPT SELECT sha256, basis, page FROM " into ".inspection);"              \
                    "INSERT OR IGNORE INTO " into ".inspection SELECT * FROM " from ".inspection;" \
                    "INSERT OR IGNORE INTO " into ".picture SELECT * FROM " from ".picture;"       \
                    "INSERT INTO " into ".run SELECT * FROM " from                                 \
                    ".run WHERE key NOT IN ('complete', 'part', 'parts')"                          \
                    "  ON CONFLICT (key) DO UPDATE SET value = max(value, excluded.value);"        \
                    "INSERT OR IGNORE INTO " into ".plan SELECT * FROM " from ".plan;"             \
                    "INSERT OR IGNORE INTO " into ".sheet SELECT * FROM " from ".sheet;"

/* Which part the other is, if it is one. */
static const char take_part[] =
    "INSERT INTO fresh.part SELECT a.value, b.value FROM other.run a, other.run b "
    "WHERE a.key = 'part' AND b.key = 'parts';";

static bool take_all(pv_results *into, const char *name, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(&q, into, "ATTACH ? AS other", diags);
    pv_sql_text(&q, 1, name);
    bool good = pv_sql_do(&q);
    pv_sql_close(&q);
    if (!good)
        return false;
    into->reads = name;
    good = pv_sql_run(into, "BEGIN", diags) && same_basis(into, diags) && agree(into, diags) &&
           pv_sql_run(into, TAKE("fresh", "other"), diags) && pv_sql_run(into, take_part, diags) &&
           pv_sql_run(into, "COMMIT", diags);
    if (!good)
        pv_sql_run(into, "ROLLBACK", NULL);
    into->reads = NULL;
    return pv_sql_run(into, "DETACH other", diags) && good;
}

/* Of what was collected in parts, all parts are there. */
static bool is_whole(pv_results *results, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(
        &q, results,
        "SELECT CAST(parts AS INTEGER), count(DISTINCT part), min(CAST(part AS INTEGER)) "
        "FROM fresh.part GROUP BY parts HAVING count(DISTINCT part) < CAST(parts AS INTEGER) "
        "ORDER BY 1, 2, 3 LIMIT 1",
        diags);
    bool lacking = pv_sql_next(&q);
    if (lacking)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                     "name the results of all parts. If a file came or went between their runs, "
                     "run every part again: only what is new is measured",
                     "parts of the same pictures are missing: found %lld of %lld, among them part "
                     "%lld/%lld",
                     pv_sql_get_integer(&q, 1), pv_sql_get_integer(&q, 0),
                     pv_sql_get_integer(&q, 2), pv_sql_get_integer(&q, 0));
    bool good = !lacking && !q.failed;
    pv_sql_close(&q);
    return good;
}

static bool is_in_bounds(pv_results *results, pv_diags *diags)
{
    size_t n = 0;
    bool good = pv_sql_count(results, "SELECT count(*) FROM fresh.picture", &n, diags);
    if (n > PV_COLLECT_PICTURES_MAX)
        pv_fail(diags, PV_CAUSE_LIMIT, "together these are more pictures than results can hold: %u",
                PV_COLLECT_PICTURES_MAX);
    return good && n <= PV_COLLECT_PICTURES_MAX;
}

/* What is put together takes the place of what was there, or nothing changes. */
static bool replace(pv_results *results, pv_diags *diags)
{
    bool good = pv_sql_run(results,
                           "BEGIN; DELETE FROM main.picture; DELETE FROM main.run;"
                           "DELETE FROM main.plan; DELETE FROM main.sheet;" TAKE("main", "fresh"),
                           diags) &&
                pv_sql_say(results, "complete", "yes", diags) &&
                pv_sql_run(results, "COMMIT", diags);
    if (!good && sqlite3_get_autocommit(results->db) == 0)
        pv_sql_run(results, "ROLLBACK", NULL);
    return good;
}

bool pv_results_merge(pv_results *results, const char *const *names, size_t n, pv_diags *diags)
{
    bool good = pv_sql_run(results, prepare, diags);
    for (size_t i = 0; good && i < n; i++) {
        /* Opened by itself first: that holds its tables against what they should be. */
        pv_results *from = pv_results_open_old(names[i], diags);
        good = from != NULL && is_complete(from, diags);
        pv_results_close(from);
        good = good && take_all(results, names[i], diags);
    }
    good =
        good && is_whole(results, diags) && is_in_bounds(results, diags) && replace(results, diags);
    pv_sql_run(results, "DETACH fresh", NULL);
    return good;
}
