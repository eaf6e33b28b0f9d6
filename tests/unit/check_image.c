/* The image room. Inputs are encoded here by libpng and libjpeg from known codes; what comes out is
 * compared with the sRGB formula of IEC 61966-2-1, written out once more. */
#include "common.h"
#include "wording.h"

#include "base/light.h"
#include "base/memory.h"
#include "image/plane.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jerror.h>
#include <jpeglib.h>
#include <png.h>
#include <setjmp.h>
#include <zlib.h>

/* ---- encoders ---- */

typedef struct bytes {
    unsigned char *data;
    size_t size, room;
} bytes;

static void put(bytes *b, const void *from, size_t n)
{
    ck_assert(pv_reserve((void **)&b->data, &b->room, b->size + n, 1));
    memcpy(b->data + b->size, from, n);
    b->size += n;
}

static void png_put(png_structp png, png_bytep from, size_t n)
{
    put(png_get_io_ptr(png), from, n);
}

static void png_flush_nothing(png_structp png)
{
    (void)png;
}

typedef struct png_kind {
    int type, depth, interlace;
    bool transparent; /* a tRNS chunk */
} png_kind;

enum { W = 37, H = 23 };

static int samples_of(int type)
{
    return type == PNG_COLOR_TYPE_RGB          ? 3
           : type == PNG_COLOR_TYPE_RGB_ALPHA  ? 4
           : type == PNG_COLOR_TYPE_GRAY_ALPHA ? 2
                                               : 1;
}

/* Sample k of a pixel, within the depth. */
static unsigned code_at(const png_kind *kind, unsigned x, unsigned y, unsigned k)
{
    unsigned most = (1u << kind->depth) - 1;
    unsigned hash = (x * 7919u + y * 104729u + k * 1299709u) * 2654435761u;
    return (hash >> 8) % (most + 1);
}

static void palette_entry(unsigned i, png_color *colour)
{
    colour->red = (png_byte)(i * 37);
    colour->green = (png_byte)(255 - i * 11);
    colour->blue = (png_byte)(i * i);
}

static void fill_row(const png_kind *kind, unsigned y, unsigned char *row)
{
    unsigned samples = (unsigned)samples_of(kind->type), bit = 0;
    for (unsigned x = 0; x < W; x++) {
        for (unsigned k = 0; k < samples; k++) {
            unsigned code = code_at(kind, x, y, k);
            if (kind->depth == 16) {
                *row++ = (unsigned char)(code >> 8);
                *row++ = (unsigned char)code;
            } else if (kind->depth == 8) {
                *row++ = (unsigned char)code;
            } else {
                unsigned depth = (unsigned)kind->depth;
                if (bit == 0)
                    *row = 0;
                *row = (unsigned char)(*row | code << (8 - depth - bit));
                bit = (bit + depth) % 8;
                row += bit == 0;
            }
        }
    }
}

typedef void png_extra(png_structp png, png_infop info);

