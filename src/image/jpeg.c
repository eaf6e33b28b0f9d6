/* JPEG, by libjpeg. libjpeg reports errors by a jump: all that lives across one is in jpeg_job,
 * which the functions that jump see only through a pointer. */
#include "image/decode.h"

#include "base/memory.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jerror.h>
#include <jpeglib.h>

/* A progressive file may repeat its scans for ever: each costs a pass over the whole image. */
#define SCANS_MAX 100

typedef struct jpeg_job {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf jump;
    pv_diags *diags;
    const pv_wanted *wanted;
    bool begun; /* the image's own data are being read */
    pv_raster raster;
    unsigned char *row;
    uint16_t table[256];
} jpeg_job;

static _Noreturn void on_error(j_common_ptr jpeg)
{
    jpeg_job *job = jpeg->client_data;
    char message[JMSG_LENGTH_MAX];
    if (jpeg->err->msg_code == JERR_OUT_OF_MEMORY) {
        pv_fail_memory(job->diags);
    } else if (jpeg->err->msg_code == JWRN_JPEG_EOF) {
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     job->begun ? PV_SAID("the JPEG file ends before the image is complete")
                                : PV_SAID("the JPEG file ends before the image begins"));
    } else {
        jpeg->err->format_message(jpeg, message);
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the JPEG file is damaged: %s", message);
    }
    longjmp(job->jump, 1);
}

/* What libjpeg calls a warning is damage: it goes on with pixels that it made up. Of its warnings
 * (jerror.h) these touch no pixel: a number of JFIF's revision that it doesn't know; parameters of
 * a scan that mean nothing in a sequential file, and that it doesn't read; and bytes between the
 * segments of the header, which it skips. Past the header, the same bytes are what is left where
 * the image's data went wrong. */
static bool harmless(const jpeg_job *job, int warning)
{
    return warning == JWRN_JFIF_MAJOR || warning == JWRN_NOT_SEQUENTIAL ||
           (warning == JWRN_EXTRANEOUS_DATA && !job->begun);
}

static void on_message(j_common_ptr jpeg, int level)
{
    if (level < 0 && !harmless(jpeg->client_data, jpeg->err->msg_code)) /* else a trace */
        on_error(jpeg);
}

static void on_output(j_common_ptr jpeg)
{
    (void)jpeg; /* nothing is printed */
}

static void on_progress(j_common_ptr jpeg)
{
    jpeg_job *job = jpeg->client_data;
    if (job->jpeg.input_scan_number <= SCANS_MAX)
        return;
    pv_fail(job->diags, PV_CAUSE_LIMIT, "the JPEG file has more than %d scans", SCANS_MAX);
    longjmp(job->jump, 1);
}

