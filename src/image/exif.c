/* Reads a few fields of EXIF's first directory and of the one that it points to, and nothing else:
 * no maker notes, no thumbnails, no memory of its own, no invented defaults. Every access is
 * checked against the end. */
#include "image/decode.h"

enum {
    TAG_ORIENTATION = 0x0112,
    TAG_X_RESOLUTION = 0x011A,
    TAG_Y_RESOLUTION = 0x011B,
    TAG_RESOLUTION_UNIT = 0x0128,
    TAG_EXIF_DIRECTORY = 0x8769,
    TAG_EXPOSURE_TIME = 0x829A,
    TAG_F_NUMBER = 0x829D,
    TAG_FOCAL_LENGTH = 0x920A,
    TAG_FOCAL_35 = 0xA405,
    TYPE_SHORT = 3,
    TYPE_LONG = 4,
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

typedef struct entry {
    size_t at;                 /* of its value, or of the value's offset */
    unsigned tag, type, value; /* value: of a SHORT */
} entry;

/* Number of entries of a directory; 0 where it isn't there. */
static size_t entries(reader *r, size_t directory)
{
    size_t n = number(r, directory, 2);
    return r->damaged ? 0 : n;
}

static entry take_entry(reader *r, size_t directory, size_t i)
{
    size_t at = directory + 2 + i * ENTRY_BYTES;
    unsigned tag = number(r, at, 2), type = number(r, at + 2, 2);
    return (entry){at + 8, tag, type, number(r, at + 8, 2)};
}

/* What only a camera writes. A scanner has neither an exposure nor a lens, or doesn't say so.
 * Damage here is no loss: it goes unsaid. */
static void read_camera(reader r, size_t directory, pv_exif *exif)
{
    size_t n = entries(&r, directory);
    for (size_t i = 0; i < n && !r.damaged; i++) {
        entry e = take_entry(&r, directory, i);
        bool rational_one =
            e.tag == TAG_EXPOSURE_TIME || e.tag == TAG_F_NUMBER || e.tag == TAG_FOCAL_LENGTH;
        if (rational_one && e.type == TYPE_RATIONAL && rational(&r, e.at) > 0)
            exif->camera = true;
        if (e.tag == TAG_FOCAL_35 && e.type == TYPE_SHORT && e.value > 0) {
            exif->camera = true;
            exif->focal35 = e.value;
        }
    }
}

pv_exif pv_exif_read(const unsigned char *tiff, size_t size)
{
    pv_exif exif = {.orientation = 1};
    reader r = {tiff, size, size > 0 && tiff[0] == 'M', false};
    unsigned order = number(&r, 0, 2);
    if ((order != 0x4949 && order != 0x4D4D) || number(&r, 2, 2) != 42)
        r.damaged = true;
    size_t directory = number(&r, 4, 4), camera = 0;
    size_t n = r.damaged ? 0 : entries(&r, directory);
    double resolution[2] = {0, 0};
    unsigned unit = UNIT_INCH; /* the default of TIFF 6.0 */
    for (size_t i = 0; i < n && !r.damaged; i++) {
        entry e = take_entry(&r, directory, i);
        if (e.tag == TAG_ORIENTATION && e.type == TYPE_SHORT && e.value >= 1 && e.value <= 8)
            exif.orientation = (int)e.value;
        else if (e.tag == TAG_X_RESOLUTION && e.type == TYPE_RATIONAL)
            resolution[0] = rational(&r, e.at);
        else if (e.tag == TAG_Y_RESOLUTION && e.type == TYPE_RATIONAL)
            resolution[1] = rational(&r, e.at);
        else if (e.tag == TAG_RESOLUTION_UNIT && e.type == TYPE_SHORT)
            unit = e.value;
        else if (e.tag == TAG_EXIF_DIRECTORY && e.type == TYPE_LONG)
            camera = number(&r, e.at, 4);
    }
    if (camera > 0 && !r.damaged)
        read_camera(r, camera, &exif);
    exif.damaged = r.damaged;
    if (!r.damaged && resolution[0] > 0 && resolution[1] > 0 &&
        (unit == UNIT_INCH || unit == UNIT_CM)) {
        exif.stated = true;
        for (int k = 0; k < 2; k++)
            exif.per_mm[k] = resolution[k] / (unit == UNIT_CM ? 10.0 : PV_MM_PER_IN);
    }
    return exif;
}
