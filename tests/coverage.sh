#!/bin/sh
# coverage.sh BUILD [-v] - runs the tests of a build with --coverage and prints the branch coverage of the modules that judge,
# fit and read. -v lists the lines with a branch that was never taken.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "$1" && pwd)
cd "$here/.."
find "$build" -name '*.gcda' -exec rm -f {} +
"$build/unit_tests" > "$build/unit.log" || echo "unit tests fail, see $build/unit.log" >&2
tests/cli/run.sh "$build/dutyproof" > "$build/cli.log" || echo "cases of the command line fail, see $build/cli.log" >&2
tests/outside/run.sh "$build" > "$build/outside.log" || echo "outside checks fail, see $build/outside.log" >&2
tests/fuzz/run.sh "$build" > "$build/fuzz.log" || echo "kept inputs fail, see $build/fuzz.log" >&2
mkdir -p "$build/gcov"
printf '%-22s %8s %16s %9s\n' file lines branches uncovered
for source in src/judge*.c src/fit.c src/curve.c src/table.c src/log*.c src/settle.c src/record.c src/blocks.c src/grade.c; do
    (cd "$build/gcov" && gcov -b -c -o "$build" "$here/../$source" > /dev/null 2>&1)
    awk -v name="$(basename "$source")" -v list="${2:-}" '
        /^ *[0-9#*=-]+\*?: *[0-9]+:/ {
            split($0, part, ":"); line = part[2] + 0; count = part[1]; text = $0; sub(/^[^:]*:[^:]*:/, "", text)
            if (count !~ /-/) { lines++; if (count !~ /#|=/) run++ }
        }
        /^branch/ {
            branches++
            if ($0 ~ /taken 0|never executed/) { missed++; where[line] = text; times[line]++ }
        }
        END {
            printf "%-22s %4d/%-4d %8d/%-7d %8d\n", name, run, lines, branches - missed, branches, missed
            if (list == "-v") for (line = 1; line < 2000; line++) if (line in where)
                printf "    %s:%d: %d of: %s\n", name, line, times[line], where[line]
        }' "$build/gcov/$(basename "$source").gcov"
done