/* An ICC profile that doesn't call itself sRGB. */
static void find_profile(jpeg_job *job)
{
    static const char head[12] = "ICC_PROFILE";
    bool any = false, srgb = false;
    for (jpeg_saved_marker_ptr m = job->jpeg.marker_list; m != NULL; m = m->next) {
        if (m->marker != JPEG_APP0 + 2 || m->data_length < sizeof head ||
            memcmp(m->data, head, sizeof head) != 0)
            continue;
        any = true;
        srgb = srgb || pv_profile_is_srgb(m->data, m->data_length);
    }
    if (any && !srgb)
        pv_diags_add(job->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
}

static pv_exif find_exif(jpeg_job *job)
{
    static const unsigned char head[6] = {'E', 'x', 'i', 'f', 0, 0};
    pv_exif exif = {.orientation = 1};
    for (jpeg_saved_marker_ptr m = job->jpeg.marker_list; m != NULL; m = m->next) {
        if (m->marker != JPEG_APP0 + 1 || m->data_length < sizeof head ||
            memcmp(m->data, head, sizeof head) != 0)
            continue;
        exif = pv_exif_read(m->data + sizeof head, m->data_length - sizeof head);
        if (exif.damaged) {
            pv_diags_add(job->diags, PV_WARNING, PV_CAUSE_DATA, NULL, NULL,
                         "the image's EXIF data is damaged, so it is ignored");
            exif.orientation = 1;
            exif.stated = exif.camera = false;
        }
        break;
    }
    return exif;
}

static void find_resolution(jpeg_job *job, const pv_exif *exif)
{
    const struct jpeg_decompress_struct *jpeg = &job->jpeg;
    double mm = jpeg->density_unit == 1 ? PV_MM_PER_IN : 10.0;
    bool jfif = jpeg->saw_JFIF_marker && (jpeg->density_unit == 1 || jpeg->density_unit == 2) &&
                jpeg->X_density > 0 && jpeg->Y_density > 0;
    double stated[2] = {jpeg->X_density / mm, jpeg->Y_density / mm};
    pv_resolution_source source = jfif ? PV_RESOLUTION_JFIF : PV_RESOLUTION_ABSENT;
    if (exif->stated) {
        /* JFIF has whole numbers only, so that half a unit is no disagreement. */
        double slack = 0.5001 / mm;
        bool differ = jfif && (fabs(stated[0] - exif->per_mm[0]) > slack ||
                               fabs(stated[1] - exif->per_mm[1]) > slack);
        source = differ ? PV_RESOLUTION_CONFLICT : PV_RESOLUTION_EXIF;
        stated[0] = exif->per_mm[0];
        stated[1] = exif->per_mm[1];
    }
    pv_plane_resolution(job->raster.plane, source, stated[0], stated[1], exif->orientation);
}

static bool read_header(jpeg_job *job)
{
    struct jpeg_decompress_struct *jpeg = &job->jpeg;
    jpeg_save_markers(jpeg, JPEG_APP0 + 1, 0xFFFF);
    jpeg_save_markers(jpeg, JPEG_APP0 + 2, 0xFFFF);
    jpeg_read_header(jpeg, TRUE);
    if (!pv_raster_fits(jpeg->image_width, jpeg->image_height, job->wanted->pixels_max, job->diags))
        return false;
    bool gray = jpeg->jpeg_color_space == JCS_GRAYSCALE;
    if (!gray && jpeg->jpeg_color_space != JCS_YCbCr && jpeg->jpeg_color_space != JCS_RGB) {
        if (jpeg->num_components == 4)
            pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, "save it as RGB or grey",
                         "the JPEG image is in CMYK, which pavior cannot convert to light");
        else
            pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, "save it as RGB or grey",
                         "the JPEG image is in a colour space that pavior cannot convert to light");
        return false;
    }
    jpeg->out_color_space = gray ? JCS_GRAYSCALE : JCS_RGB;
    pv_exif exif = find_exif(job);
    if (job->wanted->orientation > 0)
        exif.orientation = job->wanted->orientation;
    find_profile(job);
    if (!pv_raster_start(&job->raster, jpeg->image_width, jpeg->image_height, gray ? 1 : 3,
                         exif.orientation, job->diags))
        return false;
    job->raster.plane->coarse_hue = jpeg->jpeg_color_space == JCS_YCbCr;
    pv_raster_camera(&job->raster, &exif);
    if (job->wanted->orientation == 0)
        find_resolution(job, &exif);
    return true;
}

/* The only function that jumps return to; its own variables don't change after setjmp. */
static bool run(jpeg_job *job, const unsigned char *bytes, size_t size)
{
    struct jpeg_decompress_struct *jpeg = &job->jpeg;
    if (setjmp(job->jump) != 0)
        return false;
    jpeg_create_decompress(jpeg);
    jpeg->client_data = job;
    jpeg->progress = &job->progress;
    jpeg_mem_src(jpeg, bytes, (unsigned long)size);
    if (!read_header(job))
        return false;
    job->begun = true;
    jpeg_start_decompress(jpeg);
    job->row =
        PV_NEW_ARRAY((size_t)jpeg->output_width * (size_t)jpeg->output_components, unsigned char);
    if (job->row == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    while (jpeg->output_scanline < jpeg->output_height) {
        size_t y = jpeg->output_scanline;
        JSAMPROW rows[1] = {job->row};
        jpeg_read_scanlines(jpeg, rows, 1);
        pv_raster_row(&job->raster, y, job->row, job->table);
    }
    jpeg_finish_decompress(jpeg); /* reads on to the end marker */
    return true;
}

pv_plane *pv_jpeg_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags)
{
    jpeg_job *job = PV_NEW(jpeg_job);
    if (job == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    job->diags = diags;
    job->wanted = wanted;
    job->jpeg.err = jpeg_std_error(&job->errors);
    job->jpeg.client_data = job;
    job->errors.error_exit = on_error;
    job->errors.emit_message = on_message;
    job->errors.output_message = on_output;
    job->progress.progress_monitor = on_progress;
    pv_light_table(job->table, 256, 0, wanted->negative);
    bool good = run(job, bytes, size);
    jpeg_destroy_decompress(&job->jpeg);
    pv_plane *plane = NULL;
    if (good)
        plane = pv_raster_take(&job->raster);
    else
        pv_raster_drop(&job->raster);
    free(job->row);
    free(job);
    return plane;
}
