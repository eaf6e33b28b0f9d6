/* A file of results: opened, made, and held against what it should be. It may come from a stranger:
 * what its tables are called and how they are made must be as in embedded/results.sql to the
 * letter, so that it has no trigger, view or index of its own. */
#include "base/memory.h"
#include "base/text.h"
#include "collect/sql.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define ROW_MAX (64 << 20) /* bytes; an inspection's JSON has some hundred thousand: ours */

static const char in_memory[] = ":memory:";

extern const char pv_embedded_results_sql[];

void pv_results_close(pv_results *results)
{
    if (results == NULL)
        return;
    sqlite3_close(results->db);
    free(results->name);
    free(results);
}

/* SQLite opens whatever has the name, and would wait for a pipe for ever. */
static bool is_ordinary(const char *name, pv_diags *diags)
{
    static const char *const files[] = {"", "-journal", "-wal", "-shm"};
    bool good = true;
    for (size_t i = 0; good && i < sizeof files / sizeof *files; i++) {
        struct stat info;
        good = false;
        pv_text path = PV_TEXT_INIT;
        pv_text_add(&path, "%s%s", name, files[i]);
        if (path.failed)
            pv_fail_memory(diags);
        else if (stat(path.chars, &info) == 0 && !S_ISREG(info.st_mode))
            pv_fail(diags, PV_CAUSE_INPUT, "cannot open %s: it is no ordinary file", path.chars);
        else
            good = true;
        pv_text_drop(&path);
    }
    return good;
}

static pv_results *open_file(const char *name, int flags, pv_diags *diags)
{
    pv_results *out = PV_NEW(pv_results);
    if (out != NULL)
        out->name = pv_copy_text(name);
    if (out == NULL || out->name == NULL) {
        pv_fail_memory(diags);
        pv_results_close(out);
        return NULL;
    }
    if (strcmp(name, in_memory) != 0 && !is_ordinary(name, diags)) {
        pv_results_close(out);
        return NULL;
    }
    flags |= SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX;
    if (sqlite3_open_v2(name, &out->db, flags, NULL) == SQLITE_OK)
        return out;
    if (out->db == NULL)
        pv_fail_memory(diags);
    else if ((flags & SQLITE_OPEN_CREATE) == 0 && sqlite3_errcode(out->db) == SQLITE_CANTOPEN)
        pv_fail(diags, PV_CAUSE_INPUT, "cannot open %s: there are no results", name);
    else
        pv_sql_fail(out, diags);
    pv_results_close(out);
    return NULL;
}

/* All that defines the tables, in the order of their names, but for SQLite's own (ANALYZE leaves
 * some); NULL where it failed. */
static char *tables(pv_results *results, pv_diags *diags)
{
    pv_sql q;
    pv_text text = PV_TEXT_INIT;
    pv_sql_open(&q, results,
                "SELECT sql FROM sqlite_master WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!' "
                "ORDER BY type, name",
                diags);
    while (pv_sql_next(&q))
        pv_text_add(&text, "%s\n", pv_sql_get_text(&q, 0));
    bool failed = q.failed;
    pv_sql_close(&q);
    char *out = pv_text_take(&text);
    if (out == NULL && !failed)
        pv_fail_memory(diags);
    if (failed) {
        free(out);
        return NULL;
    }
    return out;
}

/* Its tables are as they should be, or (`*empty`) there are none yet. */
static bool check(pv_results *results, bool *empty, pv_diags *diags)
{
    pv_results *model = open_file(in_memory, 0, diags);
    bool good = model != NULL && pv_sql_run(model, pv_embedded_results_sql, diags);
    char *should = good ? tables(model, diags) : NULL;
    char *is = should != NULL ? tables(results, diags) : NULL;
    pv_results_close(model);
    good = is != NULL;
    *empty = good && *is == '\0';
    if (good && !*empty && strcmp(is, should) != 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                     "name another folder; results of another version are made anew by collecting "
                     "again",
                     "%s is a database, but no file of results as this version writes them",
                     results->name);
        good = false;
    }
    free(should);
    free(is);
    return good;
}

/* A stranger's file must not make SQLite do anything. */
static bool open_checked(pv_results *results, const char *settings, bool *empty, pv_diags *diags)
{
    sqlite3_db_config(results->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_limit(results->db, SQLITE_LIMIT_LENGTH, ROW_MAX);
    return pv_sql_run(results, "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;",
                      diags) &&
           pv_sql_run(results, settings, diags) && check(results, empty, diags);
}

/* One program at a time: it keeps the lock from its first look on. FULL: what was committed stays,
 * whatever happens to the power. */
static const char writing[] = "PRAGMA locking_mode = EXCLUSIVE;"
                              "PRAGMA journal_mode = DELETE;"
                              "PRAGMA synchronous = FULL;"
                              "BEGIN EXCLUSIVE; COMMIT;";

pv_results *pv_results_open(const char *name, pv_diags *diags)
{
    pv_results *out = open_file(name, SQLITE_OPEN_CREATE, diags);
    bool empty = false;
    bool good = out != NULL && open_checked(out, writing, &empty, diags);
    if (good && empty)
        good = pv_sql_run(out, "BEGIN", diags) && pv_sql_run(out, pv_embedded_results_sql, diags) &&
               pv_sql_run(out, "COMMIT", diags);
    if (!good) {
        pv_results_close(out);
        out = NULL;
    }
    return out;
}

pv_results *pv_results_open_old(const char *name, pv_diags *diags)
{
    pv_results *out = open_file(name, 0, diags);
    bool empty = false;
    bool good = out != NULL && open_checked(out, "", &empty, diags);
    if (good && empty)
        pv_fail(diags, PV_CAUSE_DATA, "%s holds no results", name);
    if (!good || empty) {
        pv_results_close(out);
        out = NULL;
    }
    return out;
}
