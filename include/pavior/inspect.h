/* pavior/inspect.h - is the print true? A scanned or photographed sheet, measured against its plan.
 *
 * Lengths are mm, angles mrad; U is an expanded uncertainty for 95.45 % (JCGM 100:2008, 6.2): U = k
 * u, where k is 2, or more where few degrees of freedom tell u (annex G.4). */
#ifndef PAVIOR_INSPECT_H
#define PAVIOR_INSPECT_H

#include <pavior/sheets.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ---- one value ---- */

/* JCGM 106:2012 with a guard band of U: a value conforms where |error| + U <= tolerance, does not
 * conform where |error| - U > tolerance, and is undecided between. A whole sheet conforms where all
 * its values do; it does not conform where more values don't than chance explains
 * (docs/how/uncertainty.md). */
typedef enum pv_verdict { PV_CONFORMS, PV_DOES_NOT_CONFORM, PV_UNDECIDED } pv_verdict;

/* "conforms", "does not conform", "undecided". */
PV_API const char *pv_verdict_name(pv_verdict verdict);

/* What a value's uncertainty comes from; docs/how/uncertainty.md says what each stands for. */
typedef enum pv_contribution {
    PV_PART_SCATTER, /* of the places that were averaged: noise, ragged ink, grain (type A) */
    PV_PART_GRID,    /* where pixels lie under an edge */
    PV_PART_TONE,    /* the tone curve and colour fringes of scanner or camera, a level of 1-bit
                        scans */
    PV_PART_SCREEN,  /* halftone dots that are cut along an edge alike all the way */
    PV_PART_POSE, /* the map from sheet to image: its fit, lens, a sheet that isn't flat, a scanner
                     that doesn't run evenly */
    PV_PART_INK,  /* ink's spread where it moves a centre */
    PV_PART_REFERENCE, /* what tells how long a millimetre is */
    PV_PARTS
} pv_contribution;

#define PV_PARTS_ROOM 16 /* more parts than any version of this major number has */

/* "scatter", "pixel grid", ... */
PV_API const char *pv_contribution_name(pv_contribution part);

/* What would settle an undecided value; several may be needed together (docs/how/uncertainty.md).
 */
typedef enum pv_remedy {
    PV_REMEDY_REFERENCE = 1, /* one, or a better one */
    PV_REMEDY_IMAGE = 2,     /* a finer picture of its edges */
    PV_REMEDY_FLAT = 4,      /* a flat sheet, seen straight: the map */
    PV_REMEDY_SIGHT = 8,     /* its edges to be seen at all */
    PV_REMEDY_PRINT = 16     /* nothing that measures: it is too near its limit */
} pv_remedy;

/* What a value is a value of. New kinds are added at the end. */
typedef enum pv_value_kind {
    PV_KIND_SCALE,    /* printed mm per nominal mm along the sheet's own upright x, and y */
    PV_KIND_SKEW,     /* mrad by which the angle from the sheet's x to its y axis falls short of a
                         right angle */
    PV_KIND_INK,      /* mm by which dark spreads into light at each edge; negative: it shrinks */
    PV_KIND_WIDTH,    /* mm, of a line */
    PV_KIND_STRAIGHT, /* mm, largest deviation of a centre line from its own best fit */
    PV_KIND_SPACING,  /* mm, between two neighbouring centre lines */
    PV_KIND_RAGGED,   /* mm, standard deviation of a line's edges from their own smooth course */
    PV_KIND_CONTRAST, /* of a line to the less contrasting of its sides: (lighter - darker) /
                         lighter, luminance */
    PV_KIND_BREAKS,   /* mm of a line's length that is interrupted */
    PV_KIND_BLOBS,    /* mm of a line's length that is swollen */
    PV_KIND_STRENGTH, /* of an area: its printed difference from paper, as a share of the nominal */
    PV_KIND_MISSING,  /* share of an area that looks like bare paper, 0 to 1 */
    PV_KIND_MOTTLE,   /* of an area: standard deviation of luminance over squares of 1 mm, relative
                         to white */
    PV_KINDS
} pv_value_kind;

/* What a kind's values belong to. */
typedef enum pv_value_of {
    PV_OF_SHEET,
    PV_OF_LINE,  /* subject: pv_inspection_line's index */
    PV_OF_LINES, /* two: subject and other */
    PV_OF_AREA   /* subject: pv_inspection_fill's index */
} pv_value_of;

