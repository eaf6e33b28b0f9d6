#!/usr/bin/env python3
"""Builds the libraries that pavior stands on for the browser, from Debian's own sources of them (sources.py): each
becomes BUILD/lib/libNAME.a with its headers in BUILD/lib/include. They take minutes, so that they are kept outside the
build, too, under the sum of what they are made by: recipe, sources, compiler. sources.txt pins the sources and Debian's
patches, among them those for security.
Usage: libraries.py BUILD [NAME...]"""
import concurrent.futures
import fnmatch
import glob
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import textwrap

from sources import fetch, kept, pinned

FLAGS = ["-ffp-contract=off", "-w"]
# What takes a picture's time is made for speed, all else small.
FAST, SMALL = "-O3", "-Os"


def numbers(package):
    """Of the version that sources.txt pins, for what states them."""
    return tuple(int(number) for number in pinned()[package][0][0].split("."))


JANSSON = {
    "jansson_private_config.h": """
        #define HAVE_STDINT_H 1
        #define HAVE_INTTYPES_H 1
        #define HAVE_SYS_TYPES_H 1
        #define HAVE_STRTOLL 1
        #define HAVE_LOCALE_H 1
        #define HAVE_LOCALECONV 1
        #define HAVE_UNISTD_H 1
        #define HAVE_FCNTL_H 1
        #define HAVE_OPEN 1
        #define HAVE_CLOSE 1
        #define HAVE_READ 1
        #define HAVE_GETPID 1
        #define HAVE_SYS_TIME_H 1
        #define HAVE_GETTIMEOFDAY 1
        #define INITIAL_HASHTABLE_ORDER 3
        """,
    "jansson_config.h": """
        #ifndef JANSSON_CONFIG_H
        #define JANSSON_CONFIG_H
        #define JSON_INLINE inline
        #define JSON_INTEGER_IS_LONG_LONG 1
        #define JSON_HAVE_LOCALECONV 1
        #define JSON_HAVE_ATOMIC_BUILTINS 1
        #define JSON_HAVE_SYNC_BUILTINS 1
        #define JSON_PARSER_MAX_DEPTH 2048
        #endif
        """,
}
JPEG = {
    "jconfig.h": """
        #define JPEG_LIB_VERSION 62
        #define LIBJPEG_TURBO_VERSION {version}
        #define LIBJPEG_TURBO_VERSION_NUMBER %d%03d%03d
        #define D_ARITH_CODING_SUPPORTED 1
        #define MEM_SRCDST_SUPPORTED 1
        #define BITS_IN_JSAMPLE 8
        """ % numbers("libjpeg-turbo"),
    "jconfigint.h": """
        #define BUILD ""
        #define INLINE inline __attribute__((always_inline))
        #define THREAD_LOCAL __thread
        #define PACKAGE_NAME "libjpeg-turbo"
        #define VERSION "{version}"
        #define SIZEOF_SIZE_T 4
        #define HAVE_BUILTIN_CTZL
        #define FALLTHROUGH __attribute__((fallthrough));
        """,
    "jversion.h": """
        #define JVERSION "6b  27-Mar-1998"
        #define JCOPYRIGHT_SHORT "the libjpeg-turbo project and many others"
        #define JCOPYRIGHT JCOPYRIGHT_SHORT
        """,
}
TIFF = {
    "tiffconf.h": """
        #ifndef _TIFFCONF_
        #define _TIFFCONF_
        #include <stddef.h>
        #include <stdint.h>
        #include <inttypes.h>
        #define TIFF_INT8_T int8_t
        #define TIFF_INT16_T int16_t
        #define TIFF_INT32_T int32_t
        #define TIFF_INT64_T int64_t
        #define TIFF_UINT8_T uint8_t
        #define TIFF_UINT16_T uint16_t
        #define TIFF_UINT32_T uint32_t
        #define TIFF_UINT64_T uint64_t
        #define TIFF_SSIZE_T int32_t
        #define HAVE_IEEEFP 1
        #define HOST_FILLORDER FILLORDER_LSB2MSB
        #define HOST_BIGENDIAN 0
        #define CCITT_SUPPORT 1
        #define JPEG_SUPPORT 1
        #define LOGLUV_SUPPORT 1
        #define LZW_SUPPORT 1
        #define NEXT_SUPPORT 1
        #define PACKBITS_SUPPORT 1
        #define THUNDER_SUPPORT 1
        #define ZIP_SUPPORT 1
        #define STRIPCHOP_DEFAULT TIFF_STRIPCHOP
        #define SUBIFD_SUPPORT 1
        #define DEFAULT_EXTRASAMPLE_AS_ALPHA 1
        #define CHECK_JPEG_YCBCR_SUBSAMPLING 1
        #define COLORIMETRY_SUPPORT
        #define YCBCR_SUPPORT
        #define CMYK_SUPPORT
        #define ICC_SUPPORT
        #define PHOTOSHOP_SUPPORT
        #define IPTC_SUPPORT
        #endif
        """,
    "tif_config.h": """
        #include "tiffconf.h"
        #define HAVE_ASSERT_H 1
        #define HAVE_FCNTL_H 1
        #define HAVE_STRINGS_H 1
        #define HAVE_SYS_TYPES_H 1
        #define HAVE_UNISTD_H 1
        #define SIZEOF_SIZE_T 4
        #define STRIP_SIZE_DEFAULT 8192
        #define TIFF_MAX_DIR_COUNT 1048576
        #define TIFF_SIZE_FORMAT "zu"
        #define TIFF_SSIZE_FORMAT PRId32
        """,
}
QPDF = {
    "qpdf/qpdf-config.h": """
        #define DEFAULT_CRYPTO "native"
        #define USE_CRYPTO_NATIVE 1
        #define HAVE_INTTYPES_H 1
        #define HAVE_STDINT_H 1
        #define HAVE_FSEEKO 1
        #define HAVE_LOCALTIME_R 1
        #define HAVE_RANDOM 1
        #define HAVE_TM_GMTOFF 1
        #define RANDOM_DEVICE "/dev/urandom"
        #define SIZEOF_SIZE_T 4
        """,
}
QRENCODE = [*('-DMAJOR_VERSION=%d -DMINOR_VERSION=%d -DMICRO_VERSION=%d -DVERSION="%d.%d.%d"' % (2 * numbers("qrencode"))).split(),
            "-DSTATIC_IN_RELEASE=static", "-DHAVE_STRDUP=1"]
