/* Stations: places across a line where both its edges stand clear, and what is measured there.
 * station.c plans them; across.c finds both edges at one, and so its width and centre. */
#ifndef MEASURE_STATION_H
#define MEASURE_STATION_H

#include "measure/frame.h"
#include "measure/optics.h"
#include "measure/shown.h"

/* Farther apart than two bands, so that neighbours share no pixel across the line. */
#define PV_STATION_PITCH 1.5  /* mm along a line */
#define PV_STATION_BAND  0.6  /* mm to each side of a station, averaged over */
#define PV_STATIONS_MAX  5000 /* on a sheet: past that they stand farther apart */

/* How far from an edge its plateaus are read, in nominal mm: on `near` to `far` from it, where the
 * blur of edge and scanner has ended. */
#define PV_PLATEAU_NEAR       0.40 /* mm */
#define PV_PLATEAU_NEAR_PX    2.5  /* px, where that is more */
#define PV_PLATEAU_NEAR_BLURS 3.0  /* standard deviations of the picture's blur, alike */
#define PV_PLATEAU_FAR        1.20 /* mm, less on lines under 2.4 mm wide */
#define PV_PLATEAU_PX_MIN     1.2  /* px from near to far, at least */
#define PV_CLEARANCE          0.50 /* mm of the same colour beyond a plateau */

/* The two colours at an edge must differ by so much linear light (length of the difference). */
#define PV_CONTRAST_MIN 0.02

/* One edge as it was seen there. */
typedef struct pv_seen {
    pv_vec px, across;  /* where, and unit, to the line's left, in the image */
    double blur;        /* px, see pv_edge_blur */
    double dark, light; /* luminance of its plateaus, linear light */
    /* What its place hangs on besides noise. By how much, to the line's left in true mm, one
     * standard deviation of each unknown of the tone curve moves it. Where it stands among the
     * pixels: a unit vector turned by its phase, shorter where it runs across them. */
    double tone[PV_TONES];
    pv_vec grid;
    /* Only where asked for: px along `across` of red and of blue against green. */
    double fringe[2];
    double weight[3]; /* the edge's */
    bool fringed;
    /* Of the plateaus to its right and its left: variance of single pixels along the line, light^2;
     * negative where it could not be looked at. */
    double texture[2];
    double screen; /* mm, see measure/screen.h */
} pv_seen;

typedef struct pv_station {
    size_t line, piece; /* in the art; of the line */
    double s;           /* mm along the piece */
    pv_vec at, heading; /* mat frame */
    double bend;        /* 1 / radius, positive where the centre lies to the left; 0: straight */
    size_t beside[2];   /* colours to the right and to the left */
    pv_lean lean;       /* what ink's spread does to its centre */
    double near, far;   /* nominal mm from an edge between which its plateaus are read */
    /* Measured; mm by the reference, or nominal mm where there is none. */
    bool found;
    double width;
    double edge[2];  /* the right and the left one, each to the left of where the pose says */
    double centre;   /* of the two edges, their mean */
    double slope[2]; /* of the right and the left transition, fraction of contrast per mm */
    pv_seen seen[2]; /* alike */
} pv_station;

typedef struct pv_stations {
    pv_station *items; /* by line, then piece, then s */
    size_t n, cap;
} pv_stations;

/* Finds all stations of a sheet by the model alone, `pitch` mm apart; the optics' blur says how far
 * from an edge its plateaus begin. False where memory ran out. */
bool pv_stations_plan(const pv_shown *shown, const pv_frame *frame, const pv_optics *optics,
                      double pitch, pv_stations *out);

/* Measures one: sets found and what follows. `look` asks for the fringes of edges between black and
 * white too. */
void pv_station_measure(const pv_frame *frame, const pv_plane *plane, const pv_optics *optics,
                        double line_width, bool look, pv_station *station);

/* near and far for a line of that width at px per nominal mm and a blur of `blur` px; false where
 * the line is too thin. */
bool pv_plateaus(double line_width, double px, double blur, double *near, double *far);

#endif
