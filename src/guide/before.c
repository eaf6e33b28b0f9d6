/* What to know and to have before the first step. */
#include "guide/pages.h"
#include "po/po.h"

#include <stdlib.h>

/* Layout: chosen; in pen units. */
#define EM      3.3
#define HEAD    4.6
#define TITLE   6.0
#define WIDE    85.0 /* a column, at least */
#define GAP     8.0
#define COLUMNS 4
#define BULLET  "\xE2\x80\xA2"

typedef struct flow {
    pv_guide_book *book;
    pv_box column[COLUMNS];
    size_t n, at;
    pv_column now;
    bool open, good;
} flow;

static void begin_page(flow *f)
{
    pv_guide_book *b = f->book;
    pv_guide_open_page(b);
    double u = b->pen.unit, wide = b->area.hi.x - b->area.lo.x;
    f->n = (size_t)fmin(fmax(floor((wide + GAP * u) / ((WIDE + GAP) * u)), 1), COLUMNS);
    double each = (wide - (double)(f->n - 1) * GAP * u) / (double)f->n;
    for (size_t i = 0; i < f->n; i++) {
        double x = b->area.lo.x + (double)i * (each + GAP * u);
        f->column[i] = (pv_box){{x, b->area.lo.y}, {x + each, b->area.hi.y}};
    }
    f->at = 0;
    f->open = true;
    f->now = pv_column_of(&b->page, f->column[0]);
}

static void next_column(flow *f)
{
    if (f->open && ++f->at < f->n) {
        f->now = pv_column_of(&f->book->page, f->column[f->at]);
        return;
    }
    f->good = !f->open || pv_guide_close_page(f->book);
    f->open = false;
    if (f->good)
        begin_page(f);
}

/* A paragraph that is whole in its column, with so much after it. */
static void put(flow *f, double em, bool bold, const char *before, const char *text)
{
    if (!f->good)
        return;
    double size = em * f->book->pen.unit, indent = before != NULL ? 1.1 * size : 0;
    pv_column try = f->now;
    try.measure = true;
    pv_column_say(&try, size, bold, before, indent, text);
    /* A head keeps some lines with it. */
    if (try.y - (bold ? 4 * size : 0) < f->now.box.lo.y && f->now.y < f->now.box.hi.y)
        next_column(f);
    if (f->good)
        pv_column_say(&f->now, size, bold, before, indent, text);
    pv_column_skip(&f->now, (bold ? 0.25 : 0.4) * size);
}

static void head(flow *f, const char *text)
{
    if (f->now.y < f->now.box.hi.y)
        pv_column_skip(&f->now, 0.5 * HEAD * f->book->pen.unit);
    put(f, HEAD, true, NULL, pv_say(f->book->language, text));
}

static void item(flow *f, const char *text)
{
    put(f, EM, false, BULLET, pv_say(f->book->language, text));
}

/* A text that was put together. */
static void item_of(flow *f, pv_text *text)
{
    char *chars = pv_text_take(text);
    f->book->page.failed = f->book->page.failed || chars == NULL;
    if (chars != NULL)
        put(f, EM, false, BULLET, chars);
    free(chars);
}

static void say_printing(flow *f)
{
    const pv_plan *plan = f->book->guide->plan;
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("Print"));
    item(f, PV_SAID("Print at 100 %, no scaling, on one side only."));
    item(f,
         PV_SAID(
             "Print one sheet first and check it: hold its scale bars against a ruler, or scan it "
             "and have it inspected. A sheet that is 0.5 % too small cannot be mended by taping."));
    pv_text_add(&text, pv_say(f->book->language, "All sheets must show the same kit: %s."),
                pv_plan_kit(plan).chars);
    item_of(f, &text);
    item(f, PV_SAID("Let the sheets lie in the room for some hours. Paper grows and shrinks with "
                    "moisture."));
}

static void say_time(const flow *f, pv_text *text, double minutes)
{
    if (minutes < 60)
        pv_text_add(text, pv_say(f->book->language, "About %s min for one person."),
                    pv_fixed(10 * ceil(minutes / 10), 0).chars);
    else
        pv_text_add(text, pv_say(f->book->language, "About %s hours for one person."),
                    pv_fixed(ceil(minutes / 30) / 2, 1).chars);
}

