"""`check`, `advise`, `plan`: what the sheets say before anything is recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cyclewright import units
from cyclewright.cli.changing import ask_plan
from cyclewright.cli.common import (
    Bike,
    BikeId,
    Brief,
    By,
    Changes,
    Data,
    Json,
    Mass,
    Others,
    Pin,
    Units,
    command,
    open_shop,
    print_findings,
    print_json,
    print_table,
    say,
    say_wrapped,
    sheets_of,
    system,
    table,
    units_shown,
)
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from cyclewright.setting import Setting
    from cyclewright.workshop.answers import (
        AdviceAnswer,
        Change,
        Plan,
        PlannedStep,
        SetupRow,
        Sheets,
    )

    Figures = Mapping[str, tuple[str, ...]]


def register(app: typer.Typer) -> None:
    """Put these commands on the program."""
    command(app, "check", check)
    command(app, "advise", advise)
    command(app, "plan", plan)


def check(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    bike_id: BikeId = None,
    change: Changes = None,
    brief: Brief = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Cross-check the papers before a bolt is turned.

    Each finding gives the facts that clash, the rule and what to do; then follows what nobody
    may guess and somebody has to look up. Exits 0 with findings too.
    """
    from cyclewright.workshop.check import check as checked
    from cyclewright.workshop.sheets import changed

    system(units)
    found = changed(sheets_of(bike, others, mass, bike_id, data), change or ())
    if bike_id is None:
        answer = checked(found)
    else:
        from cyclewright.workshop import release

        with open_shop(data) as shop:
            answer = release.papers(shop, bike_id, found)
    if json:
        print_json(answer.to_json())
        return
    if not answer.findings:
        say("Nothing on these sheets clashes.")
    print_findings(answer.findings, answer.questions, brief)


