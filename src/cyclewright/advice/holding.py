"""What a torque is worth: the preload it makes over the spread of friction, and what clamps hold.

At one torque the friction decides the preload, and a lubricated screw spreads less than a dry
one. A clamp's moment follows from all its screws and the friction on the tube; beside it stands
what the standard's type test puts on a mountain bike's bar and stem. These are figures to read a
torque by, never figures to tighten to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.advice import brakes
from cyclewright.errors import InputError
from cyclewright.knowledge import fasteners, rules
from cyclewright.setting import Finding
from cyclewright.sheets.sheets import facts

if TYPE_CHECKING:
    from cyclewright.advice.torque import TorqueWindow
    from cyclewright.knowledge.fasteners import Fastener as Joint
    from cyclewright.sheets.bike import Fastener
    from cyclewright.sheets.sheets import Sheets

DRY = ("dry",)
_COUNT = {"faceplate": 4, "stem_pinch": 2, "seat_collar": 1}
_HEADS = ("socket", "hex")


@dataclass(frozen=True, slots=True)
class Clamp:
    """The turning moment that a clamp holds [N·m], and what is asked of it by whom."""

    low: float
    high: float
    asked: float
    source: str

    @property
    def sure(self) -> bool:
        """Whether it holds what is asked even at its worst friction and preload."""
        return self.low >= self.asked


@dataclass(frozen=True, slots=True)
class Holding:
    """Preload of one screw at its setting [N], the friction it spreads over, and its clamp."""

    torque: float
    preload_low: float
    preload_high: float
    friction_low: float
    friction_high: float
    screws: int
    head: str
    assumed: tuple[str, ...]
    """What was taken as usual, in words, because the sheet does not say."""
    clamp: Clamp | None = None

    def to_json(self) -> dict[str, Any]:
        """The figures as plain data."""
        return asdict(self)


def holdings(sheets: Sheets, windows: Mapping[str, TorqueWindow]) -> dict[str, Holding]:
    """What each joint's setting is worth, where its thread is known and a screw makes it."""
    known = facts(sheets) | brakes.derived(sheets)
    joints = {item.name: item for item in fasteners.applying(known)}
    found = {}
    for name, window in windows.items():
        stated, joint = sheets.bike.fastener.get(name), joints.get(name)
        if window.set is None:
            continue
        if (made := _holding(sheets, name, window.set, stated, joint)) is not None:
            found[name] = made
    return found


def findings(held: Mapping[str, Holding]) -> tuple[Finding, ...]:
    """Clamps that cannot hold what is asked of them even at their best."""
    return tuple(
        Finding(
            "clamp-holds-less",
            "stop",
            (
                f"{_words(name)} at {item.torque:g} N·m: holds {item.clamp.low:.0f} to "
                f"{item.clamp.high:.0f} N·m about its tube",
                f"asked of it: {item.clamp.asked:g} N·m ({item.clamp.source})",
            ),
            "A clamp turns when the rider puts more on the bar than its screws press out of it.",
            f"Read thread, number of screws and figure of {_words(name)} again, and ask its maker.",
            (f"bike.fastener.{name}",),
        )
        for name, item in held.items()
        if item.clamp is not None and item.clamp.high < item.clamp.asked
    )


def _holding(
    sheets: Sheets, name: str, torque: float, stated: Fastener | None, joint: Joint | None
) -> Holding | None:
    from cyclewright.mechanics import bolt

    written = (stated.thread if stated else None) or (joint.thread if joint else "")
    head = (stated.head if stated else None) or "socket"
    if not written.upper().startswith("M") or head not in _HEADS:
        return None
    assumed = []
    if stated is None or stated.thread is None:
        assumed.append(f"{written} thread")
    if stated is None or stated.head is None:
        assumed.append("socket head")
    low, high = _friction(stated, joint)
    try:
        thread = bolt.thread(written)
        least = float(bolt.preload(thread, torque, high, high, head))
        most = float(bolt.preload(thread, torque, low, low, head))
    except InputError:
        return None  # a size without a tabulated head: no preload can be said
    screws = (stated.count if stated else None) or _COUNT.get(name, 1)
    if (stated is None or stated.count is None) and name in _COUNT:
        assumed.append(f"{screws} screw" + "s" * (screws > 1))
    clamp = _clamp(sheets, name, least * screws, most * screws, assumed)
    return Holding(torque, least, most, low, high, screws, head, tuple(assumed), clamp)


def _friction(stated: Fastener | None, joint: Joint | None) -> tuple[float, float]:
    compound = stated.compound if stated is not None and stated.compound is not None else None
    usual = joint.compound if joint is not None else "grease"
    kind: Literal["dry", "lubricated"] = "dry" if (compound or usual) in DRY else "lubricated"
    return rules.rule(f"friction_{kind}_low").value, rules.rule(f"friction_{kind}_high").value


def _clamp(
    sheets: Sheets, name: str, least: float, most: float, assumed: list[str]
) -> Clamp | None:
    """The clamp that these screws close [N of tension, worst and best], if it is one of ours."""
    from cyclewright.mechanics import clamp

    cockpit, fork = sheets.bike.cockpit, sheets.bike.fork
    slick, rough = (rules.rule(f"friction_clamp_{end}").value for end in ("low", "high"))
    if name == "faceplate" and cockpit.bar_diameter is not None:
        tube, asked, holds = cockpit.bar_diameter.value, "bar_moment", clamp.two_piece
    elif name == "stem_pinch":
        usual = rules.rule("steerer_diameter").value
        if fork.steerer_diameter is None:
            assumed.append(f"steerer {usual * 1000:g} mm")
        tube = usual if fork.steerer_diameter is None else fork.steerer_diameter.value
        asked, holds = "steerer_moment", clamp.slotted
    else:
        return None
    wanted = rules.rule(asked)
    low, high = holds(least, tube, slick)[0], holds(most, tube, rough)[1]
    return Clamp(float(low), float(high), wanted.value, wanted.source)


def _words(name: str) -> str:
    return "the " + name.replace("_", " ")
