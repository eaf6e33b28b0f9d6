/* The pages that belong to the whole course: the beginning, the mat's rules, the run record. */
#include "base/memory.h"
#include "drafting/features.h"
#include "guide/say.h"
#include "html/escape.h"
#include "kit/page.h"
#include "po/po.h"

#include <pavior/drawing.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS 4 /* rows of the run record: two are asked for, and two went wrong */
/* Chosen: rows of its field for codes, where a phone shows two "0SF-EA2K (A1)" side by side. */
#define CODES_A_ROW 2
#define ROWS_LEAST  2
#define ROWS_MOST   20
#define IDS_MOST    12  /* lines named in one row of the table of widths */
#define LINES_MOST  200 /* rows of that table */

static void add_mat(pv_kit_page *page)
{
    pv_vec size = page->m->course->art.size;
    pv_data_count(&page->data, "mat_width", (size_t)fmax(1, round(size.x)));
    pv_data_count(&page->data, "mat_height", (size_t)fmax(1, round(size.y)));
}

static void add_papers(pv_kit_page *page, bool maps)
{
    const pv_kit *kit = page->m->kit;
    pv_data_open(&page->data, "papers", '[');
    for (size_t i = 0; i < kit->n_papers; i++) {
        pv_json_open(&page->data, '{');
        pv_kit_page_paper(page, &kit->papers[i]);
        if (maps)
            pv_data_text(&page->data, "map_svg", kit->papers[i].map);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

static bool put_begin(pv_kit_making *m)
{
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "index.html", "%s", m->course->art.name);
    add_mat(&page);
    add_papers(&page, true);
    bool many = false, one = false, rolls = false;
    for (size_t i = 0; i < m->kit->n_papers; i++) {
        many = many || m->kit->papers[i].told.sheets > 1;
        one = one || m->kit->papers[i].told.sheets == 1;
        rolls = rolls || m->kit->papers[i].told.roll > 0;
    }
    pv_data_bool(&page.data, "sheets_many", many);
    pv_data_bool(&page.data, "sheets_both", many && one);
    pv_data_bool(&page.data, "rolls", rolls);
    pv_data_bool(&page.data, "has_former", m->kit->was_edition != NULL);
    pv_data_text(&page.data, "was", m->kit->was_edition);
    pv_data_bool(&page.data, "renewed",
                 m->kit->was_edition != NULL && strcmp(m->kit->was_edition, m->kit->edition) != 0);
    return pv_kit_page_end(&page, "kit_begin");
}

/* ---- the mat's rules ---- */

static void open_row(pv_kit_page *page, const char *what)
{
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "what", pv_say(page->m->o.language, what));
}

static void tolerance_row(pv_kit_page *page, const char *what, const char *nominal, double mm)
{
    open_row(page, what);
    pv_data_text(&page->data, "nominal", pv_say(page->m->o.language, nominal));
    pv_data_words(&page->data, "tolerance", "\xC2\xB1\xC2\xA0%s", pv_kit_page_mm(page, mm).chars);
    pv_json_close(&page->data, '}');
}

