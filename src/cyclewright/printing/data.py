"""What a paper needs to know: plain, already worded data, one dataclass a document.

Numbers that have an interval arrive as `Setting` objects and are rounded here and nowhere else,
so paper, page and command line show the same digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from cyclewright.setting import Setting
from cyclewright.units import System

CautionKind = Literal["stop", "check", "know"]
Role = Literal["", "compression", "rebound"]
How = Literal["set", "read", "before", "advised", "sums"]
HOW_WORDS: Mapping[How, str] = {
    "set": "set",
    "read": "read",
    "before": "set before",
    "advised": "advised, not set",
    "sums": "by the sums",
}
"""What stands beside a number on paper: only the first two say that it is so on the bike now."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution in plain words; its icon and its word say the kind, never colour alone."""

    kind: CautionKind
    text: str


@dataclass(frozen=True, slots=True)
class ShopFace:
    """Who hands over: the shop's name and how to reach it."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BikeFace:
    """Which bike this paper belongs to."""

    id: int
    name: str
    serial: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    """Short label and value pairs under the name, such as ("Fork", "150 mm air")."""


@dataclass(frozen=True, slots=True)
class RiderFace:
    """Who it was set up for; a stock bike has a stated mass and "rider not fitted"."""

    name: str
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SettingLine:
    """One setting on paper: what the sums say and, when it was set or read, what it is now."""

    setting: Setting
    done: float | None = None
    """What was set or read on the bike [SI]; None when it is only advised."""
    how: How = "set"
    role: Role = ""
    note: str = ""
    """Why it no longer stands, or has not been set."""

    @property
    def claim(self) -> How:
        """What the paper says of the number: without a value nothing is said to be set or read."""
        return self.how if self.done is not None or self.how == "sums" else "advised"


@dataclass(frozen=True, slots=True)
class SettingBlock:
    """A titled group of settings, such as Fit or Fork."""

    title: str
    lines: tuple[SettingLine, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class TorqueLine:
    """One joint: its window, whose figure that is, and what was recorded."""

    joint: str
    window: str
    """Worded window without its unit, such as `5 to 6`, `max 5` or `4.7`."""
    whose: str
    set: str = ""
    recorded: str = ""
    """What the record holds, worded; empty while it is open."""
    tool: str = ""
    compound: str = ""
    verb: str = "set"
    place: int = 0
    """Order from the front of the bike to its back."""
    worth: str = ""
    """What the setting presses, over the spread of friction, worded."""
    clamp: str = ""
    """What its clamp holds against what is asked of it, worded; empty where it is no clamp."""
    wrench: str = ""
    """The torque tool of the shop that it is set with."""
    beyond: bool = False
    """Whether no tool of the shop reaches it."""
    waits: str = "open"
    """What is said instead while nothing is recorded that holds."""


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One station's work: how many steps are done, by whom and when."""

    station: str
    done: str
    by: str
    when: str


@dataclass(frozen=True, slots=True)
class Recheck:
    """One booked or due visit."""

    when: str
    what: str
    name: str = "First re-check"


@dataclass(frozen=True, slots=True)
class HandOver:
    """The hand-over sheet: this rider's bike as it leaves the bench."""

    shop: ShopFace
    bike: BikeFace
    rider: RiderFace | None
    date: str
    drawing: str
    """The bike's drawing as SVG, to scale."""
    blocks: tuple[SettingBlock, ...]
    torques: tuple[TorqueLine, ...]
    work: tuple[WorkLine, ...]
    explained: tuple[str, ...]
    handed_over: tuple[str, ...]
    cautions: tuple[Caution, ...]
    rechecks: tuple[Recheck, ...]
    head: str
    """Hash of the record's head."""
    warning: str = ""
    """Why this sheet is a draft, before the bike is released; it stands across the top."""
    open_items: tuple[str, ...] = ()
    """Put off, overridden or still to be answered; an empty tuple prints `none`."""
    released_by: str = ""
    checked_by: str = ""
    signature: str = ""
    """The release's signature over the head, shortened for print; empty before release."""
    system: System = "trade"


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One step on the wall plan."""

    id: str
    do: str
    tool: str = ""
    torque: str = ""
    whose: str = ""
    compound: str = ""
    cautions: tuple[Caution, ...] = ()
    record: str = ""
    figures: tuple[str, ...] = ()
    """What it is set to or may read; of a round, each bolt with its figure."""
    minutes: float = 0.0
    safety: bool = False
    done: bool = False
    said: str = ""
    """Why it is not done, or has to be done again."""


@dataclass(frozen=True, slots=True)
class PlanCard:
    """One station card with its lines."""

    stage: str
    station: str
    lines: tuple[PlanLine, ...]

    @property
    def minutes(self) -> float:
        """Minutes of the whole card."""
        return sum(line.minutes for line in self.lines)


@dataclass(frozen=True, slots=True)
class WallPlan:
    """The build on paper: station cards in order, questions still open."""

    bike: BikeFace
    rider: str
    cards: tuple[PlanCard, ...]
    questions: tuple[tuple[str, str], ...] = ()
    """What to look up and why, by question."""
    date: str = ""
    system: System = "trade"


@dataclass(frozen=True, slots=True)
class TorqueCard:
    """Every fastener of one bike by tool, front to back."""

    bike: BikeFace
    torques: tuple[TorqueLine, ...]
    date: str = ""
    system: System = "trade"


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """What was set on a part, the sag it gave, when and by whom; in words."""

    part: str
    set: str
    read: str
    when: str
    by: str


@dataclass(frozen=True, slots=True)
class SettingCard:
    """The card for the pocket: 88 by 63 mm, front and back."""

    bike: BikeFace
    rider: str
    blocks: tuple[SettingBlock, ...]
    date: str = ""
    system: System = "trade"
    history: tuple[HistoryLine, ...] = ()
    """What was set and read so far, newest first, on a side of its own."""


@dataclass(frozen=True, slots=True)
class SagBand:
    """One strip to hold against a stanchion or shock, printed 1:1 [mm]."""

    name: str
    travel: float
    """Full travel or stroke [mm]."""
    target: float
    low: float
    high: float
    posture: str
    measure: str
    """How to hold it: ring to seal, or eye to eye."""
    edge: str = "seal"
    """What the strip's zero line is held to."""
    read: str = ""
    """What was read and still holds, worded, or that nothing was."""


