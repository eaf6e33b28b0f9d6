/* The library as a browser's page sees it: one `face` does a page's work, first told the plans of a
 * kit, then given one picture after the other. It stands on the public headers alone. worker.js
 * calls it, and check.js talks with the worker.
 *
 * Texts that are handed out as `char *` are freed with pv_free; those that are `const` live until
 * the next call that inspects or clears. */
#ifndef WEB_FACE_H
#define WEB_FACE_H

#include <stdbool.h>
#include <stddef.h>

/* The linker keeps it, and JavaScript sees it. */
#define FACE __attribute__((used, visibility("default")))

typedef struct face face;

/* By a language's code; one that the library doesn't know is English. NULL where memory ran out. */
FACE face *face_open(const char *language);
FACE void face_close(face *f); /* NULL is fine */
/* The error of the last call that gives "and said"; NULL where it had none. */
FACE const char *face_said(const face *f);

/* One more plan whose sheets are known. False, and said. */
FACE bool face_plan(face *f, const char *text, size_t size, const char *name);
/* Of each plan, by the order in which they came. */
FACE const char *face_plan_paper(const face *f, size_t plan); /* "A4"; NULL past the end */
FACE const char *face_plan_kit(const face *f, size_t plan);   /* its fingerprint */
/* The mat's sheets; NULL past the end, and of a proof page. */
FACE const char *face_plan_sheet(const face *f, size_t plan, size_t index);

/* ---- by what it is measured ---- */

/* A pv_scanner_kind. */
FACE void face_scanner(face *f, int kind);
/* Between two gauge marks, of the next inspection alone. False where it is no reading. */
FACE bool face_reading(face *f, int from, int to, double mm);

/* ---- inspecting ---- */

/* Inspects each picture of a file, of which the report has or will have so many, and keeps what
 * comes out. How many pictures it held; 0, and said, where memory ran out or there are too many:
 * then none of this file's is kept. Readings are of one sheet: a file of several pages that has any
 * is kept as one that can't be used. */
FACE size_t face_inspect(face *f, const unsigned char *bytes, size_t size, const char *name,
                         size_t files);
/* Forgets what came out. */
FACE void face_clear(face *f);

/* ---- what came out, of each picture ---- */

FACE size_t face_count(const face *f);
FACE int face_verdict(const face *f, size_t i); /* a pv_verdict; -1 of one that can't be used */
FACE const char *face_label(const face *f, size_t i);
FACE const char *face_sheet(const face *f, size_t i);
FACE size_t face_of(const face *f, size_t i);       /* whose sheet it is: a plan's index */
FACE bool face_asks_finer(const face *f, size_t i); /* as pv_inspected has it */
FACE const char *face_answer(const face *f, size_t i);
FACE const char *face_advice(const face *f, size_t i);
FACE char *face_code(const face *f, size_t i); /* "" where there is none */
/* What to measure by hand, as pairs of marks: "PQ PS "; "" where that is no help. */
FACE char *face_steps(const face *f, size_t i);

/* ---- of all ---- */

FACE char *face_html(face *f);       /* NULL, and said */
FACE char *face_json(const face *f); /* NULL where memory ran out */

#endif
