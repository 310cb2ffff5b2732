"""Why there is no plan: named exactly, nothing innocent named, minimal by solving; and ways out that work."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.people import Coach, KeeperWish
from scheduler.club.places import Booked, Opening, Pitch
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.outcome import Booked as PlanBooked
from scheduler.outcome import Clash, Conflict
from scheduler.reasons import ways_out
from scheduler.reasons.arithmetic import impossible
from scheduler.reasons.ways_out import is_lawful
from scheduler.reasons.why import ASKED, can_stand, sessions_in, why, without_sessions
from scheduler.week import plan_week
from tests.clubs import a_club, an_age_row
from tests.speed.clubs import a_town

EVENING = {"days": frozenset({2}), "earliest": 18 * 60, "latest": 20 * 60 + 30}


def asking(club: Club, names: tuple[str, ...] = (), **changes: object) -> Club:
    """The club with some (or all) sessions asked for differently."""
    asks = tuple(ask.model_copy(update=changes) if not names or ask.id in names else ask for ask in club.sessions)
    return club.model_copy(update={"sessions": asks})


def conflict(club: Club) -> Conflict:
    found = why(club, RULES, 30)
    assert found is not None
    assert not isinstance(plan_week(club, RULES, limit=10, explain=False), PlanBooked)
    return found


def assert_sessions_minimal(club: Club, clash: Clash) -> None:
    """Every session of the clash left out makes the others possible, and with all of them nothing is."""
    mine = sessions_in(club, clash)
    alone = without_sessions(club, [ask.id for ask in club.sessions if ask.id not in mine])
    assert not is_lawful(alone, RULES, 20)[0]
    for session in mine:
        rest = without_sessions(alone, [session])
        assert not rest.sessions or is_lawful(rest, RULES, 20)[0], session
    assert clash.minimal


def test_an_over_full_evening() -> None:
    """Three times 75 minutes of the whole of North into 150: 225 > 150, two fit. Owls on Thursday are innocent."""
    club = asking(a_club(teams=4), ("Herons 1", "Kites 1", "Larks 1"), **EVENING)
    found = conflict(club)
    assert found.stage == "arithmetic"
    assert [clash.text for clash in found.clashes] == [
        "Herons 1, Kites 1 and Larks 1 all need the whole of North on Wednesday between 18:00 and 20:30; two fit"
    ]
    assert_sessions_minimal(club, found.clashes[0])


def test_one_zone_minute_less_is_no_conflict() -> None:
    """Two sessions of 75 minutes fill 150 minutes exactly."""
    assert why(asking(a_club(teams=2), **EVENING), RULES, 20) is None


def in_two_pieces(minutes: int) -> Club:
    """Three sessions of the whole of North on Wednesday, 17:00 to 21:00, which a hirer has for a quarter of an hour."""
    club = asking(a_club(teams=3), days=frozenset({2}), minutes=minutes)
    north = club.pitches[0].model_copy(update={"openings": (Opening(span=Span(17 * 60, 21 * 60)),)})
    hirer = Booked(pitch="North", occurs=Occurs(days=frozenset({2})), span=Span(18 * 60 + 30, 18 * 60 + 45))
    return club.model_copy(update={"pitches": (north,), "booked": (hirer,)})


def test_ground_enough_but_in_pieces() -> None:
    """90 and 135 minutes: 225, as much as three times 75 ask for; but one fits into each, so two in all."""
    club = in_two_pieces(75)
    (clash,) = impossible(club)
    assert clash.text == (
        "Herons 1, Kites 1 and Larks 1 all need 75 minutes or more of North on Wednesday between 17:00 and 21:00, "
        "which is free only in pieces; two fit"
    )
    assert_sessions_minimal(club, clash)


def test_pieces_that_hold_one_and_two() -> None:
    """Of 90 and 135 minutes the first holds one of 60 minutes, from 17:00, and the second two, from 18:45 and 19:45."""
    assert impossible(in_two_pieces(60)) == ()


def test_a_coach_needed_twice() -> None:
    """Both teams have one coach, who would be at both from 18:00 to 19:15."""
    club = asking(a_club(teams=2, zones=4), zones=2, days=frozenset({2}), earliest=18 * 60, latest=19 * 60 + 15)
    teams = tuple(team.model_copy(update={"coaches": ("coach Herons 1",)}) for team in club.teams)
    club = club.model_copy(update={"teams": teams})
    found = conflict(club)
    assert len(found.clashes) == 1
    assert found.clashes[0].text == (
        "Herons 1 and Kites 1 both need Coach Herons 1, the only coach of Herons and Kites, on Wednesday between "
        "18:00 and 19:15; one fits"
    )
    assert_sessions_minimal(club, found.clashes[0])
    assert "find one more coach who leads Kites" in found.clashes[0].ways_out


def test_no_light() -> None:
    """Dublin in the first week of December: dark before five, the pitch opens at five and is not lit."""
    dark = a_club().pitches[0].model_copy(update={"openings": (Opening(span=Span(17 * 60, 21 * 60), lit=False),)})
    club = a_club(teams=2, week=dt.date(2026, 11, 30), pitches=(dark,))
    found = conflict(club)
    assert [demand.subject for clash in found.clashes for demand in clash.demands] == ["Herons 1", "Kites 1"]
    assert all("dusk" in demand.text for clash in found.clashes for demand in clash.demands)
    assert not any("light" in way or "dusk" in way for clash in found.clashes for way in clash.ways_out)


def test_nobody_to_keep_goal() -> None:
    club = a_club(teams=2, keepers=2)
    players = tuple(
        p.model_copy(update={"keeper": KeeperWish.NOT_ASKED}) if p.team == "Kites" else p for p in club.players
    )
    club = club.model_copy(update={"players": players})
    found = conflict(club)
    assert [demand.subject for clash in found.clashes for demand in clash.demands] == ["Kites 1"]
    assert "nobody may be asked to keep" in found.clashes[0].demands[0].text
    assert "find two more children of Kites willing to keep goal" in found.clashes[0].ways_out


def test_no_adult() -> None:
    club = a_club(coaches=(Coach(id="coach Herons 1", name="Ada", checked_until=dt.date(2027, 1, 1),
                                 first_aid_until=dt.date(2027, 1, 1)),))  # fmt: skip
    teams = (club.teams[0].model_copy(update={"coaches": ("coach Herons 1",)}),)
    club = club.model_copy(update={"teams": teams})
    found = conflict(club)
    assert len(found.clashes) == 1
    assert "two adults" in found.clashes[0].demands[0].text
    assert found.clashes[0].ways_out[0] == "find one more adult for these sessions"


def test_too_few_adults_for_all_at_once() -> None:
    """Two sessions at one time need four adults; three come, and each team has its own coach."""
    club = asking(a_club(teams=2, zones=4), zones=2, days=frozenset({2}), earliest=18 * 60, latest=19 * 60 + 15)
    club = club.model_copy(update={"coaches": club.coaches[:3]})
    teams = tuple(t.model_copy(update={"coaches": t.coaches[:1]}) if t.id == "Kites" else t for t in club.teams)
    club = club.model_copy(update={"teams": teams})
    found = conflict(club)
    assert [sorted(d.subject for d in clash.demands) for clash in found.clashes] == [["Herons 1", "Kites 1"]]
    assert "adults" in found.clashes[0].text
    assert_sessions_minimal(club, found.clashes[0])
    assert "find one more adult for these sessions" in found.clashes[0].ways_out


def test_kit_short() -> None:
    """Fourteen players, bibs for one side: seven; three lie there."""
    club = a_club()
    kit = tuple(row.model_copy(update={"count": 3}) if row.item == "bib" else row for row in club.kit)
    club = club.model_copy(update={"kit": kit})
    found = conflict(club)
    assert len(found.clashes) == 1
    assert "needs 7 of 'bib' and 3 lie" in found.clashes[0].demands[0].text
    assert found.clashes[0].ways_out[0] == "bring up to 5 more of bib to Marsh Lane"


def test_kit_short_only_for_two_at_once() -> None:
    """Each needs 14 balls, 20 are there, both are at one time: the solver's conflict, minimal by solving."""
    club = asking(a_club(teams=2, zones=4), zones=2, days=frozenset({2}), earliest=18 * 60, latest=19 * 60 + 15)
    kit = tuple(row.model_copy(update={"count": 20}) if row.item == "ball size 4" else row for row in club.kit)
    club = club.model_copy(update={"kit": kit})
    found = conflict(club)
    assert found.stage == "booking"
    (clash,) = found.clashes
    assert {d.subject for d in clash.demands if d.rule == ASKED} == {"Herons 1", "Kites 1"}
    assert "kit" in {d.rule for d in clash.demands}
    assert {d.rule for d in clash.demands} <= {ASKED, "kit", "days and times asked for", "pitch bookings",
                                               "one place at once", "enough to play"}  # fmt: skip
    assert_minimal_by_solving(club, clash)


