"""Plain counting before any search: turns that no rotation can fill, each with the rule and a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.club.club import Club
from scheduler.club.programme import Contact, Kind
from scheduler.contract import Rule
from scheduler.outcome import Demand
from scheduler.plan.ledger import keeper_shares
from scheduler.rotation.setting import Ring, Turn
from scheduler.rotation.sizes import all_play, least_field, shape_of
from scheduler.welfare.apart import apart_words

SIZES, KEEPERS, APART, AGE_GAP = "area sizes", "willing keepers", "apart", "age gap"
MOST_YEARS = 2  # as the rule on age gaps has it
TOGETHER = "are there, everybody plays and there is only one area"
PARTED = "choose a practice with two areas or stations side by side, or leave one of the two out (Without)"


def shortages(club: Club, ring: Ring, rules: Sequence[Rule]) -> tuple[Demand, ...]:
    """Demands that cannot be met whatever the groups and sides, the first of each block.

    With several groups the children there are counted over all stations of the block at that time.
    """
    return _firsts(club, ring, rules, meeting=True)


def too_few(club: Club, ring: Ring, rules: Sequence[Rule]) -> tuple[Demand, ...]:
    """The shortages that are still there whoever of the children stays away: too few players, too few keepers.

    Who may not meet is left out: one of the two may not come, or be stood down from the block.
    """
    return _firsts(club, ring, rules, meeting=False)


def _firsts(club: Club, ring: Ring, rules: Sequence[Rule], *, meeting: bool) -> tuple[Demand, ...]:
    on = {rule.name for rule in rules if rule.off(club) is None}
    found: dict[tuple[str, str, int], Demand] = {}
    for beside in _side_by_side(ring):
        several = len(beside) > 1 or not meeting  # who comes, or comes together, is open
        for demand in (*_short(club, beside, several), *(_meeting(club, ring, beside) if meeting else ())):
            if demand.rule in on:
                found.setdefault((demand.rule, beside[0].session, beside[0].block), demand)
    return tuple(found.values())


def fewest_there(ring: Ring) -> int:
    """How many children a session with roles needs at least at one time, so that the least sizes can be met."""
    each = (sum(least_field(shape_of(one)) + one.goals for one in turns) for turns in _side_by_side(ring))
    return min(each, default=0)


def _side_by_side(ring: Ring) -> Iterator[list[Turn]]:
    """Turns with roles that run at one time in one session: one, or one a station where all reps begin together."""
    found: dict[tuple[str, int, object], list[Turn]] = {}
    for turn in ring.turns:
        if turn.has_roles:
            found.setdefault((turn.session, turn.block, turn.span), []).append(turn)
    yield from found.values()


def _short(club: Club, turns: list[Turn], several: bool) -> Iterator[Demand]:
    turn = turns[0]
    there, goals = turn.there, sum(one.goals for one in turns)
    where = f"{turn.session}, block {turn.block}, rep {turn.rep}"
    subject = f"{turn.session}, block {turn.block}, station {turn.station}, rep {turn.rep}"
    may = len(_may_keep(club, there, goals, several))
    if goals > may:
        who = f"{may} of the {len(there)} there may keep goal" if may else f"nobody of the {len(there)} there may keep"
        needs = f"{goals} {'keeper is' if goals == 1 else 'keepers are'} needed"
        yield Demand(KEEPERS, turn.session, f"{where}: {needs}, {who}")
    field = len(there) - goals
    least = sum(least_field(shape_of(one)) for one in turns)
    if field < least:
        names = " and ".join(dict.fromkeys(one.practice.id for one in turns))
        needs = f"{names} {'needs' if len(turns) == 1 else 'need'} at least {least}"
        besides = f" besides {goals} in goal" if goals else ""
        yield Demand(SIZES, subject, f"{where}: {max(0, field)} there{besides}, {needs}")
    elif turn.kind is Kind.GAME and len(turns) == 1 and turn.attackers.most < turn.attackers.least:
        yield Demand(SIZES, subject, f"{where}: {turn.practice.id} has a most below its least")


def _meeting(club: Club, ring: Ring, turns: list[Turn]) -> Iterator[Demand]:
    """Who may not meet and must where everybody plays in one area."""
    turn = turns[0]
    field = len(turn.there) - turn.goals
    if len(turns) == 1 and turn.areas == 1 and all_play(shape_of(turn), field, _apart(club, ring, turn)):
        yield from _in_one_area(club, turn, f"{turn.session}, block {turn.block}, rep {turn.rep}")


def _in_one_area(club: Club, turn: Turn, where: str) -> Iterator[Demand]:
    """Who may not meet where everybody plays in the only area."""
    foes = ((who, other) for who in turn.there for other in club.player(who).apart_from if other != who)
    if pair := next((pair for pair in foes if pair[1] in turn.there), None):
        yield Demand(APART, turn.session, f"{where}: {apart_words(club, *pair)} {TOGETHER}; {PARTED}")
    ages = {player: age for player in turn.there if (age := club.age(club.player(player))) is not None}
    if ages and turn.practice.contact is not Contact.NONE:
        oldest, youngest = max(ages, key=ages.__getitem__), min(ages, key=ages.__getitem__)
        if (gap := ages[oldest] - ages[youngest]) > MOST_YEARS:
            names = f"{club.called(oldest)} and {club.called(youngest)} are {gap} age years apart, at most {MOST_YEARS}"
            text = f"{names} where everybody plays in one area with contact; leave one of the two out (Without)"
            yield Demand(AGE_GAP, f"{turn.session}, block {turn.block}", f"{where}: {text}")


def _apart(club: Club, ring: Ring, turn: Turn) -> int:
    """How far the numbers of the two sides in the field can differ at most: even at the start of their bibs.

    One more for each who has come or gone since, and for each in goal, unless these only keep goal and count nowhere.
    """
    by_block = ring.setting(turn.session).bibs_stay == "block"
    stay = [
        one
        for one in ring.turns_of(turn.session)
        if one.has_roles and (one.block == turn.block or not by_block) and set(one.groups) & set(turn.groups)
    ]
    only_keep = all((one.there, one.goals) == (turn.there, turn.goals) for one in stay)
    only_keep = only_keep and len(_may_keep(club, turn.there, turn.goals, several=False)) <= turn.goals
    return 1 + len(set(turn.there) ^ set(stay[0].there)) + (0 if only_keep else turn.goals)


def _may_keep(club: Club, there: Sequence[str], goals: int, several: bool) -> tuple[str, ...]:
    """Who of those there may keep goal: by the policy of all, or of each one's own team where `several` groups may be.

    Whom a group follows hangs on who is in it: one child of a stricter team, and nobody is asked who did not say so.
    """
    if not there or not goals:
        return ()
    if not several:
        return tuple(keeper_shares(club, there, goals))
    teams = dict.fromkeys(club.player(player).team for player in there)
    found: list[str] = []
    for team in teams:
        found.extend(keeper_shares(club, [p for p in there if club.player(p).team == team], goals))
    return tuple(found)
