"""The record: `open`, `list`, `show`, `record`, `undo`, `reading`, `gate`, `release`, `verify`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

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
    Pin,
    Units,
    command,
    open_shop,
    print_act,
    print_json,
    print_reading,
    print_table,
    read_sheets,
    say,
    say_wrapped,
    system,
    table,
)
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.answers import GateAnswer, Missing
    from cyclewright.workshop.care import VerifyAnswer


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "open", open_bike)
    command(app, "list", list_bikes)
    command(app, "show", show)
    command(app, "record", record)
    command(app, "undo", undo)
    command(app, "reading", reading)
    command(app, "gate", gate)
    command(app, "release", release)
    command(app, "verify", verify)


def open_bike(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    change: Changes = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Open a bike's record from its sheets; prints its number.

    The sheets and the plan made from them are kept in it.
    """
    from cyclewright.workshop.receive import open_bike as opened
    from cyclewright.workshop.sheets import changed

    system(units)
    sheets = changed(read_sheets(bike, others, mass), change or ())
    with open_shop(data, pin) as shop:
        number = opened(shop, sheets, by=by)
    print_json({"id": number}) if json else say(str(number))


def list_bikes(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WORDS]...", help="Only bikes with these words in their name."),
    ] = None,
    limit: Annotated[int, typer.Option("--limit", metavar="ROWS", help="Most rows to list.")] = 100,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """List the bikes on record, newest first."""
    from cyclewright.workshop.receive import list_bikes as listed

    system(units)
    if limit < 1:
        raise InputError(Problem("limit", "--limit", "give 1 or more", value=str(limit)))
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
    history: Annotated[
        bool, typer.Option("--history", help="Every entry of its record too.")
    ] = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Where a bike stands: next step, settings, gates."""
    from cyclewright.workshop.care import show as shown
    from cyclewright.workshop.choices import missing_words

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
        say_wrapped("" if step is None else step.do, f"   next: {answer.next_step}: ")
    elif answer.next_gate:
        say_wrapped(answer.gate_line, "   next: ")
    for setting in told["settings"]:
        why = f"; {setting['why']}" if setting["why"] else ""
        line = f"{setting['shown']}, {setting['words']}{why}"
        say_wrapped(line, f"   {setting['name'].replace('_', ' ')}: ")
    _print_set_and_read(told["history"])
    for row in answer.setups:
        now = "  (now beside the advice)" if row.current else ""
        say_wrapped(f"{row.line()}{now}", "   earlier set-up ")
    for name, missing in answer.gates.items():
        count = len(missing_words(missing))
        waits = f"{count} missing" if count else "nothing missing, ask for it"
        state = "passed" if name in answer.passed else waits
        say(f"   {name} gate: {state}")
    if answer.lapsed:
        was = (
            "released once, and no more" if answer.was_released else "a passed gate stands no more"
        )
        say_wrapped(answer.lapsed, f"   {was}: ")
    for event in answer.events if history else ():
        by = f" ({event.by})" if event.by else ""
        undone = "  [undone]" if event.undone else ""
        say(f"   {event.number:>4}  {event.at[:19]}  {event.said}{by}{undone}")


def _print_set_and_read(rows: list[dict[str, Any]]) -> None:
    """What was set when and by whom, and what sag it gave; nothing before the first."""
    if not rows:
        return
    made = table("Set and read", ("Set", "right"), ("Read", "right"), "How", "When", "By")
    for row in rows:
        made.add_row(
            row["part"], row["shown"], row["shown_read"], row["how"], row["at"][:16], row["by"]
        )
    print_table(made)


At = Annotated[
    str | None,
    typer.Option(
        "--at",
        metavar="PRESSURE",
        help="With a sag: the pressure in that spring as the ring was read, recorded with it.",
    ),
]


def record(
    bike: Id,
    steps: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[STEP]...", help="The step's id by `plan --steps`; several of a card at once."
        ),
    ] = None,
    value: Annotated[
        str | None,
        typer.Option(
            "--value", metavar="VALUE", help="What was read, with its unit, or the words."
        ),
    ] = None,
    torque: Annotated[
        str | None,
        typer.Option("--torque", metavar="TORQUE", help="What the wrench stood at: '5 N.m'."),
    ] = None,
    at: At = None,
    as_set: Annotated[
        bool, typer.Option("--as-set", help="The wrench stood at the setting that each step names.")
    ] = False,
    photo: Annotated[
        Path | None, typer.Option("--photo", metavar="FILE", help="A photo as evidence.")
    ] = None,
    word: Annotated[
        str | None,
        typer.Option(
            "--word",
            metavar="TEXT",
            help="Whose word it is: the maker's, where a joint's figures clash or it has none; "
            "that a value far from what is advised is meant so; "
            "which tool it was set with, where no kept one reaches it.",
        ),
    ] = None,
    problem: Annotated[
        str | None, typer.Option("--problem", metavar="TEXT", help="Not done: what is wrong.")
    ] = None,
    put_off: Annotated[
        str | None, typer.Option("--put-off", metavar="TEXT", help="Not done: why it waits.")
    ] = None,
    touched: Annotated[
        str | None,
        typer.Option("--touched", metavar="TEXT", help="Was done, and opened or moved since: why."),
    ] = None,
    change: Annotated[
        list[str] | None,
        typer.Option(
            "--change",
            metavar="FIELD=VALUE",
            help="Instead of a step: what was changed on the bike.",
        ),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option(
            "--sheet", metavar="FILE", help="Instead of a step: the bike's whole sheet, put right."
        ),
    ] = None,
    rider: Annotated[
        str | None,
        typer.Option(
            "--rider",
            metavar="FILE",
            help="Instead of a step: the sheet of who rides it from now on, "
            "or earlier:N for a set-up that `show` lists.",
        ),
    ] = None,
    mass: Annotated[
        str | None,
        typer.Option(
            "--mass", metavar="MASS", help="Instead of a step: nobody is fitted, set for '80 kg'."
        ),
    ] = None,
    swap: Annotated[
        str | None,
        typer.Option(
            "--swap",
            metavar="PART",
            help="Instead of a step: this part was swapped; --change says what the new one is.",
        ),
    ] = None,
    mark: Annotated[
        list[str] | None,
        typer.Option(
            "--mark",
            metavar="KEY=TEXT",
            help="With --swap: maker, model, serial or batch of the new part.",
        ),
    ] = None,
    as_found: Annotated[
        bool,
        typer.Option(
            "--as-found",
            help="The bike is like that though it breaks a limit: record it, the gates then hold.",
        ),
    ] = False,
    look: Annotated[
        bool, typer.Option("--look", help="Only say what a change would do; nothing is recorded.")
    ] = False,
    yes: Annotated[
        bool, typer.Option("--yes", help="Do not ask, though a passed gate or a release falls.")
    ] = False,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Record a step: done, put off, in trouble or touched; or a change.

    A torque or value outside the step's window is refused, and so is a change of what is mounted
    or set that breaks a limit. A change, or a joint that was touched again, says which steps it
    makes necessary again; where a passed gate or a release falls, it asks first on a terminal.
    """
    from cyclewright.cli import changing
    from cyclewright.workshop import build

    system(units)
    wanted = changing.wanted(change, sheet, rider, mass, swap, mark, as_found)
    if bool(steps) == (wanted is not None):
        do = "name the step that was done, or --change FIELD=VALUE for a change on the bike"
        raise InputError(Problem("nothing-to-record", "STEP", do))
    if wanted is None and (look or as_found):
        option = "--look" if look else "--as-found"
        do = "goes with a change of the bike, its sheet, its rider or a part"
        raise InputError(Problem("change-only", option, do))
    told = (value, torque, photo, word, problem, put_off)
    with open_shop(data, pin) as shop:
        if wanted is not None and look:
            changing.print_look(shop, bike, wanted, json)
            return
        if wanted is not None:
            answer = changing.made(shop, bike, wanted, by, ask=not (yes or json))
        elif steps and touched is not None:
            if as_set or any(item is not None for item in told):
                do = "--touched takes no evidence: the step is done again afterwards"
                raise InputError(Problem("touched-alone", "--touched", do))
            if not (yes or json):
                changing.ask_touch(shop, bike, steps)
            answer = build.touch(shop, bike, steps, touched, by=by)
        elif steps and len(steps) > 1:
            _one_only(*told)
            answer = build.record_steps(shop, bike, steps, as_set=as_set, by=by)
        else:
            answer = build.record_step(
                shop, bike, (steps or [""])[0],
                value=value, torque=torque, photo=photo, word=word, as_set=as_set,
                problem=problem, put_off=put_off, by=by, at=at,
            )  # fmt: skip
    print_act(answer, json)


