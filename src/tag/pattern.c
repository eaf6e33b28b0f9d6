#include "tag/tag.h"

#include <apriltag/apriltag.h>
#include <apriltag/tagStandard41h12.h>

#define WORD_BITS  9
#define WORD_MASK  ((1u << WORD_BITS) - 1)
#define WORDS      3 /* that carry data; the last place carries their check */
#define OUR_IDS    ((unsigned)PV_TAG_PLACES << WORD_BITS)
#define SHEET_MASK ((1u << PV_SHEET_BITS) - 1)
#define PRINT_MASK ((1u << PV_FINGERPRINT_BITS) - 1)

_Static_assert(PV_SHEET_BITS + PV_FINGERPRINT_BITS == WORDS * WORD_BITS, "the words are full");
_Static_assert(OUR_IDS <= PV_TAG_IDS, "every id has a pattern");

bool pv_tag_cells(unsigned id, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], pv_diags *diags)
{
    if (id >= PV_TAG_IDS) {
        pv_fail(diags, PV_CAUSE_DATA, "no tag has the number %u; the last is %u", id,
                PV_TAG_IDS - 1);
        return false;
    }
    apriltag_family_t *family = tagStandard41h12_create();
    image_u8_t *image = family != NULL ? apriltag_to_image(family, (int)id) : NULL;
    bool good = image != NULL && image->width == PV_TAG_CELLS && image->height == PV_TAG_CELLS;
    for (int row = 0; good && row < PV_TAG_CELLS; row++)
        for (int column = 0; column < PV_TAG_CELLS; column++)
            cells[row][column] = image->buf[row * image->stride + column] < 128;
    if (!good)
        pv_fail(diags, PV_CAUSE_LIBRARY, "the tag library gave no pattern for the number %u", id);
    if (image != NULL)
        image_u8_destroy(image);
    if (family != NULL)
        tagStandard41h12_destroy(family);
    return good;
}

unsigned pv_tag_id(unsigned sheet, unsigned fingerprint, unsigned place)
{
    unsigned bits = (fingerprint & PRINT_MASK) << PV_SHEET_BITS | (sheet & (2 * SHEET_MASK + 1));
    unsigned check = 0, word = 0;
    for (unsigned i = 0; i < WORDS; i++) {
        unsigned one = bits >> (i * WORD_BITS) & WORD_MASK;
        check ^= one;
        if (i == place)
            word = one;
    }
    return place << WORD_BITS | (place < WORDS ? word : check);
}

bool pv_tag_many(size_t sheets)
{
    return sheets > SHEET_MASK + 1;
}

unsigned pv_tag_fingerprint(size_t sheets, unsigned fingerprint)
{
    return pv_tag_many(sheets) ? fingerprint & ~1u : fingerprint;
}

void pv_tag_put_right(size_t sheets, unsigned *sheet, unsigned *fingerprint)
{
    if (!pv_tag_many(sheets))
        return;
    *sheet |= (*fingerprint & 1) << PV_SHEET_BITS;
    *fingerprint &= ~1u;
}

unsigned pv_tag_place(unsigned id)
{
    return id >> WORD_BITS;
}

pv_tag_reading pv_tag_read(const unsigned *ids, size_t n, unsigned *sheet, unsigned *fingerprint)
{
    unsigned word[PV_TAG_PLACES] = {0}, all = 0;
    bool seen[PV_TAG_PLACES] = {false};
    int places = 0;
    for (size_t i = 0; i < n; i++) {
        if (ids[i] >= OUR_IDS)
            continue;
        unsigned place = pv_tag_place(ids[i]);
        if (seen[place])
            return PV_TAGS_DISAGREE;
        seen[place] = true;
        word[place] = ids[i] & WORD_MASK;
        all ^= word[place];
        places++;
    }
    if (places < WORDS)
        return PV_TAGS_TOO_FEW;
    if (places == PV_TAG_PLACES && all != 0)
        return PV_TAGS_DISAGREE;
    /* The exclusive or of all four words is zero, so the three that were seen give the fourth. */
    for (int i = 0; i < WORDS; i++)
        if (!seen[i])
            word[i] = all;
    unsigned bits = word[0] | word[1] << WORD_BITS | word[2] << (2 * WORD_BITS);
    *sheet = bits & SHEET_MASK;
    *fingerprint = bits >> PV_SHEET_BITS;
    return PV_TAGS_READ;
}
