/* What pavior sheets says about what it made. */
#include "sheets.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- telling, as text ---- */

#define LIST_MOST  60 /* items; of more, only the first and the last are listed */
#define LIST_FIRST 20
#define LIST_WIDTH 70 /* columns */

/* Goes on with a list of n items. */
static void say_item(FILE *to, size_t *column, size_t i, size_t n, const char *text)
{
    int width = fprintf(to, " %s", text);
    *column += width > 0 ? (size_t)width : 0;
    if (*column > LIST_WIDTH && i + 1 < n) {
        fputs("\n          ", to);
        *column = 10;
    }
}

static void say_taping(FILE *to, const sheets_product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    size_t column = 10, n = plan->sheets;
    fputs("taping    ", to);
    for (size_t i = 0; i < n; i++) {
        if (!p->asked->explain && n > LIST_MOST && i == LIST_FIRST) {
            fprintf(to, " ... %s (--explain lists all)", pv_summary_taped(p->summary, n - 1)->name);
            break;
        }
        say_item(to, &column, i, n, pv_summary_taped(p->summary, i)->name);
    }
    fputs("\n", to);
    if (n > 1)
        fputs(plan->joint == PV_JOINT_BUTT
                  ? "           edge to edge, taped from beneath\n"
                  : "           each lies over those already laid; its labels say which\n",
              to);
}

/* "A1|A2" for an upright seam, "A1/B1" for one across. */
static void name_seam(const sheets_product *p, const pv_seam_info *seam, char text[32])
{
    bool after = seam->over > seam->under;
    snprintf(text, 32, "%s%s%s",
             pv_summary_sheet(p->summary, after ? seam->under : seam->over)->name,
             seam->vertical ? "|" : "/",
             pv_summary_sheet(p->summary, after ? seam->over : seam->under)->name);
}

static void say_steps(FILE *to, const sheets_product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    const pv_seam_info *seam;
    size_t n = 0, both = 0, column = 10;
    char text[32], last[32];
    if (plan->down + plan->up == 0)
        return;
    fprintf(to, "steps      the robot steps down at %zu of %zu crossings of seams", plan->down,
            plan->down + plan->up);
    if (plan->up == 0) {
        fputs(", never up\n", to);
        return;
    }
    for (size_t i = 0; (seam = pv_summary_seam(p->summary, i)) != NULL; i++)
        if (seam->up > 0) {
            name_seam(p, seam, last);
            both += seam->down > 0;
            n++;
        }
    bool all = p->asked->explain || n <= LIST_MOST;
    fprintf(to, ", up at %zu:\n          ", plan->up);
    for (size_t i = 0, k = 0; (seam = pv_summary_seam(p->summary, i)) != NULL; i++) {
        if (seam->up == 0 || (!all && k >= LIST_FIRST))
            continue;
        name_seam(p, seam, text);
        say_item(to, &column, k++, n, text);
    }
    if (!all)
        fprintf(to, " ... %s (--explain lists all)", last);
    fputs("\n", to);
    if (both > 0)
        fprintf(to, "           the robot crosses %zu of these seams both ways\n", both);
    if (n > both)
        fprintf(to,
                "           %zu %s a step up whatever the order: the route goes round, or a page "
                "has no room for two laps\n",
                n - both, n - both == 1 ? "seam needs" : "seams need");
}

static void say_printer(FILE *to, const sheets_product *p)
{
    static const char *const axes[2] = {"across", "up"};
    const pv_printer *pr = p->printer;
    const char *before = "; corrected:\n           ";
    fprintf(to, "printer    %s", pr->name != NULL ? pr->name : "unnamed");
    for (int i = 0; i < 2; i++)
        if (pr->scale[i].corrected) {
            fprintf(to, "%s%.2f %% %s", before, 100 * pr->scale[i].value, axes[i]);
            before = ", ";
        }
    if (pr->skew.corrected) {
        fprintf(to, "%s%.2f mrad of skew", before, pr->skew.value);
        before = ", ";
    }
    if (pr->ink.corrected) {
        fprintf(to, "%s%+.3f mm of ink", before, pr->ink.value);
        before = ", ";
    }
    fputs(before[1] == ' ' ? "\n" : "; nothing to correct\n", to);
    double widened = pv_summary_plan(p->summary)->widened;
    if (widened > 0.05)
        fprintf(to,
                "           the margins are %.1f mm wider, because the correction enlarges the "
                "drawing\n",
                widened);
}

