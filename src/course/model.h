/* The course: what its text says, resolved to numbers.
 *
 * This room reads the course language, finds the regions that lines enclose, and reviews the
 * result. Read on from here; each file's header says more. The language itself is described in
 * docs/reference/course-language.md, the rules of the review in docs/reference/course-review.md.
 *
 *     text ─▶ tokens ─▶ statements ─▶ course { art, robot, start, finish, route }
 *     lex.h   reader.h  statements.h    │
 *                                       ├─▶ regions.h ─▶ settle.h: outlines of fills, finish
 *                                       └─▶ review.c ─▶ findings.h: review_text.c, _json.c
 *
 * 1. Tokens (lex.h, with the words of vocabulary.h). The whole text is cut into tokens first:
 * names, words, units, numbers, signs, and the parts of quoted texts. Each knows its byte, line and
 *    column. Lexing never fails on what it reads: what cannot be a token becomes a PV_TOKEN_BAD,
 * and whoever meets that says what is wrong. Names are numbered as they are met, so that later on a
 *    name is an index. Each `repeat` gets the index of its `end`.
 *
 * 2. Reading (reader.h). pv_parser holds the place in the tokens and everything that statements
 *    share. There is no syntax tree: a statement is carried out while it is read, and a repetition
 *    goes back in the tokens and reads its statements again. What a small text may ask for is
 *    therefore bounded by counting: words read, statements carried out, pieces and corners made
 *    (the limits are in pavior/course.h).
 *
 *    Functions that read return false once something is wrong, having said so with the place; their
 *    callers return false in turn. parse.c then skips to the next statement and goes on, so that
 * one run finds several errors. A value that hangs on something wrong has the kind
 * PV_AMOUNT_UNKNOWN: it makes every expression that uses it unknown, and nothing more is said.
 *
 * 3. Quantities (expression.h) are numbers, lengths in mm, angles in radians, or points; each
 *    operation and function checks the kinds that it is given. Texts (quoted.h) may have numbers
 * put in between braces. Paths (path.h) are the legs of lines and routes. The statements themselves
 *    are rows of a table in statements.c; pv_parts reads the parts of each in any order.
 *
 * 4. The art (scene/art.h) is what comes of it: colours, lines made of straight pieces and arcs
 *    (scene/piece.h), fills, marks and lettering, in the order in which they are painted. It knows
 *    nothing of the language any more. A plan holds the same art (pv_art_share), and its file has
 *    all of it, so that whoever has the plan needs no course.
 *
 * 5. Regions (regions.h). A fill names a region by a point in it, so all lines must be known before
 *    its outline is. arrange.c cuts every piece where it meets another (meet.c has the closed
 * forms) and makes a graph of the stretches between; points that are within PV_TOUCH are one node.
 * Only then are arcs flattened, and GEOS (geos.h) makes faces of the stretches. Euler's formula
 * says how many faces there must be, and together they must cover the mat: if not, flattened arcs
 *    cross where true arcs do not, and everything is cut once more. settle.c then gives each fill
 *    its region, and complains of points that lie on a line.
 *
 * 6. The review (review.c) describes the course, then asks each rule: ends.h looks for line ends
 *    that miss and for what lies off the mat; run.h sends the robot along its route (sweep.h), in
 *    steps within which a convex hull stands for all its positions (convex.h measures from hulls to
 *    paint); finish.h asks whether the robot can stand in its region; contrast.h whether colours
 *    side by side can be told apart. Every finding is a row of the table in findings.c, with the
 *    things and measures that its sentence names. Text and JSON render the same list, and
 *    pavior/review.h hands it out.
 *
 * 7. Inks (inks.c) changes the colours of a course to those that a grey printer prints, or that
 * take little ink, without making neighbours hard to tell apart.
 *
 * Nothing depends on addresses, time or the locale. A text of any bytes gives a course or at least
 * one error (tests/fuzz/fuzz_course.c). */
#ifndef COURSE_MODEL_H
#define COURSE_MODEL_H

#include "scene/art.h"

#include <pavior/course.h>

typedef struct pv_robot {
    bool given;
    double length, width; /* mm; length along its heading */
    double pivot;         /* mm from its rear end to the point that it turns about */
} pv_robot;

typedef struct pv_start {
    bool given;
    pv_vec at;      /* where the robot's pivot stands */
    double heading; /* radians */
    double size;    /* mm, the mark's length; its outline is the art's mark "start" */
    pv_source source;
} pv_start;

/* The region into which the robot must come to stand: a region that centre lines and the mat's edge
 * enclose. */
typedef struct pv_finish {
    bool given;
    pv_vec at;       /* the point that names it */
    pv_area outline; /* colour unused */
    pv_source source;
} pv_finish;

/* The way of the robot's pivot. */
typedef struct pv_route {
    pv_piece *pieces;
    size_t n;
    pv_source source;
} pv_route;

/* A fill as the text asks for it; the art's fill of the same index is its outline, which is empty
 * where an earlier fill has the same region. */
typedef struct pv_fill_seed {
    pv_vec at;
    pv_source source;
} pv_fill_seed;

struct pv_course {
    pv_art art;
    pv_robot robot;
    pv_start start;
    pv_finish finish;
    pv_route route;
    pv_fill_seed *seeds; /* one for each of art.fills */
    size_t n_seeds, cap_seeds;
    pv_type *type; /* that its texts are set in; borrowed */
    char *file;    /* name of the input, for the review's messages; may be NULL */
};

#endif
