#!/bin/sh
# batch_torture.sh PROGRAM [KILLS] [UNITS] - a batch that is killed, starved of disk, shut out and left without gnuplot
#
# Whatever happens, a file that is there must be the very file of an undisturbed run, and the next run must end with
# exactly the files of one. Prints a line a trial; exit status 1 where one fails.
set -u
LC_ALL=C.UTF-8
export LC_ALL
unset DUTYPROOF_GNUPLOT
here=$(cd "$(dirname "$0")" && pwd)
dutyproof=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
kills=${2:-3}
units=${3:-40}
work=$(mktemp -d) || exit 2
mounted=
child=
trap '[ -z "$child" ] || kill -9 "$child" 2> /dev/null; [ -z "$mounted" ] || umount "$mounted"; rm -rf "$work"' EXIT
trap 'exit 2' HUP INT TERM
failed=0

say() { # say OUTCOME TEXT
    [ "$1" = ok ] || [ "$1" = skipped ] || failed=$((failed + 1))
    printf '%-8s%s\n' "$1" "$2"
}

certify() { # certify OUT [OPTION...] - standard error goes to $work/err
    out=$1
    shift
    "$dutyproof" certify --out "$out" "$@" "$work/bay/units.csv" > "$work/table" 2> "$work/err"
}

# Every file of OUT is that of the undisturbed run, but for the way to the bay; scratch folders of a dead run are nobody's.
whole() { # whole OUT
    (cd "$1" && find . -type f ! -path './.dutyproof*') > "$work/files"
    while IFS= read -r file; do
        diff -q -I '^# bay ' "$1/$file" "$work/undisturbed/$file" > /dev/null || { echo "$file" && return 1; }
    done < "$work/files"
}

same() { # same OUT
    diff -r -I '^# bay ' "$1" "$work/undisturbed" > "$work/diff" 2>&1
}

"$here/make_batch.py" "$work/bay" "$units" 7 || exit 2

# --- the undisturbed run, and as many threads as one likes ---
began=$(date +%s%N)
certify "$work/undisturbed" --jobs 2
rc=$?
took_ms=$((($(date +%s%N) - began) / 1000000))
[ $rc -eq 1 ] || { cat "$work/err" && exit 2; }
cp "$work/table" "$work/table.2"
for jobs in 1 3; do
    certify "$work/jobs" --jobs $jobs
    if same "$work/jobs" && cmp -s "$work/table" "$work/table.2"; then
        say ok "--jobs $jobs: every file as with 2, PDFs too"
    else
        say FAILED "--jobs $jobs: $(head -1 "$work/diff")"
    fi
    rm -rf "$work/jobs"
done
for jobs in 1 2; do
    "$dutyproof" certify --json --no-papers --jobs $jobs "$work/bay/units.csv" > "$work/json.$jobs" 2> /dev/null
done
rows=$(grep -c '^[^#s]' "$work/bay/units.csv")
if cmp -s "$work/json.1" "$work/json.2" && [ "$(wc -l < "$work/json.1")" -eq "$rows" ] &&
    /usr/bin/python3 -c 'import json, sys; [json.loads(line) for line in sys.stdin]' < "$work/json.1"; then
    say ok "--json: $rows documents in the order of the list, the same with any number of jobs"
else
    say FAILED "--json differs with --jobs, or is not one document a line"
fi

# --- killed at random moments ---
i=0
while [ $i -lt "$kills" ]; do
    i=$((i + 1))
    wait_ms=$((($(od -An -N3 -tu4 /dev/urandom) % 1000) * took_ms / 1000))
    setsid "$dutyproof" certify --out "$work/killed" "$work/bay/units.csv" > /dev/null 2>&1 &
    child=$!
    sleep "$(printf '%d.%03d' $((wait_ms / 1000)) $((wait_ms % 1000)))"
    kill -9 "$child" 2> /dev/null
    wait "$child" 2> /dev/null
    child=
    there=$(find "$work/killed" -name papers.sha256 2> /dev/null | wc -l)
    if [ -d "$work/killed" ] && ! whole "$work/killed"; then
        say FAILED "killed after $wait_ms ms: a file is not whole"
        break
    fi
    resume=
    [ $((i % 2)) -eq 0 ] || resume=--resume
    certify "$work/killed" $resume
    rc=$?
    if [ $rc -eq 1 ] && same "$work/killed"; then
        say ok "killed after $wait_ms ms of $took_ms with $there papers sealed; then ${resume:-from the start}: every file as undisturbed"
    else
        say FAILED "killed after $wait_ms ms, then ${resume:-from the start}: exit status $rc: $(head -1 "$work/diff")"
    fi
    rm -rf "$work/killed"
done

# --- only what has changed is made again ---
cp -Rp "$work/undisturbed" "$work/resumed"
touch "$work/mark"
sleep 0.05
certify "$work/resumed" --resume
made=$(find "$work/resumed" -mindepth 2 -type f -newer "$work/mark" | wc -l)
if [ "$made" -eq 0 ] && same "$work/resumed"; then
    say ok "--resume: whole papers are left alone"
else
    say FAILED "--resume made $made files again"
