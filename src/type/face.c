/* One face: what it is, what it has, and a part of it as a file of its own. */
#include "type/face.h"

#include "base/memory.h"

#include <hb-ot.h>
#include <hb-subset.h>

#include <stdlib.h>
#include <string.h>

#define TAG_GLYF     HB_TAG('g', 'l', 'y', 'f')
#define TAG_OS2      HB_TAG('O', 'S', '/', '2')
#define NAME_MOST    63   /* bytes of a PostScript name, by the OpenType specification ("name") */
#define FS_TYPE      8    /* where OS/2 has its embedding rights (OpenType specification, "OS/2") */
#define FS_RIGHTS    0xFu /* which exclude each other */
#define FS_FORBIDDEN 0x2u /* "restricted licence embedding" */
#define EM_LEAST     16u  /* units, by the OpenType specification ("head") */
#define EM_MOST      16384u

static bool has_table(hb_face_t *face, hb_tag_t tag)
{
    hb_blob_t *table = hb_face_reference_table(face, tag);
    bool has = hb_blob_get_length(table) > 0;
    hb_blob_destroy(table);
    return has;
}

static bool embedding_forbidden(hb_face_t *face)
{
    hb_blob_t *table = hb_face_reference_table(face, TAG_OS2);
    unsigned length = 0;
    const unsigned char *bytes = (const unsigned char *)hb_blob_get_data(table, &length);
    unsigned rights = length >= FS_TYPE + 2 ? (unsigned)bytes[FS_TYPE + 1] & FS_RIGHTS : 0;
    hb_blob_destroy(table);
    return rights == FS_FORBIDDEN;
}

/* Letters, digits and hyphens of its PostScript name. */
static char *name_of(hb_face_t *face)
{
    char said[4 * NAME_MOST] = "", plain[NAME_MOST + 1];
    unsigned size = sizeof said;
    hb_ot_name_get_utf8(face, HB_OT_NAME_ID_POSTSCRIPT_NAME, HB_LANGUAGE_INVALID, &size, said);
    size_t n = 0;
    for (const char *c = said; *c != '\0' && n < NAME_MOST; c++)
        if ((*c >= 'A' && *c <= 'Z') || (*c >= 'a' && *c <= 'z') || (*c >= '0' && *c <= '9') ||
            *c == '-')
            plain[n++] = *c;
    return n > 0 ? pv_copy_chars(plain, n) : pv_copy_text("Unnamed");
}

static pv_face_state state_of(hb_face_t *face)
{
    unsigned em = hb_face_get_upem(face);
    if (hb_face_get_glyph_count(face) == 0 || em < EM_LEAST || em > EM_MOST)
        return PV_FACE_UNREADABLE;
    if (!has_table(face, TAG_GLYF) || hb_ot_var_has_data(face))
        return PV_FACE_NOT_TRUETYPE;
    return embedding_forbidden(face) ? PV_FACE_FORBIDDEN : PV_FACE_GOOD;
}

pv_face_state pv_face_open(pv_face *face, const char *file, unsigned index)
{
    *face = (pv_face){0};
    hb_blob_t *blob = pv_face_file(file);
    if (blob == NULL)
        return PV_FACE_UNREADABLE;
    pv_face_state state = PV_FACE_UNREADABLE;
    hb_face_t *whole = index < hb_face_count(blob) ? hb_face_create(blob, index) : NULL;
    hb_blob_destroy(blob);
    if (whole == NULL)
        return state;
    state = state_of(whole);
    if (state == PV_FACE_GOOD) {
        face->em = hb_face_get_upem(whole);
        face->font = hb_font_create(whole);
        hb_font_set_scale(face->font, (int)face->em, (int)face->em);
        face->name = name_of(whole);
        if (face->name == NULL)
            state = PV_FACE_NO_MEMORY;
    }
    hb_face_destroy(whole);
    if (state != PV_FACE_GOOD)
        pv_face_close(face);
    return state;
}

void pv_face_close(pv_face *face)
{
    hb_font_destroy(face->font);
    free(face->name);
    *face = (pv_face){0};
}

bool pv_face_has(const pv_face *face, uint32_t code)
{
    hb_codepoint_t glyph = 0;
    return hb_font_get_nominal_glyph(face->font, code, &glyph) && glyph != 0;
}

/* ---- for embedding ---- */

size_t pv_type_faces(const pv_type *type)
{
    return type->n_faces;
}

/* Of a letter, where the face doesn't say it. */
static double height_of(const pv_face *face, hb_ot_metrics_tag_t tag, uint32_t letter, double rest)
{
    hb_position_t units = 0;
    hb_codepoint_t glyph = 0;
    hb_glyph_extents_t extents;
    if (hb_ot_metrics_get_position(face->font, tag, &units) && units > 0)
        return units / face->em;
    if (hb_font_get_nominal_glyph(face->font, letter, &glyph) &&
        hb_font_get_glyph_extents(face->font, glyph, &extents) && extents.y_bearing > 0)
        return extents.y_bearing / face->em;
    return rest;
}

