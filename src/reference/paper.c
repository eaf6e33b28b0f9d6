#include "reference/paper.h"

#include "reference/outline.h"

#define LINES_MAX 120 /* across one edge */

double pv_paper_tolerance(double side)
{
    return side <= 150 ? 1.5 : side <= 600 ? 2.0 : 3.0;
}

static bool cut_to_size(const double page[2])
{
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *p = pv_paper_at(i);
        bool upright = fabs(p->width - page[0]) < 0.1 && fabs(p->height - page[1]) < 0.1;
        bool turned = fabs(p->height - page[0]) < 0.1 && fabs(p->width - page[1]) < 0.1;
        if (upright || turned)
            return true;
    }
    return false;
}

/* Code of the ground at a place (the mean of its channels); -1 where the image doesn't reach. */
static int code_at(const pv_ground *g, pv_vec p)
{
    double x = (p.x - g->lo.x) * g->px_per_mm, y = (p.y - g->lo.y) * g->px_per_mm;
    if (!(x >= 0 && y >= 0 && x < (double)g->width && y < (double)g->height))
        return -1;
    size_t k = (size_t)y * g->width + (size_t)x;
    if (!g->seen[k])
        return -1;
    const uint8_t *code = g->code + k * (size_t)g->channels;
    return g->channels == 3 ? (code[0] + code[1] + code[2]) / 3 : code[0];
}

/* How far out of `from` the first clear step lies, mm; negative where there is none. */
static double first_step(const pv_ground *g, pv_vec from, pv_vec out)
{
    double step = 1 / g->px_per_mm, best = 0, at = -1;
    int steps = (int)((PV_PAPER_INSIDE + PV_PAPER_OUTSIDE) * g->px_per_mm);
    for (int i = 1; i < steps; i++) {
        double d = step * i;
        int a = code_at(g, pv_along(from, out, d - step));
        int b = code_at(g, pv_along(from, out, d + step));
        if (a < 0 || b < 0)
            return at;
        double size = fabs((double)(b - a)) / 2;
        if (size >= PV_PAPER_STEP && size > best) {
            best = size;
            at = d;
        } else if (at >= 0) {
            return at;
        }
    }
    return at;
}

/* Where most places along a side have their first step: a first guess of the edge. */
static bool guess_side(const pv_ground *g, pv_outline_side *side)
{
    double seen[LINES_MAX];
    size_t n = 0, all = 0, most = 0;
    double reach = side->half - 2 * PV_OUTLINE_ENDS, pitch = fmax(3, 2 * reach / LINES_MAX + 0.01);
    for (double s = -reach; s < reach && all < LINES_MAX; s += pitch, all++) {
        pv_vec from = pv_along(side->middle, side->along, s);
        double d = first_step(g, pv_along(from, side->out, -PV_PAPER_INSIDE), side->out);
        if (d >= 0)
            seen[n++] = d - PV_PAPER_INSIDE;
    }
    for (size_t i = 0; i < n; i++) {
        size_t near = 0;
        for (size_t k = 0; k < n; k++)
            near += fabs(seen[k] - seen[i]) <= 1;
        if (near > most) {
            most = near;
            side->off = seen[i];
        }
    }
    return 2 * most > all;
}

static bool measure(const pv_plane *plane, const pv_pose *pose, const pv_ground *ground,
                    pv_outline_side *side)
{
    return side->half > 4 * PV_OUTLINE_ENDS && guess_side(ground, side) &&
           pv_outline_measure_side(plane, pose, 1.2, PV_PAPER_RMS, side);
}

/* One direction: both its edges, a at the lower end. */
static void add_row(pv_evidence *out, int axis, double page, const pv_outline_side *a,
                    const pv_outline_side *b)
{
    /* Outwards is opposite, and so is the way along. */
    double turned = a->slope - b->slope, size = page + a->off + b->off;
    double z = log(page / size),
           u = hypot(pv_paper_tolerance(page) / sqrt(3),
                     hypot(sqrt(2) * PV_PAPER_EDGE_U, hypot(a->u_off, b->u_off)));
    if (fabs(turned) > PV_PAPER_TURNED || !(fabs(z) <= PV_PAPER_OFF))
        return;
    size_t k = out->rows++;
    out->row[k][axis] = 1;
    out->z[k] = z + log(cos((a->slope + b->slope) / 2));
    double first = out->cov[0];
    for (int i = 0; i < 4; i++)
        out->cov[i] = 0;
    out->cov[0] = k == 0 ? u * u / (size * size) : first;
    if (k == 1)
        out->cov[3] = u * u / (size * size);
}

pv_evidence pv_paper_evidence(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                              const pv_ground *ground)
{
    pv_evidence out = {.result = {.kind = PV_REFERENCE_PAPER}};
    pv_vec size = pv_sub(page->page.hi, page->page.lo);
    double w = size.x, h = size.y;
    pv_vec corner[4] = {{0, 0}, {w, 0}, {w, h}, {0, h}};
    pv_outline outline;
    bool seen[4];
    if (ground->width == 0 || !cut_to_size((const double[2]){w, h}))
        return out;
    for (int k = 0; k < 4; k++) {
        outline.side[k] = pv_outline_side_of(corner[k], corner[(k + 1) % 4]);
        seen[k] = measure(plane, pose, ground, &outline.side[k]);
    }
    if (seen[3] && seen[1])
        add_row(&out, 0, w, &outline.side[3], &outline.side[1]);
    if (seen[0] && seen[2])
        add_row(&out, 1, h, &outline.side[0], &outline.side[2]);
    pv_evidence_result(&out);
    if (out.rows == 2) {
        static const double none[4] = {0, 0, 0, 0};
        pv_outline_corners(&outline, none, corner);
        for (int k = 0; k < 4; k++) {
            out.result.corner[k][0] = corner[k].x;
            out.result.corner[k][1] = corner[k].y;
        }
    }
    return out;
}
