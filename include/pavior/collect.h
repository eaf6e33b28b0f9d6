/* pavior/collect.h - judging all that comes back: pictures of many teams, measured by several
 * threads into one file of results (SQLite; docs/reference/results-format.md), and what follows
 * from it: a table as CSV, a page for the organiser, and a page for each team.
 *
 * All of these depend on what is in the file alone, and not on the order in which it came there. */
#ifndef PAVIOR_COLLECT_H
#define PAVIOR_COLLECT_H

#include <pavior/inspect.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A file of results, open. SQLite keeps its journal beside it, so it is known by its name. */
typedef struct pv_results pv_results;

/* Opens the file of that name, or makes it. One program at a time may have it open. NULL with a
 * reason: it is in use, or not a file of results, or cannot be made. The caller closes it. */
PV_API pv_results *pv_results_open(const char *name, pv_diags *diags);
PV_API void pv_results_close(pv_results *results); /* NULL is fine */

/* ---- collecting ---- */

/* Where a picture came from. Both are the names as they are, in any encoding. */
typedef struct pv_collect_picture {
    const char *team; /* "" where it belongs to none */
    const char *file;
    bool told; /* what it was scanned with, below; else the options' scanner counts */
    pv_scanner_kind scanner;
} pv_collect_picture;

#define PV_COLLECT_THREADS_MAX  256u
#define PV_COLLECT_PICTURES_MAX 1000000u

/* Reads the bytes of one of the pictures, to be freed with pv_free; several threads may ask at
 * once. False with a reason, which then stands in the picture's row. */
typedef bool pv_collect_read(void *context, size_t index, unsigned char **bytes, size_t *size,
                             pv_diags *diags);
/* Whether there is a report of that name already; and takes one (HTML). Both are called from the
 * caller's thread. A report is there before the results tell of it. */
typedef bool pv_collect_has_report(void *context, const char *name);
typedef bool pv_collect_take_report(void *context, const char *name, const char *html,
                                    pv_diags *diags);

/* All pointers are borrowed. Start from pv_collect_defaults. */
typedef struct pv_collect_options {
    size_t size; /* of this struct, for the library: pv_collect_defaults sets it */
    const pv_inspect_options *how; /* for all pictures alike, without readings; NULL: defaults. Of
                                      those that are told their scanner that counts, instead of
                                      these options' and its uncertainty */
    size_t threads;                /* 1 to PV_COLLECT_THREADS_MAX */
    pv_collect_has_report *has_report; /* NULL: no reports are made */
    pv_collect_take_report *take_report;
    pv_progress *progress; /* counts pictures, and is asked a few times a second; or NULL. Where it
                              stops the work, what is being measured is finished first */
    void *progress_context;
    /* Where these pictures are one part of many: which, from 1, and of how many; and a text that is
     * the same for all parts of the same pictures. 0 and NULL: they are no part. */
    size_t part, parts;
    const char *whole;
    const char *kit_json; /* the kit's kit.json, which says where teams send their pictures; or NULL
                             where there is none */
} pv_collect_options;

PV_API void pv_collect_init(pv_collect_options *options, size_t size);
static inline pv_collect_options pv_collect_defaults(void)
{
    pv_collect_options options;
    pv_collect_init(&options, sizeof options);
    return options;
}

/* How a run went. */
typedef struct pv_collect_result {
    size_t measured; /* pictures that were measured now */
    size_t known;    /* that the results told of already: the same bytes, plans, options, version */
    size_t unusable; /* of all: those that cannot be read or used */
    bool stopped;    /* by the progress, before the last */
    size_t same;     /* of those known: the same bytes as another of these pictures */
} pv_collect_result;

/* Measures what is new, so that the results then tell of exactly these pictures. Each picture finds
 * its own plan among them; the plans are only read. A row is in the file for good as soon as its
 * picture is measured: whatever ends the program, the next run goes on from there. `context` goes
 * to `read` and to the reports. False with a reason. */
