/* The PDF back end: the one file that meets libharu.
 *
 * libharu's reals are floats, silently clamped to +-32767 and written with five decimals, and what
 * isn't a number comes out as rubbish with a status of success; so every coordinate is checked
 * here before it is handed over. What is no JPEG it refuses without an error. Its errors are
 * recorded by a handler and looked at after each operation of a drawing. Nothing of the file
 * depends on the time: no dates are set. */
#include "base/memory.h"
#include "draw/backend.h"
#include "draw/pdf_type.h"

#include <hpdf.h>

#include <stdlib.h>
#include <string.h>

#define PAGE_PT_MIN   3.0     /* ISO 32000-1, annex C.2 */
#define PAGE_PT_MAX   14400.0 /* the same */
#define PAGE_PT_HAIR  1e-6    /* 5080 mm is 14400 pt, but for what rounding adds */
#define PAGE_UNIT_MAX 100.0   /* 508 m; ours */
#define REAL_MAX      32767.0 /* where libharu clamps */
#define CLIPS_MAX     20      /* libharu refuses the 28th nested graphics state */
#define IN_PT(mm)     ((mm) / PV_MM_PER_PT)

struct pv_pdf {
    HPDF_Doc doc;
    pv_pdf_type *faces;
    unsigned pages;
    size_t contents;           /* bytes */
    HPDF_STATUS error, detail; /* the first that libharu reported; 0 where none */
};

/* What is known while a page is written. */
typedef struct page_state {
    pv_pdf *pdf;
    HPDF_Page page;
    double unit; /* points to a unit of the page (UserUnit) */
    int clips;
    bool coloured; /* `rgb` is set in this graphics state */
    uint8_t rgb[3];
    const char *wrong; /* why the drawing can't be written, or NULL */
} page_state;

static void record_error(HPDF_STATUS error, HPDF_STATUS detail, void *data)
{
    pv_pdf *pdf = data;
    if (pdf->error == HPDF_OK) {
        pdf->error = error;
        pdf->detail = detail;
    }
}

static bool refused(const pv_pdf *pdf, pv_diags *diags)
{
    if (pdf->error == HPDF_OK)
        return false;
    if (pdf->error == HPDF_FAILD_TO_ALLOC_MEM)
        pv_fail_memory(diags);
    else
        pv_fail(diags, PV_CAUSE_LIBRARY, "the PDF library refused: error 0x%04lX, detail %lu",
                (unsigned long)pdf->error, (unsigned long)pdf->detail);
    return true;
}

/* ---- the document ---- */

/* In UTF-16 where it has characters beyond ASCII. */
static void set_title(pv_pdf *pdf, const char *title)
{
    bool ascii = true;
    for (const char *c = title; *c != '\0'; c++)
        ascii = ascii && (unsigned char)*c < 0x80;
    if (!ascii) {
        HPDF_UseUTFEncodings(pdf->doc);
        HPDF_SetCurrentEncoder(pdf->doc, "UTF-8");
    }
    HPDF_SetInfoAttr(pdf->doc, HPDF_INFO_TITLE, title);
}

/* libharu has no call for these: one side only, and paper by the pages' size (ISO 32000-1, table
 * 150, both since PDF 1.7). */
static void prefer_one_side(HPDF_Doc doc)
{
    HPDF_Dict preferences = HPDF_Dict_GetItem(doc->catalog, "ViewerPreferences", HPDF_OCLASS_DICT);
    if (preferences == NULL)
        return;
    HPDF_Dict_AddName(preferences, "Duplex", "Simplex");
    HPDF_Dict_AddBoolean(preferences, "PickTrayByPDFSize", HPDF_TRUE);
    doc->pdf_version = HPDF_VER_17;
}

