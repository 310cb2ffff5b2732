"""One evening from the club to the finished plan: what a coach can count with fingers, against common practice."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.people import Absence, Limits
from scheduler.club.programme import HeldAt
from scheduler.club.when import Occurs, Span
from scheduler.outcome import Booked
from scheduler.plan.plan import PlannedSession
from scheduler.week import plan_week
from tests.clubs import BOTH_ENDS, MONDAY, a_club
from tests.weeks import SIX, with_asks, with_players


def evening(club: Club) -> PlannedSession:
    """The one session of the club, held on Monday at 18:00, as the whole program plans it."""
    outcome = plan_week(with_asks(club, held_at=HeldAt(0, SIX, None, ())), RULES)
    assert isinstance(outcome, Booked)
    (planned,) = outcome.plan.sessions
    return planned


def test_fourteen_children_two_keepers_a_pitch_in_thirds() -> None:
    """Common practice, no source: two ends of 4 v 2 plus keeper from 14 players, reps of three to four minutes, five
    balls an area. Twelve outfielders share 6 x 8 places in attack and 6 x 4 in defence: four and two each.
    """
    club = a_club(players=14, keepers=2, zones=3)
    planned = evening(club)
    assert len(planned.players) == 14
    (both_ends,) = planned.blocks[1].stations
    assert (both_ends.practice, len(both_ends.reps)) == (BOTH_ENDS.id, 6)
    roles: Counter[tuple[str, str]] = Counter()
    bibs: dict[str, set[str | None]] = {}
    for rep in both_ends.reps:
        assert rep.end - rep.start == 4
        filled = Counter((place.area, place.role) for place in rep.places)
        assert filled == {(area, role): n for area in (1, 2) for role, n in
                          (("attack", 4), ("defend", 2), ("keep", 1))}  # fmt: skip
        for place in rep.places:
            roles[place.player, place.role] += 1
            if place.role != "keep":
                bibs.setdefault(place.player, set()).add(place.side)
    keepers = {player for player, role in roles if role == "keep"}
    outfield = set(planned.players) - keepers
    assert keepers == {player.id for player in club.players[:2]}
    assert {(roles[player, "attack"], roles[player, "defend"]) for player in outfield} == {(4, 2)}
    assert all(len(worn) == 1 for worn in bibs.values())
    assert sorted(Counter(side for worn in bibs.values() for side in worn).values()) == [6, 6]
    assert dict(BOTH_ENDS.kit_per_area)["ball"] == 5


def test_thirteen_children_one_late_and_one_with_a_limit_of_40_minutes() -> None:
    """`max 40`: warm-up from 18:00 to 18:15, six reps of 4 + 1 minutes from 18:15; she leaves at 18:40 with five reps.
    Whoever comes at 18:30 plays from the fourth rep on. Nobody is more than one rep from the fair share.
    """
    late = Absence(who=("Herons Sami",), occurs=Occurs(date=MONDAY), span=Span(0, SIX + 30))
    club = with_players(a_club(players=13, keepers=2, absences=(late,)), 2, limits=Limits(max_minutes=40))
    planned = evening(club)
    (down,) = [row for row in planned.stood_down if row.player == "Herons Tara"]
    assert (down.start, down.end) == (SIX + 40, SIX + 75)
    played: dict[str, list[int]] = {}
    for rep in planned.blocks[1].stations[0].reps:
        for place in rep.places:
            played.setdefault(place.player, []).append(rep.rep)
    assert played["Herons Tara"] == [1, 2, 3, 4, 5]
    assert played["Herons Sami"] == [4, 5, 6]
    assert all(reps == [1, 2, 3, 4, 5, 6] for who, reps in played.items() if who not in ("Herons Tara", "Herons Sami"))
    _nobody_is_further_than_one_rep(planned)


def _nobody_is_further_than_one_rep(planned: PlannedSession) -> None:
    """Attack in the six reps of four minutes, by hand: share = sum over a child's reps of attackers / outfielders."""
    shares: dict[str, Fraction] = {}
    attacks: Counter[str] = Counter()
    for rep in planned.blocks[1].stations[0].reps:
        outfield = [place for place in rep.places if place.role != "keep"]
        attackers = [place.player for place in outfield if place.role == "attack"]
        attacks.update(attackers)
        for place in outfield:
            shares[place.player] = shares.get(place.player, Fraction(0)) + Fraction(len(attackers), len(outfield))
        assert all(abs(attacks[player] - share) <= 1 for player, share in shares.items()), rep.rep
