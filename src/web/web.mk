# `make web`: what checks sheets, and what draws courses and lays them on sheets, in a browser. The same library,
# compiled by emscripten with the libraries that it stands on from Debian's sources (libraries.py), becomes two scripts
# that pages load from anywhere, also from a folder on disk: build/web/check-module.js and course-module.js. Each holds
# the worker's program as text and its module as LZMA in base64. `pavior kit` puts them into kits (src/cli/kit_scripts.c).
# build/web/pavior.html is the page that draws courses by itself, with what it loads beside it.

WEB := $(BUILD)/web
EMCC ?= emcc
NODE ?= node
# acorn, which emscripten calls, is where Debian's node looks for it; other nodes must be told.
WEB_ENV := NODE_PATH=$(NODE_PATH):/usr/share/nodejs EMSDK_PYTHON=$(PYTHON)
WEB_LIBS := jansson md cminpack apriltag qrencode png tiff jpeg webp qpdf zlib
WEB_A := $(WEB_LIBS:%=$(WEB)/lib/lib%.a)
# Those that the whole program wants besides. GEOS takes minutes.
DESK_LIBS := geos harfbuzz fribidi hpdf archive
DESK_A := $(patsubst %,$(WEB)/lib/lib%.a,$(DESK_LIBS) jansson md cminpack apriltag qrencode zlib)

# All that inspecting may call: the linker takes what it does.
WEB_ROOMS := base po html json scene course paper tag plan page draw image pose reference measure judge report
WEB_NOT := src/image/heif.c src/image/heif_guard.c src/course/arrange.c src/course/geos.c src/course/painted.c src/course/regions.c src/draw/pdf.c src/draw/pdf_type.c \
           src/report/calibrate% src/report/text%
