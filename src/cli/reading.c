/* A length measured by hand, as typed. */
#include "cli/cli.h"

#include "base/units.h"

#include <math.h>
#include <string.h>

#define LENGTH_MAX 40 /* characters of one length */

/* One length, from `text` to before `end`; blanks around it don't count. */
static bool one_length(const char *text, const char *end, double *mm)
{
    char chars[LENGTH_MAX];
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

bool cli_reading(const char *command, const char *text, pv_ruler_reading *out)
{
    size_t sign;
    const char *equals = strchr(text, '=');
    bool axis = (text[0] == 'x' || text[0] == 'y') && text[1] == ':';
    const char *plus = uncertainty(equals != NULL ? equals : text, &sign);
    *out = (pv_ruler_reading){.vertical = text[0] == 'y', .U = PV_RULER_U};
    bool good = axis && equals != NULL && one_length(text + 2, equals, &out->nominal) &&
                one_length(equals + 1, plus, &out->measured) &&
                (sign == 0 || one_length(plus + sign, plus + strlen(plus), &out->U));
    if (!good) {
        cli_usage(command,
                  "--measured needs x or y of the sheet, the bar's printed length and what the "
                  "ruler says, each with its unit, as x:100mm=99.7mm or x:100mm=99.7mm+-0.2mm, "
                  "not \"%.100s\"",
                  text);
        return false;
    }
    if (fabs(out->measured / out->nominal - 1) > PV_RULER_APART) {
        cli_usage(command,
                  "--measured %.100s: a print is not off by more than %.0f %%; the printed length "
                  "comes first, then what the ruler says",
                  text, 100 * PV_RULER_APART);
        return false;
    }
    if (out->U > PV_RULER_APART * out->nominal) {
        cli_usage(command, "--measured %.100s: a reading as uncertain as that tells nothing", text);
        return false;
    }
    return true;
}
