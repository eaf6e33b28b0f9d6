/* pavior/pavior.h - the whole library. docs/reference/library.md introduces it.
 *
 * How it is made, for all headers:
 *   errors     Every function that can fail takes a pv_diags and says there why; NULL may stand for
 *              it. The result is then NULL or false. Where memory is the only failure, a function
 *              may have no pv_diags: NULL says it.
 *   ownership  What a function named _make, _parse, _open or _new gives, the caller frees with the
 *              _free beside it; text and bytes with pv_free. Every _free takes NULL. What a
 *              function only hands out belongs to the object that it came from and lives as long.
 *   units      Lengths are mm, angles mrad, areas mm2, where nothing else is said. Numbers in text
 *              have a decimal point in every locale.
 *   threads    No global state. Objects may be used by one thread at a time; a plan may be
 *              read (pv_inspect, reports) by several.
 *
 * Within one major version, programs run with newer libraries than they were compiled with:
 *   options    are structs that begin with their size. Start from the inline function beside them:
 *              it tells the library the size that the program knows, and the library reads no more
 *              and takes defaults for the rest. A new member starts where the struct used to end.
 *   results    are read-only structs that the library hands out by pointer, one at a time, by
 *              index where there are several. New members are added at their ends: use neither
 *              sizeof nor copies of them. Those that are passed in again (pv_printer, pv_scanner)
 *              are taken only as the library made them.
 *   values     New ones are added at the end of an enumeration: expect ones that you don't know.
 *   small, plain structs that a program fills in, or that stand inside of results, never change
 *              (pv_report_text, pv_ruler_reading, pv_printer_value, pv_correction, pv_clearance,
 *              pv_standing, pv_measure, pv_thing). Nor does the room for a value's parts,
 *              PV_PARTS_ROOM. */
#ifndef PAVIOR_PAVIOR_H
#define PAVIOR_PAVIOR_H

#include <pavior/collect.h>
#include <pavior/course.h>
#include <pavior/diag.h>
#include <pavior/drawing.h>
#include <pavior/inspect.h>
#include <pavior/kit.h>
#include <pavior/language.h>
#include <pavior/printer.h>
#include <pavior/review.h>
#include <pavior/sheets.h>
#include <pavior/text.h>
#include <pavior/type.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The version of these headers. Within one major number, programs that were compiled with an older
 * header run with a newer library. */
#define PV_VERSION_MAJOR  1
#define PV_VERSION_MINOR  0
#define PV_VERSION_PATCH  0
#define PV_VERSION_STRING "1.0.0"
/* As one number, to compare: 1.2.3 is 10203. */
#define PV_VERSION (PV_VERSION_MAJOR * 10000 + PV_VERSION_MINOR * 100 + PV_VERSION_PATCH)

/* The version of the library that the program runs with, "1.0.0". Never NULL; not to be freed. */
PV_API const char *pv_version(void);

#ifdef __cplusplus
}
#endif
#endif
