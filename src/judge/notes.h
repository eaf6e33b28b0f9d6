/* What an inspection has to say besides its numbers: why the page came out wrong, what could not be
 * measured, and what would settle what is undecided. Notes about the references come from the
 * reference room. */
#ifndef JUDGE_NOTES_H
#define JUDGE_NOTES_H

#include "base/text.h"
#include "judge/inspection.h"

/* A list of texts that is being made. */
typedef struct pv_notes {
    char **items;
    size_t n, cap;
    bool failed; /* memory ran out */
} pv_notes;

/* Takes the text over, empty or not; an empty one is no note. */
void pv_notes_take(pv_notes *notes, pv_text *text);

void pv_notes_of_image(pv_notes *notes, const pv_inspection *in, const pv_plane *plane,
                       const pv_pose *pose);
/* Lines that were not measured; breaks, blobs, contrast, ink; chance. */
void pv_notes_of_results(pv_notes *notes, const pv_inspection *in);
/* For engineers: what would settle undecided values, by how much U must fall. */
void pv_notes_of_doubts(pv_notes *notes, const pv_inspection *in);
void pv_notes_clear(pv_notes *notes);

#endif
