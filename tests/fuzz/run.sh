#!/bin/sh
# run.sh BUILD NAME [SECONDS] - looks for inputs that break NAME with the fuzzer that 'make fuzzers' built; what it finds
# stays in BUILD/fuzzing. The inputs kept in corpus/ are run again by make check.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$1/fuzzing name=$2
mkdir -p "$build/found/$name"
dictionary=
[ ! -f "$here/$name.dict" ] || dictionary=-dict=$here/$name.dict
# shellcheck disable=SC2086  # no option where there is no dictionary
exec "$build/fuzzer/$name" -max_total_time="${3:-600}" -max_len=16384 -timeout=20 -print_final_stats=1 -use_value_profile=1 \
    $dictionary -artifact_prefix="$build/$name-" "$build/found/$name" "$here/corpus/$name"
