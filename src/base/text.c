#include "base/text.h"

#include "base/memory.h"
#include "base/words.h"

#include <pavior/text.h>

#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool room_for(pv_text *text, size_t more)
{
    if (text->failed)
        return false;
    if (more > SIZE_MAX / 2 - text->length ||
        !pv_reserve((void **)&text->chars, &text->capacity, text->length + more + 1, 1))
        text->failed = true;
    return !text->failed;
}

void pv_text_bytes(pv_text *text, const void *bytes, size_t length)
{
    if (!room_for(text, length))
        return;
    if (length > 0)
        memcpy(text->chars + text->length, bytes, length);
    text->length += length;
    text->chars[text->length] = '\0';
}

/* Makes this thread's numbers plain ones, whatever locale the program has set; gives what to hand
 * back, or 0 where they are plain already, or, with *failed set, where memory ran out. */
static locale_t enter_plain(locale_t *plain, bool *failed)
{
    *plain = (locale_t)0;
    if (strcmp(nl_langinfo(RADIXCHAR), ".") == 0)
        return (locale_t)0;
    *plain = newlocale(LC_NUMERIC_MASK, "C", (locale_t)0);
    if (*plain != (locale_t)0)
        return uselocale(*plain);
    *failed = true;
    return (locale_t)0;
}

static void leave_plain(locale_t plain, locale_t was)
{
    if (plain == (locale_t)0)
        return;
    uselocale(was);
    freelocale(plain);
}

void pv_text_addv(pv_text *text, const char *format, va_list args)
{
    locale_t plain, was = enter_plain(&plain, &text->failed);
    va_list again;
    va_copy(again, args);
    int needed = vsnprintf(NULL, 0, format, args);
    if (needed < 0)
        text->failed = true;
    else if (room_for(text, (size_t)needed)) {
        vsnprintf(text->chars + text->length, (size_t)needed + 1, format, again);
        text->length += (size_t)needed;
    }
    va_end(again);
    leave_plain(plain, was);
}

void pv_text_add(pv_text *text, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    pv_text_addv(text, format, args);
    va_end(args);
}

void pv_text_shown(pv_text *text, const char *chars, size_t length, const char *also)
{
    for (size_t at = 0; at < length;) {
        bool shows = false;
        size_t step = pv_harmless(chars + at, length - at, also, &shows);
        pv_text_bytes(text, shows ? chars + at : "?", shows ? step : 1);
        at += step;
    }
}

char *pv_text_safe(const char *text)
{
    pv_text out = PV_TEXT_INIT;
    pv_text_shown(&out, text, strlen(text), "");
    return pv_text_take(&out);
}

pv_digits pv_fixed(double value, int decimals)
{
    pv_digits out = {"-"};
    if (!isfinite(value) || fabs(value) >= 1e15)
        return out;
    snprintf(out.chars, sizeof out.chars, "%.*f",
             decimals < 0    ? 0
             : decimals > 12 ? 12
                             : decimals,
             value);
    /* The locale's decimal point, however many bytes it has, is all that is no digit or sign. */
    size_t sign = strspn(out.chars, "-"), digits = sign + strspn(out.chars + sign, "0123456789");
    size_t point = strcspn(out.chars + digits, "0123456789");
    if (point > 0) {
        memmove(out.chars + digits + 1, out.chars + digits + point,
                strlen(out.chars + digits + point) + 1);
        out.chars[digits] = '.';
    }
    if (sign > 0 && strspn(out.chars + sign, "0.") == strlen(out.chars + sign))
        memmove(out.chars, out.chars + sign, strlen(out.chars + sign) + 1);
    return out;
}

char *pv_text_take(pv_text *text)
{
    if (!text->failed && text->chars == NULL)
        pv_text_bytes(text, "", 0);
    char *chars = text->chars;
    if (text->failed) {
        free(chars);
        chars = NULL;
    }
    *text = (pv_text)PV_TEXT_IN(text->language);
    return chars;
}

void pv_text_drop(pv_text *text)
{
    free(text->chars);
    *text = (pv_text)PV_TEXT_IN(text->language);
}
