"""The torque a joint is set to: whose figure, narrowed by the tool in the hand.

A maker states one of three kinds of figure. A `target` is set exactly; a `max` is kept under by
one tolerance of the tool, with no invented minimum; a `range` is narrowed by the tolerance from
both ends. Where two parts of one joint each have a figure, both hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.advice import brakes
from cyclewright.errors import InputError, range_error
from cyclewright.knowledge import fasteners, rules
from cyclewright.knowledge.questions import torque_questions
from cyclewright.knowledge.steps import steps
from cyclewright.setting import Basis, Finding, Question
from cyclewright.sheets.sheets import facts

if TYPE_CHECKING:
    from cyclewright.knowledge.fasteners import Fastener as DefaultFastener
    from cyclewright.sheets.bike import Fastener, Figures
    from cyclewright.sheets.sheets import Sheets

Kind = Literal["target", "max", "range"]


@dataclass(frozen=True, slots=True)
class TorqueWindow:
    """What the tool is set to [N·m] and between which marks it may be.

    `least` and `most` are the makers' own ends; `low` and `high` are those less what the tool may
    be off, which is ours and not theirs. `low` is None when nobody states a minimum. `set` is None
    when the figures leave nothing; `needs_word` when the joint passes its gate only with the
    maker's word. Where no kept tool reaches the joint, `unreached` says so, the window is the
    makers' own, and the word that is
    needed is which tool it was set with.
    """

    kind: Kind
    low: float | None
    high: float | None
    set: float | None
    whose: str
    basis: Basis
    unit: str = "N·m"
    needs_word: bool = False
    wrench: str = ""
    """The kept tool that it is set with; empty while the shop keeps none."""
    unreached: str = ""
    least: float | None = None
    most: float | None = None
    begins: bool = False
    """Whether `set` is only where to begin: the least that holds is all that it is tightened to."""
    said: str = ""
    """Whose figure it is and what of it is ours, in words."""

    def to_json(self) -> dict[str, Any]:
        """The window as plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Figure:
    """One part's torque figure [N·m] and whose it is."""

    whose: str
    kind: Kind
    low: float | None
    high: float

    def text(self) -> str:
        """The figure as its maker would print it."""
        if self.kind == "target":
            return f"{self.high:g} N·m"
        if self.low is None:
            return f"max {self.high:g} N·m"
        return f"{_span(self.low, self.high)} N·m"


@dataclass(frozen=True, slots=True)
class Tool:
    """A setting torque tool: the ends of its marked scale and its scale step [N·m].

    `tolerance` [1] is its certificate's; None takes the class of ISO 6789 by the scale's end. One
    that is not `in_date` is used only where no other reaches.
    """

    name: str
    low: float
    high: float
    mark: float = 0.1
    tolerance: float | None = None
    in_date: bool = True

    def __post_init__(self) -> None:
        if not (0 < self.low < self.high < math.inf and self.mark > 0):
            raise range_error(
                "torque-tool-scale",
                "tool",
                "give the lowest and highest mark of its scale and the step between marks",
                value=f"{self.low:g} to {self.high:g} N·m",
            )
        if self.tolerance is not None and not 0 <= self.tolerance < 0.5:
            raise range_error(
                "torque-tool-tolerance",
                "tool",
                "give the tolerance from its certificate as a share, like 4 %",
                value=f"{self.tolerance:g}",
            )

    @property
    def spread(self) -> float:
        """Its permitted deviation as a share of the setting."""
        return rules.tool_class(self.high).tolerance if self.tolerance is None else self.tolerance

    def reaches(self, torque: float) -> bool:
        """Whether the setting lies inside the marked scale."""
        return self.low - 1e-9 <= torque <= self.high + 1e-9


DEFAULT = "default for this joint"


def windows(
    sheets: Sheets, tools: Sequence[Tool] = (), *, opened: bool = False
) -> tuple[dict[str, TorqueWindow], tuple[Finding, ...]]:
    """The setting of every joint that has a figure, by its name, and what clashes.

    The sheet's own figures win; a joint without one takes the labelled default where there may
    be one. A bonded fastener that is left alone has no setting. `opened` takes in the joints that
    are set only where they were opened.
    """
    known = facts(sheets) | brakes.derived(sheets)
    if opened and known.get("derived.any_hydraulic"):
        known["derived.hoses_opened"] = True
    found: dict[str, TorqueWindow] = {}
    findings: list[Finding] = []
    to_set = {step.torque for step in steps()}
    usual = {item.name: item.verb for item in fasteners.applying(known)}
    for name, figures, paste, basis in _joints(sheets, known):
        begin = fasteners.begins(name, known)
        found[name], said = window(name, figures, tools, basis=basis, paste=paste, begin=begin)
        stated = sheets.bike.fastener.get(name)
        verb = (None if stated is None else stated.verb) or usual.get(name)
        if found[name].unreached and verb == "check" and name not in to_set:
            said = tuple(replace(item, severity="note") for item in said)
        findings.extend((*said, *_kept_dry(name, stated, found[name])))
    return found, tuple(findings)


