/* The plain answer: every situation is met by an inspection made by hand, gets its own sentences,
 * and those are plain. What is expected is what a person with that sheet should be told. */
#include "values.h"

#include "judge/answer.h"
#include "judge/remedy.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

static const pv_tolerances tolerances = {
    .scale = 0.003, .width = 0.5, .spacing = 1, .skew = 3, .straight = 1};

static void add(pv_inspection *in, pv_value_kind kind, size_t subject, const char *name,
                double nominal, double value, double U)
{
    pv_value row = judged_row(kind, subject, nominal, value, U, 0, PV_UNDECIDED);
    row.name = name;
    row.other = 1;
    row.places = row.planned = 20;
    add_row(&in->table, row);
}

/* A true sheet of five lines, scanned at 300 dpi by an exact scanner. To be dropped with drop(). */
static pv_inspection true_sheet(void)
{
    static const char *const ids[] = {"quay", "kerb", "berth", "sill", "mole"};
    pv_inspection in = {.sheet = {.sheet = "B2",
                                  .reference = PV_REFERENCE_SCANNER,
                                  .reference_U_rel = 0.001,
                                  .basis = "taking the flatbed to be true to 0.2 %",
                                  .gauge = {197, 284},
                                  .surface = 0.98,
                                  .measured_resolution = {300 / 25.4, 300 / 25.4}}};
    add(&in, PV_KIND_SCALE, 0, "x", 1, 1, 0.001);
    add(&in, PV_KIND_SCALE, 1, "y", 1, 1.0001, 0.001);
    add(&in, PV_KIND_SKEW, 0, "", 0, 0.2, 1);
    for (size_t i = 0; i < 5; i++) {
        pv_line_result line = {.id = ids[i],
                               .nominal = 20,
                               .planned = 20,
                               .stations = 20,
                               .looked = 200,
                               .first_value = in.table.n_values,
                               .fair = true};
        ck_assert(pv_measures_add_line(&in.table, &line));
        add(&in, PV_KIND_WIDTH, i, ids[i], 20, i % 2 == 0 ? 20.02 : 19.99, 0.02);
        add(&in, PV_KIND_STRAIGHT, i, ids[i], 0, 0.05, 0.02);
        pv_value row = {.kind = PV_KIND_BREAKS,
                        .subject = i,
                        .name = ids[i],
                        .to = "",
                        .measured = true,
                        .fair = true};
        add_row(&in.table, row);
    }
    add(&in, PV_KIND_SPACING, 0, "quay", 60, 60.1, 0.06);
    pv_fill_result fill = {
        .colour = "sea", .area = 900, .first_value = in.table.n_values, .fair = true};
    ck_assert(pv_measures_add_fill(&in.table, &fill));
    pv_value row = {
        .kind = PV_KIND_MISSING, .name = "sea", .to = "", .measured = true, .fair = true};
    add_row(&in.table, row);
    return in;
}

static void drop(pv_inspection *in)
{
    pv_free((char *)in->sheet.answer);
    pv_free((char *)in->sheet.advice);
    pv_measures_clear(&in->table);
}

/* ---- what is changed of it ---- */

static void scales(pv_inspection *in, double x, double y)
{
    row_of(in, PV_KIND_SCALE, 0)->value = x;
    row_of(in, PV_KIND_SCALE, 1)->value = y;
}

