/* pavior sheets --margin: what the printer leaves blank. */
#include "cli/sheets.h"

#include "base/memory.h"

#include <stdio.h>
#include <string.h>

static const char *find_class(const char *word)
{
    size_t i = 0;
    while (pv_printer_class(i) != NULL && strcmp(word, pv_printer_class(i)) != 0)
        i++;
    return pv_printer_class(i);
}

/* One "inkjet", "left=5mm" or "5mm" of a list. */
static bool margin_part(cli_sheets_request *r, const char *part)
{
    static const char *const sides[] = {"left", "bottom", "right", "top"};
    const char *equals = strchr(part, '=');
    double mm = 0;
    const char *printer = find_class(part);
    if (printer != NULL) {
        if (r->printer_class != NULL && r->printer_class != printer) {
            cli_usage("sheets", "--margin: %s or %s?", r->printer_class, printer);
            return false;
        }
        r->printer_class = printer;
        return true;
    }
    if (equals == NULL && *part >= 'a' && *part <= 'z') {
        cli_usage("sheets",
                  "--margin knows printers by laser, inkjet and borderless, not \"%.40s\"", part);
        return false;
    }
    if (!cli_length("sheets", "--margin", equals != NULL ? equals + 1 : part, &mm))
        return false;
    bool known = equals == NULL;
    for (int i = 0; i < 4; i++) {
        size_t n = strlen(sides[i]);
        bool named =
            equals != NULL && (size_t)(equals - part) == n && strncmp(part, sides[i], n) == 0;
        if (named && r->side_given[i]) {
            cli_usage("sheets", "--margin has two lengths for the %s side", sides[i]);
            return false;
        }
        r->side_given[i] = r->side_given[i] || named;
        if (equals == NULL || named) {
            r->layout.margin[i] = mm;
            r->margin_given[i] = true;
        }
        known = known || named;
    }
    if (!known)
        cli_usage("sheets", "--margin knows left, bottom, right and top, not \"%.40s\"", part);
    return known;
}

bool cli_sheets_margin(cli_sheets_request *r, const char *text)
{
    char *copy = pv_copy_text(text), *part = copy;
    bool good = copy != NULL;
    if (!good)
        fputs("error: out of memory\n", stderr);
    while (good && part != NULL) {
        char *comma = strchr(part, ',');
        if (comma != NULL)
            *comma++ = '\0';
        good = margin_part(r, part);
        part = comma;
    }
    pv_free(copy);
    return good;
}

void cli_sheets_settle_margins(cli_sheets_request *r)
{
    double margin[4];
    pv_orientation way = r->proof ? PV_PORTRAIT : r->layout.orientation;
    pv_layout_options usual =
        r->layout.roll != 0 ? pv_layout_roll_defaults(r->layout.roll) : pv_layout_defaults();
    if (r->printer_class == NULL || !pv_printer_class_margins(r->printer_class, way, margin))
        memcpy(margin, usual.margin, sizeof margin);
    for (int i = 0; i < 4; i++)
        if (!r->margin_given[i])
            r->layout.margin[i] = margin[i];
}
