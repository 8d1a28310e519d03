"""The page of every command, made from the program itself.

`python tests/commands.py > docs/commands.md`
"""

from __future__ import annotations

from typing import Any

from typer.core import TyperArgument, TyperGroup

from cyclewright.cli.common import Verb
from cyclewright.cli.main import ORDER, program
from cyclewright.workshop import calc

HEAD = """# Commands

Made by `make docs` from the program's own help, and held to it by a test. `--json`, `--units` and
`--data` may stand anywhere after the command. With `--json` there is one JSON document in SI on
standard output, and errors are one JSON object on standard error. How sheets are written is said by
`cyclewright sheet fields`; what is not built yet by [coverage.md](coverage.md).
"""


def tree() -> dict[str, Any]:
    """Every command by its whole name, groups left out."""
    found: dict[str, Any] = {}
    root: Any = program()
    for name in ORDER:
        one = root.commands[name]
        if isinstance(one, TyperGroup):
            found |= {f"{name} {inner}": each for inner, each in one.commands.items()}
        else:
            found[name] = one
    return found


def page() -> str:
    """The whole page as Markdown."""
    parts = [HEAD, *(_section(name, one) for name, one in tree().items()), _sums(), _codes()]
    return "\n".join(parts)


def _section(name: str, one: Any) -> str:
    arguments = [item for item in one.params if isinstance(item, TyperArgument)]
    usage = " ".join(item.metavar or item.name.upper() for item in arguments)
    usage = usage or one.options_metavar.removesuffix("[OPTIONS]").strip()
    rows = [
        (item.metavar or item.name.upper(), _plain(item.help))
        if isinstance(item, TyperArgument)
        else (_option(item), _plain(item.help) + _default(item))
        for item in one.params
        if not item.hidden
    ]
    told = "\n\n".join(" ".join(text.split()) for text in (one.help or "").split("\n\n"))
    written = f"cyclewright {name} {usage}".strip()
    if isinstance(one, Verb):
        written = " ".join(["cyclewright", name.split()[0], *one.typed()])
    lines = [f"## cyclewright {name}", "", told, "", f"`{written}`", ""]
    if rows:
        lines += ["| write | for |", "|---|---|", *(f"| `{a}` | {b} |" for a, b in rows), ""]
    return (
        "\n".join(lines)
        .replace("(ID | BIKE", "(ID or BIKE")
        .replace("(ride | ", "(ride or ")
        .replace("(mechanic | checker | owner)", "(mechanic, checker or owner)")
    )


def _option(item: Any) -> str:
    names = ", ".join((*item.opts, *item.secondary_opts))
    return names if item.is_flag else f"{names} {item.metavar or item.name.upper()}"


def _default(item: Any) -> str:
    if item.is_flag or item.default in (None, "") or callable(item.default):
        return ""
    return f" Otherwise `{item.default}`."


def _plain(text: str | None) -> str:
    return " ".join((text or "").split()).replace("|", "\\|")


def _sums() -> str:
    rows = [f"| `{one.name}` | {one.sentence} | `{one.example}` |" for one in calc.catalogue()]
    return "\n".join(
        ["## The sums of `calc`", "", "| name | what | example |", "|---|---|---|", *rows, ""]
    )


def _codes() -> str:
    return """## Exit codes

| code | meaning |
|---|---|
| 0 | done; also a check with findings, advice that leaves a value open, a plan with questions |
| 1 | a well-formed act that a gate, a role, the record or a conflict forbids |
| 2 | a value or combination that cannot be, or a wrong command line |
| 3 | sums that do not settle |
| 4 | disk, database or record: something is not as it was written |
| 70 | our own fault; the details are in the file that the message names |
"""


if __name__ == "__main__":
    print(page(), end="")
