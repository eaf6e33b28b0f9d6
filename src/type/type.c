/* The families of a type: the one that was asked for, and those that stand in for it. */
#include "base/memory.h"
#include "base/words.h"
#include "type/face.h"

#include <stdlib.h>
#include <string.h>

#define TRIES 8 /* installed faces that are tried before the search is given up */

static const char *complaint(pv_face_state state)
{
    switch (state) {
    case PV_FACE_NOT_TRUETYPE:
        return "has no TrueType outlines of one fixed design, the only kind that can be embedded";
    case PV_FACE_FORBIDDEN:
        return "cannot be embedded: its licence flags forbid it";
    default:
        return "cannot be read as a typeface";
    }
}

/* Takes over the face, and the name. False where there is no room or memory. */
static bool add_family(pv_type *type, char *name, pv_face *regular, pv_face *bold)
{
    if (name == NULL || type->n_families == PV_TYPE_FAMILIES_MAX) {
        free(name);
        pv_face_close(regular);
        if (bold != NULL)
            pv_face_close(bold);
        return false;
    }
    pv_family *family = &type->family[type->n_families++];
    family->name = name;
    family->face[0] = family->face[1] = type->n_faces;
    type->face[type->n_faces++] = *regular;
    if (bold != NULL) {
        family->face[1] = type->n_faces;
        type->face[type->n_faces++] = *bold;
    }
    return true;
}

static pv_face_state finder_ready(pv_type *type)
{
    bool no_memory = false;
    if (type->finder == NULL)
        type->finder = pv_finder_new(&no_memory);
    return no_memory ? PV_FACE_NO_MEMORY : type->finder == NULL ? PV_FACE_UNREADABLE : PV_FACE_GOOD;
}

/* The bold sister of what was found: UNREADABLE where there is none. */
static pv_face_state open_bold(pv_type *type, const pv_face_found *found, pv_face *bold)
{
    pv_face_wish wish = {.family = found->family, .strictly = true, .bold = true};
    pv_face_found sister;
    pv_face_state state = PV_FACE_UNREADABLE;
    if (pv_finder_find(type->finder, &wish, &sister) &&
        (strcmp(sister.file, found->file) != 0 || sister.index != found->index))
        state = pv_face_open(bold, sister.file, sister.index);
    if (sister.no_memory)
        state = PV_FACE_NO_MEMORY;
    pv_face_found_drop(&sister);
    return state;
}

/* Adds what was found, with its bold sister where there is one. */
static pv_face_state add_found(pv_type *type, const pv_face_found *found, uint32_t code)
{
    pv_face regular, bold;
    pv_face_state state = pv_face_open(&regular, found->file, found->index);
    if (state != PV_FACE_GOOD)
        return state;
    if (code != 0 && !pv_face_has(&regular, code)) {
        pv_face_close(&regular);
        return PV_FACE_UNREADABLE;
    }
    pv_face_state sister = open_bold(type, found, &bold);
    if (sister == PV_FACE_NO_MEMORY) {
        pv_face_close(&regular);
        return sister;
    }
    return add_family(type, pv_copy_text(found->family), &regular,
                      sister == PV_FACE_GOOD ? &bold : NULL)
               ? PV_FACE_GOOD
               : PV_FACE_NO_MEMORY;
}

static bool open_family(pv_type *type, const char *name, pv_diags *diags)
{
    bool asked = name != NULL;
    pv_face_found found;
    pv_face_wish wish = {.family = asked ? name : PV_TYPE_DEFAULT, .strictly = true};
    bool has = pv_finder_find(type->finder, &wish, &found);
    if (!has && found.no_memory) {
        pv_fail_memory(diags);
        return false;
    }
    if (!has && asked) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "fc-list lists what is installed; or give the path of a font file",
                     "no installed TrueType typeface is called \"%s\"", name);
        return false;
    }
    if (!has) {
        wish = (pv_face_wish){0};
        has = pv_finder_find(type->finder, &wish, &found);
        if (has)
            pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                         "install it (Debian: fonts-liberation2), so that all mats are alike",
                         "the typeface %s is not installed: %s is used instead", PV_TYPE_DEFAULT,
                         found.family);
    }
    if (!has) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "install one (Debian: fonts-liberation2), or name a file",
                     "no TrueType typeface is installed");
        return false;
    }
    pv_face_state state = add_found(type, &found, 0);
    if (state == PV_FACE_NO_MEMORY)
        pv_fail_memory(diags);
    else if (state != PV_FACE_GOOD)
        pv_fail(diags, PV_CAUSE_DATA, "the typeface %s %s", found.file, complaint(state));
    pv_face_found_drop(&found);
    return state == PV_FACE_GOOD;
}

