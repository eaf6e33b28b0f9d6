/* Any bytes as a plan. What is taken is written again, read again and written again, twice the
 * same; its sheets can be chosen, and their pages asked for. */
#include "plan/layout.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void use_sheet(const pv_plan *plan, size_t index)
{
    const pv_sheet *sheet = &plan->sheets[index];
    if (pv_plan_find_sheet(plan, sheet->name) != index)
        abort();
    pv_scene_free(pv_plan_page(plan, sheet));
}

static void use(const pv_plan *plan)
{
    char *json = pv_plan_json(plan, NULL);
    if (json == NULL)
        return;
    pv_plan *again = pv_plan_parse(json, strlen(json), NULL, NULL);
    char *second = again != NULL ? pv_plan_json(again, NULL) : NULL;
    if (second == NULL || strcmp(json, second) != 0)
        abort(); /* what was written can't be read, or reads as something else */
    pv_free(json);
    pv_free(second);
    pv_plan_free(again);
    for (size_t i = 0; i < plan->n_sheets && i < 50; i++)
        use_sheet(plan, i);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    pv_diags *diags = pv_diags_new();
    if (diags == NULL)
        return 0;
    pv_plan *plan = pv_plan_parse((const char *)data, size, "fuzz", diags);
    if ((plan == NULL) != (pv_diags_count(diags, PV_ERROR) > 0))
        abort(); /* refused without a word, or taken with an error */
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        pv_free(pv_diag_text(pv_diags_at(diags, i)));
    if (plan != NULL)
        use(plan);
    pv_plan_free(plan);
    pv_diags_free(diags);
    return 0;
}
