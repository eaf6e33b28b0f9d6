/* A step in words. */
#ifndef GUIDE_SAY_H
#define GUIDE_SAY_H

#include "base/text.h"
#include "guide/steps.h"

#include "po/po.h"

/* What to do, in this order: each is a line or two. Empty texts for what a step has not. */
typedef enum pv_guide_line {
    PV_GUIDE_ROOM,  /* of the first step: what must be free around it */
    PV_GUIDE_CUT,   /* along which marks */
    PV_GUIDE_KEEP,  /* which edges stay */
    PV_GUIDE_LAY,   /* over or against which sheets, and how many crosses meet */
    PV_GUIDE_TAPE,  /* where the tape goes */
    PV_GUIDE_ROBOT, /* where the robot crosses, and how */
    PV_GUIDE_LINES
} pv_guide_line;

typedef struct pv_guide_words {
    pv_text title;
    pv_text line[PV_GUIDE_LINES];
} pv_guide_words;

/* The step at an index, with those up to `last` that are told together with it. False where memory
 * ran out; drop it either way. */
bool pv_guide_say(const pv_guide *guide, size_t index, size_t last, pv_guide_words *out);
void pv_guide_words_drop(pv_guide_words *words);

/* A side in words: "left". */
const char *pv_guide_side_word(pv_side side, const pv_language *language);
/* A length as the course's people say it: "900 mm", or "35.4 in". */
void pv_guide_length(pv_text *out, const pv_plan *plan, double mm);
/* The same of a run of tape, "5 m" or "15 ft", rounded up. */
pv_digits pv_guide_reel(const pv_plan *plan, double metres);
/* What must be read of a length, to that share of it: "197 mm ± 0.6 mm". In mm whatever the
 * course's unit is, as the sheets say their own. */
pv_digits pv_guide_reading(double mm, double share);
/* Decimals of what something may be off by: at least one, and as many as it takes not to say 0. */
int pv_guide_decimals(double off);
/* "1 h 05 min": rounded as a rule of thumb deserves, to a quarter of an hour from two hours on,
 * else to five minutes. */
void pv_guide_time(pv_text *out, const pv_language *language, double minutes);

#endif
