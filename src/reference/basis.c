#include "reference/basis.h"

#include "po/po.h"

static const struct {
    const char *name, *noun;
} kinds[PV_SCANNER_KINDS] = {
    [PV_SCANNER_UNKNOWN] = {"unknown", PV_SAID("the scanner")},
    [PV_SCANNER_FLATBED] = {"flatbed", PV_SAID("the flatbed")},
    [PV_SCANNER_FEEDER] = {"feeder", PV_SAID("the sheet feeder")},
    [PV_SCANNER_FEEDER_SHORT] = {"feeder-short", PV_SAID("the sheet feeder")},
    [PV_SCANNER_FEEDER_LONG] = {"feeder-long", PV_SAID("the sheet feeder")},
};

const char *pv_scanner_kind_name(pv_scanner_kind kind)
{
    return kinds[(unsigned)kind < PV_SCANNER_KINDS ? kind : PV_SCANNER_UNKNOWN].name;
}

const char *pv_scanner_noun(pv_scanner_kind kind)
{
    return kinds[(unsigned)kind < PV_SCANNER_KINDS ? kind : PV_SCANNER_UNKNOWN].noun;
}

/* Per cent in as many figures as say something: "0.2", "1", "0.05". */
static pv_digits per_cent(double share)
{
    double p = 100 * share;
    return pv_fixed(p, p >= 0.95 ? 0 : p >= 0.095 ? 1 : p >= 0.0095 ? 2 : 4);
}

static void add_scanner(const pv_inspect_options *options, pv_text *out)
{
    pv_scanner_kind kind = options->scanner_kind;
    const pv_language *l = out->language;
    if (options->scanner != NULL)
        pv_text_say(out, "taking the scanner to be as its file says");
    else if (options->scanner_U_rel >= 0)
        pv_text_say(out, "taking %s to be true to %s %%", pv_say(l, pv_scanner_noun(kind)),
                    per_cent(options->scanner_U_rel).chars);
    else if (kind == PV_SCANNER_FLATBED)
        pv_text_say(out, "taking the flatbed to be true to %s %%", per_cent(PV_FLATBED_OFF).chars);
    else if (kind == PV_SCANNER_FEEDER_SHORT || kind == PV_SCANNER_FEEDER_LONG)
        pv_text_say(out,
                    "taking the sheet feeder to be true to %s %% along its feed and %s %% across",
                    per_cent(PV_FEED_OFF).chars, per_cent(PV_FLATBED_OFF).chars);
    else
        pv_text_say(out, "taking %s to be true to %s %%",
                    kind == PV_SCANNER_FEEDER ? pv_say(l, "the sheet feeder")
                                              : pv_say(l, "a scanner of unknown kind"),
                    per_cent(PV_FEED_OFF).chars);
}

bool pv_basis_counts(const pv_reference_result *one)
{
    return one->weight[0] >= PV_BASIS_SHARE || one->weight[1] >= PV_BASIS_SHARE;
}

void pv_basis(const pv_references *found, const pv_inspect_options *options, pv_text *out)
{
    size_t n = 0;
    for (size_t i = 0; found->metric.known && i < found->n; i++) {
        if (!pv_basis_counts(&found->items[i]))
            continue;
        pv_text_add(out, "%s", n++ > 0 ? pv_say(out->language, ", and ") : "");
        switch (found->items[i].kind) {
        case PV_REFERENCE_SCANNER:
            add_scanner(options, out);
            break;
        case PV_REFERENCE_CARD:
            pv_text_say(out, "by the bank card, taking it to be of standard size");
            break;
        case PV_REFERENCE_RULER:
            pv_text_say(out, "by your ruler readings");
            break;
        case PV_REFERENCE_PAPER:
            pv_text_say(out, "by the paper's edges, taking it to be cut to size");
            break;
        default:
            pv_text_say(out, "by %s",
                        pv_say(out->language, pv_reference_noun(found->items[i].kind)));
            break;
        }
    }
    if (n == 0)
        pv_text_say(out, "nothing");
}
