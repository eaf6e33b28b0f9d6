/* TIFF, by libtiff, straight from the bytes in memory: strips a row at a time, tiles and separate
 * planes a band at a time. Words about what goes wrong come by handlers of this file alone
 * (TIFFOpenOptions); the library's global ones are never touched.
 *
 * Read: 1 to 16 bits, grey either way round, palette, RGB, each with or without alpha; JPEG's
 * YCbCr; stored plain, in PackBits, LZW, Deflate, JPEG, or coded as fax (T.4, T.6). Pages that are
 * a reduced copy or a mask of another (NewSubfileType) are no pictures. */
#include "image/decode.h"

#include "base/memory.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <tiffio.h>

/* What libtiff may take at once, and what one band of tiles or planes may take. */
#define ALLOCATION_MAX ((tmsize_t)256 << 20)
#define BAND_BYTES_MAX ((uint64_t)1 << 30)
#define SAMPLES_MAX    8

#define SAVE_AS PV_SAID("save it as an ordinary TIFF or PNG in grey or RGB")

typedef struct tiff_job {
    TIFF *tiff;
    const unsigned char *bytes;
    size_t size, at;
    const pv_wanted *wanted;
    pv_diags *diags;
    bool said;    /* why it can't be read */
    bool reading; /* the pixels */
    uint32_t columns, height;
    uint16_t bits, samples, photometric, planar, compression;
    int orientation;
    int channels;
    pv_coding how;
    uint16_t *table;       /* of codes; of a palette, three of them */
    unsigned char *packed; /* as libtiff gives it: a row, a tile or a strip of a plane */
    uint16_t *codes;       /* the samples of one row, or of a band of rows */
    unsigned char *narrow; /* those of one row that fit a byte */
    pv_raster raster;
} tiff_job;

/* ---- the file, in memory ---- */

static tmsize_t read_bytes(thandle_t handle, void *to, tmsize_t n)
{
    tiff_job *job = handle;
    size_t left = job->at < job->size ? job->size - job->at : 0;
    size_t take = n < 0 ? 0 : (size_t)n < left ? (size_t)n : left;
    if (take > 0)
        memcpy(to, job->bytes + job->at, take);
    job->at += take;
    return (tmsize_t)take;
}

static tmsize_t write_nothing(thandle_t handle, void *from, tmsize_t n)
{
    (void)handle;
    (void)from;
    (void)n;
    return -1;
}

static toff_t seek_to(thandle_t handle, toff_t offset, int whence)
{
    tiff_job *job = handle;
    uint64_t from = whence == SEEK_CUR ? job->at : whence == SEEK_END ? job->size : 0;
    job->at = (size_t)(from + offset);
    return job->at;
}

static int close_nothing(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t size_of(thandle_t handle)
{
    const tiff_job *job = handle;
    return job->size;
}

/* libtiff only reads what it maps in mode "r". */
static int map_all(thandle_t handle, void **base, toff_t *size)
{
    const tiff_job *job = handle;
    memcpy(base, &job->bytes, sizeof *base);
    *size = job->size;
    return 1;
}

static void unmap_nothing(thandle_t handle, void *base, toff_t size)
{
    (void)handle;
    (void)base;
    (void)size;
}

/* ---- what goes wrong ---- */

static void refuse(tiff_job *job, const char *hint, const char *what)
{
    if (!job->said)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "%s", what);
    job->said = true;
}

static void say(tiff_job *job, const char *format, va_list args)
    __attribute__((format(printf, 2, 0)));
static void say(tiff_job *job, const char *format, va_list args)
{
    char words[300];
    vsnprintf(words, sizeof words, format, args);
    if (job->said)
        return;
    job->said = true;
    if (strstr(words, "No space") != NULL || strstr(words, "Out of memory") != NULL)
        pv_fail_memory(job->diags);
    else
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the TIFF file is damaged: %s", words);
}