@dataclass(frozen=True, slots=True)
class SagStrip:
    """Strips for one bike on one sheet, 1:1."""

    bike: BikeFace
    rider: str
    bands: tuple[SagBand, ...]


@dataclass(frozen=True, slots=True)
class Tag:
    """The tag on the bar: what was set and what is due, or that nobody may ride it."""

    bike: BikeFace
    rider: str
    blocks: tuple[SettingBlock, ...]
    hands: str
    due: tuple[Recheck, ...]
    head: str
    missing: tuple[str, ...] = field(default=())
    """What keeps the bike from being ridden; with any, the tag reads "do not ride"."""
    system: System = "trade"


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo on paper and what it shows."""

    content: bytes
    media: str
    caption: str


@dataclass(frozen=True, slots=True)
class DamageRow:
    """Damage as it was seen, and when."""

    where: str
    text: str
    when: str


@dataclass(frozen=True, slots=True)
class ClaimPart:
    """A part that is claimed for: missing or damaged, and what is promised for it."""

    part: str
    status: str
    note: str
    promised: str


@dataclass(frozen=True, slots=True)
class ClaimNote:
    """The claim for a carton, ready to be sent to the carrier or the seller."""

    shop: ShopFace
    bike: BikeFace
    date: str
    to: str
    parties: tuple[tuple[str, str], ...]
    """Sender, consignee and carrier by name and place; empty where it is written in by hand."""
    facts: tuple[tuple[str, str], ...]
    """Consignment, goods, value and days; empty where it is written in by hand."""
    slip: tuple[str, ...]
    """What was written on the carrier's slip."""
    damages: tuple[DamageRow, ...]
    parts: tuple[ClaimPart, ...]
    pictures: tuple[Picture, ...]
    term: str
    """Within which term notice is given, and whose term that is; empty where none is known."""
    sent: tuple[str, ...] = ()
    received_by: str = ""


@dataclass(frozen=True, slots=True)
class BrakeCard:
    """Which hand works which brake: as delivered, as wanted, and the way between."""

    bike: BikeFace
    delivered: str
    """`left` or `right`: the hand on the front brake; empty while nobody has looked."""
    wanted: str
    source: str
    change: bool | None
    route: str
    steps: tuple[str, ...]
    asks: tuple[str, ...]
    order: bool = False
    """Whether it is a rider's own order, which is signed and tagged."""
    rider: str = ""
    date: str = ""
    proved: str = ""
    """What was proved of it on the bike, worded, or that nothing was."""


@dataclass(frozen=True, slots=True)
class PositionMark:
    """One label that says where a part stood, to be stuck on before it is loosened."""

    part: str
    value: str
    how: str
    line: bool = False
    """Whether its edge is a line to be laid along the other part."""
    stands: How = "set"
    name: str = ""
    """Name of the setting."""


@dataclass(frozen=True, slots=True)
class PositionMarks:
    """Labels for a journey: every position to come back to."""

    bike: BikeFace
    rider: str
    marks: tuple[PositionMark, ...]
    date: str = ""


Paper = (
    HandOver
    | WallPlan
    | TorqueCard
    | SettingCard
    | SagStrip
    | Tag
    | ClaimNote
    | BrakeCard
    | PositionMarks
)
"""What any document says."""