# As GEOS's own configure fills in its headers; the last two lines by its Version.txt.
GEOS = {"@VERSION@": "%d.%d.%d" % numbers("geos"),
        **dict(zip(("@VERSION_MAJOR@", "@VERSION_MINOR@", "@VERSION_PATCH@"), map(str, numbers("geos")))),
        "@JTS_PORT@": "1.18.0", "@CAPI_VERSION@": "1.17.1", "@CAPI_VERSION_MAJOR@": "1", "@CAPI_VERSION_MINOR@": "17",
        "@CAPI_VERSION_PATCH@": "1"}
# Of GEOS what overlays, unions and polygons call, and what stands in the tables of its classes.
GEOS_PARTS = ("algorithm algorithm/construct algorithm/distance algorithm/hull algorithm/locate edgegraph geom geom/prep geom/util "
              "geomgraph geomgraph/index index index/chain index/intervalrtree index/kdtree index/quadtree index/strtree math "
              "noding noding/snap noding/snapround operation operation/buffer operation/distance operation/overlay operation/overlay/snap "
              "operation/overlay/validate operation/overlayng operation/polygonize operation/predicate operation/relate "
              "operation/union operation/valid planargraph precision util")
NO_GEOS = ["geos_c", "CommonBitsOp", "EnhancedPrecisionOp", "PrecisionReducerCoordinateOperation", "SimpleGeometryPrecisionReducer"]
# Folders whose files open namespaces that others of them then stumble over.
GEOS_ALONE = ["src/geom", "src/geom/prep", "src/operation/overlayng", "src/operation/valid"]
FRIBIDI = {
    "lib/fribidi-config.h": """
        #ifndef FRIBIDI_CONFIG_H
        #define FRIBIDI_CONFIG_H
        #define FRIBIDI "fribidi"
        #define FRIBIDI_NAME "GNU FriBidi"
        #define FRIBIDI_BUGREPORT ""
        #define FRIBIDI_VERSION "{version}"
        #define FRIBIDI_MAJOR_VERSION %d
        #define FRIBIDI_MINOR_VERSION %d
        #define FRIBIDI_MICRO_VERSION %d
        #define FRIBIDI_INTERFACE_VERSION 4
        #define FRIBIDI_INTERFACE_VERSION_STRING "4"
        #define FRIBIDI_SIZEOF_INT 4
        #endif
        """ % numbers("fribidi"),
}
HARU = {
    "include/hpdf_config.h": """
        #define LIBHPDF_HAVE_LIBZ 1
        #define LIBHPDF_HAVE_NOPNGLIB 1
        #define LIBHPDF_HAVE_STDLIB_H 1
        #define LIBHPDF_HAVE_STRING_H 1
        #define LIBHPDF_STDC_HEADERS 1
        """,
}
ARCHIVE = {
    "libarchive/config.h": """
        #define HAVE_CTYPE_H 1
        #define HAVE_ERRNO_H 1
        #define HAVE_FCNTL 1
        #define HAVE_FCNTL_H 1
        #define HAVE_INTTYPES_H 1
        #define HAVE_LIMITS_H 1
        #define HAVE_LOCALE_H 1
        #define HAVE_STDINT_H 1
        #define HAVE_STDLIB_H 1
        #define HAVE_STRING_H 1
        #define HAVE_SYS_STAT_H 1
        #define HAVE_SYS_TYPES_H 1
        #define HAVE_TIME_H 1
        #define HAVE_UNISTD_H 1
        #define HAVE_WCHAR_H 1
        #define HAVE_WCTYPE_H 1
        #define HAVE_ZLIB_H 1
        #define HAVE_LIBZ 1
        #define HAVE_LOCALTIME_R 1
        #define HAVE_MBRTOWC 1
        #define HAVE_WCRTOMB 1
        #define HAVE_WCSCPY 1
        #define HAVE_WCSLEN 1
        #define HAVE_WCTOMB 1
        #define HAVE_WMEMCMP 1
        #define HAVE_WMEMCPY 1
        #define HAVE_WMEMMOVE 1
        #define HAVE_STRCHR 1
        #define HAVE_MEMMOVE 1
        #define HAVE_MEMSET 1
        #define HAVE_DECL_INT32_MAX 1
        #define HAVE_DECL_INT32_MIN 1
        #define HAVE_DECL_INT64_MAX 1
        #define HAVE_DECL_INT64_MIN 1
        #define HAVE_DECL_INTMAX_MAX 1
        #define HAVE_DECL_INTMAX_MIN 1
        #define HAVE_DECL_SIZE_MAX 1
        #define HAVE_DECL_SSIZE_MAX 1
        #define HAVE_DECL_UINT32_MAX 1
        #define HAVE_DECL_UINT64_MAX 1
        #define HAVE_DECL_UINTMAX_MAX 1
        #define HAVE_UNSIGNED_LONG_LONG 1
        #define SIZEOF_INT 4
        #define SIZEOF_LONG 4
        #define SIZEOF_WCHAR_T 4
        #define ICONV_CONST
        """,
}
# What writing a ZIP archive takes.
ARCHIVE_PARTS = ("acl check_magic cryptor entry entry_sparse entry_xattr hmac random string string_sprintf util virtual "
                 "write write_set_format write_set_format_zip write_set_passphrase")
