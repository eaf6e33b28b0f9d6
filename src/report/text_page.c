#include "report/text_page.h"

#include <string.h>

static size_t columns_of(const char *text, size_t length)
{
    size_t n = 0;
    for (size_t i = 0; i < length; i++)
        n += (text[i] & 0xC0) != 0x80;
    return n;
}

size_t pv_columns(const char *text)
{
    return columns_of(text, strlen(text));
}

void pv_put_blanks(pv_text_page *p, size_t n)
{
    pv_text_add(&p->out, "%*s", (int)n, "");
}

void pv_put_plain(pv_text_page *p, const char *text, size_t length)
{
    pv_text_shown(&p->out, text, length, "");
}

/* Where the column starts that `columns` of a text's characters stand before. */
static size_t byte_at(const char *text, size_t columns)
{
    size_t at = 0, seen = 0;
    for (; text[at] != '\0'; at++)
        if ((text[at] & 0xC0) != 0x80 && seen++ == columns)
            break;
    return at;
}

void pv_put_left(pv_text_page *p, const char *text, size_t width)
{
    size_t n = pv_columns(text);
    if (n <= width || width == 0) {
        pv_put_plain(p, text, strlen(text));
        pv_put_blanks(p, n < width ? width - n : 0);
        return;
    }
    size_t tail = (width - 1) / 2, from = byte_at(text, n - tail);
    pv_put_plain(p, text, byte_at(text, width - 1 - tail));
    pv_text_add(&p->out, "\xE2\x80\xA6");
    pv_put_plain(p, text + from, strlen(text) - from);
}

void pv_put_right(pv_text_page *p, const char *text, size_t width)
{
    size_t n = pv_columns(text);
    pv_put_blanks(p, n < width ? width - n : 0);
    pv_text_add(&p->out, "%s", text);
}

void pv_put_number(pv_text_page *p, double value, int decimals, size_t width)
{
    pv_put_right(p, pv_fixed(value, decimals).chars, width);
}

void pv_put_U(pv_text_page *p, double U, int decimals, size_t width)
{
    char text[48] = "\xC2\xB1";
    strncat(text, pv_fixed(U, decimals).chars, sizeof text - 3);
    pv_put_right(p, text, width);
}

void pv_put_off(pv_text_page *p, double error, int decimals, size_t width)
{
    char text[48] = "";
    const pv_digits digits = pv_fixed(error, decimals);
    if (digits.chars[0] != '-' && strspn(digits.chars, "0.") < strlen(digits.chars))
        text[0] = '+';
    strncat(text, digits.chars, sizeof text - 2);
    pv_put_right(p, text, width);
}

static const char *paint(pv_verdict verdict)
{
    return verdict == PV_CONFORMS           ? "\033[1;32m"
           : verdict == PV_DOES_NOT_CONFORM ? "\033[1;31m"
                                            : "\033[1;33m";
}

void pv_put_painted(pv_text_page *p, pv_verdict verdict, const char *text)
{
    pv_text_add(&p->out, "%s%s%s", p->colour ? paint(verdict) : "", text,
                p->colour ? "\033[0m" : "");
}

void pv_put_bold(pv_text_page *p, const char *text)
{
    pv_text_add(&p->out, "%s", p->colour ? "\033[1m" : "");
    pv_put_plain(p, text, strlen(text));
    pv_text_add(&p->out, "%s", p->colour ? "\033[0m" : "");
}

/* Up to the next blank where a line may be broken: not between a number and its "%". */
static size_t word_length(const char *text)
{
    size_t length = strcspn(text, " ");
    while (text[length] == ' ' && text[length + 1] == '%')
        length += 1 + strcspn(text + length + 1, " ");
    return length;
}

void pv_put_words(pv_text_page *p, size_t indent, size_t at, const char *text)
{
    for (bool first = true; *text != '\0'; first = false) {
        size_t length = word_length(text);
        size_t columns = columns_of(text, length);
        if (!first && at + 1 + columns > PV_COLUMNS) {
            pv_text_add(&p->out, "\n");
            pv_put_blanks(p, indent);
            at = indent;
        } else if (!first) {
            pv_text_add(&p->out, " ");
            at++;
        }
        pv_put_plain(p, text, length);
        at += columns;
        text += length + (text[length] == ' ');
    }
    pv_text_add(&p->out, "\n");
}

void pv_put_wrapped(pv_text_page *p, const char *lead, const char *text)
{
    pv_text_add(&p->out, "%s", lead);
    pv_put_words(p, pv_columns(lead), pv_columns(lead), text);
}
