#include "collect/sql.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool pv_sql_fail(const pv_results *results, pv_diags *diags)
{
    int why = sqlite3_errcode(results->db);
    switch (why & 0xff) {
    case SQLITE_NOMEM:
        pv_fail_memory(diags);
        break;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_CREATE,
                     "wait until it is done, or name another folder for the results",
                     "another program is working on %s", results->name);
        break;
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
    case SQLITE_TOOBIG:
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                     "move it away, and collect again: that makes a new one",
                     "%s is damaged, or no file of results",
                     results->reads != NULL ? results->reads : results->name);
        break;
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
        pv_fail(diags, PV_CAUSE_CREATE, "cannot open %s for writing", results->name);
        break;
    default:
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot work on %s: %s", results->name,
                sqlite3_errmsg(results->db));
    }
    return false;
}

bool pv_sql_run(pv_results *results, const char *statements, pv_diags *diags)
{
    return sqlite3_exec(results->db, statements, NULL, NULL, NULL) == SQLITE_OK ||
           pv_sql_fail(results, diags);
}

/* ---- questions ---- */

static void keep(pv_sql *q, int code)
{
    if (code != SQLITE_OK && !q->failed) {
        q->failed = true;
        pv_sql_fail(q->results, q->diags);
    }
}

bool pv_sql_open(pv_sql *q, pv_results *results, const char *statement, pv_diags *diags)
{
    *q = (pv_sql){.results = results, .diags = diags};
    keep(q, sqlite3_prepare_v2(results->db, statement, -1, &q->statement, NULL));
    return !q->failed;
}

void pv_sql_close(pv_sql *q)
{
    sqlite3_finalize(q->statement);
    q->statement = NULL;
}

void pv_sql_text(pv_sql *q, int at, const char *text)
{
    if (!q->failed)
        keep(q, sqlite3_bind_text(q->statement, at, text, -1, SQLITE_STATIC));
}

void pv_sql_number(pv_sql *q, int at, double value)
{
    if (!q->failed)
        keep(q, isfinite(value) ? sqlite3_bind_double(q->statement, at, value)
                                : sqlite3_bind_null(q->statement, at));
}

void pv_sql_integer(pv_sql *q, int at, long long value)
{
    if (!q->failed)
        keep(q, sqlite3_bind_int64(q->statement, at, value));
}

bool pv_sql_next(pv_sql *q)
{
    if (q->failed)
        return false;
    int code = sqlite3_step(q->statement);
    if (code != SQLITE_ROW && code != SQLITE_DONE)
        keep(q, code);
    return code == SQLITE_ROW;
}

bool pv_sql_do(pv_sql *q)
{
    while (pv_sql_next(q))
        ;
    if (q->statement != NULL)
        sqlite3_reset(q->statement);
    return !q->failed;
}

const char *pv_sql_get_text(pv_sql *q, int at)
{
    const char *text = (const char *)sqlite3_column_text(q->statement, at);
    return text != NULL ? text : "";
}

char *pv_sql_take_text(pv_sql *q, int at)
{
    if (q->failed || sqlite3_column_type(q->statement, at) == SQLITE_NULL)
        return NULL;
    char *copy = pv_copy_text(pv_sql_get_text(q, at));
    if (copy == NULL) {
        q->failed = true;
        pv_fail_memory(q->diags);
    }
    return copy;
}

double pv_sql_get_number(pv_sql *q, int at)
{
    return sqlite3_column_type(q->statement, at) == SQLITE_NULL
               ? NAN
               : sqlite3_column_double(q->statement, at);
}

long long pv_sql_get_integer(pv_sql *q, int at)
{
    return sqlite3_column_int64(q->statement, at);
}

bool pv_sql_count(pv_results *results, const char *question, size_t *n, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(&q, results, question, diags);
    if (pv_sql_next(&q))
        *n = (size_t)pv_sql_get_integer(&q, 0);
    pv_sql_close(&q);
    return !q.failed;
}

/* ---- the table `run` ---- */

char *pv_sql_said(pv_results *results, const char *key, pv_diags *diags)
{
    pv_sql q;
    char *said = NULL;
    if (pv_sql_open(&q, results, "SELECT value FROM run WHERE key = ?", diags)) {
        pv_sql_text(&q, 1, key);
        const char *value = pv_sql_next(&q) ? pv_sql_get_text(&q, 0) : "";
        said = q.failed ? NULL : pv_copy_text(value);
        if (said == NULL && !q.failed)
            pv_fail_memory(diags);
    }
    pv_sql_close(&q);
    return said;
}

bool pv_sql_say(pv_results *results, const char *key, const char *value, pv_diags *diags)
{
    pv_sql q;
    pv_sql_open(&q, results, "INSERT OR REPLACE INTO run VALUES (?, ?)", diags);
    pv_sql_text(&q, 1, key);
    pv_sql_text(&q, 2, value);
    bool good = pv_sql_do(&q);
    pv_sql_close(&q);
    return good;
}