static void nothing(pv_inspection *in)
{
    (void)in;
}
static void fitted(pv_inspection *in)
{
    scales(in, 0.962, 0.9601);
}
static void small(pv_inspection *in)
{
    scales(in, 0.9912, 0.9908);
}
static void apart(pv_inspection *in)
{
    scales(in, 1.0002, 0.9951);
}
static void wrongly_corrected(pv_inspection *in)
{
    apart(in);
    in->sheet.corrected.any = true;
}
static void slanted(pv_inspection *in)
{
    row_of(in, PV_KIND_SKEW, 0)->value = -5.2;
}
static void spread(pv_inspection *in)
{
    for (size_t i = 0; i < 5; i++)
        row_of(in, PV_KIND_WIDTH, i)->value = 20.6 + 0.1 * (double)(i == 2);
}
static void one_wide(pv_inspection *in)
{
    row_of(in, PV_KIND_WIDTH, 3)->value = 19.2;
}
static void bent(pv_inspection *in)
{
    row_of(in, PV_KIND_STRAIGHT, 1)->value = 1.4;
}
static void shifted(pv_inspection *in)
{
    spacing_in(&in->table, 0)->value = 62.5;
}
static void in_inches(pv_inspection *in)
{
    shifted(in);
    in->sheet.inches = true;
}
static void crowded(pv_inspection *in)
{
    in->sheet.unpaired = 3;
}
static void broken(pv_inspection *in)
{
    pv_value *row = row_of(in, PV_KIND_BREAKS, 2);
    row->places = 1;
    row->value = 6;
    in->table.lines[2].longest_break = 6;
}
static void bare(pv_inspection *in)
{
    row_of(in, PV_KIND_MISSING, 0)->value = 0.2;
}
static void covered(pv_inspection *in)
{
    row_of(in, PV_KIND_WIDTH, 4)->places = 4;
}
static void no_reference(pv_inspection *in)
{
    in->sheet.reference = PV_REFERENCE_NONE;
    in->sheet.reference_U_rel = 0;
    for (size_t i = 0; i < 2; i++)
        row_of(in, PV_KIND_SCALE, i)->measured = false;
}
static void photograph(pv_inspection *in)
{
    no_reference(in);
    in->sheet.photograph = true;
}
static void no_marks(pv_inspection *in)
{
    in->sheet.gauge[0] = in->sheet.gauge[1] = 0;
}
static void scan_no_marks(pv_inspection *in)
{
    no_reference(in);
    no_marks(in);
}
static void photograph_no_marks(pv_inspection *in)
{
    photograph(in);
    no_marks(in);
}

/* A scale that is undecided by what is not known of the reference. */
static void uncertain(pv_inspection *in)
{
    for (size_t i = 0; i < 2; i++) {
        pv_value *scale = row_of(in, PV_KIND_SCALE, i);
        scale->value = 1.0015;
        scale->part[PV_PART_SCATTER] = 0;
        scale->part[PV_PART_REFERENCE] = 0.001;
    }
    in->sheet.reference_U_rel = 0.002;
}
static void uncertain_no_marks(pv_inspection *in)
{
    uncertain(in);
    no_marks(in);
}

/* A mark as wide and dark as a line, or what may be something else. */
static void mark(pv_inspection *in, pv_mark_kind kind, unsigned doubt, double off)
{
    pv_mark m = {.kind = kind,
                 .doubt = doubt,
                 .x = 312.4,
                 .y = 440.2,
                 .length = 150,
                 .width = 19,
                 .contrast = kind == PV_MARK_STRAY ? -0.8 : 0.8,
                 .off = off,
                 .U = 0.03,
                 .tolerance = 0.15,
                 .colour = pv_copy_text("sea")};
    ck_assert(PV_GROW(in->table.marks, in->table.n_marks, in->table.cap_marks));
    in->table.marks[in->table.n_marks++] = m;
}
static void stray(pv_inspection *in)
{
    mark(in, PV_MARK_STRAY, 0, 0.7);
}
static void two_strays(pv_inspection *in)
{
    stray(in);
    mark(in, PV_MARK_STRAY, 0, 0.5);
}
static void paint_missing(pv_inspection *in)
{
    mark(in, PV_MARK_MISSING, 0, 0.7);
}
static void wrong_colour(pv_inspection *in)
{
    mark(in, PV_MARK_COLOUR, 0, 0.7);
}
static void dusty(pv_inspection *in)
{
    mark(in, PV_MARK_STRAY, PV_DOUBT_DUST, 0.7);
}
static void shady(pv_inspection *in)
{
    mark(in, PV_MARK_STRAY, PV_DOUBT_SHADOW, 0.7);
}
static void glossy(pv_inspection *in)
{
    mark(in, PV_MARK_MISSING, PV_DOUBT_GLOSS, 0.7);
}
static void by_camera(pv_inspection *in)
{
    in->sheet.photograph = true;
}
static void dusty_photograph(pv_inspection *in)
{
    dusty(in);
    by_camera(in);
}
static void shady_photograph(pv_inspection *in)
{
    shady(in);
    by_camera(in);
}
static void glossy_photograph(pv_inspection *in)
{
    glossy(in);
    by_camera(in);
}
static void like_a_card(pv_inspection *in)
{
    mark(in, PV_MARK_STRAY, PV_DOUBT_CARD, 0.7);
}
static void hidden(pv_inspection *in)
{
    in->sheet.surface = 0;
}
static void hidden_by_a_card(pv_inspection *in)
{
    in->sheet.hidden = true;
}
static void hidden_in_photograph(pv_inspection *in)
{
    in->sheet.surface = 0.4;
    by_camera(in);
}
static void faint_mark(pv_inspection *in)
{
    mark(in, PV_MARK_STRAY, 0, 0.16);
}
static void whitened(pv_inspection *in)
{
    pv_value row = {.kind = PV_KIND_STRENGTH, .name = "sea", .to = "", .measured = true};
    add_row(&in->table, row);
    in->table.fills[0].whitened = true;
}

