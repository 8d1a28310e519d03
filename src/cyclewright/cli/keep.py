"""`cyclewright care` and `pack`: what is due, what wears, recalls, and journeys."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright.cli.common import (
    By,
    Data,
    HiddenUnits,
    Id,
    Json,
    On,
    Pin,
    act,
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

if TYPE_CHECKING:
    from cyclewright.workshop.answers import RecordAnswer
    from cyclewright.workshop.due import DueAnswer, DueRow
    from cyclewright.workshop.pack import PackAnswer
    from cyclewright.workshop.recall import RecallRow
    from cyclewright.workshop.shop import Shop

care = group("care", "What is due, what wears, what is recalled.")
pack = group("pack", "Pack for a journey, and rebuild on arrival.")

MayId = Annotated[
    int | None, typer.Argument(metavar="[ID]", help="One bike's number; all of them without.")
]
Number = Annotated[int, typer.Argument(metavar="NUMBER", help="The recall, by `care recalls`.")]
Reason = Annotated[
    str, typer.Option("--reason", metavar="TEXT", help="What was done; it stays on record.")
]
Maker = Annotated[str, typer.Option("--maker", metavar="NAME", help="As it is marked.")]
Model = Annotated[str, typer.Option("--model", metavar="NAME", help="As it is marked.")]


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    if not care.registered_commands:
        verb(care, "show", show)
        verb(care, "use", act(use))
        verb(care, "done", act(done))
        verb(care, "book", act(book))
        verb(care, "wear", wear)
        verb(care, "calendar", calendar)
        verb(care, "parts", parts)
        verb(care, "fit", act(fit))
        verb(care, "remove", act(remove))
        verb(care, "settle", act(settle))
        verb(care, "recalls", recalls, bike=False)
        verb(care, "recall", recall, bike=False)
        verb(care, "lift", lift, bike=False)
        verb(pack, "show", show_pack)
        verb(pack, "begin", act(begin))
        verb(pack, "tick", act(tick))
        verb(pack, "arrive", act(arrive))
    program.add_typer(care, name="care")
    program.add_typer(pack, name="pack")


def show(
    bike: MayId = None,
    days: Annotated[
        int, typer.Option("--days", metavar="DAYS", help="Of all bikes: due in so many days.")
    ] = 30,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """What is due by rides, hours and days, and what wears how fast."""
    from cyclewright.workshop import due

    system(units)
    with open_shop(data) as shop:
        if bike is None:
            rows = due.due_all(shop, days)
            print_json({"due": [_plain(row) for row in rows]}) if json else _print_rows(rows, days)
            return
        answer = due.due(shop, bike)
    print_json(answer.to_json()) if json else _print_due(answer)


def use(
    shop: Shop,
    by: str | None,
    bike: Id,
    rides: Annotated[
        int, typer.Option("--rides", metavar="N", help="Rides since it was last noted.")
    ] = 0,
    hours: Annotated[
        float, typer.Option("--hours", metavar="HOURS", help="Hours since it was last noted.")
    ] = 0.0,
    on: On = None,
) -> RecordAnswer:
    """Note how much it was ridden."""
    from cyclewright.workshop.due import note_use

    return note_use(shop, bike, rides=rides, hours=hours, on=on, by=by)


def done(
    shop: Shop,
    by: str | None,
    bike: Id,
    item: Annotated[
        str, typer.Argument(metavar="ITEM", help="As `care ID` lists it: chain, bolts, …")
    ],
    on: On = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="What was found.")] = "",
) -> RecordAnswer:
    """One item of care was done; it counts anew from there."""
    from cyclewright.workshop.due import care_done

    return care_done(shop, bike, item, on=on, note=note, by=by)


def book(
    shop: Shop,
    by: str | None,
    bike: Id,
    day: Annotated[str, typer.Argument(metavar="DAY", help="Like 2031-05-24.")],
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="What goes with it.")] = "",
) -> RecordAnswer:
    """Book the next re-check, or move the one that was booked at hand-over."""
    from cyclewright.workshop.due import book as booked

    return booked(shop, bike, day, note=note, by=by)


def wear(
    bike: Id,
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND",
            help="chain-wear, sprocket-lift, chainring-lift, front-tread, rear-tread, front-pad, "
            "rear-pad, front-rotor or rear-rotor.",
        ),
    ],
    value: Annotated[
        str,
        typer.Argument(
            metavar="VALUE", help="With its unit: '0.3 %', '1.62 mm'; 24 pitches '306 mm'."
        ),
    ],
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Read how far a part is worn; says about when it is worn out.

    A chain in per cent, or as the length of 24 of its pitches; sprockets and chainring by how far
    a new chain lifts off their teeth; tread by the height of the middle knobs.
    """
    from dataclasses import asdict

    from cyclewright.workshop.due import read_wear

    system(units)
    with open_shop(data, pin) as shop:
        row = read_wear(shop, bike, kind, value, by=by)
    print_json(asdict(row)) if json else say_wrapped(row.said)


