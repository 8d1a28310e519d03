"""From carton to hand-over with an invented bike: the real commands, their real output."""

from __future__ import annotations

import shutil
import sqlite3
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TextIO, cast

from cyclewright import units
from cyclewright.cli.common import say
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.answers import PlannedStep
    from cyclewright.workshop.shop import Shop

MECHANIC = "Robin"
SHEETS = ("bikes/trail.toml", "riders/light.toml", "places/left.toml")
SHORTER_POST = ("bike.post.travel=150 mm", "bike.post.length=430 mm")
BAR_UP = "bike.cockpit.bar_rise+=20 mm"
BAR_DOWN = "bike.cockpit.spacers_under+=-5 mm"
WORD = "faceplate at 4.7 N·m confirmed by the stem's maker in writing (demo)"


def play(out: Path, serve: bool) -> int:
    """Play the whole job into `out`; gives an exit code, 0 when every step did as it should."""
    began = time.monotonic()
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir(parents=True)
    with (out / "log.txt").open("w", encoding="utf-8") as log, _tee(log):
        story = _Story(out)
        story.tell()
        _close(story, time.monotonic() - began)
    if serve:
        from cyclewright.bench.serve import serve as served
        from cyclewright.workshop.shop import Shop

        with Shop.open(story.data) as shop:
            served(shop)
    return 0


