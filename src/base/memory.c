#include "base/memory.h"

#include "base/diag.h"

#include <stdlib.h>
#include <string.h>

bool pv_reserve(void **items, size_t *capacity, size_t need, size_t size)
{
    if (need <= *capacity)
        return true;
    size_t most = SIZE_MAX / 2 / size;
    if (need > most)
        return false;
    size_t wanted = *capacity < 8 ? 8 : *capacity;
    while (wanted < need)
        wanted = wanted > most / 2 ? most : wanted * 2;
    void *grown = realloc(*items, wanted * size);
    if (grown == NULL)
        return false;
    *items = grown;
    *capacity = wanted;
    return true;
}

void *pv_new_array(size_t n, size_t size)
{
    if (size != 0 && n > SIZE_MAX / 2 / size)
        return NULL;
    return calloc(n == 0 ? 1 : n, size == 0 ? 1 : size);
}

char *pv_copy_chars(const char *chars, size_t length)
{
    char *copy = malloc(length + 1);
    if (copy == NULL)
        return NULL;
    if (length > 0)
        memcpy(copy, chars, length);
    copy[length] = '\0';
    return copy;
}

char *pv_copy_text(const char *text)
{
    return text == NULL ? pv_copy_chars("", 0) : pv_copy_chars(text, strlen(text));
}

void *pv_copy_bytes(const void *bytes, size_t n, size_t size)
{
    void *copy = pv_new_array(n, size);
    if (copy != NULL && n > 0)
        memcpy(copy, bytes, n * size);
    return copy;
}

void pv_free(void *memory)
{
    free(memory);
}

void pv_take_options(void *full, size_t size, const void *given)
{
    size_t theirs;
    if (given == NULL)
        return;
    memcpy(&theirs, given, sizeof theirs);
    memcpy(full, given, theirs < size ? theirs : size);
    memcpy(full, &size, sizeof size);
}

void pv_give_options(void *to, size_t size, const void *full, size_t full_size)
{
    memset(to, 0, size);
    memcpy(to, full, size < full_size ? size : full_size);
    memcpy(to, &size, sizeof size);
}
