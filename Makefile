# dutyproof - see README.md for use and DEVELOPERS.md for how it is built
.DELETE_ON_ERROR:
.SUFFIXES:

VERSION := 0.1.0
PREFIX ?= /usr/local
CC ?= cc
B ?= build

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wvla
ifdef WERROR
WARN += -Werror
endif
# No contraction and no fast-math: the same numbers on every machine.
CFLAGS ?= -O2 -g
ALL_CFLAGS = -std=c17 -ffp-contract=off -D_POSIX_C_SOURCE=200809L $(WARN) $(CFLAGS) $(SANFLAGS) -Iinclude -I$(B) -DDUTYPROOF_VERSION='"$(VERSION)"' -MMD -MP -pthread
ifdef SANITIZE
SANFLAGS := -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
endif
LIBS := -lcsv -lgsl -lgslcblas -ljansson -lnettle -lz -lm -pthread
CHECK_LIBS := $(shell pkg-config --libs check 2>/dev/null)

LIB_SRC := $(filter-out src/main.c,$(wildcard src/*.c))
LIB_OBJ := $(LIB_SRC:src/%.c=$(B)/%.o) $(B)/builtin_tables.o
UNIT_SRC := $(wildcard tests/unit/*.c)
UNIT_OBJ := $(UNIT_SRC:tests/unit/%.c=$(B)/unit/%.o)

.PHONY: all deps demo check bench install clean
all: $(B)/dutyproof $(B)/libdutyproof.a

$(B)/dutyproof: $(B)/main.o $(B)/libdutyproof.a
	$(CC) $(SANFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS)

$(B)/libdutyproof.a: $(LIB_OBJ)
	rm -f $@
	$(AR) rcs $@ $^

$(B)/%.o: src/%.c | $(B)
	$(CC) $(ALL_CFLAGS) -c -o $@ $<

# The reference tables become C strings: one function builtin_find(name) over all of reference/*.csv.
$(B)/builtin_tables.c: $(wildcard reference/*.csv) src/embed_tables.awk | $(B)
	LC_ALL=C awk -f src/embed_tables.awk $(sort $(wildcard reference/*.csv)) > $@
$(B)/builtin_tables.o: $(B)/builtin_tables.c
	$(CC) $(ALL_CFLAGS) -c -o $@ $<

$(B) $(B)/unit:
	mkdir -p $@

# --- tests ---
# tests/unit/test_NAME.c defines Suite *NAME_suite(void); the list of suites is made from the file names.
UNIT_NAMES := $(patsubst tests/unit/test_%.c,%,$(wildcard tests/unit/test_*.c))
$(B)/suites.h: $(wildcard tests/unit) | $(B)
	{ for n in $(sort $(UNIT_NAMES)); do echo "SUITE($$n)"; done; } > $@
$(B)/unit/%.o: tests/unit/%.c $(B)/suites.h | $(B)/unit
	$(CC) $(ALL_CFLAGS) -Itests/unit -c -o $@ $<
$(B)/unit_tests: $(UNIT_OBJ) $(B)/libdutyproof.a
	$(CC) $(SANFLAGS) $(LDFLAGS) -o $@ $^ $(CHECK_LIBS) $(LIBS)

check: all $(B)/unit_tests
	$(B)/unit_tests

clean:
	rm -rf $(B)

-include $(wildcard $(B)/*.d $(B)/unit/*.d)