/* How a kind is told, in any report. */
typedef struct pv_kind_info {
    const char *name, *plural; /* "width", "widths" */
    const char *heading;       /* of a table: "Widths of lines" */
    const char *unit;          /* as shown: "mm", "%" */
    double factor;             /* from the value to that unit */
    /* In JSON (docs/reference/inspection-format.md): the value's key, what stands before its
     * companions' and behind those with its unit ("bow_U_mm"), the keys of its nominal value and of
     * its count, or NULL. */
    const char *key, *prefix, *suffix, *nominal_key, *count_key;
    pv_value_of of;
    int decimals;      /* that it is shown with, in its unit */
    int json_decimals; /* in JSON, in its own */
    bool judged;       /* a course gives its tolerance */
    bool length;       /* relative to the sheet's own size where there is no reference */
} pv_kind_info;

PV_API const pv_kind_info *pv_kind_of(pv_value_kind kind);

/* One row of the table of values. Its standard uncertainty u is the root of the sum of squares of
 * its parts (JCGM 100:2008, 5.1.2), its expanded one U = k u, k = t for 95.45 % and the effective
 * degrees of freedom (annex G.4): 2.00 where there are many. Kinds that no course gives a tolerance
 * for have no uncertainty, save for ink's spread; their verdict is undecided and counts for
 * nothing. */
typedef struct pv_value {
    pv_value_kind kind;
    size_t subject, other; /* what it belongs to: see pv_value_of; of a scale the axis, 0 or 1 */
    const char *name, *to; /* the line's id, a spacing's two, the area's colour, "x" or "y"; "" */
    double x[2], y[2];     /* of a spacing: mm, mat frame, a place on each line about the middle of
                              what they share; else zeros */
    double nominal, value; /* in the kind's own unit: mm, mrad or 1 */
    double part[PV_PARTS_ROOM]; /* standard uncertainties, by pv_contribution; the rest 0 */
    double freedom;             /* effective degrees of freedom; HUGE_VAL where none is limited */
    double u, k, U;
    double tolerance;   /* how far it may be off, to either side; of a kind that isn't judged
                           another thing: the bound past which it is worth a note */
    double probability; /* that it is within tolerance, JCGM 106:2012, 7.2; 0 to 1; NAN where
                           nothing is proven: a length without a reference, or not measured */
    pv_verdict verdict;
    unsigned remedy;        /* of pv_remedy, together, where it is undecided; else 0 */
    double U_needed;        /* where undecided: what U would have to be; 0: cannot be said */
    size_t places, planned; /* places that were measured, and that could be by the plan; of breaks
                               and blobs how many there are. A line's judged value counts only
                               where planned > 0 */
    bool measured;          /* false: all but tolerance and remedy means nothing, it is undecided */
    bool counts;            /* for the sheet's verdict */
    bool fair;              /* false: worth a note, of a kind that isn't judged */
    bool inches;            /* people see it in inches, where it is a length */
} pv_value;

/* Its kind, with the unit and the decimals that people see this value in. */
PV_API pv_kind_info pv_value_shown(const pv_value *value);

/* ---- what values belong to ---- */

/* A line that the sheet shows. */
typedef struct pv_line_result {
    const char *id;
    double nominal;       /* mm, the width in the course */
    size_t line;          /* its index in the course */
    size_t planned;       /* places where by the plan both its edges stand clear; where there are
                             none the line counts for nothing in the verdict */
    bool too_thin;        /* why there are none: for this picture's resolution */
    size_t stations;      /* those where its width was measured */
    size_t first_station; /* of the inspection's */
    size_t first_value;   /* of the inspection's: its width; its others follow */
    double looked;        /* mm of its length along which breaks and blobs were sought */
    bool gray;            /* the course asks for hue, the picture has hues, and the line has none */
    bool fair;            /* false: something of how it is printed is worth a note */
    double longest_break; /* mm along it; 0 where there is none */
} pv_line_result;

/* One place across a line where its width was measured. */
typedef struct pv_station_result {
    double x, y;   /* mm, mat frame, on the line's centre as planned */
    double nx, ny; /* unit, to the left of the line's way */
    double s;      /* mm along the line from its start */
    double width;  /* mm */
    double centre; /* mm to the left of where the sheet's map puts it */
} pv_station_result;

