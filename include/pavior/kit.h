/* pavior/kit.h - the kit: the folder that an organiser publishes, so that every team prints the
 * same mat. docs/reference/kit-format.md says what is in it. */
#ifndef PAVIOR_KIT_H
#define PAVIOR_KIT_H

#include <pavior/sheets.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What a kit is made for. All pointers are borrowed. Start from pv_kit_defaults. */
typedef struct pv_kit_options {
    size_t size; /* of this struct, for the library: pv_kit_defaults sets it */
    /* Sheets (pv_paper's names, or custom sizes) and rolls (widths in mm). Of those that are named
     * each must serve. Where neither is named: A4, letter, A3, tabloid, and rolls of 36 in and
     * 42 in, of which those that can't take the mat are left out. */
    const char *const *papers;
    size_t n_papers;
    const double *rolls;
    size_t n_rolls;
    /* Where the kit will stand, "https://example.org/mat/": each sheet with room for a QR code
     * carries one that leads to its own page; NULL: no codes. */
    const char *url;
    const pv_language *language; /* of all words for people; NULL: English */
    /* Plans of a former kit. Of each paper that it had, seams stay where they are as far as they
     * can, and a page and PDFs say which sheets must be printed again (pavior/sheets.h). */
    const pv_plan *const *older;
    size_t n_older;
    pv_progress *progress; /* counts papers; or NULL */
    void *progress_context;
    /* The script that `make web` makes (check-module.js): the kit then has a page that inspects
     * sheets in a browser. NULL: it has none. */
    const void *checker;
    size_t checker_size;
    /* And the other one (course-module.js): the kit then has a page that draws its course, and lays
     * it on any paper, in a browser. NULL: it has none. */
    const void *maker;
    size_t maker_size;
    /* Where and to whom pictures and run records go, in a line of text: an address of e-mail or of
     * the web, or words. It stands on the kit's pages where they ask to send something. NULL: the
     * pages say that the organiser says so. */
    const char *contact;
} pv_kit_options;

#define PV_KIT_PAPERS_MAX  32u  /* sheets and rolls of one kit */
#define PV_KIT_URL_MAX     200u /* bytes */
#define PV_KIT_CONTACT_MAX 200u /* bytes */

PV_API void pv_kit_init(pv_kit_options *options, size_t size);
static inline pv_kit_options pv_kit_defaults(void)
{
    pv_kit_options options;
    pv_kit_init(&options, sizeof options);
    return options;
}

/* One file of the kit. */
typedef struct pv_kit_member {
    const char *name;  /* its path in the kit, "a4/mat-a4.pdf": ASCII, no capital but SHA256SUMS */
    const void *bytes; /* only during the call */
    size_t size;
} pv_kit_member;

/* Takes a file. Returning false, having said why (pv_diags_say), stops the work. */
typedef bool pv_kit_sink(void *context, const pv_kit_member *member, pv_diags *diags);

/* What was made. */
typedef struct pv_kit pv_kit;

typedef struct pv_kit_info {
    const char *name, *edition; /* of the course */
    double mat[2];              /* mm */
    size_t papers, files, bytes;
} pv_kit_info;

typedef struct pv_kit_paper {
    const char *id;    /* the name of its folder: "a4", "roll-36in" */
    const char *paper; /* its everyday name: "A4" */
    double roll;       /* mm, the roll's width; 0: sheets */
    const char *kit;   /* the fingerprint on its sheets */
    size_t sheets, pages, pdfs;
    const char *plan; /* path in the kit */
    double minutes;   /* pv_takeoff's */
    bool compared;    /* with a former kit's plan of this paper, whose seams it has: */
    size_t again;     /* sheets that must then be printed again */
} pv_kit_paper;

/* Makes the kit of a course's text; `name` stands for the input in messages and may be NULL, `type`
 * is what all words are set in. Each file goes to the sink, which must have taken it when it
 * returns; at no time are more than one paper's sheets in memory. The same input gives the same
 * bytes. NULL with a reason. The caller frees it with pv_kit_free. */
PV_API pv_kit *pv_kit_make(const char *text, size_t length, const char *name, pv_type *type,
                           const pv_kit_options *options, pv_kit_sink *sink, void *sink_context,
                           pv_diags *diags);
PV_API void pv_kit_free(pv_kit *kit); /* NULL is fine */
PV_API const pv_kit_info *pv_kit_info_of(const pv_kit *kit);
PV_API const pv_kit_paper *pv_kit_paper_at(const pv_kit *kit, size_t index); /* NULL past the end */

/* The page that draws courses by itself, outside of a kit, with a course's text to begin with. It
 * wants pavior.css, course.css, page.js, course.js and course-module.js beside it. The caller frees
 * it with pv_free. NULL with a reason. */
PV_API char *pv_course_page(const char *text, size_t length, const pv_language *language,
                            pv_diags *diags);

/* ---- as one file ---- */

/* A ZIP archive (ISO/IEC 21320-1), without dates, so that the same kit gives the same bytes. */
typedef struct pv_kit_zip pv_kit_zip;

/* Takes the next bytes of it. Returning false, having said why, stops the work. */
typedef bool pv_bytes_sink(void *context, const void *bytes, size_t size, pv_diags *diags);

/* All files stand in one folder of that name. NULL with a reason. */
PV_API pv_kit_zip *pv_kit_zip_open(const char *folder, pv_bytes_sink *sink, void *context,
                                   pv_diags *diags);
/* A pv_kit_sink; the context is the pv_kit_zip. */
PV_API bool pv_kit_zip_add(void *zip, const pv_kit_member *member, pv_diags *diags);
/* Ends it. False with a reason. Frees it either way; NULL gives false. */
PV_API bool pv_kit_zip_close(pv_kit_zip *zip, pv_diags *diags);
/* Frees what is not to be ended; NULL is fine. */
PV_API void pv_kit_zip_free(pv_kit_zip *zip);

/* ---- a kit that is there ---- */

/* Calls `seen` for each file that a SHA256SUMS names, with the name and 64 digits. False with a
 * reason: a line is not as pavior writes it, or its name leads out of the kit; or `seen` gave
 * false. */
typedef bool pv_kit_seen(void *context, const char *name, const char *sha256);
PV_API bool pv_kit_sums_read(const char *text, size_t length, pv_kit_seen *seen, void *context,
                             pv_diags *diags);
/* The same sum of any bytes; 64 digits and a NUL. */
PV_API void pv_kit_sum(const void *bytes, size_t size, char hex[65]);

#ifdef __cplusplus
}
#endif
#endif
