/* The guide for a screen: data for a page, and its pictures as files. */
#ifndef GUIDE_DATA_H
#define GUIDE_DATA_H

#include "guide/steps.h"
#include "json/json.h"

typedef enum pv_guide_picture {
    PV_GUIDE_WHOLE,   /* of the guide; the others are a step's */
    PV_GUIDE_CUTTING, /* what is cut away */
    PV_GUIDE_LAYING   /* where it comes to lie */
} pv_guide_picture;

#define PV_GUIDE_FILE 40

/* What a picture's file is called: "whole.svg", "step-07-cut.svg". Steps by index. */
void pv_guide_file(const pv_guide *guide, pv_guide_picture which, size_t index,
                   char name[PV_GUIDE_FILE]);
/* A picture as SVG, words set in that type. The caller frees it; NULL with a reason. */
char *pv_guide_svg(const pv_guide *guide, pv_guide_picture which, size_t index, pv_type *type,
                   pv_diags *diags);
/* The step after this one that has pictures: not each has, where steps are told together. */
size_t pv_guide_next(const pv_guide *guide, size_t index);

/* What the template "guide_steps" shows, as members of an object that is open. `folder` stands
 * before the pictures' names: "" or "guide/". The members:
 *
 *   whole      {file, alt, width, height}
 *   butt       the joint is edge to edge
 *   notes      [{head, caution, items: [text]}]      what to know and to have
 *   steps      [{number, sheet, title, lines: [text], cut: {file, alt, width, height}, lay: ...,
 *                sides: [{side, cut, joins, on_top, neighbour, crosses}]}]
 *
 * `sides` is for programs: "left", "top", "right", "bottom", in no language. */
bool pv_guide_members(pv_json_writer *w, const pv_guide *guide, const char *folder);

#endif
