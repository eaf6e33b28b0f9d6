/* Typefaces: finding them, setting a line of text, and the part of a face that a PDF embeds.
 * Everything is in ems of the text's size, with the base line along x from the origin.
 *
 * 1. A type (type.c) is one typeface, regular and bold, and the faces that were added for
 * characters that it lacks. Only TrueType outlines of one fixed design that may be embedded will
 * do. fontconfig (find.c) knows what is installed, and in a browser carried.c what the program
 * carries; what a face is and has, HarfBuzz reads from its file (face.c).
 * 2. The course's parser asks pv_type_cover for each character of a text, which adds a face where
 *    none has it yet. From then on the faces are fixed, and all setting works with those.
 * 3. Setting (shape.c) cuts a line into runs of one face, script and direction. FriBidi orders the
 *    directions (Unicode's UAX 9), HarfBuzz turns each run into glyphs with their places. The
 *    language is left open and Latin ligatures are off, so a text comes out the same everywhere.
 *    A glyph's outline (outline.c) says where a letter's paint is.
 * 4. Widths are asked for over and over while labels look for room, so the type remembers them.
 * 5. A PDF embeds pv_type_subset: a TrueType file with the glyphs that were used, renumbered.
 *
 * Nothing depends on the locale: the same text, faces and size give the same glyphs. */
#ifndef TYPE_TYPE_H
#define TYPE_TYPE_H

#include "base/diag.h"
#include "base/vec.h"

#include <pavior/type.h>

#include <stdint.h>

typedef struct pv_glyph {
    unsigned face; /* of the type, see pv_face_... */
    unsigned id;
    pv_vec at; /* of its origin */
    double advance;
    pv_box ink;      /* of its outline, where it stands; lo > hi where there is none */
    size_t from, to; /* bytes of the text that it stands for; none for a cluster's later glyphs */
} pv_glyph;

typedef struct pv_setting {
    pv_glyph *glyphs; /* from left to right */
    size_t n, cap;
    double width; /* sum of the advances */
    pv_box ink;   /* of all outlines; lo > hi where there is none */
    bool plain;   /* read glyph by glyph as they stand, directions apart, this is the text */
} pv_setting;

/* Sets a line of text in the faces that are open. What none of them has gets the box that the
 * face shows for a missing glyph. False where memory ran out; the caller drops *out either way. */
bool pv_type_set(const pv_type *type, const char *utf8, bool bold, pv_setting *out);
void pv_setting_drop(pv_setting *setting);

/* Visits the corners of a glyph's outline where it stands, ring by ring: non-zero winding, and
 * curves flattened to within `flat`. False where a visit gave that, or memory ran out. */
typedef bool pv_type_corner(void *context, bool begins, pv_vec at);
bool pv_type_outline(const pv_type *type, const pv_glyph *glyph, double flat, pv_type_corner *visit,
                     void *context);

/* Width alone. Below 0 where memory ran out. */
double pv_type_ems(pv_type *type, const char *utf8, bool bold);

/* Height of a capital. */
double pv_type_cap(const pv_type *type);

/* Sees to it that a character has a face, looking for one among those that are installed.
 * Characters that show nothing by themselves (joiners) always have one. */
typedef enum pv_cover {
    PV_COVERED,
    PV_COVER_NONE, /* no face that can be had has it */
    PV_COVER_FULL, /* it would take one more than PV_TYPE_FAMILIES_MAX */
    PV_COVER_NO_MEMORY
} pv_cover;
pv_cover pv_type_cover(pv_type *type, uint32_t code);
/* True where a face that is open has it. */
bool pv_type_has(const pv_type *type, uint32_t code);

/* ---- faces, for embedding ---- */

typedef struct pv_face_facts {
    const char *name; /* PostScript name: letters, digits and hyphens */
    double ascent, descent, cap;
    pv_box box; /* of all its glyphs */
} pv_face_facts;

size_t pv_type_faces(const pv_type *type);
void pv_type_face(const pv_type *type, unsigned index, pv_face_facts *facts);
double pv_type_advance(const pv_type *type, unsigned index, unsigned glyph);

/* A TrueType file with these glyphs only, and 0; renamed[i] is what glyphs[i] is called in it. The
 * caller frees *bytes. False with a reason. */
bool pv_type_subset(const pv_type *type, unsigned index, const unsigned *glyphs, size_t n,
                    unsigned *renamed, unsigned char **bytes, size_t *size, pv_diags *diags);

#endif
