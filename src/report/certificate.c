/* A certificate: one page that states what an image came to, by which anyone can check it, to be
 * signed by hand. From the top: head, verdict, the picture beside what was inspected, the numbers,
 * the code, what all this proves, lines to sign on. The picture takes what the others leave. */
#include "base/memory.h"
#include "draw/backend.h"
#include "draw/column.h"
#include "draw/strokes.h"
#include "html/data.h"
#include "judge/answer.h"
#include "plan/layout.h"
#include "po/po.h"
#include "report/certified.h"
#include "report/jpeg.h"
#include "report/summary.h"

#include <pavior/pavior.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Layout, mm: chosen. */
#define MARGIN       16.0
#define EM           3.3 /* of plain text */
#define EM_SMALL     2.8
#define EM_HEAD      7.5
#define EM_VERDICT   6.5
#define EM_CODE      7.5
#define EM_LEAST     0.6 /* of a text's em, where it is too wide: past that it is cut */
#define SIGN         11.0
#define GAP          5.0
#define ROW          6.4
#define FACT         3.6 /* between two facts */
#define PICTURE_WIDE 74.0
#define PAD          4.0          /* within the code's box */
#define COMMAND_LONG 400          /* bytes */
#define LINES_HIGH   19.0         /* to sign on */
#define GAUGE        32.0         /* four tolerances */
#define PICTURE_MOST (200u << 10) /* bytes of its JPEG */

static const uint8_t ink[3] = {0, 0, 0}, muted[3] = {85, 85, 85}, rule[3] = {190, 190, 190},
                     wash[3] = {240, 240, 240}, white[3] = {255, 255, 255};
/* Of a verdict; as pages have them. */
static const uint8_t tone[3][3] = {[PV_CONFORMS] = {0x13, 0x6a, 0x3a},
                                   [PV_DOES_NOT_CONFORM] = {0xb0, 0x20, 0x1a},
                                   [PV_UNDECIDED] = {0x7d, 0x52, 0x00}};

typedef struct certificate {
    pv_drawing d;
    const pv_inspection *in;
    const pv_plan *plan;
    const pv_language *l;
    pv_box area; /* that is still free */
    pv_code code;
    pv_diags *diags;
} certificate;

/* ---- text ---- */

/* Text that was put together, made safe; the text is empty again. Where memory ran out, the drawing
 * has failed, and "" stands for it. The caller frees it, unless it is static. */
static char *safe(certificate *c, pv_text *text)
{
    char *chars = pv_text_take(text), *out = chars != NULL ? pv_text_safe(chars) : NULL;
    c->d.failed = c->d.failed || out == NULL;
    free(chars);
    return out;
}

typedef struct style {
    double em;
    bool bold, right; /* at the box's right end */
    const uint8_t *rgb;
} style;

/* Cuts a text's end, so that it has so many ems with an ellipsis. */
static void cut(certificate *c, char *text, double ems, bool bold)
{
    size_t n = strlen(text);
    while (n > 3 && pv_draw_ems(&c->d, text, bold) > ems) {
        do
            n--;
        while (n > 3 && (text[n - 3] & 0xC0) == 0x80);
        memcpy(text + n - 3, "\xE2\x80\xA6", 4);
    }
}

/* One line from a place on, as wide as told at most; gives its width. */
static double put(certificate *c, pv_vec at, double most, style how, pv_text *text)
{
    char *chars = safe(c, text);
    if (chars == NULL)
        return 0;
    double wide = pv_draw_ems(&c->d, chars, how.bold), em = how.em;
    if (wide * em > most)
        em *= fmax(most / (wide * em), EM_LEAST);
    if (wide * em > most * (1 + 1e-9))
        cut(c, chars, most / em, how.bold);
    wide = em * pv_draw_ems(&c->d, chars, how.bold);
    pv_draw_text(&c->d, pv_v(how.right ? at.x - wide : at.x, at.y), em, 0, how.bold, how.rgb,
                 chars);
    free(chars);
    return wide;
}

static double put_words(certificate *c, pv_vec at, double most, style how, const char *words)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s", words);
    return put(c, at, most, how, &text);
}

/* Lines in a box, from its top down; gives how far down they come. */
static double flow(certificate *c, pv_box box, style how, bool measure, pv_text *text)
{
    char *chars = safe(c, text);
    pv_column column = pv_column_of(&c->d, box);
    column.measure = measure;
    memcpy(column.rgb, how.rgb, 3);
    if (chars != NULL)
        pv_column_say(&column, how.em, how.bold, NULL, 0, chars);
    free(chars);
    return column.y;
}

