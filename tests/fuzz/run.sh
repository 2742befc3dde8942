#!/bin/sh
# run.sh BUILD - runs each fuzzer's kept inputs again: those that once broke something, and one for each path found
set -u
here=$(dirname "$0")
failed=0
for corpus in "$here"/corpus/*/; do
    name=$(basename "$corpus")
    if ! "$1/fuzz/$name" "$corpus"*; then
        echo "FAILED: fuzz $name" >&2
        failed=$((failed + 1))
    fi
done
echo "fuzz: $failed failed"
[ "$failed" -eq 0 ]
