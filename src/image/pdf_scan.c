/* PDF scans, by libqpdf: a page that shows one picture, or strips and tiles that join to one, is
 * that picture; where the page puts it tells its resolution. libqpdf finds the objects; what they
 * say is read here and in pdf_picture.c, how a page places its pictures in pdf_content.c.
 *
 * libqpdf's errors end with the call: qpdf_silence_errors keeps them off standard error. */
#include "base/text.h"
#include "image/pdf_content.h"
#include "image/pdf_picture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PIECES_MAX        2000
#define FORMS_MAX         8                  /* one in the other */
#define DRAWN_MAX         20000              /* things by their names, forms among them */
#define CONTENT_BYTES_MAX ((size_t)64 << 20) /* of a page and its forms, as often as drawn */
#define COVERED_LEAST     0.5 /* of a page that is drawn on besides: less is no scan (assumed) */

/* A picture on the page: where it lies along its own axes, in points from the page's origin, to the
 * right and down as its pixels run. */
typedef struct piece {
    qpdf_oh stream;
    size_t columns, rows;
    pv_map map; /* of its unit square, its last row at 0 (8.9.5.3) */
    double from[2], to[2];
    size_t place[2]; /* column and row among the pieces */
} piece;

typedef struct pdf_job {
    const pv_wanted *wanted;
    pv_diags *diags;
    qpdf_data pdf;
    qpdf_oh page, resources;
    piece *pieces;
    size_t n, capacity;
    size_t forms; /* that are open */
    size_t drawn;
    size_t budget; /* bytes of content that may still be unpacked */
    pv_content content;
    bool said;
    double user_unit;
    double u[2], v[2]; /* unit: the way of its columns and of its rows on the page, y up */
} pdf_job;

static bool fail(pdf_job *job, const char *hint, const char *what)
{
    if (!job->said)
        pv_diags_add(job->diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint, "%s", what);
    job->said = true;
    return false;
}

/* ---- the page ---- */