/* One break or blob. */
typedef struct pv_flaw {
    size_t line;   /* of the inspection's */
    bool blob;     /* else a break */
    double x, y;   /* mm, mat frame: its middle; of a blob, on the edge as printed */
    double length; /* mm along the line */
    double reach; /* mm: how far a blob stands out from the edge; what a break takes of the width */
} pv_flaw;

#define PV_FLAWS_MAX 1000 /* in one image; more are counted in their lines only */

/* One area of plain colour. */
typedef struct pv_fill_result {
    const char *colour; /* as the course names it */
    double x, y;        /* mm, mat frame: a place of it on this sheet */
    double area;        /* mm2 looked at */
    double nominal[3];  /* linear light, red, green, blue */
    double printed[3];  /* relative to the sheet's paper = 1 */
    size_t first_value; /* of the inspection's: its strength; its others follow */
    bool gray;          /* a colour came out without hue, in a picture that has hues */
    bool whitened;      /* a pale colour is as good as gone all over, in a picture whose paper is as
                           light as it can be, while dark ink is there: by the device, or by the printer
                         */
    bool fair;
} pv_fill_result;

/* What the surface of the sheet's cell has that the course has not. */
typedef enum pv_mark_kind {
    PV_MARK_STRAY,   /* something that the course does not have there */
    PV_MARK_MISSING, /* bare paper where the course has paint */
    PV_MARK_COLOUR   /* paint of another colour than the course's */
} pv_mark_kind;

/* "unexpected mark", "missing paint", "wrong colour". */
PV_API const char *pv_mark_kind_name(pv_mark_kind kind);

/* What a mark may be instead of something on the print; several may be set. */
typedef enum pv_mark_doubt {
    PV_DOUBT_DUST = 1,   /* small, or thin: on the glass or the sheet */
    PV_DOUBT_SHADOW = 2, /* darker, without a sharp edge that the picture can show */
    PV_DOUBT_GLOSS = 4,  /* lighter, alike: light that ink or glass reflects */
    PV_DOUBT_CARD = 8    /* a bank card (ISO/IEC 7810 ID-1), or what shows of one */
} pv_mark_doubt;

/* One mark: what hangs together, or lies nearer than a sensor's spot. All light is linear and
 * relative to the sheet's bare paper = 1. */
typedef struct pv_mark {
    pv_mark_kind kind;
    unsigned doubt;             /* of pv_mark_doubt; 0: it is on the print */
    double x, y;                /* mm, mat frame: the middle of its box */
    double lo[2], hi[2];        /* mm, mat frame: its box */
    double length, width;       /* mm, along it and across it */
    double stroke;              /* mm: how thick what it is made of is, on the mean */
    double area;                /* mm2 */
    double contrast;            /* luminance less what belongs there: negative is darker */
    double seen[3], planned[3]; /* light, red, green, blue: its own, and what belongs there */
    double off; /* by how much light is off over one sensor's spot, at most: root mean square of
                   red, green and blue; of greys, of luminance */
    double U;   /* of that */
    double tolerance, spot; /* the course's: of off; mm */
    const char *colour;     /* the course's, where most of it lies */
    const char *line;       /* the id of the line that most of it lies on, or NULL */
    pv_verdict verdict;
    const char *meaning; /* a sentence: what it means to a robot, and what to do */
} pv_mark;

#define PV_MARKS_MAX 200 /* in one image: those with the largest `off` */

/* What tells how long a millimetre is. Without any, no length is proven: widths and spacings are
 * then relative to the sheet's own nominal size, and undecided. */
typedef enum pv_reference_kind {
    PV_REFERENCE_NONE,
    PV_REFERENCE_SCANNER,  /* a scan's stated resolution */
    PV_REFERENCE_CARD,     /* an ID-1 card, ISO/IEC 7810, in the picture */
    PV_REFERENCE_RULER,    /* lengths of the print measured by hand, typed in */
    PV_REFERENCE_PAPER,    /* the paper's own edges */
    PV_REFERENCE_COMBINED, /* several of them, by weight */
    PV_REFERENCE_KINDS     /* how many there are: grows with every new one */
} pv_reference_kind;

