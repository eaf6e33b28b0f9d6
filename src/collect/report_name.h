/* What a picture's report is called: by its bytes and what it was judged with. Private to this
 * room. */
#ifndef COLLECT_REPORT_NAME_H
#define COLLECT_REPORT_NAME_H

#define PV_REPORT_NAME 16 /* hexadecimal digits: 64 bits */

void pv_report_name(char name[PV_REPORT_NAME + 1], const char *sha256, const char *basis);

#endif
