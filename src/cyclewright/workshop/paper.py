"""Paper: the drawing, and every document that a bike's record makes.

Settings, torques and names are joined from the sums and the record in `printed`; how they look
is the business of `printing`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.errors import InputError, Problem, input_error
from cyclewright.units import System
from cyclewright.units.told import throughout
from cyclewright.workshop import as_set, printed
from cyclewright.workshop.printed import Printed

if TYPE_CHECKING:
    from cyclewright.mechanics.linkage import Linkage
    from cyclewright.printing.bicycle import Details
    from cyclewright.printing.data import (
        BrakeCard,
        ClaimNote,
        HandOver,
        Paper,
        Picture,
        PlanLine,
        PositionMarks,
        SagStrip,
        SettingCard,
        ShopFace,
        Tag,
        TorqueCard,
        WallPlan,
    )
    from cyclewright.printing.drawing import Labels
    from cyclewright.printing.scene import Layer as Layer
    from cyclewright.record.plan import PlannedStep
    from cyclewright.record.state import StepState
    from cyclewright.setting import Setting
    from cyclewright.sheets.sheets import Sheets
    from cyclewright.workshop.answers import Missing
    from cyclewright.workshop.carton import CartonAnswer, PartLine
    from cyclewright.workshop.shop import Shop

Posture = Literal["seated", "standing"]
LETTERHEAD = "letterhead.toml"
"""File in the data folder with the shop's `name` and `lines`, printed on papers for riders."""
VIEWS: Mapping[str, tuple[Layer, ...]] = {
    "balance": ("rider", "loads", "sag"),
    "angles": ("rider", "angles"),
    "lengths": ("rider", "lengths", "insertion"),
    "levers": ("rider", "levers", "sweep"),
    "all": ("rider", "angles", "loads", "sag", "lengths", "levers", "insertion", "sweep"),
}
"""Layers that are looked at together, by what they tell of."""
_HANDED: tuple[Layer, ...] = ("rider", "angles", "loads", "lengths", "levers", "insertion")
"""What a rider's drawing shows: sag is told once, beside its posture, where it was read."""
_ON_CARD = {"saddle_height", "saddle_setback", "saddle_tilt", "spacers_under", "lever_angle"}


def draw(
    sheets: Sheets,
    *,
    posture: Posture = "seated",
    before: Sheets | None = None,
    show: Sequence[Layer] | None = None,
    labels: Labels = "page",
    style: bool = False,
    ident: str = "bike",
) -> str:
    """The drawing of these sheets as SVG, everything set as advised, to scale.

    `before` stands behind it as a dashed outline; `style` embeds the stylesheet, for a file.
    """
    from cyclewright.advice.advise import advise
    from cyclewright.knowledge.defaults import fill
    from cyclewright.printing.drawing import bike_svg
    from cyclewright.printing.scene import USUAL
    from cyclewright.workshop import advising

    posture = _posture(posture)
    advice = advise(fill(sheets))
    return bike_svg(
        advice.outcome,
        posture,
        USUAL if show is None else show,
        None if before is None else advising.solution(before),
        title=_title(sheets),
        labels=labels,
        details=_details(sheets, advice.settings),
        style=style,
        ident=ident,
    )


def draw_bike(
    shop: Shop,
    bike: int,
    *,
    posture: Posture = "seated",
    changes: Sequence[str] = (),
    made: Mapping[str, str] | None = None,
    show: Sequence[Layer] | None = None,
    labels: Labels = "page",
    style: bool = False,
    ident: str = "bike",
) -> str:
    """The drawing of a bike on record as it stands.

    With changes, or settings made by hand, what it was stands behind.
    """
    from cyclewright.printing.drawing import bike_svg
    from cyclewright.printing.scene import USUAL
    from cyclewright.workshop import advising

    posture = _posture(posture)
    sheets = shop.sheets(shop.state(bike))
    now = advising.bike_solution(shop, bike)
    tried = bool(changes or made)
    after = advising.bike_solution(shop, bike, changes, made) if tried else now
    if made:
        advice = advising.what_if(shop, bike, made, changes)
    else:
        advice = advising.advise_bike(shop, bike, changes)
    return bike_svg(
        after,
        posture,
        USUAL if show is None else show,
        now if tried else None,
        title=_title(sheets),
        labels=labels,
        details=_details(sheets, advice.settings),
        style=style,
        ident=ident,
    )