WEB_SRC := $(filter-out $(WEB_NOT),$(sort $(wildcard $(WEB_ROOMS:%=src/%/*.c)))) src/web/face.c
WEB_OBJ := $(WEB_SRC:%.c=$(WEB)/%.o) $(WEB)/templates.o
# Its pages are reports.
WEB_TEMPLATES := $(filter src/html/% src/report/%,$(TEMPLATES))
WEB_OBJ += $(WEB_TEMPLATES:%=$(WEB)/%.o) $(patsubst %.po,$(WEB)/%.o,$(sort $(wildcard src/po/*.po)))
# What takes a picture's time is made for speed, all else small.
WEB_FAST := base scene tag image pose measure
WEB_OPT = $(if $(filter $(WEB_FAST),$(word 2,$(subst /, ,$<))),-O2 -msimd128,-Os)
WEB_CFLAGS = -std=c11 -D_POSIX_C_SOURCE=200809L -Iinclude -ffp-contract=off '-ffile-prefix-map=$(CURDIR)=.' -DPV_WITHOUT_HEIF \
             $(WEB_OPT) $(filter-out -Wconversion,$(WARNINGS)) -Isrc -isystem $(WEB)/lib/include
WEB_LINK = -fexceptions --no-entry -s MODULARIZE=1 -s EXPORT_NAME=paviorFace -s ENVIRONMENT=worker,node -s FILESYSTEM=0 \
           -s ALLOW_MEMORY_GROWTH=1 -s INITIAL_MEMORY=32MB -s TOTAL_STACK=2MB -s INCOMING_MODULE_JS_API=wasmBinary,print,printErr \
           -s EXPORTED_FUNCTIONS=_malloc,_free,_pv_free

.PRECIOUS: $(WEB)/src/po/%.po $(WEB)/desk_po/%.po
.PHONY: web
WEB_PRODUCT := $(addprefix $(WEB)/,check-module.js course-module.js page.js course.js course.css pavior.css pavior.html pavior.de.html)
web: $(WEB)/check-module.js $(WEB)/pavior.html $(WEB)/pavior.de.html

# All by one program, which keeps them outside the build. It takes minutes: what is missing is said before.
$(WEB)/lib/made: src/web/libraries.py src/web/sources.py src/web/sources.txt
	@for tool in $(EMCC) $(NODE) msggrep patch; do command -v $$tool >/dev/null || \
	    { echo "make web needs $$tool: .ci/packages, group web" >&2; exit 1; }; done
	$(Q)$(WEB_ENV) $(PYTHON) src/web/libraries.py $(WEB) $(WEB_LIBS) $(DESK_LIBS)
	@touch $@

$(WEB)/src/%.o: src/%.c Makefile src/web/web.mk | $(WEB)/lib/made
	@mkdir -p $(@D)
	$(SAY) EMCC $<
	$(Q)$(WEB_ENV) $(EMCC) $(WEB_CFLAGS) -MMD -MP -c $< -o $@
$(WEB)/templates.c: $(wildcard src/*/embedded) Makefile
	@mkdir -p $(@D)
	$(Q)$(call LIST,$(WEB_TEMPLATES)) >$@
$(WEB)/templates.o: $(WEB)/templates.c
	$(Q)$(WEB_ENV) $(EMCC) $(WEB_CFLAGS) -MMD -MP -c $< -o $@
$(WEB)/src/%.o: src/% src/html/bare.sed Makefile
	@mkdir -p $(@D)
	$(SAY) EMBED $<
	$(Q)$(EMBED) | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@
# Of a language what inspecting says: the files and templates that are compiled here, and headers.
SAID_IN = $(patsubst %,-N '%',$(1) $(sort $(foreach f,$(1),$(dir $(f))*.h)))
WEB_SAID := $(filter-out $(foreach r,course paper plan page draw,src/$(r)/%),$(WEB_SRC)) $(WEB_TEMPLATES)
$(WEB)/src/po/%.po: src/po/%.po src/web/web.mk
	@mkdir -p $(@D)
	$(Q)msggrep $(call SAID_IN,$(WEB_SAID)) -o $@ $<
$(WEB)/src/po/%.o: $(WEB)/src/po/%.po Makefile
	$(SAY) WORDS $<
	$(Q)$(WORDS) | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@

$(WEB)/face.js: $(WEB_OBJ) $(WEB)/lib/made
	$(SAY) LD $@
	$(Q)$(WEB_ENV) em++ -Oz $(WEB_LINK) -o $@ $(WEB_OBJ) $(WEB_A)

CHECK_PARTS := src/web/unpack.js src/web/memory.js src/web/worker.js
$(WEB)/check-module.js: $(WEB)/face.js $(CHECK_PARTS) src/web/pack.py
	$(SAY) PACK $@
	$(Q)$(PYTHON) src/web/pack.py paviorModule $@ $(WEB)/face.js $(WEB)/face.wasm $(CHECK_PARTS)

# ---- the whole program ----

# Of its rooms those that don't look at pictures. The typeface is carried along; nothing is installed in a browser.
DESK_ROOMS := base po type html json scene course paper tag plan page draw guide drafting kit
DESK_SRC := $(filter-out src/type/find.c,$(sort $(wildcard $(DESK_ROOMS:%=src/%/*.c)))) src/web/desk.c
DESK_TEMPLATES := $(filter $(DESK_ROOMS:%=src/%/%) src/web/%,$(TEMPLATES))
# What it shares with the other module is compiled once.
DESK_OBJ := $(DESK_SRC:%.c=$(WEB)/%.o) $(WEB)/desk_templates.o $(WEB)/faces.o \
            $(DESK_TEMPLATES:%=$(WEB)/%.o) $(patsubst src/po/%.po,$(WEB)/desk_po/%.o,$(sort $(wildcard src/po/*.po)))
FACES := /usr/share/fonts/truetype/liberation2/LiberationSans
LAYOUTS := $(addprefix layouts/,quayside.course breakwater.course pierhead.course)

$(WEB)/desk_templates.c: $(wildcard src/*/embedded) Makefile
	@mkdir -p $(@D)
	$(Q)$(call LIST,$(DESK_TEMPLATES)) >$@
$(WEB)/desk_templates.o: $(WEB)/desk_templates.c
	$(Q)$(WEB_ENV) $(EMCC) $(WEB_CFLAGS) -MMD -MP -c $< -o $@
# Of a language what is said of courses, on sheets and in kits.
$(WEB)/desk_po/%.po: src/po/%.po src/web/web.mk
	@mkdir -p $(@D)
	$(Q)msggrep $(call SAID_IN,$(DESK_SRC) $(DESK_TEMPLATES)) -o $@ $<
$(WEB)/desk_po/%.o: $(WEB)/desk_po/%.po Makefile
	$(SAY) WORDS $<
	$(Q)$(WORDS) | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@
CARRY = { echo 'const unsigned char pv_carried_$(1)[] = {'; od -An -v -tu1 $(FACES)-$(2).ttf | sed -e 's/^ *//' -e 's/  */,/g' -e 's/$$/,/'; \
          echo '}; const unsigned pv_carried_$(1)_size = sizeof pv_carried_$(1);'; }
$(WEB)/faces.o: $(FACES)-Regular.ttf $(FACES)-Bold.ttf src/web/web.mk
	@mkdir -p $(@D)
	$(SAY) CARRY $@
	$(Q){ $(call CARRY,regular,Regular); $(call CARRY,bold,Bold); } | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@

$(WEB)/desk.js: $(DESK_OBJ) $(WEB)/lib/made
	$(SAY) LD $@
	$(Q)$(WEB_ENV) em++ -Oz $(WEB_LINK) -o $@ $(DESK_OBJ) $(DESK_A)

DESK_PARTS := src/web/unpack.js src/web/memory.js src/web/desk_worker.js
$(WEB)/course-module.js: $(WEB)/desk.js $(DESK_PARTS) $(LAYOUTS) src/web/pack.py
	$(SAY) PACK $@
	$(Q)$(PYTHON) src/web/pack.py paviorDesk $@ $(WEB)/desk.js $(WEB)/desk.wasm $(DESK_PARTS) --text $(LAYOUTS)

# The page by itself is filled by the module; in a kit it is filled with the kit.
$(WEB)/pavior.html: LANGUAGE = en
$(WEB)/pavior.de.html: LANGUAGE = de
PAGE_LOADS := $(addprefix $(WEB)/,pavior.css course.css page.js course.js)
$(PAGE_LOADS): $(WEB)/%: $(wildcard src/*/embedded/pavior.css $(addprefix src/web/embedded/,course.css page.js course.js))
	@mkdir -p $(@D)
	$(Q)cp src/*/embedded/$(@F) $@
$(WEB)/pavior.html $(WEB)/pavior.de.html: $(WEB)/course-module.js src/web/fill.js $(PAGE_LOADS)
	$(SAY) FILL $@
	$(Q)$(NODE) src/web/fill.js $(WEB)/course-module.js $(LANGUAGE) $@

-include $(WEB_OBJ:.o=.d) $(DESK_OBJ:.o=.d)
