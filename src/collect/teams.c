/* Whose rows are whose; which of its sheets each team has proven. */
#include "base/memory.h"
#include "base/words.h"
#include "collect/latin.h"
#include "collect/tally.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define PAGE_NAME_MAX 80 /* bytes of a team's name in its page's, before it is cut: ours */

/* ---- a page's name ---- */

static bool is_plain(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

/* Of letters, digits, "-" and inner "." of ASCII, so that it is fit for any file system, and in a
 * link: what has Latin letters is in these, a blank is "-", and of all else each byte is "_" and
 * two digits. */
static bool add_safe(pv_text *to, const char *name)
{
    for (size_t left = strlen(name), n; left > 0; name += n, left -= n) {
        uint32_t code;
        size_t length = pv_utf8_decode(name, left, &code);
        n = length > 0 ? length : 1;
        bool inner = to->length > 0;
        if (n == 1 && (is_plain(*name) || (inner && (*name == '-' || *name == '.'))))
            pv_text_bytes(to, name, 1);
        else if (n == 1 && inner && (*name == ' ' || *name == '_'))
            pv_text_add(to, "-");
        else if (n == 1 || !pv_latin_add(to, code))
            for (size_t i = 0; i < n; i++)
                pv_text_add(to, "_%02x", (unsigned char)name[i]);
        if (to->length > PAGE_NAME_MAX)
            return false;
    }
    return true;
}

/* What Windows takes for a device, whatever stands behind the first dot. */
static bool is_device(const char *name)
{
    static const char *const devices[] = {"con", "prn", "aux", "nul", "com", "lpt"};
    size_t n = strcspn(name, "."), i = 0;
    while (i < sizeof devices / sizeof *devices && strncasecmp(name, devices[i], 3) != 0)
        i++;
    return i < 4 ? n == 3 : i < 6 && n == 4 && name[3] >= '0' && name[3] <= '9';
}

/* The name of a team's page, not yet one of its own. False where it was cut. */
static bool add_title(pv_text *to, const char *name)
{
    pv_text safe = PV_TEXT_INIT;
    bool whole = add_safe(&safe, name);
    if (safe.length == 0 || is_device(safe.chars))
        pv_text_add(to, "_");
    pv_text_bytes(to, safe.chars, safe.length);
    to->failed = to->failed || safe.failed;
    pv_text_drop(&safe);
    return whole;
}

typedef struct titled {
    char *name;  /* fit for all systems; not yet one of its own */
    bool whole;  /* not cut */
    size_t team; /* its index */
} titled;

/* Some file systems take names that differ in capitals alone for the same. */
static int by_title(const void *a, const void *b)
{
    const titled *p = a, *q = b;
    int order = strcasecmp(p->name, q->name);
    return order != 0 ? order : (p->team > q->team) - (p->team < q->team);
}

/* Of names that are alike all but the first get a number; of names that were cut all. None of ours
 * has "_-" in it, so that no two become alike by that. */
static bool name_pages(pv_tally *t)
{
    titled *list = PV_NEW_ARRAY(t->n_teams, titled);
    bool good = list != NULL;
    for (size_t i = 0; good && i < t->n_teams; i++) {
        pv_text text = PV_TEXT_INIT;
        bool whole = add_title(&text, t->teams[i].info.name);
        list[i] = (titled){pv_text_take(&text), whole, i};
        good = list[i].name != NULL;
    }
    if (good)
        qsort(list, t->n_teams, sizeof *list, by_title);
    for (size_t i = 0, same = 0; good && i < t->n_teams; i++) {
        pv_text text = PV_TEXT_INIT;
        same = i > 0 && strcasecmp(list[i].name, list[i - 1].name) == 0 ? same + 1 : 1;
        pv_text_add(&text, "%s", list[i].name);
        if (same > 1 || !list[i].whole)
            pv_text_add(&text, "_-%zu", same);
        pv_text_add(&text, ".html");
        t->teams[list[i].team].info.page = pv_text_take(&text);
        good = t->teams[list[i].team].info.page != NULL;
    }
    for (size_t i = 0; list != NULL && i < t->n_teams; i++)
        free(list[i].name);
    free(list);
    return good;
}

/* ---- sheets ---- */

/* What a picture says of its sheet by itself. One that is too coarse for any of its lines proves
 * nothing of them, and disputes nothing. */
static pv_tally_state state_of(const pv_tally_row *row)
{
    return row->verdict == PV_DOES_NOT_CONFORM ? PV_TALLY_FAILED
           : row->verdict == PV_UNDECIDED      ? PV_TALLY_UNDECIDED
           : row->asks_finer                   ? PV_TALLY_UNMEASURED
                                               : PV_TALLY_PROVEN;
}

static pv_tally_state with(pv_tally_state before, pv_tally_state now)
{
    if (now <= PV_TALLY_UNMEASURED)
        return before < now ? now : before;
    pv_tally_state other = now == PV_TALLY_PROVEN ? PV_TALLY_FAILED : PV_TALLY_PROVEN;
    return before == other || before == PV_TALLY_CONFLICT ? PV_TALLY_CONFLICT : now;
}

/* A picture more of a sheet: of those that say the same the first by name decides. */
static void count_picture(const pv_tally *t, pv_tally_sheet *sheet, size_t row)
{
    pv_tally_state by_itself = state_of(&t->rows[row]), now = with(sheet->state, by_itself);
    if (now == PV_TALLY_CONFLICT && sheet->state != PV_TALLY_CONFLICT)
        sheet->other = row;
    else if (now != sheet->state)
        sheet->row = row;
    if (by_itself <= PV_TALLY_UNMEASURED && sheet->unsure == SIZE_MAX)
        sheet->unsure = row;
    sheet->own = sheet->own || (by_itself == PV_TALLY_PROVEN && t->rows[row].twin == NULL);
    sheet->state = now;
}

/* A picture of what the sheet was in the former edition. */
static void count_former(pv_tally_sheet *sheet, size_t row)
{
    if (sheet->state != PV_TALLY_MISSING)
        return;
    sheet->state = PV_TALLY_CHANGED;
    sheet->row = row;
}

/* All sheets of a plan, as the team's pictures show them. */
static bool add_mat(pv_tally *t, const pv_tally_team *team, size_t plan)
{
    if (!PV_GROW(t->mats, t->n_mats, t->cap_mats))
        return false;
    pv_tally_mat *mat = &t->mats[t->n_mats++];
    *mat = (pv_tally_mat){.plan = plan, .first = t->n_sheets, .n = t->plans[plan].n_sheets};
    for (size_t i = 0; i < mat->n; i++) {
        if (!PV_GROW(t->sheets, t->n_sheets, t->cap_sheets))
            return false;
        t->sheets[t->n_sheets++] =
            (pv_tally_sheet){i, PV_TALLY_MISSING, SIZE_MAX, SIZE_MAX, SIZE_MAX, false, false};
    }
    for (size_t i = team->first; i < team->first + team->n; i++)
        if (t->rows[i].plan == plan)
            count_picture(t, &t->sheets[mat->first + t->rows[i].number], i);
        else if (t->rows[i].now_plan == plan)
            count_former(&t->sheets[mat->first + t->rows[i].now_number], i);
    for (size_t i = 0; i < mat->n; i++)
        mat->state[t->sheets[mat->first + i].state]++;
    return true;
}

/* Proven sheets need no other answer. */
static void count_asking(pv_tally *t, pv_tally_team *team, const pv_tally_mat *mat)
{
    for (size_t i = team->first; i < team->first + team->n; i++)
        team->asking += t->rows[i].asks_scanner && t->rows[i].plan == mat->plan &&
                        t->sheets[mat->first + t->rows[i].number].state != PV_TALLY_PROVEN;
}

static size_t missing_of(const pv_tally_mat *mat)
{
    return mat->state[PV_TALLY_MISSING] + mat->state[PV_TALLY_CHANGED];
}

static int most_proven_first(const void *a, const void *b)
{
    const pv_tally_mat *p = a, *q = b;
    double left = (double)p->state[PV_TALLY_PROVEN] * (double)q->n;
    double right = (double)q->state[PV_TALLY_PROVEN] * (double)p->n;
    int order = (right > left) - (right < left);
    size_t missing[] = {missing_of(p), missing_of(q)};
    if (order == 0)
        order = (missing[0] > missing[1]) - (missing[0] < missing[1]);
    return order != 0 ? order : (p->plan > q->plan) - (p->plan < q->plan);
}

/* Each plan that one of the team's pictures shows, but for proof pages. */
static bool sort_mats(pv_tally *t, pv_tally_team *team)
{
    team->first_mat = t->n_mats;
    for (size_t p = 0; p < t->n_plans; p++) {
        bool used = false;
        for (size_t i = 0; i < team->n; i++)
            used = used || t->rows[team->first + i].plan == p ||
                   t->rows[team->first + i].now_plan == p;
        if (!used || t->plans[p].proof)
            continue;
        if (!add_mat(t, team, p))
            return false;
        count_asking(t, team, &t->mats[t->n_mats - 1]);
    }
    team->n_mats = t->n_mats - team->first_mat;
    if (team->n_mats == 0)
        return true;
    pv_tally_mat *best = &t->mats[team->first_mat];
    qsort(best, team->n_mats, sizeof *best, most_proven_first);
    team->info.sheets = best->n;
    team->info.proven = best->state[PV_TALLY_PROVEN];
    team->info.failed = best->state[PV_TALLY_FAILED];
    team->info.disputed = best->state[PV_TALLY_CONFLICT];
    team->info.undecided = best->state[PV_TALLY_UNDECIDED] + best->state[PV_TALLY_UNMEASURED];
    team->info.missing = missing_of(best);
    for (size_t i = best->first; i < best->first + best->n; i++) {
        t->sheets[i].questioned = t->sheets[i].state == PV_TALLY_PROVEN && !t->sheets[i].own;
        team->info.questioned += t->sheets[i].questioned;
    }
    return true;
}

bool pv_tally_proven(const pv_tally *t, const pv_tally_team *team, const pv_tally_row *row)
{
    for (size_t i = team->first_mat; i < team->first_mat + team->n_mats; i++)
        if (t->mats[i].plan == row->plan)
            return t->sheets[t->mats[i].first + row->number].state == PV_TALLY_PROVEN;
    return false;
}

/* ---- teams ---- */

static bool add_team(pv_tally *t, size_t first)
{
    const char *name = t->rows[first].team;
    if (!PV_GROW(t->teams, t->n_teams, t->cap_teams))
        return false;
    pv_tally_team *team = &t->teams[t->n_teams];
    *team = (pv_tally_team){.first = first};
    team->info.name = name;
    t->n_teams++;
    while (first + team->n < t->n_rows && strcmp(t->rows[first + team->n].team, name) == 0) {
        const pv_tally_row *row = &t->rows[first + team->n];
        team->info.pictures += row->picture;
        team->info.unusable += row->picture && row->error != NULL;
        team->info.others += !row->picture && *row->file != '\0';
        team->n++;
    }
    return sort_mats(t, team);
}

typedef struct same {
    const char *sha256;
    size_t page, row;
} same;

static int by_bytes(const void *a, const void *b)
{
    const same *p = a, *q = b;
    int order = strcmp(p->sha256, q->sha256);
    order = order != 0 ? order : (p->page > q->page) - (p->page < q->page);
    return order != 0 ? order : (p->row > q->row) - (p->row < q->row);
}

/* Of those with the same bytes, from one on, to each of a sheet one of another team; past the last.
 */
static size_t find_twins(pv_tally *t, const same *list, size_t from, size_t n)
{
    size_t end = from + 1;
    while (end < n && t->rows[list[end].row].same_as == t->rows[list[from].row].same_as)
        end++;
    /* They are by row, so by team: whoever is not of the first one's has the first, and the first
     * one's have the last. What lies in no team's folder, which comes first of all, is nobody's. */
    while (from + 1 < end && *t->rows[list[from].row].team == '\0')
        from++;
    const pv_tally_row *first = &t->rows[list[from].row], *last = &t->rows[list[end - 1].row];
    bool shared =
        strcmp(first->team, last->team) != 0 && *first->team != '\0' && first->error == NULL;
    for (size_t i = from; shared && i < end; i++) {
        pv_tally_row *row = &t->rows[list[i].row];
        row->twin = strcmp(row->team, first->team) == 0 ? last : first;
    }
    return end;
}

/* Which pictures are the same, to the byte, as one before, and as another team's. */
static bool find_same(pv_tally *t)
{
    same *list = PV_NEW_ARRAY(t->n_rows, same);
    if (list == NULL)
        return false;
    size_t n = 0;
    for (size_t i = 0; i < t->n_rows; i++)
        if (t->rows[i].sha256 != NULL)
            list[n++] = (same){t->rows[i].sha256, t->rows[i].page, i};
    qsort(list, n, sizeof *list, by_bytes);
    for (size_t i = 1; i < n; i++)
        if (strcmp(list[i].sha256, list[i - 1].sha256) == 0 && list[i].page == list[i - 1].page)
            t->rows[list[i].row].same_as = t->rows[list[i - 1].row].same_as;
    for (size_t i = 0, end; i < n; i = end)
        end = find_twins(t, list, i, n);
    free(list);
    return true;
}

bool pv_tally_sort_teams(pv_tally *t)
{
    bool good = find_same(t);
    for (size_t i = 0; good && i < t->n_rows;) {
        good = add_team(t, i);
        if (good)
            i += t->teams[t->n_teams - 1].n;
    }
    return good && name_pages(t);
}
