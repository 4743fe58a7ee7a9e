from collections.abc import Mapping, Sequence
from os import PathLike
from pathlib import Path
from typing import Any, Union, overload, type_check_only

import numpy as np
import numpy.typing as npt
from typing_extensions import TypeAlias, TypedDict, Unpack

from ._errors import InputError as InputError

CAUTION: str
__version__: str

_Document: TypeAlias = dict[str, Any]
_Model: TypeAlias = Union[str, Mapping[str, Any]]
_Inputs: TypeAlias = Mapping[str, Union[float, str]]
_Column: TypeAlias = Union[npt.NDArray[np.float64], npt.NDArray[np.uint64], list[Union[str, None]]]
_Columns: TypeAlias = Mapping[str, Union[Sequence[float], npt.NDArray[np.float64]]]

@type_check_only
class _Common(TypedDict, total=False):
    """Options that every function takes: m, m/s, °C, mm, degrees; settings in percent."""

    person: _Model
    stature: float
    prosthesis: _Model
    knee: _Model
    set: _Inputs
    speed: float
    temperature: float
    foot_shift: float
    foot_tilt: float
    drive: _Model
    library: Union[str, PathLike[str]]

@type_check_only
class _Setup(_Common, total=False):
    """With one mass, kg, and one cadence, steps/min."""

    mass: float
    cadence: float

@type_check_only
class _RunOptions(_Setup, total=False):
    input: _Inputs

@type_check_only
class _WindowOptions(_Common, total=False):
    """Masses and cadences may be FROM:TO:STEP."""

    mass: Union[float, str]
    cadence: Union[float, str]
    without: Sequence[str]
    map: str
    grid: int
    together: bool
    samples: int
    no_bands: bool
    full: bool

@type_check_only
class _UncertaintyOptions(_Setup, total=False):
    scenario: str
    ranges: _Model
    vary: Sequence[str]
    samples: int
    seed: int
    all: bool

@type_check_only
class _SweepOptions(_Setup, total=False):
    scenario: Union[str, Sequence[str]]
    samples: int
    seed: int
    outcomes: Sequence[str]
    batch: bool
    shard: str

def run(*scenario: str, **options: Unpack[_RunOptions]) -> _Document: ...
def motion(scenario: str, **options: Unpack[_RunOptions]) -> dict[str, npt.NDArray[np.float64]]: ...
def compare(
    *,
    scenario: Union[str, None] = None,
    a: _Inputs = ...,
    b: _Inputs = ...,
    c: _Inputs = ...,
    d: _Inputs = ...,
    **options: Unpack[_Setup],
) -> _Document: ...
def window(*scenario: str, **options: Unpack[_WindowOptions]) -> _Document: ...
def uncertainty(**options: Unpack[_UncertaintyOptions]) -> _Document: ...
def adjust(*scenario: str, **options: Any) -> _Document: ...
def next(**options: Any) -> _Document: ...
def rules(**options: Any) -> _Document: ...
def align(**options: Any) -> _Document: ...
def recheck(**options: Any) -> _Document: ...
@overload
def sweep(
    varied: Mapping[str, Union[str, Sequence[float]]], *, output: None = None, **options: Unpack[_SweepOptions]
) -> dict[str, _Column]: ...
@overload
def sweep(
    varied: Mapping[str, Union[str, Sequence[float]]],
    *,
    output: Union[str, PathLike[str]],
    **options: Unpack[_SweepOptions],
) -> Path: ...
def table(columns: Mapping[str, _Column]) -> Any: ...
def identify_stride(
    curve: Union[str, PathLike[str], _Columns], *, name: str = ..., **options: Any
) -> _Document: ...
def identify_bench(
    points: Union[str, PathLike[str], _Columns], *, name: str = ..., **options: Any
) -> _Document: ...
def model(kind: str, name: str) -> dict[str, Any]: ...
