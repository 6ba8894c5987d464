# wetside: build, check, install. GNU make.
#
#   make            the program, optimised, in build/release/wetside
#   make deps       installs what is missing with the system's package manager
#   make demo       opens the console on a throw-away book with the demo in it
#   make check      all tests, with the address and undefined-behaviour sanitizers
#   make tsan       the threaded tests with the thread sanitizer
#   make valgrind   the tests under valgrind
#   make torture    the tests of faults at their full size, and their figures, which takes the better
#                   part of an hour; then torture-fuzz, which takes another (TORTURE_SECONDS)
#   make fuzz       each reader of text under libFuzzer (clang), FUZZ_SECONDS each
#   make bench      each promise beside its floor
#   make lint       headers alone, clang, mandoc, format
#   make format     the house style, applied
#   make install    PREFIX, DESTDIR; make uninstall takes it back
#
# `make deps demo` and `make deps check` work from a bare clone: deps comes first, also with -j.
# Sound and speech are built in where their headers are found; SOUND=no and SPEECH=no leave them
# out. WERROR= turns warnings back into warnings. BUILD chooses the folder, VARIANT the kind of build
# (release, asan, tsan, fuzz). CFLAGS, CPPFLAGS, LDFLAGS, CC and PKG_CONFIG are honoured.

.SUFFIXES:
.DELETE_ON_ERROR:
.DEFAULT_GOAL := all

VERSION    := 0.1.0
PREFIX     ?= /usr/local
DESTDIR    ?=
BUILD      ?= build
VARIANT    ?= release
PKG_CONFIG ?= pkg-config
CC         ?= cc
WERROR     ?= -Werror
CFLAGS     ?= -O2 -g
CPPFLAGS   ?=
LDFLAGS    ?=
SOUND      ?= auto
SPEECH     ?= auto

ifeq ($(VARIANT),asan)
SANITIZE := -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
else ifeq ($(VARIANT),tsan)
# gcc inlines otherwise under it and then warns of what can't be: shown, not fatal.
SANITIZE := -fsanitize=thread -fno-omit-frame-pointer -Wno-error
else ifeq ($(VARIANT),fuzz)
# Of clang alone: its library of fuzzing brings the main of each target.
SANITIZE := -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
else
SANITIZE :=
endif

B := $(BUILD)/$(VARIANT)

# Asked when the first recipe needs them, not when this file is read: in `make deps check` what is
# asked for may not be installed yet. Asked once: an answer replaces its question.
# libcsv ships no .pc file; it is asked for by name.
PKGS        := ncursesw formw menuw panelw sqlite3 jansson
PKG_CFLAGS   = $(eval PKG_CFLAGS := $$(shell $(PKG_CONFIG) --cflags $(PKGS)))$(PKG_CFLAGS)
PKG_LIBS     = $(eval PKG_LIBS := $$(call from_archives,$$(shell $(PKG_CONFIG) --libs $(PKGS)) -lcsv -ldl))$(PKG_LIBS)
TEST_CFLAGS  = $(eval TEST_CFLAGS := $$(shell $(PKG_CONFIG) --cflags cmocka))$(TEST_CFLAGS)
TEST_LIBS    = $(eval TEST_LIBS := $$(shell $(PKG_CONFIG) --libs cmocka))$(TEST_LIBS)

# Small libraries are taken from their archives where there are any: each one that has to be loaded
# costs some 30 us before the first screen. STATIC= links them all shared.
STATIC      ?= formw menuw panelw jansson csv
archive      = $(filter /%,$(shell $(CC) -print-file-name=lib$(1).a))
from_archives = $(foreach word,$(1),$(or $(if $(filter $(word),$(STATIC:%=-l%)),$(call archive,$(word:-l%=%))),$(word)))

# What the program can do without: only headers are needed, the libraries are loaded when they are
# first used. WITH,switch,package,macro
WITH = $(if $(filter no,$(1)),,$(shell $(PKG_CONFIG) --exists $(2) 2>/dev/null && echo -D$(3) && $(PKG_CONFIG) --cflags $(2)))
OPTIONAL_CPPFLAGS = $(eval OPTIONAL_CPPFLAGS := $$(call WITH,$(SOUND),alsa,WS_ALSA) $$(call WITH,$(SPEECH),espeak-ng,WS_ESPEAK))$(OPTIONAL_CPPFLAGS)

