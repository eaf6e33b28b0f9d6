/* The one place that meets SQLite: a file of results, and questions to it. Private to this room.
 *
 * A question (pv_sql) remembers its first failure and says it once; what is asked of it later does
 * nothing. So a run of calls needs to be checked at its end only. */
#ifndef COLLECT_SQL_H
#define COLLECT_SQL_H

#include "base/diag.h"

#include <pavior/collect.h>

#include <sqlite3.h>

struct pv_results {
    sqlite3 *db;
    char *name;
    const char *reads; /* another file of results that it has attached, or NULL */
};

typedef struct pv_sql {
    pv_results *results;
    sqlite3_stmt *statement;
    pv_diags *diags;
    bool failed;
} pv_sql;

/* One that is there already, to read from. NULL with a reason; closed with pv_results_close. */
pv_results *pv_results_open_old(const char *name, pv_diags *diags);

/* Why SQLite refused. Gives false. */
bool pv_sql_fail(const pv_results *results, pv_diags *diags);

/* Statements without a result. */
bool pv_sql_run(pv_results *results, const char *statements, pv_diags *diags);

/* To be closed either way. */
bool pv_sql_open(pv_sql *q, pv_results *results, const char *statement, pv_diags *diags);
void pv_sql_close(pv_sql *q);

/* Parameters, counted from 1; text must live until pv_sql_do or the last row, NULL is null, and so
 * is what is no number. */
void pv_sql_text(pv_sql *q, int at, const char *text);
void pv_sql_number(pv_sql *q, int at, double value);
void pv_sql_integer(pv_sql *q, int at, long long value);

/* Goes to the next row; false past the last, or where it failed. */
bool pv_sql_next(pv_sql *q);
/* Does what has no rows; the parameters are then free to be set anew. False where it failed. */
bool pv_sql_do(pv_sql *q);

/* Columns, counted from 0; text lives until the next row, "" for null; NAN for null. */
const char *pv_sql_get_text(pv_sql *q, int at);
/* A copy for the caller to free; NULL for null, or (`failed`, and said) where memory ran out. */
char *pv_sql_take_text(pv_sql *q, int at);
double pv_sql_get_number(pv_sql *q, int at);
long long pv_sql_get_integer(pv_sql *q, int at);

/* The number that a question is answered with. */
bool pv_sql_count(pv_results *results, const char *question, size_t *n, pv_diags *diags);

/* What the table `run` says; a copy, "" where it says nothing; NULL where it failed. */
char *pv_sql_said(pv_results *results, const char *key, pv_diags *diags);
bool pv_sql_say(pv_results *results, const char *key, const char *value, pv_diags *diags);

#endif
