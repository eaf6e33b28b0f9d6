# pavior: build, test, demo. Objects live in $(BUILD), never beside the sources.
#
#   make            the library and the command
#   make demo       installs what is missing, builds, runs the whole loop on layouts/quayside.course
#   make test       unit tests under sanitizers, bad input, and checks against outside tools
#   make test-long  the outside checks with every page and hundreds of random draws
#   make bench      times, as ratios to a baseline measured in the same run
#   make lint       clang-format, clang-tidy, cppcheck
#   make po         brings the translations' files up to date with the code (src/po/)
#   make pictures   renders every example of the documents
#   make worksheet  FILE=F: do your devices agree with what is assumed (docs/how/worksheet.md)
#   make web        what checks sheets and draws courses in a browser, for `pavior kit`; needs .ci/packages' group web
#   make install    DESTDIR= PREFIX= LIBDIR= INCLUDEDIR=; make uninstall takes the same
#
# WERROR=1 makes warnings errors, as .ci/run does.

PREFIX  ?= /usr/local
LIBDIR  ?= $(PREFIX)/lib
INCLUDEDIR ?= $(PREFIX)/include
DESTDIR ?=
BUILD   ?= build
CC      ?= cc
AR      ?= ar
PYTHON  ?= /usr/bin/python3
PKG_CONFIG ?= pkg-config

# V=1 shows the commands.
Q   := $(if $(V),,@)
SAY := @echo

# The public header states the version. Its major number is that of the library's binary interface.
VERSION := $(shell sed -n 's/^\#define PV_VERSION_STRING *"\(.*\)"/\1/p' include/pavior/pavior.h)
SOVERSION := $(firstword $(subst ., ,$(VERSION)))

OPT      ?= -O2 -g
WERROR   ?=
WARNINGS := -Wall -Wextra -Wpedantic -Wconversion -Wshadow $(if $(WERROR),-Werror)
PACKAGES := libpng libjpeg libqpdf libheif libwebp libwebpdemux libtiff-4 jansson geos apriltag cminpack zlib fontconfig harfbuzz-subset fribidi libmd libarchive
PACKAGES += sqlite3 libqrencode
# Library headers are not ours to mend, so they are met as system headers.
LIB_CFLAGS = $(subst -I,-isystem ,$(shell $(PKG_CONFIG) --cflags $(PACKAGES)))
LIBS       = $(shell $(PKG_CONFIG) --libs $(PACKAGES)) -lapriltag-utils -lhpdf -lm -pthread
# Debug information names the folder as ".", so that every folder gives the same binary.
COMMON_FLAGS = -std=c11 -pthread -D_POSIX_C_SOURCE=200809L -Iinclude -fPIC -fvisibility=hidden \
               -ffp-contract=off '-ffile-prefix-map=$(CURDIR)=.' $(WARNINGS)
BASE_FLAGS = $(COMMON_FLAGS) -Isrc $(LIB_CFLAGS)

SANITIZE ?=
ALL_CFLAGS  = $(BASE_FLAGS) $(OPT) $(SANITIZE) $(CFLAGS)
ALL_LDFLAGS = $(SANITIZE) $(LDFLAGS)

