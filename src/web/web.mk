# `make web`: what checks sheets in a browser. The same library, compiled by emscripten with the libraries that it
# stands on from Debian's sources (libraries.py), becomes one script that pages load from anywhere, also from a
# folder on disk: build/web/check-module.js, which holds the worker's program as text and the module as gzip in
# base64. `pavior kit` puts it into kits (src/cli/kit.c).

WEB := $(BUILD)/web
EMCC ?= emcc
# acorn, which emscripten calls, is where Debian's node looks for it; other nodes must be told.
WEB_ENV := NODE_PATH=$(NODE_PATH):/usr/share/nodejs
WEB_LIBS := jansson md cminpack apriltag qrencode png tiff jpeg webp qpdf zlib
WEB_A := $(WEB_LIBS:%=$(WEB)/lib/lib%.a)

# All that inspecting may call: the linker takes what it does.
WEB_ROOMS := base po html json scene course paper tag plan page draw image pose reference measure judge report
WEB_NOT := src/image/heif.c src/course/arrange.c src/course/geos.c src/course/painted.c src/course/regions.c src/draw/pdf.c src/draw/pdf_type.c
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

.PRECIOUS: $(WEB)/src/po/%.po
.PHONY: web
web: $(WEB)/check-module.js

# All by one program, which keeps those that are as they should be.
$(WEB)/lib/made: src/web/libraries.py src/web/sources.txt
	$(Q)$(WEB_ENV) $(PYTHON) src/web/libraries.py $(WEB) $(WEB_LIBS)
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
$(WEB)/src/%.o: src/% Makefile
	@mkdir -p $(@D)
	$(SAY) EMBED $<
	$(Q)$(EMBED) | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@
# Of a language what inspecting says.
$(WEB)/src/po/%.po: src/po/%.po
	@mkdir -p $(@D)
	$(Q)msggrep $(patsubst %,-N 'src/%/*',$(filter-out course paper plan page draw,$(WEB_ROOMS))) -o $@ $<
$(WEB)/src/po/%.o: $(WEB)/src/po/%.po Makefile
	$(SAY) WORDS $<
	$(Q)$(WORDS) | $(WEB_ENV) $(EMCC) -std=c11 -w -x c -c - -o $@

$(WEB)/face.js: $(WEB_OBJ) $(WEB)/lib/made
	$(SAY) LD $@
	$(Q)$(WEB_ENV) em++ -Oz $(WEB_LINK) -o $@ $(WEB_OBJ) $(WEB_A)

$(WEB)/check-module.js: $(WEB)/face.js src/web/worker.js src/web/pack.py
	$(SAY) PACK $@
	$(Q)$(PYTHON) src/web/pack.py $(WEB)/face.js $(WEB)/face.wasm src/web/worker.js $@

-include $(WEB_OBJ:.o=.d)
