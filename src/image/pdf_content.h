/* What a page of a PDF draws: as much of its content stream (ISO 32000-1, 7.8.2 and annex A) as
 * tells where pictures lie. No library. */
#ifndef IMAGE_PDF_CONTENT_H
#define IMAGE_PDF_CONTENT_H

#include <stdbool.h>
#include <stddef.h>

#define PV_CONTENT_OPERATORS_MAX 2000000u /* of one page, its forms counted as often as drawn */
#define PV_CONTENT_NAME_MAX      128

/* A map of the plane: x' = a x + c y + e, y' = b x + d y + f (8.3.4), as a to f. */
typedef struct pv_map {
    double m[6];
} pv_map;

/* First `inner`, then `outer`. */
pv_map pv_map_after(const pv_map *inner, const pv_map *outer);

/* How things come onto the page. */
typedef struct pv_content_ink {
    bool black;     /* things are filled with it */
    bool white;     /* or with that */
    size_t samples; /* of its device space: 1 grey, 3 RGB, 4 CMYK; 0 of any other */
    bool altered;   /* not as they are: a graphics state lets through, blends or shifts light */
} pv_content_ink;

typedef struct pv_content {
    /* Called for each named thing that is drawn ("/Im1"), with the map from its own space to the
     * page's. False ends the reading. */
    bool (*draw)(void *context, const char *name, const pv_map *map, const pv_content_ink *ink);
    /* Does a named graphics state alter what is drawn from there on? */
    bool (*alters)(void *context, const char *name);
    void *context;
    size_t operators; /* read so far */
    size_t painted;   /* paths, visible letters and shadings; not white on the bare page */
    bool begun;       /* something named or a picture was drawn */
    size_t inlined;   /* pictures that stand in the content itself */
    bool damaged;     /* a map has other than six numbers */
} pv_content;

/* False where it ends before its time: by what draw said, past a limit, damaged, or where states
 * are nested deeper than 64. What isn't understood is passed over, but no map: without it what
 * follows would have another size. */
bool pv_content_read(pv_content *content, const unsigned char *bytes, size_t size,
                     const pv_map *map, const pv_content_ink *ink);

#endif
