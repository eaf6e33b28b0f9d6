#include "collect/page.h"

#include "html/html.h"
#include "kit/kit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

pv_digits pv_results_number(double value, int decimals)
{
    pv_digits plain = pv_fixed(value, decimals), out;
    bool minus = plain.chars[0] == '-' && plain.chars[1] != '\0';
    snprintf(out.chars, sizeof out.chars, "%s%.36s", minus ? "\xE2\x88\x92" : "",
             plain.chars + minus);
    return out;
}

/* ---- what pages say alike ---- */

/* Nothing that is seen: ASCII's blanks and the usual ones of Unicode, U+00A0, U+3000 and U+2000 to
 * U+200F, in UTF-8. As a link nobody could follow it. */
static bool only_blanks(const char *name)
{
    while (*name != '\0') {
        bool general = strncmp(name, "\xE2\x80", 2) == 0 && (name[2] & 0xF0) == 0x80;
        if (general || strncmp(name, "\xE3\x80\x80", 3) == 0)
            name += 3;
        else if (strncmp(name, "\xC2\xA0", 2) == 0)
            name += 2;
        else if ((unsigned char)*name <= ' ')
            name++;
        else
            return false;
    }
    return true;
}

const char *pv_results_team(const pv_tally *t, const char *name)
{
    return *name == '\0'       ? pv_say(t->language, "(no team)")
           : only_blanks(name) ? pv_say(t->language, "(a name of blanks)")
                               : name;
}

void pv_results_sheets(pv_results_page *page, const char *key, const pv_tally_mat *mat,
                       unsigned states, size_t most)
{
    const pv_tally *t = page->tally;
    pv_text text = PV_TEXT_INIT;
    size_t n = 0;
    for (size_t i = 0; i < mat->n; i++) {
        const pv_tally_sheet *sheet = &t->sheets[mat->first + i];
        unsigned asked = sheet->questioned ? PV_TALLY_QUESTIONED : 0;
        if ((states & (1u << sheet->state | asked)) == 0)
            continue;
        if (n++ < most)
            pv_text_add(&text, "%s%s", n > 1 ? ", " : "",
                        t->plans[mat->plan].sheets[sheet->number]);
    }
    if (n > most)
        pv_text_add(&text, pv_say(t->language, " and %zu more"), n - most);
    pv_data_take(&page->data, key, &text);
}

pv_text pv_results_folder(const pv_tally_plan *plan)
{
    static const char end[] = " roll";
    size_t length = strlen(plan->paper), end_length = sizeof end - 1;
    bool roll = length > end_length && strcmp(plan->paper + length - end_length, end) == 0;
    char id[PV_KIT_ID];
    pv_text out = PV_TEXT_INIT, name = PV_TEXT_INIT;
    pv_text_bytes(&name, plan->paper, length - (roll ? end_length : 0));
    if (!name.failed && name.chars != NULL) {
        pv_kit_id(name.chars, id);
        pv_text_add(&out, "%s%s", roll ? "roll-" : "", id);
    }
    out.failed = out.failed || name.failed;
    pv_text_drop(&name);
    return out;
}

void pv_results_proven(pv_results_page *page, const char *key, size_t proven, size_t all)
{
    const pv_language *l = page->tally->language;
    pv_data_words(&page->data, key,
                  all == 1 ? pv_say(l, "%zu of %zu sheet is proven")
                           : pv_say_count(l, "%zu of %zu sheets is proven",
                                          "%zu of %zu sheets are proven", proven),
                  proven, all);
}

bool pv_results_nothing(const pv_tally_row *row)
{
    return *row->file == '\0';
}

/* A verdict's sign and colour. */
static const char *kind_of(const pv_tally_row *row)
{
    static const char *const kinds[] = {
        [PV_CONFORMS] = "ok", [PV_DOES_NOT_CONFORM] = "no", [PV_UNDECIDED] = "un"};
    return row->error != NULL ? "er" : kinds[row->verdict];
}

static void add_file(pv_results_page *page, const char *key, const pv_tally_row *row)
{
    if (row->page > 0)
        pv_data_words(&page->data, key, pv_say(page->tally->language, "%s, page %zu"), row->file,
                      row->page);
    else
        pv_data_text(&page->data, key, row->file);
}

