"""The calendars: well formed, right on both sides of a clock change, and numbered so that phones follow."""

from __future__ import annotations

import datetime as dt
import warnings
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from scheduler.club.club import Club
from scheduler.folder.calendars import calendar_files, written_events
from scheduler.plan.plan import Cancelled, WeekPlan
from tests.clubs import a_club
from tests.plans import a_plan


def event_lines(data: bytes) -> list[dict[str, str]]:
    """Each VEVENT as a mapping, read by hand: unfold, split at the first colon."""
    lines = data.decode().replace("\r\n ", "").split("\r\n")
    found: list[dict[str, str]] = []
    for line in lines:
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and ":" in line:
            name, _, value = line.partition(":")
            found[-1].setdefault(name, value)
    return found


def numbers(files: dict[str, bytes], name: str) -> dict[str, tuple[int, str]]:
    return {e["UID"]: (int(e["SEQUENCE"]), e["STATUS"]) for e in event_lines(files[name])}


def in_week(monday: dt.date, zone: str, start: int = 18 * 60) -> tuple[Club, WeekPlan]:
    club = a_club(sessions=6).model_copy(update={"week": monday, "timezone": zone})
    return club, a_plan(club, start=start)


def test_every_file_is_well_formed() -> None:
    club = a_club(teams=2, sessions=2).model_copy(update={"name": "Łąka Świętych Młynów Förderverein " * 3})
    files = calendar_files(club, a_plan(club))
    assert sorted(files) == [
        "coach-coach-herons-1.ics", "coach-coach-herons-2.ics", "coach-coach-kites-1.ics", "coach-coach-kites-2.ics",
        "team-herons.ics", "team-kites.ics",
    ]  # fmt: skip
    for data in files.values():
        assert data.startswith(b"BEGIN:VCALENDAR\r\n")
        assert data.endswith(b"END:VCALENDAR\r\n")
        assert b"\n" not in data.replace(b"\r\n", b"")
        assert max(len(line) for line in data.split(b"\r\n")) <= 75
        assert b"PRODID:" in data
        assert b"VERSION:2.0" in data
        assert b"TZID" not in data
        found = event_lines(data)
        assert len(found) == 2
        assert len({event["UID"] for event in found}) == 2
        for event in found:
            assert {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "STATUS"} <= set(event)
            assert event["DTEND"] > event["DTSTART"]
            assert event["DTSTAMP"].startswith("20260907T")


def test_two_writings_are_the_same_bytes() -> None:
    club = a_club(teams=2, sessions=2)
    assert calendar_files(club, a_plan(club)) == calendar_files(club, a_plan(club))


def test_no_childs_name_is_in_a_calendar() -> None:
    club = a_club(teams=2)
    everything = b"".join(calendar_files(club, a_plan(club)).values()).decode()
    assert not [player.called for player in club.players if player.called in everything]


