#include "judge/answer.h"

#include "base/memory.h"
#include "base/units.h"
#include "base/words.h"
#include "judge/remedy.h"
#include "judge/results.h"
#include "po/po.h"
#include "reference/combine.h"
#include "reference/feeder.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* Of the page's scale: a print dialog's fitting to the page shrinks by more than a printer's own
 * error, and alike both ways; a printer's error is alike both ways where they differ by less than a
 * quarter of it. Assumed: dialogs shrink by 3 to 6 %, printers are off by up to 1 %. */
#define FITTED_LEAST 0.015
#define FITTED_APART 0.01
#define ALIKE        0.25

/* mm across, what the glass of a flatbed takes at most: A3, with room (common practice). */
#define GLASS_ACROSS 300.0

/* Share of the measured lines that are off to one side, from which it is the ink and not a line
 * (assumed). */
#define MOST_LINES 0.8

/* ---- what is the case ---- */

typedef uint64_t facts;

#define FACT(n) ((facts)1 << (n))

#define PROOF        FACT(0)
#define OTHERS_APART FACT(1) /* there are no other sheets, or the page sees to them */
#define PHOTO        FACT(2)
#define CORRECTED    FACT(3) /* printed with a printer's correction */
#define NO_REFERENCE FACT(4) /* nothing tells how long a millimetre is */
#define DISAGREE     FACT(5) /* two references contradict each other */
#define CARD         FACT(6) /* a card was found */
#define RULER        FACT(7) /* readings were given */
#define NO_STEPS     FACT(8) /* nothing that is measured by hand would settle it */
#define SCALE_OUT    FACT(9) /* outside of its tolerance, clearly; and so on */
#define SKEW_OUT     FACT(10)
#define WIDTH_OUT    FACT(11)
#define STRAIGHT_OUT FACT(12)
#define SPACING_OUT  FACT(13)
#define FITTED       FACT(14) /* both scales alike, and far off */
#define ALIKE_OUT    FACT(15) /* both scales alike */
#define ALL_WIDTHS   FACT(16) /* nearly all lines are off to one side */
#define CROWDED      FACT(17) /* more lines than are measured */
#define BROKEN       FACT(18) /* a line is interrupted too much */
#define BARE         FACT(19) /* an area lacks too much ink */
#define GRAY         FACT(20) /* grey instead of colour */
#define BLEMISH      FACT(21) /* something is worth a look, which nothing judges */
#define NO_LINE      FACT(22) /* no line was measured */
#define UNSEEN       FACT(23) /* undecided values: their edges weren't seen; and so on */
#define LIMIT        FACT(24) /* too close to the limit for any measurement */
#define NEEDS_SCALE  FACT(25) /* a better reference */
#define NEEDS_FLAT   FACT(26)
#define NEEDS_FINE   FACT(27)
#define COARSE       FACT(28) /* a finer scan is possible */
#define CHANCE       FACT(29) /* some values just outside, no more than chance explains */
/* The strongest mark that decides: */
#define MARK_STRAY  FACT(30) /* what the course does not have there */
#define MARK_BARE   FACT(31) /* paint is missing there */
#define MARK_COLOUR FACT(32) /* the wrong colour */
#define MARK_DUST   FACT(33) /* which may be dust; and so on */
#define MARK_SHADOW FACT(34)
#define MARK_GLOSS  FACT(35)
#define MARK_NEAR   FACT(36) /* as strong as is allowed */
#define ANY_SCANNER FACT(37) /* a scanner tells the size, and nobody said of which kind */
#define CARD_UNUSED FACT(38) /* a card was seen that tells nothing */
#define WHITENED    FACT(39) /* the device may have whitened a colour */
#define HIDDEN      FACT(40) /* too little of the surface was seen */
#define MARK_CARD   FACT(41) /* a mark that may be a card */
#define COVERED     FACT(42) /* what may be a card lies on the sheet, and tells nothing */
#define UNSURE      FACT(43) /* a card was seen, in what may be a scan or a photograph */
#define LARGE       FACT(44) /* a scan of what no flatbed takes, */
#define TAPE        FACT(45) /* which lengths measured by hand would settle */
#define THIN        FACT(46) /* a finer picture shows lines that are too thin for this one */
#define ROUGH       FACT(47) /* so coarse that edges blur */

static const struct {
    unsigned remedy;
    facts fact;
} needs[] = {{PV_REMEDY_SIGHT, UNSEEN},
             {PV_REMEDY_PRINT, LIMIT},
             {PV_REMEDY_REFERENCE, NEEDS_SCALE},
             {PV_REMEDY_FLAT, NEEDS_FLAT},
             {PV_REMEDY_IMAGE, NEEDS_FINE}};

static facts facts_of_scale(const pv_inspection *in)
{
    const pv_value *x = pv_inspection_find(in, PV_KIND_SCALE, 0);
    const pv_value *y = pv_inspection_find(in, PV_KIND_SCALE, 1);
    if (x == NULL || y == NULL || !x->measured || !y->measured)
        return 0;
    double both = fabs((x->value + y->value) / 2 - 1), apart = fabs(x->value - y->value);
    return (both > FITTED_LEAST && apart < FITTED_APART ? FITTED : 0) |
           (apart < ALIKE * both ? ALIKE_OUT : 0);
}

static facts facts_of_size(const pv_inspection *in)
{
    const double *page = in->sheet.page;
    bool large = fmin(page[0], page[1]) > GLASS_ACROSS || fmax(page[0], page[1]) > PV_GLASS_MOST;
    return !large || in->sheet.photograph ? 0 : LARGE | (in->n_steps > 0 ? TAPE : 0);
}