static pv_reference_result two[2];

static void both(pv_inspection *in, pv_reference_kind second, bool disagree)
{
    uncertain(in);
    for (int i = 0; i < 2; i++)
        two[i] = (pv_reference_result){.kind = i == 0 ? PV_REFERENCE_SCANNER : second,
                                       .U = {0.001, 0.001},
                                       .weight = {0.5, 0.5},
                                       .disagrees = disagree};
    in->references = two;
    in->n_references = 2;
    in->sheet.reference = disagree ? PV_REFERENCE_NONE : PV_REFERENCE_COMBINED;
    in->sheet.disagree = disagree;
    for (size_t i = 0; disagree && i < 2; i++)
        row_of(in, PV_KIND_SCALE, i)->measured = false;
}
static void unused_card(pv_inspection *in)
{
    both(in, PV_REFERENCE_CARD, false);
    two[1].unused = true;
    in->sheet.reference = PV_REFERENCE_SCANNER;
}
static void photograph_unused_card(pv_inspection *in)
{
    unused_card(in);
    photograph(in);
}
static void unsure_card(pv_inspection *in)
{
    photograph_unused_card(in);
    in->sheet.unsure_kind = true;
}
static void unsure_card_alone(pv_inspection *in)
{
    unsure_card(in);
    in->sheet.reference = PV_REFERENCE_NONE;
}
static void disagreeing(pv_inspection *in)
{
    both(in, PV_REFERENCE_CARD, true);
}
static void disagreeing_no_marks(pv_inspection *in)
{
    both(in, PV_REFERENCE_CARD, true);
    no_marks(in);
}
static void disagreeing_ruler(pv_inspection *in)
{
    both(in, PV_REFERENCE_RULER, true);
}
static void uncertain_card(pv_inspection *in)
{
    both(in, PV_REFERENCE_CARD, false);
}
static void uncertain_card_no_marks(pv_inspection *in)
{
    both(in, PV_REFERENCE_CARD, false);
    no_marks(in);
}

