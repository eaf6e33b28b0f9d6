/* The HTML report: well formed, complete, harmless whatever it is told, and the same every time. */
#include "sheet_picture.h"
#include "values.h"

#include "base/memory.h"
#include "image/encode.h"
#include "pose/rectify.h"
#include "report/html.h"

static pv_inspection *inspected(const pv_plan *plan, double scale)
{
    picture_setup s = {.dpi = {110, 110},
                       .scale = {scale, scale},
                       .turn = 0.01,
                       .stated_dpi = {110, 110},
                       .shown = 1};
    pv_bytes png = sheet_picture(plan, &s);
    pv_diags *diags = pv_diags_new();
    pv_inspect_options options = pv_inspect_defaults();
    options.picture_px_per_mm = PV_PICTURE_PX_PER_MM;
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", &options, diags);
    ck_assert_ptr_nonnull(in);
    ck_assert_ptr_null(in->sheet.error);
    pv_diags_free(diags);
    free(png.data);
    return in;
}

static char *page_of(const pv_plan *plan, const pv_inspection *const *items, size_t n)
{
    pv_diags *diags = pv_diags_new();
    char *html = pv_inspections_html((const pv_plan *[]){plan}, 1, items, n, diags);
    ck_assert_ptr_nonnull(html);
    ck_assert_uint_eq(pv_diags_size(diags), 0);
    pv_diags_free(diags);
    return html;
}

/* Every tag that opens is closed in its turn; void elements of HTML aside. */
static void assert_balanced(const char *html)
{
    static const char *const empty[] = {"!DOCTYPE", "meta", "input"};
    static char stack[256][24];
    size_t depth = 0, tags = 0;
    for (const char *at = strchr(html, '<'); at != NULL; at = strchr(at + 1, '<')) {
        bool closing = at[1] == '/';
        char name[24] = "";
        size_t length = strcspn(at + 1 + closing, " />\n");
        ck_assert_uint_gt(length, 0);
        ck_assert_uint_lt(length, sizeof name);
        memcpy(name, at + 1 + closing, length);
        const char *end = strchr(at, '>');
        ck_assert_ptr_nonnull(end);
        tags++;
        bool none = end[-1] == '/';
        for (size_t i = 0; i < sizeof empty / sizeof *empty; i++)
            none = none || strcmp(name, empty[i]) == 0;
        if (closing) {
            ck_assert_uint_gt(depth, 0);
            ck_assert_str_eq(stack[--depth], name);
        } else if (!none) {
            ck_assert_uint_lt(depth, 256);
            memcpy(stack[depth++], name, sizeof name);
        }
    }
    ck_assert_uint_eq(depth, 0);
    ck_assert_uint_gt(tags, 100);
}

static void assert_harmless(const char *html)
{
    static const char *const never[] = {"<script", "http:",   "https:",      "src=",    "url(http",
                                        "@import", " onload", "javascript:", "<iframe", "<link"};
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        ck_assert_msg(strstr(html, never[i]) == NULL, "the page has %s", never[i]);
    for (const char *at = strstr(html, "href=\""); at != NULL; at = strstr(at + 1, "href=\""))
        ck_assert_msg(at[6] == '#' || strncmp(at + 6, "data:image/jpeg;base64,", 23) == 0,
                      "the page leads to %.40s", at);
    for (const unsigned char *c = (const unsigned char *)html; *c != '\0'; c++)
        ck_assert_msg(*c >= 0x20 || *c == '\n', "byte %02X", *c);
}

/* By the C library; signs aside, for which the page has a character of its own. */
static void assert_shows(const char *html, double value, int decimals)
{
    char text[64];
    snprintf(text, sizeof text, "%.*f", decimals, fabs(value));
    ck_assert_msg(strstr(html, text) != NULL, "%s is not in the page", text);
}

