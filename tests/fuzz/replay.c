/* Runs a fuzz target over files, without a fuzzer: every input that ever went wrong, and every good
 * one, again and again. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int replay(const char *name)
{
    FILE *file = fopen(name, "rb");
    uint8_t *data = NULL;
    long size = -1;
    if (file != NULL && fseek(file, 0, SEEK_END) == 0)
        size = ftell(file);
    if (size >= 0)
        data = malloc((size_t)size + 1);
    if (data == NULL || fseek(file, 0, SEEK_SET) != 0 ||
        fread(data, 1, (size_t)size, file) != (size_t)size) {
        fprintf(stderr, "cannot read %s\n", name);
        size = -1;
    }
    if (file != NULL)
        fclose(file);
    if (size >= 0)
        LLVMFuzzerTestOneInput(data, (size_t)size);
    free(data);
    return size >= 0 ? 0 : 1;
}

int main(int argc, char **argv)
{
    int failed = 0;
    for (int i = 1; i < argc; i++)
        failed |= replay(argv[i]);
    printf("replayed %d inputs\n", argc - 1);
    return failed;
}
