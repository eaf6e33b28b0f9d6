/* The plain answer: is this sheet true, on what does that rest, and what to do now. For whoever
 * holds the sheet, in words without a measure's jargon; the numbers stand below it in a report. */
#ifndef JUDGE_ANSWER_H
#define JUDGE_ANSWER_H

#include "judge/inspection.h"

/* How every answer begins, in each language: "True", "Not true", "Can't tell", "Can't use this
 * picture". The number of its bytes in this answer. */
size_t pv_answer_lead(const char *answer);

/* What the plan and the options say of the sheet. */
typedef struct pv_answer_told {
    bool proof;        /* a page that a printer is calibrated with */
    bool single;       /* the mat's only sheet */
    bool scanner_told; /* how true its scanner is */
    bool for_sender;   /* the advice is for somebody without the program */
    bool by_page;      /* who has the page that inspects in a browser */
} pv_answer_told;

/* Fills in answer and advice of a judged inspection. Of a table of situations the first that fits
 * speaks, so that it is the one most useful thing to do. False where memory ran out. */
bool pv_answer_make(pv_inspection *in, const pv_answer_told *told);

/* The same for a picture that can't be used; `hint` may be NULL. Fills in error, too. */
bool pv_answer_error(pv_inspection *in, const char *message, const char *hint);

/* Of an image that could not be judged the advice alone, from a hint, as above. */
bool pv_answer_advise(pv_inspection *in, const char *hint);

/* Every situation's sentences, in order, for tests; NULL past the last. */
#define PV_ADVICE_MAX 3 /* parts, each of whole sentences; NULL after the last */
typedef struct pv_answer_words {
    const char *answer, *advice[PV_ADVICE_MAX];
} pv_answer_words;
const pv_answer_words *pv_answer_row(size_t index);

#endif
