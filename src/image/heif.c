/* HEIC and AVIF, by libheif, which gives a picture as a whole only, turned upright and cut as the
 * file asks: EXIF's orientation, which repeats that, is not applied again. No resolution: cameras
 * write such files, and state none that means anything. */
#include "image/decode.h"

#include "base/memory.h"
#include "image/heif.h"

#include <stdlib.h>

#include <libheif/heif.h>

#define SAVE_AS PV_SAID("save it as JPEG or PNG")

/* libheif allocates what tiles are put together on before it compares that with the size stated for
 * the picture: a square of this side is the most that it may come to. Phones stay below 16400. */
#define HEIF_SIDE_MAX 20000
#define SIDE_MORE     1024 /* that a coded picture may have beyond what is shown of it */

typedef struct heif_job {
    const pv_wanted *wanted;
    pv_diags *diags;
    struct heif_context *context;
    heif_item_id *ids; /* of its pictures */
    size_t n;
    struct heif_image_handle *handle;
    struct heif_image *image;
    pv_raster raster;
} heif_job;

/* False, and said, where the library refused. */
static bool good(const heif_job *job, struct heif_error error)
{
    if (error.code == heif_error_Ok)
        return true;
    if (error.code == heif_error_Memory_allocation_error &&
        error.subcode != heif_suberror_Security_limit_exceeded)
        pv_fail_memory(job->diags);
    else if (error.subcode == heif_suberror_Security_limit_exceeded)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, SAVE_AS,
                     "the HEIC or AVIF file asks for more memory than is allowed: %s",
                     error.message);
    else if (error.code == heif_error_Unsupported_feature ||
             error.code == heif_error_Unsupported_filetype)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, SAVE_AS,
                     "the HEIC or AVIF file uses what pavior does not read: %s", error.message);
    else
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the HEIC or AVIF file is damaged: %s", error.message);
    return false;
}

