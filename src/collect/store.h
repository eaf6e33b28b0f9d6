/* What a picture came to, and putting it into the results. Private to this room. */
#ifndef COLLECT_STORE_H
#define COLLECT_STORE_H

#include "collect/basis.h"
#include "collect/sql.h"

/* What may settle an undecided picture, or what one that conforms leaves open, as the results say
 * it (inspection.asks). */
enum { PV_ASKS_NOTHING, PV_ASKS_SCANNER, PV_ASKS_LENGTHS, PV_ASKS_FINER, PV_ASKS_LOOK };

/* One picture of a file. All is owned. */
typedef struct pv_looked_page {
    pv_inspection *inspection;
    char *json, *report; /* of it; `report` is NULL where none is wanted */
} pv_looked_page;

/* A file that was looked at. */
typedef struct pv_looked {
    size_t index, basis;        /* of the run's pictures and bases */
    char sha256[PV_SHA256_HEX]; /* "" where it could not be read */
    char *error;                /* then why; owned */
    bool picture;               /* by its first bytes */
    pv_looked_page *pages;      /* owned; NULL where the results tell of these bytes already */
    size_t n_pages;
} pv_looked;

void pv_looked_clear(pv_looked *found);

/* Statements that are ready for all pictures of a run. */
typedef struct pv_store {
    pv_sql picture, inspection, forget, value;
    const pv_collect_basis *basis;
} pv_store;

/* To be closed either way. */
bool pv_store_open(pv_store *store, pv_results *results, const pv_collect_basis *basis,
                   pv_diags *diags);
void pv_store_close(pv_store *store);

bool pv_store_put(pv_store *store, const pv_collect_picture *picture, const pv_looked *found);

#endif
