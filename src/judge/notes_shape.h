/* What the shape of lines and areas means for a sheet (docs/how/measuring.md, "Shape"). */
#ifndef JUDGE_NOTES_SHAPE_H
#define JUDGE_NOTES_SHAPE_H

#include "judge/notes.h"

/* A sentence for each kind of thing that isn't fair, with its places and what to do. */
void pv_notes_of_shape(pv_notes *notes, const pv_inspection *in);

#endif
