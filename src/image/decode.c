/* Which decoder a file needs. */
#include "image/decode.h"

#include "po/po.h"

#include <pavior/text.h>

#include <string.h>

typedef struct magic {
    size_t at, length;
    const char *bytes, *what;
} magic;

/* Other files that people have. */
static const magic known[] = {
    {0, 4, "GIF8", PV_SAID("a GIF image")},
    {0, 2, "BM", PV_SAID("a BMP image")},
    {0, 4, "PK\3\4", PV_SAID("a ZIP archive or an office document")},
    {4, 4, "ftyp", PV_SAID("a HEIC or AVIF image")}, /* met only where there is no libheif */
};

static bool starts(const magic *m, const unsigned char *bytes, size_t size)
{
    return size >= m->at + m->length && memcmp(bytes + m->at, m->bytes, m->length) == 0;
}

/* Files of pavior's own, which somebody gave as an image by mistake. */
static const char *hint_for(pv_file_kind kind)
{
    return kind == PV_FILE_PLAN
               ? PV_SAID(
                     "a plan is given with --plan, and after it the scan or photograph of a sheet")
               : PV_SAID(
                     "give a scan or a photograph of a printed sheet, as PNG, JPEG, TIFF or PDF");
}

static void refuse_unknown(const unsigned char *bytes, size_t size, pv_diags *diags)
{
    static const char hint[] = PV_SAID("scan or save the image as PNG or JPEG");
    if (size == 0) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, NULL, "the image file is empty");
        return;
    }
    /* The signature's odd bytes are there to notice this. */
    if (size >= 4 && memcmp(bytes + 1, "PNG", 3) == 0) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "copy the original again as a binary file",
                     "the start of the PNG file was changed: it was probably copied as text");
        return;
    }
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (!starts(&known[i], bytes, size))
            continue;
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "the file is %s",
                     pv_say(pv_diags_language(diags), known[i].what));
        return;
    }
    pv_file_kind kind = pv_file_kind_of(bytes, size);
    if (kind == PV_FILE_BINARY)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "copy or send it again, or save the image as PNG or JPEG",
                     "the file is damaged, or no picture that pavior reads");
    else if (kind == PV_FILE_TEXT)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint,
                     "the file is no picture that pavior reads");
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint_for(kind), "the file is %s",
                     pv_say(pv_diags_language(diags), pv_file_kind_name(kind)));
}

/* A kind of file: its first bytes, its decoder, and how many pictures it holds if it can hold more
 * than one. */
typedef struct decoder {
    magic start;
    pv_plane *(*decode)(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                        pv_diags *diags);
    size_t (*pages)(const unsigned char *bytes, size_t size);
} decoder;

static const decoder decoders[] = {
    {{0, 8, "\x89PNG\r\n\x1a\n", NULL}, pv_png_decode, NULL},
    {{0, 3, "\xff\xd8\xff", NULL}, pv_jpeg_decode, NULL},
    {{0, 4, "II*\0", NULL}, pv_tiff_decode, pv_tiff_pages},
    {{0, 4, "MM\0*", NULL}, pv_tiff_decode, pv_tiff_pages},
    {{0, 4, "II+\0", NULL}, pv_tiff_decode, pv_tiff_pages}, /* BigTIFF */
    {{0, 4, "MM\0+", NULL}, pv_tiff_decode, pv_tiff_pages},
    {{0, 5, "%PDF-", NULL}, pv_pdf_scan_decode, pv_pdf_scan_pages},
    {{8, 4, "WEBP", NULL}, pv_webp_decode, NULL},
#ifndef PV_WITHOUT_HEIF /* in a browser, which has decoders of its own */
    {{4, 4, "ftyp", NULL}, pv_heif_decode, pv_heif_pages},
#endif
};

static const decoder *decoder_of(const unsigned char *bytes, size_t size)
{
    for (size_t i = 0; i < sizeof decoders / sizeof *decoders; i++)
        if (starts(&decoders[i].start, bytes, size))
            return &decoders[i];
    return NULL;
}

size_t pv_image_pages(const unsigned char *bytes, size_t size)
{
    const decoder *one = size <= PV_IMAGE_BYTES_MAX ? decoder_of(bytes, size) : NULL;
    size_t pages = one != NULL && one->pages != NULL ? one->pages(bytes, size) : 1;
    return pages >= 1 && pages <= PV_IMAGE_PAGES_MAX ? pages : 1;
}

pv_plane *pv_plane_decode(const unsigned char *bytes, size_t size, size_t page, size_t pixels_max,
                          pv_diags *diags)
{
    if (size > PV_IMAGE_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "the image file has %zu bytes; the limit is %u", size,
                PV_IMAGE_BYTES_MAX);
        return NULL;
    }
    const decoder *one = decoder_of(bytes, size);
    if (one == NULL) {
        refuse_unknown(bytes, size, diags);
        return NULL;
    }
    if (page > 0 && one->pages == NULL) {
        pv_fail(diags, PV_CAUSE_USAGE, "the image file has one picture only");
        return NULL;
    }
    const pv_wanted wanted = {.page = page,
                              .pixels_max = pixels_max < PV_IMAGE_PIXELS_MAX ? pixels_max
                                                                             : PV_IMAGE_PIXELS_MAX};
    // cppcheck-suppress returnDanglingLifetime ; no plane keeps it
    return one->decode(bytes, size, &wanted, diags);
}
