"""The torque card and the steps say one compound and one torque of every joint."""

from __future__ import annotations

import pytest

from advice.generated import drawn
from cyclewright.record.plan import Plan
from cyclewright.sheets.sheets import Sheets
from cyclewright.workshop.check import plan
from sheets.samples import example


def differing(made: Plan) -> list[tuple[str, str, str, str]]:
    """Joints of which a step that sets them says otherwise than the round."""
    rounds = {bolt.joint: bolt for bolt in made.bolts()}
    return [
        (step.id, bolt.joint, step.compound, bolt.compound)
        for step in made.steps
        if step.torque is not None and len(step.joints) == 1 and not step.bolts
        for bolt in [rounds.get(step.joints[0])]
        if bolt is not None and bolt.verb == "set"
        if (step.compound, step.torque) != (bolt.compound, bolt.torque)
    ]


@pytest.mark.parametrize("name", ["trail", "hardtail", "longtravel"])
def test_card_and_steps_agree_on_the_examples(name: str) -> None:
    from cyclewright.sheets.sheets import load

    assert differing(plan(load(*example(name, "heavy", "left")))) == []


def test_card_and_steps_agree_on_drawn_bikes() -> None:
    bikes: list[Sheets] = [drawn(seed) for seed in range(40)]
    assert [found for one in bikes for found in differing(plan(one))] == []
    carbon = [one for one in bikes if one.bike.fork.material_steerer == "carbon"]
    assert carbon, "no drawn bike has a carbon steerer"
