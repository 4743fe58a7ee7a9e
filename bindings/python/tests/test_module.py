"""The Python module against the program: the same documents, columns without loss, errors with their place.

KNEEDAMP names the program; without it the one in target/release is used.
"""

import json
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

import kneedamp

ROOT = Path(__file__).parents[3]
PROGRAM = os.environ.get("KNEEDAMP", str(ROOT / "target/release/kneedamp"))
SETTINGS = ["swing-flexion", "swing-extension", "stance-yield", "catch-load"]


def program(*words):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, encoding="utf-8")


def without_arguments(document):
    document.get("inputs", {}).pop("arguments", None)
    return document


@pytest.mark.parametrize(
    "called, words",
    [
        (lambda: kneedamp.run("walk-fast", "sit-down", person="50-kg", set={"swing-flexion": 40}),
         ["run", "walk-fast", "sit-down", "--person", "50-kg", "--set", "swing-flexion=40"]),
        (lambda: kneedamp.compare(scenario="walk-fast", a={}, b={"swing-flexion": 0, "person": "100-kg"}),
         ["compare", "--scenario", "walk-fast", "--a", "", "--b", "swing-flexion=0,person=100-kg"]),
        (lambda: kneedamp.window("sit-down", no_bands=True), ["window", "sit-down", "--no-bands"]),
        (lambda: kneedamp.uncertainty(scenario="sit-down", samples=16, vary=["mass_kg=60..90"]),
         ["uncertainty", "--scenario", "sit-down", "--samples", "16", "--vary", "mass_kg=60..90"]),
    ],
)
def test_documents_are_those_of_the_program(called, words):
    printed = json.loads(program(*words, "--format", "json").stdout)
    assert without_arguments(called()) == without_arguments(printed)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(SETTINGS), st.floats(0, 100, allow_nan=False), max_size=4))
def test_settings_arrive_as_given(given_settings):
    found = kneedamp.run("stand", set=given_settings)["inputs"]["settings_pct"]
    for name, pct in given_settings.items():
        # kept to a millionth of the range
        assert found[name] == pytest.approx(pct, abs=1e-4)


def test_a_model_is_a_mapping():
    person = kneedamp.model("person", "75-kg")
    person["mass_kg"] = 91.5
    found = kneedamp.run("sit-down", person=person)
    assert found["inputs"]["person"]["mass_kg"] == 91.5
    with pytest.raises(kneedamp.InputError) as raised:
        kneedamp.run("sit-down", person={**person, "mass_kg": 9})
    assert isinstance(raised.value, ValueError)
    assert raised.value.field == "mass_kg" and raised.value.file is None
    assert str(raised.value).startswith("person: mass_kg: 9 is outside")


def test_a_file_is_named_with_line_and_field(tmp_path):
    path = tmp_path / "tall.yaml"
    text = (ROOT / "models/people/75-kg.yaml").read_text("utf-8")
    path.write_text(text.replace("mass_kg: 75", "mass_kg: 9"), "utf-8")
    with pytest.raises(ValueError) as raised:
        kneedamp.run("sit-down", person=str(path))
    line = next(n for n, l in enumerate(text.splitlines(), 1) if l.startswith("mass_kg"))
    assert (raised.value.file, raised.value.line, raised.value.field) == (str(path), line, "mass_kg")


@pytest.mark.parametrize(
    "called, said",
    [
        (lambda: kneedamp.run("walk-fats"), "did you mean 'walk-fast'"),
        (lambda: kneedamp.run("walk-fast", set={"swing-flexion": 200}), "allowed range 0 to 100"),
        (lambda: kneedamp.run("walk-fast", set={"swing-flexion": float("nan")}), "swing-flexion"),
        (lambda: kneedamp.run("walk-fast", nothing=1), "--nothing"),
        (lambda: kneedamp.run(person="nobody.yaml"), "nobody.yaml"),
        (lambda: kneedamp.motion("stand"), "does not move"),
        (lambda: kneedamp.sweep({"nothing": [1]}), "no input named 'nothing'"),
        (lambda: kneedamp.sweep({"mass_kg": [70]}, mass=80), "both swept and given"),
    ],
)
def test_what_is_wrong_is_a_value_error(called, said):
    with pytest.raises(ValueError, match=said):
        called()


