/* Other names under which people know a size of the table. */
#ifndef PAPER_TABLE_H
#define PAPER_TABLE_H

#include <pavior/sheets.h>

typedef struct pv_paper_alias {
    const char *alias;
    const char *name; /* the PWG 5101.1 name that it stands for */
} pv_paper_alias;

const pv_paper_alias *pv_paper_alias_at(size_t index); /* NULL past the end */

#endif
