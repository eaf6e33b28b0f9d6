/* Notes with leaders: each is put where the mat is plain and nothing else stands. */
#ifndef DRAFTING_NOTES_H
#define DRAFTING_NOTES_H

#include "drafting/board.h"
#include "drafting/features.h"

pv_dual pv_note_words(const pv_board *board, const pv_note_item *note);

/* Draws it within `room`, with its leader. False, with nothing drawn, where no place was found. */
bool pv_note_draw(pv_board *board, const pv_note_item *note, pv_box room, pv_look *look);

/* Lists notes that found no place, where `room` is free of all that stands and of the mat. The last
 * line counts those that have no room there either, and `more` that are not among them. */
void pv_notes_aside(pv_board *board, const pv_note_item *const *notes, size_t n, size_t more,
                    pv_box room);

#endif
