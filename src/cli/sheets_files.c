/* pavior sheets: its files. Everything is written beside its place first and put in place at the
 * end, so that after a failure nothing is left. */
#include "cli/sheets.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

void cli_sheets_output_init(cli_sheets_output *o, const char *pdf, const char *plan)
{
    *o = (cli_sheets_output){.pdf_name = pdf, .plan_name = plan};
    o->pdf_stream = pv_file_is_stream(pdf);
    o->plan_stream = pv_file_is_stream(plan);
}

void cli_sheets_output_drop(cli_sheets_output *o)
{
    for (size_t i = 0; i < o->n_parts; i++) {
        pv_file_discard(&o->parts[i].staged);
        free(o->parts[i].name);
    }
    pv_file_discard(&o->plan);
    free(o->parts);
    free(o->pdf);
    *o = (cli_sheets_output){0};
}

static bool refuse_second(const cli_sheets_output *o, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "choose fewer by --range, or name a file by --output",
                 "so many sheets make several files, which %s can't take",
                 strcmp(o->pdf_name, "-") == 0 ? "standard output" : o->pdf_name);
    return false;
}

bool cli_sheets_take_part(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    cli_sheets_output *o = context;
    if (o->pdf_stream && o->n_parts > 0)
        return refuse_second(o, diags);
    if (!PV_GROW(o->parts, o->n_parts, o->cap_parts)) {
        pv_fail_memory(diags);
        return false;
    }
    cli_sheets_part *p = &o->parts[o->n_parts];
    *p = (cli_sheets_part){.first = part->first, .last = part->last, .pages = part->pages};
    if (o->pdf_stream) {
        o->pdf = pv_copy_bytes(part->bytes, part->size, 1);
        o->pdf_size = part->size;
        if (o->pdf == NULL)
            pv_fail_memory(diags);
    } else if (!pv_file_stage(o->pdf_name, part->bytes, part->size, &p->staged, diags)) {
        return false;
    }
    o->n_parts++;
    return !o->pdf_stream || o->pdf != NULL;
}

/* "F.pdf", or of several "F-1.pdf" and so on. */
static bool name_part(cli_sheets_output *o, size_t index)
{
    size_t length = strlen(o->pdf_name);
    bool dotted = length > 4 && strcmp(o->pdf_name + length - 4, ".pdf") == 0;
    pv_text name = PV_TEXT_INIT;
    if (o->n_parts == 1)
        pv_text_add(&name, "%s", o->pdf_name);
    else
        pv_text_add(&name, "%.*s-%zu%s", (int)(dotted ? length - 4 : length), o->pdf_name,
                    index + 1, dotted ? ".pdf" : "");
    o->parts[index].name = pv_text_take(&name);
    return o->parts[index].name != NULL;
}

/* Streams first: what went wrong with them leaves no file. */
static bool write_streams(cli_sheets_output *o, const char *plan_text, pv_diags *diags)
{
    size_t size = strlen(plan_text);
    if (!o->plan_stream && !pv_file_stage(o->plan_name, plan_text, size, &o->plan, diags))
        return false;
    if (o->pdf_stream && !pv_file_write(o->pdf_name, o->pdf, o->pdf_size, diags))
        return false;
    return !o->plan_stream || pv_file_write(o->plan_name, plan_text, size, diags);
}

static bool settle(cli_sheets_output *o, pv_diags *diags)
{
    pv_staged **staged = PV_NEW_ARRAY(o->n_parts + 1, pv_staged *);
    const char **names = PV_NEW_ARRAY(o->n_parts + 1, const char *);
    size_t n = 0;
    for (size_t i = 0; staged != NULL && names != NULL && !o->pdf_stream && i < o->n_parts; i++) {
        staged[n] = &o->parts[i].staged;
        names[n++] = o->parts[i].name;
    }
    if (staged != NULL && names != NULL && !o->plan_stream) {
        staged[n] = &o->plan;
        names[n++] = o->plan_name;
    }
    bool good = staged != NULL && names != NULL;
    if (good)
        good = pv_file_settle_all(staged, names, n, diags);
    else
        pv_fail_memory(diags);
    free((void *)staged);
    free((void *)names);
    return good;
}

bool cli_sheets_write(cli_sheets_output *o, const char *plan_text, pv_diags *diags)
{
    bool good = true;
    for (size_t i = 0; i < o->n_parts && good; i++)
        good = name_part(o, i);
    if (!good) {
        pv_fail_memory(diags);
        return false;
    }
    if (!write_streams(o, plan_text, diags))
        return false;
    return settle(o, diags);
}
