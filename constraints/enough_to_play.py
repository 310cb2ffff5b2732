"""Nobody is stood down so far that a team cannot play its own session, and every goal has somebody to keep it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.booking.squads import may_keep
from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish
from scheduler.club.programme import Kind, Practice
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import can_come, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import timeline
from scheduler.welfare.weather import ended_by_heat, minutes_allowed

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
    """The least sizes of the session plan against the team's own players, goals in use against willing keepers."""

    name = "enough to play"
    words = (
        "Stand-downs leave a session as many of its teams' own players as the least sizes of its plan need, or all who "
        "can come where those are fewer; in every rep as many are there who may be asked to keep goal (by the policy "
        "of their own team) as there are goals in use."
    )
    source = Source("a session that cannot be played is none", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    # the booking

    def post(self, club: Club, model: BookingModel) -> None:
        """Own players who come are at least as many as needed, or as could come in that slot; then the goals."""
        for ask in club.sessions:
            if not model.relaxed:
                self._post_goals(club, model, ask.id)
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
        posted: set[str] = set()
        model.when_read(lambda plan: self._post_where_nobody_keeps(club, model, plan, posted))

    def _post_where_nobody_keeps(self, club: Club, model: BookingModel, plan: WeekPlan, posted: set[str]
                                 ) -> WeekPlan | None:  # fmt: skip
        """Goals nearly always have somebody, so in a relaxed model their rows wait until a plan has one without.

        The rows know nothing of headers used up in other sessions: a plan that keeps them and still has a goal without
        anybody is excluded by itself.
        """
        bare = [one.session for one in plan.sessions if _has_bare_goal(club, one)]
        if bare and posted.issuperset(bare):
            model.forbid(plan, then=True)
        for session in (one for one in bare if one not in posted):
            posted.add(session)
            self._post_goals(club, model, session)
        return None if bare else plan

    def _post_goals(self, club: Club, model: BookingModel, session: str) -> None:
        """In every rep with goals, unless heat has ended the session before, enough who may keep are there for it."""
        squads = [s for s in model.children.squads_in(session) if may_keep(club, club.player(s.first))]
        on = model.switch(self.name, f"{session}, goals", f"{session} has somebody to keep goal in every rep")
        for rep, goals in self._hardest(club, model, session, squads).items():
            sure = sum(squad.size for squad in squads if model.children.surely_throughout(squad, session, rep))
            if sure < goals or model.switchable:
                played = model.is_where(session, _Played(club, rep))
                there = [model.children.throughout(squad, session, rep) for squad in squads]
                model.at_least(on, there, goals * played)

    def _hardest(self, club: Club, model: BookingModel, session: str, squads: list[Squad]) -> dict[Span, int]:
        """The reps with goals that no other outdoes: as many goals, as late, and for the same slots and children."""
        kept: dict[tuple[object, ...], dict[Span, int]] = {}
        caps = dict.fromkeys(_minutes_in_heat(club, row.site, row.date) for row in club.weather)
        presences = [tuple(model.children.presences(squad, session)) for squad in squads]
        for rep, goals in sorted(_goals_in_use(club, session).items(), key=lambda item: -item[0].end):
            played = tuple(rep.end <= cap for cap in caps)
            there = tuple(tuple(any(span.holds(rep) for span in spans) for spans in of) for of in presences)
            alike = kept.setdefault((played, there), {})
            if goals > max(alike.values(), default=0):
                alike[rep] = goals
        return {rep: goals for alike in kept.values() for rep, goals in alike.items()}

    def _able(self, model: BookingModel, session: str, own: list[Squad], slot: Slot) -> int:
        return sum(squad.size for squad in own if model.children.stay(squad, session, slot).can > 0)

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Own players listed for each session, against those who are not away; then every rep with goals."""
        for planned in plan.sessions:
            yield from self._unkept(club, planned)
            least = _needed(club, planned)
            own = [p.id for p in club.players if p.team in planned.teams and p in club.members(planned.session)]
            able = [player for player in own if can_come(club, player, planned.date, planned.span)]
            come = [player for player in own if player in planned.players]
            short = min(least, len(able)) - len(come)
            if short > 0:
                text = f"{planned.session} keeps {len(come)} of its own players; its plan needs {least}, "
                text += f"{len(able)} could come"
                yield Violation(self.name, (planned.session,), text, short, "players")

    def _unkept(self, club: Club, planned: PlannedSession) -> Iterator[Violation]:
        """For each block the rep with most goals that nobody there may keep."""
        spans = {player: there(club, planned, player) for player in planned.players}
        for block in planned.blocks or lay_blocks(club, planned).blocks:
            goals: dict[Span, int] = {}
            for station in block.stations:
                for rep in station.reps:
                    in_goal = _in_goal(club, planned, station.practice)
                    goals[rep.span] = goals.get(rep.span, 0) + in_goal
            worst, text = 0, ""
            for span, number in goals.items():
                stay = [p for p in spans if any(s.start <= span.start and span.end <= s.end for s in spans[p])]
                able = sum(1 for player in stay if _agrees(club, player))
                if number - able > worst and not ended_by_heat(planned, span):
                    worst = number - able
                    text = f"{planned.session}, block {block.block}, {span}: {number} in goal at once and "
                    text += f"{able} of the {len(stay)} there may be asked to keep"
            if worst:
                yield Violation(self.name, (planned.session,), text, worst, "players")


def _goals_in_use(club: Club, session: str) -> dict[Span, int]:
    """Keepers needed at once in each rep (minutes from the session's start), over stations with reps at that time."""
    found: dict[Span, int] = {}
    for block in timeline(club, session):
        for station in block.stations:
            practice = station.practice
            sides = 2 if practice.kind is Kind.GAME else 1
            goals = 0 if practice.kind is Kind.TOGETHER else _goals(club, session, practice) * sides * practice.areas
            for rep in station.reps if goals else ():
                found[rep] = found.get(rep, 0) + goals
    return found


def _has_bare_goal(club: Club, planned: PlannedSession) -> bool:
    """Whether fewer who may keep are there for some rep than it has goals in use."""
    keepers = [there(club, planned, player) for player in planned.players if may_keep(club, club.player(player))]
    lasts = _minutes_in_heat(club, club.pitch(planned.pitch).site, planned.date)
    for rep, goals in _goals_in_use(club, planned.session).items():
        then = Span(planned.start + rep.start, planned.start + rep.end)
        if rep.end <= lasts and sum(1 for spans in keepers if any(span.holds(then) for span in spans)) < goals:
            return True
    return False


def _minutes_in_heat(club: Club, site: str, date: dt.date) -> int:
    """How long a session may last in the heat entered for a site and date; a whole day where heat sets no end."""
    rows = [row for row in club.weather if (row.site, row.date) == (site, date)]
    return minutes_allowed(rows, club.heat_category) or DAY_MINUTES


class _Played:
    """Whether in a slot the heat lets a rep be played to its end."""

    def __init__(self, club: Club, rep: Span) -> None:
        self._end = rep.end
        self._lasts = {(row.site, row.date): _minutes_in_heat(club, row.site, row.date) for row in club.weather}

    def __call__(self, slot: Slot) -> bool:
        return self._end <= self._lasts.get((slot.site, slot.date), DAY_MINUTES)


def _in_goal(club: Club, planned: PlannedSession, name: str) -> int:
    """Goals of a station, side by side and area by area."""
    practice, small = club.practice(name), any(club.team(team).age_group <= 7 for team in planned.teams)
    if practice.kind is Kind.TOGETHER:
        return 0
    game = practice.kind is Kind.GAME
    each = practice.keepers if practice.keepers is not None else 0 if game and small else 1
    return sum(each + each if game else each for _area in range(practice.areas))


def _agrees(club: Club, player: str) -> bool:
    """Whether a child has said yes, or was not asked where the team lets everyone take a turn."""
    answer, team = club.player(player).keeper, club.team(club.player(player).team)
    if answer is KeeperWish.NOT_ASKED:
        return team.keepers is KeeperPolicy.EVERYONE
    return answer is not KeeperWish.NO


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
