"""Shards on Dask's workers: the same files for 1, 2 and 4 of them, and after a worker was killed."""

import os
import signal
import sys
import threading
import time
from pathlib import Path

import cloudpickle
import numpy as np
import pytest

import kneedamp

distributed = pytest.importorskip("distributed")
polars = pytest.importorskip("polars")
sys.path.insert(0, str(Path(__file__).parents[1] / "examples"))
import shards  # noqa: E402 - an example is not installed

# workers are other processes, and do not know where the example is
cloudpickle.register_pickle_by_value(shards)

SHARDS = 6
VARIED = {"swing-flexion": "0:100:0.5", "swing-extension": "0:100:0.5"}


def files(folder):
    return {p.name: p.read_bytes() for p in sorted(folder.glob("*.parquet"))}


def run(folder, workers, kill=False):
    """Runs all shards; gives the processes that finished one, and the one that was killed."""
    killed = []
    with shards.local(workers) as cluster, distributed.Client(cluster) as client:
        if kill:
            def strike():
                # in the middle: the first shards are there, the last ones are not
                while not list(folder.glob("*.parquet")):
                    time.sleep(0.005)
                worker = max(client.run(os.getpid).values())
                os.kill(worker, signal.SIGKILL)
                killed.append((worker, len(files(folder))))

            folder.mkdir()
            striker = threading.Thread(target=strike)
            striker.start()
            processes = shards.run(client, folder, SHARDS, VARIED)
            striker.join()
        else:
            processes = shards.run(client, folder, SHARDS, VARIED)
    return processes, killed


def test_files_do_not_depend_on_the_workers(tmp_path):
    found = {}
    for workers in (1, 2, 4):
        folder = tmp_path / f"by-{workers}"
        processes, _ = run(folder, workers)
        assert len(processes) == SHARDS and len(set(processes)) == workers
        found[workers] = files(folder)
        assert len(found[workers]) == SHARDS
    assert found[1] == found[2] == found[4]
    whole = kneedamp.sweep(VARIED, outcomes=shards.OUTCOMES, batch=True)
    rows = polars.scan_parquet(tmp_path / "by-2" / "*.parquet").sort("row").collect()
    for name in ("row", "swing-flexion_pct", "peak_flexion_deg", "extension_margin_ms"):
        assert np.array_equal(rows[name].to_numpy(), whole[name], equal_nan=True), name
    assert shards.straight_in_time(tmp_path / "by-2")["settings"].sum() == np.sum(whole["extension_margin_ms"] >= 20)


def test_a_killed_worker_changes_no_byte(tmp_path):
    run(tmp_path / "undisturbed", 2)
    processes, killed = run(tmp_path / "disturbed", 2, kill=True)
    (_, done), = killed
    assert done < SHARDS, "it was killed while shards were left"
    assert len(processes) == SHARDS
    assert files(tmp_path / "disturbed") == files(tmp_path / "undisturbed")
    assert not list((tmp_path / "disturbed").glob("*.parts"))
