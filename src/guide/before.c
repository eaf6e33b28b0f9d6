/* What to know and to have before the first step, in columns of a page. */
#include "guide/notes.h"
#include "guide/pages.h"
#include "po/po.h"

/* Layout: chosen; in pen units. Letters are as large as all has room, from SMALL to LARGE times. */
#define EM      3.3
#define HEAD    4.6
#define TITLE   6.0
#define SMALL   1.0
#define LARGE   1.3
#define LEAST   0.9 /* rather than a page for a few lines */
#define STEP    0.05
#define WIDE    85.0 /* a column, at least */
#define GAP     8.0
#define COLUMNS 4
/* In ems. */
#define INDENT      1.1
#define BEFORE_HEAD 0.5
#define AFTER_HEAD  0.25
#define AFTER_ITEM  0.4
#define UNEVEN      1.3 /* the longest column over their mean */
#define BULLET      "\xE2\x80\xA2"

typedef struct flow {
    pv_guide_book *book;
    pv_box column[COLUMNS];
    size_t n, at;
    pv_column now;
    double scale;
    bool open, good;
    bool trial, over; /* nothing is drawn; whether it needs another page */
} flow;

static void enter_column(flow *f)
{
    f->now = pv_column_of(&f->book->page, f->column[f->at]);
    f->now.measure = f->trial;
}

static void divide(flow *f, pv_box area)
{
    double u = f->book->pen.unit, wide = area.hi.x - area.lo.x;
    f->n = (size_t)fmin(fmax(floor((wide + GAP * u) / ((WIDE + GAP) * u)), 1), COLUMNS);
    double each = (wide - (double)(f->n - 1) * GAP * u) / (double)f->n;
    for (size_t i = 0; i < f->n; i++) {
        double x = area.lo.x + (double)i * (each + GAP * u);
        f->column[i] = (pv_box){{x, area.lo.y}, {x + each, area.hi.y}};
    }
    f->at = 0;
    enter_column(f);
}

/* Columns in the area of the page that is open. */
static void begin_columns(flow *f)
{
    f->open = true;
    divide(f, f->book->area);
}

static void next_column(flow *f)
{
    if (f->open && f->at + 1 < f->n) {
        f->at++;
        enter_column(f);
        return;
    }
    if (f->trial) {
        f->over = true;
        return;
    }
    f->good = !f->open || pv_guide_close_page(f->book);
    f->open = false;
    if (f->good) {
        pv_guide_open_page(f->book);
        begin_columns(f);
    }
}

/* A paragraph that is whole in its column, with so much after it. */
static void put(flow *f, double em, bool bold, const char *before, const char *text)
{
    if (!f->good)
        return;
    double size = em * f->scale * f->book->pen.unit, indent = before != NULL ? INDENT * size : 0;
    pv_column try = f->now;
    try.measure = true;
    pv_column_say(&try, size, bold, before, indent, text);
    /* A head keeps some lines with it. */
    if (try.y - (bold ? 4 * size : 0) < f->now.box.lo.y && f->now.y < f->now.box.hi.y)
        next_column(f);
    if (f->good)
        pv_column_say(&f->now, size, bold, before, indent, text);
    pv_column_skip(&f->now, (bold ? AFTER_HEAD : AFTER_ITEM) * size);
}

static double height_of(flow *f, const pv_guide_note *note, pv_column c)
{
    bool item = note->kind == PV_NOTE_ITEM;
    double size = (item ? EM : HEAD) * f->scale * f->book->pen.unit, from = c.y;
    c.measure = true;
    pv_column_say(&c, size, !item, NULL, item ? INDENT * size : 0, note->text);
    return from - c.y + (item ? AFTER_ITEM : AFTER_HEAD + BEFORE_HEAD) * size;
}

/* Of a head with its items. */
static double height_of_part(flow *f, const pv_guide_notes *notes, size_t head)
{
    double part = 0;
    for (size_t i = head; i < notes->n && (i == head || notes->list[i].kind == PV_NOTE_ITEM); i++)
        part += height_of(f, &notes->list[i], f->now);
    return part;
}

/* All columns about as long: a head that would begin beyond the middle of its own part goes to the
 * next one. */
static bool is_full(flow *f, const pv_guide_notes *notes, size_t head, double target)
{
    double used = f->now.box.hi.y - f->now.y;
    return f->at + 1 < f->n && used + height_of_part(f, notes, head) / 2 > target;
}

/* mm of a column that all takes from a note on, and each of the page's columns. */
static double height_each(flow *f, const pv_guide_notes *notes, size_t from)
{
    double all = 0;
    for (size_t i = from; i < notes->n; i++)
        all += height_of(f, &notes->list[i], f->now);
    return all / (double)f->n;
}

