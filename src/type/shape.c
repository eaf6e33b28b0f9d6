/* A line of text into glyphs: the order of directions by FriBidi, runs of one face, script and
 * direction by HarfBuzz. The language is left open, so that the locale decides nothing. */
#include "base/memory.h"
#include "base/words.h"
#include "type/face.h"

#include <fribidi.h>

#include <stdlib.h>
#include <string.h>

#define RIGHT_TO_LEFT_FROM 0x590u /* Hebrew is the first: before it every level is 0 */

typedef struct letter {
    size_t at; /* byte in the text */
    unsigned face;
    hb_script_t script;
} letter;

typedef struct run {
    size_t first, end; /* letters */
    FriBidiLevel level;
} run;

typedef struct line {
    const pv_type *type;
    bool bold;
    uint32_t *code;
    letter *letters; /* one more at the end, with `at` */
    FriBidiLevel *level;
    size_t n;
    run *runs;
    size_t n_runs;
} line;

static void drop_line(line *l)
{
    free(l->code);
    free(l->letters);
    free(l->level);
    free(l->runs);
}

/* Malformed bytes count as one missing character each. */
static bool read_line(line *l, const char *utf8)
{
    size_t length = strlen(utf8);
    l->code = PV_NEW_ARRAY(length, uint32_t);
    l->letters = PV_NEW_ARRAY(length + 1, letter);
    l->level = PV_NEW_ARRAY(length, FriBidiLevel);
    l->runs = PV_NEW_ARRAY(length, run);
    if (l->code == NULL || l->letters == NULL || l->level == NULL || l->runs == NULL)
        return false;
    for (size_t at = 0; at < length;) {
        size_t step = pv_utf8_decode(utf8 + at, length - at, &l->code[l->n]);
        l->letters[l->n++].at = at;
        at += step > 0 ? step : 1;
    }
    l->letters[l->n].at = length;
    return true;
}

/* ---- faces and scripts ---- */

/* What belongs to the letter before it. */
static bool follows(uint32_t code)
{
    hb_unicode_general_category_t kind =
        hb_unicode_general_category(hb_unicode_funcs_get_default(), code);
    return kind == HB_UNICODE_GENERAL_CATEGORY_NON_SPACING_MARK ||
           kind == HB_UNICODE_GENERAL_CATEGORY_SPACING_MARK ||
           kind == HB_UNICODE_GENERAL_CATEGORY_ENCLOSING_MARK || pv_joins(code);
}

static unsigned face_for(const line *l, size_t i)
{
    const pv_type *type = l->type;
    uint32_t code = l->code[i];
    if (i > 0 && follows(code) &&
        (pv_joins(code) || pv_face_has(&type->face[l->letters[i - 1].face], code)))
        return l->letters[i - 1].face;
    for (unsigned f = 0; f < type->n_families; f++)
        for (int k = l->bold; k >= 0; k--)
            if (pv_face_has(&type->face[type->family[f].face[k]], code))
                return type->family[f].face[k];
    return type->family[0].face[l->bold];
}

/* What several scripts share takes that of the letter before it, or of the first that has one. */
static void find_scripts(line *l)
{
    hb_unicode_funcs_t *unicode = hb_unicode_funcs_get_default();
    hb_script_t now = HB_SCRIPT_COMMON;
    for (size_t i = 0; i < l->n; i++) {
        hb_script_t own = hb_unicode_script(unicode, l->code[i]);
        if (own != HB_SCRIPT_COMMON && own != HB_SCRIPT_INHERITED && own != HB_SCRIPT_UNKNOWN) {
            for (size_t k = i; now == HB_SCRIPT_COMMON && k > 0; k--)
                l->letters[k - 1].script = own;
            now = own;
        }
        l->letters[i].script = now;
    }
}

/* ---- directions ---- */

