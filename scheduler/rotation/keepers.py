"""Who keeps goal in each turn: by the teams' policies, for whole stays, whoever is furthest behind the share first."""

from __future__ import annotations

from collections.abc import Container
from fractions import Fraction
from random import Random

from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.plan.ledger import keeper_shares, keeper_stays, policy_of
from scheduler.rotation.draft import Draft, Goal, Lineup, keep_bounds


class _Turns:
    """What the choice remembers from turn to turn."""

    def __init__(self, draft: Draft, random: Random | None) -> None:
        count = len(draft.names)
        self.behind = [Fraction(0)] * count  # share less held
        self.most = keep_bounds(draft)
        self.odd: dict[tuple[int, int], int] = {}  # how often a player kept while a side attacked in a single area
        dues = {row.player: row.keep for row in draft.club.carried}
        for player, bound in enumerate(self.most):
            due = dues.get(draft.names[player], 0)
            self.behind[player] = Fraction(max(-bound, min(bound, due)))
        self.order = list(range(count))
        if random is not None:
            random.shuffle(self.order)
        self.before: dict[tuple[str, int], Lineup] = {}


def choose_keepers(
    draft: Draft, random: Random | None = None, *, even_out: bool = True, only: Container[int] | None = None
) -> None:
    """Fill `keepers` and `field` of every lineup (or these alone), in order of time. `random` breaks ties anew.

    `even_out`: where the sides take turns to attack a single area, let nobody keep always when the same side attacks
    (else the turns left in the field are all of one role), as far as the shares in goal allow.

    Where fewer may keep than there are goals, all who may do; the shortage is left for the caller to see.
    """
    turns = _Turns(draft, random)
    for index, lineup in enumerate(draft.lineups):
        if lineup.turn.goals:
            ids = [draft.names[player] for player in lineup.here]
            named = keeper_shares(draft.club, ids, lineup.turn.goals)
            shares = {player: named[draft.names[player]] for player in lineup.here if draft.names[player] in named}
            chosen = list(lineup.keepers)
            if only is None or index in only:
                chosen = _chosen(draft, lineup, shares, turns, even_out)
                lineup.keepers = _goals(lineup, chosen, turns)
            lineup.goal_parts = shares
            for player, share in shares.items():
                turns.behind[player] += share * lineup.turn.minutes
            for player in chosen:
                turns.behind[player] -= lineup.turn.minutes
                if lineup.turn.attacking:
                    key = (player, lineup.turn.attacking[-1])
                    turns.odd[key] = turns.odd.get(key, 0) + 1
            for group in lineup.turn.groups:
                turns.before[lineup.turn.session, group] = lineup
        lineup.field = tuple(player for player in lineup.here if player not in lineup.keepers)


def set_keepers(draft: Draft, chosen: dict[int, list[int]]) -> None:
    """Put these players in goal, by the lineup's number; which goal is theirs follows as when they are chosen here."""
    turns = _Turns(draft, None)
    for index, lineup in enumerate(draft.lineups):
        if lineup.turn.goals:
            if index in chosen:
                lineup.keepers = _goals(lineup, chosen[index], turns)
                lineup.field = tuple(player for player in lineup.here if player not in lineup.keepers)
            for group in lineup.turn.groups:
                turns.before[lineup.turn.session, group] = lineup


def _chosen(draft: Draft, lineup: Lineup, shares: dict[int, Fraction], turns: _Turns, even_out: bool) -> list[int]:
    """The keepers of one turn: those whose stay goes on, then regulars where they come first, then by the shares."""
    club, goals = draft.club, lineup.turn.goals
    policy = policy_of(club, [draft.names[player] for player in lineup.here]) if lineup.here else None
    regulars = {p for p in lineup.here if club.player(draft.names[p]).keeper is KeeperWish.REGULAR}
    must = [p for p in shares if policy is KeeperPolicy.REGULARS and p in regulars and shares[p] == 1]
    staying = [p for p in _staying(draft, lineup, turns) if p in shares]

    minutes, attacking = lineup.turn.minutes, lineup.turn.attacking

    def rank(player: int) -> tuple[bool, bool, int, int, Fraction, int]:
        now, most = turns.behind[player] + shares[player] * minutes, turns.most[player]
        pressing = 0 if now > most else 2 if minutes - now > most else 1
        alike = turns.odd.get((player, attacking[-1]), 0) if len(attacking) % 2 and even_out else 0
        return player not in must, player not in staying, pressing, alike, -turns.behind[player], turns.order[player]

    return sorted(shares, key=rank)[:goals]


def _staying(draft: Draft, lineup: Lineup, turns: _Turns) -> list[int]:
    found: list[int] = []
    for group in lineup.turn.groups:
        before = turns.before.get((lineup.turn.session, group))
        for player in before.keepers if before is not None else ():
            stays = keeper_stays(draft.club, draft.names[player])
            same = before is not None and before.turn.block == lineup.turn.block
            if stays is KeeperStays.SESSION or (stays is KeeperStays.BLOCK and same):
                found.append(player)
    return [player for player in dict.fromkeys(found) if player in lineup.here]


def _goals(lineup: Lineup, chosen: list[int], turns: _Turns) -> dict[int, Goal]:
    """A goal for each keeper: the same area as before where the keeper goes on, the others in order."""
    before: dict[int, Goal] = {}
    for group in lineup.turn.groups:
        earlier = turns.before.get((lineup.turn.session, group))
        if earlier is not None and earlier.turn.block == lineup.turn.block:
            before.update(earlier.keepers)
    free, given = list(lineup.goals()), {}
    for exact in (True, False):
        for player in chosen:
            if player in before and player not in given:
                same = [g for g in free if g == before[player] or (not exact and g[0] == before[player][0])]
                if same:
                    given[player] = same[0]
                    free.remove(same[0])
    for player in chosen:
        if player not in given:
            given[player] = free.pop(0)
    return given