PNG = "png pngerror pngget pngmem pngpread pngread pngrio pngrtran pngrutil pngset pngtrans pngwio pngwrite pngwtran pngwutil"
TIFF_PARTS = ("aux close codec color compress dir dirinfo dirread dirwrite dumpmode error extension fax3 fax3sm "
              "flush getimage hash_set jpeg luv lzw next open packbits predict print read strip swab thunder tile "
              "unix version warning write zip")
WEBP = "src/dec/*.c src/demux/*.c src/utils/*.c src/dsp/*.c"
# Of libjpeg-turbo its programs, and parts that others of its files include.
NO_JPEG = """cjpeg djpeg jpegtran rdjpgcom wrjpgcom cdjpeg rdbmp rdcolmap rdgif rdppm rdswitch rdtarga wrbmp wrgif wrppm
wrtarga strtest jcstest tjbench tjunittest tjutil transupp turbojpeg turbojpeg-jni jccolext jdcolext
jdcol565 jdmrg565 jdmrgext jstdhuff jdatadst-tj jdatasrc-tj""".split()

# Of qpdf other means of encryption, its program, and what goes deeper into a document than to a page's picture.
NO_QPDF = """QPDFCrypto_gnutls QPDFCrypto_openssl QPDFJob QPDFJob_argv QPDFJob_config QPDFJob_json qpdfjob-c QPDFArgParser
QPDFUsage JSONHandler NNTree QPDFEFStreamObjectHelper QPDFEmbeddedFileDocumentHelper QPDFFileSpecObjectHelper
QPDFNameTreeObjectHelper QPDFNumberTreeObjectHelper QPDFOutlineDocumentHelper QPDFOutlineObjectHelper
QPDFPageLabelDocumentHelper""".split()
# They include what no file may include twice.
QPDF_ALONE = "BitStream BitWriter QPDFWriter QPDF_encryption QPDF_optimization qpdf-c qpdflogger-c".split()
# What takes longer than its size tells.
LARGE = ["src/harfbuzz-subset.cc"]

