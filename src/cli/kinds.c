/* What kind a file is of, where a wrong one was given: by its first bytes. */
#include "cli/cli.h"

#include "base/memory.h"

#include <string.h>

#define LOOKED_AT  200 /* bytes in which a file of ours names its format */
#define ZEROS_MOST 3   /* of which in a text no more are by mistake */

typedef struct kind_words {
    const char *what;   /* "a plan" */
    const char *give;   /* how to get one, in an imperative */
    const char *format; /* as its JSON says it, or NULL */
} kind_words;

/* By cli_kind. */
static const kind_words kinds[] = {
    {"a course", "give the course's own text", NULL},
    {"a plan", "give the .plan.json that pavior sheets wrote beside the PDF", "\"pavior plan\""},
    {"a report for calibration", "give what pavior inspect --json wrote", NULL},
    {"a printer's file", "give what pavior calibrate wrote", "\"pavior printer\""},
    {"a scanner's file", "give what pavior calibrate --scanner wrote", "\"pavior scanner\""},
};

static bool begins(const pv_bytes *bytes, const char *with)
{
    size_t n = strlen(with);
    return bytes->size >= n && memcmp(bytes->data, with, n) == 0;
}

/* "a PDF"; NULL where it isn't known. */
static const char *foreign(const pv_bytes *bytes)
{
    if (begins(bytes, "%PDF-"))
        return "a PDF";
    if (begins(bytes, "\x89PNG\r\n\x1A\n"))
        return "a PNG picture";
    if (begins(bytes, "\xFF\xD8\xFF"))
        return "a JPEG picture";
    if (begins(bytes, "PK\x03\x04"))
        return "a ZIP archive, or an office document";
    if (begins(bytes, "\xFF\xFE") || begins(bytes, "\xFE\xFF"))
        return NULL; /* UTF-16, which its reader knows */
    size_t zeros = 0;
    for (size_t i = 0; i < bytes->size && i < LOOKED_AT; i++)
        zeros += bytes->data[i] == 0;
    return zeros > ZEROS_MOST ? "a binary file" : NULL;
}

/* A file of ours that is of another kind than wanted. */
static const char *other_of_ours(const pv_bytes *bytes, cli_kind wanted)
{
    char head[LOOKED_AT + 1];
    size_t n = bytes->size < LOOKED_AT ? bytes->size : LOOKED_AT, start = 0;
    memcpy(head, bytes->data, n);
    head[n] = '\0';
    start = strspn(head, " \t\r\n");
    if (head[start] != '{' && head[start] != '[')
        return NULL;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (i != (size_t)wanted && kinds[i].format != NULL && strstr(head, "\"format\"") != NULL &&
            strstr(head, kinds[i].format) != NULL)
            return kinds[i].what;
    bool report = head[start] == '[' && strstr(head, "\"file\"") != NULL;
    return report && wanted != CLI_KIND_REPORT ? "a report of pavior inspect" : NULL;
}

bool cli_read_kind(const char *name, cli_kind kind, size_t limit, pv_bytes *out, pv_diags *diags)
{
    if (!pv_file_read(name, limit, out, diags))
        return false;
    const char *is = foreign(out);
    if (is == NULL)
        is = other_of_ours(out, kind);
    if (is == NULL)
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, kinds[kind].give, "%s is %s, not %s",
                 strcmp(name, "-") == 0 ? "standard input" : name, is, kinds[kind].what);
    pv_free(out->data);
    *out = (pv_bytes){NULL, 0};
    return false;
}
