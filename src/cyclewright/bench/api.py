"""The same use cases as JSON, described at /api/openapi.json."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import JSONResponse, Response

from cyclewright.bench import views
from cyclewright.bench.render import person_of, shop_of
from cyclewright.workshop import (
    advising,
    build,
    care,
    changing,
    readings,
    receive,
    release,
    sheets,
)
from cyclewright.workshop import undo as undoing
from cyclewright.workshop.wanted import Wanted

Short = Annotated[str, Field(max_length=200)]
Note = Annotated[str, Field(max_length=1000)]
Pin = Annotated[str, Field(max_length=20)]
Text = Annotated[str, Field(max_length=1_000_000)]
Bike = Annotated[int, Path(ge=1, lt=2**31)]
Gate = Literal["ride", "release"]


class Body(BaseModel):
    """A request body: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid")


class SheetsBody(Body):
    """The text of the three sheets; without a rider a stated mass."""

    bike: Text
    place: Text
    rider: Text | None = None
    mass: Short | None = None
    uuid: Short | None = None


class AnswersBody(Body):
    """The nine answers of the quick start, each as a person writes it."""

    answers: dict[Short, Short]


class StepBody(Body):
    """What was done at a step; `problem` and `put_off` say that it was not."""

    value: Note | None = None
    torque: Short | None = None
    word: Note | None = None
    as_set: bool = False
    problem: Note | None = None
    put_off: Note | None = None
    uuid: Short | None = None
    seen: int | None = Field(None, ge=0, lt=2**31)
    device_time: Short | None = None


class StepsBody(Body):
    """Lines of a station card ticked together."""

    steps: list[Short] = Field(max_length=200)
    uuid: Short | None = None
    seen: int | None = Field(None, ge=0, lt=2**31)


class UndoBody(Body):
    """The entry to take back: by number, one's newest of a step, or one's newest.

    `anyone` takes the newest whoever recorded it; `put_back` lets one's newest undo not count.
    """

    number: int | None = Field(None, ge=1, lt=2**31)
    step: Short | None = None
    anyone: bool = False
    put_back: bool = False
    uuid: Short | None = None
    seen: int | None = Field(None, ge=0, lt=2**31)


class Marks(Body):
    """A part as it is marked."""

    maker: Short = ""
    model: Short = ""
    serial: Short = ""
    batch: Short = ""


class WantedBody(Body):
    """One change: fields as `FIELD=VALUE` or `FIELD+=VALUE`, a sheet, a rider, or a part."""

    changes: list[Note] = Field([], max_length=50)
    sheet: Text | None = None
    rider: Text | None = None
    mass: Short | None = None
    earlier: int | None = Field(None, ge=1, lt=2**31)
    part: Short | None = None
    marks: Marks | None = None
    as_found: bool = False

    def wanted(self) -> Wanted:
        """The change as the use case takes it."""
        marks = {} if self.marks is None else self.marks.model_dump()
        return Wanted(
            tuple(self.changes),
            self.sheet,
            self.rider,
            self.mass,
            self.earlier,
            self.part,
            tuple((key, text) for key, text in marks.items() if text),
            self.as_found,
        )


class ChangeBody(WantedBody):
    """The same, to be made."""

    uuid: Short | None = None
    seen: int | None = Field(None, ge=0, lt=2**31)


class ReadingBody(Body):
    """A reading as it was read, with its unit."""

    value: Short
    uuid: Short | None = None
    seen: int | None = Field(None, ge=0, lt=2**31)
    device_time: Short | None = None


class ReleaseBody(Body):
    """Who releases, and who checked."""

    by: Short
    second: Short | None = None
    uuid: Short | None = None
    pin: Pin | None = None
    second_pin: Pin | None = None


class PassBody(Body):
    """In a shop with PINs the PIN of who passes a gate."""

    pin: Pin | None = None


class ErrorRow(BaseModel):
    """One thing that is wrong and what to do about it."""

    code: str
    field: str
    do: str
    value: str | None = None
    unit: str | None = None
    allowed: str | None = None


class Errors(BaseModel):
    """Everything that is wrong with a request."""

    errors: list[ErrorRow]


router = APIRouter(
    prefix="/api",
    responses={
        401: {"model": Errors, "description": "Not signed in"},
        403: {"description": "Not from a page of this bench"},
        409: {"model": Errors, "description": "The record does not allow it now"},
        422: {"model": Errors, "description": "A value that cannot be"},
    },
)


def _json(answer: Any) -> Response:
    return JSONResponse(views.plain(answer))


@router.get("/bikes")
def bikes(
    request: Request,
    query: Annotated[str, Query(max_length=100)] = "",
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
    offset: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
) -> Response:
    """The list of bikes, newest first."""
    rows = receive.list_bikes(shop_of(request), query, limit, offset)
    return JSONResponse({"bikes": [row.to_json() for row in rows]})