static bool open_file(pv_type *type, const char *file, pv_diags *diags)
{
    pv_face face;
    pv_face_state state = pv_face_open(&face, file, 0);
    if (state == PV_FACE_GOOD) {
        if (add_family(type, pv_copy_text(face.name), &face, NULL))
            return true;
        state = PV_FACE_NO_MEMORY;
    }
    if (state == PV_FACE_NO_MEMORY)
        pv_fail_memory(diags);
    else
        pv_fail(diags, state == PV_FACE_UNREADABLE ? PV_CAUSE_INPUT : PV_CAUSE_DATA, "%s %s", file,
                complaint(state));
    return false;
}

static bool is_file(const char *name)
{
    size_t length = strlen(name);
    const char *end = length > 4 ? name + length - 4 : "";
    return strchr(name, '/') != NULL || pv_word_distance(end, strlen(end), ".ttf", 4) == 0 ||
           pv_word_distance(end, strlen(end), ".ttc", 4) == 0 ||
           pv_word_distance(end, strlen(end), ".otf", 4) == 0;
}

pv_type *pv_type_open(const char *name, pv_diags *diags)
{
    pv_type *type = PV_NEW(pv_type);
    if (type == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    bool good = false, by_file = name != NULL && is_file(name);
    pv_face_state ready = by_file ? PV_FACE_GOOD : finder_ready(type);
    if (by_file)
        good = open_file(type, name, diags);
    else if (ready == PV_FACE_GOOD)
        good = open_family(type, name, diags);
    else if (ready == PV_FACE_NO_MEMORY)
        pv_fail_memory(diags);
    else
        pv_fail(diags, PV_CAUSE_LIBRARY, "fontconfig has no configuration: no typeface was found");
    if (!good) {
        pv_type_free(type);
        return NULL;
    }
    pv_face_facts facts;
    pv_type_face(type, 0, &facts);
    type->cap = facts.cap;
    return type;
}

void pv_type_free(pv_type *type)
{
    if (type == NULL)
        return;
    for (unsigned i = 0; i < type->n_faces; i++)
        pv_face_close(&type->face[i]);
    for (unsigned i = 0; i < type->n_families; i++)
        free(type->family[i].name);
    pv_finder_free(type->finder);
    free(type);
}

size_t pv_type_families(const pv_type *type)
{
    return type->n_families;
}

const char *pv_type_family(const pv_type *type, size_t index)
{
    return index < type->n_families ? type->family[index].name : NULL;
}

double pv_type_cap(const pv_type *type)
{
    return type->cap;
}

bool pv_type_has(const pv_type *type, uint32_t code)
{
    if (pv_joins(code))
        return true;
    for (unsigned f = 0; f < type->n_families; f++)
        if (pv_face_has(&type->face[type->family[f].face[0]], code))
            return true;
    return false;
}

pv_cover pv_type_cover(pv_type *type, uint32_t code)
{
    if (pv_type_has(type, code))
        return PV_COVERED;
    if (type->n_families == PV_TYPE_FAMILIES_MAX)
        return PV_COVER_FULL;
    pv_face_state state = finder_ready(type);
    bool more = state == PV_FACE_GOOD;
    for (unsigned skip = 0; skip < TRIES && more; skip++) {
        pv_face_found found;
        pv_face_wish wish = {.code = code, .skip = skip};
        more = pv_finder_find(type->finder, &wish, &found);
        state = more              ? add_found(type, &found, code)
                : found.no_memory ? PV_FACE_NO_MEMORY
                                  : PV_FACE_UNREADABLE;
        more = more && state != PV_FACE_GOOD && state != PV_FACE_NO_MEMORY;
        pv_face_found_drop(&found);
    }
    /* Widths that were asked for before were those of the box for a missing character. */
    memset(type->memo, 0, sizeof type->memo);
    return state == PV_FACE_GOOD        ? PV_COVERED
           : state == PV_FACE_NO_MEMORY ? PV_COVER_NO_MEMORY
                                        : PV_COVER_NONE;
}
