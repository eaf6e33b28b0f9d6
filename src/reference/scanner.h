#ifndef REFERENCE_SCANNER_H
#define REFERENCE_SCANNER_H

#include "reference/combine.h"

/* How far a scan's two scales are alike where nobody states any (an estimate). */
#define PV_SCANNER_SQUARE 0.01

typedef struct pv_scan_reference {
    bool believed;
    bool doubtful;       /* stated, but no scanner's own: worth a word whatever else is known */
    double stated[2];    /* px per mm along the image's x and y; 0 if not stated */
    double px_per_mm[2]; /* to measure by; 0 where not believed */
    double rounding_u;   /* standard, relative: what a format's whole numbers make of it */
} pv_scan_reference;

/* What a scanner's stated resolution is taken to be good to. */
typedef struct pv_scanner_limits {
    double u[2];   /* standard, relative, along the image's x and y */
    double askew;  /* standard, rad */
    double uneven; /* standard, mm: of one place, beyond these */
} pv_scanner_limits;

/* By its kind, or as stated in options->scanner_U_rel. */
pv_scanner_limits pv_scanner_limits_of(const pv_pose *pose, const double page[2],
                                       const pv_inspect_options *options);

/* Decides, and says in `note` (left empty where there is nothing to say) why it isn't believed and
 * what would settle it. */
pv_scan_reference pv_scan_reference_decide(const pv_plane *plane, const pv_pose *pose,
                                           const pv_inspect_options *options, pv_text *note);

/* What a believed resolution says of the print: px_per_mm, corrected by this scanner's own factors
 * where they are known (options->scanner), turned into the sheet's axes. */
pv_evidence pv_scan_evidence(const pv_scan_reference *scan, const pv_pose *pose,
                             const pv_scanner_limits *limits, const pv_inspect_options *options);

/* What a scan says whose resolution isn't known: its pixels are square, so it shows the ratio of
 * the print's scales and its right angle. No rows where the pixels clearly aren't, as with a fax.
 */
pv_evidence pv_square_evidence(const pv_pose *pose, const pv_scanner_limits *limits,
                               const pv_inspect_options *options);

#endif
