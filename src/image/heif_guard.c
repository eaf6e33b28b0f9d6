/* What a HEIC or AVIF picture is put together of, before libheif follows it without a limit: one
 * that is made of itself would use up the stack, and a few bytes can ask for the same part a
 * million times.
 *
 * References name the parts of a derived picture ('dimg') and the picture that an alpha plane
 * belongs to ('auxl'; ISO/IEC 23008-12, 6.6 and 6.4.5). They are boxes in 'iref', in 'meta'
 * (ISO/IEC 14496-12, 4.2 and 8.11.12). Of boxes that stand there twice all count, whichever libheif
 * takes. */
#include "image/heif.h"

#include "image/decode.h"

#include <string.h>

#define PARTS_MAX  4096 /* counted as often as named; 200 megapixels in tiles of 512 px are 768 */
#define DEPTH_MAX  8    /* a tone map of a grid of tiles has 3 */
#define LOOKED_MAX 50000000 /* boxes and references: a fraction of a second */

typedef struct span {
    const unsigned char *at, *end;
} span;

typedef struct search {
    span file;
    size_t parts, depth, looked;
} search;

/* A big-endian number; the span has it, and loses it. */
static uint64_t take(span *in, size_t bytes)
{
    uint64_t value = 0;
    for (size_t i = 0; i < bytes; i++)
        value = value << 8 | *in->at++;
    return value;
}

static size_t left(const span *in)
{
    return (size_t)(in->end - in->at);
}

/* The next box of a span, its kind and what is in it. One that states more than there is ends with
 * the span. False at the end, and where one is smaller than its head: the span stays before it. */
static bool next_box(span *in, span *inside, char kind[4])
{
    span rest = *in;
    if (left(&rest) < 8)
        return false;
    uint64_t size = take(&rest, 4), head = 8, most = left(in);
    memcpy(kind, rest.at, 4);
    rest.at += 4;
    if (size == 1) {
        if (left(&rest) < 8)
            return false;
        size = take(&rest, 8);
        head = 16;
    }
    if (size == 0 || size > most)
        size = most;
    if (size < head)
        return false;
    *inside = (span){in->at + head, in->at + size};
    in->at = inside->end;
    return true;
}

static bool follow(search *s, uint32_t item);

/* A reference: from one picture to others. libheif goes by their number and not by the box's size,
 * and reads a 'uuid' as longer: the two must agree, or it would find others than this. */
static bool refer(search *s, span in, const char kind[4], size_t width, uint32_t item)
{
    if (left(&in) < width + 2 || memcmp(kind, "uuid", 4) == 0)
        return false;
    uint32_t from = (uint32_t)take(&in, width);
    size_t n = (size_t)take(&in, 2);
    if (left(&in) != n * width)
        return false;
    bool derived = memcmp(kind, "dimg", 4) == 0;
    if (derived ? from != item : memcmp(kind, "auxl", 4) != 0)
        return true;
    for (size_t i = 0; i < n; i++) {
        uint32_t to = (uint32_t)take(&in, width);
        s->looked++;
        if (derived ? !follow(s, to) : to == item && !follow(s, from))
            return false;
    }
    return true;
}

/* Goes down to the references: 'meta' in the file, 'iref' in that. Both begin with a version and
 * flags; that of 'iref' says how wide an item's number is. */
static bool enter(search *s, span in, int level, size_t width, uint32_t item)
{
    static const char path[2][5] = {"meta", "iref"};
    char kind[4];
    span inside;
    while (next_box(&in, &inside, kind)) {
        if (++s->looked > LOOKED_MAX)
            return false;
        if (level == 2) {
            if (!refer(s, inside, kind, width, item))
                return false;
        } else if (memcmp(kind, path[level], 4) == 0 && left(&inside) >= 4) {
            size_t wide = take(&inside, 4) >> 24 == 0 ? 2 : 4;
            if (!enter(s, inside, level + 1, wide, item))
                return false;
        }
    }
    return level < 2 || left(&in) < 8;
}

/* A picture, and all that it is made of. */
static bool follow(search *s, uint32_t item)
{
    if (++s->parts > PARTS_MAX || s->depth == DEPTH_MAX)
        return false;
    s->depth++;
    bool fits = enter(s, s->file, 0, 0, item);
    s->depth--;
    return fits;
}

bool pv_heif_guard(const unsigned char *bytes, size_t size, uint32_t item, pv_diags *diags)
{
    search s = {.file = {bytes, bytes + size}};
    if (follow(&s, item))
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                 "the HEIC or AVIF file is damaged: its picture is made of itself, or of too many "
                 "parts");
    return false;
}