static bool open_pdf(pdf_job *job, const unsigned char *bytes, size_t size)
{
    if (!pv_pdf_guard(bytes, size, job->diags)) {
        job->said = true;
        return false;
    }
    job->pdf = qpdf_init();
    if (job->pdf == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    qpdf_silence_errors(job->pdf);
    qpdf_set_suppress_warnings(job->pdf, QPDF_TRUE);
    qpdf_set_attempt_recovery(job->pdf, QPDF_FALSE);
    QPDF_ERROR_CODE code = qpdf_read_memory(job->pdf, "PDF", (const char *)bytes, size, NULL);
    if ((code & QPDF_ERRORS) == 0)
        return true;
    if (qpdf_get_error_code(job->pdf, qpdf_get_error(job->pdf)) == qpdf_e_password)
        return fail(job, "save it without a password", "the PDF is protected by a password");
    return fail(job, PV_COPY_AGAIN, "the PDF is damaged");
}

static void close_pdf(pdf_job *job)
{
    free(job->pieces);
    if (job->pdf == NULL)
        return;
    if (qpdf_has_error(job->pdf)) /* one that isn't asked for is printed */
        qpdf_get_error(job->pdf);
    qpdf_cleanup(&job->pdf);
}

static size_t count_pages(pdf_job *job)
{
    int n = qpdf_get_num_pages(job->pdf);
    return n > 0 ? (size_t)n : 0;
}

size_t pv_pdf_scan_pages(const unsigned char *bytes, size_t size)
{
    pdf_job job = {.n = 0};
    size_t n = open_pdf(&job, bytes, size) ? count_pages(&job) : 1;
    close_pdf(&job);
    return n;
}

/* Four numbers of a box; false where they are none. */
static bool read_box(pdf_job *job, const char *key, double box[4])
{
    qpdf_oh array = pv_pdf_member(job->pdf, job->page, key);
    if (!qpdf_oh_is_array(job->pdf, array) || qpdf_oh_get_array_n_items(job->pdf, array) != 4)
        return false;
    for (int i = 0; i < 4; i++)
        box[i] = pv_pdf_number(job->pdf, qpdf_oh_get_array_item(job->pdf, array, i), NAN);
    return isfinite(box[0] + box[1] + box[2] + box[3]);
}

/* ---- what it draws ---- */

static bool too_large(pdf_job *job)
{
    return fail(job, PV_PDF_SAVE_AS, "the PDF's page is too large, or nested too deep");
}

static bool add_picture(pdf_job *job, qpdf_oh stream, const pv_map *map, const pv_content_ink *ink)
{
    piece one = {.stream = stream, .map = *map};
    if (job->n == PIECES_MAX)
        return fail(job, PV_PDF_SAVE_AS, "the PDF's page has more than 2000 pictures");
    if (!pv_pdf_picture_size(job->pdf, stream, &one.columns, &one.rows))
        return fail(job, PV_PDF_SAVE_AS,
                    "the PDF's page has a picture that is larger than 60000 pixels along a side, "
                    "or has no size");
    qpdf_oh mask = pv_pdf_member(job->pdf, stream, "/ImageMask");
    bool stencil = qpdf_oh_is_bool(job->pdf, mask) && qpdf_oh_get_bool_value(job->pdf, mask);
    if (stencil && !ink->black)
        return fail(job, PV_PDF_SAVE_AS, "the PDF's page draws its picture in a colour");
    if (ink->altered || (stencil && job->content.painted > 0))
        return fail(job, PV_PDF_SAVE_FLAT, PV_PDF_LAYERED);
    if (!PV_GROW(job->pieces, job->n, job->capacity)) {
        pv_fail_memory(job->diags);
        job->said = true;
        return false;
    }
    job->pieces[job->n++] = one;
    return true;
}

static bool draw(void *context, const char *name, const pv_map *map, const pv_content_ink *ink);

/* Is light let through, blended or shifted (ISO 32000-1, 8.4.5 and 11.6.4)? */
static bool alters(void *context, const char *name)
{
    static const struct {
        const char *key, *plain[2];
    } members[] = {{"/BM", {"/Normal", "/Compatible"}},
                   {"/SMask", {"/None", "/None"}},
                   {"/TR", {"/Identity", "/Identity"}},
                   {"/TR2", {"/Default", "/Identity"}}};
    pdf_job *job = context;
    qpdf_oh all = pv_pdf_member(job->pdf, job->resources, "/ExtGState");
    qpdf_oh state = pv_pdf_member(job->pdf, all, name);
    bool altered = pv_pdf_number(job->pdf, pv_pdf_member(job->pdf, state, "/ca"), 1) != 1;
    for (size_t i = 0; i < sizeof members / sizeof *members; i++) {
        qpdf_oh value = pv_pdf_member(job->pdf, state, members[i].key);
        if (i == 0 && qpdf_oh_is_array(job->pdf, value) &&
            qpdf_oh_get_array_n_items(job->pdf, value) > 0)
            value = qpdf_oh_get_array_item(job->pdf, value, 0); /* the first that is known */
        altered = altered || !(qpdf_oh_is_null(job->pdf, value) ||
                               qpdf_oh_is_name_and_equals(job->pdf, value, members[i].plain[0]) ||
                               qpdf_oh_is_name_and_equals(job->pdf, value, members[i].plain[1]));
    }
    return altered;
}

static bool read_content(pdf_job *job, const pv_bytes *bytes, const pv_map *map,
                         const pv_content_ink *ink)
{
    job->content.draw = draw;
    job->content.alters = alters;
    job->content.context = job;
    if (pv_content_read(&job->content, bytes->data, bytes->size, map, ink))
        return true;
    return job->content.damaged ? fail(job, PV_COPY_AGAIN, "the PDF is damaged") : too_large(job);
}

/* A form: content of its own, with a map and mostly with resources of its own (8.10). */
static bool draw_form(pdf_job *job, qpdf_oh form, const pv_map *outer, const pv_content_ink *ink)
{
    pv_map inner = {{1, 0, 0, 1, 0, 0}};
    qpdf_oh matrix = pv_pdf_member(job->pdf, form, "/Matrix");
    if (qpdf_oh_is_array(job->pdf, matrix) && qpdf_oh_get_array_n_items(job->pdf, matrix) == 6)
        for (int i = 0; i < 6; i++)
            inner.m[i] = pv_pdf_number(job->pdf, qpdf_oh_get_array_item(job->pdf, matrix, i), 0);
    pv_map map = pv_map_after(&inner, outer);
    pv_bytes bytes;
    if (job->forms == FORMS_MAX)
        return too_large(job);
    if (!pv_pdf_unpacked(job->pdf, form, &job->budget, &bytes, job->diags)) {
        job->said = true;
        return false;
    }
    qpdf_oh kept = job->resources, own = pv_pdf_member(job->pdf, form, "/Resources");
    if (qpdf_oh_is_dictionary(job->pdf, own))
        job->resources = own;
    job->forms++;
    bool good = job->budget > 0 ? read_content(job, &bytes, &map, ink) : too_large(job);
    job->forms--;
    job->resources = kept;
    free(bytes.data);
    return good;
}

static bool draw(void *context, const char *name, const pv_map *map, const pv_content_ink *ink)
{
    pdf_job *job = context;
    if (++job->drawn > DRAWN_MAX)
        return too_large(job);
    qpdf_oh all = pv_pdf_member(job->pdf, job->resources, "/XObject");
    qpdf_oh stream = pv_pdf_member(job->pdf, all, name);
    if (!qpdf_oh_is_stream(job->pdf, stream))
        return true;
    qpdf_oh kind = pv_pdf_member(job->pdf, stream, "/Subtype");
    if (qpdf_oh_is_name_and_equals(job->pdf, kind, "/Image"))
        return add_picture(job, stream, map, ink);
    if (qpdf_oh_is_name_and_equals(job->pdf, kind, "/Form"))
        return draw_form(job, stream, map, ink);
    return true;
}

/* A page's content is one stream, or several that read as one (7.8.2). */
static bool read_streams(pdf_job *job, pv_text *all)
{
    qpdf_oh contents = pv_pdf_member(job->pdf, job->page, "/Contents");
    bool list = qpdf_oh_is_array(job->pdf, contents);
    int n = list ? qpdf_oh_get_array_n_items(job->pdf, contents) : 1;
    for (int i = 0; i < n; i++) {
        qpdf_oh stream = list ? qpdf_oh_get_array_item(job->pdf, contents, i) : contents;
        pv_bytes part;
        if (!qpdf_oh_is_stream(job->pdf, stream))
            continue;
        if (!pv_pdf_unpacked(job->pdf, stream, &job->budget, &part, job->diags)) {
            job->said = true;
            return false;
        }
        pv_text_bytes(all, part.data, part.size);
        pv_text_bytes(all, "\n", 1);
        free(part.data);
        if (job->budget == 0)
            return too_large(job);
    }
    if (all->failed) {
        pv_fail_memory(job->diags);
        job->said = true;
    }
    return !all->failed;
}

static bool read_page(pdf_job *job)
{
    static const pv_map whole = {{1, 0, 0, 1, 0, 0}};
    qpdf_push_inherited_attributes_to_page(job->pdf);
    job->page = qpdf_get_page_n(job->pdf, job->wanted->page);
    if (!qpdf_oh_is_dictionary(job->pdf, job->page))
        return fail(job, PV_COPY_AGAIN, "the PDF is damaged: its pages are missing");
    job->resources = pv_pdf_member(job->pdf, job->page, "/Resources");
    job->user_unit = pv_pdf_number(job->pdf, pv_pdf_member(job->pdf, job->page, "/UserUnit"), 1);
    if (!(job->user_unit > 0 && job->user_unit < 1e6))
        job->user_unit = 1;
    static const pv_content_ink black = {.black = true, .samples = 1};
    pv_text all = PV_TEXT_INIT;
    job->budget = CONTENT_BYTES_MAX;
    bool good = read_streams(job, &all);
    if (good) {
        const pv_bytes bytes = {(unsigned char *)all.chars, all.length};
        good = read_content(job, &bytes, &whole, &black);
    }
    pv_text_drop(&all);
    return good;
}

/* ---- where its pictures lie ---- */

/* The ways of columns and rows, by the first piece; and each piece along them. */
static bool place_pieces(pdf_job *job)
{
    const double *m = job->pieces[0].map.m;
    double wide = hypot(m[0], m[1]), high = hypot(m[2], m[3]);
    bool sound = isfinite(wide) && isfinite(high) && wide > 0 && high > 0;
    for (int i = 0; i < 2 && sound; i++) {
        job->u[i] = m[i] / wide;
        job->v[i] = -m[2 + i] / high;
    }
    double cosine = job->u[0] * job->v[0] + job->u[1] * job->v[1];
    for (size_t k = 0; k < job->n && sound; k++) {
        piece *p = &job->pieces[k];
        const double *a = p->map.m;
        const double *ways[2] = {job->u, job->v};
        for (int i = 0; i < 2; i++) {
            const double *w = ways[i];
            double right = w[0] * a[0] + w[1] * a[1], up = w[0] * a[2] + w[1] * a[3];
            double at = w[0] * a[4] + w[1] * a[5];
            double along = i == 0 ? right : -up, across = i == 0 ? up : right;
            p->from[i] = i == 0 ? at : at + up;
            p->to[i] = p->from[i] + along;
            /* Half a pixel's slant from end to end at most, and no piece turned over. */
            double pixel = along / (double)(i == 0 ? p->columns : p->rows);
            sound = sound && along > 0 && fabs(across) <= fmax(pixel / 2, 1e-3 * along);
        }
    }
    return (sound && fabs(cosine) < 1e-3) ||
           fail(job, PV_PDF_SAVE_AS,
                "the PDF's page has its pictures askew, or turned against "
                "each other");
}

/* Ranks of the pieces' beginnings along an axis: the pieces of one rank begin and end together and
 * have as many pixels; each rank begins where the one before ends. Gives the ranks' first pixels
 * in first[rank], with the sum at the end; false where they don't join. */
static size_t rank_pieces(pdf_job *job, int axis, size_t *first)
{
    size_t ranks = 0;
    double end = -INFINITY;
    for (size_t k = 0; k < job->n; k++)
        job->pieces[k].place[axis] = SIZE_MAX;
    first[0] = 0;
    for (;;) {
        const piece *next = NULL;
        for (size_t k = 0; k < job->n; k++) {
            const piece *p = &job->pieces[k];
            if (p->place[axis] == SIZE_MAX && (next == NULL || p->from[axis] < next->from[axis]))
                next = p;
        }
        if (next == NULL)
            return ranks;
        size_t pixels = axis == 0 ? next->columns : next->rows;
        double from = next->from[axis], to = next->to[axis];
        double near = (to - from) / (double)pixels / 2;
        if (ranks > 0 && !(fabs(from - end) <= near))
            return 0;
        for (size_t k = 0; k < job->n; k++) {
            piece *p = &job->pieces[k];
            if (p->place[axis] != SIZE_MAX || !(p->from[axis] <= from + near))
                continue;
            if (!(fabs(p->to[axis] - to) <= near) || (axis == 0 ? p->columns : p->rows) != pixels)
                return 0;
            p->place[axis] = ranks;
        }
        end = to;
        first[ranks + 1] = first[ranks] + pixels;
        ranks++;
    }
}

/* How row 0 and column 0 stand on the page as it is shown, as in EXIF. */
static int orientation_of(const pdf_job *job)
{
    long long turn = 0;
    qpdf_oh rotate = pv_pdf_member(job->pdf, job->page, "/Rotate");
    if (qpdf_oh_is_integer(job->pdf, rotate))
        turn = ((qpdf_oh_get_int_value(job->pdf, rotate) % 360) + 360) % 360;
    double u[2] = {job->u[0], job->u[1]}, v[2] = {job->v[0], job->v[1]};
    for (; turn >= 90; turn -= 90) { /* clockwise */
        double x = u[0];
        u[0] = u[1];
        u[1] = -x;
        x = v[0];
        v[0] = v[1];
        v[1] = -x;
    }
    if (fabs(u[0]) >= fabs(u[1]))
        return u[0] > 0 ? (v[1] < 0 ? 1 : 4) : (v[1] < 0 ? 2 : 3);
    return u[1] < 0 ? (v[0] > 0 ? 5 : 6) : (v[0] > 0 ? 8 : 7);
}

/* ---- their pixels ---- */

static bool copy_piece(pdf_job *job, pv_raster *to, const piece *p, size_t column, size_t row,
                       size_t pixels_max)
{
    const pv_wanted part = {.pixels_max = pixels_max, .orientation = 1};
    pv_plane *from = pv_pdf_picture_decode(job->pdf, p->stream, &part, job->diags);
    if (from == NULL) {
        job->said = true;
        return false;
    }
    bool fits = from->channels <= to->plane->channels;
    for (size_t y = 0; fits && y < p->rows; y++)
        for (size_t x = 0; x < p->columns; x++) {
            const uint16_t *light = from->samples + (y * p->columns + x) * (size_t)from->channels;
            uint16_t all[3] = {light[0], light[0], light[0]};
            if (from->channels == 3)
                memcpy(all, light, sizeof all);
            pv_raster_pixel(to, row + y, column + x, all);
        }
    to->plane->coarse_hue = to->plane->coarse_hue || from->coarse_hue;
    to->plane->camera = to->plane->camera || from->camera;
    to->plane->focal35 = fmax(to->plane->focal35, from->focal35);
    pv_plane_free(from);
    return fits || fail(job, PV_PDF_SAVE_AS,
                        "the PDF is damaged: a part of its picture has "
                        "colours that it does not state");
}

static pv_plane *join_pieces(pdf_job *job, const size_t *columns, const size_t *rows, size_t across,
                             size_t down, int orientation)
{
    pv_raster raster = {.plane = NULL};
    bool gray = true;
    for (size_t k = 0; k < job->n; k++)
        gray = gray && pv_pdf_picture_is_gray(job->pdf, job->pieces[k].stream);
    if (!pv_raster_fits(columns[across], rows[down], job->wanted->pixels_max, job->diags) ||
        !pv_raster_start(&raster, columns[across], rows[down], gray ? 1 : 3, orientation,
                         job->diags))
        return NULL;
    for (size_t k = 0; k < job->n; k++) {
        const piece *p = &job->pieces[k];
        if (!copy_piece(job, &raster, p, columns[p->place[0]], rows[p->place[1]],
                        job->wanted->pixels_max)) {
            pv_raster_drop(&raster);
            return NULL;
        }
    }
    return pv_raster_take(&raster);
}

/* Every place of the grid has one piece; false with a reason. */
static bool fills_grid(pdf_job *job, size_t across, size_t down)
{
    bool *taken = PV_NEW_ARRAY(job->n, bool);
    if (taken == NULL) {
        pv_fail_memory(job->diags);
        return false;
    }
    bool good = across > 0 && down > 0 && across * down == job->n;
    for (size_t k = 0; k < job->n && good; k++) {
        size_t at = job->pieces[k].place[1] * across + job->pieces[k].place[0];
        good = !taken[at];
        taken[at] = true;
    }
    free(taken);
    return good || fail(job, PV_PDF_SAVE_FLAT,
                        "the pictures of the PDF's page do not join into one: they are layers, or "
                        "lie apart");
}

/* A number on a page has few decimals: mostly none, two or more. How much that leaves open of a
 * length in points: half the last place that all of them need. */
static double rounded(const double *values, size_t n)
{
    double unit = 1;
    for (int places = 0; places < 5; places++) {
        bool all = true;
        for (size_t i = 0; i < n; i++)
            all = all && fabs(values[i] / unit - rint(values[i] / unit)) < 1e-6;
        if (all)
            return unit / 2;
        unit /= 10;
    }
    return 0;
}

static void state_resolution(const pdf_job *job, pv_plane *plane, size_t columns, size_t rows,
                             int orientation)
{
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY}, per_mm[2], open[2];
    for (size_t k = 0; k < job->n; k++)
        for (int i = 0; i < 2; i++) {
            low[i] = fmin(low[i], job->pieces[k].from[i]);
            high[i] = fmax(high[i], job->pieces[k].to[i]);
        }
    for (int i = 0; i < 2; i++) {
        double points = high[i] - low[i];
        per_mm[i] =
            (double)(i == 0 ? columns : rows) / (points * job->user_unit) * 72 / PV_MM_PER_IN;
        open[i] = rounded(&points, 1) / points;
    }
    pv_plane_resolution(plane, PV_RESOLUTION_PDF, per_mm[0], per_mm[1], orientation);
    plane->rounding = fmax(open[0], open[1]);
}

