/* pavior/type.h - the typefaces that names and lettering are set in. */
#ifndef PAVIOR_TYPE_H
#define PAVIOR_TYPE_H

#include <pavior/diag.h>

#ifdef __cplusplus
extern "C" {
#endif

/* One typeface for everything that is written, and other faces for the characters that it lacks.
 * PDFs embed what they use of them. Whoever sets text needs a type: no function takes NULL for it.
 * One thread at a time. */
typedef struct pv_type pv_type;

/* Opens a typeface: the name of an installed family, or a file (whatever has a slash or ends in
 * .ttf or .ttc); NULL: PV_TYPE_DEFAULT, and where that isn't installed the system's sans serif,
 * with a warning. Only TrueType outlines whose maker lets them be embedded will do. NULL with a
 * reason. The caller frees it. */
#define PV_TYPE_DEFAULT "Liberation Sans"
PV_API pv_type *pv_type_open(const char *name, pv_diags *diags);
PV_API void pv_type_free(pv_type *type); /* NULL is fine */

/* How many families are in use so far, at most PV_TYPE_FAMILIES_MAX, and their names; the typeface
 * itself is number 0. */
#define PV_TYPE_FAMILIES_MAX 24u
PV_API size_t pv_type_families(const pv_type *type);
PV_API const char *pv_type_family(const pv_type *type, size_t index);

#ifdef __cplusplus
}
#endif
#endif
