/* pavior/text.h - words, lengths and files as people give them. */
#ifndef PAVIOR_TEXT_H
#define PAVIOR_TEXT_H

#include <pavior/diag.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A whole text such as "12mm", "1.5 in" or "-3cm" (mm, cm, m, in, ft), with a decimal point in
 * every locale. False where it is anything else or has no unit; *mm is then not set. */
PV_API bool pv_length_parse(const char *text, double *mm);

/* A plain decimal number without a sign, from the start of `length` bytes of text; *used of them
 * are the number. False where there is none. */
PV_API bool pv_number_parse(const char *text, size_t length, double *value, size_t *used);

/* A stranger's text, such as a file's name, made safe for a terminal: "?" stands for each character
 * that does not print, so that none can forge a line or steer the terminal. The caller frees it
 * with pv_free; NULL where memory ran out. */
PV_API char *pv_text_safe(const char *text);

/* Text as a JSON string, with its quotes; U+FFFD stands for what is not UTF-8. The caller frees it
 * with pv_free; NULL where memory ran out. */
PV_API char *pv_text_json(const char *text);

/* What a file is, by its first bytes: for a program that was given the wrong one. */
typedef enum pv_file_kind {
    PV_FILE_TEXT, /* none of these: a text, or a damaged file of another kind */
    PV_FILE_PLAN,
    PV_FILE_REPORT,  /* what pv_inspections_json gives */
    PV_FILE_PRINTER, /* pavior/printer.h */
    PV_FILE_SCANNER,
    PV_FILE_PAGE, /* a report as HTML */
    PV_FILE_PDF,
    PV_FILE_PNG,
    PV_FILE_JPEG,
    PV_FILE_ZIP, /* an archive, or an office document */
    PV_FILE_BINARY,
    PV_FILE_COURSE,
    PV_FILE_PICTURE /* of another kind that pavior inspects: TIFF, WebP, HEIC, AVIF */
} pv_file_kind;

PV_API pv_file_kind pv_file_kind_of(const void *bytes, size_t size);
/* With its article: "a plan", "a PNG picture". Never NULL. */
PV_API const char *pv_file_kind_name(pv_file_kind kind);

#ifdef __cplusplus
}
#endif
#endif
