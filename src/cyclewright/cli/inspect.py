"""`cyclewright inspect` and `tools`: used bikes looked over, and the torque tools of the shop."""

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
    Mass,
    Photos,
    Pin,
    act,
    group,
    open_shop,
    print_json,
    print_table,
    read_sheets,
    say,
    say_wrapped,
    system,
    table,
    verb,
)
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.answers import RecordAnswer
    from cyclewright.workshop.inspection import InspectionAnswer
    from cyclewright.workshop.shop import Shop
    from cyclewright.workshop.tools import ToolRow

inspect = group("inspect", "Look over a used, crashed or returned bike.")
tools = group("tools", "Torque tools: range, class, calibration.")

Cause = Annotated[
    str,
    typer.Option("--cause", metavar="WHY", help="used, crashed, returned, hired or stored."),
]
Finding = Annotated[
    int, typer.Argument(metavar="NUMBER", help="The finding, as `inspect ID` numbers it.")
]
Price = Annotated[str, typer.Option("--price", metavar="TEXT", help="What it would cost.")]
Tool = Annotated[int, typer.Argument(metavar="TOOL", help="The tool's number by `tools`.")]


def register(program: typer.Typer) -> None:
    """Put these commands on the program."""
    if not inspect.registered_commands:
        verb(inspect, "show", show)
        verb(inspect, "new", new, bike=False)
        verb(inspect, "begin", begin)
        verb(inspect, "find", act(find))
        verb(inspect, "quote", act(quote))
        verb(inspect, "right", act(right))
        verb(inspect, "decline", act(decline))
        verb(tools, "show", show_tools, bike=False)
        verb(tools, "keep", keep, bike=False)
        verb(tools, "set", set_tool, bike=False)
        verb(tools, "retire", retire, bike=False)
    program.add_typer(inspect, name="inspect")
    program.add_typer(tools, name="tools")


def show(bike: Id, json: Json = False, units: HiddenUnits = "trade", data: Data = None) -> None:
    """Where to look, what was found, quoted and declined."""
    from cyclewright.workshop.inspection import inspection

    system(units)
    with open_shop(data) as shop:
        answer = inspection(shop, bike)
    print_json(answer.to_json()) if json else _print(answer)


def new(
    bike: Annotated[str, typer.Argument(metavar="BIKE", help="The bike's sheet (TOML).")],
    others: Annotated[
        list[str],
        typer.Argument(
            metavar="[RIDER] PLACE", help="The rider's sheet where there is one, then the place's."
        ),
    ],
    cause: Cause,
    mass: Mass = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """A bike that is not on record yet; prints its number."""
    from cyclewright.workshop.inspection import open_inspection

    system(units)
    sheets = read_sheets(bike, others, mass)
    with open_shop(data, pin) as shop:
        number = open_inspection(shop, sheets, cause, by)
    print_json({"id": number}) if json else say(str(number))


def begin(
    bike: Id,
    cause: Cause,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """A bike on record is looked over; it is not released until its gates pass anew."""
    from cyclewright.workshop.inspection import inspection, open_inspection

    system(units)
    with open_shop(data, pin) as shop:
        open_inspection(shop, bike, cause, by)
        answer = inspection(shop, bike)
    told = f"inspection begun ({cause}): {answer.to_look} places to look at"
    print_json(answer.to_json()) if json else say(told)


def find(
    shop: Shop,
    by: str | None,
    bike: Id,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What is not as it should be.")],
    severity: Annotated[
        str,
        typer.Option(
            "--severity",
            metavar="HOW",
            help="stop (nobody rides it), warn (put right or declined) or note (told).",
        ),
    ] = "warn",
    point: Annotated[
        str, typer.Option("--point", metavar="STEP", help="Where, by the step's id.")
    ] = "",
    photo: Photos = None,
    work: Annotated[
        str, typer.Option("--work", metavar="TEXT", help="The work that would put it right.")
    ] = "",
    price: Price = "",
) -> RecordAnswer:
    """Something found, with photos and the work quoted for it."""
    from cyclewright.workshop import inspection

    return inspection.find(
        shop, bike, text, severity,
        point=point, photos=photo or (), work=work, price=price, by=by,
    )  # fmt: skip


def quote(
    shop: Shop,
    by: str | None,
    bike: Id,
    finding: Finding,
    work: Annotated[str, typer.Argument(metavar="WORK", help="What would put it right.")],
    price: Price = "",
) -> RecordAnswer:
    """The work that would put a finding right, as told to the customer."""
    from cyclewright.workshop import inspection

    return inspection.quote(shop, bike, finding, work, price, by=by)


def right(
    shop: Shop,
    by: str | None,
    bike: Id,
    finding: Finding,
    what: Annotated[str, typer.Argument(metavar="WHAT", help="What was done.")],
) -> RecordAnswer:
    """A finding was put right."""
    from cyclewright.workshop import inspection

    return inspection.put_right(shop, bike, finding, what, by=by)


def decline(
    shop: Shop,
    by: str | None,
    bike: Id,
    findings: Annotated[
        list[int], typer.Argument(metavar="NUMBER...", help="Findings whose work is declined.")
    ],
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="Who declines and signs.")],
    signature: Annotated[
        Path | None,
        typer.Option("--signature", metavar="FILE", help="The signature as a picture."),
    ] = None,
) -> RecordAnswer:
    """The customer declines quoted work and signs for it.

    What stops the bike can be declined too: it goes back as it is, not released.
    """
    from cyclewright.workshop import inspection

    return inspection.decline(shop, bike, findings, name, signature, by=by)


