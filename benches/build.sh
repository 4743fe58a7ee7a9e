#!/usr/bin/env bash
# What a first build costs, from nothing but downloaded dependencies: seconds of wall time and of processor time, and
# the memory of the largest process (a compiler, as a rule). Run it on an otherwise idle machine:
#     benches/build.sh            # both commands of the README
#     benches/build.sh run        # cargo run --release -- run
#     benches/build.sh test       # cargo test, build and run apart
set -euo pipefail
cd "$(dirname "$0")/.."
case "${1:-all}" in all | run | test) ;; *) sed -n '2,6s/^# \{0,1\}//p' "$0" >&2; exit 2 ;; esac

mkdir -p target
work=$(mktemp -d "$PWD/target/build-time.XXXXXX")
trap 'rm -rf "$work"' EXIT
export CARGO_TARGET_DIR="$work/target"
unset RUSTFLAGS CARGO_INCREMENTAL
cargo fetch --locked --quiet

# one line of figures for a command; its output is shown only if it fails
measure() {
    local name=$1 failed=0
    shift
    python3 - "$name" "$work/log" "$@" <<'PY' || failed=$?
import resource, subprocess, sys, time
name, log, *command = sys.argv[1:]
start = time.monotonic()
with open(log, "w") as out:
    code = subprocess.run(command, stdout=out, stderr=subprocess.STDOUT).returncode
wall = time.monotonic() - start
used = resource.getrusage(resource.RUSAGE_CHILDREN)
cpu, peak_gb = used.ru_utime + used.ru_stime, used.ru_maxrss / 1e6
print(f"{name:42} {wall:6.0f} s  {cpu:6.0f} s of processor  {peak_gb:5.2f} GB largest process", flush=True)
sys.exit(code)
PY
    if [ "$failed" -ne 0 ]; then
        tail -n 40 "$work/log" >&2
        echo "failed: $*" >&2
        exit "$failed"
    fi
}

echo "$(rustc --version), $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg)"
if [ "${1:-all}" != test ]; then
    measure "cargo run --release -- run" cargo run --locked --release -- run
    rm -rf "$CARGO_TARGET_DIR"
fi
if [ "${1:-all}" != run ]; then
    measure "cargo test, build" cargo test --locked --no-run
    measure "cargo test, run" cargo test --locked
fi
