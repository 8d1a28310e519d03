"""What a browser says of a page: axe's rules, and how much of it jumped."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

AXE = (Path(__file__).parent / "vendor/axe.min.js").read_text()
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """async (only) => {
  const rules = only === "contrast" ? { type: "rule", values: ["color-contrast"] } : only;
  const found = await axe.run(document, { runOnly: rules, resultTypes: ["violations"] });
  return found.violations.map((v) =>
    `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.target.join(" ") + " " + (n.any[0] ?? n.all[0]
      ?? n.none[0] ?? { message: "" }).message).join("; ")}`);
}"""
SHIFTS = """
window.shifts = 0; window.jumps = [];
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) {
    if (entry.hadRecentInput) continue;
    window.shifts += entry.value;
    for (const s of entry.sources ?? []) {
      window.jumps.push([entry.value, s.node?.className ?? s.node?.nodeName]);
    }
  }
}).observe({ type: "layout-shift", buffered: true });
"""


def violations(page: Page) -> list[str]:
    """What axe finds on the page, in light with every rule and in dark in its contrast."""
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(AXE)
    page.emulate_media(color_scheme="light")
    found: list[str] = page.evaluate(RUN, LEVELS)
    page.emulate_media(color_scheme="dark")
    return found + [f"dark {text}" for text in page.evaluate(RUN, "contrast")]
