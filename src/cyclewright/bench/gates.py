"""The ride gate, the release gate, and the release."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from cyclewright.bench import forms, views, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, missing_page, page, person_of, session_of, shop_of
from cyclewright.workshop import choices, people, pins, release

if TYPE_CHECKING:
    from cyclewright.workshop.answers import GateAnswer, Missing

router = APIRouter(include_in_schema=False)

GATES = ("ride", "release")
_PAGES = {
    "carton": ("/carton", "To the carton"),
    "care": ("/care#held", "To its parts"),
    "build": ("/build", "To the steps"),
}
_PLACES = {
    "findings": ("/inspection#found", "To the findings"),
    "recall": ("/care", "What to do"),
    "packed": ("/journey", "To the journey"),
}


@router.get("/bikes/{bike}/gates")
def show(request: Request, bike: int) -> Response:
    """Both gates with what is missing by name, and the release."""
    shop = shop_of(request)
    seen = visit.of(shop, bike)
    ride, out = (release.gate(shop, bike, gate, pass_it=False) for gate in GATES)
    said = session_of(request).take()
    context = {
        "visit": seen,
        "ride": ride,
        "out": out,
        "wants": {gate.gate: _wants(seen, gate) for gate in (ride, out)},
        "released": _released(seen),
        "pins": pins.used(shop),
        "alone": len(people.working(shop)) < 2,
        "seconds": [one.name for one in people.working(shop) if one.role != people.MECHANIC],
        "said": "" if said is None else said.text,
    }
    data = {"bike": bike, "ride": ride.to_json(), "release": out.to_json()}
    return page(request, "gates.html", data, context)


@router.post("/bikes/{bike}/gates/{gate}")
def pass_gate(request: Request, bike: int, gate: str, form: Form) -> Response:
    """Pass a gate, when nothing is missing."""
    if gate not in GATES:
        return missing_page(request, "There are two gates: ride and release.")
    uuid = forms.optional(form, "uuid")
    pin = forms.optional(form, "pin")
    answer = release.gate(shop_of(request), bike, gate, by=person_of(request), uuid=uuid, pin=pin)
    return go(request, f"/bikes/{bike}/gates", answer.to_json())


@router.post("/bikes/{bike}/gates/{gate}/override")
def override(request: Request, bike: int, gate: str, form: Form) -> Response:
    """One item is let pass, with a reason and a second person; it stands on the sheet."""
    session = session_of(request)
    by = forms.optional(form, "by") or session.person
    answer = release.override(
        shop_of(request),
        bike,
        gate,
        forms.text(form, "item"),
        forms.text(form, "reason"),
        by,
        forms.optional(form, "second"),
        pin=forms.optional(form, "pin"),
        second_pin=forms.optional(form, "second_pin"),
        uuid=forms.optional(form, "uuid"),
    )
    session.said = visit.Told(views.sentence(answer.said))
    return go(request, f"/bikes/{bike}/gates", answer.to_json())


@router.post("/bikes/{bike}/release")
def release_bike(request: Request, bike: int, form: Form) -> Response:
    """Release the bike under a name."""
    by, second = forms.text(form, "by"), forms.optional(form, "second")
    session = session_of(request)
    uuid = forms.optional(form, "uuid")
    proof = {"pin": forms.optional(form, "pin"), "second_pin": forms.optional(form, "second_pin")}
    answer = release.release(shop_of(request), bike, by, second=second, uuid=uuid, **proof)
    session.said = visit.Told(views.sentence(answer.said))
    if session.person is None:
        session.becomes(by)
    return go(request, f"/bikes/{bike}/gates", answer.to_json())


@dataclass(frozen=True, slots=True)
class Want:
    """A gate item that is missing: the steps that prove it, and what else is said of it."""

    item: str
    words: str
    never_override: bool
    steps: tuple[tuple[visit.StepView, str], ...]
    said: tuple[tuple[str, tuple[str, str]], ...]
    """What no step proves, each with the page of this bike where it is put right."""
    held: bool = False
    """Whether a part holds it up."""

    @property
    def may_pass(self) -> bool:
        """Whether a second person can let it pass: no problem noted, and no gate of its own."""
        stuck = any(step.status == "problem" for step, _ in self.steps)
        return bool(self.steps or self.held) and not (self.never_override or stuck)


def _wants(seen: visit.Visit, gate: GateAnswer) -> list[Want]:
    """What a gate misses, an item at a time."""
    called = choices.gate_words()
    found = []
    for name, rows in views.grouped(gate.missing, lambda row: row.item).items():
        pairs = [(seen.step(row.step), _named(seen, row.why)) for row in rows if row.step]
        steps = tuple((step, why) for step, why in pairs if step is not None)
        said = tuple(
            (row.why.rpartition(" is not known: ")[2], _place(row)) for row in rows if not row.step
        )
        words = called.get(name, views.words(name))
        never = any(row.never_override for row in rows)
        found.append(Want(name, words, never, steps, said, any(row.page for row in rows)))
    return found


def _place(row: Missing) -> tuple[str, str]:
    """Where something is put right that no step proves, and what that page is called."""
    known = _PAGES if row.page else _PLACES
    return known.get(row.page or row.item, ("?open=lookups#lookups", "To the setup"))


def _named(seen: visit.Visit, why: str) -> str:
    """What a gate says of a step with the steps that it names in words."""
    why = views.plainly(why)
    for step in seen.steps:
        why = why.replace(f"{step.id} (", f"{step.id.replace('-', ' ')} (")
    return why


def _released(seen: visit.Visit) -> dict[str, Any] | None:
    """When and by whom, in words."""
    if seen.released is None:
        return None
    by = seen.released["by"]
    when = views.moment(seen.released["at"])
    return {"words": f"{when}, by {by}." if by else f"{when}."}
