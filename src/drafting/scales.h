/* Scales of ISO 5455: 1, 2 or 5 times a power of ten, either way. */
#ifndef DRAFTING_SCALES_H
#define DRAFTING_SCALES_H

/* The largest of them that is not above `most` (paper mm for a mm); said as "1:5" or "2:1" in room
 * for 24 characters, or NULL. */
double pv_scale_for(double most, char *said);
/* The next smaller one. */
double pv_scale_below(double scale, char *said);

#endif