def assert_minimal_by_solving(club: Club, clash: Clash) -> None:
    """All demands together cannot be met; with any one of them left out the others can."""
    assert clash.minimal
    assert can_stand(club, RULES, clash.demands) is False
    for demand in clash.demands:
        rest = [other for other in clash.demands if other is not demand]
        assert can_stand(club, RULES, rest) is True, demand


def test_a_child_in_two_teams_at_once() -> None:
    """Kites have three of their own and five of the eight Herons. Both games need six, at one time: 12 > 8 + 3."""
    practice = Practice(id="Game", kind=Kind.GAME, attackers=Sizes(3, 4, 5), keepers=0, rep=8, changeover=2, rpe=6)
    club = a_club(teams=2, zones=4, players=8, keepers=0, practices=(practice,), kit=(),
                  plans=(PlanRow(plan="Evening", block="1", practice="Game", minutes=28),))  # fmt: skip
    club = asking(club, zones=2, days=frozenset({2}), earliest=18 * 60, latest=19 * 60 + 15)
    herons, kites = club.players[:8], club.players[8:11]
    both = tuple(player.model_copy(update={"also_plays_for": ("Kites",)}) for player in herons[:5])
    club = club.model_copy(update={"players": (*both, *herons[5:], *kites)})
    found = conflict(club)
    (clash,) = found.clashes
    assert clash.text == (
        "Herons 1 and Kites 1 are always at one time and need 6 and 6 players; they have 11 between them, 5 of whom "
        "belong to both"
    )
    assert_sessions_minimal(club, clash)


