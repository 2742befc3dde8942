#!/bin/sh
# run.sh BUILD - every check against a source outside the project: published tables and examples, reference libraries.
# Each tests/outside/NAME.py prints one line a check with its largest deviation. Closes with 'N passed, N failed'.
set -u
build=$1
here=$(dirname "$0")
export DUTYPROOF="$build/dutyproof" PROBES="$build/probe" PROBE="$build/probe/probe"
python=/usr/bin/python3
[ -x "$python" ] || python=python3
passed=0 failed=0
for check in "$here"/*.py; do
    if "$python" "$check"; then
        passed=$((passed + 1))
    else
        echo "FAILED: $check" >&2
        failed=$((failed + 1))
    fi
done
echo "outside: $passed passed, $failed failed"
[ "$failed" -eq 0 ]
