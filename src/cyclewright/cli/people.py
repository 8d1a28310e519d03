"""`cyclewright people` and `erase`: who works here, their roles and PINs, and what is forgotten."""

from __future__ import annotations

from typing import Annotated

import typer

from cyclewright.cli.common import (
    By,
    Data,
    HiddenUnits,
    Json,
    Pin,
    ask_unseen,
    command,
    group,
    open_shop,
    print_json,
    print_table,
    say,
    say_wrapped,
    system,
    table,
    verb,
)
from cyclewright.errors import InputError, Problem

app = group("people", "Who works here: roles and PINs.")

Name = Annotated[str, typer.Argument(metavar="NAME", help="Somebody of this shop.")]
Role = Annotated[
    str,
    typer.Argument(
        metavar="(mechanic | checker | owner)",
        help="A mechanic records, a checker is second at gates, an owner settles people.",
    ),
]


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    if not app.registered_commands:
        verb(app, "show", show, bike=False)
        verb(app, "add", add, bike=False)
        verb(app, "role", role, bike=False)
        verb(app, "pin", set_pin, bike=False)
    program.add_typer(app, name="people")
    command(program, "erase", erase)


def show(json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """Everybody who records, with role, and whether they have a PIN."""
    from cyclewright.workshop.people import people

    system(units)
    with open_shop(data) as shop:
        rows = people(shop)
    if json:
        print_json({"people": [row.to_json() for row in rows]})
        return
    if not rows:
        say("Nobody yet: the first person named in a record is the owner.")
        return
    made = table(("No.", "right"), "Name", "Role", "PIN")
    for row in rows:
        made.add_row(str(row.id), row.name, row.role, "has one" if row.has_pin else "")
    print_table(made)


def add(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The new person.")],
    role: Annotated[
        str, typer.Option("--role", metavar="ROLE", help="mechanic, checker or owner.")
    ] = "mechanic",
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Somebody new; the first one is the owner, later ones are added by an owner."""
    from cyclewright.workshop.people import add_person

    system(units)
    with open_shop(data, pin) as shop:
        made = add_person(shop, name, role, by=by)
    print_json(made.to_json()) if json else say(f"{made.name} is here as {made.role}")


def role(
    name: Name,
    role: Role,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Give somebody a role; an owner does."""
    from cyclewright.workshop.people import give_role

    system(units)
    with open_shop(data, pin) as shop:
        made = give_role(shop, name, role, by=by)
    print_json(made.to_json()) if json else say(f"{made.name} is {made.role} now")


def set_pin(
    name: Name,
    off: Annotated[bool, typer.Option("--off", help="Take the PIN away.")] = False,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Set a PIN: your own, or an owner anybody's; the owner's comes first.

    The new PIN is asked for twice, unseen, or read from two lines of standard input.
    """
    from cyclewright.workshop import people

    system(units)
    with open_shop(data, pin) as shop:
        new = None if off else _new_pin()
        made = people.set_pin(shop, name, new, by=by)
    told = f"{made.name} has {'a PIN now' if made.has_pin else 'no PIN any more'}"
    print_json(made.to_json()) if json else say(told)


def erase(
    bike: Annotated[
        int | None, typer.Argument(metavar="[ID]", help="The bike; none with --person.")
    ] = None,
    what: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WHAT]...",
            help="rider, signatures or photos; rider and signatures where nothing is named.",
        ),
    ] = None,
    person: Annotated[
        str | None,
        typer.Option("--person", metavar="NAME", help="Instead: somebody's name and PIN."),
    ] = None,
    reason: Annotated[
        str, typer.Option("--reason", metavar="TEXT", help="Why; it stays on record.")
    ] = "",
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Erase personal facts for good; the record goes on and verifies.

    An owner does, with a reason. Steps, torques and settings stay. What was written into notes
    stays too, and backups keep what they hold until they are gone.
    """
    from cyclewright.workshop import erase as erasing

    system(units)
    if (bike is None) == (person is None):
        do = "name a bike by its number, or somebody by --person NAME"
        raise InputError(Problem("nothing-to-erase", "ID", do))
    if not reason.strip():
        raise InputError(Problem("reason-missing", "--reason", "say why it is erased"))
    with open_shop(data, pin) as shop:
        if person is not None:
            answer = erasing.erase_person(shop, person, reason=reason, by=by)
        else:
            assert bike is not None
            chosen = what or ["rider", "signatures"]
            answer = erasing.erase_bike(shop, bike, chosen, reason=reason, by=by)
    print_json(answer.to_json()) if json else say_wrapped(answer.said)


def _new_pin() -> str:
    new = ask_unseen("New PIN")
    if new != ask_unseen("The same once more"):
        raise InputError(Problem("pin-differs", "pin", "the two are not the same: try again"))
    return new