static void add_tolerances(pv_kit_page *page)
{
    const pv_language *l = page->m->o.language;
    const pv_art *art = &page->m->course->art;
    const pv_tolerances *t = &art->tolerances;
    pv_data_open(&page->data, "tolerances", '[');
    open_row(page, PV_SAID("Length and width"));
    pv_kit_page_size(page, "nominal", (const double[2]){art->size.x, art->size.y});
    pv_data_words(
        &page->data, "tolerance",
        pv_say(l, "\xC2\xB1\xC2\xA0%s\xC2\xA0%%: \xC2\xB1\xC2\xA0%s across, \xC2\xB1\xC2\xA0%s up"),
        pv_fixed(100 * t->scale, (int)fmax(2, pv_guide_decimals(100 * t->scale))).chars,
        pv_kit_page_mm(page, t->scale * art->size.x).chars,
        pv_kit_page_mm(page, t->scale * art->size.y).chars);
    pv_json_close(&page->data, '}');
    open_row(page, PV_SAID("Right angle"));
    pv_data_text(&page->data, "nominal", "90\xC2\xB0");
    pv_data_words(
        &page->data, "tolerance",
        pv_say(l, "\xC2\xB1\xC2\xA0%s\xC2\xA0mrad: \xC2\xB1\xC2\xA0%s over the mat's height"),
        pv_fixed(t->skew, 1).chars, pv_kit_page_mm(page, t->skew * art->size.y / 1000).chars);
    pv_json_close(&page->data, '}');
    tolerance_row(page, PV_SAID("Width of a line"), PV_SAID("see below"), t->width);
    tolerance_row(page, PV_SAID("Between the middles of neighbouring lines"), PV_SAID("as drawn"),
                  t->spacing);
    tolerance_row(page, PV_SAID("Straightness of a line"), PV_SAID("straight"), t->straight);
    open_row(page, PV_SAID("Marks that are not of the course"));
    pv_data_text(&page->data, "nominal", pv_say(l, "none"));
    pv_data_words(
        &page->data, "tolerance",
        pv_say(l, "in any square of %s a side, at most as much as a black stroke %s wide"),
        pv_kit_page_mm(page, t->spot).chars, pv_kit_page_mm(page, t->contrast * t->spot).chars);
    pv_json_close(&page->data, '}');
    pv_json_close(&page->data, ']');
}

static bool alike(const pv_line *a, const pv_line *b)
{
    return a->width == b->width && a->colour == b->colour;
}

/* All lines of the first one's width and colour; none where an earlier one has them. */
static bool add_lines_like(pv_kit_page *page, size_t first)
{
    const pv_art *art = &page->m->course->art;
    const pv_line *like = &art->lines[first];
    for (size_t i = 0; i < first; i++)
        if (alike(&art->lines[i], like))
            return false;
    pv_text ids = PV_TEXT_INIT;
    size_t n = 0;
    for (size_t i = first; i < art->n_lines; i++)
        if (alike(&art->lines[i], like) && n++ < IDS_MOST)
            pv_text_add(&ids, "%s%s", n > 1 ? ", " : "", art->lines[i].id);
    if (n > IDS_MOST)
        pv_text_add(&ids, pv_say(page->m->o.language, " and %zu more"), n - IDS_MOST);
    pv_json_open(&page->data, '{');
    pv_kit_page_length(page, "width", like->width);
    pv_data_text(&page->data, "colour", art->colours[like->colour].name);
    pv_data_take(&page->data, "ids", &ids);
    pv_json_close(&page->data, '}');
    return true;
}

static void add_lines(pv_kit_page *page)
{
    const pv_art *art = &page->m->course->art;
    size_t rows = 0;
    pv_data_bool(&page->data, "has_lines", art->n_lines > 0);
    pv_data_open(&page->data, "lines", '[');
    for (size_t i = 0; i < art->n_lines && rows < LINES_MOST; i++)
        rows += add_lines_like(page, i);
    pv_json_close(&page->data, ']');
    bool more;
    double widths[PV_WIDTHS_SHOWN];
    pv_line_widths(page->m->course, widths, &more);
    pv_data_bool(&page->data, "widths_more", more);
}

