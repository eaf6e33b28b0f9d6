#include "base/diag.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

struct pv_diags {
    pv_diag *items;
    size_t n, capacity;
    size_t dropped[PV_ERROR + 1]; /* past PV_DIAGS_MAX, counted only */
    bool out_of_memory;
    pv_sayer *say; /* or NULL */
    const pv_language *language;
    pv_diag memory_item; /* says so without needing any */
};

pv_diags *pv_diags_new(void)
{
    pv_diags *diags = PV_NEW(pv_diags);
    if (diags != NULL)
        diags->memory_item =
            (pv_diag){.severity = PV_ERROR, .cause = PV_CAUSE_MEMORY, .message = "out of memory"};
    return diags;
}

static void free_item(pv_diag *item)
{
    free((char *)item->file);
    free((char *)item->message);
    free((char *)item->hint);
    free((char *)item->source);
}

void pv_diags_free(pv_diags *diags)
{
    if (diags == NULL)
        return;
    for (size_t i = 0; i < diags->n; i++)
        free_item(&diags->items[i]);
    free(diags->items);
    free(diags);
}

static bool copy_place(pv_diag *item, const pv_place *place)
{
    item->line = place->line;
    item->column = place->column;
    item->length = place->length < 1 ? 1 : place->length;
    if (place->file != NULL && (item->file = pv_copy_text(place->file)) == NULL)
        return false;
    if (place->source == NULL)
        return true;
    const char *end = memchr(place->source, '\n', place->source_length);
    size_t length = end != NULL ? (size_t)(end - place->source) : place->source_length;
    if (length > 0 && place->source[length - 1] == '\r')
        length--;
    /* A stranger's: harmless from here on, and each character is still one column. */
    pv_text shown = PV_TEXT_INIT;
    pv_text_shown(&shown, place->source, length, "\t");
    item->source = pv_text_take(&shown);
    return item->source != NULL;
}

static bool has_error(const pv_diags *diags)
{
    for (size_t i = 0; i < diags->n; i++)
        if (diags->items[i].severity == PV_ERROR)
            return true;
    return false;
}

/* The list is full. The first error still gets the place of the last note, or warning where there
 * is no note: without it, failure would look like success. */
static void make_room(pv_diags *diags)
{
    size_t last = diags->n - 1;
    while (last > 0 && diags->items[last].severity != PV_NOTE)
        last--;
    if (diags->items[last].severity != PV_NOTE)
        last = diags->n - 1;
    diags->dropped[diags->items[last].severity]++;
    free_item(&diags->items[last]);
    diags->n--;
    memmove(&diags->items[last], &diags->items[last + 1], (diags->n - last) * sizeof *diags->items);
}

void pv_diags_speak(pv_diags *diags, pv_sayer *say, const pv_language *language)
{
    if (diags == NULL)
        return;
    diags->say = say;
    diags->language = language;
}

const pv_language *pv_diags_language(const pv_diags *diags)
{
    return diags != NULL ? diags->language : NULL;
}

static void add(pv_diags *diags, pv_diag item, const pv_place *place, const char *hint,
                const char *format, va_list args)
{
    if (diags == NULL)
        return;
    if (diags->n >= PV_DIAGS_MAX && (item.severity != PV_ERROR || has_error(diags))) {
        diags->dropped[item.severity]++;
        return;
    }
    if (diags->say != NULL) {
        format = diags->say(diags->language, format);
        hint = diags->say(diags->language, hint);
    }
    pv_text message = PV_TEXT_INIT;
    pv_text_addv(&message, format, args);
    item.message = pv_text_take(&message);
    if (item.message != NULL && diags->say != NULL) { /* a fixed sentence that came by "%s" */
        const char *said = diags->say(diags->language, item.message);
        if (said != item.message) {
            free((char *)item.message);
            item.message = pv_copy_text(said);
        }
    }
    bool good = item.message != NULL;
    if (good && hint != NULL)
        good = (item.hint = pv_copy_text(hint)) != NULL;
    if (good && place != NULL)
        good = copy_place(&item, place);
    if (good && diags->n >= PV_DIAGS_MAX)
        make_room(diags);
    if (good)
        good = PV_GROW(diags->items, diags->n, diags->capacity);
    if (good) {
        diags->items[diags->n++] = item;
    } else {
        free_item(&item);
        diags->out_of_memory = true;
    }
}

void pv_diags_add(pv_diags *diags, pv_severity severity, pv_cause cause, const pv_place *place,
                  const char *hint, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    add(diags, (pv_diag){.severity = severity, .cause = cause}, place, hint, format, args);
    va_end(args);
}

