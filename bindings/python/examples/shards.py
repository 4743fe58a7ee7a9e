"""A sweep in shards on several processes or machines: Dask hands the shards out, each writes one Parquet file, Polars reads
the folder as one table without loading it.

    pip install './bindings/python[shards]'
    python bindings/python/examples/shards.py rows --workers 2

With the address of a cluster (`--scheduler tcp://…`) instead of local workers, `rows` is a folder that all of them see. A
worker that is killed loses nothing: its shard is run again, goes on behind the last whole part, and has the same bytes.
"""

import argparse
import os
from pathlib import Path

import polars
from distributed import Client, LocalCluster

import kneedamp

# %% What is asked for: 200,901 strides of one person over both swing settings
VARIED = {"swing-flexion": "0:100:0.2", "swing-extension": "0:100:0.25"}
OUTCOMES = ["peak_flexion_deg", "extension_margin_ms"]


def shard(number, shards, folder, varied):
    """Runs one shard; gives the process that did."""
    path = Path(folder) / f"{number:04}.parquet"
    kneedamp.sweep(varied, outcomes=OUTCOMES, batch=True, shard=f"{number}/{shards}", output=path)
    return os.getpid()


def run(client, folder, shards, varied=VARIED):
    """Runs all shards on a cluster."""
    Path(folder).mkdir(parents=True, exist_ok=True)
    futures = client.map(shard, range(1, shards + 1), shards=shards, folder=str(folder), varied=varied, pure=False)
    return client.gather(futures)


def local(workers):
    """Workers on this machine; each computes on its share of the cores."""
    threads = max(1, (os.cpu_count() or 1) // workers)
    environment = {"RAYON_NUM_THREADS": str(threads)}
    return LocalCluster(n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None, env=environment)


def straight_in_time(folder):
    """How many settings leave the knee straight 20 ms before heel contact, and the highest peak flexion among them."""
    rows = polars.scan_parquet(Path(folder) / "*.parquet")
    in_time = rows.filter(polars.col("extension_margin_ms") >= 20)
    by_tens = in_time.group_by((polars.col("swing-extension_pct") // 10 * 10).alias("swing-extension_pct from"))
    highest = polars.col("peak_flexion_deg").max().round(1).alias("highest peak_flexion_deg")
    return by_tens.agg(polars.len().alias("settings"), highest).sort("swing-extension_pct from").collect()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--shards", type=int, default=8)
    parser.add_argument("--scheduler")
    asked = parser.parse_args()
    with Client(asked.scheduler or local(asked.workers)) as client:
        processes = run(client, asked.folder, asked.shards)
    print(f"{asked.shards} shards by {len(set(processes))} processes")
    print(straight_in_time(asked.folder))
    print(kneedamp.CAUTION)


# workers import this file
if __name__ == "__main__":
    main()