PV_API bool pv_collect(pv_results *results, const pv_plan *const *plans, size_t n_plans,
                       const pv_collect_picture *pictures, size_t n, pv_collect_read *read,
                       void *context, const pv_collect_options *options, pv_collect_result *out,
                       pv_diags *diags);

/* Makes the results tell of the pictures of all these files and of no others; their order doesn't
 * matter. False with a reason: one was stopped before its end, or was made with another kit, other
 * options or another version; two of them tell of different pictures in the same place; or one is a
 * part of which another part is not among them. */
PV_API bool pv_results_merge(pv_results *results, const char *const *names, size_t n,
                             pv_diags *diags);

/* ---- what follows from the results ---- */

/* What they come to. It holds copies, and stays as it is when the results change. */
typedef struct pv_tally pv_tally;

typedef struct pv_team_info {
    const char *name;          /* as the folder's */
    const char *page;          /* a file's name that is fit for all systems, "north-end.html" */
    size_t pictures, unusable; /* of files that are pictures of any kind that pavior reads */
    /* Of the plan whose mat it has proven most of; all 0 where no picture shows a sheet. Undecided
     * are also those that are true to size, in pictures too coarse for any of their lines. */
    size_t sheets, proven, failed, undecided, missing;
    size_t disputed;   /* of one picture conforms, of another it does not */
    size_t others;     /* files that are no pictures */
    size_t questioned; /* of the proven: by pictures alone that another team sent, too */
} pv_team_info;

/* NULL with a reason. The caller frees it. */
PV_API pv_tally *pv_tally_make(pv_results *results, pv_diags *diags);
PV_API void pv_tally_free(pv_tally *tally); /* NULL is fine */
/* Rows: one for each picture, file that is none, and empty folder. */
PV_API size_t pv_tally_pictures(const pv_tally *tally);
/* How many, of sheets that no picture has proven, are undecided as scans by a scanner of unknown
 * kind: known to be from a flatbed's glass, they might be decided. */
PV_API size_t pv_tally_asking(const pv_tally *tally);
/* What a picture's report is called, by team, file and page; NULL where it has none. */
PV_API const char *pv_tally_report(const pv_tally *tally, size_t picture);
/* The picture has no report after all: no page leads to one. */
PV_API void pv_tally_lacks_report(pv_tally *tally, size_t picture);
/* A picture's report (HTML) with the names of its file and its team, or of all whose picture it is,
 * and ways back to the team's and the organiser's page: as pv_collect_take_report was given it, or
 * as this has made it before. The caller frees it with pv_free; NULL with a reason. */
PV_API char *pv_tally_place(const pv_tally *tally, size_t picture, const char *html,
                            pv_diags *diags);
PV_API const pv_team_info *pv_tally_team_at(const pv_tally *tally, size_t index); /* by name */

/* What they come to, in some lines of text in the results' language, with the numbers of the
 * organiser's page. `run`: also how a run went; may be NULL. `page`: where the organiser's page is,
 * to begin with; may be NULL. The caller frees it with pv_free; NULL where memory ran out. */
PV_API char *pv_tally_text(const pv_tally *tally, const pv_collect_result *run, const char *page);

/* A page for the organiser (HTML5, no script, nothing from outside): which teams have proven which
 * sheets, what is usual and who is odd. Links lead to "team/PAGE" and to "report/NAME.html". */
PV_API char *pv_tally_html(const pv_tally *tally, pv_diags *diags);
/* A page for the team itself, by its index: what is proven and what to do, in plain words. It leads
 * nowhere, so that it can be sent alone. The caller frees both with pv_free; NULL with a reason. */
PV_API char *pv_tally_team_html(const pv_tally *tally, size_t team, pv_diags *diags);

/* One line per picture, by team, file and page (RFC 4180, UTF-8; docs/reference/results-format.md).
 * Text that a spreadsheet would take for a formula has an apostrophe before it. The caller frees it
 * with pv_free; NULL where memory ran out. */
PV_API char *pv_tally_csv(const pv_tally *tally);

#ifdef __cplusplus
}
#endif
#endif
