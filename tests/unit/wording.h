/* Words by which a message gives its reason, where unit tests must tell one reason from another and
 * no name or number does. Whoever rewords such a message rewords it here and in tests/bad. */
#ifndef TESTS_WORDING_H
#define TESTS_WORDING_H

/* calibrate */
#define SAYS_TOO_UNCERTAIN       "not corrected: too uncertain"
#define SAYS_MAY_BE_TRUE         "the difference is within its uncertainty"
#define SAYS_NOT_SOUND           "no sound printer is so far off"
#define SAYS_NOT_MEASURED        "not measured, so not corrected"
#define SAYS_NO_CORRECTION       "the measurements support no correction of this printer"
#define SAYS_NO_MILLIMETRE       "it has no length reference"
#define SAYS_NO_IMAGE_OF_USE     "no image can be used to calibrate"
#define SAYS_TAKEN_AS_SQUARE     "assumed to be square"
#define SAYS_NO_OTHER_REFERENCE  "neither a card nor ruler readings"
#define SAYS_NO_SCANNER_IS       "more than any scanner"
#define SAYS_WORSE_THAN_ITS_WORD "worse than trusting the resolution"

/* references and inspections */
#define SAYS_LEFT_OUT        "is left out"
#define SAYS_OTHER_SIZE      "another size"
#define SAYS_NO_RESOLUTION   "does not state its resolution"
#define SAYS_MARKS_ELSEWHERE "not where they should be"
#define SAYS_TAGS_ELSEWHERE  "not where the plan places them"
#define SAYS_CONTRADICTORY   "contradict each other"

/* plans */
#define SAYS_NO_BARS_BOTH_WAYS "too small for scale bars both ways"
#define SAYS_NO_WASTE_BESIDE   "no waste beside the mat"

/* drawings that no PDF can carry */
#define SAYS_OUT_OF_REACH "out of a page's reach"
#define SAYS_TOO_DEEP     "nested too deep"
#define SAYS_NEVER_BEGAN  "never began"
#define SAYS_NEVER_ENDS   "never ends"
#define SAYS_NOT_FILLED   "neither filled nor clips"
#define SAYS_NO_JPEG      "no JPEG"
#define SAYS_NO_PDF_PAGE  "a PDF page can't be"

/* images */
#define SAYS_TOO_LONG_A_SIDE "along a side"
#define SAYS_COPIED_AS_TEXT  "copied as text"

#endif