START_TEST(page_is_whole_and_complete)
{
    pv_plan *plan = picture_plan();
    pv_inspection *in = inspected(plan, 1), *shrunk = inspected(plan, 0.96);
    pv_inspection *bad = pv_inspection_unread("gone.png", "cannot open it", NULL);
    ck_assert_ptr_nonnull(in->picture.rgb);
    const pv_inspection *items[] = {in, shrunk, bad};
    for (size_t n = 1; n <= 3; n += 2) {
        char *html = page_of(plan, items, n), *again = page_of(plan, items, n);
        ck_assert_str_eq(html, again);
        assert_balanced(html);
        assert_harmless(html);
        for (size_t k = 0; k < n && items[k]->sheet.error == NULL; k++) {
            const pv_inspection *one = items[k];
            assert_shows(html, 100 * row_of(one, PV_KIND_SCALE, 0)->value, 3);
            assert_shows(html, 100 * row_of(one, PV_KIND_SCALE, 1)->value, 3);
            assert_shows(html, row_of(one, PV_KIND_SKEW, 0)->value, 2);
            for (size_t i = 0; i < one->table.n_lines; i++) {
                ck_assert_ptr_nonnull(strstr(html, one->table.lines[i].id));
                assert_shows(html, row_of(one, PV_KIND_WIDTH, i)->value, 3);
                assert_shows(html, row_of(one, PV_KIND_WIDTH, i)->U, 3);
                assert_shows(html, row_of(one, PV_KIND_STRAIGHT, i)->value, 3);
            }
            for (size_t i = 0; i < count_spacings(&one->table); i++)
                assert_shows(html, spacing_in(&one->table, i)->value, 3);
            for (int part = 0; part < PV_PARTS; part++)
                assert_shows(html, 100 * row_of(one, PV_KIND_SCALE, 0)->part[part], 4);
        }
        if (n == 3)
            ck_assert_ptr_nonnull(strstr(html, "cannot open it"));
        pv_free(html);
        pv_free(again);
    }
    pv_inspection_free(in);
    pv_inspection_free(shrunk);
    pv_inspection_free(bad);
    pv_plan_free(plan);
}
END_TEST

START_TEST(hostile_names_stay_text)
{
    pv_plan *plan = picture_plan();
    pv_inspection *in = inspected(plan, 1);
    static const char evil[] =
        "<script>alert('x')</script>\"><b a=\x01\x1b[31m\xff\xc3 \xe2\x80\xae"
        "gpj.&amp;";
    free((char *)in->sheet.label);
    in->sheet.label = pv_copy_text(evil);
    const char *id = in->table.lines[0].id;
    in->table.lines[0].id = pv_copy_text(evil);
    for (size_t i = 0; i < in->table.n_values; i++) {
        pv_value *row = &in->table.values[i];
        row->name = row->name == id ? in->table.lines[0].id : row->name;
        row->to = row->to == id ? in->table.lines[0].id : row->to;
    }
    free((char *)id);
    free(plan->art.name);
    plan->art.name = pv_copy_text(evil);
    const pv_inspection *items[] = {in, in};
    for (size_t n = 1; n <= 2; n++) {
        char *html = page_of(plan, items, n);
        assert_balanced(html);
        assert_harmless(html);
        ck_assert_ptr_nonnull(strstr(html,
                                     "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&quot;&gt;"
                                     "&lt;b a=\xEF\xBF\xBD\xEF\xBF\xBD[31m\xEF\xBF\xBD\xEF\xBF"
                                     "\xBD \xEF\xBF\xBDgpj.&amp;amp;"));
        pv_free(html);
    }
    pv_inspection_free(in);
    pv_plan_free(plan);
}
END_TEST

START_TEST(what_was_not_measured_is_a_dash)
{
    pv_plan *plan = picture_plan();
    pv_inspection *in = inspected(plan, 1);
    for (size_t i = 0; i < in->table.n_values; i++) {
        pv_value *row = &in->table.values[i];
        pv_value_of of = pv_kind_of(row->kind)->of;
        if (of != PV_OF_LINES && of != PV_OF_AREA)
            row->measured = false;
        if (of == PV_OF_SHEET)
            row->tolerance = NAN;
    }
    for (size_t i = 0; i < in->table.n_lines; i++) {
        in->table.lines[i].stations = i == 0 ? 1 : 0;
        in->table.lines[i].looked = 0;
    }
    free(in->picture.rgb);
    in->picture = (pv_picture){0};
    const pv_inspection *items[] = {in};
    char *html = page_of(plan, items, 1);
    assert_balanced(html);
    ck_assert_ptr_nonnull(strstr(html, "not measured"));
    ck_assert_ptr_null(strstr(html, "nan"));
    ck_assert_ptr_null(strstr(html, "inf "));
    ck_assert_ptr_null(strstr(html, "<image"));
    pv_free(html);
    pv_inspection_free(in);
    pv_plan_free(plan);
}
END_TEST