static bytes encode_png(const png_kind *kind, png_extra *extra)
{
    bytes out = {NULL, 0, 0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_set_write_fn(png, &out, png_put, png_flush_nothing);
    png_set_IHDR(png, info, W, H, kind->depth, kind->type, kind->interlace,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (kind->type == PNG_COLOR_TYPE_PALETTE) {
        png_color palette[256];
        for (unsigned i = 0; i < 256; i++)
            palette_entry(i, &palette[i]);
        png_set_PLTE(png, info, palette, 1 << kind->depth);
    }
    if (kind->transparent) {
        png_byte alpha[2] = {255, 64};
        png_color_16 clear = {0, 1, 1, 1, 1};
        png_set_tRNS(png, info, alpha, kind->depth == 1 ? 2 : 1, &clear);
    }
    if (extra != NULL)
        extra(png, info);
    png_write_info(png, info);
    unsigned char image[H][W * 8];
    png_bytep rows[H];
    for (unsigned y = 0; y < H; y++) {
        rows[y] = image[y];
        fill_row(kind, y, image[y]);
    }
    png_write_image(png, rows);
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    return out;
}

/* ---- truth ---- */

static double srgb(double v)
{
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/* Linear light of one channel, alpha laid on white. */
static double truth(const png_kind *kind, unsigned x, unsigned y, unsigned channel)
{
    double most = (double)((1u << kind->depth) - 1);
    unsigned samples = (unsigned)samples_of(kind->type);
    if (kind->type == PNG_COLOR_TYPE_PALETTE) {
        unsigned i = code_at(kind, x, y, 0);
        png_color c;
        palette_entry(i, &c);
        double v = srgb((channel == 0 ? c.red : channel == 1 ? c.green : c.blue) / 255.0);
        double alpha = kind->transparent && kind->depth == 1 && i == 1 ? 64 / 255.0 : 1;
        return alpha * v + 1 - alpha;
    }
    bool gray = samples < 3;
    double v = srgb(code_at(kind, x, y, gray ? 0 : channel) / most);
    double alpha = 1;
    if (samples == 2 || samples == 4)
        alpha = code_at(kind, x, y, samples - 1) / most;
    if (kind->transparent) {
        bool clear = code_at(kind, x, y, 0) == 1;
        if (!gray)
            clear = clear && code_at(kind, x, y, 1) == 1 && code_at(kind, x, y, 2) == 1;
        alpha = clear ? 0 : 1;
    }
    return alpha * v + 1 - alpha;
}

static pv_plane *decode(const bytes *b)
{
    pv_diags *diags = pv_diags_new();
    pv_plane *plane = pv_plane_decode(b->data, b->size, 0, 1000000, diags);
    char *text = diags_text(diags);
    ck_assert_msg(plane != NULL, "%s", text);
    pv_free(text);
    pv_diags_free(diags);
    return plane;
}

/* True where it is refused and the finding holds these facts. */
static void check_refused(const unsigned char *data, size_t size, size_t pixels_max,
                          const char *facts)
{
    pv_diags *diags = pv_diags_new();
    pv_plane *plane = pv_plane_decode(data, size, 0, pixels_max, diags);
    char *text = diags_text(diags);
    ck_assert_msg(plane == NULL, "should be refused: %s", facts);
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
    assert_says(text, facts);
    pv_free(text);
    pv_diags_free(diags);
}

/* ---- the curve ---- */

/* libpng has a table of its own, by which it makes linear maps of the colours of sRGB files. */
START_TEST(curve_is_libpngs)
{
    unsigned char codes[256], shown[256];
    uint16_t linear[256];
    for (int i = 0; i < 256; i++)
        codes[i] = (unsigned char)i;
    unsigned char file[4096];
    png_alloc_size_t size = sizeof file;
    png_image out = {.version = PNG_IMAGE_VERSION, .width = 16, .height = 16};
    out.format = PNG_FORMAT_GRAY;
    ck_assert(png_image_write_to_memory(&out, file, &size, 0, codes, 0, NULL));
    png_image in = {.version = PNG_IMAGE_VERSION};
    ck_assert(png_image_begin_read_from_memory(&in, file, size));
    in.format = PNG_FORMAT_LINEAR_Y | PNG_FORMAT_FLAG_COLORMAP;
    ck_assert(png_image_finish_read(&in, NULL, shown, 0, linear));
    double worst = 0;
    for (int i = 0; i < 256; i++) {
        double theirs = linear[shown[i]];
        worst = fmax(worst, fabs(65535 * pv_srgb_decode(i / 255.0) - theirs));
        worst = fmax(worst, fabs(65535 * srgb(i / 255.0) - theirs)); /* the tests' own, too */
    }
    say_worst("sRGB codes to light against libpng", worst, 0.51, "of 65535");
    ck_assert_double_lt(worst, 0.51);
}
END_TEST

START_TEST(curve_has_the_published_values)
{
    /* Computed from the constants of IEC 61966-2-1; 119 agrees with lcms and scikit-image. */
    static const struct {
        int code;
        double linear;
    } known[] = {{0, 0},
                 {1, 0.000303527},
                 {10, 0.003035270},
                 {11, 0.003346536},
                 {119, 0.184474995},
                 {128, 0.215860500},
                 {188, 0.502886458},
                 {255, 1}};
    double worst = 0, back = 0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        worst = fmax(worst, fabs(pv_srgb_decode(known[i].code / 255.0) - known[i].linear));
        back = fmax(back, fabs(pv_linear_to_srgb(known[i].linear) - known[i].code));
    }
    say_worst("sRGB codes to linear light", worst, 6e-10, "");
    say_worst("and back", back, 1e-4, "codes");
    ck_assert(worst < 6e-10);
    ck_assert(back < 1e-4);
}
END_TEST

/* ---- PNG ---- */

static void check_kind(const png_kind *kind, double *worst)
{
    bytes b = encode_png(kind, NULL);
    pv_plane *plane = decode(&b);
    bool gray = kind->type == PNG_COLOR_TYPE_GRAY || kind->type == PNG_COLOR_TYPE_GRAY_ALPHA;
    ck_assert_uint_eq(plane->width, W);
    ck_assert_uint_eq(plane->height, H);
    ck_assert_int_eq(plane->channels, gray ? 1 : 3);
    ck_assert_int_eq(plane->source, PV_RESOLUTION_ABSENT);
    const uint16_t *s = plane->samples;
    for (unsigned y = 0; y < H; y++)
        for (unsigned x = 0; x < W; x++)
            for (int k = 0; k < plane->channels; k++)
                *worst = fmax(*worst, fabs(*s++ - 65535 * truth(kind, x, y, (unsigned)k)));
    bool two = kind->depth == 1 && gray && !kind->transparent;
    ck_assert_msg(plane->bilevel == (two || (gray && kind->depth == 1)), "type %d depth %d",
                  kind->type, kind->depth);
    pv_plane_free(plane);
    free(b.data);
}

START_TEST(every_kind_of_png_decodes)
{
    static const struct {
        int type, depths[6];
    } kinds[] = {{PNG_COLOR_TYPE_GRAY, {1, 2, 4, 8, 16, 0}},
                 {PNG_COLOR_TYPE_RGB, {8, 16, 0}},
                 {PNG_COLOR_TYPE_PALETTE, {1, 2, 4, 8, 0}},
                 {PNG_COLOR_TYPE_GRAY_ALPHA, {8, 16, 0}},
                 {PNG_COLOR_TYPE_RGB_ALPHA, {8, 16, 0}}};
    double worst = 0;
    int n = 0;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        for (size_t d = 0; kinds[i].depths[d] != 0; d++)
            for (int interlace = 0; interlace < 2; interlace++)
                for (int clear = 0; clear < 2; clear++) {
                    if (clear && (kinds[i].type & PNG_COLOR_MASK_ALPHA) != 0)
                        continue;
                    png_kind kind = {kinds[i].type, kinds[i].depths[d], interlace, clear != 0};
                    check_kind(&kind, &worst);
                    n++;
                }
    printf("    %d kinds of PNG\n", n);
    /* Half a step from rounding each, and alpha blends rounded light. */
    say_worst("PNG samples against the formula", worst, 1.01, "of 65535");
    ck_assert(worst <= 1.01);
}
END_TEST

static void gamma_linear(png_structp png, png_infop info)
{
    png_set_gAMA_fixed(png, info, 100000);
}
static void gamma_srgb(png_structp png, png_infop info)
{
    png_set_gAMA_fixed(png, info, 45455);
}
static void gamma_18(png_structp png, png_infop info)
{
    png_set_gAMA_fixed(png, info, 55556);
}

static double worst_with(png_extra *extra, double exponent)
{
    png_kind kind = {PNG_COLOR_TYPE_GRAY, 8, 0, false};
    bytes b = encode_png(&kind, extra);
    pv_plane *plane = decode(&b);
    double worst = 0;
    for (unsigned y = 0; y < H; y++)
        for (unsigned x = 0; x < W; x++) {
            double v = code_at(&kind, x, y, 0) / 255.0;
            double light = exponent > 0 ? pow(v, exponent) : srgb(v);
            worst = fmax(worst, fabs(plane->samples[y * W + x] - 65535 * light));
        }
    pv_plane_free(plane);
    free(b.data);
    return worst;
}

START_TEST(gamma_chunks_are_heeded)
{
    ck_assert(worst_with(gamma_linear, 1) <= 0.5);
    ck_assert(worst_with(gamma_srgb, 0) <= 0.5);
    ck_assert(worst_with(gamma_18, 100000 / 55556.0) <= 0.5);
}
END_TEST

static void phys_600(png_structp png, png_infop info)
{
    png_set_pHYs(png, info, 23622, 11811, PNG_RESOLUTION_METER);
}
static void phys_unknown(png_structp png, png_infop info)
{
    png_set_pHYs(png, info, 23622, 23622, PNG_RESOLUTION_UNKNOWN);
}
static void phys_screen(png_structp png, png_infop info)
{
    png_set_pHYs(png, info, 2835, 2835, PNG_RESOLUTION_METER);
}
static void phys_absurd(png_structp png, png_infop info)
{
    png_set_pHYs(png, info, 1, 1, PNG_RESOLUTION_METER);
}

static void check_png_resolution(png_extra *extra, pv_resolution_source source, double x, double y)
{
    png_kind kind = {PNG_COLOR_TYPE_GRAY, 8, 0, false};
    bytes b = encode_png(&kind, extra);
    pv_plane *plane = decode(&b);
    ck_assert_int_eq(plane->source, source);
    ck_assert_double_eq_tol(plane->resolution[0], x, 1e-12);
    ck_assert_double_eq_tol(plane->resolution[1], y, 1e-12);
    pv_plane_free(plane);
    free(b.data);
}

START_TEST(png_resolution)
{
    check_png_resolution(phys_600, PV_RESOLUTION_PNG, 23.622, 11.811);
    check_png_resolution(phys_unknown, PV_RESOLUTION_ABSENT, 0, 0);
    check_png_resolution(phys_screen, PV_RESOLUTION_SCREEN, 0, 0);
    check_png_resolution(phys_absurd, PV_RESOLUTION_ABSENT, 0, 0);
}
END_TEST

START_TEST(every_cut_png_is_refused)
{
    png_kind kind = {PNG_COLOR_TYPE_RGB, 8, 1, false};
    bytes b = encode_png(&kind, NULL);
    for (size_t cut = 0; cut < b.size; cut++) {
        unsigned char *part = malloc(cut == 0 ? 1 : cut); /* so that a read too far is noticed */
        memcpy(part, b.data, cut);
        check_refused(part, cut, 1000000, cut == 0 ? "empty" : "");
        free(part);
    }
    free(b.data);
}
END_TEST

START_TEST(damaged_png_is_refused)
{
    png_kind kind = {PNG_COLOR_TYPE_RGB, 8, 0, false};
    bytes b = encode_png(&kind, NULL);
    b.data[b.size - 20] ^= 1; /* in the pixels */
    check_refused(b.data, b.size, 1000000, "PNG");
    free(b.data);
}
END_TEST

START_TEST(limits_come_before_memory)
{
    png_kind kind = {PNG_COLOR_TYPE_RGB, 8, 0, false};
    bytes b = encode_png(&kind, NULL);
    check_refused(b.data, b.size, W * H - 1, "850 pixels");
    b.data[16] = 0x7f; /* a width past two thousand million */
    png_uint_32 crc = (png_uint_32)crc32(0, b.data + 12, 17);
    for (int i = 0; i < 4; i++)
        b.data[29 + i] = (unsigned char)(crc >> (24 - 8 * i));
    check_refused(b.data, b.size, 1000000, SAYS_TOO_LONG_A_SIDE);
    free(b.data);
}
END_TEST

START_TEST(other_files_are_named)
{
    check_refused((const unsigned char *)"%PDF-1.7 ...", 12, 100, "PDF");
    check_refused((const unsigned char *)"II*\0.......", 12, 100, "TIFF");
    check_refused((const unsigned char *)"RIFF....WEBP", 12, 100, "WebP");
    check_refused((const unsigned char *)"a text", 6, 100, "PNG|JPEG");
    check_refused((const unsigned char *)"\x89PNG\n\x1a\n..", 9, 100, SAYS_COPIED_AS_TEXT);
}
END_TEST

/* ---- JPEG ---- */

typedef struct jpeg_kind {
    J_COLOR_SPACE space;
    bool progressive;
    int unit; /* of the JFIF density */
    unsigned density[2];
    const unsigned char *exif;
    size_t exif_size;
} jpeg_kind;

/* Four flat quarters, so that a lossy code keeps them: the quarter's number is 2 * lower + right.
 */
static unsigned char quarter_code(unsigned x, unsigned y, int k)
{
    static const unsigned char codes[4][4] = {
        {255, 255, 255, 0}, {0, 0, 0, 0}, {200, 60, 30, 0}, {20, 90, 180, 0}};
    return codes[(y >= 32) * 2 + (x >= 48)][k];
}

enum { JW = 96, JH = 64 };

/* With an APP2 marker of those bytes, where there are any. */
static bytes encode_jpeg_with(const jpeg_kind *kind, const char *app2, size_t size_2)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    unsigned char *memory = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &memory, &size);
    jpeg.image_width = JW;
    jpeg.image_height = JH;
    jpeg.in_color_space = kind->space;
    jpeg.input_components = kind->space == JCS_GRAYSCALE ? 1 : kind->space == JCS_CMYK ? 4 : 3;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 100, TRUE);
    if (kind->progressive)
        jpeg_simple_progression(&jpeg);
    jpeg.density_unit = (UINT8)kind->unit;
    jpeg.X_density = (UINT16)kind->density[0];
    jpeg.Y_density = (UINT16)kind->density[1];
    jpeg_start_compress(&jpeg, TRUE);
    if (kind->exif != NULL)
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, kind->exif, (unsigned)kind->exif_size);
    if (app2 != NULL)
        jpeg_write_marker(&jpeg, JPEG_APP0 + 2, (const JOCTET *)app2, (unsigned)size_2);
    for (unsigned y = 0; y < JH; y++) {
        unsigned char row[JW * 4], *to = row;
        for (unsigned x = 0; x < JW; x++)
            for (int k = 0; k < jpeg.input_components; k++)
                *to++ = quarter_code(x, y, k);
        JSAMPROW rows[1] = {row};
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    bytes out = {NULL, 0, 0};
    put(&out, memory, size);
    free(memory);
    return out;
}

