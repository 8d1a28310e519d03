from itertools import pairwise

from cyclewright.knowledge.grounds import ground, grounds
from cyclewright.sheets.rider import Rider


def test_every_kind_of_riding_on_the_sheet_has_a_ground() -> None:
    from typing import get_args

    from cyclewright.sheets.rider import Ride

    assert set(grounds()) == set(get_args(Ride))
    assert "ride" in Rider.specs()


def test_rougher_riding_hits_harder_and_the_rear_harder_than_the_front() -> None:
    rising = [grounds()[name] for name in ("cross-country", "trail", "enduro", "park")]
    for softer, rougher in pairwise(rising):
        assert softer.hit_front < rougher.hit_front
        assert softer.hit_rear < rougher.hit_rear
        assert softer.use_class < rougher.use_class
    for row in grounds().values():
        assert 1 < row.hit_front <= row.hit_rear < 5
        assert 0 < row.hit_sigma < 0.5
        assert 0 <= row.slope < 0.5
        assert 3 < row.speed < 15
        assert row.source.startswith("common practice, no source")


def test_nobody_said_means_mixed() -> None:
    assert ground(None).name == ground("nonsense").name == "mixed"
    assert ground("park").name == "park"
