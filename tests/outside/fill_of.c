/* A template filled, for test_pages.py:
 *
 *   fill_of DATA NAME=FILE...    the first of the templates, with the JSON of the file DATA */
#include "base/memory.h"
#include "html/html.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEMPLATES_MAX 16

static char *read_file(const char *path, size_t *length)
{
    pv_text text = PV_TEXT_INIT;
    char part[4096];
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        exit(66);
    size_t n;
    while ((n = fread(part, 1, sizeof part, file)) > 0)
        pv_text_bytes(&text, part, n);
    fclose(file);
    *length = text.length;
    char *chars = pv_text_take(&text);
    if (chars == NULL)
        exit(70);
    return chars;
}

int main(int argc, char **argv)
{
    pv_template templates[TEMPLATES_MAX];
    size_t n = 0, length;
    if (argc < 3 || argc > TEMPLATES_MAX)
        return 64;
    for (int i = 2; i < argc; i++) {
        char *equals = strchr(argv[i], '=');
        if (equals == NULL)
            return 64;
        *equals = '\0';
        templates[n++] = (pv_template){argv[i], read_file(equals + 1, &length)};
    }
    char *data = read_file(argv[1], &length);
    pv_text out = PV_TEXT_INIT;
    pv_diags *diags = pv_diags_new();
    bool good = pv_html_fill_from(&out, templates, n, templates[0].name, data, length, NULL, diags);
    if (good)
        fwrite(out.chars, 1, out.length, stdout);
    else
        fprintf(stderr, "%s\n", pv_diags_at(diags, 0)->message);
    pv_text_drop(&out);
    pv_diags_free(diags);
    free(data);
    for (size_t i = 0; i < n; i++)
        free((char *)templates[i].text);
    return good ? 0 : 65;
}
