/* The table of sheet sizes. Names and sizes are those of PWG 5101.1-2013 (Media Standardized
 * Names), which takes them from ISO 216 (A, B), ISO 5457's printing stock (RA, SRA: ISO 217), JIS P
 * 0138 (B JIS) and ASME Y14.1 (ANSI). */
#include "paper/table.h"

#define MM(name, everyday, w, h)                                                                   \
    {                                                                                              \
        name, everyday, w, h                                                                       \
    }
#define IN(name, everyday, w, h)                                                                   \
    {                                                                                              \
        name, everyday, (w)*25.4, (h)*25.4                                                         \
    }

static const pv_paper papers[] = {
    MM("iso_a0_841x1189mm", "A0", 841, 1189),
    MM("iso_a1_594x841mm", "A1", 594, 841),
    MM("iso_a2_420x594mm", "A2", 420, 594),
    MM("iso_a3_297x420mm", "A3", 297, 420),
    MM("iso_a4_210x297mm", "A4", 210, 297),
    MM("iso_a5_148x210mm", "A5", 148, 210),
    MM("iso_a6_105x148mm", "A6", 105, 148),
    MM("iso_a7_74x105mm", "A7", 74, 105),
    MM("iso_a8_52x74mm", "A8", 52, 74),
    MM("iso_a9_37x52mm", "A9", 37, 52),
    MM("iso_a10_26x37mm", "A10", 26, 37),
    MM("iso_2a0_1189x1682mm", "2A0", 1189, 1682),
    MM("iso_b0_1000x1414mm", "B0", 1000, 1414),
    MM("iso_b1_707x1000mm", "B1", 707, 1000),
    MM("iso_b2_500x707mm", "B2", 500, 707),
    MM("iso_b3_353x500mm", "B3", 353, 500),
    MM("iso_b4_250x353mm", "B4", 250, 353),
    MM("iso_b5_176x250mm", "B5", 176, 250),
    MM("iso_b6_125x176mm", "B6", 125, 176),
    MM("iso_b7_88x125mm", "B7", 88, 125),
    MM("iso_b8_62x88mm", "B8", 62, 88),
    MM("iso_b9_44x62mm", "B9", 44, 62),
    MM("iso_b10_31x44mm", "B10", 31, 44),
    MM("iso_ra0_860x1220mm", "RA0", 860, 1220),
    MM("iso_ra1_610x860mm", "RA1", 610, 860),
    MM("iso_ra2_430x610mm", "RA2", 430, 610),
    MM("iso_ra3_305x430mm", "RA3", 305, 430),
    MM("iso_ra4_215x305mm", "RA4", 215, 305),
    MM("iso_sra0_900x1280mm", "SRA0", 900, 1280),
    MM("iso_sra1_640x900mm", "SRA1", 640, 900),
    MM("iso_sra2_450x640mm", "SRA2", 450, 640),
    MM("iso_sra3_320x450mm", "SRA3", 320, 450),
    MM("iso_sra4_225x320mm", "SRA4", 225, 320),
    MM("jis_b0_1030x1456mm", "B0 JIS", 1030, 1456),
    MM("jis_b1_728x1030mm", "B1 JIS", 728, 1030),
    MM("jis_b2_515x728mm", "B2 JIS", 515, 728),
    MM("jis_b3_364x515mm", "B3 JIS", 364, 515),
    MM("jis_b4_257x364mm", "B4 JIS", 257, 364),
    MM("jis_b5_182x257mm", "B5 JIS", 182, 257),
    MM("jis_b6_128x182mm", "B6 JIS", 128, 182),
    MM("jis_b7_91x128mm", "B7 JIS", 91, 128),
    MM("jis_b8_64x91mm", "B8 JIS", 64, 91),
    MM("jis_b9_45x64mm", "B9 JIS", 45, 64),
    MM("jis_b10_32x45mm", "B10 JIS", 32, 45),
    IN("na_letter_8.5x11in", "letter", 8.5, 11),
    IN("na_legal_8.5x14in", "legal", 8.5, 14),
    IN("na_ledger_11x17in", "tabloid", 11, 17),
    IN("na_executive_7.25x10.5in", "executive", 7.25, 10.5),
    IN("na_invoice_5.5x8.5in", "statement", 5.5, 8.5),
    IN("na_govt-letter_8x10in", "government letter", 8, 10),
    IN("na_foolscap_8.5x13in", "foolscap", 8.5, 13),
    IN("na_oficio_8.5x13.4in", "oficio", 8.5, 13.4),
    IN("na_super-a_8.94x14in", "super A", 8.94, 14),
    IN("na_super-b_13x19in", "super B", 13, 19),
    IN("na_c_17x22in", "ANSI C", 17, 22),
    IN("na_d_22x34in", "ANSI D", 22, 34),
    IN("na_e_34x44in", "ANSI E", 34, 44),
    IN("asme_f_28x40in", "ANSI F", 28, 40),
    IN("na_arch-a_9x12in", "ARCH A", 9, 12),
    IN("na_arch-b_12x18in", "ARCH B", 12, 18),
    IN("na_arch-c_18x24in", "ARCH C", 18, 24),
    IN("na_arch-d_24x36in", "ARCH D", 24, 36),
    IN("na_arch-e_36x48in", "ARCH E", 36, 48),
    IN("na_wide-format_30x42in", "ARCH E1", 30, 42),
};

#define N_PAPERS (sizeof papers / sizeof *papers)

static const pv_paper_alias aliases[] = {
    {"ANSI A", "na_letter_8.5x11in"},    {"US letter", "na_letter_8.5x11in"},
    {"US legal", "na_legal_8.5x14in"},   {"ledger", "na_ledger_11x17in"},
    {"ANSI B", "na_ledger_11x17in"},     {"half letter", "na_invoice_5.5x8.5in"},
    {"invoice", "na_invoice_5.5x8.5in"}, {"A3+", "na_super-b_13x19in"},
    {"super A3", "na_super-b_13x19in"},  {"A+", "na_super-a_8.94x14in"},
};

size_t pv_paper_count(void)
{
    return N_PAPERS;
}

const pv_paper *pv_paper_at(size_t index)
{
    return index < N_PAPERS ? &papers[index] : NULL;
}

const pv_paper_alias *pv_paper_alias_at(size_t index)
{
    return index < sizeof aliases / sizeof *aliases ? &aliases[index] : NULL;
}
