/* Writes page contents with the PDF library alone: what pavior's time is held against (see
 * tests/bench_scale.py). Each argument is a file of pages, and becomes a PDF beside it:
 *
 *     page WIDTH HEIGHT BYTES      in points, and how long the contents are that follow
 *
 * Contents are read before the clock starts: it counts the library's calls alone, and the writing
 * of the file. Prints the processor time in s, and the bytes written. */
#include <hpdf.h>

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define NUMBERS_MAX 6
#define TEXT_MAX    1024

typedef struct op {
    char name[4];
    HPDF_REAL number[NUMBERS_MAX];
    char *text;
} op;

typedef struct ops {
    op *list;
    size_t n, cap;
} ops;

static HPDF_Font fonts[2];

static void die(const char *why)
{
    fprintf(stderr, "replay_pages: %s\n", why);
    exit(1);
}

static void on_error(HPDF_STATUS error, HPDF_STATUS detail, void *data)
{
    (void)data;
    fprintf(stderr, "replay_pages: libharu 0x%lX, %lu\n", (unsigned long)error,
            (unsigned long)detail);
    exit(1);
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ---- reading contents ---- */

static const char *read_text(const char *s, char *text)
{
    size_t n = 0;
    for (s++; *s != ')' && n + 1 < TEXT_MAX; s++) {
        if (*s == '\\' && isdigit((unsigned char)s[1])) {
            char octal[4] = {s[1], s[2], s[3], 0};
            text[n++] = (char)strtol(octal, NULL, 8);
            s += 3;
        } else {
            s += *s == '\\';
            text[n++] = *s;
        }
    }
    text[n] = '\0';
    return s + 1;
}

static const char *read_hex(const char *s, char *text)
{
    size_t n = 0;
    for (s++; *s != '>' && n + 1 < TEXT_MAX; s += 2) {
        char pair[3] = {s[0], s[1], 0};
        text[n++] = (char)strtol(pair, NULL, 16);
    }
    text[n] = '\0';
    return s + 1;
}

static void read_ops(const char *s, ops *out)
{
    op now_read = {0};
    int numbers = 0;
    char text[TEXT_MAX] = "";
    bool has_text = false;
    out->n = 0;
    for (;;) {
        s += strspn(s, " \t\r\n");
        if (*s == '\0')
            return;
        if (*s == '[') {
            const char *end = strchr(s, ']');
            if (end == NULL || end - s + 2 > TEXT_MAX)
                die("an array of text is too long");
            memcpy(text, s, (size_t)(end - s) + 1);
            text[end - s + 1] = '\0';
            has_text = true;
            s = end + 1;
        } else if (*s == '(' || (*s == '<' && s[1] != '<')) {
            s = *s == '(' ? read_text(s, text) : read_hex(s, text);
            has_text = true;
        } else if (*s == '/') {
            now_read.number[0] = strncmp(s, "/F2", 3) == 0; /* which font */
            numbers = 1;
            s += strcspn(s, " \t\r\n");
        } else if (isdigit((unsigned char)*s) || *s == '-' || *s == '.') {
            char *end;
            HPDF_REAL value = strtof(s, &end);
            if (numbers < NUMBERS_MAX)
                now_read.number[numbers++] = value;
            s = end;
        } else {
            size_t n = strcspn(s, " \t\r\n");
            memcpy(now_read.name, s, n < 3 ? n : 3);
            now_read.text = has_text ? strdup(text) : NULL;
            if (out->n == out->cap) {
                out->cap = 2 * out->cap + 1024;
                out->list = realloc(out->list, out->cap * sizeof *out->list);
                if (out->list == NULL)
                    die("out of memory");
            }
            out->list[out->n++] = now_read;
            now_read = (op){0};
            numbers = 0;
            has_text = false;
            s += n;
        }
    }
}

/* ---- writing ---- */

/* Text of an embedded face, in its codes. libharu has no call for this operator: its stream takes
 * the bytes. */
static void show_array(HPDF_Page page, const char *text)
{
    HPDF_PageAttr attr = page->attr;
    HPDF_Stream_WriteStr(attr->stream, text);
    HPDF_Stream_WriteStr(attr->stream, " TJ\012");
}

static void show(HPDF_Page page, const op *o)
{
    const HPDF_REAL *v = o->number;
    if (strcmp(o->name, "BT") == 0)
        HPDF_Page_BeginText(page);
    else if (strcmp(o->name, "ET") == 0)
        HPDF_Page_EndText(page);
    else if (strcmp(o->name, "Tf") == 0)
        HPDF_Page_SetFontAndSize(page, fonts[v[0] > 0], v[1]);
    else if (strcmp(o->name, "Tm") == 0)
        HPDF_Page_SetTextMatrix(page, v[0], v[1], v[2], v[3], v[4], v[5]);
    else if (strcmp(o->name, "Tj") == 0 && o->text != NULL)
        HPDF_Page_ShowText(page, o->text);
    else if (strcmp(o->name, "TJ") == 0 && o->text != NULL)
        show_array(page, o->text);
    else
        fprintf(stderr, "replay_pages: %s was left out\n", o->name);
}

static void replay(HPDF_Page page, const op *o)
{
    const HPDF_REAL *v = o->number;
    if (strcmp(o->name, "m") == 0)
        HPDF_Page_MoveTo(page, v[0], v[1]);
    else if (strcmp(o->name, "l") == 0)
        HPDF_Page_LineTo(page, v[0], v[1]);
    else if (strcmp(o->name, "c") == 0)
        HPDF_Page_CurveTo(page, v[0], v[1], v[2], v[3], v[4], v[5]);
    else if (strcmp(o->name, "h") == 0)
        HPDF_Page_ClosePath(page);
    else if (strcmp(o->name, "f") == 0)
        HPDF_Page_Fill(page);
    else if (strcmp(o->name, "f*") == 0)
        HPDF_Page_Eofill(page);
    else if (strcmp(o->name, "re") == 0)
        HPDF_Page_Rectangle(page, v[0], v[1], v[2], v[3]);
    else if (strcmp(o->name, "W") == 0)
        HPDF_Page_Clip(page);
    else if (strcmp(o->name, "n") == 0)
        HPDF_Page_EndPath(page);
    else if (strcmp(o->name, "q") == 0)
        HPDF_Page_GSave(page);
    else if (strcmp(o->name, "Q") == 0)
        HPDF_Page_GRestore(page);
    else if (strcmp(o->name, "g") == 0)
        HPDF_Page_SetGrayFill(page, v[0]);
    else if (strcmp(o->name, "rg") == 0)
        HPDF_Page_SetRGBFill(page, v[0], v[1], v[2]);
    else
        show(page, o);
}

static size_t save(HPDF_Doc doc, const char *name)
{
    HPDF_SaveToStream(doc);
    HPDF_UINT32 size = HPDF_GetStreamSize(doc), got = size;
    HPDF_ResetStream(doc);
    unsigned char *bytes = malloc(size + 1);
    FILE *file = fopen(name, "wb");
    if (bytes == NULL || file == NULL)
        die("cannot write");
    HPDF_ReadFromStream(doc, bytes, &got);
    if (got != size || fwrite(bytes, 1, size, file) != size || fclose(file) != 0)
        die("cannot write");
    free(bytes);
    return size;
}

/* One file; gives the seconds that the library took. */
static double replay_file(const char *name, size_t *written)
{
    FILE *in = fopen(name, "rb");
    if (in == NULL)
        die("cannot open the pages");
    double start = now(), counted;
    HPDF_Doc doc = HPDF_New(on_error, NULL);
    HPDF_SetCompressionMode(doc, HPDF_COMP_ALL);
    HPDF_SetViewerPreference(doc, HPDF_PRINT_SCALING_NONE);
    fonts[0] = HPDF_GetFont(doc, "Helvetica", "WinAnsiEncoding");
    fonts[1] = HPDF_GetFont(doc, "Helvetica-Bold", "WinAnsiEncoding");
    counted = now() - start;
    ops all = {0};
    double width, height;
    size_t size;
    while (fscanf(in, "page %lf %lf %zu\n", &width, &height, &size) == 3) {
        char *contents = malloc(size + 1);
        if (contents == NULL || fread(contents, 1, size, in) != size)
            die("the pages end too soon");
        contents[size] = '\0';
        read_ops(contents, &all);
        start = now();
        HPDF_Page page = HPDF_AddPage(doc);
        HPDF_Page_SetWidth(page, (HPDF_REAL)width);
        HPDF_Page_SetHeight(page, (HPDF_REAL)height);
        for (size_t i = 0; i < all.n; i++)
            replay(page, &all.list[i]);
        counted += now() - start;
        for (size_t i = 0; i < all.n; i++)
            free(all.list[i].text);
        free(contents);
    }
    char out[1024];
    snprintf(out, sizeof out, "%s.pdf", name);
    start = now();
    *written += save(doc, out);
    HPDF_Free(doc);
    counted += now() - start;
    free(all.list);
    fclose(in);
    return counted;
}

int main(int argc, char **argv)
{
    double seconds = 0;
    size_t written = 0;
    for (int i = 1; i < argc; i++)
        seconds += replay_file(argv[i], &written);
    printf("%.3f %zu\n", seconds, written);
    return 0;
}
