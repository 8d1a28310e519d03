"""Touching a joint reopens its evidence and everything that depended on it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from cyclewright.record.steps import Step


def dependants(steps: Mapping[str, Step], roots: Collection[str]) -> set[str]:
    """Every step that rests on one of `roots`, or on a step that does; not the roots."""
    return _behind(steps, roots, lambda step: step.rests)


def held_up(steps: Mapping[str, Step], roots: Collection[str]) -> set[str]:
    """Every step that one of `roots` comes before, or a step that does; not the roots."""
    return _behind(steps, roots, lambda step: step.needs)


def _behind(
    steps: Mapping[str, Step], roots: Collection[str], of: Callable[[Step], frozenset[str]]
) -> set[str]:
    found = set(roots)
    for step in sorted(steps.values(), key=_place):
        if of(step) & found:
            found.add(step.id)
    return found - set(roots)


def by_joints(
    steps: Mapping[str, Step], done: Collection[str], joints: Collection[str]
) -> tuple[str, ...]:
    """Done steps whose evidence a touched joint takes away, in plan order."""
    return ordered(steps, (name for name in on_joints(steps, joints) if name in done))


def on_joints(steps: Mapping[str, Step], joints: Collection[str]) -> set[str]:
    """The steps on these joints and the steps that build upon them."""
    touched = set(joints)
    roots = {step.id for step in steps.values() if step.joints & touched}
    return roots | dependants(steps, roots)


def behind(steps: Mapping[str, Step], again: str) -> set[str]:
    """Steps that doing `again` takes away: later ones on joints it opens, and its dependants.

    A step done in its planned turn finds none of these done yet, so it reopens nothing.
    """
    step = steps[again]
    opened = frozenset[str]() if step.data.get("reads") else step.joints
    roots = {
        other.id for other in steps.values() if other.place > step.place and other.joints & opened
    }
    return (roots | dependants(steps, roots | {again})) - {again}


def ordered(steps: Mapping[str, Step], found: Iterable[str]) -> tuple[str, ...]:
    """Steps in plan order."""
    return tuple(step.id for step in sorted((steps[name] for name in found), key=_place))


def _place(step: Step) -> int:
    return step.place
