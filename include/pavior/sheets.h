/* pavior/sheets.h - a course laid out on sheets: the plan, and the pages to print. */
#ifndef PAVIOR_SHEETS_H
#define PAVIOR_SHEETS_H

#include <pavior/course.h>
#include <pavior/language.h>

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A sheet size. Upright: width <= height. */
typedef struct pv_paper {
    const char *name;     /* PWG 5101.1 self-describing name, "iso_a4_210x297mm" */
    const char *everyday; /* "A4", "letter", "B4 JIS", "ARCH C"; equals name for custom sizes */
    double width, height; /* mm */
} pv_paper;

PV_API size_t pv_paper_count(void);
PV_API const pv_paper *pv_paper_at(size_t index); /* NULL past the end */

typedef enum pv_orientation { PV_FEWEST, PV_PORTRAIT, PV_LANDSCAPE } pv_orientation;

/* How sheets meet: the one over the other at each seam, or edge to edge, taped from beneath. */
typedef enum pv_joint { PV_JOINT_LAP, PV_JOINT_BUTT } pv_joint;

typedef struct pv_printer pv_printer; /* pavior/printer.h */

#define PV_MARGIN_USUAL (-1.0)

/* Characters in the address of a kit's folder, at most; ours. */
#define PV_URL_MAX 250

/* Whether a text can be such an address: "http://" or "https://", then characters that an address
 * has as they are (RFC 3986, 2.2 and 2.3, and "%"), but no "?" and no "#"; PV_URL_MAX at most. */
PV_API bool pv_url_plain(const char *url);

/* How a course is laid on sheets. All lengths in mm. All pointers are borrowed. Start from
 * pv_layout_defaults. */
typedef struct pv_layout_options {
    size_t size;       /* of this struct, for the library: pv_layout_defaults sets it */
    const char *paper; /* a name of either kind, or a custom size such as "300x450mm" */
    pv_orientation orientation;
    /* Left, bottom, right, top of the page as printed: what the printer can't reach, or
     * PV_MARGIN_USUAL for that of the printer's class; without a class 5 mm, or a plotter's. */
    double margin[4];
    const char *printer_class; /* of pv_printer_class, or NULL */
    double overlap;            /* how far an under sheet continues beneath its neighbour */
    pv_joint joint;
    double border; /* left blank beyond the mat's own edges, inside the outer trim lines */
    /* Wide format: a roll of this width instead of `paper`; else 0. The margins are then those of
     * the roll: left and right its edges, bottom and top a page's ends. The orientation says which
     * way the roll runs: up the mat (portrait) or along it. */
    double roll;
    double panel_length; /* longest page along the roll; 0: as long as need be */
    /* The sheets are corrected for this printer, and the margins grow by what that needs; NULL: for
     * none. Not for rolls. */
    const pv_printer *printer;
    pv_type *type;               /* for a proof's words; a course has its own */
    const pv_language *language; /* of what people read around the mat; NULL: English */
    /* An older plan of the course, of the same paper, whose sheets may lie already: seams, order
     * and crosses stay as they are where they can, and a sheet that comes out as it was keeps its
     * identity, so that a picture of the old one is taken for the new plan's; or NULL. */
    const struct pv_plan *keep;
    /* The address of a folder on the web with a page for each sheet, "https://example.org/mat/a4":
     * each sheet with room for it carries a QR code that leads to its own, there a1.html, a2.html
     * and so on. In waste and laps alone, so no part of the kit's fingerprint. NULL: no codes. */
    const char *url;
} pv_layout_options;

PV_API void pv_layout_init(pv_layout_options *options, size_t size);
/* A4, whichever orientation needs fewer sheets, an overlap of 16 mm. */
static inline pv_layout_options pv_layout_defaults(void)
{
    pv_layout_options options;
    pv_layout_init(&options, sizeof options);
    return options;
}

/* Classes of printers by what they leave blank: "laser", "inkjet", "borderless"; NULL past the end.
 */
PV_API const char *pv_printer_class(size_t index);

