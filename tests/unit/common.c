#include "common.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static pv_type *type;

pv_type *test_type(void)
{
    return type;
}

static void close_type(void)
{
    pv_type_free(type);
}

static void open_type(void)
{
    pv_diags *diags = pv_diags_new();
    type = pv_type_open(NULL, diags);
    if (type == NULL || pv_diags_size(diags) > 0) {
        fputs("the default typeface is not installed\n", stderr);
        exit(EXIT_FAILURE);
    }
    pv_diags_free(diags);
    atexit(close_type); /* each forked test closes its own copy */
}

int run_suite(Suite *suite)
{
    open_type(); /* before Check forks: each test has its own copy */
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

pv_bytes read_input(const char *path)
{
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL && fseek(file, 0, SEEK_END) == 0, "cannot read %s", path);
    pv_bytes bytes = {NULL, (size_t)ftell(file)};
    rewind(file);
    bytes.data = calloc(bytes.size + 1, 1); /* ends with a NUL, for texts */
    ck_assert(bytes.data != NULL && fread(bytes.data, 1, bytes.size, file) == bytes.size);
    fclose(file);
    return bytes;
}

static bool keep_part(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    pv_bytes *to = context;
    free(to->data);
    *to = (pv_bytes){pv_copy_bytes(part->bytes, part->size, 1), part->size};
    if (to->data == NULL)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory");
    return to->data != NULL && part->number == 1;
}

bool sheets_pdf(const pv_plan *plan, const pv_pdf_options *options, unsigned char **bytes,
                size_t *size, pv_diags *diags)
{
    pv_bytes kept = {NULL, 0};
    bool good = pv_sheets_pdf(plan, options, keep_part, &kept, diags);
    *bytes = good ? kept.data : NULL;
    *size = kept.size;
    if (!good)
        free(kept.data);
    return good;
}

static bool take_scanner(pv_scanner *scanner, pv_scanner *out)
{
    bool good = scanner != NULL;
    if (good)
        *out = *scanner;
    pv_scanner_free(scanner);
    return good;
}

bool scanner_parse(const char *text, size_t length, const char *name, pv_scanner *out,
                   pv_diags *diags)
{
    return take_scanner(pv_scanner_parse(text, length, name, diags), out);
}

bool calibrate_scanner(const pv_report_text *reports, size_t n, pv_scanner *out, pv_diags *diags)
{
    return take_scanner(pv_calibrate_scanner(reports, n, diags), out);
}

char *diags_text(const pv_diags *diags)
{
    pv_text out = PV_TEXT_INIT;
    for (size_t i = 0; i < pv_diags_size(diags); i++) {
        char *one = pv_diag_text(pv_diags_at(diags, i));
        pv_text_add(&out, "%s", one != NULL ? one : "");
        pv_free(one);
    }
    return pv_text_take(&out);
}

bool says(const char *text, const char *facts)
{
    size_t n = strcspn(facts, "|");
    bool found = n == 0;
    for (const char *at = text; !found && *at != '\0'; at++)
        found = strncmp(at, facts, n) == 0;
    return found && (facts[n] == '\0' || says(text, facts + n + 1));
}

void assert_says(const char *text, const char *facts)
{
    ck_assert_msg(text != NULL && says(text, facts), "\"%s\" lacks some of \"%s\"", text, facts);
}

/* SplitMix64 (Steele, Lea and Flood, 2014): any seed is as good as another. */
uint64_t dice_bits(dice *d)
{
    uint64_t z = d->state += 0x9E3779B97F4A7C15u;
    z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9u;
    z = (z ^ z >> 27) * 0x94D049BB133111EBu;
    return z ^ z >> 31;
}

double between(dice *d, double lo, double hi)
{
    return lo + (hi - lo) * (double)(dice_bits(d) >> 11) / 9007199254740992.0;
}

size_t pick(dice *d, size_t n)
{
    return (size_t)between(d, 0, (double)n - 1e-9);
}

/* Box and Muller's. */
double normal(dice *d)
{
    double u = 1 - between(d, 0, 1), v = between(d, 0, 1);
    return sqrt(-2 * log(u)) * cos(8 * atan(1) * v);
}

static dice table = {7};

void chance(uint64_t seed)
{
    table.state = seed;
}

double uniform(void)
{
    return between(&table, 0, 1);
}

double gauss(void)
{
    return normal(&table);
}

double random_between(double lo, double hi)
{
    return between(&table, lo, hi);
}

void say_worst(const char *what, double worst, double allowed, const char *unit)
{
    printf("    %-58s worst %.3g %s (allowed %.3g)\n", what, worst, unit, allowed);
    fflush(stdout);
}

/* A visit that stops, with false, at the first solid that covers the point. */
static bool misses(void *context, const pv_solid *solid)
{
    return !pv_solid_covers(solid, *(const pv_vec *)context);
}

bool line_covers(const pv_line *line, pv_vec p)
{
    return !pv_line_each_solid(line, misses, &p);
}

pv_spot spot_by_hand(const pv_art *art, pv_vec p)
{
    pv_spot spot = {.colour = art->ground, .line = -1};
    spot.off = p.x < 0 || p.y < 0 || p.x > art->size.x || p.y > art->size.y;
    for (size_t i = 0; i < art->n_fills; i++)
        if (pv_area_covers(&art->fills[i], p))
            spot.colour = art->fills[i].colour;
    for (size_t i = 0; i < art->n_lines; i++) {
        if (!line_covers(&art->lines[i], p))
            continue;
        spot.line = (long)i;
        spot.colour = art->lines[i].colour;
    }
    for (size_t i = 0; i < art->n_marks; i++) {
        if (!pv_area_covers(&art->marks[i], p))
            continue;
        spot.mark = true;
        spot.colour = art->marks[i].colour;
    }
    return spot;
}