/* All of a width's U from one part, so large that it is undecided. */
static void doubtful(pv_inspection *in, pv_contribution part)
{
    pv_value *width = row_of(in, PV_KIND_WIDTH, 0);
    width->value = 20.4;
    width->part[PV_PART_SCATTER] = 0;
    width->part[part] = 0.08;
}
static void at_its_limit(pv_inspection *in)
{
    doubtful(in, PV_PART_INK);
}
static void wavy(pv_inspection *in)
{
    doubtful(in, PV_PART_POSE);
}
static void wavy_photograph(pv_inspection *in)
{
    wavy(in);
    in->sheet.photograph = true;
}
static void coarse(pv_inspection *in)
{
    doubtful(in, PV_PART_GRID);
}
static void blurred(pv_inspection *in)
{
    coarse(in);
    in->sheet.photograph = true;
}
static void unclean(pv_inspection *in)
{
    coarse(in);
    in->sheet.measured_resolution[0] = in->sheet.measured_resolution[1] = 600.5 / 25.4;
}
/* Outside by a little more than its own U, which one of five may be by chance. */
static void by_chance(pv_inspection *in)
{
    row_of(in, PV_KIND_WIDTH, 0)->value = 20.5205;
}
static void gray(pv_inspection *in)
{
    in->table.fills[0].gray = true;
    row_of(in, PV_KIND_MISSING, 0)->fair = false;
}
static void blemished(pv_inspection *in)
{
    row_of(in, PV_KIND_BREAKS, 0)->fair = false;
}
static void unmeasured(pv_inspection *in)
{
    for (size_t i = 0; i < 5; i++)
        in->table.lines[i].planned = row_of(in, PV_KIND_WIDTH, i)->planned =
            row_of(in, PV_KIND_STRAIGHT, i)->planned = 0;
}
/* Thinner than any picture at 300 dpi shows; and a picture in which all edges blur. */
static void thin(pv_inspection *in)
{
    unmeasured(in);
    in->table.lines[2].nominal = 0.95;
}
static void rough(pv_inspection *in)
{
    unmeasured(in);
    in->sheet.measured_resolution[0] = in->sheet.measured_resolution[1] = 75 / 25.4;
}

/* A mat in one piece, from a roll: no flatbed takes it. */
static void roll(pv_inspection *in)
{
    in->sheet.page[0] = 1374;
    in->sheet.page[1] = 914.4;
    in->sheet.gauge[0] = 1322;
    in->sheet.gauge[1] = 882;
}
static void uncertain_roll(pv_inspection *in)
{
    uncertain(in);
    roll(in);
}
static void uncertain_roll_no_marks(pv_inspection *in)
{
    uncertain_roll(in);
    no_marks(in);
}
static void no_reference_roll(pv_inspection *in)
{
    no_reference(in);
    roll(in);
}
static void disagreeing_roll(pv_inspection *in)
{
    disagreeing(in);
    roll(in);
}

/* ---- what is said of it ---- */

static const pv_answer_told a_proof = {.proof = true, .scanner_told = true},
                            one_sheet = {.single = true, .scanner_told = true},
                            of_several = {.scanner_told = true}, untold = {.proof = false},
                            sent = {.for_sender = true},
                            by_page = {.for_sender = true, .by_page = true};

