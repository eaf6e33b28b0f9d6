/* Reading the plan's JSON: parts that check what they read. Complaints go to the document; running
 * out of memory is remembered. */
#ifndef PLAN_READ_H
#define PLAN_READ_H

#include "plan/layout.h"
#include "json/json.h"

/* mm: of points within reach, and of the centres of arcs that go through them */
#define PV_PLAN_COORDINATE_MAX (PV_COURSE_REACH + 2 * PV_COURSE_SIDE_MAX)
/* mm: of a text's box and letters, from where it stands. No character is as wide as twenty capitals
 * are high (assumed). */
#define PV_PLAN_TEXT_REACH (20 * PV_COURSE_LETTER_MAX * PV_COURSE_TEXT_MAX)
#define PV_PLAN_JOIN       1e-6 /* mm: pieces that follow each other meet this closely */

typedef struct pv_plan_reader {
    pv_json *json;
    pv_plan *plan;
    bool out_of_memory;
    size_t cap_crosses;
    size_t pieces, items; /* so far, against the limits of pavior/course.h */
} pv_plan_reader;

/* False once anything went wrong. */
bool pv_read_good(const pv_plan_reader *r);

/* n zeroed items; NULL after noting that memory ran out. */
void *pv_read_array(pv_plan_reader *r, size_t n, size_t size);
/* Numbers of an array that must have exactly so many. */
void pv_read_numbers(pv_plan_reader *r, const pv_json_node *node, double *out, size_t n,
                     double least, double most);
pv_vec pv_read_vec(pv_plan_reader *r, const pv_json_node *node);
/* A copy, which the plan owns. `printed`: no character may be one that controls. */
char *pv_read_string(pv_plan_reader *r, const pv_json_node *node, bool printed);
double pv_read_number(pv_plan_reader *r, const pv_json_node *object, const char *key, double least,
                      double most);
size_t pv_read_count(pv_plan_reader *r, const pv_json_node *object, const char *key, size_t least,
                     size_t most);
bool pv_read_bool(pv_plan_reader *r, const pv_json_node *object, const char *key);

/* Which of the words it is; NULL ends them. */
int pv_read_word(pv_plan_reader *r, const pv_json_node *node, const char *const words[]);

/* A list of at least one, each starting where the one before ends, which the plan owns; NULL and 0
 * where that fails. */
pv_piece *pv_read_pieces(pv_plan_reader *r, const pv_json_node *list, size_t *n);

/* "art" of the root. */
void pv_read_art(pv_plan_reader *r, const pv_json_node *node);

#endif
