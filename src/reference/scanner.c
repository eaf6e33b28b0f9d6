/* A scan's stated resolution, and whether it is believed. */
#include "reference/scanner.h"

#include "po/po.h"

#define U_LEAST 2e-5 /* relative, and rad: no scanner is better, whatever the user states */

#define TURN_MOST 20.0 /* degrees from a quarter turn: past that a sheet wasn't fed by an edge */

/* Standard, relative: from there on what a format rounds is worth a word. */
#define ROUNDING_SAID 3e-4

/* Resolutions that scanners are set to: 75, 100, 150, 200, 300, 600 and 1200 in the manuals of most
 * (seen in those of SANE's back ends: 100, 150, 200, 300, 600 of a feeder, 75 to 1200 of a
 * flatbed); the others are common practice. Some drivers take any whole number, but a picture of
 * another resolution is likelier to be one that was resized. */
static const double common_dpi[] = {75,  100, 120, 150, 180, 200, 240, 250,  300,  360,  400,
                                    450, 480, 500, 600, 720, 800, 900, 1200, 1600, 2400, 4800};

/* A fax's, as files state them: 8 pixels to the mm across, and 3.85, 7.7 or 15.4 lines down (ITU-T
 * T.4, 2), in whole numbers per inch. */
static const double fax_dpi[] = {98, 196, 204, 391, 408};

void pv_pose_resolution(const pv_pose *pose, pv_vec at, double px_per_mm[2])
{
    /* The map is resolution x turn, so its rows have the resolution's lengths. */
    pv_vec dx, dy;
    pv_pose_jacobian(pose, at, &dx, &dy);
    px_per_mm[0] = hypot(dx.x, dy.x);
    px_per_mm[1] = hypot(dx.y, dy.y);
}

static double dpi(double px_per_mm)
{
    return px_per_mm * PV_MM_PER_IN;
}

static pv_digits dpi_text(double px_per_mm)
{
    return pv_fixed(dpi(px_per_mm), 0);
}

static bool whole(double value)
{
    return fabs(value - rint(value)) < 1e-4 * fabs(value) && fabs(value - rint(value)) < 0.01;
}

static bool is_fax(double px_per_mm)
{
    for (size_t i = 0; i < sizeof fax_dpi / sizeof *fax_dpi; i++)
        if (fabs(dpi(px_per_mm) - fax_dpi[i]) < 1e-3)
            return true;
    return false;
}

/* Standard uncertainty, relative, of a resolution that a format rounds to whole numbers: half a
 * unit, evenly spread. */
static double rounding_u(const pv_plane *plane, double px_per_mm)
{
    pv_resolution_source source = plane->source;
    if (source == PV_RESOLUTION_PNG) /* whole pixels per metre */
        return 0.5 / (1000 * px_per_mm) / sqrt(3);
    if (source == PV_RESOLUTION_PDF)
        return plane->rounding / sqrt(3);
    if (source == PV_RESOLUTION_TIFF && is_fax(px_per_mm))
        return 0.5 / dpi(px_per_mm) / sqrt(3);
    /* JFIF has whole pixels per inch, which scanners are set in, or per centimetre; some programs
     * write such numbers into a TIFF, too. */
    bool per_cm =
        source == PV_RESOLUTION_JFIF || (source == PV_RESOLUTION_TIFF && whole(10 * px_per_mm));
    return per_cm && !whole(dpi(px_per_mm)) ? 0.5 / (10 * px_per_mm) / sqrt(3) : 0;
}

static bool apart(const double stated[2], const double shown[2])
{
    for (int i = 0; i < 2; i++)
        if (!(fabs(shown[i] / stated[i] - 1) <= PV_REFERENCE_APART))
            return true;
    return false;
}

/* Pictures are resized by simple ratios; a page shrunk to fit is 6 % off by itself (assumed, and
 * the room beyond it). */
#define RATIO_NEAR 0.09

/* "twice", "half", ... how many times finer the statement is than what the sheet shows; NULL where
 * that is no simple ratio, or not one both ways. */