static bytes encode_jpeg(const jpeg_kind *kind)
{
    return encode_jpeg_with(kind, NULL, 0);
}

/* An EXIF block: orientation, both resolutions, unit. */
static bytes make_exif(bool big, unsigned orientation, unsigned per, unsigned unit)
{
    bytes b = {NULL, 0, 0};
    put(&b, "Exif\0\0", 6);
    unsigned long values[64];
    unsigned sizes[64], n = 0;
#define ADD(v, s) (values[n] = (v), sizes[n++] = (s))
    ADD(big ? 0x4D4D : 0x4949, 2), ADD(42, 2), ADD(8, 4), ADD(4, 2);
    ADD(0x0112, 2), ADD(3, 2), ADD(1, 4), ADD(orientation, 2), ADD(0, 2);
    ADD(0x011A, 2), ADD(5, 2), ADD(1, 4), ADD(62, 4);
    ADD(0x011B, 2), ADD(5, 2), ADD(1, 4), ADD(70, 4);
    ADD(0x0128, 2), ADD(3, 2), ADD(1, 4), ADD(unit, 2), ADD(0, 2);
    ADD(0, 4), ADD(per, 4), ADD(1, 4), ADD(per * 4, 4), ADD(2, 4);
#undef ADD
    for (unsigned i = 0; i < n; i++)
        for (unsigned k = 0; k < sizes[i]; k++) {
            unsigned shift = 8 * (big ? sizes[i] - 1 - k : k);
            unsigned char byte = (unsigned char)(values[i] >> shift);
            put(&b, &byte, 1);
        }
    return b;
}

