"""Slots that stand in for others: the same times are possible as place by place, and places are dealt out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from random import Random
from typing import Any

import pytest

from constraints.pitch_bookings import PitchBookings
from scheduler.booking.build import build_booking
from scheduler.booking.ground import Ground
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at, slot_of, slots_of
from scheduler.club.club import Club
from scheduler.club.places import Booked, Opening, Pitch
from scheduler.club.programme import SessionAsk
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import WeekPlan
from scheduler.solver import Solver, cp_model
from scheduler.solving import make_solver
from tests.bookings import every_booking
from tests.clubs import MONDAY, a_club

FIVE = 17 * 60
DATES = (MONDAY, MONDAY + dt.timedelta(days=1))
NORTH = Pitch(id="North", site="Marsh Lane", zones=2, length=60, width=40, quality=4,
              openings=(Opening(span=Span(FIVE, FIVE + 120)),))  # fmt: skip
RULE = (PitchBookings(),)
SEEDS = (6, 25, 42, 60, 75, 113, 117, 119, 138, 142, 177, 202, 241, 243)
"""Grounds that have room for some choices of times and not for others."""
Slots = dict[str, list[Slot]]
Moment = tuple[dt.date, int]


# the same times as place by place


def a_ground(seed: int) -> Club:
    """Three to five sessions on three pitches or four, of two kinds or three, one of which may lie on another."""
    random = Random(seed)
    zones, hours = random.choice((2, 3, 4)), random.choice((105, 120))
    openings = (Opening(span=Span(FIVE, FIVE + hours)),)
    north = NORTH.model_copy(update={"zones": zones, "openings": openings})
    others = {"South": {}, "East": {"quality": 3}, "Across": {"zones": 2, "lies_on": random.choice(("North", "East"))}}
    chosen = ["South", *random.sample(("East", "Across"), random.choice((1, 2)))]
    if "East" not in chosen:
        others["Across"]["lies_on"] = "South"
    pitches = (north, *(north.model_copy(update={"id": name, **others[name]}) for name in chosen))
    asks = tuple(
        SessionAsk(id=f"session {n}", teams=("Herons",), plan="Evening", minutes=random.choice((45, 60)),
                   zones=random.choice((1, 1, 1, 2, None if n else 1)))
        for n in range(random.choice((3, 4, 4, 5)))
    )  # fmt: skip
    hirers = []
    for pitch, date in product(pitches, DATES):
        for zone in range(1, pitch.zones + 1):
            if random.random() < 0.2:
                start = FIVE + 15 * random.randrange(4)
                hirers.append(Booked(pitch=pitch.id, zones=(zone,), occurs=Occurs(date=date),
                                     span=Span(start, start + random.choice((15, 45)))))  # fmt: skip
    margins = {"set_up": random.choice((0, 5)), "pack_up": random.choice((0, 10)), "gap": random.choice((0, 5, 15))}
    return a_club(players=3, step=15, pitches=pitches, sessions=1, booked=tuple(hirers), **margins).model_copy(
        update={"sessions": asks}
    )


def some_slots(club: Club, seed: int) -> Slots:
    """Two or three starts for each session, mostly on one evening; every third session misses some places there."""
    random, found = Random(seed), Slots()
    dates = random.choice((DATES[:1], DATES[:1], DATES))
    for ask in club.sessions:
        every = [slot for slot in slots_of(club, ask) if slot.date in dates]
        starts = sorted({(slot.date, slot.start) for slot in every if free(club, slot)})
        kept = set(random.sample(starts, min(len(starts), random.choice((2, 3)))))
        fewer = random.random() < 0.3
        found[ask.id] = [
            slot for slot in every if (slot.date, slot.start) in kept and not (fewer and random.random() < 0.4)
        ]
    return found


def one_ground(club: Club, one: str, zones: Sequence[int], other: str, others: Sequence[int]) -> bool:
    """Whether zones of a pitch and zones of a pitch are the same ground, at least in part."""
    if one == other:
        return bool(not zones or not others or set(zones) & set(others))
    return club.pitch(one).lies_on == other or club.pitch(other).lies_on == one


def free(club: Club, slot: Slot) -> bool:
    """Whether a slot's pitch is open from set-up to pack-up and no hirer has its ground then."""
    first, last = slot.start - club.set_up, slot.end + club.pack_up
    hired = any(
        row.occurs.date == slot.date
        and one_ground(club, row.pitch, row.zones, slot.pitch, slot.zones)
        and first < row.span.end
        and row.span.start < last
        for row in club.booked
    )
    hours = club.pitch(slot.pitch).openings[0].span
    return hours.start <= first and last <= hours.end and not hired


