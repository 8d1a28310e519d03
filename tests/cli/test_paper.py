"""`draw` and `print`: files that are what they say, and what they refuse."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import pytest
from pypdf import PdfReader

from cli.commands import SHEETS, typed


def test_a_drawing_goes_to_the_screen_or_into_a_file(tmp_path, opened):
    svg = typed("draw", *SHEETS).out
    assert ET.fromstring(svg).tag.endswith("svg")
    target = tmp_path / "deep/bike.svg"
    assert typed("draw", 1, "-o", target).out == f"{target}\n"
    assert ET.parse(target).getroot().tag.endswith("svg")
    told = typed("draw", 1, "--posture", "standing", "--json").json
    assert ET.fromstring(told["svg"]).tag.endswith("svg")


def test_what_a_drawing_shows_is_chosen(opened):
    def shown(*names):
        drawn = typed("draw", 1, *(part for name in names for part in ("--show", name))).out
        return {item.attrib["data-layer"] for item in ET.fromstring(drawn).iter()
                if "data-layer" in item.attrib}  # fmt: skip

    assert shown("angles") == {"angles"}
    assert shown("levers", "loads") == {"levers", "sweep", "loads"}
    assert shown() == shown("all") - {"sweep"}


def test_what_cannot_be_drawn_is_told(tmp_path, opened):
    assert "use seated or standing" in typed("draw", 1, "--posture", "lying", code=2).err
    assert "use any of: balance" in typed("draw", 1, "--show", "bones", code=2).err
    assert "name a bike sheet" in typed("draw", "nosuch.toml", code=2).err
    assert "no such field" in typed("draw", *SHEETS, "--change", "bike.nope=1", code=2).err
    assert "check the path" in typed("draw", 1, "-o", tmp_path, code=4).err


@pytest.mark.parametrize("what", ["plan", "torque-card"])
def test_a_document_is_a_pdf_beside_its_name(tmp_path, opened, monkeypatch, what):
    monkeypatch.chdir(tmp_path)
    assert typed("print", what, 1, "--json").json == {"path": f"{what}-1.pdf"}
    pdf = (tmp_path / f"{what}-1.pdf").read_bytes()
    assert "Tarnwick" in "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_an_unknown_document_names_those_there_are(opened):
    said = typed("print", "novel", 1, "--json", code=2)
    assert "hand-over" in said.errors[0]["do"]
    assert typed("print", "plan", code=2).err
