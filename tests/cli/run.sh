#!/bin/sh
# run.sh PROGRAM [CASE...] - runs the cases of the command line, JOBS at a time (the cores): a line each, and a count.
#
# A case is a folder in cases/ with
#   cmd                a shell script, run in an empty folder that holds a copy of bays/; "$dutyproof" is the program
#   rc                 the exit status that it must have; 0 without this file
#   out, err           standard output and error to the letter
#   out.has, err.has   lines of text that they must hold somewhere
#   out.not, err.not   lines of text that they must not hold
#   files              the files that are there afterwards, bays/ apart; none without this file. The digits of a folder in
#                      earlier/ stand as DIGITS, since they depend on the bytes of a PDF
set -u
LC_ALL=C.UTF-8
export LC_ALL
unset NO_COLOR DUTYPROOF_GNUPLOT
here=$(cd "$(dirname "$0")" && pwd)
dutyproof=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
source=$(cd "$here/../../src" && pwd)
export dutyproof source
shift
[ $# -gt 0 ] || set -- $(ls "$here/cases")
jobs=${JOBS:-$(getconf _NPROCESSORS_ONLN 2> /dev/null || echo 1)}

passed=0 failed=0
scratch=$(mktemp -d) || exit 2
trap 'rm -rf "$scratch"' EXIT
trap 'exit 2' HUP INT TERM

# Several: each in a run of its own. One that ends without a word is a failure too.
if [ $# -gt 1 ]; then
    printf '%s\n' "$@" | xargs -P "$jobs" -n 1 "$0" "$dutyproof" 2>&1 | grep -v '^cli: ' | tee "$scratch/lines"
    passed=$(grep -c '^ok  ' "$scratch/lines")
    echo "cli: $passed passed, $(($# - passed)) failed"
    [ "$passed" -eq $# ]
    exit
fi

complain() { problem="$problem
    $1"; }

# has FILE LIST: every line of LIST is somewhere in FILE
has() {
    while IFS= read -r line; do
        grep -qF -e "$line" "$1" || complain "$(basename "$1") lacks: $line"
    done < "$2"
}

has_not() {
    while IFS= read -r line; do
        ! grep -qF -e "$line" "$1" || complain "$(basename "$1") holds: $line"
    done < "$2"
}

# same GOT WANT
same() {
    cmp -s "$1" "$2" || complain "$(basename "$1") differs:
$(diff "$2" "$1" | sed 's/^/      /' | head -20)"
}

for name; do
    case=$here/cases/$name
    [ -f "$case/cmd" ] || { echo "FAILED  $name: there is no such case"; failed=1; continue; }
    problem=
    rm -rf "$scratch"/*
    mkdir "$scratch/room"
    cp -R "$here/bays" "$scratch/room/bays"
    (cd "$scratch/room" && sh -u "$case/cmd") > "$scratch/out" 2> "$scratch/err" < /dev/null
    rc=$?
    want=$(cat "$case/rc" 2> /dev/null || echo 0)
    [ "$rc" = "$want" ] || complain "exit status $rc, not $want: $(head -3 "$scratch/err")"
    (cd "$scratch/room" && find . -type f ! -path './bays/*' |
        sed -E 's|^\./||; s|(earlier/[a-z0-9-]*)-[0-9a-f]{16}/|\1-DIGITS/|' | LC_ALL=C sort) > "$scratch/files"
    if [ -f "$case/files" ]; then same "$scratch/files" "$case/files"; else same "$scratch/files" /dev/null; fi
    for stream in out err; do
        [ ! -f "$case/$stream" ] || same "$scratch/$stream" "$case/$stream"
        [ ! -f "$case/$stream.has" ] || has "$scratch/$stream" "$case/$stream.has"
        [ ! -f "$case/$stream.not" ] || has_not "$scratch/$stream" "$case/$stream.not"
    done
    if [ -z "$problem" ]; then
        passed=$((passed + 1))
        echo "ok      $name"
    else
        failed=$((failed + 1))
        echo "FAILED  $name$problem"
    fi
done
echo "cli: $passed passed, $failed failed"
[ "$failed" -eq 0 ]
