#include "html/data.h"

#include "po/po.h"

#include <stdarg.h>
#include <string.h>

/* ---- numbers ---- */

static void add_digits(pv_text *to, double value, int decimals, bool plus)
{
    const pv_digits digits = pv_fixed(value, decimals);
    const char *chars = digits.chars;
    bool number = chars[chars[0] == '-'] != '\0';
    bool zero = strspn(chars, "0.") == strlen(chars);
    if (!number)
        pv_text_add(to, PV_DASH);
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

/* ---- members ---- */

static void add_key(pv_json_writer *w, const char *key)
{
    if (key != NULL)
        pv_json_key(w, key);
}

void pv_data_open(pv_json_writer *w, const char *key, char bracket)
{
    add_key(w, key);
    pv_json_open_inline(w, bracket);
}

void pv_data_text(pv_json_writer *w, const char *key, const char *text)
{
    add_key(w, key);
    pv_json_string(w, text);
}

void pv_data_take(pv_json_writer *w, const char *key, pv_text *text)
{
    pv_data_text(w, key, text->chars != NULL ? text->chars : "");
    w->out.failed = w->out.failed || text->failed;
    pv_text_drop(text);
}

void pv_data_words(pv_json_writer *w, const char *key, const char *format, ...)
{
    pv_text text = PV_TEXT_INIT;
    va_list args;
    va_start(args, format);
    pv_text_addv(&text, format, args);
    va_end(args);
    pv_data_take(w, key, &text);
}

void pv_data_count(pv_json_writer *w, const char *key, size_t n)
{
    add_key(w, key);
    pv_json_integer(w, (long long)n);
}

void pv_data_bool(pv_json_writer *w, const char *key, bool value)
{
    add_key(w, key);
    pv_json_bool(w, value);
}

void pv_data_number(pv_json_writer *w, const char *key, double value, int decimals)
{
    pv_text text = PV_TEXT_INIT;
    pv_html_number(&text, value, decimals);
    pv_data_take(w, key, &text);
}

void pv_data_signed(pv_json_writer *w, const char *key, double value, int decimals)
{
    pv_text text = PV_TEXT_INIT;
    pv_html_signed(&text, value, decimals);
    pv_data_take(w, key, &text);
}

void pv_data_uncertainty(pv_json_writer *w, const char *key, double U, int decimals)
{
    pv_text text = PV_TEXT_INIT;
    pv_html_uncertainty(&text, U, decimals);
    pv_data_take(w, key, &text);
}

/* ---- tables ---- */

static void add_head(pv_json_writer *w, const pv_language *language, const pv_head *head)
{
    size_t symbol = head->how == 'i' ? strcspn(head->words, ",") : 0;
    pv_json_open_inline(w, '{');
    if (symbol > 0)
        pv_data_words(w, "symbol", "%.*s", (int)symbol, head->words);
    pv_data_text(w, "words", symbol > 0 ? head->words + symbol : pv_say(language, head->words));
    pv_data_bool(w, "left", head->how == 't');
    pv_json_close(w, '}');
}

void pv_table_start(pv_json_writer *w, const char *key, const pv_language *language,
                    const char *caption, const pv_head *heads, size_t n)
{
    pv_data_open(w, key, '{');
    pv_data_text(w, "caption", caption);
    pv_data_open(w, "heads", '[');
    for (size_t i = 0; i < n; i++)
        add_head(w, language, &heads[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "rows");
    pv_json_open(w, '[');
}

void pv_table_end(pv_json_writer *w, const char *region)
{
    pv_json_close(w, ']');
    pv_data_text(w, "region", region);
    pv_json_close(w, '}');
}

void pv_row_start(pv_json_writer *w)
{
    pv_json_open_inline(w, '[');
}

void pv_row_end(pv_json_writer *w)
{
    pv_json_close(w, ']');
}

static void add_cell(pv_json_writer *w, const char *kind, const char *text)
{
    pv_json_open_inline(w, '{');
    pv_data_open(w, "o", '{');
    pv_data_text(w, kind, *text != '\0' ? text : PV_DASH);
    pv_json_close(w, '}');
    pv_json_close(w, '}');
}

void pv_cell_head(pv_json_writer *w, const char *text)
{
    add_cell(w, "th", text);
}

void pv_cell_words(pv_json_writer *w, const char *text)
{
    add_cell(w, "left", text);
}

void pv_cell_strong(pv_json_writer *w, const char *text)
{
    add_cell(w, "strong", text);
}

void pv_cell_take(pv_json_writer *w, const char *kind, pv_text *text)
{
    add_cell(w, kind, text->chars != NULL ? text->chars : "");
    w->out.failed = w->out.failed || text->failed;
    pv_text_drop(text);
}

void pv_cell_start(pv_json_writer *w, const char *kind)
{
    pv_json_open_inline(w, '{');
    pv_data_open(w, "o", '{');
    pv_data_open(w, kind, '{');
}

void pv_cell_end(pv_json_writer *w)
{
    pv_json_close(w, '}');
    pv_json_close(w, '}');
    pv_json_close(w, '}');
}
