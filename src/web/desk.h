/* The library as the page sees it that draws courses: one `desk` has one course on it, as it is
 * being written, and lays it on sheets when it is asked to. It stands on the public headers alone.
 * desk_worker.js calls it, and course.js talks with the worker.
 *
 * What a work found is kept until the next (desk_said). Texts that are handed out as `char *` are
 * freed with pv_free; those that are `const` live until the next work. */
#ifndef WEB_DESK_H
#define WEB_DESK_H

#include <stdbool.h>
#include <stddef.h>

/* The linker keeps it, and JavaScript sees it. */
#define DESK __attribute__((used, visibility("default")))

typedef struct desk desk;

/* By a language's code; one that the library doesn't know is English. NULL where memory ran out. */
DESK desk *desk_open(const char *language);
DESK void desk_close(desk *d); /* NULL is fine */
DESK const char *desk_version(void);
/* Everyday names of papers, NULL past the end; and their sides upright, mm. */
DESK const char *desk_paper(size_t index);
DESK double desk_paper_width(size_t index);
DESK double desk_paper_height(size_t index);
/* Codes of languages, NULL past the end; and what their speakers call them. */
DESK const char *desk_language(size_t index);
DESK const char *desk_language_name(size_t index);

/* ---- what the last work found ---- */

DESK size_t desk_said(const desk *d);
DESK int desk_said_severity(const desk *d, size_t i); /* a pv_severity */
/* In the course's text, from 1; 0 where there is no place. */
DESK int desk_said_line(const desk *d, size_t i);
DESK int desk_said_column(const desk *d, size_t i);
DESK int desk_said_length(const desk *d, size_t i);
DESK const char *desk_said_message(const desk *d, size_t i);
DESK const char *desk_said_hint(const desk *d, size_t i); /* or NULL */

/* ---- the course ---- */

/* Reads a course's text instead of the one before. False where it can't be drawn; what is wrong is
 * said. `name` stands for it in messages. */
DESK bool desk_course(desk *d, const char *text, size_t size, const char *name);
/* Of the course; "" where there is none. */
DESK const char *desk_name(const desk *d);
DESK double desk_width(const desk *d);
DESK double desk_height(const desk *d);
/* As SVG, and with the robot's run. NULL, and said. */
DESK char *desk_drawing(desk *d, bool run);
/* pv_review_json and pv_review_text. NULL, and said. */
DESK char *desk_review(desk *d, bool text);

/* ---- the sheets ---- */

/* Back to what is usual: A4, 5 mm margins. */
DESK void desk_usual(desk *d);
/* One of the choices by its name, as people type it: "paper" (a name, or a size), "orientation"
 * ("fewest", "portrait", "landscape"), "printer-class", "margin-left", "-bottom", "-right", "-top",
 * "overlap", "border", "joint" ("lap", "butt"), "colours" ("plain", "grey", "sparing", "both"),
 * "language", "printer" (a printer file's text); "kit-paper" and "kit-roll", of which each call
 * adds one, and "url". No length is below nought. False, and said; the choice before it then stays.
 */
DESK bool desk_choose(desk *d, const char *name, const char *value);
/* Lays the course. False, and said. */
DESK bool desk_lay(desk *d);
/* Of what was laid; 0 or "" where nothing is. */
DESK size_t desk_sheets(const desk *d);
DESK const char *desk_kit_identity(const desk *d);
DESK const char *desk_laid_paper(const desk *d);
DESK double desk_minutes(const desk *d); /* to cut and tape it */
/* Of a sheet: its name, and its cell's left, bottom, right and top, in mm of the mat (0 to 3). */
DESK const char *desk_sheet(const desk *d, size_t sheet);
DESK double desk_cell(const desk *d, size_t sheet, int side);
/* The plan as JSON. NULL, and said. */
DESK char *desk_plan(desk *d);
/* Draws the sheets. How many PDFs they are; 0, and said. */
DESK size_t desk_draw(desk *d);
DESK const unsigned char *desk_pdf(const desk *d, size_t i);
DESK size_t desk_pdf_size(const desk *d, size_t i);

/* ---- the kit ---- */

/* The two scripts of `make web`, for the kit's own pages; as they are handed over, with malloc. */
DESK void desk_scripts(desk *d, char *checker, size_t checker_size, char *maker, size_t maker_size);
/* Makes the kit as a ZIP archive with one folder of that name. How many bytes; 0, and said. */
DESK size_t desk_kit(desk *d, const char *folder);
DESK const unsigned char *desk_kit_bytes(const desk *d);

/* ---- for the build ---- */

/* The page by itself, outside of any kit, with the course that is on the desk. NULL, and said. */
DESK char *desk_page(desk *d);

#endif
