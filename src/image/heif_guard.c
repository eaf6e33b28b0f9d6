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
static uint64_t take(span *in, int bytes)
{
    uint64_t value = 0;
    for (int i = 0; i < bytes; i++)
        value = value << 8 | *in->at++;
    return value;
}

static size_t left(const span *in)
{
    return (size_t)(in->end - in->at);
}

/* The next box of a span, its kind and what is in it. One that states more than there is ends with
 * the span. False at the end. */
static bool next_box(span *in, span *inside, char kind[4])
{
    const unsigned char *start = in->at;
    if (left(in) < 8)
        return false;
    uint64_t size = take(in, 4), head = 8, most = (uint64_t)(in->end - start);
    memcpy(kind, in->at, 4);
    in->at += 4;
    if (size == 1) {
        if (left(in) < 8)
            return false;
        size = take(in, 8);
        head = 16;
    }
    if (size == 0 || size > most)
        size = most;
    if (size < head)
        return false;
    *inside = (span){start + head, start + size};
    in->at = inside->end;
    return true;
}

static bool follow(search *s, uint32_t item);

/* A reference: from one picture to others. */
static bool refer(search *s, span in, const char kind[4], int width, uint32_t item)
{
    bool derived = memcmp(kind, "dimg", 4) == 0;
    if ((!derived && memcmp(kind, "auxl", 4) != 0) || left(&in) < (size_t)width + 2)
        return true;
    uint32_t from = (uint32_t)take(&in, width);
    size_t n = (size_t)take(&in, 2);
    if (derived && from != item)
        return true;
    for (size_t i = 0; i < n && left(&in) >= (size_t)width; i++) {
        uint32_t to = (uint32_t)take(&in, width);
        s->looked++;
        if (derived ? !follow(s, to) : to == item && !follow(s, from))
            return false;
    }
    return true;
}

/* Goes down to the references: 'meta' in the file, 'iref' in that. Both begin with a version and
 * flags; that of 'iref' says how wide an item's number is. */
static bool enter(search *s, span in, int level, int width, uint32_t item)
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
            int wide = take(&inside, 4) >> 24 == 0 ? 2 : 4;
            if (!enter(s, inside, level + 1, wide, item))
                return false;
        }
    }
    return true;
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
