/* What a picture is judged with: the kit's plans, the options and the version. Two results of the
 * same bytes on the same basis are the same. A run has several bases, since teams may be told to
 * have a kind of scanner of their own. Private to this room. */
#ifndef COLLECT_BASIS_H
#define COLLECT_BASIS_H

#include "base/sha256.h"
#include "plan/layout.h"

#include <pavior/collect.h>

#define PV_BASES (1 + PV_SCANNER_KINDS)

typedef struct pv_collect_basis {
    const pv_plan **plans; /* each once, by fingerprint; the list is the basis's own */
    size_t n_plans;
    char kit[PV_SHA256_HEX]; /* over all plans' contents */
    char *options;           /* in words, of the first */
    char *scanners;          /* what they say of the scanners, in the results' language */
    const pv_language *language;
    /* The first as the options say; then one for each kind of scanner. */
    pv_inspect_options how[PV_BASES];
    char id[PV_BASES][PV_SHA256_HEX]; /* over kit, options and version */
} pv_collect_basis;

/* To be cleared either way. False with a reason. */
bool pv_basis_make(pv_collect_basis *basis, const pv_plan *const *plans, size_t n_plans,
                   const pv_inspect_options *how, pv_diags *diags);
void pv_basis_clear(pv_collect_basis *basis);

/* Which one counts for a picture. The first of those that are alike: it may be told what the
 * options say, too. */
size_t pv_basis_of(const pv_collect_basis *basis, const pv_collect_picture *picture);

/* Writes it, its plans and their sheets into the results, in place of what stands there. */
bool pv_basis_say(const pv_collect_basis *basis, pv_results *results, pv_diags *diags);
/* Where teams send their pictures, which changes no answer: after pv_basis_say. */
bool pv_basis_say_contact(const char *kit_json, pv_results *results, pv_diags *diags);

#endif
