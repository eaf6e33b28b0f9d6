/* A picture's dictionary (ISO 32000-1, 8.9.5) read into what its decoder needs. */
#include "image/pdf_picture.h"

#include "po/po.h"

#include <stdlib.h>
#include <string.h>

#define PROFILE_BYTES_MAX ((size_t)16 << 20) /* with what is made on the way */
#define PALETTE_BYTES_MAX ((size_t)64 << 10)
#define CODED_MORE        ((size_t)1 << 20) /* a small picture's profile and the like */
#define FILTERS_MAX       8

/* ---- objects ---- */

qpdf_oh pv_pdf_member(qpdf_data pdf, qpdf_oh object, const char *key)
{
    if (qpdf_oh_is_stream(pdf, object))
        object = qpdf_oh_get_dict(pdf, object);
    if (!qpdf_oh_is_dictionary(pdf, object))
        return qpdf_oh_new_null(pdf);
    return qpdf_oh_get_key(pdf, object, key);
}

static qpdf_oh item(qpdf_data pdf, qpdf_oh array, int i)
{
    if (!qpdf_oh_is_array(pdf, array) || i >= qpdf_oh_get_array_n_items(pdf, array))
        return qpdf_oh_new_null(pdf);
    return qpdf_oh_get_array_item(pdf, array, i);
}

double pv_pdf_number(qpdf_data pdf, qpdf_oh object, double other)
{
    return qpdf_oh_is_number(pdf, object) ? qpdf_oh_get_numeric_value(pdf, object) : other;
}

static long long whole(qpdf_data pdf, qpdf_oh object, long long other)
{
    return qpdf_oh_is_integer(pdf, object) ? qpdf_oh_get_int_value(pdf, object) : other;
}

static bool truth(qpdf_data pdf, qpdf_oh object)
{
    return qpdf_oh_is_bool(pdf, object) && qpdf_oh_get_bool_value(pdf, object);
}

static bool named(qpdf_data pdf, qpdf_oh object, const char *name)
{
    return qpdf_oh_is_name_and_equals(pdf, object, name);
}

bool pv_pdf_stored(qpdf_data pdf, qpdf_oh stream, pv_bytes *out, pv_diags *diags)
{
    *out = (pv_bytes){NULL, 0};
    QPDF_ERROR_CODE code =
        qpdf_oh_get_stream_data(pdf, stream, qpdf_dl_none, NULL, &out->data, &out->size);
    if ((code & QPDF_ERRORS) == 0 && out->data != NULL)
        return true;
    free(out->data);
    *out = (pv_bytes){NULL, 0};
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                 "the PDF is damaged: data of its page are missing");
    return false;
}

/* ---- filters ---- */

typedef struct filters {
    pv_pdf_filter kind[FILTERS_MAX];
    qpdf_oh parameters[FILTERS_MAX];
    size_t n;
    const char *unknown; /* what pavior doesn't read, or NULL */
} filters;