def clash(club: Club, one: Slot, other: Slot) -> bool:
    """Whether two sessions need one ground at one time, with pack-up, gap and set-up between them."""
    between = club.pack_up + club.gap + club.set_up
    at_once = one.start < other.end + between and other.start < one.end + between
    return one.date == other.date and at_once and one_ground(club, one.pitch, one.zones, other.pitch, other.zones)


def placed(club: Club, options: Sequence[Sequence[Slot]], taken: tuple[Slot, ...] = ()) -> tuple[Slot, ...] | None:
    """A slot for each session such that none is in the way of another, by trying all of them."""
    if len(taken) == len(options):
        return taken
    for slot in options[len(taken)]:
        if not any(clash(club, slot, other) for other in taken):
            found = placed(club, options, (*taken, slot))
            if found is not None:
                return found
    return None


def plan_of(club: Club, slots: Sequence[Slot]) -> WeekPlan:
    sessions = tuple(planned_at(ask, slot) for ask, slot in zip(club.sessions, slots, strict=True))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=sessions)


def moments_of(plan: WeekPlan) -> dict[str, Moment]:
    return {one.session: (one.date, one.start) for one in plan.sessions}


def solved(model: BookingModel, moments: Mapping[str, Moment]) -> Solver | None:
    """A solution with every session at its moment, if there is one."""
    asked = model.model.clone()
    for session, moment in moments.items():
        asked.add_bool_or(model.where(session, lambda slot, at=moment: (slot.date, slot.start) == at))  # type: ignore[misc]
    solver = make_solver(20.0, probing=0)
    status = solver.solve(asked)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver if status == cp_model.OPTIMAL else None


@pytest.mark.parametrize("coarse", [False, True])
def test_the_times_that_are_possible_are_those_for_which_there_are_places(coarse: bool) -> None:
    """Over every choice of times of small grounds: by trying all places, and by the model that deals them out."""
    possible = impossible = elsewhere = 0
    for seed in SEEDS:
        club = a_ground(seed)
        slots = some_slots(club, seed)
        model = build_booking(club, RULE, relaxed=True, coarse=coarse, slots=slots)
        elsewhere += sum(len(of) - len(model.slots(session)) for session, of in model.narrowed.items())
        at: dict[str, dict[Moment, list[Slot]]] = {session: {} for session in slots}
        for session, of in slots.items():
            for slot in of:
                at[session].setdefault((slot.date, slot.start), []).extend([slot] if free(club, slot) else [])
        for chosen in product(*at.values()):
            moments = dict(zip(at, chosen, strict=True))
            answer = placed(club, [at[session][moment] for session, moment in moments.items()])
            found = solved(model, moments)
            assert (found is None) == (answer is None), (seed, moments)
            possible, impossible = possible + (answer is not None), impossible + (answer is None)
            if found is not None and answer is not None:
                plan = model.read(found)
                assert list(RULE[0].audit(club, plan)) == []
                assert list(RULE[0].audit(club, plan_of(club, answer))) == []
                assert moments_of(plan) == moments
                assert all(slot_of(club, one) in slots[one.session] for one in plan.sessions)
    assert possible > 250
    assert impossible > 250
    assert elsewhere > 100


# what is of a kind

UNLIKE: dict[str, list[Any]] = {
    "site": ["Far End"],
    "zones": [3],
    "length": [61, None],
    "width": [41, None],
    "surface": ["sand"],
    "openings": [
        (Opening(span=Span(FIVE, FIVE + 105)),),
        (Opening(span=Span(FIVE, FIVE + 120), days=frozenset({0})),),
        (Opening(span=Span(FIVE, FIVE + 120), lit=False),),
        (Opening(span=Span(FIVE, FIVE + 120), lights_out=FIVE + 100),),
    ],
    "quality": [3, 5, None],
    "lies_on": ["Third"],
    "goals_at": ["the north end"],
}


def pitches_left(club: Club, coarse: bool = False, shared: bool = True) -> set[str]:
    """The pitches that a session's slots are on once some stand in for others."""
    ask = club.sessions[0].model_copy(update={"zones": 1})
    return {slot.pitch for slot in Ground(club, shared, coarse).stand_ins(ask.id, slots_of(club, ask))}


def with_pitches(*pitches: Pitch) -> Club:
    return a_club(players=3).model_copy(update={"pitches": pitches})


