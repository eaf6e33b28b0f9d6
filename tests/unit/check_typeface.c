#include "common.h"

#include "base/typeface.h"

#include <hpdf.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

/* UTF-8 of a Unicode character below 0x10000. */
static void put_utf8(unsigned code, char out[4])
{
    int n = 0;
    if (code < 0x80) {
        out[n++] = (char)code;
    } else if (code < 0x800) {
        out[n++] = (char)(0xC0 | code >> 6);
        out[n++] = (char)(0x80 | (code & 0x3F));
    } else {
        out[n++] = (char)(0xE0 | code >> 12);
        out[n++] = (char)(0x80 | (code >> 6 & 0x3F));
        out[n++] = (char)(0x80 | (code & 0x3F));
    }
    out[n] = '\0';
}

/* Every character that the typeface has, against the metrics that libharu carries of the same
 * standard fonts. */
START_TEST(widths_are_those_of_libharu)
{
    HPDF_Doc pdf = HPDF_New(NULL, NULL);
    unsigned seen = 0;
    for (int bold = 0; bold < 2; bold++) {
        HPDF_Font font =
            HPDF_GetFont(pdf, bold ? "Helvetica-Bold" : "Helvetica", "WinAnsiEncoding");
        ck_assert_ptr_nonnull(font);
        for (unsigned code = 1; code < 0x10000; code++) {
            char text[4];
            unsigned char byte[4];
            put_utf8(code, text);
            if (!pv_winansi(text, byte, NULL))
                continue;
            ck_assert_uint_eq(strlen((char *)byte), 1);
            double theirs = HPDF_Font_TextWidth(font, byte, 1).width / 1000.0;
            ck_assert_msg(fabs(pv_text_ems(text, bold) - theirs) < 1e-12, "U+%04X %s", code,
                          bold ? "bold" : "regular");
            /* and the code is the one that libharu's own encoder knows for this character */
            ck_assert_msg(
                HPDF_Encoder_GetUnicode(HPDF_GetEncoder(pdf, "WinAnsiEncoding"), byte[0]) == code ||
                    code == 0xA0 || code == 0xAD,
                "U+%04X is not code 0x%02X", code, byte[0]);
            seen++;
        }
    }
    ck_assert_uint_eq(seen, 2 * (95 + 27 + 96)); /* ASCII, 0x80 to 0x9F less five, Latin 1 */
    HPDF_Free(pdf);
}
END_TEST

/* ASCII against the metrics of another maker's compatible fonts, where they are installed. */
START_TEST(widths_are_those_of_a_compatible_font)
{
    static const char *const names[] = {"/usr/share/fonts/type1/urw-base35/NimbusSans-Regular.afm",
                                        "/usr/share/fonts/type1/urw-base35/NimbusSans-Bold.afm"};
    for (int bold = 0; bold < 2; bold++) {
        FILE *afm = fopen(names[bold], "r");
        if (afm == NULL) {
            printf("    %s is not installed: not compared\n", names[bold]);
            continue;
        }
        char line[512];
        int seen = 0;
        while (fgets(line, sizeof line, afm) != NULL) {
            int code = 0, width = 0;
            if (sscanf(line, "C %d ; WX %d ;", &code, &width) != 2 || code < 0x20 || code > 0x7E)
                continue;
            if (code == '\'' || code == '`') /* curly in the standard encoding (ISO 32000-1, D.2) */
                continue;
            char text[2] = {(char)code, '\0'};
            ck_assert_msg(fabs(pv_text_ems(text, bold) * 1000 - width) < 1e-9, "code %d", code);
            seen++;
        }
        fclose(afm);
        ck_assert_int_eq(seen, 93);
    }
}
END_TEST

START_TEST(texts_add_up)
{
    /* 667 + 556 from the published metrics */
    ck_assert(fabs(pv_text_ems("A1", false) - 1.223) < 1e-12);
    ck_assert(fabs(pv_text_ems("", true)) < 1e-12);
    ck_assert(fabs(pv_text_ems("\xE2\x82\xAC", false) - 0.556) < 1e-12); /* euro */
    ck_assert(fabs(pv_text_ems("\xD0\x96", false) - 0.556) < 1e-12);     /* not in the typeface */
}
END_TEST

START_TEST(what_the_typeface_lacks_is_found)
{
    static const struct {
        const char *text;
        size_t bad;
    } cases[] = {
        {"ab\xD0\x96", 2},       /* Cyrillic */
        {"a\tb", 1},             /* a control character */
        {"\x7F", 0},             /* another */
        {"\xC2\x80", 0},         /* U+0080, no character of WinAnsi although 0x80 is */
        {"\xC0\xAF", 0},         /* overlong */
        {"x\xE2\x82", 1},        /* cut short */
        {"\xED\xA0\x80", 0},     /* a surrogate */
        {"\xF0\x9F\x99\x82", 0}, /* beyond the basic plane */
        {"\xFF", 0},             /* never in UTF-8 */
        {"ok\x80", 2},           /* a stray continuation byte */
        {"\xF4\x90\x80\x80", 0}, /* past U+10FFFF */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        unsigned char out[32];
        size_t bad = 99;
        ck_assert_msg(!pv_winansi(cases[i].text, out, &bad), "case %zu", i);
        ck_assert_msg(bad == cases[i].bad, "case %zu: %zu", i, bad);
        ck_assert(pv_text_ems(cases[i].text, false) >= 0);
    }
    unsigned char out[32];
    ck_assert(pv_winansi("m\xC3\xBC\xC3\x9F \xE2\x80\x93 \xE2\x82\xAC", out, NULL));
    ck_assert_str_eq((char *)out, "m\xFC\xDF \x96 \x80");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("typeface");
    TCase *tcase = tcase_create("typeface");
    tcase_add_test(tcase, widths_are_those_of_libharu);
    tcase_add_test(tcase, widths_are_those_of_a_compatible_font);
    tcase_add_test(tcase, texts_add_up);
    tcase_add_test(tcase, what_the_typeface_lacks_is_found);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
