/* Characters and words, whatever they are used for. */
#ifndef BASE_WORDS_H
#define BASE_WORDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes of the well-formed UTF-8 character (RFC 3629: shortest form, no surrogates) at the start of
 * s, of which n bytes may be read; 0 where it is malformed or n is 0. */
size_t pv_utf8_length(const char *s, size_t n);

/* The same, and its Unicode code; U+FFFD where it is malformed. */
size_t pv_utf8_decode(const char *s, size_t n, uint32_t *code);

/* True for characters that may stand in a text that is printed, on paper or on a terminal: none
 * that control, are no characters, are for private use, or turn the direction of what follows. */
bool pv_prints(uint32_t code);
/* The same of a whole text; *bad, if not NULL, gets the byte of the first that may not. */
bool pv_text_prints(const char *utf8, size_t *bad);
/* A stranger's text on its way to a terminal: bytes of the character at the start of s, of which
 * n > 0 may be read, or 1 where it is malformed. *shows: it prints, or is one of the ASCII
 * characters in `also`; else something harmless stands for it. */
size_t pv_harmless(const char *s, size_t n, const char *also, bool *shows);
/* Characters that show nothing but shape their neighbours: joiners, non-joiners, variation
 * selectors. */
bool pv_joins(uint32_t code);

/* Of a letter of ASCII the capital, whatever the locale is; any other byte as it is. */
char pv_capital(char c);

/* Longest words that are compared. */
#define PV_WORD_MAX 64

/* How many slips turn one word into the other: a character put in, left out or exchanged, or two
 * neighbours swapped (optimal string alignment); the case of ASCII letters doesn't count. Both have
 * at most PV_WORD_MAX characters. */
size_t pv_word_distance(const char *a, size_t na, const char *b, size_t nb);

#endif