/* "none", "scanner", "card", "ruler", "paper", "combined". */
PV_API const char *pv_reference_name(pv_reference_kind kind);

/* What one reference says of this print. */
typedef struct pv_reference_result {
    pv_reference_kind kind;
    double scale[2],
        U[2]; /* printed mm per nominal mm along the sheet's x and y; U 0: says nothing */
    double skew, skew_U; /* mrad; skew_U 0: says nothing */
    double weight[2];    /* its share in the combined scale, 0 to 1 */
    bool disagrees;      /* with the others, by more than their uncertainties allow */
    bool unused;         /* seen, but it tells nothing: a note says why */
    double corner[4][2]; /* mm, sheet frame: where the object lies (card, paper); else zeros */
} pv_reference_result;

/* The picture rectified into the sheet's frame, sRGB codes, the sheet's top row first. */
typedef struct pv_picture {
    size_t width, height;
    double px_per_mm;
    unsigned char *rgb; /* 3 width height */
} pv_picture;

#define PV_PICTURE_PX_PER_MM  5.0       /* without another wish */
#define PV_PICTURE_PIXELS_MAX 4000000.0 /* of one; larger sheets come at less px_per_mm */
/* What many sheets' pictures take together where the command and the page inspect them: 40 million
 * pixels, if each is of an A4 page. Each has the square root of its share as px_per_mm. */
#define PV_PICTURES_PX_PER_MM2 (40e6 / (210.0 * 297.0))

/* ---- one image's result ---- */

/* What scanned the sheet, as far as the user says. A feeder draws the paper past its sensor; which
 * edge of the sheet went in first tells the direction of its feed, however a program turned the
 * picture afterwards. */
typedef enum pv_scanner_kind {
    PV_SCANNER_UNKNOWN, /* may be a feeder, either way round */
    PV_SCANNER_FLATBED,
    PV_SCANNER_FEEDER,       /* by which edge isn't known: the worse in both directions */
    PV_SCANNER_FEEDER_SHORT, /* a short edge first: the feed runs along the sheet's long sides */
    PV_SCANNER_FEEDER_LONG,
    PV_SCANNER_KINDS
} pv_scanner_kind;

/* "unknown", "flatbed", "feeder", "feeder-short", "feeder-long". */
PV_API const char *pv_scanner_kind_name(pv_scanner_kind kind);

/* How far a stated resolution may be off, relative, any value within as likely as another
 * (docs/how/references.md has the grounds): a flatbed's both ways and a feeder's across, and a
 * feeder's along its feed. The standard uncertainty is the limit by sqrt(3) (JCGM 100, 4.3.7). */
#define PV_FLATBED_OFF 0.002
#define PV_FEED_OFF    0.010

