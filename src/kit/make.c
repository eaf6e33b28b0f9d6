/* Makes a kit, one file after the other. */
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "kit/kit.h"

#include <pavior/drawing.h>

#include <stdlib.h>
#include <string.h>

static const pv_kit_options defaults = {.size = sizeof defaults};

void pv_kit_init(pv_kit_options *options, size_t size)
{
    pv_give_options(options, size, &defaults, sizeof defaults);
}

/* An address that a QR code and a page can hold as it is: RFC 3986's characters, and a scheme that
 * phones open. */
static bool check_url(const char *url, pv_diags *diags)
{
    static const char also[] = "-._~:/?#[]@!$&'()*+,;=%";
    bool safe = strncmp(url, "https://", 8) == 0, web = safe || strncmp(url, "http://", 7) == 0;
    size_t length = 0;
    bool plain = true;
    for (const char *c = url; *c != '\0' && plain; c++, length++) {
        bool letter = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z');
        plain = letter || (*c >= '0' && *c <= '9') || strchr(also, *c) != NULL;
    }
    const char *host = url + (safe ? 8 : 7);
    if (web && memchr(host, '@', strcspn(host, "/")) != NULL) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "leave out what stands before the @: a kit is open to all",
                     "the kit's address holds an @, as of a user with a password, and everybody "
                     "could read it on each sheet");
        return false;
    }
    web = web && strspn(host, ":/") == 0 && *host != '\0';
    if (web && plain && length <= PV_KIT_URL_MAX && strpbrk(url, "?#") == NULL)
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "give the address of the folder in which the kit will stand, such as "
                 "https://example.org/mat/",
                 "the kit's address must begin with https:// or http://, hold at most %u "
                 "characters of a plain web address, and no ? or #",
                 PV_KIT_URL_MAX);
    return false;
}

bool pv_kit_contact_fits(const char *contact)
{
    return strlen(contact) <= PV_KIT_CONTACT_MAX && contact[strspn(contact, " ")] != '\0' &&
           pv_text_prints(contact, NULL);
}

static bool check_contact(const char *contact, pv_diags *diags)
{
    bool plain = pv_kit_contact_fits(contact);
    if (!plain)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "give an address or a few words, such as \"mats@example.org, by 1 May\"",
                     "the kit's contact must be one line of text in UTF-8, of at most %u bytes",
                     PV_KIT_CONTACT_MAX);
    return plain;
}

static bool start(pv_kit *kit, const pv_course *course)
{
    kit->name = pv_copy_text(course->art.name);
    kit->edition = pv_copy_text(course->art.edition);
    kit->told = (pv_kit_info){.name = kit->name,
                              .edition = kit->edition,
                              .mat = {course->art.size.x, course->art.size.y}};
    return kit->name != NULL && kit->edition != NULL;
}

static bool report(const pv_kit_making *m, size_t done, size_t total)
{
    if (m->o.progress == NULL || m->o.progress(m->o.progress_context, done, total))
        return true;
    pv_fail(m->diags, PV_CAUSE_USAGE, "stopped after %zu of %zu papers", done, total);
    return false;
}

static bool put_papers(pv_kit_making *m)
{
    pv_kit_wish wishes[PV_KIT_PAPERS_MAX];
    size_t n = 0;
    if (!pv_kit_wishes(&m->o, wishes, &n, m->diags))
        return false;
    for (size_t i = 0; i < n; i++)
        if (!report(m, i, n) || !pv_kit_lay(m, &wishes[i]))
            return false;
    if (m->kit->n_papers > 0)
        return report(m, n, n);
    pv_diags_add(m->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "name papers or rolls that do",
                 "none of the usual papers takes this mat");
    return false;
}

