/* Which decoder a file needs. */
#include "image/decode.h"

#include <pavior/text.h>

#include <string.h>

typedef struct magic {
    size_t at, length;
    const char *bytes, *what;
} magic;

/* Files that people have instead of a PNG or JPEG. */
static const magic known[] = {
    {0, 4, "%PDF", "a PDF"},
    {0, 4, "II*\0", "a TIFF image"},
    {0, 4, "MM\0*", "a TIFF image"},
    {0, 4, "GIF8", "a GIF image"},
    {0, 2, "BM", "a BMP image"},
    {8, 4, "WEBP", "a WebP image"},
    {4, 4, "ftyp", "a HEIC or AVIF image, or a video"},
};

/* Files of pavior's own, which somebody gave as an image by mistake. */
static const char *hint_for(pv_file_kind kind)
{
    return kind == PV_FILE_PLAN
               ? "a plan is given with --plan, and after it the scan or photograph of a sheet"
               : "give a scan or a photograph of a printed sheet, as PNG or JPEG";
}

static void refuse_unknown(const unsigned char *bytes, size_t size, pv_diags *diags)
{
    static const char hint[] = "scan or save the image as PNG or JPEG";
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
        const magic *m = &known[i];
        if (size >= m->at + m->length && memcmp(bytes + m->at, m->bytes, m->length) == 0) {
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "the file is %s", m->what);
            return;
        }
    }
    pv_file_kind kind = pv_file_kind_of(bytes, size);
    if (kind == PV_FILE_TEXT || kind == PV_FILE_BINARY)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint,
                     "the file is neither PNG nor JPEG");
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint_for(kind), "the file is %s",
                     pv_file_kind_name(kind));
}

pv_plane *pv_plane_decode(const unsigned char *bytes, size_t size, size_t pixels_max,
                          pv_diags *diags)
{
    if (size > PV_IMAGE_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "the image file has %zu bytes; the limit is %u", size,
                PV_IMAGE_BYTES_MAX);
        return NULL;
    }
    if (pixels_max > PV_IMAGE_PIXELS_MAX)
        pixels_max = PV_IMAGE_PIXELS_MAX;
    if (size >= 8 && memcmp(bytes, "\x89PNG\r\n\x1a\n", 8) == 0)
        return pv_png_decode(bytes, size, pixels_max, diags);
    if (size >= 3 && memcmp(bytes, "\xff\xd8\xff", 3) == 0)
        return pv_jpeg_decode(bytes, size, pixels_max, diags);
    refuse_unknown(bytes, size, diags);
    return NULL;
}