static double worst_quarter(const pv_plane *plane, const unsigned quarter[4])
{
    static const unsigned at[4][2] = {{1, 1}, {3, 1}, {1, 3}, {3, 3}};
    double worst = 0;
    for (int q = 0; q < 4; q++) {
        size_t x = plane->width * at[q][0] / 4, y = plane->height * at[q][1] / 4;
        for (int k = 0; k < plane->channels; k++) {
            unsigned from = quarter[q];
            double v = srgb(quarter_code((from & 1) != 0 ? 90 : 0, from >= 2 ? 60 : 0, k) / 255.0);
            size_t i = (y * plane->width + x) * (size_t)plane->channels + (size_t)k;
            worst = fmax(worst, fabs(plane->samples[i] / 65535.0 - v));
        }
    }
    return worst;
}

START_TEST(jpeg_decodes)
{
    static const J_COLOR_SPACE spaces[] = {JCS_GRAYSCALE, JCS_RGB};
    static const unsigned same[4] = {0, 1, 2, 3};
    double worst = 0;
    for (int i = 0; i < 4; i++) {
        jpeg_kind kind = {spaces[i / 2], i % 2 == 1, 1, {300, 300}, NULL, 0};
        bytes b = encode_jpeg(&kind);
        pv_plane *plane = decode(&b);
        ck_assert_int_eq(plane->channels, i < 2 ? 1 : 3);
        ck_assert_int_eq(plane->source, PV_RESOLUTION_JFIF);
        ck_assert_double_eq_tol(plane->resolution[0], 300 / 25.4, 1e-12);
        worst = fmax(worst, worst_quarter(plane, same));
        pv_plane_free(plane);
        free(b.data);
    }
    say_worst("JPEG quality 100, flat colours", worst, 0.02, "of 1");
    ck_assert(worst < 0.02);
}
END_TEST