static void say_needs(flow *f)
{
    const pv_plan *plan = f->book->guide->plan;
    pv_takeoff work = {0};
    pv_plan_work(plan, &work);
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("What you need"));
    size_t spare = (plan->n_sheets + 9) / 10; /* one in ten */
    pv_text_add(&text, pv_say(f->book->language, "%zu sheets of %s, and %zu to spare."),
                plan->n_sheets, plan->paper, spare);
    item_of(f, &text);
    if (plan->joint == PV_JOINT_LAP)
        pv_text_add(&text,
                    pv_say(f->book->language,
                           "Thin matt tape: %s m for the seams, and more for the mat's edges."),
                    pv_fixed(ceil(work.tape), 0).chars);
    else
        pv_text_add(&text,
                    pv_say(f->book->language,
                           "Strong tape for the back: %s m. Some tape that peels off again for "
                           "the front."),
                    pv_fixed(ceil(work.tape), 0).chars);
    item_of(f, &text);
    pv_text_add(&text,
                pv_say(f->book->language,
                       "A sharp knife with fresh blades, and a cutting mat. You cut %s m in all."),
                pv_fixed(ceil(work.cut), 0).chars);
    item_of(f, &text);
    item(f,
         PV_SAID(
             "A steel rule that is longer than a sheet, and a tape measure that is longer than the "
             "mat."));
    pv_text_add(
        &text, "%s ",
        pv_say(f->book->language, "A level, clean, dry floor or table, larger than the mat:"));
    pv_guide_length(&text, plan, plan->art.size.x + 2 * plan->border);
    pv_text_add(&text, " \xC3\x97 ");
    pv_guide_length(&text, plan, plan->art.size.y + 2 * plan->border);
    pv_text_add(&text, ".");
    item_of(f, &text);
    say_time(f, &text, work.minutes);
    item_of(f, &text);
}

static void say_manner(flow *f)
{
    const pv_plan *plan = f->book->guide->plan;
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("How each step goes"));
    item(f,
         PV_SAID(
             "Take the sheet with the step's number: it is printed beside the sheet's name. In all "
             "pictures the sheet lies as its arrow says: \"this way up\"."));
    item(f,
         PV_SAID(
             "Cut one sheet at a time, just before you lay it. Put the rule through both cut marks "
             "of a side, and cut from edge to edge with several light strokes. Cut only the sides "
             "that the step names."));
    item(f, PV_SAID("Each cross lies on a seam, half of it on either sheet. Move the sheet until "
                    "the halves "
                    "of all crosses meet, at all seams of the step together."));
    if (plan->joint == PV_JOINT_LAP)
        item(
            f,
            PV_SAID(
                "Hold it with two short pieces of tape across the seam, away from lines. Look "
                "again. Then tape the whole seam, without bubbles. Lines must not shine where tape "
                "covers them."));
    else
        item(
            f,
            PV_SAID(
                "Hold it from above with short pieces of tape that peels off again. Lift the edge, "
                "or turn the sheets over, and tape the whole seam from beneath. Turn them back and "
                "peel off the tape above."));
    pv_text_add(
        &text, "%s ",
        pv_say(f->book->language, "When a row lies, measure it from edge to edge of the mat:"));
    pv_guide_length(&text, plan, plan->art.size.x);
    pv_text_add(&text, ". %s",
                pv_say(f->book->language,
                       "If it is more than 1 mm off, open the seam that is furthest off."));
    item_of(f, &text);
    item(f,
         PV_SAID(
             "At the end, tape the mat's edges to the floor all round, so that none stands up."));
}

static void say_cautions(flow *f)
{
    head(f, PV_SAID("Take care"));
    item(
        f,
        PV_SAID(
            "Local rules for the room, the floor and the event come first, before all that is said "
            "here."));
    item(f,
         PV_SAID("Blade: cut away from your hands and body, with your fingers behind the rule's "
                 "edge, on "
                 "a cutting mat. Close the knife whenever you put it down. Children cut only under "
                 "supervision, or not at all."));
    item(
        f,
        PV_SAID(
            "Trip and slip: the edge of a mat catches feet, and loose paper slips. Tape every edge "
            "down flat, keep ways clear of the mat, and do not walk on it in socks."));
    item(f, PV_SAID(
                "Heights: lamps, stands and cameras over people must be secured. Use a pole rather "
                "than "
                "a ladder. If you must use a ladder, have somebody hold it, and do not lean out."));
    item(f,
         PV_SAID(
             "Moving robots: keep hands, hair, cables and small children off the mat while a robot "
             "runs. Know how to stop it before you start it."));
}

bool pv_guide_before(pv_guide_book *book)
{
    flow f = {.book = book, .good = true};
    begin_page(&f);
    put(&f, TITLE, true, NULL, pv_say(book->language, "Before you begin"));
    say_printing(&f);
    say_needs(&f);
    say_manner(&f);
    say_cautions(&f);
    return f.good && pv_guide_close_page(book);
}