class _Story:
    """One bike's way through the shop, by the same commands that anyone types."""

    def __init__(self, out: Path) -> None:
        self.out = out
        self.data = out / "record"
        source = _examples()
        folder = out / "sheets"
        folder.mkdir()
        self.sheets = [str(shutil.copy(source / name, folder)) for name in SHEETS]
        self.photo = out / "photo.png"
        _photo(self.photo)

    def tell(self) -> None:
        """Every chapter in order."""
        self._papers()
        self._settings()
        self._too_early()
        self._build()
        self._moved_bar()
        self._prove_and_release()
        self._tamper()
        self._print()

    def run(self, *arguments: str, code: int = 0, quiet: bool = False) -> None:
        """One command as typed, its output, and the exit code it must have."""
        from cyclewright.cli.main import run

        shown = " ".join(f"'{word}'" if " " in word else word for word in arguments)
        if not quiet:
            say(f"\n$ cyclewright {shown}".replace(str(self.out) + "/", ""))
        got = run([*arguments, *self._where(arguments[0])])
        if got != code:
            do = f"`cyclewright {shown}` ended {got} where {code} was due"
            raise InputError(Problem("demo", "", do))

    def _where(self, command: str) -> tuple[str, ...]:
        recorded = command in ("open", "list", "show", "record", "undo", "reading", "gate", "release")
        return ("--data", str(self.data)) if recorded or command in ("print", "draw") else ()

    def _papers(self) -> None:
        _chapter("Receive: the papers, before a bolt is turned")
        self.run("check", *self.sheets)
        say("\nA shorter dropper clears that finding, and only that one:")
        changes = [word for change in SHORTER_POST for word in ("--change", change)]
        self.run("check", *self.sheets, *changes)
        self.run("open", *self.sheets, *changes, "--by", MECHANIC)
        self.run("plan", "--bike-id", "1", "--data", str(self.data))

    def _settings(self) -> None:
        _chapter("Base: settings solved together")
        self.run("advise", "--bike-id", "1", "--data", str(self.data))
        say("\nThe bar goes up 20 mm. What else moves?")
        self.run("advise", "--bike-id", "1", "--data", str(self.data), "--change", BAR_UP)

    def _too_early(self) -> None:
        _chapter("The ride gate, asked too early")
        self.run("gate", "1", "ride", code=1)

    def _build(self) -> None:
        _chapter("Build, Fit and Base, recorded card by card")
        for line in self._lines(("Receive", "Build", "Fit", "Base")):
            self._record(line)
        self.run("show", "1")

    def _moved_bar(self) -> None:
        _chapter("The bar is moved after all")
        self.run("record", "1", "--change", BAR_DOWN, "--by", MECHANIC)
        self._again()
        self.run("gate", "1", "ride", "--by", MECHANIC)

    def _prove_and_release(self) -> None:
        _chapter("Prove and Release")
        for line in self._lines(("Prove", "Release")):
            self._record(line)
        self.run("gate", "1", "release", "--by", MECHANIC)
        self.run("release", "1", "--by", MECHANIC)
        self.run("verify", "1", "--data", str(self.data))

    def _tamper(self) -> None:
        _chapter("One byte is changed in a copy of the record")
        copy = self.out / "tampered"
        shutil.copytree(self.data, copy)
        _change_one_byte(copy)
        self.run("verify", "1", "--data", str(copy), code=4)
        shutil.rmtree(copy)

    def _print(self) -> None:
        _chapter("Paper")
        for what in ("hand-over", "plan", "setting-card", "torque-card", "sag-strip", "tag"):
            self.run("print", what, "1", "-o", str(self.out / f"{what}.pdf"))
        self.run("draw", "1", "-o", str(self.out / "bike.svg"))

    def _again(self) -> None:
        """Everything that is open again, until nothing is; one act may reopen another."""
        while lines := self._lines(("Build", "Fit", "Base")):
            self._record(lines[0])

    def _lines(self, stages: Sequence[str]) -> list[list[PlannedStep]]:
        """The lines of the cards of these stages whose steps are not done, in order."""
        from cyclewright.workshop import build, care

        with self._shop() as shop:
            done = {step.id for step in care.show(shop, 1).steps if step.status == "done"}
            cards = build.plan_for(shop, 1).cards()
        lines = [
            [step for step in line if step.id not in done]
            for card in cards
            if card.stage in stages
            for line in card.lines
        ]
        return [line for line in lines if line]

    def _record(self, line: list[PlannedStep]) -> None:
        """A line of a card: ticked together, or one by one where something is read."""
        plain = [step.id for step in line if set(step.evidence) <= {"tick", "torque"}]
        needs_word = any(step.torque is not None and step.torque.needs_word for step in line)
        if len(plain) == len(line) > 1 and not needs_word:
            self.run("record", "1", *plain, "--as-set", "--by", MECHANIC)
            return
        for step in line:
            self._one(step)

    def _one(self, step: PlannedStep) -> None:
        reading = "" if step.record is None else step.record.reading
        if reading in ("fork-sag", "shock-sag"):
            self._sag(step, "fork" if reading == "fork-sag" else "shock")
            return
        words = ["record", "1", step.id]
        if "torque" in step.evidence:
            words.append("--as-set")
            if step.torque is not None and step.torque.needs_word:
                words += ["--word", WORD]
        if {"value", "text"} & set(step.evidence):
            words += ["--value", self._value(step)]
        if "photo" in step.evidence:
            words += ["--photo", str(self.photo)]
        self.run(*words, "--by", MECHANIC)

    def _sag(self, step: PlannedStep, end: Literal["fork", "shock"]) -> None:
        """Read the ring, set the next pressure, read again, until the tool says stop."""
        from cyclewright.workshop import base
        from cyclewright.workshop.rehearsal import ring

        for _ in range(4):
            with self._shop() as shop:
                state = shop.state(1)
                shown = ring(shop.sheets(state), end, state.settings[f"{end}_pressure"].value)
            self.run("reading", "1", f"{end}-sag", shown, "--by", MECHANIC)
            with self._shop() as shop:
                told = base.latest(shop, 1, f"{end}-sag")
            if told is None or told.stop or told.next_setting is None:
                break
            after = told.next_setting
            pressure = units.show(after.value or 0.0, after.display, after.graduation)
            self.run("record", "1", f"{end}-pressure", "--value", pressure, "--by", MECHANIC)
        if self._open(step.id):
            self.run("record", "1", step.id, "--value", shown, "--by", MECHANIC)

    def _open(self, step: str) -> bool:
        from cyclewright.workshop import care

        with self._shop() as shop:
            found = care.show(shop, 1).step(step)
        return found is not None and found.status != "done"

    def _value(self, step: PlannedStep) -> str:
        """What is read: the advised setting, the step's expected value, or words from the sheet."""
        from cyclewright.workshop import base

        record = step.record
        if "text" in step.evidence or record is None:
            must_be = "" if record is None else record.must_be
            return must_be or self._words(step.id)
        with self._shop() as shop:
            setting = base.advise_bike(shop, 1).setting(record.setting)
        if setting is not None and setting.value is not None:
            shown = units.show(setting.value, setting.display, setting.graduation)
            return shown.removesuffix(" clicks")
        return f"{record.expect or record.high or 0:g} {record.unit}".strip()

    def _words(self, step: str) -> str:
        with self._shop() as shop:
            sheets = shop.sheets(shop.state(1))
        bike, rider = sheets.bike, sheets.rider
        limit = "" if bike.mass_limit is None else bike.mass_limit.text
        said = {
            "serial-read": bike.serial or "",
            "hands-delivered": f"{bike.hands_delivered}, as on the sheet",
            "mass-and-use-agreed": f"limit {limit} with the bike, class {bike.use_class}; "
            f"rider {'' if rider is None or rider.mass is None else rider.mass.text}, agreed",
            "car-park-ride": "ten minutes, gears and brakes under load, nothing moved",
            "explained-first-recheck": "after the first ride, then after five",
        }
        return said.get(step, "seen and found right")

    @contextmanager
    def _shop(self) -> Iterator[Shop]:
        from cyclewright.workshop.shop import Shop

        with Shop.open(self.data) as shop:
            yield shop


