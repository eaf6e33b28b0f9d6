/* The guide's pages: the first one, and those of the steps. */
#include "guide/pages.h"

#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>

/* Layout: chosen; in pen units. A unit is 1 mm on paper whose shorter side is from SHORT to LONG.
 */
#define EM         3.6
#define EM_LEAST   2.2
#define EM_SMALL   2.9
#define TITLE      7.0
#define STEP_TITLE 4.0
#define GAP        5.0
#define STEP_WIDE  150.0 /* a narrower step has its words beneath its pictures */
#define SHEET_WIDE 1.6   /* a sheet that is so much wider than high has wide pictures */
#define STEP_BEST  120.0 /* of several columns */
#define STEP_HIGH  57.0
#define STEP_TALL  86.0  /* with words beneath */
#define PAGE_WIDE  240.0 /* narrower pages have one column */
#define SIGNS_ROW  6.0
#define SIGN       9.0

/* ---- signs and what they mean ---- */

typedef enum sign { CUT, WASTE, STAYS, CROSS, TOP_EDGE, TAPE, ROBOT } sign;

static void draw_sign(const pv_guide_book *b, sign which, pv_box at)
{
    const pv_pen *pen = &b->pen;
    double u = pen->unit, y = (at.lo.y + at.hi.y) / 2;
    pv_vec left = pv_v(at.lo.x, y), right = pv_v(at.hi.x, y);
    bool butt = b->guide->plan->joint == PV_JOINT_BUTT;
    switch (which) {
    case CUT:
        pv_pen_dashes(pen, pv_v(at.lo.x + 3 * u, y), right, 0.5, pv_guide_black);
        pv_pen_scissors(pen, pv_v(at.lo.x + 2.2 * u, y), pv_v(1, 0));
        break;
    case WASTE:
        pv_pen_hatch(pen, at, NULL, false);
        pv_pen_frame(pen, at, 0.2, pv_guide_grey);
        break;
    case STAYS:
        pv_pen_bar(pen, left, right, 1.6, pv_guide_grey);
        break;
    case CROSS:
        pv_pen_cross(pen, pv_box_middle(at));
        break;
    case TOP_EDGE:
        pv_pen_bar(pen, left, right, 1.0, pv_guide_black);
        break;
    case TAPE:
        pv_pen_tape(pen, at, butt);
        break;
    case ROBOT:
        pv_pen_arrow(pen, pv_box_middle(at), pv_v(1, 0), SIGN);
        break;
    }
}

static const char *words_of(const pv_guide_book *b, sign which)
{
    static const char *const words[] = {
        [CUT] = PV_SAID("cut here"),
        [WASTE] = PV_SAID("is cut away"),
        [STAYS] = PV_SAID("this edge stays, do not cut"),
        [CROSS] = PV_SAID("crosses meet here"),
        [TOP_EDGE] = PV_SAID("this edge lies on top"),
        [TAPE] = PV_SAID("tape from above"),
        [ROBOT] = PV_SAID("the robot's way"),
    };
    bool butt = b->guide->plan->joint == PV_JOINT_BUTT;
    return pv_say(b->guide->plan->language,
                  which == TAPE && butt ? PV_SAID("tape from beneath") : words[which]);
}

/* Rows of signs from a place on; `draw`: or only their number. */
static int set_signs(const pv_guide_book *b, pv_vec at, unsigned which, bool draw)
{
    double u = b->pen.unit, em = EM_SMALL * u, x = at.x, y = at.y;
    int rows = 1;
    for (sign s = CUT; s <= ROBOT; s++) {
        if ((which >> s & 1) == 0)
            continue;
        double wide = (SIGN + 1.5) * u + em * pv_draw_ems(b->pen.d, words_of(b, s), false);
        if (x > at.x && x + wide > b->area.hi.x) {
            x = at.x;
            y -= SIGNS_ROW * u;
            rows++;
        }
        if (draw) {
            draw_sign(b, s, (pv_box){{x, y}, {x + SIGN * u, y + 3.2 * u}});
            pv_draw_text(b->pen.d, pv_v(x + (SIGN + 1.5) * u, y + 0.7 * u), em, 0, false,
                         pv_guide_black, words_of(b, s));
        }
        x += wide + GAP * u;
    }
    return rows;
}

