"""The demo played once, from carton to hand-over, and what it leaves behind."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from pypdf import PdfReader

from cyclewright import units
from cyclewright.workshop import advising, care
from cyclewright.workshop.build import plan_for
from cyclewright.workshop.shop import Shop
from played import Played

PAPERS = ("hand-over", "plan", "setting-card", "torque-card", "sag-strip", "tag", "claim")


def words(path: Path) -> str:
    """Every word of a document, on one line."""
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return " ".join(text.split())


def section(log: str, command: str) -> str:
    """What a command said in the log."""
    return log.split(f"$ cyclewright {command}", 1)[1].split("\n$ cyclewright ", 1)[0]


def test_the_demo_plays_from_carton_to_hand_over(played: Played, tmp_path: Path) -> None:
    out, said = tmp_path / "demo", played
    shutil.copytree(played.folder, out)
    assert said.err == ""
    log = (out / "log.txt").read_text(encoding="utf-8")
    assert len(said.out.splitlines()) < 420
    missing = [line for line in said.out.splitlines() if line not in log.splitlines()]
    assert not missing

    # The papers: three clashes by name, and a shorter post clears one.
    first, second = log.split("$ cyclewright check ")[1:3]
    for clash in ("the left hand works the front brake", "dropper travel 200 mm", "max 5 N·m"):
        assert clash in first
    assert "STOP   Fit a dropper" in first
    assert "STOP   Fit a dropper" not in second
    assert second.count("STOP ") == first.count("STOP ") - 1

    # The carton: a dent with its photo, a part that is missing and promised, the claim.
    arrived = section(log, "receive 1 arrive")
    assert "carton.png" in arrived and "hidden damage by" in arrived and "on the slip:" in arrived
    told = log.split("\n$ cyclewright receive 1\n", 1)[1].split("\n$ ", 1)[0]
    assert re.search(r"spare hanger +missing +promised \d{4}-\d\d-\d\d by the bike's maker", told)
    assert "pushed in at the height of the hub" in words(out / "claim.pdf")
    assert "spare hanger" in words(out / "claim.pdf")
    assert re.search(r"to follow: spare hanger, promised for \d{4}-\d\d-\d\d", said.out)

    assert re.search(r"re-check booked for \d{4}-\d\d-\d\d", said.out)

    # A dozen cards, the brake change before the grips.
    plan = section(log, "plan --bike-id 1 --brief")
    assert plan.index("hands-changed-whole-levers") < plan.index("grips-clamped")
    cards = re.search(r"(\d+) steps on (\d+) cards", plan)
    assert cards is not None
    assert 10 <= int(cards[2]) <= 16

    # The gate asked too early refuses by name.
    early = section(log, "gate 1 ride")
    for item in ("fork-direction", "axles", "brake-hands", "brake-hold", "mass-and-use"):
        assert f"  {item}: not done yet" in early
    assert "can never be overridden" in early

    # A ring, the next pressure, stop; a moved bar, do these again.
    assert re.search(r"sit-downs: set \d+ \(\d+ to \d+\) psi next and expect .* then stop", log)
    assert re.search(r"\d+ mm, the mean of 3 sit-downs: stop here", log)
    assert re.search(r"recorded; do these \d+ again: .*stem-pinch.*?fork-sag", log, re.S)
    assert "The ride gate is passed." in log
    assert "The release gate is passed." in log

    # One changed byte is named, and only in the copy.
    named = re.search(r"bike 1, event (\d+): .*is not as it was written", log)
    assert named is not None
    assert "NOT as written" in log
    with Shop.open(out / "record") as shop:
        seen = care.show(shop, 1)
        assert int(named[1]) in {event.number for event in seen.events}
        assert care.verify(shop, 1).ok
        settings, made = advising.advise_bike(shop, 1).settings, shop.state(1).settings
        torques = {step.id: step.torque for step in plan_for(shop, 1).steps}
    assert set(seen.passed) == {"ride", "release"}
    assert [step.stage for step in seen.steps if step.status != "done"] == ["Care"]
    assert not (out / "tampered").exists()

    # The papers on disk, and every number on the hand-over sheet as it was computed or set.
    for name in PAPERS:
        assert words(out / f"{name}.pdf")
    assert (out / "bike.svg").read_text(encoding="utf-8").lstrip().startswith("<")
    sheet = words(out / "hand-over.pdf")
    for item in settings:
        if item.name in ("saddle_height", "post_insertion", "fork_pressure", "shock_pressure"):
            value = made[item.name].value if item.name in made else item.value
            assert value is not None
            number = units.show(value, item.display, item.graduation).split()[0]
            assert number in sheet, (item.name, number)
    for step in ("bar-in-stem", "stem-pinch", "front-wheel-tool-axle", "pedals-on"):
        window = torques[step]
        assert window is not None
        assert f"{window.set:g}" in sheet, step
    assert seen.released is not None
    assert seen.released["signature"]["signature"][:16] in sheet.replace(" ", "")

    # The time it took, what is left to do, where the sheet is.
    assert re.search(r"From carton to hand-over in \d+ s, \d+ events on record\.", log)
    assert "Still to do:" in log
    assert str(played.folder / "hand-over.pdf") in log