static void say_paper(FILE *to, const sheets_product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    const double *page = plan->page, *margin = plan->margin, roll = p->asked->layout.roll;
    bool lies = page[0] != roll;
    if (roll == 0)
        fprintf(to, "paper      %s %s, %g x %g mm%s\n", plan->paper,
                page[0] <= page[1] ? "portrait" : "landscape", page[0], page[1],
                p->asked->paper_by_locale ? " (from the locale; --paper chooses another)" : "");
    else
        fprintf(
            to, "roll       %s, %s; pages of %g x %g mm, %.2f m of roll in all\n%s", plan->paper,
            lies ? "running along the mat: print turned by a quarter turn" : "running up the mat",
            page[0], page[1], page[lies ? 0 : 1] * (double)plan->sheets / 1000,
            plan->sheets == 1 ? "           in one piece\n" : "");
    fprintf(to, "margins    left %g, bottom %g, right %g, top %g mm; overlap %g mm\n", margin[0],
            margin[1], margin[2], margin[3], plan->overlap);
    if (plan->border > 0)
        fprintf(to, "border     %g mm blank beyond the mat's edges, inside the cut line\n",
                plan->border);
}

static void say_takes(FILE *to, const pv_takeoff *takes)
{
    fprintf(to, "takes      %.2f kg of paper at %g g/m2, %.1f m to cut, %.1f m of tape, about ",
            takes->mass, takes->weight, takes->cut, takes->tape);
    cli_show_minutes(to, takes->minutes);
    fprintf(
        to,
        "\nink        black %.1f %%, yellow %.1f %%, magenta %.1f %%, cyan %.1f %% of the mat\n",
        100 * takes->ink[3], 100 * takes->ink[2], 100 * takes->ink[1], 100 * takes->ink[0]);
}

/* What became of the older plan's sheets. */
static void say_again(FILE *to, const sheets_product *p)
{
    const pv_comparison *c = p->comparison;
    const char *told;
    const pv_again_info *sheet;
    size_t again = pv_comparison_again(c), n = pv_summary_plan(p->summary)->sheets, column = 10;
    const char *label = "changed    ";
    for (size_t i = 0; (told = pv_comparison_told(c, i)) != NULL; i++) {
        fprintf(to, "%s%s\n", label, told);
        label = "           ";
    }
    fprintf(to, "again      %zu of %zu sheets must be printed again%s", again, n,
            again == 0  ? "\n"
            : again < n ? " (--range again):\n          "
                        : "\n");
    for (size_t i = 0, k = 0; again < n && (sheet = pv_comparison_sheet(c, i)) != NULL; i++)
        if (sheet->again != PV_AGAIN_NOT)
            say_item(to, &column, k++, again, sheet->name);
    fputs(again > 0 && again < n ? "\n" : "", to);
    column = fprintf(to, "%s", pv_comparison_gone(c, 0) != NULL ? "gone      " : "") > 0 ? 10 : 0;
    for (size_t i = 0; pv_comparison_gone(c, i) != NULL; i++)
        say_item(to, &column, i, SIZE_MAX, pv_comparison_gone(c, i));
    fputs(column > 0 ? "\n           take these up: no sheet has their place any more\n" : "", to);
}

static void say_files(FILE *to, const sheets_product *p)
{
    for (size_t i = 0; i < p->n_parts; i++) {
        const sheets_part *one = &p->parts[i];
        fputs(i == 0 ? "to print   " : "           ", to);
        cli_show(to, one->name);
        fprintf(to, ", %zu %s", one->pages, one->pages == 1 ? "page" : "pages");
        if (i == 0 && p->guide > 0)
            fprintf(to, ", the first %zu of them the taping guide", p->guide);
        if (p->n_parts > 1)
            fprintf(to, ", %s to %s", pv_summary_sheet(p->summary, one->first)->name,
                    pv_summary_sheet(p->summary, one->last)->name);
        fputc('\n', to);
    }
    if (p->n_parts > 1)
        fprintf(to, "           %zu files: one holds at most %u pages, or %u MiB uncompressed\n",
                p->n_parts, PV_PDF_PAGES_MAX, PV_PDF_CONTENTS_MAX >> 20);
    fputs("plan       ", to);
    cli_show(to, p->asked->plan_name);
    fputc('\n', to);
}