def test_a_motion_is_arrays():
    columns = kneedamp.motion("walk-comfortable", speed=1.2)
    peak = np.degrees(columns["knee_rad"].max())
    outcomes = kneedamp.run("walk-comfortable", speed=1.2)["runs"][0]["outcomes"]
    assert peak == pytest.approx(outcomes["peak_flexion_deg"], abs=0.01)
    assert len({len(c) for c in columns.values()}) == 1
    assert all(isinstance(c, np.ndarray) and c.dtype == np.float64 for c in columns.values())


def test_a_sweep_is_columns_as_the_program_writes_them():
    asked = ["swing-flexion=0:100:25", "mass_kg=60,90", "--scenario", "walk-fast,sit-down"]
    columns = kneedamp.sweep({"swing-flexion": "0:100:25", "mass_kg": [60, 90]}, scenario=["walk-fast", "sit-down"])
    rows = [json.loads(line) for line in program("sweep", *asked, "--format", "json").stdout.splitlines()]
    assert list(columns) == list(rows[0]) and len(columns["row"]) == len(rows) == 20
    for name, column in columns.items():
        printed = [row[name] for row in rows]
        if isinstance(column, list):
            assert column == printed, name
        else:
            assert np.array_equal(column, np.array([np.nan if v is None else v for v in printed]), equal_nan=True), name


def test_arrow_tables_share_the_arrays():
    pyarrow = pytest.importorskip("pyarrow")
    columns = kneedamp.sweep({"swing-flexion": "0:100:1"}, outcomes=["peak_flexion_deg"], batch=True)
    table = kneedamp.table(columns)
    assert isinstance(table, pyarrow.Table) and table.num_rows == 101
    address = table["peak_flexion_deg"].chunk(0).buffers()[1].address
    assert address == columns["peak_flexion_deg"].__array_interface__["data"][0]


def test_other_threads_run_while_something_is_computed():
    turns = []
    done = threading.Event()

    def count():
        while not done.is_set():
            turns.append(time.perf_counter())
            time.sleep(0.005)

    other = threading.Thread(target=count)
    other.start()
    begun = time.perf_counter()
    kneedamp.sweep({"swing-flexion": "0:100:0.5"}, scenario="walk-fast")
    ended = time.perf_counter()
    done.set()
    other.join()
    during = [t for t in turns if begun < t < ended]
    assert len(during) >= 5, f"{len(during)} turns in {ended - begun:.2f} s"


def test_a_measured_stride_gives_models():
    path = ROOT / "docs/examples/walk.csv"
    rows = [line.split(",") for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    curve = {name: np.array([float(r[i]) for r in rows[1:]]) for i, name in enumerate(rows[0])}
    found = kneedamp.identify_stride(curve, speed=1.2, mass=82, stature=1.78, name="anna")
    assert {Path(p).parent.name for p in found["models"]} >= {"knees", "people"}
    knee = next(m for p, m in found["models"].items() if p.startswith("knees"))
    again = kneedamp.run("walk-comfortable", knee=knee)
    assert again["runs"][0]["outcomes"]["peak_flexion_deg"] > 0


def test_types_are_those_of_the_module():
    checked = subprocess.run(
        [sys.executable, "-m", "mypy.stubtest", "kneedamp", "--ignore-missing-stub"], capture_output=True, text=True
    )
    assert checked.returncode == 0, checked.stdout


def test_the_caution_is_there():
    assert "not a medical device" in kneedamp.CAUTION
    assert kneedamp.run("stand")["caution"] == kneedamp.CAUTION
