#include "report/summary.h"

#include "po/po.h"

#define NAMES_MAX 12 /* of one class */

/* What a picture counts as. */
typedef enum class { TRUE, NOT_TRUE, CANT_TELL, UNUSABLE, CLASSES } class;

static class class_of(const pv_inspection *in)
{
    return in->sheet.error != NULL                    ? UNUSABLE
           : in->sheet.verdict == PV_CONFORMS         ? TRUE
           : in->sheet.verdict == PV_DOES_NOT_CONFORM ? NOT_TRUE
                                                      : CANT_TELL;
}

static void add_names(pv_text *to, const pv_inspection *const *items, size_t n, class of)
{
    size_t told = 0;
    for (size_t i = 0; i < n; i++) {
        const pv_inspected *sheet = &items[i]->sheet;
        if (class_of(items[i]) == of && ++told <= NAMES_MAX)
            pv_text_add(to, "%s%s", told == 1 ? ": " : ", ",
                        of == UNUSABLE ? sheet->label : sheet->sheet);
    }
    if (told > NAMES_MAX)
        pv_text_say(to, " and %zu more", told - NAMES_MAX);
}

void pv_batch_summary(pv_text *to, const pv_inspection *const *items, size_t n)
{
    const pv_language *l = to->language;
    size_t count[CLASSES] = {0};
    for (size_t i = 0; i < n; i++)
        count[class_of(items[i])]++;
    if (count[TRUE] == n) {
        pv_text_say(to, "%zu of %zu sheets are true", n, n);
        return;
    }
    const char *const words[CLASSES] = {
        pv_say(l, "%zu true"), pv_say(l, "%zu not true"), pv_say(l, "%zu can't tell"),
        pv_say_count(l, "%zu picture can't be used", "%zu pictures can't be used",
                     count[UNUSABLE])};
    const char *joint = "";
    for (int of = 0; of < CLASSES; of++) {
        if (count[of] == 0)
            continue;
        pv_text_add(to, "%s", joint);
        pv_text_add(to, words[of], count[of]);
        if (of != TRUE)
            add_names(to, items, n, (class)of);
        joint = of == TRUE ? ", " : "; ";
    }
}

void pv_values_summary(pv_text *to, const pv_inspection *in)
{
    const pv_language *l = to->language;
    size_t of[3] = {0, 0, 0}, marks = 0;
    for (size_t i = 0; i < in->table.n_values; i++)
        of[in->table.values[i].verdict] += in->table.values[i].counts;
    for (size_t i = 0; i < in->table.n_marks; i++)
        marks += in->table.marks[i].verdict != PV_CONFORMS;
    size_t all = of[0] + of[1] + of[2], conform = of[PV_CONFORMS], fail = of[PV_DOES_NOT_CONFORM];
    pv_text_add(to, pv_say_count(l, "%zu value judged: ", "%zu values judged: ", all), all);
    pv_text_add(to, pv_say_count(l, "%zu conforms, ", "%zu conform, ", conform), conform);
    pv_text_add(to, pv_say(l, "%zu undecided, "), of[PV_UNDECIDED]);
    pv_text_add(to, pv_say_count(l, "%zu does not conform", "%zu do not conform", fail), fail);
    if (marks > 0)
        pv_text_add(to,
                    pv_say_count(l, "; %zu mark on the surface decides, too",
                                 "; %zu marks on the surface decide, too", marks),
                    marks);
    pv_text_add(to, ".");
}
