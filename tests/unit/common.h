/* What the Check programs share. */
#ifndef TESTS_COMMON_H
#define TESTS_COMMON_H

#include <check.h>

#include <pavior/pavior.h>

#include "base/diag.h"
#include "base/memory.h"
#include "scene/scene.h"

/* Runs a suite and gives main's status. */
int run_suite(Suite *suite);

/* The default typeface, opened once for a whole program: .ci/packages has it. */
pv_type *test_type(void);

/* A file of the checkout, relative to its top (tests run there). Fails the test if it can't be
 * read. The caller frees data with pv_free. */
pv_bytes read_input(const char *path);

/* All sheets of `options` (NULL: all of the plan) as one PDF. The caller frees *bytes with pv_free;
 * NULL where it fails. */
bool sheets_pdf(const pv_plan *plan, const pv_pdf_options *options, unsigned char **bytes,
                size_t *size, pv_diags *diags);

/* pv_scanner_parse and pv_calibrate_scanner with the scanner in *out. */
bool scanner_parse(const char *text, size_t length, const char *name, pv_scanner *out,
                   pv_diags *diags);
bool calibrate_scanner(const pv_report_text *reports, size_t n, pv_scanner *out, pv_diags *diags);

/* All findings as one text; the caller frees it with pv_free. */
char *diags_text(const pv_diags *diags);

/* Whether a text holds every one of the facts, which stand between bars: "36 in roll|904.4 mm".
 * Tests ask for places, names, numbers and options. How a message is worded is pinned in tests/bad
 * and, where words alone tell one reason from another, in wording.h. */
bool says(const char *text, const char *facts);
void assert_says(const char *text, const char *facts);

/* ---- chance: the same numbers on every machine ---- */

/* The one generator of all tests. Any number will do for a seed. */
typedef struct dice {
    uint64_t state;
} dice;

uint64_t dice_bits(dice *d);
double between(dice *d, double lo, double hi);
/* 0 to n - 1. */
size_t pick(dice *d, size_t n);
/* Standard deviation 1 about 0. */
double normal(dice *d);

/* The same without carrying dice about: one sequence for each test, which begins anew where a seed
 * is stated. */
void chance(uint64_t seed);
double uniform(void); /* 0 to 1 */
double gauss(void);
double random_between(double lo, double hi);

/* Prints the worst error of a check next to what is allowed, also where it passes. */
void say_worst(const char *what, double worst, double allowed, const char *unit);

/* What stands at a point, asked of all of an art, one thing after the other. */
bool line_covers(const pv_line *line, pv_vec p);
pv_spot spot_by_hand(const pv_art *art, pv_vec p);

#endif