# Commands are named, not shown; V=1 shows them.
Q := $(if $(V),,@)

# When deps is among the goals, everything that needs its fruits waits for it.
AFTER_DEPS := $(filter deps,$(MAKECMDGOALS))
# A make started by a recipe: on all cores, unless the person said -j.
CORES       := $(shell getconf _NPROCESSORS_ONLN 2>/dev/null || echo 2)
SUBMAKE      = $(MAKE) --no-print-directory $(if $(findstring -j,$(MAKEFLAGS)),,-j$(CORES))

WARN := -Wall -Wextra -Wpedantic -Wshadow -Wconversion $(WERROR)
ALL_CPPFLAGS = -Iinclude -D_GNU_SOURCE -DWS_VERSION='"$(VERSION)"' $(OPTIONAL_CPPFLAGS) $(CPPFLAGS)
ALL_CFLAGS   = -std=c17 $(WARN) -fno-common -fstack-protector-strong -pthread $(SANITIZE) $(CFLAGS)
# The library of the voice would open a sound device of its own: src/port/espeak.c answers instead.
NO_OWN_SOUND := -Wl,--export-dynamic-symbol=create_audio_device_object
ALL_LDFLAGS  = -pthread $(SANITIZE) $(if $(filter -DWS_ESPEAK,$(OPTIONAL_CPPFLAGS)),$(NO_OWN_SOUND)) $(LDFLAGS)

LAYERS := calc session book port drive console command
# What each layer may be linked with: itself and what lies below (the house's one rule).
BELOW_calc    := calc
BELOW_session := session calc
BELOW_book    := book session calc
BELOW_port    := port session calc
BELOW_drive   := drive book port session calc
BELOW_console := console drive book port session calc
BELOW_command := command drive book port session calc
BELOW_handbook := $(BELOW_command)
BELOW_fault    := $(BELOW_command)
BELOW_bench    := command $(BELOW_console)
BELOW_fuzz     := $(BELOW_bench)
BELOW_terminal := $(BELOW_bench)

