#!/bin/sh
# demo.sh PROGRAM - the main job on the sample bay: two units with their sheets and papers (reports/), then the whole batch.
set -u
program=$1
cd "$(dirname "$0")/.." || exit 2
bay=build/demo-bay # a copy: what is judged goes into the bay's register
rm -rf "$bay" build/demo
mkdir -p build
cp -R samples/dornapet "$bay"

# A unit that fails is a result (exit 1), not an error of the demonstration.
run() {
    "$@"
    status=$?
    [ "$status" -le 1 ] || exit "$status"
}

run "$program" reduce --out reports "$bay/logs/DN-1504.csv" "$bay/logs/DN-1507.csv"
if command -v pdftoppm >/dev/null 2>&1; then
    pdftoppm -r 75 -png -singlefile reports/DN-1507/sheet.pdf reports/sheet
fi
echo
run "$program" certify --out build/demo "$bay/units.csv"
echo
echo "papers:"
find reports build/demo -name '*.pdf' | sort

cat << 'EOF'

To try next:
  build/dutyproof inspect samples/dornapet                       # what is understood of a bay, and what each model is checked for
  build/dutyproof label samples/dornapet/units.csv               # how far the units stand from the next star
  build/dutyproof start --flow 'v notch' --phases 3 --units metric --speed frequency build/my-bay   # a bay of your own
EOF
