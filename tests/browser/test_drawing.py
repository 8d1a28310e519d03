"""The drawing on a phone and a desk: its layers chosen, and no words on what they would hide."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import open_bike

COVERED = """(drawing) => {
  const box = (item) => item.getBoundingClientRect();
  const words = [...drawing.querySelectorAll("text")];
  const marks = drawing.querySelectorAll(
    ".hub, .joint, .centre, .post-end, .blade, .blade-pulled, .grip, .nut");
  const over = (a, b) => a.left < b.right - 0.5 && b.left < a.right - 0.5
    && a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5;
  const found = [];
  words.forEach((one, at) => {
    for (const mark of marks) {
      if (over(inked(one), box(mark))) found.push([one.textContent, mark.getAttribute("class")]);
    }
    for (const other of words.slice(at + 1)) {
      if (over(inked(one), inked(other))) found.push([one.textContent, other.textContent]);
    }
  });
  // A line's box reaches above its capitals and below its baseline.
  function inked(item) {
    const { left, right, top, bottom } = box(item);
    const high = bottom - top;
    return { left, right, top: top + 0.2 * high, bottom: bottom - 0.2 * high };
  }
  return found;
}"""
VIEWS = {"Weight, sag": "loads", "Angles": "angles", "Lengths": "lengths", "Levers": "levers"}


def looked_at(page: Page, where: str) -> None:
    """Every view of the drawing in turn: its layer is there, and nothing is covered."""
    drawing = page.locator(f"#drawing-{where} svg")
    expect(drawing).to_be_visible()
    assert drawing.evaluate(COVERED) == []
    form = page.locator(f"form.drawing-views.for-{'desk' if where == 'page' else 'phone'}")
    for word, layer in VIEWS.items():
        form.get_by_label(word).check()
        expect(page.locator(f"#drawing-{where} [data-layer={layer}]")).to_be_attached()
        for other in set(VIEWS.values()) - {layer}:
            expect(drawing.locator(f"[data-layer={other}]")).to_have_count(0)
        assert drawing.evaluate(COVERED) == [], word


@pytest.mark.parametrize(
    ("bike", "rider"), [("trail", "light"), ("hardtail", "heavy"), ("longtravel", "light")]
)
def test_every_view_at_390_and_1440(phone: Page, desk: Page, bike: str, rider: str) -> None:
    address = open_bike(phone, bike, rider)
    phone.goto(f"{address}/fit")
    looked_at(phone, "phone")
    desk.goto(address)
    looked_at(desk, "page")
    desk.get_by_role("link", name="Standing").click()
    expect(desk.locator("#drawing-page")).to_contain_text("rider standing")
    looked_at(desk, "page")
