/* Characters and numbers as HTML wants them. The one place where text is escaped. */
#ifndef HTML_ESCAPE_H
#define HTML_ESCAPE_H

#include "base/text.h"

/* Untrusted text: HTML's special characters are escaped; control characters other than newline and
 * tab, malformed UTF-8 and what turns the direction of writing become U+FFFD. Fits between tags and
 * in quotes. */
void pv_html_text(pv_text *to, const char *text);

#endif
