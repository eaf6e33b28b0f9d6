/* From a scan with another reference besides the scanner to the scanner's own truth. */
#include "report/calibrate.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/vec.h"
#include "reference/reference.h"
#include "reference/ruler.h"

#include <math.h>
#include <stdlib.h>

#define TURN_MOST  20.0 /* degrees from a quarter turn: past that the axes can't be told apart */
#define LEAST_OWN  2e-5 /* relative: how well a scanner repeats itself at best (an estimate) */
#define LEAST_SKEW 0.02 /* mrad, alike */
#define FACTOR_MIN 0.97 /* no scanner is off by more (an estimate) */
#define FACTOR_MAX 1.03
#define SKEW_MOST  20.0 /* mrad, alike */
/* Relative: worse than a flatbed by itself is no help. */
#define U_MOST (2 * PV_FLATBED_OFF / sqrt(3))

/* A print as one reference has it: scales, and skew in rad. */
typedef struct shape {
    double x, y, skew;
} shape;

/* The scanner as (factor x, factor y, skew in rad), which makes of the print as the scanner states
 * it the print as it is: both in nominal steps, the first turned in the image. True lengths are
 * F T n, so that T^t F^t F T is the true print's metric. */
static bool solve(const shape *stated, const shape *truth, double turn, shape *out)
{
    pv_vec tx = pv_polar(stated->x, turn);
    pv_vec ty = pv_polar(stated->y, turn + PV_PI / 2 - stated->skew);
    double det = pv_cross_z(tx, ty);
    if (!(fabs(det) > 1e-9))
        return false;
    /* Rows of the inverse of T = (tx, ty). */
    double i[2][2] = {{ty.y / det, -ty.x / det}, {-tx.y / det, tx.x / det}};
    double g[2][2] = {{truth->x * truth->x, truth->x * truth->y * sin(truth->skew)},
                      {0, truth->y * truth->y}};
    g[1][0] = g[0][1];
    double f[2][2];
    for (int a = 0; a < 2; a++)
        for (int b = 0; b < 2; b++) {
            f[a][b] = 0;
            for (int k = 0; k < 2; k++)
                for (int l = 0; l < 2; l++)
                    f[a][b] += i[k][a] * g[k][l] * i[l][b];
        }
    if (!(f[0][0] > 0 && f[1][1] > 0))
        return false;
    out->x = sqrt(f[0][0]);
    out->y = sqrt(f[1][1]);
    out->skew = asin(fmax(-1, fmin(1, f[0][1] / (out->x * out->y))));
    return true;
}

/* A shape with what is not certain of it: standard uncertainties that this image has for its own,
 * and those that it shares with the others. */
typedef struct uncertain {
    shape value, own, shared;
} uncertain;

/* What one image says of the scanner. */
typedef struct said {
    uncertain factor;
    bool has_skew;
} said;

/* Adds to sum, by squares, what becomes of the scanner where one shape is off by u. */
static bool add_moved(const shape *stated, const shape *truth, bool of_truth, const shape *u,
                      double turn, const shape *found, double sum[3])
{
    for (int k = 0; k < 3; k++) {
        shape moved[2] = {*stated, *truth}, by;
        shape *one = &moved[of_truth];
        one->x += k == 0 ? u->x : 0;
        one->y += k == 1 ? u->y : 0;
        one->skew += k == 2 ? u->skew : 0;
        if (!solve(&moved[0], &moved[1], turn, &by))
            return false;
        const double d[3] = {by.x - found->x, by.y - found->y, by.skew - found->skew};
        for (int j = 0; j < 3; j++)
            sum[j] += d[j] * d[j];
    }
    return true;
}

/* The references' parts, and the map's, by which the scanner sees the print. */
static bool propagate(const uncertain *stated, const uncertain *truth, double turn, said *out)
{
    const shape *a = &stated->value, *b = &truth->value;
    shape *found = &out->factor.value;
    double own[3] = {0, 0, 0}, shared[3] = {0, 0, 0};
    if (!solve(a, b, turn, found) || !add_moved(a, b, true, &truth->own, turn, found, own) ||
        !add_moved(a, b, false, &stated->own, turn, found, own) ||
        !add_moved(a, b, true, &truth->shared, turn, found, shared))
        return false;
    out->factor.own = (shape){sqrt(own[0]), sqrt(own[1]), sqrt(own[2])};
    out->factor.shared = (shape){sqrt(shared[0]), sqrt(shared[1]), sqrt(shared[2])};
    return true;
}

/* What of a reading others share: only the rule itself where they are of other prints, all of it
 * where one print's readings were typed in for several scans. One card is laid on every time. */
static double shared_of(const pv_reported_reference *one, const pv_reported *v, bool read_once)
{
    return one->kind == PV_REFERENCE_RULER && read_once ? sqrt(PV_RULER_SHARED) * v->u : v->u;
}