static pv_pdf_filter filter_of(qpdf_data pdf, qpdf_oh name, const char **unknown)
{
    static const struct {
        const char *name, *shorter;
        pv_pdf_filter kind;
        const char *unknown;
    } known[] = {{"/FlateDecode", "/Fl", PV_FILTER_FLATE, NULL},
                 {"/DCTDecode", "/DCT", PV_FILTER_JPEG, NULL},
                 {"/CCITTFaxDecode", "/CCF", PV_FILTER_FAX, NULL},
                 {"/LZWDecode", "/LZW", PV_FILTER_LZW, NULL},
                 {"/RunLengthDecode", "/RL", PV_FILTER_RUNS, NULL},
                 {"/ASCII85Decode", "/A85", PV_FILTER_85, NULL},
                 {"/ASCIIHexDecode", "/AHx", PV_FILTER_HEX, NULL},
                 {"/JBIG2Decode", "/JBIG2Decode", PV_FILTER_UNKNOWN, "JBIG2"},
                 {"/JPXDecode", "/JPXDecode", PV_FILTER_UNKNOWN, "JPEG 2000"}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (named(pdf, name, known[i].name) || named(pdf, name, known[i].shorter)) {
            if (known[i].unknown != NULL)
                *unknown = known[i].unknown;
            return known[i].kind;
        }
    *unknown = "an unknown way";
    return PV_FILTER_UNKNOWN;
}

static filters read_filters(qpdf_data pdf, qpdf_oh stream)
{
    filters out = {.n = 0};
    qpdf_oh filter = pv_pdf_member(pdf, stream, "/Filter");
    qpdf_oh parameters = pv_pdf_member(pdf, stream, "/DecodeParms");
    bool list = qpdf_oh_is_array(pdf, filter);
    int n = list ? qpdf_oh_get_array_n_items(pdf, filter) : !qpdf_oh_is_null(pdf, filter);
    if (n > FILTERS_MAX)
        out.unknown = PV_SAID("too many ways at once");
    for (int i = 0; i < n && out.unknown == NULL; i++) {
        out.kind[out.n] = filter_of(pdf, list ? item(pdf, filter, i) : filter, &out.unknown);
        out.parameters[out.n++] =
            qpdf_oh_is_array(pdf, parameters) ? item(pdf, parameters, i) : parameters;
    }
    return out;
}

static void refuse(pv_diags *diags, const char *what)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_PDF_SAVE_AS, "%s", what);
}

static void spend(size_t *budget, size_t bytes)
{
    *budget -= bytes < *budget ? bytes : *budget;
}

/* Undoes the first n filters; what each makes is taken from the budget. */
static bool undo_first(const filters *all, size_t n, size_t *budget, pv_bytes *data,
                       pv_diags *diags)
{
    for (size_t i = 0; i < n; i++) {
        pv_bytes next;
        if (all->kind[i] > PV_FILTER_FLATE) {
            refuse(diags, "the PDF packs its data in a way that pavior does not read");
            return false;
        }
        if (!pv_pdf_undo(all->kind[i], data->data, data->size, *budget, &next, diags))
            return false;
        spend(budget, next.size);
        free(data->data);
        *data = next;
    }
    return true;
}

bool pv_pdf_unpacked(qpdf_data pdf, qpdf_oh stream, size_t *budget, pv_bytes *out, pv_diags *diags)
{
    filters all = read_filters(pdf, stream);
    if (!pv_pdf_stored(pdf, stream, out, diags))
        return false;
    spend(budget, out->size);
    if (all.unknown == NULL && undo_first(&all, all.n, budget, out, diags))
        return true;
    if (all.unknown != NULL)
        refuse(diags, "the PDF packs its data in a way that pavior does not read");
    free(out->data);
    *out = (pv_bytes){NULL, 0};
    return false;
}

/* ---- colours (8.6) ---- */

static bool is_calibrated(qpdf_data pdf, qpdf_oh space)
{
    qpdf_oh family = item(pdf, space, 0);
    return named(pdf, family, "/CalGray") || named(pdf, family, "/CalRGB");
}

/* A calibrated space with a curve near that of sRGB, whose closest power is 2.2: all of its
 * exponents lie within 0.1 of that (assumed). They are 1, linear, where they aren't stated
 * (8.6.5.2). */
static bool is_near_srgb(qpdf_data pdf, qpdf_oh space, int samples)
{
    qpdf_oh gamma = pv_pdf_member(pdf, item(pdf, space, 1), "/Gamma");
    bool near = true;
    for (int i = 0; i < samples; i++) {
        double power = pv_pdf_number(pdf, samples == 1 ? gamma : item(pdf, gamma, i), 1);
        near = near && power >= 2.1 && power <= 2.3;
    }
    return near;
}

/* Samples a pixel: 1 grey, 3 red, green and blue; 0 where it is another space. An ICC profile
 * stands for the space of as many samples. */
