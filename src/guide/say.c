/* Steps in words: lists after a colon, which any language can fill. */
#include "guide/say.h"

#include "po/po.h"

#include <math.h>
#include <stdio.h>

const char *pv_guide_side_word(pv_side side, const pv_language *language)
{
    static const char *const words[4] = {PV_SAID("left"), PV_SAID("bottom"), PV_SAID("right"),
                                         PV_SAID("top")};
    return pv_say(language, words[side]);
}

void pv_guide_length(pv_text *out, const pv_plan *plan, double mm)
{
    if (plan->art.inches)
        pv_text_add(out, "%s in", pv_fixed(mm / PV_MM_PER_IN, 1).chars);
    else
        pv_text_add(out, "%s mm", pv_fixed(mm, 0).chars);
}

static pv_digits with_unit(double value, int decimals, const char *unit)
{
    pv_digits out;
    snprintf(out.chars, sizeof out.chars, "%.30s %s", pv_fixed(value, decimals).chars, unit);
    return out;
}

/* What a sum of lengths is off by rounding. */
#define ROUNDING 1e-6

pv_digits pv_guide_reel(const pv_plan *plan, double metres)
{
    double feet = 1000 * metres / (12 * PV_MM_PER_IN);
    return plan->art.inches ? with_unit(ceil(feet - ROUNDING), 0, "ft")
                            : with_unit(ceil(metres - ROUNDING), 0, "m");
}

int pv_guide_decimals(double off)
{
    return (int)fmin(12, fmax(1, ceil(-log10(off))));
}

pv_digits pv_guide_reading(double mm, double share)
{
    pv_digits out;
    int decimals = pv_guide_decimals(share * mm);
    bool whole = fabs(mm - round(mm)) < 1e-6;
    snprintf(out.chars, sizeof out.chars, "%.13s\xC2\xA0mm \xC2\xB1\xC2\xA0%.13s\xC2\xA0mm",
             pv_fixed(mm, whole ? 0 : decimals).chars, pv_fixed(share * mm, decimals).chars);
    return out;
}

void pv_guide_time(pv_text *out, const pv_language *language, double minutes)
{
    double step = minutes >= 120 ? 15 : 5;
    long rounded = (long)(step * fmax(1, round(minutes / step)));
    if (rounded < 60)
        pv_text_add(out, pv_say(language, "%ld min"), rounded);
    else if (rounded % 60 == 0)
        pv_text_add(out, pv_say(language, "%ld h"), rounded / 60);
    else
        pv_text_add(out, pv_say(language, "%ld h %02ld min"), rounded / 60, rounded % 60);
}

/* Goes round the sheet: left, top, right, bottom. */
static const pv_side round_it[4] = {PV_LEFT, PV_TOP, PV_RIGHT, PV_BOTTOM};

typedef struct saying {
    const pv_guide *guide;
    const pv_guide_step *step;
    const pv_language *language;
} saying;

static void comma(pv_text *list)
{
    if (list->length > 0)
        pv_text_add(list, ", ");
}

/* Puts a list into a sentence. */
static void finish(pv_text *out, const char *sentence, pv_text *list)
{
    if (list->length > 0)
        pv_text_add(out, sentence, list->chars);
    out->failed = out->failed || list->failed;
    pv_text_drop(list);
}

static void say_room(const saying *s, pv_text *out)
{
    const pv_plan *plan = s->guide->plan;
    const pv_box cell = plan->sheets[s->step->sheet].cell;
    const double free[4] = {cell.lo.x, cell.lo.y, plan->art.size.x - cell.hi.x,
                            plan->art.size.y - cell.hi.y};
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < 4; i++) {
        pv_side side = round_it[i];
        if (free[side] < PV_TOUCH)
            continue;
        comma(&list);
        pv_text_add(&list, "%s ", pv_guide_side_word(side, s->language));
        pv_guide_length(&list, plan, free[side]);
    }
    finish(out, pv_say(s->language, "Keep this much free beside it for the rest of the mat: %s."),
           &list);
}

static void say_cut(const saying *s, pv_text *out)
{
    bool border = s->guide->plan->border > 0;
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < 4; i++) {
        const pv_guide_side *side = &s->step->side[round_it[i]];
        if (!side->cut)
            continue;
        comma(&list);
        pv_text_add(&list, "%s", pv_guide_side_word(round_it[i], s->language));
        if (side->neighbour == SIZE_MAX)
            pv_text_add(&list, " (%s)",
                        border ? pv_say(s->language, "edge of the border")
                               : pv_say(s->language, "edge of the mat"));
    }
    finish(out, pv_say(s->language, "Cut along the marks: %s."), &list);
}

