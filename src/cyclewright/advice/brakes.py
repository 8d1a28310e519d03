"""Which hand works which brake, who says so, and the cheapest safe way to change it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from cyclewright.knowledge import countries
from cyclewright.knowledge.derived import derived as derived_facts
from cyclewright.setting import Basis, Finding, Question
from cyclewright.sheets.sheets import facts

if TYPE_CHECKING:
    from cyclewright.sheets.bike import Brake
    from cyclewright.sheets.sheets import Sheets

Route = Literal[
    "none", "cables", "whole-levers", "sealed-couplings", "open-hoses", "other-levers", "ask"
]

ROUTE_WORDS: dict[Route, str] = {
    "none": "leave the brakes on their levers",
    "cables": "hook each inner cable into the other lever",
    "whole-levers": "move each lever with its hose to the other side of the bar, nothing opened",
    "sealed-couplings": "part the hoses at their sealed couplings and join them crosswise",
    "open-hoses": "open both hoses at the levers, cross them, and bleed both brakes",
    "other-levers": "fit levers made for the other hand",
    "ask": "look up what decides the way first",
}
HAND_WORDS = {"front-left": "left", "front-right": "right"}


@dataclass(frozen=True, slots=True)
class Hands:
    """The hands as delivered and as wanted, and what it takes to get there.

    `change_needed` is None while either is unknown; `questions` then says what to look up.
    """

    delivered: str | None
    wanted: str | None
    basis: Basis | None
    source: str
    change_needed: bool | None
    route: Route
    consequences: tuple[str, ...]
    questions: tuple[Question, ...] = ()
    refused: tuple[Finding, ...] = ()
    """What the sheets say of the hands and is not followed."""

    def findings(self) -> tuple[Finding, ...]:
        """The clash of the delivered hands with the wanted ones, and words that are refused."""
        return (*self.refused, *self._clash())

    def _clash(self) -> tuple[Finding, ...]:
        if not self.change_needed:
            return ()
        delivered, wanted = HAND_WORDS[self.delivered or ""], HAND_WORDS[self.wanted or ""]
        field = "rider.hands_wish" if self.basis == "rider" else "place.country"
        return (
            Finding(
                "brake-hands",
                "stop",
                (
                    f"as delivered: the {delivered} hand works the front brake",
                    f"wanted: the {wanted} hand works the front brake ({self.source})",
                ),
                "The hands follow the country's row or the rider's signed order.",
                " ".join(
                    (
                        f"Before grips and final clamps, {ROUTE_WORDS[self.route]}.",
                        *self.consequences,
                    )
                ),
                ("bike.hands_delivered", field),
            ),
        )


def hands(sheets: Sheets) -> Hands:
    """Delivered and wanted hands, and the cheapest safe route between them."""
    delivered = sheets.bike.hands_delivered
    wanted, basis, source, because = _wanted(sheets)
    refused = (*_refused(sheets, wanted), *_overruled(sheets))
    questions: list[Question] = []
    if delivered is None:
        questions.append(_ask_delivered())
    if wanted is None:
        questions.append(_ask_wanted(sheets))
    if questions:
        asked = tuple(questions)
        return Hands(delivered, wanted, basis, source, None, "ask", because, asked, refused)
    if delivered == wanted:
        return Hands(delivered, wanted, basis, source, False, "none", because, (), refused)
    route, costs, asked = _route(sheets.bike.brake.front, sheets.bike.brake.rear)
    said = (*because, *costs)
    return Hands(delivered, wanted, basis, source, True, route, said, asked, refused)


def derived(sheets: Sheets) -> dict[str, object]:
    """What follows from the sheets, the hands among it, as facts; the unknown has no key."""
    found = hands(sheets)
    about = {
        "derived.brake_change_needed": found.change_needed,
        "derived.brake_route": None if found.route == "ask" else found.route,
        "derived.hoses_opened": _opened(sheets, found),
        "derived.brake_hands": found.wanted,
        "derived.brake_order": found.basis == "rider",
    }
    known = {name: value for name, value in about.items() if value is not None}
    return derived_facts(facts(sheets)) | known


def _opened(sheets: Sheets, found: Hands) -> bool | None:
    """Whether the way to the wanted hands opens a hose; None while it is not known."""
    if found.change_needed is None or found.route == "ask":
        return None
    ends = (sheets.bike.brake.front, sheets.bike.brake.rear)
    oily = any(end.kind == "hydraulic" and end.coupling != "sealed" for end in ends)
    return found.change_needed and found.route in ("open-hoses", "other-levers") and oily


def _wanted(sheets: Sheets) -> tuple[str | None, Basis | None, str, tuple[str, ...]]:
    """The wanted hands, on whose word, and what that word costs.

    The country's row decides, then the importer's word for a country without one; a rider's own
    order goes before both, but never on a hire bike.
    """
    hand, basis, source = _custom(sheets)
    wish = _wish(sheets)
    if wish is not None and wish != hand and not sheets.bike.hire:
        return wish, "rider", "the rider's own order", (_ORDER,)
    return hand, basis, source, ()


def _custom(sheets: Sheets) -> tuple[str | None, Basis | None, str]:
    """The hands of the country, and on whose word; None where nobody has said."""
    country, stated = sheets.place.country, sheets.place.hands
    row = countries.front_hand(country) if country else None
    if row is not None:
        return row.hands, row.basis, f"{country}: {row.words}"
    if stated is not None:
        return stated, "practice", f"{country or 'the country'}: the importer's word on the sheet"
    return None, None, ""


def _wish(sheets: Sheets) -> str | None:
    return None if sheets.rider is None else sheets.rider.hands_wish


def _refused(sheets: Sheets, wanted: str | None) -> Iterator[Finding]:
    """What is told when a rider wishes other hands on a hire bike."""
    wish = _wish(sheets)
    if not sheets.bike.hire or wish is None or wish == wanted:
        return
    custom = "not known yet" if wanted is None else f"the {HAND_WORDS[wanted]} hand"
    yield Finding(
        "hire-hands",
        "warn",
        (
            "the bike is hired out",
            f"the rider wishes the {HAND_WORDS[wish]} hand on the front brake",
            f"the country's: {custom}",
        ),
        "A hire bike is never changed to one rider's hands: the next rider grabs by habit.",
        "Show the rider which lever works which brake, and let them try both before they ride.",
        ("bike.hire", "rider.hands_wish"),
    )


def _overruled(sheets: Sheets) -> Iterator[Finding]:
    """What is told when the place's own word is not its country's."""
    country, stated = sheets.place.country, sheets.place.hands
    row = countries.front_hand(country) if country else None
    if row is None or stated in (None, row.hands):
        return
    yield Finding(
        "place-hands",
        "warn",
        (
            f"{country}: the {HAND_WORDS[row.hands]} hand, {row.words}",
            f"the place's sheet says the {HAND_WORDS[stated]} hand",
        ),
        "Where a country's custom is on file it goes before the place's own word.",
        "Leave it off the place's sheet; a rider's own signed order is rider.hands_wish.",
        ("place.country", "place.hands"),
    )


_ORDER = "Keep the rider's signed order and put a tag on the bar; a hire bike is never swapped."


def _route(front: Brake, rear: Brake) -> tuple[Route, tuple[str, ...], tuple[Question, ...]]:
    """The cheapest route that is safe with these brakes, what it costs, what it hangs on."""
    ends = (("front", front), ("rear", rear))
    if unknown := [end for end, brake in ends if brake.kind is None]:
        return "ask", (), tuple(_ask_kind(end) for end in unknown)
    hydraulic = [(end, brake) for end, brake in ends if brake.kind == "hydraulic"]
    if not hydraulic:
        return "cables", _CABLES, ()
    if unknown := [end for end, brake in hydraulic if brake.lever is None]:
        return "ask", (), tuple(_ask_lever(end) for end in unknown)
    if all(brake.lever == "two-way" for _, brake in hydraulic):
        return "whole-levers", (*_WHOLE, *_inside(hydraulic)), ()
    if len(hydraulic) == 1:
        return "other-levers", _OTHER, ()
    return _crossed_hoses(front, rear)


def _crossed_hoses(
    front: Brake, rear: Brake
) -> tuple[Route, tuple[str, ...], tuple[Question, ...]]:
    """Levers made for one hand stay put, so the hoses change over."""
    ends = (("front", front), ("rear", rear))
    if unknown := [end for end, brake in ends if brake.fluid is None]:
        return "ask", (), tuple(_ask_fluid(end) for end in unknown)
    if front.fluid != rear.fluid:
        differ = f"The front brake holds {front.fluid}, the rear {rear.fluid}: they never meet."
        return "other-levers", (differ, *_OTHER), ()
    if unknown := [end for end, brake in ends if brake.coupling is None]:
        return "ask", (), tuple(_ask_coupling(end) for end in unknown)
    if front.coupling == rear.coupling == "sealed":
        return "sealed-couplings", (*_SEALED, *_inside(ends)), ()
    kit = f"Bleed both with the kit for {front.fluid} and no other."
    return "open-hoses", (*_OPEN, kit, *_inside(ends)), ()


_SLACK = "Check the hoses for slack at full lock and full travel."
_CABLES = ("Check the housings for slack at full lock, and the cables again after the first ride.",)
_WHOLE = (
    "Check that the bleed ports may stand that way and that shared clamps fit.",
    _SLACK,
)
_SEALED = (
    "By the maker's instruction only; hold each lever hard for 30 s after: no sink, no leak.",
    _SLACK,
)
_OPEN = (
    "A new olive and insert on each hose, pads out and the block in before it is opened.",
    _SLACK,
)
_OTHER = ("The levers have to come from the maker before the bike can be finished.",)


def _inside(ends: Iterable[tuple[str, Brake]]) -> tuple[str, ...]:
    """What hoses that run inside the frame add."""
    routes = {brake.hose_route for _, brake in ends}
    said = []
    if "inside" in routes:
        said.append("A hose laid inside the frame may kink at its entry: if it does, stop and ask.")
    if "headset" in routes:
        said.append(
            "A hose through the headset needs its cover off, never a turn round the steerer: lay "
            "it anew before the bearings are preloaded."
        )
    return tuple(said)


def _ask_delivered() -> Question:
    return Question(
        "bike.hands_delivered",
        "Pull each lever: which hand closes the front brake?",
        "The hands as delivered decide whether the brakes have to change over.",
        ("front-left", "front-right"),
    )


def _ask_wanted(sheets: Sheets) -> Question:
    country = sheets.place.country
    if country is None:
        return Question(
            "place.country",
            "In which country will the bike be ridden?",
            "The country decides which hand works the front brake.",
        )
    rider = sheets.rider is not None and not sheets.bike.hire
    return Question(
        "rider.hands_wish" if rider else "place.hands",
        f"Which hand works the front brake in {country}? "
        f"Ask {countries.whom_to_ask(country, 'hand')}{', or the rider.' if rider else '.'}",
        f"Nothing is on file for {country}, and nobody may guess it.",
        ("front-left", "front-right"),
    )


def _ask_kind(end: str) -> Question:
    return Question(
        f"bike.brake.{end}.kind",
        f"Is the {end} brake hydraulic or worked by a cable?",
        "It decides how the brakes change hands.",
        ("hydraulic", "cable"),
    )


def _ask_lever(end: str) -> Question:
    return Question(
        f"bike.brake.{end}.lever",
        f"May the {end} brake's lever be fitted on either side of the bar?",
        "It decides whether a hose has to be parted to change the hands.",
        ("two-way", "one-way"),
    )


def _ask_fluid(end: str) -> Question:
    return Question(
        f"bike.brake.{end}.fluid",
        f"Which fluid is marked on the {end} brake's lever?",
        "Hoses may change over only between brakes with the same fluid.",
    )


def _ask_coupling(end: str) -> Question:
    return Question(
        f"bike.brake.{end}.coupling",
        f"Does the {end} hose have the maker's sealed coupling, or is it open when parted?",
        "A hose that was opened has to be bled.",
        ("open", "sealed"),
    )
