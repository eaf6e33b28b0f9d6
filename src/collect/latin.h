/* Names in Latin letters, for the names of files. Private to this room. */
#ifndef COLLECT_LATIN_H
#define COLLECT_LATIN_H

#include "base/text.h"

#include <stdint.h>

/* Adds a letter of the Latin, Greek or Cyrillic script in letters of ASCII, up to four, as
 * passports and maps do; nothing for a sign that only changes its neighbour. Different letters may
 * come out alike. False, and nothing is added, for all other characters. */
bool pv_latin_add(pv_text *to, uint32_t code);

#endif
