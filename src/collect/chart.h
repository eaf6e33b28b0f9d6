/* How a quantity is spread over all pictures, as a drawing. Private to this room. */
#ifndef COLLECT_CHART_H
#define COLLECT_CHART_H

#include "base/text.h"

#include <stddef.h>

typedef struct pv_chart {
    const double *values; /* finite */
    size_t n;
    double middle, spread; /* what is usual: median, robust standard deviation */
    double tolerance;      /* from 0, to either side; NAN or 0: none is drawn */
    double factor;         /* from a value to the unit */
    const char *unit;
    int decimals;
} pv_chart;

/* "<svg ...>...</svg>": a histogram. What is further from the middle than its ends is counted in
 * the last bar, which then has the colour of what fails. Nothing where the values are so large that
 * they have no scale, as a stranger's results may have them. `words` is what a screen reader says.
 */
void pv_chart_draw(pv_text *to, const pv_chart *chart, const char *words);

#endif
