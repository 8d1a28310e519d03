"""Whatever happens to a sheet, it reads, or it is refused in clear lines: never a traceback."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from cyclewright.errors import InputError
from cyclewright.sheets.fields import fields
from cyclewright.sheets.read import read
from cyclewright.sheets.write import dump, toml_value
from sheets.samples import EVERY

SHEETS = [(kind, path.read_text(encoding="utf-8")) for kind, path in EVERY]
TABLES = [(kind, tomllib.loads(text)) for kind, text in SHEETS]
PATHS = {item.path for item in fields()}

words = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\x7f"), max_size=30
)
numbers = st.one_of(
    st.integers(-(10**30), 10**30),
    st.floats(allow_nan=True, allow_infinity=True),
)
quantities = st.builds(
    lambda number, unit, sigma: f"{number} {unit}{sigma}",
    st.one_of(st.integers(-(10**6), 10**6), st.floats(-1e4, 1e4), st.just("1e400")),
    st.sampled_from(["mm", "kg", "psi", "deg", "N.m", "%", "", "degC", "psi abs", "bananas", '"']),
    st.sampled_from(["", " ± 1", " +/- 1e9", " ± -1", " ± x"]),
)
leaves = st.one_of(words, numbers, quantities, st.booleans())
values = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(words.filter(bool), inner, max_size=4)
    ),
    max_leaves=8,
)


def toml(value: Any) -> str:
    """Any value inline, with the odd floats that TOML knows."""
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{toml_value(key)} = {toml(one)}" for key, one in value.items()) + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    return toml_value(value)


def read_or_refuse(source: str | bytes, kind: str) -> None:
    try:
        model = read(source, kind)
    except InputError as error:
        assert error.problems
        assert len(error.problems) <= 62
        for problem in error.problems:
            assert problem.do
            assert problem.line().isprintable()
            assert problem.field == "" or problem.field.startswith(kind)
    else:
        assert read(dump(model), kind) == model


def spots(table: dict[str, Any], path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of the tables where something can be put, taken out or renamed."""
    found = []
    for key, value in table.items():
        found.append((*path, key))
        if isinstance(value, dict):
            found.extend(spots(value, (*path, key)))
        elif isinstance(value, list):
            for number, row in enumerate(value):
                found.append((*path, key, number))
                if isinstance(row, dict):
                    found.extend(spots(row, (*path, key, number)))
    return found


@st.composite
def mutated(draw) -> tuple[str, str]:
    """An example sheet after a few of the things that people and editors do to a sheet."""
    kind, table = draw(st.sampled_from(TABLES))
    table = tomllib.loads(document(table))
    for _ in range(draw(st.integers(1, 4))):
        where = draw(st.sampled_from(spots(table)))
        here: Any = table
        for key in where[:-1]:
            here = here[key]
        act = draw(st.sampled_from(["value", "gone", "renamed", "extra", "doubled"]))
        if act == "gone":
            del here[where[-1]]
            if not table:
                break
        elif act == "value" or isinstance(here, list):
            here[where[-1]] = draw(values)
        elif act == "renamed":
            here[draw(words.filter(bool))] = here.pop(where[-1])
        elif act == "extra":
            here[draw(words.filter(bool))] = draw(values)
        else:
            here[where[-1]] = [here[where[-1]], here[where[-1]]]
    return kind, document(table)


def document(table: dict[str, Any]) -> str:
    return "".join(f"{toml_value(key)} = {toml(value)}\n" for key, value in table.items())


@settings(max_examples=250)
@given(mutated())
def test_a_mutated_sheet_reads_or_is_refused(sheet):
    kind, text = sheet
    tomllib.loads(text)  # the mutation itself is whole TOML: what follows is about fields
    read_or_refuse(text, kind)


@settings(max_examples=120)
@given(st.sampled_from(SHEETS), st.data())
def test_a_torn_sheet_reads_or_is_refused(sheet, data):
    kind, text = sheet
    raw = text.encode()
    start = data.draw(st.integers(0, len(raw)))
    length = data.draw(st.integers(0, 40))
    middle = data.draw(st.binary(max_size=40))
    read_or_refuse(raw[:start] + middle + raw[start + length :], kind)
    read_or_refuse(raw[:start], kind)


@given(st.sampled_from(["bike", "rider", "place"]), st.binary(max_size=400))
def test_any_bytes_are_refused(kind, data):
    read_or_refuse(data, kind)


@given(st.sampled_from(SHEETS), st.sampled_from(SHEETS))
def test_a_sheet_of_another_kind_is_refused(sheet, other):
    read_or_refuse(sheet[1], other[0])


@settings(max_examples=150)
@given(st.sampled_from(sorted(PATHS)), values)
def test_any_value_in_any_field_reads_or_is_refused(path, value):
    kind, _, rest = path.partition(".")
    steps = rest.replace("NAME", "some").split(".")
    for step in reversed(steps):
        value = {step.removesuffix("[]"): [value] if step.endswith("[]") else value}
    read_or_refuse(document(value), kind)