static unsigned samples_of(qpdf_data pdf, qpdf_oh space)
{
    qpdf_oh family = qpdf_oh_is_array(pdf, space) ? item(pdf, space, 0) : space;
    if (named(pdf, family, "/DeviceGray") || named(pdf, family, "/G"))
        return 1;
    if (named(pdf, family, "/DeviceRGB") || named(pdf, family, "/RGB"))
        return 3;
    if (is_calibrated(pdf, space)) {
        int samples = named(pdf, family, "/CalGray") ? 1 : 3;
        return is_near_srgb(pdf, space, samples) ? (unsigned)samples : 0;
    }
    if (!named(pdf, family, "/ICCBased"))
        return 0;
    long long n = whole(pdf, pv_pdf_member(pdf, item(pdf, space, 1), "/N"), 0);
    return n == 1 || n == 3 ? (unsigned)n : 0;
}

static void note_profile(qpdf_data pdf, qpdf_oh space, pv_diags *diags)
{
    pv_bytes profile;
    size_t budget = PROFILE_BYTES_MAX;
    if (!named(pdf, item(pdf, space, 0), "/ICCBased") ||
        !pv_pdf_unpacked(pdf, item(pdf, space, 1), &budget, &profile, NULL))
        return;
    if (!pv_profile_is_srgb(profile.data, profile.size))
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, PV_PROFILE_UNREAD);
    free(profile.data);
}

static bool is_indexed(qpdf_data pdf, qpdf_oh space)
{
    qpdf_oh family = item(pdf, space, 0);
    return named(pdf, family, "/Indexed") || named(pdf, family, "/I");
}

/* [/Indexed base highest table] (8.6.6.3). */
static bool read_palette(qpdf_data pdf, qpdf_oh space, pv_pdf_samples *out)
{
    unsigned base = samples_of(pdf, item(pdf, space, 1));
    long long highest = whole(pdf, item(pdf, space, 2), -1);
    qpdf_oh table = item(pdf, space, 3);
    pv_bytes bytes = {NULL, 0};
    const unsigned char *from = NULL;
    size_t budget = PALETTE_BYTES_MAX;
    if (qpdf_oh_is_string(pdf, table))
        from = (const unsigned char *)qpdf_oh_get_binary_string_value(pdf, table, &bytes.size);
    else if (qpdf_oh_is_stream(pdf, table) && pv_pdf_unpacked(pdf, table, &budget, &bytes, NULL))
        from = bytes.data;
    bool good = base > 0 && highest >= 0 && highest < 256 && from != NULL && out->bits <= 8;
    if (good) {
        out->colours = (size_t)highest + 1;
        out->samples = 1;
        if (out->colours > (size_t)1 << out->bits)
            out->colours = (size_t)1 << out->bits;
        for (size_t i = 0; i < out->colours; i++)
            for (size_t k = 0; k < 3; k++) {
                size_t at = i * base + (base == 3 ? k : 0);
                out->palette[i][k] = at < bytes.size ? from[at] : 0;
            }
    }
    free(bytes.data);
    return good;
}

/* Of a palette that has a colour for each sample: the last for the first. */
static bool turn_palette(pv_pdf_samples *out)
{
    bool whole = out->colours == (size_t)1 << out->bits;
    for (size_t i = 0, k = out->colours - 1; whole && i < k; i++, k--) {
        unsigned char first[3];
        memcpy(first, out->palette[i], 3);
        memcpy(out->palette[i], out->palette[k], 3);
        memcpy(out->palette[k], first, 3);
    }
    out->negative = false;
    return whole;
}

/* Decode: as it is, or all samples from highest to lowest. False where it is anything else. */
static bool read_decode(qpdf_data pdf, qpdf_oh stream, pv_pdf_samples *out)
{
    qpdf_oh decode = pv_pdf_member(pdf, stream, "/Decode");
    if (!qpdf_oh_is_array(pdf, decode))
        return true;
    double first = pv_pdf_number(pdf, item(pdf, decode, 0), -1);
    double top = out->colours > 0 ? (double)((1u << out->bits) - 1) : 1;
    out->negative = first != 0;
    for (int i = 0; i < 2 * (int)out->samples; i++)
        if (pv_pdf_number(pdf, item(pdf, decode, i), -1) !=
            ((i % 2 == 0) == out->negative ? top : 0))
            return false;
    return out->colours == 0 || !out->negative || turn_palette(out);
}

