#include "base/units.h"

#include "base/vec.h"

#include <string.h>

static const struct {
    const char *name;
    double mm;
} units[] = {{"mm", 1.0}, {"cm", 10.0}, {"m", 1000.0}, {"in", PV_MM_PER_IN}, {"ft", PV_MM_PER_FT}};

double pv_unit_mm(const char *name, size_t length)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strlen(units[i].name) == length && memcmp(units[i].name, name, length) == 0)
            return units[i].mm;
    return 0;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Digits are gathered as whole numbers and scaled once by a power of ten: for the up to 15 digits
 * that a person types, that one division or product is correctly rounded (both operands are exact
 * below 2^53 and 10^22). Longer numbers lose at most a few units in the last place. */
bool pv_number_parse(const char *text, size_t length, double *value, size_t *used)
{
    size_t i = 0;
    double digits = 0;
    int exponent = 0;
    bool any = false;
    for (; i < length && is_digit(text[i]); i++, any = true)
        digits = digits * 10 + (text[i] - '0');
    if (i < length && text[i] == '.') {
        size_t dot = i++;
        for (; i < length && is_digit(text[i]); i++, any = true) {
            if (exponent > -300) {
                digits = digits * 10 + (text[i] - '0');
                exponent--;
            }
        }
        if (i == dot + 1)
            i = dot;
    }
    if (!any)
        return false;
    *value = exponent < 0 ? digits / pow(10, -exponent) : digits;
    *used = i;
    return isfinite(*value);
}

bool pv_length_parse(const char *text, double *mm)
{
    size_t length = strlen(text), used = 0;
    double sign = 1, value = 0;
    if (length > 0 && (*text == '-' || *text == '+')) {
        sign = *text == '-' ? -1 : 1;
        text++;
        length--;
    }
    if (!pv_number_parse(text, length, &value, &used))
        return false;
    while (text[used] == ' ')
        used++;
    double unit = pv_unit_mm(text + used, length - used);
    value *= sign * unit;
    if (!(unit > 0 && isfinite(value)))
        return false;
    *mm = value;
    return true;
}
