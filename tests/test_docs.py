"""What the documents say can be typed, can be typed; what they show, exists."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

import commands
from cyclewright.cli.main import run

ROOT = Path(__file__).parents[1]
PAGES = (
    *sorted(ROOT.glob("*.md")),
    *(page for page in sorted((ROOT / "docs").glob("*.md")) if page.name != "commands.md"),
)
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SPOKEN = re.compile(r"`(cyclewright [^`]+)`")
LINK = re.compile(r"(?:\]\(|src=\")(?!https?:|#|mailto:)([^)#\"]+)")
KEPT = {"bench", "demo"}
"""Commands that would serve or take half a minute: only their options are looked at here."""


@dataclass(frozen=True)
class Line:
    words: tuple[str, ...]
    code: int


def _lines(block: str) -> Iterator[Line]:
    """The commands of a fenced block; `# exits N` says how one ends."""
    for line in block.replace("\\\n", " ").splitlines():
        words = shlex.split(line.removeprefix("$ "), comments=True)
        if words and Path(words[0]).name == "cyclewright":
            ends = re.search(r"# exits (\d+)", line)
            yield Line(tuple(words[1:]), int(ends[1]) if ends else 0)


def _blocks() -> Iterator[tuple[str, tuple[Line, ...]]]:
    for page in PAGES:
        for number, match in enumerate(FENCE.finditer(page.read_text(encoding="utf-8")), 1):
            lines = tuple(_lines(match[2])) if match[1] in ("sh", "console") else ()
            if lines:
                yield f"{page.name}-{number}", lines


def _spoken() -> Iterator[tuple[str, str]]:
    for page in (*PAGES, ROOT / "docs/commands.md"):
        for match in SPOKEN.finditer(page.read_text(encoding="utf-8")):
            if "…" not in match[1]:
                yield page.name, match[1]


BLOCKS = dict(_blocks())


def test_the_pages_hold_commands_at_all():
    assert len(BLOCKS) >= 5
    assert sum(len(lines) for lines in BLOCKS.values()) > 20


@pytest.mark.parametrize("block", BLOCKS)
def test_fenced_commands_run_as_written(block, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CYCLEWRIGHT_DATA", str(tmp_path / "record"))
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    _photo(tmp_path / "fork.jpg")
    for line in BLOCKS[block]:
        if line.words and line.words[0] in KEPT:
            assert _known(line.words) is None
            continue
        code = run(line.words)
        said = capsys.readouterr()
        assert code == line.code, f"{shlex.join(line.words)} exits {code}: {said.err}"
        assert "Traceback" not in said.err


def test_commands_named_in_sentences_exist():
    for page, text in _spoken():
        words = shlex.split(text.replace("'…'", "x"))[1:]
        assert (wrong := _known(words)) is None, f"{page}: {text}: {wrong}"


def test_a_wrong_command_in_a_page_would_be_seen():
    assert _known(("advise", "--chnage", "x")) == "--chnage"
    assert _known(("advice",)) == "advice"
    assert _known(("sheet", "news")) == "sheet news"
    assert next(_lines("cyclewright gate 1 ride   # exits 1")).code == 1


def test_the_page_of_commands_is_the_program_own_help():
    page = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    assert page == commands.page(), "run `make docs`"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_pictures_lead_somewhere(page):
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), f"{page.name} points to {target}"


def test_files_that_pages_name_are_there():
    named = re.compile(r"`((?:src|tests|docs|examples|tools|benchmarks|requirements)/[\w./-]+)`")
    for page in PAGES:
        for target in named.findall(page.read_text(encoding="utf-8")):
            assert (ROOT / target).exists(), f"{page.name} names {target}"


def test_make_targets_that_pages_name_are_there():
    targets = set(re.findall(r"^(\w+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.M))
    for page in PAGES:
        for target in re.findall(r"`(?:\w+=\w+ )?make (\w+)", page.read_text(encoding="utf-8")):
            assert target in targets, f"{page.name}: make {target}"


def test_pictures_are_small_enough_for_a_clone():
    pictures = list((ROOT / "docs/pictures").glob("*.png"))
    assert pictures
    assert all(picture.stat().st_size < 400_000 for picture in pictures)


def test_a_bare_call_says_what_there_is(capsys):
    assert run([]) == 0
    said = capsys.readouterr()
    assert all(f"\n  {name.split()[0]} " in said.out for name in commands.tree())
    assert said.err == ""


def test_every_help_has_one_whole_sentence_in_the_list(capsys):
    for bare in ([], ["sheet"]):
        run(bare)
        assert "..." not in capsys.readouterr().out.partition("Commands:")[2]
    for name in commands.tree():
        assert run([*name.split(), "--help"]) == 0
        said = capsys.readouterr().out
        assert "<str>" not in said and "list[" not in said, name


def _known(words) -> str | None:
    """The first word that the program does not know, None when it knows them all."""
    if not words or words[0].startswith("-"):
        return None
    tree = commands.tree()
    groups = {name.split()[0] for name in tree if " " in name}
    name = words[0]
    if name in groups:
        name = _verb(words, tree)
    if name in groups:
        return None
    if name not in tree:
        return name
    options = {"--help"}
    for item in tree[name].params:
        options |= {*item.opts, *item.secondary_opts}
    if name == "calc":
        options |= {"--json", "--units", "--data"}
    return next((word for word in words if word.startswith("--") and word not in options), None)


def _verb(words, tree) -> str:
    """A group's command by its whole name; the verb may stand after the bike."""
    named = [word for word in words[1:3] if not word.startswith("-")]
    found = [f"{words[0]} {word}" for word in named if f"{words[0]} {word}" in tree]
    bare = not named or named[0].isdecimal() or named[0] == "ID"
    return found[0] if found else words[0] if bare else " ".join(words[:2])


def _photo(path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (64, 48), (200, 200, 200)).save(path)


def test_every_setting_is_explained_and_every_source_leads_there():
    from cyclewright.sheets.sheets import load
    from cyclewright.workshop import advising

    sums = (ROOT / "docs/sums.md").read_text(encoding="utf-8")
    examples = ROOT / "examples"
    for bike in sorted((examples / "bikes").glob("*.toml")):
        sheets = load(bike, examples / "riders/heavy.toml", examples / "places/left.toml", None)
        missing = {
            one.name for one in advising.advise(sheets).settings if f"`{one.name}`" not in sums
        }
        assert not missing, f"docs/sums.md does not say how these come about: {missing}"
    headings = {line.removeprefix("## ").lower() for line in sums.splitlines() if line[:3] == "## "}
    named = {
        name
        for path in (ROOT / "src/cyclewright").rglob("*.py")
        for name in re.findall(r'"([^"]+), docs/sums\.md"', path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= headings


EXCERPT = re.compile(r"^From `([^`]+)`:\n\n```\w+\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def test_excerpts_are_word_for_word_in_their_files():
    excerpts = EXCERPT.findall((ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8"))
    assert len(excerpts) >= 8
    for path, text in excerpts:
        file = (ROOT / path).read_text(encoding="utf-8")
        for part in text.split("…\n"):
            assert part in file, f"{path} no longer says:\n{part}"
