/* pavior: only finds the command. */
#include "cli/cli.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>

static const cli_command *const commands[] = {&cli_review, &cli_sheets, &cli_inspect,
                                              &cli_calibrate, NULL};

static void print_help(FILE *to)
{
    fputs("Prints a robot floor course true to scale over any paper, and proves the print.\n\n"
          "Usage: pavior COMMAND [OPTION...] ARGUMENT...\n\nCommands:\n",
          to);
    for (size_t i = 0; commands[i] != NULL; i++)
        fprintf(to, "  %-10s %s\n", commands[i]->name, commands[i]->summary);
    fputs("\n'pavior COMMAND --help' tells more of each.\n\n"
          "Exit status: 0 done, and conforms; 1 does not conform, or the course is not\n"
          "sound; 2 undecided; 64 wrong usage; 65 bad input data; 66 input cannot be read;\n"
          "70 a library refused; 71 out of memory; 73 output cannot be created; 74 output\n"
          "failed.\n",
          to);
}

static bool asks(int argc, char **argv, const char *option)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
        if (strcmp(argv[i], option) == 0)
            return true;
    return false;
}

/* Output that can't be written must not look like success. */
static int flushed(int status)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    fputs("pavior: cannot write standard output\n", stderr);
    return CLI_IO;
}

/* The handler is gone by now, and the signal waits until it returns. */
static void on_signal(int number)
{
    pv_file_remove_staged();
    raise(number);
}

/* Whoever started us may have said that a signal is to be ignored. */
static void clean_up_on_signals(void)
{
    static const int ending[] = {SIGHUP, SIGINT, SIGTERM, SIGPIPE};
    for (size_t i = 0; i < sizeof ending / sizeof *ending; i++) {
        struct sigaction now, then = {.sa_flags = (int)SA_RESETHAND};
        then.sa_handler = on_signal;
        sigemptyset(&then.sa_mask);
        if (sigaction(ending[i], NULL, &now) == 0 && now.sa_handler == SIG_DFL)
            sigaction(ending[i], &then, NULL);
    }
}

int main(int argc, char **argv)
{
    clean_up_on_signals();
    if (argc < 2) {
        print_help(stderr);
        return CLI_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_help(stdout);
        return flushed(CLI_OK);
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("pavior %s\n", pv_version());
        return flushed(CLI_OK);
    }
    for (size_t i = 0; commands[i] != NULL; i++) {
        if (strcmp(argv[1], commands[i]->name) != 0)
            continue;
        if (asks(argc - 1, argv + 1, "--help")) {
            fputs(commands[i]->help, stdout);
            return flushed(CLI_OK);
        }
        return flushed(commands[i]->run(argc - 1, argv + 1));
    }
    fputs("pavior: no command \"", stderr);
    cli_show(stderr, argv[1]);
    fputs("\"\nTry 'pavior --help'.\n", stderr);
    return CLI_USAGE;
}