pv_pdf *pv_pdf_new(const char *title, pv_type *type, pv_diags *diags)
{
    pv_pdf *pdf = PV_NEW(pv_pdf);
    if (pdf == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    pdf->doc = HPDF_New(record_error, pdf);
    if (pdf->doc == NULL) {
        pv_fail_memory(diags);
        pv_pdf_free(pdf);
        return NULL;
    }
    HPDF_SetCompressionMode(pdf->doc, HPDF_COMP_ALL);
    HPDF_SetInfoAttr(pdf->doc, HPDF_INFO_CREATOR, "pavior");
    HPDF_SetViewerPreference(pdf->doc, HPDF_PRINT_SCALING_NONE);
    prefer_one_side(pdf->doc);
    set_title(pdf, title);
    pdf->faces = pv_pdf_type_new(pdf->doc, type);
    if (pdf->faces == NULL) {
        pv_fail_memory(diags);
        pv_pdf_free(pdf);
        return NULL;
    }
    if (refused(pdf, diags)) {
        pv_pdf_free(pdf);
        return NULL;
    }
    return pdf;
}

void pv_pdf_free(pv_pdf *pdf)
{
    if (pdf == NULL)
        return;
    pv_pdf_type_free(pdf->faces);
    if (pdf->doc != NULL)
        HPDF_Free(pdf->doc);
    free(pdf);
}

/* ---- a page's contents ---- */

static bool reachable(const page_state *s, double mm)
{
    return isfinite(mm) && fabs(IN_PT(mm) / s->unit) <= REAL_MAX;
}

/* In the page's units: points, but on pages that are too large for those. */
static HPDF_REAL pt(const page_state *s, double mm)
{
    return (HPDF_REAL)(IN_PT(mm) / s->unit);
}

static void set_colour(page_state *s, const uint8_t rgb[3])
{
    if (s->coloured && memcmp(s->rgb, rgb, 3) == 0)
        return;
    if (rgb[0] == rgb[1] && rgb[1] == rgb[2])
        HPDF_Page_SetGrayFill(s->page, (HPDF_REAL)(rgb[0] / 255.0));
    else
        HPDF_Page_SetRGBFill(s->page, (HPDF_REAL)(rgb[0] / 255.0), (HPDF_REAL)(rgb[1] / 255.0),
                             (HPDF_REAL)(rgb[2] / 255.0));
    memcpy(s->rgb, rgb, 3);
    s->coloured = true;
}

static void show_text(page_state *s, const pv_op *op, const char *utf8)
{
    set_colour(s, op->rgb);
    pv_op placed = *op;
    placed.size /= s->unit;
    placed.p[0] = pv_scale(op->p[0], 1 / s->unit);
    if (!pv_pdf_type_show(s->pdf->faces, s->page, &placed, utf8, &s->wrong) && s->wrong == NULL)
        record_error(HPDF_FAILD_TO_ALLOC_MEM, 0, s->pdf);
}

/* The picture's unit square onto its three corners. */
static void show_picture(page_state *s, const pv_op *op, const pv_bytes *jpeg)
{
    HPDF_Image image = HPDF_LoadJpegImageFromMem(s->pdf->doc, jpeg->data, (HPDF_UINT)jpeg->size);
    if (image == NULL) {
        s->wrong = "a picture in it is no JPEG";
        return;
    }
    const pv_vec *p = op->p;
    HPDF_Page_GSave(s->page);
    HPDF_Page_Concat(s->page, pt(s, p[1].x - p[0].x), pt(s, p[1].y - p[0].y),
                     pt(s, p[2].x - p[0].x), pt(s, p[2].y - p[0].y), pt(s, p[0].x), pt(s, p[0].y));
    HPDF_Page_ExecuteXObject(s->page, image);
    HPDF_Page_GRestore(s->page);
}

/* The filled or clipping path comes first in a drawing, what is to be done with it last; PDF wants
 * a graphics state saved before the path that clips. */
static void start_clip(page_state *s)
{
    if (s->clips == CLIPS_MAX) {
        s->wrong = "clips are nested too deep";
        return;
    }
    s->clips++;
    HPDF_Page_GSave(s->page);
}

static void end_clip(page_state *s)
{
    if (s->clips == 0) {
        s->wrong = "a clip ends that never began";
        return;
    }
    s->clips--;
    HPDF_Page_GRestore(s->page);
    s->coloured = false;
}

static int points_of(pv_op_kind kind)
{
    switch (kind) {
    case PV_OP_MOVE:
    case PV_OP_LINE:
    case PV_OP_TEXT:
        return 1;
    case PV_OP_CURVE:
    case PV_OP_JPEG:
        return 3;
    default:
        return 0;
    }
}

static void write_path_op(page_state *s, const pv_op *op)
{
    const pv_vec *p = op->p;
    switch (op->kind) {
    case PV_OP_MOVE:
        HPDF_Page_MoveTo(s->page, pt(s, p[0].x), pt(s, p[0].y));
        break;
    case PV_OP_LINE:
        HPDF_Page_LineTo(s->page, pt(s, p[0].x), pt(s, p[0].y));
        break;
    case PV_OP_CURVE:
        HPDF_Page_CurveTo(s->page, pt(s, p[0].x), pt(s, p[0].y), pt(s, p[1].x), pt(s, p[1].y),
                          pt(s, p[2].x), pt(s, p[2].y));
        break;
    case PV_OP_CLOSE:
        HPDF_Page_ClosePath(s->page);
        break;
    case PV_OP_FILL:
        if (op->even_odd)
            HPDF_Page_Eofill(s->page);
        else
            HPDF_Page_Fill(s->page);
        break;
    default: /* PV_OP_CLIP */
        HPDF_Page_Clip(s->page);
        HPDF_Page_EndPath(s->page);
        break;
    }
}

/* Operations from `first` up to the fill or clip that uses the path; gives how many. A path that
 * nothing uses is an error. */
static size_t write_path(page_state *s, const pv_drawing *d, size_t first)
{
    size_t end = first;
    while (end < d->n_ops && d->ops[end].kind <= PV_OP_CLOSE)
        end++;
    if (end == d->n_ops || (d->ops[end].kind != PV_OP_FILL && d->ops[end].kind != PV_OP_CLIP)) {
        s->wrong = "a path is neither filled nor clips";
        return 0;
    }
    if (end == first && d->ops[end].kind == PV_OP_FILL)
        return 1; /* nothing to fill */
    if (d->ops[end].kind == PV_OP_CLIP) {
        start_clip(s);
        if (end == first) /* an empty clip lets nothing through */
            HPDF_Page_Rectangle(s->page, 0, 0, 0, 0);
    } else {
        set_colour(s, d->ops[end].rgb);
    }
    for (size_t i = first; i <= end && s->wrong == NULL; i++)
        write_path_op(s, &d->ops[i]);
    return end - first + 1;
}

/* After a failure: libharu loses the memory of graphics states that are still open. */
static void close_states(page_state *s)
{
    if (s->clips == 0)
        return;
    HPDF_ResetError(s->pdf->doc);
    HPDF_UINT16 mode = HPDF_Page_GetGMode(s->page);
    if (mode == HPDF_GMODE_PATH_OBJECT)
        HPDF_Page_EndPath(s->page);
    else if (mode == HPDF_GMODE_TEXT_OBJECT)
        HPDF_Page_EndText(s->page);
    while (s->clips > 0)
        end_clip(s);
}

static void write_ops(page_state *s, const pv_drawing *d)
{
    for (size_t i = 0; i < d->n_ops && s->wrong == NULL; i++)
        for (int k = 0; k < points_of(d->ops[i].kind); k++)
            if (!(d->ops[i].kind == PV_OP_TEXT && s->pdf->faces != NULL) &&
                (!reachable(s, d->ops[i].p[k].x) || !reachable(s, d->ops[i].p[k].y)))
                s->wrong = "a coordinate is out of a page's reach";
    for (size_t i = 0; i < d->n_ops && s->wrong == NULL && s->pdf->error == HPDF_OK;) {
        const pv_op *op = &d->ops[i];
        if (op->kind == PV_OP_TEXT) {
            show_text(s, op, d->chars + op->text);
            i++;
        } else if (op->kind == PV_OP_JPEG) {
            show_picture(s, op, &d->pictures[op->text]);
            i++;
        } else if (op->kind == PV_OP_END) {
            end_clip(s);
            i++;
        } else {
            i += write_path(s, d, i);
        }
    }
    if (s->wrong == NULL && s->clips > 0)
        s->wrong = "a clip never ends";
    close_states(s);
}

/* ---- the page ---- */

/* libharu has no call for a TrimBox. */
static void add_trim_box(page_state *s, pv_box trim)
{
    HPDF_Box box = {pt(s, trim.lo.x), pt(s, trim.lo.y), pt(s, trim.hi.x), pt(s, trim.hi.y)};
    HPDF_Array array = HPDF_Box_Array_New(s->page->mmgr, box);
    if (array == NULL)
        record_error(HPDF_FAILD_TO_ALLOC_MEM, 0, s->pdf);
    else
        HPDF_Dict_Add(s->page, "TrimBox", array);
}

/* The page's label is a prefix and a number: "A12" is 12 after "A". */
static void add_label(page_state *s, const char *label)
{
    size_t length = strlen(label), split = length;
    while (split > 0 && label[split - 1] >= '0' && label[split - 1] <= '9' && length - split < 6)
        split--;
    while (split < length && label[split] == '0')
        split++;
    if (split == length)
        return;
    char prefix[64];
    if (split >= sizeof prefix)
        return;
    memcpy(prefix, label, split);
    prefix[split] = '\0';
    HPDF_AddPageLabel(s->pdf->doc, s->pdf->pages, HPDF_PAGE_NUM_STYLE_DECIMAL,
                      (HPDF_UINT)strtoul(label + split, NULL, 10), prefix);
}

/* 1 where points do, else the least whole number of points that brings both sides within the limit
 * (UserUnit, ISO 32000-1 table 30: PDF 1.6, which the print scaling preference asks for anyway). */
static double page_unit(double w, double h)
{
    return fmax(ceil((fmax(w, h) - PAGE_PT_HAIR) / PAGE_PT_MAX), 1);
}

bool pv_pdf_page(pv_pdf *pdf, const pv_drawing *drawing, pv_diags *diags)
{
    if (drawing->failed) {
        pv_fail_memory(diags);
        return false;
    }
    double w = IN_PT(drawing->width), h = IN_PT(drawing->height), unit = page_unit(w, h);
    if (!(w >= PAGE_PT_MIN * unit && h >= PAGE_PT_MIN * unit && unit <= PAGE_UNIT_MAX)) {
        pv_fail(diags, PV_CAUSE_LIMIT, "a PDF page can't be %g x %g mm", drawing->width,
                drawing->height);
        return false;
    }
    page_state s = {.pdf = pdf, .page = HPDF_AddPage(pdf->doc), .unit = unit};
    if (refused(pdf, diags))
        return false;
    HPDF_Page_SetWidth(s.page, (HPDF_REAL)(w / unit));
    HPDF_Page_SetHeight(s.page, (HPDF_REAL)(h / unit));
    if (unit > 1)
        HPDF_Dict_AddReal(s.page, "UserUnit", (HPDF_REAL)unit);
    add_trim_box(&s, drawing->trim);
    if (drawing->label != NULL)
        add_label(&s, drawing->label);
    write_ops(&s, drawing);
    pdf->pages++;
    pdf->contents += ((HPDF_PageAttr)s.page->attr)->stream->size;
    if (refused(pdf, diags))
        return false;
    if (s.wrong != NULL)
        pv_fail(diags, PV_CAUSE_LIMIT, "sheet %s cannot be written as PDF: %s",
                drawing->label != NULL ? drawing->label : "", s.wrong);
    return s.wrong == NULL;
}

size_t pv_pdf_pages(const pv_pdf *pdf)
{
    return pdf->pages;
}

size_t pv_pdf_contents(const pv_pdf *pdf)
{
    return pdf->contents;
}

/* Not HPDF_SaveToFile: that gives success on a full disk. */
bool pv_pdf_finish(pv_pdf *pdf, unsigned char **bytes, size_t *size, pv_diags *diags)
{
    *bytes = NULL;
    *size = 0;
    if (pdf->faces != NULL && !pv_pdf_type_finish(pdf->faces, diags))
        return false;
    if (refused(pdf, diags))
        return false;
    HPDF_SaveToStream(pdf->doc);
    if (refused(pdf, diags))
        return false;
    HPDF_UINT32 total = HPDF_GetStreamSize(pdf->doc);
    HPDF_ResetStream(pdf->doc);
    unsigned char *data = malloc((size_t)total + 1);
    if (data == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    HPDF_UINT32 got = total;
    HPDF_STATUS status = HPDF_ReadFromStream(pdf->doc, data, &got);
    if ((status != HPDF_OK && status != HPDF_STREAM_EOF) || got != total) {
        free(data);
        if (!refused(pdf, diags))
            pv_fail(diags, PV_CAUSE_LIBRARY, "the PDF library gave %lu of %lu bytes",
                    (unsigned long)got, (unsigned long)total);
        return false;
    }
    *bytes = data;
    *size = total;
    return true;
}
