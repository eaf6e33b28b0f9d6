#include "reference/coarse.h"

#include <string.h>

static size_t find_paper(const pv_evidence *items, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (items[i].result.kind == PV_REFERENCE_PAPER)
            return i;
    return n;
}

/* All but one, in order. */
static size_t without(const pv_evidence *items, size_t n, size_t skip, pv_evidence *rest)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (i != skip)
            rest[kept++] = items[i];
    return kept;
}

static double u_along(const pv_metric *metric, int axis)
{
    return sqrt(metric->cov[4 * axis]);
}

static bool only_checks(const pv_reference_result *paper, const pv_metric *fine)
{
    if (!fine->known)
        return false;
    for (int i = 0; i < 2; i++)
        if (paper->U[i] > 0 && 2 * u_along(fine, i) * PV_COARSE_TIMES > paper->U[i])
            return false;
    return true;
}

static bool contradicts(const pv_reference_result *paper, const pv_metric *fine)
{
    bool apart = false;
    for (int i = 0; i < 2; i++) {
        if (!(paper->U[i] > 0))
            continue;
        double u = hypot(paper->U[i] / (2 * paper->scale[i]), u_along(fine, i));
        apart = apart || fabs(log(paper->scale[i] / fine->scale[i])) > PV_COARSE_APART * u;
    }
    return apart;
}

/* Whether a card is all that stands against the paper. */
static bool card_alone(const pv_evidence *rest, size_t n)
{
    bool others = false;
    for (size_t i = 0; i < n; i++)
        others = others || (!rest[i].silent && rest[i].result.kind != PV_REFERENCE_CARD);
    return !others;
}

static void say_other_paper(const pv_reference_result *paper, const pv_metric *fine, pv_text *note)
{
    pv_text_add(note, "the paper's edges contradict the other references and are not used: they "
                      "put the print at");
    for (int i = 0; i < 2; i++)
        if (paper->U[i] > 0)
            pv_text_add(note, " %s %s (the others: %s)", i == 0 ? "x" : "y",
                        pv_fixed(100 * paper->scale[i], 1).chars,
                        pv_fixed(100 * fine->scale[i], 1).chars);
    pv_text_add(note, " %%. Is the paper of another size, or cut? If not, the image's resolution "
                      "is not the scanner's: was it resized?");
}

pv_combined pv_combine_checked(pv_evidence *items, size_t n, pv_text *note)
{
    pv_evidence rest[PV_EVIDENCE_MAX];
    size_t paper = find_paper(items, n), kept = without(items, n, paper, rest);
    if (paper < n) {
        pv_reference_result *coarse = &items[paper].result;
        pv_combined fine = pv_combine(rest, kept);
        bool apart = fine.metric.known && contradicts(coarse, &fine.metric);
        if (only_checks(coarse, &fine.metric) && !(apart && card_alone(rest, kept))) {
            for (size_t i = 0, k = 0; i < n; i++)
                if (i != paper)
                    items[i].result = rest[k++].result;
            coarse->weight[0] = coarse->weight[1] = 0;
            coarse->disagrees = apart;
            pv_combined_note(&fine, rest, kept, note);
            if (apart && note->length > 0)
                pv_text_add(note, "; ");
            if (apart)
                say_other_paper(coarse, &fine.metric, note);
            return fine;
        }
    }
    pv_combined all = pv_combine(items, n);
    pv_combined_note(&all, items, n, note);
    return all;
}
