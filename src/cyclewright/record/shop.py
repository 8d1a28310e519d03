"""The fold of the shop's own stream: its people, its recalls, its torque tools."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from cyclewright.record.events import Event

Role = Literal["mechanic", "checker", "owner"]
ROLES: tuple[Role, ...] = ("mechanic", "checker", "owner")


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody of the shop; the name and the PIN's hash are attachments kept apart."""

    id: int
    role: Role
    name: str
    """Address of the name, empty once it is erased."""
    pin: str = ""
    """Address of the PIN's hash, empty where there is none."""
    pin_number: int = 0

    @property
    def erased(self) -> bool:
        """Whether the name was erased: nobody records under this number any more."""
        return not self.name


@dataclass(frozen=True, slots=True)
class Recall:
    """Parts that must be looked at before anybody rides: which, why, and what to do."""

    id: int
    part: str
    maker: str
    model: str
    batches: tuple[str, ...]
    serials: tuple[str, ...]
    why: str
    do: str
    source: str
    opened: str
    by: int | None
    lifted: str = ""
    """Why the whole recall was lifted, empty while it stands."""


@dataclass(frozen=True, slots=True)
class KeptTool:
    """A torque tool: the ends and step of its marked scale [N·m], its certificate, its arm [m]."""

    id: int
    name: str
    low: float
    high: float
    mark: float
    tolerance: float | None
    """Share of the setting by its certificate; None takes its class by ISO 6789."""
    setting: bool
    """A setting tool that clicks or slips, or an indicating one that shows."""
    arm: float | None
    """From its drive to the middle of the hand [m]: a crowfoot needs it."""
    calibrated: str
    """Day of its last calibration, empty where none is known."""
    days: int
    """Days for which a calibration holds."""
    number: int
    retired: str = ""


@dataclass(slots=True)
class ShopState:
    """What is known of the shop after its event `number`."""

    number: int = 0
    members: dict[int, Member] = field(default_factory=dict)
    recalls: dict[int, Recall] = field(default_factory=dict)
    tools: dict[int, KeptTool] = field(default_factory=dict)
    erased: frozenset[str] = frozenset()
    """Addresses of attachments that were erased on purpose."""

    def open_recalls(self) -> tuple[Recall, ...]:
        """Recalls that stand."""
        return tuple(recall for recall in self.recalls.values() if not recall.lifted)


def fold_shop(events: Iterable[Event]) -> ShopState:
    """The shop's state; kinds that this version does not know are passed over."""
    state = ShopState()
    for event in events:
        state.number = event.number
        if event.known and event.kind in _APPLIED:
            _APPLIED[event.kind](state, event)
    return state


def _added(state: ShopState, event: Event) -> None:
    data = event.data
    member = Member(data["person"], data["role"], data["name"]["attachment"])
    state.members[member.id] = member


def _role(state: ShopState, event: Event) -> None:
    _change(state, event, role=event.data["role"])


def _pin(state: ShopState, event: Event) -> None:
    address = (event.data.get("pin") or {}).get("attachment", "")
    _change(state, event, pin=address, pin_number=event.number)


def _change(state: ShopState, event: Event, **changes: Any) -> None:
    member = state.members.get(event.data["person"])
    if member is not None:
        state.members[member.id] = replace(member, **changes)


def _erased(state: ShopState, event: Event) -> None:
    state.erased |= frozenset(event.data["addresses"])
    for member in list(state.members.values()):
        if member.name in state.erased:
            state.members[member.id] = replace(member, name="", pin="", role="mechanic")


def _recalled(state: ShopState, event: Event) -> None:
    data: Mapping[str, Any] = event.data
    state.recalls[data["recall"]] = Recall(
        data["recall"],
        data["part"],
        data["maker"],
        data["model"],
        tuple(data["batches"]),
        tuple(data["serials"]),
        data["why"],
        data["do"],
        data["source"],
        event.server_time,
        event.by,
    )


def _lifted(state: ShopState, event: Event) -> None:
    recall = state.recalls.get(event.data["recall"])
    if recall is not None:
        state.recalls[recall.id] = replace(recall, lifted=event.data["reason"])


def _tool(state: ShopState, event: Event) -> None:
    data = event.data
    state.tools[data["tool"]] = KeptTool(
        data["tool"],
        data["name"],
        data["low"],
        data["high"],
        data["mark"],
        data["tolerance"],
        data["setting"],
        data["arm"],
        data["calibrated"],
        data["days"],
        event.number,
    )


def _retired(state: ShopState, event: Event) -> None:
    tool = state.tools.get(event.data["tool"])
    if tool is not None:
        state.tools[tool.id] = replace(tool, retired=event.data["reason"])


_APPLIED: dict[str, Callable[[ShopState, Event], None]] = {
    "person-added": _added,
    "role-given": _role,
    "pin-set": _pin,
    "erased": _erased,
    "recall-opened": _recalled,
    "recall-lifted": _lifted,
    "tool-kept": _tool,
    "tool-retired": _retired,
}