/* Why a picture does not show its lines. */
static facts facts_of_fineness(const pv_inspection *in)
{
    facts all = (pv_no_line_measured(in) ? NO_LINE : 0) |
                (pv_inspection_dpi(in) < PV_BEST_DPI ? COARSE : 0) |
                (pv_inspection_dpi(in) < PV_LEAST_DPI ? ROUGH : 0);
    for (size_t i = 0; i < in->table.n_lines; i++)
        all |= pv_finer_shows(&in->table.lines[i]) ? THIN : 0;
    return all;
}

static facts facts_of_sheet(const pv_inspection *in, const pv_answer_told *told)
{
    const pv_inspected *sheet = &in->sheet;
    facts all =
        (told->proof ? PROOF : 0) | (told->single || told->by_page ? OTHERS_APART : 0) |
        (sheet->photograph ? PHOTO : 0) | (sheet->corrected.any ? CORRECTED : 0) |
        (sheet->reference == PV_REFERENCE_NONE ? NO_REFERENCE : 0) |
        (sheet->disagree ? DISAGREE : 0) |
        (sheet->reference == PV_REFERENCE_SCANNER && !told->scanner_told ? ANY_SCANNER : 0) |
        (in->n_steps > 0 && !told->for_sender ? 0u : NO_STEPS) |
        (sheet->unpaired > 0 || sheet->unsought ? CROWDED : 0) |
        (sheet->surface < PV_SURFACE_BOUND ? HIDDEN : 0) | (sheet->hidden ? COVERED : 0);
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        all |= (one->kind != PV_REFERENCE_CARD ? 0
                : !one->unused                 ? CARD
                : sheet->unsure_kind           ? UNSURE
                                               : CARD_UNUSED) |
               (one->kind == PV_REFERENCE_RULER ? RULER : 0) |
               (one->kind == PV_REFERENCE_SCANNER && !told->scanner_told &&
                        fmax(one->weight[0], one->weight[1]) > 0
                    ? ANY_SCANNER
                    : 0);
    }
    return all | facts_of_scale(in) | facts_of_size(in) | facts_of_fineness(in);
}

/* Of the rows one by one. */
static facts facts_of_values(const pv_inspection *in)
{
    facts all = 0;
    size_t wide = 0, narrow = 0;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        const pv_kind_info *kind = pv_kind_of(row->kind);
        double error = row->value - row->nominal;
        for (size_t k = 0; row->counts && k < sizeof needs / sizeof *needs; k++)
            all |= (row->remedy & needs[k].remedy) != 0 ? needs[k].fact : 0;
        if (row->kind == PV_KIND_WIDTH && row->counts && row->measured) {
            wide += error > 0;
            narrow += error < 0;
        }
        if (pv_value_withholds(in, row))
            all |= row->kind == PV_KIND_BREAKS              ? BROKEN
                   : in->table.fills[row->subject].whitened ? WHITENED
                                                            : BARE;
        all |=
            kind->of != PV_OF_SHEET && !kind->judged && row->measured && !row->fair ? BLEMISH : 0;
    }
    for (size_t i = 0; i < in->table.n_lines; i++)
        all |= in->table.lines[i].gray ? GRAY : 0;
    for (size_t i = 0; i < in->table.n_fills; i++)
        all |= in->table.fills[i].gray ? GRAY : 0;
    size_t most = wide > narrow ? wide : narrow;
    if (wide + narrow > 1 && (double)most >= MOST_LINES * (double)(wide + narrow))
        all |= ALL_WIDTHS;
    return all;
}

/* The strongest mark of the sheet's verdict, or NULL. */
static const pv_mark *deciding_mark(const pv_inspection *in)
{
    for (size_t i = 0; i < in->table.n_marks; i++)
        if (in->table.marks[i].verdict == in->sheet.verdict)
            return &in->table.marks[i];
    return NULL;
}

static facts fact_of_mark(const pv_mark *mark)
{
    if (mark == NULL || mark->verdict == PV_CONFORMS)
        return 0;
    if (mark->verdict == PV_UNDECIDED)
        return (mark->doubt & PV_DOUBT_CARD) != 0     ? MARK_CARD
               : (mark->doubt & PV_DOUBT_DUST) != 0   ? MARK_DUST
               : (mark->doubt & PV_DOUBT_SHADOW) != 0 ? MARK_SHADOW
               : (mark->doubt & PV_DOUBT_GLOSS) != 0  ? MARK_GLOSS
                                                      : MARK_NEAR;
    return mark->kind == PV_MARK_STRAY     ? MARK_STRAY
           : mark->kind == PV_MARK_MISSING ? MARK_BARE
                                           : MARK_COLOUR;
}

/* False where memory ran out. */
static bool add_facts_of_kinds(const pv_inspection *in, facts *all)
{
    static const struct {
        pv_value_kind kind;
        facts out;
    } kinds[] = {{PV_KIND_SCALE, SCALE_OUT},
                 {PV_KIND_SKEW, SKEW_OUT},
                 {PV_KIND_WIDTH, WIDTH_OUT},
                 {PV_KIND_STRAIGHT, STRAIGHT_OUT},
                 {PV_KIND_SPACING, SPACING_OUT}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        pv_kind_result one;
        if (!pv_results_of_kind(in, kinds[i].kind, &one))
            return false;
        if (one.verdict == PV_DOES_NOT_CONFORM)
            *all |= kinds[i].out;
        else if (one.outside > 0)
            *all |= CHANCE;
    }
    return true;
}

