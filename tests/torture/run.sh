#!/bin/sh
# run.sh BUILD - makes allocations and system calls fail, one after the other, and feeds hostile text.
# TORTURE_SECONDS=0 tries every system call (an hour or more); 40 seconds of them otherwise.
set -u
here=$(cd "$(dirname "$0")" && pwd)
build=$1
top=$here/../..
python=/usr/bin/python3
[ -x "$python" ] || python=python3
failed=0
try() {
    if ! "$@"; then
        echo "FAILED: $*" >&2
        failed=$((failed + 1))
    fi
}
try "$build/torture/alloc" "$top/tests/cli/bays/tiny" "$top/tests/cli/bays/tiny/logs/pass.csv"
[ "${TORTURE_SECONDS:-40}" != 0 ] || for log in "$top"/samples/*/logs/*; do
    try "$build/torture/alloc" "$(dirname "$log")/.." "$log"
done
try "$python" "$here/hostile.py" "$build/dutyproof"
# A sanitizer must be loaded before the shim, and has its own malloc.
if [ ! -e "$build/torture/shim.so" ]; then
    echo "torture: system calls are not tried under sanitizers"
    try "$python" "$here/surroundings.py" "$build/dutyproof"
else
    try "$python" "$here/surroundings.py" "$build/dutyproof" "$build/torture/shim.so"
    try "$python" "$here/calls.py" "$build/dutyproof" "$build/torture/shim.so"
fi
echo "torture: $failed failed"
[ "$failed" -eq 0 ]
