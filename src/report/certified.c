#include "report/certified.h"

#include "po/po.h"
#include "report/rank.h"
#include "report/text_page.h"

#include <string.h>

/* ---- what is stated ---- */

static size_t add_row(pv_certified *rows, size_t n, const char *what, const pv_value *value)
{
    if (value == NULL || n == PV_CERTIFIED_MAX)
        return n;
    rows[n] = (pv_certified){what, value};
    return n + 1;
}

size_t pv_certified_rows(const pv_inspection *in, pv_certified rows[PV_CERTIFIED_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_kind_info *kind = pv_kind_of(in->table.values[i].kind);
        if (kind->of == PV_OF_SHEET && kind->judged)
            n = add_row(rows, n, kind->heading, &in->table.values[i]);
    }
    n = add_row(rows, n, PV_SAID("Largest error, width"), pv_worst(in, PV_KIND_WIDTH));
    n = add_row(rows, n, PV_SAID("Largest error, bow"), pv_worst(in, PV_KIND_STRAIGHT));
    return add_row(rows, n, PV_SAID("Largest error, spacing"), pv_worst(in, PV_KIND_SPACING));
}

const char *pv_certified_verdict(pv_verdict verdict)
{
    return verdict == PV_CONFORMS           ? PV_SAID("This sheet conforms")
           : verdict == PV_DOES_NOT_CONFORM ? PV_SAID("This sheet does not conform")
                                            : PV_SAID("This sheet is undecided");
}

/* ---- options ---- */

/* Without zeros at its end. */
static pv_digits short_number(double value, int decimals)
{
    pv_digits out = pv_fixed(value, decimals);
    char *end = out.chars + strlen(out.chars);
    if (strchr(out.chars, '.') == NULL)
        return out;
    while (end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        end[-1] = '\0';
    return out;
}

void pv_certified_options(pv_text *to, const pv_inspect_options *how)
{
    if (how->scanner != NULL)
        pv_text_add(to, " --scanner FILE");
    else if (how->scanner_kind != PV_SCANNER_UNKNOWN)
        pv_text_add(to, " --scanner %s", pv_scanner_kind_name(how->scanner_kind));
    if (how->scanner_U_rel >= 0)
        pv_text_add(to, " --scanner-uncertainty %s",
                    short_number(100 * how->scanner_U_rel, 4).chars);
    if (how->dpi > 0)
        pv_text_add(to, " --dpi %s", short_number(how->dpi, 4).chars);
    for (size_t i = 0; i < how->n_readings; i++) {
        const pv_ruler_reading *one = &how->readings[i];
        pv_text_add(to, " --measured %c-%c=%smm", one->from, one->to,
                    short_number(one->measured, 4).chars);
        if (one->U > 0)
            pv_text_add(to, "+-%smm", short_number(one->U, 4).chars);
    }
}

void pv_certified_scanner(pv_text *to, const pv_scanner *scanner)
{
    pv_text_say(to, "FILE states the scanner's errors: x %s %%, y %s %%, skew %s mrad.",
                pv_fixed(100 * (scanner->factor[0] - 1), 4).chars,
                pv_fixed(100 * (scanner->factor[1] - 1), 4).chars,
                pv_fixed(scanner->skew, 3).chars);
}

/* ---- for a terminal ---- */

/* "scale x: 99.953 % ±0.210, allowed 99.700 to 100.300 %: conforms" */
static void put_row(pv_text_page *p, const pv_inspection *in, const pv_certified *row)
{
    const pv_value *value = row->value;
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    const pv_language *l = in->sheet.language;
    pv_text line = PV_TEXT_IN(l);
    double middle = kind->factor * value->nominal, most = kind->factor * value->tolerance;
    pv_text_add(&line, "%s%s%s%s%s: ", pv_say(l, row->what), value->name[0] != '\0' ? " " : "",
                value->name, value->to[0] != '\0' ? " - " : "", value->to);
    if (value->measured)
        pv_text_add(&line, "%s %s " PV_PLUS_MINUS "%s, ",
                    pv_fixed(kind->factor * value->value, kind->decimals).chars, kind->unit,
                    pv_fixed(kind->factor * value->U, kind->decimals).chars);
    else
        pv_text_say(&line, "not measured, ");
    if (value->kind == PV_KIND_STRAIGHT)
        pv_text_say(&line, "allowed up to %s %s", pv_fixed(most, kind->decimals).chars, kind->unit);
    else
        pv_text_say(&line, "allowed %s to %s %s", pv_fixed(middle - most, kind->decimals).chars,
                    pv_fixed(middle + most, kind->decimals).chars, kind->unit);
    pv_text_add(&line, ": %s", pv_say(l, pv_verdict_name(value->verdict)));
    char *chars = pv_text_take(&line);
    if (chars != NULL)
        pv_put_wrapped(p, "  ", chars);
    else
        p->out.failed = true;
    pv_free(chars);
}

char *pv_inspection_statement(const pv_inspection *in)
{
    const pv_inspected *sheet = &in->sheet;
    const pv_language *l = sheet->language;
    pv_text_page p = {.out = PV_TEXT_IN(l)};
    pv_certified rows[PV_CERTIFIED_MAX];
    size_t n = sheet->error == NULL ? pv_certified_rows(in, rows) : 0;
    if (sheet->error == NULL) {
        pv_put_plain(&p, sheet->sheet, strlen(sheet->sheet));
        pv_text_add(&p.out, "  %s\n", pv_say(l, pv_certified_verdict(sheet->verdict)));
        pv_put_wrapped(&p, "  ", sheet->kit);
    }
    pv_put_wrapped(&p, "  ", sheet->answer);
    for (size_t i = 0; i < n; i++)
        put_row(&p, in, &rows[i]);
    return pv_text_take(&p.out);
}