/* ---- what is said ---- */

#define ANY PV_KINDS

/* The first row whose verdict is the sheet's, all of whose facts are the case and none of those
 * that it excludes. Its sentences speak of the worst value of its kind that has its verdict and its
 * remedy: $n its name, $t what it is of, $o how far it is off, $g which way; besides that $b on
 * what the size rests, $p $x $y the page's scales, $l what to measure by hand and $r how to give
 * it, $h what to do with it, $a $e $f the command to do it with, $d the references, $v a scan or
 * photograph, $w to make one, $c where a card lies for it; of the strongest mark of its verdict $s
 * its size, $q its place, $k how many more there are. A translation has the same letters. */
typedef struct situation {
    pv_verdict verdict;
    facts all, none;
    pv_value_kind kind;
    unsigned remedy;
    pv_answer_words words;
} situation;

#define CALIBRATE                                                                                  \
    PV_SAID("Print it again with \"actual size\" (100 %). If it stays so, calibrate the printer "  \
            "with its test page$f.")
#define THIS_PAGE                                                                                  \
    PV_SAID("If the print dialog did not say \"actual size\" (100 %), print this page again. If "  \
            "it did, calibrate the printer with this page$a.")
#define OR_PRINT     PV_SAID("If it still can't tell, print the sheet again.")
#define MEASURE      PV_SAID("Measure $l. Give each reading as $r.")
#define OR_MEASURE   PV_SAID("Or measure $l. Give each reading as $r.")
#define MEASURE_TAPE PV_SAID("Measure $l, between the crosses near the corners. $h")
#define BAD_SPOT                                                                                   \
    PV_SAID("Look at that place on the sheet. Is it creased or dirty? Lay the sheet flat and $w "  \
            "again. If the answer stays the same, print the sheet again.")
#define LAY_CARD      PV_SAID("Lay a bank card $c and $w again.")
#define CARD_BESIDE   PV_SAID("Lay a bank card close beside the sheet and photograph it again.")
#define CARD_ON_GLASS PV_SAID("Lay a bank card $c and scan again.")
#define CARD_PLAIN                                                                                 \
    PV_SAID("Lay the card flat on a plain place of another colour, clear of lines, and $w again.")

#define UNSURE_WORDS                                                                               \
    {                                                                                              \
        PV_SAID(                                                                                   \
            "Can't tell: this picture does not show whether it was scanned or photographed, and "  \
            "a bank card looks different in each."),                                               \
        {                                                                                          \
            PV_SAID(                                                                               \
                "Give the file just as the scanner or the phone saved it, not one that was sent "  \
                "as a message. Or scan the sheet again at 300 dpi, with the card on the glass.")   \
        }                                                                                          \
    }

