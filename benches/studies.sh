#!/bin/bash
# How much faster studies are: two builds of the program run the same studies by turns, `benches/studies.sh OLD NEW`.
# Times are those of the processor, the least of two runs, so that other work on the machine counts little.
set -euo pipefail
old=$1 new=$2
out=$(mktemp -d)
trap 'rm -r "$out"' EXIT

spent() {
    local program=$1 TIMEFORMAT='%U %S'
    shift
    { time "$program" "$@" >"$out/rows" 2>"$out/notes" || true; } 2>&1 | awk '{ print $1 + $2 }'
}

printf '%-12s %8s %8s %8s\n' study old new ratio
row() {
    local name=$1 a b least_old=1e9 least_new=1e9
    shift
    for _ in 1 2; do
        a=$(spent "$old" "$@") b=$(spent "$new" "$@")
        least_old=$(awk -v a="$a" -v b="$least_old" 'BEGIN { print a < b ? a : b }')
        least_new=$(awk -v a="$b" -v b="$least_new" 'BEGIN { print a < b ? a : b }')
    done
    awk -v n="$name" -v a="$least_old" -v b="$least_new" 'BEGIN { printf "%-12s %6.2f s %6.2f s %8.1f\n", n, a, b, a / b }'
}

row window window
row uncertainty uncertainty --samples 256
row stumble uncertainty --scenario stumble --samples 256
row walking sweep swing-flexion=0:100:0.5
row loaded sweep swing-flexion=0:100:1 --scenario ramp-down-8-deg,stairs-down,stumble
row next next --seen knee-late-straight:clear@walk-fast