def layers(names: Sequence[str]) -> tuple[Layer, ...] | None:
    """The layers of these views, or of layers by name; None for the usual ones."""
    from cyclewright.printing.scene import LAYERS

    known: dict[str, tuple[Layer, ...]] = {layer: (layer,) for layer in LAYERS}
    known |= VIEWS
    wrong = [name for name in names if name not in known]
    if wrong:
        do = f"use any of: {', '.join(dict.fromkeys((*VIEWS, *LAYERS)))}"
        raise InputError([Problem("no-such-layer", "show", do, value=name) for name in wrong])
    chosen = {layer for name in names for layer in known[name]}
    return tuple(layer for layer in LAYERS if layer in chosen) or None


def print_document(shop: Shop, what: str, bike: int, system: System = "trade") -> bytes:
    """One document of a bike as PDF; `what` is one of `DOCUMENTS`."""
    from cyclewright.printing import documents

    if what not in DOCUMENTS:
        raise input_error(
            "no-such-paper", "what", f"print one of: {', '.join(DOCUMENTS)}", value=what
        )
    return documents.write(contents(shop, what, bike, system))


def contents(shop: Shop, what: str, bike: int, system: System = "trade") -> Paper:
    """What one document of a bike says, before it is set in type."""
    return throughout(DOCUMENTS[what](Printed(shop, bike, system)), system)


def _hand_over(bike: Printed) -> HandOver:
    from cyclewright.printing.data import HandOver, RiderFace

    released = bike.seen.released or {}
    fitted = bike.sheets.rider is not None
    rider: RiderFace | None = RiderFace(bike.seen.rider) if fitted else None
    signature = (released.get("signature") or {}).get("signature", "")
    return HandOver(
        shop=letterhead(bike.shop),
        bike=bike.face(),
        rider=rider,
        date=bike.date,
        drawing=draw_bike(bike.shop, bike.number, show=_HANDED, labels="print", style=True),
        blocks=bike.blocks(),
        torques=tuple(printed.torques(bike)),
        work=tuple(printed.work(bike.seen)),
        explained=tuple(printed.explained(bike)),
        handed_over=(),
        cautions=tuple(printed.cautions(bike.filled)),
        rechecks=tuple(printed.rechecks(bike)),
        head=bike.seen.head,
        warning=printed.warning(bike.seen),
        open_items=tuple(printed.open_items(bike)),
        released_by=str(released.get("by") or ""),
        checked_by=str(released.get("second") or ""),
        signature=f"{signature[:24]}…" if signature else "",
        system=bike.system,
    )


def _plan(bike: Printed) -> WallPlan:
    from cyclewright.printing.data import PlanCard, WallPlan
    from cyclewright.workshop.figures import advised_for, figures

    beside = figures(bike.plan, advised_for(bike.shop, bike.number, bike.system), bike.system)
    cards = tuple(
        PlanCard(
            card.stage,
            printed.capital(card.station),
            tuple(
                _plan_line(step, bike.state.step(step.id), beside.get(step.id, ()), bike.system)
                for steps in card.lines
                for step in steps
            ),
        )
        for card in bike.plan.cards()
    )
    questions = tuple((item.ask, item.why) for item in bike.plan.questions)
    planned = bike.state.plan
    date = "" if planned is None else printed.day(planned.at)
    return WallPlan(bike.face(), bike.rider, cards, questions, date, bike.system)


def _plan_line(
    step: PlannedStep, held: StepState, figures: tuple[str, ...], system: System
) -> PlanLine:
    from cyclewright.printing.data import PlanLine

    done = held.status == "done"
    return PlanLine(
        id=step.id,
        do=step.do,
        tool=step.tool,
        torque=printed.wall_torque(step.torque, system),
        whose="" if step.torque is None else printed.whose(step.torque),
        compound=step.compound,
        cautions=tuple(printed.caution(item.kind, item.text) for item in step.cautions),
        record=printed.asked(step),
        figures=figures,
        minutes=step.minutes,
        safety=bool(step.safety),
        done=done,
        said="" if done else printed.waiting(held),
    )


