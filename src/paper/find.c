#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "base/vec.h"
#include "base/words.h"
#include "paper/paper.h"
#include "paper/table.h"

#include <stdlib.h>
#include <string.h>

#define NAME_MAX_CHARS PV_WORD_MAX

/* A name as it is compared: in lower case, without blanks, hyphens and underscores. False where it
 * is too long to be one. */
static bool fold(const char *text, size_t length, char out[NAME_MAX_CHARS])
{
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (c >= 'A' && c <= 'Z')
            c = (char)(c - 'A' + 'a');
        if (strchr(" \t-_", c) != NULL)
            continue;
        if (n + 1 == NAME_MAX_CHARS)
            return false;
        out[n++] = c;
    }
    out[n] = '\0';
    return n > 0;
}

static bool same_name(const char *folded, const char *name, size_t length)
{
    char other[NAME_MAX_CHARS];
    return fold(name, length, other) && strcmp(folded, other) == 0;
}

/* Length of a PWG name without its size: "iso_a4" of "iso_a4_210x297mm". */
static size_t short_length(const char *name)
{
    return (size_t)(strrchr(name, '_') - name);
}

static const pv_paper *by_pwg_name(const char *name)
{
    for (size_t i = 0; i < pv_paper_count(); i++)
        if (strcmp(pv_paper_at(i)->name, name) == 0)
            return pv_paper_at(i);
    return NULL;
}

static const pv_paper *by_name(const char *folded)
{
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        if (same_name(folded, paper->everyday, strlen(paper->everyday)) ||
            same_name(folded, paper->name, strlen(paper->name)) ||
            same_name(folded, paper->name, short_length(paper->name)))
            return paper;
    }
    const pv_paper_alias *alias;
    for (size_t i = 0; (alias = pv_paper_alias_at(i)) != NULL; i++)
        if (same_name(folded, alias->alias, strlen(alias->alias)))
            return by_pwg_name(alias->name);
    return NULL;
}

static const pv_paper *by_size(double width, double height)
{
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        if (fabs(paper->width - width) < 1e-6 && fabs(paper->height - height) < 1e-6)
            return paper;
    }
    return NULL;
}

static const char *skip_blanks(const char *s)
{
    while (*s == ' ' || *s == '\t')
        s++;
    return s;
}

/* The unit at s, if there is one; *s moves past it. */
static double take_unit(const char **s)
{
    const char *start = skip_blanks(*s);
    size_t n = 0;
    while (start[n] >= 'a' && start[n] <= 'z' && start[n] != 'x')
        n++;
    double mm = pv_unit_mm(start, n);
    if (mm > 0)
        *s = start + n;
    return mm;
}

/* "300x450mm", "300 mm x 45 cm": two lengths; the second has a unit, which counts for both where
 * the first has none. */
static bool parse_size(const char *text, double size[2], const char **unit)
{
    const char *s = skip_blanks(text);
    size_t used = 0;
    if (!pv_number_parse(s, strlen(s), &size[0], &used))
        return false;
    s += used;
    double first = take_unit(&s);
    s = skip_blanks(s);
    if (strncmp(s, "\xC3\x97", 2) == 0)
        s += 2;
    else if (*s == 'x' || *s == 'X')
        s++;
    else
        return false;
    s = skip_blanks(s);
    if (!pv_number_parse(s, strlen(s), &size[1], &used))
        return false;
    s = skip_blanks(s + used);
    *unit = s;
    double second = take_unit(&s);
    if (second <= 0 || *skip_blanks(s) != '\0')
        return false;
    size[0] *= first > 0 ? first : second;
    size[1] *= second;
    return true;
}

/* PWG 5101.1, 5.1: "custom_NAME_WxLmm". */
static const char *without_custom_prefix(const char *text)
{
    if (strncmp(text, "custom_", 7) != 0)
        return text;
    const char *last = strrchr(text, '_');
    return last + 1;
}

/* A number for a name, at most three decimals, which is finer than any sheet is cut. */
static void add_short(pv_text *out, double value)
{
    long long thousandths = llround(value * 1000);
    pv_text_add(out, "%lld", thousandths / 1000);
    int rest = (int)(thousandths % 1000), digits = 3;
    if (rest == 0)
        return;
    for (; rest % 10 == 0; digits--)
        rest /= 10;
    pv_text_add(out, ".%0*d", digits, rest);
}

