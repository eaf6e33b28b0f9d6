#include "collect/store.h"

#include "judge/inspection.h"

#include <math.h>
#include <stdlib.h>

void pv_looked_clear(pv_looked *found)
{
    for (size_t i = 0; i < found->n_pages; i++) {
        pv_inspection_free(found->pages[i].inspection);
        free(found->pages[i].json);
        free(found->pages[i].report);
    }
    free(found->pages);
    free(found->error);
    *found = (pv_looked){.index = 0};
}

bool pv_store_open(pv_store *store, pv_results *results, const pv_collect_basis *basis,
                   pv_diags *diags)
{
    *store = (pv_store){.basis = basis};
    return pv_sql_open(&store->picture, results,
                       "INSERT OR REPLACE INTO picture VALUES (?,?,?,?,?,?,?)", diags) &&
           pv_sql_open(&store->inspection, results,
                       "INSERT OR REPLACE INTO inspection VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
                       diags) &&
           pv_sql_open(&store->forget, results, "DELETE FROM value WHERE sha256=? AND basis=?",
                       diags) &&
           pv_sql_open(&store->value, results, "INSERT INTO value VALUES (?,?,?,?,?,?,?,?,?,?,?,?)",
                       diags);
}

void pv_store_close(pv_store *store)
{
    pv_sql_close(&store->picture);
    pv_sql_close(&store->inspection);
    pv_sql_close(&store->forget);
    pv_sql_close(&store->value);
}

static bool put_values(pv_store *store, const pv_looked *found, size_t page,
                       const pv_inspection *in)
{
    pv_sql *q = &store->value;
    bool good = true;
    for (size_t i = 0; good && i < pv_inspection_values(in); i++) {
        const pv_value *v = pv_inspection_value(in, i);
        const pv_kind_info *kind = pv_kind_of(v->kind);
        pv_sql_text(q, 1, found->sha256);
        pv_sql_text(q, 2, store->basis->id[found->basis]);
        pv_sql_integer(q, 3, (long long)page);
        pv_sql_integer(q, 4, (long long)i);
        pv_sql_text(q, 5, kind->name);
        pv_sql_text(q, 6, v->name);
        pv_sql_text(q, 7, v->to);
        pv_sql_number(q, 8, v->nominal);
        pv_sql_number(q, 9, v->measured ? v->value : NAN);
        pv_sql_number(q, 10, v->measured ? v->U : NAN);
        pv_sql_number(q, 11, v->tolerance);
        pv_sql_text(q, 12, kind->judged ? pv_verdict_name(v->verdict) : NULL);
        good = pv_sql_do(q);
    }
    return good;
}

static int asks(const pv_inspection *in)
{
    return in->asks_lengths         ? PV_ASKS_LENGTHS
           : in->sheet.asks_scanner ? PV_ASKS_SCANNER
           : in->sheet.asks_finer   ? PV_ASKS_FINER
           : in->asks_look          ? PV_ASKS_LOOK
                                    : PV_ASKS_NOTHING;
}

static bool put_page(pv_store *store, const pv_looked *found, size_t page)
{
    const pv_inspection *in = found->pages[page].inspection;
    const pv_inspected *sheet = pv_inspection_sheet(in);
    bool usable = sheet->error == NULL;
    pv_kit_text kit = {""};
    bool known = usable || in->changed;
    if (known)
        kit = pv_plan_kit(store->basis->plans[sheet->plan]);
    pv_sql *q = &store->inspection;
    pv_sql_text(q, 1, found->sha256);
    pv_sql_text(q, 2, store->basis->id[found->basis]);
    pv_sql_integer(q, 3, found->n_pages > 1 ? (long long)page + 1 : 0);
    pv_sql_text(q, 4, sheet->error);
    pv_sql_text(q, 5, known ? kit.chars : NULL);
    pv_sql_number(q, 6, known ? (double)sheet->number : NAN);
    pv_sql_text(q, 7, usable ? pv_verdict_name(sheet->verdict) : NULL);
    pv_sql_number(q, 8, usable ? sheet->photograph : NAN);
    pv_sql_text(q, 9, usable ? pv_reference_name(sheet->reference) : NULL);
    pv_sql_number(q, 10,
                  usable && sheet->reference != PV_REFERENCE_NONE ? sheet->reference_U_rel : NAN);
    pv_sql_text(q, 11, sheet->answer);
    pv_sql_text(q, 12, sheet->advice);
    pv_code code = pv_inspection_code(in);
    pv_sql_number(q, 13, usable ? (double)asks(in) : NAN);
    pv_sql_text(q, 14, usable ? code.chars : NULL);
    pv_sql_text(q, 15, found->pages[page].json);
    return pv_sql_do(q) &&
           (!usable || put_values(store, found, found->n_pages > 1 ? page + 1 : 0, in));
}

static bool put_pages(pv_store *store, const pv_looked *found)
{
    pv_sql_text(&store->forget, 1, found->sha256);
    pv_sql_text(&store->forget, 2, store->basis->id[found->basis]);
    bool good = pv_sql_do(&store->forget);
    for (size_t i = 0; good && i < found->n_pages; i++)
        good = put_page(store, found, i);
    return good;
}

bool pv_store_put(pv_store *store, const pv_collect_picture *picture, const pv_looked *found)
{
    if (found->pages != NULL && !put_pages(store, found))
        return false;
    pv_sql *q = &store->picture;
    pv_sql_text(q, 1, picture->team);
    pv_sql_text(q, 2, picture->file);
    pv_sql_text(q, 3, found->sha256[0] != '\0' ? found->sha256 : NULL);
    pv_sql_text(q, 4, found->error);
    pv_sql_text(q, 5, picture->told ? pv_scanner_kind_name(picture->scanner) : NULL);
    pv_sql_integer(q, 6, found->picture);
    pv_sql_text(q, 7, store->basis->id[found->basis]);
    return pv_sql_do(q);
}
