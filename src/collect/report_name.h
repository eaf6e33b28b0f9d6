/* What a picture's report is called: by its file's bytes, what it was judged with, and which of the
 * file's pictures it is (0: it has one only). Private to this
 * room. */
#ifndef COLLECT_REPORT_NAME_H
#define COLLECT_REPORT_NAME_H

#include <stddef.h>

#define PV_REPORT_NAME 16 /* hexadecimal digits: 64 bits */

void pv_report_name(char name[PV_REPORT_NAME + 1], const char *sha256, const char *basis,
                    size_t page);

#endif