static char *custom_name(double width, double height, bool inches)
{
    double unit = inches ? PV_MM_PER_IN : 1;
    pv_text out = PV_TEXT_INIT;
    add_short(&out, width / unit);
    pv_text_add(&out, " x ");
    add_short(&out, height / unit);
    pv_text_add(&out, inches ? " in" : " mm");
    return pv_text_take(&out);
}

static bool find_custom(const char *text, char **name_out, double *width, double *height,
                        bool *is_size, pv_diags *diags)
{
    double size[2] = {0, 0};
    const char *unit = "";
    *is_size = parse_size(without_custom_prefix(text), size, &unit);
    if (!*is_size)
        return false;
    double w = fmin(size[0], size[1]), h = fmax(size[0], size[1]);
    const pv_paper *known = by_size(w, h);
    if (known == NULL && !(w >= PV_PAPER_SIDE_MIN && h <= PV_PAPER_SIDE_MAX)) {
        pv_fail(diags, PV_CAUSE_USAGE,
                "a sheet of %.60s can't be planned: sides must be from %d "
                "mm to %d mm",
                text, (int)PV_PAPER_SIDE_MIN, (int)PV_PAPER_SIDE_MAX);
        return false;
    }
    *name_out = known != NULL ? pv_copy_text(known->everyday)
                              : custom_name(w, h, *unit == 'i' || *unit == 'f');
    if (*name_out == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    *width = w;
    *height = h;
    return true;
}

#define NEAR 3

typedef struct nearest {
    const char *name[NEAR];
    int distance[NEAR];
} nearest;

static void offer(nearest *best, const char *folded, const char *name)
{
    char other[NAME_MAX_CHARS];
    if (!fold(name, strlen(name), other))
        return;
    int d = (int)pv_word_distance(folded, strlen(folded), other, strlen(other));
    const char *moving = name;
    for (int i = 0; i < NEAR; i++) {
        if (best->name[i] != NULL && best->distance[i] <= d)
            continue;
        const char *name_was = best->name[i];
        int distance_was = best->distance[i];
        best->name[i] = moving;
        best->distance[i] = d;
        moving = name_was;
        d = distance_was;
        if (moving == NULL)
            break;
    }
}

/* "210x297", "8,5x11in": a size, but for its unit or its decimal commas. What to do, or NULL. */
static const char *nearly_a_size(const char *text)
{
    char with[NAME_MAX_CHARS + 2];
    size_t n = strlen(text);
    double size[2];
    const char *unit;
    if (n >= NAME_MAX_CHARS)
        return NULL;
    memcpy(with, text, n + 1);
    for (char *c = with; *c != '\0'; c++)
        *c = *c == ',' ? '.' : *c;
    if (strchr(text, ',') != NULL && parse_size(with, size, &unit))
        return "write decimals with a point, such as 8.5x11in";
    memcpy(with + n, "mm", 3);
    return parse_size(with, size, &unit) ? "a size needs its unit, such as 210x297mm or 8.5x11in"
                                         : NULL;
}

static void say_unknown(const char *text, const char *folded, pv_diags *diags)
{
    const char *nearly = nearly_a_size(text);
    if (nearly != NULL) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL, nearly, "there is no paper \"%.60s\"",
                     text);
        return;
    }
    nearest best = {{NULL}, {0}};
    for (size_t i = 0; i < pv_paper_count(); i++)
        offer(&best, folded, pv_paper_at(i)->everyday);
    const pv_paper_alias *alias;
    for (size_t i = 0; (alias = pv_paper_alias_at(i)) != NULL; i++)
        offer(&best, folded, alias->alias);
    pv_text hint = PV_TEXT_INIT;
    pv_text_add(
        &hint,
        "the nearest names are \"%s\", \"%s\" and \"%s\"; a size such as 300x450mm works too",
        best.name[0], best.name[1], best.name[2]);
    char *said = pv_text_take(&hint);
    if (said == NULL)
        pv_fail_memory(diags);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL, said, "there is no paper \"%.60s\"",
                     text);
    free(said);
}

bool pv_paper_find(const char *text, char **name_out, double *width, double *height,
                   pv_diags *diags)
{
    *name_out = NULL;
    char folded[NAME_MAX_CHARS] = "";
    bool is_size = false;
    const pv_paper *paper = fold(text, strlen(text), folded) ? by_name(folded) : NULL;
    if (paper == NULL) {
        bool good = find_custom(text, name_out, width, height, &is_size, diags);
        if (!good && !is_size)
            say_unknown(text, folded, diags);
        return good;
    }
    *name_out = pv_copy_text(paper->everyday);
    if (*name_out == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    *width = paper->width;
    *height = paper->height;
    return true;
}
