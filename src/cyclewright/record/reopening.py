"""Touching a joint reopens its evidence and everything that depended on it."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from cyclewright.record.steps import Step


def dependants(steps: Mapping[str, Step], roots: Collection[str]) -> set[str]:
    """Every step that needs one of `roots`, or needs a step that does; not the roots."""
    found = set(roots)
    for step in sorted(steps.values(), key=lambda item: item.place):
        if step.needs & found:
            found.add(step.id)
    return found - set(roots)


def by_joints(
    steps: Mapping[str, Step], done: Collection[str], joints: Collection[str]
) -> tuple[str, ...]:
    """Done steps whose evidence a touched joint takes away, in plan order.

    These are the steps on the joint itself and the steps that built upon them.
    """
    touched = set(joints)
    roots = {step.id for step in steps.values() if step.joints & touched}
    return _ordered(steps, done, roots | dependants(steps, roots))


def by_step(steps: Mapping[str, Step], done: Collection[str], again: str) -> tuple[str, ...]:
    """Done steps that doing `again` takes away: later ones on its joints and its dependants.

    A step done in its planned turn finds none of these done yet, so it reopens nothing.
    """
    step = steps[again]
    roots = {
        other.id
        for other in steps.values()
        if other.place > step.place and other.joints & step.joints
    }
    return _ordered(steps, done, roots | dependants(steps, roots | {again}))


def _ordered(
    steps: Mapping[str, Step], done: Collection[str], found: Collection[str]
) -> tuple[str, ...]:
    chosen = [steps[name] for name in found if name in done]
    return tuple(step.id for step in sorted(chosen, key=lambda item: item.place))