START_TEST(cmyk_jpeg_is_refused)
{
    jpeg_kind kind = {JCS_CMYK, false, 1, {300, 300}, NULL, 0};
    bytes b = encode_jpeg(&kind);
    check_refused(b.data, b.size, 1000000, "CMYK");
    free(b.data);
}
END_TEST

/* Where stored quarters (upper left, upper right, lower left, lower right) come from after each
 * orientation is put right; CIPA DC-008 4.6.4, field Orientation. */
START_TEST(orientation_is_applied)
{
    static const unsigned from[9][4] = {{0, 0, 0, 0}, {0, 1, 2, 3}, {1, 0, 3, 2},
                                        {3, 2, 1, 0}, {2, 3, 0, 1}, {0, 2, 1, 3},
                                        {2, 0, 3, 1}, {3, 1, 2, 0}, {1, 3, 0, 2}};
    double worst = 0;
    for (unsigned o = 1; o <= 8; o++)
        for (int big = 0; big < 2; big++) {
            bytes exif = make_exif(big != 0, o, 300, 2);
            jpeg_kind kind = {JCS_RGB, false, 0, {1, 1}, exif.data, exif.size};
            bytes b = encode_jpeg(&kind);
            pv_plane *plane = decode(&b);
            ck_assert_uint_eq(plane->width, o >= 5 ? JH : JW);
            ck_assert_int_eq(plane->source, PV_RESOLUTION_EXIF);
            ck_assert_double_eq_tol(plane->resolution[o >= 5], 300 / 25.4, 1e-12);
            ck_assert_double_eq_tol(plane->resolution[o < 5], 600 / 25.4, 1e-12);
            worst = fmax(worst, worst_quarter(plane, from[o]));
            pv_plane_free(plane);
            free(b.data);
            free(exif.data);
        }
    say_worst("eight orientations", worst, 0.02, "of 1");
    ck_assert(worst < 0.02);
}
END_TEST