def _kept_dry(name: str, stated: Fastener | None, found: TorqueWindow) -> Iterator[Finding]:
    """A screw whose figure holds dry, and which grease would carry past 90 % of its yield."""
    if stated is None or stated.compound != "dry" or found.set is None:
        return
    if not stated.thread or not stated.grade or stated.head not in (None, "socket", "hex"):
        return
    # Few sheets state a dry screw, and only its sum wakes NumPy.
    from cyclewright.mechanics import bolt

    slick = rules.rule("friction_lubricated_low").value
    try:
        screw = bolt.thread(stated.thread)
        most = bolt.assembly(screw, stated.grade, slick, slick, stated.head or "socket")
    except InputError:
        return  # a thread, head or grade without a row cannot be judged
    if found.set <= float(most.torque):
        return
    yield Finding(
        "dry-thread",
        "warn",
        (
            f"{_words(name)}: {found.set:g} N·m is meant for a dry {stated.thread} thread",
            f"greased, a {stated.grade} screw reaches 90 % of its yield at "
            f"{float(most.torque):.1f} N·m",
        ),
        "At one torque the friction decides the preload (VDI 2230); a figure for a dry thread "
        "is no figure for a greased one.",
        "Clean thread and head and keep them dry; a greased one is a stop until cleaned.",
        _fields(name),
    )


def asked(sheets: Sheets) -> Iterator[Question]:
    """The greatest torque of each carbon part that clamps without a figure: never guessed."""
    known = facts(sheets) | brakes.derived(sheets)
    for item in fasteners.applying(known):
        stated = sheets.bike.fastener.get(item.name)
        if item.kind in ("ask", "hand") or item.default_allowed(known):
            continue
        if not _stated(sheets, item.name) and (stated is None or stated.verb != "leave"):
            yield from torque_questions(item.name, item.label)


_CLAMPED = {
    "stem_pinch": ("bike.fork.material_steerer", "steerer", ("steerer", "fork")),
    "faceplate": ("bike.cockpit.bar_material", "handlebar", ("handlebar", "bar")),
    "seat_collar": ("bike.post.material", "post", ("post", "seatpost")),
}
"""Joints that squeeze a part which may be carbon: its material, what it is called, whose figure
would be its own."""


def own_limits(sheets: Sheets) -> Iterator[Finding]:
    """Carbon parts that are clamped by another part's figure alone: each has a limit of its own."""
    known = facts(sheets)
    for joint, (field, part, owners) in _CLAMPED.items():
        stated = _stated(sheets, joint)
        named = {figure.whose.removeprefix("the ") for figure in stated}
        alone = stated and not any(owner in name.split() for name in named for owner in owners)
        if known.get(field) != "carbon" or not alone:
            continue
        yield Finding(
            "carbon-limit",
            "warn",
            (f"the {part} is carbon", *_facts(stated), f"no figure of the {part} is on the sheet"),
            "Where parts meet the lowest of their makers' figures binds.",
            f"Read what the {part}'s maker allows and write both figures: "
            f"bike.fastener.{joint}.a and .b, each with its part.",
            (field, f"bike.fastener.{joint}"),
        )


def _joints(
    sheets: Sheets, known: dict[str, object]
) -> Iterator[tuple[str, tuple[Figure, ...], bool, Basis]]:
    """Name, figures, whether assembly paste holds it, and basis: front to back, then the rest."""
    defaults = {item.name: item for item in fasteners.applying(known)}
    own = sheets.bike.fastener
    for name in dict.fromkeys((*defaults, *own)):
        stated = own.get(name)
        if stated is not None and stated.verb == "leave":
            continue
        figures = _stated(sheets, name)
        default = defaults.get(name)
        if figures:
            yield name, figures, _paste(stated, default), "maker"
        elif default is not None and default.default_allowed(known) and default.high is not None:
            yield name, (_default_figure(default),), _paste(stated, default), "practice"


def _default_figure(default: DefaultFastener) -> Figure:
    assert default.high is not None
    if default.kind == "target":
        return _target(DEFAULT, default.high)
    return Figure(DEFAULT, _range_or_max(default.low), default.low, default.high)


def _stated(sheets: Sheets, name: str) -> tuple[Figure, ...]:
    """The figures that the sheet gives for a joint; an axle's may stand with the axle."""
    given = sheets.bike.fastener.get(name)
    entries: list[tuple[str, Figures]] = []
    if given is not None:
        entries = [("the sheet", given)]
        entries += [(f"the sheet, {key}", part) for key, part in given.parts.items()]
    found = tuple(
        figure for where, entry in entries if (figure := _figure(where, entry)) is not None
    )
    end = name.removesuffix("_axle")
    if found or end not in ("front", "rear") or end == name:
        return found
    torque = getattr(sheets.bike.axle, end).torque
    return () if torque is None else (_target(f"the {end} axle", torque.value),)