static int on_error(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
    __attribute__((format(printf, 4, 0)));
static int on_error(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
{
    (void)tiff;
    (void)module;
    say(data, format, args);
    return 1; /* no other handler's */
}

static int on_warning(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
    __attribute__((format(printf, 4, 0)));
/* Of the header they are about fields that pavior doesn't read. Of the pixels they are damage:
 * libtiff goes on with rows that it made up. */
static int on_warning(TIFF *tiff, void *data, const char *module, const char *format, va_list args)
{
    tiff_job *job = data;
    (void)tiff;
    (void)module;
    if (job->reading && strstr(format, "Old-style LZW") == NULL)
        say(job, format, args);
    return 1;
}

/* NULL, and said, where it can't be opened. */
static TIFF *open_tiff(tiff_job *job)
{
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();
    if (options == NULL) {
        pv_fail_memory(job->diags);
        return NULL;
    }
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, ALLOCATION_MAX);
    TIFFOpenOptionsSetErrorHandlerExtR(options, on_error, job);
    TIFFOpenOptionsSetWarningHandlerExtR(options, on_warning, job);
    TIFF *tiff = TIFFClientOpenExt("TIFF", "r", job, read_bytes, write_nothing, seek_to,
                                   close_nothing, size_of, map_all, unmap_nothing, options);
    TIFFOpenOptionsFree(options);
    if (tiff == NULL)
        refuse(job, PV_COPY_AGAIN, "the TIFF file is damaged: it has no directory");
    return tiff;
}

/* ---- pages ---- */

static bool is_page(TIFF *tiff)
{
    uint32_t type = 0;
    TIFFGetField(tiff, TIFFTAG_SUBFILETYPE, &type);
    return (type & (FILETYPE_REDUCEDIMAGE | FILETYPE_MASK)) == 0;
}

/* Goes to a page: true where it is there. *pages is how many were passed, or how many there are,
 * that which can't be read among them. */
static bool go_to(tiff_job *job, size_t page, size_t *pages)
{
    *pages = 0;
    for (size_t directory = 0; directory <= 2 * PV_IMAGE_PAGES_MAX; directory++) {
        if (is_page(job->tiff) && (*pages)++ == page)
            return true;
        if (TIFFReadDirectory(job->tiff) == 0) {
            *pages += job->said;
            return false;
        }
    }
    *pages = PV_IMAGE_PAGES_MAX + 1;
    return false;
}

size_t pv_tiff_pages(const unsigned char *bytes, size_t size)
{
    tiff_job job = {.bytes = bytes, .size = size};
    job.tiff = open_tiff(&job);
    if (job.tiff == NULL)
        return 1;
    size_t pages = 0;
    go_to(&job, SIZE_MAX, &pages);
    TIFFClose(job.tiff);
    return pages;
}

/* ---- what the directory says ---- */

/* Whether the way that the pixels are stored is one of those above. */
static bool is_known_compression(uint16_t compression)
{
    static const uint16_t known[] = {COMPRESSION_NONE,      COMPRESSION_CCITTRLE,
                                     COMPRESSION_CCITTFAX3, COMPRESSION_CCITTFAX4,
                                     COMPRESSION_CCITTRLEW, COMPRESSION_LZW,
                                     COMPRESSION_JPEG,      COMPRESSION_DEFLATE,
                                     COMPRESSION_PACKBITS,  COMPRESSION_ADOBE_DEFLATE};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (compression == known[i])
            return TIFFIsCODECConfigured(compression) == 1;
    return false;
}

static bool read_layout(tiff_job *job)
{
    TIFF *tiff = job->tiff;
    uint16_t format = SAMPLEFORMAT_UINT;
    if (TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &job->columns) == 0 ||
        TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &job->height) == 0) {
        refuse(job, PV_COPY_AGAIN, "the TIFF file is damaged: it does not state its size");
        return false;
    }
    if (!pv_raster_fits(job->columns, job->height, job->wanted->pixels_max, job->diags))
        return false;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &job->bits);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &job->samples);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &job->planar);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &format);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_COMPRESSION, &job->compression);
    bool fax =
        job->compression == COMPRESSION_CCITTRLE || job->compression == COMPRESSION_CCITTRLEW ||
        job->compression == COMPRESSION_CCITTFAX3 || job->compression == COMPRESSION_CCITTFAX4;
    if (TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &job->photometric) == 0)
        job->photometric = fax                ? PHOTOMETRIC_MINISWHITE
                           : job->samples < 3 ? PHOTOMETRIC_MINISBLACK
                                              : PHOTOMETRIC_RGB;
    if (!is_known_compression(job->compression)) {
        refuse(job, SAVE_AS, "the TIFF file is compressed in a way that pavior does not read");
        return false;
    }
    if (job->bits < 1 || job->bits > 16 || job->samples < 1 || job->samples > SAMPLES_MAX ||
        (format != SAMPLEFORMAT_UINT && format != SAMPLEFORMAT_VOID)) {
        refuse(job, SAVE_AS,
               "the TIFF file's samples are not whole numbers of 1 to 16 bits, 1 to 8 a pixel");
        return false;
    }
    return true;
}