static void check_jpeg_resolution(unsigned jfif_x, unsigned jfif_y, unsigned exif,
                                  unsigned exif_unit, pv_resolution_source source, double x)
{
    bytes block = make_exif(false, 1, exif, exif_unit);
    jpeg_kind kind = {JCS_RGB, false, jfif_x > 0, {jfif_x, jfif_y}, block.data, block.size};
    if (exif == 0)
        kind.exif = NULL;
    bytes b = encode_jpeg(&kind);
    pv_plane *plane = decode(&b);
    ck_assert_int_eq(plane->source, source);
    ck_assert_double_eq_tol(plane->resolution[0], x, 1e-12);
    pv_plane_free(plane);
    free(b.data);
    free(block.data);
}

/* A profile is not read, and said, unless it calls itself sRGB: by ASCII as version 2 of the format
 * has it, or by UTF-16. Only where it is one. */
START_TEST(jpeg_profiles_are_told_of)
{
    static const struct {
        const char *text;
        size_t size;
        size_t notes;
    } known[] = {
        {"ICC_PROFILE\0\1\1 desc Display P3", 30, 1},
        {"ICC_PROFILE\0\1\1 desc sRGB IEC61966-2.1", 39, 0},
        {"ICC_PROFILE\0\1\1 mluc \0s\0R\0G\0B", 28, 0},
        {"FPXR\0 something else", 20, 0},
        {"ICC_PROF", 8, 0},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        jpeg_kind kind = {.space = JCS_RGB, .density = {300, 300}, .unit = 1};
        bytes b = encode_jpeg_with(&kind, known[i].text, known[i].size);
        pv_diags *diags = pv_diags_new();
        pv_plane *plane = pv_plane_decode(b.data, b.size, 0, 1000000, diags);
        ck_assert_ptr_nonnull(plane);
        ck_assert_uint_eq(pv_diags_count(diags, PV_NOTE), known[i].notes);
        if (known[i].notes > 0)
            assert_says(pv_diags_at(diags, 0)->message, "profile");
        pv_plane_free(plane);
        pv_diags_free(diags);
        free(b.data);
    }
}
END_TEST

START_TEST(jpeg_resolution)
{
    check_jpeg_resolution(600, 600, 0, 2, PV_RESOLUTION_JFIF, 600 / 25.4);
    check_jpeg_resolution(0, 0, 0, 2, PV_RESOLUTION_ABSENT, 0);
    check_jpeg_resolution(300, 600, 300, 2, PV_RESOLUTION_EXIF, 300 / 25.4);
    check_jpeg_resolution(300, 599, 118, 3, PV_RESOLUTION_EXIF, 11.8);
    check_jpeg_resolution(301, 600, 300, 2, PV_RESOLUTION_CONFLICT, 0);
    check_jpeg_resolution(72, 72, 300, 2, PV_RESOLUTION_CONFLICT, 0);
    check_jpeg_resolution(72, 72, 0, 2, PV_RESOLUTION_SCREEN, 0);
    check_jpeg_resolution(300, 300, 300, 1, PV_RESOLUTION_JFIF, 300 / 25.4); /* unit: none */
}
END_TEST

/* One field in the directory that the first one points to (CIPA DC-008, 4.6.3 and 4.6.5): a SHORT,
 * or a RATIONAL over 10. */
