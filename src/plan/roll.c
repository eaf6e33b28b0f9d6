#include "plan/roll.h"

#include "base/memory.h"
#include "base/text.h"
#include "paper/paper.h"
#include "paper/roll.h"
#include "plan/anatomy.h"
#include "plan/division.h"
#include "json/json.h"

/* A page's pieces in the roll's own frame: across it, and along. */
enum { ACROSS, ALONG };

/* The roll running along y (the page stands) or along x (it lies). */
static int axis_of(bool lies, int direction)
{
    return lies != (direction == ALONG) ? 1 : 0;
}

static double mat_side(const pv_plan *plan, bool lies, int direction)
{
    return axis_of(lies, direction) == 0 ? plan->art.size.x : plan->art.size.y;
}

/* What the roll's margins leave of its width, and of a page as long as may be. */
static double printable(const pv_layout_options *o, int direction)
{
    if (direction == ACROSS)
        return o->roll - o->margin[PV_LEFT] - o->margin[PV_RIGHT];
    double longest = o->panel_length > 0 ? o->panel_length : HUGE_VAL;
    return longest - o->margin[PV_BOTTOM] - o->margin[PV_TOP];
}

static double ends(const pv_plan *plan)
{
    return 2 * plan->overlap + PV_ENDS_BARS;
}

/* The page's margins: a page that lies is turned clockwise, its lower edge to the roll's left. */
static void turn_margins(const double roll[4], bool lies, double page[4])
{
    static const pv_side turned[4] = {PV_TOP, PV_LEFT, PV_BOTTOM, PV_RIGHT};
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        page[side] = roll[lies ? turned[side] : side];
}

static void lay_one_way(const pv_plan *plan, const pv_layout_options *o, bool lies, pv_laying *l)
{
    *l = (pv_laying){.strips = PV_STRIPS_AROUND, .lies = lies};
    turn_margins(o->margin, lies, l->margin);
    double side[2], room[2], n[2], most[2];
    for (int d = ACROSS; d <= ALONG; d++) {
        side[d] = mat_side(plan, lies, d);
        room[d] = printable(o, d);
        n[d] = pv_laying_cells(plan, side[d], room[d], &most[d]);
    }
    bool between_margins = side[ACROSS] + 2 * plan->border <= room[ACROSS] + 1e-9;
    double whole = side[ALONG] + 2 * plan->border + ends(plan);
    double around = pv_laying_strips(plan) + 2 * plan->border;
    if (n[ACROSS] > 1 && between_margins && whole <= room[ALONG] + 1e-9) {
        l->strips = lies ? PV_STRIPS_ALONG_X : PV_STRIPS_ALONG_Y;
        n[ACROSS] = n[ALONG] = 1;
        most[ACROSS] = side[ACROSS];
        most[ALONG] = side[ALONG];
        around = ends(plan) + 2 * plan->border;
    }
    double length = side[ALONG] / n[ALONG] + around + o->margin[PV_BOTTOM] + o->margin[PV_TOP];
    for (int d = ACROSS; d <= ALONG; d++) {
        int axis = axis_of(lies, d);
        l->page[axis] = d == ACROSS ? o->roll : ceil(length - 1e-6);
        l->n[axis] = n[d];
        l->most[axis] = fmin(most[d], side[d]);
    }
    l->seams = (l->n[0] - 1) * plan->art.size.y + (l->n[1] - 1) * plan->art.size.x;
}

/* A cell as large as the mat is large enough. */
static bool has_room(const pv_plan *plan, const pv_laying *l)
{
    return l->most[0] >= fmin(PV_CELL_MIN, plan->art.size.x) &&
           l->most[1] >= fmin(PV_CELL_MIN, plan->art.size.y);
}

static double paper(const pv_laying *l)
{
    return l->n[0] * l->n[1] * l->page[0] * l->page[1];
}

static bool better(const pv_laying *a, const pv_laying *b)
{
    double of_a = a->n[0] * a->n[1], of_b = b->n[0] * b->n[1];
    return of_a < of_b || (of_a == of_b && paper(a) < paper(b) - 1e-6);
}

static bool is_fair(const pv_layout_options *o, pv_diags *diags)
{
    if (!(o->roll >= PV_ROLL_WIDTH_MIN && o->roll <= PV_ROLL_WIDTH_MAX)) {
        pv_fail(diags, PV_CAUSE_USAGE, "a roll must be from %d mm to %d mm wide",
                (int)PV_ROLL_WIDTH_MIN, (int)PV_ROLL_WIDTH_MAX);
        return false;
    }
    if (o->panel_length == 0 ||
        (o->panel_length >= PV_PANEL_MIN && o->panel_length <= PV_PAGE_SIDE_MAX))
        return true;
    pv_fail(diags, PV_CAUSE_USAGE, "panels must be from %d mm to %d mm long", (int)PV_PANEL_MIN,
            (int)PV_PAGE_SIDE_MAX);
    return false;
}

bool pv_roll_lay(const pv_plan *plan, const pv_layout_options *options, pv_laying *l,
                 pv_diags *diags)
{
    if (!is_fair(options, diags))
        return false;
    pv_laying lying;
    lay_one_way(plan, options, false, l);
    lay_one_way(plan, options, true, &lying);
    bool first = has_room(plan, l), second = has_room(plan, &lying);
    if (options->orientation == PV_LANDSCAPE ||
        (options->orientation == PV_FEWEST && second && (!first || better(&lying, l)))) {
        *l = lying;
        first = second;
    }
    if (!first) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "use a wider roll, longer panels or smaller margins",
                     "margins and strips leave less than %d mm of the %s for the course",
                     (int)PV_CELL_MIN, plan->paper);
        return false;
    }
    return true;
}

