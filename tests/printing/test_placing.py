"""Labels: never over one another, near what they name, off the lines where there is room."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from cyclewright.printing.placing import Box, Busy, Label, measure, place

VIEW = Box(-1.0, -1.0, 1.0, 1.0)
POINTS = st.complex_numbers(max_magnitude=1.0, allow_nan=False, allow_infinity=False)
LABELS = st.lists(
    st.builds(
        Label,
        words=st.lists(st.text("Aglmq 0123°", min_size=1, max_size=14), min_size=1, max_size=3).map(
            tuple
        ),
        anchor=POINTS,
        size=st.sampled_from([0.03, 0.05, 0.08]),
        toward=st.none() | st.floats(-3, 3),
        weight=st.floats(0, 3),
    ),
    max_size=14,
)


@given(LABELS, st.lists(POINTS, max_size=60))
def test_no_label_ever_overlaps_another(labels: list[Label], busy: list[complex]) -> None:
    placed = place(labels, busy, VIEW)
    assert [item.label for item in placed] == labels
    assert not any(a.box.overlaps(b.box) for a, b in combinations(placed, 2))


@given(LABELS)
def test_no_label_stands_in_an_area_taken(labels: list[Label]) -> None:
    taken = [Box(-0.4, -0.2, 0.4, 0.2)]
    assert not any(item.box.overlaps(taken[0]) for item in place(labels, [], VIEW, taken))


@given(LABELS)
def test_the_same_labels_get_the_same_places(labels: list[Label]) -> None:
    assert place(labels, [], VIEW) == place(labels, [], VIEW)


def test_twenty_labels_on_one_point_all_find_room_with_leaders() -> None:
    labels = [Label((f"Label {number}",), 0j, 0.06) for number in range(20)]
    placed = place(labels, [], VIEW)
    assert not any(a.box.overlaps(b.box) for a, b in combinations(placed, 2))
    off = [item for item in placed if item.leader is not None]
    assert off
    assert all(item.leader[0] == 0j for item in off if item.leader)


def test_a_label_keeps_off_a_line_when_there_is_room_beside_it() -> None:
    line = [complex(x / 100, 0.0) for x in range(-100, 101)]
    (placed,) = place([Label(("Beside it",), 0j, 0.05)], line, VIEW)
    assert placed.box.bottom > 0.0 or placed.box.top < 0.0


def test_a_label_lies_where_it_would_rather_lie() -> None:
    (right,) = place([Label(("Word",), 0j, 0.05, toward=0.0)], [], VIEW)
    (left,) = place([Label(("Word",), 0j, 0.05, toward=3.14159)], [], VIEW)
    assert right.box.left > 0.0 > left.box.right


def test_words_are_measured_in_the_font_they_are_set_in() -> None:
    narrow, _ = measure(("iiii",), 1.0)
    wide, _ = measure(("MMMM",), 1.0)
    assert 0.5 < narrow < wide < 4.0
    assert measure(("0000",), 1.0)[0] == measure(("1111",), 1.0)[0]  # tabular figures


@given(st.lists(POINTS, max_size=80), POINTS, st.floats(0.01, 0.5), st.floats(0.01, 0.5))
def test_the_summed_grid_counts_cells_as_one_by_one(
    points: list[complex], corner: complex, wide: float, high: float
) -> None:
    box = Box(corner.real, corner.imag, corner.real + wide, corner.imag + high)
    cells = {(p.real // 0.01, p.imag // 0.01) for p in points}
    inside = sum(
        box.left // 0.01 <= x <= box.right // 0.01 and box.bottom // 0.01 <= y <= box.top // 0.01
        for x, y in cells
    )
    assert Busy(points).within(box, 0.0) == inside
