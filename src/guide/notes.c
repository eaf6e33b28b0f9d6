/* What to know and to have before the first step, in words. */
#include "guide/notes.h"

#include "base/memory.h"
#include "guide/say.h"
#include "guide/tools.h"
#include "paper/roll.h"
#include "po/po.h"

#include <stdlib.h>

typedef struct notes {
    const pv_plan *plan;
    pv_guide_tools tools;
    pv_guide_notes *out;
} notes;

static void add(notes *f, pv_guide_note_kind kind, char *text)
{
    pv_guide_notes *o = f->out;
    if (text == NULL || !PV_GROW(o->list, o->n, o->cap)) {
        o->failed = true;
        free(text);
        return;
    }
    o->list[o->n++] = (pv_guide_note){kind, text};
}

static void head(notes *f, const char *text)
{
    add(f, PV_NOTE_HEAD, pv_copy_text(pv_say(f->plan->language, text)));
}

static void item(notes *f, const char *text)
{
    add(f, PV_NOTE_ITEM, pv_copy_text(pv_say(f->plan->language, text)));
}

/* A text that was put together. */
static void item_of(notes *f, pv_text *text)
{
    add(f, PV_NOTE_ITEM, pv_text_take(text));
}

/* What decides are the gauge marks, to the course's tolerance; some sheets are too small for them.
 * Not of kept seams, where A1 may be a sheet that stays, nor of a roll, which is printed whole. */
static void say_first_sheet(notes *f)
{
    const pv_plan *plan = f->plan;
    const pv_sheet *first = &plan->sheets[0];
    pv_text text = PV_TEXT_INIT;
    if (first->n_gauge == 0) {
        item(f, PV_SAID("Print sheet A1 first, scan it and have it inspected. If it is right, "
                        "print the others."));
        return;
    }
    double share = plan->art.tolerances.scale;
    pv_text_add(
        &text,
        f->tools.steel_tape
            ? pv_say(plan->language,
                     "Print sheet A1 first, and measure between its fine crosses with a steel tape "
                     "measure: P to Q must be %s, P to S %s. If it is right, print the others.")
            : pv_say(
                  plan->language,
                  "Print sheet A1 first, and measure between its fine crosses with a steel rule: P "
                  "to Q must be %s, P to S %s. If it is right, print the others."),
        pv_guide_reading(pv_dist(first->gauge[0], first->gauge[1]), share).chars,
        pv_guide_reading(pv_dist(first->gauge[0], first->gauge[3]), share).chars);
    item_of(f, &text);
}

static void say_printing(notes *f)
{
    const pv_plan *plan = f->plan;
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("Print"));
    item(f, PV_SAID("Scan or photograph sheets before you cut them, to check them or to send the "
                    "pictures: cutting takes the square tags away."));
    item(f, PV_SAID("Print at 100 %, no scaling, on one side only."));
    if (!plan->kept && pv_roll_along(plan->paper, plan->page) == 0)
        say_first_sheet(f);
    pv_text_add(&text,
                plan->kept ? pv_say(f->plan->language, "All sheets that you print now must show "
                                                       "the same kit: %s.")
                           : pv_say(f->plan->language, "All sheets must show the same kit: %s."),
                pv_plan_kit(plan).chars);
    if (*plan->former.chars != '\0') {
        pv_text_add(&text, "%s", " ");
        pv_text_add(
            &text,
            pv_say(
                f->plan->language,
                "Sheets that lie already show kit %s, or one before it. They may stay, unless they "
                "are among those to print again."),
            plan->former.chars);
    }
    item_of(f, &text);
    item(f, PV_SAID("Let the sheets lie in the room for some hours. Paper grows and shrinks with "
                    "moisture."));
}

/* A roll is bought by its length; nobody keeps a spare piece of it. */
static void say_paper(notes *f)
{
    const pv_plan *plan = f->plan;
    size_t n = plan->n_sheets, spare = (size_t)ceil(PV_SPARE * (double)n);
    double along = (double)n * pv_roll_along(plan->paper, plan->page);
    pv_text text = PV_TEXT_INIT;
    if (along > 0)
        pv_text_add(&text, pv_say(plan->language, "Paper: %s, %s of it for %zu pieces."),
                    plan->paper, pv_guide_reel(plan, along / 1000).chars, n);
    else
        pv_text_add(&text, pv_say(plan->language, "%zu sheets of %s, and %zu to spare."), n,
                    plan->paper, spare);
    item_of(f, &text);
}