static double flow_words(certificate *c, pv_box box, style how, bool measure, const char *words)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s", words);
    return flow(c, box, how, measure, &text);
}

static void fill(certificate *c, pv_box box, const uint8_t rgb[3])
{
    pv_draw_box(&c->d, box);
    pv_draw_fill(&c->d, rgb, false);
}

static void line(certificate *c, pv_vec a, pv_vec b, double width, const uint8_t rgb[3])
{
    pv_draw_bar(&c->d, a, b, width);
    pv_draw_fill(&c->d, rgb, false);
}

/* ---- head and verdict ---- */

static void put_head(certificate *c)
{
    const style kicker = {EM, .rgb = muted}, title = {EM_HEAD, true, .rgb = ink},
                under = {EM, .rgb = ink};
    double x = c->area.lo.x, y = c->area.hi.y, wide = c->area.hi.x - x;
    pv_text text = PV_TEXT_IN(c->l);
    put_words(c, pv_v(x, y - EM), wide * 0.7, kicker, pv_say(c->l, "Certificate of one sheet"));
    pv_text_add(&text, "pavior %s", pv_version());
    put(c, pv_v(c->area.hi.x, y - EM), wide * 0.3, (style){EM, .right = true, .rgb = muted}, &text);
    y -= EM + 9.5;
    double name = put_words(c, pv_v(c->area.hi.x, y), wide * 0.3, (style){EM_HEAD, true, true, ink},
                            c->in->sheet.sheet);
    put_words(c, pv_v(x, y), wide - name - GAP, title, c->plan->art.name);
    y -= 6.5;
    pv_text_say(&text, "Edition %s, kit %s", c->plan->art.edition, c->in->kit.chars);
    put(c, pv_v(x, y), wide, under, &text);
    y -= 4;
    line(c, pv_v(x, y), pv_v(c->area.hi.x, y), 0.35, ink);
    c->area.hi.y = y - GAP;
}

/* A tick in a disc, a cross in a square, a question in a diamond: no verdict is told by colour
 * alone. */
static void put_sign(certificate *c, pv_vec at, double size, pv_verdict verdict)
{
    pv_drawing *d = &c->d;
    double r = size / 2;
    if (verdict == PV_CONFORMS) {
        pv_draw_disc(d, at, r);
        pv_draw_fill(d, tone[verdict], false);
        pv_vec low = pv_v(at.x - 0.1 * r, at.y - 0.38 * r);
        pv_draw_bar(d, pv_v(at.x - 0.5 * r, at.y + 0.02 * r),
                    pv_v(low.x + 0.08 * r, low.y - 0.08 * r), 0.2 * r);
        pv_draw_bar(d, pv_v(low.x - 0.07 * r, low.y - 0.07 * r),
                    pv_v(at.x + 0.5 * r, at.y + 0.42 * r), 0.2 * r);
    } else if (verdict == PV_DOES_NOT_CONFORM) {
        pv_draw_box(d,
                    (pv_box){{at.x - 0.9 * r, at.y - 0.9 * r}, {at.x + 0.9 * r, at.y + 0.9 * r}});
        pv_draw_fill(d, tone[verdict], false);
        double k = 0.42 * r;
        pv_draw_bar(d, pv_v(at.x - k, at.y - k), pv_v(at.x + k, at.y + k), 0.22 * r);
        pv_draw_bar(d, pv_v(at.x - k, at.y + k), pv_v(at.x + k, at.y - k), 0.22 * r);
    } else {
        pv_draw_move(d, pv_v(at.x - r, at.y));
        pv_draw_line(d, pv_v(at.x, at.y - r));
        pv_draw_line(d, pv_v(at.x + r, at.y));
        pv_draw_line(d, pv_v(at.x, at.y + r));
        pv_draw_close(d);
        pv_draw_fill(d, tone[verdict], false);
        pv_draw_bar(d, pv_v(at.x - 0.4 * r, at.y), pv_v(at.x + 0.4 * r, at.y), 0.22 * r);
    }
    pv_draw_fill(d, white, false);
}

