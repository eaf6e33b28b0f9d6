/* pavior: finds the command. */
#include "cli.h"

#include <signal.h>
#include <string.h>

extern const char pv_embedded_pavior_txt[], pv_embedded_review_txt[], pv_embedded_sheets_txt[],
    pv_embedded_inspect_txt[], pv_embedded_calibrate_txt[], pv_embedded_kit_txt[],
    pv_embedded_collect_txt[];

static const struct {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *help;
} commands[] = {{"review", cli_review, pv_embedded_review_txt},
                {"sheets", cli_sheets, pv_embedded_sheets_txt},
                {"kit", cli_kit, pv_embedded_kit_txt},
                {"inspect", cli_inspect, pv_embedded_inspect_txt},
                {"calibrate", cli_calibrate, pv_embedded_calibrate_txt},
                {"collect", cli_collect, pv_embedded_collect_txt}};

static bool asks_for_help(int argc, char **argv)
{
    for (int i = 2; i < argc && strcmp(argv[i], "--") != 0; i++)
        if (strcmp(argv[i], "--help") == 0)
            return true;
    return false;
}

/* The handler is gone by now, and the signal waits until it returns. */
static void on_signal(int number)
{
    cli_remove_staged();
    cli_remove_folder();
    raise(number);
}

/* A signal that whoever started us has ignored stays ignored. */
static void clean_up_on_signals(void)
{
    signal(SIGXFSZ, SIG_IGN); /* past the largest file that is allowed, writing fails */
    static const int ending[] = {SIGHUP, SIGINT, SIGTERM, SIGPIPE};
    for (size_t i = 0; i < sizeof ending / sizeof *ending; i++) {
        struct sigaction now, then = {.sa_flags = (int)SA_RESETHAND};
        then.sa_handler = on_signal;
        sigemptyset(&then.sa_mask);
        if (sigaction(ending[i], NULL, &now) == 0 && now.sa_handler == SIG_DFL)
            sigaction(ending[i], &then, NULL);
    }
}

static int run(int argc, char **argv)
{
    if (argc < 2) {
        fputs(pv_embedded_pavior_txt, stderr);
        return CLI_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        fputs(pv_embedded_pavior_txt, stdout);
        return CLI_OK;
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("pavior %s\n", pv_version());
        return CLI_OK;
    }
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        if (strcmp(argv[1], commands[i].name) != 0)
            continue;
        if (!asks_for_help(argc, argv))
            return commands[i].run(argc - 1, argv + 1);
        fputs(commands[i].help, stdout);
        return CLI_OK;
    }
    fputs("pavior: no command \"", stderr);
    cli_show(stderr, argv[1]);
    fputs("\"\nTry 'pavior --help'.\n", stderr);
    return CLI_USAGE;
}

int main(int argc, char **argv)
{
    clean_up_on_signals();
    int status = run(argc, argv);
    /* Output that can't be written must not look like success. */
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    fputs("pavior: cannot write standard output\n", stderr);
    return CLI_IO;
}
