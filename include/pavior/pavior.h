/* pavior/pavior.h - the whole library. */
#ifndef PAVIOR_PAVIOR_H
#define PAVIOR_PAVIOR_H

#include <pavior/course.h>
#include <pavior/diag.h>
#include <pavior/inspect.h>
#include <pavior/printer.h>
#include <pavior/sheets.h>
#include <pavior/type.h>

#ifdef __cplusplus
extern "C" {
#endif

/* "0.1.0" */
PV_API const char *pv_version(void);

#ifdef __cplusplus
}
#endif
#endif
