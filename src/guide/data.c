/* The guide for a screen. */
#include "guide/data.h"

#include "base/memory.h"
#include "draw/backend.h"
#include "guide/notes.h"
#include "guide/picture.h"
#include "guide/say.h"
#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Layout: chosen; mm of a picture. */
#define STEP_WIDE  80.0
#define STEP_LOW   48.0
#define STEP_HIGH  112.0
#define WHOLE_WIDE 180.0
#define WHOLE_LOW  60.0
#define WHOLE_HIGH 260.0

#define JUMP_LEAST                                                                                 \
    12 /* steps from which on a list leads to each: chosen, some screens of a phone */

static pv_vec picture_size(const pv_guide *guide, pv_guide_picture which)
{
    const pv_plan *plan = guide->plan;
    if (which == PV_GUIDE_WHOLE)
        return pv_v(
            WHOLE_WIDE,
            fmin(fmax(WHOLE_WIDE * plan->art.size.y / plan->art.size.x, WHOLE_LOW), WHOLE_HIGH));
    return pv_v(STEP_WIDE,
                fmin(fmax(STEP_WIDE * plan->page[1] / plan->page[0], STEP_LOW), STEP_HIGH));
}

void pv_guide_file(const pv_guide *guide, pv_guide_picture which, size_t index,
                   char name[PV_GUIDE_FILE])
{
    int digits = snprintf(NULL, 0, "%zu", guide->n);
    if (which == PV_GUIDE_WHOLE)
        snprintf(name, PV_GUIDE_FILE, "whole.svg");
    else
        snprintf(name, PV_GUIDE_FILE, "step-%0*zu-%s.svg", digits, guide->steps[index].number,
                 which == PV_GUIDE_CUTTING ? "cut" : "lay");
}

char *pv_guide_svg(const pv_guide *guide, pv_guide_picture which, size_t index, pv_type *type,
                   pv_diags *diags)
{
    pv_vec size = picture_size(guide, which);
    pv_drawing drawing;
    pv_drawing_init(&drawing, type, size.x, size.y);
    pv_pen pen = {&drawing, 1};
    pv_pen_fill(&pen, drawing.trim, pv_guide_white);
    if (which == PV_GUIDE_WHOLE)
        pv_guide_draw_whole(&pen, guide, pv_box_grow(drawing.trim, -1));
    else if (which == PV_GUIDE_CUTTING)
        pv_guide_draw_cut(&pen, guide, &guide->steps[index], drawing.trim);
    else
        pv_guide_draw_lay(&pen, guide, &guide->steps[index], drawing.trim);
    char *text = pv_svg(&drawing, diags);
    pv_drawing_clear(&drawing);
    return text;
}

size_t pv_guide_next(const pv_guide *guide, size_t index)
{
    return pv_guide_group(guide, index) + 1;
}

/* ---- data for the page ---- */

static void write_picture(pv_json_writer *w, const pv_guide *guide, const char *folder,
                          pv_guide_picture which, size_t index, const char *alt)
{
    static const char *const keys[] = {"whole", "cut", "lay"};
    char name[PV_GUIDE_FILE];
    pv_vec size = picture_size(guide, which);
    pv_text path = PV_TEXT_INIT;
    pv_guide_file(guide, which, index, name);
    pv_text_add(&path, "%s%s", folder, name);
    pv_json_key(w, keys[which]);
    pv_json_open_inline(w, '{');
    pv_json_key_string(w, "file", path.chars);
    pv_json_key_string(w, "alt", alt);
    pv_json_key_count(w, "width", (size_t)lround(4 * size.x));
    pv_json_key_count(w, "height", (size_t)lround(4 * size.y));
    pv_json_close(w, '}');
    w->out.failed = w->out.failed || path.failed;
    pv_text_drop(&path);
}