def _torque_card(bike: Printed) -> TorqueCard:
    from cyclewright.printing.data import TorqueCard

    return TorqueCard(bike.face(), tuple(printed.torques(bike)), bike.date, bike.system)


def _setting_card(bike: Printed) -> SettingCard:
    from cyclewright.printing.data import SettingCard

    blocks = bike.blocks(lambda name: printed.by_hand(name) or name in _ON_CARD)
    past = tuple(printed.history(bike))
    card = SettingCard(bike.face(), bike.rider, blocks, bike.date, bike.system, past)
    return card


def _sag_strip(bike: Printed) -> SagStrip:
    from cyclewright.printing.data import SagStrip

    bands = tuple(printed.bands(bike))
    if not bands:
        raise input_error(
            "no-sag", "what", "this bike has neither fork travel nor a shock: there is no sag"
        )
    return SagStrip(bike.face(), bike.rider, bands)


def _tag(bike: Printed) -> Tag:
    from cyclewright.printing.data import Tag

    called = {step.id: printed.words(step.id) for step in bike.seen.steps}

    def waits(item: Missing) -> bool:
        return item.item not in ("recall", "findings") and not item.why.startswith("problem")

    # What somebody found wrong stands before all that was only not done yet.
    lacking = _once(
        f"{printed.capital(printed.words(item.item))}: {_named(as_set.plain(item.why), called)}"
        for item in sorted(bike.seen.gates["ride"], key=waits)
    )
    if not lacking and "ride" not in bike.seen.passed:
        lacking = ["Ride gate: everything is there, it has not been passed yet"]
    if not lacking and bike.seen.was_released and bike.seen.released is None:
        lacking = [printed.capital(as_set.plain(bike.seen.lapsed))]
    hand = printed.front_brake(bike)
    return Tag(
        bike=bike.face(),
        rider=bike.rider,
        blocks=() if lacking else bike.blocks(printed.by_hand),
        hands=f"Front brake: {hand}" if hand else "",
        due=tuple(printed.rechecks(bike)),
        head=bike.seen.head,
        missing=tuple(lacking),
        system=bike.system,
    )


def _named(why: str, called: Mapping[str, str]) -> str:
    """What a gate says with the steps that it names in words; what is unknown as a question."""
    why = why.rpartition(" is not known: ")[2]
    for name, words in called.items():
        why = why.replace(f"{name} (", f"{words} (")
    return why


def _once(lines: Iterable[str]) -> list[str]:
    """Each line once, with how often it was said."""
    counts: dict[str, int] = {}
    for line in lines:
        counts[line] = counts.get(line, 0) + 1
    return [f"{line} ({n} steps)" if n > 1 else line for line, n in counts.items()]


def _claim(bike: Printed) -> ClaimNote:
    from cyclewright.printing.data import ClaimNote, ClaimPart, DamageRow
    from cyclewright.workshop.acts import day_of
    from cyclewright.workshop.carton import claim

    # The record's own day, so that the same record makes the same paper.
    box = claim(bike.shop, bike.number, day_of(bike.state.updated))
    shop = letterhead(bike.shop)
    to = next((item["to"] for item in reversed(box.claims) if item["to"]), box.carrier)
    facts = (
        ("Consignment number", box.consignment),
        ("Delivered", printed.day(box.arrived)),
        ("Carriage", printed.words(box.carriage)),
        ("Goods", f"one bicycle, {bike.seen.name}" + _serial(box.serial)),
        ("Value of the goods", box.value),
        ("Our reference", f"bike {bike.number}"),
    )
    parties = (
        ("Sender", box.sender),
        ("Consignee", ", ".join((shop.name, *shop.lines)).strip(", ")),
        ("Carrier", to),
    )
    sent = tuple(
        " ".join(
            part
            for part in (
                f"Sent {printed.day(item['date'])}",
                f"to {item['to']}" if item["to"] else "",
                f"({item['reference']})" if item["reference"] else "",
            )
            if part
        )
        for item in box.claims
    )
    return ClaimNote(
        shop=shop,
        bike=bike.face(),
        date=printed.day(bike.state.updated),
        to=to,
        parties=parties,
        facts=facts,
        slip=box.slip,
        damages=tuple(
            DamageRow(
                "on the carton" if item.where == "outside" else "inside",
                item.text,
                printed.day(item.at),
            )
            for item in box.damages
        ),
        parts=tuple(
            ClaimPart(item.part, item.status, item.note, _promised(item))
            for item in box.parts
            if item.status != "here"
        ),
        pictures=tuple(_pictures(bike.shop, box)),
        term=_term(box, day_of(bike.state.updated).isoformat()),
        sent=sent,
        received_by=box.by,
    )


