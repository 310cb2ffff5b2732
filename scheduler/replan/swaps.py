"""A lawful mending found by swaps: every turn is filled with few changes, then two of one side change places until
everybody is within the fair share at every whistle, and then places go back to what they were where that stays so.

Keepers stay as the first filling has them, and as many rest. A swap moves the shares of the two and of nobody else; one
who goes alone where sizes leave room moves everybody's a little. What is found is lawful and close to the plan before;
whether it is the least is for others to show. No solver, no chance.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from scheduler.club.programme import Kind
from scheduler.replan.lines import Lines
from scheduler.replan.options import Filling, Option, TooMany, field_slots
from scheduler.replan.scoreboard import Key, Scoreboard
from scheduler.replan.search import Search, roles_of
from scheduler.replan.task import Task, Worn
from scheduler.rotation.slots import Slot

MOST_STEPS, MORE_STEPS = 150, 120  # taken in a row to bring everybody within the fair share; once there is a way
KEPT_OUT = 7  # steps for which nobody is moved again in the same turn
DEARER = (25.0, 8.0, 3.0)  # changed places that one rep beyond the fair share is worth, tried in turn
MOST_SPARE = 2  # changes beyond the fewest of a turn, for the first filling


class Step(NamedTuple):
    """New slots in one turn: two of a side change theirs, or one goes where sizes leave room."""

    number: int
    to: tuple[tuple[str, Slot], ...]

    @property
    def order(self) -> tuple[str, ...]:
        """Who moves."""
        return tuple(player for player, _ in self.to)


def swapped(task: Task, board: Scoreboard, search: Search, seen: list[list[Filling]]) -> list[list[Filling]]:
    """Ways through the week in which everybody is within the fair share, fewest changes first.

    `seen` are first fillings that were looked at before, in other bibs of somebody whom it makes no difference to.
    """
    start = _first(task, board, search)
    if start is None or start in seen or not task.even_at_start(search.worn(start), all_known=True):
        return []
    seen.append(start)
    found: list[list[Filling]] = []
    for dearer in DEARER:
        way = _Swaps(task, board, start).run(dearer, MOST_STEPS if not found else MORE_STEPS)
        if way is None:
            break  # still less where changes count for more
        found.append(way)
        if search.bound is not None and task.changes(way) <= search.bound:
            break
    return sorted(found, key=task.changes)


def _first(task: Task, board: Scoreboard, search: Search) -> list[Filling] | None:
    """Each turn filled in order of time with the fewest changes, as evenly as that allows."""
    apart = dict(board.apart)
    chosen: list[Filling] = []
    worn: dict[Worn, int] = {}
    try:
        for number in range(len(task.filled)):
            option = _next(board, search, number, chosen, worn)
            if option is None:
                return None
            worn |= search.taken(number, option)
            board.play(number, roles_of(option.filling))
            chosen.append(option.filling)
    except TooMany:
        return None
    finally:
        board.apart = apart
    return chosen


def _next(
    board: Scoreboard, search: Search, number: int, chosen: list[Filling], worn: dict[Worn, int]
) -> Option | None:
    for spare in range(MOST_SPARE + 1):
        best: tuple[tuple[float, ...], Option] | None = None
        for option in search.fitting(number, spare, worn, chosen):
            booked = board.play(number, roles_of(option.filling))
            far = sum(1 for key in booked if key[1] == "keep" and abs(board.apart[key]) > board.bound.get(key, 0))
            rank = (far, option.changes, option.odd, board.furthest(booked))
            board.take_back(booked)
            if best is None or rank < best[0]:
                best = rank, option
        if best is not None and (best[0][0] == 0 or spare == MOST_SPARE):
            return best[1]
    return None


class _Swaps:
    """The search by swaps and single steps from one filling of the week."""

    def __init__(self, task: Task, board: Scoreboard, start: list[Filling]) -> None:
        self._task = task
        self._now = [dict(filling) for filling in start]
        self._whole = [board.scale * turn.minutes for turn, _ in task.filled]
        self._lines: dict[Key, Lines] = {key: Lines(bound) for key, bound in board.bound.items()}
        self._sizes: dict[tuple[int, int], dict[Slot, tuple[int, int]]] = {}
        apart = dict(board.apart)
        for number, filling in enumerate(start):
            for key in board.play(number, roles_of(filling)):
                if key in self._lines and number not in task.locked:
                    self._lines[key].turns.append(number)
                    self._lines[key].apart.append(board.apart[key])
        board.apart = apart
        self._beyond = {key: line.beyond() for key, line in self._lines.items()}
        self._rep = max(self._whole, default=1)

    def run(self, dearer: float, most: int) -> list[Filling] | None:
        """The filling that steps lead to; `dearer`: changed places that one rep beyond the fair share is worth."""
        if not self._even_out(dearer, most):
            return None
        self._put_back()
        return self._now

    def _even_out(self, dearer: float, most: int) -> bool:
        """Step until nobody is beyond the fair share; False where that was not reached."""
        kept_out: dict[tuple[int, str], int] = {}
        for step in range(most):
            far = [key for key, beyond in self._beyond.items() if beyond]
            if not far:
                return True
            best = self._best(far, self._steps_for, kept_out, step, dearer)
            if best is None or best[0] >= 0:
                alone = self._best(far, self._others_alone, kept_out, step, dearer)
                best = min((one for one in (best, alone) if one is not None), key=lambda one: one[0], default=None)
            if best is None:
                kept_out.clear()
                continue
            self._take(best[1])
            kept_out |= {(best[1].number, player): step + KEPT_OUT for player in best[1].order}
        return False

    def _best(self, far: list[Key], steps: Callable[[Key], Iterator[Step]], kept_out: dict[tuple[int, str], int],
              step: int, dearer: float) -> tuple[float, Step] | None:  # fmt: skip
        """The step that is worth most for those beyond the fair share."""
        best: tuple[float, Step] | None = None
        for one in {(m.number, m.order): m for key in far for m in steps(key)}.values():
            if all(kept_out.get((one.number, player), -1) < step for player in one.order):
                worth = self._worth(one, dearer)
                if best is None or worth < best[0]:
                    best = worth, one
        return best

    def _until_too_far(self, key: Key) -> Iterator[tuple[int, int]]:
        """The turns up to the first too far from the fair share of a role, goals left out, and how far that is."""
        found = self._lines[key].first_beyond()
        until, apart = found if found is not None else (-1, 0)
        for number in self._lines[key].turns:
            if number > until:
                return
            if self._now[number][key[0]].role != "keep":
                yield number, apart

    def _steps_for(self, key: Key) -> Iterator[Step]:
        """What brings one player nearer to the fair share of a role, in the turns up to the first too far."""
        player, role = key
        for number, apart in self._until_too_far(key):
            filling = self._now[number]
            mine = filling[player]
            if (mine.role == role) == (apart > 0):
                others = [(one, slot) for one, slot in filling.items() if slot.role not in ("keep", mine.role)]
                for other, slot in others:
                    if slot.side == mine.side and (apart > 0 or slot.role == role):
                        yield Step(number, ((player, slot), (other, mine)))
                for slot in self._room(number, mine):
                    if apart > 0 or slot.role == role:
                        yield Step(number, ((player, slot),))

    def _others_alone(self, key: Key) -> Iterator[Step]:
        """Others who go to the other role alone, which moves everybody's fair share a little."""
        player, role = key
        for number, apart in self._until_too_far(key):
            for other, slot in self._now[number].items():
                if other != player and slot.role in ("attack", "defend") and (slot.role == role) == (apart < 0):
                    for to in self._room(number, slot):
                        yield Step(number, ((other, to),))

    def _room(self, number: int, mine: Slot) -> Iterator[Slot]:
        """The slots of the own side in the other role of a part that sizes leave open, where the own can be left."""
        turn = self._task.filled[number].turn
        if turn.kind is not Kind.PART or mine.role not in ("attack", "defend") or mine.side is None:
            return
        held = list(self._now[number].values())
        if (number, mine.side) not in self._sizes:
            slots = field_slots(turn, mine.side)
            self._sizes[number, mine.side] = {slot: (least, most) for slot, least, most in slots}
        sizes = self._sizes[number, mine.side]
        if mine in sizes and held.count(mine) > sizes[mine][0]:
            for slot, (_, most) in sizes.items():
                if slot.role != mine.role and held.count(slot) < most:
                    yield slot

    def _moves(self, step: Step) -> dict[Key, int]:
        """What a step does to everybody's shares."""
        now, whole = self._now[step.number], self._whole[step.number]
        found: dict[Key, int] = {}
        for player, slot in step.to:
            was = now[player].role
            if was != slot.role:
                found[player, was] = found.get((player, was), 0) - whole
                found[player, slot.role] = found.get((player, slot.role), 0) + whole
        if len(step.to) == 1:
            (player, slot), was = step.to[0], now[step.to[0][0]].role
            fielded = [one for one, held in now.items() if held.role != "keep"]
            for role, more in ((was, -1), (slot.role, 1)):
                held = sum(1 for one in fielded if now[one].role == role)
                by = whole * held // len(fielded) - whole * (held + more) // len(fielded)
                for one in fielded:
                    found[one, role] = found.get((one, role), 0) + by
        return {key: by for key, by in found.items() if key in self._lines and by}

    def _worth(self, step: Step, dearer: float) -> float:
        """What a step costs: changed places, and reps beyond the fair share as many times dearer."""
        more = sum(
            self._lines[key].beyond(step.number, by) - self._beyond[key] for key, by in self._moves(step).items()
        )
        return dearer * more / self._rep + self._more_changes(step)

    def _more_changes(self, step: Step) -> int:
        """How many places more a step changes."""
        old, now = self._task.old[step.number], self._now[step.number]
        return sum((old.get(p, slot) != slot) - (old.get(p, now[p]) != now[p]) for p, slot in step.to)

    def _take(self, step: Step) -> None:
        for key, by in self._moves(step).items():
            self._lines[key].move(step.number, by)
            self._beyond[key] = self._lines[key].beyond()
        self._now[step.number].update(step.to)

    def _put_back(self) -> None:
        """Give places back wherever everybody stays within the fair share, until nothing more can go back."""
        again = True
        while again:
            again = False
            for step in list(self._back()):
                if (
                    self._still(step)
                    and self._more_changes(step) < 0
                    and not any(self._lines[key].beyond(step.number, by) for key, by in self._moves(step).items())
                ):
                    self._take(step)
                    again = True

    def _still(self, step: Step) -> bool:
        """Whether a step listed before is one yet: a swap of slots that are so held, or room for a single one."""
        now = self._now[step.number]
        if len(step.to) == 2:
            (one, to_one), (other, to_other) = step.to
            return now[one] == to_other and now[other] == to_one and to_one.side == to_other.side
        player, slot = step.to[0]
        return slot in self._room(step.number, now[player])

    def _back(self) -> Iterator[Step]:
        """Players whose place is not the old one back to it, in a swap with somebody who has it, or alone."""
        for number, filling in enumerate(self._now):
            if number in self._task.locked:
                continue
            old = self._task.old[number]
            for one, slot in filling.items():
                want = old.get(one, slot)
                if slot.role in ("keep", "all") or want == slot or want.role == "keep":
                    continue
                yield Step(number, ((one, want),))
                for other, held in filling.items():
                    if held == want:
                        yield Step(number, ((one, want), (other, slot)))