static bytes make_camera_exif(bool big, unsigned tag, unsigned type, unsigned value)
{
    const unsigned long values[] = {
        big ? 0x4D4D : 0x4949, 42, 8, 1, 0x8769, 4, 1, 26, 0, 1, tag, type, 1};
    static const unsigned sizes[] = {2, 2, 4, 2, 2, 2, 4, 4, 4, 2, 2, 2, 4};
    bytes b = {NULL, 0, 0};
    put(&b, "Exif\0\0", 6);
#define WORD(v, size)                                                                              \
    for (unsigned k = 0; k < (size); k++) {                                                        \
        unsigned char byte = (unsigned char)((v) >> 8 * (big ? (size)-1 - k : k));                 \
        put(&b, &byte, 1);                                                                         \
    }
    for (unsigned i = 0; i < sizeof sizes / sizeof *sizes; i++)
        WORD(values[i], sizes[i])
    if (type == 3) {
        WORD(value, 2u)
        WORD(0u, 2u)
        WORD(0u, 4u)
    } else {
        WORD(44u, 4u)
        WORD(0u, 4u)
        WORD(value, 4u)
        WORD(10u, 4u)
    }
#undef WORD
    return b;
}

static void check_camera(unsigned tag, unsigned type, unsigned value, bool camera, double focal35)
{
    for (int big = 0; big < 2; big++) {
        bytes exif = make_camera_exif(big != 0, tag, type, value);
        jpeg_kind kind = {JCS_RGB, false, 1, {300, 300}, exif.data, exif.size};
        bytes b = encode_jpeg(&kind);
        pv_plane *plane = decode(&b);
        ck_assert_int_eq(plane->camera, camera);
        ck_assert_double_eq(plane->focal35, focal35);
        pv_plane_free(plane);
        free(b.data);
        free(exif.data);
    }
}

START_TEST(a_camera_is_known_by_its_exif)
{
    check_camera(0x829A, 5, 1, true, 0);   /* exposure time */
    check_camera(0x829D, 5, 18, true, 0);  /* aperture */
    check_camera(0x920A, 5, 42, true, 0);  /* focal length */
    check_camera(0xA405, 3, 26, true, 26); /* that on 35 mm film */
    check_camera(0xA405, 3, 0, false, 0);  /* which is "unknown" */
    check_camera(0x829A, 5, 0, false, 0);
    check_camera(0x829A, 3, 1, false, 0); /* of the wrong type */
    check_camera(0xA401, 3, 1, false, 0); /* another field */
}
END_TEST

START_TEST(damaged_exif_is_said_and_left_out)
{
    bytes good = make_exif(false, 6, 300, 2);
    for (size_t size = 6; size < good.size; size++) {
        unsigned char *part = malloc(size);
        memcpy(part, good.data, size);
        jpeg_kind kind = {JCS_RGB, false, 1, {200, 200}, part, size};
        bytes b = encode_jpeg(&kind);
        pv_diags *diags = pv_diags_new();
        pv_plane *plane = pv_plane_decode(b.data, b.size, 0, 1000000, diags);
        ck_assert_ptr_nonnull(plane);
        ck_assert_uint_eq(pv_diags_count(diags, PV_WARNING), 1);
        ck_assert_uint_eq(plane->width, JW);
        ck_assert_int_eq(plane->source, PV_RESOLUTION_JFIF);
        pv_plane_free(plane);
        pv_diags_free(diags);
        free(b.data);
        free(part);
    }
    free(good.data);
}
END_TEST

START_TEST(every_cut_jpeg_is_refused)
{
    for (int progressive = 0; progressive < 2; progressive++) {
        jpeg_kind kind = {JCS_RGB, progressive != 0, 1, {300, 300}, NULL, 0};
        bytes b = encode_jpeg(&kind);
        for (size_t cut = 1; cut < b.size; cut += 3) {
            unsigned char *part = malloc(cut);
            memcpy(part, b.data, cut);
            check_refused(part, cut, 1000000, "");
            free(part);
        }
        free(b.data);
    }
}
END_TEST

/* What libjpeg by itself says of a file, read whole: the first warning's number, -1 where it gave
 * up, 0 where nothing. */
typedef struct reading {
    struct jpeg_error_mgr errors;
    jmp_buf jump;
    int said;
} reading;

static void note_warning(j_common_ptr jpeg, int level)
{
    reading *r = (reading *)jpeg->err;
    if (level < 0 && r->said == 0)
        r->said = jpeg->err->msg_code;
}

static void give_up(j_common_ptr jpeg)
{
    reading *r = (reading *)jpeg->err;
    r->said = -1;
    longjmp(r->jump, 1);
}

