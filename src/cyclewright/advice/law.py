"""What the law of the country asks: fittings, marks, and how far an electric drive may help.

The rules are the country's rows; what is not on file is asked of an authority, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cyclewright.knowledge import countries
from cyclewright.setting import Finding, Question
from cyclewright.sheets.country import names
from cyclewright.units import show

if TYPE_CHECKING:
    from cyclewright.knowledge.countries import Assist
    from cyclewright.sheets.sheets import Sheets

SLACK = 1.005
"""25 km/h and 15.5 mph are one limit in two units: makers print either."""
_FIELDS = ("bike.electric.assist_speed", "bike.electric.power", "place.country")


def fittings(sheets: Sheets) -> Iterator[Finding]:
    """What a bicycle must carry in the country, or of whom that is asked."""
    code = sheets.place.country
    if code is None:
        return
    row = countries.country(code)
    if row is None or not row.fittings:
        yield _ask_fittings(code)
        return
    for item in row.fittings:
        yield Finding(
            "legal-fittings",
            "note",
            (
                f"country: {row.name}",
                f"wanted there {countries.WHEN_WORDS[item.when]}: {item.text}",
            ),
            f"The country's law decides on fittings ({item.words}).",
            f"See to {item.name}: on the bike or with it before it is handed over.",
            ("place.country",),
        )


def marks(sheets: Sheets) -> Iterator[Finding]:
    """What is marked on a bicycle in the country, as far as it is on file."""
    row = countries.country(sheets.place.country)
    if row is None:
        return
    for item in row.marks:
        if item.drive and not driven(sheets):
            continue
        yield Finding(
            "frame-mark",
            "note",
            (f"country: {row.name}", f"marked there: {item.text}"),
            f"Who sells a bicycle answers for its marks ({item.words}).",
            f"Look on the frame and in the papers for {item.text}.",
            ("place.country",),
        )


def electric(sheets: Sheets) -> Iterator[Finding | Question]:
    """Whether a drive is a bicycle's in the country: which class, too fast, too strong, unknown."""
    code = sheets.place.country
    if code is None or not driven(sheets):
        return
    classes = _classes(sheets, code)
    if not classes:
        yield _unknown(sheets, code)
        return
    fitting = [one for one in classes if _within(sheets, one)]
    if not fitting:
        yield _out_of_scope(sheets, code, classes)
        return
    yield _class(sheets, code, fitting)
    yield from _unread(sheets, code, classes)


def _classes(sheets: Sheets, code: str) -> tuple[Assist, ...]:
    """The country's classes of drive, else what its authority answered on the place's sheet."""
    row = countries.country(code)
    if row is not None and row.electric:
        return row.electric
    speed, power = sheets.place.assist_speed, sheets.place.assist_power
    if speed is None and power is None:
        return ()
    answered = countries.Assist(
        text="what the authority answered, as the place's sheet has it",
        source="the authority's answer on the place's sheet",
        sure="summary",
        read="the place's sheet",
        name="as answered",
        speed=None if speed is None else speed.value,
        power=None if power is None else power.value,
    )
    return (answered,)


def driven(sheets: Sheets) -> bool:
    """Whether anything says that the bike has an electric drive."""
    drive = sheets.bike.electric
    return any(
        item is not None for item in (drive.motor, drive.battery, drive.assist_speed, drive.power)
    )


def _within(sheets: Sheets, one: Assist) -> bool:
    """Whether what is known of the drive stays within a class."""
    drive = sheets.bike.electric
    pairs = ((drive.assist_speed, one.speed), (drive.power, one.power))
    return all(
        known is None or limit is None or known.value <= limit * SLACK for known, limit in pairs
    )


def _out_of_scope(sheets: Sheets, code: str, classes: tuple[Assist, ...]) -> Finding:
    bounds = "; ".join(f"{one.name}: {_bounds(one)}" for one in classes)
    return Finding(
        "drive-out-of-scope",
        "stop",
        (f"the drive: {_drive(sheets)}", f"a bicycle's in {names()[code]}: {bounds}"),
        f"Beyond that it is a motor vehicle with rules, tyres and brakes of its own "
        f"({classes[-1].words}).",
        "Not built here: it goes to a workshop that is approved for such vehicles. "
        f"In doubt ask {countries.whom_to_ask(code, 'electric')}.",
        _FIELDS,
    )


def _class(sheets: Sheets, code: str, fitting: list[Assist]) -> Finding:
    """What the drive counts as there."""
    return Finding(
        "drive-law",
        "note",
        (
            f"the drive: {_drive(sheets)}",
            *(f"{names()[code]}, {one.name}: {one.text}" for one in fitting),
        ),
        f"The country's law says what still is a bicycle ({fitting[-1].words}).",
        f"What it leaves open {countries.whom_to_ask(code, 'electric')} answers.",
        _FIELDS,
    )


def _unread(sheets: Sheets, code: str, classes: tuple[Assist, ...]) -> Iterator[Question]:
    """What the law bounds and nobody has read off the drive."""
    drive = sheets.bike.electric
    if drive.assist_speed is None and any(one.speed is not None for one in classes):
        yield Question(
            "bike.electric.assist_speed",
            "At which speed does the drive stop helping? It stands on its plate or in its papers.",
            f"The law of {names()[code]} bounds it.",
        )
    if drive.power is None and any(one.power is not None for one in classes):
        yield Question(
            "bike.electric.power",
            "Which continuous rated power is marked on the drive?",
            f"The law of {names()[code]} bounds it.",
        )


def _unknown(sheets: Sheets, code: str) -> Finding:
    """No rule is on file: beyond the tightest of all it stops until somebody has asked."""
    speed = sheets.bike.electric.assist_speed
    beyond = speed is None or speed.value > countries.tightest_speed() * SLACK
    return Finding(
        "drive-unknown",
        "stop" if beyond else "warn",
        (f"the drive: {_drive(sheets)}", f"country: {names().get(code, code)}, not on file"),
        "What is a bicycle in one country is a motor vehicle in the next, and nobody may guess it.",
        f"Ask {countries.whom_to_ask(code, 'electric')} up to which speed and power a drive may "
        "help there, and write the answer on the place's sheet before the bike is built.",
        (*_FIELDS, "place.assist_speed", "place.assist_power"),
    )


def _drive(sheets: Sheets) -> str:
    drive = sheets.bike.electric
    speed = (
        "speed not read"
        if drive.assist_speed is None
        else f"helps up to {show(drive.assist_speed.value, 'km/h', 1)}"
    )
    power = "power not read" if drive.power is None else f"{drive.power.value:.0f} W"
    return f"{speed}, {power}"


def _bounds(one: Assist) -> str:
    speed = "no speed set" if one.speed is None else f"up to {show(one.speed, 'km/h', 1)}"
    power = "no power set" if one.power is None else f"{one.power:.0f} W"
    return f"{speed}, {power}"


def _ask_fittings(code: str) -> Finding:
    return Finding(
        "legal-fittings",
        "note",
        (f"country: {names().get(code, code)}", "wanted there: not on file"),
        "The country's law decides on fittings, and nobody may guess it.",
        f"Ask {countries.whom_to_ask(code, 'fittings')} which bell, brakes, reflectors and lamps "
        "a bicycle carries there.",
        ("place.country",),
    )
