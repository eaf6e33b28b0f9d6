/* Reads four fields of EXIF's first directory and nothing else: no maker notes, no thumbnails, no
 * memory of its own, no invented defaults. Every access is checked against the end. */
#include "image/decode.h"

enum {
    TAG_ORIENTATION = 0x0112,
    TAG_X_RESOLUTION = 0x011A,
    TAG_Y_RESOLUTION = 0x011B,
    TAG_RESOLUTION_UNIT = 0x0128,
    TYPE_SHORT = 3,
    TYPE_RATIONAL = 5,
    ENTRY_BYTES = 12,
    UNIT_INCH = 2,
    UNIT_CM = 3
};

typedef struct reader {
    const unsigned char *bytes;
    size_t size;
    bool big_endian;
    bool damaged;
} reader;

static uint32_t number(reader *r, size_t at, size_t length)
{
    if (at > r->size || r->size - at < length) {
        r->damaged = true;
        return 0;
    }
    uint32_t value = 0;
    for (size_t i = 0; i < length; i++)
        value = value << 8 | r->bytes[at + (r->big_endian ? i : length - 1 - i)];
    return value;
}

static double rational(reader *r, size_t at)
{
    size_t where = number(r, at, 4);
    uint32_t above = number(r, where, 4);
    uint32_t below = number(r, where + 4, 4);
    return below > 0 ? (double)above / below : 0;
}

pv_exif pv_exif_read(const unsigned char *tiff, size_t size)
{
    pv_exif exif = {1, false, {0, 0}, false};
    reader r = {tiff, size, size > 0 && tiff[0] == 'M', false};
    unsigned order = number(&r, 0, 2);
    if ((order != 0x4949 && order != 0x4D4D) || number(&r, 2, 2) != 42)
        r.damaged = true;
    size_t directory = number(&r, 4, 4);
    size_t n = r.damaged ? 0 : number(&r, directory, 2);
    double resolution[2] = {0, 0};
    unsigned unit = UNIT_INCH; /* the default of TIFF 6.0 */
    for (size_t i = 0; i < n && !r.damaged; i++) {
        size_t entry = directory + 2 + i * ENTRY_BYTES;
        unsigned tag = number(&r, entry, 2), type = number(&r, entry + 2, 2);
        unsigned value = number(&r, entry + 8, 2);
        if (tag == TAG_ORIENTATION && type == TYPE_SHORT && value >= 1 && value <= 8)
            exif.orientation = (int)value;
        else if (tag == TAG_X_RESOLUTION && type == TYPE_RATIONAL)
            resolution[0] = rational(&r, entry + 8);
        else if (tag == TAG_Y_RESOLUTION && type == TYPE_RATIONAL)
            resolution[1] = rational(&r, entry + 8);
        else if (tag == TAG_RESOLUTION_UNIT && type == TYPE_SHORT)
            unit = value;
    }
    exif.damaged = r.damaged;
    if (!r.damaged && resolution[0] > 0 && resolution[1] > 0 &&
        (unit == UNIT_INCH || unit == UNIT_CM)) {
        exif.stated = true;
        for (int k = 0; k < 2; k++)
            exif.per_mm[k] = resolution[k] / (unit == UNIT_CM ? 10.0 : PV_MM_PER_IN);
    }
    return exif;
}