/* The sheet and the image as a whole. */
typedef struct pv_inspected {
    const char *file;
    /* In plain words, whole sentences: whether the sheet is true, and on what that rests ("True to
     * size, taking the scanner to be true to 0.1 %."); and what to do now. */
    const char *answer, *advice;
    const char *error; /* why the image can't be used, or NULL; then nothing below counts */
    const char *sheet; /* "B2" */
    size_t plan;       /* of those it was inspected with: the one that the sheet is of */
    size_t number;     /* of the sheet, in that plan */
    bool inches;       /* the course was written in inches or feet: people see lengths in inches */
    double page[2];    /* mm, width and height of the page as sent to the printer */
    double origin[2];  /* mm, mat frame: the place of the page's lower left corner */
    double gauge[2];   /* mm between its gauge marks, P-Q across and P-S up; 0: it has none */
    const char *paper; /* the paper's name, as in the plan */
    const char *kit;   /* name, edition and fingerprint as printed on the sheet */
    pv_verdict verdict;
    bool photograph;
    bool unsure_kind; /* a photograph as it seems, but an uneven scan that states no resolution may
                         look like this: a bank card in it is not used */
    pv_correction corrected; /* what the plan's sheets were corrected for */
    pv_reference_kind reference;
    double reference_U_rel;        /* relative, k = 2: the larger of both directions */
    const char *basis;             /* on what the scale rests, to follow a verdict: "taking the
                                      flatbed to be true to 0.2 %"; "nothing" */
    pv_scanner_kind scanner;       /* as stated */
    bool disagree;                 /* references disagree, so that none counts */
    double resolution[2];          /* stated, px per mm along the image's x and y; 0 where none */
    double measured_resolution[2]; /* the same as the print has it: px per nominal mm */
    double turn;     /* degrees counter-clockwise by which the sheet lies turned in the image */
    double residual; /* px, RMS of the pose's fit */
    double uneven;   /* mm, RMS of what the map leaves systematically, over areas of 20 mm: a sheet
                        that isn't flat, or a print that isn't true within itself */
    double lens;     /* relative, radial displacement at the image's corner; 0 for a scan */
    size_t unpaired; /* pieces of lines whose spacings were not measured, because the sheet has more
                        than the limit of 500: then it conforms to no spacing, and is undecided */
    double surface;  /* share of the sheet's cell that was compared with the course, 0 to 1: not
                        what is covered, out of the picture, or beneath thin lines. Where it is less
                        than half the sheet cannot conform; 0 in a picture of black and white alone,
                        which shows no mark that is lighter than its cut */
    bool unsought;   /* breaks were not sought along all lines, because the sheet has more than the
                        limit of 25 m of them: then it cannot conform */
    size_t picture;  /* of a file that holds several, which this is of, from 1; else 0 */
    const char *label; /* the picture's name for people: "scan.png", or "scan.pdf, page 2" */
    const pv_language *language; /* of all that it says; NULL: English */
    bool hidden; /* what may be a card, but is not used, lies on its cell: it may be anything, and
                    what is beneath was not compared */
    bool asks_scanner; /* undecided, as a scan by a scanner of unknown kind: known to be from a
                          flatbed's glass, it might be decided */
    bool proof;        /* it is a proof page: its `sheet`, "A1", is no sheet of a mat */
    bool asks_finer;   /* conforms, but none of its lines was measured, which a finer scan may do */
} pv_inspected;

/* Everything belongs to the inspection. All that it holds is asked for one at a time, by an index
 * below its count; values stand by what they belong to: the sheet's, each line's, the spacings,
 * each area's. */
typedef struct pv_inspection pv_inspection;

PV_API const pv_inspected *pv_inspection_sheet(const pv_inspection *in);
PV_API size_t pv_inspection_values(const pv_inspection *in);
PV_API const pv_value *pv_inspection_value(const pv_inspection *in, size_t index);
/* The value of that kind of that subject; NULL where there is none. */
PV_API const pv_value *pv_inspection_find(const pv_inspection *in, pv_value_kind kind,
                                          size_t subject);
