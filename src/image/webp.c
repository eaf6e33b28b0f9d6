/* WebP, by libwebp, which gives a picture as a whole only. No resolution: the format has none. */
#include "image/decode.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#include <webp/decode.h>
#include <webp/demux.h>

static void fail(VP8StatusCode status, pv_diags *diags)
{
    if (status == VP8_STATUS_OUT_OF_MEMORY)
        pv_fail_memory(diags);
    else if (status == VP8_STATUS_NOT_ENOUGH_DATA)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the WebP file ends before the image is complete");
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the WebP file is damaged");
}

/* What stands beside the pixels: EXIF, with or without JPEG's head before it, and the profile. */
static pv_exif read_beside(const WebPData *file, pv_diags *diags)
{
    static const unsigned char head[6] = {'E', 'x', 'i', 'f', 0, 0};
    pv_exif exif = {.orientation = 1};
    WebPChunkIterator chunk;
    WebPDemuxer *demuxer = WebPDemux(file);
    if (demuxer == NULL)
        return exif;
    if (WebPDemuxGetChunk(demuxer, "EXIF", 1, &chunk) != 0) {
        size_t skip =
            chunk.chunk.size >= sizeof head && memcmp(chunk.chunk.bytes, head, sizeof head) == 0
                ? sizeof head
                : 0;
        pv_exif read = pv_exif_read(chunk.chunk.bytes + skip, chunk.chunk.size - skip);
        exif = read.damaged ? exif : read;
        WebPDemuxReleaseChunkIterator(&chunk);
    }
    if (WebPDemuxGetChunk(demuxer, "ICCP", 1, &chunk) != 0) {
        if (!pv_profile_is_srgb(chunk.chunk.bytes, chunk.chunk.size))
            pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
        WebPDemuxReleaseChunkIterator(&chunk);
    }
    WebPDemuxDelete(demuxer);
    return exif;
}

/* The pixels, which the caller frees; NULL where they can't be read. */
static unsigned char *decode(const WebPData *file, WebPDecoderConfig *config, size_t row_bytes,
                             pv_diags *diags)
{
    size_t rows = (size_t)config->input.height;
    unsigned char *pixels = pv_new_array(rows, row_bytes);
    if (pixels == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    config->output.colorspace = config->input.has_alpha != 0 ? MODE_RGBA : MODE_RGB;
    config->output.is_external_memory = 1;
    config->output.u.RGBA = (WebPRGBABuffer){pixels, (int)row_bytes, rows * row_bytes};
    VP8StatusCode status = WebPDecode(file->bytes, file->size, config);
    if (status == VP8_STATUS_OK)
        return pixels;
    free(pixels);
    fail(status, diags);
    return NULL;
}

pv_plane *pv_webp_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags)
{
    WebPDecoderConfig config;
    const WebPData file = {bytes, size};
    if (WebPInitDecoderConfig(&config) == 0) {
        pv_fail(diags, PV_CAUSE_LIBRARY, "libwebp has another version than pavior was built with");
        return NULL;
    }
    VP8StatusCode status = WebPGetFeatures(bytes, size, &config.input);
    if (status != VP8_STATUS_OK) {
        fail(status, diags);
        return NULL;
    }
    if (config.input.has_animation != 0) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, "save one picture of it as PNG or JPEG",
                     "the WebP file is an animation");
        return NULL;
    }
    pv_whole whole = {.columns = (size_t)config.input.width,
                      .rows = (size_t)config.input.height,
                      .bits = 8,
                      .alpha = config.input.has_alpha != 0,
                      .coarse_hue = config.input.format != 2}; /* lossless */
    if (!pv_raster_fits(whole.columns, whole.rows, wanted->pixels_max, diags))
        return NULL;
    whole.stride = whole.columns * (whole.alpha ? 4 : 3);
    unsigned char *pixels = decode(&file, &config, whole.stride, diags);
    if (pixels == NULL)
        return NULL;
    pv_exif exif = read_beside(&file, diags);
    pv_raster raster = {.plane = NULL};
    whole.pixels = pixels;
    bool good = pv_raster_whole(&raster, &whole, 0, exif.orientation, diags);
    free(pixels);
    if (!good)
        return NULL;
    pv_raster_camera(&raster, &exif);
    return pv_raster_take(&raster);
}
