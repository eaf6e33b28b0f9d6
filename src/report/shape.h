/* The shape of lines and fills, for machines. */
#ifndef REPORT_SHAPE_H
#define REPORT_SHAPE_H

#include "json/json.h"

#include <pavior/inspect.h>

/* The key "shape" of a line. */
void pv_shape_json(pv_json_writer *w, const pv_shape *shape);
/* The keys "fills" and "flaws" of an inspection. */
void pv_shapes_json(pv_json_writer *w, const pv_inspection *in);

#endif
