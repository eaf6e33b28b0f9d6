/* What is in a kit: kit.json for programs, SHA256SUMS for whoever checks that it came over whole.
 */
#include "html/data.h"
#include "kit/kit.h"

#include <stdio.h>
#include <string.h>

#include <pavior/pavior.h>

static void add_course(pv_json_writer *w, const pv_kit *kit)
{
    pv_json_key(w, "course");
    pv_json_open(w, '{');
    pv_data_text(w, "file", "mat.course");
    pv_data_text(w, "name", kit->name);
    pv_data_text(w, "edition", kit->edition);
    pv_json_key(w, "size_mm");
    pv_json_open_inline(w, '[');
    pv_json_number(w, kit->told.mat[0]);
    pv_json_number(w, kit->told.mat[1]);
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}

static void add_proof(pv_json_writer *w, const pv_laid *laid)
{
    char name[PV_KIT_NAME];
    pv_json_key(w, "proof");
    if (!laid->proof) {
        pv_json_string(w, NULL);
        return;
    }
    pv_json_open(w, '{');
    pv_data_text(w, "kit", laid->proof_fingerprint.chars);
    pv_json_key(w, "plan");
    snprintf(name, sizeof name, "%s/proof-%s.plan.json", laid->id, laid->id);
    pv_json_string(w, name);
    pv_json_key(w, "pdf");
    snprintf(name, sizeof name, "%s/proof-%s.pdf", laid->id, laid->id);
    pv_json_string(w, name);
    pv_json_close(w, '}');
}

/* The PDFs of a paper, as they were put. */
static void add_pdfs(pv_json_writer *w, const pv_kit *kit, const pv_laid *laid)
{
    char begin[PV_KIT_NAME];
    snprintf(begin, sizeof begin, "%s/mat-", laid->id);
    pv_json_key(w, "pdf");
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < kit->n_files; i++) {
        const char *name = kit->files[i].name;
        if (strncmp(name, begin, strlen(begin)) == 0 && strstr(name, ".pdf") != NULL)
            pv_json_string(w, name);
    }
    pv_json_close(w, ']');
}

static void add_paper(pv_json_writer *w, const pv_kit *kit, const pv_laid *laid)
{
    pv_json_open(w, '{');
    pv_data_text(w, "id", laid->id);
    pv_data_text(w, "paper", laid->paper);
    pv_json_key(w, "roll_mm");
    if (laid->told.roll > 0)
        pv_json_number(w, laid->told.roll);
    else
        pv_json_string(w, NULL);
    pv_json_key(w, "page_mm");
    pv_json_open_inline(w, '[');
    pv_json_number(w, laid->page[0]);
    pv_json_number(w, laid->page[1]);
    pv_json_close(w, ']');
    pv_data_text(w, "kit", laid->fingerprint.chars);
    pv_data_count(w, "sheets", laid->told.sheets);
    pv_data_text(w, "plan", laid->plan);
    if (laid->again.compared) {
        pv_data_count(w, "again", laid->again.n);
    }
    add_pdfs(w, kit, laid);
    add_proof(w, laid);
    pv_json_close(w, '}');
}

static char *kit_json(const pv_kit_making *m)
{
    const pv_kit *kit = m->kit;
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    pv_data_count(&w, "pavior_kit", 1);
    pv_data_text(&w, "program", PV_VERSION_STRING);
    add_course(&w, kit);
    pv_data_text(&w, "language", pv_language_code(m->o.language));
    pv_data_text(&w, "url", m->o.url);
    pv_data_text(&w, "contact", m->o.contact);
    pv_json_key(&w, "papers");
    pv_json_open(&w, '[');
    for (size_t i = 0; i < kit->n_papers; i++)
        add_paper(&w, kit, &kit->papers[i]);
    pv_json_close(&w, ']');
    pv_json_key(&w, "files");
    pv_json_open(&w, '[');
    for (size_t i = 0; i < kit->n_files; i++) {
        pv_json_open_inline(&w, '{');
        pv_data_text(&w, "name", kit->files[i].name);
        pv_data_count(&w, "bytes", kit->files[i].size);
        pv_json_close(&w, '}');
    }
    pv_json_close(&w, ']');
    pv_json_close(&w, '}');
    return pv_json_take(&w);
}

/* As sha256sum writes them and, with -c, checks them. */
static char *sums(const pv_kit *kit)
{
    pv_text text = PV_TEXT_INIT;
    for (size_t i = 0; i < kit->n_files; i++)
        pv_text_add(&text, "%s  %s\n", kit->files[i].sum, kit->files[i].name);
    return pv_text_take(&text);
}

bool pv_kit_contents(pv_kit_making *m)
{
    return pv_kit_put_text(m, "kit.json", kit_json(m)) &&
           pv_kit_put_text(m, "SHA256SUMS", sums(m->kit));
}

/* ---- reading them ---- */

void pv_kit_sum(const void *bytes, size_t size, char hex[65])
{
    pv_sha256(bytes, size, hex);
}

/* Small letters, digits, hyphens and dots, in folders that aren't "." or "..". */
static bool plain_name(const char *name)
{
    for (const char *c = name; *c != '\0'; c++) {
        bool begins = c == name || c[-1] == '/';
        bool word = (*c >= 'a' && *c <= 'z') || (*c >= '0' && *c <= '9');
        if (!word && (begins || (*c != '-' && *c != '.' && *c != '/')))
            return false;
    }
    return *name != '\0' && name[strlen(name) - 1] != '/';
}

/* One line without its end. */
static bool read_line(const char *line, size_t length, pv_kit_seen *seen, void *context)
{
    char sum[PV_SHA256_HEX], name[PV_KIT_NAME];
    size_t digits = sizeof sum - 1, before = digits + 2;
    if (length <= before || length - before >= sizeof name || line[digits] != ' ' ||
        line[digits + 1] != ' ')
        return false;
    memcpy(sum, line, digits);
    sum[digits] = '\0';
    memcpy(name, line + before, length - before);
    name[length - before] = '\0';
    return strspn(sum, "0123456789abcdef") == digits && strlen(name) == length - before &&
           plain_name(name) && seen(context, name, sum);
}

bool pv_kit_sums_read(const char *text, size_t length, pv_kit_seen *seen, void *context,
                      pv_diags *diags)
{
    size_t number = 1;
    for (size_t at = 0; at < length; number++) {
        const char *end = memchr(text + at, '\n', length - at);
        size_t n = end != NULL ? (size_t)(end - (text + at)) : length - at;
        if (!read_line(text + at, n, seen, context)) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA,
                         "give the kit as it was published, or a fresh copy of it",
                         "line %zu of SHA256SUMS is not one of a kit's", number);
            return false;
        }
        at += n + 1;
    }
    return true;
}
