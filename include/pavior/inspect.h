/* pavior/inspect.h - is the print true? A scanned or photographed sheet, measured against its plan.
 *
 * Lengths are mm, angles mrad; U is an expanded uncertainty, k = 2 (JCGM 100:2008, 6.2). */
#ifndef PAVIOR_INSPECT_H
#define PAVIOR_INSPECT_H

#include <pavior/sheets.h>

#ifdef __cplusplus
extern "C" {
#endif

/* JCGM 106:2012 with a guard band of U: conforms where |error| + U <= tolerance, does not conform
 * where |error| - U > tolerance, undecided between. */
typedef enum pv_verdict { PV_CONFORMS, PV_DOES_NOT_CONFORM, PV_UNDECIDED } pv_verdict;

/* "conforms", "does not conform", "undecided". */
PV_API const char *pv_verdict_name(pv_verdict verdict);

typedef struct pv_value {
    double value, U;
    double tolerance; /* how far the value may be off, in its own unit */
    pv_verdict verdict;
    bool measured; /* false: value and U mean nothing, verdict is undecided */
} pv_value;

typedef struct pv_line_result {
    const char *id;
    double nominal;    /* mm, the width in the course */
    pv_value width;    /* mm */
    pv_value straight; /* mm, largest deviation of the centre line from its own best fit */
    size_t planned;    /* places where by the plan both its edges stand clear; where there are none
                          the line counts for nothing in the verdict */
    size_t stations;   /* those where its width was measured */
} pv_line_result;

typedef struct pv_spacing_result {
    const char *from, *to; /* ids of two neighbouring lines */
    double nominal;        /* mm, centre to centre */
    pv_value value;        /* mm */
} pv_spacing_result;

/* What tells how long a millimetre is. Without any, no length is proven: widths and spacings are
 * then relative to the sheet's own nominal size, and undecided. */
typedef enum pv_reference_kind { PV_REFERENCE_NONE, PV_REFERENCE_SCANNER } pv_reference_kind;

/* One image's result. Everything belongs to the inspection. */
typedef struct pv_inspection {
    const char *file;
    const char *error; /* why the image can't be used, or NULL; then nothing below counts */
    const char *sheet; /* "B2" */
    const char *kit;   /* name, edition and fingerprint as printed on the sheet */
    pv_verdict verdict;
    pv_reference_kind reference;
    double reference_U_rel;        /* relative, k = 2 */
    double resolution[2];          /* stated, px per mm along the image's x and y; 0 where none */
    double measured_resolution[2]; /* the same as the print has it: px per nominal mm */
    pv_value scale[2]; /* printed mm per nominal mm along the sheet's own upright axes */
    pv_value skew;     /* mrad by which the angle from the sheet's x to its y axis falls short of a
                          right angle */
    double turn;       /* degrees counter-clockwise by which the sheet lies turned in the image */
    double residual;   /* px, RMS of the pose's fit */
    pv_line_result *lines;
    size_t n_lines;
    pv_spacing_result *spacings;
    size_t n_spacings;
    const char **notes;
    size_t n_notes;
} pv_inspection;

/* Expanded relative uncertainty (k = 2) of the resolution that an office flatbed states, where
 * nothing better is known: an estimate. Published abstracts give "< 0.1 %" for such scanners and 1
 * mm over A4 for a poor one. */
#define PV_SCANNER_U_REL 0.001

typedef struct pv_inspect_options {
    double scanner_U_rel; /* relative expanded uncertainty of a scanner's stated resolution */
    double dpi;           /* overrides what the image states; 0: use what it states */
    size_t pixels_max;    /* refuse larger images */
} pv_inspect_options;

PV_API pv_inspect_options pv_inspect_defaults(void);

/* Measures one PNG or JPEG. `name` stands for it in the result. An image that can't be used gives a
 * result with `error`; NULL only where memory ran out (said in diags). The caller frees it. */
PV_API pv_inspection *pv_inspect(const pv_plan *plan, const unsigned char *bytes, size_t size,
                                 const char *name, const pv_inspect_options *options,
                                 pv_diags *diags);
/* The result for an image that couldn't even be read; the caller frees it. NULL where memory ran
 * out. */
PV_API pv_inspection *pv_inspection_unread(const char *name, const char *why);
PV_API void pv_inspection_free(pv_inspection *inspection);

/* For people and for machines (docs/inspection-format.md has the keys). The caller frees them with
 * pv_free; NULL where memory ran out. */
PV_API char *pv_inspections_text(const pv_inspection *const *items, size_t n, bool colour);
PV_API char *pv_inspections_json(const pv_inspection *const *items, size_t n);

#ifdef __cplusplus
}
#endif
#endif