# In the order of need. `of`: the Debian package. `needs`: whose headers it includes. `sources`: patterns; `but`: of
# those left out; `fast`: of those made for speed; `alone`: those, or folders of those, that can't be compiled as one
# file with others. `write`: files that its own configure would have made. `headers`: what others include, by the folder
# in which they ask for it.
RECIPES = {
    "zlib": {"of": "zlib", "fast": "*", "sources": "*.c", "but": ["gzclose", "gzlib", "gzread", "gzwrite"],
             "headers": {"": "zlib.h zconf.h"}},
    "geos": {"of": "geos", "sources": " ".join(["capi/*.cpp src/deps/ryu/*.c src/io/WKTWriter.cpp src/io/Writer.cpp src/io/CLocalizer.cpp",
                                                *(f"src/{p}/*.cpp" for p in GEOS_PARTS.split())]),
             "fill": {"include/geos/version.h.in": GEOS, "capi/geos_c.h.in": GEOS}, "include": ["include", "capi", "src/deps"],
             "flags": ["-fexceptions", "-DNDEBUG"], "c++": ["-std=c++11"],
             "but": NO_GEOS, "alone": GEOS_ALONE,
             "headers": {"": "capi/geos_c.h", "geos": "include/geos/export.h"}},
    "harfbuzz": {"of": "harfbuzz", "sources": "src/harfbuzz-subset.cc", "include": ["src"],
                 "flags": ["-DHB_NO_MT", "-fno-exceptions", "-fno-rtti"], "c++": ["-std=c++11"],
                 "headers": {"": "src/hb.h src/hb-[!g]*.h src/hb-glib.h"}},
    "fribidi": {"of": "fribidi", "sources": "lib/*.c", "write": FRIBIDI, "include": ["lib"],
                "flags": ["-DFRIBIDI_LIB_STATIC", "-DSTDC_HEADERS=1", "-DHAVE_STRINGIZE=1", "-DHAVE_STRING_H=1"], "headers": {"": "lib/fribidi*.h"}},
    "hpdf": {"of": "libharu", "needs": ["zlib"], "sources": "src/*.c", "write": HARU, "include": ["include"],
             # As Debian's package calls itself in each PDF.
             "fill": {"include/hpdf_version.h": {"RC2": ""}}, "headers": {"": "include/*.h"}},
    "archive": {"of": "libarchive", "needs": ["zlib"], "sources": " ".join(f"libarchive/archive_{p}.c" for p in ARCHIVE_PARTS.split()),
                "write": ARCHIVE, "include": ["libarchive"], "flags": ["-DHAVE_CONFIG_H"],
                "headers": {"": "libarchive/archive.h libarchive/archive_entry.h"}},
    "jansson": {"of": "jansson", "sources": "src/*.c", "write": JANSSON, "flags": ["-DHAVE_CONFIG_H"],
                "headers": {"": "src/jansson.h jansson_config.h"}},
    "md": {"of": "libmd", "sources": "src/sha2.c src/sha256hl.c", "write": {"config.h": "#define HAVE_UNISTD_H 1\n"}, "include": ["include"],
           "headers": {"": "include/sha256.h include/sha2.h"}},
    "cminpack": {"of": "cminpack", "fast": "*", "sources": "*[!_].c", "headers": {"": "cminpack.h"}},
    "apriltag": {"of": "apriltag", "fast": "*", "sources": "apriltag.c apriltag_quad_thresh.c tagStandard41h12.c common/*.c",
                 "but": ["getopt", "pam", "pjpeg", "pjpeg-idct", "pnm", "string_util"],
                 "headers": {"apriltag": "*.h", "apriltag/common": "common/*.h"}},
    "qrencode": {"of": "qrencode", "sources": "*.c", "but": ["qrenc"], "flags": QRENCODE,
                 "headers": {"": "qrencode.h"}},
    "png": {"of": "libpng1.6", "needs": ["zlib"], "sources": " ".join(f"{p}.c" for p in PNG.split()),
            "copy": {"scripts/pnglibconf.h.prebuilt": "pnglibconf.h"},
            "headers": {"": "png.h pngconf.h pnglibconf.h"}},
    "jpeg": {"of": "libjpeg-turbo", "fast": "jd[chs]*|jidctint", "sources": "j*.c", "but": NO_JPEG, "write": JPEG,
             "headers": {"": "jpeglib.h jmorecfg.h jerror.h jconfig.h"}},
    "tiff": {"of": "tiff", "needs": ["zlib", "jpeg"], "sources": " ".join(f"libtiff/tif_{p}.c" for p in TIFF_PARTS.split()), "write": TIFF,
             "headers": {"": "libtiff/tiff.h libtiff/tiffio.h libtiff/tiffvers.h tiffconf.h"}},
    "webp": {"of": "libwebp", "sources": WEBP,
             "headers": {"webp": "src/webp/decode.h src/webp/demux.h src/webp/types.h src/webp/mux_types.h"}},
    "qpdf": {"of": "qpdf", "needs": ["zlib", "jpeg"], "sources": "libqpdf/*.cc libqpdf/sha2.c libqpdf/sha2big.c", "write": QPDF,
             "but": NO_QPDF, "include": ["include", "libqpdf"],
             "flags": ["-fexceptions"], "c++": ["-std=c++17"], "alone": QPDF_ALONE,
             "headers": {"qpdf": "include/qpdf/*.h"}},
}


