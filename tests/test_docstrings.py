"""Every example in a docstring runs, and every public sum keeps the docstring contract."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil

import numpy as np
import pytest

import cyclewright
from cyclewright.mechanics.glossary import TERMS

PURE = ("mechanics", "body", "measure", "solve")
PLUMBING = {"bounds", "tables", "constants", "glossary"}
SECTIONS = ("Parameters", "Returns", "Raises", "Notes", "Examples", "References")


def _modules(*rooms: str) -> list[str]:
    found = []
    for room in rooms:
        package = importlib.import_module(f"cyclewright.{room}")
        prefix = f"cyclewright.{room}."
        found += [item.name for item in pkgutil.iter_modules(package.__path__, prefix)]
    return found


def _sums(*rooms: str):
    for name in _modules(*rooms):
        if name.rsplit(".", 1)[1] in PLUMBING:
            continue
        module = importlib.import_module(name)
        for attribute, value in vars(module).items():
            here = inspect.isfunction(value) and value.__module__ == name
            if here and not attribute.startswith("_"):
                yield pytest.param(value, id=f"{name.removeprefix('cyclewright.')}.{attribute}")


@pytest.mark.parametrize("name", [*_modules(*PURE), "cyclewright.units", "cyclewright.setting"])
def test_examples_run(name):
    module = importlib.import_module(name)
    result = doctest.testmod(module, extraglobs={"np": np})
    assert result.failed == 0, f"{result.failed} of {result.attempted} examples in {name}"


@pytest.mark.parametrize("function", list(_sums("mechanics")))
def test_a_sum_keeps_the_docstring_contract(function):
    text = inspect.getdoc(function) or ""
    positions = [text.find(f"\n{section}\n{'-' * len(section)}\n") for section in SECTIONS]
    assert min(positions) > 0, f"sections: {dict(zip(SECTIONS, positions, strict=True))}"
    assert positions == sorted(positions)
    assert ">>> " in text.split("Examples\n")[1]
    assert "`" in text[: positions[0]], "the equation stands before the parameters"
    listed = text[positions[0] : positions[1]]
    for name in inspect.signature(function).parameters:
        assert f"{name} :" in listed or f"{name}," in listed or f", {name}" in listed, name


@pytest.mark.parametrize("function", list(_sums("mechanics", "body", "measure")))
def test_argument_names_are_in_the_glossary(function):
    names = {term.name for term in TERMS}
    unknown = set(inspect.signature(function).parameters) - names
    assert not unknown, f"add them to cyclewright/mechanics/glossary.py: {sorted(unknown)}"


def test_the_glossary_names_each_quantity_once():
    names = [term.name for term in TERMS]
    assert len(set(names)) == len(names)
    assert all(term.unit and term.meaning for term in TERMS)
    assert cyclewright.__version__