/* A weighted mean of what the references besides the scanner say; false where they say nothing. */
static bool mean_of(const pv_reported_image *image, int which, bool read_once, double *value,
                    double *own, double *shared)
{
    double weight = 0, sum = 0, squares[2] = {0, 0};
    for (size_t i = 0; i < image->n_references; i++) {
        const pv_reported_reference *one = &image->references[i];
        const pv_reported *v = which < 2 ? &one->scale[which] : &one->skew;
        bool true_length = one->kind == PV_REFERENCE_CARD || one->kind == PV_REFERENCE_RULER;
        if (!true_length || !(v->u > 0))
            continue;
        double w = 1 / (v->u * v->u), common = shared_of(one, v, read_once);
        weight += w;
        sum += v->value * w;
        squares[0] += w * w * (v->u * v->u - common * common);
        squares[1] += w * w * common * common;
    }
    if (!(weight > 0))
        return false;
    *value = sum / weight;
    *own = sqrt(fmax(0, squares[0])) / weight;
    *shared = sqrt(squares[1]) / weight;
    return true;
}

/* The map's part of what an image says of its own print, standard; 0 where the report doesn't
 * tell it apart. */
static double map_u(const pv_reported *v)
{
    return v->U > 0 && v->shared >= 0 ? sqrt(fmax(0, v->u * v->u - v->shared * v->shared)) : 0;
}

/* Two references besides the scanner that differ by more than both their U explain. */
static bool contradict(const pv_reported_image *image)
{
    for (size_t i = 0; i < image->n_references; i++)
        for (size_t k = 0; k < i; k++) {
            const pv_reported_reference *p = &image->references[i], *q = &image->references[k];
            if (p->kind == PV_REFERENCE_SCANNER || q->kind == PV_REFERENCE_SCANNER)
                continue;
            for (int axis = 0; axis < 2; axis++) {
                const pv_reported *a = &p->scale[axis], *b = &q->scale[axis];
                if (a->U > 0 && b->U > 0 && fabs(a->value - b->value) > hypot(a->U, b->U))
                    return true;
            }
        }
    return false;
}

/* Readings that are equal to the last digit are one print's, typed in again. */
static bool same_readings(const pv_reported_image *a, const pv_reported_image *b)
{
    for (size_t i = 0; i < a->n_references; i++)
        for (size_t k = 0; k < b->n_references; k++) {
            const pv_reported_reference *p = &a->references[i], *q = &b->references[k];
            if (p->kind != PV_REFERENCE_RULER || q->kind != PV_REFERENCE_RULER)
                continue;
            for (int axis = 0; axis < 2; axis++)
                if (p->scale[axis].U > 0 && p->scale[axis].value == q->scale[axis].value)
                    return true;
        }
    return false;
}

static bool read_once(const pv_reported_images *images, size_t which)
{
    for (size_t i = 0; i < images->n; i++)
        if (i != which && same_readings(&images->items[which], &images->items[i]))
            return false;
    return true;
}

static const char *ask_image(const pv_reported_image *image, bool once, said *out)
{
    const pv_reported_reference *scanner = NULL;
    for (size_t i = 0; i < image->n_references; i++)
        if (image->references[i].kind == PV_REFERENCE_SCANNER)
            scanner = &image->references[i];
    if (image->error != NULL)
        return image->error;
    if (image->photograph || scanner == NULL || !(scanner->scale[0].U > 0))
        return "it is not a scan that states its resolution";
    if (!image->flatbed)
        return "it is not said to be a flatbed's: inspect it with --scanner flatbed if it is. A "
               "sheet feeder pulls each sheet a little differently, so its errors cannot be kept "
               "in a file";
    double turn = image->turn, quarter = fabs(turn - 90 * rint(turn / 90));
    if (quarter > TURN_MOST)
        return "the sheet lies askew by more than 20°, so the scanner's axes cannot be told apart";
    uncertain truth = {0};
    shape *own = &truth.own, *shared = &truth.shared;
    if (!mean_of(image, 0, once, &truth.value.x, &own->x, &shared->x) ||
        !mean_of(image, 1, once, &truth.value.y, &own->y, &shared->y))
        return "it has neither a card nor ruler readings (--measured) in both directions";
    uncertain stated = {
        .value = {scanner->scale[0].value, scanner->scale[1].value, scanner->skew.value / 1000},
        .own = {map_u(&image->value[PV_OF_X]), map_u(&image->value[PV_OF_Y]),
                map_u(&image->value[PV_OF_SKEW]) / 1000}};
    out->has_skew = scanner->skew.U > 0 &&
                    mean_of(image, 2, once, &truth.value.skew, &own->skew, &shared->skew);
    if (out->has_skew) {
        truth.value.skew /= 1000;
        own->skew /= 1000;
        shared->skew /= 1000;
    } else {
        truth.value.skew = stated.value.skew;
    }
    if (contradict(image))
        return "its references disagree";
    if (!propagate(&stated, &truth, turn * PV_PI / 180, out))
        return "its numbers contradict each other";
    return NULL;
}

/* ---- all images ---- */

typedef struct scans {
    pv_sample *samples[3]; /* factor x, factor y, skew in mrad */
    size_t n, n_skew;
} scans;

