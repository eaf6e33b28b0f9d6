/* PNG, by libpng. libpng reports errors by a jump: all that lives across one is in png_job, which
 * the functions that jump see only through a pointer. */
#include "image/decode.h"

#include "base/memory.h"

#include <png.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

typedef struct png_job {
    jmp_buf jump;
    pv_diags *diags;
    const pv_wanted *wanted;
    const unsigned char *bytes; /* what is left to read */
    size_t left, size;
    bool ended, said;
    png_structp png;
    png_infop info;
    pv_raster raster;
    uint16_t *table;     /* of 256 or 65536 codes */
    unsigned char *rows; /* one row, or all of an interlaced image */
    size_t columns, height, row_bytes;
    int samples; /* a pixel, alpha counted */
    bool deep;   /* 16 bits a sample */
    pv_exif exif;
} png_job;

static _Noreturn void on_error(png_structp png, png_const_charp message)
{
    png_job *job = png_get_error_ptr(png);
    if (!job->said && job->ended)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the PNG file ends before the image is complete");
    else if (!job->said)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the PNG file is damaged: %s", message);
    job->said = true;
    longjmp(job->jump, 1);
}

static void on_warning(png_structp png, png_const_charp message)
{
    png_job *job = png_get_error_ptr(png);
    if (strncmp(message, "IDAT", 4) == 0) /* the chunk it is about: the pixels */
        on_error(png, message);
    pv_diags_add(job->diags, PV_WARNING, PV_CAUSE_DATA, NULL, NULL, "the PNG file has a flaw: %s",
                 message);
}

static void read_bytes(png_structp png, png_bytep to, size_t n)
{
    png_job *job = png_get_io_ptr(png);
    if (n > job->left) {
        job->ended = true;
        png_error(png, "end of file");
    }
    memcpy(to, job->bytes, n);
    job->bytes += n;
    job->left -= n;
}

