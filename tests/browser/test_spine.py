"""One bike through the pages, from nine answers to its hand-over sheet."""

from __future__ import annotations

import io
import re
from datetime import date, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect
from pypdf import PdfReader

ANSWERS = {
    "fork_travel": "150",
    "rear_travel": "140",
    "shock_stroke": "55",
    "tyre": "29x2.4",
    "height": "176",
    "mass": "82",
    "inseam": "83",
}
FACTS = {
    "bike.mass_limit": "130",
    "bike.drive.chainrings": "32",
    "bike.frame.seat_tube": "430",
    "bike.frame.insertion_min": "80",
    "bike.frame.insertion_max": "250",
    "bike.post.insertion_min": "80",
    "bike.post.length": "400",
    "bike.post.travel": "150",
}
"""What a person reads off the bike; clicks are counted as 14."""
LIKELY = {"mm": "3"}
MOST_STEPS = 150
_CARD_TOP = "document.querySelector('.station').getBoundingClientRect().top"


def test_from_nine_answers_to_the_hand_over_sheet(
    phone: Page, photo: Path, complaints: list[str]
) -> None:
    bike = _start(phone)
    _look_up(phone, bike)
    _refused_by_name(phone, bike)
    _tick_a_card(phone, bike)
    phone.get_by_role("link", name="one step at a time").click()
    for _ in range(MOST_STEPS):
        if (gate := phone.get_by_role("link", name="pass the ride gate")).count():
            gate.click()
            phone.get_by_role("button", name="Pass the ride gate").click()
            expect(phone.get_by_role("button", name="Pass the ride gate")).to_have_count(0)
            expect(phone.locator("#gate-ride")).to_contain_text("passed")
            phone.goto(f"{bike}/build")
            phone.get_by_role("link", name="one step at a time").click()
        elif phone.get_by_role("link", name="release the bike").count():
            break
        else:
            _do(phone, photo)
    _release(phone, bike)
    assert complaints == []


def _start(page: Page) -> str:
    """Nine answers, the first figures, and the bike's address."""
    page.get_by_role("link", name="Start a bike").last.click()
    page.select_option("#country", "GB")
    for key, value in ANSWERS.items():
        page.fill(f"#{key}", value)
    page.reload()
    expect(page.get_by_text("What you had typed is back")).to_be_visible()
    for name in ("tubeless", "hooked"):
        page.check(f"input[name={name}][value=yes]", force=True)
    page.get_by_role("button", name="Show the first answers").click()
    expect(page.get_by_text("Right hand")).to_be_visible()
    page.go_back()
    expect(page.get_by_label("Mass with kit")).to_have_value(ANSWERS["mass"])
    page.get_by_role("button", name="Show the first answers").click()
    expect(page.get_by_text("Right hand")).to_be_visible()
    expect(page.get_by_text("Fork ring at")).to_be_visible()
    page.get_by_role("button", name="Put this bike on the bench").click()
    page.wait_for_url(re.compile(r"/bikes/\d+$"))
    expect(page.get_by_label("What comes next")).to_contain_text("Walk round the closed carton")
    assert page.evaluate("sessionStorage.getItem('draft')") is None
    bike = page.url
    more = page.get_by_role("button", name="More: Bar rise")
    more.scroll_into_view_if_needed()
    page.locator("#drawing-phone svg").wait_for(state="attached")
    before = page.evaluate("scrollY")
    more.click()
    page.locator(".moved-card").wait_for(state="attached")
    assert page.evaluate("scrollY") == before
    return bike


