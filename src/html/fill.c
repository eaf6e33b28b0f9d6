#include "base/memory.h"
#include "html/escape.h"
#include "html/parse.h"
#include "po/po.h"
#include "json/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Where names are looked up: an item of data, and those around it. */
typedef struct scope {
    const pv_json_node *node;
    const struct scope *outer;
} scope;

typedef struct filler {
    pv_text *out;
    size_t start; /* of the page in it */
    const pv_template *templates;
    size_t n_templates;
    pv_markup *read; /* of each template, once it was asked for */
    pv_json *json;
    const pv_language *language;
    size_t tags;
    int depth;
    pv_diags *diags;
} filler;

static bool fill(filler *f, const pv_markup *markup, size_t from, size_t to, const scope *in);

/* ---- data ---- */

/* "a.b": the nearest a, and only its b. NULL where there is none. */
static const pv_json_node *look_up(const scope *in, const char *name, size_t length)
{
    if (length == 1 && *name == '.')
        return in->node;
    const char *dot = memchr(name, '.', length);
    size_t first = dot != NULL ? (size_t)(dot - name) : length;
    const pv_json_node *found = NULL;
    for (; found == NULL && in != NULL; in = in->outer)
        found = pv_json_find(in->node, name, first);
    while (found != NULL && dot != NULL) {
        name = dot + 1;
        length -= first + 1;
        dot = memchr(name, '.', length);
        first = dot != NULL ? (size_t)(dot - name) : length;
        found = pv_json_find(found, name, first);
    }
    return found;
}

static bool holds(filler *f, const pv_json_node *node)
{
    switch (node != NULL ? pv_json_kind(node) : 'n') {
    case 'n':
    case 'f':
        return false;
    case '"':
        return pv_json_get_string(f->json, node)[0] != '\0';
    case '0':
        return pv_json_get_number(f->json, node, -HUGE_VAL, HUGE_VAL) != 0;
    case '[':
        return pv_json_length(f->json, node) > 0;
    default:
        return true;
    }
}

/* ---- tags ---- */

static bool fail_at(filler *f, const pv_markup *markup, const pv_bit *tag, pv_cause cause,
                    const char *what)
{
    pv_template_fail(markup->of, tag->start, f->diags, cause, "%.*s: %s", (int)tag->length,
                     tag->text, what);
    return false;
}

static bool fill_value(filler *f, const pv_markup *markup, const pv_bit *tag, const scope *in)
{
    const pv_json_node *node = look_up(in, tag->text, tag->length);
    if (node == NULL)
        return fail_at(f, markup, tag, PV_CAUSE_USAGE, "the page's data has no such name");
    char number[PV_JSON_NUMBER];
    const char *text = "";
    switch (pv_json_kind(node)) {
    case '"':
        text = pv_json_get_string(f->json, node);
        break;
    case '0':
        pv_json_format(pv_json_get_number(f->json, node, -HUGE_VAL, HUGE_VAL), number);
        text = number;
        break;
    case 't':
    case 'f':
        text = pv_json_get_bool(f->json, node) ? "true" : "false";
        break;
    case 'n':
        break;
    default:
        return fail_at(f, markup, tag, PV_CAUSE_USAGE, "is no text, but a list or an object");
    }
    if (tag->kind == PV_BIT_SVG)
        pv_text_bytes(f->out, text, strlen(text));
    else
        pv_html_text(f->out, text);
    return true;
}

static bool fill_section(filler *f, const pv_markup *markup, size_t at, const scope *in)
{
    const pv_bit *tag = &markup->items[at];
    const pv_json_node *node = look_up(in, tag->text, tag->length);
    bool held = holds(f, node);
    if (tag->kind == PV_BIT_INVERTED)
        return held || fill(f, markup, at + 1, tag->close, in);
    if (!held)
        return true;
    scope inner = {node, in};
    if (pv_json_kind(node) != '[')
        return fill(f, markup, at + 1, tag->close, pv_json_kind(node) == 't' ? in : &inner);
    for (size_t i = 0, n = pv_json_length(f->json, node); i < n; i++) {
        inner.node = pv_json_item(f->json, node, i);
        if (!fill(f, markup, at + 1, tag->close, &inner))
            return false;
    }
    return true;
}

/* Its number; n_templates where there is none. */
static size_t find_template(const filler *f, const char *name, size_t length)
{
    const char *ending = memchr(name, '.', length) != NULL ? "" : ".html";
    size_t i = 0;
    while (i < f->n_templates && (strncmp(f->templates[i].name, name, length) != 0 ||
                                  strcmp(f->templates[i].name + length, ending) != 0))
        i++;
    return i;
}