def show_tools(
    every: Annotated[bool, typer.Option("--all", help="Retired ones too.")] = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """The shop's torque tools and whether their calibration holds."""
    from cyclewright.workshop.tools import tools as listed

    system(units)
    with open_shop(data) as shop:
        rows = listed(shop, all_of_them=every)
    if json:
        print_json({"tools": [row.to_json() for row in rows]})
        return
    if not rows:
        say("No torque tool is kept: `cyclewright tools keep NAME LOW HIGH` adds one.")
        return
    made = table(
        ("No.", "right"), "Tool", ("Range", "right"), ("Mark", "right"), ("Class", "right"),
        "Calibration",
    )  # fmt: skip
    for row in rows:
        made.add_row(
            str(row.id), row.name, f"{row.low:g} to {row.high:g} N·m", f"{row.mark:g} N·m",
            f"±{row.tolerance * 100:g} %", _calibration(row),
        )  # fmt: skip
    print_table(made)


def keep(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What it is called here.")],
    low: Annotated[str, typer.Argument(metavar="LOW", help="Start of its scale: '2 N.m'.")],
    high: Annotated[str, typer.Argument(metavar="HIGH", help="End of its scale: '20 N.m'.")],
    mark: Annotated[
        str, typer.Option("--mark", metavar="TORQUE", help="From one mark to the next.")
    ] = "0.1 N.m",
    tolerance: Annotated[
        str | None,
        typer.Option("--tolerance", metavar="SHARE", help="By its certificate, like '4 %'."),
    ] = None,
    shows: Annotated[
        bool, typer.Option("--shows", help="It shows the torque; it is not set and does not click.")
    ] = False,
    arm: Annotated[
        str | None,
        typer.Option("--arm", metavar="LENGTH", help="From its drive to the middle of the hand."),
    ] = None,
    calibrated: Annotated[
        str | None, typer.Option("--calibrated", metavar="DAY", help="The day on its certificate.")
    ] = None,
    days: Annotated[
        int, typer.Option("--days", metavar="DAYS", help="How long its calibration holds.")
    ] = 365,
    tool: Annotated[
        int | None,
        typer.Option("--tool", metavar="TOOL", help="Write this one anew: a new calibration."),
    ] = None,
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """Keep a torque tool; plans and checks are then made for it."""
    from cyclewright.workshop.tools import keep_tool

    system(units)
    with open_shop(data, pin) as shop:
        row = keep_tool(
            shop, name, low, high,
            mark=mark, tolerance=tolerance, setting=not shows, arm=arm, calibrated=calibrated,
            days=days, tool=tool, by=by,
        )  # fmt: skip
    told = f"tool {row.id}, {row.name}: {row.low:g} to {row.high:g} N·m, {_calibration(row)}"
    print_json(row.to_json()) if json else say(told)


def set_tool(
    tool: Tool,
    torque: Annotated[
        str, typer.Argument(metavar="TORQUE", help="What the bolt has to get: '5 N.m'.")
    ],
    crowfoot: Annotated[
        str | None,
        typer.Option(
            "--crowfoot", metavar="LENGTH", help="A crowfoot this long, from the drive to the bolt."
        ),
    ] = None,
    angle: Annotated[
        str, typer.Option("--angle", metavar="ANGLE", help="The crowfoot turned from the tool.")
    ] = "0 deg",
    straight: Annotated[
        bool, typer.Option("--straight", help="A straight bit or extension: changes nothing.")
    ] = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """What to set a tool to so that the bolt gets this torque."""
    from cyclewright.workshop.tools import tool_setting

    system(units)
    if straight and crowfoot is not None:
        do = "a straight extension and a crowfoot are two things: give one"
        raise InputError(Problem("fitting", "--crowfoot", do))
    fitting = "crowfoot" if crowfoot is not None else "straight" if straight else "none"
    with open_shop(data) as shop:
        answer = tool_setting(shop, tool, torque, fitting=fitting, extension=crowfoot, angle=angle)
    print_json(answer.to_json()) if json else say_wrapped(answer.said)


def retire(
    tool: Tool,
    reason: Annotated[str, typer.Argument(metavar="REASON", help="Dropped, sent in, worn.")],
    by: By = None,
    pin: Pin = False,
    json: Json = False,
    units: HiddenUnits = "trade",
    data: Data = None,
) -> None:
    """A tool that is no longer used, and why."""
    from cyclewright.workshop.tools import retire_tool

    system(units)
    with open_shop(data, pin) as shop:
        row = retire_tool(shop, tool, reason, by)
    print_json(row.to_json()) if json else say(f"tool {row.id}, {row.name}: {row.retired}")


def _calibration(row: ToolRow) -> str:
    if row.retired:
        return f"retired: {row.retired}"
    if not row.due:
        return "calibration not known"
    return f"good until {row.due}" if row.state == "in-date" else f"overdue since {row.due}"


def _print(answer: InspectionAnswer) -> None:
    say(f"{answer.bike}  {answer.name}")
    if not answer.open:
        say(f"   no inspection is open: `cyclewright inspect {answer.bike} begin --cause used`")
    else:
        say_wrapped(answer.verdict, f"   {answer.cause}: ")
    for point in answer.points:
        found = f"  [finding {', '.join(map(str, point.findings))}]" if point.findings else ""
        say_wrapped(f"{point.do}{found}", f"   {'x' if point.status == 'done' else '-'} ")
        say(f"       {point.id}")
    for row in answer.findings:
        say_wrapped(row.text, f"   {row.id}. {row.severity}, {row.status}: ")
        if row.work:
            say_wrapped(f"{row.work} {row.price}".rstrip(), "       quoted: ")
        if row.settled:
            say_wrapped(row.settled, "       ")
