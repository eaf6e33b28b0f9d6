/* By which options an image was measured, as far as they change what comes out. */
#ifndef JUDGE_HOW_H
#define JUDGE_HOW_H

#include "base/text.h"

#include <pavior/inspect.h>

/* A copy with a scanner and readings of its own. False where memory ran out; to be dropped either
 * way. */
bool pv_how_copy(pv_inspect_options *to, const pv_inspect_options *from);
void pv_how_drop(pv_inspect_options *how);

/* In English words and a fixed order: the same options give the same text. */
void pv_how_text(pv_text *to, const pv_inspect_options *how);

#endif
