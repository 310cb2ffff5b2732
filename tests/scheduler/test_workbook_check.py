"""What is plainly impossible is said before anything is solved, and what is possible is left alone."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from scheduler.club.club import Club
from scheduler.club.people import Absence, KeeperPolicy, KeeperWish, Match
from scheduler.club.places import Booked, Opening, Pitch, Site
from scheduler.club.programme import Contact, HeldAt
from scheduler.club.when import DAY_MINUTES, Occurs, Span
from scheduler.defaults import PACKAGED
from scheduler.workbook.check import impossibilities
from scheduler.workbook.read import read_club
from tests.club_files import BOYS_AND_GIRLS, save_json, village
from tests.clubs import MONDAY, a_club


def said(club: Club) -> list[str]:
    return [str(fault) for fault in impossibilities(club)]


def with_session(club: Club, **changes: Any) -> Club:
    return club.model_copy(update={"sessions": (club.sessions[0].model_copy(update=changes), *club.sessions[1:])})


def with_pitch(club: Club, **changes: Any) -> Club:
    return club.model_copy(update={"pitches": (club.pitches[0].model_copy(update=changes),)})


def test_a_plain_club_is_left_alone() -> None:
    assert said(a_club()) == []


def test_more_zones_than_exist() -> None:
    assert said(with_session(a_club(), zones=4)) == [
        "Sessions, Herons 1: it cannot be held: it asks for 4 zones and no pitch it may use has more than 3",
        # 75 minutes x 4 zones = 300 of 7 days x 240 minutes x 3 zones: plenty in all
    ]


def test_winter_dusk_on_an_unlit_pitch() -> None:
    # Greenwich 51.4779 N 0.0015 W, 21 Dec 2024 (a Saturday): end of civil twilight 16:34 (computed, two routines)
    club = a_club(
        week=dt.date(2024, 12, 16), timezone="Europe/London",
        sites=(Site(id="Marsh Lane", latitude=51.4779, longitude=-0.0015),),
        pitches=(Pitch(id="North", site="Marsh Lane", openings=(
            Opening(days=frozenset(range(5)), span=Span(17 * 60, 21 * 60), lit=False),
            Opening(days=frozenset({5}), span=Span(9 * 60, 18 * 60), lit=False),
        )),),
    )  # fmt: skip
    assert said(club) == []  # Saturday 09:00 to 16:34 serves
    (fault,) = said(with_session(club, days=frozenset({0, 4})))  # 16 and 20 Dec: within two minutes of 16:34
    assert "Sessions, Herons 1: it cannot be held: dusk 16:3" in fault
    assert fault.endswith("no evening fits; a lit place or Saturday")
    weekdays = with_pitch(club, openings=club.pitches[0].openings[:1])
    assert said(weekdays)[0].endswith("no evening fits; a lit place or an earlier start")


@pytest.mark.parametrize(("latitude", "possible"), [(69.65, True), (78.2, False)])
def test_polar_day_and_night(latitude: float, possible: bool) -> None:
    # midsummer at Tromso: the sun never sets; midwinter at 78.2 N: no civil twilight at all
    week = dt.date(2024, 6, 17) if possible else dt.date(2024, 12, 16)
    club = a_club(week=week, timezone="Europe/Oslo", sites=(Site(id="Marsh Lane", latitude=latitude, longitude=19),))
    club = with_pitch(club, openings=(Opening(span=Span(17 * 60, 21 * 60), lit=False),))
    assert (said(club) == []) is possible


@pytest.mark.parametrize("minutes", [74, 75])
def test_too_short_an_opening(minutes: int) -> None:
    club = with_pitch(a_club(), openings=(Opening(span=Span(18 * 60, 18 * 60 + minutes)),))
    if minutes == 75:
        assert said(club) == []
    else:
        assert "no pitch it may use is open for 75 minutes on end" in said(club)[0]


def test_the_grid_counts() -> None:
    # open 18:05 to 19:25, starts on quarters: 18:15 + 75 minutes is 19:30, five minutes too late
    club = with_pitch(a_club(), openings=(Opening(span=Span(18 * 60 + 5, 19 * 60 + 25)),))
    assert len(said(club)) == 1


def test_days_and_hours() -> None:
    club = with_pitch(a_club(), openings=(Opening(days=frozenset({1}), span=Span(17 * 60, 21 * 60)),))
    assert "on its days (Mon, Fri)" in said(with_session(club, days=frozenset({0, 4})))[0]
    assert "do not fit between 20:00 and 21:00" in said(with_session(club, earliest=20 * 60))[0]
    held = HeldAt(day=1, start=20 * 60, pitch=None, zones=())
    assert "Held at 20:00 does not fit" in said(with_session(club, held_at=held))[0]


def test_outside_bookings() -> None:
    every_day = Occurs(days=frozenset(range(7)))
    booked = Booked(pitch="North", zones=(2,), occurs=every_day, span=Span(0, DAY_MINUTES))
    club = a_club(booked=(booked,))
    assert "leave no zones free" in said(club)[0]  # the session asks for the whole pitch
    assert said(with_session(club, zones=1)) == []
    assert "leave no zones free" in said(with_session(club, zones=2))[0]  # zones 1 and 3 are no neighbours


def test_home_matches_and_cross_pitches() -> None:
    club = with_pitch(a_club(), openings=(Opening(days=frozenset({5}), span=Span(9 * 60, 12 * 60)),))
    match = Match(team="Herons", date=MONDAY + dt.timedelta(days=5), kick_off=10 * 60, minutes=60, pitch="North")
    assert "leave no zones free" in said(club.model_copy(update={"matches": (match,)}))[0]
    cross = Pitch(id="Cross", site="Marsh Lane", lies_on="North", openings=())
    on_cross = match.model_copy(update={"pitch": "Cross"})
    assert "leave no zones free" in said(
        club.model_copy(update={"pitches": (*club.pitches, cross), "matches": (on_cross,)})
    )[0]  # fmt: skip


def test_no_coach_of_the_team() -> None:
    away = Absence(who=("coach Herons 1", "coach Herons 2"), occurs=Occurs(days=frozenset(range(7))))
    assert "no coach of Herons is available" in said(a_club(absences=(away,)))[0]


def test_two_adults_and_the_ratio_of_the_youngest() -> None:
    club = a_club(players=16)  # 16 children at 8 to an adult need two
    assert said(club) == []
    assert said(a_club(players=17)) == [
        "Sessions, Herons 1: 3 adults are needed for 17 players and at best 2 are free (an adult without a check in "
        "date does not count); ask another adult or write other days"
    ]
    alone = club.teams[0].model_copy(update={"coaches": ("coach Herons 1",)})
    lone = club.model_copy(update={"coaches": club.coaches[:1], "teams": (alone,)})
    assert any("fewer than two adults" in fault for fault in said(lone))


def test_an_adult_without_a_check_does_not_count() -> None:
    club = a_club()
    lapsed = club.coaches[1].model_copy(update={"checked_until": MONDAY - dt.timedelta(days=1)})
    checked = club.model_copy(update={"coaches": (club.coaches[0], lapsed)})
    assert "at best 1 are free" in said(checked)[0]
    assert said(checked.model_copy(update={"blank": frozenset({"Coaches.Checked until"})})) == []


def test_nobody_keeps_goal() -> None:
    # both ends: one keeper an area, two areas
    assert said(a_club(keepers=0)) == [
        "Sessions, Herons 1: block 2 needs 2 in goal at once and nobody may be asked to keep; fill in Keeper, or "
        "choose a practice without keepers"
    ]
    assert "only one player may be asked" in said(a_club(keepers=1))[0]
    club = a_club(keepers=0)
    everyone = club.teams[0].model_copy(update={"keepers": KeeperPolicy.EVERYONE})
    assert said(club.model_copy(update={"teams": (everyone,)})) == []
    refuse = tuple(player.model_copy(update={"keeper": KeeperWish.NO}) for player in club.players)
    assert len(said(club.model_copy(update={"teams": (everyone,), "players": refuse}))) == 1


@pytest.mark.parametrize(("players", "blocks"), [(12, []), (11, ["2"]), (9, ["2", "3"])])
def test_too_few_players(players: int, blocks: list[str]) -> None:
    # both ends: 2 x (3 attackers + 2 defenders + 1 keeper) = 12; the game: 2 x (4 + 1) = 10
    faults = said(a_club(players=players))
    assert [fault.split("block ")[1].split()[0] for fault in faults] == blocks


def test_everybody_away() -> None:
    club = a_club()
    away = Absence(who=tuple(player.id for player in club.players), occurs=Occurs(days=frozenset(range(7))))
    assert "none of its players can come" in said(club.model_copy(update={"absences": (away,)}))[0]


def test_kit_short_for_one_session() -> None:
    # both ends: 5 balls an area in two areas = 10; the warm-up: a ball each for 14
    club = a_club()
    few = tuple(item.model_copy(update={"count": 13}) if "ball" in item.item else item for item in club.kit)
    assert said(club.model_copy(update={"kit": few})) == [
        "Sessions, Herons 1: block 1 needs 14 of 'ball size 4' and 13 lie where it could be held; correct Kit or "
        "choose another Plan"
    ]
    assert said(club.model_copy(update={"kit": (), "blank": frozenset({"Kit"})})) == []


@pytest.mark.parametrize(("least", "fits"), [(80, True), (81, False)])
def test_room_for_the_least_numbers(least: float, fits: bool) -> None:
    # one zone of three is 60 x 40 / 3 = 800 square metres; the game needs 2 x (4 + 1) = 10 players at least: 80 each
    club = with_session(a_club(), zones=1)
    game = club.practices[2].model_copy(update={"m2_least": least})
    club = club.model_copy(update={"practices": (*club.practices[:2], game)})
    assert (said(club) == []) is fits
    warm = club.practices[0].model_copy(update={"m2_least": 800 / 14 + 1})  # all 14 are in the warm-up
    crowded = club.model_copy(update={"practices": (warm, *club.practices[1:])})
    assert "block 1 needs 814 square metres at least and its zones have 800" in said(crowded)[0]


def test_zone_minutes_of_the_week() -> None:
    # eight teams x 3 sessions x 75 minutes x 3 zones = 5400; one day of 240 minutes x 3 zones = 720
    club = a_club(teams=8, sessions=3)
    short = with_pitch(club, openings=(Opening(days=frozenset({1}), span=Span(17 * 60, 21 * 60)),))
    assert said(short)[-1].startswith("Sessions: they ask for 5400 zone-minutes this week and the pitches offer 720 ")
    # 7 days x 240 x 3 = 5040, still short of 5400
    assert said(club)[-1].startswith("Sessions: they ask for 5400 zone-minutes this week and the pitches offer 5040 ")


GROUPS = ("U6", "U7", "U8", "U9", "U10", "U11", "U12", "U13", "U14", "U16", "U18")


@pytest.mark.parametrize("keeper", ["willing", None])
@pytest.mark.parametrize("count", [6, 7, 11, 18])
@pytest.mark.parametrize("group", GROUPS)
def test_packaged_plans_serve_six_to_eighteen_at_every_age(
    tmp_path: Path, group: str, count: int, keeper: str | None
) -> None:
    years = int(group[1:]) - 1
    rows = village(teams=[{"team": "Wrens", "age_group": group, "coaches": "Ana; Ben; Cho"}])
    names = [*BOYS_AND_GIRLS, "Yara Blom", "Dinh Tran", "Freya Holm", "Hugo Lind", "Amina Bello", "Luca Ferri"]
    rows["players"] = [
        {"name": name, "born": f"{2026 - years}-06-01", "team": "Wrens", "keeper": keeper} for name in names[:count]
    ]
    rows["pitches"][0]["from"] = "16:00"
    club = read_club(save_json(tmp_path, rows))
    assert said(club) == []
    assert all(practice.contact in (Contact.NONE, Contact.SOME) for practice in club.practices)


def test_every_packaged_plan_fits_its_age() -> None:
    lengths: dict[str, int] = {}
    for row in PACKAGED["Plans"]:
        minutes = row["Minutes"]
        assert isinstance(minutes, int)
        lengths[str(row["Plan"])] = lengths.get(str(row["Plan"]), 0) + minutes
    assert all(f"{minutes} minutes" in plan for plan, minutes in lengths.items())


def test_every_packaged_age_row_names_its_source() -> None:
    for row in PACKAGED["Ages"]:
        assert "NATA 2019" in str(row["Source"])
        assert "NSPCC" in str(row["Source"])
        assert "common practice, no source" in str(row["Source"])
    # NSPCC minimum ratios: 4 to 8 years 1:6, 9 to 12 1:8, 13 to 18 1:10; NATA 2019: hours a week not above age
    ratios = {4: 6, 8: 6, 9: 8, 12: 8, 13: 10, 18: 10}
    for age, ratio in ratios.items():
        (row,) = [r for r in PACKAGED["Ages"] if int(str(r["From age"])) <= age <= int(str(r["To age"]))]
        assert row["Players per adult"] == ratio
        assert int(str(row["Week minutes"])) <= int(str(row["From age"])) * 60
        # U.S. Soccer, Recognize to Recover: none to age 10, at most 20 a week at 11 and 12, no number from 13
        assert row["Headers a week"] == (0 if age <= 10 else 20 if age <= 12 else None)
