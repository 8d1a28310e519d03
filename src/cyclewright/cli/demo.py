"""From carton to hand-over with an invented bike: the real commands, their real output."""

from __future__ import annotations

import shutil
import sqlite3
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TextIO, cast

from cyclewright import units
from cyclewright.cli.common import WIDTH, say, say_wrapped
from cyclewright.errors import InputError, Problem

if TYPE_CHECKING:
    from cyclewright.workshop.answers import PlannedStep
    from cyclewright.workshop.shop import Shop

MECHANIC = "Robin"
SHEETS = ("bikes/trail.toml", "riders/light.toml", "places/left.toml")
SHORTER_POST = ("bike.post.travel=150 mm", "bike.post.length=430 mm")
BAR_UP = "bike.cockpit.bar_rise+=20 mm"
BAR_DOWN = "bike.cockpit.spacers_under+=-5 mm"
GAP = "\N{NO-BREAK SPACE}"
"""Keeps a number and its unit on one line."""
CARRIER, SENDER = "Hill Parcels", "the bike's maker"
PARTS = ("frame and fork", "wheels", "bar and stem", "saddle and post", "pedals")
MISSING = "spare hanger"
KEPT = ("carton", "fork block", "axle blocks", "pad spacers")
PROMISED, RECHECK = timedelta(days=9), timedelta(days=14)
WORD = "faceplate at 4.7 N·m confirmed by the stem's maker in writing (demo)"


