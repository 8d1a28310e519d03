"""What all commands share: options that may stand anywhere, output, and how errors are told."""

from __future__ import annotations

import inspect
import json
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextvars import ContextVar
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer
from typer.core import TyperArgument, TyperCommand, TyperGroup

from cyclewright.errors import CyclewrightError, InputError, Problem
from cyclewright.setting import Finding, Question
from cyclewright.units import System
from cyclewright.units.told import told

if TYPE_CHECKING:
    from rich.table import Table

    from cyclewright.workshop.answers import ReadingAnswer, RecordAnswer, Sheets
    from cyclewright.workshop.shop import Shop

WIDTH = 118

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document, in SI.")]
Units = Annotated[
    str,
    typer.Option(
        "--units", metavar="SYSTEM", help="trade (psi, mm), metric (bar, mm) or imperial (psi, in)."
    ),
]
Data = Annotated[
    Path | None,
    typer.Option(
        "--data", metavar="DIR", help="Folder of the shop's record.", envvar="CYCLEWRIGHT_DATA"
    ),
]
HiddenUnits = Annotated[str, typer.Option("--units", hidden=True)]
HiddenData = Annotated[Path | None, typer.Option("--data", hidden=True)]
"""Taken by commands that have no use for them, so that they may always be given."""
Bike = Annotated[str | None, typer.Argument(metavar="BIKE", help="The bike's sheet (TOML).")]
Others = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[RIDER] PLACE",
        help="The rider's sheet, left out where --mass is given, then the place's.",
    ),
]
Mass = Annotated[
    str | None,
    typer.Option(
        "--mass", metavar="MASS", help="For a bike without a rider: mass with kit, like '80 kg'."
    ),
]
BikeId = Annotated[
    int | None,
    typer.Option("--bike-id", metavar="ID", help="A bike on record, instead of sheets."),
]
Id = Annotated[int, typer.Argument(metavar="ID", help="The bike's number, as `open` printed it.")]
By = Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who does it.")]
Pin = Annotated[
    bool,
    typer.Option("--pin", help="Ask for the PIN, unseen; without it CYCLEWRIGHT_PIN is taken."),
]
On = Annotated[
    str | None,
    typer.Option("--on", metavar="DAY", help="The day, like 2031-05-24; today without."),
]
Photos = Annotated[
    list[Path] | None,
    typer.Option("--photo", metavar="FILE", help="A photo. May be given again."),
]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        metavar="FIELD=VALUE",
        help="Change a sheet field first; FIELD+=VALUE adds. May be given again.",
    ),
]


class Command(TyperCommand):
    """A command whose help says what to write, not which of Python's types it becomes."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """The arguments as they are written, then the options."""
        return [*(_written(item) for item in self._arguments()), "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Arguments with what each of them is, then options."""
        rows = [(_written(item), item.help or "") for item in self._arguments()]
        if rows:
            with formatter.section("Arguments"):
                formatter.write_dl(rows)
        options = (item for item in self.get_params(ctx) if not isinstance(item, TyperArgument))
        told = [row for item in options if (row := item.get_help_record(ctx)) is not None]
        with formatter.section("Options"):
            formatter.write_dl(told)

    def _arguments(self) -> list[TyperArgument]:
        return [item for item in self.params if isinstance(item, TyperArgument)]


class Verb(Command):
    """A command of a group whose bike stands before it: `receive ID damage TEXT`."""

    def format_usage(self, ctx: Any, formatter: Any) -> None:
        """The usage in the order in which it is typed."""
        group = ctx.command_path.rpartition(" ")[0]
        formatter.write_usage(group, " ".join(self.typed(ctx)))

    def typed(self, ctx: Any = None) -> list[str]:
        """Bike, verb, then what the verb takes."""
        bike, *rest = (_written(item) for item in self._arguments())
        pieces = [bike, str(self.name), *rest]
        return pieces if ctx is None else [*pieces, "[OPTIONS]"]


class ByVerb(TyperGroup):
    """A group whose bike may stand before the verb, and that shows it when there is none."""

    default = "show"

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """The words with the verb in front, where the program looks for it."""
        if "--help" in args and not set(args) & set(self.commands):
            return super().parse_args(ctx, args)
        return super().parse_args(ctx, verb_first(args, self.commands, self.default))

    def list_commands(self, ctx: Any) -> list[str]:
        """Verbs in the order in which they are met."""
        return list(self.commands)

    def format_usage(self, ctx: Any, formatter: Any) -> None:
        """The usage with the bike where it is typed, if any verb is about one."""
        bikes = any(isinstance(one, Verb) for one in self.commands.values())
        formatter.write_usage(ctx.command_path, "[ID] VERB ..." if bikes else "VERB ...")


