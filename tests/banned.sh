#!/bin/sh
# banned.sh [FILE...] - no C source calls a function that cannot be used safely or that changes the whole process, and none
# breaks a string literal within a phrase. Without FILE: all of src, include and tests.
#
# Write snprintf for strcpy, strcat, sprintf; text.h for the conversions (atoi, sscanf and their like hide overflow and
# rubbish); mkdtemp or mkstemp for names of temporary files; posix_spawn or fork with exec for system.
# setlocale is the host's: a library never calls it. A test may be such a host, and scan what it wrote itself.
set -u
LC_ALL=C.UTF-8
export LC_ALL
tests_may='setlocale scanf sscanf popen tmpfile'
here=$(cd "$(dirname "$0")" && pwd)
cd "$here/.." || exit 2
scratch=$(mktemp -d) || exit 2
trap 'rm -rf "$scratch"' EXIT

cat > "$scratch/lint.awk" << 'END'
BEGIN {
    banned = "strcpy strcat stpcpy sprintf vsprintf gets atoi atol atoll atof strtok sscanf vsscanf scanf fscanf " \
             "setlocale system popen tmpnam tempnam tmpfile mktemp alloca"
    count = split(banned, name, " ")
    split(tests_may, pair, " ")
    for (i in pair) may[pair[i]] = 1
}
FNR == 1 { within = 0; last = "" }
{
    line = $0
    # A literal that goes on in the next line, its words cut
    begins = line
    sub(/^[ \t]*/, "", begins)
    if (last ~ /[[:alnum:]%] ?"$/ && last !~ /\\[ntr0-7]"$|\\x[0-9a-f]+"$/ && begins ~ /^"[[:alnum:]%]/)
        say("a string literal is broken within a phrase")
    last = begins ~ /"$/ && begins !~ /^#/ ? begins : ""
    gsub(/\\./, "", line)
    gsub(/"[^"]*"/, "\"\"", line)
    if (within) { if (!match(line, /\*\//)) next; line = substr(line, RSTART + 2); within = 0 }
    while (match(line, /\/\*/)) {
        rest = substr(line, RSTART + 2)
        line = substr(line, 1, RSTART - 1)
        if (!match(rest, /\*\//)) { within = 1; break }
        line = line " " substr(rest, RSTART + 2)
    }
    sub(/\/\/.*/, "", line)
    for (i = 1; i <= count; i++)
        if (line ~ "(^|[^[:alnum:]_])" name[i] "[ \t]*\\(" && !(FILENAME ~ /^tests\// && name[i] in may)) say(name[i] " is banned")
}
function say(what) { print "FAILED  " FILENAME ":" FNR ": " what; failed++ }
END { print "banned: " ARGC - 1 " files, " failed + 0 " failed"; exit failed > 0 }
END

# The lint itself: what is planted is found, what only looks like it is not.
planted=0
for name in strcpy strcat sprintf vsprintf gets atoi atof strtok sscanf setlocale system tmpnam mktemp alloca; do
    printf '    x = %s(a, b);\n' "$name" > "$scratch/planted.c"
    ! awk -f "$scratch/lint.awk" "$scratch/planted.c" > /dev/null || { echo "FAILED  banned.sh does not find $name"; planted=1; }
done
printf '    "the words"\n    "go on",\n' > "$scratch/planted.c"
! awk -f "$scratch/lint.awk" "$scratch/planted.c" > /dev/null || { echo "FAILED  banned.sh finds no broken phrase"; planted=1; }
printf '%s\n' '    strtok_r(a); snprintf(b); f("system(1)"); /* gets( */ /*' 'atoi( */ my_system(2);' '    "a line\n"' '    "more"' \
    > "$scratch/planted.c"
awk -f "$scratch/lint.awk" "$scratch/planted.c" || { echo "FAILED  banned.sh finds what is not there"; planted=1; }

[ $# -gt 0 ] || set -- $(find src include tests -name '*.[ch]' | sort)
awk -v tests_may="$tests_may" -f "$scratch/lint.awk" "$@" && [ "$planted" -eq 0 ]