def test_an_age_cap() -> None:
    """One session a week, two asked for: 14 children for twice 12 at least is 24 > 14."""
    club = a_club(sessions=2, ages=(an_age_row(sessions_a_week=1),))
    found = conflict(club)
    (clash,) = found.clashes
    assert {d.subject for d in clash.demands if d.rule == ASKED} == {"Herons 1", "Herons 2"}
    assert "age-phase load" in {d.rule for d in clash.demands}
    assert_minimal_by_solving(club, clash)
    assert "leave out Herons 1 this week" in clash.ways_out
    assert not any("age" in way or "limit" in way for way in clash.ways_out)


def test_a_session_longer_than_its_children_may_stay() -> None:
    club = a_club(ages=(an_age_row(session_minutes=60),))
    (clash,) = conflict(club).clashes
    assert "minute 73" in clash.demands[0].text
    assert clash.demands[0].subject == "Herons 1"


def test_two_conflicts_at_once_are_both_named() -> None:
    """Three on Wednesday where two fit; and Owls and Wrens on Friday with one coach. Nobody else is named."""
    club = a_club(teams=6, zones=4)
    club = asking(club, ("Herons 1", "Kites 1", "Larks 1"), **EVENING)
    club = asking(club, ("Owls 1", "Wrens 1"), zones=2, days=frozenset({4}), earliest=18 * 60, latest=19 * 60 + 15)
    teams = tuple(
        team.model_copy(update={"coaches": ("coach Owls 1",)}) if team.id in ("Owls", "Wrens") else team
        for team in club.teams
    )
    club = club.model_copy(update={"teams": teams})
    found = conflict(club)
    named = sorted(sorted(sessions_in(club, clash)) for clash in found.clashes)
    assert named == [["Herons 1", "Kites 1", "Larks 1"], ["Owls 1", "Wrens 1"]]
    for clash in found.clashes:
        assert_sessions_minimal(club, clash)


def test_every_way_out_was_lawful() -> None:
    """What is offered for an over-full evening is tried again here: Herons on Monday too."""
    club = asking(a_club(teams=3), **EVENING)
    (clash,) = conflict(club).clashes
    assert "let Herons 1 be on Monday too" in clash.ways_out
    freed = asking(club, ("Herons 1",), days=frozenset({0, 2}))
    assert isinstance(plan_week(freed, RULES, limit=10), PlanBooked)


def three_with_one_coach() -> Club:
    """Three sessions at one time, for all of which there is one coach: whichever is let go, two are left."""
    club = asking(a_club(teams=3, zones=6), zones=2, days=frozenset({2}), earliest=18 * 60, latest=19 * 60 + 15)
    teams = tuple(team.model_copy(update={"coaches": ("coach Herons 1",)}) for team in club.teams)
    return club.model_copy(update={"teams": teams})


def test_where_no_change_helps_the_fewest_sessions_to_leave_out_are_said() -> None:
    (clash,) = conflict(three_with_one_coach()).clashes
    assert clash.ways_out == ("leave out Herons 1 and Kites 1 this week",)


def test_they_too_are_said_only_where_what_is_left_can_be_played(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ways_out, "shortages", lambda *_: ("somebody",))
    found = why(three_with_one_coach(), RULES, 30)
    assert found is not None
    assert [clash.ways_out for clash in found.clashes] == [()]


@pytest.mark.parametrize("teams", [1, 2, 3])
def test_counting_never_calls_a_possible_week_impossible(teams: int) -> None:
    club = a_club(teams=teams, sessions=2, pitches=tuple(
        Pitch(id=name, site="Marsh Lane", zones=3, openings=(Opening(span=Span(17 * 60, 21 * 60)),))
        for name in ("North", "South")
    ))  # fmt: skip
    assert impossible(club) == ()
    assert why(club, RULES, 20) is None


@pytest.mark.parametrize("use", [0.75, 0.95])
@pytest.mark.parametrize("zones", [2, 3, 4])
def test_counting_finds_nothing_in_towns_known_to_be_possible(use: float, zones: int) -> None:
    """Each town has a timetable; the fuller it is, the more pieces the ground is in."""
    for seed in range(1, 4):
        assert impossible(a_town(12, use, zones, seed).club) == ()
