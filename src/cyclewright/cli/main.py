"""`cyclewright`: every command, and one place where errors become lines and exit codes."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Sequence
from functools import cache
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup
from typer.exceptions import TyperException

from cyclewright import __version__
from cyclewright.cli.common import fail, shown_anew
from cyclewright.errors import CyclewrightError, InputError, Integrity, Problem

# Models of ours need no plug-ins, and looking for some reads every package's entry points.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")

MODULES = {
    "settle": ("check", "advise", "plan"),
    "records": (
        "open", "list", "show", "record", "undo", "reading", "gate", "release", "verify",
    ),
    "carton": ("receive",),
    "inspect": ("inspect", "tools"),
    "keep": ("care", "pack"),
    "people": ("people", "erase"),
    "disputes": ("settle",),
    "fit": ("angle",),
    "paper": ("draw", "print"),
    "archive": ("archive",),
    "serving": ("bench", "devices", "demo"),
    "sheet": ("sheet",),
    "calc": ("calc",),
}  # fmt: skip
"""The files of commands and what each has: only the one that is asked for is loaded."""

_NEGATIVE = re.compile(r"-[.,]?\d")
_WORDS = {"Input should be a valid integer": "give a whole number"}
"""Sentences of the option parser that a person at a bench would not say."""
COMMANDS = frozenset(name for names in MODULES.values() for name in names)

ORDER = (
    *("sheet", "check", "settle", "advise", "plan"),
    *("open", "receive", "list", "show", "record", "undo", "reading", "gate", "release"),
    *("care", "pack", "inspect", "verify", "erase"),
    *("angle", "draw", "print", "calc", "tools", "people", "archive", "bench", "devices", "demo"),
)

START = """\b
Begin with the example bike:     cyclewright demo --no-serve
Begin with a bike of your own:   cyclewright sheet new

\b
Exit codes: 0 done; 1 forbidden by a gate, role or record; 2 a value that cannot
be; 3 sums that do not settle; 4 disk or record damaged; 70 our own fault."""


class InOrder(TyperGroup):
    """Commands in the order in which a bike meets them."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Every command's name."""
        return sorted(self.commands, key=ORDER.index)


@cache
def program(name: str = "") -> Callable[..., object]:
    """The program with the commands of one file, or with all of them when none is named."""
    app = typer.Typer(
        name="cyclewright",
        cls=InOrder,
        epilog=START,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    wanted = [module for module, names in MODULES.items() if name in names]
    for module in wanted or MODULES:
        import_module(f"cyclewright.cli.{module}").register(app)
    if wanted:
        app.callback(add_help_option=False)(_only)
    else:
        app.callback(invoke_without_command=True)(_root)
    return typer.main.get_command(app)


def _root(
    context: typer.Context,
    version: bool = typer.Option(False, "--version", help="Print the version and stop."),
) -> None:
    """The bench companion from carton to hand-over.

    It plans a bicycle's build, does the sums, keeps the record and says what to do next. It
    supports a competent person and certifies nothing: the maker's manual comes first.
    """
    if version:
        sys.stdout.write(f"cyclewright {__version__}\n")
    elif context.invoked_subcommand is None:
        sys.stdout.write(context.get_help() + "\n")


def _only() -> None:
    """The bench companion from carton to hand-over."""


def main(arguments: Sequence[str] | None = None) -> None:
    """The console script."""
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: Sequence[str]) -> int:
    """Run one command; gives its exit code and never a traceback."""
    # A leading blank keeps "-5 mm" a value; what reads it ignores the blank.
    listed = [f" {word}" if _NEGATIVE.match(word) else word for word in arguments]
    as_json = "--json" in listed
    shown_anew()
    try:
        command = program(listed[0] if listed and listed[0] in COMMANDS else "")
        result = command(args=listed, prog_name="cyclewright", standalone_mode=False)
    except CyclewrightError as error:
        return fail(error, as_json, listed)
    except TyperException as error:
        return fail(_usage(error), as_json, listed)
    except (typer.Abort, KeyboardInterrupt):
        sys.stderr.write("stopped\n")
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        return fail(_disk(error), as_json, listed)
    except Exception as error:
        return fail(_fault(error), as_json, listed)
    return result if isinstance(result, int) else 0


def _usage(error: Exception) -> InputError:
    """A wrong command line as one sentence."""
    told = getattr(error, "format_message", lambda: str(error))()
    context = getattr(error, "ctx", None)
    command = "cyclewright" if context is None else context.command_path
    for theirs, ours in _WORDS.items():
        head, found, _ = told.partition(theirs)
        told = f"{head}{ours}" if found else told
    told = told if told.endswith((".", "?", ")")) else f"{told}."
    return InputError(Problem("usage", "", f"{told} See `{command} --help`."))


def _disk(error: OSError) -> Integrity:
    where = f" ({error.filename})" if error.filename else ""
    do = f"{error.strerror or error}{where}: check the path, the disk and your rights there"
    return Integrity(Problem("disk", "", do))


class _FaultError(CyclewrightError):
    """Our own mistake: exit code 70."""


def _fault(error: Exception) -> CyclewrightError:
    """An error of ours, with the details kept in a file instead of on the screen."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="cyclewright-fault-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write("".join(traceback.format_exception(error)))
    do = f"this is a fault of Cyclewright ({type(error).__name__}); the details are in {file.name}"
    return _FaultError(Problem("fault", "", do))


if __name__ == "__main__":
    main()
