/* What pavior says to people, in their language.
 *
 * English stands in the code and in the templates, and is what a translation is looked up by. All
 * other languages have a PO file here, DE.po for "de". gettext's tools make and check these files;
 * the build compiles each into a table (msgfmt -c) that the library holds. No gettext runs with the
 * library, which has no locale of its own. A text that has no translation is said in English.
 *
 *   in C          pv_say(language, "English"), or pv_text_say(text, "English", ...), which appends
 *                 it in the text's own language. A text that stands in a table is marked there by
 *                 PV_SAID("English") and said by pv_say(language, row->text) where it is used.
 *                 PV_SAID itself is base/text.h's, so that every room can mark
 *   findings      what is found in an image (pv_diags_add and pv_fail in the rooms from image/ to
 *                 judge/) is marked by where it stands
 *   with numbers  pv_say_count(language, "%zu sheet", "%zu sheets", n)
 *   in templates  {{#_}}English with {{name}}{{/_}}
 *
 * Write whole sentences: what is put together from parts can be said in one language only. Where
 * one English text must be two of another language, pv_say_in says where it stands. A text is one
 * literal or several in a row: the tools know no macros.
 *
 * `make po` brings the PO files up to date with the code; `make test-words` holds that they are,
 * that no text lacks its translation, and that each translation has the conversions of its English
 * text (%s), its {{names}}, its $letters and its tags: no translation can break a program or page.
 * docs/how/languages.md has what is translated and how to add a language. */
#ifndef PO_PO_H
#define PO_PO_H

#include "base/text.h"

#include <pavior/language.h>

/* All of these: a language of NULL is English; the result belongs to the library, or is the English
 * text itself; it has the same conversions for printf. */

/* NULL for NULL. */
const char *pv_say(const pv_language *language, const char *english) __attribute__((format_arg(2)));
/* "%zu sheet" or "%zu sheets", whichever goes with n. */
const char *pv_say_count(const pv_language *language, const char *one, const char *many, size_t n)
    __attribute__((format_arg(2), format_arg(3)));
/* Where it stands is told, since that makes a difference in the other language. */
const char *pv_say_in(const pv_language *language, const char *where, const char *english)
    __attribute__((format_arg(3)));

/* Appends, said in the text's own language: whoever begins a text (PV_TEXT_IN) decides which. */
void pv_text_say(pv_text *text, const char *english, ...) __attribute__((format(printf, 2, 3)));

/* A section {{#_}}...{{/_}} of a template: appends what stands for it, still to be filled. Of white
 * space in the section, as in HTML, only that it is there counts, and none at its ends. */
void pv_say_section(pv_text *out, const pv_language *language, const char *section, size_t length);

#endif