static const struct {
    const char *name;
    void (*change)(pv_inspection *in);
    const pv_answer_told *told;
    const char *lead, *answer, *advice; /* words that each has, in any order */
} cases[] = {
    {"fit to page", fitted, &of_several, "Not true", "96.1 %", "actual size|100 %|fit to page"},
    {"a printer off", small, &of_several, "Not true",
     "0.92 % too small|flatbed to be true to 0.2 %", "actual size|calibrate the printer|--proof"},
    {"off in one way", apart, &of_several, "Not true", "100.02 % across|99.51 % along",
     "print the sheet again|calibrate|--proof"},
    {"its correction", wrongly_corrected, &of_several, "Not true", "correction", "calibrate again"},
    {"a proof, alike", small, &a_proof, "Not true", "0.92 % too small", "with this page"},
    {"a proof, apart", apart, &a_proof, "Not true", "99.51 %", "with this page"},
    {"slanted", slanted, &of_several, "Not true", "slanted|5.2 mm over 1 m", "tray|calibrate"},
    {"ink spreads", spread, &of_several, "Not true", "lines|too wide|berth by 0.70 mm",
     "kind of paper|calibrate"},
    {"one line", one_wide, &of_several, "Not true", "sill|0.80 mm too narrow",
     "creased or dirty|scan it again|print the sheet again"},
    {"a bent line", bent, &of_several, "Not true", "kerb is bent by 1.4 mm", "flat"},
    {"a wrong distance", shifted, &of_several, "Not true",
     "the distance from quay to kerb|2.5 mm too large", "flat|print the sheet again"},
    {"in inches", in_inches, &of_several, "Not true", "0.10 in too large", "flat"},
    {"a stray mark", stray, &of_several, "Not true",
     "19 x 150 mm|does not belong there|312 mm from the left and 440 mm from the bottom of the "
     "page",
     "Clean|print the sheet again"},
    {"two of them", two_strays, &of_several, "Not true", "There is 1 more", "Clean"},
    {"missing paint", paint_missing, &of_several, "Not true", "paint is missing|312 mm",
     "print the sheet again"},
    {"a wrong colour", wrong_colour, &of_several, "Not true", "colour is wrong|312 mm",
     "in colour"},
    {"dust", dusty, &of_several, "Can't tell", "dust on the glass|312 mm",
     "Wipe the glass|scan again|print the sheet again"},
    {"dust", dusty_photograph, &of_several, "Can't tell", "dust", "Wipe the sheet|photograph"},
    {"a shadow", shady, &of_several, "Can't tell", "shadow", "flat|lid|scan again"},
    {"a shadow", shady_photograph, &of_several, "Can't tell", "shadow", "Light|photograph"},
    {"gloss", glossy, &of_several, "Can't tell", "reflection", "scan again|print the sheet"},
    {"gloss", glossy_photograph, &of_several, "Can't tell", "reflection", "another side"},
    {"a card, perhaps", like_a_card, &of_several, "Can't tell", "card|312 mm",
     "beside the sheet|print the sheet"},
    {"not seen", hidden, &of_several, "Can't tell", "surface", "grey or colour"},
    {"a card's outline", hidden_by_a_card, &of_several, "Can't tell", "hides a part",
     "clean it off"},
    {"not seen", hidden_in_photograph, &of_several, "Can't tell", "too little", "whole sheet"},
    {"a faint mark", faint_mark, &of_several, "Can't tell", "19 x 150 mm|allowed", "Clean"},
    {"whitened", whitened, &of_several, "Can't tell", "sea|white", "automatic correction"},
    {"too crowded", crowded, &of_several, "Can't tell", "more lines", "smaller sheets"},
    {"a broken line", broken, &of_several, "Can't tell", "berth|broken",
     "Look at the sheet|wipe the glass|print the sheet again"},
    {"bare", bare, &of_several, "Can't tell", "sea|bare", "Look at the sheet|flatbed"},
    {"covered", covered, &of_several, "Can't tell", "mole", "Uncover|print the sheet again"},
    {"a photograph", photograph, &of_several, "Can't tell", "photograph|how big",
     "bank card|photograph it again|P to Q (197 mm as drawn)|P to S (284 mm)|--measured"},
    {"without gauge marks", photograph_no_marks, &of_several, "Can't tell", "photograph|how big",
     "bank card|photograph it again"},
    {"a scan", no_reference, &of_several, "Can't tell", "how big",
     "bank card on the glass|scan again|P to Q (197 mm as drawn)"},
    {"a scan without gauge marks", scan_no_marks, &of_several, "Can't tell", "how big",
     "bank card on the glass|scan again"},
    {"disagreeing", disagreeing, &of_several, "Can't tell", "the scanner and the card disagree",
     "P to Q (197 mm as drawn)|steel rule"},
    {"disagreeing, no gauge marks", disagreeing_no_marks, &of_several, "Can't tell", "disagree",
     "another scanner"},
    {"a ruler disagrees", disagreeing_ruler, &of_several, "Can't tell",
     "the scanner and the ruler disagree", "once more|bank card"},
    {"a scanner's doubt", uncertain, &of_several, "Can't tell",
     "scan alone|the size|taking the flatbed to be true to 0.2 %",
     "bank card|scan it again|P to Q (197 mm as drawn)"},
    {"any scanner", uncertain, &untold, "Can't tell", "scan alone|the size",
     "--scanner flatbed|bank card"},
    {"any scanner, sent", uncertain, &sent, "Can't tell", "scan alone|the size",
     "Then say so to the organiser.|bank card"},
    {"any scanner, by page", uncertain, &by_page, "Can't tell", "scan alone|the size",
     "say so under \"How were they made?\", and measure it again.|bank card"},
    {"disagreeing, sent", disagreeing, &sent, "Can't tell", "disagree", "another scanner"},
    {"without gauge marks", uncertain_no_marks, &of_several, "Can't tell", "scan alone|the size",
     "bank card"},
    {"a card's doubt", uncertain_card, &of_several, "Can't tell", "the size|flatbed",
     "P to Q (197 mm as drawn)"},
    {"without gauge marks", uncertain_card_no_marks, &of_several, "Can't tell", "the size",
     "600 dpi|print the sheet again"},
    {"a card unused", unused_card, &of_several, "Can't tell", "the size|bank card|clearly",
     "plain place|scan it again"},
    {"a card unused", photograph_unused_card, &of_several, "Can't tell", "bank card|clearly",
     "plain place|photograph it again"},
    {"a card in either", unsure_card, &of_several, "Can't tell",
     "scanned or photographed|bank card", "as the scanner or the phone saved it"},
    {"a card in either", unsure_card_alone, &of_several, "Can't tell", "scanned or photographed",
     "as the scanner or the phone saved it"},
    {"a roll", uncertain_roll, &of_several, "Can't tell", "scan alone|the size",
     "P to Q (1322 mm as drawn)|steel tape|crosses|--measured"},
    {"a roll, sent", uncertain_roll, &sent, "Can't tell", "scan alone|the size",
     "P to Q (1322 mm as drawn)|steel tape|crosses|Send these lengths to the organiser."},
    {"a roll, by page", uncertain_roll, &by_page, "Can't tell", "scan alone|the size",
     "P to Q (1322 mm as drawn)|steel tape|crosses|Type them in"},
    {"a roll without reference", no_reference_roll, &sent, "Can't tell", "how big",
     "P to Q (1322 mm as drawn)|steel tape|Send these lengths to the organiser."},
    {"a roll, disagreeing", disagreeing_roll, &sent, "Can't tell", "disagree",
     "P to Q (1322 mm as drawn)|steel tape|Send these lengths to the organiser."},
    {"a roll without marks", uncertain_roll_no_marks, &untold, "Can't tell", "the size",
     "600 dpi|print the sheet again"},
    {"at its limit", at_its_limit, &of_several, "Can't tell",
     "the width of line quay|no measurement", "Print the sheet again"},
    {"not flat", wavy, &of_several, "Can't tell", "flat|quay", "under the lid"},
    {"not flat", wavy_photograph, &of_several, "Can't tell", "flat|quay", "straight above"},
    {"coarse", coarse, &of_several, "Can't tell", "fine|quay", "600 dpi"},
    {"blurred", blurred, &of_several, "Can't tell", "photograph|sharp", "closer"},
    {"unclean", unclean, &of_several, "Can't tell", "clean", "without sharpening"},
    {"chance", by_chance, &of_several, "Can't tell", "chance",
     "Scan it again|print the sheet again"},
    {"a good printer", nothing, &a_proof, "True", "no correction|flatbed to be true to 0.2 %",
     "as they are"},
    {"grey", gray, &of_several, "True", "to size|grey|colour", "greyscale|print it again"},
    {"blemished", blemished, &of_several, "True", "to size", "Look at"},
    {"nothing to measure", unmeasured, &of_several, "True", "None of its lines", "Look at"},
    {"thin lines", thin, &of_several, "True", "to size|None of its lines|coarse", "at 600 dpi"},
    {"a rough picture", rough, &of_several, "True", "to size|None of its lines|coarse",
     "at 300 dpi"},
    {"one sheet", nothing, &one_sheet, "True", "to size, taking the flatbed to be true to 0.2 %",
     "Use it."},
    {"one of several", nothing, &of_several, "True", "to size, taking the flatbed to be true",
     "same settings"},
};