/* What sheets are corrected for when they are printed, in the printer's own frame
 * (pavior/printer.h): neutral (1, 1, 0, 0) where nothing is. */
typedef struct pv_correction {
    bool any;        /* false: the sheets are drawn as planned, and nothing below counts */
    double scale[2]; /* printed mm per nominal mm that were taken off */
    double skew;     /* mrad */
    double ink;      /* mm at each edge */
} pv_correction;

typedef struct pv_plan pv_plan;

/* Lays a course on sheets. NULL with a reason where that is impossible. The plan holds copies of
 * all that it needs, but for the course's type, which must outlive it. Options of NULL are the
 * defaults. The caller frees it. */
PV_API pv_plan *pv_plan_make(const pv_course *course, const pv_layout_options *options,
                             pv_diags *diags);
/* One page to measure a printer by, as a plan of one sheet; it stands upright, and the overlap is
 * its own. It needs options->type, which must outlive it. NULL with a reason. The caller frees it.
 */
PV_API pv_plan *pv_plan_proof(const pv_layout_options *options, pv_diags *diags);
PV_API void pv_plan_free(pv_plan *plan); /* NULL is fine */

/* The plan as JSON (docs/reference/plan-format.md) and back. Reading checks everything: a plan that
 * was read is as good as one that was made. `name` stands for the input in messages and may be
 * NULL. NULL with a reason. The caller frees them with pv_free and pv_plan_free. */
#define PV_PLAN_BYTES_MAX  (128u << 20)
#define PV_PLAN_SHEETS_MAX 32768u
PV_API char *pv_plan_json(const pv_plan *plan, pv_diags *diags);
PV_API pv_plan *pv_plan_parse(const char *text, size_t length, const char *name, pv_diags *diags);

/* ---- what a plan holds ---- */

/* A plan to be shown. It and all that it hands out live until pv_summary_free, but not longer than
 * the plan. */
typedef struct pv_summary pv_summary;

/* The whole. Lengths in mm. */
typedef struct pv_plan_info {
    const char *name, *edition; /* of the course */
    double mat[2];              /* width, height */
    const char *kit;            /* the fingerprint that all its sheets carry: "5K7-2XQM" */
    bool proof;
    const char *paper; /* its everyday name */
    double page[2];    /* as printed: width, height */
    double margin[4];  /* left, bottom, right, top of the page */
    double widened;    /* what of each margin is for the printer's correction */
    double overlap, border;
    pv_joint joint;
    size_t sheets, rows, columns, seams, crosses;
    size_t down, up; /* how often the robot steps down and up where its route crosses seams */
    const pv_language *language; /* of what people read around the mat */
    const char *url;             /* of the folder with the sheets' pages, or NULL */
} pv_plan_info;

typedef struct pv_sheet_info {
    const char *name;   /* "A1": row letters, then column number */
    size_t row, column; /* from 0, row 0 on top */
    double cell[4];     /* mm, mat frame: left, bottom, right, top of what it shows of the mat */
} pv_sheet_info;

typedef struct pv_seam_info {
    size_t over, under; /* sheets; in a butt joint `over` is the one taped later */
    bool vertical;      /* runs along y */
    double at;          /* mm, mat frame: its x if vertical, else its y */
    double from, to;    /* mm, its extent along the other axis */
    size_t crosses;     /* alignment crosses on it */
    size_t down, up;    /* how often the robot steps down and up here; 0 in a butt joint */
} pv_seam_info;

/* NULL where memory ran out. The caller frees it. */
PV_API pv_summary *pv_summary_make(const pv_plan *plan, pv_diags *diags);
/* As if it had no seams: these take a walk along the whole route each. */
PV_API pv_summary *pv_summary_brief(const pv_plan *plan, pv_diags *diags);
PV_API void pv_summary_free(pv_summary *summary); /* NULL is fine */
PV_API const pv_plan_info *pv_summary_plan(const pv_summary *summary);
/* In reading order; NULL past the end. */
PV_API const pv_sheet_info *pv_summary_sheet(const pv_summary *summary, size_t index);
/* In the order of taping, from 0; NULL past the end. */
PV_API const pv_sheet_info *pv_summary_taped(const pv_summary *summary, size_t turn);
PV_API const pv_seam_info *pv_summary_seam(const pv_summary *summary, size_t index);