/* clang-format off */
static const situation situations[] = {
    /* Not true. What is wrong with the whole page comes first: printing it right mends the rest. */
    {PV_DOES_NOT_CONFORM, SCALE_OUT | FITTED, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: the page came out at $p % of its size$b."),
      {PV_SAID("Print it again with \"actual size\" (100 %). Switch \"fit to page\" off.")}}},
    {PV_DOES_NOT_CONFORM, SCALE_OUT | PROOF | ALIKE_OUT, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: the printer makes everything $o $g$b."),
      {THIS_PAGE}}},
    {PV_DOES_NOT_CONFORM, SCALE_OUT | PROOF, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: the printer makes $x % across the page and $y % along it$b."),
      {THIS_PAGE}}},
    {PV_DOES_NOT_CONFORM, SCALE_OUT | CORRECTED, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: the printer's correction does not fit. The page came out at $x % across and "
      "$y % along$b."),
      {PV_SAID("Use the paper and settings of the calibration, or calibrate again for these. Then print "
      "this sheet again.")}}},
    {PV_DOES_NOT_CONFORM, SCALE_OUT | ALIKE_OUT, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: everything came out $o $g$b."),
      {CALIBRATE}}},
    {PV_DOES_NOT_CONFORM, SCALE_OUT, 0, PV_KIND_SCALE, 0,
     {PV_SAID("Not true: the page came out at $x % across and $y % along$b."),
      {PV_SAID("Straighten the paper in its tray and print the sheet again at 100 %. If it stays, calibrate "
      "the printer with its test page$f.")}}},
    {PV_DOES_NOT_CONFORM, SKEW_OUT, 0, PV_KIND_SKEW, 0,
     {PV_SAID("Not true: the page came out slanted by $o over 1 m."),
      {PV_SAID("Straighten the paper in its tray and print the sheet again. If it stays, calibrate the "
      "printer with its test page$f.")}}},
    {PV_DOES_NOT_CONFORM, MARK_STRAY, 0, ANY, 0,
     {PV_SAID("Not true: a mark of $s does not belong there, $q.$k"),
      {PV_SAID("Look at the sheet there. Clean the mark off, or print the sheet again.")}}},
    {PV_DOES_NOT_CONFORM, MARK_BARE, 0, ANY, 0,
     {PV_SAID("Not true: paint is missing over $s, $q.$k"),
      {PV_SAID("Look at the sheet there. If paint is missing, print the sheet again.")}}},
    {PV_DOES_NOT_CONFORM, MARK_COLOUR, 0, ANY, 0,
     {PV_SAID("Not true: the colour is wrong over $s, $q.$k"),
      {PV_SAID("Look at the sheet there. Print it again in colour, with fresh ink or toner.")}}},
    {PV_DOES_NOT_CONFORM, WIDTH_OUT | ALL_WIDTHS, 0, PV_KIND_WIDTH, 0,
     {PV_SAID("Not true: the lines came out $g, $n by $o."),
      {PV_SAID("Choose the right kind of paper in the print dialog and print the sheet again. If it stays, "
      "calibrate the printer: that corrects the ink, too.")}}},
    {PV_DOES_NOT_CONFORM, WIDTH_OUT, 0, PV_KIND_WIDTH, 0,
     {PV_SAID("Not true: line $n came out $o $g."),
      {BAD_SPOT}}},
    {PV_DOES_NOT_CONFORM, STRAIGHT_OUT, 0, PV_KIND_STRAIGHT, 0,
     {PV_SAID("Not true: line $n is bent by $o."),
      {BAD_SPOT}}},
    {PV_DOES_NOT_CONFORM, SPACING_OUT, 0, PV_KIND_SPACING, 0,
     {PV_SAID("Not true: $n came out $o $g."),
      {BAD_SPOT}}},
    {PV_DOES_NOT_CONFORM, 0, 0, ANY, 0,
     {PV_SAID("Not true: something is farther off than the course allows."),
      {PV_SAID("Print the sheet again.")}}},

    /* Can't tell. First what makes a measurement idle; then what nothing but the right step
     * settles. Where another reference may settle it, no row asks for another print: this one may
     * well be true. */
    {PV_UNDECIDED, CROWDED, 0, ANY, 0,
     {PV_SAID("Can't tell: this sheet has more lines than pavior checks."),
      {PV_SAID("Print the course on smaller sheets.")}}},
    {PV_UNDECIDED, MARK_CARD, 0, ANY, 0,
     {PV_SAID("Can't tell: a card or the like may lie on the sheet, $q.$k"),
      {PV_SAID("If a card lies there, lay it beside the sheet or into its printed place and $w again. If "
      "nothing does, clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, BROKEN, 0, PV_KIND_BREAKS, 0,
     {PV_SAID("Can't tell: line $n looks broken, and a robot may lose it."),
      {PV_SAID("Look at the sheet. If the line is broken there, print the sheet again. If it is whole, wipe "
      "the glass and $w again.")}}},
    {PV_UNDECIDED, BARE, 0, PV_KIND_MISSING, 0,
     {PV_SAID("Can't tell: some of the $n looks bare."),
      {PV_SAID("Look at the sheet. If paint is missing there, print the sheet again. If it is all there, "
      "scan it on a flatbed, without any automatic correction.")}}},
    {PV_UNDECIDED, WHITENED, 0, PV_KIND_STRENGTH, 0,
     {PV_SAID("Can't tell: the $n came out as white as paper in this picture."),
      {PV_SAID("Look at the sheet. If the colour is there, $w again with every automatic correction off. If "
      "it is not, print the sheet again.")}}},
    {PV_UNDECIDED, HIDDEN | PHOTO, 0, ANY, 0,
     {PV_SAID("Can't tell: this picture shows too little of the sheet."),
      {PV_SAID("Photograph the whole sheet, with nothing lying on its lines.")}}},
    {PV_UNDECIDED, HIDDEN, 0, ANY, 0,
     {PV_SAID("Can't tell: this picture does not show enough of the sheet's surface."),
      {PV_SAID("Scan the whole sheet in grey or colour, with nothing lying on its lines.")}}},
    {PV_UNDECIDED, DISAGREE | TAPE, RULER, ANY, 0,
     {PV_SAID("Can't tell: $d disagree on the size."),
      {MEASURE_TAPE,
       PV_SAID("That shows which of them is wrong.")}}},
    {PV_UNDECIDED, DISAGREE | RULER, NO_STEPS, ANY, 0,
     {PV_SAID("Can't tell: $d disagree on the size."),
      {PV_SAID("Measure once more $l. Give each reading as $r. If they still disagree, $w again with a bank "
      "card $c.")}}},
    {PV_UNDECIDED, DISAGREE, NO_STEPS, ANY, 0,
     {PV_SAID("Can't tell: $d disagree on the size."),
      {MEASURE,
       PV_SAID("That shows which of them is wrong.")}}},
    {PV_UNDECIDED, DISAGREE, 0, ANY, 0,
     {PV_SAID("Can't tell: $d disagree on the size."),
      {PV_SAID("Scan the sheet on another scanner, with a bank card on the glass.")}}},
    {PV_UNDECIDED, NO_REFERENCE | UNSURE, 0, ANY, 0, UNSURE_WORDS},
    {PV_UNDECIDED, NO_REFERENCE | CARD_UNUSED, 0, ANY, 0,
     {PV_SAID("Can't tell: the bank card does not show clearly enough to measure by."),
      {CARD_PLAIN}}},
    {PV_UNDECIDED, NO_REFERENCE | TAPE, 0, ANY, 0,
     {PV_SAID("Can't tell: this file does not say how big the sheet is."),
      {MEASURE_TAPE}}},
    {PV_UNDECIDED, NO_REFERENCE | PHOTO, NO_STEPS, ANY, 0,
     {PV_SAID("Can't tell: a photograph alone does not show how big the sheet is."),
      {CARD_BESIDE,
       OR_MEASURE}}},
    {PV_UNDECIDED, NO_REFERENCE | PHOTO, 0, ANY, 0,
     {PV_SAID("Can't tell: a photograph alone does not show how big the sheet is."),
      {CARD_BESIDE}}},
    {PV_UNDECIDED, NO_REFERENCE, NO_STEPS, ANY, 0,
     {PV_SAID("Can't tell: this file does not say how big the sheet is."),
      {CARD_ON_GLASS,
       OR_MEASURE}}},
    {PV_UNDECIDED, NO_REFERENCE, 0, ANY, 0,
     {PV_SAID("Can't tell: this file does not say how big the sheet is."),
      {CARD_ON_GLASS}}},
    {PV_UNDECIDED, UNSEEN, 0, ANY, PV_REMEDY_SIGHT,
     {PV_SAID("Can't tell: line $n can't be seen well enough."),
      {PV_SAID("Uncover it, lay the sheet flat and $w again. If the line is faded, print the sheet again.")}}},
    {PV_UNDECIDED, LIMIT, 0, ANY, PV_REMEDY_PRINT,
     {PV_SAID("Can't tell: no measurement of this print can decide $t$b."),
      {PV_SAID("Print the sheet again.")}}},
    {PV_UNDECIDED, MARK_DUST | PHOTO, 0, ANY, 0,
     {PV_SAID("Can't tell: a mark of $s may be dust, $q.$k"),
      {PV_SAID("Wipe the sheet and photograph it again. What stays is on the print: clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, MARK_DUST, 0, ANY, 0,
     {PV_SAID("Can't tell: a mark of $s may be dust on the glass, $q.$k"),
      {PV_SAID("Wipe the glass, turn the sheet half round and scan again. What stays in its place is on the "
      "print: clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, MARK_SHADOW | PHOTO, 0, ANY, 0,
     {PV_SAID("Can't tell: a dark place of $s may be a shadow, $q.$k"),
      {PV_SAID("Light the sheet from another side and photograph it again. What stays is on the "
      "print: clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, MARK_SHADOW, 0, ANY, 0,
     {PV_SAID("Can't tell: a dark place of $s may be a shadow, $q.$k"),
      {PV_SAID("Lay the sheet flat, turn it half round, close the lid and scan again. What stays in its "
      "place is on the print: clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, MARK_GLOSS | PHOTO, 0, ANY, 0,
     {PV_SAID("Can't tell: a light place of $s may be a reflection, $q.$k"),
      {PV_SAID("Photograph the sheet from another side. What stays is on the print: print the sheet "
      "again.")}}},
    {PV_UNDECIDED, MARK_GLOSS, 0, ANY, 0,
     {PV_SAID("Can't tell: a light place of $s may be a reflection, $q.$k"),
      {PV_SAID("Turn the sheet half round and scan again. What stays in its place is on the print: print "
      "the sheet again.")}}},
    {PV_UNDECIDED, MARK_NEAR, 0, ANY, 0,
     {PV_SAID("Can't tell: a mark of $s is about as strong as is allowed, $q.$k"),
      {PV_SAID("Look at the sheet there. Clean the mark off, or print the sheet again.")}}},
    {PV_UNDECIDED, NEEDS_SCALE | UNSURE, 0, ANY, PV_REMEDY_REFERENCE, UNSURE_WORDS},
    {PV_UNDECIDED, NEEDS_SCALE | CARD_UNUSED, 0, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v alone is not exact enough for $t, and its bank card does not show "
      "clearly enough."),
      {CARD_PLAIN}}},
    {PV_UNDECIDED, NEEDS_SCALE | TAPE, 0, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v alone is not exact enough for $t$b."),
      {MEASURE_TAPE}}},
    {PV_UNDECIDED, NEEDS_SCALE | ANY_SCANNER, CARD | RULER | LARGE, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this scan alone is not exact enough for $t$b."),
      {PV_SAID("Was it scanned on a flatbed's glass? Then say so$e. Or lay a bank card on "
      "the glass and scan again.")}}},
    {PV_UNDECIDED, NEEDS_SCALE, CARD | NO_STEPS, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v alone is not exact enough for $t$b."),
      {LAY_CARD,
       OR_MEASURE}}},
    {PV_UNDECIDED, NEEDS_SCALE, CARD | LARGE, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v alone is not exact enough for $t$b."),
      {LAY_CARD}}},
    {PV_UNDECIDED, NEEDS_SCALE, NO_STEPS, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v is not exact enough for $t$b."),
      {MEASURE}}},
    {PV_UNDECIDED, NEEDS_SCALE, 0, ANY, PV_REMEDY_REFERENCE,
     {PV_SAID("Can't tell: this $v is not exact enough for $t$b."),
      {PV_SAID("Scan it at 600 dpi."),
       OR_PRINT}}},
    {PV_UNDECIDED, NEEDS_FLAT | PHOTO, 0, ANY, PV_REMEDY_FLAT,
     {PV_SAID("Can't tell: the sheet does not lie flat enough for $t."),
      {PV_SAID("Lay it flat and photograph it from straight above, or scan it."),
       OR_PRINT}}},
    {PV_UNDECIDED, NEEDS_FLAT, 0, ANY, PV_REMEDY_FLAT,
     {PV_SAID("Can't tell: the sheet does not lie flat enough for $t."),
      {PV_SAID("Press it flat under the lid and scan again."),
       OR_PRINT}}},
    {PV_UNDECIDED, NEEDS_FINE | PHOTO, 0, ANY, PV_REMEDY_IMAGE,
     {PV_SAID("Can't tell: this photograph is not sharp enough for $t."),
      {PV_SAID("Scan it at 600 dpi, or photograph it from closer so that it fills the picture."),
       OR_PRINT}}},
    {PV_UNDECIDED, NEEDS_FINE | COARSE, 0, ANY, PV_REMEDY_IMAGE,
     {PV_SAID("Can't tell: this scan is not fine enough for $t."),
      {PV_SAID("Scan it again at 600 dpi, in grey or colour."),
       OR_PRINT}}},
    {PV_UNDECIDED, NEEDS_FINE, 0, ANY, PV_REMEDY_IMAGE,
     {PV_SAID("Can't tell: this scan is not clean enough for $t."),
      {PV_SAID("Scan it again in grey or colour, without sharpening."),
       OR_PRINT}}},
    {PV_UNDECIDED, CHANCE, 0, ANY, 0,
     {PV_SAID("Can't tell: a few values are just outside, which may be chance."),
      {PV_SAID("$W again. If the answer stays the same, print the sheet again.")}}},
    {PV_UNDECIDED, COVERED, 0, ANY, 0,
     {PV_SAID("Can't tell: something that may be a bank card hides a part of the sheet."),
      {PV_SAID("If it is a card, lay it beside the sheet, on a plain ground of another colour, and $w again. "
      "If nothing lies there, clean it off, or print the sheet again.")}}},
    {PV_UNDECIDED, 0, 0, ANY, 0,
     {PV_SAID("Can't tell: this $v is not exact enough."),
      {PV_SAID("Scan it at 600 dpi."),
       OR_PRINT}}},

    /* True. */
    {PV_CONFORMS, PROOF, 0, ANY, 0,
     {PV_SAID("True: this printer needs no correction$b."),
      {PV_SAID("Print the sheets as they are.")}}},
    {PV_CONFORMS, GRAY, 0, ANY, 0,
     {PV_SAID("True to size$b. But it is grey where the course asks for colour."),
      {PV_SAID("Switch \"greyscale\" or \"black only\" off and print it again.")}}},
    {PV_CONFORMS, NO_LINE | THIN, 0, ANY, 0,
     {PV_SAID("True to size$b. None of its lines could be measured in so coarse a picture."),
      {PV_SAID("Scan it at 600 dpi.")}}},
    {PV_CONFORMS, NO_LINE | ROUGH, 0, ANY, 0,
     {PV_SAID("True to size$b. None of its lines could be measured in so coarse a picture."),
      {PV_SAID("Scan it at 300 dpi.")}}},
    {PV_CONFORMS, NO_LINE, 0, ANY, 0,
     {PV_SAID("True to size$b. None of its lines could be measured."),
      {PV_SAID("Look at the lines. If they are whole, use the sheet.")}}},
    {PV_CONFORMS, BLEMISH, 0, ANY, 0,
     {PV_SAID("True to size$b."),
      {PV_SAID("Look at what stands below. If it does not matter, use the sheet.")}}},
    {PV_CONFORMS, OTHERS_APART, 0, ANY, 0,
     {PV_SAID("True to size$b."),
      {PV_SAID("Use it.")}}},
    {PV_CONFORMS, 0, 0, ANY, 0,
     {PV_SAID("True to size$b."),
      {PV_SAID("Use it, and print the other sheets with the same settings on the same paper.")}}},
};
/* clang-format on */

#define N_SITUATIONS (sizeof situations / sizeof *situations)

const pv_answer_words *pv_answer_row(size_t index)
{
    return index < N_SITUATIONS ? &situations[index].words : NULL;
}

/* ---- filling in ---- */

typedef struct telling {
    const pv_inspection *in;
    const pv_value *worst; /* or NULL */
    const pv_mark *mark;   /* or NULL */
    const pv_answer_told *told;
} telling;

/* How bad: of undecided values by how much U is too large, of others by how much of the tolerance
 * their error is. */
static double badness(const pv_value *row)
{
    if (!row->measured)
        return 0;
    if (row->verdict == PV_UNDECIDED && row->U_needed > 0)
        return row->U / row->U_needed;
    double off = fabs(row->value - row->nominal);
    return row->tolerance > 0 ? off / row->tolerance : off;
}

static const pv_value *find_worst(const pv_inspection *in, const situation *s)
{
    const pv_value *worst = NULL;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        bool judged = pv_kind_of(row->kind)->judged;
        bool fits =
            (s->kind == ANY ? judged : row->kind == s->kind) &&
            (judged ? row->counts && row->verdict == s->verdict : pv_value_withholds(in, row)) &&
            (row->remedy & s->remedy) == s->remedy;
        if (fits && (worst == NULL || badness(row) > badness(worst)))
            worst = row;
    }
    return worst;
}

/* "stack-3", "the distance from stack-3 to kerb" */
static void add_name(pv_text *to, const pv_value *row)
{
    if (row->kind == PV_KIND_SPACING)
        pv_text_say(to, "the distance from %s to %s", row->name, row->to);
    else
        pv_text_add(to, "%s", row->name);
}

/* As the object of a sentence. */

static void add_subject(pv_text *to, const pv_value *row)
{
    switch (row->kind) {
    case PV_KIND_SCALE:
        pv_text_say(to, "the size");
        return;
    case PV_KIND_SKEW:
        pv_text_say(to, "the right angle");
        return;
    case PV_KIND_WIDTH:
        pv_text_say(to, "the width of line %s", row->name);
        return;
    case PV_KIND_STRAIGHT:
        pv_text_say(to, "the straightness of line %s", row->name);
        return;
    case PV_KIND_SPACING:
        pv_text_add(to, pv_say_in(to->language, "object", "the distance from %s to %s"), row->name,
                    row->to);
        return;
    default:
        add_name(to, row);
    }
}

/* "19 x 150 mm" */
static void add_size(pv_text *to, const pv_inspection *in, const pv_mark *mark)
{
    double unit = in->sheet.inches ? PV_MM_PER_IN : 1;
    int decimals = in->sheet.inches ? 2 : mark->width < 9.95 ? 1 : 0;
    pv_text_add(to, "%s x %s %s", pv_fixed(mark->width / unit, decimals).chars,
                pv_fixed(mark->length / unit, decimals).chars, in->sheet.inches ? "in" : "mm");
}

/* Where on the mat. */
static void add_place(pv_text *to, const pv_inspection *in, const pv_mark *mark)
{
    pv_text_say(to, "%s from the left and %s from the bottom of the page",
                pv_inspection_length(in, mark->x - in->sheet.origin[0], 0).chars,
                pv_inspection_length(in, mark->y - in->sheet.origin[1], 0).chars);
}

/* How many more there are; nothing where it is the only one. */
static void add_others(pv_text *to, const pv_inspection *in)
{
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_marks; i++)
        n += in->table.marks[i].verdict == in->sheet.verdict;
    if (n > 1)
        pv_text_add(
            to, pv_say_count(to->language, " There is %zu more.", " There are %zu more.", n - 1),
            n - 1);
}

/* By how much it is off, without a sign. */
static void add_off(pv_text *to, const pv_inspection *in, const pv_value *row)
{
    double off = fabs(row->value - row->nominal);
    if (row->kind == PV_KIND_SKEW) /* 1 mrad is 1 mm over 1 m */
        pv_text_add(to, "%s mm", pv_fixed(off, 1).chars);
    else if (row->kind == PV_KIND_SCALE)
        pv_text_add(to, "%s %%", pv_fixed(100 * off, off < 0.01 ? 2 : 1).chars);
    else
        pv_text_add(to, "%s", pv_inspection_length(in, off, off < 1 ? 2 : 1).chars);
}

static void add_way(pv_text *to, const pv_value *row)
{
    bool more = row->value > row->nominal;
    if (row->kind == PV_KIND_WIDTH)
        more ? pv_text_say(to, "too wide") : pv_text_say(to, "too narrow");
    else
        more ? pv_text_say(to, "too large") : pv_text_say(to, "too small");
}

/* "94.2" of both directions, or of one. */
static void add_scale(pv_text *to, const pv_inspection *in, int first, int last)
{
    double sum = 0;
    for (int i = first; i <= last; i++) {
        const pv_value *scale = pv_inspection_find(in, PV_KIND_SCALE, (size_t)i);
        sum += scale != NULL ? scale->value : 0;
    }
    double percent = 100 * sum / (last - first + 1);
    pv_text_add(to, "%s", pv_fixed(percent, fabs(percent - 100) < 1.5 ? 2 : 1).chars);
}

/* Those that tell the size: "the scanner and the card". */
static void add_references(pv_text *to, const pv_inspection *in)
{
    unsigned left = 0;
    for (size_t i = 0; i < in->n_references; i++)
        if (fmax(in->references[i].U[0], in->references[i].U[1]) > 0)
            left |= 1u << in->references[i].kind;
    const char *joint = "";
    if (left == 1u << PV_REFERENCE_RULER) {
        pv_text_say(to, "your ruler readings");
        return;
    }
    for (unsigned kind = 0; left != 0; kind++) {
        if ((left & 1u << kind) == 0)
            continue;
        left &= ~(1u << kind);
        pv_text_add(to, "%s%s", left == 0 && *joint != '\0' ? pv_say(to->language, " and ") : joint,
                    pv_say(to->language, pv_reference_noun((pv_reference_kind)kind)));
        joint = ", ";
    }
}

/* ", taking the flatbed to be true to 0.2 %" */
static void add_basis(pv_text *to, const pv_inspection *in)
{
    if (in->sheet.reference != PV_REFERENCE_NONE && in->sheet.basis != NULL)
        pv_text_say(to, ", %s", in->sheet.basis);
}

/* Through such a scanner goes no card. */
static bool feeds(const pv_inspection *in)
{
    return in->sheet.scanner > PV_SCANNER_FLATBED;
}

/* A command for whoever has the program; others ask who has it, or answer the page's question. */
static bool add_command(pv_text *to, const pv_answer_told *told, char what)
{
    static const struct {
        char what;
        const char *command, *request, *page;
    } ways[] = {
        {'a', " (pavior calibrate)", PV_SAID(" (the organiser can do it)"), NULL},
        {'e', ": --scanner flatbed", PV_SAID(" to the organiser"),
         PV_SAID(" under \"How were they made?\", and measure it again")},
        {'f', " (pavior sheets --proof)", PV_SAID(" (the organiser can do it)"), NULL},
    };
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        if (ways[i].what != what)
            continue;
        const char *request =
            told->by_page && ways[i].page != NULL ? ways[i].page : ways[i].request;
        pv_text_add(to, "%s", told->for_sender ? pv_say(to->language, request) : ways[i].command);
        return true;
    }
    return false;
}

/* What to do with lengths that were measured by hand. */
static void add_use_of_lengths(pv_text *to, const telling *t)
{
    if (!t->told->for_sender) {
        pv_text reading = PV_TEXT_IN(to->language);
        pv_remedy_reading(&reading, t->in);
        to->failed = to->failed || reading.failed;
        if (!to->failed)
            pv_text_say(to, "Give each reading as %s.", reading.chars);
        pv_text_drop(&reading);
    } else if (t->told->by_page) {
        pv_text_say(to, "Type them in, choose this picture again, and measure again.");
    } else {
        pv_text_say(to, "Send these lengths to the organiser. The scan need not be sent again.");
    }
}

static void fill_in(pv_text *to, const telling *t, char what)
{
    const pv_inspection *in = t->in;
    const pv_language *l = to->language;
    bool photo = in->sheet.photograph;
    if (add_command(to, t->told, what))
        return;
    switch (what) {
    case 'b':
        add_basis(to, in);
        return;
    case 'p':
        add_scale(to, in, 0, 1);
        return;
    case 'x':
        add_scale(to, in, 0, 0);
        return;
    case 'y':
        add_scale(to, in, 1, 1);
        return;
    case 'l':
        pv_remedy_measure(to, in);
        return;
    case 'r':
        pv_remedy_reading(to, in);
        return;
    case 'h':
        add_use_of_lengths(to, t);
        return;
    case 'd':
        add_references(to, in);
        return;
    case 'v':
        pv_text_add(to, "%s",
                    photo ? pv_say_in(l, "this", "photograph") : pv_say_in(l, "this", "scan"));
        return;
    case 'w':
        photo ? pv_text_say(to, "photograph it") : pv_text_say(to, "scan it");
        return;
    case 'c':
        pv_text_add(to, "%s",
                    photo       ? pv_say(l, "close beside the sheet")
                    : feeds(in) ? pv_say(l, "on a flatbed's glass")
                                : pv_say(l, "on the glass"));
        return;
    case 'W':
        photo ? pv_text_say(to, "Photograph it") : pv_text_say(to, "Scan it");
        return;
    case 'k':
        add_others(to, in);
        return;
    default:
        break;
    }
    if (what == 's' && t->mark != NULL)
        add_size(to, in, t->mark);
    if (what == 'q' && t->mark != NULL)
        add_place(to, in, t->mark);
    if (t->worst == NULL || what == 's' || what == 'q')
        return;
    if (what == 'n')
        add_name(to, t->worst);
    else if (what == 't')
        add_subject(to, t->worst);
    else if (what == 'o')
        add_off(to, in, t->worst);
    else
        add_way(to, t->worst);
}

static void say(pv_text *to, const telling *t, const char *english)
{
    for (const char *words = pv_say(to->language, english); *words != '\0'; words++) {
        if (*words == '$')
            fill_in(to, t, *++words);
        else
            pv_text_bytes(to, words, 1);
    }
}

size_t pv_answer_lead(const char *answer)
{
    static const char *const leads[] = {PV_SAID("True"), PV_SAID("Not true"), PV_SAID("Can't tell"),
                                        PV_SAID("Can't use this picture")};
    const pv_language *language;
    for (size_t l = 0; (language = pv_language_at(l)) != NULL; l++)
        for (size_t i = 0; i < sizeof leads / sizeof *leads; i++) {
            const char *lead = pv_say(language, leads[i]);
            if (strncmp(answer, lead, strlen(lead)) == 0)
                return strlen(lead);
        }
    return 0;
}

bool pv_answer_advise(pv_inspection *in, const char *hint)
{
    pv_text advice = PV_TEXT_IN(in->sheet.language);
    if (hint == NULL)
        pv_text_say(&advice, "Scan or photograph the sheet again.");
    else
        pv_text_add(&advice, "%c%s.", pv_capital(hint[0]), hint + 1);
    pv_free((char *)in->sheet.advice);
    in->sheet.advice = pv_text_take(&advice);
    return in->sheet.advice != NULL;
}

bool pv_answer_error(pv_inspection *in, const char *message, const char *hint)
{
    pv_text error = PV_TEXT_INIT, answer = PV_TEXT_IN(in->sheet.language);
    pv_text_add(&error, hint != NULL ? "%s: %s" : "%s", message, hint);
    pv_text_say(&answer, "Can't use this picture: %s.", message);
    in->sheet.error = pv_text_take(&error);
    in->sheet.answer = pv_text_take(&answer);
    return pv_answer_advise(in, hint) && in->sheet.error != NULL && in->sheet.answer != NULL;
}

bool pv_answer_make(pv_inspection *in, const pv_answer_told *told)
{
    facts all = facts_of_sheet(in, told) | facts_of_values(in) | fact_of_mark(deciding_mark(in));
    if (!add_facts_of_kinds(in, &all))
        return false;
    const situation *s = situations;
    while (s->verdict != in->sheet.verdict || (all & s->all) != s->all || (all & s->none) != 0)
        s++; /* the last of each verdict asks for nothing */
    in->sheet.asks_scanner = (s->all & ANY_SCANNER) != 0;
    in->asks_lengths = (s->all & TAPE) != 0;
    bool sound = in->sheet.verdict == PV_CONFORMS && !told->proof;
    in->sheet.asks_finer = sound && (all & NO_LINE) != 0 && (all & (THIN | ROUGH)) != 0;
    in->asks_look = sound && (s->all & (GRAY | NO_LINE | BLEMISH)) != 0;
    telling t = {in, find_worst(in, s), deciding_mark(in), told};
    pv_text answer = PV_TEXT_IN(in->sheet.language), advice = PV_TEXT_IN(in->sheet.language);
    say(&answer, &t, s->words.answer);
    for (int i = 0; i < PV_ADVICE_MAX && s->words.advice[i] != NULL; i++) {
        pv_text_add(&advice, "%s", i > 0 ? " " : "");
        say(&advice, &t, s->words.advice[i]);
    }
    in->sheet.answer = pv_text_take(&answer);
    in->sheet.advice = pv_text_take(&advice);
    return in->sheet.answer != NULL && in->sheet.advice != NULL;
}
