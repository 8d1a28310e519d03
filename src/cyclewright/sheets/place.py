"""The place's sheet: the country, where pressures are set, and where the bike is ridden."""

from __future__ import annotations

from typing import Annotated

from cyclewright.sheets import spec
from cyclewright.sheets.bike import Hands
from cyclewright.sheets.spec import Measure, Spec, Table


class Workshop(Table):
    """Where pressures are set."""

    altitude: Annotated[
        Measure,
        spec.quantity("length", "Height above the sea", -450, 6000, "labelled default"),
    ] = None
    temperature: Annotated[
        Measure,
        spec.quantity(
            "temperature", "Air where pressures are set", 233.15, 328.15, "labelled default"
        ),
    ] = None


class Trail(Table):
    """Where the bike is ridden."""

    altitude: Annotated[
        Measure,
        spec.quantity("length", "Height above the sea", -450, 6000, "labelled default"),
    ] = None
    temperature: Annotated[
        Measure,
        spec.quantity("temperature", "Air where it is ridden", 233.15, 328.15, "labelled default"),
    ] = None
    slope: Annotated[
        Measure,
        spec.quantity(
            "ratio", "Rise over run of the usual descent, down positive", -1, 1, "labelled default"
        ),
    ] = None


class Place(Table):
    """A place sheet."""

    country: Annotated[
        str | None,
        Spec("country", "Two-letter code of the country, like GB", "ask", required="always"),
    ] = None
    hands: Annotated[
        Hands | None,
        spec.choice(
            "Which hand works the front brake there, where nothing is on file: ask the importer"
        ),
    ] = None
    assist_speed: Annotated[
        Measure,
        spec.quantity(
            "speed",
            "Speed up to which a drive may help a bicycle there, where nothing is on file: "
            "the authority's answer",
            1,
            30,
        ),
    ] = None
    assist_power: Annotated[
        Measure,
        spec.quantity(
            "power",
            "Power that a bicycle's drive may have there, where nothing is on file: "
            "the authority's answer",
            20,
            5000,
        ),
    ] = None
    workshop: Workshop = spec.table(Workshop)
    trail: Trail = spec.table(Trail)