def advise(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    bike_id: BikeId = None,
    change: Changes = None,
    why: Annotated[
        bool, typer.Option("--why", help="Say below each setting where it comes from.")
    ] = False,
    fit: Annotated[
        bool,
        typer.Option(
            "--fit", help="Instead: saddle methods, postures, dropper lengths, cockpit, levers."
        ),
    ] = False,
    at: Annotated[
        list[str] | None,
        typer.Option(
            "--at",
            metavar="FORK,REAR",
            help="The geometry with these shares of both travels used: '30 %, 25 %'.",
        ),
    ] = None,
    previous: Annotated[
        str | None,
        typer.Option(
            "--previous", metavar="BIKE", help="With --fit: carry this bike's sheet's fit over."
        ),
    ] = None,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Settings solved together, each with its 90 % interval.

    Saddle, cockpit, tyres, springs, clicks and the geometry at sag. With --change: what else
    moves, once with pressures and saddle kept as they were, once solved again. With --at: the
    geometry through the travel instead.
    """
    from cyclewright.workshop import advising

    shown = system(units)
    if fit or previous is not None:
        sheets = sheets_of(bike, others, mass, bike_id, data)
        _fit(sheets, bike_id, change or (), previous, json, shown, data)
        return
    asked = [advising.shares(text) for text in at or ()]
    if bike_id is not None and bike is None and mass is None:
        with open_shop(data) as shop:
            answer = advising.advise_bike(shop, bike_id, change or (), asked)
    else:
        answer = advising.advise(sheets_of(bike, others, mass, bike_id, data), change or (), asked)
    if json:
        print_json(answer.to_json(shown) | (answer.tables() if asked else {}))
        return
    if asked:
        _print_geometry(answer, shown)
        return
    if answer.changes is None:
        _print_settings(answer, why, shown)
    else:
        _print_changes(answer.changes, shown)
    say()
    print_findings(answer.findings, answer.questions)


def plan(
    bike: Bike = None,
    others: Others = None,
    mass: Mass = None,
    bike_id: BikeId = None,
    change: Changes = None,
    steps: Annotated[
        bool,
        typer.Option("--steps", help="One step at a time, with its id and why it stands there."),
    ] = False,
    brief: Brief = False,
    again: Annotated[
        bool,
        typer.Option(
            "--again", help="Make the plan of --bike-id anew, with today's steps and torque tools."
        ),
    ] = False,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: Units = "trade",
    data: Data = None,
) -> None:
    """Only the steps this bike needs, in a safe order.

    On station cards, each line with its tool, torque and whose figure it is. A plan on record
    stays as it was made, through every upgrade, until it is made again; what was done stays done.
    """
    from cyclewright.workshop import check

    shown = system(units)
    if again and bike_id is None:
        do = "name the bike on record whose plan is made again: --again --bike-id N"
        raise InputError(Problem("again", "--again", do))
    if again and change:
        do = "leave it out: a plan on record is made again from what is recorded"
        raise InputError(Problem("again", "--change", do, value=change[0]))
    from cyclewright.workshop.figures import advised, advised_for, figures

    if bike_id is not None and bike is None and mass is None and not change:
        from cyclewright.workshop import build

        with open_shop(data, pin) as shop:
            if again:
                ask_plan(shop, bike_id)
                told = build.plan_again(shop, bike_id, by).said
                if not json:
                    say_wrapped(f"{told}.")
            made = build.plan_for(shop, bike_id)
            sheets = shop.sheets(shop.state(bike_id))
            known = advised_for(shop, bike_id, shown) if steps and not (json or brief) else {}
    else:
        from cyclewright.workshop.sheets import changed

        sheets = changed(sheets_of(bike, others, mass, bike_id, data), change or ())
        made = check.plan(sheets)
        known = advised(sheets, shown) if steps and not (json or brief) else {}
    heavy = check.too_heavy(sheets)
    if json:
        print_json(made.to_json() | {"findings": [item.to_json() for item in heavy]})
        return
    if brief:
        _print_brief(made)
    else:
        beside = figures(made, known, units_shown())
        _print_steps(made, beside) if steps else _print_cards(made, beside)
    print_findings(heavy, made.questions)


def _fit(
    sheets: Sheets,
    bike_id: int | None,
    changes: Sequence[str],
    previous: str | None,
    json: bool,
    shown: units.System,
    data: Path | None,
) -> None:
    """The fit by itself; after changes what has to be set again, and the previous bike's place."""
    from cyclewright.cli import fit
    from cyclewright.workshop import fitting
    from cyclewright.workshop.sheets import changed, with_bike

    proved = False
    if bike_id is not None:
        with open_shop(data) as shop:
            proved = fitting.proved(shop, bike_id) and not changes
    after = changed(sheets, changes)
    carried = None if previous is None else fitting.carry_over(with_bike(sheets, previous), after)
    again = fitting.refit(sheets, after) if changes else None
    answer = fitting.fit(after, proved=proved) if again is None else again.fit
    if json:
        document = answer.to_json(shown) if again is None else again.to_json(shown)
        more = {} if carried is None else {"carried": carried.to_json(shown)}
        print_json(document | more)
        return
    fit.print_fit(answer, shown)
    if again is not None:
        fit.print_again(again)
    if carried is not None:
        fit.print_carried(carried, shown)
    say()
    print_findings(answer.findings, answer.questions)


def _print_settings(answer: AdviceAnswer, why: bool, shown: units.System) -> None:
    for setting in answer.settings:
        if moved := setting.moved(shown):
            say_wrapped(f"{_label(setting)}: {moved}.")
    rows = table("Setting", ("Value (90 % interval)", "right"), "Rests on", "What binds")
    for setting in answer.settings:
        binding = next((limit.owner for limit in setting.limits if limit.binds), "")
        rows.add_row(_label(setting), setting.show(shown), setting.basis, binding)
        if why:
            for line in (setting.because, *setting.beside):
                rows.add_row(f"  {line}")
    print_table(rows)
    if answer.then is not None:
        _print_then(answer, answer.then, shown)
    if why:
        _print_geometry(answer, shown)
        _print_motions(answer, shown)


def _print_then(answer: AdviceAnswer, then: SetupRow, shown: units.System) -> None:
    """The kept set-up that the bike went back to, beside what is advised now."""
    say(f"As it was set then: set-up {then.id}, {then.rider}, until {then.until}")
    rows = table("What", ("Then", "right"), ("Advised now", "right"), ("Is now", "right"))
    for row in (*then.settings, *then.readings, *then.places):
        setting = answer.setting(row.name)
        advised = "" if setting is None else setting.show(shown)
        rows.add_row(row.name.replace("_", " "), row.shown, advised, row.now)
    print_table(rows)
    say("Values to set and read again: none of them counts as set.")


def _print_geometry(answer: AdviceAnswer, shown: units.System) -> None:
    """The bike on level ground through its travel, tyres as deep as standing."""
    names = ("Fork", "Rear", "Head angle", "Trail", "Bottom bracket", "Wheelbase")
    rows = table("Travel used", *((name, "right") for name in names))
    for at in answer.geometry:
        lengths = (at.trail, at.bb_height, at.wheelbase)
        rows.add_row(
            at.words,
            *(units.show(one, "mm", 1, shown) for one in (at.fork_travel, at.rear_travel)),
            units.show(at.head_angle, "°", 0.1, shown),
            *(units.show(one, "mm", 1, shown) for one in lengths),
        )
    say()
    print_table(rows)


def _print_motions(answer: AdviceAnswer, shown: units.System) -> None:
    """Lean and steer hands off, seated at sag, over a range of speeds."""
    names = ("Swing grows", "Swings", "Falls")
    from cyclewright.workshop.answers import per_second

    rows = table("Hands off at", *((name, "right") for name in names))
    for at in answer.motions:
        rows.add_row(
            units.show(at.speed, "km/h", 0.1, shown),
            per_second(at.weave_growth),
            "–" if at.weave_frequency is None else f"{at.weave_frequency:.2f} Hz",
            per_second(at.capsize),
        )
    say()
    print_table(rows)
    say("Growth a second; negative dies away. By the linear equations, on estimated masses.")


def _label(setting: Setting) -> str:
    return setting.label or setting.name.replace("_", " ")


def _print_changes(changes: tuple[Change, ...], shown: units.System) -> None:
    """What the change moved: as it was, all else kept, and solved again."""
    if not changes:
        say("This change moves nothing that is set or read.")
        return
    rows = table("Moves", ("Before", "right"), ("Kept", "right"), ("Resolved", "right"))
    for change in changes:
        numbers = (change.before, change.kept, change.resolved)
        rows.add_row(change.label or change.name, *(_number(change, one, shown) for one in numbers))
    print_table(rows)
    say("Kept: pressures and saddle as they were set. Resolved: the goals met again.")


def _number(change: Change, value: float | None, shown: units.System) -> str:
    """A number a digit finer than the tool, so that a small movement is seen."""
    if value is None:
        return "none"
    return units.show(value, change.display, change.graduation / 10, shown)


def _print_cards(made: Plan, beside: Figures) -> None:
    """A dozen cards, each line with its tool and torque, and a round with each of its bolts."""
    for index, card in enumerate(made.cards(), 1):
        say(f"\n{index}. {card.station} · {card.stage} · {card.minutes:.0f} min")
        for line in card.lines:
            for step in line:
                say(f"   [ ] {step.do}")
                for told in _details(step, beside):
                    say(f"       {told}")
    say(f"\n{len(made.steps)} steps on {len(made.cards())} cards, about {_hours(made.minutes)}.")


def _print_brief(made: Plan) -> None:
    """A row a card, with the names of its steps in order."""
    rows = table(("Card", "right"), "Station", "Stage", ("Minutes", "right"), "Steps")
    for index, card in enumerate(made.cards(), 1):
        names = ", ".join(step.id for line in card.lines for step in line)
        rows.add_row(str(index), card.station, card.stage, f"{card.minutes:.0f}", names)
    print_table(rows)
    say(f"{len(made.steps)} steps on {len(made.cards())} cards, about {_hours(made.minutes)}.")


def _print_steps(made: Plan, beside: Figures) -> None:
    """Every step by itself: id, what to do, with what, how it is proved, why here."""
    for step in made.steps:
        say(f"\n{step.id}  ({step.stage}, {step.station}, {step.minutes:g} min)")
        say(f"  {step.do}")
        for told in _details(step, beside):
            say(f"  {told}")
        for caution in step.cautions:
            say(f"  {caution.kind}: {caution.text}")
        say(f"  evidence: {', '.join(step.evidence)}")
        say(f"  why here: {step.why}")


def _details(step: PlannedStep, beside: Figures) -> list[str]:
    """Tool, torque and compound in a line, and below it the figures of the step."""
    from cyclewright.workshop.figures import torque_words

    parts = (step.tool, torque_words(step.torque, units_shown()), step.compound)
    lines = (" · ".join(part for part in parts if part), *beside.get(step.id, ()))
    return [line for line in lines if line]


def _hours(minutes: float) -> str:
    return f"{int(minutes // 60)} h {int(minutes % 60):02d} min"
