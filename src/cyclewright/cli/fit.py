"""`angle`: the fit as it was measured; and the fit's tables that `advise --fit` prints."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright import units
from cyclewright.cli.common import (
    BikeId,
    Data,
    Json,
    Mass,
    Units,
    command,
    print_json,
    print_table,
    say,
    say_wrapped,
    sheets_of,
    system,
    table,
)
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.setting import Setting
    from cyclewright.workshop.fitting import CarryAnswer, FitAnswer, RefitAnswer

Typed = Annotated[
    list[str] | None,
    typer.Option(
        "--typed",
        metavar="NAME=ANGLE",
        help="An angle off a level: knee, saddle, lever-left or lever-right. May be given again.",
    ),
]


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "angle", angle)


def angle(
    points: Annotated[
        str,
        typer.Argument(metavar="POINTS", help="A points file (TOML); - for typed angles alone."),
    ],
    sheets: Annotated[
        list[str] | None,
        typer.Argument(metavar="[BIKE [RIDER] PLACE]", help="The sheets; none with --bike-id."),
    ] = None,
    mass: Mass = None,
    bike_id: BikeId = None,
    typed: Typed = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Joint, saddle and lever angles as measured, and what they say.

    From points set on a side photo, each with how far the camera may bend it, and from angles
    read off a level. A knee photographed while pedalling reads more bent than one standing still.
    """
    from cyclewright.workshop import angles

    shown = system(units)
    given = angles.Points() if points == "-" else angles.read_points(Path(points))
    named = list(sheets or ())
    read = sheets_of(named[0] if named else None, named[1:], mass, bike_id, data)
    answer = angles.measure(read, given, _typed(typed or ()))
    if json:
        print_json(answer.to_json(shown))
        return
    _print_settings(answer.angles, "Measured", shown)
    for sentence in answer.said:
        say_wrapped(sentence)


def print_fit(answer: FitAnswer, shown: units.System) -> None:
    """The methods, the angles they give, dropper lengths, handles, levers and steerer."""
    _print_settings(answer.methods, "Saddle height by", shown)
    say_wrapped(answer.recommended_said)
    if answer.rough is not None:
        low, high = (units.show(end, "mm", 1.0, shown) for end in answer.rough)
        say(f"For rough ground, as this post cannot drop: {low} to {high}.")
    say_wrapped(f"Setback: {answer.setback_said}")
    for way, costs in answer.tilt:
        say_wrapped(f"Tilt, {way}: {costs}.")
    _print_settings((*answer.angles, *answer.contacts), "Posture", shown)
    if answer.droppers:
        _print_droppers(answer, shown)
    say_wrapped(answer.dropper_said)
    if answer.handles:
        _print_handles(answer, shown)
    levers = [item for item in answer.position if item.name.startswith("lever_")]
    _print_settings(levers, "Levers", shown)
    say_wrapped(f"Moved in: {answer.lever_said}.")
    if answer.steerer:
        _print_settings(answer.steerer, "Steerer", shown)
    say_wrapped(answer.steerer_said)


def print_again(answer: RefitAnswer) -> None:
    """What has to be set again after a change."""
    if not answer.redo:
        say("Nothing that is set by hand has to be set again.")
        return
    say("Set again:")
    for line in answer.redo:
        say_wrapped(line, "  ")


def print_carried(answer: CarryAnswer, shown: units.System) -> None:
    """Where the previous bike's contacts come out on this one."""
    rows = table("From the previous bike", ("Set to", "right"))
    for item in answer.settings:
        rows.add_row(item.label, item.show(shown))
    print_table(rows)
    rows = table("Distance", ("Was, along", "right"), ("above", "right"), ("Off by", "right"))
    for match in answer.matches:
        along, above = (units.show(one, "mm", 1.0, shown) for one in match.was)
        off = units.show(math.hypot(*match.miss), "mm", 1.0, shown)
        rows.add_row(match.what, along, above, off)
    print_table(rows)
    _print_settings(answer.angles, "Posture on this bike", shown)
    say_wrapped(answer.said)
    for change in answer.changes:
        say(f"  --change '{change}'")


def _print_settings(items: Iterable[Setting], head: str, shown: units.System) -> None:
    rows = table(head, ("Value (90 % interval)", "right"), "Rests on")
    for item in items:
        rows.add_row(item.label, item.show(shown), item.source)
    print_table(rows)


def _print_droppers(answer: FitAnswer, shown: units.System) -> None:
    rows = table(("Dropper", "right"), ("Length", "right"), "", "At this rider's height")
    for row in answer.droppers:
        rows.add_row(
            units.show(row.travel, "mm", 1.0, shown),
            units.show(row.length, "mm", 1.0, shown),
            "mounted" if row.mounted else "",
            row.words(),
        )
    print_table(rows)


_MOVED = (
    "",
    "Reach",
    "Grip",
    "Trunk",
    "Hip",
    "Front seated",
    "standing",
    "Fork sag",
    "Shock sag",
    "Trail",
)


def _print_handles(answer: FitAnswer, shown: units.System) -> None:
    """One step of each handle; a difference below a tenth of what is read shows as a dash."""
    rows = table("One step", *((name, "right") for name in _MOVED))
    for row in answer.handles:
        rows.add_row(
            row.label,
            row.step,
            _moved(row.reach, "mm", 1.0, shown),
            _moved(row.height, "mm", 1.0, shown),
            _moved(row.trunk, "°", 0.1, shown),
            _moved(row.hip, "°", 0.1, shown),
            _moved(row.front_seated, "%", 0.1, shown),
            _moved(row.front_standing, "%", 0.1, shown),
            _moved(row.fork_sag, "mm", 0.1, shown),
            _moved(row.shock_sag, "mm", 0.1, shown),
            _moved(row.trail, "mm", 0.1, shown),
        )
    print_table(rows)
    say_wrapped(
        "Pressures as they were set. Reach: saddle to grip along the ground; grip: over the saddle."
    )
    for row in answer.handles:
        if row.stop:
            say(f"{row.label}: {row.step} is what {row.stop} leaves.")


def _moved(value: float | None, display: str, graduation: float, shown: units.System) -> str:
    if value is None:
        return ""
    text = units.show(value, display, graduation, shown)
    if all(char in "-0. " for char in text.rstrip("m°%in ")):
        return "–"
    return text if value < 0 else f"+{text}"


def _typed(pairs: Iterable[str]) -> dict[str, str]:
    """NAME=ANGLE texts by name."""
    wrong = [pair for pair in pairs if "=" not in pair]
    if wrong:
        do = "write NAME=ANGLE, like knee='31 deg'"
        raise InputError([Problem("typed", "--typed", do, value=pair) for pair in wrong])
    return {name.strip(): text for name, _, text in (pair.partition("=") for pair in pairs)}
