/* JPEG, written by libjpeg into memory of our own: its own memory destination would leave its
 * buffer behind where an error jumps out of it. */
#include "image/encode.h"

#include "base/memory.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jerror.h>
#include <jpeglib.h>

#define BLOCK 16384 /* bytes that the file grows by at first */

typedef struct encode_job {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_destination_mgr to;
    jmp_buf jump;
    pv_diags *diags;
    unsigned char *bytes;
    size_t capacity, size;
    unsigned char *row; /* of gray */
} encode_job;

static _Noreturn void fail_job(j_common_ptr jpeg)
{
    encode_job *job = jpeg->client_data;
    char message[JMSG_LENGTH_MAX];
    if (jpeg->err->msg_code == JERR_OUT_OF_MEMORY) {
        pv_fail_memory(job->diags);
    } else {
        jpeg->err->format_message(jpeg, message);
        pv_fail(job->diags, PV_CAUSE_LIBRARY, "libjpeg cannot write the picture: %s", message);
    }
    longjmp(job->jump, 1);
}

static void drop_message(j_common_ptr jpeg, int level)
{
    (void)jpeg, (void)level; /* nothing is printed */
}

static void drop_output(j_common_ptr jpeg)
{
    (void)jpeg;
}

static void grow(encode_job *job, size_t used)
{
    if (!pv_reserve((void **)&job->bytes, &job->capacity, used + BLOCK, 1)) {
        pv_fail_memory(job->diags);
        longjmp(job->jump, 1);
    }
    job->to.next_output_byte = job->bytes + used;
    job->to.free_in_buffer = job->capacity - used;
}

static void start_bytes(j_compress_ptr jpeg)
{
    grow(jpeg->client_data, 0);
}

/* libjpeg's word for: the buffer is full, all of it counts. */
static boolean more_bytes(j_compress_ptr jpeg)
{
    encode_job *job = jpeg->client_data;
    grow(job, job->capacity);
    return TRUE;
}

static void end_bytes(j_compress_ptr jpeg)
{
    encode_job *job = jpeg->client_data;
    job->size = job->capacity - job->to.free_in_buffer;
}

static bool all_gray(const unsigned char *rgb, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (rgb[3 * i] != rgb[3 * i + 1] || rgb[3 * i] != rgb[3 * i + 2])
            return false;
    return true;
}

/* The only function that jumps return to; its own variables don't change after setjmp. */
static bool write_job(encode_job *job, const unsigned char *rgb, size_t width, size_t height,
                      int quality)
{
    struct jpeg_compress_struct *jpeg = &job->jpeg;
    if (setjmp(job->jump) != 0)
        return false;
    jpeg_create_compress(jpeg);
    jpeg->client_data = job;
    job->to.init_destination = start_bytes;
    job->to.empty_output_buffer = more_bytes;
    job->to.term_destination = end_bytes;
    jpeg->dest = &job->to;
    jpeg->image_width = (JDIMENSION)width;
    jpeg->image_height = (JDIMENSION)height;
    jpeg->input_components = job->row != NULL ? 1 : 3;
    jpeg->in_color_space = job->row != NULL ? JCS_GRAYSCALE : JCS_RGB;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, quality, TRUE);
    jpeg->optimize_coding = TRUE;
    jpeg->dct_method = JDCT_ISLOW;
    jpeg_start_compress(jpeg, TRUE);
    while (jpeg->next_scanline < jpeg->image_height) {
        const unsigned char *from = rgb + 3 * width * jpeg->next_scanline;
        JSAMPROW rows[1] = {(JSAMPROW)from};
        for (size_t x = 0; job->row != NULL && x < width; x++)
            job->row[x] = from[3 * x];
        if (job->row != NULL)
            rows[0] = job->row;
        jpeg_write_scanlines(jpeg, rows, 1);
    }
    jpeg_finish_compress(jpeg);
    return true;
}

bool pv_jpeg_encode(const unsigned char *rgb, size_t width, size_t height, int quality,
                    pv_bytes *out, pv_diags *diags)
{
    *out = (pv_bytes){NULL, 0};
    if (width == 0 || height == 0 || width > JPEG_MAX_DIMENSION || height > JPEG_MAX_DIMENSION) {
        pv_fail(diags, PV_CAUSE_LIMIT, "a picture of %zu x %zu pixels cannot be written as JPEG",
                width, height);
        return false;
    }
    encode_job *job = PV_NEW(encode_job);
    bool gray = all_gray(rgb, width * height), good = job != NULL;
    if (good && gray)
        good = (job->row = PV_NEW_ARRAY(width, unsigned char)) != NULL;
    if (!good) {
        pv_fail_memory(diags);
    } else {
        job->diags = diags;
        job->jpeg.err = jpeg_std_error(&job->errors);
        job->jpeg.client_data = job;
        job->errors.error_exit = fail_job;
        job->errors.emit_message = drop_message;
        job->errors.output_message = drop_output;
        good = write_job(job, rgb, width, height, quality);
        jpeg_destroy_compress(&job->jpeg);
    }
    if (good)
        *out = (pv_bytes){job->bytes, job->size};
    else if (job != NULL)
        free(job->bytes);
    if (job != NULL)
        free(job->row);
    free(job);
    return good;
}
