#!/bin/sh
# batch.sh PROGRAM [UNITS] - how long a unit of eight readings takes in a batch, on all cores
#
# Without papers: milliseconds a unit, at most 2 (on two cores). With papers: against one gnuplot process that draws as
# many bare one-page PDFs, at most 3 times its time; and against a process started for each page. The best of five runs
# each, in turns, so that a machine that is busy with other things disturbs them alike. Exit status 1: a limit is missed.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
dutyproof=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
units=${2:-300}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$here/../cli/make_batch.py" "$work/bay" "$units" 7
tests=$(($(grep -c '^[^#s]' "$work/bay/units.csv")))

{
    echo "set terminal pdfcairo"
    for i in $(seq "$tests"); do printf "set output '%d.pdf'\nplot sin(x)\nset output\n" "$i"; done
} > "$work/bare.gp"
printf "set terminal pdfcairo\nset output '1.pdf'\nplot sin(x)\nset output\n" > "$work/one.gp"

ms() { # ms COMMAND... - how long it takes
    begin=$(date +%s%N)
    "$@" > /dev/null 2>&1 || true
    echo $((($(date +%s%N) - begin) / 1000000))
}
least() { if [ "$1" -lt "$2" ]; then echo "$1"; else echo "$2"; fi; }
bare() { (cd "$work" && gnuplot bare.gp); }
one_each() { (cd "$work" && for i in 1 2 3 4 5 6 7 8 9 10; do gnuplot one.gp; done); }
papers() { rm -rf "$work/out" && "$dutyproof" certify --quiet --out "$work/out" "$work/bay/units.csv"; }
no_papers() { "$dutyproof" certify --quiet --no-papers "$work/bay/units.csv"; }
resumed() { "$dutyproof" certify --quiet --resume --out "$work/out" "$work/bay/units.csv"; }

bare_ms=999999 papers_ms=999999 no_papers_ms=999999 ten_ms=999999 resumed_ms=999999
for i in 1 2 3 4 5; do
    bare_ms=$(least $bare_ms "$(ms bare)")
    papers_ms=$(least $papers_ms "$(ms papers)")
    resumed_ms=$(least $resumed_ms "$(ms resumed)")
    no_papers_ms=$(least $no_papers_ms "$(ms no_papers)")
    ten_ms=$(least $ten_ms "$(ms one_each)")
done
awk -v n="$tests" -v bare=$bare_ms -v papers=$papers_ms -v none=$no_papers_ms -v ten=$ten_ms -v resumed=$resumed_ms 'BEGIN {
    printf "batch of %d tests of 8 readings, best of 5\n", n
    printf "  without papers          %8.2f ms a test            limit 2      %s\n", none / n, none / n <= 2 ? "ok" : "MISSED"
    printf "  bare pages, one gnuplot %8.2f ms a page\n", bare / n
    printf "  bare pages, one each    %8.2f ms a page   %5.1f times that\n", ten / 10, ten / 10 / (bare / n)
    printf "  with papers             %8.2f ms a test   %5.1f times that   limit 3      %s\n", papers / n, papers / bare, papers / bare <= 3 ? "ok" : "MISSED"
    printf "  --resume, all whole     %8.2f ms a test\n", resumed / n
    exit !(none / n <= 2 && papers / bare <= 3)
}'
