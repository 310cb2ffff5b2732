"""Tiny clubs for the second solve, their booked weeks, and every possible filling of one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import Any

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish, Player, Team
from scheduler.club.programme import Kind, PlanRow, Practice, SessionAsk, Sizes
from scheduler.plan.plan import Place, WeekPlan
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import Turn, settings
from scheduler.rotation.slots import Slot, slots_of
from tests.clubs import NAMES, a_club
from tests.weeks import held, week_of

SIDES = ("red", "blue")
EIGHTEEN = 18 * 60


def a_practice(kind: Kind = Kind.PART, name: str = "", **changes: Any) -> Practice:
    base: dict[str, Any] = {
        "id": name or f"a {kind.value}", "kind": kind, "areas": 1, "rep": 4, "changeover": 1, "keepers": 0,
        "attackers": Sizes(1, 1, 2), "defenders": Sizes(1, 1, 1) if kind is Kind.PART else None, "rpe": 5,
    }  # fmt: skip
    return Practice(**{**base, **changes})


def a_child(number: int, keeper: KeeperWish = KeeperWish.NOT_ASKED, team: str = "Herons", **changes: Any) -> Player:
    name = NAMES[number]
    base: dict[str, Any] = {"id": name, "name": f"{name} Test", "called": name, "born": dt.date(2014, 5, 1)}
    return Player(**{**base, "team": team, "keeper": keeper, **changes})


def a_squad(count: int, regulars: int = 0, willing: int = 0) -> tuple[Player, ...]:
    wishes = [KeeperWish.REGULAR] * regulars + [KeeperWish.WILLING] * willing
    return tuple(a_child(i, wishes[i] if i < len(wishes) else KeeperWish.NOT_ASKED) for i in range(count))


def a_rotation_club(
    players: Sequence[Player],
    blocks: Sequence[Sequence[Practice]],
    reps: int = 1,
    policy: KeeperPolicy = KeeperPolicy.VOLUNTEERS,
    stays: KeeperStays = KeeperStays.BLOCK,
    sessions: int = 1,
    bibs_stay: str = "session",
    **changes: Any,
) -> Club:
    """One team; `blocks` of stations side by side, each of so many reps; the same session plan for all sessions."""
    practices = tuple({practice.id: practice for block in blocks for practice in block}.values())
    rows = []
    for number, block in enumerate(blocks, 1):
        for practice in block:
            minutes = 5 * reps if practice.rep is None else reps * practice.rep + (reps - 1) * practice.changeover
            count = None if practice.rep is None else reps
            rows.append(PlanRow(plan="Evening", block=str(number), practice=practice.id, minutes=minutes, reps=count))
    team = Team(id="Herons", age_group=13, coaches=("coach Herons 1", "coach Herons 2"), keepers=policy,
                keeper_stays=stays)  # fmt: skip
    asks = tuple(
        SessionAsk(id=f"Herons {i + 1}", teams=("Herons",), plan="Evening", minutes=60, zones=None, bibs_stay=bibs_stay)
        for i in range(sessions)
    )
    base: dict[str, Any] = {
        "teams": (team,), "players": tuple(players), "practices": practices, "plans": tuple(rows), "sessions": asks,
    }  # fmt: skip
    return a_club().model_copy(update={**base, **changes})


def booked(club: Club, **changes: Any) -> WeekPlan:
    """Every session at 18:00, on Monday, Wednesday, Friday and so on, with all its members."""
    planned = (held(club, 2 * number, EIGHTEEN, number, sides=SIDES) for number in range(len(club.sessions)))
    return week_of(club, *planned).model_copy(update=changes)


def lawful_side(turn: Turn, slot: Slot) -> bool:
    """Whether a place is on the side its area is for; resting and playing wear the first side only."""
    if slot.role in ("play", "rest"):
        return slot.side == 0
    if slot.area is None or turn.kind is not Kind.PART:
        return True
    attacker = turn.attacking[slot.area - 1]
    return slot.side == (attacker if slot.role == "attack" else 1 - attacker)


SlotFilter = Callable[[Turn, Slot], bool]
Choice = tuple[int, Slot]


def any_slot(turn: Turn, slot: Slot) -> bool:
    return True


def every_filling(club: Club, plan: WeekPlan, allowed: SlotFilter = any_slot) -> Iterator[WeekPlan]:
    """Every way to give everybody who is there a place, group by block free, each at the group's station."""
    ring = settings(club, plan)[0]
    cells: dict[tuple[str, str, int], list[Turn]] = {}
    for turn in ring.turns:
        for player in turn.there:
            cells.setdefault((player, turn.session, turn.block), []).append(turn)
    keys, options = [], []
    for (player, _, block), turns in cells.items():
        keys.append((player, block))
        options.append(_ways(turns, allowed))
    for chosen in product(*options):
        places: dict[tuple[str, int, int, int], list[Place]] = {turn.key: [] for turn in ring.turns}
        for (player, _), way in zip(keys, chosen, strict=True):
            for turn, group, slot in way:
                side = None if slot.side is None else SIDES[slot.side]
                places[turn.key].append(Place(player=player, group=group, area=slot.area, side=side, role=slot.role))
        yield with_places(club, plan, places)


def _ways(turns: Sequence[Turn], allowed: SlotFilter) -> list[tuple[tuple[Turn, int, Slot], ...]]:
    """Every group and, at its stations, every slot in every rep: of one player in one block."""
    found = []
    for group in sorted({group for turn in turns for group in turn.groups}):
        mine = [turn for turn in turns if group in turn.groups]
        slots = [[(turn, group, slot) for slot in slots_of(turn) if allowed(turn, slot)] for turn in mine]
        found.extend(product(*slots))
    return found


def picture(plan: WeekPlan) -> tuple[object, ...]:
    """What tells two fillings apart."""
    return tuple(
        (planned.session, block.block, station.station, rep.rep, place.player, place.group, place.area, place.side,
         place.role)
        for planned in plan.sessions
        for block in planned.blocks
        for station in block.stations
        for rep in station.reps
        for place in rep.places
    )  # fmt: skip


LETTERS = {"a": "attack", "d": "defend", "k": "keep", "r": "rest", "p": "play", "t": "all"}


def dealt(club: Club, *reps: str, plan: WeekPlan | None = None) -> WeekPlan:
    """A week by hand, for sessions of one station: a word a turn, in it two signs a player there: role and area.

    A capital role is on the second side; `-` for the area where there is none: `a1 D1 r- K2`.
    """
    plan = plan or booked(club)
    turns = [turn for ring in settings(club, plan) for turn in ring.turns]
    places = {}
    for turn, rep in zip(turns, reps, strict=True):
        places[turn.key] = [
            Place(
                player=player,
                role=LETTERS[word[0].lower()],
                area=None if word[1] == "-" else int(word[1]),
                side=None if word[0].lower() == "t" else SIDES[word[0].isupper()],
            )
            for player, word in zip(turn.there, rep.split(), strict=True)
        ]
    return with_places(club, plan, places)