static bool read_colours(qpdf_data pdf, qpdf_oh stream, pv_pdf_samples *out, pv_diags *diags)
{
    qpdf_oh space = pv_pdf_member(pdf, stream, "/ColorSpace");
    bool mask = truth(pdf, pv_pdf_member(pdf, stream, "/ImageMask"));
    out->samples = mask ? 1 : samples_of(pdf, space);
    if (mask || (out->filter == PV_FILTER_FAX && qpdf_oh_is_null(pdf, space)))
        out->bits = out->samples = 1;
    bool good = out->samples > 0;
    if (!good && is_indexed(pdf, space))
        good = read_palette(pdf, space, out);
    if (!good) {
        refuse(diags,
               named(pdf, space, "/DeviceCMYK")
                   ? PV_SAID("the PDF's picture is in CMYK, which pavior cannot convert to light")
                   : PV_SAID("the PDF's picture is in a colour space that pavior cannot "
                             "convert to light"));
        return false;
    }
    note_profile(pdf, space, diags);
    if (read_decode(pdf, stream, out))
        return true;
    refuse(diags, "the PDF's picture has its colours shifted in a way that pavior does not read");
    return false;
}

/* ---- the picture ---- */

bool pv_pdf_picture_size(qpdf_data pdf, qpdf_oh stream, size_t *columns, size_t *rows)
{
    long long width = whole(pdf, pv_pdf_member(pdf, stream, "/Width"), 0);
    long long height = whole(pdf, pv_pdf_member(pdf, stream, "/Height"), 0);
    if (width < 1 || height < 1 || width > PV_IMAGE_SIDE_MAX || height > PV_IMAGE_SIDE_MAX)
        return false;
    *columns = (size_t)width;
    *rows = (size_t)height;
    return true;
}

bool pv_pdf_picture_is_gray(qpdf_data pdf, qpdf_oh stream)
{
    qpdf_oh space = pv_pdf_member(pdf, stream, "/ColorSpace");
    return truth(pdf, pv_pdf_member(pdf, stream, "/ImageMask")) || samples_of(pdf, space) == 1 ||
           qpdf_oh_is_null(pdf, space);
}

static void swap_colours(pv_pdf_samples *out)
{
    unsigned char first[3];
    memcpy(first, out->palette[0], 3);
    memcpy(out->palette[0], out->palette[1], 3);
    memcpy(out->palette[1], first, 3);
    out->colours = 2;
}

/* What the last filter's parameters say; false where pavior doesn't read them. */
static bool read_parameters(qpdf_data pdf, qpdf_oh from, pv_pdf_samples *out)
{
    out->predictor = whole(pdf, pv_pdf_member(pdf, from, "/Predictor"), 1);
    bool rows = out->predictor > 1 && out->filter != PV_FILTER_FAX;
    if (rows &&
        (whole(pdf, pv_pdf_member(pdf, from, "/Colors"), 1) != (long long)out->samples ||
         whole(pdf, pv_pdf_member(pdf, from, "/BitsPerComponent"), 8) != (long long)out->bits ||
         whole(pdf, pv_pdf_member(pdf, from, "/Columns"), 1) != (long long)out->columns))
        return false;
    if (out->filter ==
        PV_FILTER_JPEG) /* ColorTransform: whether red, green and blue are as stored */
        return out->bits == 8 && out->colours == 0 &&
               (out->samples == 1 ||
                whole(pdf, pv_pdf_member(pdf, from, "/ColorTransform"), 1) != 0);
    if (out->filter == PV_FILTER_LZW)
        return out->predictor <= 2 && whole(pdf, pv_pdf_member(pdf, from, "/EarlyChange"), 1) == 1;
    if (out->filter != PV_FILTER_FAX)
        return true;
    out->predictor = 1;
    out->k = whole(pdf, pv_pdf_member(pdf, from, "/K"), 0);
    out->aligned = truth(pdf, pv_pdf_member(pdf, from, "/EncodedByteAlign"));
    bool black_is_1 = truth(pdf, pv_pdf_member(pdf, from, "/BlackIs1"));
    if (out->colours == 0)
        out->negative = out->negative != black_is_1;
    else if (!black_is_1) /* the coding's black runs are 1 in a TIFF */
        swap_colours(out);
    return whole(pdf, pv_pdf_member(pdf, from, "/Columns"), 1728) == (long long)out->columns &&
           out->bits == 1 && out->samples == 1 && !(out->aligned && out->k < 0);
}

