/* The kinds of values: one row each: what a kind is called, how it is shown and what keys it has in
 * JSON. Elsewhere stand the headings of tables that show chosen kinds (report/), the sentences of
 * notes (judge/notes.c), and the "U_mm" and "tolerance_mm" of lines and spacings
 * (report/json.c). */
#include "base/vec.h"
#include "po/po.h"

#include <pavior/inspect.h>

#include <string.h>

#define IN_PERCENT                  .unit = "%", .factor = 100, .suffix = ""
#define IN_MM                       .unit = "mm", .factor = 1, .suffix = "_mm"
#define IN_MRAD                     .unit = "mrad", .factor = 1, .suffix = "_mrad"
#define KEYS(value, before, digits) .key = (value), .prefix = (before), .json_decimals = (digits)

static const pv_kind_info kinds[PV_KINDS] = {
    [PV_KIND_SCALE] = {PV_SAID("scale"), PV_SAID("scales"), PV_SAID("Scale"), IN_PERCENT,
                       KEYS("scale", "", 6), .of = PV_OF_SHEET, .decimals = 3, .judged = true},
    [PV_KIND_SKEW] = {PV_SAID("skew"), PV_SAID("skews"), PV_SAID("Skew"), IN_MRAD,
                      KEYS("skew_mrad", "", 3), .of = PV_OF_SHEET, .decimals = 2, .judged = true},
    [PV_KIND_INK] = {PV_SAID("ink spread"), PV_SAID("ink spreads"), PV_SAID("Ink spread"), IN_MM,
                     KEYS("ink_mm", "", 4), .of = PV_OF_SHEET, .decimals = 3},
    [PV_KIND_WIDTH] = {PV_SAID("width"), PV_SAID("widths"), PV_SAID("Widths of lines"), IN_MM,
                       KEYS("width_mm", "", 4), .nominal_key = "nominal_mm",
                       .count_key = "stations", .of = PV_OF_LINE, .decimals = 3, .judged = true,
                       .length = true},
    [PV_KIND_STRAIGHT] =
        {PV_SAID("straightness"), PV_SAID("straightnesses"),
         PV_SAID("Straightness: how far each centre line departs from its own best fit"), IN_MM,
         KEYS("bow_mm", "bow_", 4), .of = PV_OF_LINE, .decimals = 3, .judged = true},
    [PV_KIND_SPACING] = {PV_SAID("spacing"), PV_SAID("spacings"),
                         PV_SAID("Spacings between centre lines"), IN_MM, KEYS("value_mm", "", 4),
                         .nominal_key = "nominal_mm", .of = PV_OF_LINES, .decimals = 3,
                         .judged = true, .length = true},
    [PV_KIND_RAGGED] = {PV_SAID("raggedness"), PV_SAID("raggednesses"), PV_SAID("Raggedness"),
                        IN_MM, KEYS("raggedness_mm", "", 4), .of = PV_OF_LINE, .decimals = 3},
    [PV_KIND_CONTRAST] = {PV_SAID("contrast"), PV_SAID("contrasts"), PV_SAID("Contrast"),
                          IN_PERCENT, KEYS("contrast", "", 4), .nominal_key = "nominal_contrast",
                          .of = PV_OF_LINE, .decimals = 1},
    [PV_KIND_BREAKS] = {PV_SAID("interrupted"), PV_SAID("interrupted"), PV_SAID("Interrupted"),
                        IN_MM, KEYS("broken_mm", "", 2), .count_key = "breaks", .of = PV_OF_LINE,
                        .decimals = 1},
    [PV_KIND_BLOBS] = {PV_SAID("swollen"), PV_SAID("swollen"), PV_SAID("Swollen"), IN_MM,
                       KEYS("blobbed_mm", "", 2), .count_key = "blobs", .of = PV_OF_LINE,
                       .decimals = 1},
    [PV_KIND_STRENGTH] = {PV_SAID("strength"), PV_SAID("strengths"), PV_SAID("Strength"),
                          IN_PERCENT, KEYS("strength", "", 4), .of = PV_OF_AREA, .decimals = 1},
    [PV_KIND_MISSING] = {PV_SAID("missing"), PV_SAID("missing"), PV_SAID("Missing"), IN_PERCENT,
                         KEYS("missing", "", 4), .of = PV_OF_AREA, .decimals = 2},
    [PV_KIND_MOTTLE] = {PV_SAID("mottle"), PV_SAID("mottles"), PV_SAID("Mottle"), IN_PERCENT,
                        KEYS("mottle", "", 4), .of = PV_OF_AREA, .decimals = 2},
};

const pv_kind_info *pv_kind_of(pv_value_kind kind)
{
    return &kinds[(unsigned)kind < PV_KINDS ? kind : PV_KIND_SCALE];
}

pv_kind_info pv_value_shown(const pv_value *value)
{
    pv_kind_info shown = *pv_kind_of(value->kind);
    if (value->inches && strcmp(shown.unit, "mm") == 0) {
        shown.unit = "in";
        shown.factor /= PV_MM_PER_IN;
        shown.decimals++;
    }
    return shown;
}
