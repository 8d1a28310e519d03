"""`cyclewright calc`: one sum by name."""

from __future__ import annotations

import json as json_text
import sys
from typing import TYPE_CHECKING

import typer

from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop import calc as sums


def register(app: typer.Typer) -> None:
    """Put this command on the program."""
    app.command(
        "calc",
        options_metavar="[NAME] [KEY=VALUE]... [OPTIONS]",
        add_help_option=False,
        context_settings={"allow_extra_args": True, "ignore_unknown_options": True},
    )(_calc)


def _calc(context: typer.Context) -> None:
    """One sum by itself, with its source.

    Like `cyclewright calc atmosphere altitude='1000 m'`. Without a name it lists the sums; with
    a name alone it shows inputs, source and an example. With --json it prints one JSON document,
    in SI.
    """
    # Words are taken as they stand: a declared option, even --help, would wake all of pydantic.
    if "--help" in context.args:
        sys.stdout.write(context.get_help() + "\n")
        return
    words, json = _sorted_out(context.args)
    calc(words[0] if words else None, words[1:], json)


def _sorted_out(arguments: list[str]) -> tuple[list[str], bool]:
    """The words, and whether --json was among them; --units and --data change nothing here."""
    words: list[str] = []
    json = False
    rest = iter(arguments)
    for word in rest:
        if word == "--json":
            json = True
        elif word in ("--units", "--data"):
            next(rest, None)
        elif word.startswith("--") and not word.startswith(("--units=", "--data=")):
            do = f"No such option: {word}. See `cyclewright calc --help`."
            raise InputError(Problem("usage", "", do))
        elif not word.startswith("--"):
            words.append(word)
    return words, json


def calc(name: str | None, pairs: list[str], json: bool) -> None:
    """List the sums, describe one, or run it on `key=value` inputs."""
    # Only this command wakes NumPy.
    from cyclewright.workshop import calc as sums

    if name is None:
        _print_list(sums.catalogue(), json)
    elif not pairs and any(item.needed for item in sums.calculation(name).inputs):
        _print_description(sums.calculation(name), json)
    else:
        _print_answer(sums.run(name, pairs), json)


def _print_list(every: tuple[sums.Calculation, ...], json: bool) -> None:
    if json:
        _print_json({"calculations": [item.to_json() for item in every]})
        return
    width = max(len(item.name) for item in every)
    for item in every:
        print(f"{item.name:<{width}}  {item.sentence}")
    print("\n`cyclewright calc NAME` shows a sum's inputs and an example.")


def _print_description(item: sums.Calculation, json: bool) -> None:
    if json:
        _print_json(item.to_json())
        return
    print(item.sentence)
    _print_rows("inputs", [(one.key, _input_words(one)) for one in item.inputs])
    _print_rows("results", [(one.key, f"{one.meaning} [{one.unit}]") for one in item.results])
    print(f"\nsource: {item.source}\nexample: {item.example}")


def _input_words(item: sums.Input) -> str:
    unit = f" [{item.unit}]" if item.unit not in ("", "1") else ""
    default = f", default {item.default}" if item.default is not None else ""
    optional = ", optional" if item.optional else ""
    allowed = f" ({item.allowed})" if item.allowed else ""
    return f"{item.meaning}{unit}{allowed}{default}{optional}"


def _print_answer(answer: sums.CalcAnswer, json: bool) -> None:
    if json:
        _print_json(answer.to_json())
        return
    width = max(len(key) for key in answer.results)
    for key in answer.results:
        print(f"{key:<{width}}  {answer.shown(key)}")
    for note in answer.notes:
        print(note)
    print(f"source: {answer.source}")


def _print_rows(title: str, rows: list[tuple[str, str]]) -> None:
    width = max(len(key) for key, _ in rows)
    print(f"\n{title}")
    for key, words in rows:
        print(f"  {key:<{width}}  {words}")


def _print_json(data: object) -> None:
    json_text.dump(data, sys.stdout, ensure_ascii=False, allow_nan=False)
    sys.stdout.write("\n")
