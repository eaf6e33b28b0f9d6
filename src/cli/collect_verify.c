/* pavior collect --verify: is a certificate's code that of one of these pictures? */
#include "collect.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

typedef struct verifying {
    cli_collect_work work; /* its plans */
    const cli_collect_request *r;
    size_t pictures; /* that could be read */
    int unread;      /* status of the last that could not, or CLI_OK */
    /* The best so far. */
    pv_code_match match;
    pv_inspection *found;
    cli_list right; /* the names of all that have the code */
} verifying;

/* Takes hold of one that the code is of, if it is better than what was found before. */
static bool take(verifying *v, pv_inspection *one, pv_diags *diags)
{
    pv_code_match match = pv_code_compare(&v->r->code, one);
    const char *name = pv_inspection_sheet(one)->label;
    bool good = match != PV_CODE_RIGHT || cli_list_add(&v->right, strdup(name), NULL, diags);
    pv_inspection *worse = one;
    if (v->found == NULL || match > v->match) {
        worse = v->found;
        v->found = one;
        v->match = match;
    }
    pv_inspection_free(worse);
    return good;
}

/* What does not match is not measured. */
static bool look_at(verifying *v, const char *name, const cli_bytes *bytes, pv_diags *diags)
{
    pv_inspect_options how = v->r->how.options;
    v->pictures += pv_image_pages(bytes->data, bytes->size);
    for (;; how.page++) {
        how.page = pv_code_page(&v->r->code, bytes->data, bytes->size, how.page);
        if (how.page == SIZE_MAX)
            break;
        pv_inspection *one = pv_inspect((const pv_plan *const *)v->work.plans, v->work.n_plans,
                                        bytes->data, bytes->size, name, &how, diags);
        if (one == NULL)
            return false;
        if (!take(v, one, diags))
            return false;
    }
    return true;
}

static void say_unread(verifying *v, const char *name, const char *why, int status)
{
    v->unread = status;
    cli_show(stderr, name);
    fputs(": ", stderr);
    cli_show(stderr, why);
    fputc('\n', stderr);
}

/* A picture that can't be read is said, and passed over. */
static bool look_into(verifying *v, const char *name, bool strangers, pv_diags *diags)
{
    pv_diags *why = pv_diags_new();
    cli_bytes bytes;
    if (why == NULL)
        return cli_no_memory(diags);
    bool read = strangers ? cli_read_strangers(name, PV_IMAGE_BYTES_MAX, &bytes, why)
                          : cli_read(name, PV_IMAGE_BYTES_MAX, &bytes, why);
    bool good = read || pv_diags_cause(why) != PV_CAUSE_MEMORY;
    if (read) {
        good = look_at(v, cli_input_name(name), &bytes, diags);
        free(bytes.data);
    } else if (good) {
        say_unread(v, cli_input_name(name),
                   pv_diags_size(why) > 0 ? pv_diags_at(why, 0)->message : "cannot be read",
                   cli_status(why));
    } else {
        cli_no_memory(diags);
    }
    pv_diags_free(why);
    return good;
}

/* A picture, or all of a folder. */
static bool look_under(verifying *v, const char *name, pv_diags *diags)
{
    struct stat info;
    if (stat(name, &info) != 0 || !S_ISDIR(info.st_mode))
        return look_into(v, name, false, diags);
    cli_list files = {.items = NULL};
    size_t before = v->pictures;
    int unread = v->unread;
    v->unread = CLI_OK;
    bool good = cli_walk(name, &files, diags);
    for (size_t i = 0; good && i < files.n; i++) {
        const char *problem = files.items[i].problem;
        char *path = cli_join(name, files.items[i].name);
        if (path == NULL)
            good = cli_no_memory(diags);
        else if (problem == NULL)
            good = look_into(v, path, true, diags);
        else if (problem != cli_no_file)
            say_unread(v, path, problem, CLI_NO_INPUT);
        free(path);
    }
    if (good && v->pictures == before && v->unread == CLI_OK)
        say_unread(v, name, "there is no picture in this folder", CLI_NO_INPUT);
    if (v->unread == CLI_OK)
        v->unread = unread;
    cli_list_free(&files);
    return good;
}

/* ---- the answer ---- */

/* All that have the code: several teams may have sent one file. */
static void say_right(const verifying *v)
{
    if (v->right.n > 1)
        printf("Right: %zu pictures have this code:\n", v->right.n);
    else
        printf("Right: ");
    for (size_t i = 0; i < v->right.n; i++) {
        cli_show(stdout, v->right.items[i].name);
        printf(v->right.n > 1 ? "\n" : " has this code. ");
    }
    printf("The certificate must say the same:\n");
}

/* Why a code is wrong, with what to do. */
static void say_wrong(const verifying *v)
{
    const pv_inspected *sheet = v->found != NULL ? pv_inspection_sheet(v->found) : NULL;
    switch (v->match) {
    case PV_CODE_OTHER_PLAN:
        printf(sheet->error != NULL
                   ? " is the picture, but cannot be judged with this kit: "
                   : " is the picture, but shows a sheet of another kit or edition than the "
                     "certificate's: ");
        cli_show(stdout, sheet->error != NULL ? sheet->error : sheet->kit);
        printf("\n");
        break;
    case PV_CODE_OTHER_OPTIONS:
        printf(" is the picture and the kit is right, but the certificate was made with other "
               "options.\nGive those that stand on it: --scanner, --scanner-uncertainty, --dpi, "
               "--measured.\n");
        break;
    case PV_CODE_OTHER_ANSWER:
        printf(" is the picture; kit and options are right, but the answer is another.\nEither the "
               "certificate was made by another version than pavior %s, or with other tolerances "
               "than the kit's.\nThe answer is:\n",
               pv_version());
        break;
    default:
        break;
    }
}

static bool say(const verifying *v, pv_diags *diags)
{
    if (v->found == NULL) {
        printf("Wrong: the code is of none of %zu pictures. A picture that was edited or saved "
               "again is another one.\n",
               v->pictures);
        return true;
    }
    if (v->match == PV_CODE_RIGHT) {
        say_right(v);
    } else {
        printf("Wrong: ");
        cli_show(stdout, pv_inspection_sheet(v->found)->label);
        say_wrong(v);
    }
    if (v->match < PV_CODE_OTHER_ANSWER)
        return true;
    char *words = pv_inspection_statement(v->found);
    if (words == NULL)
        return cli_no_memory(diags);
    fputs(words, stdout);
    pv_free(words);
    return true;
}

int cli_collect_verify(cli_collect_request *r, pv_diags *diags)
{
    verifying v = {.work = {.r = r}, .r = r};
    bool good = cli_collect_kit(&v.work, r->operands[0], diags) && cli_how_open(&r->how, diags);
    for (size_t i = 1; good && i < r->n; i++)
        good = look_under(&v, r->operands[i], diags);
    bool lost = good && v.found == NULL && v.unread != CLI_OK;
    if (good && !lost && !r->quiet)
        good = say(&v, diags);
    int status = !good                      ? cli_status(diags)
                 : lost                     ? v.unread
                 : v.match == PV_CODE_RIGHT ? CLI_OK
                                            : CLI_DOES_NOT_CONFORM;
    pv_inspection_free(v.found);
    cli_list_free(&v.right);
    cli_how_close(&r->how);
    for (size_t i = 0; i < v.work.n_plans; i++)
        pv_plan_free(v.work.plans[i]);
    return status;
}
