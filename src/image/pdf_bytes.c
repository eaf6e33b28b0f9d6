/* Undoes the codings of PDF streams that stand before the picture's own: text codings, runs, and
 * Flate by zlib. */
#include "image/pdf.h"

#include <stdlib.h>
#include <string.h>

#define ZLIB_CONST /* what is read stays as it is */
#include <zlib.h>

typedef struct growing {
    pv_bytes out;
    size_t capacity, most;
    bool failed; /* memory ran out */
} growing;

/* Appends; false where there is no more to be had. */
static bool put(growing *to, const void *bytes, size_t n)
{
    size_t room = to->most - to->out.size, take = n < room ? n : room;
    if (!pv_reserve((void **)&to->out.data, &to->capacity, to->out.size + take, 1)) {
        to->failed = true;
        return false;
    }
    if (take > 0)
        memcpy(to->out.data + to->out.size, bytes, take);
    to->out.size += take;
    return take == n;
}

static bool is_blank(int c)
{
    return c == 0 || c == '\t' || c == '\n' || c == '\f' || c == '\r' || c == ' ';
}

static int hex(int c)
{
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

/* 7.4.2: pairs of digits to ">"; a missing last one is 0. */
static void undo_hex(growing *to, const unsigned char *bytes, size_t size)
{
    int high = -1;
    for (size_t i = 0; i < size && bytes[i] != '>'; i++) {
        int digit = hex(bytes[i]);
        if (digit < 0)
            continue;
        unsigned char byte = (unsigned char)(16 * high + digit);
        if (high >= 0 && !put(to, &byte, 1))
            return;
        high = high >= 0 ? -1 : digit;
    }
    unsigned char last = (unsigned char)(16 * high);
    if (high >= 0)
        put(to, &last, 1);
}

/* 7.4.3: five digits to the base 85 for four bytes, "z" for four zeros, to "~". */
static void undo_85(growing *to, const unsigned char *bytes, size_t size)
{
    unsigned digits = 0;
    uint32_t value = 0;
    for (size_t i = 0; i < size && bytes[i] != '~'; i++) {
        unsigned char c = bytes[i], four[4] = {0, 0, 0, 0};
        bool zeros = c == 'z' && digits == 0;
        if (!zeros && (is_blank(c) || c < '!' || c > 'u'))
            continue;
        value = zeros ? 0 : value * 85 + (c - '!');
        digits = zeros ? 5 : digits + 1;
        if (digits < 5)
            continue;
        for (int k = 0; k < 4; k++)
            four[k] = (unsigned char)(value >> (24 - 8 * k));
        if (!put(to, four, 4))
            return;
        digits = 0;
        value = 0;
    }
    if (digits < 2)
        return;
    for (unsigned k = digits; k < 5; k++)
        value = value * 85 + 84;
    for (unsigned k = 0; k + 1 < digits; k++) {
        unsigned char byte = (unsigned char)(value >> (24 - 8 * k));
        if (!put(to, &byte, 1))
            return;
    }
}

/* 7.4.5: below 128 that many and one more bytes as they are, above 128 one byte 257 - n times. */
static void undo_runs(growing *to, const unsigned char *bytes, size_t size)
{
    size_t i = 0;
    while (i < size && bytes[i] != 128) {
        size_t n = bytes[i++];
        unsigned char run[129];
        if (n < 128) {
            size_t take = n + 1 < size - i ? n + 1 : size - i;
            if (!put(to, bytes + i, take))
                return;
            i += take;
        } else if (i < size) {
            memset(run, bytes[i++], sizeof run);
            if (!put(to, run, 257 - n))
                return;
        }
    }
}

static bool undo_flate(growing *to, const unsigned char *bytes, size_t size)
{
    unsigned char part[16384];
    z_stream z = {.next_in = bytes, .avail_in = 0};
    if (inflateInit(&z) != Z_OK) {
        to->failed = true;
        return false;
    }
    int status = Z_OK;
    size_t left = size;
    bool room = true;
    while (status == Z_OK && room && (left > 0 || z.avail_in > 0)) {
        if (z.avail_in == 0) {
            z.avail_in = left < 1u << 30 ? (uInt)left : 1u << 30;
            left -= z.avail_in;
        }
        z.next_out = part;
        z.avail_out = sizeof part;
        status = inflate(&z, Z_NO_FLUSH);
        room = put(to, part, sizeof part - z.avail_out);
    }
    inflateEnd(&z);
    to->failed = to->failed || status == Z_MEM_ERROR;
    return status == Z_STREAM_END || !room;
}

bool pv_pdf_undo(pv_pdf_filter filter, const unsigned char *bytes, size_t size, size_t most,
                 pv_bytes *out, pv_diags *diags)
{
    growing to = {.most = most};
    bool good = true;
    if (filter == PV_FILTER_HEX)
        undo_hex(&to, bytes, size);
    else if (filter == PV_FILTER_85)
        undo_85(&to, bytes, size);
    else if (filter == PV_FILTER_RUNS)
        undo_runs(&to, bytes, size);
    else
        good = undo_flate(&to, bytes, size);
    if (!to.failed && to.out.data == NULL)
        to.failed = !pv_reserve((void **)&to.out.data, &to.capacity, 1, 1);
    *out = to.out;
    if (good && !to.failed)
        return true;
    if (to.failed)
        pv_fail_memory(diags);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, PV_COPY_AGAIN,
                     "the PDF is damaged: compressed data end before their time");
    free(out->data);
    *out = (pv_bytes){NULL, 0};
    return false;
}
