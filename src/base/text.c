#include "base/text.h"

#include "base/memory.h"

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

void pv_text_addv(pv_text *text, const char *format, va_list args)
{
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
}

void pv_text_add(pv_text *text, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    pv_text_addv(text, format, args);
    va_end(args);
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
    *text = (pv_text)PV_TEXT_INIT;
    return chars;
}

void pv_text_drop(pv_text *text)
{
    free(text->chars);
    *text = (pv_text)PV_TEXT_INIT;
}
