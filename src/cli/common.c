#include "cli/cli.h"

#include "base/text.h"
#include "base/units.h"
#include "base/words.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int cli_status(const pv_diags *diags)
{
    switch (pv_diags_cause(diags)) {
    case PV_CAUSE_NONE:
        return CLI_OK;
    case PV_CAUSE_USAGE:
        return CLI_USAGE;
    case PV_CAUSE_DATA:
    case PV_CAUSE_LIMIT:
        return CLI_DATA;
    case PV_CAUSE_INPUT:
        return CLI_NO_INPUT;
    case PV_CAUSE_CREATE:
        return CLI_NO_CREATE;
    case PV_CAUSE_OUTPUT:
        return CLI_IO;
    case PV_CAUSE_MEMORY:
        return CLI_OS;
    case PV_CAUSE_LIBRARY:
        break;
    }
    return CLI_SOFTWARE;
}

void cli_show(FILE *to, const char *text)
{
    for (size_t left = strlen(text); left > 0;) {
        bool shows = false;
        size_t step = pv_harmless(text, left, "", &shows);
        fwrite(shows ? text : "?", 1, shows ? step : 1, to);
        text += step;
        left -= step;
    }
}

/* Nobody reads more at a time. */
#define SHOWN_MAX 50

void cli_report(const pv_diags *diags, bool quiet)
{
    size_t shown = 0;
    for (size_t i = 0; i < pv_diags_size(diags) && shown < SHOWN_MAX; i++) {
        const pv_diag *diag = pv_diags_at(diags, i);
        if (quiet && diag->severity < PV_ERROR)
            continue;
        char *text = pv_diag_text(diag);
        fputs(text != NULL ? text : "error: out of memory\n", stderr);
        pv_free(text);
        shown++;
    }
    size_t all = pv_diags_count(diags, quiet ? PV_ERROR : PV_NOTE);
    if (all > shown)
        fprintf(stderr, "... and %zu more\n", all - shown);
}

int cli_usage(const char *command, const char *format, ...)
{
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    fprintf(stderr, "pavior %s: ", command);
    cli_show(stderr, text);
    fprintf(stderr, "\nTry 'pavior %s --help'.\n", command);
    return CLI_USAGE;
}

cli_scan cli_scan_start(const char *command, const cli_option *options, int argc, char **argv)
{
    return (cli_scan){
        .command = command, .options = options, .argc = argc, .argv = argv, .next = 1};
}

static int __attribute__((format(printf, 2, 0)))
bad(const cli_scan *scan, const char *format, const char *word)
{
    cli_usage(scan->command, format, word);
    return CLI_BAD;
}

/* Index of the option with that name or unique beginning; -1 none, -2 several. */
static int match(const cli_option *options, const char *name, size_t length)
{
    int found = -1;
    for (int i = 0; options[i].name != NULL; i++) {
        if (strncmp(options[i].name, name, length) != 0)
            continue;
        if (options[i].name[length] == '\0')
            return i;
        found = found == -1 ? i : -2;
    }
    return found;
}

static int take_value(cli_scan *scan, int index, const char *word, const char *given)
{
    scan->value = given;
    if (!scan->options[index].has_value)
        return given == NULL ? index : bad(scan, "option %.200s takes no value", word);
    if (given == NULL && scan->next < scan->argc)
        scan->value = scan->argv[scan->next++];
    return scan->value != NULL ? index : bad(scan, "option %.200s needs a value", word);
}

static int long_option(cli_scan *scan, const char *word)
{
    const char *name = word + 2;
    const char *equals = strchr(name, '=');
    size_t length = equals != NULL ? (size_t)(equals - name) : strlen(name);
    int index = match(scan->options, name, length);
    if (index < 0)
        return bad(scan, index == -1 ? "unknown option %.200s" : "option %.200s could be several",
                   word);
    return take_value(scan, index, word, equals != NULL ? equals + 1 : NULL);
}

static int letter_option(cli_scan *scan)
{
    char word[] = {'-', *scan->letters++, '\0'};
    for (int i = 0; scan->options[i].name != NULL; i++) {
        if (scan->options[i].letter != word[1])
            continue;
        const char *rest = *scan->letters != '\0' ? scan->letters : NULL;
        if (!scan->options[i].has_value) {
            scan->letters = rest;
            return i;
        }
        scan->letters = NULL;
        return take_value(scan, i, word, rest);
    }
    return bad(scan, "unknown option %.200s", word);
}

int cli_scan_next(cli_scan *scan)
{
    if (scan->letters != NULL)
        return letter_option(scan);
    if (scan->next >= scan->argc)
        return CLI_END;
    const char *word = scan->argv[scan->next++];
    if (!scan->only_operands && strcmp(word, "--") == 0) {
        scan->only_operands = true;
        return cli_scan_next(scan);
    }
    if (scan->only_operands || word[0] != '-' || word[1] == '\0') {
        scan->value = word;
        return CLI_OPERAND;
    }
    if (word[1] == '-')
        return long_option(scan, word);
    scan->letters = word + 1;
    return letter_option(scan);
}

bool cli_length(const char *command, const char *option, const char *text, double *mm)
{
    if (pv_length_parse(text, mm))
        return true;
    cli_usage(command, "%s needs a length with its unit (mm, cm, m, in, ft), not \"%.100s\"",
              option, text);
    return false;
}

bool cli_colour(void)
{
    const char *no = getenv("NO_COLOR");
    return (no == NULL || *no == '\0') && isatty(STDOUT_FILENO) == 1;
}

static const char *last_part(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash != NULL ? slash + 1 : name;
}

/* Of the folder in which a file is or would be. */
static bool folder_of(const char *name, struct stat *out)
{
    pv_text folder = PV_TEXT_INIT;
    pv_text_add(&folder, "%.*s.", (int)(last_part(name) - name), name);
    bool good = !folder.failed && stat(folder.chars, out) == 0;
    pv_text_drop(&folder);
    return good;
}

bool cli_same_file(const char *a, const char *b)
{
    if (a == NULL || b == NULL || strcmp(a, "-") == 0 || strcmp(b, "-") == 0)
        return false;
    if (strcmp(a, b) == 0)
        return true;
    struct stat first, second;
    if (stat(a, &first) == 0 && stat(b, &second) == 0)
        return S_ISREG(first.st_mode) && first.st_dev == second.st_dev &&
               first.st_ino == second.st_ino;
    return strcmp(last_part(a), last_part(b)) == 0 && folder_of(a, &first) &&
           folder_of(b, &second) && first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

bool cli_overwrites(const char *command, const char *output, const char *kind, const char *input)
{
    if (!cli_same_file(output, input))
        return false;
    cli_usage(command, "this would overwrite the %s %.100s", kind, input);
    return true;
}

bool cli_write_text(const char *name, char *text, pv_diags *diags)
{
    if (text == NULL) {
        if (pv_diags_count(diags, PV_ERROR) == 0)
            fputs("error: out of memory\n", stderr);
        return false;
    }
    bool good = pv_file_write(name, text, strlen(text), diags);
    pv_free(text);
    return good;
}