/* At the foot of the page, whose area gets smaller by that; only those that are in `which`. */
static void draw_signs(pv_guide_book *b, unsigned which)
{
    if (b->guide->plan->joint == PV_JOINT_BUTT)
        which &= ~(1u << STAYS | 1u << TOP_EDGE);
    int rows = set_signs(b, b->area.lo, which, false);
    double row = SIGNS_ROW * b->pen.unit;
    pv_vec at = pv_v(b->area.lo.x, b->area.lo.y + (rows - 1) * row);
    if (which != 0)
        set_signs(b, at, which, true);
    b->area.lo.y += which != 0 ? rows * row : 0;
}

/* ---- the first page ---- */

/* What is left of it is the page's area in the end. */
static void front_page(pv_guide_book *b)
{
    const pv_plan *plan = b->guide->plan;
    pv_guide_open_page(b);
    double u = b->pen.unit;
    draw_signs(b, 1u << TOP_EDGE | (plan->n_route > 0 ? 1u << ROBOT : 0));
    pv_column c = pv_column_of(&b->page, b->area);
    pv_text title = PV_TEXT_INIT, under = PV_TEXT_INIT;
    pv_text_add(&title, pv_say(b->guide->plan->language, "Taping guide: %s"), plan->art.name);
    pv_text_add(&under,
                pv_say_count(b->guide->plan->language, "%zu sheet of %s, kit %s. ",
                             "%zu sheets of %s, kit %s. ", plan->n_sheets),
                plan->n_sheets, plan->paper, pv_plan_kit(plan).chars);
    pv_text_add(&under, "%s",
                pv_say(b->guide->plan->language,
                       "Lay the sheets in the order of the numbers. Each comes to lie "
                       "beside one that lies already."));
    b->page.failed = b->page.failed || title.failed || under.failed;
    if (!b->page.failed) {
        pv_column_say(&c, TITLE * u, true, NULL, 0, title.chars);
        pv_column_say(&c, EM * 1.15 * u, false, NULL, 0, under.chars);
    }
    pv_text_drop(&title);
    pv_text_drop(&under);
    pv_box frame = b->area;
    frame.hi.y = c.y - 2 * u;
    pv_vec mat = plan->art.size;
    double high =
        (frame.hi.x - frame.lo.x) * (mat.y + 2 * plan->border) / (mat.x + 2 * plan->border);
    frame.lo.y = fmax(frame.lo.y, frame.hi.y - high);
    pv_guide_draw_whole(&b->pen, b->guide, frame);
    b->area.hi.y = frame.lo.y - GAP * u;
}

/* ---- steps ---- */

static double say_lines(pv_column c, const pv_guide_words *words, double em, bool measure)
{
    c.measure = measure;
    int number = 0;
    for (int i = 0; i < PV_GUIDE_LINES; i++) {
        if (words->line[i].length == 0)
            continue;
        char before[16];
        snprintf(before, sizeof before, "%d", ++number);
        pv_column_say(&c, em, false, before, 1.3 * em, words->line[i].chars);
        pv_column_skip(&c, 0.35 * em);
    }
    return c.y;
}

/* Do a step's words stand beside its pictures? Else beneath them: in a narrow step, and where the
 * pictures are so wide that there is room for them. */
static bool words_beside(const pv_guide_book *b, double wide)
{
    const double *page = b->guide->plan->page;
    return wide >= STEP_WIDE * b->pen.unit && page[0] < SHEET_WIDE * page[1];
}

