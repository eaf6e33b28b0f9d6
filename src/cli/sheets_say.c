/* pavior sheets: saying what was made. */
#include "cli/sheets.h"

#include "base/memory.h"
#include "plan/crossings.h"
#include "json/json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* At which seams the robot steps up, and why: `both` counts those that it crosses both ways. */
typedef struct steps {
    size_t down, up, n, both;
    size_t *seam; /* owned */
} steps;

static bool find_steps(const pv_plan *plan, steps *s)
{
    *s = (steps){.seam = PV_NEW_ARRAY(plan->n_seams, size_t)};
    bool good = s->seam != NULL;
    for (size_t i = 0; good && plan->joint == PV_JOINT_LAP && i < plan->n_seams; i++) {
        size_t down = 0, up = 0;
        good = pv_seam_steps(plan, &plan->seams[i], &down, &up);
        s->down += down;
        s->up += up;
        if (up == 0)
            continue;
        s->both += down > 0;
        s->seam[s->n++] = i;
    }
    return good;
}

/* Lists items with line breaks; of very many the first and the last, unless `all` are wanted. */
static void say_list(FILE *to, const pv_plan *plan, size_t n,
                     void (*name)(const pv_plan *, const void *, size_t, char text[32]),
                     const void *context, bool all)
{
    size_t column = 10;
    for (size_t i = 0; i < n; i++) {
        char text[32];
        if (!all && n > 60 && i == 20) {
            name(plan, context, n - 1, text);
            fprintf(to, " ... %s (--explain lists all)", text);
            break;
        }
        name(plan, context, i, text);
        int width = fprintf(to, " %s", text);
        column += width > 0 ? (size_t)width : 0;
        if (column > 70 && i + 1 < n) {
            fputs("\n          ", to);
            column = 10;
        }
    }
    fputs("\n", to);
}

static void name_sheet(const pv_plan *plan, const void *context, size_t i, char text[32])
{
    (void)context;
    snprintf(text, 32, "%s", pv_plan_sheet_name(plan, pv_plan_taping(plan, i)));
}

static void name_seam(const pv_plan *plan, const void *context, size_t i, char text[32])
{
    const pv_seam *seam = &plan->seams[((const size_t *)context)[i]];
    bool after = seam->over > seam->under;
    snprintf(text, 32, "%s%s%s", plan->sheets[after ? seam->under : seam->over].name,
             seam->vertical ? "|" : "/", plan->sheets[after ? seam->over : seam->under].name);
}

static void say_order(FILE *to, const pv_plan *plan, const steps *s, bool all)
{
    fputs("taping    ", to);
    say_list(to, plan, plan->n_sheets, name_sheet, NULL, all);
    if (plan->n_sheets < 2)
        return;
    if (plan->joint == PV_JOINT_BUTT) {
        fputs("           edge to edge, taped from beneath\n", to);
        return;
    }
    fputs("           each lies over those that lie already; its labels say which\n", to);
    if (s->down + s->up == 0)
        return;
    fprintf(to, "steps      the robot steps down at %zu of %zu crossings of seams", s->down,
            s->down + s->up);
    if (s->up == 0) {
        fputs(", never up\n", to);
        return;
    }
    fprintf(to, ", up at %zu:\n          ", s->up);
    say_list(to, plan, s->n, name_seam, s->seam, all);
    if (s->both > 0)
        fprintf(to, "           %zu of these seams %s crossed both ways\n", s->both,
                s->both == 1 ? "is" : "are");
    if (s->n > s->both)
        fprintf(to,
                "           at %zu no order of laying serves: the route goes round, or a page has "
                "no room for two laps\n",
                s->n - s->both);
}

static void say_printer(FILE *to, const cli_sheets_product *p)
{
    const pv_printer *pr = p->printer;
    bool any = pr->skew.corrected || pr->ink.corrected;
    const char *sep = "";
    for (int i = 0; i < 2; i++)
        any = any || pr->scale[i].corrected;
    fprintf(to, "printer    %s%s\n", pr->name != NULL ? pr->name : "measured by its file",
            any ? "; corrected are" : "; nothing to correct");
    static const char *const axes[2] = {"across", "up"};
    for (int i = 0; i < 2; i++)
        if (pr->scale[i].corrected) {
            fprintf(to, "%s%.2f %% %s", *sep == '\0' ? "           " : sep,
                    100 * pr->scale[i].value, axes[i]);
            sep = ", ";
        }
    if (pr->skew.corrected) {
        fprintf(to, "%s%.2f mrad of skew", *sep == '\0' ? "           " : sep, pr->skew.value);
        sep = ", ";
    }
    if (pr->ink.corrected)
        fprintf(to, "%s%+.3f mm of ink", *sep == '\0' ? "           " : sep, pr->ink.value);
    fputs(any ? "\n" : "", to);
    if (p->widened > 0.05)
        fprintf(to, "           the margins are wider by %.1f mm, for what is drawn larger\n",
                p->widened);
}

