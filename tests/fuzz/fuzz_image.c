/* Any bytes as an image file of any kind: its first pages are decoded within a small limit,
 * reduced, and searched for tags. */
#include "image/plane.h"
#include "tag/tag.h"

#include <stdlib.h>

#ifdef __SANITIZE_ADDRESS__ /* gcc */
#define SANITIZED
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) /* clang */
#define SANITIZED
#endif
#endif

#define PAGES_TRIED 3

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* libheif 1.15 loses 52 bytes where a file names colours that it doesn't know
 * (color_profile_nclx::get_nclx_color_profile); the caller never sees them. Its frames have no
 * names by which a suppression could tell them from what we forget to release: so it goes by their
 * size. */
#define LOST 52
#ifdef SANITIZED
#include <sanitizer/lsan_interface.h>

/* Of sanitizer/allocator_interface.h, which gcc doesn't have. */
int __sanitizer_install_malloc_and_free_hooks(void (*)(const volatile void *, size_t),
                                              void (*)(const volatile void *));

static void forgive(const volatile void *bytes, size_t size)
{
    if (size == LOST)
        __lsan_ignore_object((const void *)bytes);
}

static void keep(const volatile void *bytes)
{
    (void)bytes;
}

/* Nor does it release what it had dav1d allocate for a picture of no bytes, which pavior never asks
 * for itself. The call stands in the fourth frame, which needs whole stack traces. */
#define NAMED __attribute__((visibility("default"))) const char *
NAMED __lsan_default_suppressions(void);
NAMED __asan_default_options(void);

const char *__lsan_default_suppressions(void)
{
    return "leak:dav1d_data_create";
}

const char *__asan_default_options(void)
{
    return "fast_unwind_on_malloc=0:malloc_context_size=8";
}

__attribute__((constructor)) static void forgive_all(void)
{
    __sanitizer_install_malloc_and_free_hooks(forgive, keep);
}
#endif

static void try_page(const uint8_t *data, size_t size, size_t page, pv_diags *diags)
{
    pv_plane *plane = pv_plane_decode(data, size, page, 1u << 16, diags);
    if ((plane == NULL) != (pv_diags_count(diags, PV_ERROR) > 0))
        abort(); /* refused without a word, or taken with an error */
    if (plane != NULL) {
        size_t width = 0, height = 0, n = 0;
        pv_tag_seen *seen = NULL;
        uint8_t *gray = pv_plane_reduced(plane, 2, &width, &height);
        /* Tags take long to look for: in small images only. */
        if (gray != NULL && width < 100 && height < 100)
            pv_tags_find(gray, width, height, &seen, &n, diags);
        free(seen);
        free(gray);
    }
    pv_plane_free(plane);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t pages = pv_image_pages(data, size);
    for (size_t page = 0; page < pages && page < PAGES_TRIED; page++) {
        pv_diags *diags = pv_diags_new();
        if (diags != NULL)
            try_page(data, size, page, diags);
        pv_diags_free(diags);
    }
    return 0;
}
