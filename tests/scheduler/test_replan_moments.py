"""Pitches and zones dealt out to sessions that move: against every way to lay them, and where zones must fit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import product
from random import Random

import pytest

from constraints import RULES
from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.club.places import Booked, Opening, Pitch, Site
from scheduler.club.programme import PlanRow, SessionAsk
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan import small as small_model
from scheduler.replan.adults import Spare
from scheduler.replan.allowed import Allowed
from scheduler.replan.small import Answer, Small
from scheduler.solver import cp_model
from tests.clubs import MONDAY, a_club
from tests.scheduler.test_replan_sessions import GAME

GROUND = [rule for rule in RULES if rule.name == "pitch bookings"]
LAID = tuple[int, int, int, str, tuple[int, ...]]  # day, start, hours, pitch and zones of a session
OPEN = (17, 21)


def a_pitch(name: str, zones: int, lies_on: str | None = None, site: str = "Marsh Lane") -> Pitch:
    hours = Opening(span=Span(OPEN[0] * 60, OPEN[1] * 60))
    return Pitch(id=name, site=site, zones=zones, openings=(hours,), lies_on=lies_on)


def a_ground(laid: Sequence[LAID], pitches: Sequence[Pitch], *closed: tuple[str, tuple[int, ...], int, int, int],
             days: int = 1, gap: int = 0) -> tuple[Club, WeekPlan]:  # fmt: skip
    """A team for each session, held as laid; `closed` are pitch, zones, day and hours that somebody else has now."""
    club = a_club(
        teams=len(laid), players=4, keepers=0, step=60, gap=gap, pitches=tuple(pitches),
        sites=tuple(Site(id=site, latitude=53.35, longitude=-6.26) for site in sorted({one.site for one in pitches})),
        practices=(GAME,), plans=(PlanRow(plan="Evening", block="1", practice=GAME.id, minutes=60, reps=2),), kit=(),
        booked=tuple(
            Booked(pitch=pitch, zones=zones, occurs=Occurs(days=frozenset({day})), span=Span(first * 60, last * 60))
            for pitch, zones, day, first, last in closed
        ),
    )  # fmt: skip
    asks, sessions = [], []
    for team, (day, start, hours, pitch, zones) in zip(club.teams, laid, strict=True):
        ask = SessionAsk(id=f"{team.id} 1", teams=(team.id,), plan="Evening", minutes=60 * hours, zones=len(zones),
                         days=frozenset(range(days)))  # fmt: skip
        asks.append(ask)
        players = tuple(player.id for player in club.players if player.team == team.id)
        date = MONDAY + dt.timedelta(days=day)
        sessions.append(
            PlannedSession(session=ask.id, teams=ask.teams, date=date, start=start * 60, end=(start + hours) * 60,
                           pitch=pitch, zones=zones, coaches=team.coaches, players=players)
        )  # fmt: skip
    plan = WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(sessions))
    return club.model_copy(update={"sessions": tuple(asks)}), plan


def away_from(club: Club, plan: WeekPlan, allowed: Allowed) -> list[str]:
    return [one.session for one in plan.sessions if slot_of(club, one) not in allowed.slots(one.session)]


def asked(club: Club, plan: WeekPlan) -> tuple[Small, Answer]:
    """The small model's answer to what is closed."""
    allowed = Allowed(club, GROUND, None)
    small = Small(club, plan, away_from(club, plan, allowed), [], allowed, lambda _: 24 * 60, Spare(club, plan))
    answer = small.answer()
    assert answer is not None
    return small, answer


def clash(club: Club, one: Slot, other: Slot) -> bool:
    """Whether two sessions need the same ground at some minute."""
    minutes = range(one.start - club.gap, one.end + club.gap)
    if one.date != other.date or not any(other.start <= minute < other.end for minute in minutes):
        return False
    if one.pitch == other.pitch:
        return any(zone in other.zones for zone in one.zones)
    return other.pitch == club.pitch(one.pitch).lies_on or one.pitch == club.pitch(other.pitch).lies_on


def fewest_by_enumeration(club: Club, plan: WeekPlan) -> tuple[int, int]:
    """Cancelled, and cancelled or moved, of the best of every way to lay the sessions one after the other."""
    allowed = Allowed(club, GROUND, None)
    best = (len(plan.sessions) + 1, 0)

    def laid(at: int, cost: tuple[int, int], held: list[Slot]) -> None:
        nonlocal best
        if cost >= best:
            return
        if at == len(plan.sessions):
            best = cost
            return
        own = slot_of(club, plan.sessions[at])
        slots = allowed.slots(plan.sessions[at].session)
        for slot in sorted(slots, key=lambda slot: slot != own):
            if not any(clash(club, slot, other) for other in held):
                laid(at + 1, (cost[0], cost[1] + (slot != own)), [*held, slot])
        laid(at + 1, (cost[0] + 1, cost[1] + 1), held)

    laid(0, (0, 0), [])
    return best


