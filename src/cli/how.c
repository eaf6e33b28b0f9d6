/* The options that say by what an image is measured; of every command that measures one. */
#include "cli.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void cli_how_init(cli_how *how)
{
    *how = (cli_how){.options = pv_inspect_defaults()};
    how->options.readings = how->readings;
}

bool cli_how_dpi(const char *command, cli_how *how, const char *text)
{
    return cli_number(command, "--dpi", text, "dpi", 20, 20000, &how->options.dpi);
}

bool cli_how_uncertainty(const char *command, cli_how *how, const char *text)
{
    double percent = 0;
    if (!cli_number(command, "--scanner-uncertainty", text, "%", 0.004, 10, &percent))
        return false;
    how->options.scanner_U_rel = percent / 100;
    return true;
}

bool cli_how_scanner(const char *command, cli_how *how, const char *text)
{
    how->scanner = NULL;
    how->options.scanner_kind = PV_SCANNER_UNKNOWN;
    if (cli_scanner_kind(text, &how->options.scanner_kind))
        return true;
    how->scanner = text;
    if (strpbrk(text, "./-") != NULL || access(text, F_OK) == 0)
        return true;
    cli_usage(
        command,
        "--scanner knows the kinds flatbed, feeder, feeder-short and feeder-long, and there is "
        "no file \"%.100s\"",
        text);
    return false;
}

/* One length, from `text` to before `end`; blanks around it don't count. */
static bool one_length(const char *text, const char *end, double *mm)
{
    char chars[40];
    while (text < end && *text == ' ')
        text++;
    while (end > text && end[-1] == ' ')
        end--;
    size_t length = (size_t)(end - text);
    if (length == 0 || length >= sizeof chars)
        return false;
    memcpy(chars, text, length);
    chars[length] = '\0';
    return pv_length_parse(chars, mm) && *mm > 0;
}

/* Where the uncertainty begins, and how many bytes its sign has; the text's end where there is
 * none. */
static const char *uncertainty(const char *text, size_t *sign)
{
    static const char *const signs[] = {"+-", "+/-", "\xC2\xB1"};
    *sign = 0;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        const char *at = strstr(text, signs[i]);
        if (at != NULL) {
            *sign = strlen(signs[i]);
            return at;
        }
    }
    return text + strlen(text);
}

bool cli_how_measured(const char *command, cli_how *how, const char *text)
{
    if (how->options.n_readings == PV_READINGS_MAX) {
        cli_usage(command, "--measured may be given %d times at most", PV_READINGS_MAX);
        return false;
    }
    pv_ruler_reading *out = &how->readings[how->options.n_readings++];
    *out = (pv_ruler_reading){.U = 0};
    size_t sign;
    bool good = strlen(text) > 4 && text[1] == '-' && text[3] == '=';
    if (good) {
        out->from = (char)toupper((unsigned char)text[0]);
        out->to = (char)toupper((unsigned char)text[2]);
        const char *plus = uncertainty(text + 4, &sign);
        good = strchr("PQRS", out->from) != NULL && strchr("PQRS", out->to) != NULL &&
               out->from != out->to && one_length(text + 4, plus, &out->measured) &&
               (sign == 0 || one_length(plus + sign, plus + strlen(plus), &out->U));
    }
    if (!good)
        cli_usage(command,
                  "--measured needs two of the marks P, Q, R, S and what a ruler reads between "
                  "them, with its unit, such as P-Q=196.4mm or P-Q=196.4mm+-0.2mm, not \"%.100s\"",
                  text);
    return good;
}

const char *cli_how_contradiction(const cli_how *how)
{
    return how->scanner != NULL && how->options.scanner_U_rel >= 0
               ? "--scanner-uncertainty and --scanner FILE both state the scanner's uncertainty: "
                 "give one of them"
               : NULL;
}

bool cli_how_open(cli_how *how, pv_diags *diags)
{
    if (how->scanner == NULL)
        return true;
    cli_bytes bytes;
    if (!cli_read_kind(how->scanner, PV_FILE_SCANNER, PV_PRINTER_BYTES_MAX, &bytes, diags))
        return false;
    how->own = pv_scanner_parse((const char *)bytes.data, bytes.size, how->scanner, diags);
    how->options.scanner = how->own;
    free(bytes.data);
    return how->own != NULL;
}

void cli_how_close(cli_how *how)
{
    pv_scanner_free(how->own);
    how->own = NULL;
    how->options.scanner = NULL;
}
