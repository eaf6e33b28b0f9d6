#include "base/text.h"

#include "base/kind.h"

#include <pavior/text.h>

#include <string.h>

#define LOOKED_AT  4000 /* bytes in which a file of ours says what it is */
#define ZEROS_MOST 3    /* of which in a text no more are by mistake */

const char *pv_file_kind_name(pv_file_kind kind)
{
    static const char *const names[] = {
        [PV_FILE_TEXT] = PV_SAID("a text"),
        [PV_FILE_PLAN] = PV_SAID("a plan"),
        [PV_FILE_REPORT] = PV_SAID("a report of pavior inspect"),
        [PV_FILE_PRINTER] = PV_SAID("a printer's file"),
        [PV_FILE_SCANNER] = PV_SAID("a scanner's file"),
        [PV_FILE_PAGE] = PV_SAID("a report of pavior inspect, as a page"),
        [PV_FILE_PDF] = PV_SAID("a PDF"),
        [PV_FILE_PNG] = PV_SAID("a PNG picture"),
        [PV_FILE_JPEG] = PV_SAID("a JPEG picture"),
        [PV_FILE_ZIP] = PV_SAID("a ZIP archive or an office document"),
        [PV_FILE_BINARY] = PV_SAID("a binary file"),
        [PV_FILE_COURSE] = PV_SAID("a course"),
        [PV_FILE_PICTURE] = PV_SAID("a picture"),
    };
    return (size_t)kind < sizeof names / sizeof *names ? names[kind] : "a file";
}

static bool begins(const void *bytes, size_t size, const char *with, size_t length)
{
    return size >= length && memcmp(bytes, with, length) == 0;
}

/* Those that the room image/ decodes, too (image/decode.c). */
static bool is_other_picture(const char *bytes, size_t size)
{
    static const char tiffs[][5] = {"II*\0", "MM\0*", "II+\0", "MM\0+"};
    for (size_t i = 0; i < sizeof tiffs / sizeof *tiffs; i++)
        if (begins(bytes, size, tiffs[i], 4))
            return true;
    return size >= 12 && (memcmp(bytes + 4, "ftyp", 4) == 0 || memcmp(bytes + 8, "WEBP", 4) == 0);
}

/* A line begins with the statement that each course has. */
static bool names_a_course(const char *head)
{
    for (const char *line = head; line != NULL; line = strchr(line, '\n')) {
        line += strspn(line, " \t\r\n\xEF\xBB\xBF");
        if (strncmp(line, "course", 6) == 0 && line[6 + strspn(line + 6, " \t")] == '"')
            return true;
    }
    return false;
}

static pv_file_kind kind_of_text(const char *head)
{
    static const struct {
        const char *format;
        pv_file_kind kind;
    } ours[] = {{"\"" PV_PLAN_FORMAT "\"", PV_FILE_PLAN},
                {"\"" PV_PRINTER_FORMAT "\"", PV_FILE_PRINTER},
                {"\"" PV_SCANNER_FORMAT "\"", PV_FILE_SCANNER}};
    const char *start = head + strspn(head, " \t\r\n");
    if (*start == '<')
        return strstr(head, "<meta name=\"generator\" content=\"pavior\">") != NULL ? PV_FILE_PAGE
                                                                                    : PV_FILE_TEXT;
    if (*start == '[')
        return strstr(head, "\"file\"") != NULL ? PV_FILE_REPORT : PV_FILE_TEXT;
    for (size_t i = 0; *start == '{' && i < sizeof ours / sizeof *ours; i++)
        if (strstr(head, "\"format\"") != NULL && strstr(head, ours[i].format) != NULL)
            return ours[i].kind;
    return names_a_course(head) ? PV_FILE_COURSE : PV_FILE_TEXT;
}

pv_file_kind pv_file_kind_of(const void *bytes, size_t size)
{
    static const struct {
        const char *with;
        pv_file_kind kind;
    } heads[] = {{"%PDF-", PV_FILE_PDF},         {"\x89PNG\r\n\x1A\n", PV_FILE_PNG},
                 {"\xFF\xD8\xFF", PV_FILE_JPEG}, {"PK\x03\x04", PV_FILE_ZIP},
                 {"\xFF\xFE", PV_FILE_TEXT}, /* UTF-16, whose zeros make no binary file */
                 {"\xFE\xFF", PV_FILE_TEXT}};
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        if (begins(bytes, size, heads[i].with, strlen(heads[i].with)))
            return heads[i].kind;
    if (is_other_picture(bytes, size))
        return PV_FILE_PICTURE;
    char head[LOOKED_AT + 1] = "";
    size_t n = size < LOOKED_AT ? size : LOOKED_AT, zeros = 0;
    if (n > 0)
        memcpy(head, bytes, n);
    for (size_t i = 0; i < n; i++)
        zeros += head[i] == '\0';
    return zeros > ZEROS_MOST ? PV_FILE_BINARY : kind_of_text(head);
}
