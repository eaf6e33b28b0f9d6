# Tests. Each tests/unit/check_NAME.c is one Check program, linked with the static library so that
# it reaches the inner functions too. The same programs run again under ASan and UBSan.

UNIT_SRC  := $(sort $(wildcard tests/unit/check_*.c))
UNIT_BIN  := $(UNIT_SRC:%.c=$(BUILD)/%)
# Programs that are run and thrown away are linked by what links fastest, where it is there.
FAST_LD := $(if $(shell command -v ld.gold),-fuse-ld=gold)
CHECK_LIBS = $(shell $(PKG_CONFIG) --libs check)
CHECK_CFLAGS = $(shell $(PKG_CONFIG) --cflags check)

# Allocation-failure tests count and refuse our own calls only: the wrapped symbols are those of the
# objects linked statically here.
WRAP := -Wl,--wrap=malloc -Wl,--wrap=calloc -Wl,--wrap=realloc

# An independent table of sheet sizes, for that one program.
LIBS_paper := -lcups
# The command's own files.
OBJ_files := $(filter $(BUILD)/src/cli/files.o $(BUILD)/src/cli/place.o $(BUILD)/src/cli/options.o $(BUILD)/src/cli/terminal.o,$(CLI_OBJ))

OBJ_face := $(BUILD)/src/web/face.o
OBJ_desk := $(BUILD)/src/web/desk.o

UNIT_COMMON := $(BUILD)/tests/unit/common.o

$(BUILD)/tests/unit/%.o: tests/unit/%.c Makefile tests/tests.mk
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) $(CHECK_CFLAGS) -Itests/unit -MMD -MP -c $< -o $@

$(BUILD)/tests/unit/check_files: $(OBJ_files)
$(BUILD)/tests/unit/check_face: $(OBJ_face)
$(BUILD)/tests/unit/check_desk: $(OBJ_desk)
$(BUILD)/tests/unit/check_%: $(BUILD)/tests/unit/check_%.o $(UNIT_COMMON) $(LIB_A)
	$(SAY) LD $@
	$(Q)$(CC) $(FAST_LD) $(ALL_LDFLAGS) -o $@ $< $(OBJ_$*) $(UNIT_COMMON) $(LIB_A) $(if $(findstring alloc,$*),$(WRAP)) $(CHECK_LIBS) $(LIBS) $(LIBS_$*)

.SECONDARY: $(UNIT_SRC:%.c=$(BUILD)/%.o)

.PHONY: test-unit test-sanitized test-bad test-outside test-long units
units: $(UNIT_BIN)

# Side by side where make has jobs to spare (-j), each program's words together. The multiplier lets a
# busy machine take its time.
MAKEFLAGS += --output-sync=target
UNIT_ALLOC := $(foreach bin,$(UNIT_BIN),$(if $(findstring alloc,$(notdir $(bin))),$(bin)))
UNIT_RUN := $(UNIT_BIN:%=%.run)
.PHONY: $(UNIT_RUN)
test-unit: $(BIN) $(UNIT_RUN)
$(UNIT_RUN): %.run: %
	@echo "== $<"; CK_TIMEOUT_MULTIPLIER=5 $<

SAN_FLAGS := -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer

test-sanitized:
	@$(MAKE) --no-print-directory BUILD=$(BUILD)/sanitized OPT="-O1 -g1" SANITIZE="$(SAN_FLAGS)" test-unit test-bad test-replay