def check(club: Club, plan: WeekPlan) -> tuple[int, int]:
    """The model's fewest is that of enumeration, and its answer has ground for everybody and moves no more."""
    small, answer = asked(club, plan)
    held = {one.session: slot_of(club, one) for one in plan.sessions}
    now = {session: answer.to[session].slot if session in answer.to else slot for session, slot in held.items()}
    for session in answer.cancelled:
        del now[session]
    slots = list(now.values())
    assert not any(clash(club, one, other) for at, one in enumerate(slots) for other in slots[:at])
    allowed = Allowed(club, GROUND, None)
    assert all(slot in allowed.slots(session) for session, slot in now.items())
    changed = len(answer.cancelled) + sum(now[session] != held[session] for session in now)
    fewest = fewest_by_enumeration(club, plan)
    assert small.least == fewest == (len(answer.cancelled), changed)
    assert answer.fewest
    return fewest


def a_random_ground(seed: int) -> tuple[Club, WeekPlan]:
    """Six sessions of an hour or two on up to three zones of pitches at one site or two, a part of which is closed."""
    random = Random(seed)
    site = random.choice(("Marsh Lane", "Mill Road"))
    pitches = [a_pitch("North", random.choice((3, 4))), a_pitch("South", random.choice((2, 3)), site=site)]
    if seed % 3 == 0:
        pitches.append(a_pitch("Across", 2, lies_on="South", site=site))
    laid: list[LAID] = []
    gap = 60 if seed % 4 == 1 else 0
    bare = a_ground([], pitches, gap=gap)[0]
    for _ in range(200):
        pitch, hours, length = random.choice(pitches), random.choice((1, 1, 2)), random.choice((1, 1, 2, 3))
        start, first = random.randint(OPEN[0], OPEN[1] - hours), random.randint(1, max(1, pitch.zones - length + 1))
        one = (0, start, hours, pitch.id, tuple(range(first, first + length)))
        if len(laid) < 6 and first + length - 1 <= pitch.zones:
            new, *others = (
                Slot(bare.week, 60 * at, 60 * (at + long), on, "", zones) for _, at, long, on, zones in [one, *laid]
            )
            if not any(clash(bare, new, other) for other in others):
                laid.append(one)
    pitch, start = random.choice(pitches), random.randint(OPEN[0], OPEN[1] - 2)
    zones = () if random.random() < 0.5 else (random.randint(1, pitch.zones),)
    return a_ground(laid, pitches, (pitch.id, zones, 0, start, start + random.randint(1, 2)), gap=gap)


def test_the_fewest_moves_are_those_of_every_way_to_lay_sessions_on_thirds_and_quarters() -> None:
    found = {check(*a_random_ground(seed)) for seed in range(45)}
    assert {moved for cancelled, moved in found if not cancelled} >= {0, 1, 2}
    assert any(cancelled for cancelled, _ in found)


def test_two_free_zones_are_no_room_for_a_session_that_needs_two_neighbours() -> None:
    """Zones 2 and 4 are free. Whoever has zone 3 must make room, so that two sessions move where counting says one."""
    laid: list[LAID] = [(0, 17, 4, "North", (1,)), (0, 17, 4, "North", (3,)), (0, 17, 4, "South", (1, 2))]
    assert check(*a_ground(laid, [a_pitch("North", 4), a_pitch("South", 2)], ("South", (), 0, 17, 21))) == (0, 2)


def test_a_zone_free_at_every_hour_is_no_room_for_two_hours_in_one() -> None:
    """One zone is free from 17:00 to 19:00, the other from 19:00 to 21:00; the session of four hours needs one."""
    laid: list[LAID] = [(0, 17, 2, "North", (1,)), (0, 19, 2, "North", (2,)), (0, 17, 4, "South", (1,))]
    assert check(*a_ground(laid, [a_pitch("North", 2), a_pitch("South", 1)], ("South", (), 0, 17, 21))) == (0, 2)


def test_other_zones_at_the_same_time_are_a_move_and_the_own_ones_are_none() -> None:
    """Zone 2 is closed: who was there moves to zone 1 or 3, and nobody else does."""
    laid: list[LAID] = [(0, 17, 4, "North", (2,)), (0, 17, 4, "North", (4,))]
    club, plan = a_ground(laid, [a_pitch("North", 4)], ("North", (2,), 0, 17, 21))
    _, answer = asked(club, plan)
    assert check(club, plan) == (0, 1)
    (choice,) = answer.to.values()
    assert choice.slot.zones in ((1,), (3,))


def test_whoever_is_on_a_pitch_that_lies_across_keeps_off_what_is_under_it() -> None:
    """South lies under Across, in use from 18:00 to 20:00: there are two hours on end only once that one moves too."""
    laid: list[LAID] = [(0, 17, 2, "North", (1,)), (0, 18, 2, "Across", (1,))]
    pitches = [a_pitch("North", 1), a_pitch("South", 3), a_pitch("Across", 1, lies_on="South")]
    assert check(*a_ground(laid, pitches, ("North", (), 0, 17, 21))) == (0, 2)


