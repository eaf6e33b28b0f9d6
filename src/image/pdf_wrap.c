/* A PDF's samples as a TIFF or a PNG in memory, for the decoders of those. */
#include "image/pdf.h"

#include <stdlib.h>
#include <string.h>

#include <zlib.h>

static void put_big(unsigned char *to, size_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        to[i] = (unsigned char)(value >> 8 * (bytes - 1 - i));
}

/* ---- TIFF 6.0, in the order of bytes of PDF's samples ---- */

enum {
    SHORT = 3,
    LONG = 4,
    HEAD = 8,
    ENTRY = 12,
    ENTRIES_MAX = 14,
    BITS_AT = HEAD + 2 + ENTRIES_MAX * ENTRY + 4, /* behind the directory: bits of each sample */
    MAP_AT = BITS_AT + 8,                         /* a palette */
    DATA_AT = MAP_AT + 3 * 256 * 2
};

typedef struct directory {
    unsigned char *bytes;
    size_t n;
} directory;

/* Values of 2 bytes stand at the front of their 4. */
static void add(directory *d, unsigned tag, unsigned type, size_t count, size_t value)
{
    unsigned char *at = d->bytes + HEAD + 2 + d->n++ * ENTRY;
    put_big(at, tag, 2);
    put_big(at + 2, type, 2);
    put_big(at + 4, count, 4);
    put_big(at + 8, type == SHORT && count == 1 ? value << 16 : value, 4);
}

static unsigned compression(const pv_pdf_samples *how)
{
    switch (how->filter) {
    case PV_FILTER_FLATE:
        return 8;
    case PV_FILTER_LZW:
        return 5;
    case PV_FILTER_FAX: /* T.6; T.4; or T.4's codes without its ends of lines */
        return how->k < 0 ? 4 : how->k == 0 && how->aligned ? 2 : 3;
    default:
        return 1;
    }
}

static void put_palette(unsigned char *to, const pv_pdf_samples *how)
{
    size_t codes = (size_t)1 << how->bits;
    for (size_t i = 0; i < codes && i < how->colours; i++)
        for (size_t k = 0; k < 3; k++)
            put_big(to + 2 * (k * codes + i), how->palette[i][k] * 257u, 2);
}

static unsigned char *as_tiff(const pv_pdf_samples *how, const pv_bytes *data, size_t *size)
{
    *size = DATA_AT + data->size;
    unsigned char *out = pv_new_array(*size, 1);
    if (out == NULL)
        return NULL;
    directory d = {out, 0};
    bool fax = how->filter == PV_FILTER_FAX, palette = how->colours > 0;
    memcpy(out, "MM\0*\0\0\0\10", HEAD);
    add(&d, 256, LONG, 1, how->columns);
    add(&d, 257, LONG, 1, how->rows);
    add(&d, 258, SHORT, how->samples, how->samples == 1 ? how->bits : BITS_AT);
    add(&d, 259, SHORT, 1, compression(how));
    add(&d, 262, SHORT, 1, palette ? 3 : fax ? 0 : how->samples == 1 ? 1 : 2);
    add(&d, 273, LONG, 1, DATA_AT);
    add(&d, 277, SHORT, 1, how->samples);
    add(&d, 278, LONG, 1, how->rows);
    add(&d, 279, LONG, 1, data->size);
    add(&d, 284, SHORT, 1, 1);
    if (fax && how->k > 0)
        add(&d, 292, LONG, 1, 1);
    if (how->predictor == 2)
        add(&d, 317, SHORT, 1, 2);
    if (palette)
        add(&d, 320, SHORT, 3 * ((size_t)1 << how->bits), MAP_AT);
    put_big(out + HEAD, d.n, 2);
    for (size_t i = 0; i < how->samples; i++)
        put_big(out + BITS_AT + 2 * i, how->bits, 2);
    if (palette)
        put_palette(out + MAP_AT, how);
    memcpy(out + DATA_AT, data->data, data->size);
    return out;
}

/* ---- PNG (ISO/IEC 15948): its rows are those of PDF's predictors 10 to 15 ---- */

/* A chunk whose body stands there already; gives the place behind it. */
static unsigned char *close_chunk(unsigned char *at, const char *kind, size_t length)
{
    put_big(at, length, 4);
    memcpy(at + 4, kind, 4);
    put_big(at + 8 + length, (size_t)crc32_z(0, at + 4, length + 4), 4);
    return at + 12 + length;
}

static unsigned char *as_png(const pv_pdf_samples *how, const pv_bytes *data, size_t *size)
{
    unsigned char *out = pv_new_array(8 + 25 + 12 + 768 + 12 + data->size + 12, 1), *at = out;
    if (out == NULL)
        return NULL;
    static const unsigned char start[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    memcpy(at, start, sizeof start);
    at += 8;
    put_big(at + 8, how->columns, 4);
    put_big(at + 12, how->rows, 4);
    at[16] = (unsigned char)how->bits;
    at[17] = how->colours > 0 ? 3 : how->samples == 1 ? 0 : 2;
    at = close_chunk(at, "IHDR", 13);
    if (how->colours > 0) {
        memcpy(at + 8, how->palette, 3 * how->colours);
        at = close_chunk(at, "PLTE", 3 * how->colours);
    }
    memcpy(at + 8, data->data, data->size);
    at = close_chunk(at, "IDAT", data->size);
    at = close_chunk(at, "IEND", 0);
    *size = (size_t)(at - out);
    return out;
}

pv_plane *pv_pdf_samples_decode(const pv_pdf_samples *how, const pv_bytes *data,
                                const pv_wanted *wanted, pv_diags *diags)
{
    pv_wanted part = *wanted;
    part.page = 0;
    part.negative = how->negative;
    if (how->filter == PV_FILTER_JPEG)
        return pv_jpeg_decode(data->data, data->size, &part, diags);
    size_t size = 0;
    bool png = how->filter == PV_FILTER_FLATE && how->predictor >= 10;
    unsigned char *file = png ? as_png(how, data, &size) : as_tiff(how, data, &size);
    if (file == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    pv_plane *plane =
        png ? pv_png_decode(file, size, &part, diags) : pv_tiff_decode(file, size, &part, diags);
    free(file);
    return plane;
}
