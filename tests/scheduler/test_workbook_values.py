"""Single values as spreadsheets and people write them; what cannot be read says what would be right."""

from __future__ import annotations

import contextlib
import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.club.programme import Sizes
from scheduler.club.when import Span
from scheduler.workbook import phrases, values
from scheduler.workbook.columns import snake
from scheduler.workbook.names import called_names
from scheduler.workbook.values import Wrong


@pytest.mark.parametrize(
    ("value", "minute"),
    [
        ("18:00", 1080), ("9.30", 570), (" 24:00 ", 1440), ("00:00", 0), (dt.time(18, 5), 1085), (0.75, 1080),
        (dt.timedelta(hours=24), 1440), (dt.timedelta(hours=17, minutes=30), 1050),
        (dt.datetime(1900, 1, 1), 1440), (0.7708333333, 1110),
    ],
)  # fmt: skip
def test_times(value: object, minute: int) -> None:
    assert values.time(value) == minute


@pytest.mark.parametrize(
    "value",
    ["24:01", "18", "six", 18, 1.5, True, None, dt.time(18, 0, 20), dt.timedelta(hours=25), dt.datetime(2026, 1, 1)],
)
def test_no_times(value: object) -> None:
    with pytest.raises(Wrong, match="18:00"):
        values.time(value)


@pytest.mark.parametrize(
    "value", ["2026-09-07", "2026-9-7", dt.date(2026, 9, 7), dt.datetime(2026, 9, 7), "2026-09-07T00:00:00"]
)
def test_dates(value: object) -> None:
    assert values.date(value) == dt.date(2026, 9, 7)


@pytest.mark.parametrize("value", ["07/09/2026", "31/02/2013", "2026-02-30", "2026-09", 46000, 3, True, "soon"])
def test_no_dates(value: object) -> None:
    with pytest.raises(Wrong):
        values.date(value)


@pytest.mark.parametrize("value", [dt.datetime(2026, 9, 7, 18, 0), dt.datetime(1899, 12, 29)])
def test_dates_with_a_time_or_out_of_range(value: object) -> None:
    with pytest.raises(Wrong):
        values.date(value)


@pytest.mark.parametrize(
    ("value", "days"),
    [
        ("Mon; Wed-Fri", {0, 2, 3, 4}), ("mon", {0}), ("Monday, Tues", {0, 1}), ("Sat-Mon", {5, 6, 0}),
        ("Mon to Wed", {0, 1, 2}), ("Fri\u2013Sun", {4, 5, 6}), ("Thurs;", {3}),
    ],
)  # fmt: skip
def test_days(value: str, days: set[int]) -> None:
    assert values.days(value) == days


@pytest.mark.parametrize("value", ["M", "Mon-Wed-Fri", "every", ";", dt.datetime(2026, 1, 1), 3])
def test_no_days(value: object) -> None:
    with pytest.raises(Wrong, match="Mon; Wed-Fri"):
        values.days(value)


@pytest.mark.parametrize(
    ("value", "sizes"),
    [("4 (3 to 5)", (3, 4, 5)), ("4", (4, 4, 4)), (4, (4, 4, 4)), (4.0, (4, 4, 4)), ("3-4-5", (3, 4, 5)),
     ("4(3-5)", (3, 4, 5))],
)  # fmt: skip
def test_sizes(value: object, sizes: tuple[int, int, int]) -> None:
    assert phrases.sizes(value) == sizes


@given(st.tuples(st.integers(1, 9), st.integers(1, 9), st.integers(1, 9)).map(sorted))
def test_sizes_read_back_as_they_are_printed(numbers: list[int]) -> None:
    sizes = Sizes(*numbers)
    assert phrases.sizes(str(sizes)) == sizes


@pytest.mark.parametrize("value", ["3-4", "5 (3 to 4)", "0", "four", "4 to 5", -4, 4.5])
def test_no_sizes(value: object) -> None:
    with pytest.raises(Wrong):
        phrases.sizes(value)


@pytest.mark.parametrize(
    ("value", "zones"), [("1; 2", (1, 2)), ("2-4", (2, 3, 4)), (3, (3,)), (3.0, (3,)), ("whole", ()), ("2,1", (1, 2))]
)
def test_zones(value: object, zones: tuple[int, ...]) -> None:
    assert phrases.zones(value) == zones


def test_kit_and_hours() -> None:
    assert phrases.kit("ball size 4 10; goal 1") == (("ball size 4", 10), ("goal", 1))
    evening, morning = phrases.hours("Mon-Tue 17:00-20:30; Sat")
    assert evening == (frozenset({0, 1}), Span(1020, 1230))
    assert morning == (frozenset({5}), Span(0, 1440))
    for wrong in ("ball", "5 ball", "ball 0", "ball -1"):
        with pytest.raises(Wrong):
            phrases.kit(wrong)
    for wrong in ("evenings", "Mon 18:00", "Mon 18:00-17:00", "Mon 6-8"):
        with pytest.raises(Wrong):
            phrases.hours(wrong)


@pytest.mark.parametrize(
    ("value", "fahrenheit"), [("31 C", 87.8), ("88 F", 88), (88, 88), ("-2\u00b0C", 28.4), ("0C", 32)]
)
def test_temperatures(value: object, fahrenheit: float) -> None:
    # degrees F = degrees C x 9 / 5 + 32
    assert values.warmth(value) == fahrenheit


@pytest.mark.parametrize(
    ("value", "group"), [("U14", 14), ("u9", 9), (12, 12), (12.0, 12), ("Under 7", 7), ("U12s", 12)]
)
def test_age_groups(value: object, group: int) -> None:
    assert values.age_group(value) == group


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (" Ivo\u00a0 Kane ", "Ivo Kane"),
        ("\u200bx\ufeff", "x"),
        ("Zoe\u0308", "Zo\u00eb"),
        (7.0, "7"),
        (7, "7"),
        ("a\nb", "a b"),
    ],
)
def test_text(value: object, text: str) -> None:
    assert values.text(value) == text


@given(st.text(max_size=60))
def test_cleaning_twice_changes_nothing(text: str) -> None:
    assert values.clean(values.clean(text)) == values.clean(text)


@given(
    st.text(max_size=30) | st.integers() | st.floats() | st.booleans() | st.datetimes() | st.times() | st.timedeltas()
)
def test_every_reader_reads_or_says_what_is_wrong(value: object) -> None:
    from scheduler.workbook.sheets import SHEETS

    for column in {column.kind: column for sheet in SHEETS for column in sheet.columns}.values():
        with contextlib.suppress(Wrong):
            assert phrases.read_value(value, column) is not None


@given(st.lists(st.lists(st.text("AaBb", min_size=1, max_size=3), min_size=1, max_size=3), max_size=8))
def test_card_names_never_clash(people: list[list[str]]) -> None:
    names = called_names((str(i), " ".join(words), "") for i, words in enumerate(people))
    settled = [name.casefold() for name in names.values() if name is not None]
    assert len(settled) == len(set(settled))


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Length m", "length_m"),
        ("Kick-off", "kick_off"),
        ("m\u00b2 a player least", "m2_a_player_least"),
        ("RPE ", "rpe"),
    ],
)
def test_keys_are_headings_in_lower_snake_case(heading: str, key: str) -> None:
    assert snake(heading) == key