def play(out: Path, serve: bool) -> int:
    """Play the whole job into `out`; gives an exit code, 0 when every step did as it should."""
    began = time.monotonic()
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir(parents=True)
    with (out / "log.txt").open("w", encoding="utf-8") as log, _tee(log) as screen:
        story = _Story(out, screen)
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

    def __init__(self, out: Path, screen: _Tee) -> None:
        self.out = out
        self.screen = screen
        self.data = out / "record"
        self.chapters = 0
        source = _examples()
        folder = out / "sheets"
        folder.mkdir()
        self.sheets = [str(shutil.copy(source / name, folder)) for name in SHEETS]
        self.photo = out / "photo.png"
        _photo(self.photo)
        self.dent = out / "carton.png"
        _dented(self.dent)

    def tell(self) -> None:
        """Every chapter in order."""
        say("A bike of an invented maker, from its carton to its rider. Every number is computed,")
        say("every command is real; what is shortened here stands in full in log.txt.")
        self._papers()
        self._carton()
        self._settings()
        self._too_early()
        self._build()
        self._moved_bar()
        self._prove_and_release()
        self._tamper()
        self._print()

    def chapter(self, title: str) -> None:
        """The title of the next part of the story."""
        self.chapters += 1
        say(f"\n── {self.chapters}  {title} {'─' * max(4, 74 - len(title))}")

    def run(self, *arguments: str, code: int = 0, shown: bool = True) -> None:
        """One command as typed with its output, in the log only when not shown.

        A command that ends with another code than it must ends the demo.
        """
        from cyclewright.cli.main import run

        said = " ".join(f'"{word}"' if " " in word else word for word in arguments)
        said = said.replace(f"{self.out}/", "")
        with self.screen.hidden(not shown):
            say(f"\n$ cyclewright {said}")
            got = run([*arguments, *self._where(arguments)])
        if got != code:
            do = f"`cyclewright {said}` ended {got} where {code} was due"
            raise InputError(Problem("demo", "", do))

    def _where(self, arguments: Sequence[str]) -> tuple[str, ...]:
        """The demo keeps its record in a folder of its own."""
        return () if "--data" in arguments else ("--data", str(self.data))

    def _papers(self) -> None:
        self.chapter("Receive: the papers, before a bolt is turned")
        self.run("check", *self.sheets)
        say("\nA shorter dropper clears that finding, and only that one:")
        changes = [word for change in SHORTER_POST for word in ("--change", change)]
        self.run("check", *self.sheets, *changes, "--brief")
        say("\nIt is ordered, and the record of this bike begins:")
        self.run("open", *self.sheets, *changes, "--by", MECHANIC)
        self.run("plan", "--bike-id", "1", shown=False)
        self.run("plan", "--bike-id", "1", "--brief")

    def _carton(self) -> None:
        self.chapter("Receive: the carton, its damage, and what is missing in it")
        dent = "left side pushed in at the height of the hub"
        seen = ("--carrier", CARRIER, "--damage", dent, "--photo", str(self.dent))
        whose = ("--consignment", "HP 4471 902", "--sender", "Tarnwick Wheelwrights, Tarn")
        self.run("receive", "1", "arrive", *seen, *whose, "--by", MECHANIC)
        parts = [f"{name}=here" for name in PARTS] + [f"{MISSING}=missing"]
        self.run("receive", "1", "parts", *parts, "--all", "--by", MECHANIC)
        promised = str(date.today() + PROMISED)
        self.run("receive", "1", "expect", MISSING, promised, "--whose", SENDER, "--by", MECHANIC)
        self.run("receive", "1", "packing", *KEPT, "--by", MECHANIC, shown=False)
        self.run("print", "claim", "1", "-o", str(self.out / "claim.pdf"), shown=False)
        self.run("receive", "1", "claim", "--to", CARRIER, "--by", MECHANIC, shown=False)
        self.run("receive", "1")

    def _settings(self) -> None:
        self.chapter("Settings solved together")
        self.run("advise", "--bike-id", "1")
        say("\nThe bar goes up 20 mm. What else moves?")
        self.run("advise", "--bike-id", "1", "--change", BAR_UP)

    def _too_early(self) -> None:
        self.chapter("The ride gate, asked too early")
        self.run("gate", "1", "ride", code=1)

    def _build(self) -> None:
        self.chapter("Build, Fit and Base, recorded card by card")
        first, *rest = self._cards(("Receive", "Build", "Fit", "Base"))
        for line in first[1]:
            self._record(line, shown=True)
        say(f"\nThe other {len(rest)} cards, each line with what was read or set:\n")
        for station, lines in rest:
            self._card(station, lines)
        self.run("show", "1")

    def _moved_bar(self) -> None:
        self.chapter("The bar is moved after all: what has to be done again")
        self.run("record", "1", "--change", BAR_DOWN, "--by", MECHANIC)
        say()
        self._again()
        self.run("gate", "1", "ride", "--by", MECHANIC)

    def _prove_and_release(self) -> None:
        self.chapter("Prove and Release")
        say()
        for station, lines in self._cards(("Prove", "Release")):
            self._card(station, lines)
        self.run("gate", "1", "release", "--by", MECHANIC)
        self.run("release", "1", "--by", MECHANIC)
        self.run("verify", "1")

    def _tamper(self) -> None:
        self.chapter("One byte is changed in a copy of the record")
        copy = self.out / "tampered"
        shutil.copytree(self.data, copy)
        _change_one_byte(copy)
        self.run("verify", "1", "--data", str(copy), code=4)
        shutil.rmtree(copy)

    def _print(self) -> None:
        self.chapter("Paper")
        for what in ("hand-over", "plan", "setting-card", "torque-card", "sag-strip", "tag"):
            self.run("print", what, "1", "-o", str(self.out / f"{what}.pdf"), shown=False)
            say(f"{what:<13} {self.out / what}.pdf")
        say(f"{'claim':<13} {self.out / 'claim.pdf'}")
        self.run("draw", "1", "-o", str(self.out / "bike.svg"), shown=False)
        say(f"{'drawing':<13} {self.out / 'bike.svg'}")

    def _again(self) -> None:
        """Everything that is open again, until nothing is; one act may reopen another."""
        while cards := self._cards(("Build", "Fit", "Base")):
            station, lines = cards[0]
            self._card(station, lines)

    def _cards(self, stages: Sequence[str]) -> list[tuple[str, list[list[PlannedStep]]]]:
        """The cards of these stages with the lines whose steps are not done, in order."""
        from cyclewright.workshop import build, care

        with self._shop() as shop:
            done = {step.id for step in care.show(shop, 1).steps if step.status == "done"}
            cards = build.plan_for(shop, 1).cards()
        found = []
        for card in cards:
            lines = [[step for step in line if step.id not in done] for line in card.lines]
            left = [line for line in lines if line]
            if left and card.stage in stages:
                found.append((card.station, left))
        return found

    def _card(self, station: str, lines: list[list[PlannedStep]]) -> None:
        """A card recorded, told in a few lines; the rings are shown as they are read."""
        told: list[str] = []
        for line in lines:
            if any(_ring(step) for step in line):
                self._tell(station, told)
                told = []
            told += self._record(line)
        self._tell(station, told)

    def _tell(self, station: str, told: list[str]) -> None:
        if not told:
            return
        with self._shop() as shop:
            state = shop.state(1)
        count = f"{len(state.done())} of {len(state.planned_steps())}"
        say_wrapped(f"{' · '.join(told)} ({count})", f"{station:<19}")

    def _record(self, line: list[PlannedStep], shown: bool = False) -> list[str]:
        """A line of a card: ticked together, or one by one where something is read."""
        plain = [step.id for step in line if set(step.evidence) <= {"tick", "torque"}]
        needs_word = any(step.torque is not None and step.torque.needs_word for step in line)
        if len(plain) == len(line) > 1 and not needs_word:
            self.run("record", "1", *plain, "--as-set", "--by", MECHANIC, shown=shown)
            return [_ticked(step) for step in line]
        return [told for step in line for told in self._one(step, shown)]

    def _one(self, step: PlannedStep, shown: bool) -> list[str]:
        """One step with its evidence, and what is said of it; a ring tells its own story."""
        if end := _ring(step):
            self._sag(step, end)
            return []
        words = ["record", "1", step.id]
        told = [_ticked(step)]
        if "torque" in step.evidence:
            words.append("--as-set")
            if step.torque is not None and step.torque.needs_word:
                words += ["--word", WORD]
                told.append("on the maker's word")
        if {"value", "text"} & set(step.evidence):
            words += ["--value", self._value(step)]
            told.append(words[-1].replace(" ", GAP) if "value" in step.evidence else words[-1])
        if "photo" in step.evidence:
            words += ["--photo", str(self.photo)]
            told.append("photo")
        self.run(*words, "--by", MECHANIC, shown=shown)
        return [" ".join(told)]

    def _sag(self, step: PlannedStep, end: Literal["fork", "shock"]) -> None:
        """Sit down three times, set the next pressure, again, until the tool says stop."""
        from cyclewright.workshop import readings
        from cyclewright.workshop.rehearsal import sit_downs

        for turn in range(4):
            with self._shop() as shop:
                state = shop.state(1)
                pressure = state.settings[f"{end}_pressure"].value
                shown = sit_downs(shop.sheets(state), end, pressure, turn)
            self.run("reading", "1", f"{end}-sag", shown, "--by", MECHANIC)
            with self._shop() as shop:
                told = readings.latest(shop, 1, f"{end}-sag")
            if told is None or told.stop or told.next_setting is None:
                break
            after = told.next_setting
            wanted = units.show(after.value or 0.0, after.display, after.graduation)
            self.run("record", "1", f"{end}-pressure", "--value", wanted, "--by", MECHANIC)
        if self._open(step.id):
            self.run("record", "1", step.id, "--value", shown, "--by", MECHANIC)
        say()

    def _open(self, step: str) -> bool:
        from cyclewright.workshop import care

        with self._shop() as shop:
            found = care.show(shop, 1).step(step)
        return found is not None and found.status != "done"

    def _value(self, step: PlannedStep) -> str:
        """What is read: the advised setting, the step's expected value, or words from the sheet."""
        from cyclewright.workshop import advising

        record = step.record
        if "text" in step.evidence or record is None:
            must_be = "" if record is None else record.must_be
            return must_be or self._words(step.id)
        with self._shop() as shop:
            setting = advising.advise_bike(shop, 1).setting(record.setting)
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
            "explained-first-recheck": f"{date.today() + RECHECK}, manuals and tools with it, "
            f"{MISSING} to follow",
        }
        return said.get(step, "seen and found right")

    @contextmanager
    def _shop(self) -> Iterator[Shop]:
        from cyclewright.workshop.shop import Shop

        with Shop.open(self.data) as shop:
            yield shop


