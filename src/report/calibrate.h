/* Inspection reports as calibration sees them. Private to this room. */
#ifndef REPORT_CALIBRATE_H
#define REPORT_CALIBRATE_H

#include "base/diag.h"

#include <pavior/printer.h>

/* The properties of a printer. */
enum { PV_OF_X, PV_OF_Y, PV_OF_SKEW, PV_OF_INK, PV_PROPERTIES };

/* A value with its expanded and its standard uncertainty; U 0: not measured. */
typedef struct pv_reported {
    double value, U, u;
    double shared;  /* what of u images by the same scanner or card have in common; negative: the
                       report doesn't say, as of a reference */
    double freedom; /* effective degrees of freedom of u; HUGE_VAL where nothing limits them */
} pv_reported;

#define PV_REPORTED_REFERENCES_MAX 16

/* One reference besides the scanner, or the scanner itself. */
typedef struct pv_reported_reference {
    pv_reference_kind kind;
    pv_reported scale[2], skew;
} pv_reported_reference;

/* One image of a report, along the page's own axes. Texts belong to it. */
typedef struct pv_reported_image {
    char *file, *error, *paper;
    double page[2];
    pv_reported value[PV_PROPERTIES];
    double U_rel; /* of all its lengths, by its references; 0: none */
    double turn;  /* degrees counter-clockwise */
    bool photograph;
    bool flatbed;      /* stated to be a flatbed's scan */
    bool scanner_only; /* nothing but the scanner says how long its lengths are */
    /* What the sheet was corrected for when it was printed, in the printer's own frame. */
    bool corrected;
    double applied[PV_PROPERTIES];
    pv_reported_reference references[PV_REPORTED_REFERENCES_MAX];
    size_t n_references;
} pv_reported_image;

typedef struct pv_reported_images {
    pv_reported_image *items;
    size_t n, cap;
} pv_reported_images;

/* All images of all reports. False with a finding; to be cleared either way. */
bool pv_reports_read(const pv_report_text *reports, size_t n, pv_reported_images *out,
                     pv_diags *diags);
void pv_reports_clear(pv_reported_images *images);

/* One of several measurements of the same thing: `own` is its standard uncertainty as far as the
 * others don't share it, `shared` the rest. */
typedef struct pv_sample {
    double value, own, shared;
    double freedom; /* of both together; HUGE_VAL where nothing limits them */
} pv_sample;

typedef struct pv_mean {
    double value, u;
    double freedom;    /* effective (JCGM 100:2008, G.4.1); HUGE_VAL where nothing limits them */
    double chi, limit; /* chi-squared of the samples about the mean; what chance exceeds in 5 % */
} pv_mean;

/* Weighted mean. The own parts are taken as independent, the shared ones as fully correlated (JCGM
 * 100:2008, 5.2.2). Weights are 1 / (own^2 + shared^2 - the least shared^2 of all): what all share
 * tells no sample from another, and one whose shared part is larger is worth less. Where
 * chi-squared is over its limit, the own parts of u are what the samples scatter by (Birge's
 * ratio). n > 0. */
pv_mean pv_mean_of(const pv_sample *samples, size_t n);

/* False where a finding was lost because memory ran out: then there is no result either, which
 * would go unexplained. */
bool pv_all_said(const pv_diags *diags);

#endif