def _figure(where: str, entry: Figures) -> Figure | None:
    whose = f"the {entry.part}" if entry.part else where
    if entry.target is not None:
        return _target(whose, entry.target.value)
    if entry.max is None:
        return None
    low = None if entry.min is None else entry.min.value
    return Figure(whose, _range_or_max(low), low, entry.max.value)


def _target(whose: str, torque: float) -> Figure:
    return Figure(whose, "target", torque, torque)


def _range_or_max(low: float | None) -> Kind:
    return "max" if low is None else "range"


def _paste(stated: Fastener | None, default: DefaultFastener | None) -> bool:
    """Whether assembly paste lies between the parts."""
    if stated is not None and stated.compound is not None:
        return stated.compound == "paste"
    return default is not None and default.compound.startswith("paste")


def window(
    name: str,
    figures: Sequence[Figure],
    tools: Sequence[Tool] = (),
    *,
    basis: Basis = "maker",
    paste: bool = False,
    begin: float | None = None,
) -> tuple[TorqueWindow, tuple[Finding, ...]]:
    """The setting of joint `name` that every figure allows with one of the tools.

    Without tools a tool of the standard class is assumed; of several that reach it, one in date
    counts first, then one that leaves a setting, then the finest. Assembly paste lets a clamp
    hold at the lower end, so the setting goes there; it never goes below a minimum. `begin` is the
    share of its most [1] at which a clamp begins that is tightened only until it holds.

    >>> bar, stem = Figure("bar", "max", None, 5.0), Figure("stem", "range", 5.0, 6.0)
    >>> found, findings = window("faceplate", [bar, stem])
    >>> found.set, findings[0].code
    (4.7, 'torque-tool-empties-overlap')
    >>> window("grip", [Figure("grip", "max", None, 5.0)], begin=0.5)[0].said
    'grip: max 5 N·m; begin at 2.3 N·m, stop at what holds; 4.7 N·m, 6 % less for the tool, is ours'
    """
    whose = " and ".join(dict.fromkeys(figure.whose for figure in figures))
    lows = [figure.low for figure in figures if figure.low is not None]
    low, high = max(lows, default=None), min(figure.high for figure in figures)
    kind = _kind(figures, low)
    if low is not None and low > high + 1e-9:
        facts = "; ".join(_facts(figures))
        nothing = TorqueWindow(
            kind, None, None, None, whose, basis, needs_word=True, least=low, most=high, said=facts
        )
        return nothing, (_clash(name, figures),)
    options = [
        (tool, *_with_tool(figures, kind, low, high, tool, paste))
        for tool in (tools or (_standard_tool(high),))
    ]
    usable = [option for option in options if option[0].reaches(option[3])]
    if not usable:
        said = _unreached(low, high, tools)
        none = TorqueWindow(
            kind, low, high, None, whose, basis, needs_word=True, unreached=said,
            least=low, most=high, said=_owned(whose, basis, kind, low, high),
        )  # fmt: skip
        return none, (_out_of_reach(name, figures, said),)
    tool, bottom, top, setting, empty = min(
        usable, key=lambda o: (not o[0].in_date, o[4], o[0].spread)
    )
    wrench = tool.name if tools else ""
    begins = begin is not None and kind != "target" and not empty
    if begins and begin is not None:
        setting = _begin(begin, bottom, top, tool)
    found = TorqueWindow(
        kind, bottom, top, setting, whose, basis, needs_word=empty, wrench=wrench,
        least=low, most=high, begins=begins,
    )  # fmt: skip
    found = replace(found, said=_said(found, tool))
    return found, (_emptied(name, figures, tool, setting, low),) if empty else ()


def _begin(share: float, bottom: float | None, top: float, tool: Tool) -> float:
    """Where a clamp begins that is tightened only until it holds: its least, else a share."""
    if bottom is not None:
        return bottom
    return min(max(_down(share * top, tool.mark), _up(tool.low, tool.mark)), top)


def _owned(whose: str, basis: Basis, kind: Kind, least: float | None, most: float | None) -> str:
    """A figure and whose it is: a default is ours and no part's."""
    figure = "no figure" if most is None else Figure(whose, kind, least, most).text()
    return f"our default: {figure}" if basis == "practice" else f"{whose}: {figure}"