void pv_diags_say(pv_diags *diags, pv_severity severity, pv_cause cause, const char *hint,
                  const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (cause == PV_CAUSE_MEMORY)
        pv_fail_memory(diags);
    else
        add(diags, (pv_diag){.severity = severity, .cause = cause}, NULL, hint, format, args);
    va_end(args);
}

const char *pv_cause_text(pv_cause cause)
{
    static const char *const texts[] = {
        [PV_CAUSE_NONE] = "no error",
        [PV_CAUSE_USAGE] = "wrong usage",
        [PV_CAUSE_DATA] = "bad input",
        [PV_CAUSE_LIMIT] = "input beyond a limit",
        [PV_CAUSE_INPUT] = "input that cannot be read",
        [PV_CAUSE_CREATE] = "output that cannot be created",
        [PV_CAUSE_OUTPUT] = "writing failed",
        [PV_CAUSE_MEMORY] = "out of memory",
        [PV_CAUSE_LIBRARY] = "a library refused",
    };
    return (size_t)cause < sizeof texts / sizeof *texts ? texts[cause] : "an unknown error";
}

void pv_fail(pv_diags *diags, pv_cause cause, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    add(diags, (pv_diag){.severity = PV_ERROR, .cause = cause}, NULL, NULL, format, args);
    va_end(args);
}

void pv_fail_memory(pv_diags *diags)
{
    if (diags != NULL)
        diags->out_of_memory = true;
}

bool pv_diags_full(const pv_diags *diags)
{
    return diags != NULL && diags->n >= PV_DIAGS_MAX;
}

size_t pv_diags_size(const pv_diags *diags)
{
    return diags == NULL ? 0 : diags->n + (diags->out_of_memory ? 1 : 0);
}

const pv_diag *pv_diags_at(const pv_diags *diags, size_t index)
{
    if (diags == NULL)
        return NULL;
    if (index < diags->n)
        return &diags->items[index];
    return diags->out_of_memory && index == diags->n ? &diags->memory_item : NULL;
}

size_t pv_diags_count(const pv_diags *diags, pv_severity at_least)
{
    if (diags == NULL)
        return 0;
    size_t count = diags->out_of_memory ? 1 : 0;
    for (size_t i = 0; i < diags->n; i++)
        count += diags->items[i].severity >= at_least;
    for (int s = (int)at_least; s <= (int)PV_ERROR; s++)
        count += diags->dropped[s];
    return count;
}

pv_cause pv_diags_cause(const pv_diags *diags)
{
    if (diags == NULL)
        return PV_CAUSE_NONE;
    if (diags->out_of_memory)
        return PV_CAUSE_MEMORY;
    for (size_t i = 0; i < diags->n; i++)
        if (diags->items[i].severity == PV_ERROR)
            return diags->items[i].cause;
    return PV_CAUSE_NONE;
}

/* The caret line repeats tabs so that the caret stands under its character whatever a tab is. */
static void add_caret(pv_text *out, const pv_diag *diag)
{
    pv_text_add(out, "%5d | %s\n      | ", diag->line, diag->source);
    const unsigned char *s = (const unsigned char *)diag->source;
    for (int column = 1; column < diag->column; column++) {
        pv_text_add(out, "%s", *s == '\t' ? "\t" : " ");
        if (*s != '\0')
            s++;
        while ((*s & 0xC0) == 0x80)
            s++;
    }
    pv_text_add(out, "^");
    for (int i = 1; i < diag->length; i++)
        pv_text_add(out, "~");
    pv_text_add(out, "\n");
}

/* Names of files and words of the input stand in it: none may forge a line or steer a terminal. */
static void add_shown(pv_text *out, const char *before, const char *words, const char *after)
{
    pv_text_add(out, "%s", before);
    pv_text_shown(out, words, strlen(words), "");
    pv_text_add(out, "%s", after);
}

char *pv_diag_text(const pv_diag *diag)
{
    static const char *const names[] = {"note", "warning", "error"};
    pv_text out = PV_TEXT_INIT;
    if (diag->file != NULL)
        add_shown(&out, "", diag->file, ":");
    if (diag->line > 0)
        pv_text_add(&out, "%d:%d:", diag->line, diag->column);
    pv_text_add(&out, "%s%s", out.length > 0 ? " " : "", names[diag->severity]);
    add_shown(&out, ": ", diag->message, "\n");
    if (diag->source != NULL && diag->column > 0)
        add_caret(&out, diag);
    if (diag->hint != NULL)
        add_shown(&out, "      = ", diag->hint, "\n");
    return pv_text_take(&out);
}
