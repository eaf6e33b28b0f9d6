#include "judge/stranger.h"

#include "base/memory.h"
#include "judge/answer.h"
#include "plan/former.h"
#include "po/po.h"
#include "pose/seed.h"

#include <stdlib.h>

/* Which plan's former edition the sheet is of, and its number there; *plan is n_plans where it is
 * of none. False where memory ran out. */
static bool find_former(const pv_former *former, size_t n_plans, const pv_plane *plane,
                        size_t *plan, size_t *number)
{
    *plan = n_plans;
    const pv_plan **asked = PV_NEW_ARRAY(n_plans, const pv_plan *);
    size_t *index = PV_NEW_ARRAY(n_plans, size_t), n = 0;
    pv_diags *why = pv_diags_new();
    bool good = asked != NULL && index != NULL && why != NULL;
    for (size_t i = 0; good && i < n_plans; i++)
        if (former[i].plan.n_sheets > 0) {
            index[n] = i;
            asked[n++] = &former[i].plan;
        }
    pv_seed seed;
    if (n > 0 && pv_seed_find(asked, n, plane, &seed, why) == PV_POSE_FOUND) {
        *plan = index[seed.plan];
        *number = seed.sheet;
    }
    good = good && pv_diags_cause(why) != PV_CAUSE_MEMORY;
    free((void *)asked);
    free(index);
    pv_diags_free(why);
    return good;
}

static bool answer(pv_inspection *in, pv_text *message, const char *hint)
{
    pv_free((char *)in->sheet.error);
    pv_free((char *)in->sheet.answer);
    pv_free((char *)in->sheet.advice);
    in->sheet.error = in->sheet.answer = in->sheet.advice = NULL;
    char *words = pv_text_take(message);
    bool good = words != NULL && pv_answer_error(in, words, hint);
    free(words);
    return good;
}

static bool say_former(pv_inspection *in, const pv_plan *plan, size_t number)
{
    const pv_language *l = in->sheet.language;
    const char *name = plan->sheets[number].name;
    pv_text message = PV_TEXT_IN(l), hint = PV_TEXT_IN(l);
    pv_text_say(&message, "sheet %s has changed: this is the one of the former edition, kit %s",
                name, plan->former.chars);
    pv_text_say(&hint, "print sheet %s of edition %s", name, plan->art.edition);
    char *words = pv_text_take(&hint);
    bool good = words != NULL && answer(in, &message, words);
    pv_text_drop(&message);
    free(words);
    return good;
}

bool pv_stranger_answer(pv_inspection *in, const pv_plan *const *plans, size_t n_plans,
                        const pv_plane *plane)
{
    const pv_language *l = in->sheet.language;
    pv_former *former = PV_NEW_ARRAY(n_plans, pv_former);
    bool good = former != NULL;
    for (size_t i = 0; good && i < n_plans; i++)
        good = pv_former_make(plans[i], &former[i]);
    size_t plan = n_plans, number = 0;
    good = good && find_former(former, n_plans, plane, &plan, &number);
    pv_text message = PV_TEXT_IN(l);
    if (good && plan < n_plans && former[plan].in_place) {
        in->changed = true;
        in->sheet.plan = plan;
        in->sheet.number = number;
        good = say_former(in, plans[plan], number);
    } else if (good && plan < n_plans) {
        pv_text_say(&message, "this sheet is of the former edition, kit %s, and has changed",
                    plans[plan]->former.chars);
        good = answer(in, &message, pv_say(l, "print the sheet that has taken its place"));
    } else if (good && in->how.for_sender) {
        const char *hint =
            in->how.by_page
                ? pv_say(l, "it may be of a former edition, of another course, or of a paper that "
                            "the kit does not have: print it again from the kit, or choose that "
                            "paper's .plan.json together with the picture")
                : pv_say(l, "it may be of a former edition, of another course, or of a paper that "
                            "the kit does not have: print it again from the kit, or ask the "
                            "organiser to add that paper");
        if (!in->how.by_page)
            pv_text_say(&message, "this sheet is not one of this kit's");
        /* The page's report is the command's but for advice. */
        good = in->how.by_page ? pv_answer_advise(in, hint) : answer(in, &message, hint);
    }
    for (size_t i = 0; former != NULL && i < n_plans; i++)
        pv_former_clear(&former[i]);
    free(former);
    return good;
}