fi
printf x >> "$work/resumed/PX-0001/sheet.pdf"
rm "$work/resumed/PX-0002/points.csv"
certify "$work/resumed" --resume
set_aside=$(find "$work/resumed" -path '*/earlier/altered-*/result.json' | wc -l)
rm -rf "$work"/resumed/PX-000[12]/earlier
if same "$work/resumed" && [ "$set_aside" -eq 2 ] && grep -q '(2 written' "$work/err"; then
    say ok "--resume: papers that are not whole are set aside and made again, and only they"
else
    say FAILED "--resume: $(tail -1 "$work/err")"
fi
cp "$work/bay/instruments.csv" "$work/instruments"
cp "$work/bay/register.db" "$work/register" # what follows is to be no revision of it
sed 's/C-1$/C-1b/' "$work/instruments" > "$work/bay/instruments.csv"
certify "$work/resumed" --resume
if grep -q 'unchanged' "$work/err"; then
    say FAILED "--resume kept papers though the bay has changed"
else
    say ok "--resume: everything is made again when a table of the bay has changed"
fi
cp "$work/instruments" "$work/bay/instruments.csv"
cp "$work/register" "$work/bay/register.db"
rm -rf "$work/resumed"

# --- one run at a time ---
"$dutyproof" certify --out "$work/busy" "$work/bay/units.csv" > /dev/null 2> "$work/err.2" &
child=$!
certify "$work/busy"
rc=$?
wait "$child"
rc=$rc,$?
child=
if [ $rc = 1,1 ] && same "$work/busy"; then
    say ok "two batches at once in one folder: the one waits for the other, every file as undisturbed"
else
    say FAILED "two batches at once in one folder: exit status $rc: $(head -1 "$work/err"): $(head -1 "$work/diff")"
fi
rm -rf "$work/busy"

# --- no gnuplot, or one that dies ---
DUTYPROOF_GNUPLOT=/no/gnuplot certify "$work/none"
rc=$?
if [ $rc -eq 2 ] && grep -q "'/no/gnuplot'" "$work/err" && [ -z "$(find "$work/none" -type f)" ]; then
    say ok "gnuplot missing: exit status 2, named, nothing written"
else
    say FAILED "gnuplot missing: exit status $rc: $(head -1 "$work/err")"
fi
printf '#!/bin/sh\n(sleep 0.4; kill -9 $$) &\nexec gnuplot "$@"\n' > "$work/dying"
printf '#!/bin/sh\nread line\nexit 3\n' > "$work/dead"
chmod +x "$work/dying" "$work/dead"
DUTYPROOF_GNUPLOT=$work/dead certify "$work/none"
rc=$?
if [ $rc -eq 2 ] && grep -q 'gnuplot has ended' "$work/err" && [ -z "$(find "$work/none" -type f)" ]; then
    say ok "gnuplot dies at every sheet: exit status 2, named, nothing cut, nothing left behind"
else
    say FAILED "gnuplot dies at every sheet: exit status $rc: $(head -1 "$work/err")"
fi
DUTYPROOF_GNUPLOT=$work/dying certify "$work/none"
rc=$?
if { [ $rc -eq 1 ] && same "$work/none"; } || { [ $rc -eq 2 ] && grep -q gnuplot "$work/err" && whole "$work/none"; }; then
    say ok "gnuplot is killed now and then: exit status $rc, every file whole"
else
    say FAILED "gnuplot is killed now and then: exit status $rc: $(head -1 "$work/err")"
fi
rm -rf "$work/none"

# --- a full disk, a read-only folder ---
size_kb=$(du -sk --apparent-size "$work/undisturbed" | cut -f1)
blocks_kb=$((size_kb + 8 * units * 4 + 4096))
mkdir "$work/disk"
if mount -t tmpfs -o size=256k none "$work/disk" 2> /dev/null; then
    mounted=$work/disk
    for percent in 1 3 8 15 25 35 45 55 65 75; do
        mount -o remount,size=$((blocks_kb * percent / 100))k "$work/disk"
        certify "$work/disk/out"
        rc=$?
        if [ $rc -eq 1 ] && same "$work/disk/out"; then
            say ok "disk of $((blocks_kb * percent / 100)) kB: it was enough"
        elif [ $rc -eq 2 ] && grep -q -e 'No space left' -e 'cut short' -e gnuplot "$work/err" && whole "$work/disk/out" &&
            [ -z "$(find "$work/disk/out" -name '.dutyproof-*')" ]; then
            say ok "disk of $((blocks_kb * percent / 100)) kB full: exit status 2, $(find "$work/disk/out" -name papers.sha256 | wc -l) papers sealed, every file whole, nothing left behind"
        else
            say FAILED "disk of $((blocks_kb * percent / 100)) kB: exit status $rc: $(head -1 "$work/err")"
        fi
    done
    mount -o remount,size=$((4 * blocks_kb))k "$work/disk"
    certify "$work/disk/out" --resume
    if same "$work/disk/out"; then
        say ok "with room again: every file as undisturbed"
    else
        say FAILED "with room again: $(head -1 "$work/diff")"
    fi
    mount -o remount,ro "$work/disk"
    certify "$work/disk/out"
    rc=$?
    if [ $rc -eq 2 ] && grep -q 'Read-only' "$work/err" && same "$work/disk/out"; then
        say ok "read-only folder: exit status 2, named, nothing touched"
    else
        say FAILED "read-only folder: exit status $rc: $(head -1 "$work/err")"
    fi
else
    say skipped "full disk and read-only folder: no small file system can be mounted here"
fi

echo "batch torture: $failed failed"
[ "$failed" -eq 0 ]