_WITH_VALUE = ("--data", "--units", "--by")


def verb_first(args: Sequence[str], verbs: Iterable[str], default: str) -> list[str]:
    """Words with the verb moved to the front, or the default one put there.

    A verb stands first or after the bike; options that every command takes may stand before it.

    >>> verb_first(["3", "damage", "a dent"], ["damage"], "show")
    ['damage', '3', 'a dent']
    >>> verb_first(["3", "--json"], ["damage"], "show")
    ['show', '3', '--json']
    """
    known, places, skip = set(verbs), [], False
    for place, word in enumerate(args):
        if skip or word.startswith("-"):
            skip = not skip and word in _WITH_VALUE
            continue
        places.append(place)
    for place in places[:2]:
        if args[place] in known:
            return [args[place], *args[:place], *args[place + 1 :]]
    return [default, *args]


def group(name: str, told: str) -> typer.Typer:
    """A group of verbs that shows what there is when no verb is given."""
    made = typer.Typer(
        name=name, cls=ByVerb, help=told, add_completion=False, rich_markup_mode=None
    )
    made.callback()(lambda: None)
    return made


def verb(app: typer.Typer, name: str, use: Callable[..., None], bike: bool = True) -> None:
    """Put one verb on a group; most are about one bike."""
    app.command(name, cls=Verb if bike else Command)(use)


def _written(argument: TyperArgument) -> str:
    return argument.metavar or str(argument.name).upper()


def command(app: typer.Typer, name: str, use: Callable[..., None]) -> None:
    """Put one command on the program."""
    app.command(name, cls=Command)(use)


Brief = Annotated[bool, typer.Option("--brief", help="One line for each finding or card.")]

SEVERITY = {"stop": "STOP", "warn": "check", "note": "note"}


_SHOWN: ContextVar[System] = ContextVar("shown", default="trade")


def system(name: str) -> System:
    """The system of units to show, or an error naming the three; all that is said is in it."""
    if name not in ("trade", "metric", "imperial"):
        raise InputError(Problem("units", "--units", "use trade, metric or imperial", value=name))
    _SHOWN.set(cast(System, name))
    return _SHOWN.get()


def units_shown() -> System:
    """The system of units that this command was asked for."""
    return _SHOWN.get()


def shown_anew() -> None:
    """Back to the units of the trade, before a command has said which it wants."""
    _SHOWN.set("trade")


def _told(text: str) -> str:
    return told(text, _SHOWN.get())


def open_shop(data: Path | None, pin: bool = False, second: bool = False) -> Shop:
    """The shop's record in its data folder; asks for PINs where that is wanted."""
    from cyclewright.workshop.shop import Shop

    shop = Shop.open(data)
    if pin:
        shop.pin = ask_unseen("PIN")
        shop.second_pin = ask_unseen("PIN of the second person") if second else shop.second_pin
    return shop


def ask_unseen(text: str) -> str:
    """A secret typed without being shown; a line of standard input where nobody types."""
    if sys.stdin.isatty():
        from getpass import getpass

        return getpass(f"{text}: ").strip()
    return sys.stdin.readline().strip()


def act(use: Callable[..., RecordAnswer]) -> Callable[..., None]:
    """A command that records one thing and tells what came of it.

    `use` takes the open shop, who does it, and what is typed; the options that every such
    command has come after its own.
    """
    unloaded = {"Shop": Any, "RecordAnswer": Any}
    signature = inspect.signature(use, locals=unloaded, eval_str=True)
    _, _, *own = signature.parameters.values()
    every = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=what)
        for name, what, default in (
            ("by", By, None),
            ("pin", Pin, False),
            ("json", Json, False),
            ("units", HiddenUnits, "trade"),
            ("data", Data, None),
        )
    ]

    def run(
        *, by: str | None, pin: bool, json: bool, units: str, data: Path | None, **typed: Any
    ) -> None:
        system(units)
        with open_shop(data, pin) as shop:
            answer = use(shop, by, **typed)
        print_act(answer, json)

    run.__doc__ = use.__doc__
    options = [*own, *every]
    run.__signature__ = inspect.Signature(options)  # type: ignore[attr-defined]  # `inspect` reads it
    run.__annotations__ = {item.name: item.annotation for item in options}
    return run


def print_act(answer: RecordAnswer, json: bool) -> None:
    """What was recorded, in a sentence or as data; a reading says what it means."""
    if json:
        print_json(answer.to_json())
        return
    say_wrapped(answer.said)
    if answer.reading is not None:
        print_reading(answer.reading)


def print_reading(answer: ReadingAnswer) -> None:
    """What a reading says: the next setting, or to stop, or what to look at first."""
    say_wrapped(answer.said)
    print_findings(answer.suspects, ())


