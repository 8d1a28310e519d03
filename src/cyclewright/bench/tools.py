"""The shop's torque tools, what they are set to, and figures that disagree."""

from __future__ import annotations

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from cyclewright.bench import forms, visit
from cyclewright.bench.amounts import amount
from cyclewright.bench.forms import Form
from cyclewright.bench.render import go, page, person_of, session_of, shop_of
from cyclewright.errors import InputError, Problem, input_error
from cyclewright.workshop import check, sheets, tools

router = APIRouter(include_in_schema=False)

WHOSE = {
    "part": "the mark on the part",
    "maker": "the maker's booklet",
    "law": "the country's law",
    "standard": "a published standard",
    "measured": "measured on this bike",
    "practice": "a habit",
}


@router.get("/tools")
def show(
    request: Request,
    tool: int | None = Query(None, ge=1, lt=2**31),
    torque: str = Query("", max_length=40),
    crowfoot: str = Query("", max_length=40),
    angle: str = Query("", max_length=40),
) -> Response:
    """The tools with their calibration; asked for one, what it is set to."""
    shop = shop_of(request)
    rows = tools.tools(shop, all_of_them=True)
    setting: tools.ToolSetting | None = None
    trouble: tuple[Problem, ...] = ()
    if tool is not None and torque.strip():
        try:
            setting = tools.tool_setting(
                shop,
                tool,
                amount(torque.strip(), "N.m"),
                fitting="crowfoot" if crowfoot.strip() else "none",
                extension=amount(crowfoot.strip(), "mm") or None,
                angle=amount(angle.strip() or "0", "deg"),
            )
        except InputError as error:
            trouble = error.problems
    data = {
        "tools": [row.to_json() for row in rows],
        "setting": None if setting is None else setting.to_json(),
        "errors": [problem.to_json() for problem in trouble],
    }
    context = {
        "kept": [row for row in rows if not row.retired],
        "gone": [row for row in rows if row.retired],
        "asked": {"tool": tool, "torque": torque, "crowfoot": crowfoot, "angle": angle},
        "setting": setting,
        "trouble": trouble,
        "said": session_of(request).take(),
    }
    return page(request, "tools.html", data, context, 422 if trouble else 200)


@router.post("/tools")
def keep(request: Request, form: Form) -> Response:
    """A new tool, or one written anew after its calibration."""
    days = forms.text(form, "days") or str(tools.CALIBRATION_DAYS)
    if not days.isdecimal():
        raise input_error("days", "days", "give whole days", value=days)
    tolerance = forms.optional(form, "tolerance")
    arm = forms.optional(form, "arm")
    row = tools.keep_tool(
        shop_of(request),
        forms.text(form, "name"),
        amount(forms.text(form, "low"), "N.m"),
        amount(forms.text(form, "high"), "N.m"),
        mark=amount(forms.text(form, "mark") or "0.1", "N.m"),
        tolerance=None if tolerance is None else amount(tolerance, "%"),
        setting=forms.text(form, "kind") != "shows",
        arm=None if arm is None else amount(arm, "mm"),
        calibrated=forms.optional(form, "calibrated"),
        days=int(days),
        tool=forms.number_of(form, "tool"),
        by=person_of(request),
        uuid=forms.optional(form, "uuid"),
    )
    session_of(request).said = visit.Told(f"{row.name} is kept as tool {row.id}.")
    return go(request, "/tools", row.to_json())


@router.post("/tools/{tool}/retire")
def retire(request: Request, tool: int, form: Form) -> Response:
    """A tool that is no longer used."""
    reason, own = forms.text(form, "reason"), forms.optional(form, "uuid")
    row = tools.retire_tool(shop_of(request), tool, reason, person_of(request), own)
    session_of(request).said = visit.Told(f"{row.name} is no longer used: {row.retired}.")
    return go(request, "/tools", row.to_json())


@router.get("/settle")
def settle(
    request: Request,
    field: str = Query("", max_length=120),
    a: str = Query("", max_length=80),
    b: str = Query("", max_length=80),
    whose_a: str = Query("part", max_length=20),
    whose_b: str = Query("maker", max_length=20),
) -> Response:
    """Two figures disagree: which holds and why, or what decides it."""
    verdict = None
    trouble: tuple[Problem, ...] = ()
    asked = {"field": field, "a": a, "b": b, "whose_a": whose_a, "whose_b": whose_b}
    known = {item.path: item for item in sheets.fields() if not item.path.startswith("rider.")}
    if field.strip():
        unit = known[field.strip()].unit if field.strip() in known else ""
        try:
            figures = amount(a, unit), amount(b, unit)
            verdict = check.settle(field.strip(), *figures, whose_a, whose_b)
        except InputError as error:
            trouble = error.problems
    data = {
        "verdict": None if verdict is None else verdict.to_json(),
        "errors": [problem.to_json() for problem in trouble],
    }
    context = {
        "asked": asked,
        "verdict": verdict,
        "trouble": trouble,
        "whose": WHOSE,
        "fields": known.values(),
    }
    return page(request, "settle.html", data, context, 422 if trouble else 200)
