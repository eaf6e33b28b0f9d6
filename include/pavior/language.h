/* pavior/language.h - the languages that pavior writes for people: what stands on sheets, in
 * answers, advice and notes, in reports and on pages. docs/how/languages.md says what is
 * translated.
 *
 * A language is named where it is wanted, in the options of what is made. The library looks at no
 * locale: who reads a page need not be who runs the program, and the same input gives the same
 * bytes everywhere. NULL stands for English, which is always there. */
#ifndef PAVIOR_LANGUAGE_H
#define PAVIOR_LANGUAGE_H

#include <pavior/diag.h>

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Belongs to the library and lives as long as it. */
typedef struct pv_language pv_language;

/* By its code (BCP 47), "en" or "de"; NULL where the library has no such language. */
PV_API const pv_language *pv_language_find(const char *code);
/* One after the other, English first; NULL past the last. */
PV_API const pv_language *pv_language_at(size_t index);
/* "de"; and as its speakers call it, "Deutsch". Of NULL, English's. */
PV_API const char *pv_language_code(const pv_language *language);
PV_API const char *pv_language_name(const pv_language *language);

#ifdef __cplusplus
}
#endif
#endif