void pv_results_dispute(pv_results_page *page, const pv_tally_sheet *sheet)
{
    const pv_tally_row *one = &page->tally->rows[sheet->row];
    const pv_tally_row *other = &page->tally->rows[sheet->other];
    bool proves = one->verdict == PV_CONFORMS;
    add_file(page, "true_file", proves ? one : other);
    add_file(page, "false_file", proves ? other : one);
}

/* Of a picture that shows one: its sheet, or that it is a proof page. */
static const char *sheet_of(const pv_tally *t, const pv_tally_row *row)
{
    const pv_tally_plan *plan = &t->plans[row->plan];
    return plan->proof ? pv_say(t->language, "Proof page") : plan->sheets[row->number];
}

static bool is_left(const pv_tally *t, const pv_tally_team *team, const pv_tally_row *row)
{
    const pv_tally_mat *mat = team->n_mats > 0 ? &t->mats[team->first_mat] : NULL;
    if (mat == NULL || row->plan != mat->plan)
        return false;
    const pv_tally_sheet *sheet = &t->sheets[mat->first + row->number];
    return sheet->state != PV_TALLY_PROVEN || sheet->questioned;
}

void pv_results_shared(pv_results_page *page, const pv_tally_team *team, size_t most, bool left)
{
    const pv_tally *t = page->tally;
    pv_text text = PV_TEXT_INIT;
    size_t n = 0;
    for (size_t i = team->first; i < team->first + team->n; i++) {
        const pv_tally_row *row = &t->rows[i];
        bool sheet = row->twin != NULL && row->plan != SIZE_MAX;
        if (sheet && (!left || is_left(t, team, row)) && n++ < most)
            pv_text_add(&text, "%s%s (%s)", n > 1 ? ", " : "", sheet_of(t, row), row->file);
    }
    if (n > most)
        pv_text_add(&text, pv_say(t->language, " and %zu more"), n - most);
    pv_data_take(&page->data, "shared", &text);
}

void pv_results_row(pv_results_page *page, const pv_tally_row *row)
{
    const pv_tally *t = page->tally;
    bool sheet = row->error == NULL && row->plan != SIZE_MAX;
    add_file(page, "file", row);
    pv_data_text(&page->data, "kind", kind_of(row));
    pv_data_text(&page->data, "sheet", sheet ? sheet_of(t, row) : NULL);
    pv_data_text(&page->data, "paper", sheet ? t->plans[row->plan].paper : NULL);
    pv_data_text(&page->data, "answer", row->error != NULL ? row->error : row->answer);
    pv_data_text(&page->data, "advice", row->advice);
    pv_data_text(&page->data, "report", pv_row_report(row));
}

/* ---- the whole ---- */

void pv_results_page_begin(pv_results_page *page, const pv_tally *t, const char *title,
                           pv_diags *diags)
{
    *page = (pv_results_page){.tally = t, .data = PV_JSON_WRITER_INIT, .diags = diags};
    size_t plan = 0;
    while (plan + 1 < t->n_plans && t->plans[plan].proof)
        plan++;
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "lang", pv_language_code(t->language));
    pv_data_text(&page->data, "title", title);
    pv_data_bool(&page->data, "stylesheet", false);
    pv_data_text(&page->data, "course", plan < t->n_plans ? t->plans[plan].name : "");
    pv_data_text(&page->data, "edition", plan < t->n_plans ? t->plans[plan].edition : "");
}

char *pv_results_page_end(pv_results_page *page, const char *template_name)
{
    pv_json_close(&page->data, '}');
    char *json = pv_json_take(&page->data);
    if (json == NULL) {
        pv_fail_memory(page->diags);
        return NULL;
    }
    pv_text text = PV_TEXT_INIT;
    bool good =
        pv_html_fill(&text, template_name, json, strlen(json), page->tally->language, page->diags);
    free(json);
    if (!good) {
        pv_text_drop(&text);
        return NULL;
    }
    char *out = pv_text_take(&text);
    if (out == NULL)
        pv_fail_memory(page->diags);
    return out;
}
