#include "html/escape.h"

#include "base/words.h"

#include <string.h>

#define REPLACEMENT "\xEF\xBF\xBD" /* U+FFFD */

static const char *entity(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

void pv_html_text(pv_text *to, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        bool shows;
        size_t used = pv_harmless(text, left, "\n\t", &shows);
        const char *escaped = entity(*text);
        if (escaped != NULL)
            pv_text_bytes(to, escaped, strlen(escaped));
        else if (shows)
            pv_text_bytes(to, text, used);
        else
            pv_text_bytes(to, REPLACEMENT, strlen(REPLACEMENT));
        text += used;
        left -= used;
    }
}
