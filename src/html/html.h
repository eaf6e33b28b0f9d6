/* Pages: templates filled with data.
 *
 * A template is a file `src/ROOM/embedded/NAME.html` of any room; the build makes it a string and
 * lists it by name (pv_templates). Its language is Mustache, https://mustache.github.io:
 *
 *     {{x}}              a value, escaped: text, a whole number, true or false
 *     {{{x_svg}}}        a drawing of our own, as it is: its name must end in "svg"
 *     {{#x}} ... {{/x}}  for each item of a list; once where x is anything but false, null, "", 0,
 * []
 *     {{^x}} ... {{/x}}  where it is one of those, or isn't there
 *     {{> head}}         another template; "{{> pavior.css}}" names a file that isn't NAME.html
 *     {{! words }}       a remark
 *     {{.}}, {{a.b}}     the item itself, a member's member
 *     {{#_}}Words with {{n}} in them{{/_}}   English, translated, then filled
 *
 * Three things are stricter than the language, since templates and data are both ours and a slip
 * should show at once: {{x}} must be there (null writes nothing), a partial alone on its line is
 * not indented, and {{{x}}} is for drawings. Delimiters can't be changed, and there are no
 * functions.
 *
 * White space within {{#_}} counts as one blank, so that a sentence may run over several lines;
 * both the English and its translation are HTML. A sentence in data is plain text, put into the
 * data by pv_say.
 *
 * Data is JSON, by json/json.h's writer. Results are strings in it, with their decimals and a true
 * minus sign (html/escape.h): the JSON number 0.250 would come out as "0.25". */
#ifndef HTML_HTML_H
#define HTML_HTML_H

#include "base/diag.h"
#include "base/text.h"

#include <pavior/language.h>

/* Sections and partials within each other; more than any page of ours needs. */
#define PV_HTML_DEPTH_MAX 32
/* Bytes of one page, and tags that are met while it is filled. */
#define PV_HTML_BYTES_MAX ((size_t)256 << 20)
#define PV_HTML_TAGS_MAX  ((size_t)20 << 20)

typedef struct pv_template {
    const char *name, *text; /* "sheet.html" */
} pv_template;

/* Appends the template `name` ("sheet"; "pavior.css"), filled with the JSON of `length` bytes, to
 * *out. `language` NULL is English. False with a finding, and *out is of no use then, where the
 * template or the data is not as above, where a limit is exceeded, and where memory runs out. */
bool pv_html_fill(pv_text *out, const char *name, const char *json, size_t length,
                  const pv_language *language, pv_diags *diags);

/* The same with templates of the caller's. */
bool pv_html_fill_from(pv_text *out, const pv_template *templates, size_t n, const char *name,
                       const char *json, size_t length, const pv_language *language,
                       pv_diags *diags);

/* All of the rooms' templates, of the build's making. */
extern const pv_template pv_templates[];
extern const size_t pv_n_templates;

#endif
