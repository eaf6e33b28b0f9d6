/* Finding faces where none is installed, as in a browser: instead of find.c. The program carries
 * the two of the default family (src/web/web.mk). */
#include "base/memory.h"
#include "type/face.h"

#include <stdlib.h>
#include <string.h>

extern const unsigned char pv_carried_regular[], pv_carried_bold[];
extern const unsigned pv_carried_regular_size, pv_carried_bold_size;

static const char *const names[2] = {"carried regular", "carried bold"};

hb_blob_t *pv_face_file(const char *file)
{
    bool bold = strcmp(file, names[1]) == 0;
    if (!bold && strcmp(file, names[0]) != 0)
        return NULL;
    return hb_blob_create_or_fail((const char *)(bold ? pv_carried_bold : pv_carried_regular),
                                  bold ? pv_carried_bold_size : pv_carried_regular_size,
                                  HB_MEMORY_MODE_READONLY, NULL, NULL);
}

struct pv_finder {
    char none;
};

pv_finder *pv_finder_new(bool *no_memory)
{
    pv_finder *finder = PV_NEW(pv_finder);
    *no_memory = finder == NULL;
    return finder;
}

void pv_finder_free(pv_finder *finder)
{
    free(finder);
}

void pv_face_found_drop(pv_face_found *found)
{
    free(found->file);
    free(found->family);
    *found = (pv_face_found){0};
}

/* A character is looked for by the caller, who opens the face. */
bool pv_finder_find(pv_finder *finder, const pv_face_wish *wish, pv_face_found *found)
{
    (void)finder;
    *found = (pv_face_found){0};
    if (wish->skip > 0 || (wish->strictly && strcmp(wish->family, PV_TYPE_DEFAULT) != 0))
        return false;
    found->file = pv_copy_text(names[wish->bold]);
    found->family = pv_copy_text(PV_TYPE_DEFAULT);
    found->no_memory = found->file == NULL || found->family == NULL;
    if (found->no_memory) {
        pv_face_found_drop(found);
        found->no_memory = true;
    }
    return !found->no_memory;
}
