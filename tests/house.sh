#!/bin/sh
# house.sh [TOP] - holds the order of the folders of src/, which tests/house.order states.
#
#   - a file includes no header of a later folder; an include is written "folder/name.h" (but for the public dutyproof.h)
#   - every .c and .h but main.c lies in a folder of the list
#   - a header has a source of its name beside it, which includes it first
#
# A breach is a line 'A -> B': A includes B, or lacks it. Those that are known stand in tests/house.debt; one that is
# not there fails, and so does one that is there and is no breach any more, so that the debt only shrinks.
# A tree without src/base is flat still: of it only the includes are looked at.
set -u
LC_ALL=C
export LC_ALL
cd "${1:-$(dirname "$0")/..}" || exit 2
[ -s tests/house.order ] && [ -d src ] || { echo "house: no tests/house.order or no src/ here" >&2; exit 2; }
scratch=$(mktemp -d) || exit 2
trap 'rm -rf "$scratch"' EXIT

# The includes of src/ in order, a line each: FILE HEADER
find src -name '*.[ch]' | sed 's|^src/||' | sort > "$scratch/files"
while IFS= read -r file; do
    sed -n 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*"\([^"]*\)".*/\1/p' "src/$file" | sed "s|^|$file |"
done < "$scratch/files" > "$scratch/includes"

awk -v flat="$([ -d src/base ] || echo 1)" '
    function folder(path) { return path ~ /\// ? substr(path, 1, index(path, "/") - 1) : "" }
    function breach(a, b) { print a " -> " b }
    FILENAME == ARGV[1] {
        sub(/#.*/, "")
        if ($1 == "header") alone[$2] = 1
        else if (NF > 0) rank[$1] = ++folders
        next
    }
    FILENAME == ARGV[2] { there[$1] = 1; file[++files] = $1; next }
    {
        if (!($1 in first)) first[$1] = $2
        from = folder($1)
        to = folder($2)
        if ($1 != "main.c" && from in rank && to in rank && rank[to] > rank[from]) breach($1, $2)
        if (!flat && to == "" && $2 != "dutyproof.h") breach($1, $2)
    }
    END {
        for (i = 1; i <= files && !flat; i++) {
            path = file[i]
            if (path != "main.c" && !(folder(path) in rank)) breach(path, "a folder of tests/house.order")
            if (path !~ /\.h$/ || path in alone) continue
            source = substr(path, 1, length(path) - 1) "c"
            if (!(source in there)) breach(path, source)
            else if (first[source] != path) breach(source, path " first")
        }
        for (path in alone) if (!(path in there)) breach("tests/house.order", path)
    }' tests/house.order "$scratch/files" "$scratch/includes" | sort -u > "$scratch/breaches"

sed 's/[[:space:]]*#.*//; /^$/d' tests/house.debt 2> /dev/null | sort -u > "$scratch/debt"
comm -23 "$scratch/breaches" "$scratch/debt" | sed 's/^/FAILED  /' > "$scratch/new"
comm -13 "$scratch/breaches" "$scratch/debt" | sed 's/$/   is paid: strike it out of tests\/house.debt/; s/^/FAILED  /' >> "$scratch/new"
cat "$scratch/new"
failed=$(wc -l < "$scratch/new")
echo "house: $(wc -l < "$scratch/files") files, $(comm -12 "$scratch/breaches" "$scratch/debt" | wc -l) known breaches, $failed failed"
[ "$failed" -eq 0 ]
