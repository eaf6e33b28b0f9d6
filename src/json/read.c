#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "json/json.h"

#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/* Values of the parsed document, each knowing where it stands. jansson shares its true, false and
 * null between places, so its own values can't tell. */
struct pv_json_node {
    const json_t *value; /* NULL: stands for what was missing */
    const pv_json_node *parent;
    const char *key; /* in an object */
    size_t index;    /* in an array */
    pv_json_node *children;
    size_t n;
};

struct pv_json {
    json_t *document;
    pv_json_node root;
    pv_json_node missing;
    char *name;
    pv_diags *diags;
    bool bad;
};

static pv_place place_at(const char *text, size_t length, const char *name, size_t position)
{
    size_t start = position < length ? position : length;
    while (start > 0 && text[start - 1] != '\n')
        start--;
    const char *newline = memchr(text + start, '\n', length - start);
    size_t end = newline != NULL ? (size_t)(newline - text) : length;
    pv_place place = {.file = name, .line = 1, .column = 1, .length = 1};
    for (size_t i = 0; i < start; i++)
        place.line += text[i] == '\n';
    for (size_t i = start; i < position && i < length; i++)
        place.column += ((unsigned char)text[i] & 0xC0) != 0x80;
    /* A machine's JSON may be one endless line: nobody wants to see that. */
    bool shown = end - start <= 160;
    for (size_t i = start; shown && i < end; i++)
        shown = (unsigned char)text[i] >= 0x20 || text[i] == '\t' || text[i] == '\r';
    if (shown) {
        place.source = text + start;
        place.source_length = end - start;
    }
    return place;
}

/* Looked at before parsing, since a parser that recurses is only as safe as its depth. */
static bool depth_is_fair(const char *text, size_t length, const char *name, pv_diags *diags)
{
    int depth = 0;
    bool in_string = false;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (in_string) {
            if (c == '\\')
                i++;
            else if (c == '"')
                in_string = false;
        } else if (c == '"') {
            in_string = true;
        } else if (c == ']' || c == '}') {
            depth--;
        } else if ((c == '[' || c == '{') && ++depth > PV_JSON_DEPTH_MAX) {
            pv_place place = place_at(text, length, name, i);
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, &place, NULL,
                         "brackets are nested deeper than the limit of %d", PV_JSON_DEPTH_MAX);
            return false;
        }
    }
    return true;
}

static void say_malformed(const json_error_t *error, const char *text, size_t length,
                          const char *name, pv_diags *diags)
{
    if (json_error_code(error) == json_error_out_of_memory) {
        pv_fail_memory(diags);
        return;
    }
    char why[JSON_ERROR_TEXT_LENGTH];
    size_t n = 0;
    for (; n + 1 < sizeof why && error->text[n] != '\0'; n++)
        why[n] =
            (unsigned char)error->text[n] < 0x20 || error->text[n] == 0x7F ? '?' : error->text[n];
    why[n] = '\0';
    /* The position is just past what was read last. */
    size_t position = error->position > 0 ? (size_t)error->position - 1 : 0;
    pv_place place = place_at(text, length, name, position);
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, &place, NULL, "not valid JSON: %s", why);
}

static bool grow_tree(pv_json_node *node)
{
    const json_t *value = node->value;
    node->n = json_is_array(value) ? json_array_size(value) : json_object_size(value);
    if (node->n == 0)
        return true;
    node->children = PV_NEW_ARRAY(node->n, pv_json_node);
    if (node->children == NULL) {
        node->n = 0;
        return false;
    }
    bool good = true;
    if (json_is_array(value)) {
        for (size_t i = 0; good && i < node->n; i++) {
            node->children[i] =
                (pv_json_node){.value = json_array_get(value, i), .parent = node, .index = i};
            good = grow_tree(&node->children[i]);
        }
        return good;
    }
    pv_json_node *child = node->children;
    /* jansson's iterators ask for a json_t that isn't const, and don't change it. */
    json_t *object = (json_t *)value;
    for (void *at = json_object_iter(object); good && at != NULL;
         at = json_object_iter_next(object, at)) {
        *child = (pv_json_node){
            .value = json_object_iter_value(at), .parent = node, .key = json_object_iter_key(at)};
        good = grow_tree(child++);
    }
    return good;
}

