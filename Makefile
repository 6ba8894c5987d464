# wetside: build, check, install. GNU make.
#
#   make            the program, optimised, in build/release/wetside
#   make deps       installs what is missing with the system's package manager
#   make demo       opens the console on a throw-away book with the demo in it
#   make check      all tests, with the address and undefined-behaviour sanitizers
#   make tsan       the threaded tests with the thread sanitizer
#   make valgrind   the tests under valgrind
#   make bench      each promise beside its floor
#   make lint       headers alone, clang, mandoc, format
#   make install    PREFIX, DESTDIR
#
# WERROR= turns warnings back into warnings. BUILD chooses the folder, VARIANT the kind of build.

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

ifeq ($(VARIANT),asan)
SANITIZE := -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
else ifeq ($(VARIANT),tsan)
SANITIZE := -fsanitize=thread -fno-omit-frame-pointer
else
SANITIZE :=
endif

B := $(BUILD)/$(VARIANT)

LIBRARIES := ncursesw formw menuw panelw sqlite3 jansson libcsv
# libcsv ships no .pc file; it is asked for by name below.
PKGS      := ncursesw formw menuw panelw sqlite3 jansson
PKG_CFLAGS  = $(shell $(PKG_CONFIG) --cflags $(PKGS))
PKG_LIBS    = $(shell $(PKG_CONFIG) --libs $(PKGS)) -lcsv
TEST_CFLAGS = $(shell $(PKG_CONFIG) --cflags cmocka)
TEST_LIBS   = $(shell $(PKG_CONFIG) --libs cmocka)

WARN := -Wall -Wextra -Wpedantic -Wshadow -Wconversion $(WERROR)
ALL_CPPFLAGS = -Iinclude -D_GNU_SOURCE -DWS_VERSION='"$(VERSION)"' $(CPPFLAGS)
ALL_CFLAGS   = -std=c17 $(WARN) -fno-common -fstack-protector-strong -pthread $(SANITIZE) $(CFLAGS)
ALL_LDFLAGS  = -pthread $(SANITIZE) $(LDFLAGS)

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

DATA      := $(sort $(wildcard data/*))
DATA_OBJ  := $(B)/data.o

define LAYER_RULES
SRC_$(1) := $$(sort $$(wildcard src/$(1)/*.c))
OBJ_$(1) := $$(SRC_$(1):%.c=$(B)/%.o)
$(B)/lib$(1).a: $$(OBJ_$(1)) $(if $(filter book,$(1)),$(DATA_OBJ))
	@rm -f $$@
	@ar rcs $$@ $$^
endef
$(foreach l,$(LAYERS),$(eval $(call LAYER_RULES,$(l))))
libs_of = $(foreach l,$(BELOW_$(1)),$(B)/lib$(l).a)

OBJ_main := $(B)/src/main.o
PROGRAM  := $(B)/wetside

all: $(PROGRAM)

$(PROGRAM): $(OBJ_main) $(call libs_of,console) $(B)/libcommand.a
	$(CC) $(ALL_LDFLAGS) -o $@ $(OBJ_main) -Wl,--start-group $(B)/libcommand.a $(call libs_of,console) -Wl,--end-group $(PKG_LIBS) -lm

$(B)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CPPFLAGS) $(PKG_CFLAGS) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

$(B)/tests/%.o: tests/%.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CPPFLAGS) -Itests $(PKG_CFLAGS) $(TEST_CFLAGS) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

# Everything in data/ as bytes: ws_data_NAME and ws_data_NAME_size, dots and dashes as underscores.
$(B)/data.c: $(DATA) Makefile
	@mkdir -p $(@D)
	@{ echo '#include "wetside/book/data.h"'; for f in $(DATA); do n=$$(basename $$f | tr '.-' '__'); \
	  echo "const unsigned char ws_data_$$n[] = {"; od -An -v -tx1 $$f | sed 's/\([0-9a-f][0-9a-f]\)/0x\1,/g'; \
	  echo "0 }; const unsigned long ws_data_$${n}_size = sizeof ws_data_$$n - 1;"; done; } > $@

$(B)/data.o: $(B)/data.c
	$(CC) $(ALL_CPPFLAGS) $(ALL_CFLAGS) -c -o $@ $<

# ---- tests: tests/LAYER/test_*.c, each one cmocka program linked with its layer and below
TEST_DIRS := $(LAYERS) handbook
define TEST_RULES
TEST_SRC_$(1) := $$(sort $$(wildcard tests/$(1)/test_*.c))
TEST_BIN_$(1) := $$(TEST_SRC_$(1):%.c=$(B)/%)
TEST_AID_$(1) := $$(patsubst %.c,$(B)/%.o,$$(filter-out tests/$(1)/test_%,$$(sort $$(wildcard tests/$(1)/*.c))))
$$(TEST_BIN_$(1)): $(B)/%: $(B)/%.o $$(TEST_AID_$(1)) $$(call libs_of,$(1))
	@$(CC) $(ALL_LDFLAGS) -o $$@ $$(filter %.o,$$^) -Wl,--start-group $$(call libs_of,$(1)) -Wl,--end-group $(TEST_LIBS) $(PKG_LIBS) -lm
check-$(1): $$(TEST_BIN_$(1))
	@tests/run $$(TEST_BIN_$(1))
endef
$(foreach l,$(TEST_DIRS),$(eval $(call TEST_RULES,$(l))))
ALL_TEST_BIN := $(foreach l,$(TEST_DIRS),$(TEST_BIN_$(l)))

.PHONY: all clean
clean:
	rm -rf $(BUILD)

-include $(shell find $(B) -name '*.d' 2>/dev/null)