static void say(FILE *to, const sheets_product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    fprintf(to, "%s, edition %s: %g x %g mm\n", plan->name, plan->edition, plan->mat[0],
            plan->mat[1]);
    say_paper(to, p);
    if (p->printer != NULL)
        say_printer(to, p);
    fprintf(to, "sheets     %zu: %zu %s of %zu, kit %s\n", plan->sheets, plan->rows,
            plan->rows == 1 ? "row" : "rows", plan->columns, plan->kit);
    fprintf(to, "seams      %zu with %zu alignment crosses\n", plan->seams, plan->crosses);
    say_taping(to, p);
    say_steps(to, p);
    if (p->takes != NULL)
        say_takes(to, p->takes);
    if (p->comparison != NULL)
        say_again(to, p);
    say_files(to, p);
    if (p->explained != NULL)
        fprintf(to, "\n%s", p->explained);
    fputs(
        p->asked->proof
            ? "\nPrint at 100 %, no scaling, on one side, on the mat's paper and with its "
              "settings. Scan it:\n  pavior inspect --plan "
            : "\nPrint at 100 %, no scaling, on one side only. Print one sheet first and hold its "
              "scale\nbars against a ruler, or scan it and run: pavior inspect --plan ",
        to);
    cli_show(to, p->asked->plan_name);
    fputs(p->asked->proof ? " --json -o proof.json IMAGE\n"
                            "  pavior calibrate proof.json -o printer.json\n"
                          : " IMAGE\n",
          to);
}

/* ---- telling, as JSON ---- */

/* `before` is a comma, or what else stands before the text, and its key. */
static void json_text(FILE *to, const char *before, const char *text)
{
    char *quoted = pv_text_json(text);
    fprintf(to, "%s%s", before, quoted != NULL ? quoted : "null");
    pv_free(quoted);
}

/* As many digits as tell the number from its neighbours. */
static void json_number(FILE *to, const char *before, double value)
{
    char text[32];
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    fprintf(to, "%s%s", before, text);
}

static void json_numbers(FILE *to, const char *before, const double *values, int n)
{
    fputs(before, to);
    for (int i = 0; i < n; i++)
        json_number(to, i == 0 ? "[" : ", ", values[i]);
    fputc(']', to);
}

/* Every PDF by itself, with its pages. */
static void json_files(FILE *to, const sheets_product *p)
{
    fputs(",\n  \"files\": [", to);
    for (size_t i = 0; i < p->n_parts; i++) {
        const sheets_part *one = &p->parts[i];
        json_text(to, i == 0 ? "\n    {\"pdf\": " : ",\n    {\"pdf\": ", one->name);
        fprintf(to, ", \"pages\": %zu", one->pages);
        json_text(to, ", \"first\": ", pv_summary_sheet(p->summary, one->first)->name);
        json_text(to, ", \"last\": ", pv_summary_sheet(p->summary, one->last)->name);
        fputc('}', to);
    }
    fputs("\n  ]", to);
}

static void json_takes(FILE *to, const pv_takeoff *t)
{
    static const char *const inks[] = {
        ", \"ink\": {\"cyan\": ", ", \"magenta\": ", ", \"yellow\": ", ", \"black\": "};
    fprintf(to, ",\n  \"takes\": {\"sheets\": %zu", t->sheets);
    json_number(to, ", \"paper_g_m2\": ", t->weight);
    json_number(to, ", \"paper_m2\": ", t->paper);
    json_number(to, ", \"paper_kg\": ", t->mass);
    json_number(to, ", \"cut_m\": ", t->cut);
    json_number(to, ", \"tape_m\": ", t->tape);
    json_number(to, ", \"minutes\": ", t->minutes);
    json_number(to, ", \"printed_per_mat\": ", t->printed);
    for (int i = 0; i < 4; i++)
        json_number(to, inks[i], t->ink[i]);
    fputs("},\n    \"colours\": [", to);
    const pv_colour_info *colour;
    for (size_t i = 0; (colour = pv_takeoff_colour(t, i)) != NULL; i++) {
        json_text(to, i == 0 ? "\n      {\"name\": " : ",\n      {\"name\": ", colour->name);
        fprintf(to, ", \"rgb\": [%d, %d, %d]", colour->rgb[0], colour->rgb[1], colour->rgb[2]);
        json_number(to, ", \"area_mm2\": ", colour->area);
        fputc('}', to);
    }
    fputs("\n    ]}", to);
}

