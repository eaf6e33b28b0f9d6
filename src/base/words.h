/* Characters and words, whatever they are used for. */
#ifndef BASE_WORDS_H
#define BASE_WORDS_H

#include <stddef.h>

/* Bytes of the well-formed UTF-8 character (RFC 3629: shortest form, no surrogates) at the start of
 * s, of which n bytes may be read; 0 where it is malformed or n is 0. */
size_t pv_utf8_length(const char *s, size_t n);

/* Longest words that are compared. */
#define PV_WORD_MAX 64

/* How many slips turn one word into the other: a character put in, left out or exchanged, or two
 * neighbours swapped (optimal string alignment); the case of ASCII letters doesn't count. Both have
 * at most PV_WORD_MAX characters. */
size_t pv_word_distance(const char *a, size_t na, const char *b, size_t nb);

#endif