#define N_CASES (sizeof cases / sizeof *cases)
#define ROWS    80

/* A row's words, with "$" and a letter for anything. */
static bool is_of(const char *words, const char *said)
{
    if (*words == '\0')
        return *said == '\0';
    if (*words != '$')
        return *words == *said && is_of(words + 1, said + 1);
    for (; *said != '\0'; said++)
        if (is_of(words + 2, said))
            return true;
    return is_of(words + 2, said);
}

/* Short sentences, no jargon, no hole left. */
static void assert_plain(const char *said)
{
    static const char *const jargon[] = {"mrad",    "U ",      "k =",      "uncertain", "toleranc",
                                         "conform", "nominal", "residual", "referenc",  "undecided",
                                         "  ",      "$",       ", ,",      " ."};
    for (size_t i = 0; i < sizeof jargon / sizeof *jargon; i++)
        ck_assert_msg(strstr(said, jargon[i]) == NULL, "\"%s\" in: %s", jargon[i], said);
    ck_assert_msg(said[strlen(said) - 1] == '.', "%s", said);
    ck_assert_msg(isupper((unsigned char)said[0]), "%s", said);
    size_t words = 1;
    for (; *said != '\0'; said++) {
        words += *said == ' ';
        if (*said == '.' && (said[1] == ' ' || said[1] == '\0')) {
            ck_assert_msg(words <= 30, "%zu words before: %s", words, said);
            words = 0;
        }
    }
}

