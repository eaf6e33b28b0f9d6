#include "collect/basis.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "base/text.h"
#include "base/words.h"
#include "collect/sql.h"
#include "judge/how.h"
#include "kit/kit.h"
#include "po/po.h"
#include "json/json.h"

#include <pavior/pavior.h>

#include <stdlib.h>
#include <string.h>

static int by_fingerprint(const void *a, const void *b)
{
    const pv_plan *p = *(const pv_plan *const *)a, *q = *(const pv_plan *const *)b;
    return (p->fingerprint > q->fingerprint) - (p->fingerprint < q->fingerprint);
}

/* The whole plan, with what is not part of its fingerprint (a printer's correction) but stands in
 * an inspection. */
static bool add_plan(pv_text *to, const pv_plan *plan)
{
    char *whole = pv_plan_json(plan, NULL);
    if (whole == NULL)
        return false;
    char hex[PV_SHA256_HEX];
    pv_sha256(whole, strlen(whole), hex);
    free(whole);
    pv_text_add(to, "%s %s\n", pv_plan_kit(plan).chars, hex);
    return true;
}

static bool take_plans(pv_collect_basis *basis, const pv_plan *const *plans, size_t n)
{
    basis->plans = pv_copy_bytes(plans, n, sizeof(pv_plan *));
    if (basis->plans == NULL)
        return false;
    qsort(basis->plans, n, sizeof(pv_plan *), by_fingerprint);
    for (size_t i = 0; i < n; i++)
        if (i == 0 || basis->plans[i]->fingerprint != basis->plans[i - 1]->fingerprint)
            basis->plans[basis->n_plans++] = basis->plans[i];
    pv_text all = PV_TEXT_INIT;
    bool good = true;
    for (size_t i = 0; good && i < basis->n_plans; i++)
        good = add_plan(&all, basis->plans[i]);
    good = good && !all.failed;
    if (good)
        pv_sha256(all.chars, all.length, basis->kit);
    pv_text_drop(&all);
    return good;
}

static bool equal(const pv_tolerances *a, const pv_tolerances *b)
{
    return a->scale == b->scale && a->width == b->width && a->spacing == b->spacing &&
           a->skew == b->skew && a->straight == b->straight && a->contrast == b->contrast &&
           a->spot == b->spot;
}

/* Of plans of the same sheets one is used, and it must not matter which. */
static bool tolerances_agree(const pv_collect_basis *basis, const pv_plan *const *plans, size_t n,
                             pv_diags *diags)
{
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < basis->n_plans; k++) {
            const pv_plan *a = plans[i], *b = basis->plans[k];
            if (a->fingerprint != b->fingerprint || equal(&a->art.tolerances, &b->art.tolerances))
                continue;
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "leave only the one that counts",
                         "two plans of the same sheets (%s, kit %s) have different tolerances",
                         a->paper, pv_plan_kit(a).chars);
            return false;
        }
    return true;
}

/* All that changes what is measured or said. */
static char *options_text(const pv_inspect_options *how)
{
    pv_text text = PV_TEXT_INIT;
    pv_how_text(&text, how);
    pv_text_add(&text, ", in %s", pv_language_code(how->language));
    pv_text_add(&text, ", at most %zu pixels", how->pixels_max);
    return pv_text_take(&text);
}

/* What the options say of the scanners, for people. */
static char *scanners_text(const pv_inspect_options *how)
{
    static const char *const kinds[PV_SCANNER_KINDS] = {
        [PV_SCANNER_UNKNOWN] = PV_SAID("unknown"),
        [PV_SCANNER_FLATBED] = PV_SAID("flatbeds"),
        [PV_SCANNER_FEEDER] = PV_SAID("sheet feeders"),
        [PV_SCANNER_FEEDER_SHORT] = PV_SAID("sheet feeders, short edge first"),
        [PV_SCANNER_FEEDER_LONG] = PV_SAID("sheet feeders, long edge first")};
    pv_text text = PV_TEXT_IN(how->language);
    pv_text_add(&text, "%s", pv_say(how->language, kinds[how->scanner_kind]));
    if (how->scanner_U_rel >= 0)
        pv_text_say(&text, ", true to %s %%", pv_fixed(100 * how->scanner_U_rel, 2).chars);
    return pv_text_take(&text);
}

/* False where memory ran out. */
static bool make_id(pv_collect_basis *basis, size_t which)
{
    char *options = options_text(&basis->how[which]);
    pv_text text = PV_TEXT_INIT;
    if (options != NULL)
        pv_text_add(&text, "%s\n%s\n%s\n", basis->kit, options, pv_version());
    bool good = options != NULL && !text.failed;
    if (good)
        pv_sha256(text.chars, text.length, basis->id[which]);
    pv_text_drop(&text);
    if (which == 0)
        basis->options = options;
    else
        free(options);
    return good;
}