class _Tee:
    """Standard output that is kept in a file as well, and shown unless it is hidden."""

    width = WIDTH

    def __init__(self, screen: TextIO, log: TextIO) -> None:
        self._screen, self._log = screen, log
        self._shown = True

    def write(self, text: str) -> int:
        """Write to both."""
        if self._shown:
            self._screen.write(text)
        return self._log.write(text)

    def flush(self) -> None:
        """Flush both."""
        self._screen.flush()
        self._log.flush()

    def isatty(self) -> bool:
        """The log wants a fixed width, so nobody looks."""
        return False

    @contextmanager
    def hidden(self, hide: bool) -> Iterator[None]:
        """Into the file only, for a while."""
        before, self._shown = self._shown, self._shown and not hide
        try:
            yield
        finally:
            self._shown = before


@contextmanager
def _tee(log: TextIO) -> Iterator[_Tee]:
    out, err = sys.stdout, sys.stderr
    screen = _Tee(out, log)
    sys.stdout = cast(TextIO, screen)
    sys.stderr = cast(TextIO, _Tee(err, log))
    try:
        yield screen
    finally:
        sys.stdout, sys.stderr = out, err


def _ring(step: PlannedStep) -> Literal["fork", "shock", ""]:
    """The end whose ring this step reads, if it reads one."""
    reading = "" if step.record is None else step.record.reading
    ends: dict[str, Literal["fork", "shock"]] = {"fork-sag": "fork", "shock-sag": "shock"}
    return ends.get(reading, "")


