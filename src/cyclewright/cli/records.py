"""The record: `open`, `list`, `show`, `record`, `undo`, `reading`, `gate`, `release`, `verify`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright.cli.common import (
    Bike,
    By,
    Changes,
    Data,
    Id,
    Json,
    Mass,
    Others,
    Units,
    open_shop,
    print_findings,
    print_json,
    print_table,
    read_sheets,
    say,
    system,
    table,
)
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.answers import GateAnswer, Missing, RecordAnswer
    from cyclewright.workshop.care import VerifyAnswer


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    app.command("open")(open_bike)
    app.command("list")(list_bikes)
    app.command("show")(show)
    app.command("record")(record)
    app.command("undo")(undo)
    app.command("reading")(reading)
    app.command("gate")(gate)
    app.command("release")(release)
    app.command("verify")(verify)


def open_bike(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    change: Changes = None,
    by: By = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Open a bike's record with its sheets and its plan; prints its number."""
    from cyclewright.workshop.receive import open_bike as opened
    from cyclewright.workshop.sheets import changed

    system(units)
    sheets = changed(read_sheets(bike, others, mass), change or ())
    with open_shop(data) as shop:
        number = opened(shop, sheets, by=by)
    print_json({"id": number}) if json else say(str(number))


def list_bikes(
    words: Annotated[list[str] | None, typer.Argument(metavar="[WORDS]", help="Search.")] = None,
    limit: Annotated[int, typer.Option("--limit", help="Most rows to list.")] = 100,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """List the bikes on record, newest first."""
    from cyclewright.workshop.receive import list_bikes as listed

    system(units)
    with open_shop(data) as shop:
        rows = listed(shop, " ".join(words or ()), limit)
    if json:
        print_json({"bikes": [row.to_json() for row in rows]})
        return
    if not rows:
        say("No bike here yet: `cyclewright open BIKE [RIDER] PLACE` begins one." if not words
            else "No bike matches: try fewer words.")  # fmt: skip
        return
    made = table(("No.", "right"), "Bike", "Rider", "Stage", ("Steps", "right"), "Last entry")
    for row in rows:
        stage = f"{row.stage}, blocked" if row.blocked else row.stage
        made.add_row(
            str(row.id), row.name, row.rider, stage, f"{row.done}/{row.total}", row.updated[:16]
        )
    print_table(made)


def show(
    bike: Id,
    history: Annotated[bool, typer.Option("--history", help="Every event too.")] = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """What is known of a bike: where it stands, what is set, what its gates still want."""
    from cyclewright.workshop.care import show as shown

    chosen = system(units)
    with open_shop(data) as shop:
        answer = shown(shop, bike)
    told = answer.to_json(chosen)
    if json:
        print_json(told)
        return
    say(f"{answer.id}  {answer.name}  {answer.serial}")
    say(f"   {answer.stage}, {answer.done} of {len(answer.steps)} steps, for {answer.rider}")
    if answer.next_step is not None:
        step = answer.step(answer.next_step)
        say(f"   next: {answer.next_step}: {'' if step is None else step.do}")
    for setting in told["settings"]:
        say(f"   {setting['name'].replace('_', ' ')}: {setting['shown']}")
    for name, missing in answer.gates.items():
        state = "passed" if name in answer.passed else f"wants {len(missing)} more"
        say(f"   {name} gate: {state}")
    for event in answer.events if history else ():
        by = f" ({event.by})" if event.by else ""
        undone = "  [undone]" if event.undone else ""
        say(f"   {event.number:>4}  {event.at[:19]}  {event.said}{by}{undone}")


def record(
    bike: Id,
    steps: Annotated[
        list[str] | None, typer.Argument(metavar="[STEP]...", help="One step, or a card's lines.")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="What was read, with unit.")] = None,
    torque: Annotated[str | None, typer.Option("--torque", help='What clicked: "5 N.m".')] = None,
    as_set: Annotated[
        bool, typer.Option("--as-set", help="The torque tool stood at each step's setting.")
    ] = False,
    photo: Annotated[Path | None, typer.Option("--photo", help="A photo as evidence.")] = None,
    word: Annotated[str | None, typer.Option("--word", help="The maker's word for a joint.")] = None,
    problem: Annotated[str | None, typer.Option("--problem", help="What is wrong.")] = None,
    put_off: Annotated[str | None, typer.Option("--put-off", help="Why it waits.")] = None,
    change: Annotated[
        list[str] | None, typer.Option("--change", help="FIELD=VALUE or FIELD+=VALUE, done on the bike.")
    ] = None,
    by: By = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Record a step as done with its evidence, a problem, or a change made on the bike."""
    from cyclewright.workshop import build

    system(units)
    if bool(steps) == bool(change):
        do = "name the step that was done, or --change FIELD=VALUE for a change on the bike"
        raise InputError(Problem("nothing-to-record", "STEP", do))
    with open_shop(data) as shop:
        if change:
            answer = build.change_sheet(shop, bike, change, by=by)
        elif steps and len(steps) > 1:
            _one_only(value, torque, photo, word, problem, put_off)
            answer = build.record_steps(shop, bike, steps, as_set=as_set, by=by)
        else:
            answer = build.record_step(
                shop, bike, (steps or [""])[0],
                value=value, torque=torque, photo=photo, word=word, as_set=as_set,
                problem=problem, put_off=put_off, by=by,
            )  # fmt: skip
    _print_act(answer, json)


def undo(
    bike: Id,
    step: Annotated[str | None, typer.Option("--step", help="Newest entry of this step.")] = None,
    number: Annotated[int | None, typer.Option("--number", help="This entry.")] = None,
    by: By = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Take back the newest entry; it stays readable and no longer counts."""
    from cyclewright.workshop import build

    system(units)
    with open_shop(data) as shop:
        answer = build.undo(shop, bike, number=number, step=step, by=by)
    _print_act(answer, json)


def reading(
    bike: Id,
    kind: Annotated[str, typer.Argument(metavar="KIND", help="fork-sag, fork-pressure, …")],
    value: Annotated[str, typer.Argument(metavar="VALUE", help='With unit: "28 mm".')],
    by: By = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Record a reading and say what it means: the next setting, when to stop."""
    from cyclewright.workshop import base

    chosen = system(units)
    with open_shop(data) as shop:
        answer = base.reading(shop, bike, kind, value, by=by)
    if json:
        print_json(answer.to_json(chosen))
        return
    say(answer.said)
    print_findings(answer.suspects, ())


def gate(
    bike: Id,
    name: Annotated[str, typer.Argument(metavar="ride|release")],
    by: By = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Ask a gate to pass; it refuses by name what is missing (exit 1)."""
    from cyclewright.workshop.release import gate as asked

    system(units)
    with open_shop(data) as shop:
        answer = asked(shop, bike, name, by=by)
    print_json(answer.to_json()) if json else _print_gate(answer)
    if not answer.passed:
        raise typer.Exit(1)


def release(
    bike: Id,
    by: Annotated[str, typer.Option("--by", help="Who releases.")],
    second: Annotated[str | None, typer.Option("--second", help="Who checked.")] = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Release the bike to its rider; refused while the release gate wants anything."""
    from cyclewright.workshop.release import release as released

    system(units)
    with open_shop(data) as shop:
        answer = released(shop, bike, by, second)
    _print_act(answer, json)


def verify(
    bike: Annotated[int | None, typer.Argument(metavar="[ID]", help="All bikes without.")] = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Prove the record event by event; what was changed is named (exit 4)."""
    from cyclewright.workshop.care import verify as verified

    system(units)
    with open_shop(data) as shop:
        answer = verified(shop, bike)
    print_json(answer.to_json()) if json else _print_verified(answer)
    if not answer.ok:
        raise typer.Exit(4)


def _print_verified(answer: VerifyAnswer) -> None:
    for fault in answer.faults:
        where = f"bike {fault.bike}" if fault.bike else "the shop's own record"
        event = f", event {fault.event}" if fault.event else ""
        say(f"{where}{event}: {fault.what}")
    counts = f"{answer.events} events, {answer.attachments} attachments, {answer.signatures} signatures"
    say(f"{'As written' if answer.ok else 'NOT as written'}: {counts} checked.")
    for note in answer.notes:
        say(f"note: {note}")


def _one_only(*given: object) -> None:
    if any(item is not None for item in given):
        do = "give evidence for one step at a time; several steps together take --as-set only"
        raise InputError(Problem("one-step", "STEP", do))


def _print_act(answer: RecordAnswer, json: bool) -> None:
    print_json(answer.to_json()) if json else say(answer.said)


def _print_gate(answer: GateAnswer) -> None:
    if answer.passed:
        say(f"The {answer.gate} gate is passed.")
        return
    say(f"The {answer.gate} gate is not passed. Missing:")
    _print_missing(answer.missing)


def _print_missing(missing: Iterable[Missing]) -> None:
    for item in missing:
        step = f"  [{item.step}]" if item.step else ""
        never = "  (can never be overridden)" if item.never_override else ""
        say(f"  {item.item}: {item.why}{step}{never}")
