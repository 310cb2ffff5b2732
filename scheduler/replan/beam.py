"""A lawful mending with few changes where none with the least could be shown: the best few ways kept at each turn.

Whoever is far from the fair share weighs as much as changes do, so that room is left for the turns to come. What is
found is lawful and close to the plan before, not shown to be the least.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.replan.options import Filling, Option, TooMany
from scheduler.replan.scoreboard import Key, Scoreboard
from scheduler.replan.search import Search, roles_of
from scheduler.replan.task import Task, Worn

WIDTH = 8
TRIALS = ((2, 0.6), (2, 1.5), (2, 3.3), (2, 8.0), (3, 6.0), (3, 12.0))  # changes in a turn beyond its fewest; weight


@dataclass(frozen=True)
class State:
    """One way through the turns so far."""

    chosen: tuple[Filling, ...]
    apart: dict[Key, int]
    worn: dict[Worn, int]
    changes: int


def beam(task: Task, board: Scoreboard, search: Search) -> Iterator[list[list[Filling]]]:
    """Ways through the whole week, fewest changes first, for each trial that gave some."""
    start = State((), dict(board.apart), {}, 0)
    search.most = 10**9
    for beyond, weight in TRIALS:
        found = _run(task, board, search, start, beyond, weight)
        board.apart = dict(start.apart)
        if found:
            yield found


def _run(
    task: Task, board: Scoreboard, search: Search, start: State, beyond: int, weight: float
) -> list[list[Filling]]:
    states = [start]
    for number in range(len(task.filled)):
        ranked: list[tuple[float, int, int, Option, State]] = []
        for at, state in enumerate(states):
            board.apart = dict(state.apart)
            try:
                options = search.lawful(number, beyond, state.worn, list(state.chosen))
            except TooMany:
                return []
            for rank, option in enumerate(options):
                booked = board.play(number, roles_of(option.filling))
                score = state.changes + option.changes + weight * board.unevenness()
                ranked.append((score + 0.01 * option.odd, at, rank, option, state))
                board.take_back(booked)
        ranked.sort(key=lambda row: row[:3])
        states = [_next(board, search, number, option, state) for *_, option, state in ranked[:WIDTH]]
        if not states:
            return []
    even = [state for state in states if task.even_at_start(search.worn(list(state.chosen)), all_known=True)]
    return [list(state.chosen) for state in sorted(even, key=lambda one: one.changes)]


def _next(board: Scoreboard, search: Search, number: int, option: Option, state: State) -> State:
    board.apart = dict(state.apart)
    board.play(number, roles_of(option.filling))
    worn = {**state.worn, **search.taken(number, option)}
    return State((*state.chosen, option.filling), board.apart, worn, state.changes + option.changes)
