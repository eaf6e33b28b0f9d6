/* The kinds of values: one row each: what a kind is called, how it is shown and what keys it has in
 * JSON. Elsewhere stand the headings of tables that show chosen kinds (report/), the sentences of
 * notes (judge/notes.c), and the "U_mm" and "tolerance_mm" of lines and spacings
 * (report/json.c). */
#include "base/vec.h"

#include <pavior/inspect.h>

#include <string.h>

#define IN_PERCENT                  .unit = "%", .factor = 100, .suffix = ""
#define IN_MM                       .unit = "mm", .factor = 1, .suffix = "_mm"
#define IN_MRAD                     .unit = "mrad", .factor = 1, .suffix = "_mrad"
#define KEYS(value, before, digits) .key = (value), .prefix = (before), .json_decimals = (digits)

static const pv_kind_info kinds[PV_KINDS] = {
    [PV_KIND_SCALE] = {"scale", "scales", "Scale", IN_PERCENT, KEYS("scale", "", 6),
                       .of = PV_OF_SHEET, .decimals = 3, .judged = true},
    [PV_KIND_SKEW] = {"skew", "skews", "Skew", IN_MRAD, KEYS("skew_mrad", "", 3), .of = PV_OF_SHEET,
                      .decimals = 2, .judged = true},
    [PV_KIND_INK] = {"ink spread", "ink spreads", "Ink spread", IN_MM, KEYS("ink_mm", "", 4),
                     .of = PV_OF_SHEET, .decimals = 3},
    [PV_KIND_WIDTH] = {"width", "widths", "Widths of lines", IN_MM, KEYS("width_mm", "", 4),
                       .nominal_key = "nominal_mm", .count_key = "stations", .of = PV_OF_LINE,
                       .decimals = 3, .judged = true, .length = true},
    [PV_KIND_STRAIGHT] = {"straightness", "straightnesses",
                          "Straightness: how far each centre line departs from its own best fit",
                          IN_MM, KEYS("bow_mm", "bow_", 4), .of = PV_OF_LINE, .decimals = 3,
                          .judged = true},
    [PV_KIND_SPACING] = {"spacing", "spacings", "Spacings between centre lines", IN_MM,
                         KEYS("value_mm", "", 4), .nominal_key = "nominal_mm", .of = PV_OF_LINES,
                         .decimals = 3, .judged = true, .length = true},
    [PV_KIND_RAGGED] = {"raggedness", "raggednesses", "Raggedness", IN_MM,
                        KEYS("raggedness_mm", "", 4), .of = PV_OF_LINE, .decimals = 3},
    [PV_KIND_CONTRAST] = {"contrast", "contrasts", "Contrast", IN_PERCENT, KEYS("contrast", "", 4),
                          .nominal_key = "nominal_contrast", .of = PV_OF_LINE, .decimals = 1},
    [PV_KIND_BREAKS] = {"interrupted", "interrupted", "Interrupted", IN_MM,
                        KEYS("broken_mm", "", 2), .count_key = "breaks", .of = PV_OF_LINE,
                        .decimals = 1},
    [PV_KIND_BLOBS] = {"swollen", "swollen", "Swollen", IN_MM, KEYS("blobbed_mm", "", 2),
                       .count_key = "blobs", .of = PV_OF_LINE, .decimals = 1},
    [PV_KIND_STRENGTH] = {"strength", "strengths", "Strength", IN_PERCENT, KEYS("strength", "", 4),
                          .of = PV_OF_AREA, .decimals = 1},
    [PV_KIND_MISSING] = {"missing", "missing", "Missing", IN_PERCENT, KEYS("missing", "", 4),
                         .of = PV_OF_AREA, .decimals = 2},
    [PV_KIND_MOTTLE] = {"mottle", "mottles", "Mottle", IN_PERCENT, KEYS("mottle", "", 4),
                        .of = PV_OF_AREA, .decimals = 2},
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