static bool find_levels(line *l)
{
    bool plain = true;
    for (size_t i = 0; i < l->n; i++)
        plain = plain && l->code[i] < RIGHT_TO_LEFT_FROM;
    if (plain)
        return true;
    FriBidiStrIndex n = (FriBidiStrIndex)l->n;
    FriBidiCharType *types = PV_NEW_ARRAY(l->n, FriBidiCharType);
    FriBidiBracketType *brackets = PV_NEW_ARRAY(l->n, FriBidiBracketType);
    FriBidiParType base = FRIBIDI_PAR_ON;
    bool good = types != NULL && brackets != NULL;
    if (good) {
        fribidi_get_bidi_types(l->code, n, types);
        fribidi_get_bracket_types(l->code, n, types, brackets);
        good = fribidi_get_par_embedding_levels_ex(types, brackets, n, &base, l->level) > 0;
    }
    free(types);
    free(brackets);
    return good;
}

/* UAX 9, rule L2: from the highest level down to the lowest odd one, turn round what lies at that
 * level or higher. */
static void reorder(line *l)
{
    FriBidiLevel most = 0;
    for (size_t i = 0; i < l->n_runs; i++)
        most = l->runs[i].level > most ? l->runs[i].level : most;
    for (FriBidiLevel level = most; level > 0; level--)
        for (size_t i = 0; i < l->n_runs; i++) {
            size_t end = i;
            while (end < l->n_runs && l->runs[end].level >= level)
                end++;
            for (size_t a = i, b = end; a + 1 < b; a++, b--) {
                run keep = l->runs[a];
                l->runs[a] = l->runs[b - 1];
                l->runs[b - 1] = keep;
            }
            i = end > i ? end : i;
        }
}

static void find_runs(line *l)
{
    for (size_t i = 0; i < l->n; i++) {
        const letter *a = &l->letters[i];
        bool same = i > 0 && a->face == a[-1].face && a->script == a[-1].script &&
                    l->level[i] == l->level[i - 1];
        if (!same)
            l->runs[l->n_runs++] = (run){i, i, l->level[i]};
        l->runs[l->n_runs - 1].end = i + 1;
    }
    reorder(l);
}

/* ---- glyphs ---- */

/* Where the cluster that begins with glyph k ends, as a letter: at the next higher cluster of the
 * run. Clusters are in order, from right to left the highest first. */
static size_t cluster_end(const run *r, const hb_glyph_info_t *info, unsigned n, unsigned k)
{
    if (r->level % 2 != 0)
        return k > 0 ? info[k - 1].cluster : r->end;
    unsigned next = k + 1;
    while (next < n && info[next].cluster == info[k].cluster)
        next++;
    return next < n ? info[next].cluster : r->end;
}

static void add_ink(pv_setting *out, const pv_face *face, pv_glyph *glyph)
{
    hb_glyph_extents_t e;
    glyph->ink = pv_box_none();
    if (!hb_font_get_glyph_extents(face->font, glyph->id, &e) || (e.width == 0 && e.height == 0))
        return;
    pv_vec a = pv_v(e.x_bearing / face->em, e.y_bearing / face->em);
    pv_vec b = pv_add(a, pv_v(e.width / face->em, e.height / face->em));
    glyph->ink = pv_box_add(pv_box_add(glyph->ink, pv_add(glyph->at, a)), pv_add(glyph->at, b));
    out->ink = pv_box_add(pv_box_add(out->ink, glyph->ink.lo), glyph->ink.hi);
}

