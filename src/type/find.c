/* Finding installed faces: the one file that meets fontconfig. */
#include "base/memory.h"
#include "type/face.h"

#include <fontconfig/fontconfig.h>

#include <stdlib.h>
#include <string.h>

hb_blob_t *pv_face_file(const char *file)
{
    return hb_blob_create_from_file_or_fail(file);
}

struct pv_finder {
    FcConfig *config;
};

pv_finder *pv_finder_new(bool *no_memory)
{
    pv_finder *finder = PV_NEW(pv_finder);
    *no_memory = finder == NULL;
    if (finder == NULL)
        return NULL;
    finder->config = FcInitLoadConfigAndFonts();
    if (finder->config == NULL) {
        free(finder);
        return NULL;
    }
    return finder;
}

void pv_finder_free(pv_finder *finder)
{
    if (finder == NULL)
        return;
    FcConfigDestroy(finder->config);
    free(finder);
}

void pv_face_found_drop(pv_face_found *found)
{
    free(found->file);
    free(found->family);
    *found = (pv_face_found){0};
}

/* The language is set, because fontconfig would take the locale's. */
static FcPattern *pattern_of(const pv_face_wish *wish)
{
    FcPattern *pattern = FcPatternCreate();
    if (pattern == NULL)
        return NULL;
    if (wish->family != NULL)
        FcPatternAddString(pattern, FC_FAMILY, (const FcChar8 *)wish->family);
    FcPatternAddString(pattern, FC_FAMILY, (const FcChar8 *)"sans-serif");
    FcPatternAddString(pattern, FC_LANG, (const FcChar8 *)"en");
    FcPatternAddInteger(pattern, FC_WEIGHT, wish->bold ? FC_WEIGHT_BOLD : FC_WEIGHT_REGULAR);
    FcPatternAddInteger(pattern, FC_SLANT, FC_SLANT_ROMAN);
    FcPatternAddInteger(pattern, FC_WIDTH, FC_WIDTH_NORMAL);
    FcPatternAddBool(pattern, FC_SCALABLE, FcTrue);
    FcCharSet *characters = wish->code != 0 ? FcCharSetCreate() : NULL;
    if (characters != NULL) {
        FcCharSetAddChar(characters, wish->code);
        FcPatternAddCharSet(pattern, FC_CHARSET, characters);
        FcCharSetDestroy(characters);
    }
    return pattern;
}

static bool of_family(FcPattern *font, const char *family)
{
    FcChar8 *name = NULL;
    for (int i = 0; FcPatternGetString(font, FC_FAMILY, i, &name) == FcResultMatch; i++)
        if (FcStrCmpIgnoreCase(name, (const FcChar8 *)family) == 0)
            return true;
    return false;
}

/* TrueType outlines, of one fixed design. */
static bool will_do(FcPattern *font, const pv_face_wish *wish)
{
    FcChar8 *format = NULL;
    FcBool variable = FcFalse, scalable = FcFalse;
    FcCharSet *characters = NULL;
    int index = 0;
    if (FcPatternGetString(font, FC_FONTFORMAT, 0, &format) != FcResultMatch ||
        strcmp((const char *)format, "TrueType") != 0)
        return false;
    if (FcPatternGetBool(font, FC_VARIABLE, 0, &variable) == FcResultMatch && variable)
        return false;
    if (FcPatternGetBool(font, FC_SCALABLE, 0, &scalable) != FcResultMatch || !scalable)
        return false;
    if (FcPatternGetInteger(font, FC_INDEX, 0, &index) != FcResultMatch || index > 0xFFFF)
        return false;
    if (wish->strictly && !of_family(font, wish->family))
        return false;
    return wish->code == 0 ||
           (FcPatternGetCharSet(font, FC_CHARSET, 0, &characters) == FcResultMatch &&
            FcCharSetHasChar(characters, wish->code));
}

static bool take(FcPattern *font, pv_face_found *found)
{
    FcChar8 *file = NULL, *family = NULL;
    int index = 0;
    if (FcPatternGetString(font, FC_FILE, 0, &file) != FcResultMatch ||
        FcPatternGetString(font, FC_FAMILY, 0, &family) != FcResultMatch)
        return false;
    FcPatternGetInteger(font, FC_INDEX, 0, &index);
    found->file = pv_copy_text((const char *)file);
    found->family = pv_copy_text((const char *)family);
    found->index = (unsigned)index;
    return found->file != NULL && found->family != NULL;
}

bool pv_finder_find(pv_finder *finder, const pv_face_wish *wish, pv_face_found *found)
{
    *found = (pv_face_found){0};
    FcPattern *pattern = pattern_of(wish);
    if (pattern == NULL) {
        found->no_memory = true;
        return false;
    }
    FcConfigSubstitute(finder->config, pattern, FcMatchPattern);
    FcDefaultSubstitute(pattern);
    FcResult result = FcResultNoMatch;
    FcFontSet *all = FcFontSort(finder->config, pattern, FcFalse, NULL, &result);
    bool good = false, met = false;
    unsigned skip = wish->skip;
    for (int i = 0; all != NULL && !met && i < all->nfont; i++) {
        met = will_do(all->fonts[i], wish) && skip-- == 0;
        good = met && take(all->fonts[i], found);
    }
    if (!good)
        pv_face_found_drop(found);
    found->no_memory = met && !good;
    if (all != NULL)
        FcFontSetDestroy(all);
    FcPatternDestroy(pattern);
    return good;
}