static void add_colours(pv_kit_page *page)
{
    const pv_art *art = &page->m->course->art;
    pv_data_open(&page->data, "colours", '[');
    for (size_t i = 0; i < art->n_colours; i++) {
        const uint8_t *c = art->colours[i].rgb;
        if (!(page->m->kit->areas[i] > 0))
            continue;
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "colour", art->colours[i].name);
        pv_data_words(&page->data, "rgb", "%d, %d, %d", c[0], c[1], c[2]);
        pv_data_words(
            &page->data, "swatch_svg",
            "<svg class=\"v\" viewBox=\"-1 -1 18 18\" aria-hidden=\"true\"><rect width=\"16\" "
            "height=\"16\" fill=\"rgb(%d,%d,%d)\" stroke=\"var(--grid)\"/></svg>",
            c[0], c[1], c[2]);
        pv_data_words(
            &page->data, "area", "%s %%",
            pv_fixed(100 * page->m->kit->areas[i] / (art->size.x * art->size.y), 1).chars);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* ---- start, finish, robot ---- */

static void add_start(pv_kit_page *page)
{
    const pv_language *l = page->m->o.language;
    const pv_start *s = &page->m->course->start;
    if (!s->given)
        return;
    /* From 0 to 360, to a decimal. */
    double heading = round(s->heading * 180 / PV_PI * 10) / 10;
    heading -= 360 * floor(heading / 360);
    open_row(page, PV_SAID("Start mark: the robot's pivot stands here"));
    pv_data_words(
        &page->data, "nominal",
        pv_say(l, "%s from the left, %s from the bottom, heading %s\xC2\xB0 (0\xC2\xB0 is to "
                  "the right, 90\xC2\xB0 up)"),
        pv_kit_page_mm(page, s->at.x).chars, pv_kit_page_mm(page, s->at.y).chars,
        pv_fixed(heading, 1).chars);
    pv_json_close(&page->data, '}');
}

static void add_finish(pv_kit_page *page)
{
    const pv_language *l = page->m->o.language;
    const pv_finish *f = &page->m->course->finish;
    if (!f->given)
        return;
    pv_box box = pv_area_box(&f->outline);
    open_row(page, PV_SAID("Finish region: the robot stops within it"));
    pv_data_words(&page->data, "nominal",
                  pv_say(l, "%s from the left, %s from the bottom, to the middles of its lines"),
                  pv_kit_page_two(page, box.lo.x, PV_TO, box.hi.x).chars,
                  pv_kit_page_two(page, box.lo.y, PV_TO, box.hi.y).chars);
    pv_json_close(&page->data, '}');
}

static void add_robot(pv_kit_page *page)
{
    const pv_language *l = page->m->o.language;
    const pv_robot *r = &page->m->course->robot;
    if (!r->given)
        return;
    open_row(page, PV_SAID("The robot that the mat is made for"));
    pv_data_words(&page->data, "nominal", pv_say(l, "%s long, %s wide, pivot %s from its rear end"),
                  pv_kit_page_mm(page, r->length).chars, pv_kit_page_mm(page, r->width).chars,
                  pv_kit_page_mm(page, r->pivot).chars);
    pv_json_close(&page->data, '}');
}

/* The figure as it stands in a page: without the head of an XML file, and black on white in the
 * dark, too. NULL with a reason. */
static char *figure(const pv_kit_page *page, pv_figure which, const char *words)
{
    char *svg = pv_figure_svg(page->m->course, which, page->m->diags);
    const char *from = svg != NULL ? strstr(svg, "<svg ") : NULL;
    pv_text out = PV_TEXT_INIT;
    if (from != NULL) {
        pv_text_add(&out, "<svg class=\"light\" role=\"img\" aria-label=\"");
        pv_html_text(&out, words);
        pv_text_add(&out, "\" %s", from + strlen("<svg "));
    }
    pv_free(svg);
    return from != NULL ? pv_text_take(&out) : NULL;
}

static void add_figures(pv_kit_page *page)
{
    static const struct {
        pv_figure which;
        const char *caption;
    } all[] = {{PV_FIGURE_START, PV_SAID("The start mark")},
               {PV_FIGURE_FINISH, PV_SAID("The finish region")},
               {PV_FIGURE_ROBOT, PV_SAID("The robot seen from above")}};
    pv_data_open(&page->data, "figures", '[');
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        if (!pv_figure_shows(page->m->course, all[i].which))
            continue;
        pv_json_open(&page->data, '{');
        const char *caption = pv_say(page->m->o.language, all[i].caption);
        pv_kit_page_svg(page, "figure_svg", figure(page, all[i].which, caption));
        pv_data_text(&page->data, "caption", caption);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
    if (pv_figure_shows(page->m->course, PV_FIGURE_LINES))
        pv_kit_page_svg(page, "lines_svg",
                        figure(page, PV_FIGURE_LINES,
                               pv_say(page->m->o.language, "Lines, their widths and tolerances")));
    else
        pv_data_text(&page->data, "lines_svg", NULL);
}

static void add_things(pv_kit_page *page)
{
    const pv_course *c = page->m->course;
    pv_data_bool(&page->data, "has_things", c->start.given || c->finish.given || c->robot.given);
    pv_data_open(&page->data, "things", '[');
    add_start(page);
    add_finish(page);
    add_robot(page);
    pv_json_close(&page->data, ']');
}

static bool put_rules(pv_kit_making *m)
{
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "rules.html", pv_say(m->o.language, "The mat %s"),
                      m->course->art.name);
    add_mat(&page);
    add_tolerances(&page);
    add_lines(&page);
    add_things(&page);
    add_figures(&page);
    add_colours(&page);
    return pv_kit_page_end(&page, "kit_rules");
}

