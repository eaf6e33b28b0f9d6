/* pavior sheets: saying what the mat will take. */
#include "cli/sheets.h"

#include "base/text.h"
#include "base/units.h"

#include <stdio.h>
#include <string.h>

bool cli_sheets_paper_weight(cli_sheets_request *r, const char *text)
{
    double value = 0;
    size_t used = 0;
    bool good = pv_number_parse(text, strlen(text), &value, &used);
    const char *unit = text + used;
    while (good && *unit == ' ')
        unit++;
    good = good && (strcmp(unit, "g/m2") == 0 || strcmp(unit, "g/m\xC2\xB2") == 0 ||
                    strcmp(unit, "gsm") == 0 || strcmp(unit, "g") == 0);
    if (good && value >= PV_PAPER_WEIGHT_MIN && value <= PV_PAPER_WEIGHT_MAX) {
        r->paper_weight = value;
        return true;
    }
    cli_usage("sheets", "--paper-weight needs %g to %g g/m2, such as 80g/m2, not \"%.40s\"",
              PV_PAPER_WEIGHT_MIN, PV_PAPER_WEIGHT_MAX, text);
    return false;
}

/* To the quarter of an hour from two hours on, else to five minutes: it is a rule of thumb. */
static void say_time(FILE *to, double minutes)
{
    double step = minutes >= 120 ? 15 : 5;
    long rounded = (long)(step * fmax(1, round(minutes / step)));
    if (rounded < 60)
        fprintf(to, "%ld min", rounded);
    else if (rounded % 60 == 0)
        fprintf(to, "%ld h", rounded / 60);
    else
        fprintf(to, "%ld h %02ld min", rounded / 60, rounded % 60);
}

void cli_sheets_say_takes(FILE *to, const cli_sheets_request *r, const pv_takeoff *takes)
{
    static const char *const names[] = {"cyan", "magenta", "yellow", "black"};
    fprintf(to, "takes      %s kg of paper at %g g/m2, %s m to cut, %s m of tape, about ",
            pv_fixed(takes->mass, 2).chars, r->paper_weight, pv_fixed(takes->cut, 1).chars,
            pv_fixed(takes->tape, 1).chars);
    say_time(to, takes->minutes);
    fputs("\nink        ", to);
    for (int i = PV_BLACK; i >= PV_CYAN; i--)
        fprintf(to, "%s %s %%%s", names[i], pv_fixed(100 * takes->ink[i], 1).chars,
                i > PV_CYAN ? ", " : " of the mat\n");
}

static void number(pv_json_writer *w, const char *key, double value)
{
    pv_json_key(w, key);
    pv_json_number(w, value);
}

void cli_sheets_json_takes(pv_json_writer *w, const cli_sheets_request *r, const pv_plan *plan,
                           const pv_takeoff *takes)
{
    static const char *const names[] = {"cyan", "magenta", "yellow", "black"};
    pv_json_key(w, "takes");
    pv_json_open(w, '{');
    pv_json_key(w, "sheets");
    pv_json_integer(w, (long long)takes->sheets);
    number(w, "paper_g_m2", r->paper_weight);
    number(w, "paper_m2", takes->paper);
    number(w, "paper_kg", takes->mass);
    number(w, "cut_m", takes->cut);
    number(w, "tape_m", takes->tape);
    number(w, "minutes", takes->minutes);
    number(w, "printed_per_mat", takes->printed);
    pv_json_key(w, "ink");
    pv_json_open_inline(w, '{');
    for (int i = 0; i < 4; i++)
        number(w, names[i], takes->ink[i]);
    pv_json_close(w, '}');
    pv_json_key(w, "colours");
    pv_json_open(w, '[');
    for (size_t i = 0; i < plan->art.n_colours; i++) {
        const pv_colour *colour = &plan->art.colours[i];
        pv_json_open_inline(w, '{');
        pv_json_key(w, "name");
        pv_json_string(w, colour->name);
        pv_json_key(w, "rgb");
        pv_json_open_inline(w, '[');
        for (int c = 0; c < 3; c++)
            pv_json_integer(w, colour->rgb[c]);
        pv_json_close(w, ']');
        number(w, "area_mm2", takes->area[i]);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}
