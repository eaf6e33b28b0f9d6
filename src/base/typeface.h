/* Widths of the one typeface: Helvetica of the 14 standard PDF fonts (ISO 32000-1, 9.6.2.2), in
 * the characters of WinAnsiEncoding (ISO 32000-1, annex D). */
#ifndef BASE_TYPEFACE_H
#define BASE_TYPEFACE_H

#include <stdbool.h>
#include <stddef.h>

/* Heights as fractions of the em, from the font's published metrics (AFM). */
#define PV_CAP_HEIGHT 0.718
#define PV_ASCENT     0.718
#define PV_DESCENT    0.207

/* Converts UTF-8 to WinAnsi bytes. `out` needs strlen(text) + 1 bytes. False at the first character
 * that the typeface lacks or at malformed UTF-8; *bad, if not NULL, then is its byte offset. */
bool pv_winansi(const char *text, unsigned char *out, size_t *bad);

/* Advance width of a text in units of the em; characters that the typeface lacks count as 0.556. */
double pv_text_ems(const char *text, bool bold);

#endif