/* Reads the file's directory: which pictures there are. */
static bool open_heif(heif_job *job, const unsigned char *bytes, size_t size)
{
    int head = size > 4096 ? 4096 : (int)size;
    if (heif_check_filetype(bytes, head) == heif_filetype_no) {
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, "give a photograph",
                     "the file is a video, or a picture of a kind that pavior does not read");
        return false;
    }
    job->context = heif_context_alloc();
    if (job->context == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    heif_context_set_maximum_image_size_limit(job->context, HEIF_SIDE_MAX);
    heif_context_set_max_decoding_threads(job->context, 0); /* none but the caller's */
    if (!good(job, heif_context_read_from_memory_without_copy(job->context, bytes, size, NULL)))
        return false;
    int n = heif_context_get_number_of_top_level_images(job->context);
    job->n = n > 0 ? (size_t)n : 0;
    job->ids = PV_NEW_ARRAY(job->n, heif_item_id);
    if (job->ids == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    heif_context_get_list_of_top_level_image_IDs(job->context, job->ids, n);
    return true;
}

static void close_heif(heif_job *job)
{
    if (job->image != NULL)
        heif_image_release(job->image);
    if (job->handle != NULL)
        heif_image_handle_release(job->handle);
    if (job->context != NULL)
        heif_context_free(job->context);
    free(job->ids);
}

size_t pv_heif_pages(const unsigned char *bytes, size_t size)
{
    heif_job job = {.n = 0};
    open_heif(&job, bytes, size);
    close_heif(&job);
    return job.n;
}

/* What a camera says of itself. The block begins with the place of EXIF's head in it (ISO/IEC
 * 23008-12, annex A.2.1). */
static bool read_camera(heif_job *job)
{
    heif_item_id id = 0;
    if (heif_image_handle_get_list_of_metadata_block_IDs(job->handle, "Exif", &id, 1) != 1)
        return true;
    size_t size = heif_image_handle_get_metadata_size(job->handle, id);
    unsigned char *block = pv_new_array(size, 1);
    if (block == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    if (size > 4 && heif_image_handle_get_metadata(job->handle, id, block).code == heif_error_Ok) {
        size_t at = (size_t)block[0] << 24 | (size_t)block[1] << 16 | (size_t)block[2] << 8 |
                    (size_t)block[3];
        if (at < size - 4) {
            pv_exif exif = pv_exif_read(block + 4 + at, size - 4 - at);
            pv_raster_camera(&job->raster, &exif);
        }
    }
    free(block);
    return true;
}

/* The exponent of a curve (ITU-T H.273, table 3), 0 for that of sRGB, which stands for those that
 * pavior doesn't read, too (said). False for a curve for brighter than paper (ITU-R BT.2100), which
 * says nothing of light from paper (said). */
static bool read_curve(heif_job *job, int curve, double *exponent)
{
    *exponent = 0;
    if (curve == heif_transfer_characteristic_ITU_R_BT_2100_0_PQ ||
        curve == heif_transfer_characteristic_ITU_R_BT_2100_0_HLG) {
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     "switch HDR off in the camera, or save the picture as JPEG",
                     "the picture is in high dynamic range, which pavior cannot convert to light");
        return false;
    }
    if (curve == heif_transfer_characteristic_linear)
        *exponent = 1;
    else if (curve == heif_transfer_characteristic_ITU_R_BT_470_6_System_M)
        *exponent = 2.2;
    else if (curve == heif_transfer_characteristic_ITU_R_BT_470_6_System_B_G)
        *exponent = 2.8;
    else if (curve != heif_transfer_characteristic_IEC_61966_2_1 &&
             curve != heif_transfer_characteristic_unspecified)
        pv_diags_add(job->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
    return true;
}

static bool read_colours(heif_job *job, double *exponent, bool *coarse)
{
    struct heif_color_profile_nclx *nclx = NULL;
    *exponent = 0;
    *coarse = true;
    bool known = true;
    if (heif_image_handle_get_nclx_color_profile(job->handle, &nclx).code == heif_error_Ok) {
        known = read_curve(job, (int)nclx->transfer_characteristics, exponent);
        *coarse = nclx->matrix_coefficients != heif_matrix_coefficients_RGB_GBR;
        heif_nclx_color_profile_free(nclx);
    }
    size_t size = heif_image_handle_get_raw_color_profile_size(job->handle);
    unsigned char *profile = size > 0 ? pv_new_array(size, 1) : NULL;
    if (size > 0 && profile == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    if (profile != NULL &&
        heif_image_handle_get_raw_color_profile(job->handle, profile).code == heif_error_Ok &&
        !pv_profile_is_srgb(profile, size))
        pv_diags_add(job->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
    free(profile);
    return known;
}

static bool decode(heif_job *job)
{
    bool alpha = heif_image_handle_has_alpha_channel(job->handle) != 0;
    bool deep = heif_image_handle_get_luma_bits_per_pixel(job->handle) > 8;
    enum heif_chroma chroma =
        deep    ? alpha ? heif_chroma_interleaved_RRGGBBAA_LE : heif_chroma_interleaved_RRGGBB_LE
        : alpha ? heif_chroma_interleaved_RGBA
                : heif_chroma_interleaved_RGB;
    struct heif_decoding_options *options = heif_decoding_options_alloc();
    if (options == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    /* Not strict: libheif 1.15 would lose the decoder where colours are unknown. It warns, too. */
    struct heif_error error =
        heif_decode_image(job->handle, &job->image, heif_colorspace_RGB, chroma, options);
    heif_decoding_options_free(options);
    if (!good(job, error))
        return false;
    /* Not in the library's words: it may have released them. */
    if (heif_image_get_decoding_warnings(job->image, 0, NULL, 0) == 0)
        return true;
    pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, SAVE_AS,
                 "the HEIC or AVIF file is damaged, or its colours are of an unknown kind");
    return false;
}

static bool take_pixels(heif_job *job, double exponent, bool coarse)
{
    const enum heif_channel all = heif_channel_interleaved;
    int stride = 0, bits = heif_image_get_bits_per_pixel_range(job->image, all);
    const uint8_t *pixels = heif_image_get_plane_readonly(job->image, all, &stride);
    int width = heif_image_get_width(job->image, all);
    int height = heif_image_get_height(job->image, all);
    enum heif_chroma chroma = heif_image_get_chroma_format(job->image);
    if (pixels == NULL || bits < 8 || bits > 16 || width < 1 || height < 1 || stride < width) {
        pv_fail(job->diags, PV_CAUSE_DATA, "the HEIC or AVIF file is damaged: it has no pixels");
        return false;
    }
    const pv_whole whole = {.pixels = pixels,
                            .columns = (size_t)width,
                            .rows = (size_t)height,
                            .stride = (size_t)stride,
                            .bits = (unsigned)bits,
                            .alpha = chroma == heif_chroma_interleaved_RGBA ||
                                     chroma == heif_chroma_interleaved_RRGGBBAA_LE,
                            .multiplied =
                                heif_image_handle_is_premultiplied_alpha(job->handle) != 0,
                            .coarse_hue = coarse};
    return pv_raster_fits(whole.columns, whole.rows, job->wanted->pixels_max, job->diags) &&
           pv_raster_whole(&job->raster, &whole, exponent, 1, job->diags) && read_camera(job);
}

static bool run(heif_job *job, const unsigned char *bytes, size_t size)
{
    double exponent;
    bool coarse;
    if (!open_heif(job, bytes, size))
        return false;
    if (job->n > PV_IMAGE_PAGES_MAX) {
        pv_fail_pages("HEIC or AVIF file", job->diags);
        return false;
    }
    if (job->wanted->page >= job->n) {
        pv_fail(job->diags, PV_CAUSE_USAGE, "the HEIC or AVIF file has no such picture");
        return false;
    }
    heif_item_id id = job->ids[job->wanted->page];
    if (!pv_heif_guard(bytes, size, id, job->diags) ||
        !good(job, heif_context_get_image_handle(job->context, id, &job->handle)))
        return false;
    int width = heif_image_handle_get_ispe_width(job->handle);
    int height = heif_image_handle_get_ispe_height(job->handle);
    int side = width > height ? width : height;
    if (side < HEIF_SIDE_MAX - SIDE_MORE)
        heif_context_set_maximum_image_size_limit(job->context, side + SIDE_MORE);
    return pv_raster_fits(width > 0 ? (size_t)width : 0, height > 0 ? (size_t)height : 0,
                          job->wanted->pixels_max, job->diags) &&
           read_colours(job, &exponent, &coarse) && decode(job) &&
           take_pixels(job, exponent, coarse);
}

pv_plane *pv_heif_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags)
{
    heif_job job = {.wanted = wanted, .diags = diags};
    bool whole = run(&job, bytes, size);
    close_heif(&job);
    if (whole)
        return pv_raster_take(&job.raster);
    pv_raster_drop(&job.raster);
    return NULL;
}