static void put_verdict(certificate *c)
{
    const pv_inspected *sheet = &c->in->sheet;
    pv_box box = c->area;
    put_sign(c, pv_v(box.lo.x + SIGN / 2, box.hi.y - SIGN / 2), SIGN, sheet->verdict);
    box.lo.x += SIGN + GAP;
    double wide = box.hi.x - box.lo.x;
    box.hi.y -= EM_VERDICT;
    put_words(c, pv_v(box.lo.x, box.hi.y), wide,
              (style){EM_VERDICT, true, .rgb = tone[sheet->verdict]},
              pv_say(c->l, pv_certified_verdict(sheet->verdict)));
    box.hi.y -= 3.2;
    box.hi.y = flow_words(c, box, (style){EM, .rgb = ink}, false, sheet->answer);
    pv_text counts = PV_TEXT_IN(c->l);
    pv_values_summary(&counts, c->in);
    box.hi.y = flow(c, box, (style){EM, .rgb = muted}, false, &counts);
    c->area.hi.y = fmin(box.hi.y, c->area.hi.y - SIGN) - GAP;
}

/* ---- picture and facts ---- */

/* As large as the box takes it, at its top left. */
static bool put_picture(certificate *c, pv_box box)
{
    const pv_picture *picture = &c->in->picture;
    pv_bytes jpeg = {NULL, 0};
    const double *page = c->plan->page;
    double k = fmin((box.hi.x - box.lo.x) / page[0], (box.hi.y - box.lo.y) / page[1]);
    if (picture->rgb == NULL || !(k > 0))
        return true;
    if (!pv_picture_jpeg(picture, PICTURE_MOST, &jpeg, c->diags))
        return false;
    pv_box at = {{box.lo.x, box.hi.y - k * page[1]}, {box.lo.x + k * page[0], box.hi.y}};
    if (jpeg.data != NULL)
        pv_draw_jpeg(&c->d, at, jpeg.data, jpeg.size);
    free(jpeg.data);
    pv_draw_frame(&c->d, at, 0.25);
    pv_draw_fill(&c->d, muted, false);
    return true;
}

/* What is said beside the picture: where the next fact goes, and how large. */
typedef struct facts {
    pv_box box;
    double size; /* 1, or smaller so that all have room */
    bool measure;
} facts;

/* A label, and beneath it what there is to say. */
static void fact(certificate *c, facts *f, const char *label, pv_text *text)
{
    const style small = {f->size * EM_SMALL, .rgb = muted}, plain = {f->size * EM, .rgb = ink};
    f->box.hi.y = flow_words(c, f->box, small, f->measure, pv_say(c->l, label));
    f->box.hi.y = flow(c, f->box, plain, f->measure, text) - f->size * FACT;
}

/* The first 16 of its digits, in fours. */
static void add_sum(pv_text *text, const char *sha256)
{
    for (int i = 0; i < 4; i++)
        pv_text_add(text, "%.4s ", sha256 + 4 * i);
    pv_text_add(text, "\xE2\x80\xA6");
}

/* The file's, without the folders that it lies in: they say more of its owner than of the sheet. */
static const char *own_name(const pv_inspected *sheet)
{
    const char *slash = strrchr(sheet->file, '/');
    size_t folders = slash != NULL ? (size_t)(slash + 1 - sheet->file) : 0;
    return sheet->label + folders; /* which begins with the file's name */
}

/* Gives where they end. */
static double put_facts(certificate *c, pv_box box, double size, bool measure)
{
    facts f = {box, size, measure};
    const pv_inspected *sheet = &c->in->sheet;
    pv_text text = PV_TEXT_IN(c->l);
    pv_text_say(&text, "%s, one of %zu, on %s", sheet->sheet, c->plan->n_sheets, sheet->paper);
    fact(c, &f, PV_SAID("Sheet"), &text);
    pv_text_add(&text, "%s", own_name(sheet));
    fact(c, &f, sheet->photograph ? PV_SAID("Photograph") : PV_SAID("Scan"), &text);
    add_sum(&text, c->in->sha256);
    fact(c, &f, PV_SAID("Its SHA-256 begins"), &text);
    pv_text_say(&text, "%s dpi", pv_fixed(pv_inspection_dpi(c->in), 0).chars);
    fact(c, &f, PV_SAID("Resolution on the sheet"), &text);
    if (sheet->reference != PV_REFERENCE_NONE)
        pv_text_add(&text, "%s, \xC2\xB1%s %%: ", pv_say(c->l, pv_reference_name(sheet->reference)),
                    pv_fixed(100 * sheet->reference_U_rel, 3).chars);
    pv_text_add(&text, "%s", sheet->basis);
    fact(c, &f, PV_SAID("The scale rests on"), &text);
    if (c->in->how.scanner != NULL) {
        pv_certified_scanner(&text, c->in->how.scanner);
        fact(c, &f, PV_SAID("The scanner's own errors"), &text);
    }
    pv_text_add(&text, "%s", sheet->advice);
    fact(c, &f, PV_SAID("What to do"), &text);
    return f.box.hi.y + size * FACT;
}