@router.post("/bikes")
def open_bike(request: Request, body: SheetsBody) -> Response:
    """Open a bike's record from its sheets."""
    read = sheets.read_text(body.bike, body.rider, body.place, body.mass)
    number = receive.open_bike(shop_of(request), read, by=person_of(request), uuid=body.uuid)
    return JSONResponse({"bike": number})


@router.post("/quick-start")
def quick_start(body: AnswersBody) -> Response:
    """The three sheets that nine answers make, and what they advise."""
    made = sheets.quick_start(body.answers)
    texts = {"bike": made.bike_toml, "rider": made.rider_toml, "place": made.place_toml}
    return JSONResponse({"sheets": texts, **advising.advise(made.sheets()).to_json()})


@router.get("/bikes/{bike}")
def show(request: Request, bike: Bike) -> Response:
    """How a bike stands."""
    return _json(care.show(shop_of(request), bike))


@router.get("/bikes/{bike}/plan")
def plan(request: Request, bike: Bike) -> Response:
    """The plan in force."""
    return _json(build.plan_for(shop_of(request), bike))


@router.get("/bikes/{bike}/check")
def papers(request: Request, bike: Bike) -> Response:
    """The papers cross-checked."""
    return _json(release.papers(shop_of(request), bike))


@router.get("/bikes/{bike}/advice")
def advice(
    request: Request, bike: Bike, change: Annotated[list[Note] | None, Query(max_length=50)] = None
) -> Response:
    """The settings, and what changes would move."""
    return _json(advising.advise_bike(shop_of(request), bike, change or ()))


@router.post("/bikes/{bike}/steps/{step}")
def record(request: Request, bike: Bike, step: Short, body: StepBody) -> Response:
    """Record a step."""
    given = body.model_dump()
    return _json(build.record_step(shop_of(request), bike, step, by=person_of(request), **given))


@router.post("/bikes/{bike}/ticks")
def ticks(request: Request, bike: Bike, body: StepsBody) -> Response:
    """Record several lines of a station card together."""
    given = body.model_dump()
    return _json(build.record_steps(shop_of(request), bike, by=person_of(request), **given))


@router.get("/bikes/{bike}/undo")
def look_at_undo(
    request: Request,
    bike: Bike,
    number: Annotated[int | None, Query(ge=1, lt=2**31)] = None,
    step: Annotated[str | None, Query(max_length=200)] = None,
    anyone: bool = False,
    put_back: bool = False,
) -> Response:
    """What an undo would take, by name, and what it would open again."""
    found = undoing.look(
        shop_of(request),
        bike,
        number=number,
        step=step,
        anyone=anyone,
        put_back=put_back,
        by=person_of(request),
    )
    return _json(found)


@router.post("/bikes/{bike}/undo")
def undo(request: Request, bike: Bike, body: UndoBody) -> Response:
    """Take an entry back, or put it back."""
    return _json(undoing.undo(shop_of(request), bike, by=person_of(request), **body.model_dump()))


@router.post("/bikes/{bike}/changes")
def change(request: Request, bike: Bike, body: ChangeBody) -> Response:
    """Make a change; says which steps that reopened. One that breaks a limit is refused."""
    shop, by = shop_of(request), person_of(request)
    return _json(changing.make(shop, bike, body.wanted(), by, body.uuid, body.seen))


@router.post("/bikes/{bike}/look")
def look_at_change(request: Request, bike: Bike, body: WantedBody) -> Response:
    """What a change would do; nothing is recorded."""
    return _json(changing.look(shop_of(request), bike, body.wanted()))


@router.post("/bikes/{bike}/readings/{kind}")
def reading(request: Request, bike: Bike, kind: Short, body: ReadingBody) -> Response:
    """Take a reading; says the next setting."""
    given = body.model_dump(exclude={"value"})
    shop, by = shop_of(request), person_of(request)
    return _json(readings.read(shop, bike, kind, body.value, by, **given))


@router.get("/bikes/{bike}/gates/{gate}")
def gate(request: Request, bike: Bike, gate: Gate) -> Response:
    """What a gate still wants."""
    return _json(release.gate(shop_of(request), bike, gate, pass_it=False))


@router.post("/bikes/{bike}/gates/{gate}")
def pass_gate(request: Request, bike: Bike, gate: Gate, body: PassBody | None = None) -> Response:
    """Pass a gate when nothing is missing."""
    pin = None if body is None else body.pin
    return _json(release.gate(shop_of(request), bike, gate, by=person_of(request), pin=pin))


@router.post("/bikes/{bike}/release")
def release_bike(request: Request, bike: Bike, body: ReleaseBody) -> Response:
    """Release the bike."""
    return _json(release.release(shop_of(request), bike, **body.model_dump()))


@router.get("/bikes/{bike}/verify")
def verify(request: Request, bike: Bike) -> Response:
    """Whether the record is as it was written."""
    return _json(care.verify(shop_of(request), bike))
