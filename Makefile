# dutyproof - README.md says how it is used, DEVELOPERS.md how it is built and changed
#
#   make            the program and the library, in build/
#   make deps       installs what building, running and testing need (Debian), or says what to install
#   make demo       sets up, builds and reduces the sample bay
#   make check      sets up, builds and runs every test     SANITIZE=1: under ASan and UBSan; T='fit reduce-*': those of these names
#   make long       the same whole where check takes a sample: every failure, ten thousand kills, long fuzzing, all mutations; hours
#   make format-check   the layout of every source; make format lays them out
#   make fuzz-NAME  looks for inputs that break NAME (number, unit, date, table, bay, reduce)     SECONDS=600, needs clang
#   make coverage   branch coverage of what judges, fits and reads
#   make bench      speed against other ways of doing the same, side by side
#   make install    PREFIX, DESTDIR
#
# B=DIR builds elsewhere; CC=clang, WERROR=1, CFLAGS=... as usual; V=1 shows the commands.
.DELETE_ON_ERROR:
.SUFFIXES:

VERSION := 0.1.0
PREFIX ?= /usr/local
CFLAGS ?= -O2 -g
B ?= $(if $(SANITIZE),build/sanitize,build)

OBJCOPY ?= objcopy

Q := $(if $(V),,@)
SAY := @$(if $(V),:,echo)

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wvla \
        $(if $(WERROR),-Werror)
