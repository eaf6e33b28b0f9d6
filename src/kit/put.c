/* One file of a kit. */
#include "base/memory.h"
#include "html/html.h"
#include "kit/kit.h"

#include <string.h>

bool pv_kit_put(pv_kit_making *m, const char *name, const void *bytes, size_t size)
{
    pv_kit *kit = m->kit;
    if (!PV_GROW(kit->files, kit->n_files, kit->cap_files)) {
        pv_fail_memory(m->diags);
        return false;
    }
    pv_kit_file *file = &kit->files[kit->n_files];
    *file = (pv_kit_file){.size = size};
    size_t length = strlen(name);
    if (length >= sizeof file->name) {
        pv_fail(m->diags, PV_CAUSE_LIMIT, "the name %s is too long for a kit", name);
        return false;
    }
    memcpy(file->name, name, length + 1);
    pv_sha256(bytes, size, file->sum);
    kit->n_files++;
    kit->told.files++;
    kit->told.bytes += size;
    return m->sink(m->sink_context, &(pv_kit_member){name, bytes, size}, m->diags);
}

bool pv_kit_put_text(pv_kit_making *m, const char *name, char *text)
{
    bool good = text != NULL && pv_kit_put(m, name, text, strlen(text));
    if (text == NULL && pv_diags_count(m->diags, PV_ERROR) == 0)
        pv_fail_memory(m->diags);
    pv_free(text);
    return good;
}

bool pv_kit_put_plain(pv_kit_making *m, const char *name)
{
    pv_text text = PV_TEXT_INIT;
    if (!pv_html_fill(&text, name, "{}", 2, NULL, m->diags)) {
        pv_text_drop(&text);
        return false;
    }
    return pv_kit_put_text(m, name, pv_text_take(&text));
}
