"""What the settings of a hydraulic single-axis prosthetic knee do: walking, sitting, ramp, stairs, stumble, standing.

Every function is a command of the program with the same options, `_` for `-`:

    import kneedamp
    found = kneedamp.run("walk-fast", person="50-kg", set={"swing-flexion": 40}, speed=1.3)
    found["runs"][0]["outcomes"]["peak_flexion_deg"]

Options take what they mean: a mapping for KEY=VALUE, a list for an option that may be given several times, True for a
switch. `person`, `prosthesis`, `knee`, `drive` and `ranges` are a name, a path, or a model as a mapping with the fields
of its file (`model("person", "75-kg")` gives one to start from). Units are those of the command line: settings in percent
of the model's range, `mass` kg, `stature` m, `speed` m/s, `cadence` steps/min, `temperature` °C, `foot_shift` mm,
`foot_tilt` degrees; in results every name ends in its unit.

What is wrong is an InputError, a ValueError with `file`, `line` and `field`. The interpreter is free while something is
computed; a sweep can be interrupted.
"""

from __future__ import annotations

import json as _json
import tempfile as _tempfile
import warnings as _warnings
from collections.abc import Mapping as _Mapping
from pathlib import Path as _Path

from . import _native
from ._errors import InputError
from ._native import CAUTION, __version__

__all__ = [
    "CAUTION", "InputError", "adjust", "align", "compare", "identify_bench", "identify_stride", "model", "motion", "next",
    "recheck", "rules", "run", "sweep", "table", "uncertainty", "window",
]

_MODELS = ("person", "prosthesis", "knee", "drive", "ranges")


def run(*scenario, **options):
    """Scenarios for one person, prosthesis, knee and settings, as a document.

    `runs` has one entry per scenario: `verdict`, `outcomes` by key, `limits` with margins. Without a name, all scenarios.
    """
    return _document(["run", *scenario], options)


def motion(scenario, **options):
    """The motion of one scenario, a sample per millisecond: columns by name as NumPy arrays of one length.

    SI and radians, names end in their units: `t_s`, `knee_rad`, `tau_damper_n_m`. The options are those of `run`.
    """
    return _called(_native.motion, ["run", scenario], options)


def compare(*, scenario=None, **options):
    """Two to four variants `a`, `b`, `c`, `d` (mappings of inputs) next to each other."""
    return _document(["compare"], {"scenario": scenario, **options})


def window(*scenario, **options):
    """The range of each setting within which every limit holds, percent, and the limit that closes each edge."""
    return _document(["window", *scenario], options)


def uncertainty(**options):
    """What uncertain inputs do to the outcomes of one `scenario`, and which matters most."""
    return _document(["uncertainty"], options)


def adjust(*scenario, **options):
    """The fitting session in simulation: look, change one setting by one step, re-check."""
    return _document(["adjust", *scenario], options)


def next(**options):  # noqa: A001 - the command's name
    """What was `seen`, what would explain it, and which single step is likely to help or to harm."""
    return _document(["next"], options)


def rules(**options):
    """Tries the rules of the trade over a sampled population."""
    return _document(["rules"], options)


def align(**options):
    """Standing alignment: load line against the knee axis, mm, and what it costs in other tasks."""
    return _document(["align"], options)


def recheck(**options):
    """What a new shoe, foot, weight, oil temperature or spring moved."""
    return _document(["recheck"], options)


def sweep(varied, **options):
    """Rows over grids or samples: columns by name, numbers as float64 arrays (NaN where there is none), texts as lists.

    With `output="rows.parquet"` (or .arrow, .csv, .jsonl) the rows go to that file instead, and its path comes back; a run
    that was killed goes on with it. `shard="3/16"` runs one part.

    `varied` maps inputs to values: a list, or a text as on the command line, `"0:100:5"` or, to draw from, `"0..100"`.
    A setting has the column `swing-flexion_pct`. `outcomes=[…]` with `batch=True` is many times as fast. `table(columns)`
    makes an Arrow table of them.
    """
    options.setdefault("scenario", None)
    axes = [f"{key}={value if isinstance(value, str) else ','.join(map(_plain, value))}" for key, value in varied.items()]
    scenario = options.pop("scenario")
    if scenario is not None:
        options["scenario"] = [scenario] if isinstance(scenario, str) else list(scenario)
    if options.get("output") is not None:
        _called(_native.answer, ["sweep", *axes], options)
        return _Path(options["output"])
    return _called(_native.sweep, ["sweep", *axes], options)