SAN = $(if $(SANITIZE),-fsanitize=address$(,)undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
# Hardening, not under sanitizers, which see more. HARDEN= HARDEN_LD= leave it out. Fortified calls need optimisation.
HARDEN ?= -fstack-protector-strong $(if $(filter -O1 -O2 -O3 -Os,$(CFLAGS)),-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2)
HARDEN_LD ?= -Wl,-z,relro,-z,now
# No contraction and no fast mathematics: the same numbers on every machine.
ALL_CFLAGS = -std=c17 -D_POSIX_C_SOURCE=200809L -ffp-contract=off $(WARN) $(if $(SANITIZE),,$(HARDEN)) $(CFLAGS) $(SAN) -pthread \
             -Iinclude -Isrc -I$(B) -DDUTYPROOF_VERSION='"$(VERSION)"' -DDUTYPROOF_LIBDIR='"$(PREFIX)/lib/dutyproof"' -MMD -MP
LIBS := -lcsv -lgsl -lgslcblas -ljansson -lnettle -lsqlite3 -lz -lm -ldl -pthread
# The PDF printer is a module of its own, loaded when a PDF is printed: only it is linked to Pango, Cairo and librsvg.
PDF_PACKAGES := pangocairo cairo-pdf librsvg-2.0 libqrencode fontconfig
PDF_CFLAGS = $(patsubst -I%,-isystem %,$(shell pkg-config --cflags $(PDF_PACKAGES))) -fPIC -fvisibility=hidden
PDF_LIBS = $(shell pkg-config --libs $(PDF_PACKAGES)) -lm
CHECK_LIBS = $(shell pkg-config --libs check)
LINK = $(CC) $(CFLAGS) $(SAN) $(HARDEN_LD) $(LDFLAGS) -o $@

SOURCES := $(sort $(shell find src -name '*.c'))
CLI_SRC := src/main.c $(filter src/cli/%,$(SOURCES))
PDF_SRC := $(filter src/papers/pdf/%,$(SOURCES))
PDF_OBJ := $(PDF_SRC:src/%.c=$(B)/%.o)
LIB_OBJ := $(patsubst src/%.c,$(B)/%.o,$(filter-out $(CLI_SRC) $(PDF_SRC),$(SOURCES))) $(B)/builtin_tables.o
CLI_OBJ := $(CLI_SRC:src/%.c=$(B)/%.o)
UNIT_OBJ := $(patsubst tests/unit/%.c,$(B)/unit/%.o,$(wildcard tests/unit/*.c))
TABLES := $(sort $(wildcard reference/*.csv))

.PHONY: all deps demo check long format format-check bench install clean
all: $(B)/dutyproof $(B)/libdutyproof.a $(B)/dutyproof_pdf.so $(B)/installed/libdutyproof.a

$(B)/dutyproof: $(CLI_OBJ) $(B)/libdutyproof.a
	$(SAY) LD $@
	$(Q)$(LINK) $^ $(LIBS)

$(B)/libdutyproof.a: $(LIB_OBJ)
	@rm -f $@
	$(Q)$(AR) rcs $@ $^

# What is installed: one object that exports include/dutyproof.h's names and no other.
$(B)/installed/libdutyproof.a: $(LIB_OBJ)
	@mkdir -p $(@D)
	$(Q)$(LD) -r -o $(@D)/dutyproof.o $^ && $(OBJCOPY) --wildcard --keep-global-symbol='dutyproof_*' $(@D)/dutyproof.o
	@rm -f $@
	$(Q)$(AR) rcs $@ $(@D)/dutyproof.o

$(B)/dutyproof_pdf.so: $(PDF_OBJ)
	$(SAY) LD $@
	$(Q)$(LINK) -shared $(if $(SANITIZE),,-Wl$(,)-z$(,)defs) $^ $(PDF_LIBS)
$(PDF_OBJ): ALL_CFLAGS += $(PDF_CFLAGS)

$(B)/%.o: src/%.c
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -c -o $@ $<

# The reference tables, built in as C strings.
$(B)/builtin_tables.c: $(TABLES) src/embed_tables.awk
	@mkdir -p $(@D)
	$(Q)LC_ALL=C awk -f src/embed_tables.awk $(TABLES) > $@
$(B)/builtin_tables.o: $(B)/builtin_tables.c
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -c -o $@ $<

# --- use ---
deps:
	.ci/deps test

demo:
	.ci/deps run
	$(MAKE) all
	tests/demo.sh $(B)/dutyproof

# --- tests: tests/unit (Check), tests/cli (the program on real files), tests/outside (against other sources) ---
# tests/unit/test_NAME.c defines Suite *NAME_suite(void); suites.h lists them.
$(B)/suites.h: $(wildcard tests/unit/test_*.c)
	@mkdir -p $(@D)
	@printf 'SUITE(%s)\n' $(sort $(patsubst tests/unit/test_%.c,%,$(wildcard tests/unit/test_*.c))) > $@
$(B)/unit/%.o: tests/unit/%.c $(B)/suites.h
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) -Itests/unit -c -o $@ $<
$(B)/unit_tests: $(UNIT_OBJ) $(B)/libdutyproof.a | $(B)/dutyproof_pdf.so
	$(SAY) LD $@
	$(Q)$(LINK) $^ $(CHECK_LIBS) $(LIBS)
$(B)/probe/%: tests/outside/%.c $(B)/libdutyproof.a
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(ALL_CFLAGS) $(LDFLAGS) -o $@ $< $(B)/libdutyproof.a $(LIBS)
PROBES := $(patsubst tests/outside/%.c,$(B)/probe/%,$(wildcard tests/outside/*.c))

# The fuzzers of tests/fuzz: check runs their kept inputs, fuzz-NAME looks for more.
FUZZERS := $(patsubst tests/fuzz/fuzz_%.c,%,$(wildcard tests/fuzz/fuzz_*.c))
REPLAYS := $(FUZZERS:%=$(B)/fuzz/%)
$(REPLAYS): $(B)/fuzz/%: tests/fuzz/fuzz_%.c tests/fuzz/replay.c tests/fuzz/fuzz.c tests/fuzz/fuzz.h $(B)/libdutyproof.a
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(filter-out -MMD -MP,$(ALL_CFLAGS)) $(LDFLAGS) -o $@ $(filter %.c,$^) $(B)/libdutyproof.a $(LIBS)

# What fails on purpose, tests/torture: allocations inside a process, system calls of the program.
$(B)/torture/alloc: tests/torture/alloc.c $(B)/libdutyproof.a
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(filter-out -MMD -MP,$(ALL_CFLAGS)) $(LDFLAGS) \
	    $(if $(SANITIZE),-DWRAPPED -Wl$(,)--wrap=malloc$(,)--wrap=calloc$(,)--wrap=realloc$(,)--wrap=free) -o $@ $^ $(LIBS)
$(B)/torture/shim.so: tests/torture/shim.c
	@mkdir -p $(@D)
	$(SAY) CC $<
	$(Q)$(CC) $(filter-out -MMD -MP,$(ALL_CFLAGS)) -fPIC -shared -o $@ $< -ldl

SECONDS := 600
.PHONY: fuzzers $(FUZZERS:%=fuzz-%)
fuzzers:
	$(MAKE) B=$(B)/fuzzing CC=clang SANITIZE=1 SAN='-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all' \
	    CFLAGS='-O1 -g' $(FUZZERS:%=$(B)/fuzzing/fuzzer/%)
$(FUZZERS:%=fuzz-%): fuzz-%: fuzzers
	tests/fuzz/run.sh $(B) $* $(SECONDS)
$(FUZZERS:%=$(B)/fuzzer/%): $(B)/fuzzer/%: tests/fuzz/fuzz_%.c tests/fuzz/fuzz.c tests/fuzz/fuzz.h $(B)/libdutyproof.a
	@mkdir -p $(@D)
	$(CC) $(filter-out -MMD -MP,$(ALL_CFLAGS)) -fsanitize=fuzzer -o $@ $(filter %.c,$^) $(B)/libdutyproof.a $(LIBS)

# tests/check.py runs all of it side by side. T: only what has these names.
TESTED := all $(B)/unit_tests $(PROBES) $(REPLAYS) $(B)/torture/alloc $(if $(SANITIZE),,$(B)/torture/shim.so)
check:
	.ci/deps test
	$(MAKE) check-built
.PHONY: check-built
check-built: $(TESTED)
	@$(if $(SANITIZE),SANITIZE=1) PUBLIC_FLAGS='$(SAN)' PUBLIC_LIBS='$(LIBS)' tests/check.py $(B) $(foreach name,$(T),'$(name)')

# Hours: before what is done is called done.
long:
	.ci/deps ci
	$(MAKE) $(TESTED) fuzzers
	tests/check.py $(B) --long $(foreach name,$(T),'$(name)')

C_FILES = $(shell find src include tests -name '*.[ch]')
format:
	clang-format -i $(C_FILES)
format-check:
	@if command -v clang-format > /dev/null; then clang-format --dry-run -Werror $(C_FILES); \
	else echo "format-check: clang-format is not installed, no layout was looked at"; fi

# Branch coverage of what judges, fits and reads. DEVELOPERS.md says why a branch is not covered.
.PHONY: coverage coverage-built
coverage:
	.ci/deps test
	$(MAKE) B=$(B)/coverage CFLAGS='-O0 -g --coverage' LDFLAGS=--coverage coverage-built
coverage-built: all $(B)/unit_tests $(PROBES) $(REPLAYS) $(B)/torture/alloc
	tests/coverage.sh $(B)

bench:
	.ci/deps bench
	$(MAKE) all
	tests/bench/run.sh $(B)

# --- install ---
install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/lib/pkgconfig $(DESTDIR)$(PREFIX)/include \
	    $(DESTDIR)$(PREFIX)/share/man/man1 $(DESTDIR)$(PREFIX)/share/bash-completion/completions
	install -m 755 $(B)/dutyproof $(DESTDIR)$(PREFIX)/bin/dutyproof
	install -d $(DESTDIR)$(PREFIX)/lib/dutyproof
	install -m 644 $(B)/dutyproof_pdf.so $(DESTDIR)$(PREFIX)/lib/dutyproof/dutyproof_pdf.so
	install -m 644 $(B)/installed/libdutyproof.a $(DESTDIR)$(PREFIX)/lib/libdutyproof.a
	install -m 644 include/dutyproof.h $(DESTDIR)$(PREFIX)/include/dutyproof.h
	install -m 644 src/dutyproof.1 $(DESTDIR)$(PREFIX)/share/man/man1/dutyproof.1
	install -m 644 src/completion.bash $(DESTDIR)$(PREFIX)/share/bash-completion/completions/dutyproof
	sed -e 's|@PREFIX@|$(PREFIX)|' -e 's|@VERSION@|$(VERSION)|' -e 's|@LIBS@|$(LIBS)|' src/dutyproof.pc.in \
	    > $(DESTDIR)$(PREFIX)/lib/pkgconfig/dutyproof.pc

clean:
	rm -rf build

, := ,
-include $(LIB_OBJ:.o=.d) $(CLI_OBJ:.o=.d) $(PDF_OBJ:.o=.d) $(UNIT_OBJ:.o=.d) $(wildcard $(B)/probe/*.d)