@pytest.mark.parametrize(
    ("monday", "zone", "start"),
    [
        # the clocks change on the Sunday inside the week: 25 Oct 2026 and 28 Mar 2027 in Europe, 1 Nov 2026 in New
        # York, 4 Oct 2026 on Lord Howe Island (by half an hour); never in Kathmandu
        (dt.date(2026, 10, 19), "Europe/Berlin", 17 * 60 + 30),
        (dt.date(2027, 3, 22), "Europe/Dublin", 10 * 60),
        (dt.date(2026, 10, 26), "America/New_York", 18 * 60),
        (dt.date(2026, 9, 28), "Australia/Lord_Howe", 9 * 60),
        (dt.date(2026, 9, 7), "Asia/Kathmandu", 18 * 60),
    ],
)
def test_other_readers_see_the_same_instants(monday: dt.date, zone: str, start: int) -> None:
    """Two readers of other hands agree with zoneinfo on every start and end, before and after the change."""
    club, plan = in_week(monday, zone, start)
    local = ZoneInfo(zone)
    expected = sorted(
        (
            dt.datetime.combine(p.date, dt.time(p.start // 60, p.start % 60), local).astimezone(dt.UTC),
            dt.datetime.combine(p.date, dt.time(p.end // 60, p.end % 60), local).astimezone(dt.UTC),
        )
        for p in plan.sessions
    )
    text = calendar_files(club, plan)["team-herons.ics"].decode()
    assert {p.date.weekday() for p in plan.sessions} >= {5, 6}
    assert sorted(read_by_ics(text)) == expected
    assert sorted(read_by_vobject(text)) == expected


def read_by_ics(text: str) -> list[tuple[dt.datetime, dt.datetime]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # its parser's own use of the standard library
        import ics

        return [(event.begin.datetime, event.end.datetime) for event in ics.Calendar(text).events]


def read_by_vobject(text: str) -> list[tuple[Any, Any]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        import vobject

        book = vobject.readOne(text)
        book.validate()
        return [(event.dtstart.value, event.dtend.value) for event in book.vevent_list]


def test_a_moved_session_keeps_its_uid_and_raises_its_number() -> None:
    club = a_club(sessions=2)
    first = a_plan(club)
    moved = first.sessions[0].model_copy(update={"start": 18 * 60 + 30, "end": 19 * 60 + 45})
    second = first.model_copy(update={"sessions": (moved, first.sessions[1]), "revision": 2})
    before, after = (
        numbers(calendar_files(club, p, e), "team-herons.ics") for p, e in ((first, None), (second, first))
    )
    assert list(before) == list(after)
    assert [number for number, _ in before.values()] == [0, 0]
    assert sorted(number for number, _ in after.values()) == [0, 1]


def test_a_session_no_longer_held_stays_as_cancelled() -> None:
    club = a_club(sessions=2)
    first = a_plan(club)
    gone = Cancelled(session="Herons 2", why="the pitch is under water")
    second = first.model_copy(update={"sessions": first.sessions[:1], "cancelled": (gone,), "revision": 2})
    after = numbers(calendar_files(club, second, first), "team-herons.ics")
    assert sorted(after.values()) == [(0, "CONFIRMED"), (1, "CANCELLED")]


def test_an_adult_taken_off_a_session_loses_it_from_one_calendar_only() -> None:
    club = a_club()
    first = a_plan(club)
    alone = first.sessions[0].model_copy(update={"coaches": ("coach Herons 1",)})
    second = first.model_copy(update={"sessions": (alone,), "revision": 2})
    files = calendar_files(club, second, first)
    assert [status for _, status in numbers(files, "coach-coach-herons-2.ics").values()] == ["CANCELLED"]
    assert [status for _, status in numbers(files, "coach-coach-herons-1.ics").values()] == ["CONFIRMED"]
    uids = [set(numbers(files, name)) for name in files]
    assert len(set.union(*uids)) == sum(len(found) for found in uids)


def test_numbers_never_fall_and_events_never_vanish_over_many_writings(tmp_path: Any) -> None:
    """Five writings over the last one's files, without any earlier plan: moved, back, unchanged, gone, held again."""
    club = a_club(sessions=2)
    one = a_plan(club)
    two = a_plan(club, start=18 * 60 + 30)
    less = one.model_copy(update={"sessions": one.sessions[:1]})
    last: dict[str, tuple[int, str]] = {}
    seen = []
    for plan in (one, two, one, one, less, one):
        files = calendar_files(club, plan, None, written_events(tmp_path))
        for name, data in files.items():
            (tmp_path / name).write_bytes(data)
        now = numbers(files, "team-herons.ics")
        assert set(last) <= set(now)
        for uid, (number, status) in last.items():
            assert now[uid][0] >= number
            assert now[uid] == (number, status) or now[uid][0] > number
        seen.append(sorted(now.values()))
        last = now
    held = "CONFIRMED"
    assert seen == [
        [(0, held), (0, held)], [(1, held), (1, held)], [(2, held), (2, held)], [(2, held), (2, held)],
        [(2, held), (3, "CANCELLED")], [(2, held), (4, held)],
    ]  # fmt: skip


def test_a_session_that_ends_at_midnight_ends_on_the_next_day() -> None:
    club = a_club().model_copy(update={"timezone": "Etc/UTC"})
    plan = a_plan(club, start=24 * 60 - 75)
    event = event_lines(calendar_files(club, plan)["team-herons.ics"])[0]
    assert (event["DTSTART"], event["DTEND"]) == ("20260908T224500Z", "20260909T000000Z")


def test_files_of_names_without_plain_letters_do_not_collide() -> None:
    club = a_club(teams=2)
    names = {"Herons": "Πελαργοί", "Kites": "鳶"}
    text = club.model_dump_json()
    for old, new in names.items():
        text = text.replace(f'"{old}"', f'"{new}"')
    files = calendar_files(Club.model_validate_json(text), a_plan(club))
    assert {"team-x.ics", "team-x-2.ics"} <= set(files)
