"""Nobody is stood down so far that a team cannot play its own session."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Practice
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import can_come
from scheduler.plan.timeline import timeline

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear
    from scheduler.booking.slots import Slot
    from scheduler.booking.squads import Squad


def _goals(club: Club, session: str, practice: Practice) -> int:
    """Keepers per area (part) or side (game); where blank 1, in a game of U7 or younger 0."""
    if practice.keepers is not None:
        return practice.keepers
    youngest = min(club.team(team).age_group for team in club.session(session).teams)
    return 0 if practice.kind is Kind.GAME and youngest <= 7 else 1


def least_players(club: Club, session: str) -> int:
    """The fewest players that every block of a session's plan can be played with; a session for nobody is none."""
    needs = [1]
    for block in timeline(club, session):
        total = 0
        for station in block.stations:
            practice, goals = station.practice, _goals(club, session, station.practice)
            if practice.kind is Kind.PART and practice.attackers is not None and practice.defenders is not None:
                total += practice.areas * (practice.attackers.least + practice.defenders.least + goals)
            elif practice.kind is Kind.GAME and practice.attackers is not None:
                total += practice.areas * 2 * (practice.attackers.least + goals)
        needs.append(total)
    return max(needs)


class EnoughToPlay:
    """The least sizes of the session plan against the team's own players."""

    name = "enough to play"
    words = (
        "Stand-downs leave a session as many of its teams' own players as the least sizes of its plan need, or all who "
        "can come where those are fewer."
    )
    source = Source("a session that cannot be played is none", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    # the booking

    def post(self, club: Club, model: BookingModel) -> None:
        """Own players who come are at least as many as needed, or as could come in that slot."""
        for ask in club.sessions:
            least = least_players(club, ask.id)
            own = [s for s in model.children.squads_in(ask.id) if club.is_own(club.player(s.first), ask.id)]
            if not own:
                continue
            on = model.switch(self.name, ask.id, f"{ask.id} keeps at least {least} of its own players")
            needed: dict[int, list[Slot]] = {}
            for slot in model.slots(ask.id):
                needed.setdefault(min(least, self._able(model, ask.id, own, slot)), []).append(slot)
            bound: list[Linear] = [
                number * model.is_where(ask.id, set(slots).__contains__) for number, slots in needed.items()
            ]
            model.at_least(on, [model.children.coming(squad, ask.id) for squad in own], sum(bound))

    def _able(self, model: BookingModel, session: str, own: list[Squad], slot: Slot) -> int:
        return sum(squad.size for squad in own if model.children.stay(squad, session, slot).can > 0)

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Own players listed for each session, against those who are not away."""
        for planned in plan.sessions:
            least = _needed(club, planned)
            own = [p.id for p in club.players if p.team in planned.teams and p in club.members(planned.session)]
            able = [player for player in own if can_come(club, player, planned.date, planned.span)]
            come = [player for player in own if player in planned.players]
            short = min(least, len(able)) - len(come)
            if short > 0:
                text = f"{planned.session} keeps {len(come)} of its own players; its plan needs {least}, "
                text += f"{len(able)} could come"
                yield Violation(self.name, (planned.session,), text, short, "players")


def _needed(club: Club, planned: PlannedSession) -> int:
    """Players that the fullest block of the session plan needs, counted side by side down the rows of its sheet."""
    ask = club.session(planned.session)
    small = any(club.team(team).age_group <= 7 for team in ask.teams)
    places: dict[str, int] = {"nobody": 1}
    for row in club.plans:
        practice = club.practice(row.practice)
        if row.plan != ask.plan or practice.attackers is None or practice.kind is Kind.TOGETHER:
            continue
        game = practice.kind is Kind.GAME
        against = practice.attackers if game else practice.defenders
        in_goal = practice.keepers if practice.keepers is not None else 0 if game and small else 1
        for _area in range(practice.areas if against is not None else 0):
            for side in (practice.attackers, against):
                places[row.block] = places.get(row.block, 0) + (side.least if side is not None else 0)
            places[row.block] += 2 * in_goal if game else in_goal
    return max(places.values())
