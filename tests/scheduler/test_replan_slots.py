"""What replanning knows of slots without a model, and with the small one, against the model and every booking."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.booking.build import build_booking
from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, Player
from scheduler.club.programme import Contact, Kind, Sizes
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.replan.allowed import Allowed
from scheduler.replan.attendance import with_attendance
from scheduler.replan.differences import differences
from scheduler.replan.replan import replan
from scheduler.replan.shift import Shift
from scheduler.replan.small import Small
from scheduler.rotation.rotate import rotate
from scheduler.week import plan_week
from scheduler.workbook.check import impossibilities
from tests.clubs import a_club
from tests.replans import a_week, told
from tests.rotations import a_child, a_practice, a_rotation_club, a_squad, booked
from tests.scheduler.test_replan_sessions import fewest_moves_by_enumeration, three_teams

CLOSURES: list[list[tuple[str, int, str | None, str | None]]] = [
    [("North", 0, None, None)],
    [("North", 0, None, None), ("South", 0, None, None)],
    [("North", 0, "17:00", "18:00"), ("South", 0, "17:00", "18:00"), ("North", 1, None, None)],
]


def test_slots_are_those_that_the_booking_would_keep() -> None:
    """Every narrowing rule speaks through its own `narrow`, here and in the model."""
    club, plan = three_teams()
    now, known = told(club, plan, closed=["North"], on="2026-09-07", from_="18:00")
    model = build_booking(now, RULES)
    allowed = Allowed(now, RULES, None)
    for planned in known.sessions:
        assert allowed.slots(planned.session) == model.slots(planned.session)


@pytest.mark.parametrize("closures", CLOSURES)
def test_the_small_model_needs_as_few_moves_as_any_booking(
    closures: list[tuple[str, int, str | None, str | None]],
) -> None:
    """Its bound is no higher than what enumeration finds, and its answer moves just so many."""
    club, plan = three_teams()
    now, known = club, plan
    for pitch, day, start, end in closures:
        date = (club.week + dt.timedelta(days=day)).isoformat()
        now, known = told(now, known, closed=[pitch], on=date, from_=start, until=end)
    attended = with_attendance(now, known)
    shift = Shift(now, attended, RULES, None)
    small = Small(now, attended, shift.struck().away, [], shift.allowed, lambda _: 24 * 60, shift.spare)
    fewest = fewest_moves_by_enumeration(now, known)
    answer = small.answer()
    assert answer is not None
    assert small.least == (0, fewest)
    assert answer.fewest
    moved = [session for session, choice in answer.to.items() if _elsewhere(plan, session, choice.slot)]
    assert len(moved) == fewest


@pytest.mark.parametrize(("players", "lawful"), [(16, False), (19, False), (24, True)])
def test_a_team_that_counting_says_cannot_train_twice_a_day_has_no_such_booking(players: int, lawful: bool) -> None:
    """The game alone needs ten children, and nobody is at both sessions of Monday."""
    club = a_club(players=players, keepers=6, sessions=2)
    one, other = (ask.model_copy(update={"days": frozenset({0})}) for ask in club.sessions)
    monday = club.model_copy(update={"sessions": (one, other)})
    assert Allowed(monday, RULES, None).both_on(one.id, other.id, club.week) is lawful
    assert isinstance(plan_week(monday, RULES, limit=5), Booked) is lawful


def test_what_was_not_to_be_tried_again_shows_nothing() -> None:
    """A session forbidden to stay where it could stay moves too, and that is not called the fewest."""
    club, plan = three_teams()
    now, known = told(club, plan, closed=[plan.sessions[0].pitch], on=plan.sessions[0].date.isoformat())
    attended = with_attendance(now, known)
    shift = Shift(now, attended, RULES, None)
    away = shift.struck().away
    small = Small(now, attended, away, [], shift.allowed, lambda _: 24 * 60, shift.spare)
    stays = next(one for one in plan.sessions if one.session not in away)
    small.forbid(stays.session, slot_of(now, stays), stays.coaches)
    answer = small.answer()
    assert answer is not None
    assert stays.session in answer.to
    assert not answer.fewest


def test_a_session_is_not_called_off_because_some_of_its_children_train_with_others_that_day() -> None:
    """Tuesday is shut. Monday is free, where all Kites train with the Herons: they leave that to the Herons alone."""
    club, _ = three_teams()
    herons, kites, _ = club.sessions
    both = herons.model_copy(update={"teams": (*herons.teams, *kites.teams)})
    club = club.model_copy(update={"sessions": (both, kites)})
    planned = plan_week(club, RULES, limit=10)
    assert isinstance(planned, Booked)
    now, known = club, planned.plan
    date = known.by_session[kites.id].date
    assert date != known.by_session[both.id].date
    for pitch in ("North", "South"):
        now, known = told(now, known, closed=[pitch], on=date.isoformat())
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert not outcome.plan.cancelled
    assert [change.session for change in differences(now, known, outcome.plan).sessions] == [kites.id]
    assert not audit(now, outcome.plan, RULES).breaches


def _elsewhere(plan: WeekPlan, session: str, slot: Slot) -> bool:
    old = plan.by_session[session]
    return (old.date, old.start, old.pitch) != (slot.date, slot.start, slot.pitch)


def test_too_few_keepers_move_the_session_to_another_day() -> None:
    """Nobody is left to keep goal on Monday: the session is held when they are there, not called off."""
    club, plan = a_week(16, 2, 1)
    date = plan.sessions[0].date
    keepers = [player.id for player in club.players if player.keeper in ("regular", "willing")]
    now, known = told(club, plan, absent=keepers, on=date.isoformat())
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert not outcome.plan.cancelled
    (change,) = differences(now, known, outcome.plan).sessions
    assert change.after is not None
    assert change.after.date != date


def test_a_child_who_stands_down_from_contact_shuts_no_slot() -> None:
    """One is three age years older than the others in the only area, and so is not in the game; an adult is ill on
    another day. The session can be played wherever it is, so it stays."""
    eldest, *others = a_squad(8)
    players = (eldest.model_copy(update={"born": dt.date(2011, 5, 1)}), *others)
    game = a_practice(Kind.GAME, attackers=Sizes(2, 3, 4), contact=Contact.SOME)
    stays_where_it_is(a_rotation_club(players, [[game]], reps=3))


def test_a_guest_who_does_not_come_shuts_no_slot() -> None:
    """Everybody plays in the only area; a guest from another team is to be kept apart from one of those who come."""
    first, *others = a_squad(6)
    club = a_rotation_club((first, *others), [[a_practice(Kind.GAME, attackers=Sizes(2, 3, 4))]], reps=3)
    kites = club.teams[0].model_copy(update={"id": "Kites"})
    guest = a_child(6, team="Kites", also_plays_for=("Herons",), apart_from=(first.id,))
    stays_where_it_is(club.model_copy(update={"teams": (*club.teams, kites), "players": (*club.players, guest)}), guest)


def test_a_guest_of_a_stricter_team_who_does_not_come_takes_nobody_out_of_goal() -> None:
    """Everybody of the Herons takes a turn in goal; with a guest of the Kites only volunteers would, and has none."""
    part = a_practice(attackers=Sizes(1, 2, 3), defenders=Sizes(1, 2, 3), keepers=1)
    club = a_rotation_club(a_squad(6), [[part]], reps=3, policy=KeeperPolicy.EVERYONE)
    kites = club.teams[0].model_copy(update={"id": "Kites", "keepers": KeeperPolicy.VOLUNTEERS})
    guest = a_child(6, team="Kites", also_plays_for=("Herons",))
    club = club.model_copy(update={"teams": (*club.teams, kites), "players": (*club.players, guest)})
    assert not [fault for fault in impossibilities(club) if "in goal" in fault.text]
    stays_where_it_is(club, guest)


def stays_where_it_is(club: Club, *absent: Player) -> None:
    """News of a day without sessions moves none and calls none off."""
    week = booked(club)
    players = tuple(one for one in week.sessions[0].players if one not in [child.id for child in absent])
    week = week.model_copy(update={"sessions": (week.sessions[0].model_copy(update={"players": players}),)})
    rotation = rotate(club, with_attendance(club, week), RULES)
    assert isinstance(rotation, Booked)
    assert not audit(club, rotation.plan, RULES).breaches
    now, known = told(club, rotation.plan, absent=["coach Herons 1"], on="2026-09-08")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert not outcome.plan.cancelled
    assert differences(now, known, outcome.plan).nothing


def test_children_go_home_by_the_rule_and_only_while_it_is_on() -> None:
    """The age rows of the club say 21:00; without the rule on loads nobody need go."""
    club, _ = a_week(16, 4)
    without = [rule for rule in RULES if rule.name != "age-phase load"]
    assert Allowed(club, RULES, None).home_by(club.players[0]) == 21 * 60
    assert Allowed(club, without, None).home_by(club.players[0]) == 24 * 60
