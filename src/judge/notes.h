/* What an inspection has to say besides its numbers. */
#ifndef JUDGE_NOTES_H
#define JUDGE_NOTES_H

#include "base/text.h"
#include "measure/measure.h"

#include <pavior/inspect.h>

/* A list of texts that is being made. */
typedef struct pv_notes {
    const char **items;
    size_t n, cap;
    bool failed; /* memory ran out */
} pv_notes;

/* Takes the text over, empty or not; an empty one is no note. */
void pv_notes_take(pv_notes *notes, pv_text *text);

/* All but the reference's: why the page came out wrong, what could not be measured, and what would
 * settle what is undecided. */
void pv_notes_of_scale(pv_notes *notes, const pv_inspection *in, bool proof);
void pv_notes_of_image(pv_notes *notes, const pv_inspection *in, const pv_plane *plane,
                       const pv_pose *pose);
void pv_notes_of_lines(pv_notes *notes, const pv_inspection *in);
void pv_notes_of_chance(pv_notes *notes, const pv_inspection *in);
void pv_notes_of_undecided(pv_notes *notes, const pv_inspection *in);

#endif