static int libjpeg_says(const unsigned char *data, size_t size)
{
    struct jpeg_decompress_struct jpeg;
    reading r = {.said = 0};
    static JSAMPLE row[4 * 4096];
    jpeg.err = jpeg_std_error(&r.errors);
    r.errors.emit_message = note_warning;
    r.errors.error_exit = give_up;
    if (setjmp(r.jump) == 0) {
        jpeg_create_decompress(&jpeg);
        jpeg_mem_src(&jpeg, data, (unsigned long)size);
        jpeg_read_header(&jpeg, TRUE);
        if (jpeg.image_width > 4096 || jpeg.image_height > 4096)
            give_up((j_common_ptr)&jpeg);
        jpeg_start_decompress(&jpeg);
        while (jpeg.output_scanline < jpeg.output_height)
            jpeg_read_scanlines(&jpeg, (JSAMPROW[]){row}, 1);
        jpeg_finish_decompress(&jpeg);
    }
    jpeg_destroy_decompress(&jpeg);
    return r.said;
}

/* A bit flipped anywhere: of what libjpeg complains about, nothing is used but what its message
 * says touches no pixel. */
START_TEST(pictures_called_damaged_are_not_used)
{
    int refused = 0, unnoticed = 0, harmless = 0;
    chance(77);
    for (int progressive = 0; progressive < 2; progressive++) {
        jpeg_kind kind = {JCS_RGB, progressive != 0, 1, {300, 300}, NULL, 0};
        bytes b = encode_jpeg(&kind);
        for (int i = 0; i < 600; i++) {
            size_t at = (size_t)(uniform() * (double)b.size);
            unsigned char bit = (unsigned char)(1u << (unsigned)(uniform() * 8));
            b.data[at] ^= bit;
            int said = libjpeg_says(b.data, b.size);
            bool spared = said == JWRN_JFIF_MAJOR || said == JWRN_NOT_SEQUENTIAL ||
                          said == JWRN_EXTRANEOUS_DATA;
            pv_plane *plane = pv_plane_decode(b.data, b.size, 0, 1000000, NULL);
            ck_assert_msg(plane == NULL || said == 0 || spared, "byte %zu: %d", at, said);
            refused += plane == NULL;
            unnoticed += said == 0;
            harmless += spared && plane != NULL;
            pv_plane_free(plane);
            b.data[at] ^= bit;
        }
        free(b.data);
    }
    printf("    1200 flipped bits: %d refused, %d that libjpeg says nothing of, %d harmless\n",
           refused, unnoticed, harmless);
    ck_assert_int_gt(refused, 300);
    ck_assert_int_lt(harmless, 30);
}
END_TEST

/* ---- reducing ---- */

START_TEST(reducing_averages_light)
{
    uint16_t samples[4 * 6];
    for (size_t i = 0; i < 24; i++)
        samples[i] = i % 2 == 0 ? 65535 : 0;
    pv_plane plane = {.width = 6, .height = 4, .channels = 1, .samples = samples};
    size_t w = 0, h = 0;
    uint8_t *out = pv_plane_reduced(&plane, 2, &w, &h);
    ck_assert_uint_eq(w, 3);
    ck_assert_uint_eq(h, 2);
    for (size_t i = 0; i < 6; i++)
        ck_assert_int_eq(out[i], 188); /* half the light: code 187.5, the published 188 is 0.5029 */
    free(out);
    out = pv_plane_reduced(&plane, 7, &w, &h);
    ck_assert_ptr_nonnull(out);
    ck_assert_uint_eq(w * h, 0);
    free(out);
    /* A colour by its luminance: 0.7152 of green. */
    uint16_t green[3] = {0, 65535, 0};
    pv_plane one = {.width = 1, .height = 1, .channels = 3, .samples = green};
    out = pv_plane_reduced(&one, 1, &w, &h);
    ck_assert_int_eq(out[0], 220); /* 219.93 by IEC 61966-2-1 */
    free(out);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("image");
    TCase *tests = tcase_create("image");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, curve_is_libpngs);
    tcase_add_test(tests, curve_has_the_published_values);
    tcase_add_test(tests, every_kind_of_png_decodes);
    tcase_add_test(tests, gamma_chunks_are_heeded);
    tcase_add_test(tests, png_resolution);
    tcase_add_test(tests, every_cut_png_is_refused);
    tcase_add_test(tests, damaged_png_is_refused);
    tcase_add_test(tests, limits_come_before_memory);
    tcase_add_test(tests, other_files_are_named);
    tcase_add_test(tests, jpeg_decodes);
    tcase_add_test(tests, cmyk_jpeg_is_refused);
    tcase_add_test(tests, orientation_is_applied);
    tcase_add_test(tests, jpeg_profiles_are_told_of);
    tcase_add_test(tests, jpeg_resolution);
    tcase_add_test(tests, a_camera_is_known_by_its_exif);
    tcase_add_test(tests, damaged_exif_is_said_and_left_out);
    tcase_add_test(tests, every_cut_jpeg_is_refused);
    tcase_add_test(tests, pictures_called_damaged_are_not_used);
    tcase_add_test(tests, reducing_averages_light);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