/* RFC 4648, section 10. */
START_TEST(base64_is_that_of_the_standard)
{
    static const char *const pairs[][2] = {{"", ""},
                                           {"f", "Zg=="},
                                           {"fo", "Zm8="},
                                           {"foo", "Zm9v"},
                                           {"foob", "Zm9vYg=="},
                                           {"fooba", "Zm9vYmE="},
                                           {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        pv_text text = PV_TEXT_INIT;
        pv_html_base64(&text, (const unsigned char *)pairs[i][0], strlen(pairs[i][0]));
        char *chars = pv_text_take(&text);
        ck_assert_str_eq(chars, pairs[i][1]);
        pv_free(chars);
    }
}
END_TEST

START_TEST(coordinates_are_short_and_right)
{
    static const struct {
        double value;
        const char *text;
    } cases[] = {{0, "0"},        {1, "1"},       {-1, "-1"},   {0.5, ".5"},
                 {-0.25, "-.25"}, {10.1, "10.1"}, {0.004, "0"}, {-0.004, "0"},
                 {99.999, "100"}, {NAN, "0"},     {1e300, "0"}, {0.05, ".05"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_text text = PV_TEXT_INIT;
        pv_svg_number(&text, cases[i].value);
        ck_assert_str_eq(text.chars, cases[i].text);
        pv_text_drop(&text);
    }
}
END_TEST

/* The picture shows each place of the sheet where the plan has it: lines dark, between them light.
 */
START_TEST(picture_is_rectified)
{
    pv_plan *plan = picture_plan();
    pv_inspection *in = inspected(plan, 0.98);
    const pv_picture *p = &in->picture;
    double k = p->px_per_mm, worst = 0;
    ck_assert_double_le(k, PV_PICTURE_PX_PER_MM);
    for (size_t i = 0; i < plan->art.n_lines; i++) {
        const pv_line *line = &plan->art.lines[i];
        pv_vec mid = pv_scale(pv_add(line->pieces[0].a, line->pieces[0].b), 0.5);
        pv_vec left = pv_left(pv_unit(pv_sub(line->pieces[0].b, line->pieces[0].a)));
        /* Along a cut across the line: where codes pass the middle, seen from both sides. */
        for (int side = -1; side <= 1; side += 2) {
            double before = 0, edge = -1;
            for (double d = 0; d < line->width; d += 0.02) {
                pv_vec at = pv_sub(pv_along(mid, left, side * d), plan->sheets[0].origin);
                size_t x = (size_t)(at.x * k), y = (size_t)((plan->page[1] - at.y) * k);
                ck_assert(x < p->width && y < p->height);
                double code = p->rgb[3 * (y * p->width + x)];
                if (edge < 0 && d > 0 && code > 140 && before <= 140)
                    edge = d;
                before = code;
            }
            worst = fmax(worst, fabs(edge - line->width / 2));
        }
    }
    say_worst("edge in the rectified picture", worst, 1 / k, "mm");
    ck_assert_double_le(worst, 1 / k);
    pv_inspection_free(in);
    pv_plan_free(plan);
}
END_TEST

START_TEST(jpeg_comes_back_and_refuses_nonsense)
{
    unsigned char rgb[3 * 40 * 30];
    for (size_t i = 0; i < sizeof rgb; i++)
        rgb[i] = (unsigned char)(i % 3 == 0 ? 200 : i % 3 == 1 ? 90 : 40);
    pv_diags *diags = pv_diags_new();
    pv_bytes jpeg;
    ck_assert(pv_jpeg_encode(rgb, 40, 30, 90, &jpeg, diags));
    pv_plane *plane = pv_plane_decode(jpeg.data, jpeg.size, 0, PV_IMAGE_PIXELS_MAX, diags);
    ck_assert_ptr_nonnull(plane);
    ck_assert_uint_eq(plane->width, 40);
    ck_assert_uint_eq(plane->height, 30);
    ck_assert_int_eq(plane->channels, 3);
    double worst = 0;
    for (size_t i = 0; i < sizeof rgb; i++)
        worst = fmax(worst, fabs(pv_linear_to_srgb(plane->samples[i] / 65535.0) - rgb[i]));
    say_worst("code through a JPEG", worst, 3, "codes");
    ck_assert_double_le(worst, 3);
    pv_plane_free(plane);
    free(jpeg.data);
    ck_assert(!pv_jpeg_encode(rgb, 0, 30, 90, &jpeg, diags));
    ck_assert(!pv_jpeg_encode(rgb, 70000, 1, 90, &jpeg, diags));
    ck_assert_ptr_null(jpeg.data);
    pv_diags_free(diags);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("html");
    TCase *tcase = tcase_create("html");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, page_is_whole_and_complete);
    tcase_add_test(tcase, hostile_names_stay_text);
    tcase_add_test(tcase, what_was_not_measured_is_a_dash);
    tcase_add_test(tcase, base64_is_that_of_the_standard);
    tcase_add_test(tcase, coordinates_are_short_and_right);
    tcase_add_test(tcase, picture_is_rectified);
    tcase_add_test(tcase, jpeg_comes_back_and_refuses_nonsense);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
