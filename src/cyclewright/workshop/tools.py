"""Torque tools of the shop: range, class and calibration; what they set, with which extension."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from cyclewright import units
from cyclewright.errors import InputError, Problem, RangeError, input_error, range_error
from cyclewright.setting import Finding
from cyclewright.units import System
from cyclewright.workshop.acts import By, Day, day
from cyclewright.workshop.people import who
from cyclewright.workshop.shop import Entry, Shop, checked_text, own_uuid

if TYPE_CHECKING:
    from cyclewright.advice.torque import Tool
    from cyclewright.record.events import Draft
    from cyclewright.record.shop import KeptTool, ShopState

CALIBRATION_DAYS = 365
"""How long a calibration holds where its certificate says nothing (ISO 6789: a year)."""


@dataclass(frozen=True, slots=True)
class ToolRow:
    """A torque tool as it stands today."""

    id: int
    name: str
    low: float
    high: float
    mark: float
    tolerance: float
    """Share of the setting it may be off."""
    tolerance_source: str
    setting: bool
    arm: float | None
    calibrated: str
    due: str
    """The day until which its calibration holds, empty where none is known."""
    state: str
    """in-date, overdue or unknown."""
    retired: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The tool as plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class ToolSetting:
    """What to set one tool to for a torque at the bolt."""

    tool: int
    torque: float
    fitting: str
    """none, straight or crowfoot."""
    set: float
    """At the tool's mark below the exact setting [N·m]."""
    at_bolt: float
    """Torque at the bolt with that mark [N·m]."""
    said: str

    def to_json(self, system: System = "trade") -> dict[str, Any]:
        """The setting as plain data."""
        return asdict(self)


def keep_tool(
    shop: Shop,
    name: str,
    low: str,
    high: str,
    *,
    mark: str = "0.1 N.m",
    tolerance: str | None = None,
    setting: bool = True,
    arm: str | None = None,
    calibrated: Day = None,
    days: int = CALIBRATION_DAYS,
    tool: int | None = None,
    by: By = None,
    uuid: str | None = None,
) -> ToolRow:
    """Keep a torque tool with its marked scale; `tool` writes an entry anew, a calibration too.

    Without a tolerance it has the one of its class by ISO 6789; `arm` runs from its drive to the
    middle of the hand, for a crowfoot. Without a day its calibration is unknown.
    """
    from cyclewright.record.events import Draft

    told = _told(name, low, high, mark, tolerance, arm, calibrated, days)
    own, author = own_uuid(uuid), who(shop, by)

    def decide(state: ShopState) -> list[Draft]:
        if tool is not None:
            _known(state, tool)
        number = tool if tool is not None else max(state.tools, default=0) + 1
        data = {"tool": number, "setting": bool(setting), **told}
        return [Draft("tool-kept", f"tool:{number}", data, author, own)]

    entry = Entry([own], "tool-kept", same=lambda data: told.items() <= data.items())
    events, state = shop.own_act(decide, entry)
    return _row(state.tools[events[0].data["tool"]], date.today())


def retire_tool(
    shop: Shop, tool: int, reason: str, by: By = None, uuid: str | None = None
) -> ToolRow:
    """A tool that is no longer used, and why: dropped, sent in, worn."""
    from cyclewright.record.events import Draft

    why, own, author = checked_text(reason, "reason", 300), own_uuid(uuid), who(shop, by)

    def decide(state: ShopState) -> list[Draft]:
        _known(state, tool)
        return [Draft("tool-retired", f"tool:{tool}", {"tool": tool, "reason": why}, author, own)]

    _, state = shop.own_act(decide, Entry([own], "tool-retired", f"tool:{tool}"))
    return _row(state.tools[tool], date.today())


def tools(shop: Shop, today: Day = None, all_of_them: bool = False) -> tuple[ToolRow, ...]:
    """The shop's torque tools by the top of their scale, or all there ever were."""
    now = day(today, "today")
    rows = (_row(tool, now) for tool in shop.own().tools.values())
    kept = [row for row in rows if all_of_them or not row.retired]
    return tuple(sorted(kept, key=lambda row: (row.high, row.id)))


def for_sums(shop: Shop, today: Day = None) -> tuple[Tool, ...]:
    """The tools that torque windows are made with, those in date before the others.

    A shop that keeps none is taken to have one of the standard class.
    """
    from cyclewright.advice.torque import Tool

    told = {"in-date": "", "overdue": ", calibration overdue", "unknown": ", calibration not known"}
    return tuple(
        Tool(
            f"{row.name} (tool {row.id}{told[row.state]})",
            row.low,
            row.high,
            row.mark,
            row.tolerance,
            row.state == "in-date",
        )
        for row in tools(shop, today)
    )


def findings(shop: Shop, today: Day = None) -> tuple[Finding, ...]:
    """Tools whose calibration has run out or is not known."""
    found = []
    for row in tools(shop, today):
        if row.state == "in-date":
            continue
        fact = f"calibrated {row.calibrated}, good until {row.due}" if row.due else "no calibration"
        found.append(
            Finding(
                "torque-tool-calibration",
                "warn",
                (f"{row.name} (tool {row.id}): {fact}",),
                "A torque tool is calibrated at least once a year or every 5000 uses, or by its "
                "own certificate (ISO 6789).",
                "Send it in, or record its last calibration; a tool in date is used before it.",
            )
        )
    return tuple(found)