/* The exponent of the file's codes; 0 is the sRGB curve. */
static double find_exponent(png_job *job)
{
    png_charp name = NULL;
    int method = 0, intent = 0;
    png_bytep profile = NULL;
    png_uint_32 length = 0;
    png_fixed_point gamma = 0;
    if (png_get_sRGB(job->png, job->info, &intent) != 0)
        return 0;
    if (png_get_iCCP(job->png, job->info, &name, &method, &profile, &length) != 0) {
        if (strncasecmp(name, "sRGB", 4) != 0)
            pv_diags_add(job->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
        return 0;
    }
    if (png_get_gAMA_fixed(job->png, job->info, &gamma) == 0 || gamma == 45455)
        return 0;
    if (gamma < 10000 || gamma > 1000000) {
        pv_diags_add(job->diags, PV_WARNING, PV_CAUSE_DATA, NULL, NULL,
                     "the image states an impossible gamma; its pixel values are read as sRGB");
        return 0;
    }
    return 100000.0 / gamma;
}

static void find_exif(png_job *job)
{
    png_bytep bytes = NULL;
    png_uint_32 length = 0;
    job->exif = (pv_exif){.orientation = 1};
    if (png_get_eXIf_1(job->png, job->info, &length, &bytes) == 0)
        return;
    pv_exif exif = pv_exif_read(bytes, length);
    if (!exif.damaged)
        job->exif = exif;
}

static void find_resolution(png_job *job)
{
    png_uint_32 x = 0, y = 0;
    int unit = 0;
    bool stated = png_get_pHYs(job->png, job->info, &x, &y, &unit) != 0;
    stated = stated && unit == PNG_RESOLUTION_METER;
    pv_plane_resolution(job->raster.plane, stated ? PV_RESOLUTION_PNG : PV_RESOLUTION_ABSENT,
                        x / 1000.0, y / 1000.0, job->exif.orientation);
}

/* Everything up to the pixels. */
static bool read_header(png_job *job)
{
    png_structp png = job->png;
    png_read_info(png, job->info);
    job->columns = png_get_image_width(png, job->info);
    job->height = png_get_image_height(png, job->info);
    if (!pv_raster_fits(job->columns, job->height, job->wanted->pixels_max, job->diags))
        return false;
    int depth = png_get_bit_depth(png, job->info);
    size_t stored = (job->columns * png_get_channels(png, job->info) * (size_t)depth + 7) / 8;
    /* Deflate makes at most 1032 bytes of one: a file far too short is known before any memory is
     * taken for it. */
    if (stored * job->height / 1032 > job->size) {
        pv_fail(job->diags, PV_CAUSE_DATA, "the PNG file is too short for its %zu x %zu pixels",
                job->columns, job->height);
        return false;
    }
    png_set_expand(png); /* palette, 1 to 4 bits and transparent colours to whole samples */
    int passes = png_set_interlace_handling(png);
    png_read_update_info(png, job->info);
    job->samples = png_get_channels(png, job->info);
    job->deep = png_get_bit_depth(png, job->info) == 16;
    job->row_bytes = png_get_rowbytes(png, job->info);
    find_exif(job);
    if (job->wanted->orientation > 0)
        job->exif.orientation = job->wanted->orientation;
    int channels = job->samples >= 3 ? 3 : 1;
    if (!pv_raster_start(&job->raster, job->columns, job->height, channels, job->exif.orientation,
                         job->diags))
        return false;
    pv_raster_camera(&job->raster, &job->exif);
    if (job->wanted->orientation == 0)
        find_resolution(job);
    size_t codes = job->deep ? 65536 : 256;
    job->table = PV_NEW_ARRAY(codes, uint16_t);
    job->rows = pv_new_array(passes > 1 ? job->height : 1, job->row_bytes);
    if (job->table == NULL || job->rows == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    pv_light_table(job->table, codes, find_exponent(job), job->wanted->negative);
    return true;
}

/* Rows of 16 bits or with alpha. */
static void convert_row(png_job *job, size_t row, const unsigned char *bytes)
{
    size_t width = job->deep ? 2 : 1;
    size_t samples = (size_t)job->samples;
    const pv_coding how = {job->table, job->deep ? 65535 : 255, samples == 2 || samples == 4,
                           false};
    for (size_t i = 0; i < job->columns; i++) {
        unsigned code[4] = {0, 0, 0, 0};
        for (size_t k = 0; k < samples; k++, bytes += width)
            code[k] = job->deep ? (unsigned)bytes[0] << 8 | bytes[1] : bytes[0];
        pv_raster_code(&job->raster, row, i, code, &how);
    }
}

static void take_row(png_job *job, size_t row, const unsigned char *bytes)
{
    if (!job->deep && (job->samples == 1 || job->samples == 3))
        pv_raster_row(&job->raster, row, bytes, job->table);
    else
        convert_row(job, row, bytes);
}

static void read_pixels(png_job *job)
{
    if (png_get_interlace_type(job->png, job->info) == PNG_INTERLACE_NONE) {
        for (size_t y = 0; y < job->height; y++) {
            png_read_row(job->png, job->rows, NULL);
            take_row(job, y, job->rows);
        }
    } else {
        for (int pass = 0; pass < PNG_INTERLACE_ADAM7_PASSES; pass++)
            for (size_t y = 0; y < job->height; y++)
                png_read_row(job->png, job->rows + y * job->row_bytes, NULL);
        for (size_t y = 0; y < job->height; y++)
            take_row(job, y, job->rows + y * job->row_bytes);
    }
    png_read_end(job->png, NULL);
}

/* The only function that jumps return to; its own variables don't change after setjmp. */
static bool run(png_job *job)
{
    if (setjmp(job->jump) != 0)
        return false;
    job->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, job, on_error, on_warning);
    if (job->png != NULL)
        job->info = png_create_info_struct(job->png);
    if (job->info == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    png_set_read_fn(job->png, job, read_bytes);
    /* A chunk that was changed is damage, whichever it is: one states the resolution. */
    png_set_crc_action(job->png, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
    png_set_user_limits(job->png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* ours come first */
    png_set_chunk_malloc_max(job->png, 16u << 20);
    png_set_chunk_cache_max(job->png, 64);
    if (!read_header(job))
        return false;
    read_pixels(job);
    return true;
}

/* The size in the header chunk, which comes first (PNG specification 5.6), so that our limits are
 * told before libpng refuses in its own words. True where there is no such chunk. */
static bool size_fits(const unsigned char *bytes, size_t size, size_t pixels_max, pv_diags *diags)
{
    size_t side[2] = {0, 0};
    if (size < 24 || memcmp(bytes + 12, "IHDR", 4) != 0)
        return true;
    for (int i = 0; i < 8; i++)
        side[i / 4] = side[i / 4] << 8 | bytes[16 + i];
    return pv_raster_fits(side[0], side[1], pixels_max, diags);
}

pv_plane *pv_png_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                        pv_diags *diags)
{
    if (!size_fits(bytes, size, wanted->pixels_max, diags))
        return NULL;
    png_job job;
    memset(&job, 0, sizeof job);
    job.diags = diags;
    job.wanted = wanted;
    job.bytes = bytes;
    job.left = job.size = size;
    bool good = run(&job);
    png_destroy_read_struct(&job.png, &job.info, NULL);
    free(job.table);
    free(job.rows);
    if (!good) {
        pv_raster_drop(&job.raster);
        return NULL;
    }
    return pv_raster_take(&job.raster);
}