static bool add_glyphs(const line *l, const run *r, hb_buffer_t *buffer, pv_setting *out)
{
    unsigned n = 0;
    const hb_glyph_info_t *info = hb_buffer_get_glyph_infos(buffer, &n);
    const hb_glyph_position_t *place = hb_buffer_get_glyph_positions(buffer, &n);
    unsigned index = l->letters[r->first].face;
    const pv_face *face = &l->type->face[index];
    for (unsigned k = 0; k < n; k++) {
        if (!PV_GROW(out->glyphs, out->n, out->cap))
            return false;
        bool again = k > 0 && info[k].cluster == info[k - 1].cluster;
        size_t from = info[k].cluster, to = again ? from : cluster_end(r, info, n, k);
        pv_glyph *glyph = &out->glyphs[out->n++];
        *glyph = (pv_glyph){.face = index, .id = info[k].codepoint};
        glyph->from = l->letters[from].at;
        glyph->to = l->letters[to].at;
        glyph->at = pv_v(out->width + place[k].x_offset / face->em, place[k].y_offset / face->em);
        glyph->advance = place[k].x_advance / face->em;
        out->width += glyph->advance;
        out->plain = out->plain && (!again || r->level % 2 != 0);
        add_ink(out, face, glyph);
    }
    return true;
}

static bool shape_run(const line *l, const run *r, hb_buffer_t *buffer, pv_setting *out)
{
    /* Letters stay single, as on a sign; what a script can't do without isn't touched by this. */
    static const hb_feature_t features[] = {
        {HB_TAG('l', 'i', 'g', 'a'), 0, HB_FEATURE_GLOBAL_START, HB_FEATURE_GLOBAL_END},
        {HB_TAG('c', 'l', 'i', 'g'), 0, HB_FEATURE_GLOBAL_START, HB_FEATURE_GLOBAL_END},
    };
    hb_buffer_clear_contents(buffer);
    hb_buffer_add_utf32(buffer, l->code, (int)l->n, (unsigned)r->first, (int)(r->end - r->first));
    hb_buffer_set_direction(buffer, r->level % 2 != 0 ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
    hb_buffer_set_script(buffer, l->letters[r->first].script);
    hb_buffer_set_language(buffer, hb_language_from_string("und", -1));
    hb_buffer_set_cluster_level(buffer, HB_BUFFER_CLUSTER_LEVEL_MONOTONE_CHARACTERS);
    hb_shape(l->type->face[l->letters[r->first].face].font, buffer, features,
             sizeof features / sizeof *features);
    return hb_buffer_allocation_successful(buffer) && add_glyphs(l, r, buffer, out);
}

bool pv_type_set(const pv_type *type, const char *utf8, bool bold, pv_setting *out)
{
    *out = (pv_setting){.ink = pv_box_none(), .plain = true};
    line l = {.type = type, .bold = bold};
    bool good = read_line(&l, utf8) && find_levels(&l);
    if (good) {
        for (size_t i = 0; i < l.n; i++)
            l.letters[i].face = face_for(&l, i);
        find_scripts(&l);
        find_runs(&l);
    }
    hb_buffer_t *buffer = hb_buffer_create();
    for (size_t i = 0; good && i < l.n_runs; i++)
        good = shape_run(&l, &l.runs[i], buffer, out);
    hb_buffer_destroy(buffer);
    drop_line(&l);
    return good;
}

void pv_setting_drop(pv_setting *setting)
{
    free(setting->glyphs);
    *setting = (pv_setting){0};
}

/* ---- widths ---- */

/* FNV-1a. */
static size_t slot_of(const char *text, bool bold)
{
    uint32_t h = 2166136261u ^ bold;
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0'; c++)
        h = (h ^ *c) * 16777619u;
    return (h ^ h >> 16) % PV_MEMOS;
}

double pv_type_ems(pv_type *type, const char *utf8, bool bold)
{
    pv_memo *memo = &type->memo[slot_of(utf8, bold)];
    if (memo->known && memo->bold == bold && strcmp(memo->text, utf8) == 0)
        return memo->ems;
    pv_setting setting;
    bool good = pv_type_set(type, utf8, bold, &setting);
    double ems = setting.width;
    pv_setting_drop(&setting);
    if (!good)
        return -1;
    size_t length = strlen(utf8);
    if (length < PV_MEMO_TEXT) {
        memcpy(memo->text, utf8, length + 1);
        memo->bold = bold;
        memo->known = true;
        memo->ems = ems;
    }
    return ems;
}