class _Tee:
    """Standard output that is kept in a file as well."""

    def __init__(self, screen: TextIO, log: TextIO) -> None:
        self._screen, self._log = screen, log

    def write(self, text: str) -> int:
        """Write to both."""
        self._log.write(text)
        return self._screen.write(text)

    def flush(self) -> None:
        """Flush both."""
        self._screen.flush()
        self._log.flush()

    def isatty(self) -> bool:
        """The log wants a fixed width, so nobody looks."""
        return False


@contextmanager
def _tee(log: TextIO) -> Iterator[None]:
    out, err = sys.stdout, sys.stderr
    sys.stdout = cast(TextIO, _Tee(out, log))
    sys.stderr = cast(TextIO, _Tee(err, log))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = out, err


def _chapter(title: str) -> None:
    say(f"\n{'─' * 4} {title} {'─' * max(4, 72 - len(title))}")


def _close(story: _Story, seconds: float) -> None:
    from cyclewright.workshop import care

    with story._shop() as shop:
        answer = care.show(shop, 1)
        questions = story_questions(shop)
    _chapter("Done")
    say(f"Hand-over sheet: {story.out / 'hand-over.pdf'}")
    say(f"From carton to hand-over in {seconds:.0f} s, {len(answer.events)} events on record.")
    left = [step for step in answer.steps if step.status != "done"]
    say("Still to do:")
    for step in left:
        say(f"  {step.station}: {step.do}")
    for field, ask in questions:
        say(f"  look up {field}: {ask}")


def story_questions(shop: Shop) -> list[tuple[str, str]]:
    """What nobody has looked up yet."""
    from cyclewright.workshop.check import check

    return [(item.field, item.ask) for item in check(shop.sheets(shop.state(1))).questions]


def _examples() -> Path:
    """The example sheets: beside the package when installed, at the project's root otherwise."""
    package = Path(__file__).parent.parent
    for folder in (package / "examples", package.parent.parent / "examples"):
        if (folder / SHEETS[0]).exists():
            return folder
    raise InputError(Problem("no-examples", "examples", "the example sheets are not installed"))


def _photo(path: Path) -> None:
    """A picture to stand for the mechanic's photo, plainly marked as one of the demo."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (640, 480), (226, 226, 220))
    pen = ImageDraw.Draw(image)
    for x in (190, 450):
        pen.ellipse((x - 105, 225, x + 105, 435), outline=(40, 40, 40), width=7)
    pen.line((190, 330, 300, 330, 420, 170, 250, 180, 300, 330), fill=(40, 40, 40), width=8)
    pen.line((420, 170, 410, 130), fill=(40, 40, 40), width=8)
    pen.line((420, 170, 450, 330), fill=(40, 40, 40), width=8)
    pen.text((20, 20), "demo photo", fill=(40, 40, 40))
    image.save(path)


def _change_one_byte(folder: Path) -> None:
    """Change one byte in the body of an event in the middle of the bike's history."""
    database = next(folder.glob("*.sqlite*"))
    with sqlite3.connect(database) as connection:
        rows = connection.execute(
            "SELECT number, body FROM event WHERE stream = 1 ORDER BY number"
        ).fetchall()
        number, body = rows[len(rows) // 2]
        changed = bytearray(body)
        changed[len(changed) // 2] ^= 1
        connection.execute(
            "UPDATE event SET body = ? WHERE stream = 1 AND number = ?", (bytes(changed), number)
        )
