/* Several references for one print, by weight. */
#ifndef REFERENCE_COMBINE_H
#define REFERENCE_COMBINE_H

#include "reference/reference.h"

/* What one reference says, as up to three linear statements about p = (ln sx, ln sy, skew in rad):
 * row . p = z, with a covariance (k = 1). */
typedef struct pv_evidence {
    pv_reference_result result; /* its kind; the rest is filled by pv_evidence_result */
    bool silent;                /* helps, but is no reference by itself: not in the result's list */
    size_t rows;
    double row[3][3], z[3];
    double cov[9]; /* rows x rows, row by row */
} pv_evidence;

#define PV_EVIDENCE_MAX 8

/* Evidence about all three. */
pv_evidence pv_evidence_of_metric(pv_reference_kind kind, const pv_metric *metric);
/* Sets scale, U, skew and skew_U of `result` from the statements: each by itself, where a row is
 * about it alone. */
void pv_evidence_result(pv_evidence *evidence);

typedef enum pv_agreement {
    PV_AGREE,
    PV_ONE_LEFT_OUT, /* the others agree without it, and each of them says that it is wrong */
    PV_DISAGREE      /* they don't, and nothing tells which is wrong: none counts */
} pv_agreement;

typedef struct pv_combined {
    pv_metric metric;
    pv_agreement agreement;
    size_t left_out;           /* where one is */
    size_t pair[2];            /* where they disagree: the two that do most */
    double chi_squared, limit; /* of the fit to all, and what chance exceeds in 5 % of cases */
    int freedom;               /* its degrees of freedom; 0: there is nothing to compare */
    double widened[3];         /* factors on the standard uncertainties of p, 1 or more */
} pv_combined;

/* One of three is left out only where it is farther than this many standard uncertainties of the
 * difference from each of the others by itself: a coarse reference that contradicts neither of two
 * can't tell which of them is wrong. */
#define PV_LEFT_OUT_FROM 3.0

/* Weighted least squares (JCGM 102; Mandel and Paule's and Birge's setting):
 *     p = cov sum(H' C^-1 z),  cov = (sum(H' C^-1 H))^-1
 * and the sum of squares of what is left, weighted alike, against chi-squared at 5 %. Where it is
 * larger, two of them disagree by more than chance, and none decides alone: the metric is unknown,
 * unless leaving out exactly one of three or more makes the rest agree and that one is wrong beyond
 * doubt (above).
 * Where they agree, each scale's and the skew's uncertainty is multiplied by Birge's ratio of the
 * statements about it, the root of chi-squared by its degrees of freedom, where that is over 1
 * (Birge, Phys. Rev. 40, 1932; from memory): what agrees only just makes nothing surer.
 * Sets weight and disagrees of each result. What isn't known stays as in pv_metric_unknown; an
 * unknown skew gets PV_SKEW_UNKNOWN. */
pv_combined pv_combine(pv_evidence *items, size_t n);

/* "the scanner", "the card", ... */
const char *pv_reference_noun(pv_reference_kind kind);

/* Which disagree, by how much, and what to do; nothing where they agree. */
void pv_combined_note(const pv_combined *combined, const pv_evidence *items, size_t n,
                      pv_text *note);

#endif