def table(columns):
    """The columns of `motion` or `sweep` as a pyarrow.Table; arrays are not copied."""
    import pyarrow

    return pyarrow.table({name: pyarrow.array(column) for name, column in columns.items()})


def identify_stride(curve, *, name="identified", **options):
    """From a measured stride to models: `curve` is a path, or columns (`time_s` or `percent`, `knee_deg`, …).

    Gives the document, with the new models as mappings by path under `models`.
    """
    return _identified(["identify", "stride"], curve, name, "", options)


def identify_bench(points, *, name="identified", **options):
    """From torques of a damper on a bench (`torque_n_m`, `rate_rad_per_s` or `rate_deg_per_s`, …) to a knee."""
    return _identified(["identify", "bench"], points, name, "knee.yaml", options)


def model(kind, name):
    """A model as a mapping: `kind` is knee, person, prosthesis, drive, uncertainty or scenario; `name` one of the library.

    Change it and give it to any function as `person=`, `knee=` and so on.
    """
    with _tempfile.TemporaryDirectory() as folder:
        path = _Path(folder) / f"{kind}.yaml"
        _native.answer(["new", kind, str(path), "--from", name])
        return _yaml().safe_load(path.read_text("utf-8"))


def _document(words, options):
    text = _called(_native.answer, words, {**options, "format": "json"})
    return _json.loads(text)


def _called(native, words, options):
    """Calls with options as words; models given as mappings are files of a folder that goes afterwards."""
    with _tempfile.TemporaryDirectory() as folder:
        options, made = dict(options), {}
        for key in _MODELS:
            if isinstance(options.get(key), _Mapping):
                path = _Path(folder) / f"{key}.yaml"
                path.write_text(_yaml().safe_dump(options[key], sort_keys=False, allow_unicode=True), "utf-8")
                options[key], made[str(path)] = str(path), key
        try:
            found = native([*map(str, words), *_words(options)])
        except InputError as e:
            # a mapping has no file and no lines
            if e.file not in made:
                raise
            said = str(e).split(": ", 1)[1]
            raise InputError(f"{made[e.file]}: {said}", None, None, e.field) from None
    if native is not _native.answer:
        return found
    text, messages = found
    for message in messages:
        if not message.startswith(("wrote ", "sweep: ", "Caution. ")):
            _warnings.warn(message, stacklevel=4)
    return text


def _words(options):
    words = []
    for key, value in options.items():
        option = "--" + key.replace("_", "-")
        # an empty mapping is a variant that changes nothing; elsewhere it is nothing
        if value is None or value is False or (value == {} and key not in "abcd"):
            continue
        if value is True:
            words.append(option)
        elif isinstance(value, _Mapping):
            words.append(f"{option}=" + ",".join(f"{k}={_plain(v)}" for k, v in value.items()))
        elif isinstance(value, (list, tuple)):
            words += [f"{option}={_plain(v)}" for v in value]
        else:
            words.append(f"{option}={_plain(value)}")
    return words


def _plain(value):
    """Numbers of NumPy as those of Python."""
    return str(value.item() if hasattr(value, "item") else value)


def _identified(words, columns, name, output, options):
    with _tempfile.TemporaryDirectory() as folder:
        if isinstance(columns, (str, _Path)):
            path = columns
        else:
            path = _Path(folder) / "table.csv"
            _write(path, columns)
        made = _Path(folder) / "made"
        made.mkdir()
        document = _document([*words, path], {**options, "name": name, "output": str(made / output)})
        files = sorted(p for p in made.rglob("*.yaml"))
        document["models"] = {str(p.relative_to(made)): _yaml().safe_load(p.read_text("utf-8")) for p in files}
        return document


def _write(path, columns):
    """A table of columns, of arrays or of an Arrow table, as CSV."""
    if hasattr(columns, "column_names"):
        columns = {name: columns.column(name).to_pylist() for name in columns.column_names}
    rows = zip(*[list(c) for c in columns.values()])
    lines = [",".join(columns), *(",".join(map(_plain, row)) for row in rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")


def _yaml():
    import yaml

    return yaml
