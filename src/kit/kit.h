/* The kit: the folder that an organiser publishes, so that every team prints the same mat.
 *
 * make.c makes one, file by file, in this order: papers.h chooses the papers and names their
 * folders; for each of them paper.c makes the plan, its PDFs, the proof and the pages of that
 * paper, and drops them before it comes to the next; then what belongs to the whole course, and at
 * the end contents.c, which lists all that went before: kit.json, and SHA256SUMS.
 *
 * Every file goes through pv_kit_put, which takes its sum and hands it to the caller's sink: this
 * room opens no file and keeps none. zip.c is a sink, too. docs/reference/kit-format.md describes
 * what comes out. */
#ifndef KIT_KIT_H
#define KIT_KIT_H

#include "base/sha256.h"
#include "course/model.h"
#include "plan/layout.h"
#include "json/json.h"

#include <pavior/kit.h>

#define PV_KIT_NAME 64 /* bytes of a file's path in the kit, with its NUL */
#define PV_KIT_ID   24 /* bytes of a paper's folder name, with its NUL */

/* The name of a paper's folder: "B4 JIS" becomes "b4-jis", "300 x 450 mm" "300x450mm": small
 * letters and digits, single hyphens between. */
void pv_kit_id(const char *name, char id[PV_KIT_ID]);

/* Whether it is a line that can be read, and not too long. */
bool pv_kit_contact_fits(const char *contact);

/* One file that was made. */
typedef struct pv_kit_file {
    char name[PV_KIT_NAME];
    size_t size;
    char sum[PV_SHA256_HEX];
} pv_kit_file;

/* What a former kit's sheets of a paper are still good for. */
typedef struct pv_laid_again {
    bool compared;
    size_t n, pdfs;           /* sheets to print again, and the files that have them */
    char *names, *gone, *map; /* owned: of those sheets, as they are taped; of those to take up; an
                                 SVG */
    bool *stays;              /* owned: of each sheet, whether it may stay */
} pv_laid_again;

/* One paper of the kit: what is known of it once its files are made. */
typedef struct pv_laid {
    pv_kit_paper told; /* its texts are the members below */
    char id[PV_KIT_ID];
    char *paper; /* owned */
    pv_kit_text fingerprint;
    char plan[PV_KIT_NAME];
    bool proof; /* there is a proof page */
    pv_kit_text proof_fingerprint;
    double proof_gauge[2]; /* mm, P-Q and P-S of the proof page; 0: it has no gauge marks */
    double page[2];        /* mm */
    size_t rows, columns;
    pv_takeoff takes;   /* without its colours */
    bool guide;         /* there is a page that guides through the taping */
    size_t guide_pages; /* before the sheets, in the first PDF */
    char *map;          /* owned: the mat with its seams, as SVG */
    pv_laid_again again;
} pv_laid;

/* The PDFs of one paper's sheets, in order. */
typedef struct pv_laid_pdf {
    char name[PV_KIT_NAME];
    size_t first, last; /* sheets */
    size_t pages;
} pv_laid_pdf;

typedef struct pv_laid_pdfs {
    pv_laid_pdf *items;
    size_t n, cap;
} pv_laid_pdfs;

struct pv_kit {
    pv_kit_info told;
    char *name, *edition; /* owned */
    pv_laid *papers;
    size_t n_papers, cap_papers;
    double *areas;     /* mm2 of the mat that each of the course's colours covers; once a paper is
                          laid */
    char *was_edition; /* owned: of the former kit; NULL where there is none */
    char **changes;    /* owned: what has changed on the mat since, in sentences */
    size_t n_changes, changes_left; /* told, and not told */
    pv_kit_file *files;             /* in the order in which they were made */
    size_t n_files, cap_files;
};

/* A kit that is being made. All but `kit` is borrowed. */
typedef struct pv_kit_making {
    pv_kit_options o;
    pv_kit *kit;
    const pv_course *course;
    const char *text; /* the course's, so long: */
    size_t length;
    pv_type *type;
    pv_kit_sink *sink;
    void *sink_context;
    pv_diags *diags;
    pv_json_writer plans; /* all that were put, for the page that checks sheets, if there is one */
} pv_kit_making;

/* ---- put.c ---- */

/* Takes the file's sum and hands it to the sink. False with a reason. */
bool pv_kit_put(pv_kit_making *m, const char *name, const void *bytes, size_t size);
/* The same of a text that may be NULL, which then fails; frees it with pv_free. */
bool pv_kit_put_text(pv_kit_making *m, const char *name, char *text);
/* A file of embedded/ as it is, which has no template's tag. */
bool pv_kit_put_plain(pv_kit_making *m, const char *name);

/* ---- check_page.c ---- */

/* A plan: as pv_kit_put_text, and kept for the page that checks sheets. */
bool pv_kit_put_plan(pv_kit_making *m, const char *name, char *text);
/* That page and its scripts, once all papers are laid; nothing without a checker. */
bool pv_kit_check_page(pv_kit_making *m);

/* ---- course_page.c ---- */

/* The page that draws the course and its scripts; nothing without a maker. */
bool pv_kit_course_page(pv_kit_making *m);

/* ---- papers.c ---- */

/* A paper that is to be in the kit. */
typedef struct pv_kit_wish {
    char id[PV_KIT_ID];
    const char *paper; /* borrowed; NULL: a roll */
    double roll;       /* mm */
    bool named;        /* by the caller: it must serve */
} pv_kit_wish;

/* What was asked for, in that order, or else the usual ones. False with a reason. */
bool pv_kit_wishes(const pv_kit_options *options, pv_kit_wish wishes[PV_KIT_PAPERS_MAX], size_t *n,
                   pv_diags *diags);

/* ---- paper.c ---- */

/* Lays the course on that paper and puts all its files. False with a reason; where a paper that
 * nobody named can't take the mat, it is true, with a note, and nothing is put. */
bool pv_kit_lay(pv_kit_making *m, const pv_kit_wish *wish);

/* ---- again.c ---- */

/* The former kit's plan of a paper, or NULL. False with a reason. */
bool pv_kit_older(const pv_kit_making *m, const pv_kit_wish *wish, const pv_plan **older);
/* Compares, and puts PDFs of the sheets that must be printed again, where not all must. */
bool pv_kit_again(pv_kit_making *m, const pv_plan *older, const pv_plan *plan, pv_laid *laid);
void pv_kit_again_clear(pv_laid_again *again);
/* changes.html, once all papers are laid; nothing where there was no former kit. */
bool pv_kit_changes_page(pv_kit_making *m);

/* ---- paper_pages.c, course_pages.c ---- */

/* The paper's page and one page a sheet. */
bool pv_kit_paper_pages(pv_kit_making *m, const pv_plan *plan, const pv_laid *laid,
                        const pv_laid_pdfs *pdfs);
/* The beginning, the mat's rules, the run record; once all papers are laid. */
bool pv_kit_course_pages(pv_kit_making *m);

/* ---- contents.c ---- */

/* kit.json, then SHA256SUMS. */
bool pv_kit_contents(pv_kit_making *m);

#endif