bool pv_basis_make(pv_collect_basis *basis, const pv_plan *const *plans, size_t n_plans,
                   const pv_inspect_options *how, pv_diags *diags)
{
    *basis = (pv_collect_basis){.language = how->language};
    bool good = take_plans(basis, plans, n_plans);
    for (size_t i = 0; good && i < PV_BASES; i++) {
        basis->how[i] = *how;
        if (i > 0) {
            basis->how[i].scanner_kind = (pv_scanner_kind)(i - 1);
            basis->how[i].scanner_U_rel = -1;
            basis->how[i].scanner = NULL;
        }
        good = make_id(basis, i);
    }
    basis->scanners = good ? scanners_text(how) : NULL;
    good = good && basis->scanners != NULL;
    if (!good)
        pv_fail_memory(diags);
    return good && tolerances_agree(basis, plans, n_plans, diags);
}

size_t pv_basis_of(const pv_collect_basis *basis, const pv_collect_picture *picture)
{
    size_t own = picture->told ? 1 + (size_t)picture->scanner : 0;
    return strcmp(basis->id[own], basis->id[0]) == 0 ? 0 : own;
}

void pv_basis_clear(pv_collect_basis *basis)
{
    free(basis->plans);
    free(basis->options);
    free(basis->scanners);
    *basis = (pv_collect_basis){.plans = NULL};
}

/* ---- into the results ---- */

static bool say_plan(pv_sql *plans, pv_sql *sheets, const pv_plan *plan)
{
    pv_kit_text kit = pv_plan_kit(plan);
    pv_sql_text(plans, 1, kit.chars);
    pv_sql_text(plans, 2, plan->art.name);
    pv_sql_text(plans, 3, plan->art.edition);
    pv_sql_text(plans, 4, plan->paper);
    pv_sql_integer(plans, 5, plan->proof);
    pv_sql_integer(plans, 6, (long long)plan->n_sheets);
    bool good = pv_sql_do(plans);
    for (size_t i = 0; good && i < plan->n_sheets; i++) {
        pv_sql_text(sheets, 1, kit.chars);
        pv_sql_integer(sheets, 2, (long long)i);
        pv_sql_text(sheets, 3, plan->sheets[i].name);
        good = pv_sql_do(sheets);
    }
    return good;
}

/* Where teams send their pictures, as a kit.json says in a line of text. What isn't as a kit's is
 * leaves *out NULL: then no page says it. False where memory ran out. */
static bool read_contact(const char *kit_json, char **out)
{
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_json *json = pv_json_parse(kit_json, strlen(kit_json), "kit.json", why);
    const pv_json_node *node =
        json != NULL ? pv_json_find(pv_json_root(json), "contact", strlen("contact")) : NULL;
    const char *contact = node != NULL ? pv_json_get_string(json, node) : "";
    bool fits = pv_kit_contact_fits(contact);
    *out = fits ? pv_copy_text(contact) : NULL;
    bool good = pv_diags_cause(why) != PV_CAUSE_MEMORY && (*out != NULL || !fits);
    pv_json_free(json);
    pv_diags_free(why);
    return good;
}

bool pv_basis_say_contact(const char *kit_json, pv_results *results, pv_diags *diags)
{
    char *contact = NULL;
    bool good = kit_json == NULL || read_contact(kit_json, &contact);
    if (!good)
        pv_fail_memory(diags);
    good = good && (contact == NULL || pv_sql_say(results, "contact", contact, diags));
    free(contact);
    return good;
}

bool pv_basis_say(const pv_collect_basis *basis, pv_results *results, pv_diags *diags)
{
    pv_sql plans = {.results = NULL}, sheets = {.results = NULL};
    bool good =
        pv_sql_run(results, "DELETE FROM run; DELETE FROM plan; DELETE FROM sheet;", diags) &&
        pv_sql_say(results, "basis", basis->id[0], diags) &&
        pv_sql_say(results, "kit", basis->kit, diags) &&
        pv_sql_say(results, "options", basis->options, diags) &&
        pv_sql_say(results, "version", pv_version(), diags) &&
        pv_sql_say(results, "scanners", basis->scanners, diags) &&
        pv_sql_say(results, "language", pv_language_code(basis->language), diags) &&
        pv_sql_open(&plans, results, "INSERT INTO plan VALUES (?, ?, ?, ?, ?, ?)", diags) &&
        pv_sql_open(&sheets, results, "INSERT INTO sheet VALUES (?, ?, ?)", diags);
    for (size_t i = 0; good && i < basis->n_plans; i++)
        good = say_plan(&plans, &sheets, basis->plans[i]);
    pv_sql_close(&plans);
    pv_sql_close(&sheets);
    return good;
}