def _serial(serial: str) -> str:
    return f", serial {serial}" if serial else ""


def _term(box: CartonAnswer, today: str) -> str:
    """Within which days this notice is given, while it still is, and by whose word."""
    from cyclewright.workshop.carton import OWN_TERM

    if today > box.deadline:
        return ""
    given = f"We give this notice within {box.days} days of delivery"
    if box.days_source == OWN_TERM:
        return f"{given}, by your own terms."
    # A label of how well a figure is known is for the bench, never for a letter.
    parts = box.days_source.removeprefix("default: ").split(", ")
    law = ", ".join(part for part in parts if not _LABEL.search(part))
    return f"{given} ({law})." if law else f"{given}."


_LABEL = re.compile("memory|second-hand|no source|common practice")


def _promised(part: PartLine) -> str:
    if part.arrived:
        return f"came {printed.day(part.arrived)}"
    if not part.expected:
        return "nothing yet"
    return printed.day(part.expected) + (f", {part.promised_by}" if part.promised_by else "")


def _pictures(shop: Shop, box: CartonAnswer) -> Iterator[Picture]:
    """Every photo of the carton once, with what it shows; one that was erased is left out."""
    from cyclewright.errors import CyclewrightError
    from cyclewright.printing.data import Picture

    shown = [(address, f"Damage: {item.text}") for item in box.damages for address in item.photos]
    shown += [
        (address, f"{printed.capital(part.part)}: {part.note or part.status}")
        for part in box.parts
        if part.status != "here"
        for address in part.photos
    ]
    shown += [(address, "The carton as it came") for address in box.photos]
    captions: dict[str, str] = {}
    for address, caption in shown:
        captions.setdefault(address, caption)
    for address, caption in captions.items():
        try:
            kept = shop.store.attachment(address)
        except CyclewrightError:
            continue
        yield Picture(kept.payload, kept.media, caption)


def _brake_card(bike: Printed) -> BrakeCard:
    from cyclewright.advice.brakes import HAND_WORDS, ROUTE_WORDS, hands
    from cyclewright.printing.data import BrakeCard

    found = hands(bike.sheets)
    return BrakeCard(
        bike=bike.face(),
        delivered=HAND_WORDS.get(found.delivered or "", ""),
        wanted=HAND_WORDS.get(found.wanted or "", ""),
        source=found.source,
        change=found.change_needed,
        route=printed.capital(ROUTE_WORDS[found.route]) + ".",
        steps=found.consequences,
        asks=tuple(question.ask for question in found.questions),
        order=found.basis == "rider",
        proved=_proved(bike),
        rider=bike.seen.rider if bike.sheets.rider is not None else "",
        date=bike.date,
    )


def _proved(bike: Printed) -> str:
    """What was proved of the hands on the bike itself."""
    hand = printed.proved_hand(bike)
    return f"Proved on the bike: {hand} hand." if hand else "Not proved on the bike yet."


_MARKS = {
    "saddle_height": ("Saddle height", "bottom bracket to saddle top, along the post", False),
    "post_insertion": ("Seat post in frame", "lay the line along the top of the collar", True),
    "saddle_setback": ("Saddle on its rails", "behind the middle; the line along the clamp", True),
    "saddle_tilt": ("Saddle tilt", "from level, nose up is plus", False),
    "spacers_under": ("Spacers under the stem", "all of them, as they came off", False),
    "bar_height": ("Grips above ground", "tyres hard, bike upright", False),
    "lever_angle": ("Brake levers", "below level; the line across bar and clamp", True),
    "lever_inboard": ("Levers inboard of the grips", "the line along the clamp's outer edge", True),
}
"""Settings that a journey loses, what they are called on a label, and how the label is read."""


