#include <pavior/pavior.h>

const char *pv_version(void)
{
    return PAVIOR_VERSION;
}
