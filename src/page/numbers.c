/* The numbers of the scale bars. */
#include "page/anatomy.h"

#include <stdio.h>

/* Layout: chosen. */
#define NUMBER_EM    2.2   /* mm */
#define NUMBER_STEP  0.1   /* mm smaller where there is no room */
#define NUMBER_TRIES 10    /* down to 1.3 in the narrowest service strip */
#define DIGITS       0.75  /* ems: digits, m and n have no descenders */
#define BELOW        0.025 /* ems of it are below the base line, to which round digits don't keep */
#define OFF_TICKS    0.2   /* of a tick's length, between ticks and numbers */
#define CLEAR        0.2   /* mm between numbers and everything else */
#define SHOWN_MAX    64    /* numbers to a bar */

/* A row of numbers, all on one side of a bar's ticks. */
typedef struct row {
    const pv_bar *bar;
    double em;
    bool after;          /* beyond the ticks' ends, not before their starts */
    int tick[SHOWN_MAX]; /* those that have a number */
    int n;
    int unit; /* the number that the unit stands behind */
} row;

/* The bar's own frame: along the row, and along a tick. */
static pv_vec bar_point(const pv_bar *bar, double along, double across)
{
    return pv_add(bar->at, bar->vertical ? pv_v(across, along) : pv_v(along, across));
}

static pv_box bar_box(const pv_bar *bar, double from, double to, double low, double high)
{
    return pv_box_add(pv_box_add(pv_box_none(), bar_point(bar, from, low)),
                      bar_point(bar, to, high));
}

static void number_text(const row *r, int i, char text[32])
{
    double value = r->tick[i] * r->bar->step / (r->bar->inch ? PV_MM_PER_IN : 1);
    snprintf(text, 32, "%ld", lround(value));
}

/* The box of number i, centred on its tick; one goes on to hold the unit, too. */
static pv_box number_box(pv_anatomy *a, const row *r, int i, char text[32])
{
    number_text(r, i, text);
    double half = pv_page_ems(a, text, false) * r->em / 2, at = r->tick[i] * r->bar->step;
    double height = DIGITS * r->em, off = OFF_TICKS * r->bar->tick;
    double low = r->after ? r->bar->tick + off : -off - height;
    double end = at + half;
    if (i == r->unit) {
        size_t used = 0;
        while (text[used] != '\0')
            used++;
        snprintf(text + used, 32 - used, "%s", r->bar->inch ? " in" : " mm");
        end = at - half + pv_page_ems(a, text, false) * r->em;
    }
    return bar_box(r->bar, at - half, end, low, low + height);
}

/* Chooses ticks: at every whole inch, or at every ten, twenty, fifty ... mm. */
static void choose_ticks(row *r, int every)
{
    double unit = r->bar->inch ? PV_MM_PER_IN : 10;
    r->n = 0;
    for (int i = 0; i <= r->bar->count && r->n < SHOWN_MAX; i++) {
        double value = i * r->bar->step / unit;
        long whole = lround(value);
        if (fabs(value - (double)whole) < 1e-6 && whole % every == 0)
            r->tick[r->n++] = i;
    }
}

static bool row_fits(pv_anatomy *a, const row *r)
{
    char text[32];
    pv_box before = pv_box_none();
    for (int i = 0; i < r->n; i++) {
        pv_box box = number_box(a, r, i, text);
        if (!pv_space_free(&a->space, box, CLEAR) ||
            pv_box_meets(pv_box_grow(box, PV_SPACE_GAP), before))
            return false;
        before = box;
    }
    return r->n >= 2;
}

static void write_row(pv_anatomy *a, const row *r)
{
    char text[32];
    pv_box all = pv_box_none();
    for (int i = 0; i < r->n; i++) {
        pv_box box = number_box(a, r, i, text);
        double below = BELOW * r->em;
        pv_vec at =
            r->bar->vertical ? pv_v(box.hi.x - below, box.lo.y) : pv_v(box.lo.x, box.lo.y + below);
        pv_page_text(a, at, r->em, r->bar->vertical ? PV_PI / 2 : 0, false, text);
        all = pv_box_add(pv_box_add(all, box.lo), box.hi);
    }
    pv_space_take(&a->space, all);
}

/* The unit stands behind the last number, or else behind the first. */
static bool write_if_fits(pv_anatomy *a, row *r)
{
    for (int first = 0; first < 2; first++) {
        r->unit = first ? 0 : r->n - 1;
        if (!row_fits(a, r))
            continue;
        write_row(a, r);
        return true;
    }
    return false;
}

/* The largest and densest row that fits, on either side of the ticks. */
static void number_bar(pv_anatomy *a, const pv_bar *bar)
{
    static const int every[] = {1, 2, 5, 10, 20};
    bool outwards = bar->vertical ? bar->at.x > a->cell.hi.x : bar->at.y > a->cell.hi.y;
    row r = {.bar = bar};
    for (int try = 0; try < NUMBER_TRIES; try++) {
        r.em = NUMBER_EM - NUMBER_STEP * try;
        for (size_t k = 0; k < sizeof every / sizeof *every; k++) {
            choose_ticks(&r, every[k]);
            for (int other = 0; other < 2; other++) {
                r.after = outwards == (other == 0); /* away from the art first */
                if (write_if_fits(a, &r))
                    return;
            }
        }
    }
}

void pv_page_numbers(pv_anatomy *a)
{
    for (size_t i = 0; i < a->sheet->n_bars; i++)
        number_bar(a, &a->sheet->bar[i]);
}