static const char *simple_ratio(const double stated[2], const double shown[2])
{
    static const struct {
        double ratio;
        const char *words;
    } known[] = {{2, PV_SAID("twice")},       {0.5, PV_SAID("half")},
                 {3, PV_SAID("three times")}, {1.0 / 3, PV_SAID("a third of")},
                 {4, PV_SAID("four times")},  {0.25, PV_SAID("a quarter of")},
                 {1.5, PV_SAID("1.5 times")}, {2.0 / 3, PV_SAID("two thirds of")}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (fabs(stated[0] / shown[0] / known[i].ratio - 1) < RATIO_NEAR &&
            fabs(stated[1] / shown[1] / known[i].ratio - 1) < RATIO_NEAR)
            return known[i].words;
    return NULL;
}

/* What is stated, by the image or with --dpi, is far from what the sheet shows. */
static void say_apart(const double stated[2], const double shown[2], bool given, pv_text *note)
{
    const char *words = pv_say(note->language, simple_ratio(stated, shown));
    const pv_digits says[2] = {dpi_text(stated[0]), dpi_text(stated[1])};
    const pv_digits has[2] = {dpi_text(shown[0]), dpi_text(shown[1])};
    const char *who = given ? "--dpi" : pv_say(note->language, "the image");
    if (words != NULL && given)
        pv_text_say(note,
                    "--dpi %s is %s what the sheet shows, about %s dpi, so it is not used: give "
                    "the setting that the sheet was scanned at. If that was %s dpi, a program "
                    "resized the picture: "
                    "scan the sheet again at 300 dpi and use the "
                    "scanner's own file, not resized, or add a card or ruler readings",
                    says[0].chars, words, has[0].chars, says[0].chars);
    else if (words != NULL)
        pv_text_say(note,
                    "the image states %s dpi, %s the about %s dpi at which it shows the sheet: "
                    "a program resized it after the scan, so its resolution is not used: "
                    "scan the sheet again at 300 dpi and use the "
                    "scanner's own file, not resized, or add a card or ruler readings",
                    says[0].chars, words, has[0].chars);
    else
        pv_text_say(note,
                    "%s states %s x %s dpi, but the sheet shows about %s x %s dpi. No sound "
                    "printer is so far off, so a program may have resized the picture, and this "
                    "does not prove its scale: print at 100 %%, and "
                    "scan the sheet again at 300 dpi and use the "
                    "scanner's own file, not resized, or add a card or ruler readings",
                    who, says[0].chars, says[1].chars, has[0].chars, has[1].chars);
}

/* One that scanners are set to, but for what the format rounds. */
static bool is_common(double px_per_mm, double rounding_u)
{
    for (size_t i = 0; i < sizeof common_dpi / sizeof *common_dpi; i++)
        if (fabs(dpi(px_per_mm) / common_dpi[i] - 1) <= sqrt(3) * rounding_u + 1e-4)
            return true;
    return rounding_u > 0 && is_fax(px_per_mm);
}

/* Whether the image states a resolution at all; if not, the note says why. */
static bool states(const pv_plane *plane, const double stated[2], pv_text *note)
{
    if (plane->source == PV_RESOLUTION_CONFLICT) {
        pv_text_say(note, "the image states two resolutions that disagree (JFIF and EXIF), so "
                          "neither is used: "
                          "scan it on a flatbed with the resolution kep"
                          "t in the file, or give the scanner's setting with --dpi");
        return false;
    }
    if (plane->source == PV_RESOLUTION_SCREEN) {
        pv_text_say(note, "the image states 72 or 96 dpi, which programs write by default, so it "
                          "is not used: "
                          "scan it on a flatbed with the resolution kep"
                          "t in the file, or give the scanner's setting with --dpi");
        return false;
    }
    if (plane->source == PV_RESOLUTION_ABSENT || !(stated[0] > 0 && stated[1] > 0)) {
        pv_text_say(note, "the image does not state its resolution, so its scale is not known "
                          "exactly: "
                          "scan it on a flatbed with the resolution kep"
                          "t in the file, or give the scanner's setting with --dpi");
        return false;
    }
    return true;
}

/* Whether what is stated can be a scanner's own; if not, the note says why. */
static bool plausible(const double stated[2], const double shown[2], const double u[2], bool given,
                      pv_text *note)
{
    if (apart(stated, shown)) {
        say_apart(stated, shown, given, note);
        return false;
    }
    if (is_common(stated[0], u[0]) && is_common(stated[1], u[1]))
        return true;
    pv_text_add(
        note,
        given ? pv_say(note->language,
                       "--dpi %s is a resolution that scanners are not set to: a program has "
                       "probably resized the picture, so this does not prove its scale: scan the "
                       "sheet again at 300 dpi and use the scanner's own file, not resized, or add "
                       "a card or ruler readings")
              : pv_say(note->language,
                       "the image states %s dpi, a resolution that scanners are not set to: a "
                       "program has probably resized the picture, so this does not prove its "
                       "scale: scan the sheet again at 300 dpi and use the scanner's own file, not "
                       "resized, or add a card or ruler readings"),
        dpi_text(stated[0]).chars);
    return false;
}

/* Where --dpi and the image contradict each other, one of them is a slip. */
static void doubt_given(const pv_plane *plane, const double given[2], pv_text *note)
{
    const double *stated = plane->resolution;
    bool real = stated[0] > 0 && stated[1] > 0 && plane->source != PV_RESOLUTION_SCREEN &&
                plane->source != PV_RESOLUTION_CONFLICT;
    if (real && (fabs(stated[0] / given[0] - 1) > 0.01 || fabs(stated[1] / given[1] - 1) > 0.01))
        pv_text_say(note,
                    "--dpi %s overrides the %s x %s dpi that the image states: was the sheet "
                    "scanned at that setting?",
                    dpi_text(given[0]).chars, dpi_text(stated[0]).chars, dpi_text(stated[1]).chars);
}

pv_scan_reference pv_scan_reference_decide(const pv_plane *plane, const pv_pose *pose,
                                           const pv_inspect_options *options, pv_text *note)
{
    pv_scan_reference out = {0};
    bool given = options->dpi > 0;
    double shown[2], u[2] = {0, 0};
    pv_pose_resolution(pose, pv_v(0, 0), shown);
    for (int i = 0; i < 2; i++) {
        out.stated[i] = given ? options->dpi / PV_MM_PER_IN : plane->resolution[i];
        if (!given && out.stated[i] > 0)
            u[i] = rounding_u(plane, out.stated[i]);
    }
    if (pose->kind == PV_POSE_PERSPECTIVE) {
        pv_text_say(
            note, "this is a photograph, and a photograph of a print alone cannot prove its "
                  "scale, because every mark grows and shrinks with the print: lay a bank card "
                  "beside the print or on it (ISO/IEC 7810 ID-1), measure between the sheet's "
                  "marks P, Q, R and S and give pavior inspect --measured, or scan the sheet on a "
                  "flatbed");
        return out;
    }
    if (!given && !states(plane, out.stated, note))
        return out;
    out.doubtful = !plausible(out.stated, shown, u, given, note);
    if (out.doubtful)
        return out;
    if (given)
        doubt_given(plane, out.stated, note);
    out.believed = true;
    out.px_per_mm[0] = out.stated[0];
    out.px_per_mm[1] = out.stated[1];
    out.rounding_u = fmax(u[0], u[1]);
    if (out.rounding_u > ROUNDING_SAID)
        pv_text_say(note,
                    "the image states its resolution in round numbers, which are accurate only "
                    "to %s %%: give the scanner's setting with --dpi",
                    pv_fixed(100 * 2 * out.rounding_u, 2).chars);
    return out;
}

/* ---- a scanner's own errors ---- */

/* A scanner's truth about itself: ln of its two factors and its skew. */
typedef struct scanner_state {
    double value[3];
    double cov[9];
} scanner_state;

/* The image's axis along which the paper was fed: 0 or 1; -1 where that isn't known. */
static int feed_of(const pv_pose *pose, const double page[2], pv_scanner_kind kind)
{
    pv_vec dx, dy;
    pv_pose_jacobian(pose, pv_v(0, 0), &dx, &dy);
    double turn = atan2(dx.y, dx.x) * 180 / PV_PI;
    bool edges = kind == PV_SCANNER_FEEDER_SHORT || kind == PV_SCANNER_FEEDER_LONG;
    if (!edges || page[0] == page[1] || fabs(turn - 90 * rint(turn / 90)) > TURN_MOST)
        return -1;
    bool long_is_y = page[1] > page[0], lies = fabs(dx.y) > fabs(dx.x);
    bool along_sheets_y = long_is_y == (kind == PV_SCANNER_FEEDER_SHORT);
    return along_sheets_y != lies;
}

pv_scanner_limits pv_scanner_limits_of(const pv_pose *pose, const double page[2],
                                       const pv_inspect_options *options)
{
    pv_scanner_kind kind = options->scanner_kind;
    double stated = options->scanner_U_rel;
    bool flatbed = kind == PV_SCANNER_FLATBED;
    pv_scanner_limits out = {.uneven = flatbed || stated >= 0 || options->scanner != NULL
                                           ? PV_FLATBED_UNEVEN
                                           : PV_FEED_UNEVEN};
    if (stated >= 0) {
        out.u[0] = out.u[1] = stated / 2;
        out.askew = PV_SCANNER_SKEW_U(stated) / 2000;
        return out;
    }
    int feed = feed_of(pose, page, kind);
    for (int i = 0; i < 2; i++)
        out.u[i] = (flatbed || feed == 1 - i ? PV_FLATBED_OFF : PV_FEED_OFF) / sqrt(3);
    out.askew = (flatbed ? PV_FLATBED_ASKEW : PV_FEED_ASKEW) / sqrt(3);
    return out;
}

/* What a format rounds says nothing of the right angle. A sensor's pitch and a motor's step have
 * nothing in common, so neither have the errors of both axes. */
static scanner_state state_of(const pv_scanner_limits *limits, double rounding_u,
                              const pv_scanner *own)
{
    scanner_state out = {{0, 0, 0}, {0}};
    double u[3] = {hypot(limits->u[0], rounding_u), hypot(limits->u[1], rounding_u), limits->askew};
    for (int i = 0; own != NULL && i < 2; i++) {
        out.value[i] = log(own->factor[i]);
        u[i] = hypot(own->U_rel[i] / 2, rounding_u);
    }
    if (own != NULL) {
        out.value[2] = own->skew / 1000;
        u[2] = own->skew_U / 2000;
    }
    for (int i = 0; i < 3; i++)
        out.cov[4 * i] = fmax(u[i] * u[i], U_LEAST * U_LEAST);
    return out;
}

/* The print as (ln sx, ln sy, skew), were the scanner like that. */
static bool print_of(const pv_pose *pose, const double px_per_mm[2], const double scanner[3],
                     double out[3])
{
    pv_vec d[2];
    double fx = exp(scanner[0]), fy = exp(scanner[1]);
    pv_pose_jacobian(pose, pv_v(0, 0), &d[0], &d[1]);
    for (int i = 0; i < 2; i++) {
        double right = d[i].x / px_per_mm[0], up = -d[i].y / px_per_mm[1];
        d[i] = pv_v(fx * right + fy * sin(scanner[2]) * up, fy * cos(scanner[2]) * up);
    }
    double lx = pv_len(d[0]), ly = pv_len(d[1]);
    if (!(lx > 0) || !(ly > 0))
        return false;
    out[0] = log(lx);
    out[1] = log(ly);
    out[2] = asin(fmax(-1, fmin(1, pv_dot(d[0], d[1]) / (lx * ly))));
    return true;
}

/* By differences: the print's three by the scanner's three. */
static pv_evidence evidence_of(const pv_pose *pose, const double px_per_mm[2],
                               const scanner_state *state)
{
    static const double step = 1e-5;
    pv_evidence out = {.result = {.kind = PV_REFERENCE_SCANNER}, .rows = 3};
    double by[3][3];
    if (!print_of(pose, px_per_mm, state->value, out.z))
        return (pv_evidence){.rows = 0};
    for (int k = 0; k < 3; k++) {
        double moved[3] = {state->value[0], state->value[1], state->value[2]}, p[3];
        moved[k] += step;
        if (!print_of(pose, px_per_mm, moved, p))
            return (pv_evidence){.rows = 0};
        for (int i = 0; i < 3; i++)
            by[i][k] = (p[i] - out.z[i]) / step;
    }
    for (int i = 0; i < 3; i++) {
        out.row[i][i] = 1;
        for (int k = 0; k < 3; k++)
            for (int a = 0; a < 3; a++)
                for (int b = 0; b < 3; b++)
                    out.cov[3 * i + k] += by[i][a] * state->cov[3 * a + b] * by[k][b];
    }
    return out;
}

pv_evidence pv_scan_evidence(const pv_scan_reference *scan, const pv_pose *pose,
                             const pv_scanner_limits *limits, const pv_inspect_options *options)
{
    scanner_state state = state_of(limits, scan->rounding_u, options->scanner);
    pv_evidence out = evidence_of(pose, scan->px_per_mm, &state);
    pv_evidence_result(&out);
    return out;
}

pv_evidence pv_square_evidence(const pv_pose *pose, const pv_scanner_limits *limits,
                               const pv_inspect_options *options)
{
    double shown[2], square[2];
    pv_pose_resolution(pose, pv_v(0, 0), shown);
    square[0] = square[1] = sqrt(shown[0] * shown[1]);
    scanner_state state = state_of(limits, 0, options->scanner);
    pv_evidence all = evidence_of(pose, square, &state);
    pv_evidence out = {.result = {.kind = PV_REFERENCE_SCANNER}, .silent = true};
    if (all.rows == 0 || !(fabs(shown[0] / shown[1] - 1) < PV_SCANNER_SQUARE))
        return out;
    out.rows = 2;
    out.row[0][0] = 1;
    out.row[0][1] = -1;
    out.row[1][2] = 1;
    out.z[0] = all.z[0] - all.z[1];
    out.z[1] = all.z[2];
    out.cov[0] = all.cov[0] + all.cov[4] - 2 * all.cov[1];
    out.cov[1] = out.cov[2] = all.cov[2] - all.cov[5];
    out.cov[3] = all.cov[8];
    return out;
}
