/* How much a PDF's tables come to, before libqpdf unpacks them all without a limit: a file of a
 * megabyte can ask for a gigabyte, and more if packed twice.
 *
 * Every stream that its own dictionary doesn't make a picture is measured: one that zlib reads by
 * unpacking it, any other by the most that its filters can make of its bytes. A place counts as a
 * stream wherever the keyword stands behind a dictionary, since a table of a stranger may point
 * there. */
#include "image/pdf.h"

#include <string.h>

#define ZLIB_CONST /* what is read stays as it is */
#include <zlib.h>

#define TABLES_BYTES_MAX ((uint64_t)256 << 20)
#define STREAMS_MAX      200000 /* that are looked at: no scan has as many */
#define LOOK_BACK        4096   /* bytes of a dictionary; a longer one is no picture's */
#define MOST_OF_ONE      1500   /* bytes that a filter makes of one: Flate 1032, LZW some 1400 */

static const unsigned char *find(const unsigned char *from, const unsigned char *end,
                                 const char *what)
{
    size_t n = strlen(what);
    while (from < end && (size_t)(end - from) >= n) {
        const unsigned char *at = memchr(from, what[0], (size_t)(end - from) - n + 1);
        if (at == NULL)
            return NULL;
        if (memcmp(at, what, n) == 0)
            return at;
        from = at + 1;
    }
    return NULL;
}

static size_t count(const unsigned char *from, const unsigned char *end, const char *what)
{
    size_t n = 0;
    while ((from = find(from, end, what)) != NULL) {
        n++;
        from += strlen(what);
    }
    return n;
}

static bool is_blank(int c)
{
    return c == 0 || c == '\t' || c == '\n' || c == '\f' || c == '\r' || c == ' ';
}

/* The dictionary before the keyword says that it is a picture, in so many words. */
static bool is_picture(const unsigned char *from, const unsigned char *end)
{
    if (find(from, end, "#") != NULL || find(from, end, "/Image") == NULL)
        return false;
    while ((from = find(from, end, "/Type")) != NULL) {
        from += 5;
        while (from < end && is_blank(*from))
            from++;
        if (end - from < 8 || memcmp(from, "/XObject", 8) != 0)
            return false;
    }
    return true;
}

/* What comes of the bytes by zlib, up to `most`; 0 where they are none of its. Where that is packed
 * again, the most that it can become. */
static uint64_t unpacked(const unsigned char *from, size_t size, uint64_t most)
{
    static const uInt part = 1u << 30;
    unsigned char out[16384] = {0};
    z_stream z = {.next_in = from, .avail_in = size < part ? (uInt)size : part};
    uint64_t sum = 0;
    int status = inflateInit(&z) == Z_OK ? Z_OK : Z_MEM_ERROR;
    uint64_t each = 1;
    while (status == Z_OK && sum * each <= most) {
        z.next_out = out;
        z.avail_out = sizeof out;
        status = inflate(&z, Z_NO_FLUSH);
        size_t n = sizeof out - z.avail_out;
        if (sum == 0 && n >= 2 && out[0] % 16 == 8 && (out[0] * 256u + out[1]) % 31 == 0)
            each = MOST_OF_ONE;
        sum += n;
    }
    inflateEnd(&z);
    return sum * each;
}

static uint64_t cost(const unsigned char *dictionary, const unsigned char *keyword,
                     const unsigned char *data, const unsigned char *end, uint64_t most)
{
    uint64_t sum = unpacked(data, (size_t)(end - data), most);
    if (sum > 0 || find(dictionary, keyword, "Filter") == NULL)
        return sum;
    size_t filters = count(dictionary, keyword, "Fl") + count(dictionary, keyword, "LZW") +
                     count(dictionary, keyword, "RL") + count(dictionary, keyword, "Run");
    sum = (uint64_t)(end - data) * MOST_OF_ONE;
    for (size_t i = 1; i < filters && sum <= most; i++)
        sum *= MOST_OF_ONE;
    return sum;
}

bool pv_pdf_guard(const unsigned char *bytes, size_t size, pv_diags *diags)
{
    const unsigned char *end = bytes + size, *at = bytes, *data_end = bytes;
    uint64_t sum = 0;
    for (size_t n = 0; (at = find(at, end, "stream")) != NULL; at += 6) {
        const unsigned char *back = at, *first = at - bytes > LOOK_BACK ? at - LOOK_BACK : bytes;
        while (back > first && is_blank(back[-1]))
            back--;
        if (back - first < 2 || back[-1] != '>' || back[-2] != '>')
            continue;
        const unsigned char *dictionary = first, *object;
        while ((object = find(dictionary, back, "obj")) != NULL)
            dictionary = object + 3;
        const unsigned char *data = at + 6;
        data += data < end && *data == '\r';
        data += data < end && *data == '\n';
        if (data_end < data) {
            data_end = find(data, end, "endstream");
            data_end = data_end != NULL ? data_end : end;
        }
        if (!is_picture(dictionary, back))
            sum += cost(dictionary, back, data, data_end, TABLES_BYTES_MAX - sum);
        if (++n <= STREAMS_MAX && sum <= TABLES_BYTES_MAX)
            continue;
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, PV_PDF_SAVE_AS,
                     "the PDF's tables and texts come to more than %u MiB, which no scan needs",
                     (unsigned)(TABLES_BYTES_MAX >> 20));
        return false;
    }
    return true;
}
