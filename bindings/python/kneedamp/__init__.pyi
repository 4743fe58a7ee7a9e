from collections.abc import Mapping, Sequence
from os import PathLike
from typing import Any, Union

import numpy as np
import numpy.typing as npt
from typing_extensions import TypeAlias, TypedDict, Unpack

from ._errors import InputError as InputError

CAUTION: str
__version__: str

Document: TypeAlias = dict[str, Any]
Model: TypeAlias = Union[str, Mapping[str, Any]]
Inputs: TypeAlias = Mapping[str, Union[float, str]]
Column: TypeAlias = Union[npt.NDArray[np.float64], list[Union[str, None]]]
Columns: TypeAlias = Mapping[str, Union[Sequence[float], npt.NDArray[np.float64]]]

class Setup(TypedDict, total=False):
    """Options that every function takes: kg, m, m/s, steps/min, °C, mm, degrees; settings in percent."""

    person: Model
    mass: float
    stature: float
    prosthesis: Model
    knee: Model
    set: Inputs
    speed: float
    cadence: float
    temperature: float
    foot_shift: float
    foot_tilt: float
    drive: Model
    library: Union[str, PathLike[str]]

class RunOptions(Setup, total=False):
    input: Inputs

class WindowOptions(Setup, total=False):
    without: Sequence[str]
    map: str
    grid: int
    together: bool
    samples: int
    no_bands: bool
    full: bool

class UncertaintyOptions(Setup, total=False):
    scenario: str
    ranges: Model
    vary: Sequence[str]
    samples: int
    seed: int
    all: bool

class SweepOptions(Setup, total=False):
    scenario: Union[str, Sequence[str]]
    samples: int
    seed: int
    outcomes: Sequence[str]
    batch: bool

def run(*scenario: str, **options: Unpack[RunOptions]) -> Document: ...
def motion(scenario: str, **options: Unpack[RunOptions]) -> dict[str, npt.NDArray[np.float64]]: ...
def compare(
    *,
    scenario: Union[str, None] = None,
    a: Inputs = ...,
    b: Inputs = ...,
    c: Inputs = ...,
    d: Inputs = ...,
    **options: Unpack[Setup],
) -> Document: ...
def window(*scenario: str, **options: Unpack[WindowOptions]) -> Document: ...
def uncertainty(**options: Unpack[UncertaintyOptions]) -> Document: ...
def adjust(*scenario: str, **options: Any) -> Document: ...
def next(**options: Any) -> Document: ...
def rules(**options: Any) -> Document: ...
def align(**options: Any) -> Document: ...
def recheck(**options: Any) -> Document: ...
def sweep(
    varied: Mapping[str, Union[str, Sequence[float]]], **options: Unpack[SweepOptions]
) -> dict[str, Column]: ...
def table(columns: Mapping[str, Column]) -> Any: ...
def identify_stride(
    curve: Union[str, PathLike[str], Columns], *, name: str = ..., **options: Any
) -> Document: ...
def identify_bench(
    points: Union[str, PathLike[str], Columns], *, name: str = ..., **options: Any
) -> Document: ...
def model(kind: str, name: str) -> dict[str, Any]: ...
