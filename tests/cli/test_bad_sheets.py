"""Bad sheets of every kind end in clear lines and exit 2, whatever is asked of them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from cli.commands import LEFT, SHEETS, TRAIL, typed
from modes import bound_by_modes

KINDS = ("bike", "rider", "place")
TEXTS = {kind: path.read_text(encoding="utf-8") for kind, path in zip(KINDS, SHEETS, strict=True)}
REQUIRED = {"bike": "kind", "rider": "mass", "place": "country"}
QUANTITY = {
    "bike": ("[fork]", "travel", "fork.travel"),
    "rider": ("", "height", "height"),
    "place": ("[workshop]", "altitude", "workshop.altitude"),
}


def without(kind: str) -> str:
    """The sheet without a field that must be there."""
    start = f"{REQUIRED[kind]} ="
    return "\n".join(line for line in TEXTS[kind].splitlines() if not line.startswith(start))


def with_value(kind: str, value: str) -> str:
    """The sheet with another value in one of its quantities."""
    table, name, _ = QUANTITY[kind]
    lines, here = [], ""
    for line in TEXTS[kind].splitlines():
        if line.startswith("["):
            here = line.strip()
        lines.append(
            f"{name} = {value}" if here == table and line.startswith(f"{name} =") else line
        )
    changed = "\n".join(lines)
    assert changed != TEXTS[kind].rstrip("\n")
    return changed


BAD = {
    "empty": lambda kind: b"",
    "blank": lambda kind: b"\n\n# only a note\n",
    "torn": lambda kind: TEXTS[kind].encode()[: len(TEXTS[kind]) // 2 + 3],
    "12 MB": lambda kind: b"#" * 12_000_000,
    "binary": lambda kind: bytes(range(256)) * 40,
    "UTF-16": lambda kind: TEXTS[kind].encode("utf-16"),
    "a zero byte": lambda kind: TEXTS[kind].encode() + b"\0",
    "deep in a line": lambda kind: b"a = " + b"[" * 100_000,
    "deep over lines": lambda kind: b"a = " + b"[\n" * 100_000,
    "unknown key": lambda kind: b'colour = "red"\n' + TEXTS[kind].encode(),
    "missing field": lambda kind: without(kind).encode(),
    "wrong unit": lambda kind: with_value(kind, '"3 psi"').encode(),
    "no unit": lambda kind: with_value(kind, '"140"').encode(),
    "inches of a foot": lambda kind: with_value(kind, "'5\\'13\"'").encode(),
    "comma of thousands": lambda kind: with_value(kind, '"1,750 mm"').encode(),
    "not a number": lambda kind: with_value(kind, "nan").encode(),
    "wrong kind": lambda kind: TEXTS[KINDS[KINDS.index(kind) - 1]].encode(),
}


def sheets(tmp_path: Path, kind: str, content: bytes) -> list[Path]:
    """The three sheets, one of them bad."""
    bad = tmp_path / f"{kind}.toml"
    bad.write_bytes(content)
    return [bad if name == kind else path for name, path in zip(KINDS, SHEETS, strict=True)]


def clear(text: str, kind: str) -> None:
    """Short printable lines, each naming the sheet or a field of it."""
    lines = text.splitlines()
    assert 1 <= len(lines) <= 62
    for line in lines:
        assert line.isprintable()
        assert line.startswith((f"{kind} sheet", f"{kind}."))
        assert len(line) < 400


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", BAD)
def test_a_bad_sheet_is_told_in_clear_lines(tmp_path, data, kind, name):
    paths = sheets(tmp_path, kind, BAD[name](kind))
    said = typed("check", *paths, code=2)
    assert said.out == ""
    clear(said.err, kind)
    for command in ("advise", "plan", "open"):
        again = typed(command, *paths, code=2)
        assert (again.out, again.err) == ("", said.err)
        told = typed(command, *paths, "--json", code=2)
        assert told.out == ""
        assert len(told.errors) == len(said.err.splitlines())
    assert not data.exists()


def test_a_negative_mass_is_refused(tmp_path):
    for kind, text in (("rider", "mass = '-52 kg'"), ("bike", "mass = '-14 kg'")):
        lines = (text if row.startswith("mass =") else row for row in TEXTS[kind].splitlines())
        said = typed("advise", *sheets(tmp_path, kind, "\n".join(lines).encode()), code=2)
        assert said.err.startswith(f"{kind}.mass is -")
        assert "cannot be negative" in said.err


def test_what_the_field_wants_is_said(tmp_path):
    for kind in KINDS:
        field = f"{kind}.{QUANTITY[kind][2]}"
        said = typed("check", *sheets(tmp_path, kind, BAD["wrong unit"](kind)), "--json", code=2)
        assert [(error["field"], error["value"]) for error in said.errors] == [(field, "3 psi")]
        assert "use one of: " in said.errors[0]["do"]


def test_bad_sheets_are_told_together(tmp_path):
    paths = []
    for kind, name in zip(KINDS, ("empty", "torn", "12 MB"), strict=True):
        paths.append(tmp_path / f"{kind}.toml")
        paths[-1].write_bytes(BAD[name](kind))
    lines = typed("plan", *paths, code=2).err.splitlines()
    assert [line.split()[0] for line in lines] == list(KINDS)


@pytest.mark.parametrize("command", ["check", "advise", "plan", "open"])
def test_a_folder_and_a_missing_file_are_named(tmp_path, command):
    (tmp_path / "folder.toml").mkdir()
    said = typed(command, tmp_path / "folder.toml", *SHEETS[1:], code=2)
    assert "is a folder: name the sheet inside it" in said.err
    said = typed(command, *TRAIL, tmp_path / "none.toml", code=2)
    assert "place sheet none.toml: there is no file" in said.err
    said = typed(command, "\0", *SHEETS[1:], code=2)
    clear(said.err, "bike")


def test_a_sheet_that_may_not_be_read_is_named(tmp_path):
    locked = tmp_path / "locked.toml"
    locked.write_text(TEXTS["place"], encoding="utf-8")
    locked.chmod(0)
    command = [sys.executable, "-m", "cyclewright", "check", *map(str, TRAIL), str(locked)]
    said = subprocess.run(
        [*bound_by_modes(), *command], capture_output=True, text=True, check=False
    )
    assert said.returncode == 2
    assert said.stderr.startswith("place sheet locked.toml: ")
    assert "ermission" in said.stderr


def test_a_byte_order_mark_is_no_fault(tmp_path):
    for kind in KINDS:
        content = b"\xef\xbb\xbf" + TEXTS[kind].encode()
        assert typed("plan", *sheets(tmp_path, kind, content), "--json").json["steps"]


def test_a_stated_mass_instead_of_a_rider():
    bike, rider, place = SHEETS
    assert typed("advise", bike, place, "--mass", "80 kg", "--json").json["settings"]
    for mass, words in (
        ("80", "add the unit"),
        ("-80 kg", "cannot be negative"),
        ("80 psi", "use one of"),
        ("9 t", "mass is 9 t"),
    ):
        assert words in typed("advise", bike, place, "--mass", mass, code=2).err
    assert "mass: is missing" in typed("advise", bike, place, code=2).err
    assert (
        "rider sheet is given too"
        in typed("advise", bike, rider, LEFT, "--mass", "80 kg", code=2).err
    )