def _said(found: TorqueWindow, tool: Tool) -> str:
    """Whose figure a window is, where to begin, and what of it is ours for the tool."""
    said = [_owned(found.whose, found.basis, found.kind, found.least, found.most)]
    if found.begins:
        said.append(f"begin at {found.set:g} N·m, stop at what holds")
    lower = found.high is not None and found.most is not None and found.high < found.most - 1e-9
    share = f"{tool.spread * 100:g} %"
    if lower and found.low is None:
        said.append(f"{found.high:g} N·m, {share} less for the tool, is ours")
    elif lower:
        said.append(f"{_span(found.low, found.high)} N·m, {share} off for the tool, is ours")
    return "; ".join(said)


def _span(low: float | None, high: float | None) -> str:
    return f"{high:g}" if low == high else f"{low:g} to {high:g}"


def _kind(figures: Sequence[Figure], low: float | None) -> Kind:
    if any(figure.kind == "target" for figure in figures):
        return "target"
    return "max" if low is None else "range"


def _standard_tool(high: float) -> Tool:
    found = rules.tool_class(high)
    return Tool("a tool of the standard class", 0.01, found.up_to, found.mark)


def _with_tool(
    figures: Sequence[Figure],
    kind: Kind,
    low: float | None,
    high: float,
    tool: Tool,
    paste: bool,
) -> tuple[float | None, float, float, bool]:
    """Low mark, high mark, setting, and whether the tool's tolerance empties the overlap."""
    ceilings = [figure.high for figure in figures if figure.kind != "target"]
    floors = [f.low for f in figures if f.kind != "target" and f.low is not None]
    top = min(ceilings, default=math.inf) * (1 - tool.spread)
    bottom = max(floors, default=0.0) * (1 + tool.spread)
    if kind == "target":
        if high <= top + 1e-9:
            return high, high, high, high < bottom - 1e-9
        setting = _down(top, tool.mark)
        return setting, setting, setting, True
    if low is None:
        setting = _down(top, tool.mark)
        return None, setting, setting, False
    first, last = _up(bottom, tool.mark), _down(top, tool.mark)
    if first <= last + 1e-9:
        middle = first if paste else _down((first + last) / 2, tool.mark)
        return first, last, middle, False
    return last, last, last, True


def _down(torque: float, mark: float) -> float:
    return round(math.floor(torque / mark + 1e-9) * mark, 6)


def _up(torque: float, mark: float) -> float:
    return round(math.ceil(torque / mark - 1e-9) * mark, 6)


def _facts(figures: Sequence[Figure]) -> tuple[str, ...]:
    return tuple(f"{figure.whose}: {figure.text()}" for figure in figures)


def _fields(name: str) -> tuple[str, ...]:
    return (f"bike.fastener.{name}",)


def _clash(name: str, figures: Sequence[Figure]) -> Finding:
    return Finding(
        "torque-clash",
        "stop",
        _facts(figures),
        "Every part's torque figure holds; a minimum above a maximum leaves no setting.",
        f"Do not tighten {_words(name)}: ask the makers which figure holds for this pair, or "
        "fit a part whose figures overlap.",
        _fields(name),
    )


def _emptied(
    name: str, figures: Sequence[Figure], tool: Tool, setting: float, low: float | None
) -> Finding:
    under = low is not None and setting < low - 1e-9
    why = f"{tool.name} may be {tool.spread * 100:g} % off"
    below = f", below the least {low:g} N·m" if under else ""
    room = low is None or min(figure.high for figure in figures) > low + 1e-9
    closer = ", or use a tool that is certified closer" if room else ""
    return Finding(
        "torque-tool-empties-overlap",
        "stop" if under else "warn",
        (*_facts(figures), why),
        "The least maximum less the tool's tolerance is never passed (ISO 6789 gives the "
        "tolerance); a minimum that this leaves behind needs its maker's word.",
        f"Set {_words(name)} to {setting:g} N·m{below}: it passes its gate only with the maker's "
        f"word{closer}.",
        _fields(name),
    )


def _unreached(low: float | None, high: float, tools: Sequence[Tool]) -> str:
    """That no tool of the shop reaches a joint, and how far each one goes."""
    figure = f"{high:g} N·m" + (" or less" if low is None else "")
    if low is not None and low < high - 1e-9:
        figure = f"{low:g} to {high:g} N·m"
    scales = ", ".join(f"{tool.name} is marked {tool.low:g} to {tool.high:g} N·m" for tool in tools)
    return f"no kept tool reaches {figure}: {scales}"


def _out_of_reach(name: str, figures: Sequence[Figure], said: str) -> Finding:
    return Finding(
        "torque-tool-range",
        "stop",
        (*_facts(figures), said),
        "A torque tool is used only inside its marked scale (ISO 6789-1:2017).",
        f"Take a tool whose scale includes the setting of {_words(name)}, and record with the "
        "torque which one it was.",
        _fields(name),
    )


def _words(name: str) -> str:
    return "the " + name.replace("_", " ").replace("-", " ")