/* What a mat takes, before anyone prints it. */
typedef struct pv_takeoff {
    size_t sheets;
    double weight;  /* g/m2, of the paper */
    double paper;   /* m2 of it */
    double mass;    /* kg of it */
    double tape;    /* m: one strip along each seam */
    double cut;     /* m: the mat's outline and each seam, in a butt joint on both its sheets */
    double minutes; /* for one person with a knife and a steel ruler, by a rule of thumb */
    double printed; /* mm2 printed per mm2 of the mat: laps and bleed are printed twice */
    double ink[4];  /* cyan, magenta, yellow, black: share of the mat's area that each covers fully,
                       by the plain conversion of ISO 32000-1, 10.3.5, with all that the three
                       colours share as black */
} pv_takeoff;

typedef struct pv_colour_info {
    const char *name; /* as the course has it */
    unsigned char rgb[3];
    double area; /* mm2 of the mat that it covers, lettering left out */
} pv_colour_info;

#define PV_PAPER_WEIGHT     80.0 /* g/m2, office paper */
#define PV_PAPER_WEIGHT_MIN 10.0
#define PV_PAPER_WEIGHT_MAX 2000.0

/* For paper of that weight in g/m2. NULL with a reason: a weight out of bounds, or memory. The
 * caller frees it with pv_takeoff_free; it lives no longer than the plan. */
PV_API pv_takeoff *pv_takeoff_make(const pv_plan *plan, double weight, pv_diags *diags);
PV_API void pv_takeoff_free(pv_takeoff *takeoff); /* NULL is fine */
/* The course's colours; NULL past the end. */
PV_API const pv_colour_info *pv_takeoff_colour(const pv_takeoff *takeoff, size_t index);

/* ---- an older plan against a new one ---- */

typedef enum pv_again {
    PV_AGAIN_NOT,     /* the sheet that lies is the new plan's as well */
    PV_AGAIN_SURFACE, /* its finished surface looks different */
    PV_AGAIN_EDGES,   /* it looks the same, but lies over or under its neighbours another way */
    PV_AGAIN_NEW      /* no sheet of the older plan shows that part of the mat */
} pv_again;

/* A sheet of the new plan. */
typedef struct pv_again_info {
    const char *name;
    const char *was; /* the older plan's sheet of the same part of the mat, or NULL */
    pv_again again;
    bool same_identity; /* its tags are those of the older one's */
} pv_again_info;

typedef enum pv_change { PV_CHANGE_NEW, PV_CHANGE_GONE, PV_CHANGE_OTHER } pv_change;

/* Something that the mats differ in: a line, a fill, a mark, a text, the ground, the size. */
typedef struct pv_change_info {
    pv_change change;
    const char *words; /* a sentence in the comparison's language */
    double box[4]; /* mm, mat frame, of the newer, or of what is gone: left, bottom, right, top */
} pv_change_info;

/* A part of the mat that looks different: what hangs together, to about 10 mm. */
typedef struct pv_changed_part {
    double box[4]; /* mm, mat frame */
} pv_changed_part;

typedef struct pv_comparison pv_comparison;

/* Both plans may have been made or read. Whether a sheet's surface looks different is found by the
 * art alone: a typeface is no part of a plan. NULL with a reason: memory, or a proof page. The
 * caller frees it with pv_comparison_free; it lives no longer than the new plan. */
PV_API pv_comparison *pv_plan_compare(const pv_plan *older, const pv_plan *plan,
                                      const pv_language *language, pv_diags *diags);
