"""The error of this module."""

from __future__ import annotations


class InputError(ValueError):
    """What is wrong in an input, in words, and where.

    Attributes:
        file: the file, or None.
        line: its line, counted from 1, or None.
        field: the field or option, or None.
    """

    def __init__(
        self,
        message: str,
        file: str | None = None,
        line: int | None = None,
        field: str | None = None,
    ) -> None:
        super().__init__(message)
        self.file = file
        self.line = line
        self.field = field