START_TEST(every_situation_has_its_words)
{
    bool met[ROWS] = {false};
    setvbuf(stdout, NULL, _IOLBF, 0);
    for (size_t i = 0; i < N_CASES; i++) {
        pv_inspection in = true_sheet();
        cases[i].change(&in);
        ck_assert(pv_results_judge(&in, &tolerances));
        ck_assert(pv_answer_make(&in, cases[i].told));
        const char *answer = in.sheet.answer, *advice = in.sheet.advice;
        size_t lead = pv_answer_lead(answer);
        printf("    %-22s %s %s\n", cases[i].name, answer, advice);
        ck_assert_msg(strlen(cases[i].lead) == lead && strncmp(answer, cases[i].lead, lead) == 0,
                      "%s: %s", cases[i].name, answer);
        assert_says(answer, cases[i].answer);
        assert_says(advice, cases[i].advice);
        /* Another reference settles it, and the print may well be true. */
        ck_assert_msg(strstr(answer, "alone is not exact enough") == NULL ||
                          strstr(advice, "rint") == NULL,
                      "%s: %s", cases[i].name, advice);
        ck_assert_msg(in.sheet.page[0] < 1000 || strstr(advice, "bank card") == NULL, "%s", advice);
        assert_plain(answer);
        assert_plain(advice);
        for (size_t r = 0; pv_answer_row(r) != NULL; r++) {
            char all[1024] = "";
            for (int k = 0; k < PV_ADVICE_MAX && pv_answer_row(r)->advice[k] != NULL; k++)
                snprintf(all + strlen(all), sizeof all - strlen(all), "%s%s", k > 0 ? " " : "",
                         pv_answer_row(r)->advice[k]);
            if (is_of(pv_answer_row(r)->answer, answer) && is_of(all, advice))
                met[r] = true;
        }
        drop(&in);
    }
    size_t rows = 0, idle = 0;
    for (; pv_answer_row(rows) != NULL; rows++) {
        idle += !met[rows];
        if (!met[rows])
            printf("    not met: %s\n", pv_answer_row(rows)->answer);
    }
    /* The last of "Not true" and of "Can't tell" are for what no other fits. */
    say_worst("situations that no case meets", (double)idle, 2, "rows");
    ck_assert_uint_le(rows, ROWS);
    ck_assert_uint_le(idle, 2);
}
END_TEST

/* In another language each situation has all its words, and begins with its verdict. */
START_TEST(every_situation_is_said_in_german)
{
    static const char *const leads[] = {"In Ordnung", "Nicht in Ordnung", "Unklar"};
    const pv_language *german = pv_language_find("de");
    for (size_t i = 0; i < N_CASES; i++) {
        pv_inspection in = true_sheet();
        in.sheet.language = german;
        cases[i].change(&in);
        ck_assert(pv_results_judge(&in, &tolerances));
        ck_assert(pv_answer_make(&in, cases[i].told));
        const char *answer = in.sheet.answer, *advice = in.sheet.advice;
        const char *wanted = leads[in.sheet.verdict == PV_CONFORMS           ? 0
                                   : in.sheet.verdict == PV_DOES_NOT_CONFORM ? 1
                                                                             : 2];
        printf("    %-22s %s %s\n", cases[i].name, answer, advice);
        ck_assert_uint_eq(pv_answer_lead(answer), strlen(wanted));
        ck_assert_int_eq(strncmp(answer, wanted, strlen(wanted)), 0);
        ck_assert_ptr_null(strchr(answer, '$'));
        ck_assert_ptr_null(strchr(advice, '$'));
        ck_assert_msg(strstr(advice, " the ") == NULL, "%s", advice);
        drop(&in);
    }
}
END_TEST