void pv_type_face(const pv_type *type, unsigned index, pv_face_facts *facts)
{
    const pv_face *face = &type->face[index];
    hb_font_extents_t line = {0};
    hb_font_get_h_extents(face->font, &line);
    *facts = (pv_face_facts){.name = face->name};
    facts->ascent = line.ascender / face->em;
    facts->descent = line.descender / face->em;
    facts->cap = height_of(face, HB_OT_METRICS_TAG_CAP_HEIGHT, 'H', 0.7);
    hb_blob_t *head =
        hb_face_reference_table(hb_font_get_face(face->font), HB_TAG('h', 'e', 'a', 'd'));
    unsigned length = 0;
    const unsigned char *b = (const unsigned char *)hb_blob_get_data(head, &length);
    double box[4] = {0, facts->descent, 1, facts->ascent};
    for (int i = 0; length >= 44 && i < 4; i++) /* xMin, yMin, xMax, yMax, from byte 36 */
        box[i] = (int16_t)(b[36 + 2 * i] << 8 | b[37 + 2 * i]) / face->em;
    facts->box = (pv_box){{box[0], box[1]}, {box[2], box[3]}};
    hb_blob_destroy(head);
}

double pv_type_advance(const pv_type *type, unsigned index, unsigned glyph)
{
    const pv_face *face = &type->face[index];
    return hb_font_get_glyph_h_advance(face->font, glyph) / face->em;
}

/* What a PDF doesn't need of a TrueType file (ISO 32000-1, 9.9, names the tables that it does). */
static const hb_tag_t unneeded[] = {
    HB_TAG('G', 'S', 'U', 'B'), HB_TAG('G', 'P', 'O', 'S'), HB_TAG('G', 'D', 'E', 'F'),
    HB_TAG('B', 'A', 'S', 'E'), HB_TAG('J', 'S', 'T', 'F'), HB_TAG('M', 'A', 'T', 'H'),
    HB_TAG('C', 'O', 'L', 'R'), HB_TAG('C', 'P', 'A', 'L'), HB_TAG('S', 'V', 'G', ' '),
    HB_TAG('C', 'B', 'D', 'T'), HB_TAG('C', 'B', 'L', 'C'), HB_TAG('E', 'B', 'D', 'T'),
    HB_TAG('E', 'B', 'L', 'C'), HB_TAG('s', 'b', 'i', 'x'), HB_TAG('g', 'a', 's', 'p'),
    HB_TAG('k', 'e', 'r', 'n'), HB_TAG('h', 'd', 'm', 'x'), HB_TAG('V', 'D', 'M', 'X'),
    HB_TAG('L', 'T', 'S', 'H'), HB_TAG('P', 'C', 'L', 'T'), HB_TAG('D', 'S', 'I', 'G'),
    HB_TAG('v', 'h', 'e', 'a'), HB_TAG('v', 'm', 't', 'x'), HB_TAG('V', 'O', 'R', 'G'),
};

static hb_subset_input_t *subset_input(const unsigned *glyphs, size_t n)
{
    hb_subset_input_t *input = hb_subset_input_create_or_fail();
    if (input == NULL)
        return NULL;
    hb_subset_input_set_flags(input, HB_SUBSET_FLAGS_NO_HINTING | HB_SUBSET_FLAGS_NOTDEF_OUTLINE);
    hb_set_t *wanted = hb_subset_input_glyph_set(input);
    hb_set_add(wanted, 0);
    for (size_t i = 0; i < n; i++)
        hb_set_add(wanted, glyphs[i]);
    hb_set_t *drop = hb_subset_input_set(input, HB_SUBSET_SETS_DROP_TABLE_TAG);
    for (size_t i = 0; i < sizeof unneeded / sizeof *unneeded; i++)
        hb_set_add(drop, unneeded[i]);
    return input;
}

/* False where memory ran out; *bytes is NULL, too, where the part is nothing. */
static bool copy_subset(const hb_subset_plan_t *plan, hb_face_t *part, const unsigned *glyphs,
                        size_t n, unsigned *renamed, unsigned char **bytes, size_t *size)
{
    const hb_map_t *map = hb_subset_plan_old_to_new_glyph_mapping(plan);
    for (size_t i = 0; i < n; i++) {
        hb_codepoint_t now = hb_map_get(map, glyphs[i]);
        renamed[i] = now != HB_MAP_VALUE_INVALID ? now : 0;
    }
    hb_blob_t *blob = hb_face_reference_blob(part);
    unsigned length = 0;
    const char *data = hb_blob_get_data(blob, &length);
    *bytes = length > 0 ? pv_copy_bytes(data, length, 1) : NULL;
    *size = length;
    hb_blob_destroy(blob);
    return *bytes != NULL || length == 0;
}

bool pv_type_subset(const pv_type *type, unsigned index, const unsigned *glyphs, size_t n,
                    unsigned *renamed, unsigned char **bytes, size_t *size, pv_diags *diags)
{
    const pv_face *face = &type->face[index];
    *bytes = NULL;
    *size = 0;
    hb_subset_input_t *input = subset_input(glyphs, n);
    hb_subset_plan_t *plan =
        input != NULL ? hb_subset_plan_create_or_fail(hb_font_get_face(face->font), input) : NULL;
    hb_face_t *part = plan != NULL ? hb_subset_plan_execute_or_fail(plan) : NULL;
    bool copied = part == NULL || copy_subset(plan, part, glyphs, n, renamed, bytes, size);
    bool good = *bytes != NULL;
    if (!copied)
        pv_fail_memory(diags);
    else if (!good)
        pv_fail(diags, PV_CAUSE_LIBRARY,
                "the typeface %s cannot be embedded: its file is damaged, or memory ran out",
                face->name);
    if (part != NULL)
        hb_face_destroy(part);
    if (plan != NULL)
        hb_subset_plan_destroy(plan);
    if (input != NULL)
        hb_subset_input_destroy(input);
    return good;
}