def listed(folder, patterns):
    return sorted(p for pattern in patterns.split() for p in glob.glob(pattern, root_dir=folder))


def run(command, folder):
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(" ".join(command) + "\n" + done.stderr)


def unpack(place, files, folder):
    """A package's sources as Debian compiles them: the tarball, then its patches in their order."""
    run(["tar", "xf", os.path.join(place, files[0]), "--strip-components=1"], folder)
    for name in files[1:]:
        run(["tar", "xf", os.path.join(place, name)], folder)
        patches = os.path.join(folder, "debian", "patches")
        with open(os.path.join(patches, "series"), encoding="utf-8") as file:
            series = [line.split()[0] for line in file if line.strip() and not line.startswith("#")]
        for patch in series:
            run(["patch", "-p1", "--force", "--no-backup-if-mismatch", "-i", os.path.join(patches, patch)], folder)


def stem(path):
    return os.path.splitext(os.path.basename(path))[0]


def object_of(source):
    return f"{os.path.splitext(source)[0]}.o"


def is_fast(source, recipe):
    return any(fnmatch.fnmatch(stem(source), pattern) for pattern in recipe.get("fast", "").split("|"))


def compiled(folder, sources, recipe, include):
    """Some of a folder's sources by one call, beside them: the compiler's program takes longer to begin than many a file."""
    place = os.path.dirname(sources[0])
    here, plus = os.path.join(folder, place), not sources[0].endswith(".c")
    # Paths are relative, so that what asserts say is the same wherever it is built.
    flags = [FAST if is_fast(sources[0], recipe) else SMALL] + FLAGS + recipe.get("flags", [])
    flags += [f"-I{os.path.relpath(os.path.join(folder, i), here)}" for i in ["."] + recipe.get("include", []) + [include]]
    run(["em++" if plus else "emcc", *flags, *(recipe["c++"] if plus else ["-std=gnu11"]), "-c", *map(os.path.basename, sources)], here)


def joined(folder, sources, alone):
    """C++ files that take their time over the same headers: up to 16 of a folder as one that includes them."""
    units, rest = {}, []
    for source in sources:
        if os.path.dirname(source) in alone or stem(source) in alone or source.endswith(".c"):
            rest.append(source)
        else:
            units.setdefault(os.path.dirname(source), []).append(source)
    for place, parts in units.items():
        for i in range(0, len(parts), 16):
            path = f"{place.replace('/', '_')}_{i // 16}.joined.cpp"
            with open(os.path.join(folder, path), "w", encoding="utf-8") as file:
                file.write("".join(f'#include "{part}"\n' for part in parts[i:i + 16]))
            rest.append(path)
    return rest


def made_by(name, compiler):
    """The same recipe and sources, by this compiler and with the same headers of others, give the same library."""
    recipe = RECIPES[name]
    digests = [digest for _, _, digest in pinned()[recipe["of"]]]
    needs = [made_by(other, compiler) for other in recipe.get("needs", [])]
    return hashlib.sha256(repr((recipe, digests, needs, FLAGS, FAST, SMALL, compiler)).encode()).hexdigest()