@pytest.mark.parametrize(("field", "value"), [(field, value) for field, of in UNLIKE.items() for value in of])
def test_pitches_that_differ_in_anything_but_their_name_are_not_of_a_kind(field: str, value: Any) -> None:
    """In a coarse model quality alone may differ, and then nothing else."""
    assert set(UNLIKE) == set(Pitch.model_fields) - {"id"}, "a field of a pitch that no case here looks at"
    alike = NORTH.model_copy(update={"id": "South"})
    assert pitches_left(with_pitches(NORTH, alike)) == {"North"}
    other = alike.model_copy(update={field: value})
    worse = other.model_copy(update={"quality": 1})
    assert pitches_left(with_pitches(NORTH, other)) == {"North", "South"}
    expected = {"North"} if field == "quality" else {"North", "South"}
    assert pitches_left(with_pitches(NORTH, other), coarse=True) == expected
    assert pitches_left(with_pitches(NORTH, worse), coarse=True) == expected


def test_where_a_pitch_lies_on_another_each_stands_for_itself() -> None:
    """The one below too: what is held on it keeps others off the one across, which its twin would not."""
    south, across = (NORTH.model_copy(update={"id": name}) for name in ("South", "Across"))
    for coarse in (False, True):
        crossed = with_pitches(NORTH, south, across.model_copy(update={"lies_on": "South"}))
        assert pitches_left(crossed, coarse) == {"North", "South", "Across"}


def test_not_shared_every_slot_stands_for_itself() -> None:
    club = with_pitches(NORTH, NORTH.model_copy(update={"id": "South"}))
    slots = slots_of(club, club.sessions[0])
    ground = Ground(club, False, True)
    assert ground.stand_ins("any", slots) == slots
    assert all(ground.stand_in("any", slot) == slot for slot in slots)
    assert all(ground.pitches("any", slot) == {slot.pitch} for slot in slots)


def test_a_slot_stands_in_for_the_same_day_start_and_length_alone() -> None:
    club = with_pitches(NORTH, NORTH.model_copy(update={"id": "South"}))
    slots = slots_of(club, club.sessions[0].model_copy(update={"zones": 1}))
    ground = Ground(club, True)
    left = ground.stand_ins("any", slots)
    assert len(slots) == 4 * len(left)
    assert all(ground.pitches("any", slot) == {"North", "South"} for slot in left)
    for slot in slots:
        assert ground.stand_in("any", slot) == slot._replace(pitch="North", zones=(1,))


# whole plans


def a_tiny_club() -> Club:
    """Two alike pitches of two zones, a third one of its own; three sessions, one of them on two zones."""
    asks = tuple(
        SessionAsk(id=name, teams=("Herons",), plan="Evening", minutes=60, zones=zones)
        for name, zones in (("one", 1), ("two", 1), ("wide", 2))
    )
    pitches = (NORTH, *(NORTH.model_copy(update={"id": name, **more}) for name, more in MORE.items()))
    return a_club(players=3, step=60, pitches=pitches).model_copy(update={"sessions": asks})


MORE: dict[str, dict[str, Any]] = {"South": {}, "East": {"quality": 5, "zones": 1}}


def every_plan(club: Club) -> Iterator[WeekPlan]:
    return every_booking(club, slots=lambda slot: slot.date == MONDAY and slot.start >= FIVE and slot.end <= FIVE + 120)


@pytest.mark.parametrize("coarse", [False, True])
def test_every_lawful_plan_can_be_said_and_read_back(coarse: bool) -> None:
    """Fixed in the model each lawful plan is allowed, with the same times, and no unlawful one is."""
    club = a_tiny_club()
    model = build_booking(club, RULE, relaxed=True, coarse=coarse)
    bare, lawful, unlawful = model.model, 0, 0
    for plan in every_plan(club):
        model.model = bare.clone()
        model.fix(plan)
        solver = make_solver(20.0, probing=0)
        status = solver.solve(model.model)
        if list(RULE[0].audit(club, plan)):
            unlawful += 1
            assert status == cp_model.INFEASIBLE
            continue
        lawful += 1
        assert status == cp_model.OPTIMAL, plan
        again = model.read(solver)
        assert moments_of(again) == moments_of(plan)
        assert list(RULE[0].audit(club, again)) == []
        if not coarse:
            east = {one.session for one in plan.sessions if one.pitch == "East"}
            assert {one.session for one in again.sessions if one.pitch == "East"} == east
    assert lawful > 100
    assert unlawful > 100