/* How its samples make light. */
static bool read_colours(tiff_job *job)
{
    uint16_t least = 1;
    bool jpeg = job->compression == COMPRESSION_JPEG && job->planar == PLANARCONFIG_CONTIG;
    switch (job->photometric) {
    case PHOTOMETRIC_MINISWHITE:
    case PHOTOMETRIC_MINISBLACK:
        job->channels = 1;
        break;
    case PHOTOMETRIC_PALETTE:
        job->channels = 3;
        break;
    case PHOTOMETRIC_YCBCR: /* JPEG's library turns its own into RGB */
        if (jpeg)
            TIFFSetField(job->tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
        least = 3;
        job->channels = jpeg ? 3 : 0;
        break;
    case PHOTOMETRIC_RGB:
        job->channels = least = 3;
        break;
    case PHOTOMETRIC_SEPARATED:
        refuse(job, SAVE_AS, "the TIFF image is in CMYK, which pavior cannot convert to light");
        return false;
    default:
        break;
    }
    if (job->channels == 0 || job->samples < least) {
        refuse(job, SAVE_AS,
               "the TIFF image is in a colour space that pavior cannot convert to light");
        return false;
    }
    uint16_t n = 0, *extra = NULL;
    TIFFGetFieldDefaulted(job->tiff, TIFFTAG_EXTRASAMPLES, &n, &extra);
    bool alpha =
        n > 0 && extra != NULL && job->samples > least && job->photometric != PHOTOMETRIC_PALETTE;
    job->how = (pv_coding){.table = job->table,
                           .most = (1u << job->bits) - 1,
                           .alpha = alpha && extra[0] != EXTRASAMPLE_UNSPECIFIED,
                           .multiplied = alpha && extra[0] == EXTRASAMPLE_ASSOCALPHA};
    return true;
}

/* The table of codes, or three of a palette (16 bits a code, TIFF 6.0, section 5). A palette of
 * greys makes a grey picture. */
static bool make_tables(tiff_job *job)
{
    bool palette = job->photometric == PHOTOMETRIC_PALETTE;
    uint16_t *map[3] = {NULL, NULL, NULL};
    size_t codes = (size_t)1 << job->bits;
    job->table = pv_new_array(palette ? 3 : 1, codes * sizeof *job->table);
    if (job->table == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    job->how.table = job->table;
    if (!palette) {
        bool negative = (job->photometric == PHOTOMETRIC_MINISWHITE) != job->wanted->negative;
        pv_light_table(job->table, codes, 0, negative);
        return true;
    }
    if (TIFFGetField(job->tiff, TIFFTAG_COLORMAP, &map[0], &map[1], &map[2]) == 0) {
        refuse(job, PV_COPY_AGAIN, "the TIFF file is damaged: it has no palette");
        return false;
    }
    uint16_t *light = PV_NEW_ARRAY(65536, uint16_t);
    if (light == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    pv_light_table(light, 65536, 0, false);
    bool gray = true;
    for (size_t i = 0; i < codes; i++) {
        for (size_t k = 0; k < 3; k++)
            job->table[k * codes + i] = light[map[k][i]];
        gray = gray && map[0][i] == map[1][i] && map[0][i] == map[2][i];
    }
    free(light);
    job->channels = gray ? 1 : 3;
    return true;
}

static void read_resolution(tiff_job *job)
{
    float x = 0, y = 0;
    uint16_t unit = RESUNIT_INCH; /* the default of TIFF 6.0 */
    bool stated = TIFFGetField(job->tiff, TIFFTAG_XRESOLUTION, &x) != 0 &&
                  TIFFGetField(job->tiff, TIFFTAG_YRESOLUTION, &y) != 0;
    TIFFGetFieldDefaulted(job->tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
    stated = stated && (unit == RESUNIT_INCH || unit == RESUNIT_CENTIMETER);
    double mm = unit == RESUNIT_CENTIMETER ? 10.0 : PV_MM_PER_IN;
    pv_plane_resolution(job->raster.plane, stated ? PV_RESOLUTION_TIFF : PV_RESOLUTION_ABSENT,
                        (double)x / mm, (double)y / mm, job->orientation);
}

/* A camera's fields are where EXIF has them: beside the first page's. */
static void read_camera(tiff_job *job)
{
    if (job->wanted->page > 0)
        return;
    pv_exif exif = pv_exif_read(job->bytes, job->size);
    pv_raster_camera(&job->raster, &exif);
}

static void read_profile(tiff_job *job)
{
    uint32_t size = 0;
    unsigned char *profile = NULL;
    if (TIFFGetField(job->tiff, TIFFTAG_ICCPROFILE, &size, &profile) != 0 && profile != NULL &&
        !pv_profile_is_srgb(profile, size))
        pv_diags_add(job->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
}

static bool read_header(tiff_job *job)
{
    if (!read_layout(job) || !read_colours(job) || !make_tables(job))
        return false;
    uint16_t orientation = ORIENTATION_TOPLEFT;
    TIFFGetFieldDefaulted(job->tiff, TIFFTAG_ORIENTATION, &orientation);
    job->orientation = job->wanted->orientation > 0           ? job->wanted->orientation
                       : orientation >= 1 && orientation <= 8 ? orientation
                                                              : 1;
    if (!pv_raster_start(&job->raster, job->columns, job->height, job->channels, job->orientation,
                         job->diags))
        return false;
    job->raster.plane->coarse_hue = job->photometric == PHOTOMETRIC_YCBCR;
    if (job->wanted->orientation == 0) {
        read_resolution(job);
        read_camera(job);
    }
    read_profile(job);
    return true;
}

/* ---- pixels ---- */

/* Spreads n packed samples out to every step-th code; libtiff gives 16 bits in the machine's order,
 * and all else with the first sample in the highest bits. */
static void unpack(const tiff_job *job, const unsigned char *from, size_t n, uint16_t *to,
                   size_t step)
{
    unsigned bits = job->bits, held = 0, left = 0;
    for (size_t i = 0; i < n; i++, to += step) {
        if (bits == 16) {
            memcpy(to, from + 2 * i, 2);
            continue;
        }
        while (left < bits) {
            held = held << 8 | *from++;
            left += 8;
        }
        left -= bits;
        *to = (uint16_t)(held >> left & ((1u << bits) - 1));
    }
}

static void take_row(tiff_job *job, size_t row, const uint16_t *codes)
{
    size_t samples = job->samples, all = (size_t)1 << job->bits;
    bool palette = job->photometric == PHOTOMETRIC_PALETTE;
    bool plain = job->bits <= 8 && samples == (size_t)job->channels && !job->how.alpha;
    if (plain) {
        for (size_t i = 0; i < job->columns * samples; i++)
            job->narrow[i] = (unsigned char)codes[i];
        pv_raster_row(&job->raster, row, job->narrow, job->table);
        return;
    }
    for (size_t i = 0; i < job->columns; i++, codes += samples) {
        unsigned code[SAMPLES_MAX] = {0};
        for (size_t k = 0; k < samples; k++)
            code[k] = codes[k];
        if (palette) {
            const uint16_t light[3] = {job->table[code[0]], job->table[all + code[0]],
                                       job->table[2 * all + code[0]]};
            pv_raster_pixel(&job->raster, row, i, light);
        } else {
            pv_raster_code(&job->raster, row, i, code, &job->how);
        }
    }
}

/* Memory for the pixels on their way: `packed` bytes, and the codes of so many rows. */
static bool make_room(tiff_job *job, uint64_t packed, uint64_t rows)
{
    uint64_t row = (uint64_t)job->columns * job->samples;
    if (packed > BAND_BYTES_MAX || rows * row > BAND_BYTES_MAX / sizeof *job->codes) {
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, SAVE_AS,
                     "the TIFF file's tiles or strips are larger than %u MiB",
                     (unsigned)(BAND_BYTES_MAX >> 20));
        return false;
    }
    job->packed = pv_new_array((size_t)packed, 1);
    job->codes = PV_NEW_ARRAY((size_t)(rows * row), uint16_t);
    job->narrow = pv_new_array((size_t)row, 1);
    if (job->packed != NULL && job->codes != NULL && job->narrow != NULL)
        return true;
    pv_fail_memory(job->diags);
    return false;
}

static bool read_rows(tiff_job *job)
{
    tmsize_t size = TIFFScanlineSize(job->tiff);
    uint64_t least = ((uint64_t)job->columns * job->samples * job->bits + 7) / 8;
    if (size <= 0 || (uint64_t)size < least) {
        refuse(job, PV_COPY_AGAIN, "the TIFF file is damaged: its rows have no size");
        return false;
    }
    if (!make_room(job, (uint64_t)size, 1))
        return false;
    for (uint32_t y = 0; y < job->height; y++) {
        if (TIFFReadScanline(job->tiff, job->packed, y, 0) != 1 || job->said) {
            refuse(job, PV_COPY_AGAIN, "the TIFF file ends before the image is complete");
            return false;
        }
        unpack(job, job->packed, (size_t)job->columns * job->samples, job->codes, 1);
        take_row(job, y, job->codes);
    }
    return true;
}

/* Blocks: tiles, or the strips of separate planes, each of which is as wide as the picture. */
typedef struct blocks {
    bool tiled;
    uint32_t width, height; /* of one, pixels */
    size_t size;            /* of one, bytes */
    size_t row_bytes;       /* of one row of it */
    uint16_t together;      /* samples of a pixel that stand together in it */
} blocks;

static bool measure_blocks(tiff_job *job, blocks *out)
{
    TIFF *tiff = job->tiff;
    *out = (blocks){.tiled = TIFFIsTiled(tiff) != 0, .width = job->columns, .together = 1};
    if (out->tiled) {
        TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &out->width);
        TIFFGetField(tiff, TIFFTAG_TILELENGTH, &out->height);
    } else {
        TIFFGetFieldDefaulted(tiff, TIFFTAG_ROWSPERSTRIP, &out->height);
        if (out->height > job->height)
            out->height = job->height;
    }
    if (job->planar == PLANARCONFIG_CONTIG)
        out->together = job->samples;
    tmsize_t size = out->tiled ? TIFFTileSize(tiff) : TIFFStripSize(tiff);
    tmsize_t row = out->tiled ? TIFFTileRowSize(tiff) : TIFFScanlineSize(tiff);
    uint64_t least = ((uint64_t)out->width * out->together * job->bits + 7) / 8;
    bool sound = out->width > 0 && out->height > 0 && size > 0 && row > 0 &&
                 (uint64_t)row >= least && (uint64_t)size / (uint64_t)row >= out->height;
    if (!sound)
        refuse(job, PV_COPY_AGAIN, "the TIFF file is damaged: its tiles or strips have no size");
    out->size = (size_t)size;
    out->row_bytes = (size_t)row;
    return sound;
}

/* One block into the band of rows that begins at y. */
static bool read_block(tiff_job *job, const blocks *b, uint32_t x, uint32_t y, uint16_t plane)
{
    uint32_t rows = b->height < job->height - y ? b->height : job->height - y;
    uint32_t columns = b->width < job->columns - x ? b->width : job->columns - x;
    size_t need = b->tiled ? b->size : rows * b->row_bytes;
    tmsize_t got = b->tiled
                       ? TIFFReadEncodedTile(job->tiff, TIFFComputeTile(job->tiff, x, y, 0, plane),
                                             job->packed, (tmsize_t)b->size)
                       : TIFFReadEncodedStrip(job->tiff, TIFFComputeStrip(job->tiff, y, plane),
                                              job->packed, (tmsize_t)need);
    if (got < 0 || (size_t)got < need || job->said) {
        refuse(job, PV_COPY_AGAIN, "the TIFF file ends before the image is complete");
        return false;
    }
    for (uint32_t r = 0; r < rows; r++) {
        uint16_t *to = job->codes + ((size_t)r * job->columns + x) * job->samples + plane;
        const unsigned char *from = job->packed + r * b->row_bytes;
        if (b->together == 1)
            unpack(job, from, columns, to, job->samples);
        else
            unpack(job, from, (size_t)columns * job->samples, to, 1);
    }
    return true;
}

static bool read_blocks(tiff_job *job)
{
    blocks b;
    if (!measure_blocks(job, &b) ||
        !make_room(job, b.size, b.height < job->height ? b.height : job->height))
        return false;
    uint16_t planes = b.together == 1 ? job->samples : 1;
    for (uint32_t y = 0; y < job->height; y += b.height) {
        for (uint32_t x = 0; x < job->columns; x += b.width)
            for (uint16_t plane = 0; plane < planes; plane++)
                if (!read_block(job, &b, x, y, plane))
                    return false;
        for (uint32_t r = 0; r < b.height && y + r < job->height; r++)
            take_row(job, y + r, job->codes + (size_t)r * job->columns * job->samples);
        if (b.height > job->height - y)
            break;
    }
    return true;
}

static bool run(tiff_job *job)
{
    size_t pages = 0;
    job->tiff = open_tiff(job);
    if (job->tiff == NULL)
        return false;
    if (!go_to(job, job->wanted->page, &pages)) {
        if (pages > PV_IMAGE_PAGES_MAX)
            pv_fail_pages("TIFF", job->diags);
        else
            refuse(job, NULL, "the TIFF file has no such page");
        return false;
    }
    if (!read_header(job))
        return false;
    job->reading = true;
    bool rows =
        TIFFIsTiled(job->tiff) == 0 && (job->planar == PLANARCONFIG_CONTIG || job->samples == 1);
    return rows ? read_rows(job) : read_blocks(job);
}

pv_plane *pv_tiff_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags)
{
    tiff_job job = {.bytes = bytes, .size = size, .wanted = wanted, .diags = diags};
    bool good = run(&job) && !job.said;
    if (job.tiff != NULL)
        TIFFClose(job.tiff);
    free(job.table);
    free(job.packed);
    free(job.codes);
    free(job.narrow);
    if (good)
        return pv_raster_take(&job.raster);
    pv_raster_drop(&job.raster);
    return NULL;
}
