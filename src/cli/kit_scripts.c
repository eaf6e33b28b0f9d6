/* Where the scripts of the kit's own pages are (`make web`): beside the program that was built, or
 * where `make install` puts them. */
#include "cli.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PATH_ROOM  4096
#define SCRIPT_MAX (16u << 20) /* bytes; far more than one has */

/* The folder of the program that runs; false where the system does not say. */
static bool own_folder(char path[PATH_ROOM])
{
    ssize_t length = readlink("/proc/self/exe", path, PATH_ROOM - 1);
    if (length <= 0 || length >= PATH_ROOM - 1)
        return false;
    path[length] = '\0';
    char *slash = strrchr(path, '/');
    if (slash == NULL)
        return false;
    *slash = '\0';
    return true;
}

static bool read_script(const char *name, const char *without, cli_bytes *out, pv_diags *diags)
{
    static const char *const places[] = {"web", "../share/pavior/web"};
    char folder[PATH_ROOM], path[PATH_ROOM + 64];
    *out = (cli_bytes){NULL, 0};
    for (size_t i = 0; own_folder(folder) && i < sizeof places / sizeof *places; i++) {
        snprintf(path, sizeof path, "%s/%s/%s", folder, places[i], name);
        if (access(path, F_OK) == 0)
            return cli_read(path, SCRIPT_MAX, out, diags);
    }
    pv_diags_say(diags, PV_WARNING, PV_CAUSE_NONE,
                 "run \"make web\" and \"make install\", then this command again with --replace",
                 "%s", without);
    return true;
}

bool cli_kit_scripts(cli_bytes *checker, cli_bytes *maker, pv_diags *diags)
{
    *maker = (cli_bytes){NULL, 0};
    return read_script("check-module.js", "the kit has no page that checks sheets in a browser",
                       checker, diags) &&
           read_script("course-module.js", "the kit has no page that draws courses in a browser",
                       maker, diags);
}