static bool describe(qpdf_data pdf, qpdf_oh stream, const filters *all, pv_pdf_samples *out,
                     pv_diags *diags)
{
    qpdf_oh soft = pv_pdf_member(pdf, stream, "/SMask");
    qpdf_oh hard = pv_pdf_member(pdf, stream, "/Mask");
    if (all->unknown != NULL) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_PDF_SAVE_AS,
                     "the PDF's picture is compressed by %s, which pavior does not read",
                     pv_say(pv_diags_language(diags), all->unknown));
        return false;
    }
    if (!qpdf_oh_is_null(pdf, soft) || !qpdf_oh_is_null(pdf, hard)) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_PDF_SAVE_FLAT, PV_PDF_LAYERED);
        return false;
    }
    out->filter = all->n > 0 ? all->kind[all->n - 1] : PV_FILTER_UNKNOWN;
    long long bits = whole(pdf, pv_pdf_member(pdf, stream, "/BitsPerComponent"),
                           out->filter == PV_FILTER_JPEG  ? 8
                           : out->filter == PV_FILTER_FAX ? 1
                                                          : 0);
    out->bits = bits > 0 && bits <= 16 ? (unsigned)bits : 0;
    if (!pv_pdf_picture_size(pdf, stream, &out->columns, &out->rows) ||
        !read_colours(pdf, stream, out, diags))
        return false;
    bool whole_bits = out->bits > 0 && out->bits <= 16 && (out->bits & (out->bits - 1)) == 0;
    if (whole_bits && (all->n == 0 || read_parameters(pdf, all->parameters[all->n - 1], out)))
        return true;
    refuse(diags, "the PDF's picture is packed in a way that pavior does not read");
    return false;
}

pv_plane *pv_pdf_picture_decode(qpdf_data pdf, qpdf_oh stream, const pv_wanted *wanted,
                                pv_diags *diags)
{
    filters all = read_filters(pdf, stream);
    pv_pdf_samples how = {.filter = PV_FILTER_UNKNOWN, .predictor = 1};
    pv_bytes data;
    if (!describe(pdf, stream, &all, &how, diags) || !pv_pdf_stored(pdf, stream, &data, diags))
        return NULL;
    size_t bytes = (how.columns * how.samples * how.bits + 7) / 8 * how.rows;
    size_t budget = 4 * bytes + CODED_MORE;
    if (budget > 2 * (size_t)PV_IMAGE_BYTES_MAX)
        budget = 2 * (size_t)PV_IMAGE_BYTES_MAX;
    size_t first = all.n;
    if (first > 0 && how.filter >= PV_FILTER_FLATE)
        first--; /* the picture's own decoder undoes it */
    else
        how.filter = PV_FILTER_UNKNOWN;
    pv_plane *plane = NULL;
    if (undo_first(&all, first, &budget, &data, diags))
        plane = pv_pdf_samples_decode(&how, &data, wanted, diags);
    free(data.data);
    bool turned = wanted->orientation >= 5;
    if (plane != NULL && (plane->width != (turned ? how.rows : how.columns) ||
                          plane->height != (turned ? how.columns : how.rows))) {
        refuse(diags, "the PDF is damaged: its picture has another size than it says");
        pv_plane_free(plane);
        plane = NULL;
    }
    if (plane != NULL && how.filter == PV_FILTER_JPEG && plane->channels != (int)how.samples) {
        refuse(diags, "the PDF is damaged: its picture has other colours than it says");
        pv_plane_free(plane);
        plane = NULL;
    }
    return plane;
}