/* ---- numbers ---- */

/* The tolerance pale, the nominal value a line in its middle, U a bar, the value a stroke; beyond
 * two tolerances an arrow. */
static void put_gauge(certificate *c, pv_vec mid, const pv_value *value)
{
    double unit = GAUGE / 4, error = (value->value - value->nominal) / value->tolerance;
    double U = value->U / value->tolerance;
    fill(c, (pv_box){{mid.x - unit, mid.y - 1.9}, {mid.x + unit, mid.y + 1.9}}, wash);
    line(c, pv_v(mid.x, mid.y - 1.9), pv_v(mid.x, mid.y + 1.9), 0.15, muted);
    if (!value->measured || !isfinite(error))
        return;
    if (fabs(error) > 2) {
        pv_vec ahead = pv_v(error > 0 ? 1 : -1, 0);
        pv_draw_arrow(&c->d, pv_along(mid, ahead, 2 * unit), ahead, 3);
        pv_draw_fill(&c->d, tone[value->verdict], false);
        return;
    }
    line(c, pv_v(mid.x + unit * fmax(error - U, -2), mid.y),
         pv_v(mid.x + unit * fmin(error + U, 2), mid.y), 0.6, tone[value->verdict]);
    line(c, pv_v(mid.x + unit * error, mid.y - 1.5), pv_v(mid.x + unit * error, mid.y + 1.5), 0.7,
         tone[value->verdict]);
}

/* Columns, as shares of the table's width: where numbers end, the gauge's middle, where words of
 * the verdict begin. */
typedef struct columns {
    double value, U, allowed, gauge, verdict;
} columns;

static columns columns_of(const certificate *c)
{
    double x = c->area.lo.x, wide = c->area.hi.x - x;
    return (columns){x + 0.44 * wide, x + 0.535 * wide, x + 0.715 * wide, x + 0.83 * wide,
                     x + wide};
}

static void put_row(certificate *c, const pv_certified *row, double y)
{
    const pv_value *value = row->value;
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    const columns at = columns_of(c);
    const style plain = {EM, .rgb = ink}, number = {EM, .right = true, .rgb = ink};
    double middle = kind->factor * value->nominal, most = kind->factor * value->tolerance;
    pv_text text = PV_TEXT_IN(c->l);
    pv_text_add(&text, "%s%s%s%s%s", pv_say(c->l, row->what),
                value->name[0] == '\0'    ? ""
                : kind->of == PV_OF_SHEET ? " "
                                          : ": ",
                value->name, value->to[0] != '\0' ? " " PV_DASH " " : "", value->to);
    put(c, pv_v(c->area.lo.x, y), at.value - c->area.lo.x - 20, plain, &text);
    if (value->measured) {
        pv_html_number(&text, kind->factor * value->value, kind->decimals);
        pv_text_add(&text, " %s", kind->unit);
        put(c, pv_v(at.value, y), 20, (style){EM, true, true, ink}, &text);
        pv_html_uncertainty(&text, kind->factor * value->U, kind->decimals);
        put(c, pv_v(at.U, y), 16, number, &text);
    } else {
        put_words(c, pv_v(at.U, y), 36, number, pv_say(c->l, "not measured"));
    }
    if (value->kind == PV_KIND_STRAIGHT) {
        pv_text_say(&text, "up to ");
    } else {
        pv_html_number(&text, middle - most, kind->decimals);
        pv_text_say(&text, " to ");
    }
    pv_html_number(&text, middle + most, kind->decimals);
    put(c, pv_v(at.allowed, y), 32, number, &text);
    put_gauge(c, pv_v(at.gauge, y + 0.36 * EM), value);
    put_sign(c, pv_v(at.verdict - 2, y + 0.36 * EM), 3.8, value->verdict);
}

