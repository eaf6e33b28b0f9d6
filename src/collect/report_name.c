#include "collect/report_name.h"

#include "base/sha256.h"

#include <stdio.h>
#include <string.h>

void pv_report_name(char name[PV_REPORT_NAME + 1], const char *sha256, const char *basis,
                    size_t page)
{
    char all[2 * PV_SHA256_HEX + 24], hex[PV_SHA256_HEX];
    snprintf(all, sizeof all, "%.64s %.64s %zu", sha256, basis, page);
    pv_sha256(all, strlen(all), hex);
    memcpy(name, hex, PV_REPORT_NAME);
    name[PV_REPORT_NAME] = '\0';
}
