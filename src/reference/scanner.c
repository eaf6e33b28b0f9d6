/* A scan's stated resolution, and whether it is believed. */
#include "reference/scanner.h"

#define GIVE_DPI                                                                                   \
    "scan it on a flatbed with the resolution kept in the file, or give the scanner's setting "    \
    "with --dpi"

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

/* Standard uncertainty, relative, of a resolution that a format rounds to whole numbers: half a
 * unit, evenly spread. */
static double rounding_u(pv_resolution_source source, double px_per_mm)
{
    if (source == PV_RESOLUTION_PNG) /* whole pixels per metre */
        return 0.5 / (1000 * px_per_mm) / sqrt(3);
    /* JFIF has whole pixels per inch, which scanners are set in, or per centimetre. */
    if (source == PV_RESOLUTION_JFIF && !whole(dpi(px_per_mm)))
        return 0.5 / (10 * px_per_mm) / sqrt(3);
    return 0;
}

static bool apart(const double stated[2], const double shown[2])
{
    for (int i = 0; i < 2; i++)
        if (!(fabs(shown[i] / stated[i] - 1) <= PV_REFERENCE_APART))
            return true;
    return false;
}

/* True where what the image states can be used; else says why not. */
static bool usable(const pv_plane *plane, const double stated[2], const double shown[2],
                   pv_text *note)
{
    if (plane->source == PV_RESOLUTION_CONFLICT) {
        pv_text_add(note, "the image states two resolutions that disagree (JFIF and EXIF), so "
                          "neither is believed and the scale is undecided: " GIVE_DPI);
        return false;
    }
    if (plane->source == PV_RESOLUTION_SCREEN) {
        pv_text_add(note, "the image states 72 or 96 dpi, which programs write where they know "
                          "nothing, so the scale is undecided: " GIVE_DPI);
        return false;
    }
    if (plane->source == PV_RESOLUTION_ABSENT || !(stated[0] > 0 && stated[1] > 0)) {
        pv_text_add(note, "the image doesn't state its resolution, so nothing tells how long a "
                          "millimetre is and the scale is undecided: " GIVE_DPI);
        return false;
    }
    if (apart(stated, shown)) {
        pv_text_add(note,
                    "the image states %s x %s dpi but shows the sheet at about %s x %s "
                    "dpi, which no printer is off by, so the statement is not believed and the "
                    "scale is undecided: " GIVE_DPI,
                    dpi_text(stated[0]).chars, dpi_text(stated[1]).chars, dpi_text(shown[0]).chars,
                    dpi_text(shown[1]).chars);
        return false;
    }
    return true;
}

/* Where --dpi and the image or the sheet contradict each other, one of them is a slip. */
static void doubt_given(const pv_plane *plane, const double given[2], const double shown[2],
                        pv_text *note)
{
    const double *stated = plane->resolution;
    bool states = stated[0] > 0 && stated[1] > 0 && plane->source != PV_RESOLUTION_SCREEN &&
                  plane->source != PV_RESOLUTION_CONFLICT;
    if (states && (fabs(stated[0] / given[0] - 1) > 0.01 || fabs(stated[1] / given[1] - 1) > 0.01))
        pv_text_add(note,
                    "--dpi %s overrides the %s x %s dpi that the image states: is it the setting "
                    "that this picture was scanned with?",
                    dpi_text(given[0]).chars, dpi_text(stated[0]).chars, dpi_text(stated[1]).chars);
    else if (apart(given, shown))
        pv_text_add(note,
                    "--dpi %s is given but the sheet shows at about %s x %s dpi, which no printer "
                    "is off by: is it the setting that this picture was scanned with?",
                    dpi_text(given[0]).chars, dpi_text(shown[0]).chars, dpi_text(shown[1]).chars);
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
            u[i] = rounding_u(plane->source, out.stated[i]);
    }
    if (pose->kind == PV_POSE_PERSPECTIVE) {
        pv_text_add(note, "this is a photograph: marks on a print grow and shrink with it, so no "
                          "photograph of a print alone proves its scale, which is undecided: scan "
                          "the sheet on a flatbed");
        return out;
    }
    if (!given && !usable(plane, out.stated, shown, note))
        return out;
    if (given)
        doubt_given(plane, out.stated, shown, note);
    out.believed = true;
    out.px_per_mm[0] = out.stated[0];
    out.px_per_mm[1] = out.stated[1];
    out.U_rel = hypot(options->scanner_U_rel, 2 * fmax(u[0], u[1]));
    if (out.U_rel > 1.5 * options->scanner_U_rel && fmax(u[0], u[1]) > 1e-4)
        pv_text_add(note,
                    "the image states its resolution in whole pixels per centimetre, which is good "
                    "to %s %% only: give the scanner's setting with --dpi",
                    pv_fixed(100 * 2 * fmax(u[0], u[1]), 2).chars);
    return out;
}