static void say_paper(FILE *to, const cli_sheets_request *r, const pv_plan *plan)
{
    bool upright = plan->page[0] <= plan->page[1];
    fprintf(to, "paper      %s %s, %g x %g mm%s\n", plan->paper, upright ? "portrait" : "landscape",
            plan->page[0], plan->page[1],
            r->paper_by_locale ? " (by the locale; --paper chooses another)" : "");
}

static void say_roll(FILE *to, const cli_sheets_request *r, const pv_plan *plan)
{
    bool lies = plan->page[0] != r->layout.roll;
    double length = plan->page[lies ? 0 : 1];
    fprintf(to, "roll       %s, %s; pages of %g x %g mm, %.2f m of roll in all\n", plan->paper,
            lies ? "running along the mat: print turned by a quarter" : "running up the mat",
            plan->page[0], plan->page[1], length * (double)plan->n_sheets / 1000);
    if (plan->n_sheets == 1)
        fputs("           in one piece\n", to);
}

static void say_files(FILE *to, const cli_sheets_product *p)
{
    const cli_sheets_output *o = &p->output;
    for (size_t i = 0; i < o->n_parts; i++) {
        const cli_sheets_part *part = &o->parts[i];
        fputs(i == 0 ? "to print   " : "           ", to);
        cli_show(to, part->name);
        fprintf(to, ", %zu %s", part->pages, part->pages == 1 ? "page" : "pages");
        if (o->n_parts > 1)
            fprintf(to, ", %s to %s", p->plan->sheets[part->first].name,
                    p->plan->sheets[part->last].name);
        fputc('\n', to);
    }
    if (o->n_parts > 1)
        fprintf(to, "           %zu files: one takes %u pages, or %u MiB of them unpacked\n",
                o->n_parts, PV_PDF_PAGES_MAX, PV_PDF_CONTENTS_MAX >> 20);
}

static void say(FILE *to, const cli_sheets_request *r, const cli_sheets_product *p, const steps *s)
{
    const pv_plan *plan = p->plan;
    fprintf(to, "%s, edition %s: %g x %g mm\n", plan->art.name, plan->art.edition, plan->art.size.x,
            plan->art.size.y);
    if (r->layout.roll != 0)
        say_roll(to, r, plan);
    else
        say_paper(to, r, plan);
    fprintf(to, "margins    left %g, bottom %g, right %g, top %g mm; overlap %g mm\n",
            plan->margin[PV_LEFT], plan->margin[PV_BOTTOM], plan->margin[PV_RIGHT],
            plan->margin[PV_TOP], plan->overlap);
    if (plan->border > 0)
        fprintf(to, "border     %g mm blank beyond the mat's edges, inside of the cut\n",
                plan->border);
    if (p->printer != NULL)
        say_printer(to, p);
    fprintf(to, "sheets     %zu: %zu %s of %zu, kit %04X\n", plan->n_sheets, plan->rows,
            plan->rows == 1 ? "row" : "rows", plan->columns, plan->fingerprint);
    fprintf(to, "seams      %zu with %zu alignment crosses\n", plan->n_seams, plan->n_crosses);
    say_order(to, plan, s, r->explain);
    if (p->takes.area != NULL)
        cli_sheets_say_takes(to, r, &p->takes);
    say_files(to, p);
    fputs("plan       ", to);
    cli_show(to, r->plan_name);
    fputc('\n', to);
    if (r->proof) {
        fprintf(
            to,
            "\nPrint at 100 %%, no scaling, on one side, on the mat's paper and with its settings. "
            "Scan it:\n"
            "  pavior inspect --plan %s --json -o proof.json IMAGE\n"
            "  pavior calibrate proof.json -o printer.json\n",
            r->plan_name);
        return;
    }
    if (p->explained != NULL)
        fprintf(to, "\n%s", p->explained);
    fputs(
        "\nPrint at 100 %, no scaling, on one side only. Print one sheet first and hold its scale\n"
        "bars against a ruler, or scan it and run: pavior inspect --plan ",
        to);
    cli_show(to, r->plan_name);
    fputs(" IMAGE\n", to);
}

