"""Which dropper lengths fit this rider on this frame, and how far off the next one is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cyclewright.advice.height import Height
from cyclewright.advice.post import PostFacts
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import Filled
from cyclewright.setting import Limit


@dataclass(frozen=True, slots=True)
class Dropper:
    """One travel that is sold, at full height under this rider [m]."""

    travel: float
    length: float
    fits: bool
    sure: bool
    """Whether the whole interval of the saddle's height says the same."""
    spare: float
    """How much the saddle could still go down, or the post up, before a limit; below 0 it lacks."""
    limit: str
    """Whose limit is nearest, or keeps it out."""
    mounted: bool
    """Whether it is the one on the bike."""

    def words(self) -> str:
        """How it stands, in a few words."""
        amount = f"{abs(self.spare) * 1000:.0f} mm"
        if self.fits:
            said = f"fits, {amount} to spare: {self.limit}"
        else:
            said = f"no, by {amount}: {self.limit}"
        return said if self.sure else f"{said}; within the height's own spread, so measure"


def droppers(filled: Filled, height: Height, facts: PostFacts | None) -> tuple[Dropper, ...]:
    """Every travel that is sold, shortest first; empty where the frame bounds nothing.

    A post of another travel is taken to be of the same family: longer by twice the travel's
    difference. On a bike with a plain post a usual dropper stands in.
    """
    if facts is None or filled.sheets.bike.post.kind not in ("plain", "dropper"):
        return ()
    family = facts if facts.travel else _usual(facts)
    travels = sorted({*rules.dropper_travels(), *([facts.travel] if facts.travel else [])})
    return tuple(_row(family.shorter(travel), travel, height, facts) for travel in travels)


def next_longer(found: tuple[Dropper, ...]) -> Dropper | None:
    """The shortest of those that do not fit for being too long: what is just out of reach."""
    longest = max((item.travel for item in found if item.fits), default=0.0)
    return next((item for item in found if not item.fits and item.travel > longest), None)


def _row(facts: PostFacts, travel: float, height: Height, mounted: PostFacts) -> Dropper:
    spare, limit = _spare(facts, height.value)
    ends = {_spare(facts, end)[0] >= 0.0 for end in (height.low, height.high)}
    return Dropper(
        travel,
        facts.length or 0.0,
        spare >= 0.0,
        len(ends) == 1,
        spare,
        limit,
        abs(travel - mounted.travel) < 5e-4,
    )


def _spare(facts: PostFacts, height: float) -> tuple[float, str]:
    """Room to the nearest limit at this saddle height, and whose it is."""
    room = [(_room(limit, height), limit.owner) for limit in facts.limits()]
    return min(room)


def _room(limit: Limit, height: float) -> float:
    return height - limit.value if limit.kind == "min" else limit.value - height


def _usual(plain: PostFacts) -> PostFacts:
    """A usual dropper in place of a plain post, its own mark at the frame's."""
    return replace(
        plain,
        travel=1e-9,
        length=rules.rule("dropper_length_base").value,
        post_insertion_min=None,
    )