static void say_keep(const saying *s, pv_text *out)
{
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < 4; i++) {
        if (s->step->side[round_it[i]].cut)
            continue;
        comma(&list);
        pv_text_add(&list, "%s", pv_guide_side_word(round_it[i], s->language));
    }
    finish(out, pv_say(s->language, "Do not cut: %s. Other sheets will cover that."), &list);
}

static void say_lay(const saying *s, pv_text *out)
{
    const pv_plan *plan = s->guide->plan;
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < 4; i++) {
        const pv_guide_side *side = &s->step->side[round_it[i]];
        if (!side->joins)
            continue;
        comma(&list);
        pv_text_add(&list,
                    pv_say_count(s->language, "%s at the %s (%zu cross)",
                                 "%s at the %s (%zu crosses)", side->n_crosses),
                    plan->sheets[side->neighbour].name,
                    pv_guide_side_word(round_it[i], s->language), side->n_crosses);
    }
    finish(out,
           plan->joint == PV_JOINT_LAP
               ? pv_say(s->language, "Lay it on top of: %s. Move it until the halves of all these "
                                     "crosses meet.")
               : pv_say(s->language,
                        "Lay it edge to edge with: %s. Move it until the halves of all "
                        "these crosses meet."),
           &list);
}

static void say_tape(const saying *s, pv_text *out)
{
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < 4; i++) {
        if (!s->step->side[round_it[i]].joins)
            continue;
        comma(&list);
        pv_text_add(&list, "%s", pv_guide_side_word(round_it[i], s->language));
    }
    if (list.length == 0)
        pv_text_add(out, "%s",
                    pv_say(s->language, "Hold it down at its corners with small pieces of "
                                        "tape."));
    finish(out,
           s->guide->plan->joint == PV_JOINT_LAP
               ? pv_say(s->language, "Tape along the whole seam, from above: %s.")
               : pv_say(s->language, "Tape along the whole seam, from beneath: %s."),
           &list);
}

static void say_robot(const saying *s, pv_text *out)
{
    pv_text list = PV_TEXT_INIT;
    bool up = false;
    for (int i = 0; i < 4; i++) {
        const pv_guide_side *side = &s->step->side[round_it[i]];
        if (!side->joins || side->n_crossings == 0)
            continue;
        comma(&list);
        pv_text_add(&list, "%s", pv_guide_side_word(round_it[i], s->language));
        if (side->up > 0)
            pv_text_add(&list, " (%s)", pv_say(s->language, "steps up"));
        up = up || side->up > 0;
    }
    bool any = list.length > 0;
    finish(out, pv_say(s->language, "The robot drives across: %s. Press that edge down well."),
           &list);
    if (!any)
        return;
    if (up)
        pv_text_add(out, " %s",
                    pv_say(s->language, "Where it steps up, no edge may stand up at all."));
}

static void say_title(const saying *s, size_t last, pv_text *out)
{
    const pv_plan *plan = s->guide->plan;
    const pv_guide_step *end = &s->guide->steps[last];
    const char *name = plan->sheets[s->step->sheet].name;
    if (end == s->step)
        pv_text_add(out, pv_say(s->language, "Step %zu: sheet %s"), s->step->number, name);
    else
        pv_text_add(out, pv_say(s->language, "Steps %zu to %zu: sheets %s to %s, each as %s here"),
                    s->step->number, end->number, name, plan->sheets[end->sheet].name, name);
}

bool pv_guide_say(const pv_guide *guide, size_t index, size_t last, pv_guide_words *out)
{
    saying s = {guide, &guide->steps[index], guide->plan->language};
    *out = (pv_guide_words){0};
    say_title(&s, last, &out->title);
    if (index == 0)
        say_room(&s, &out->line[PV_GUIDE_ROOM]);
    say_cut(&s, &out->line[PV_GUIDE_CUT]);
    say_keep(&s, &out->line[PV_GUIDE_KEEP]);
    say_lay(&s, &out->line[PV_GUIDE_LAY]);
    say_tape(&s, &out->line[PV_GUIDE_TAPE]);
    say_robot(&s, &out->line[PV_GUIDE_ROBOT]);
    bool good = !out->title.failed;
    for (int i = 0; i < PV_GUIDE_LINES; i++)
        good = good && !out->line[i].failed;
    return good;
}

void pv_guide_words_drop(pv_guide_words *words)
{
    pv_text_drop(&words->title);
    for (int i = 0; i < PV_GUIDE_LINES; i++)
        pv_text_drop(&words->line[i]);
}