def _position_marks(bike: Printed) -> PositionMarks:
    from cyclewright.printing.data import PositionMark, PositionMarks

    found = {item.name: item for item in bike.advice.settings}
    marks = []
    for name, (label, how, line) in _MARKS.items():
        if name not in found:
            continue
        stands = bike.stands(name)
        value = found[name].value if stands.physical is None else stands.physical
        if value is not None:
            shown, told = bike.shown(found[name], value), printed.how_of(stands)
            marks.append(PositionMark(label, shown, how, line, told, name))
    return PositionMarks(bike.face(), bike.rider, tuple(marks), bike.date)


DOCUMENTS: Mapping[str, Callable[[Printed], Paper]] = {
    "hand-over": _hand_over,
    "plan": _plan,
    "torque-card": _torque_card,
    "brake-card": _brake_card,
    "setting-card": _setting_card,
    "sag-strip": _sag_strip,
    "tag": _tag,
    "marks": _position_marks,
    "claim": _claim,
}
"""Every document by the word that prints it."""


def letterhead(shop: Shop) -> ShopFace:
    """The shop's name and address lines from its letterhead file, else its owner's name."""
    import tomllib

    from cyclewright.printing.data import ShopFace
    from cyclewright.workshop.people import people

    file = shop.data / LETTERHEAD
    if not file.is_file():
        owners = [person.name for person in people(shop) if person.role == "owner"]
        return ShopFace(owners[0] if owners else "")
    try:
        if file.stat().st_size > 10_000:
            raise ValueError("longer than 10 kB")
        data = tomllib.loads(file.read_text(encoding="utf-8"))
        name, lines = data["name"], data.get("lines", [])
        if not isinstance(name, str) or not all(isinstance(line, str) for line in lines):
            raise ValueError("name is a text, lines are texts")
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise input_error(
            "letterhead",
            str(file),
            'write `name = "…"` and `lines = ["…", "…"]` in it',
            value=str(error),
        ) from None
    return ShopFace(name, tuple(lines[:4]))


def _posture(posture: Posture) -> Posture:
    """The posture, once it is one: it may come from an address line."""
    if posture not in ("seated", "standing"):
        raise input_error("posture", "posture", "use seated or standing", value=posture)
    return posture


def _title(sheets: Sheets) -> str:
    from cyclewright.workshop.receive import name_of

    who = "its rider" if sheets.rider is None else sheets.rider.name or "its rider"
    return f"{name_of(sheets)} with {who}, to scale"


def _details(sheets: Sheets, settings: Sequence[Setting]) -> Details:
    """Parts that only the drawing looks at; what the sheets leave out keeps its usual size."""
    from cyclewright.advice.levers import levers
    from cyclewright.knowledge.defaults import fill
    from cyclewright.printing.bicycle import Details

    bike, usual = sheets.bike, Details()
    insertion = next((item for item in settings if item.name == "post_insertion"), None)
    rings = bike.drive.chainrings
    fitted = levers(fill(sheets))

    def rotor(brake: Any, standard: float) -> float:
        return standard if brake.rotor_diameter is None else float(brake.rotor_diameter.value)

    def length(quantity: Any) -> float | None:
        return None if quantity is None else float(quantity.value)

    least = [length(part.insertion_min) for part in (bike.frame, bike.post)]
    dropper = bike.post.kind == "dropper" and bike.post.travel is not None
    return Details(
        post_insertion=None if insertion is None else insertion.value,
        post_travel=bike.post.travel.value if dropper and bike.post.travel else 0.0,
        rotor_front=rotor(bike.brake.front, usual.rotor_front),
        rotor_rear=rotor(bike.brake.rear, usual.rotor_rear),
        chainring=max(rings) if rings else usual.chainring,
        spokes=bike.wheel.front.spokes or usual.spokes,
        insertion_least=max((depth for depth in least if depth is not None), default=None),
        insertion_most=length(bike.frame.insertion_max),
        lever_reach=fitted.reach.value or usual.lever_reach,
        linkage=_linkage(sheets),
    )


def _linkage(sheets: Sheets) -> Linkage | None:
    """The rear suspension's pivots as the sums have them, None where the sheet has none."""
    from cyclewright.advice.rear import pivots
    from cyclewright.errors import InputError
    from cyclewright.knowledge.defaults import fill

    try:
        return pivots(fill(sheets).sheets.bike)
    except InputError:  # `advise` says what is wrong with them; the drawing has its own
        return None
