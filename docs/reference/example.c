/* A course on sheets, and a print of it judged:  example F.course F.pdf [SCAN.png] */
#include <pavior/pavior.h>
#include <stdio.h>
static char text[1 << 20], image[64 << 20];

static size_t read_file(const char *name, char *to, size_t room)
{
    FILE *file = fopen(name, "rb");
    size_t n = file != NULL ? fread(to, 1, room, file) : 0;
    return file != NULL && fclose(file) == 0 ? n : 0;
}

static bool write_pdf(void *file, const pv_pdf_part *part, pv_diags *diags)
{
    (void)diags;
    return fwrite(part->bytes, 1, part->size, file) == part->size;
}

int main(int argc, char **argv)
{
    pv_diags *diags = pv_diags_new();
    pv_type *type = pv_type_open(NULL, diags);
    pv_layout_options options = pv_layout_defaults(); /* A4; lengths are mm */
    pv_inspect_options how = pv_inspect_defaults(); how.scanner_kind = PV_SCANNER_FLATBED;
    pv_course *course = argc > 2 && type != NULL ? pv_course_parse(text,
        read_file(argv[1], text, sizeof text), argv[1], type, diags) : NULL;
    pv_plan *plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    FILE *pdf = plan != NULL ? fopen(argv[2], "wb") : NULL;
    bool good = pdf != NULL && pv_sheets_pdf(plan, NULL, write_pdf, pdf, diags) && fclose(pdf) == 0;
    pv_inspection *seen = good && argc > 3 ? pv_inspect(
        (const pv_plan *[]){plan}, 1, (unsigned char *)image, read_file(argv[3], image, sizeof image), argv[3], &how, diags) : NULL;
    const pv_inspected *sheet = seen != NULL ? pv_inspection_sheet(seen) : NULL;
    if (sheet != NULL)
        puts(sheet->error != NULL ? sheet->error : pv_verdict_name(sheet->verdict));
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        fprintf(stderr, "%s: %s\n", argv[0], pv_diags_at(diags, i)->message);
    pv_inspection_free(seen), pv_plan_free(plan), pv_course_free(course), pv_type_free(type), pv_diags_free(diags);
    return good ? 0 : 1;
}