static void json_again(FILE *to, const sheets_product *p)
{
    static const char *const names[] = {"no", "surface", "edges", "new"};
    const pv_comparison *c = p->comparison;
    const pv_again_info *sheet;
    const pv_change_info *change;
    const char *before = ",\n  \"again\": [\n    {\"sheet\": ";
    for (size_t i = 0; (sheet = pv_comparison_sheet(c, i)) != NULL; i++) {
        json_text(to, before, sheet->name);
        if (sheet->was != NULL)
            json_text(to, ", \"was\": ", sheet->was);
        fprintf(to, ", \"print\": \"%s\", \"same_identity\": %s}", names[sheet->again],
                sheet->same_identity ? "true" : "false");
        before = ",\n    {\"sheet\": ";
    }
    fputs("\n  ],\n  \"changed\": [", to);
    for (size_t i = 0; (change = pv_comparison_change(c, i)) != NULL; i++) {
        json_text(to, i == 0 ? "\n    {\"words\": " : ",\n    {\"words\": ", change->words);
        json_numbers(to, ", \"box_mm\": ", change->box, 4);
        fputc('}', to);
    }
    const pv_changed_part *part;
    fputs("],\n  \"parts_mm\": [", to);
    for (size_t i = 0; (part = pv_comparison_part(c, i)) != NULL; i++)
        json_numbers(to, i == 0 ? "" : ", ", part->box, 4);
    fputs("],\n  \"gone\": [", to);
    for (size_t i = 0; pv_comparison_gone(c, i) != NULL; i++)
        json_text(to, i == 0 ? "" : ", ", pv_comparison_gone(c, i));
    fputc(']', to);
}

static void say_json(FILE *to, const sheets_product *p)
{
    const sheets_request *r = p->asked;
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    json_text(to, "{\n  \"pdf\": ", p->parts[0].name);
    json_files(to, p);
    json_text(to, ",\n  \"plan\": ", r->plan_name);
    json_text(to, ",\n  \"name\": ", plan->name);
    json_text(to, ",\n  \"edition\": ", plan->edition);
    fprintf(to, ",\n  \"kit\": \"%s\"", plan->kit);
    json_text(to, ",\n  \"paper\": ", plan->paper);
    json_text(to, ",\n  \"paper_from\": ", r->paper_by_locale ? "locale" : "option");
    if (r->layout.roll != 0)
        json_number(to, ",\n  \"roll_mm\": ", r->layout.roll);
    json_numbers(to, ",\n  \"page_mm\": ", plan->page, 2);
    json_numbers(to, ",\n  \"margin_mm\": ", plan->margin, 4);
    json_number(to, ",\n  \"overlap_mm\": ", plan->overlap);
    json_number(to, ",\n  \"border_mm\": ", plan->border);
    fprintf(to,
            ",\n  \"rows\": %zu,\n  \"columns\": %zu,\n  \"sheets\": %zu,\n  \"pages\": %zu,\n"
            "  \"guide_pages\": %zu,\n"
            "  \"seams\": %zu,\n  \"crosses\": %zu,\n  \"taping\": [",
            plan->rows, plan->columns, plan->sheets, p->pages, p->guide, plan->seams,
            plan->crosses);
    for (size_t i = 0; i < plan->sheets; i++)
        json_text(to, i == 0 ? "" : ", ", pv_summary_taped(p->summary, i)->name);
    fprintf(to, "],\n  \"joint\": \"%s\",\n  \"steps\": {\"down\": %zu, \"up\": %zu}",
            plan->joint == PV_JOINT_BUTT ? "butt" : "lap", plan->down, plan->up);
    for (size_t i = 0; i < pv_type_families(p->type); i++)
        json_text(to, i == 0 ? ",\n  \"typefaces\": [" : ", ", pv_type_family(p->type, i));
    fputs("]", to);
    if (p->takes != NULL)
        json_takes(to, p->takes);
    if (p->comparison != NULL)
        json_again(to, p);
    fputs("\n}\n", to);
}

void sheets_tell(const sheets_product *p)
{
    const sheets_request *r = p->asked;
    FILE *to = strcmp(r->pdf_name, "-") == 0 || strcmp(r->plan_name, "-") == 0 ? stderr : stdout;
    if (r->json)
        say_json(to, p);
    else if (!r->quiet)
        say(to, p);
    else if (p->explained != NULL)
        fputs(p->explained, to);
}