PV_API size_t pv_inspection_lines(const pv_inspection *in);
PV_API const pv_line_result *pv_inspection_line(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_stations(const pv_inspection *in); /* by line */
PV_API const pv_station_result *pv_inspection_station(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_fills(const pv_inspection *in);
PV_API const pv_fill_result *pv_inspection_fill(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_flaws(const pv_inspection *in); /* by line; at most PV_FLAWS_MAX */
PV_API const pv_flaw *pv_inspection_flaw(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_marks(const pv_inspection *in); /* the largest `off` first */
PV_API const pv_mark *pv_inspection_mark(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_references(const pv_inspection *in); /* each that was found */
PV_API const pv_reference_result *pv_inspection_reference(const pv_inspection *in, size_t index);
/* What to measure by hand, so that a sheet is decided that is undecided for want of a good enough
 * reference; none where that can't. */
typedef struct pv_distance {
    char from, to;  /* gauge marks, as in pv_ruler_reading */
    double nominal; /* mm, as drawn */
    double U;       /* mm, k = 2: how well it must be read */
} pv_distance;
PV_API size_t pv_inspection_steps(const pv_inspection *in);
PV_API const pv_distance *pv_inspection_step(const pv_inspection *in, size_t index);
PV_API size_t pv_inspection_notes(const pv_inspection *in);
PV_API const char *pv_inspection_note(const pv_inspection *in, size_t index);
/* Where it was asked for; else NULL. */
PV_API const pv_picture *pv_inspection_picture(const pv_inspection *in);

/* ---- inspecting ---- */

/* How a scanner's true resolution differs from what it states (`pavior calibrate --scanner`): true
 * mm per stated mm along the image's x and y, and how far its axes are from square. A place X to
 * the right and Y up in stated mm truly lies at (fx X + fy sin(skew) Y, fy cos(skew) Y). A result:
 * the library takes it only as the library made it. */
typedef struct pv_scanner {
    double factor[2], U_rel[2]; /* U: expanded, k = 2 */
    double skew, skew_U;        /* mrad by which the image's x axis and its y axis (up) truly
                                   enclose less than a right angle */
} pv_scanner;

/* A length of the print measured by hand, between the middles of two of the sheet's gauge marks: P
 * lower left, Q lower right, R upper right, S upper left. */
typedef struct pv_ruler_reading {
    char from, to;   /* 'P' to 'S' */
    double measured; /* mm */
    double U;        /* mm, expanded, k = 2; 0: PV_RULER_U, or a tape's */
} pv_ruler_reading;

/* Of a reading without a stated uncertainty, mm, k = 2: PV_RULER_U by a steel rule with
 * millimetres, and beyond its length by a tape measure more. Each end read to a quarter of a
 * millimetre, +-0.125 evenly (assumed), makes 2 sqrt(2) 0.125 / sqrt(3) = 0.20; a rule of class I
 * errs up to 0.1 + 0.1 L mm, a tape of class II up to 0.3 + 0.2 L, L in metres rounded up
 * (Directive 2014/32/EU, annex X; OIML R 35), evenly: 0.23 for the rule, together 0.3. */
#define PV_RULER_LONGEST 1000.0 /* mm */
#define PV_RULER_U       0.3

/* How far a reading may be from the nominal length, as a share of it: more is a slip. Pages shrunk
 * to fit are up to 6 % off; twice that and some more (assumed). */
#define PV_RULER_APART  0.15
#define PV_READINGS_MAX 64

/* What an image may have: bytes of its file, pixels, and pictures in one file. */
#define PV_IMAGE_BYTES_MAX  (1u << 30)
#define PV_IMAGE_PIXELS_MAX 250000000u
#define PV_IMAGE_PAGES_MAX  500

/* All pointers are borrowed. Start from pv_inspect_defaults. */
typedef struct pv_inspect_options {
    size_t size; /* of this struct, for the library: pv_inspect_defaults sets it */
    pv_scanner_kind scanner_kind;
    double scanner_U_rel;      /* relative expanded uncertainty (k = 2) of a scanner's stated
                                  resolution; negative: by its kind */
    const pv_scanner *scanner; /* of this scanner, or NULL */
    double dpi;                /* overrides what the image states; 0: use what it states */
    const pv_ruler_reading *readings;
    size_t n_readings;
    double picture_px_per_mm; /* keep the rectified picture for the report, at most as fine as this
                                 and as PV_PICTURE_PX_PER_MM; 0: keep none */
    size_t pixels_max;        /* refuse larger images */
    size_t page;              /* of a file that holds several pictures, which one: 0 is the first */
    const pv_language *language; /* of all that people read in it; NULL: English */
    bool for_sender; /* the advice is for whoever sent the picture and has no program: it names no
                        commands, and asks for no readings */
    bool by_page;    /* of for_sender: who has the page that inspects in a browser */
} pv_inspect_options;

PV_API void pv_inspect_init(pv_inspect_options *options, size_t size);
static inline pv_inspect_options pv_inspect_defaults(void)
{
    pv_inspect_options options;
    pv_inspect_init(&options, sizeof options);
    return options;
}

/* How many pictures a file holds: the pages of a TIFF or a PDF, the pictures of a HEIC or AVIF; 1
 * of all others, of what can't be read, and of what has more than PV_IMAGE_PAGES_MAX. Inspecting
 * says what is wrong. */
PV_API size_t pv_image_pages(const unsigned char *bytes, size_t size);

/* Measures one picture of a file (docs/reference/images.md has the kinds). The sheet that it shows
 * may be of any of the plans, of which there must be one or more. `name` stands for it in the
 * result; NULL: "". Options of NULL are the defaults. An image that can't be used gives a result
 * with `error`; NULL only where memory ran out (said in diags). The caller frees it. */
PV_API pv_inspection *pv_inspect(const pv_plan *const *plans, size_t n_plans,
                                 const unsigned char *bytes, size_t size, const char *name,
                                 const pv_inspect_options *options, pv_diags *diags);
/* The result for an image that couldn't even be read; the caller frees it. NULL where memory ran
 * out. */
PV_API pv_inspection *pv_inspection_unread(const char *name, const char *why,
                                           const pv_language *language);
/* The same for a file of several pages that came with ruler readings, which are of one sheet. */
PV_API pv_inspection *pv_inspection_several(const char *name, const pv_language *language);
PV_API void pv_inspection_free(pv_inspection *inspection);

/* For people, in the language of the first, where `colour` with a terminal's escape codes; and for
 * machines (docs/reference/inspection-format.md has the keys), where `budget` with every value's
 * parts of its uncertainty. The caller frees them with pv_free; NULL where memory ran out. */
PV_API char *pv_inspections_text(const pv_inspection *const *items, size_t n, bool colour);
PV_API char *pv_inspections_json(const pv_inspection *const *items, size_t n, bool budget);

/* Every value's uncertainty budget, for people. */
PV_API char *pv_inspections_budget(const pv_inspection *const *items, size_t n);

/* One self-contained page (HTML5, no script, nothing from outside) for people,
 * docs/use/reading-a-report.md. The
 * plans are those by which all of them were inspected, in the same order. Pictures that would make
 * it larger than PV_REPORT_PICTURES_MAX are embedded with fewer pixels. The caller frees it with
 * pv_free; NULL with a reason. */
#define PV_REPORT_PICTURES_MAX (24u << 20) /* bytes of all pictures, as JPEG */
PV_API char *pv_inspections_html(const pv_plan *const *plans, size_t n_plans,
                                 const pv_inspection *const *items, size_t n, pv_diags *diags);

/* ---- certificates (docs/use/signing-off.md) ---- */

/* What a certificate is checked by: sixteen letters and digits such as "7K3M-Q0ZD-1AVX-9T4E", of
 * which none looks like another. Its groups are sums of what the picture, the plan, the options and
 * the answer are, each of all before it, too; the last letter is of the other fifteen, and shows a
 * slip. Who has the picture, the kit and the options can make it anew, and so can everybody: it is
 * no signature. */
typedef struct pv_code {
    char chars[20]; /* "" for none */
} pv_code;

/* An inspection's. None of an image that can't be used, and where memory ran out. */
PV_API pv_code pv_inspection_code(const pv_inspection *inspection);
/* As somebody typed it: lower case, with other blanks and dashes or without, O for 0, I and L
 * for 1. False where it is no code: a letter is wrong, missing or at another's place. */
PV_API bool pv_code_parse(const char *text, pv_code *code);
/* Of a file's pictures the first one that the code is of, `from` or later (both as `page` in
 * pv_inspect_options); SIZE_MAX where there is none. Quick: nothing is measured. */
PV_API size_t pv_code_page(const pv_code *code, const unsigned char *bytes, size_t size,
                           size_t from);

/* How far a code that was given agrees with an inspection's. */
typedef enum pv_code_match {
    PV_CODE_OTHER_PICTURE,
    PV_CODE_OTHER_PLAN, /* the same picture; here it is of a sheet of another plan, or of none */
    PV_CODE_OTHER_OPTIONS,
    PV_CODE_OTHER_ANSWER, /* picture, plan and options are the same: not so the tolerances or the
                             version of pavior */
    PV_CODE_RIGHT
} pv_code_match;
PV_API pv_code_match pv_code_compare(const pv_code *code, const pv_inspection *inspection);

/* One page for each image that can be used, as PDF, to be signed by hand: verdict, numbers, the
 * picture (where it was kept), by what it was measured, and the code. On A4, or letter where the
 * sheet's paper is North American. The plans are those by which all of them were inspected, in the
 * same order; in the language of each. The same inspections give the same bytes. The caller frees
 * *bytes with pv_free. False with a reason; so where no image can be used. */
PV_API bool pv_inspections_certificate(const pv_plan *const *plans, size_t n_plans,
                                       const pv_inspection *const *items, size_t n, pv_type *type,
                                       unsigned char **bytes, size_t *size, pv_diags *diags);
/* What such a page states of an image, as text for a terminal. The caller frees it with pv_free;
 * NULL where memory ran out. */
PV_API char *pv_inspection_statement(const pv_inspection *inspection);

#ifdef __cplusplus
}
#endif
#endif
