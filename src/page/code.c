/* The QR code with the address of the sheet's own page. */
#include "base/text.h"
#include "page/anatomy.h"
#include "page/page.h"
#include "tag/qr.h"

#include <stdio.h>
#include <stdlib.h>

/* Layout: chosen, but for the least. Phones read codes of 0.5 mm a module, as office printers
 * print them (assumed); a reader's rule of thumb is a tenth of its distance for the whole code. */
#define MODULE_MOST  0.8 /* mm */
#define MODULE_LEAST 0.5
#define MODULE_STEP  0.05

void pv_sheet_page(const pv_sheet *sheet, char name[PV_SHEET_PAGE])
{
    size_t n = 0;
    for (const char *c = sheet->name; *c != '\0'; c++)
        name[n++] = (char)(*c >= 'A' && *c <= 'Z' ? *c + ('a' - 'A') : *c);
    snprintf(name + n, PV_SHEET_PAGE - n, ".html");
}

/* "https://example.org/mat/a4/c12.html"; NULL where memory ran out. */
static char *address(const pv_anatomy *a)
{
    pv_text text = PV_TEXT_INIT;
    const char *url = a->plan->url;
    char name[PV_SHEET_PAGE];
    pv_text_add(&text, "%s", url);
    if (text.length > 0 && url[text.length - 1] != '/')
        pv_text_add(&text, "/");
    pv_sheet_page(a->sheet, name);
    pv_text_add(&text, "%s", name);
    return pv_text_take(&text);
}

/* Runs of black modules in each row; the rows of a run that goes on are one box. */
static void draw_code(pv_anatomy *a, pv_qr *qr, pv_vec upper_left, double module)
{
    int side = qr->side;
    for (int row = 0; row < side; row++)
        for (int from = 0, to; from < side; from = to + 1) {
            to = from;
            while (to < side && qr->cells[row * side + to])
                to++;
            if (to > from)
                pv_page_box(
                    a, (pv_box){{upper_left.x + from * module, upper_left.y - (row + 1) * module},
                                {upper_left.x + to * module, upper_left.y - row * module}});
        }
    pv_page_end_code(a);
}

/* The white around the code may lie where the printer does not reach: that is white paper. */
static bool place_code(pv_anatomy *a, pv_qr *qr, double module)
{
    static const int sides[] = {PV_BOTTOM, PV_RIGHT, PV_TOP, PV_LEFT};
    const double *margin = a->plan->margin;
    double quiet = PV_QR_QUIET * module, whole = module * qr->side + 2 * quiet;
    pv_box printable = a->space.page, box;
    a->space.page.lo =
        pv_sub(printable.lo, pv_v(fmin(quiet, margin[PV_LEFT]), fmin(quiet, margin[PV_BOTTOM])));
    a->space.page.hi =
        pv_add(printable.hi, pv_v(fmin(quiet, margin[PV_RIGHT]), fmin(quiet, margin[PV_TOP])));
    bool found = false, turned;
    for (int i = 0; i < 4 && !found; i++) {
        /* Towards the lower right corner: the two service strips meet there. */
        pv_block block = {whole, whole, pv_v(a->space.page.hi.x, a->space.page.lo.y),
                          false, true,  PV_SPACE_ACROSS};
        found = pv_space_find(&a->space, sides[i], &block, &box, &turned);
    }
    a->space.page = printable;
    if (!found)
        return false;
    pv_space_take(&a->space, box);
    draw_code(a, qr, pv_v(box.lo.x + quiet, box.hi.y - quiet), module);
    return true;
}

bool pv_page_code(pv_anatomy *a, pv_diags *diags)
{
    if (a->plan->url == NULL)
        return true;
    char *text = address(a);
    pv_qr qr = {0};
    bool good = text != NULL;
    if (!good)
        pv_fail_memory(diags);
    good = good && pv_qr_make(text, &qr, diags);
    bool placed = false;
    for (int try = 0; good && !placed && MODULE_MOST - try * MODULE_STEP >= MODULE_LEAST - 1e-9;
         try++)
        placed = place_code(a, &qr, MODULE_MOST - try * MODULE_STEP);
    pv_qr_drop(&qr);
    free(text);
    return good;
}