static void write_notes(pv_json_writer *w, const pv_guide_notes *notes)
{
    pv_json_key(w, "notes");
    pv_json_open(w, '[');
    for (size_t i = 0; i < notes->n;) {
        pv_json_open(w, '{');
        pv_json_key_string(w, "head", notes->list[i].text);
        pv_json_key_bool(w, "caution", notes->list[i].kind == PV_NOTE_CAUTION);
        pv_json_key(w, "items");
        pv_json_open(w, '[');
        for (i++; i < notes->n && notes->list[i].kind == PV_NOTE_ITEM; i++)
            pv_json_string(w, notes->list[i].text);
        pv_json_close(w, ']');
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void write_sides(pv_json_writer *w, const pv_guide *guide, const pv_guide_step *step)
{
    static const char *const names[4] = {"left", "bottom", "right", "top"};
    pv_json_key(w, "sides");
    pv_json_open(w, '[');
    for (int s = 0; s < 4; s++) {
        const pv_guide_side *side = &step->side[s];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "side", names[s]);
        pv_json_key_bool(w, "cut", side->cut);
        pv_json_key_bool(w, "joins", side->joins);
        pv_json_key_bool(w, "on_top", side->on_top);
        pv_json_key_string(w, "neighbour",
                           side->neighbour == SIZE_MAX ? NULL
                                                       : guide->plan->sheets[side->neighbour].name);
        pv_json_key_count(w, "crosses", side->n_crosses);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static bool write_step(pv_json_writer *w, const pv_guide *guide, const char *folder, size_t index)
{
    const pv_guide_step *step = &guide->steps[index];
    const pv_language *language = guide->plan->language;
    pv_guide_words words;
    bool good = pv_guide_say(guide, index, pv_guide_group(guide, index), &words);
    if (good) {
        pv_json_open(w, '{');
        pv_json_key_count(w, "number", step->number);
        pv_json_key_string(w, "sheet", guide->plan->sheets[step->sheet].name);
        pv_json_key_string(w, "title", words.title.chars);
        pv_json_key(w, "lines");
        pv_json_open(w, '[');
        for (int i = 0; i < PV_GUIDE_LINES; i++)
            if (words.line[i].length > 0)
                pv_json_string(w, words.line[i].chars);
        pv_json_close(w, ']');
        write_picture(w, guide, folder, PV_GUIDE_CUTTING, index,
                      pv_say(language, "The sheet as printed: what is cut away is hatched."));
        write_picture(w, guide, folder, PV_GUIDE_LAYING, index,
                      pv_say(language, "The sheet in its place beside those that lie already."));
        write_sides(w, guide, step);
        pv_json_close(w, '}');
    }
    pv_guide_words_drop(&words);
    return good;
}

/* Where the row ends that begins with that sheet: names are a row's letters and a column's number.
 */
static size_t end_of_row(const pv_plan *plan, size_t first)
{
    const char *name = plan->sheets[first].name;
    size_t letters = strcspn(name, "0123456789"), i = first + 1;
    while (i < plan->n_sheets && strncmp(plan->sheets[i].name, name, letters) == 0 &&
           strcspn(plan->sheets[i].name, "0123456789") == letters)
        i++;
    return i;
}

/* Which step has each sheet, row by row; none where the steps are few. */
static bool write_rows(pv_json_writer *w, const pv_guide *guide)
{
    const pv_plan *plan = guide->plan;
    size_t *steps = PV_NEW_ARRAY(guide->n, size_t), n = 0;
    if (steps == NULL)
        return false;
    for (size_t i = 0, next; i < guide->n; i = next, n++) {
        next = pv_guide_next(guide, i);
        for (size_t k = i; k < next; k++)
            steps[k] = guide->steps[i].number;
    }
    pv_json_key_bool(w, "rows_many", n >= JUMP_LEAST);
    pv_json_key(w, "rows");
    pv_json_open(w, '[');
    for (size_t i = 0; n >= JUMP_LEAST && i < plan->n_sheets;) {
        pv_json_open(w, '{');
        pv_json_key(w, "sheets");
        pv_json_open(w, '[');
        for (size_t end = end_of_row(plan, i); i < end; i++) {
            pv_json_open_inline(w, '{');
            pv_json_key_string(w, "sheet", plan->sheets[i].name);
            pv_json_key_count(w, "step", steps[guide->turn[i]]);
            pv_json_close(w, '}');
        }
        pv_json_close(w, ']');
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
    free(steps);
    return true;
}

bool pv_guide_members(pv_json_writer *w, const pv_guide *guide, const char *folder)
{
    pv_guide_notes notes;
    bool good = pv_guide_notes_make(guide->plan, &notes);
    if (good) {
        write_picture(w, guide, folder, PV_GUIDE_WHOLE, 0,
                      pv_say(guide->plan->language,
                             "The whole mat: each sheet with its number in the order of taping."));
        pv_json_key_bool(w, "butt", guide->plan->joint == PV_JOINT_BUTT);
        write_notes(w, &notes);
        good = write_rows(w, guide);
        pv_json_key(w, "steps");
        pv_json_open(w, '[');
        for (size_t i = 0; good && i < guide->n; i = pv_guide_next(guide, i))
            good = write_step(w, guide, folder, i);
        pv_json_close(w, ']');
    }
    pv_guide_notes_drop(&notes);
    w->out.failed = w->out.failed || !good;
    return good;
}
