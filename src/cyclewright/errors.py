"""What a user can get wrong, each with what to do about it.

Every error carries a tuple of `Problem`s, so that all bad fields are told at once; the command
line, the page and the JSON print the same objects.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: which field, what was found, what is allowed, what to do."""

    code: str
    field: str
    do: str
    value: str | None = None
    unit: str | None = None
    allowed: str | None = None

    def line(self) -> str:
        """The problem as one sentence for a person."""
        found = "" if self.value is None else f" is {_clip(self.value)}"
        allowed = "" if self.allowed is None else f" (allowed: {self.allowed})"
        return _plain(f"{self.field}{found}{allowed}: {self.do}" if self.field else self.do)

    def to_json(self) -> dict[str, str | None]:
        """The problem as the JSON object that every face prints."""
        return asdict(self)


class CyclewrightError(Exception):
    """Anything that ends a request with a clear sentence; `exit_code` is the command line's."""

    exit_code: ClassVar[int] = 70

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(problem.line() for problem in self.problems))

    def to_json(self) -> dict[str, list[dict[str, str | None]]]:
        """`{"errors": [...]}` as the contract has it."""
        return {"errors": [problem.to_json() for problem in self.problems]}


class InputError(CyclewrightError, ValueError):
    """A value, field or combination that cannot be."""

    exit_code: ClassVar[int] = 2


class RangeError(InputError):
    """A well-formed value outside what is physically or legally possible."""


class NotConverged(CyclewrightError, RuntimeError):  # noqa: N818
    """The coupled sums did not settle."""

    exit_code: ClassVar[int] = 3


class Refusal(CyclewrightError, RuntimeError):  # noqa: N818
    """A well-formed act that a gate, a role or the record forbids."""

    exit_code: ClassVar[int] = 1


class Conflict(Refusal):
    """The subject changed since its author last saw it."""


class Integrity(CyclewrightError, RuntimeError):  # noqa: N818
    """Disk, database or hash chain: something on this machine is not as it was written."""

    exit_code: ClassVar[int] = 4


def input_error(code: str, field: str, do: str, **more: str | None) -> InputError:
    """An `InputError` with a single problem."""
    return InputError(Problem(code, field, do, **more))


def range_error(code: str, field: str, do: str, **more: str | None) -> RangeError:
    """A `RangeError` with a single problem."""
    return RangeError(Problem(code, field, do, **more))


def refusal(code: str, field: str, do: str, **more: str | None) -> Refusal:
    """A `Refusal` with a single problem."""
    return Refusal(Problem(code, field, do, **more))


def _plain(text: str) -> str:
    """The text on one line: control characters, which a file's name may hold, become spaces."""
    return "".join(char if char.isprintable() else " " for char in text)


def _clip(text: str, longest: int = 80) -> str:
    """The text short enough to stand in a sentence."""
    clean = _plain(text)
    return clean if len(clean) <= longest else clean[: longest - 1] + "…"
