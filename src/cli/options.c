#include "cli.h"

#include <stdarg.h>
#include <string.h>

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

bool cli_length(const char *command, const char *option, const char *text, double *mm)
{
    if (pv_length_parse(text, mm))
        return true;
    cli_usage(command, "%s needs a length with its unit (mm, cm, m, in, ft), not \"%.100s\"",
              option, text);
    return false;
}

/* False after saying which there are. */
static bool find_language(const char *command, const char *option, const char *code,
                          const pv_language **found)
{
    char all[256] = "";
    *found = pv_language_find(code);
    for (size_t i = 0; *found == NULL && pv_language_at(i) != NULL; i++) {
        size_t used = strlen(all);
        const pv_language *l = pv_language_at(i);
        snprintf(all + used, sizeof all - used, "%s%s (%s)", i > 0 ? ", " : "", pv_language_code(l),
                 pv_language_name(l));
    }
    if (*found == NULL)
        cli_usage(command, "%s takes one of %s, not \"%.40s\"", option, all, code);
    return *found != NULL;
}

bool cli_number(const char *command, const char *option, const char *text, const char *unit,
                double least, double most, double *value)
{
    size_t used = 0, length = strlen(text);
    bool good = pv_number_parse(text, length, value, &used);
    while (good && text[used] == ' ')
        used++;
    good = good && (used == length || strcmp(text + used, unit) == 0);
    if (good && *value >= least && *value <= most)
        return true;
    cli_usage(command, "%s needs a number from %g to %g %s, not \"%.100s\"", option, least, most,
              unit, text);
    return false;
}

bool cli_scanner_kind(const char *text, pv_scanner_kind *kind)
{
    for (int k = PV_SCANNER_FLATBED; k < PV_SCANNER_KINDS; k++)
        if (strcmp(text, pv_scanner_kind_name((pv_scanner_kind)k)) == 0) {
            *kind = (pv_scanner_kind)k;
            return true;
        }
    return false;
}

typedef struct scan {
    const char *command;
    const cli_option *options;
    void *request;
    int argc, next;
    char **argv;
} scan;

static bool __attribute__((format(printf, 2, 0)))
bad(const scan *s, const char *format, const char *word)
{
    cli_usage(s->command, format, word);
    return false;
}

/* `value` is what stood in the same word, or NULL: then the next word, where one is needed. */
static bool apply(scan *s, const cli_option *option, const char *word, const char *value)
{
    if (option->flag != NULL) {
        *option->flag = true;
        return value == NULL || bad(s, "option %.200s takes no value", word);
    }
    if (value == NULL && s->next < s->argc)
        value = s->argv[s->next++];
    if (value == NULL)
        return bad(s, "option %.200s needs a value", word);
    if (option->take != NULL)
        return option->take(s->request, value);
    if (option->word != NULL) {
        *option->word = value;
        return true;
    }
    char dashed[64];
    snprintf(dashed, sizeof dashed, "--%s", option->name);
    if (option->language != NULL)
        return find_language(s->command, dashed, value, option->language);
    return cli_length(s->command, dashed, value, option->length);
}

static bool long_option(scan *s, const char *word)
{
    const char *name = word + 2, *equals = strchr(name, '=');
    size_t length = equals != NULL ? (size_t)(equals - name) : strlen(name);
    const cli_option *found = NULL;
    int several = 0;
    for (const cli_option *o = s->options; o->name != NULL; o++) {
        if (strncmp(o->name, name, length) != 0)
            continue;
        several += found == NULL || o->flag == NULL || o->flag != found->flag; /* two spellings */
        found = o;
        if (o->name[length] == '\0') {
            several = 1;
            break;
        }
    }
    if (several != 1)
        return bad(s, several == 0 ? "unknown option %.200s" : "option %.200s is ambiguous", word);
    return apply(s, found, word, equals != NULL ? equals + 1 : NULL);
}

/* A bundle such as "-qo out.pdf". */
static bool letter_options(scan *s, const char *letters)
{
    while (*letters != '\0') {
        char word[] = {'-', *letters++, '\0'};
        const cli_option *o = s->options;
        while (o->name != NULL && o->letter != word[1])
            o++;
        if (o->name == NULL)
            return bad(s, "unknown option %.200s", word);
        bool rest = o->flag == NULL && *letters != '\0';
        if (!apply(s, o, word, rest ? letters : NULL))
            return false;
        if (rest)
            break;
    }
    return true;
}

int cli_options(const char *command, const cli_option *options, void *request, int argc,
                char **argv)
{
    scan s = {command, options, request, argc, 1, argv};
    int operands = 0;
    bool ended = false;
    while (s.next < argc) {
        char *word = argv[s.next++];
        if (ended || word[0] != '-' || word[1] == '\0')
            argv[operands++] = word;
        else if (strcmp(word, "--") == 0)
            ended = true;
        else if (!(word[1] == '-' ? long_option(&s, word) : letter_options(&s, word + 1)))
            return -1;
    }
    return operands;
}
