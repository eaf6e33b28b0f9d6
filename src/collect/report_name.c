#include "collect/report_name.h"

#include "base/sha256.h"

#include <stdio.h>
#include <string.h>

void pv_report_name(char name[PV_REPORT_NAME + 1], const char *sha256, const char *basis)
{
    char both[2 * PV_SHA256_HEX], hex[PV_SHA256_HEX];
    snprintf(both, sizeof both, "%.64s %.64s", sha256, basis);
    pv_sha256(both, strlen(both), hex);
    memcpy(name, hex, PV_REPORT_NAME);
    name[PV_REPORT_NAME] = '\0';
}