static void put_numbers(certificate *c, double top)
{
    pv_certified rows[PV_CERTIFIED_MAX];
    size_t n = pv_certified_rows(c->in, rows);
    const columns at = columns_of(c);
    const style head = {EM_SMALL, .right = true, .rgb = muted};
    double y = top - EM, left = c->area.lo.x;
    put_words(c, pv_v(left, y), 60, (style){EM_SMALL, .rgb = muted}, pv_say(c->l, "Measured"));
    put_words(c, pv_v(at.value, y), 30, head, pv_say(c->l, "value"));
    put_words(c, pv_v(at.U, y), 16, head, "U");
    put_words(c, pv_v(at.allowed, y), 32, head, pv_say(c->l, "allowed"));
    for (size_t i = 0; i < n; i++) {
        line(c, pv_v(left, y - 2.2), pv_v(c->area.hi.x, y - 2.2), 0.15, rule);
        y -= ROW;
        put_row(c, &rows[i], y);
    }
}

static double numbers_height(const certificate *c)
{
    pv_certified rows[PV_CERTIFIED_MAX];
    return EM + (double)pv_certified_rows(c->in, rows) * ROW + 2;
}

/* ---- the code ---- */

/* In a box with its upper edge at `top`, as high as it must be; gives where that ends. */
static double put_code(certificate *c, double top, bool measure)
{
    pv_box box = {{c->area.lo.x + PAD, 0}, {c->area.hi.x - PAD, top - PAD}};
    pv_text text = PV_TEXT_IN(c->l);
    double wide = box.hi.x - box.lo.x, head = box.hi.y - EM_SMALL;
    box.hi.y -= 1.5 * EM_SMALL + EM_CODE;
    pv_vec at = pv_v(box.lo.x, box.hi.y);
    box.hi.y -= 3;
    pv_text_say(&text, "To check it, with the kit and the picture:");
    pv_text_add(&text, " pavior collect KIT PICTURE --verify %s", c->code.chars);
    pv_certified_options(&text, &c->in->how);
    char *command = pv_text_take(&text);
    c->d.failed = c->d.failed || command == NULL;
    const char *words = command != NULL ? command : "";
    const style small = {strlen(words) > COMMAND_LONG ? EM_LEAST * EM_SMALL : EM_SMALL, .rgb = ink};
    double end = flow_words(c, box, small, true, words) - PAD;
    if (!measure) {
        fill(c, (pv_box){{c->area.lo.x, end}, {c->area.hi.x, top}}, wash);
        put_words(c, pv_v(at.x, head), wide, (style){EM_SMALL, .rgb = muted}, pv_say(c->l, "Code"));
        put_words(c, at, wide, (style){EM_CODE, true, .rgb = ink}, c->code.chars);
        flow_words(c, box, small, false, words);
    }
    free(command);
    return end;
}

/* ---- what it proves ---- */

static const struct {
    const char *head, *words;
} proofs[2] = {
    {PV_SAID("What this page proves"),
     PV_SAID("This picture, measured with these options against this kit, gives this answer. "
             "Anyone who has the picture and the kit can do it again. The code is the same only if "
             "the picture is, to the last bit, and the kit, the options, the verdict and the "
             "numbers are, too.")},
    {PV_SAID("What it cannot prove"),
     PV_SAID("Whose mat the picture shows, and who printed it. That nobody edited the picture "
             "before it was measured. That scanner and ruler were as the options say. The code is "
             "a checksum, not a signature: anyone can make one with pavior.")}};

/* Two columns under `top`; gives where the longer ends. */
static double put_proofs(certificate *c, double top, bool measure)
{
    double half = (c->area.hi.x - c->area.lo.x - 2 * GAP) / 2, end = top;
    for (int i = 0; i < 2; i++) {
        double x = c->area.lo.x + i * (half + 2 * GAP);
        pv_box box = {{x, 0}, {x + half, top}};
        box.hi.y = flow_words(c, box, (style){EM_SMALL, true, .rgb = ink}, measure,
                              pv_say(c->l, proofs[i].head));
        end = fmin(end, flow_words(c, box, (style){EM_SMALL, .rgb = ink}, measure,
                                   pv_say(c->l, proofs[i].words)));
    }
    return end;
}

static void put_lines(certificate *c, double bottom)
{
    static const char *const what[] = {PV_SAID("Team"), PV_SAID("Date"), PV_SAID("Signature")};
    static const double share[] = {0.40, 0.18, 0.42};
    double x = c->area.lo.x, wide = c->area.hi.x - x - 2 * GAP;
    for (int i = 0; i < 3; i++) {
        double to = x + share[i] * wide;
        line(c, pv_v(x, bottom + 4.5), pv_v(to, bottom + 4.5), 0.2, ink);
        put_words(c, pv_v(x, bottom + 1), share[i] * wide, (style){EM_SMALL, .rgb = muted},
                  pv_say(c->l, what[i]));
        x = to + GAP;
    }
}