/* `em` becomes smaller where the step's words need that. Drawn, or only measured. */
static void draw_step(pv_guide_book *b, size_t index, size_t last, pv_box box, double *em,
                      bool measure)
{
    const pv_guide_step *step = &b->guide->steps[index];
    double u = b->pen.unit;
    pv_guide_words words;
    if (!pv_guide_say(b->guide, index, last, &words)) {
        b->page.failed = true;
        pv_guide_words_drop(&words);
        return;
    }
    if (!measure)
        pv_pen_bar(&b->pen, pv_v(box.lo.x, box.hi.y), box.hi, 0.35, pv_guide_black);
    pv_column c = pv_column_of(&b->page, box);
    c.measure = measure;
    pv_column_skip(&c, 0.8 * u);
    pv_column_say(&c, STEP_TITLE * u, true, NULL, 0, words.title.chars);
    box.hi.y = c.y;
    double wide = box.hi.x - box.lo.x, high = box.hi.y - box.lo.y, gap = GAP * u;
    bool beside = words_beside(b, wide);
    const double *page = b->guide->plan->page;
    double side = beside ? fmin(high, (wide - 2 * gap) * 0.33) : (wide - gap) / 2;
    double tall = beside ? high : fmin(side * page[1] / page[0] + gap, high * 0.64);
    pv_box cut = {{box.lo.x, box.hi.y - tall}, {box.lo.x + side, box.hi.y}}, lay = cut, text = box;
    if (beside)
        text.lo.x += 2 * (side + gap);
    else
        text.hi.y = cut.lo.y - gap / 2;
    lay.lo.x += side + gap;
    lay.hi.x += side + gap;
    if (!measure) {
        pv_guide_draw_cut(&b->pen, b->guide, step, cut);
        pv_guide_draw_lay(&b->pen, b->guide, step, lay);
    }
    c = pv_column_of(&b->page, text);
    while (*em > EM_LEAST * u && say_lines(c, &words, *em, true) < text.lo.y)
        *em *= 0.96;
    if (!measure)
        say_lines(c, &words, *em, false);
    pv_guide_words_drop(&words);
}

/* The steps of a page from one on, in columns; gives the next page's first. */
static size_t draw_steps(pv_guide_book *b, size_t first, size_t columns, size_t rows, double *em,
                         bool measure)
{
    double gap = GAP * b->pen.unit;
    pv_vec size = pv_sub(b->area.hi, b->area.lo);
    double wide = (size.x - (double)(columns - 1) * gap) / (double)columns;
    double high = (size.y - (double)(rows - 1) * gap / 2) / (double)rows;
    size_t i = first;
    for (size_t k = 0; k < rows * columns && i < b->guide->n; k++) {
        double x = b->area.lo.x + floor((double)k / (double)rows) * (wide + gap);
        double top = b->area.hi.y - (double)(k % rows) * (high + gap / 2);
        size_t last = pv_guide_group(b->guide, i);
        draw_step(b, i, last, (pv_box){{x, top - high}, {x + wide, top}}, em, measure);
        i = last + 1;
    }
    return i;
}

static bool step_pages(pv_guide_book *b)
{
    const pv_guide *guide = b->guide;
    if (pv_guide_groups(guide) > PV_GUIDE_GROUPS_MOST)
        return true;
    for (size_t i = 0; i < guide->n;) {
        pv_guide_open_page(b);
        draw_signs(b, ~0u);
        double u = b->pen.unit, wide = b->area.hi.x - b->area.lo.x;
        double high = b->area.hi.y - b->area.lo.y;
        bool one = wide < PAGE_WIDE * u;
        size_t columns = one ? 1 : (size_t)floor((wide + GAP * u) / ((STEP_BEST + GAP) * u));
        double each = (one && words_beside(b, wide) ? STEP_HIGH : STEP_TALL) * u;
        size_t rows = (size_t)fmax(floor((high + GAP / 2 * u) / (each + GAP / 2 * u)), 1);
        /* One size of words on a page. */
        double em = EM * u;
        draw_steps(b, i, columns, rows, &em, true);
        i = draw_steps(b, i, columns, rows, &em, false);
        if (!pv_guide_close_page(b))
            return false;
    }
    return true;
}

bool pv_guide_pages(const pv_guide *guide, pv_type *type, pv_guide_take *take, void *context,
                    pv_diags *diags)
{
    pv_guide_book b = {
        .guide = guide, .type = type, .take = take, .context = context, .diags = diags};
    front_page(&b);
    return pv_guide_before(&b) && step_pages(&b);
}