def undo(
    bike: Id,
    step: Annotated[
        str | None, typer.Option("--step", metavar="STEP", help="The newest entry of this step.")
    ] = None,
    number: Annotated[
        int | None,
        typer.Option(
            "--number",
            metavar="N",
            help="The entry of this number by `show --history`, whoever recorded it; that of an "
            "undo puts its entry back.",
        ),
    ] = None,
    anyone: Annotated[
        bool, typer.Option("--anyone", help="The newest entry, whoever recorded it.")
    ] = False,
    put_back: Annotated[
        bool, typer.Option("--put-back", help="Let what was taken back last count again.")
    ] = False,
    look: Annotated[
        bool, typer.Option("--look", help="Only say what it would take and open again.")
    ] = False,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Take back an entry: it stays readable and no longer counts.

    The newest of your own where nothing else is named. What was recorded in one go goes together:
    a reading with the step it proves, the lines of a card, a change with its plan.
    """
    from cyclewright.workshop import undo as undoing

    system(units)
    with open_shop(data, pin) as shop:
        ask = undoing.look if look else undoing.undo
        answer = ask(
            shop, bike, number=number, step=step, anyone=anyone, put_back=put_back, by=by
        )  # fmt: skip
    print_act(answer, json)
    if answer.numbers and not (json or put_back):
        say(f"put it back: cyclewright undo {bike} --number {answer.numbers[0]}")


def reading(
    bike: Id,
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND",
            help="fork-sag, shock-sag, fork-pressure, shock-pressure, front-tyre, rear-tyre, "
            "front-drop, rear-drop, saddle-tilt, lever-left or lever-right.",
        ),
    ],
    value: Annotated[
        str | None,
        typer.Argument(
            metavar="[VALUE]",
            help="With its unit: '28 mm', '80 psi', '-1 deg'; several sit-downs '27 mm, 28 mm'.",
        ),
    ] = None,
    at: At = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Record a reading; says what to set next or when to stop.

    Without a value: how it is read, step by step. An odd one changes nothing: it gets the
    questions to ask first.
    """
    from cyclewright.workshop import readings

    chosen = system(units)
    if value is None:
        _print_procedure(bike, kind, json, data)
        return
    with open_shop(data, pin) as shop:
        answer = readings.read(shop, bike, kind, value, by=by, at=at)
    if json:
        print_json(answer.to_json(chosen))
        return
    print_reading(answer)


def _print_procedure(bike: int, kind: str, json: bool, data: Path | None) -> None:
    """How a reading is taken, in numbered steps."""
    from cyclewright.workshop.procedure import procedure

    with open_shop(data) as shop:
        found = procedure(shop, bike, kind)
    if json:
        print_json(found.to_json())
        return
    say(f"{kind.replace('-', ' ')}{f', {found.posture}' if found.posture else ''}")
    for number, step in enumerate(found.steps, 1):
        say_wrapped(step, f"{number:>3}  ")


def gate(
    bike: Id,
    name: Annotated[str, typer.Argument(metavar="(ride | release)", help="Which gate.")],
    override: Annotated[
        str | None,
        typer.Option(
            "--override", metavar="ITEM", help="Let this item pass, as the gate names it."
        ),
    ] = None,
    reason: Annotated[
        str, typer.Option("--reason", metavar="TEXT", help="Why; it stands on the sheet.")
    ] = "",
    second: Annotated[
        str | None,
        typer.Option("--second", metavar="NAME", help="The second person: a checker or an owner."),
    ] = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Pass a gate, or be told by name what is missing.

    Exits 1 while it is not passed. With --override one item is let pass, with a reason and a
    second person; brakes, axles, insertion, steering and the mass limit never, and nothing in a
    shop of one person.
    """
    from cyclewright.workshop import release as gates

    system(units)
    if override is None and (reason or second):
        do = "--reason and --second go with --override ITEM"
        raise InputError(Problem("override", "--override", do))
    with open_shop(data, pin, second=second is not None) as shop:
        if override is not None:
            done = gates.override(shop, bike, name, override, reason, by, second)
            print_act(done, json)
            return
        answer = gates.gate(shop, bike, name, by=by)
    print_json(answer.to_json()) if json else _print_gate(answer)
    if not answer.passed:
        raise typer.Exit(1)


def release(
    bike: Id,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who releases.")],
    second: Annotated[
        str | None, typer.Option("--second", metavar="NAME", help="Who checked.")
    ] = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Release the bike to its rider, and sign its record.

    Refused, with exit 1, while the release gate wants anything.
    """
    from cyclewright.workshop.release import release as released

    system(units)
    with open_shop(data, pin, second=second is not None) as shop:
        answer = released(shop, bike, by, second)
    print_act(answer, json)


def verify(
    bike: Annotated[
        int | None, typer.Argument(metavar="[ID]", help="One bike's number; all without.")
    ] = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Check the record event by event against its hashes.

    Names what is not as it was written and exits 4; what such a check cannot show is in
    docs/record.md.
    """
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
        told = fault.what.removeprefix(f"bike {fault.bike} event {fault.event} ")
        say(f"{where}{event}: {told}")
    numbers = {
        "event": answer.events,
        "attachment": answer.attachments,
        "signature": answer.signatures,
    }
    counts = ", ".join(f"{n} {word}{'' if n == 1 else 's'}" for word, n in numbers.items())
    gone = f", {answer.erased} erased on purpose" if answer.erased else ""
    say(f"{'As written' if answer.ok else 'NOT as written'}: {counts} checked{gone}.")
    for note in answer.notes:
        say(f"note: {note}")


def _one_only(*given: object) -> None:
    if any(item is not None for item in given):
        do = "give evidence for one step at a time; several steps together take --as-set only"
        raise InputError(Problem("one-step", "STEP", do))


def _print_gate(answer: GateAnswer) -> None:
    if answer.passed:
        say(f"The {answer.gate} gate is passed.")
    else:
        say(f"The {answer.gate} gate is not passed. Missing:")
        _print_missing(answer.missing)
    for row in answer.overridden:
        say_wrapped(row.line(), "  overridden: ")


def _print_missing(missing: Iterable[Missing]) -> None:
    """What is missing, a line for each item and reason, with the steps that prove it."""
    steps: dict[tuple[str, str, bool], list[str]] = {}
    for item in missing:
        named = steps.setdefault((item.item, item.why, item.never_override), [])
        named += [item.step] if item.step else []
    for (name, why, never), ids in steps.items():
        proof = f"  [{', '.join(ids)}]" if ids else ""
        say(f"  {name}: {why}{proof}{'  (can never be overridden)' if never else ''}")