# Fuzz targets. A plain replayer runs them over every input of their kind that the checkout has;
# `make fuzz-course` builds the fuzzer itself, which needs clang.
FUZZ_SRC := $(sort $(wildcard tests/fuzz/fuzz_*.c))
FUZZ_BIN := $(FUZZ_SRC:%.c=$(BUILD)/%)
REPLAYED_course = $(wildcard tests/bad/course/*.course layouts/*.course tests/outside/*.course)
REPLAYED_plan = $(wildcard tests/fuzz/plan/* tests/bad/plan/*.plan.json)
REPLAYED_printer = $(wildcard tests/fuzz/printer/* tests/bad/printer/*.json tests/bad/inspect/*.scanner.json)
REPLAYED_inspection = $(wildcard tests/fuzz/inspection/* tests/bad/calibrate/*.json)
REPLAYED_image = $(wildcard tests/fuzz/image/* tests/bad/image/*.png tests/bad/image/*.jpg tests/bad/image/*.pdf tests/bad/image/*.avif tests/bad/image/*.heic)

$(BUILD)/tests/fuzz/%.o: tests/fuzz/%.c Makefile tests/tests.mk
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -MMD -MP -c $< -o $@

$(BUILD)/tests/fuzz/fuzz_%: $(BUILD)/tests/fuzz/fuzz_%.o $(BUILD)/tests/fuzz/replay.o $(LIB_A)
	$(SAY) LD $@
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $(filter %.o,$^) $(LIB_A) $(LIBS)

.PHONY: test-replay
.PRECIOUS: $(BUILD)/tests/fuzz/%.o
test-replay: $(FUZZ_BIN:%=%.replayed)
$(BUILD)/tests/fuzz/fuzz_%.replayed: $(BUILD)/tests/fuzz/fuzz_%
	@echo "== $<"; $< $(REPLAYED_$*)

FUZZER := -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
FUZZ_MAKE = $(MAKE) --no-print-directory BUILD=$(BUILD)/fuzz CC=clang OPT="-O1 -g" WARNINGS= SANITIZE="$(FUZZER)"
.PHONY: fuzz-library
# One make of the library, however many targets are asked for at once.
fuzz-library:
	+@$(FUZZ_MAKE) $(BUILD)/fuzz/libpavior.a
fuzz-%: fuzz-library
	+@$(FUZZ_MAKE) $(BUILD)/fuzz/tests/fuzz/fuzz_$*.o
	clang -fsanitize=fuzzer,address,undefined -o $(BUILD)/fuzz/$* $(BUILD)/fuzz/tests/fuzz/fuzz_$*.o \
	    $(BUILD)/fuzz/libpavior.a $(LIBS)

test-bad: $(BIN)
	@$(PYTHON) tests/bad/run.py $(BIN)
	@$(PYTHON) tests/bad/files.py $(BIN)
	@$(PYTHON) tests/bad/kits.py $(BIN)
	@$(PYTHON) tests/bad/collects.py $(BIN)
	@$(PYTHON) tests/bad/worksheet.py

# What somebody measured with a printer, a scanner and a phone, held against what is assumed of them.
.PHONY: worksheet
worksheet:
	@$(PYTHON) docs/scripts/worksheet.py "$(FILE)"

# Every text is translated, and no translation can break a program.
.PHONY: test-words
test-words:
	@$(PYTHON) src/po/words.py $(BUILD) --check

# The documents' examples still parse, and their pictures are as committed.
.PHONY: test-pictures
test-pictures: $(BIN)
	@$(PYTHON) docs/scripts/links.py
	@$(PYTHON) docs/scripts/options.py $(BIN)
	@$(PYTHON) docs/scripts/diagrams.py --check
	@$(PYTHON) docs/scripts/pictures.py --check $(BIN)

# The longest first, so that none is left alone at the end.
LONGEST := web loop card reference calibrate answers collect shape inputs
OUTSIDE := $(LONGEST:%=tests/outside/test_%.py)
# Those that prove something by many draws are left to the long run.
MANY := campaign marks card_trace
OUTSIDE += $(filter-out $(OUTSIDE) $(MANY:%=tests/outside/test_%.py),$(sort $(wildcard tests/outside/test_*.py)))
# Large arrays come and go: the C library is told to keep their memory, or a quarter of the time goes
# into handing it back.
HEAP := MALLOC_MMAP_MAX_=0 MALLOC_TRIM_THRESHOLD_=100000000000 MALLOC_TOP_PAD_=67108864
WITH_TOOLS = $(HEAP) PAVIOR=$(BIN) POSE_OF=$(POSE_OF) FILL_OF=$(FILL_OF) $(PYTHON)
# A window on the pose, for test_pose.py and test_opencv.py; on the templates, for test_pages.py.
POSE_OF := $(BUILD)/tests/outside/pose_of
FILL_OF := $(BUILD)/tests/outside/fill_of
WINDOWS := $(POSE_OF) $(FILL_OF)
$(WINDOWS): %: %.o $(LIB_A)
	$(SAY) LD $@
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $< $(LIB_A) $(LIBS)
$(WINDOWS:%=%.o): $(BUILD)/%.o: %.c Makefile tests/tests.mk
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -MMD -MP -c $< -o $@
-include $(WINDOWS:%=%.d)

# The PDF library alone, for bench_scale.py.
REPLAY_PAGES := $(BUILD)/tests/outside/replay_pages
$(REPLAY_PAGES): tests/outside/replay_pages.c Makefile tests/tests.mk
	@mkdir -p $(@D)
	$(SAY) LD $@
	$(Q)$(CC) $(ALL_CFLAGS) $(ALL_LDFLAGS) -o $@ $< -lhpdf -lm

OUTSIDE_RUN := $(OUTSIDE:%=%.run)
.PHONY: $(OUTSIDE_RUN)
test-outside: $(BIN) $(WINDOWS) $(OUTSIDE_RUN)
$(OUTSIDE_RUN): %.run: $(BIN) $(WINDOWS)
	@echo "== $*"; $(WITH_TOOLS) $*

# Every page by every renderer, and hundreds of draws: hours on two cores.
LONG := render laid loop card opencv calibrate reference shape inputs codes guide advice libm kit collect install course web
test-long: $(BIN) $(WINDOWS) $(UNIT_BIN)
	@.ci/install test
	@$(MAKE) --no-print-directory test-unit
	@for t in check_plan $(notdir $(UNIT_ALLOC)); do \
	    PAVIOR_DRAWS=2500 CK_TIMEOUT_MULTIPLIER=20 $(BUILD)/tests/unit/$$t || exit 1; done
	@PAVIOR_DRAWS=200 CK_TIMEOUT_MULTIPLIER=20 $(BUILD)/tests/unit/check_plan_json
	@for t in $(LONG); do $(WITH_TOOLS) tests/outside/test_$$t.py --long || exit 1; done
	@$(WITH_TOOLS) tests/outside/test_card_trace.py --draws 4
	@$(WITH_TOOLS) tests/outside/test_marks.py --draws 200
	@$(WITH_TOOLS) tests/outside/test_editions.py --edits 200
	@$(WITH_TOOLS) tests/outside/test_campaign.py --draws 400

bench:
	@.ci/install build test
	@$(MAKE) --no-print-directory all
	@$(MAKE) --no-print-directory $(REPLAY_PAGES)
	@$(PYTHON) tests/bench.py $(BIN)
	@$(PYTHON) tests/bench_scale.py $(BIN) $(REPLAY_PAGES)

# Unit tests run once, with the sanitizers: the same cases, and more is seen. What is shipped is run by
# test-outside and test-bad, and by the unit tests in the long run.
test:
	@.ci/install build test
	@$(MAKE) --no-print-directory all
	@$(MAKE) --no-print-directory test-sanitized test-outside test-bad test-pictures test-words

-include $(UNIT_SRC:%.c=$(BUILD)/%.d) $(UNIT_COMMON:.o=.d) $(FUZZ_SRC:%.c=$(BUILD)/%.d)