# ---- one library, in its own folder ----

def prepare(place, folder, recipe):
    """Its sources as its own configure would leave them, with the headers that others include in `out/include`."""
    versions, files, _ = zip(*pinned()[recipe["of"]])
    unpack(place, files, folder)
    for path, text in recipe.get("write", {}).items():
        with open(os.path.join(folder, path), "w", encoding="utf-8") as file:
            file.write(textwrap.dedent(text).replace("{version}", versions[0]))
    for path, words in recipe.get("fill", {}).items():
        with open(os.path.join(folder, path), encoding="utf-8") as file:
            text = file.read()
        for word, value in words.items():
            text = text.replace(word, value)
        with open(os.path.join(folder, path.removesuffix(".in")), "w", encoding="utf-8") as file:
            file.write(text)
    for path, to in recipe.get("copy", {}).items():
        shutil.copyfile(os.path.join(folder, path), os.path.join(folder, to))
    for to, patterns in recipe["headers"].items():
        os.makedirs(os.path.join(folder, "out", "include", to), exist_ok=True)
        for path in listed(folder, patterns):
            shutil.copyfile(os.path.join(folder, path), os.path.join(folder, "out", "include", to, os.path.basename(path)))
    sources = [s for s in listed(folder, recipe["sources"]) if stem(s) not in recipe.get("but", [])]
    return joined(folder, sources, recipe["alone"]) if "alone" in recipe else sources


def heap(folder, sources, recipe):
    """What is compiled by one call each, with a measure of how long that takes."""
    groups = {}
    for source in sources:
        few = (os.path.dirname(source), is_fast(source, recipe)) if source.endswith(".c") else source
        groups.setdefault(few, []).append(source)
    for group in groups.values():
        for some in (group[i:i + 10] for i in range(0, len(group), 10)):
            large = some[0] in LARGE or ".joined." in some[0]
            yield (1e9 if large else 0) + sum(os.path.getsize(os.path.join(folder, s)) for s in some), some


def keep(folder, out, name, sources):
    """Its archive, and its headers, where later builds find them: there at once or not at all."""
    # Files of one name in several folders are all kept.
    run(["emar", "qcs", os.path.join("out", f"lib{name}.a"), *map(object_of, sources)], folder)
    shutil.rmtree(out, ignore_errors=True)
    os.rename(os.path.join(folder, "out"), out)


def build_all(outs, place, work):
    """Those that aren't kept yet. All are prepared first, so that their files are compiled as one heap. The headers of
    all lie in `work`."""
    jobs, calls = [], []
    for name, out in outs.items():
        folder, recipe = os.path.join(work, name), RECIPES[name]
        os.makedirs(folder)
        sources = prepare(place, folder, recipe)
        print(f"LIBRARY {name} {pinned()[recipe['of']][-1][0]}", flush=True)
        shutil.copytree(os.path.join(folder, "out", "include"), os.path.join(work, "include"), dirs_exist_ok=True)
        jobs.append((folder, out, name, sources))
        calls += [(size, folder, some, recipe) for size, some in heap(folder, sources, recipe)]
    print(f"COMPILE {sum(len(some) for *_, some, _ in calls)} of their files", flush=True)
    # The largest first, so that no core waits for one of them at the end.
    calls.sort(key=lambda call: -call[0])
    with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        list(pool.map(lambda call: compiled(*call[1:], os.path.join(work, "include")), calls))
    for job in jobs:
        keep(*job)


def main():
    build = os.path.abspath(sys.argv[1])
    names = [name for name in RECIPES if name in (sys.argv[2:] or RECIPES)]
    compiler = subprocess.run(["emcc", "--version"], capture_output=True, text=True, check=True).stdout.split("\n")[0]
    outs = {name: os.path.join(kept(), f"{name}-{made_by(name, compiler)[:24]}") for name in names}
    new = {name: out for name, out in outs.items() if not os.path.exists(out)}
    if new:
        place = fetch(sorted({RECIPES[name]["of"] for name in new}))
        with tempfile.TemporaryDirectory(dir=kept()) as work:
            for out in set(outs.values()) - set(new.values()):
                shutil.copytree(os.path.join(out, "include"), os.path.join(work, "include"), dirs_exist_ok=True)
            build_all(new, place, work)
    for out in outs.values():
        shutil.copytree(out, os.path.join(build, "lib"), dirs_exist_ok=True)


main()
