#include "draw/column.h"

#include <string.h>

/* Bytes. */
#define LINE_MOST 400
#define WORD_MOST 120
#define UNIT_MOST 2

pv_column pv_column_of(pv_drawing *d, pv_box box)
{
    return (pv_column){.d = d, .box = box, .y = box.hi.y};
}

void pv_column_skip(pv_column *column, double height)
{
    column->y -= height;
}

static void put(pv_column *c, double x, double em, bool bold, const char *text)
{
    double up = (PV_COLUMN_LEADING - 1) / 2 + 0.22; /* of the base line over the line's bottom */
    if (!c->measure)
        pv_draw_text(c->d, pv_v(x, c->y - (PV_COLUMN_LEADING - up) * em), em, 0, bold, c->rgb,
                     text);
}

/* A number keeps its unit: "14 m" is one word. */
static size_t word_length(const char *text)
{
    size_t n = strcspn(text, " ");
    while (n > 0 && text[n] == ' ' && text[n - 1] >= '0' && text[n - 1] <= '9' &&
           strcspn(text + n + 1, " .,)") <= UNIT_MOST)
        n += 1 + strcspn(text + n + 1, " ");
    return n;
}

/* As many words from the beginning of a text as the width takes, at least one, into line[]; gives
 * where the rest begins. Words are measured one by one, since the type remembers those. */
static const char *take_words(pv_column *c, double ems, bool bold, const char *text,
                              char line[LINE_MOST])
{
    double blank = pv_draw_ems(c->d, " ", bold), wide = 0;
    size_t taken = 0;
    while (text[taken] != '\0') {
        char word[WORD_MOST];
        size_t blanks = strspn(text + taken, " "), length = word_length(text + taken + blanks);
        if (length >= WORD_MOST || taken + blanks + length >= LINE_MOST)
            break;
        memcpy(word, text + taken + blanks, length);
        word[length] = '\0';
        wide += (double)blanks * blank + pv_draw_ems(c->d, word, bold);
        if (taken > 0 && wide > ems)
            break;
        taken += blanks + length;
    }
    if (taken == 0) /* one word without end */
        for (taken = strnlen(text, WORD_MOST - 1); (text[taken] & 0xC0) == 0x80; taken--)
            ;
    memcpy(line, text, taken);
    line[taken] = '\0';
    return text + taken + strspn(text + taken, " ");
}

void pv_column_say(pv_column *c, double em, bool bold, const char *before, double indent,
                   const char *text)
{
    double ems = (c->box.hi.x - c->box.lo.x - indent) / em;
    if (before != NULL)
        put(c, c->box.lo.x, em, true, before);
    while (*text != '\0') {
        char line[LINE_MOST];
        text = take_words(c, ems, bold, text, line);
        put(c, c->box.lo.x + indent, em, bold, line);
        c->y -= PV_COLUMN_LEADING * em;
    }
}
