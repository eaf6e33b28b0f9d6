/* The marks on a sheet: those that inspection looks for, and those that people cut and turn by. */
#include "draw/anatomy.h"

#include <stdlib.h>

static const uint8_t black[3] = {0, 0, 0}, white[3] = {255, 255, 255};

bool pv_draw_strokes(pv_anatomy *a)
{
    pv_stroke *strokes = NULL;
    size_t n = 0;
    if (!pv_sheet_strokes(a->plan, a->sheet, &strokes, &n)) {
        pv_fail_memory(a->diags);
        return false;
    }
    for (int light = 0; light < 2; light++) {
        size_t before = a->drawing->n_ops;
        for (size_t i = 0; i < n; i++)
            if (strokes[i].light == (light == 1))
                pv_draw_bar(a->drawing, pv_sub(strokes[i].a, a->sheet->origin),
                            pv_sub(strokes[i].b, a->sheet->origin), strokes[i].width);
        if (a->drawing->n_ops > before)
            pv_draw_fill(a->drawing, light ? white : black, false);
    }
    free(strokes);
    return true;
}

/* The black cells as few rectangles: runs of a row, each as far down as the same run goes on. */
static void draw_cells(pv_drawing *d, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], pv_vec upper_left,
                       double size)
{
    for (int row = 0; row < PV_TAG_CELLS; row++) {
        for (int from = 0; from < PV_TAG_CELLS; from++) {
            if (!cells[row][from])
                continue;
            int to = from, end = row + 1;
            while (to < PV_TAG_CELLS && cells[row][to])
                to++;
            for (bool same = true; same && end < PV_TAG_CELLS; end += same)
                for (int i = from; i < to; i++)
                    same = same && cells[end][i];
            for (int k = row; k < end; k++)
                for (int i = from; i < to; i++)
                    cells[k][i] = 0;
            pv_draw_box(d, (pv_box){{upper_left.x + size * from, upper_left.y - size * end},
                                    {upper_left.x + size * to, upper_left.y - size * row}});
        }
    }
}

bool pv_draw_tags(pv_anatomy *a)
{
    for (int i = 0; i < PV_TAG_PLACES; i++) {
        const pv_tag *tag = &a->sheet->tag[i];
        uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
        if (!pv_tag_cells(tag->id, cells, a->diags))
            return false;
        double half = tag->cell * PV_TAG_CELLS / 2;
        draw_cells(a->drawing, cells, pv_add(tag->centre, pv_v(-half, half)), tag->cell);
        pv_draw_fill(a->drawing, black, false);
    }
    return true;
}
