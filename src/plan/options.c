#include "plan/options.h"

#include "base/memory.h"
#include "paper/paper.h"
#include "paper/printer.h"
#include "paper/roll.h"
#include "plan/keep.h"

#include <stdlib.h>
#include <string.h>

#define SAME_PAPER 0.5 /* mm */

static const pv_layout_options defaults = {
    .size = sizeof defaults,
    .paper = "A4",
    .margin = {PV_MARGIN_USUAL, PV_MARGIN_USUAL, PV_MARGIN_USUAL, PV_MARGIN_USUAL},
    .overlap = PV_OVERLAP};

void pv_layout_init(pv_layout_options *options, size_t size)
{
    pv_give_options(options, size, &defaults, sizeof defaults);
}

/* What the class leaves blank, or without a class what is usual on such paper. */
static bool usual_margins(const pv_layout_options *o, double margin[4], pv_diags *diags)
{
    bool roll = o->roll != 0;
    for (int i = 0; i < 4; i++)
        margin[i] = !roll                           ? PV_MARGIN_DEFAULT
                    : i == PV_LEFT || i == PV_RIGHT ? PV_ROLL_MARGIN
                                                    : PV_ROLL_MARGIN_END;
    if (o->printer_class == NULL || pv_class_margins(o->printer_class, o->orientation, margin))
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "the classes are laser, inkjet and borderless",
                 "no printer class is called \"%.40s\"", o->printer_class);
    return false;
}

static bool make_room_for_printer(pv_settled *s, pv_diags *diags)
{
    const pv_printer *printer = s->o.printer;
    char *name = NULL;
    double page[2];
    if (s->o.roll != 0) {
        pv_fail(diags, PV_CAUSE_USAGE, "a printer's correction applies to sheets, not to rolls");
        return false;
    }
    if (!pv_paper_find(s->o.paper, &name, &page[0], &page[1], diags))
        return false;
    if (fabs(page[0] - printer->page[0]) > SAME_PAPER ||
        fabs(page[1] - printer->page[1]) > SAME_PAPER)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "print a proof on this paper and calibrate with it",
                     "%s was measured on %s, and may treat %s differently",
                     pv_printer_words(printer), printer->paper, name);
    free(name);
    pv_printer_widen(printer, page, s->o.margin);
    return true;
}

bool pv_url_plain(const char *url)
{
    static const char also[] = "-._~:/[]@!$&'()*+,;=%";
    size_t length = strlen(url);
    bool plain = length <= PV_URL_MAX &&
                 (strncmp(url, "https://", 8) == 0 || strncmp(url, "http://", 7) == 0);
    for (const char *c = url; *c != '\0' && plain; c++) {
        bool letter = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z');
        plain = letter || (*c >= '0' && *c <= '9') || strchr(also, *c) != NULL;
    }
    return plain;
}

static bool check_url(const char *url, pv_diags *diags)
{
    if (url == NULL || pv_url_plain(url))
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "give the address of the folder with the sheets' pages, such as "
                 "https://example.org/mat/a4",
                 "the address must begin with https:// or http://, and hold at most %d characters "
                 "of a plain web address, no ? and no #",
                 PV_URL_MAX);
    return false;
}

bool pv_layout_settle(const pv_layout_options *given, pv_settled *out, pv_diags *diags)
{
    *out = (pv_settled){.o = defaults};
    pv_take_options(&out->o, sizeof out->o, given);
    if (out->o.paper == NULL)
        out->o.paper = defaults.paper;
    double usual[4];
    if (!check_url(out->o.url, diags))
        return false;
    if (!usual_margins(&out->o, usual, diags))
        return false;
    for (int i = 0; i < 4; i++)
        if (out->o.margin[i] == PV_MARGIN_USUAL)
            out->o.margin[i] = usual[i];
    if (out->o.printer_class != NULL && strcmp(out->o.printer_class, "borderless") == 0)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "choose the driver setting that keeps the size, and check a scale bar with a "
                     "ruler first",
                     "printers enlarge borderless pages by a few per cent");
    return (out->o.keep == NULL || pv_keep_options(out->o.keep, &out->o, diags)) &&
           (out->o.printer == NULL || make_room_for_printer(out, diags));
}
