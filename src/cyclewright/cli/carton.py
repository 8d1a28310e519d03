"""`cyclewright receive`: the carton at the door, its damage, its parts, and the claim."""

from __future__ import annotations

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
    Photos,
    Pin,
    act,
    group,
    open_shop,
    pairs,
    print_act,
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
    from cyclewright.workshop.carton import CartonAnswer
    from cyclewright.workshop.shop import Shop

app = group("receive", "The carton: damage, parts to follow, claim.")

Part = Annotated[
    str, typer.Argument(metavar="PART", help="A part that was ticked as missing or damaged.")
]


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    if not app.registered_commands:
        verb(app, "show", show)
        verb(app, "arrive", arrive)
        verb(app, "damage", act(damage))
        verb(app, "settle", act(settle))
        verb(app, "parts", act(parts))
        verb(app, "expect", act(expect))
        verb(app, "came", act(came))
        verb(app, "packing", act(packing))
        verb(app, "serial", act(serial))
        verb(app, "claim", act(claim))
    program.add_typer(app, name="receive")


def show(bike: Id, json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """How the carton came, what is to follow, and until when."""
    from cyclewright.workshop.carton import carton

    system(units)
    with open_shop(data) as shop:
        answer = carton(shop, bike)
    print_json(answer.to_json()) if json else _print(answer)


def arrive(
    bike: Id,
    carrier: Annotated[str, typer.Option("--carrier", metavar="NAME", help="Who brought it.")] = "",
    carriage: Annotated[
        str,
        typer.Option(
            "--carriage",
            metavar="HOW",
            help="parcel, freight, road-abroad, air or own: the days for a claim hang on it.",
        ),
    ] = "parcel",
    on: On = None,
    unchecked: Annotated[
        bool, typer.Option("--unchecked", help="Signed for without a look at the contents.")
    ] = False,
    days: Annotated[
        int | None,
        typer.Option("--days", metavar="DAYS", help="The carrier's own term for a claim."),
    ] = None,
    damage: Annotated[
        str | None, typer.Option("--damage", metavar="TEXT", help="What is wrong with the carton.")
    ] = None,
    consignment: Annotated[
        str,
        typer.Option("--consignment", metavar="NUMBER", help="The carrier's number for it."),
    ] = "",
    sender: Annotated[
        str, typer.Option("--sender", metavar="NAME", help="Who sent it, and from where.")
    ] = "",
    value: Annotated[
        str,
        typer.Option("--value", metavar="SUM", help="What the goods are worth, with currency."),
    ] = "",
    photo: Photos = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """A carton at the door; says until when a claim can be made.

    What to write on the carrier's slip stands in `cyclewright receive ID`.
    """
    from cyclewright.workshop import carton

    system(units)
    with open_shop(data, pin) as shop:
        answer = carton.arrive(
            shop, bike,
            carrier=carrier, carriage=carriage, arrived=on, unchecked=unchecked, days=days,
            damage=damage, photos=photo or (), consignment=consignment, sender=sender,
            value=value, by=by,
        )  # fmt: skip
        slip = carton.carton(shop, bike).slip
    print_act(answer, json)
    for line in () if json else slip:
        say_wrapped(line, "  on the slip: ")


def damage(
    shop: Shop,
    by: str | None,
    bike: Id,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What is broken, and where.")],
    photo: Photos = None,
    outside: Annotated[
        bool, typer.Option("--outside", help="On the carton itself, not on what was in it.")
    ] = False,
) -> RecordAnswer:
    """Damage that is seen, with photos."""
    from cyclewright.workshop import carton

    where = "outside" if outside else "inside"
    return carton.damage(shop, bike, text, photo or (), where=where, by=by)


def settle(
    shop: Shop,
    by: str | None,
    bike: Id,
    number: Annotated[int, typer.Argument(metavar="DAMAGE", help="Its number: `receive ID`.")],
    how: Annotated[
        str, typer.Option("--how", metavar="HOW", help="harmless, 'put right' or replaced.")
    ],
    what: Annotated[
        str, typer.Option("--what", metavar="TEXT", help="Who found it so, or what was done.")
    ],
) -> RecordAnswer:
    """Damage inside is settled; until then nobody rides."""
    from cyclewright.workshop import carton

    return carton.settle_damage(shop, bike, number, how, what, by=by)


def parts(
    shop: Shop,
    by: str | None,
    bike: Id,
    lines: Annotated[
        list[str],
        typer.Argument(
            metavar="PART=STATE...", help="Lines of the packing list: here, missing or damaged."
        ),
    ],
    note: Annotated[
        list[str] | None,
        typer.Option("--note", metavar="PART=TEXT", help="What is wrong. May be given again."),
    ] = None,
    photo: Annotated[
        list[str] | None,
        typer.Option("--photo", metavar="PART=FILE", help="A photo of it. May be given again."),
    ] = None,
    all_ticked: Annotated[
        bool, typer.Option("--all", help="The packing list is finished with these.")
    ] = False,
) -> RecordAnswer:
    """Tick lines of the packing list."""
    from cyclewright.workshop import carton

    ticked = pairs(lines, "PART=STATE", "PART=here, PART=missing or PART=damaged")
    notes = pairs(note or (), "--note", "PART=TEXT")
    photos: dict[str, list[Path]] = {}
    for one in photo or ():
        for name, file in pairs([one], "--photo", "PART=FILE").items():
            photos.setdefault(name, []).append(Path(file))
    return carton.tick_parts(
        shop, bike, ticked, notes=notes, photos=photos, all_ticked=all_ticked, by=by
    )


def expect(
    shop: Shop,
    by: str | None,
    bike: Id,
    part: Part,
    day: Annotated[str, typer.Argument(metavar="DAY", help="The promised day: 2031-05-24.")],
    whose: Annotated[str, typer.Option("--whose", metavar="NAME", help="Who promised it.")] = "",
) -> RecordAnswer:
    """The day for which a missing or damaged part is promised."""
    from cyclewright.workshop import carton

    return carton.expect_part(shop, bike, part, day, whose=whose, by=by)


def came(
    shop: Shop,
    by: str | None,
    bike: Id,
    part: Part,
    on: On = None,
) -> RecordAnswer:
    """A missing part, or the new one for a damaged part, is here."""
    from cyclewright.workshop import carton

    return carton.part_arrived(shop, bike, part, on, by=by)


def packing(
    shop: Shop,
    by: str | None,
    bike: Id,
    items: Annotated[
        list[str],
        typer.Argument(metavar="ITEM...", help="carton, 'fork block', 'axle blocks', straps, …"),
    ],
) -> RecordAnswer:
    """What of the packing is kept for the next journey."""
    from cyclewright.workshop import carton

    return carton.keep_packing(shop, bike, items, by=by)


def serial(
    shop: Shop,
    by: str | None,
    bike: Id,
    number: Annotated[str, typer.Argument(metavar="SERIAL", help="As it is stamped on the frame.")],
    photo: Annotated[
        Path | None, typer.Option("--photo", metavar="FILE", help="A photo of the stamp.")
    ] = None,
) -> RecordAnswer:
    """The frame's own number; says when the sheet has another."""
    from cyclewright.workshop import carton

    return carton.read_serial(shop, bike, number, photo, by=by)


def claim(
    shop: Shop,
    by: str | None,
    bike: Id,
    on: On = None,
    to: Annotated[
        str, typer.Option("--to", metavar="NAME", help="The carrier or seller it went to.")
    ] = "",
    reference: Annotated[
        str, typer.Option("--reference", metavar="TEXT", help="Their number for it.")
    ] = "",
) -> RecordAnswer:
    """A claim was sent; `cyclewright print claim ID` writes it."""
    from cyclewright.workshop import carton

    return carton.claim_sent(shop, bike, sent=on, to=to, reference=reference, by=by)


def _print(answer: CartonAnswer) -> None:
    say(f"{answer.bike}  {answer.name}  {answer.serial}")
    if answer.received:
        _print_arrival(answer)
    else:
        say(f"No carton on record: `cyclewright receive {answer.bike} arrive` begins.")
    for found in answer.damages:
        number = f" {found.number}" if found.where == "inside" else ""
        settled = f" ({found.how}: {found.what})" if found.how else ""
        say_wrapped(f"{found.text}{settled}", f"   damage{number} {found.where}: ")
    if answer.parts:
        made = table("Part", "Came", "To follow")
        for row in answer.parts:
            made.add_row(row.part, _state(row.status, row.note), _follow(row))
        print_table(made)
    if answer.packing:
        say(f"   kept: {', '.join(answer.packing)}")
    for sent in answer.claims:
        to = f" to {sent['to']}" if sent["to"] else ""
        say(f"   claim sent {sent['date']}{to} {sent['reference']}".rstrip())


def _print_arrival(answer: CartonAnswer) -> None:
    """How and when the carton came, and until when a claim can be made."""
    by = f" by {answer.carrier}" if answer.carrier else ""
    count = len(answer.photos)
    say(f"   received {answer.arrived}{by}, {count} {'photo' if count == 1 else 'photos'}")
    left = answer.days_left
    term = "" if left is None else f", {left} days left" if left >= 0 else f", {-left} days ago"
    say(f"   claim by {answer.deadline}{term} ({answer.days_source})")
    for line in answer.slip:
        say_wrapped(line, "   on the slip: ")


def _state(status: str, note: str) -> str:
    return f"{status}: {note}" if note else status


def _follow(row: object) -> str:
    from cyclewright.workshop.carton import PartLine

    assert isinstance(row, PartLine)
    if row.status == "here" or row.arrived:
        return f"came {row.arrived}" if row.arrived else ""
    if not row.expected:
        return "no date promised"
    whose = f" by {row.promised_by}" if row.promised_by else ""
    return f"promised {row.expected}{whose}{', overdue' if row.overdue else ''}"
