"""Small groups, round after round, in which everybody meets everybody as evenly as can be.

Known tables first, then exchanges of two players by a fixed number of tries, then a model with one Boolean for each
possible group and round where that is small. The same arguments give the same rounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from random import Random
from typing import Generic, TypeVar

from scheduler.rotation.designs import Groups, known_table, known_whole, most_rounds
from scheduler.rotation.pair_bounds import figure, overlap_bound, pair_counts, spread_bound

P = TypeVar("P")
TRIES = 30_000
MOST_COLUMNS = 12_000
COLUMNS_LIMIT = 3.0  # CP-SAT's deterministic seconds


@dataclass(frozen=True)
class SmallGroups(Generic[P]):
    """The rounds, the sum over pairs of c(c - 1)/2 they come to, and the least that counting leaves possible."""

    rounds: tuple[tuple[tuple[P, ...], ...], ...]
    repeats: int
    bound: int

    @property
    def proved(self) -> bool:
        """Whether fewer repeats are shown impossible."""
        return self.repeats == self.bound

    @property
    def text(self) -> str:
        """One sentence: how many repeats, how many at least."""
        if self.proved:
            return f"pairs meet again {self.repeats} times in all; fewer is impossible"
        return f"pairs meet again {self.repeats} times in all; at least {self.bound} by counting"


def group_sizes(players: int, groups: int) -> tuple[int, ...]:
    """Sizes within one, the larger groups first."""
    return tuple(players // groups + (number < players % groups) for number in range(groups))


def least_repeats(players: int, groups: int, rounds: int) -> int:
    """The least figure by counting, by the overlap of any two rounds, and by the known maximum without repeats."""
    sizes = group_sizes(players, groups)
    meetings = rounds * sum(size * (size - 1) // 2 for size in sizes)
    spread = spread_bound(meetings, players * (players - 1) // 2)
    overlap = rounds * (rounds - 1) // 2 * overlap_bound(sizes, sizes, (players, players, players))
    equal = players % groups == 0
    beyond = int(equal and rounds > most_rounds(groups, players // groups)[0])
    return max(spread, overlap, beyond)


def small_groups(players: Sequence[P], groups: int, rounds: int, seed: int = 0) -> SmallGroups[P]:
    """So many rounds of `groups` groups (sizes within one) in which pairs repeat as little as is found.

    `seed` gives other rounds of the same evenness where there are several. ValueError: fewer players than groups.
    """
    count = len(players)
    if groups < 1 or count < groups or rounds < 0:
        raise ValueError(f"{count} players cannot form {groups} groups")
    bound = least_repeats(count, groups, rounds)
    random = Random(seed)
    found = _from_tables(count, groups, rounds)
    if found is None or figure(pair_counts(found).values()) > bound:
        start = found or _dealt(count, groups, rounds, random)
        found = _exchanged(start, count, bound, random)
        if figure(pair_counts(found).values()) > bound:
            found = _by_columns(found, count, groups, bound) or found
    order = list(players)
    random.shuffle(order)
    named = tuple(tuple(tuple(order[player] for player in group) for group in one) for one in found)
    return SmallGroups(named, figure(pair_counts(found).values()), bound)


def _from_tables(players: int, groups: int, rounds: int) -> tuple[Groups, ...] | None:
    """The rounds of a known table, begun again from the front where more are asked for than it has."""
    if players % groups:
        return None
    size = players // groups
    whole, table = known_whole(groups, size), known_table(groups, size)
    if whole and rounds % len(whole) == 0:
        return tuple(whole[number % len(whole)] for number in range(rounds))
    if table:
        return tuple(table[number % len(table)] for number in range(rounds))
    return None


def _dealt(players: int, groups: int, rounds: int, random: Random) -> tuple[Groups, ...]:
    made = []
    for _ in range(rounds):
        order = list(range(players))
        random.shuffle(order)
        sizes, first = group_sizes(players, groups), 0
        one = []
        for size in sizes:
            one.append(tuple(order[first : first + size]))
            first += size
        made.append(tuple(one))
    return tuple(made)


def _exchanged(start: tuple[Groups, ...], players: int, bound: int, random: Random) -> tuple[Groups, ...]:
    """Exchange two players of two groups of a round while that helps, at first now and then where it does not."""
    state = [[list(group) for group in one] for one in start]
    if not state or len(state[0]) < 2:
        return start
    met = [[0] * players for _ in range(players)]
    for (one, two), count in pair_counts(start).items():
        met[one][two] = met[two][one] = count
    now = best = figure(pair_counts(start).values())
    kept = start
    for number in range(TRIES):
        if best <= bound:
            break
        groups = random.choice(state)
        a, b = random.sample(range(len(groups)), 2)
        i, j = random.randrange(len(groups[a])), random.randrange(len(groups[b]))
        change = _change(met, groups[a], i, groups[b], j)
        heat = 1.5 * (1 - number / TRIES)
        if change <= 0 or random.random() < 2.718281828 ** (-change / max(heat, 1e-3)):
            _exchange(met, groups[a], i, groups[b], j)
            now += change
            if now < best:
                best = now
                kept = tuple(tuple(tuple(group) for group in one) for one in state)
    return kept


def _change(met: list[list[int]], one: list[int], i: int, two: list[int], j: int) -> int:
    """By how much the figure grows when one[i] and two[j] change places."""
    p, q = one[i], two[j]
    row_p, row_q = met[p], met[q]
    change = 0
    for mate in one:
        if mate != p:
            change += row_q[mate] - row_p[mate] + 1
    for mate in two:
        if mate != q:
            change += row_p[mate] - row_q[mate] + 1
    return change


def _exchange(met: list[list[int]], one: list[int], i: int, two: list[int], j: int) -> None:
    p, q = one[i], two[j]
    for mates, gone, come in ((one, p, q), (two, q, p)):
        for mate in mates:
            if mate != gone:
                met[gone][mate] -= 1
                met[mate][gone] -= 1
                met[come][mate] += 1
                met[mate][come] += 1
    one[i], two[j] = q, p


def _by_columns(start: tuple[Groups, ...], players: int, groups: int, bound: int) -> tuple[Groups, ...] | None:
    """Rounds without any repeat by a Boolean for each possible group and round, the first round given; None: none."""
    size, rounds = players // groups, len(start)
    possible = rounds <= most_rounds(groups, size)[0]
    if players % groups or bound or not possible or size > 4 or (size == 4 and players > 18):
        return None
    columns = list(combinations(range(players), size))
    if len(columns) * (rounds - 1) > MOST_COLUMNS:
        return None
    from scheduler.solver import cp_model
    from scheduler.solving import make_solver

    model = cp_model.CpModel()
    first = tuple(tuple(range(g * size, (g + 1) * size)) for g in range(groups))
    used = {pair for group in first for pair in combinations(group, 2)}
    columns = [column for column in columns if not used & set(combinations(column, 2))]
    chosen = [[model.new_bool_var(f"{r}|{column}") for column in columns] for r in range(1, rounds)]
    of_pair: dict[tuple[int, int], list[cp_model.IntVar]] = {}
    for literals in chosen:
        of_player: list[list[cp_model.IntVar]] = [[] for _ in range(players)]
        for literal, column in zip(literals, columns, strict=True):
            for player in column:
                of_player[player].append(literal)
            for pair in combinations(column, 2):
                of_pair.setdefault(pair, []).append(literal)
        for mine in of_player:
            model.add_exactly_one(mine)
    for literals in of_pair.values():
        model.add_at_most_one(literals)
    solver = make_solver(COLUMNS_LIMIT)
    if solver.status_name(solver.solve(model)) not in ("OPTIMAL", "FEASIBLE"):
        return None
    later = tuple(
        tuple(column for literal, column in zip(literals, columns, strict=True) if solver.boolean_value(literal))
        for literals in chosen
    )
    return (first, *later)