/* A page that was drawn shows no scan, or a small picture among other things. */
static bool is_scan(pdf_job *job)
{
    double box[4] = {0, 0, 0, 0}, covered = 0;
    if (job->content.inlined > 0)
        return fail(job, PV_PDF_SAVE_AS,
                    "the PDF's page has its picture within its content, where pavior does not "
                    "read it");
    for (size_t k = 0; k < job->n; k++) {
        const double *m = job->pieces[k].map.m;
        covered += fabs(m[0] * m[3] - m[1] * m[2]);
    }
    bool bare = job->content.painted == 0;
    if (!read_box(job, "/CropBox", box) && !read_box(job, "/MediaBox", box))
        bare = true;
    double page = fabs((box[2] - box[0]) * (box[3] - box[1]));
    if (job->n > 0 && (bare || covered >= COVERED_LEAST * page))
        return true;
    return fail(
        job, "print the sheet at 100 %, then scan the print",
        job->content.painted > 0
            ? PV_SAID("the PDF's page is no scan: it is drawn, as the sheets that pavior makes "
                      "are")
            : PV_SAID("the PDF's page is empty"));
}

static pv_plane *decode_page(pdf_job *job)
{
    if (!read_page(job) || !is_scan(job) || !place_pieces(job))
        return NULL;
    size_t *columns = PV_NEW_ARRAY(2 * (job->n + 1), size_t);
    if (columns == NULL) {
        pv_fail_memory(job->diags);
        return NULL;
    }
    size_t *rows = columns + job->n + 1;
    size_t across = rank_pieces(job, 0, columns), down = rank_pieces(job, 1, rows);
    int orientation = orientation_of(job);
    pv_plane *plane = NULL;
    bool fits = fills_grid(job, across, down);
    if (fits && job->n == 1) {
        const pv_wanted part = {.pixels_max = job->wanted->pixels_max, .orientation = orientation};
        if (pv_raster_fits(columns[1], rows[1], part.pixels_max, job->diags))
            plane = pv_pdf_picture_decode(job->pdf, job->pieces[0].stream, &part, job->diags);
    } else if (fits) {
        plane = join_pieces(job, columns, rows, across, down, orientation);
    }
    if (plane != NULL)
        state_resolution(job, plane, columns[across], rows[down], orientation);
    free(columns);
    return plane;
}

pv_plane *pv_pdf_scan_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                             pv_diags *diags)
{
    pdf_job job = {.wanted = wanted, .diags = diags};
    pv_plane *plane = NULL;
    if (open_pdf(&job, bytes, size)) {
        size_t pages = count_pages(&job);
        if (pages > PV_IMAGE_PAGES_MAX)
            pv_fail_pages("PDF", diags);
        else if (pages == 0)
            fail(&job, PV_COPY_AGAIN, "the PDF is damaged: it has no pages");
        else if (wanted->page >= pages)
            pv_fail(diags, PV_CAUSE_USAGE, "the PDF has no such page");
        else
            plane = decode_page(&job);
    }
    close_pdf(&job);
    return plane;
}
