/* What the results come to, in memory: every picture's row, each team's sheets, and what is usual
 * over all teams. The table and the pages are made of this alone. Private to this room.
 *
 * The collecting room, from top to bottom. open.c opens a file of results, whose tables are those
 * of embedded/results.sql; sql.h is all that meets SQLite. basis.c says what pictures are judged
 * with. run.c has the threads that measure; store.c writes what they find. merge.c puts files
 * together. From then on only the file counts: tally.c reads it, teams.c sorts it, odd.c compares,
 * and csv.c, counts.c and the pages say what came of it (place.c in the reports, too), so that they
 * don't depend on how it came there. */
#ifndef COLLECT_TALLY_H
#define COLLECT_TALLY_H

#include "collect/report_name.h"
#include "collect/sql.h"

/* A plan of the kit. */
typedef struct pv_tally_plan {
    char *kit, *name, *edition, *paper;
    bool proof;
    char **sheets; /* their names, by number */
    size_t n_sheets;
} pv_tally_plan;

/* Judged values of one kind in one picture. */
typedef struct pv_tally_kind {
    size_t n;                   /* that were measured */
    pv_verdict verdict;         /* the worst of all; undecided where there is none */
    double error, U, tolerance; /* of the one whose error is the largest share of its tolerance */
    char *name, *other;         /* what it belongs to */
    double mean;                /* of all errors, with their signs */
    double mean_U;              /* of all U: the mean's own is no larger, whatever they share */
} pv_tally_kind;

enum { PV_TALLY_SCALE, PV_TALLY_SKEW, PV_TALLY_WIDTH, PV_TALLY_STRAIGHT, PV_TALLY_SPACING };
#define PV_TALLY_KINDS 5

/* What is compared with all other pictures' (odd.c). */
enum { PV_ODD_SCALE_X, PV_ODD_SCALE_Y, PV_ODD_SKEW, PV_ODD_WIDTH };
#define PV_ODDS      4
#define PV_ODD_LEAST 8 /* pictures: of fewer nothing is usual; assumed */

/* A picture. */
typedef struct pv_tally_row {
    char *team, *file;
    char *scanner, *basis; /* as told, or NULL; what it was judged on */
    size_t page;           /* of a file that holds several pictures, from 1; else 0 */
    char *sha256;          /* NULL where it could not be read */
    bool picture;          /* by its first bytes; else another file, or none */
    char *error;           /* why it can't be used, or NULL; then nothing below but advice counts */
    char *answer, *advice;
    char *code;        /* as a certificate of it would carry; NULL: it has none */
    bool asks_scanner; /* undecided, which --scanner flatbed might settle */
    bool asks_lengths; /* or what its advice asks to measure by hand */
    bool asks_finer;   /* conforms, but none of its lines was measured, which a finer scan may do */
    bool asks_look;    /* conforms, but its advice asks for more than to use the sheet */
    char report[PV_REPORT_NAME + 1];
    bool lacks_report;           /* none of that name was made */
    size_t plan, number;         /* SIZE_MAX where it is no sheet of the kit */
    size_t now_plan, now_number; /* of a sheet of the former edition that has changed: the one that
                                    took its place; else SIZE_MAX */
    pv_verdict verdict;
    bool photograph;
    char *reference;
    double U_rel;                /* NAN where there is no reference */
    double scale[2], scale_U[2]; /* NAN where not measured */
    double skew, skew_U;         /* mrad */
    pv_tally_kind kind[PV_TALLY_KINDS];
    unsigned odd;   /* bits by PV_ODD_... */
    size_t same_as; /* the first row with the same bytes; its own index where there is none */
    const struct pv_tally_row *twin; /* of a sheet: another team's with the same bytes, or NULL */
} pv_tally_row;

/* A sheet of a plan that a team used. */
typedef enum pv_tally_state {
    PV_TALLY_MISSING,
    PV_TALLY_CHANGED, /* missing, too: a picture shows the former edition's */
    PV_TALLY_UNDECIDED,
    PV_TALLY_UNMEASURED, /* true to size, in pictures too coarse for any of its lines */
    PV_TALLY_FAILED,
    PV_TALLY_CONFLICT, /* one picture conforms, another does not: which is of the sheet that is
                          used, nobody can tell. Neither a file's time nor its name says so: a copy
                          has a new one */
    PV_TALLY_PROVEN
} pv_tally_state;

#define PV_TALLY_QUESTIONED 0x100u /* beside the bits of states: proven, and `questioned` */

typedef struct pv_tally_sheet {
    size_t number;
    pv_tally_state state;
    size_t row;      /* the picture that decides it, or (missing) SIZE_MAX */
    size_t other;    /* of two answers: the first picture that contradicts that one */
    size_t unsure;   /* the first picture that can't tell all, or SIZE_MAX */
    bool own;        /* a picture that proves it came from no other team */
    bool questioned; /* of the team's first mat: proven, but not by one of its own */
} pv_tally_sheet;

/* A mat that a team has begun: all sheets of a plan of which one at least was sent. */
typedef struct pv_tally_mat {
    size_t plan;
    size_t first, n;                   /* sheets */
    size_t state[PV_TALLY_PROVEN + 1]; /* how many there are of each state */
} pv_tally_mat;

typedef struct pv_tally_team {
    pv_team_info info;        /* its texts are the team's; its counts are of its first mat */
    size_t first, n;          /* rows */
    size_t first_mat, n_mats; /* the most proven one first */
    size_t asking;            /* pictures of sheets that are not proven, which ask for a scanner */
} pv_tally_team;

/* What is usual: over all pictures that have it. */
typedef struct pv_tally_usual {
    size_t n;
    double median, spread; /* spread: as a standard deviation, by the median deviation */
} pv_tally_usual;

struct pv_tally {
    char *kit, *options, *version;
    char *contact;  /* where teams send their pictures, or empty */
    char *scanners; /* what the options say of them, in the results' language */
    const pv_language *language;
    pv_tally_plan *plans;
    size_t n_plans, cap_plans;
    pv_tally_row *rows; /* by team, then file */
    size_t n_rows, cap_rows;
    pv_tally_team *teams;
    size_t n_teams, cap_teams;
    pv_tally_mat *mats;
    size_t n_mats, cap_mats;
    pv_tally_sheet *sheets;
    size_t n_sheets, cap_sheets;
    const pv_tally_row **by_report; /* rows that have one, by its name */
    size_t n_by_report;
    double *widths; /* mm, errors of all lines of all pictures that have a reference */
    size_t n_widths, cap_widths;
    pv_tally_usual usual[PV_ODDS];
};

/* A row's quantity that is compared; NAN where it has none. */
double pv_tally_odd_value(const pv_tally_row *row, int which);

/* Whether another picture of the team has proven the sheet that a row of it shows. */
bool pv_tally_proven(const pv_tally *tally, const pv_tally_team *team, const pv_tally_row *row);

/* Its rows by their reports. False where memory ran out. */
bool pv_tally_index_reports(pv_tally *tally);

/* What is usual, and which rows are odd. False where memory ran out. */
bool pv_tally_compare(pv_tally *tally);

/* The name of its report; NULL where it has none. */
static inline const char *pv_row_report(const pv_tally_row *row)
{
    return row->error == NULL && !row->lacks_report ? row->report : NULL;
}

/* Its rows into teams, and each team's sheets. False where memory ran out. */
bool pv_tally_sort_teams(pv_tally *tally);

#endif
