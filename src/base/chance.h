/* What chance exceeds. */
#ifndef BASE_CHANCE_H
#define BASE_CHANCE_H

/* The value that chi-squared of so many degrees of freedom exceeds in 5 % of cases; HUGE_VAL for
 * none or fewer. To 1e-9, relative, up to PV_CHANCE_EXACT degrees: by the finite sums of whole
 * degrees of freedom (Abramowitz and Stegun, 26.4.4 and 26.4.5; from memory, checked against
 * printed tables); past that by Wilson and Hilferty's approximation (PNAS 17, 1931; from memory),
 * which is then within 2e-5. */
double pv_chi_squared_limit(int freedom);

#define PV_CHANCE_EXACT 300

#endif