@pytest.mark.parametrize(("first", "second"), list(product(("North", "South"), repeat=2)))
def test_sessions_that_move_stay_on_their_pitches_where_these_have_room(
    first: str, second: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From 17:00 to 19:00 both are closed; afterwards every zone is free. No time is needed to look at others too."""
    laid: list[LAID] = [(0, 17, 2, first, (1,)), (0, 17, 2, second, (2,))]
    pitches = [a_pitch("North", 2), a_pitch("South", 2)]
    closed = [(pitch.id, (), 0, 17, 19) for pitch in pitches]
    club, plan = a_ground(laid, pitches, *closed)
    for wide in (small_model.WIDE, 0.0):
        monkeypatch.setattr(small_model, "WIDE", wide)
        _, answer = asked(club, plan)
        for planned in plan.sessions:
            slot = answer.to[planned.session].slot
            assert (slot.start, slot.pitch) == (19 * 60, planned.pitch)


def test_the_own_pitch_in_use_by_others_is_as_far_as_any_other() -> None:
    """North is closed until 19:00 and in use from then on, South closed until 18:00: the earliest hour is nearest."""
    laid: list[LAID] = [(0, 17, 1, "North", (1,)), (0, 19, 2, "North", (1,))]
    club, plan = a_ground(laid, [a_pitch("North", 1), a_pitch("South", 1)], ("North", (), 0, 17, 19),
                          ("South", (), 0, 17, 18))  # fmt: skip
    slot = asked(club, plan)[1].to[plan.sessions[0].session].slot
    assert (slot.start, slot.pitch) == (18 * 60, "South")


@pytest.mark.parametrize("shared", [True, False])
def test_sessions_of_the_same_children_stay_in_order(shared: bool) -> None:
    """Monday is closed. Thursday has the same hour, Tuesday only a later one, but then Wednesday's comes after it."""
    laid: list[LAID] = [(0, 17, 1, "North", (1,)), (2, 17, 1, "North", (1,))]
    club, plan = a_ground(laid, [a_pitch("North", 1)], ("North", (), 0, 17, 21), ("North", (), 1, 17, 19), days=4)
    slot = asked(club, with_the_same_children(plan) if shared else plan)[1].to[plan.sessions[0].session].slot
    assert slot.date.weekday() == (1 if shared else 3)


@pytest.mark.parametrize("shared", [True, False])
def test_sessions_of_the_same_children_are_not_held_on_one_day(shared: bool) -> None:
    """On Tuesday only the last hour is free on Monday's pitch; Wednesday has the same hour, but they train then."""
    laid: list[LAID] = [(0, 17, 1, "North", (1,)), (2, 18, 1, "North", (1,))]
    club, plan = a_ground(laid, [a_pitch("North", 1)], ("North", (), 0, 17, 21), ("North", (), 1, 17, 20), days=3)
    slot = asked(club, with_the_same_children(plan) if shared else plan)[1].to[plan.sessions[0].session].slot
    assert slot.date.weekday() == (1 if shared else 2)


def with_the_same_children(plan: WeekPlan) -> WeekPlan:
    first, second = plan.sessions
    return plan.model_copy(update={"sessions": (first, second.model_copy(update={"players": first.players}))})


@pytest.mark.parametrize("near", [1, 2])
def test_of_those_that_could_make_room_the_one_that_has_less_far_to_go_does(near: int) -> None:
    """Two zones are needed, and on two days one other has one of them; only on one of these South is free for it."""
    laid: list[LAID] = [(0, 17, 4, "North", (1, 2)), (1, 17, 4, "North", (1,)), (2, 17, 4, "North", (2,))]
    closed = [("North", (), 0, 17, 21)] + [("South", (), day, 17, 21) for day in range(3) if day != near]
    club, plan = a_ground(laid, [a_pitch("North", 2), a_pitch("South", 1)], *closed, days=3)
    small, answer = asked(club, plan)
    assert small.least == (0, 2)
    assert answer.to.keys() == {plan.sessions[0].session, plan.sessions[near].session}


def test_where_the_fewest_were_not_found_in_time_fewer_moves_come_before_nearer_ones(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """At 17:00 South would be free once its session went to East; at 20:00 nobody need go."""
    laid: list[LAID] = [(0, 17, 1, "North", (1, 2)), (0, 17, 1, "South", (1,))]
    pitches = [a_pitch("North", 2), a_pitch("South", 2), a_pitch("East", 1)]
    club, plan = a_ground(laid, pitches, ("North", (), 0, 17, 21), ("South", (), 0, 18, 20), ("East", (), 0, 18, 21))

    def two(self: Small, cost: cp_model.LinearExpr) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
        model = self._once_a_day()  # noqa: SLF001
        model.add(cost >= 2)
        return self._solve(1.0, model, cost)[0], cp_model.FEASIBLE  # noqa: SLF001

    monkeypatch.setattr(Small, "_fewest", two)
    _, answer = asked(club, plan)
    assert not answer.fewest
    assert answer.to.keys() == {plan.sessions[0].session}
    assert answer.to[plan.sessions[0].session].slot.start == 20 * 60
