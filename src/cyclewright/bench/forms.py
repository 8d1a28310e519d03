"""Forms as they arrive: plain text fields, capped, with nothing lost."""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import FormData

from cyclewright.bench.render import bench_of
from cyclewright.errors import refusal

LONGEST = 2000
"""Characters a text may have; one more is kept, so that what is too long is told and not cut."""


RECORD = "bench-record"
"""Header of an entry that waited: the record that it was made for."""


async def _read(request: Request) -> AsyncIterator[FormData]:
    if request.headers.get(RECORD, bench_of(request).record) != bench_of(request).record:
        do = "it was made for another shop's record: enter it at the bench that it belongs to"
        raise refusal("other-record", "", do)
    async with request.form(max_files=4, max_fields=400) as form:
        yield form


Form = Annotated[FormData, Depends(_read)]
"""The whole form of a request, for endpoints that run in a thread."""


def text(form: FormData, key: str) -> str:
    """One text field, stripped; empty when it is not there or is a file."""
    value = form.get(key)
    return value.strip()[: LONGEST + 1] if isinstance(value, str) else ""


def texts(form: FormData, key: str) -> list[str]:
    """Every text field of that name that is not empty."""
    found = (value.strip()[: LONGEST + 1] for value in form.getlist(key) if isinstance(value, str))
    return [value for value in found if value]


def optional(form: FormData, key: str) -> str | None:
    """One text field, None when it is empty."""
    return text(form, key) or None


def number_of(form: FormData, key: str) -> int | None:
    """A whole number that a page put into its own form, None when it is not one."""
    found = text(form, key)
    return int(found) if found.isdecimal() and len(found) < 16 else None


def with_unit(value: str, unit: str) -> str:
    """A bare number with the unit its field shows; anything else as it was written.

    >>> with_unit("150", "mm")
    '150 mm'
    >>> with_unit("5.9 ft", "cm")
    '5.9 ft'
    """
    bare = value.replace("−", "-")
    return f"{value} {unit}" if bare.strip("+-").replace(".", "", 1).isdecimal() else value


def kept(form: FormData, keys: Mapping[str, str] | tuple[str, ...]) -> dict[str, str]:
    """The fields that were filled in, by key."""
    return {key: found for key in keys if (found := text(form, key))}