/* Whatever else is the case, nothing is called true that isn't judged so, and a picture without a
 * reference never is. */
START_TEST(the_lead_is_the_verdict)
{
    for (size_t i = 0; i < N_CASES; i++)
        for (size_t k = 0; k < N_CASES; k++) {
            pv_inspection in = true_sheet();
            cases[i].change(&in);
            if (k != i)
                cases[k].change(&in);
            ck_assert(pv_results_judge(&in, &tolerances));
            ck_assert(pv_answer_make(&in, cases[k].told));
            bool is_true = strncmp(in.sheet.answer, "True", 4) == 0;
            ck_assert_int_eq(is_true, in.sheet.verdict == PV_CONFORMS);
            ck_assert(!(is_true && in.sheet.reference == PV_REFERENCE_NONE));
            ck_assert_int_eq(strncmp(in.sheet.answer, "Not true", 8) == 0,
                             in.sheet.verdict == PV_DOES_NOT_CONFORM);
            assert_plain(in.sheet.answer);
            assert_plain(in.sheet.advice);
            drop(&in);
        }
}
END_TEST

/* A scan asks for the kind of its scanner where that alone may decide it: undecided by its scale,
 * no kind stated, and nothing else that tells the size. */
START_TEST(a_scanners_kind_is_asked_for_where_it_may_decide)
{
    static const struct {
        void (*change)(pv_inspection *in);
        const pv_answer_told *told;
        bool asks;
    } asked[] = {
        {uncertain, &untold, true},       {uncertain, &sent, true},
        {uncertain, &of_several, false},  {uncertain, &one_sheet, false},
        {uncertain_card, &untold, false}, {nothing, &untold, false},
        {small, &untold, false},          {photograph, &untold, false},
        {no_reference, &untold, false},   {hidden, &untold, false},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        pv_inspection in = true_sheet();
        asked[i].change(&in);
        ck_assert(pv_results_judge(&in, &tolerances));
        ck_assert(pv_answer_make(&in, asked[i].told));
        ck_assert_msg(in.sheet.asks_scanner == asked[i].asks, "%zu: %s %s", i, in.sheet.answer,
                      in.sheet.advice);
        ck_assert(!asked[i].asks || strstr(in.sheet.advice, "flatbed's glass?") != NULL);
        drop(&in);
    }
}
END_TEST

START_TEST(a_picture_that_is_no_use_says_why)
{
    pv_inspection in = {0};
    ck_assert(pv_answer_error(&in, "no tag was found", "lay the sheet flat"));
    ck_assert_str_eq(in.sheet.error, "no tag was found: lay the sheet flat");
    ck_assert_str_eq(in.sheet.answer, "Can't use this picture: no tag was found.");
    ck_assert_str_eq(in.sheet.advice, "Lay the sheet flat.");
    pv_free((char *)in.sheet.error);
    drop(&in);
    pv_inspection *none = pv_inspection_unread("gone.png", "cannot open it", NULL);
    ck_assert_str_eq(none->sheet.answer, "Can't use this picture: cannot open it.");
    assert_plain(none->sheet.advice);
    pv_inspection_free(none);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("answer");
    TCase *tcase = tcase_create("answer");
    tcase_add_test(tcase, every_situation_has_its_words);
    tcase_add_test(tcase, every_situation_is_said_in_german);
    tcase_add_test(tcase, the_lead_is_the_verdict);
    tcase_add_test(tcase, a_scanners_kind_is_asked_for_where_it_may_decide);
    tcase_add_test(tcase, a_picture_that_is_no_use_says_why);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
