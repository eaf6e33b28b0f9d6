/* Sheets by name. */
#include "base/memory.h"
#include "base/text.h"
#include "plan/layout.h"

#include <stdlib.h>
#include <string.h>

/* A sheet's name from the start of text: letters, digits. False where there is none, or one past
 * any plan. */
static bool take_name(const char **text, size_t *row, size_t *column)
{
    const char *s = *text;
    size_t r = 0, c = 0;
    for (; (*s >= 'A' && *s <= 'Z') || (*s >= 'a' && *s <= 'z'); s++) {
        r = r * 26 + (size_t)((*s | 0x20) - 'a') + 1;
        if (r > PV_PLAN_SHEETS_MAX)
            return false;
    }
    for (; *s >= '0' && *s <= '9'; s++) {
        c = c * 10 + (size_t)(*s - '0');
        if (c > PV_PLAN_SHEETS_MAX)
            return false;
    }
    if (r == 0 || c == 0)
        return false;
    *text = s;
    *row = r - 1;
    *column = c - 1;
    return true;
}

size_t pv_plan_find_sheet(const pv_plan *plan, const char *name)
{
    size_t row = 0, column = 0;
    if (!take_name(&name, &row, &column) || *name != '\0' || row >= plan->rows ||
        column >= plan->columns)
        return SIZE_MAX;
    return row * plan->columns + column;
}

static const char *skip_blanks(const char *s)
{
    while (*s == ' ' || *s == '\t')
        s++;
    return s;
}

/* One item of the list, "B2" or "A1-B3"; *text moves past it. */
static bool take_item(const pv_plan *plan, const char **text, bool *flags)
{
    size_t row[2], column[2];
    *text = skip_blanks(*text);
    if (!take_name(text, &row[0], &column[0]))
        return false;
    row[1] = row[0];
    column[1] = column[0];
    *text = skip_blanks(*text);
    if (**text == '-') {
        *text = skip_blanks(*text + 1);
        if (!take_name(text, &row[1], &column[1]))
            return false;
        *text = skip_blanks(*text);
    }
    size_t r0 = row[0] < row[1] ? row[0] : row[1], r1 = row[0] + row[1] - r0;
    size_t c0 = column[0] < column[1] ? column[0] : column[1], c1 = column[0] + column[1] - c0;
    if (r1 >= plan->rows || c1 >= plan->columns || (**text != ',' && **text != '\0'))
        return false;
    for (size_t r = r0; r <= r1; r++)
        for (size_t c = c0; c <= c1; c++)
            flags[r * plan->columns + c] = true;
    return true;
}

static void say_what_there_is(const pv_plan *plan, const char *item, pv_diags *diags)
{
    size_t length = strcspn(item, ",");
    pv_text hint = PV_TEXT_INIT;
    if (plan->n_sheets == 1)
        pv_text_add(&hint, "the plan has one sheet, A1");
    else
        pv_text_add(&hint,
                    "the plan's sheets are A1 to %s; give names such as A1, a rectangle "
                    "such as A1-%s, or several with commas",
                    plan->sheets[plan->n_sheets - 1].name, plan->sheets[plan->n_sheets - 1].name);
    char *said = pv_text_take(&hint);
    if (said == NULL)
        pv_fail_memory(diags);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL, said, "no sheets are named \"%.*s\"",
                     (int)(length < 60 ? length : 60), item);
    free(said);
}

bool pv_plan_choose(const pv_plan *plan, const char *range, bool **chosen, pv_diags *diags)
{
    *chosen = NULL;
    bool *flags = PV_NEW_ARRAY(plan->n_sheets, bool);
    if (flags == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    for (size_t i = 0; range == NULL && i < plan->n_sheets; i++)
        flags[i] = true;
    for (const char *next = range; next != NULL;) {
        const char *item = next;
        if (!take_item(plan, &next, flags)) {
            say_what_there_is(plan, item, diags);
            free(flags);
            return false;
        }
        next = *next == ',' ? next + 1 : NULL;
    }
    *chosen = flags;
    return true;
}
