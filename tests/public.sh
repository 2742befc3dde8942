#!/bin/sh
# public.sh BUILD - the public face: the example of include/dutyproof.h compiles against the installed library alone and runs, the
# library exports what the header declares and nothing else, and a fault is told, not fatal.
set -u
build=$(cd "$1" && pwd)
top=$(cd "$(dirname "$0")/.." && pwd)
room=$(mktemp -d) || exit 2
trap 'rm -rf "$room"' EXIT
passed=0 failed=0
say() {
    if [ "$2" = "$3" ]; then passed=$((passed + 1)); else failed=$((failed + 1)); echo "FAILED  $1: [$2], not [$3]"; fi
}
# The face tells what the program tells.
want=$("$build/dutyproof" reduce --json --no-papers "$top/samples/dornapet/logs/DN-1504.csv" | python3 -c '
import json, sys
r = json.load(sys.stdin)
print("%s %s, %.1f m at guaranteed flow" % (r["serial"], r["verdict"], r["duties"][0]["at_guaranteed_flow"]["head_m"]))')
sed -n '/^ \* example:$/,/^ \* end of example$/s/^ \*     \{0,1\}//p' "$top/include/dutyproof.h" > "$room/example.c"
for cc in cc clang; do
    command -v "$cc" > /dev/null || continue
    # shellcheck disable=SC2086  # lists of options
    $cc -std=c17 -Wall -Wextra -Wpedantic -Werror ${PUBLIC_FLAGS:-} -I"$top/include" -o "$room/example" "$room/example.c" \
        "$build/installed/libdutyproof.a" $PUBLIC_LIBS || { failed=$((failed + 1)); continue; }
    cp -R "$top/samples" "$room/samples"
    say "the example with $cc" "$(cd "$room/samples" && "$room/example" 2>&1)" "$want"
    rm "$room/samples/dornapet/rig.csv"
    (cd "$room/samples" && "$room/example") > "$room/out" 2>&1
    say "without a rig.csv, exit status with $cc" "$?" 2
    say "and its message" "$(grep -c 'dornapet/rig.csv: ' "$room/out")" 1
    rm -rf "$room/samples"
done
sed -n 's/^[a-z].*[ *]\(dutyproof_[a-z_]*\)(.*/\1/p' "$top/include/dutyproof.h" | sort > "$room/declared"
nm -g --defined-only "$build/installed/libdutyproof.a" | sed -n 's/^[0-9a-f]* [A-Z] //p' | sort > "$room/exported"
say "exported, but not declared" "$(comm -13 "$room/declared" "$room/exported" | tr '\n' ' ')" ""
say "declared, but not exported" "$(comm -23 "$room/declared" "$room/exported" | tr '\n' ' ')" ""
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