def _look_up(page: Page, bike: str) -> None:
    """Answer what the bike page asks, with the first choice or a likely figure."""
    for _ in range(4):
        page.goto(f"{bike}?open=lookups")
        fields = page.locator("#lookups .field")
        if fields.count() == 0:
            return
        for field in fields.all():
            if (choice := field.locator("select")).count():
                choice.select_option(index=1)
                continue
            if "Leave it empty for any other post" in field.inner_text():
                continue
            name = field.locator("input").get_attribute("name") or ""
            field.locator("input").fill(FACTS.get(name.removeprefix("q:"), "14"))
        page.get_by_role("button", name="Keep the answers").click()
        page.locator(".said, .problems").first.wait_for()
        assert page.locator(".problems").all_inner_texts() == []


def _refused_by_name(page: Page, bike: str) -> None:
    """The gates asked too early name what is missing, and offer no way past."""
    page.goto(f"{bike}/gates")
    expect(page.locator("#gate-ride")).to_contain_text("Fork direction")
    assert page.get_by_role("button", name="Pass the ride gate").count() == 0
    assert page.get_by_role("button", name="Release this bike").count() == 0


def _tick_a_card(page: Page, bike: str) -> None:
    """Lines of one card are done together, and undo takes them back together."""
    page.goto(f"{bike}/build")
    card = page.locator(".station").first
    card.locator("input[type=checkbox]").first.check()
    press = card.get_by_role("button", name="The ticked lines are done")
    page.evaluate(f"scrollBy(0, {_CARD_TOP} + 90)")
    press.scroll_into_view_if_needed()
    stood = page.evaluate(_CARD_TOP)
    press.click()
    expect(page.locator(".said")).to_contain_text("done")
    stands = page.evaluate(_CARD_TOP)
    assert abs(stands - stood) < 2
    done = page.locator(".step-line.done").count()
    assert done >= 1
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".step-line.done")).to_have_count(0)
    page.wait_for_timeout(600)  # what this phone did itself is not told as somebody's
    assert page.locator(".said").inner_text().startswith("Taken back: ")


def _do(page: Page, photo: Path) -> None:
    """Whatever this step asks for, then Done."""
    before = page.url
    if (proof := page.locator("#photo")).count():
        proof.set_input_files(photo)
    if (options := page.locator("label.choice")).count():
        came = "/hands-delivered" in page.url  # as the first choice of the lookups says
        wanted = options.get_by_text("Left hand" if came else "Right hand")
        (wanted if wanted.count() else options).first.click()
    if (word := page.locator("#word")).count() and word.is_visible():
        word.fill("the stem's maker, by telephone: 4.7 is enough with paste")
    if (day := page.locator("#day")).count():
        day.fill((date.today() + timedelta(days=14)).isoformat())
    value = page.locator("#value")
    if value.count():
        assert value.input_value() == ""
        expected = page.locator("[data-from]:not([data-from='']) button[aria-label=More]")
        if expected.count():
            expected.click()
        else:
            value.fill(_likely(page))
    page.get_by_role("button", name="Done").click()
    page.wait_for_function(
        "before => location.href !== before || document.querySelector('.problems')", arg=before
    )
    page.wait_for_load_state()
    assert page.locator(".problems").all_inner_texts() == []
    expect(page).not_to_have_url(before)


def _likely(page: Page) -> str:
    """A figure in the unit that the step asks for, or a few words."""
    unit = page.locator("#value").get_attribute("placeholder") or ""
    return f"{LIKELY.get(unit, '3')} {unit}".strip() if unit else "as it should be"


def _release(page: Page, bike: str) -> None:
    """Both gates stand, the bike is released under a name, and its sheet is a PDF."""
    page.goto(f"{bike}/gates")
    page.fill("#by", "Mara Quill")
    page.get_by_role("button", name="Release this bike").click()
    expect(page.locator("#release")).to_contain_text("by Mara Quill")
    link = page.get_by_role("link", name="Hand-over sheet").get_attribute("href") or ""
    answer = page.request.get(page.url.split("/bikes")[0] + link)
    assert answer.ok
    assert answer.headers["content-type"] == "application/pdf"
    text = "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(answer.body())).pages)
    assert "Mara Quill" in text
    assert "Saddle" in text
