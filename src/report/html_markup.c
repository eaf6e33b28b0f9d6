/* Characters, numbers and bytes as HTML wants them. */
#include "report/html.h"

#include <string.h>

static void add_digits(pv_text *to, double value, int decimals, bool plus)
{
    const pv_digits digits = pv_fixed(value, decimals);
    const char *chars = digits.chars;
    bool number = chars[chars[0] == '-'] != '\0';
    bool zero = strspn(chars, "0.") == strlen(chars);
    if (!number)
        pv_text_add(to, "\xE2\x80\x93");
    else if (chars[0] == '-')
        pv_text_add(to, "\xE2\x88\x92%s", chars + 1);
    else
        pv_text_add(to, "%s%s", plus && !zero ? "+" : "", chars);
}

void pv_html_number(pv_text *to, double value, int decimals)
{
    add_digits(to, value, decimals, false);
}

void pv_html_signed(pv_text *to, double value, int decimals)
{
    add_digits(to, value, decimals, true);
}

void pv_html_uncertainty(pv_text *to, double U, int decimals)
{
    pv_text_add(to, "\xC2\xB1");
    add_digits(to, U, decimals, false);
}

void pv_html_base64(pv_text *to, const unsigned char *bytes, size_t size)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char line[4096];
    size_t used = 0;
    for (size_t i = 0; i < size; i += 3) {
        size_t left = size - i;
        unsigned long three = (unsigned long)bytes[i] << 16;
        three |= left > 1 ? (unsigned long)bytes[i + 1] << 8 : 0;
        three |= left > 2 ? bytes[i + 2] : 0;
        for (size_t k = 0; k < 4; k++)
            line[used++] = k <= left ? letters[three >> (18 - 6 * k) & 63] : '=';
        if (used == sizeof line) {
            pv_text_bytes(to, line, used);
            used = 0;
        }
    }
    pv_text_bytes(to, line, used);
}
