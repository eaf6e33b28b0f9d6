/* A certificate's code. */
#include "base/words.h"
#include "judge/how.h"
#include "report/certified.h"

#include <stdlib.h>
#include <string.h>

#define GROUPS  4
#define LETTERS 4 /* of a group, 5 bits each */
#define ALL     (GROUPS * LETTERS)

static const char letters[] = PV_CLEAR_LETTERS;

/* ---- letters ---- */

/* The last letter's value, over the others': a polynomial's remainder over the field of 32 elements
 * (x^5 + x^2 + 1, whose root generates it), so that any one wrong letter and any two that changed
 * places show. */
static unsigned check_of(const unsigned char value[ALL - 1])
{
    unsigned sum = 0;
    for (int i = 0; i < ALL - 1; i++) {
        sum = (sum ^ value[i]) << 1;
        sum ^= (sum & 32) != 0 ? 0x25 : 0;
    }
    return sum;
}

static pv_code written(const unsigned char value[ALL])
{
    pv_code code = {""};
    for (size_t i = 0, at = 0; i < ALL; i++) {
        if (i > 0 && i % LETTERS == 0)
            code.chars[at++] = '-';
        code.chars[at++] = letters[value[i]];
    }
    return code;
}

bool pv_code_parse(const char *text, pv_code *code)
{
    unsigned char value[ALL] = {0};
    size_t n = 0;
    *code = (pv_code){""};
    for (; *text != '\0'; text++) {
        char c = pv_capital(*text);
        if (c == '-' || c == ' ')
            continue;
        c = c == 'O' ? '0' : c == 'I' || c == 'L' ? '1' : c;
        const char *at = strchr(letters, c);
        if (at == NULL || n == ALL)
            return false;
        value[n++] = (unsigned char)(at - letters);
    }
    if (n != ALL || check_of(value) != value[ALL - 1])
        return false;
    *code = written(value);
    return true;
}

/* ---- sums ---- */

/* The first letters of a text's SHA-256. */
static void sum_up(const pv_text *text, unsigned char value[LETTERS])
{
    char hex[PV_SHA256_HEX], start[6] = "";
    pv_sha256(text->chars, text->length, hex);
    memcpy(start, hex, 5);
    unsigned long bits = strtoul(start, NULL, 16);
    for (int i = 0; i < LETTERS; i++)
        value[i] = (unsigned char)(bits >> (15 - 5 * i) & 31);
}

static void add_picture(pv_text *text, const char *sha256, size_t page)
{
    pv_text_add(text, "pavior certificate\npicture %s page %zu\n", sha256, page);
}

static size_t page_of(const pv_inspection *in)
{
    return in->sheet.picture > 0 ? in->sheet.picture : 1;
}

static void add_value(pv_text *text, const pv_value *value)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    pv_text_add(text, "%s %s %s: %s", kind->name, value->name, value->to,
                pv_verdict_name(value->verdict));
    if (value->measured)
        pv_text_add(text, " %s +-%s", pv_fixed(kind->factor * value->value, kind->decimals).chars,
                    pv_fixed(kind->factor * value->U, kind->decimals).chars);
    pv_text_add(text, ", %s within %s\n",
                pv_fixed(kind->factor * value->nominal, kind->decimals).chars,
                pv_fixed(kind->factor * value->tolerance, kind->decimals).chars);
}

/* All that the page states, as it is rounded there. */
static void add_answer(pv_text *text, const pv_inspection *in)
{
    pv_certified rows[PV_CERTIFIED_MAX];
    size_t n = pv_certified_rows(in, rows), of[3] = {0, 0, 0}, marks = 0;
    for (size_t i = 0; i < in->table.n_values; i++)
        of[in->table.values[i].verdict] += in->table.values[i].counts;
    for (size_t i = 0; i < in->table.n_marks; i++)
        marks += in->table.marks[i].verdict != PV_CONFORMS;
    pv_text_add(text, "%s by %s\n%zu %zu %zu %zu\n", pv_verdict_name(in->sheet.verdict),
                pv_reference_name(in->sheet.reference), of[0], of[1], of[2], marks);
    for (size_t i = 0; i < n; i++)
        add_value(text, rows[i].value);
}

pv_code pv_inspection_code(const pv_inspection *in)
{
    unsigned char value[ALL];
    pv_text text = PV_TEXT_INIT;
    if (in->sheet.error != NULL || in->sha256[0] == '\0')
        return (pv_code){""};
    add_picture(&text, in->sha256, page_of(in));
    bool good = !text.failed;
    for (int group = 0; good && group < GROUPS; group++) {
        if (group == 1)
            pv_text_add(&text, "kit %s sheet %s\n", in->kit.chars, in->sheet.sheet);
        else if (group == 2)
            pv_how_text(&text, &in->how);
        else if (group == 3)
            add_answer(&text, in);
        good = !text.failed;
        if (good)
            sum_up(&text, value + group * LETTERS);
    }
    pv_text_drop(&text);
    if (!good)
        return (pv_code){""};
    value[ALL - 1] = (unsigned char)check_of(value);
    return written(value);
}

/* Whether a code begins as that of this picture. */
static bool begins_with(const pv_code *code, const char *sha256, size_t page)
{
    unsigned char value[ALL] = {0};
    pv_text text = PV_TEXT_INIT;
    add_picture(&text, sha256, page);
    bool good = !text.failed;
    if (good)
        sum_up(&text, value);
    pv_text_drop(&text);
    return good && strncmp(written(value).chars, code->chars, LETTERS) == 0;
}

size_t pv_code_page(const pv_code *code, const unsigned char *bytes, size_t size, size_t from)
{
    char hex[PV_SHA256_HEX];
    size_t pages = pv_image_pages(bytes, size);
    pv_sha256(bytes, size, hex);
    for (; from < pages; from++)
        if (begins_with(code, hex, from + 1))
            return from;
    return SIZE_MAX;
}

pv_code_match pv_code_compare(const pv_code *code, const pv_inspection *in)
{
    pv_code own = pv_inspection_code(in);
    if (!begins_with(code, in->sha256, page_of(in)))
        return PV_CODE_OTHER_PICTURE;
    int same = 1;
    while (same < GROUPS &&
           strncmp(code->chars, own.chars, (size_t)(same + 1) * (LETTERS + 1) - 1) == 0)
        same++;
    return (pv_code_match)same;
}
