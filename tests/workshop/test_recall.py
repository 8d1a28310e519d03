"""A recall blocks every bike that carries the part, until it is lifted with a reason."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError, Refusal
from cyclewright.record.recall import Cleared, Fitted, hits
from cyclewright.record.shop import Recall
from cyclewright.workshop import build, care, people, receive, release, standing
from cyclewright.workshop import recall as use
from cyclewright.workshop.shop import Shop
from workshop.shops import build_until, do_again, opened, sheets

TOLD = {"why": "the blade cracks", "do": "replace the lever", "source": "the maker's notice 12"}


def _recall(**more: object) -> Recall:
    told: dict[str, object] = {"id": 1, "part": "brake lever", "maker": "Grabb", "model": "Two"}
    told |= {"batches": ("B7",), "serials": (), "why": "cracks", "do": "replace"}
    told |= {"source": "notice", "opened": "", "by": None}
    return Recall(**told | more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("part", "sure"),
    [
        (Fitted("Brake-Lever", "GRABB", "two", "", "b 7"), True),
        (Fitted("brake lever", "", "", "", "B7"), True),
        (Fitted("brake lever", "Grabb", "Two"), False),
        (Fitted("brake lever", "", "", "S1"), False),
        (Fitted("brake lever", "Grabb", "Two", "", "B8"), None),
        (Fitted("brake lever", "Other", "Two", "", "B7"), None),
        (Fitted("rotor", "Grabb", "Two", "", "B7"), None),
        (Fitted("front brake lever", "Grabb", "Two", "", "B7"), True),
        (Fitted("Lever, rear brake", "Grabb", "Two", "", ""), False),
        (Fitted("dropper lever", "Grabb", "Two", "", "B7"), None),
    ],
)
def test_who_carries_it(part: Fitted, sure: bool | None) -> None:
    found = hits([_recall()], [part], {})
    assert [hit.sure for hit in found] == ([] if sure is None else [sure])


MARK = st.sampled_from(["", "x", "y"])


@given(MARK, MARK, MARK, MARK, st.sampled_from([(), ("x",)]), st.sampled_from([(), ("x",)]))
def test_a_part_that_could_be_recalled_is_never_passed_over(
    maker: str, model: str, batch: str, serial: str, batches: tuple, serials: tuple
) -> None:
    """Second method: fill in what is not recorded in every way, and see whether one is recalled."""
    recall = _recall(maker="x", model="x", batches=batches, serials=serials)

    def recalled(m: str, n: str, b: str, s: str) -> bool:
        listed = not (batches or serials) or b in batches or s in serials
        return m == n == "x" and listed

    ways = (("x", "y") if not mark else (mark,) for mark in (maker, model, batch, serial))
    possible = any(recalled(*way) for way in itertools.product(*ways))
    found = hits([recall], [Fitted("brake lever", maker, model, serial, batch)], {})
    assert bool(found) == possible


def test_settled_counts_until_a_part_comes_later() -> None:
    part, settled = Fitted("brake lever", batch="B7", number=9), {1: Cleared("", 9, None, "")}
    assert hits([_recall()], [part], settled) == ()
    later = Fitted("brake lever", batch="B7", number=10)
    assert len(hits([_recall()], [later], settled)) == 1


def _fit(shop: Shop, bike: int = 1, batch: str = "B7") -> str:
    """The marks of the lever that the bike came with."""
    told = {"maker": "Grabb", "model": "Two", "batch": batch}
    return use.fit_part(shop, bike, "brake lever", marks_only=True, by="Ada", **told).said


def test_a_recall_blocks_in_list_show_and_gates(built: Shop) -> None:
    _fit(built)
    assert release.gate(built, 1, "ride", by="Ada").passed
    row = use.open_recall(built, "brake lever", maker="Grabb", batches=["B7"], by="Ada", **TOLD)
    assert (row.id, row.carries, row.may_carry, row.not_recorded) == (1, (1,), (), ())
    (listed,) = receive.list_bikes(built)
    assert listed.blocked and "recall 1, brake lever (Grabb Two)" in listed.recalls[0]
    assert care.show(built, 1).recalls == listed.recalls
    stands = standing.standing(built, built.state(1))
    assert not stands.may_ride and stands.passed == {}
    for gate in ("ride", "release"):
        missing = release.gate(built, 1, gate).missing
        assert missing[0].item == "recall" and missing[0].never_override


def test_a_released_bike_is_blocked_too_and_free_with_a_new_part(built: Shop) -> None:
    release.gate(built, 1, "ride", by="Ada")
    build_until(built, 1, "Prove", "Release")
    release.release(built, 1, by="Ada")
    use.open_recall(built, "brake lever", maker="Grabb", model="Two", batches=["B7"], **TOLD)
    assert "read them off the part" in receive.list_bikes(built)[0].recalls[0]
    assert "stop: recall 1" in _fit(built)
    assert receive.list_bikes(built)[0].blocked
    with pytest.raises(Refusal, match="record this one as fitted"):
        _fit(built, batch="B9")
    use.fit_part(built, 1, "front brake lever", maker="Grabb", batch="B9", by="Ada")
    assert receive.list_bikes(built)[0].recalls, "the other lever may be one"
    use.fit_part(built, 1, "brake levers", maker="Grabb", batch="B9", by="Ada")
    assert receive.list_bikes(built)[0].recalls == ()
    assert "brakes-bled" in built.state(1).planned_steps()
    do_again(built)
    release.release(built, 1, by="Ada")
    assert not receive.list_bikes(built)[0].blocked


def test_a_batch_that_was_not_written_down_blocks_until_it_is_read(shop: Shop) -> None:
    bike = opened(shop)
    use.fit_part(shop, bike, "brake lever", maker="Grabb")
    row = use.open_recall(shop, "Brake Lever", maker="Grabb", batches=["B7"], **TOLD)
    assert (row.carries, row.may_carry) == ((), (1,))
    assert "read them off the part" in care.show(shop, bike).recalls[0]
    _fit(shop, bike, "B8")
    assert care.show(shop, bike).recalls == ()


def test_a_frame_is_found_by_the_sheet(shop: Shop) -> None:
    bike, frame = opened(shop), sheets().bike
    assert frame.maker and frame.serial
    other = use.open_recall(shop, "frame", maker=frame.maker, serials=["ZZ"], **TOLD)
    assert other.carries == ()
    row = use.open_recall(shop, "frame", maker=frame.maker, serials=[frame.serial], **TOLD)
    assert row.carries == (bike,)
    assert use.open_recall(shop, "saddle", **TOLD).carries == (bike,)
    assert use.open_recall(shop, "flux thing", **TOLD).not_recorded == (bike,)


@pytest.mark.parametrize(
    ("part", "on_record", "waits"),
    [
        ("stem", "", "the stem"),
        ("front rotor", "rear rotor", "the front rotor"),
        ("brake lever", "front brake lever", "the rear brake lever"),
        ("brake lever", "brake levers", ""),
        ("pedals", "left pedal", "the right pedal"),
        ("chain", "", "the chain"),
        ("spare rotor", "", ""),
    ],
)
def test_a_part_that_nobody_wrote_down_blocks_until_its_marks_are_read(
    shop: Shop, part: str, on_record: str, waits: str
) -> None:
    bike = opened(shop)
    if on_record:
        use.fit_part(shop, bike, on_record, maker="Other", marks_only=True, by="Ada")
    row = use.open_recall(shop, part, maker="Grabb", batches=["B7"], **TOLD)
    assert row.may_carry == ((bike,) if waits else ())
    (listed,) = receive.list_bikes(shop)
    assert listed.recalls == care.show(shop, bike).recalls
    assert [waits in line for line in listed.recalls] == ([True] if waits else [])
    if waits:
        name = waits.removeprefix("the ")
        use.fit_part(shop, bike, name, maker="Other", marks_only=True, by="Ada")
    assert care.show(shop, bike).recalls == ()


def test_settled_on_one_bike_and_lifted_for_all(shop: Shop) -> None:
    first, second = opened(shop), opened(shop)
    _fit(shop, first)
    _fit(shop, second)
    use.open_recall(shop, "brake lever", batches=["B7"], **TOLD)
    use.settle_recall(shop, first, 1, "blade replaced by the maker", "Ada")
    row = use.recall(shop, 1)
    assert (row.carries, row.settled) == ((second,), (first,))
    with pytest.raises(Refusal, match="recall 1 does not block it"):
        use.settle_recall(shop, first, 1, "again", "Ada")
    people.add_person(shop, "Bo", by="Ada")
    with pytest.raises(Refusal, match="only an owner may do this"):
        use.lift_recall(shop, 1, "withdrawn", by="Bo")
    assert use.lift_recall(shop, 1, "withdrawn by its maker", by="Ada").lifted
    assert care.show(shop, second).recalls == ()
    assert use.recalls(shop) == ()
    assert [row.id for row in use.recalls(shop, all_of_them=True)] == [1]
    with pytest.raises(Refusal, match="it was lifted: withdrawn by its maker"):
        use.lift_recall(shop, 1, "again", by="Ada")


def test_what_says_nothing_is_refused(shop: Shop) -> None:
    bike = opened(shop)
    with pytest.raises(InputError, match="give its maker, model, serial or batch"):
        use.fit_part(shop, bike, "fork")
    with pytest.raises(InputError, match="name a part on record"):
        use.remove_part(shop, bike, "flux compensator")
    with pytest.raises(InputError, match="give its number"):
        use.recall(shop, 3)
    _fit(shop, bike)
    use.remove_part(shop, bike, "Brake Lever")
    assert [row.part for row in use.parts(shop, bike)] == ["frame"]


def test_marks_that_rule_a_recall_out_say_so_and_almost_the_same_name_does_not(
    shop: Shop,
) -> None:
    bike = opened(shop)
    use.open_recall(shop, "fork", maker="Grellforks", **TOLD)
    told = {"marks_only": True, "by": "Ada"}
    said = use.fit_part(shop, bike, "fork", maker="Grel forks", **told).said
    assert "stop: recall 1 may be about the fork" in said
    assert receive.list_bikes(shop)[0].blocked
    build.undo(shop, bike)
    said = use.fit_part(shop, bike, "fork", maker="Hollow Forks", **told).said
    assert said.endswith("its marks rule recall 1 out")
    assert receive.list_bikes(shop)[0].recalls == ()