static bool fill_template(filler *f, size_t which, const scope *in)
{
    pv_markup *markup = &f->read[which];
    return (markup->of != NULL || pv_markup_read(markup, &f->templates[which], f->diags)) &&
           fill(f, markup, 0, markup->n, in);
}

static bool fill_partial(filler *f, const pv_markup *markup, const pv_bit *tag, const scope *in)
{
    size_t which = find_template(f, tag->text, tag->length);
    if (which == f->n_templates)
        return fail_at(f, markup, tag, PV_CAUSE_USAGE, "there is no such template");
    return fill_template(f, which, in);
}

static bool fill_said(filler *f, const pv_template *said, const scope *in)
{
    pv_markup markup;
    bool good = pv_markup_read(&markup, said, f->diags) && fill(f, &markup, 0, markup.n, in);
    pv_markup_drop(&markup);
    return good;
}

static bool fill_words(filler *f, const pv_markup *markup, const pv_bit *tag, const scope *in)
{
    pv_text said = PV_TEXT_INIT;
    size_t length = (size_t)(markup->items[tag->close].start - tag->after);
    pv_say_section(&said, f->language, tag->after, length);
    if (said.failed)
        pv_fail_memory(f->diags);
    bool good = !said.failed && (said.length == 0 ||
                                 fill_said(f, &(pv_template){markup->of->name, said.chars}, in));
    pv_text_drop(&said);
    return good;
}

/* ---- the page ---- */

static bool fill_token(filler *f, const pv_markup *markup, size_t at, const scope *in)
{
    const pv_bit *bit = &markup->items[at];
    switch (bit->kind) {
    case PV_BIT_VALUE:
    case PV_BIT_SVG:
        return fill_value(f, markup, bit, in);
    case PV_BIT_SECTION:
    case PV_BIT_INVERTED:
        return fill_section(f, markup, at, in);
    case PV_BIT_WORDS:
        return fill_words(f, markup, bit, in);
    case PV_BIT_PARTIAL:
        return fill_partial(f, markup, bit, in);
    case PV_BIT_TEXT:
        pv_text_bytes(f->out, bit->text, bit->length);
        return true;
    case PV_BIT_CLOSE:
        break;
    }
    return true;
}

static bool within_limits(filler *f, const pv_markup *markup)
{
    const char *what = f->depth > PV_HTML_DEPTH_MAX ? "sections and partials nest too deep"
                       : f->tags > PV_HTML_TAGS_MAX ? "the page has too many tags"
                       : f->out->length - f->start > PV_HTML_BYTES_MAX ? "the page is too large"
                                                                       : NULL;
    if (what != NULL)
        pv_template_fail(markup->of, markup->of->text, f->diags, PV_CAUSE_LIMIT, "%s", what);
    return what == NULL;
}

static bool fill(filler *f, const pv_markup *markup, size_t from, size_t to, const scope *in)
{
    f->depth++;
    f->tags++;
    if (!within_limits(f, markup))
        return false;
    for (size_t i = from; i < to; i++) {
        f->tags++;
        if (!within_limits(f, markup) || !fill_token(f, markup, i, in))
            return false;
        if (markup->items[i].close > i)
            i = markup->items[i].close;
    }
    f->depth--;
    return true;
}

bool pv_html_fill_from(pv_text *out, const pv_template *templates, size_t n, const char *name,
                       const char *json, size_t length, const pv_language *language,
                       pv_diags *diags)
{
    filler f = {.out = out,
                .start = out->length,
                .templates = templates,
                .n_templates = n,
                .language = language,
                .diags = diags};
    size_t which = find_template(&f, name, strlen(name));
    if (which == n) {
        pv_fail(diags, PV_CAUSE_USAGE, "there is no template \"%s\"", name);
        return false;
    }
    f.json = pv_json_parse(json, length, templates[which].name, diags);
    if (f.json == NULL)
        return false;
    f.read = PV_NEW_ARRAY(n, pv_markup);
    bool good = f.read != NULL && fill_template(&f, which, &(scope){pv_json_root(f.json), NULL});
    for (size_t i = 0; f.read != NULL && i < n; i++)
        pv_markup_drop(&f.read[i]);
    if (f.read == NULL || (good && out->failed))
        pv_fail_memory(diags);
    free(f.read);
    pv_json_free(f.json);
    return good && !out->failed;
}

bool pv_html_fill(pv_text *out, const char *name, const char *json, size_t length,
                  const pv_language *language, pv_diags *diags)
{
    return pv_html_fill_from(out, pv_templates, pv_n_templates, name, json, length, language,
                             diags);
}
