/* pavior/pavior.h - the whole library. */
#ifndef PAVIOR_PAVIOR_H
#define PAVIOR_PAVIOR_H

#include <pavior/course.h>
#include <pavior/diag.h>
#include <pavior/inspect.h>
#include <pavior/printer.h>
#include <pavior/review.h>
#include <pavior/sheets.h>
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
