/* A kit as one ZIP archive, by libarchive.
 *
 * libarchive 3.6.2 takes the machine's time zone for a file's date, but moves whatever lies before
 * 1980 to 1980-01-01, as an entry without a date does: so the bytes are the same everywhere.
 * It leaks what it was stopped in: so it is let finish, into nothing where the sink has refused. */
#include "base/memory.h"
#include "kit/kit.h"

#include <archive.h>
#include <archive_entry.h>
#include <stdio.h>
#include <stdlib.h>

struct pv_kit_zip {
    struct archive *archive;
    char *folder; /* owned */
    pv_bytes_sink *sink;
    void *context;
    pv_diags *diags; /* of the call that is being served */
    bool refused;    /* by the sink, which has said why */
};

static la_ssize_t take(struct archive *archive, void *context, const void *bytes, size_t size)
{
    pv_kit_zip *zip = context;
    (void)archive;
    if (!zip->refused)
        zip->refused = !zip->sink(zip->context, bytes, size, zip->diags);
    return (la_ssize_t)size;
}

static bool fail(const pv_kit_zip *zip, pv_diags *diags)
{
    const char *why = archive_error_string(zip->archive);
    if (!zip->refused)
        pv_fail(diags, PV_CAUSE_LIBRARY, "libarchive cannot write the ZIP archive: %s",
                why != NULL ? why : "no reason given");
    return false;
}

pv_kit_zip *pv_kit_zip_open(const char *folder, pv_bytes_sink *sink, void *context, pv_diags *diags)
{
    pv_kit_zip *zip = PV_NEW(pv_kit_zip);
    bool good = zip != NULL;
    if (good) {
        *zip = (pv_kit_zip){.folder = pv_copy_text(folder),
                            .sink = sink,
                            .context = context,
                            .diags = diags,
                            .archive = archive_write_new()};
        good = zip->folder != NULL && zip->archive != NULL;
    }
    if (!good)
        pv_fail_memory(diags);
    /* No padding at the end. */
    else if (archive_write_set_format_zip(zip->archive) != ARCHIVE_OK ||
             archive_write_set_bytes_in_last_block(zip->archive, 1) != ARCHIVE_OK ||
             archive_write_open(zip->archive, zip, NULL, take, NULL) != ARCHIVE_OK)
        good = fail(zip, diags);
    if (good)
        return zip;
    pv_kit_zip_free(zip);
    return NULL;
}

bool pv_kit_zip_add(void *context, const pv_kit_member *member, pv_diags *diags)
{
    pv_kit_zip *zip = context;
    zip->diags = diags;
    char name[PV_KIT_NAME + 300];
    int length = snprintf(name, sizeof name, "%s/%s", zip->folder, member->name);
    struct archive_entry *entry = archive_entry_new();
    if (entry == NULL || length < 0 || (size_t)length >= sizeof name) {
        archive_entry_free(entry);
        pv_fail_memory(diags);
        return false;
    }
    archive_entry_set_pathname_utf8(entry, name);
    archive_entry_set_size(entry, (la_int64_t)member->size);
    archive_entry_set_filetype(entry, AE_IFREG);
    archive_entry_set_perm(entry, 0644);
    bool good = archive_write_header(zip->archive, entry) == ARCHIVE_OK &&
                (member->size == 0 || archive_write_data(zip->archive, member->bytes,
                                                         member->size) == (la_ssize_t)member->size);
    good = archive_write_finish_entry(zip->archive) == ARCHIVE_OK && good;
    archive_entry_free(entry);
    return (good && !zip->refused) || fail(zip, diags);
}

bool pv_kit_zip_close(pv_kit_zip *zip, pv_diags *diags)
{
    if (zip == NULL)
        return false;
    zip->diags = diags;
    bool good =
        (archive_write_close(zip->archive) == ARCHIVE_OK && !zip->refused) || fail(zip, diags);
    pv_kit_zip_free(zip);
    return good;
}

void pv_kit_zip_free(pv_kit_zip *zip)
{
    if (zip == NULL)
        return;
    zip->refused = true; /* freeing writes the rest, into nothing */
    archive_write_free(zip->archive);
    free(zip->folder);
    free(zip);
}