static void add(scans *s, const said *one)
{
    const shape *value = &one->factor.value, *own = &one->factor.own;
    const shape *shared = &one->factor.shared;
    s->samples[0][s->n] = (pv_sample){value->x, hypot(own->x, LEAST_OWN), shared->x, HUGE_VAL};
    s->samples[1][s->n] = (pv_sample){value->y, hypot(own->y, LEAST_OWN), shared->y, HUGE_VAL};
    s->n++;
    if (one->has_skew)
        s->samples[2][s->n_skew++] = (pv_sample){
            1000 * value->skew, hypot(1000 * own->skew, LEAST_SKEW), 1000 * shared->skew, HUGE_VAL};
}

/* An angle that nothing told is as good as any scanner's: square, and uncertain. */
static bool settle_skew(const scans *s, pv_scanner *out, pv_diags *diags)
{
    pv_mean mean = {0};
    if (s->n_skew > 0)
        mean = pv_mean_of(s->samples[2], s->n_skew);
    if (fabs(mean.value) > SKEW_MOST) {
        pv_diags_add(
            diags, PV_ERROR, PV_CAUSE_DATA, NULL,
            "check that the picture was not turned or changed after the scan",
            "the scanner's axes come out off the right angle by %s mrad, more than any scanner's",
            pv_fixed(mean.value, 1).chars);
        return false;
    }
    out->skew = 0;
    out->skew_U = 2000 * PV_FLATBED_ASKEW / sqrt(3);
    bool told = s->n_skew > 0 && 2 * mean.u < out->skew_U;
    if (told) {
        out->skew = mean.value;
        out->skew_U = 2 * mean.u;
    }
    pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL,
                 told ? "its axes are off the right angle by %s ±%s mrad"
                      : "its axes are assumed to be square, %s ±%s mrad, as any scanner's: only a "
                        "card can measure them",
                 pv_fixed(out->skew, 2).chars, pv_fixed(out->skew_U, 2).chars);
    return true;
}

static bool settle(const scans *s, pv_scanner *out, pv_diags *diags)
{
    static const char *const axes[2] = {"across", "down"};
    for (int i = 0; i < 2; i++) {
        pv_mean mean = pv_mean_of(s->samples[i], s->n);
        out->factor[i] = mean.value;
        out->U_rel[i] = 2 * mean.u / mean.value;
        if (!(mean.value >= FACTOR_MIN && mean.value <= FACTOR_MAX)) {
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                         "check that the picture's resolution was not changed after the scan",
                         "the scanner comes out off by %s %%, more than any scanner",
                         pv_fixed(100 * (mean.value - 1), 2).chars);
            return false;
        }
        if (out->U_rel[i] > U_MOST) {
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                         "measure between its marks with a good steel rule, or lay the card closer",
                         "these scans give the scanner's lengths %s only to ±%s %%, which is worse "
                         "than trusting the resolution it states",
                         axes[i], pv_fixed(100 * out->U_rel[i], 3).chars);
            return false;
        }
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL,
                     "a millimetre %s, as the scanner states it, is %s mm long, ±%s %%", axes[i],
                     pv_fixed(mean.value, 5).chars, pv_fixed(100 * out->U_rel[i], 3).chars);
        if (s->n > 1 && mean.chi > mean.limit)
            pv_diags_add(
                diags, PV_WARNING, PV_CAUSE_NONE, NULL, NULL,
                "the %zu scans disagree on its lengths %s by more than their uncertainties allow",
                s->n, axes[i]);
    }
    return settle_skew(s, out, diags);
}

static bool ask_all(const pv_reported_images *images, scans *s, pv_diags *diags)
{
    for (int i = 0; i < 3; i++)
        s->samples[i] = PV_NEW_ARRAY(images->n, pv_sample);
    if (s->samples[0] == NULL || s->samples[1] == NULL || s->samples[2] == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    for (size_t i = 0; i < images->n; i++) {
        said one = {0};
        const char *why = ask_image(&images->items[i], read_once(images, i), &one);
        if (why == NULL)
            add(s, &one);
        else
            pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, "%s is not used: %s",
                         images->items[i].file, why);
    }
    if (s->n > 0)
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "scan a proof with a card in its outline, or measure P-Q, P-S, P-R and Q-S on it "
                 "and give the readings with --measured",
                 "no image shows how accurate the scanner is");
    return false;
}

pv_scanner *pv_calibrate_scanner(const pv_report_text *reports, size_t n, pv_diags *diags)
{
    pv_scanner found = {{1, 1}, {0, 0}, 0, 0}, *out = NULL;
    pv_reported_images images;
    scans s = {{NULL, NULL, NULL}, 0, 0};
    bool good = pv_reports_read(reports, n, &images, diags) && ask_all(&images, &s, diags) &&
                settle(&s, &found, diags) && pv_all_said(diags);
    if (good && (out = pv_copy_bytes(&found, 1, sizeof found)) == NULL)
        pv_fail_memory(diags);
    for (int i = 0; i < 3; i++)
        free(s.samples[i]);
    pv_reports_clear(&images);
    return out;
}