def _ticked(step: PlannedStep) -> str:
    """A step's name with the torque its tool stood at."""
    window = step.torque if "torque" in step.evidence else None
    return step.id if window is None or window.set is None else f"{step.id} {window.set:g}{GAP}N·m"


def _close(story: _Story, seconds: float) -> None:
    from cyclewright.workshop import care, carton, due

    with story._shop() as shop:
        answer = care.show(shop, 1)
        questions = _questions(shop)
        awaited = carton.carton(shop, 1).followed
        booked = [row.by for row in due.due(shop, 1).rows if row.item == due.BOOKED]
    story.chapter("Done")
    say(f"Hand-over sheet: {story.out / 'hand-over.pdf'}")
    say(f"Every command with its output: {story.out / 'log.txt'}")
    say(f"From carton to hand-over in {seconds:.0f} s, {len(answer.events)} events on record.")
    left = [step for step in answer.steps if step.status != "done"]
    say("Still to do:")
    for step in left:
        say_wrapped(step.do, f"  {step.station}: ")
    for day in booked:
        say(f"  re-check booked for {day}: `cyclewright care 1 calendar` puts it into a diary")
    for part in awaited:
        say(f"  to follow: {part.part}, promised for {part.expected} by {part.promised_by}")
    for field, ask in questions:
        say_wrapped(ask, f"  look up {field}: ")


def _questions(shop: Shop) -> list[tuple[str, str]]:
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


def _dented(path: Path) -> None:
    """A carton pushed in on one side, plainly marked as a picture of the demo."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (640, 480), (226, 226, 220))
    pen = ImageDraw.Draw(image)
    box = ((90, 130), (560, 110), (575, 420), (80, 430), (60, 330), (135, 285), (75, 230))
    pen.polygon(box, fill=(196, 160, 112), outline=(92, 70, 44), width=6)
    pen.line((325, 120, 328, 425), fill=(92, 70, 44), width=5)
    pen.line((135, 285, 190, 262), fill=(92, 70, 44), width=4)
    pen.line((135, 285, 182, 318), fill=(92, 70, 44), width=4)
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