LIB_SRC := $(sort $(filter-out src/cli/% src/web/% src/type/carried.c,$(wildcard src/*/*.c)))
CLI_SRC := $(sort $(wildcard src/cli/*.c))
LIB_OBJ := $(LIB_SRC:%.c=$(BUILD)/%.o)
CLI_OBJ := $(CLI_SRC:%.c=$(BUILD)/%.o)
# What a browser's page calls: here for the tests alone, src/web/web.mk makes the module of it.
FACE_SRC := src/web/face.c src/web/desk.c src/type/carried.c
FACE_OBJ := $(FACE_SRC:%.c=$(BUILD)/%.o)
# A room's texts: src/ROOM/embedded/NAME.EXT becomes the string `const char pv_embedded_NAME_EXT[]`.
LIB_OBJ += $(patsubst %,$(BUILD)/%.o,$(sort $(filter-out src/cli/%,$(wildcard src/*/embedded/*))))
LIB_OBJ += $(BUILD)/templates.o
CLI_OBJ += $(patsubst %,$(BUILD)/%.o,$(sort $(wildcard src/cli/embedded/*)))
# A language's texts: src/po/CODE.po becomes the table `const unsigned char pv_po_CODE[]`.
LIB_OBJ += $(patsubst %.po,$(BUILD)/%.o,$(sort $(wildcard src/po/*.po)))

LIB_A  := $(BUILD)/libpavior.a
LIB_SO := $(BUILD)/libpavior.so.$(SOVERSION)
BIN    := $(BUILD)/pavior

.DELETE_ON_ERROR:
.SUFFIXES:
.PHONY: all demo test bench lint format install uninstall clean pictures packages

all: $(BIN) $(LIB_A) $(LIB_SO)

$(BUILD)/%.o: %.c Makefile
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -MMD -MP -c $< -o $@

# No warnings: a string may be longer than those that every compiler takes.
EMBED = { printf 'const char pv_embedded_%s[] =\n' '$(subst .,_,$(notdir $<))'; \
          $(if $(filter %.css %.html %.js,$<),sed -f src/html/bare.sed,cat) $< | sed -e 's/[\\"?]/\\&/g' -e 's/.*/"&\\n"/'; echo ';'; }
$(BUILD)/src/%.o: src/% src/html/bare.sed Makefile
	@mkdir -p $(@D)
	$(SAY) EMBED $<
	$(Q)$(EMBED) | $(CC) -std=c11 -fPIC -fvisibility=hidden -w $(SANITIZE) -x c -c - -o $@

# The rooms' texts by name, for html/.
TEMPLATES := $(sort $(filter-out %.sql src/cli/%,$(wildcard src/*/embedded/*)))
LIST = { echo '\#include "html/html.h"'; \
         for f in $(notdir $(1)); do echo "extern const char pv_embedded_$$(echo $$f | tr . _)[];"; done; \
         echo 'const pv_template pv_templates[] = {'; \
         for f in $(notdir $(1)); do echo "{\"$$f\", pv_embedded_$$(echo $$f | tr . _)},"; done; \
         echo '}; const size_t pv_n_templates = sizeof pv_templates / sizeof *pv_templates;'; }
$(BUILD)/templates.c: $(wildcard src/*/embedded) Makefile
	@mkdir -p $(@D)
	$(SAY) LIST $(@F)
	$(Q)$(call LIST,$(TEMPLATES)) >$@
$(BUILD)/templates.o: $(BUILD)/templates.c
	$(Q)$(CC) $(ALL_CFLAGS) -MMD -MP -c $< -o $@

# A translation that printf could trip over ends the build here.
TABLE = { printf 'const unsigned char pv_po_%s[] = {\n' '$(basename $(notdir $<))'; \
          od -An -v -tu1 $(@:.o=.mo) | sed -e 's/ *$$/,/' -e 's/\([0-9]\) /\1,/g'; echo '};'; }
WORDS = msgfmt -c --no-hash --endianness=little -o $(@:.o=.mo) $< && $(TABLE)
$(BUILD)/src/po/%.o: src/po/%.po Makefile
	@mkdir -p $(@D)
	$(SAY) WORDS $<
	$(Q)$(WORDS) | $(CC) -std=c11 -fPIC -fvisibility=hidden -w $(SANITIZE) -x c -c - -o $@

# The command and the face for browsers know the public headers alone: those of the rooms are out of their reach.
$(BUILD)/src/cli/%.o $(BUILD)/src/web/%.o: BASE_FLAGS = $(COMMON_FLAGS)

$(LIB_A): $(LIB_OBJ)
	@rm -f $@
	$(SAY) AR $@
	$(Q)$(AR) rcs $@ $(LIB_OBJ)

$(LIB_SO): $(LIB_OBJ)
	$(SAY) LD $@
	$(Q)$(CC) -shared -Wl,-soname,libpavior.so.$(SOVERSION) $(ALL_LDFLAGS) -o $@ $(LIB_OBJ) $(LIBS)
	@ln -sf libpavior.so.$(SOVERSION) $(BUILD)/libpavior.so

$(BIN): $(CLI_OBJ) $(LIB_A)
	$(SAY) LD $@
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $(CLI_OBJ) $(LIB_A) $(LIBS)

include src/web/web.mk
include tests/tests.mk

packages:
	@.ci/install build demo

# The packages must be there before pkg-config is asked for their flags, hence a make of its own.
demo: packages
	@$(MAKE) --no-print-directory all
	@tests/demo.sh $(BUILD)/pavior demo-out

FORMATTED := $(wildcard src/*/*.[ch] include/pavior/*.h tests/*/*.[ch])

.PHONY: formatted cppcheck
lint:
	@.ci/install build lint
	@$(MAKE) --no-print-directory cppcheck formatted headers rooms tidy
formatted:
	clang-format --dry-run -Werror $(FORMATTED)
cppcheck:
	cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr \
	    --error-exitcode=1 --suppress=missingIncludeSystem -Iinclude -Isrc src

# States that the analyzer follows in a function: its own 225,000 take four times as long, and are
# for a change of how memory is held.
NODES ?= 50000
TIDY := $(patsubst %.c,$(BUILD)/tidy/%.ok,$(LIB_SRC) $(CLI_SRC) $(FACE_SRC))
.PHONY: tidy
tidy: $(TIDY)

$(BUILD)/tidy/%.ok: %.c .clang-tidy $(wildcard src/*/*.h include/pavior/*.h)
	@mkdir -p $(@D)
	$(SAY) TIDY $<
	$(Q)clang-tidy --quiet $< -- $(filter-out -Werror,$(BASE_FLAGS)) \
	    -Xclang -analyzer-config -Xclang max-nodes=$(NODES) 2>/dev/null
	@touch $@

# Every header stands alone, all of them together (no name has two meanings), and the public ones
# serve C++ too.
HEADERS := $(wildcard include/pavior/*.h src/*/*.h)
.PHONY: headers rooms
# DEVELOPERS.md's table of rooms: who may include and call whom.
rooms: $(LIB_OBJ) $(CLI_OBJ) $(FACE_OBJ)
	@$(PYTHON) tests/rooms.py $(BUILD)
headers:
	$(SAY) HEADERS
	$(Q)for h in $(HEADERS); do \
	    printf '#include "%s"\nextern int alone;\n' $$h | \
	        $(CC) $(BASE_FLAGS) -Werror -I. -x c -fsyntax-only - || exit 1; done
	$(Q)for h in $(HEADERS); do echo "#include \"$$h\""; done | $(CC) $(BASE_FLAGS) -Werror -I. -x c -fsyntax-only -
	$(Q)for h in $(wildcard include/pavior/*.h); do \
	    echo "#include \"$$h\"" | $(CXX) -Wall -Wextra -Wpedantic -Werror -Iinclude -I. -x c++ -fsyntax-only - || exit 1; done

.PHONY: po
po:
	@$(PYTHON) src/po/words.py $(BUILD)

format:
	clang-format -i $(FORMATTED)

pictures: $(BIN)
	@$(PYTHON) docs/scripts/diagrams.py
	@$(PYTHON) docs/scripts/pictures.py $(BIN)
	@$(PYTHON) docs/scripts/sheet_picture.py $(BIN)
	@$(PYTHON) docs/scripts/proof_picture.py $(BIN)
	@$(PYTHON) docs/scripts/guide_picture.py $(BIN)
	@$(PYTHON) docs/scripts/report_picture.py $(BIN)
	@$(PYTHON) docs/scripts/report_page_picture.py $(BIN)
	@$(PYTHON) docs/scripts/certificate_picture.py $(BIN)

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(LIBDIR)/pkgconfig $(DESTDIR)$(INCLUDEDIR)/pavior
	install -m 755 $(BIN) $(DESTDIR)$(PREFIX)/bin/pavior
	install -m 644 $(LIB_A) $(DESTDIR)$(LIBDIR)/libpavior.a
	install -m 755 $(LIB_SO) $(DESTDIR)$(LIBDIR)/libpavior.so.$(SOVERSION)
	ln -sf libpavior.so.$(SOVERSION) $(DESTDIR)$(LIBDIR)/libpavior.so
	install -m 644 include/pavior/*.h $(DESTDIR)$(INCLUDEDIR)/pavior
	sed -e 's|@PREFIX@|$(PREFIX)|' -e 's|@LIBDIR@|$(LIBDIR)|' -e 's|@INCLUDEDIR@|$(INCLUDEDIR)|' \
	    -e 's|@VERSION@|$(VERSION)|' -e 's|@LIBS@|$(LIBS)|' \
	    src/pavior.pc.in >$(DESTDIR)$(LIBDIR)/pkgconfig/pavior.pc
	if [ -e $(WEB)/pavior.html ]; then \
	    install -d $(DESTDIR)$(PREFIX)/share/pavior/web && \
	    install -m 644 $(WEB_PRODUCT) $(DESTDIR)$(PREFIX)/share/pavior/web; fi

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/pavior $(DESTDIR)$(LIBDIR)/libpavior.a \
	    $(DESTDIR)$(LIBDIR)/libpavior.so $(DESTDIR)$(LIBDIR)/libpavior.so.$(SOVERSION) \
	    $(DESTDIR)$(LIBDIR)/pkgconfig/pavior.pc
	rm -rf $(DESTDIR)$(INCLUDEDIR)/pavior $(DESTDIR)$(PREFIX)/share/pavior

clean:
	rm -rf $(BUILD) demo-out

-include $(LIB_OBJ:.o=.d) $(CLI_OBJ:.o=.d) $(FACE_OBJ:.o=.d)