# What is built in, by the layer that owns it.
DATA_port := $(sort $(wildcard data/phrases.*))
DATA_book := $(filter-out $(DATA_port),$(sort $(wildcard data/*)))

define LAYER_RULES
SRC_$(1) := $$(sort $$(wildcard src/$(1)/*.c))
OBJ_$(1) := $$(SRC_$(1):%.c=$(B)/%.o)
$(B)/lib$(1).a: $$(OBJ_$(1)) $(if $(DATA_$(1)),$(B)/data-$(1).o)
	@rm -f $$@
	@ar rcs $$@ $$^
endef
$(foreach l,$(LAYERS),$(eval $(call LAYER_RULES,$(l))))
libs_of = $(foreach l,$(BELOW_$(1)),$(B)/lib$(l).a)

OBJ_main := $(B)/src/main.o
PROGRAM  := $(B)/wetside

all: $(PROGRAM)

# What all objects were compiled with: a change of it compiles them anew.
FLAGS_NOW = $(CC) $(ALL_CPPFLAGS) $(ALL_CFLAGS) $(ALL_LDFLAGS)
$(B)/flags: FORCE | $(AFTER_DEPS)
	@mkdir -p $(@D)
	@printf '%s\n' '$(subst ','\'',$(FLAGS_NOW))' | cmp -s - $@ || \
	  printf '%s\n' '$(subst ','\'',$(FLAGS_NOW))' >$@
FORCE:

$(PROGRAM): $(OBJ_main) $(call libs_of,console) $(B)/libcommand.a
	@$(if $(V),,echo '  LINK $@')
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $(OBJ_main) -Wl,--start-group $(B)/libcommand.a $(call libs_of,console) -Wl,--end-group $(PKG_LIBS) -lm

$(B)/%.o: %.c $(B)/flags | $(AFTER_DEPS)
	@mkdir -p $(@D)
	@$(if $(V),,echo '  CC   $<')
	$(Q)$(CC) $(ALL_CPPFLAGS) $(PKG_CFLAGS) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

$(B)/tests/%.o: tests/%.c $(B)/flags | $(AFTER_DEPS)
	@mkdir -p $(@D)
	@$(if $(V),,echo '  CC   $<')
	$(Q)$(CC) $(ALL_CPPFLAGS) -Itests $(PKG_CFLAGS) $(TEST_CFLAGS) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

# Everything in data/ as bytes: ws_data_NAME and ws_data_NAME_size, dots and dashes as underscores.
define DATA_RULES
$(B)/data-$(1).c: $(DATA_$(1)) Makefile
	@mkdir -p $$(@D)
	@{ echo '#include "wetside/$(1)/data.h"'; for f in $(DATA_$(1)); do n=$$$$(basename $$$$f | tr '.-' '__'); \
	  echo "const unsigned char ws_data_$$$$n[] = {"; od -An -v -tx1 $$$$f | sed 's/\([0-9a-f][0-9a-f]\)/0x\1,/g'; \
	  echo "0 }; const unsigned long ws_data_$$$${n}_size = sizeof ws_data_$$$$n - 1;"; done; } > $$@

$(B)/data-$(1).o: $(B)/data-$(1).c include/wetside/$(1)/data.h $(B)/flags | $(AFTER_DEPS)
	$$(Q)$$(CC) $$(ALL_CPPFLAGS) $$(ALL_CFLAGS) -c -o $$@ $$<
endef
$(foreach l,port book,$(eval $(call DATA_RULES,$(l))))

# ---- tests: tests/LAYER/test_*.c, each one cmocka program linked with its layer and below
TEST_DIRS := $(LAYERS) handbook fault terminal
# Memory can run out in the tests of faults, and the system fail: tests/fault/alloc.c and own.c.
# What is acknowledged there, and who has a run's lock, is told: tests/fault/kill_told.c.
TEST_LDFLAGS_fault := $(addprefix -Xlinker --wrap=,malloc calloc realloc strdup open write fsync \
  close rename renameat2 mkdir stat lstat getrandom unlink \
  ws_run_keep ws_run_journal ws_run_close ws_owner_take ws_owner_release)
define TEST_RULES
TEST_SRC_$(1) := $$(sort $$(wildcard tests/$(1)/test_*.c))
TEST_BIN_$(1) := $$(TEST_SRC_$(1):%.c=$(B)/%)
# Kills and cuts are done to books made with the book's own aids; a run is listened to with the
# ears of port; a terminal is given back by a darkroom of the console's.
TEST_AID_$(1) := $$(patsubst %.c,$(B)/%.o,$$(filter-out tests/$(1)/test_%,$$(sort $$(wildcard tests/$(1)/*.c)))) $(if $(filter fault,$(1)),$$(TEST_AID_book) $(B)/tests/drive/plans.o $(B)/tests/drive/rig.o) $(if $(filter terminal,$(1)),$$(TEST_AID_console) $(B)/tests/fault/torture.o $(B)/tests/fuzz/fuzz.o) $(if $(filter drive,$(1)),$(B)/tests/port/aid_hear.o $(B)/tests/port/aid_listen.o)
$$(TEST_BIN_$(1)): $(B)/%: $(B)/%.o $$(TEST_AID_$(1)) $$(call libs_of,$(1))
	$$(Q)$$(CC) $$(ALL_LDFLAGS) $$(TEST_LDFLAGS_$(1)) -o $$@ $$(filter %.o,$$^) -Wl,--start-group $$(call libs_of,$(1)) -Wl,--end-group $$(TEST_LIBS) $$(PKG_LIBS) -lm
check-$(1): $$(TEST_BIN_$(1)) $(if $(filter terminal,$(1)),$$(PROGRAM))
	@$$(TEST_ENV) tests/run $$(TEST_BIN_$(1)) $(if $(filter terminal,$(1)),$$(filter tests/terminal/%,$$(TEST_SCRIPTS)))
endef
$(foreach l,$(TEST_DIRS),$(eval $(call TEST_RULES,$(l))))
# An ear for the tests: a plug-in of ALSA that writes down what is played to it. Without ALSA an
# empty file, and the tests that need it say so.
LISTEN := $(B)/tests/port/listen/libasound_module_pcm_listen.so
$(LISTEN): tests/port/listen/pcm_listen.c tests/port/listen/listen.h $(B)/flags | $(AFTER_DEPS)
	@mkdir -p $(@D)
	@$(if $(V),,echo '  SO   $<')
	$(Q)$(if $(filter -DWS_ALSA,$(OPTIONAL_CPPFLAGS)),$(CC) $(ALL_CPPFLAGS) -DPIC -std=c17 $(WARN) $(CFLAGS) -fPIC -shared $(LDFLAGS) -o $@ $< $$($(PKG_CONFIG) --libs alsa),: >$@)
$(B)/tests/port/test_alsa $(B)/tests/drive/test_heard: $(LISTEN)
ALL_TEST_BIN := $(foreach l,$(TEST_DIRS),$(TEST_BIN_$(l)))
# Fuzz targets: tests/fuzz/fuzz_*.c, one target for each reader of what comes from outside. Without
# clang, and in `make check`, driver.c plays the seeds and some thousands of their mutations.
FUZZ_BIN     := $(patsubst %.c,$(B)/%,$(sort $(wildcard tests/fuzz/fuzz_*.c)))
# Scripts, told where the build is: the house's own rules, faults, the program in a real terminal.
TEST_SCRIPTS := $(sort $(wildcard tests/house/test_*.sh tests/fault/test_*.sh tests/terminal/test_*.sh))
TEST_ENV      = B='$(abspath $(B))' WETSIDE='$(abspath $(PROGRAM))' CC='$(CC)' PKG_CONFIG='$(PKG_CONFIG)'

check: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=asan check-built
check-built: $(ALL_TEST_BIN) $(FUZZ_BIN) $(PROGRAM)
	@$(TEST_ENV) tests/run $(ALL_TEST_BIN) $(FUZZ_BIN) $(TEST_SCRIPTS)
tests: $(ALL_TEST_BIN) $(FUZZ_BIN) $(PROGRAM)

# The thread sanitizer of some compilers can't live with widely randomised addresses: setarch -R.
tsan: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=tsan tsan-built
tsan-built: $(TEST_BIN_port) $(TEST_BIN_drive) $(TEST_BIN_console)
	@WETSIDE_UNDER='$(shell setarch -R true 2>/dev/null && echo setarch -R)' tests/run $^

# Lost is what nothing points to any more. Not the pty's programs, nor what is heard: they live in
# real time.
VALGRIND := valgrind --quiet --leak-check=full --show-leak-kinds=definite \
  --errors-for-leak-kinds=definite --suppressions=tests/valgrind.supp --error-exitcode=99
valgrind: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=release valgrind-built
valgrind-built: $(filter-out %/console/test_terminal %/drive/test_heard $(TEST_BIN_terminal),$(ALL_TEST_BIN))
	@WETSIDE_UNDER='$(VALGRIND)' tests/run $^

# ---- torture: kills, power cuts, failing disks and memory at full size; one line of figures each
torture: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=asan torture-built
	+@$(SUBMAKE) torture-fuzz
torture-built: $(TEST_BIN_fault) $(PROGRAM)
	@figures='$(abspath $(B))/torture'; : >"$$figures"; status=0; \
	  $(TEST_ENV) WETSIDE_TORTURE=1 WETSIDE_FIGURES="$$figures" \
	    tests/run $(TEST_BIN_fault) $(filter tests/fault/%,$(TEST_SCRIPTS)) || status=1; \
	  sort "$$figures"; exit $$status

# ---- fuzz, built twice over: with driver.c, and with libFuzzer
FUZZ_MAIN    := $(if $(filter fuzz,$(VARIANT)),-fsanitize=fuzzer,$(B)/tests/fuzz/driver.o)
FUZZ_SECONDS ?= 5
$(FUZZ_BIN): $(B)/%: $(B)/%.o $(B)/tests/fuzz/fuzz.o $(filter %.o,$(FUZZ_MAIN)) $(call libs_of,fuzz)
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $(filter %.o,$^) $(filter -f%,$(FUZZ_MAIN)) -Wl,--start-group $(call libs_of,fuzz) -Wl,--end-group $(PKG_LIBS) -lm
check-fuzz: $(FUZZ_BIN)
	@tests/run $(FUZZ_BIN)
fuzz: | $(AFTER_DEPS)
	+@$(SUBMAKE) CC='$(CLANG)' VARIANT=fuzz fuzz-built
fuzz-built: $(FUZZ_BIN)
	@tests/fuzz/run $(FUZZ_SECONDS) '$(B)/fuzz-kept' $(FUZZ_BIN)
# An hour in all, or TORTURE_SECONDS: a sixth of it random keys in the real program, the rest shared
# by the targets. Without clang each of them plays what driver.c makes of the seeds.
TORTURE_SECONDS ?= 3600
torture-fuzz: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=asan torture-keys-built
	+@if command -v '$(CLANG)' >/dev/null; then \
	    $(SUBMAKE) CC='$(CLANG)' VARIANT=fuzz fuzz-built \
	      FUZZ_SECONDS=$$(($(TORTURE_SECONDS) * 5 / 6 * $(CORES) / $(words $(FUZZ_BIN)))); \
	  else $(SUBMAKE) VARIANT=asan torture-seeds-built; fi
torture-keys-built: $(PROGRAM) $(B)/tests/terminal/test_random_keys
	@$(TEST_ENV) WETSIDE_TORTURE=1 WETSIDE_SECONDS=$$(($(TORTURE_SECONDS) / 6)) \
	  $(B)/tests/terminal/test_random_keys
torture-seeds-built: $(FUZZ_BIN)
	@for f in $(FUZZ_BIN); do $$f $$(($(TORTURE_SECONDS) * 300)) || exit 1; done

# ---- bench: tests/bench/bench_*.c, one program for each promise, run in order of name
BENCH_SRC := $(sort $(wildcard tests/bench/bench_*.c))
BENCH_BIN := $(BENCH_SRC:%.c=$(B)/%)
BENCH_AID := $(patsubst %.c,$(B)/%.o,$(filter-out tests/bench/bench_%,$(sort $(wildcard tests/bench/*.c))))
$(BENCH_BIN): $(B)/%: $(B)/%.o $(BENCH_AID) $(call libs_of,bench)
	$(Q)$(CC) $(ALL_LDFLAGS) -o $@ $(filter %.o,$^) -Wl,--start-group $(call libs_of,bench) -Wl,--end-group $(PKG_LIBS) -lm
bench: | $(AFTER_DEPS)
	+@$(SUBMAKE) VARIANT=release bench-built
bench-built: $(BENCH_BIN) $(PROGRAM)
	@status=0; for b in $(BENCH_BIN); do $(TEST_ENV) $$b || status=1; done; exit $$status

# ---- the demo, the dependencies
demo: | $(AFTER_DEPS)
	+@$(SUBMAKE) all
	@$(PROGRAM) demo

deps:
	@CC='$(CC)' PKG_CONFIG='$(PKG_CONFIG)' .ci/deps
deps-all:
	@CC='$(CC)' PKG_CONFIG='$(PKG_CONFIG)' .ci/deps --all

# ---- how it is written
CLANG        ?= $(or $(shell command -v clang-14),clang)
CLANG_FORMAT ?= $(or $(shell command -v clang-format-14),clang-format)
WRITTEN      := $(sort $(shell find include src tests -name '*.[ch]' 2>/dev/null))
MANUALS      := $(sort $(wildcard man/*.[1-9]))
lint: | $(AFTER_DEPS)
	+@$(SUBMAKE) CC='$(CLANG)' BUILD='$(BUILD)/clang' VARIANT=release WERROR=-Werror tests
	@CC='$(CLANG)' tests/run tests/house/test_headers.sh tests/house/test_includes.sh
	mandoc -T lint -W style $(MANUALS)
	$(CLANG_FORMAT) --dry-run -Werror $(WRITTEN)
format:
	$(CLANG_FORMAT) -i $(WRITTEN)

# ---- install
install: $(PROGRAM)
	install -d '$(DESTDIR)$(PREFIX)/bin'
	install -m 755 $(PROGRAM) '$(DESTDIR)$(PREFIX)/bin/wetside'
	for m in $(MANUALS); do d='$(DESTDIR)$(PREFIX)/share/man/man'$${m##*.}; \
	  install -d "$$d" && install -m 644 $$m "$$d" || exit 1; done
uninstall:
	rm -f '$(DESTDIR)$(PREFIX)/bin/wetside'
	for m in $(MANUALS); do rm -f '$(DESTDIR)$(PREFIX)/share/man/man'$${m##*.}/$${m##*/}; done

clean:
	rm -rf $(BUILD)

.PHONY: all check check-built torture torture-built torture-fuzz torture-keys-built torture-seeds-built \
  check-fuzz fuzz fuzz-built tests tsan tsan-built valgrind valgrind-built bench bench-built demo \
  deps deps-all lint format install uninstall clean FORCE $(TEST_DIRS:%=check-%)

-include $(shell find $(B) -name '*.d' 2>/dev/null)