static void free_tree(pv_json_node *node)
{
    for (size_t i = 0; i < node->n; i++)
        free_tree(&node->children[i]);
    free(node->children);
}

pv_json *pv_json_parse(const char *text, size_t length, const char *name, pv_diags *diags)
{
    if (!depth_is_fair(text, length, name, diags))
        return NULL;
    pv_json *json = PV_NEW(pv_json);
    if (json == NULL || (name != NULL && (json->name = pv_copy_text(name)) == NULL)) {
        pv_fail_memory(diags);
        pv_json_free(json);
        return NULL;
    }
    json->diags = diags;
    json_error_t error = {0};
    json->document = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
    if (json->document == NULL) {
        say_malformed(&error, text, length, name, diags);
        pv_json_free(json);
        return NULL;
    }
    json->root.value = json->document;
    if (!grow_tree(&json->root)) {
        pv_fail_memory(diags);
        pv_json_free(json);
        return NULL;
    }
    return json;
}

void pv_json_free(pv_json *json)
{
    if (json == NULL)
        return;
    free_tree(&json->root);
    json_decref(json->document);
    free(json->name);
    free(json);
}

const pv_json_node *pv_json_root(const pv_json *json)
{
    return &json->root;
}

bool pv_json_good(const pv_json *json)
{
    return !json->bad;
}

/* Keys are the input's: shown short and without what a terminal would act on. */
static void add_key(pv_text *out, const char *key)
{
    size_t n = 0, whole = strlen(key);
    while (n < whole && n < 60) {
        size_t step = pv_utf8_length(key + n, whole - n);
        n += step > 0 ? step : 1;
    }
    pv_text_shown(out, key, n, "");
}

static void add_path(pv_text *out, const pv_json_node *node)
{
    if (node->parent == NULL)
        return;
    add_path(out, node->parent);
    if (node->key == NULL) {
        pv_text_add(out, "[%zu]", node->index);
        return;
    }
    if (node->parent->parent != NULL)
        pv_text_add(out, ".");
    add_key(out, node->key);
}

/* Only the first complaint counts: what follows it is its echo. */
static void complain(pv_json *json, const pv_json_node *node, const char *member, const char *what)
{
    if (json->bad || node->value == NULL)
        return;
    json->bad = true;
    pv_text path = PV_TEXT_INIT;
    add_path(&path, node);
    if (member != NULL)
        pv_text_add(&path, "%s%s", path.length > 0 ? "." : "", member);
    if (path.length == 0)
        pv_text_add(&path, "the document");
    if (path.failed) {
        pv_fail_memory(json->diags);
    } else {
        pv_place place = {.file = json->name};
        pv_diags_add(json->diags, PV_ERROR, PV_CAUSE_DATA, &place, NULL, "%s: %s", path.chars,
                     what);
    }
    pv_text_drop(&path);
}

void pv_json_complain(pv_json *json, const pv_json_node *node, const char *format, ...)
{
    if (json->bad)
        return;
    pv_text what = PV_TEXT_INIT;
    va_list args;
    va_start(args, format);
    pv_text_addv(&what, format, args);
    va_end(args);
    if (what.failed) {
        json->bad = true;
        pv_fail_memory(json->diags);
    } else {
        complain(json, node, NULL, what.chars);
    }
    pv_text_drop(&what);
}

