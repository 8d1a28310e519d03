"""Sheets as use cases: reading them, starting from nine answers, and what they leave open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cyclewright.errors import InputError, Problem
from cyclewright.setting import Question

if TYPE_CHECKING:
    from cyclewright.knowledge.defaults import Default
    from cyclewright.sheets.fields import FieldInfo
    from cyclewright.sheets.quickstart import Ask as Ask
    from cyclewright.sheets.quickstart import QuickStart
    from cyclewright.sheets.sheets import Sheets

SheetKind = Literal["bike", "rider", "place"]
NAMES: tuple[SheetKind, ...] = ("bike", "rider", "place")


def read_sheets(
    bike: Path | str, rider: Path | str | None, place: Path | str, mass: str | None = None
) -> Sheets:
    """The sheets at these paths; without a rider, `mass` is the stated mass with kit."""
    from cyclewright.sheets.sheets import load

    return load(Path(bike), None if rider is None else Path(rider), Path(place), mass)


def read_text(
    bike: str | bytes, rider: str | bytes | None, place: str | bytes, mass: str | None = None
) -> Sheets:
    """The sheets of these texts, as a page sends them."""
    from cyclewright.sheets.sheets import load

    return load(bike, rider, place, mass)


def changed(sheets: Sheets, changes: Sequence[str]) -> Sheets:
    """The sheets after each FIELD=VALUE or FIELD+=VALUE; the same sheets without any."""
    from cyclewright.sheets.sheets import change

    return change(sheets, changes) if changes else sheets


def with_bike(sheets: Sheets, bike: Path | str) -> Sheets:
    """The same rider and place with the bike of another sheet."""
    from dataclasses import replace

    from cyclewright.sheets.read import read

    return replace(sheets, bike=read(Path(bike), "bike", str(bike)))


def quick_start(answers: Mapping[str, str]) -> QuickStart:
    """Three sheets from nine answers."""
    from cyclewright.sheets.quickstart import quick_start as start

    return start(answers)


def asks() -> tuple[Ask, ...]:
    """The questions of the quick start, in their order."""
    from cyclewright.sheets.quickstart import ASKS

    return ASKS


def check_answer(key: str, text: str) -> tuple[Problem, ...]:
    """What is wrong with one answer of the quick start by itself."""
    from cyclewright.sheets.quickstart import check

    return check(key, text)


def fields(kind: SheetKind | None = None) -> tuple[FieldInfo, ...]:
    """Every field of the sheets, or of one kind of sheet."""
    from cyclewright.sheets.fields import fields as every

    return every(kind)


@dataclass(frozen=True, slots=True)
class Overview:
    """What the sheets say in a few words, what was taken as usual, and what to look up."""

    bike: str
    rider: str
    place: str
    defaults: tuple[Default, ...]
    questions: tuple[Question, ...]

    def to_json(self) -> dict[str, Any]:
        """The overview as plain data."""
        return {
            "bike": self.bike,
            "rider": self.rider,
            "place": self.place,
            "defaults": [asdict(item) for item in self.defaults],
            "questions": [item.to_json() for item in self.questions],
        }


def overview(sheets: Sheets) -> Overview:
    """What these sheets hold, what is defaulted when it is used, and what has to be looked up."""
    from cyclewright.knowledge.defaults import fill
    from cyclewright.workshop.check import check

    stated = sheets.rider is not None or sheets.mass is not None
    return Overview(
        _bike_words(sheets),
        _rider_words(sheets),
        sheets.place.country or "",
        fill(sheets).defaults if stated else (),
        check(sheets).questions,
    )


def write_sheets(made: QuickStart, folder: Path) -> tuple[Path, ...]:
    """Write the three sheets into a folder, never over sheets that stand there already."""
    texts = {"bike": made.bike_toml, "rider": made.rider_toml, "place": made.place_toml}
    targets = {name: folder / f"{name}.toml" for name in texts}
    there = [path for path in targets.values() if path.exists()]
    if there:
        do = "stands there already: name another folder with --to, or move it away"
        raise InputError([Problem("sheet-exists", str(path), do) for path in there])
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, path in targets.items():
            with path.open("x", encoding="utf-8") as file:
                file.write(texts[name])
    except OSError as error:
        do = f"cannot be written: {error.strerror}; name another folder with --to"
        raise InputError(Problem("folder", str(folder), do)) from error
    return tuple(targets.values())


def _bike_words(sheets: Sheets) -> str:
    bike = sheets.bike
    name = " ".join(word for word in (bike.maker, bike.model) if word)
    travel = [item.text for item in (bike.fork.travel, bike.rear.travel) if item is not None]
    kind = f"{bike.kind}" + (f", {' and '.join(travel)}" if travel else "")
    return f"{name} ({kind})" if name else kind


def _rider_words(sheets: Sheets) -> str:
    rider = sheets.rider
    if rider is None:
        return "rider not fitted" + (f", {sheets.mass.text}" if sheets.mass else "")
    sizes = [item.text for item in (rider.height, rider.mass) if item is not None]
    return ", ".join([*([rider.name] if rider.name else []), *sizes])
