"""The three example bikes, each built by its own plan and released, ready to be changed."""

from __future__ import annotations

import atexit
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from cyclewright.record.events import Draft, Event
from cyclewright.record.fold import apply
from cyclewright.record.state import BikeState
from cyclewright.sheets.sheets import Sheets, change, load
from cyclewright.workshop import receive, release
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.standing import Standing, standing
from walks.tally import FULL as FULL
from workshop import shops

EXAMPLES = Path(__file__).parents[2] / "examples"
BIKES: dict[str, tuple[str, str, Sequence[str]]] = {
    "trail": ("light", "left", shops.FITS),
    "hardtail": ("heavy", "right", ()),
    "longtravel": ("heavy", "high", ("bike.post.travel=150 mm", "bike.post.length=430 mm")),
}
"""Rider, place, and what has to be put right on the sheets before the bike may be ridden."""


@dataclass(frozen=True, slots=True)
class Released:
    """A shop with one released bike in it."""

    shop: Shop
    bike: int

    @property
    def state(self) -> BikeState:
        return self.shop.state(self.bike)

    @property
    def sheets(self) -> Sheets:
        return self.shop.sheets(self.state)


def own_folder() -> Path:
    """A folder that goes with the run."""
    folder = Path(mkdtemp(prefix="walk-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def sheets(name: str) -> Sheets:
    """The sheets of one of the three, put right."""
    rider, place, changes = BIKES[name]
    found = load(
        EXAMPLES / f"bikes/{name}.toml",
        EXAMPLES / f"riders/{rider}.toml",
        EXAMPLES / f"places/{place}.toml",
    )
    return change(found, list(changes)) if changes else found


@cache
def released(name: str) -> Released:
    """One of the three, built, ridden and released."""
    shop = Shop.open(own_folder() / "data")
    bike = receive.open_bike(shop, sheets(name), by="Ada")
    shops.build_to_gate(shop, bike)
    assert release.gate(shop, bike, "ride", by="Ada").passed
    shops.build_until(shop, bike, "Prove", "Release")
    release.release(shop, bike, by="Ada")
    return Released(shop, bike)


def after(found: Released, drafts: Sequence[Draft]) -> tuple[BikeState, Standing]:
    """How the bike stands after these entries, which are folded and kept nowhere."""
    state = found.state.copy()
    for draft in drafts:
        number = state.number + 1
        event = Event(
            state.bike, number, draft.uuid, draft.kind, 1, draft.subject, number - 1,
            state.updated, None, False, draft.by, dict(draft.data), b"%d" % number,
        )  # fmt: skip
        apply(state, event)
    return state, standing(found.shop, state)


def changed(found: Released, new: Sheets, fields: Sequence[str]) -> list[Draft]:
    """The entries of a change of the sheets, as `change_sheet` makes them."""
    from cyclewright.knowledge.fasteners import joints_of_field

    state = found.state
    kept = None if state.rider is None else (state.rider, found.shop.rider_text(state.rider))
    joints = list(dict.fromkeys(joint for name in fields for joint in joints_of_field(name)))
    told = {"changes": list(fields), "fields": list(fields), "joints": joints, "why": "changed"}
    plan = receive.plan_data(
        found.shop, new, kept, visit=state.plan_kind, cause=state.cause, before=found.sheets
    )
    return [Draft("sheet-changed", "sheet:bike", told), Draft("planned", "plan", plan)]


def without_rider(found: Sheets) -> Sheets:
    """The same bike for nobody in particular."""
    from cyclewright import units

    return replace(found, rider=None, mass=units.parse("80 kg", "mass", "mass"))