static const char *kind_name(const json_t *value)
{
    switch (json_typeof(value)) {
    case JSON_OBJECT:
        return "an object";
    case JSON_ARRAY:
        return "an array";
    case JSON_STRING:
        return "a string";
    case JSON_INTEGER:
    case JSON_REAL:
        return "a number";
    case JSON_TRUE:
        return "true";
    case JSON_FALSE:
        return "false";
    case JSON_NULL:
        break;
    }
    return "null";
}

/* After the first complaint everything is as if missing, so that nobody works with half a tree. */
static bool is_kind(pv_json *json, const pv_json_node *node, bool right, const char *wanted)
{
    if (json->bad || node->value == NULL)
        return false;
    if (!right)
        pv_json_complain(json, node, "should be %s, but is %s", wanted, kind_name(node->value));
    return right;
}

char pv_json_kind(const pv_json_node *node)
{
    /* In the order of jansson's json_type. */
    return node->value == NULL ? 'n' : "{[\"00tfn"[json_typeof(node->value)];
}

const pv_json_node *pv_json_find(const pv_json_node *node, const char *key, size_t length)
{
    for (size_t i = 0; json_is_object(node->value) && i < node->n; i++)
        if (strncmp(node->children[i].key, key, length) == 0 &&
            node->children[i].key[length] == '\0')
            return &node->children[i];
    return NULL;
}

const pv_json_node *pv_json_member(pv_json *json, const pv_json_node *object, const char *key)
{
    if (!is_kind(json, object, json_is_object(object->value), "an object"))
        return &json->missing;
    const pv_json_node *found = pv_json_find(object, key, strlen(key));
    if (found == NULL)
        complain(json, object, key, "is missing");
    return found != NULL ? found : &json->missing;
}

const pv_json_node *pv_json_optional(pv_json *json, const pv_json_node *object, const char *key)
{
    if (!is_kind(json, object, json_is_object(object->value), "an object"))
        return NULL;
    const pv_json_node *found = pv_json_find(object, key, strlen(key));
    return found != NULL && json_is_null(found->value) ? NULL : found;
}

size_t pv_json_length(pv_json *json, const pv_json_node *array)
{
    return is_kind(json, array, json_is_array(array->value), "an array") ? array->n : 0;
}

const pv_json_node *pv_json_item(pv_json *json, const pv_json_node *array, size_t index)
{
    if (!is_kind(json, array, json_is_array(array->value), "an array"))
        return &json->missing;
    if (index < array->n)
        return &array->children[index];
    pv_json_complain(json, array, "has %zu items, needs more", array->n);
    return &json->missing;
}

double pv_json_get_number(pv_json *json, const pv_json_node *node, double least, double most)
{
    if (!is_kind(json, node, json_is_number(node->value), "a number"))
        return 0;
    double value = json_number_value(node->value);
    if (isfinite(value) && value >= least && value <= most)
        return value;
    char shown[PV_JSON_NUMBER], from[PV_JSON_NUMBER], to[PV_JSON_NUMBER];
    pv_json_format(value, shown);
    pv_json_format(least, from);
    pv_json_format(most, to);
    pv_json_complain(json, node, "is %s, but must be from %s to %s", shown, from, to);
    return 0;
}

long long pv_json_get_integer(pv_json *json, const pv_json_node *node, long long least,
                              long long most)
{
    if (!is_kind(json, node, json_is_integer(node->value), "a whole number"))
        return 0;
    long long value = json_integer_value(node->value);
    if (value >= least && value <= most)
        return value;
    pv_json_complain(json, node, "is %lld, but must be from %lld to %lld", value, least, most);
    return 0;
}

bool pv_json_get_bool(pv_json *json, const pv_json_node *node)
{
    return is_kind(json, node, json_is_boolean(node->value), "true or false") &&
           json_is_true(node->value);
}

const char *pv_json_get_string(pv_json *json, const pv_json_node *node)
{
    if (!is_kind(json, node, json_is_string(node->value), "a string"))
        return "";
    return json_string_value(node->value);
}
