#include "po/po.h"

#include <stdint.h>
#include <string.h>

/* A PO file as msgfmt compiles it, little-endian (GNU gettext's manual, "The Format of GNU MO
 * Files"): at byte 8 how many texts, at 12 and 16 where the tables of English texts, in order, and
 * of translations begin. A row of a table is a text's length and where it begins; a zero byte
 * follows each text. A text that stands at a certain place has that place and a byte 4 before it;
 * one that counts has its forms one after the other, each with its zero. */
struct pv_language {
    const char *code, *name;
    const unsigned char *table; /* NULL: English */
};

extern const unsigned char pv_po_de[];

/* Each has two forms of a text that counts: of one, and of none or several. */
static const pv_language languages[] = {{"en", "English", NULL}, {"de", "Deutsch", pv_po_de}};

#define N_LANGUAGES (sizeof languages / sizeof *languages)

const pv_language *pv_language_at(size_t index)
{
    return index < N_LANGUAGES ? &languages[index] : NULL;
}

const pv_language *pv_language_find(const char *code)
{
    for (size_t i = 0; code != NULL && i < N_LANGUAGES; i++)
        if (strcmp(code, languages[i].code) == 0)
            return &languages[i];
    return NULL;
}

const char *pv_language_code(const pv_language *language)
{
    return (language != NULL ? language : &languages[0])->code;
}

const char *pv_language_name(const pv_language *language)
{
    return (language != NULL ? language : &languages[0])->name;
}

static uint32_t number_at(const unsigned char *bytes)
{
    return bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
}

static const char *text_at(const unsigned char *table, uint32_t rows, uint32_t row)
{
    return (const char *)table + number_at(table + rows + 8 * row + 4);
}

/* As strcmp, of where, a byte 4 and english against a text of the table. */
static int compare(const char *where, const char *english, const char *text)
{
    if (where == NULL)
        return strcmp(english, text);
    size_t n = strlen(where);
    int order = strncmp(where, text, n);
    if (order == 0)
        order = 4 - (int)(unsigned char)text[n];
    return order != 0 ? order : strcmp(english, text + n + 1);
}

/* The translation, or NULL. */
static const char *look_up(const pv_language *language, const char *where, const char *english)
{
    /* The empty text stands for the file's own head. */
    if (language == NULL || language->table == NULL || *english == '\0')
        return NULL;
    const unsigned char *table = language->table;
    uint32_t lo = 0, hi = number_at(table + 8);
    while (lo < hi) {
        uint32_t middle = lo + (hi - lo) / 2;
        int order = compare(where, english, text_at(table, number_at(table + 12), middle));
        if (order == 0)
            return text_at(table, number_at(table + 16), middle);
        if (order < 0)
            hi = middle;
        else
            lo = middle + 1;
    }
    return NULL;
}

const char *pv_say(const pv_language *language, const char *english)
{
    const char *said = english != NULL ? look_up(language, NULL, english) : NULL;
    return said != NULL ? said : english;
}

const char *pv_say_in(const pv_language *language, const char *where, const char *english)
{
    const char *said = look_up(language, where, english);
    return said != NULL ? said : english;
}

const char *pv_say_count(const pv_language *language, const char *one, const char *many, size_t n)
{
    const char *said = look_up(language, NULL, one);
    if (said == NULL)
        return n == 1 ? one : many;
    return n == 1 ? said : said + strlen(said) + 1;
}

void pv_text_say(pv_text *text, const char *english, ...)
{
    va_list args;
    va_start(args, english);
    pv_text_addv(text, pv_say(text->language, english), args);
    va_end(args);
}

static bool is_white(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

void pv_say_section(pv_text *out, const pv_language *language, const char *section, size_t length)
{
    pv_text english = PV_TEXT_INIT;
    for (size_t i = 0; i < length; i++) {
        if (is_white(section[i]))
            continue;
        if (i > 0 && is_white(section[i - 1]) && english.length > 0)
            pv_text_bytes(&english, " ", 1);
        pv_text_bytes(&english, &section[i], 1);
    }
    if (english.failed)
        out->failed = true;
    else if (english.length > 0)
        pv_text_add(out, "%s", pv_say(language, english.chars));
    pv_text_drop(&english);
}