static void json_box(pv_json_writer *w, const char *key, const double *values, int n)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    for (int i = 0; i < n; i++)
        pv_json_number(w, values[i]);
    pv_json_close(w, ']');
}

static void json_text(pv_json_writer *w, const char *key, const char *value)
{
    pv_json_key(w, key);
    pv_json_string(w, value);
}

static void json_count(pv_json_writer *w, const char *key, size_t value)
{
    pv_json_key(w, key);
    pv_json_integer(w, (long long)value);
}

/* Every PDF by itself, with its pages. */
static void json_files(pv_json_writer *w, const cli_sheets_product *p)
{
    pv_json_key(w, "files");
    pv_json_open(w, '[');
    for (size_t i = 0; i < p->output.n_parts; i++) {
        const cli_sheets_part *part = &p->output.parts[i];
        pv_json_open_inline(w, '{');
        json_text(w, "pdf", part->name);
        json_count(w, "pages", part->pages);
        json_text(w, "first", p->plan->sheets[part->first].name);
        json_text(w, "last", p->plan->sheets[part->last].name);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static char *summary_json(const cli_sheets_request *r, const cli_sheets_product *p, const steps *s)
{
    const pv_plan *plan = p->plan;
    char kit[8];
    snprintf(kit, sizeof kit, "%04X", plan->fingerprint & 0xFFFFu);
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    json_text(&w, "pdf", p->output.n_parts == 1 ? r->pdf_name : p->output.parts[0].name);
    json_files(&w, p);
    json_text(&w, "plan", r->plan_name);
    json_text(&w, "name", plan->art.name);
    json_text(&w, "edition", plan->art.edition);
    json_text(&w, "kit", kit);
    json_text(&w, "paper", plan->paper);
    json_text(&w, "paper_from", r->paper_by_locale ? "locale" : "option");
    if (r->layout.roll != 0) {
        pv_json_key(&w, "roll_mm");
        pv_json_number(&w, r->layout.roll);
    }
    json_box(&w, "page_mm", plan->page, 2);
    json_box(&w, "margin_mm", plan->margin, 4);
    pv_json_key(&w, "overlap_mm");
    pv_json_number(&w, plan->overlap);
    pv_json_key(&w, "border_mm");
    pv_json_number(&w, plan->border);
    json_count(&w, "rows", plan->rows);
    json_count(&w, "columns", plan->columns);
    json_count(&w, "sheets", plan->n_sheets);
    json_count(&w, "pages", p->printed);
    json_count(&w, "seams", plan->n_seams);
    json_count(&w, "crosses", plan->n_crosses);
    pv_json_key(&w, "taping");
    pv_json_open_inline(&w, '[');
    for (size_t i = 0; i < plan->n_sheets; i++)
        pv_json_string(&w, plan->sheets[plan->taping[i]].name);
    pv_json_close(&w, ']');
    json_text(&w, "joint", plan->joint == PV_JOINT_BUTT ? "butt" : "lap");
    pv_json_key(&w, "steps");
    pv_json_open_inline(&w, '{');
    json_count(&w, "down", s->down);
    json_count(&w, "up", s->up);
    pv_json_close(&w, '}');
    pv_json_key(&w, "typefaces");
    pv_json_open_inline(&w, '[');
    for (size_t i = 0; i < pv_type_families(p->type); i++)
        pv_json_string(&w, pv_type_family(p->type, i));
    pv_json_close(&w, ']');
    if (p->takes.area != NULL)
        cli_sheets_json_takes(&w, r, plan, &p->takes);
    pv_json_close(&w, '}');
    return pv_json_take(&w);
}

static bool tell(const cli_sheets_request *r, const cli_sheets_product *p, const steps *s)
{
    FILE *to = strcmp(r->pdf_name, "-") == 0 || strcmp(r->plan_name, "-") == 0 ? stderr : stdout;
    if (!r->json) {
        if (!r->quiet)
            say(to, r, p, s);
        else if (p->explained != NULL)
            fputs(p->explained, to);
        return true;
    }
    char *text = summary_json(r, p, s);
    bool good = text != NULL;
    if (good)
        fputs(text, to);
    pv_free(text);
    return good;
}

bool cli_sheets_tell(const cli_sheets_request *r, const cli_sheets_product *p)
{
    steps s;
    bool good = find_steps(p->plan, &s) && tell(r, p, &s);
    if (!good)
        fputs("error: out of memory\n", stderr);
    free(s.seam);
    return good;
}
