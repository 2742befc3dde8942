#!/bin/sh
# coverage.sh BUILD [-v] - runs the tests of a build with --coverage and prints the branch coverage of the modules that judge,
# fit and read. -v lists the lines with a branch that was never taken.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "$1" && pwd)
cd "$here/.."
find "$build" -name '*.gcda' -exec rm -f {} +
tests/check.py "$build" unit/ cli/ outside/ fuzz/ > "$build/check.log" || echo "tests fail, see $build/check.log" >&2
"$build/torture/alloc" samples/dornapet samples/dornapet/logs/DN-2010.csv.gz > "$build/alloc.log" 2>&1 ||
    echo "allocation failures go wrong, see $build/alloc.log" >&2
printf '%-20s %10s %12s %10s\n' file lines branches 'never taken'
for source in $(find src -name 'judge*.c' -o -name fit.c -o -name curve.c -o -name table.c -o -name 'log*.c' -o -name settle.c \
    -o -name record.c -o -name blocks.c -o -name grade.c | sort); do
    object=${source#src/}
    gcov -t -b -c -o "$build/${object%.c}.gcno" "$source" 2> /dev/null | awk -v name="$source" -v list="${2:-}" '
        /0:Source:/ { ours = index($0, "0:Source:" name) > 0 }
        !ours { next }
        /^branch/ {
            branches++
            if (/taken 0 |taken 0$|never executed/) { missed++; times[line]++ }
            next
        }
        {
            fields = split($0, part, ":")
            if (fields < 3 || part[2] + 0 == 0) next
            line = part[2] + 0
            text[line] = substr($0, length(part[1]) + length(part[2]) + 3)
            if (part[1] !~ /-/) { lines++; if (part[1] !~ /[#=]/) run++ }
        }
        END {
            printf "%-20s %5d/%-5d %5d/%-6d %6d\n", substr(name, 5), run, lines, branches - missed, branches, missed
            if (list != "-v") exit
            for (line = 1; line < 2000; line++) if (line in times)
                printf "    %s:%d: %d of:%s\n", substr(name, 5), line, times[line], text[line]
        }'
done