/* ---- the page ---- */

/* From both ends; the picture's place is between. */
static bool put_all(certificate *c)
{
    put_head(c);
    put_verdict(c);
    put_lines(c, c->area.lo.y);
    c->area.lo.y += LINES_HIGH;
    c->area.lo.y += c->area.hi.y - put_proofs(c, c->area.hi.y, true);
    put_proofs(c, c->area.lo.y, false);
    c->area.lo.y += GAP;
    c->area.lo.y += c->area.hi.y - put_code(c, c->area.hi.y, true);
    put_code(c, c->area.lo.y, false);
    c->area.lo.y += GAP + numbers_height(c);
    put_numbers(c, c->area.lo.y);
    pv_box left = c->area, right = c->area;
    left.lo.y += GAP;
    left.hi.x = left.lo.x + PICTURE_WIDE;
    right.lo.x = left.hi.x + 2 * GAP;
    double size = 1;
    while (size > EM_LEAST && put_facts(c, right, size, true) < left.lo.y)
        size *= 0.95;
    put_facts(c, right, size, false);
    return put_picture(c, left);
}

/* Whether a page of the sheet's paper is North American; of paper without a name, as the course is
 * measured. */
static bool on_letter(const pv_plan *plan)
{
    const pv_paper *paper;
    for (size_t i = 0; (paper = pv_paper_at(i)) != NULL; i++)
        if (strcmp(paper->everyday, plan->paper) == 0)
            return strncmp(paper->name, "na_", 3) == 0;
    return plan->art.inches;
}

static bool add_page(pv_pdf *pdf, const pv_plan *plan, const pv_inspection *in, pv_type *type,
                     pv_diags *diags)
{
    certificate c = {.in = in, .plan = plan, .l = in->sheet.language, .diags = diags};
    double w = on_letter(plan) ? 8.5 * PV_MM_PER_IN : 210;
    double h = on_letter(plan) ? 11 * PV_MM_PER_IN : 297;
    pv_drawing_init(&c.d, type, w, h);
    c.area = pv_box_grow((pv_box){{0, 0}, {w, h}}, -MARGIN);
    c.code = pv_inspection_code(in);
    c.d.failed = c.code.chars[0] == '\0';
    bool good = put_all(&c) && pv_pdf_page(pdf, &c.d, diags);
    pv_drawing_clear(&c.d);
    return good;
}

/* Whether all that can be used are of these plans; how many those are. */
static bool count_usable(size_t n_plans, const pv_plan *const *plans,
                         const pv_inspection *const *items, size_t n, size_t *usable,
                         pv_diags *diags)
{
    *usable = 0;
    for (size_t i = 0; i < n; i++) {
        const pv_inspected *sheet = &items[i]->sheet;
        if (sheet->error != NULL)
            continue;
        ++*usable;
        if (sheet->plan < n_plans && sheet->number < plans[sheet->plan]->n_sheets)
            continue;
        pv_fail(diags, PV_CAUSE_USAGE, "%s was inspected with other plans than the certificate's",
                sheet->label);
        return false;
    }
    if (*usable == 0)
        pv_fail(diags, PV_CAUSE_DATA, "there is nothing to certify: no image can be used");
    return *usable > 0;
}

bool pv_inspections_certificate(const pv_plan *const *plans, size_t n_plans,
                                const pv_inspection *const *items, size_t n, pv_type *type,
                                unsigned char **bytes, size_t *size, pv_diags *diags)
{
    *bytes = NULL;
    *size = 0;
    size_t usable;
    if (!count_usable(n_plans, plans, items, n, &usable, diags))
        return false;
    pv_pdf *pdf = pv_pdf_new(pv_say(items[0]->sheet.language, "Certificate"), type, diags);
    bool good = pdf != NULL;
    for (size_t i = 0; good && i < n; i++)
        if (items[i]->sheet.error == NULL)
            good = add_page(pdf, plans[items[i]->sheet.plan], items[i], type, diags);
    good = good && pv_pdf_finish(pdf, bytes, size, diags);
    pv_pdf_free(pdf);
    return good;
}