/* ---- the camera ---- */

static void add_camera(pv_kit_page *page, const pv_camera_info *camera)
{
    const pv_language *l = page->m->o.language;
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "camera", pv_say(l, camera->name));
    pv_data_words(&page->data, "angles", "%s\xC2\xB0 \xC3\x97 %s\xC2\xB0",
                  pv_fixed(camera->across[0], 0).chars, pv_fixed(camera->across[1], 0).chars);
    /* A height that is read off a tape; all is in view from there. */
    bool inches = page->m->course->art.inches;
    double step = inches ? PV_MM_PER_IN : 10, unit = inches ? PV_MM_PER_IN : 1;
    pv_data_text(&page->data, "height",
                 pv_kit_page_mm(page, step * ceil(camera->height / step - 1e-6)).chars);
    pv_data_words(&page->data, "seen", "%s" PV_BY "%s\xC2\xA0%s",
                  pv_fixed(step * floor(camera->seen[0] / step + 1e-6) / unit, 0).chars,
                  pv_fixed(step * floor(camera->seen[1] / step + 1e-6) / unit, 0).chars,
                  inches ? "in" : "mm");
    pv_json_close(&page->data, '}');
}

static bool put_camera(pv_kit_making *m)
{
    pv_kit_page page;
    pv_camera_info camera;
    pv_vec size = m->course->art.size;
    pv_kit_page_begin(&page, m, "camera.html", pv_say(m->o.language, "Where to put the camera"));
    pv_kit_page_length(&page, "border", PV_CAMERA_BORDER * fmax(size.x, size.y));
    pv_kit_page_svg(&page, "figure_svg",
                    figure(&page, PV_FIGURE_CAMERA,
                           pv_say(m->o.language, "A camera above the middle of the mat")));
    if (pv_camera_at(m->course, PV_CAMERA_SHOWN, &camera))
        pv_data_text(&page.data, "shown", pv_say(m->o.language, camera.name));
    pv_data_open(&page.data, "cameras", '[');
    for (size_t i = 0; pv_camera_at(m->course, i, &camera); i++)
        add_camera(&page, &camera);
    pv_json_close(&page.data, ']');
    return pv_kit_page_end(&page, "kit_camera");
}

/* ---- the run record ---- */

static bool put_record(pv_kit_making *m)
{
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "run-record.html", pv_say(m->o.language, "Run record, %s"),
                      m->course->art.name);
    add_mat(&page);
    add_papers(&page, false);
    pv_data_bool(&page.data, "has_former", m->kit->was_edition != NULL);
    size_t sheets = 0;
    for (size_t i = 0; i < m->kit->n_papers; i++)
        if (m->kit->papers[i].told.sheets > sheets)
            sheets = m->kit->papers[i].told.sheets;
    size_t rows = (sheets + CODES_A_ROW - 1) / CODES_A_ROW;
    pv_data_count(&page.data, "codes",
                  rows < ROWS_LEAST  ? ROWS_LEAST
                  : rows > ROWS_MOST ? ROWS_MOST
                                     : rows);
    pv_data_open(&page.data, "runs", '[');
    for (size_t run = 1; run <= RUNS; run++) {
        pv_json_open_inline(&page.data, '{');
        pv_data_count(&page.data, "run", run);
        pv_json_close(&page.data, '}');
    }
    pv_json_close(&page.data, ']');
    return pv_kit_page_end(&page, "kit_record");
}

bool pv_kit_course_pages(pv_kit_making *m)
{
    return put_begin(m) && put_rules(m) && put_camera(m) && put_record(m);
}