def tool_setting(
    shop: Shop,
    tool: int,
    torque: str,
    *,
    fitting: str = "none",
    extension: str | None = None,
    angle: str = "0 deg",
) -> ToolSetting:
    """What to set a tool to so that the bolt gets this torque.

    Only an in-line crowfoot, which moves the bolt away from the drive, changes the setting;
    a straight bit, socket or extension bar does not. `angle` turns the crowfoot from the tool's
    own line: at a right angle it changes nothing.
    """
    from cyclewright.mechanics import bolt

    kept = _known(shop.own(), tool)
    wanted = units.parse(torque, "torque", "torque").value
    if fitting not in ("none", "straight", "crowfoot"):
        raise input_error(
            "fitting",
            "fitting",
            "say what sits between tool and bolt",
            value=fitting,
            allowed="none, straight, crowfoot",
        )
    exact, said = wanted, "a straight bit or extension changes nothing"
    if fitting == "crowfoot":
        offset, arm = _crowfoot(kept, extension)
        turned = units.parse(angle, "angle", "angle").value
        exact = float(bolt.extension_setting(wanted, arm, offset, turned))
        said = (
            f"the crowfoot moves the bolt {offset * 1000:g} mm from the drive of a tool held at "
            f"{arm * 1000:g} mm"
        )
    if not kept.low - 1e-9 <= exact <= kept.high + 1e-9:
        raise RangeError(
            Problem(
                "torque-tool-range",
                "tool",
                "take a tool whose scale includes it: a torque tool is used only inside its scale",
                f"{exact:.2f} N·m",
                "N·m",
                f"{kept.low:g} to {kept.high:g} N·m",
            )
        )
    marked = round(math.floor(exact / kept.mark + 1e-9) * kept.mark, 6)
    marked = max(marked, kept.low)
    ratio = wanted / exact if exact else 1.0
    text = f"set {marked:g} N·m for {wanted:g} N·m at the bolt: {said}"
    return ToolSetting(tool, wanted, fitting, marked, marked * ratio, text)


def _crowfoot(kept: KeptTool, extension: str | None) -> tuple[float, float]:
    """Offset of the bolt and arm of the tool [m], both needed for a crowfoot."""
    problems = []
    if extension is None:
        do = "give the crowfoot's length from the drive to the bolt, like 30 mm"
        problems.append(Problem("missing", "extension", do))
    if kept.arm is None:
        do = f"keep the arm of tool {kept.id} first: from its drive to the middle of the hand"
        problems.append(Problem("missing", "arm", do))
    if problems:
        raise InputError(problems)
    assert extension is not None and kept.arm is not None
    return units.parse(extension, "length", "extension").value, kept.arm


def _told(
    name: str,
    low: str,
    high: str,
    mark: str,
    tolerance: str | None,
    arm: str | None,
    calibrated: Day,
    days: int,
) -> dict[str, Any]:
    """The tool's facts as they are recorded; all that is wrong is told at once."""
    from cyclewright.advice.torque import Tool

    problems: list[Problem] = []
    found: dict[str, Any] = {}

    def take(key: str, text: str | None, dimension: str) -> None:
        try:
            found[key] = None if text is None else units.parse(text, dimension, key).value
        except InputError as error:
            problems.extend(error.problems)

    for key, text, dimension in (
        ("low", low, "torque"),
        ("high", high, "torque"),
        ("mark", mark, "torque"),
        ("tolerance", tolerance, "ratio"),
        ("arm", arm, "length"),
    ):
        take(key, text, dimension)
    try:
        found["name"] = checked_text(name, "name", 80)
    except InputError as error:
        problems.extend(error.problems)
    try:
        known = calibrated not in (None, "")
        found["calibrated"] = day(calibrated, "calibrated").isoformat() if known else ""
    except InputError as error:
        problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    Tool(found["name"], found["low"], found["high"], found["mark"], found["tolerance"])
    _sane(found, days)
    return {**found, "days": days}


def _sane(found: dict[str, Any], days: int) -> None:
    if found["arm"] is not None and not 0.05 <= found["arm"] <= 2.0:
        raise range_error(
            "arm",
            "arm",
            "measure from the drive to the middle of the hand",
            value=f"{found['arm'] * 1000:g} mm",
            allowed="50 to 2000 mm",
        )
    if not 1 <= days <= 3650:
        raise range_error("days", "days", "give the days that a calibration holds", value=str(days))
    ahead = (date.today() + timedelta(days=1)).isoformat()
    if found["calibrated"] > ahead:
        raise range_error(
            "later", "calibrated", "give the day on the certificate", value=found["calibrated"]
        )


def _row(tool: KeptTool, now: date) -> ToolRow:
    from cyclewright.knowledge import rules

    own = tool.tolerance is not None
    share = tool.tolerance if tool.tolerance is not None else rules.tool_class(tool.high).tolerance
    due = ""
    if tool.calibrated:
        due = (date.fromisoformat(tool.calibrated) + timedelta(days=tool.days)).isoformat()
    state = "unknown" if not due else "overdue" if due < now.isoformat() else "in-date"
    source = "its certificate" if own else rules.tool_class(tool.high).source
    return ToolRow(
        tool.id,
        tool.name,
        tool.low,
        tool.high,
        tool.mark,
        share,
        source,
        tool.setting,
        tool.arm,
        tool.calibrated,
        due,
        state,
        tool.retired,
    )


def _known(state: ShopState, tool: int) -> KeptTool:
    found = state.tools.get(tool)
    if found is None or found.retired:
        listed: Sequence[str] = [str(item.id) for item in state.tools.values() if not item.retired]
        raise input_error(
            "no-such-tool",
            "tool",
            "give its number",
            value=str(tool),
            allowed=", ".join(listed) or "none kept",
        )
    return found