static bool put_dimensions(pv_kit_making *m)
{
    pv_drawing_options how = pv_drawing_defaults();
    unsigned char *bytes = NULL;
    size_t size = 0;
    how.language = m->o.language;
    bool good = pv_dimensions_pdf(m->course, &how, &bytes, &size, m->diags) &&
                pv_kit_put(m, "dimensions.pdf", bytes, size);
    pv_free(bytes);
    return good;
}

static bool put_course(pv_kit_making *m)
{
    return pv_kit_put(m, "mat.course", m->text, m->length) &&
           pv_kit_put_text(m, "mat.svg", pv_course_svg(m->course, false, m->diags)) &&
           pv_kit_put_text(m, "run.svg", pv_course_svg(m->course, true, m->diags)) &&
           put_dimensions(m);
}

/* The pages that measure and draw, and what both of them load. */
static bool put_working_pages(pv_kit_making *m)
{
    bool any = m->o.checker != NULL || m->o.maker != NULL;
    return pv_kit_check_page(m) && pv_kit_course_page(m) &&
           (!any || pv_kit_put_plain(m, "page.js"));
}

static bool make(pv_kit_making *m)
{
    if (m->o.url != NULL && !check_url(m->o.url, m->diags))
        return false;
    if (m->o.contact != NULL && !check_contact(m->o.contact, m->diags))
        return false;
    if (!start(m->kit, m->course)) {
        pv_fail_memory(m->diags);
        return false;
    }
    /* Where memory ran out for a warning, it shows in the list alone. */
    return put_papers(m) && put_course(m) && pv_kit_course_pages(m) && pv_kit_changes_page(m) &&
           put_working_pages(m) && pv_kit_put_plain(m, "pavior.css") && pv_kit_contents(m) &&
           pv_diags_cause(m->diags) != PV_CAUSE_MEMORY;
}

pv_kit *pv_kit_make(const char *text, size_t length, const char *name, pv_type *type,
                    const pv_kit_options *options, pv_kit_sink *sink, void *sink_context,
                    pv_diags *diags)
{
    pv_kit_making m = {.o = defaults,
                       .type = type,
                       .text = text,
                       .length = length,
                       .sink = sink,
                       .sink_context = sink_context,
                       .diags = diags,
                       .plans = PV_JSON_WRITER_INIT};
    pv_take_options(&m.o, sizeof m.o, options);
    pv_course *course = pv_course_parse(text, length, name, type, diags);
    if (course == NULL)
        return NULL;
    m.course = course;
    m.kit = PV_NEW(pv_kit);
    bool good = m.kit != NULL;
    if (!good)
        pv_fail_memory(diags);
    good = good && make(&m);
    pv_course_free(course);
    pv_text_drop(&m.plans.out);
    if (good)
        return m.kit;
    pv_kit_free(m.kit);
    return NULL;
}

void pv_kit_free(pv_kit *kit)
{
    if (kit == NULL)
        return;
    for (size_t i = 0; i < kit->n_papers; i++) {
        free(kit->papers[i].paper);
        free(kit->papers[i].map);
        pv_kit_again_clear(&kit->papers[i].again);
    }
    for (size_t i = 0; i < kit->n_changes; i++)
        free(kit->changes[i]);
    free((void *)kit->changes);
    free(kit->was_edition);
    free(kit->areas);
    free(kit->papers);
    free(kit->files);
    free(kit->name);
    free(kit->edition);
    free(kit);
}

const pv_kit_info *pv_kit_info_of(const pv_kit *kit)
{
    return &kit->told;
}

const pv_kit_paper *pv_kit_paper_at(const pv_kit *kit, size_t index)
{
    if (index >= kit->n_papers)
        return NULL;
    /* Its texts stand beside it, and an array that grew has moved them. */
    pv_laid *laid = &kit->papers[index];
    laid->told.id = laid->id;
    laid->told.paper = laid->paper;
    laid->told.kit = laid->fingerprint.chars;
    laid->told.plan = laid->plan;
    laid->told.compared = laid->again.compared;
    laid->told.again = laid->again.n;
    return &laid->told;
}
