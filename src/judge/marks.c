#include "judge/marks.h"

#include "base/text.h"
#include "judge/judge.h"
#include "po/po.h"

#include <math.h>

const char *pv_mark_kind_name(pv_mark_kind kind)
{
    static const char *const names[] = {
        [PV_MARK_STRAY] = PV_SAID("unexpected mark"),
        [PV_MARK_MISSING] = PV_SAID("missing paint"),
        [PV_MARK_COLOUR] = PV_SAID("wrong colour"),
    };
    return names[kind];
}

static pv_verdict verdict_of(const pv_mark *mark)
{
    pv_verdict verdict = pv_judge(mark->off, mark->U, mark->tolerance);
    return mark->doubt != 0 && verdict == PV_DOES_NOT_CONFORM ? PV_UNDECIDED : verdict;
}

/* The narrowest line that the sheet shows; 0 where there is none. */
static double narrowest_line(const pv_inspection *in)
{
    double least = 0;
    for (size_t i = 0; i < in->table.n_lines; i++)
        if (least == 0 || in->table.lines[i].nominal < least)
            least = in->table.lines[i].nominal;
    return least;
}

/* What a robot makes of it. */
static void add_effect(pv_text *text, const pv_inspection *in, const pv_mark *mark)
{
    double line = narrowest_line(in);
    bool as_line = line > 0 && mark->width >= line / 2 && mark->length >= 2 * line;
    if (mark->verdict == PV_CONFORMS)
        pv_text_say(text, "too small or too faint for a robot to notice");
    else if (mark->kind == PV_MARK_MISSING && mark->line != NULL)
        pv_text_say(text, "a robot may lose line %s here", mark->line);
    else if (mark->kind == PV_MARK_MISSING)
        pv_text_say(text, "a robot sees bare paper where the course has %s", mark->colour);
    else if (mark->kind == PV_MARK_COLOUR)
        pv_text_say(text, "a robot that looks for %s may not know it here", mark->colour);
    else if (as_line && mark->contrast < 0)
        pv_text_say(text, "as wide and dark as a line: a robot may follow it");
    else
        pv_text_say(text, "a robot that drives over it may take it for a line");
}

/* How to find out what it is, or what to do about it. */
static void add_advice(pv_text *text, const pv_inspection *in, const pv_mark *mark)
{
    bool photo = in->sheet.photograph;
    if (mark->verdict == PV_CONFORMS)
        return;
    const char *said;
    if (mark->verdict == PV_DOES_NOT_CONFORM)
        said = mark->kind == PV_MARK_STRAY
                   ? PV_SAID(". Look at the sheet: clean it off, or print the sheet again")
                   : PV_SAID(". Look at the sheet, and print it again");
    else if ((mark->doubt & PV_DOUBT_CARD) != 0)
        said = PV_SAID(". It may be a card or a note that lies there: take it off, or lay a card "
                       "beside the sheet or into its printed place, and take the picture again; "
                       "what stays is on the print");
    else if ((mark->doubt & PV_DOUBT_DUST) != 0)
        said = photo
                   ? PV_SAID(". It may be dust, a hair or a fold: wipe the sheet, lay it flat "
                             "and photograph it again; what stays is on the print")
                   : PV_SAID(". It may be dust or a hair on the glass, or a fold: wipe the glass, "
                             "turn the sheet half round, lay it flat and scan again; what stays "
                             "at its place on the mat is on the print");
    else if ((mark->doubt & PV_DOUBT_SHADOW) != 0)
        said = photo
                   ? PV_SAID(". It may be a shadow: light the sheet from another side and "
                             "photograph it again; what stays is on the print")
                   : PV_SAID(". It may be a shadow: lay the sheet flat, turn it half round, close "
                             "the lid and scan again; what stays at its place on the mat is on "
                             "the print");
    else if ((mark->doubt & PV_DOUBT_GLOSS) != 0)
        said = photo
                   ? PV_SAID(". It may be a lamp's or a window's reflection: photograph the "
                             "sheet from another side; what stays is on the print")
                   : PV_SAID(". It may be a reflection: turn the sheet half round and scan again; "
                             "what stays at its place on the mat is on the print");
    else
        said = PV_SAID(". It is too near to what the course allows to decide: look at the sheet, "
                       "clean it off or print the sheet again");
    pv_text_add(text, "%s", pv_say(text->language, said));
}

static bool say(const pv_inspection *in, pv_mark *mark)
{
    pv_text text = PV_TEXT_IN(in->sheet.language);
    add_effect(&text, in, mark);
    add_advice(&text, in, mark);
    mark->meaning = pv_text_take(&text);
    return mark->meaning != NULL;
}

bool pv_marks_judge(pv_inspection *in, pv_verdict *worst)
{
    *worst = PV_CONFORMS;
    for (size_t i = 0; i < in->table.n_marks; i++) {
        pv_mark *mark = &in->table.marks[i];
        mark->verdict = verdict_of(mark);
        *worst = pv_judge_worse(*worst, mark->verdict);
        if (!say(in, mark))
            return false;
    }
    return true;
}