static void say_tools(notes *f)
{
    const pv_plan *plan = f->plan;
    pv_text rule = PV_TEXT_INIT, text = PV_TEXT_INIT;
    pv_guide_length(&rule, plan, f->tools.rule);
    pv_text_add(&text,
                f->tools.moved ? pv_say(plan->language, "A steel rule, %s or longer. Move it along "
                                                        "for longer cuts.")
                               : pv_say(plan->language, "A steel rule, %s or longer."),
                rule.chars != NULL ? rule.chars : "");
    text.failed = text.failed || rule.failed;
    pv_text_drop(&rule);
    item_of(f, &text);
    pv_text_add(&text,
                f->tools.steel_tape ? pv_say(plan->language, "A steel tape measure, %s or longer.")
                                    : pv_say(plan->language, "A tape measure, %s or longer."),
                pv_guide_reel(plan, f->tools.tape / 1000).chars);
    item_of(f, &text);
}

static void say_needs(notes *f)
{
    const pv_plan *plan = f->plan;
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("What you need"));
    say_paper(f);
    if (plan->joint == PV_JOINT_LAP)
        pv_text_add(&text,
                    pv_say(f->plan->language,
                           "Thin matt tape: %s for the seams. Floor tape: %s for the mat's edges."),
                    pv_guide_reel(plan, f->tools.seams).chars,
                    pv_guide_reel(plan, f->tools.edges).chars);
    else
        pv_text_add(&text,
                    pv_say(f->plan->language,
                           "Strong tape for the back: %s. Some tape that peels off again for "
                           "the front. Floor tape: %s for the mat's edges."),
                    pv_guide_reel(plan, f->tools.seams).chars,
                    pv_guide_reel(plan, f->tools.edges).chars);
    item_of(f, &text);
    pv_text_add(
        &text,
        pv_say(f->plan->language,
               "A sharp knife with fresh blades, and a cutting mat as long as the rule. You cut "
               "%s in all."),
        pv_guide_reel(plan, f->tools.work.cut).chars);
    item_of(f, &text);
    say_tools(f);
    pv_text_add(
        &text, "%s ",
        pv_say(f->plan->language, "A level, clean, dry floor or table, larger than the mat:"));
    pv_guide_length(&text, plan, plan->art.size.x + 2 * plan->border);
    pv_text_add(&text, " \xC3\x97 ");
    pv_guide_length(&text, plan, plan->art.size.y + 2 * plan->border);
    pv_text_add(&text, ".");
    item_of(f, &text);
    pv_text time = PV_TEXT_INIT;
    pv_guide_time(&time, plan->language, f->tools.work.minutes);
    pv_text_add(&text,
                pv_say(plan->language,
                       "About %s for one person to cut and tape. Printing, scanning and "
                       "drying come besides."),
                time.chars != NULL ? time.chars : "");
    text.failed = text.failed || time.failed;
    pv_text_drop(&time);
    item_of(f, &text);
}

static void say_manner(notes *f)
{
    const pv_plan *plan = f->plan;
    pv_text text = PV_TEXT_INIT;
    head(f, PV_SAID("How each step goes"));
    item(f, PV_SAID("Take the sheet with the step's number: it is printed beside the sheet's name. "
                    "Write the "
                    "name on its back: on some sheets it is cut away. In all pictures the sheet "
                    "lies as its "
                    "arrow says: \"this way up\"."));
    item(f,
         PV_SAID(
             "Cut one sheet at a time, just before you lay it. Put the rule through both cut marks "
             "of a side, and cut with several light strokes. Where the side meets another that is "
             "cut, leave the last few millimetres of the paper uncut: each strip carries a mark of "
             "the other side. Cut only the sides that the step names."));
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
    pv_text_add(&text,
                pv_say(plan->language,
                       "As soon as all sheets of a row lie, which may be late in the order, "
                       "measure it from edge to edge of the mat: it must be %s. If it is further "
                       "off, open the seam whose crosses are furthest apart. If all crosses meet, "
                       "the sheets themselves are off: print one again and measure it."),
                pv_guide_reading(plan->art.size.x, plan->art.tolerances.scale).chars);
    item_of(f, &text);
    item(f,
         PV_SAID(
             "At the end, tape the mat's edges to the floor all round, so that none stands up."));
}

static void say_cautions(notes *f)
{
    add(f, PV_NOTE_CAUTION, pv_copy_text(pv_say(f->plan->language, "Take care")));
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

bool pv_guide_notes_make(const pv_plan *plan, pv_guide_notes *out)
{
    *out = (pv_guide_notes){0};
    notes f = {plan, pv_guide_tools_of(plan, NULL), out};
    say_printing(&f);
    say_needs(&f);
    say_manner(&f);
    say_cautions(&f);
    return !out->failed;
}

void pv_guide_notes_drop(pv_guide_notes *old)
{
    for (size_t i = 0; i < old->n; i++)
        free(old->list[i].text);
    free(old->list);
    *old = (pv_guide_notes){0};
}
