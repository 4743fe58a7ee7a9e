#!/usr/bin/env bash
# The same strides by the batch and by general integrators, on one core: benches/peers/run.sh [--quick]
set -euo pipefail
cd "$(dirname "$0")/../.."
venv=target/peers-venv
if [ ! -x "$venv/bin/python" ]; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check -r benches/peers/requirements.txt
    # builds from source: wants a Fortran compiler; without it this peer is shown as not run
    "$venv/bin/pip" install --quiet --disable-pip-version-check numbalsoda || true
fi
mkdir -p target/peers
cargo bench --bench batch -- --peers target/peers/strides.json
export OMP_NUM_THREADS=1 XLA_FLAGS="--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1" JAX_PLATFORMS=cpu
exec taskset -c 0 "$venv/bin/python" benches/peers/run.py "$@"