def calendar(
    bike: MayId = None,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="FILE", help="Where to write it; else it is printed."),
    ] = None,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """What is due as an iCalendar file for a diary."""
    import sys

    from cyclewright.workshop.due import calendar as written

    system(units)
    with open_shop(data) as shop:
        text = written(shop, bike)
    if out is not None:
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_bytes(text.encode("utf-8"))
    if json:
        print_json({"path": None if out is None else str(out), "calendar": text})
    elif out is None:
        sys.stdout.write(text)
    else:
        say(str(out))


def parts(bike: Id, json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """Parts on record with serial and batch, and the recalls about them."""
    from cyclewright.workshop.recall import parts as listed

    system(units)
    with open_shop(data) as shop:
        rows = listed(shop, bike)
    if json:
        print_json({"parts": [row.to_json() for row in rows]})
        return
    made = table("Part", "Maker, model", "Serial", "Batch")
    for row in rows:
        made.add_row(row.part, f"{row.maker} {row.model}".strip(), row.serial, row.batch)
    print_table(made)
    for row in rows:
        for line in row.recalls:
            say_wrapped(line, "STOP   ")


def fit(
    shop: Shop,
    by: str | None,
    bike: Id,
    part: Annotated[str, typer.Argument(metavar="PART", help="Where it sits: 'front rotor'.")],
    maker: Maker = "",
    model: Model = "",
    serial: Annotated[str, typer.Option("--serial", metavar="TEXT", help="Its serial.")] = "",
    batch: Annotated[str, typer.Option("--batch", metavar="TEXT", help="Its batch.")] = "",
    marks: Annotated[
        bool, typer.Option("--marks", help="It was on the bike already: only write its marks down.")
    ] = False,
) -> RecordAnswer:
    """A part is fitted: its joints are done again, and a recall finds it by its marks."""
    from cyclewright.workshop.recall import fit_part

    return fit_part(
        shop, bike, part,
        maker=maker, model=model, serial=serial, batch=batch, marks_only=marks, by=by,
    )  # fmt: skip


def remove(
    shop: Shop,
    by: str | None,
    bike: Id,
    part: Annotated[
        str, typer.Argument(metavar="PART", help="A part on record, or any that a bicycle needs.")
    ],
) -> RecordAnswer:
    """A part was taken off: nobody rides on its joints until one is fitted."""
    from cyclewright.workshop.recall import remove_part

    return remove_part(shop, bike, part, by=by)


def settle(
    shop: Shop,
    by: str | None,
    bike: Id,
    number: Number,
    reason: Reason = "",
) -> RecordAnswer:
    """A recall is settled on one bike: its part was looked at or replaced."""
    from cyclewright.workshop.recall import settle_recall

    return settle_recall(shop, bike, number, reason, by)


def recalls(
    every: Annotated[bool, typer.Option("--all", help="Those that were lifted too.")] = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Recalls that stand, each with the bikes it blocks."""
    from cyclewright.workshop.recall import recalls as listed

    system(units)
    with open_shop(data) as shop:
        rows = listed(shop, every)
    if json:
        print_json({"recalls": [row.to_json() for row in rows]})
        return
    if not rows:
        say("No recall stands.")
    for row in rows:
        _print_recall(row)


def recall(
    part: Annotated[str, typer.Argument(metavar="PART", help="What it is about: 'front rotor'.")],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="What is wrong with it.")],
    do: Annotated[str, typer.Option("--do", metavar="TEXT", help="What its maker wants done.")],
    source: Annotated[
        str, typer.Option("--source", metavar="TEXT", help="Where it was published.")
    ],
    maker: Maker = "",
    model: Model = "",
    batch: Annotated[
        list[str] | None,
        typer.Option("--batch", metavar="TEXT", help="Only this batch. May be given again."),
    ] = None,
    serial: Annotated[
        list[str] | None,
        typer.Option("--serial", metavar="TEXT", help="Only this serial. May be given again."),
    ] = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Open a recall: it blocks every bike that carries the part or may.

    Any mechanic may: stopping a bike is never the mistake.
    """
    from cyclewright.workshop.recall import open_recall

    system(units)
    with open_shop(data, pin) as shop:
        row = open_recall(
            shop, part,
            why=why, do=do, source=source, maker=maker, model=model,
            batches=batch or (), serials=serial or (), by=by,
        )  # fmt: skip
    print_json(row.to_json()) if json else _print_recall(row)


def lift(
    number: Number,
    reason: Reason = "",
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Lift a whole recall, with a reason; an owner does."""
    from cyclewright.workshop.recall import lift_recall

    system(units)
    with open_shop(data, pin) as shop:
        row = lift_recall(shop, number, reason, by)
    print_json(row.to_json()) if json else say(f"recall {row.id} is lifted: {row.lifted}")


def show_pack(
    bike: Id, json: Json = False, units: HiddenUnits = "trade", data: Data = None
) -> None:
    """The packing list, last built first, and what is done again on arrival."""
    from cyclewright.workshop.pack import packing

    system(units)
    with open_shop(data) as shop:
        answer = packing(shop, bike)
    print_json(answer.to_json()) if json else _print_pack(answer)


def begin(
    shop: Shop,
    by: str | None,
    bike: Id,
) -> RecordAnswer:
    """Begin to pack; from here the bike counts as not released."""
    from cyclewright.workshop.pack import open_pack

    return open_pack(shop, bike, by)


def tick(
    shop: Shop,
    by: str | None,
    bike: Id,
    steps: Annotated[
        list[str], typer.Argument(metavar="LINE...", help="Lines of the list, as it names them.")
    ],
) -> RecordAnswer:
    """Lines of the packing list are done; says what that opens."""
    from cyclewright.workshop.pack import pack as packed

    return packed(shop, bike, steps, by)


def arrive(
    shop: Shop,
    by: str | None,
    bike: Id,
    all_of_it: Annotated[
        bool, typer.Option("--all", help="Every line of the list was undone, ticked or not.")
    ] = False,
) -> RecordAnswer:
    """Arrived: names the steps to do again, and only those.

    Where no line was ticked say that all of it was undone, or take the packing back.
    """
    from cyclewright.workshop.pack import open_rebuild

    return open_rebuild(shop, bike, by, all_of_it=all_of_it)


def _plain(row: DueRow) -> dict[str, object]:
    from dataclasses import asdict

    return asdict(row)


def _print_rows(rows: Iterable[DueRow], days: int) -> None:
    listed = list(rows)
    if not listed:
        say(f"Nothing is due in {days} days on any bike that was released.")
        return
    made = table(("Bike", "right"), "Item", "Due", "Why")
    for row in listed:
        made.add_row(str(row.bike), f"{row.name} ({row.item})", _when(row), row.why)
    print_table(made)


def _print_due(answer: DueAnswer) -> None:
    say(f"{answer.bike}  {answer.name}")
    if not answer.released:
        say("   nothing counts before the first release")
    else:
        since = f"since {answer.released}: {answer.rides} rides, {answer.hours:g} h noted"
        say(f"   {since}")
    if answer.rows:
        made = table("Item", "What", "Due", "Why")
        for row in answer.rows:
            made.add_row(row.item, row.name, _when(row), row.why)
        print_table(made)
    for worn in answer.wear:
        say_wrapped(worn.said, "   ")


def _when(row: DueRow) -> str:
    return "overdue" if row.overdue else row.by or "with use"


def _print_recall(row: RecallRow) -> None:
    marks = " ".join(part for part in (row.maker, row.model) if part)
    only = ", ".join((*row.batches, *row.serials))
    say(f"recall {row.id}: {row.part} {marks}{f' ({only})' if only else ''}".rstrip())
    say_wrapped(row.why, "   why: ")
    say_wrapped(row.do, "   do: ")
    say_wrapped(row.source, "   source: ")
    if row.lifted:
        say_wrapped(row.lifted, "   lifted: ")
    for told, bikes in (
        ("blocked, carries it", row.carries),
        ("blocked, may carry it", row.may_carry),
        ("not known whether it has one, look", row.not_recorded),
        ("settled", row.settled),
    ):
        if bikes:
            say(f"   {told}: {', '.join(f'bike {bike}' for bike in bikes)}")


def _print_pack(answer: PackAnswer) -> None:
    say(f"{answer.bike}  {answer.name}")
    state = "rebuilding" if answer.rebuilding else "packing" if answer.open else "not begun"
    say(f"   {state}, {sum(line.done for line in answer.lines)} of {len(answer.lines)} undone")
    if answer.packing:
        say(f"   its own packing was kept: {', '.join(answer.packing)}")
    made = table("", "Line", "Do")
    for line in answer.lines:
        made.add_row("x" if line.done else "", line.step, line.do)
    if answer.lines:
        print_table(made)
    for kept in answer.settings:
        say(f"   keep: {kept.name.replace('_', ' ')} {kept.shown}, {kept.stands}")
    if answer.again:
        say_wrapped(", ".join(answer.again), "   to do again on arrival: ")