def pairs(given: Iterable[str], option: str, what: str) -> dict[str, str]:
    """`NAME=VALUE` words as a mapping; all that are not so written are told at once."""
    parted = [(item, *item.partition("=")) for item in given]
    wrong = [
        Problem("pair", option, f"write {what}", value=item)
        for item, name, found, value in parted
        if not (found and name.strip() and value.strip())
    ]
    if wrong:
        raise InputError(wrong)
    return {name.strip(): value.strip() for _, name, _, value in parted}


def read_sheets(bike: str | None, others: Sequence[str] | None, mass: str | None) -> Sheets:
    """The sheets named on the command line: BIKE [RIDER] PLACE."""
    from cyclewright.workshop.sheets import read_sheets as read

    rest = list(others or ())
    if bike is None or not 1 <= len(rest) <= 2:
        raise InputError(
            Problem(
                "sheets",
                "BIKE [RIDER] PLACE",
                "name a bike sheet, a rider sheet (or --mass '80 kg') and a place sheet",
            )
        )
    rider = rest[0] if len(rest) == 2 else None
    return read(Path(bike), None if rider is None else Path(rider), Path(rest[-1]), mass)


def sheets_of(
    bike: str | None,
    others: Sequence[str] | None,
    mass: str | None,
    bike_id: int | None,
    data: Path | None,
) -> Sheets:
    """Sheets from files, or those in force for a bike on record."""
    if bike_id is None:
        return read_sheets(bike, others, mass)
    if bike is not None or mass is not None:
        raise InputError(
            Problem("sheets", "--bike-id", "give either sheets or --bike-id, not both")
        )
    with open_shop(data) as shop:
        return shop.sheets(shop.state(bike_id))


def print_json(data: object) -> None:
    """One JSON document on standard output."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    sys.stdout.write(text + "\n")


def say(text: str = "") -> None:
    """One line of human output."""
    sys.stdout.write(_told(text) + "\n")


def say_wrapped(text: str, head: str = "") -> None:
    """A sentence after its head, hanging, as wide as the screen; whole when nobody looks."""
    width, text = _width(), _told(text)
    if width is not None:
        text = textwrap.fill(
            text,
            max(width, 60),
            initial_indent=head,
            subsequent_indent=" " * len(head),
            break_on_hyphens=False,
            break_long_words=False,
        )
        head = ""
    say(head + text)


def _width() -> int | None:
    """How wide sentences are: what the output says of itself, else the screen, else None."""
    stated = getattr(sys.stdout, "width", None)
    if isinstance(stated, int):
        return stated
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None


def table(*columns: str | tuple[str, Literal["left", "right"]]) -> Table:
    """A plain table with these columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table as RichTable

    class Told(RichTable):
        """A table whose cells are told in the units asked for."""

        def add_row(self, *cells: Any, **more: Any) -> None:
            """One row."""
            super().add_row(
                *(_told(cell) if isinstance(cell, str) else cell for cell in cells), **more
            )

    made = Told(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1), header_style="bold")
    for column in columns:
        name, justify = column if isinstance(column, tuple) else (column, "left")
        made.add_column(name, justify=cast(Any, justify), overflow="fold")
    return made


def print_table(made: Table) -> None:
    """A table as wide as the screen, or a fixed width when nobody looks."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else WIDTH
    Console(file=sys.stdout, width=width, highlight=False, markup=False).print(made)


def print_findings(
    findings: Iterable[Finding], questions: Iterable[Question], brief: bool = False
) -> None:
    """Findings with their facts, rule and what to do, then what has to be looked up."""
    for finding in findings:
        code = f"{finding.code}: " if brief else ""
        say_wrapped(f"{code}{finding.do}", f"{SEVERITY[finding.severity]:<6} ")
        if brief:
            continue
        for fact in finding.facts:
            say_wrapped(fact, "       · ")
        say_wrapped(finding.rule, "       rule: ")
    asked = list(questions)
    if asked:
        say(f"\nTo look up ({len(asked)}):")
        for question in asked:
            say_wrapped(question.ask, f"  {question.field}: ")


def fail(error: CyclewrightError, as_json: bool, words: Sequence[str] = ()) -> int:
    """Tell an error on standard error, one line a problem; gives the exit code.

    A value that stands in the `words` of the command is told as it was typed.
    """
    given = " ".join(words)
    if as_json:
        sys.stderr.write(json.dumps(error.to_json(), ensure_ascii=False) + "\n")
    else:
        for problem in error.problems:
            value, allowed = (
                text if text is None or text in given else _told(text)
                for text in (problem.value, problem.allowed)
            )
            said = replace(problem, do=_told(problem.do), value=value, allowed=allowed)
            sys.stderr.write(said.line() + "\n")
    return error.exit_code