/* The largest letters with which all has room in so high columns; false: none. */
static bool scale_to(flow *f, const pv_guide_notes *notes, double high)
{
    for (int steps = (int)lround((LARGE - SMALL) / STEP); steps >= 0; steps--) {
        f->scale = SMALL + STEP * steps;
        if (height_each(f, notes, 0) * UNEVEN <= high)
            return true;
    }
    return false;
}

/* Where the second page begins: after as many parts as there are columns, each in one of its own,
 * if they have room and parts are left; else at the first note. */
static size_t split_at(flow *f, const pv_guide_notes *notes)
{
    size_t parts = 0;
    for (size_t i = 0; i < notes->n; i++) {
        if (notes->list[i].kind == PV_NOTE_ITEM)
            continue;
        if (parts == f->n)
            return i;
        if (height_of_part(f, notes, i) > f->now.box.hi.y - f->now.box.lo.y)
            return 0;
        parts++;
    }
    return 0;
}

static void new_page(flow *f)
{
    f->good = f->good && pv_guide_close_page(f->book);
    f->open = false;
    if (f->good) {
        pv_guide_open_page(f->book);
        begin_columns(f);
    }
}

/* Across an area, over its columns: what is left of it. */
static pv_box say_title(const flow *f, pv_box area)
{
    pv_guide_book *b = f->book;
    double size = TITLE * f->scale * b->pen.unit;
    pv_column c = pv_column_of(&b->page, area);
    c.measure = f->trial;
    pv_column_say(&c, size, true, NULL, 0, pv_say(b->guide->plan->language, "Before you begin"));
    area.hi.y = c.y - BEFORE_HEAD * size;
    return area;
}

static void put_title(flow *f)
{
    f->book->area = say_title(f, f->book->area);
    begin_columns(f);
}

static void put_notes(flow *f, const pv_guide_notes *notes, size_t from, size_t to, double target)
{
    for (size_t i = from; i < to && f->good; i++) {
        const pv_guide_note *note = &notes->list[i];
        if (note->kind == PV_NOTE_ITEM) {
            put(f, EM, false, BULLET, note->text);
            continue;
        }
        if (i > from && is_full(f, notes, i, target))
            next_column(f);
        if (f->good && f->now.y < f->now.box.hi.y)
            pv_column_skip(&f->now, BEFORE_HEAD * HEAD * f->scale * f->book->pen.unit);
        put(f, HEAD, true, NULL, note->text);
    }
}

/* Have the notes from one on room on a page of their own? */
static bool fits_page(flow f, const pv_guide_notes *notes, size_t from)
{
    f.trial = f.open = true;
    pv_box whole = f.book->whole;
    divide(&f, from == 0 ? say_title(&f, whole) : whole);
    put_notes(&f, notes, from, notes->n, height_each(&f, notes, from));
    return !f.over;
}

/* Where the second page begins with letters of this size, so that it is the last; false: there is
 * no such place. */
static bool split_to(flow f, const pv_guide_notes *notes, size_t *split)
{
    f.trial = true;
    divide(&f, say_title(&f, f.book->area));
    *split = split_at(&f, notes);
    if (*split > 0 && fits_page(f, notes, *split))
        return true;
    *split = 0;
    return fits_page(f, notes, 0);
}

/* The largest letters with which all ends on the second page; or of usual size. */
static size_t divide_pages(flow *f, const pv_guide_notes *notes)
{
    size_t split = 0;
    for (int steps = (int)lround((LARGE - LEAST) / STEP); steps >= 0; steps--) {
        f->scale = LEAST + STEP * steps;
        if (split_to(*f, notes, &split))
            return split;
    }
    f->scale = SMALL;
    return 0;
}

bool pv_guide_before(pv_guide_book *book)
{
    flow f = {.book = book, .scale = SMALL, .good = true};
    pv_guide_notes notes;
    if (!pv_guide_notes_make(book->guide->plan, &notes))
        book->page.failed = true;
    begin_columns(&f);
    double title = 2 * TITLE * book->pen.unit, left = book->area.hi.y - book->area.lo.y;
    size_t split = 0;
    if (!scale_to(&f, &notes, left - title)) {
        /* Not all beneath the overview: what is left begins on a page of its own. */
        split = divide_pages(&f, &notes);
        if (split == 0)
            new_page(&f);
    }
    if (f.good)
        put_title(&f);
    put_notes(&f, &notes, 0, split, 0);
    if (split > 0)
        new_page(&f);
    if (f.good)
        put_notes(&f, &notes, split, notes.n, height_each(&f, &notes, split));
    pv_guide_notes_drop(&notes);
    return f.good && pv_guide_close_page(book);
}
