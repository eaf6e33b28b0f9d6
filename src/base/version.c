#include <pavior/pavior.h>

const char *pv_version(void)
{
    return PV_VERSION_STRING;
}