PV_API void pv_comparison_free(pv_comparison *comparison); /* NULL is fine */
/* The new plan's sheets in reading order; NULL past the end. */
PV_API const pv_again_info *pv_comparison_sheet(const pv_comparison *comparison, size_t index);
/* How many of them must be printed again, and which, as a range: "A1,B3"; NULL for none. */
PV_API size_t pv_comparison_again(const pv_comparison *comparison);
PV_API const char *pv_comparison_range(const pv_comparison *comparison);
/* Sheets of the older plan whose part of the mat no new sheet has; NULL past the end. */
PV_API const char *pv_comparison_gone(const pv_comparison *comparison, size_t index);
/* What changed on the mat; NULL past the end. */
PV_API const pv_change_info *pv_comparison_change(const pv_comparison *comparison, size_t index);
/* The same in as few sentences as people need: things that moved alike together; NULL past the
 * end. */
PV_API const char *pv_comparison_told(const pv_comparison *comparison, size_t index);
/* Where it looks different, from the top left, PV_CHANGED_PARTS_MAX of them at most; NULL past the
 * end. */
#define PV_CHANGED_PARTS_MAX 500u
PV_API const pv_changed_part *pv_comparison_part(const pv_comparison *comparison, size_t index);

/* What each seam of a plan costs and why it lies where it does, as text (docs/how/seams.md); the
 * plan is of that course. The caller frees it with pv_free. NULL with a reason. */
PV_API char *pv_plan_explain(const pv_plan *plan, const pv_course *course, pv_diags *diags);

/* ---- pages ---- */

/* Called now and then with 0 to `total`; returning false stops the work. */
typedef bool pv_progress(void *context, size_t done, size_t total);

/* Sheets come as one or more files: one takes no further page once it has PV_PDF_PAGES_MAX of them,
 * or PV_PDF_CONTENTS_MAX bytes of their contents before compression. */
#define PV_PDF_PAGES_MAX    1000u
#define PV_PDF_CONTENTS_MAX (64u << 20)

typedef struct pv_pdf_part {
    size_t number;              /* from 1 */
    size_t first, last;         /* indexes of its first sheet and its last, as its pages go */
    size_t pages;               /* all of them, */
    size_t guide;               /* of which the first so many are the taping guide's */
    const unsigned char *bytes; /* only during the call */
    size_t size;
} pv_pdf_part;

/* Takes a file that is whole. Returning false, having said why (pv_diags_say), stops the work. */
typedef bool pv_pdf_sink(void *context, const pv_pdf_part *part, pv_diags *diags);

/* All pointers are borrowed. Start from pv_pdf_defaults. */
typedef struct pv_pdf_options {
    size_t size; /* of this struct, for the library: pv_pdf_defaults sets it */
    /* Which sheets: "A1", "A1-B3" (a rectangle of sheets), several with commas; NULL: all. */
    const char *range;
    pv_type *type; /* that all words are set in, and embedded; NULL: the one the plan was made with,
                      which a plan that was read doesn't have */
    pv_progress *progress; /* or NULL */
    void *progress_context;
    bool no_guide; /* without the taping guide, which comes before the sheets of a whole set of
                      more than one sheet */
    bool taping;   /* sheets in the order of taping */
} pv_pdf_options;

PV_API void pv_pdf_init(pv_pdf_options *options, size_t size);
static inline pv_pdf_options pv_pdf_defaults(void)
{
    pv_pdf_options options;
    pv_pdf_init(&options, sizeof options);
    return options;
}

/* The taping guide, then the sheets, one page each, corrected for the plan's printer; every file
 * goes to the sink. False with a reason: no such sheet, no type, memory, a library that refused, or
 * what the sink said. `options` may be NULL. */
PV_API bool pv_sheets_pdf(const pv_plan *plan, const pv_pdf_options *options, pv_pdf_sink *sink,
                          void *sink_context, pv_diags *diags);

/* One sheet as SVG at true size, without a printer's correction. `type` as in pv_pdf_options. The
 * caller frees it with pv_free; NULL with a reason. */
PV_API char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_type *type, pv_diags *diags);

#ifdef __cplusplus
}
#endif
#endif