void pv_roll_cut(pv_plan *plan, const pv_laying *l)
{
    int axis = axis_of(l->lies, ALONG), low = axis == 0 ? PV_LEFT : PV_BOTTOM;
    double longest = 0;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        pv_vec size = pv_sub(sheet->cell.hi, sheet->cell.lo);
        longest = fmax(longest, (axis == 0 ? size.x : size.y) +
                                    pv_sheet_allowance(plan, sheet, (pv_side)low) +
                                    pv_sheet_allowance(plan, sheet, (pv_side)(low + 2)));
    }
    plan->page[axis] = ceil(longest + plan->margin[low] + plan->margin[low + 2] - 1e-6);
}

/* ---- saying ---- */

static const char *mm(double value, char text[PV_JSON_NUMBER])
{
    pv_json_format(round(value * 10) / 10, text);
    return text;
}

/* The side of the mat that is to go across, where either may. */
static double slimmest(const pv_plan *plan, pv_orientation orientation)
{
    pv_vec size = plan->art.size;
    if (orientation == PV_FEWEST)
        return fmin(size.x, size.y);
    return orientation == PV_PORTRAIT ? size.x : size.y;
}

static void say_what_takes_it(const pv_plan *plan, const pv_layout_options *o, double across,
                              pv_text *hint)
{
    double margins = o->margin[PV_LEFT] + o->margin[PV_RIGHT];
    const pv_roll *wider = pv_roll_of(across + 2 * plan->border + margins);
    if (wider != NULL)
        pv_text_add(hint, "a roll of %s (%.0f mm) holds it in one piece", wider->name,
                    wider->width);
    else
        pv_text_add(hint, "no roll up to %s holds it in one piece",
                    pv_roll_at(pv_roll_count() - 1)->name);
}

static void say_panels(const pv_plan *plan, const pv_layout_options *o, pv_diags *diags)
{
    char a[PV_JSON_NUMBER], b[PV_JSON_NUMBER], c[PV_JSON_NUMBER];
    double across = slimmest(plan, o->orientation), wide = across + 2 * plan->border;
    double blank = o->margin[PV_LEFT] + o->margin[PV_RIGHT];
    pv_text hint = PV_TEXT_INIT;
    say_what_takes_it(plan, o, across, &hint);
    bool as_wide = wide <= o->roll + 0.5;
    if (as_wide)
        pv_text_add(&hint, "; if your plotter leaves less blank, say so with --margin");
    char *said = pv_text_take(&hint);
    if (said == NULL)
        pv_fail_memory(diags);
    else if (as_wide)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL, said,
                     "the mat does not fit the %s in one piece: %s is %s mm wide, but "
                     "the plotter leaves %s mm of the roll blank, and prints %s mm",
                     plan->paper, plan->border > 0 ? "with its border it" : "it", mm(wide, a),
                     mm(blank, b), mm(o->roll - blank, c));
    else
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, said,
                     "the mat is wider than the %s in either orientation, so it is laid in panels",
                     plan->paper);
    pv_free(said);
}

static void say_user_unit(const pv_plan *plan, const pv_layout_options *o, pv_diags *diags)
{
    double longest = fmax(plan->page[0], plan->page[1]);
    pv_layout_options shorter = *o;
    shorter.panel_length = PV_PAPER_SIDE_MAX;
    pv_laying upright, lying;
    lay_one_way(plan, &shorter, false, &upright);
    lay_one_way(plan, &shorter, true, &lying);
    const pv_laying *best = better(&lying, &upright) ? &lying : &upright;
    if (o->orientation != PV_FEWEST)
        best = o->orientation == PV_LANDSCAPE ? &lying : &upright;
    char length[PV_JSON_NUMBER];
    pv_text hint = PV_TEXT_INIT;
    pv_text_add(&hint,
                "--panel-length %.0fmm makes %.0f panels that every reader shows at true size",
                PV_PAPER_SIDE_MAX, best->n[0] * best->n[1]);
    char *said = pv_text_take(&hint);
    if (said == NULL)
        pv_fail_memory(diags);
    else
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL, said,
                     "pages are %s mm long; past %.0f mm (14,400 pt) a PDF states a larger unit "
                     "(UserUnit), which some readers ignore: they show and print them %.0f times "
                     "too small",
                     mm(longest, length), PV_PAPER_SIDE_MAX, ceil(longest / PV_PAPER_SIDE_MAX));
    pv_free(said);
}

void pv_roll_say(const pv_plan *plan, const pv_layout_options *options, pv_diags *diags)
{
    if (options->roll == 0)
        return;
    bool split = plan->strips == PV_STRIPS_AROUND && plan->n_sheets > 1 &&
                 !(plan->columns == 1 && plan->page[0] == options->roll) &&
                 !(plan->rows == 1 && plan->page[1] == options->roll);
    if (split)
        say_panels(plan, options, diags);
    if (plan->strips != PV_STRIPS_AROUND)
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL,
                     "the %s leaves no waste beside the mat, so tags and scale bars stand before "
                     "and after it",
                     plan->paper);
    if (fmax(plan->page[0], plan->page[1]) > PV_PAPER_SIDE_MAX)
        say_user_unit(plan, options, diags);
}
