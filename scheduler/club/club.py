"""The club of one week: everything the input says, typed, checked and frozen. Knows no solver, file or screen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from scheduler.club.people import Absence, AgeRow, Carried, Coach, Elsewhere, Match, Player, Return, Team
from scheduler.club.places import Booked, KitItem, Pitch, Site, Weather
from scheduler.club.programme import PlanRow, Practice, SessionAsk
from scheduler.club.when import week_dates

Row = TypeVar("Row", Site, Pitch, Team, Player, Coach, SessionAsk)


def _by_id(rows: Iterable[Row]) -> dict[str, Row]:
    return {row.id: row for row in rows}


class Club(BaseModel):
    """One club and one week. Rows keep the order of the input; every reference between rows has been checked."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    week: dt.date = Field(description="a Monday")
    timezone: str = "Europe/London"
    step: int = Field(default=15, ge=1, description="starts fall on this grid, minutes after midnight")
    gap: int = Field(default=0, ge=0, description="minutes kept free between two sessions on one zone")
    set_up: int = Field(default=0, ge=0, description="minutes the zones are needed before a session")
    pack_up: int = Field(default=0, ge=0, description="minutes the zones are needed after a session")
    rpe_scale: str = Field(default="0-10", pattern="^(0-10|6-20)$")
    sites: tuple[Site, ...]
    pitches: tuple[Pitch, ...]
    booked: tuple[Booked, ...] = ()
    ages: tuple[AgeRow, ...]
    teams: tuple[Team, ...]
    matches: tuple[Match, ...] = ()
    sessions: tuple[SessionAsk, ...]
    players: tuple[Player, ...]
    coaches: tuple[Coach, ...]
    kit: tuple[KitItem, ...] = ()
    practices: tuple[Practice, ...]
    plans: tuple[PlanRow, ...]
    absences: tuple[Absence, ...] = ()
    elsewhere: tuple[Elsewhere, ...] = ()
    free_play: tuple[Elsewhere, ...] = Field(default=(), description="play nobody organises: under no limit")
    carried: tuple[Carried, ...] = ()
    returns: tuple[Return, ...] = ()
    weather: tuple[Weather, ...] = ()
    rule_set: str | None = Field(default=None, description="the published rule set chosen beside the age rows")
    heat_category: int = Field(default=3, ge=1, le=3, description="regional heat category: 1 cool to 3 hot summers")
    wake: int = Field(default=7 * 60, description="when children get up, minute of the day; for sleep beside finish by")
    way_home: int = Field(default=30, ge=0, description="minutes from the end of a session to being home")
    wind_down: int = Field(default=60, ge=0, description="minutes from being home to being asleep")
    blank: frozenset[str] = Field(
        default=frozenset(),
        description="sheets and columns wholly empty (`Kit`, `Coaches.First aid until`); their rules are off",
    )
    notes: tuple[str, ...] = Field(default=(), description="what the reader filled in or ignored, as sentences")

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Club:
        """A copy with some fields replaced; what was worked out from the old fields is forgotten."""
        copied = super().model_copy(update=update, deep=deep)
        for name in ("dates", "_index", "_members"):
            copied.__dict__.pop(name, None)
        return copied

    @cached_property
    def dates(self) -> tuple[dt.date, ...]:
        """The seven dates of the week."""
        return week_dates(self.week)

    @cached_property
    def _index(self) -> dict[str, dict[str, object]]:
        return {
            "site": dict(_by_id(self.sites)),
            "pitch": dict(_by_id(self.pitches)),
            "team": dict(_by_id(self.teams)),
            "player": dict(_by_id(self.players)),
            "coach": dict(_by_id(self.coaches)),
            "session": dict(_by_id(self.sessions)),
            "practice": {practice.id: practice for practice in self.practices},
        }

    def _find(self, kind: str, key: str) -> object:
        return self._index[kind][key]

    def has(self, kind: str, key: str) -> bool:
        """Whether there is a `site`, `pitch`, `team`, `player`, `coach`, `session` or `practice` of this id."""
        return key in self._index[kind]

    def site(self, key: str) -> Site:
        """The site of this id; KeyError where there is none."""
        found = self._find("site", key)
        assert isinstance(found, Site)
        return found

    def pitch(self, key: str) -> Pitch:
        """The pitch of this id; KeyError where there is none."""
        found = self._find("pitch", key)
        assert isinstance(found, Pitch)
        return found

    def team(self, key: str) -> Team:
        """The team of this id; KeyError where there is none."""
        found = self._find("team", key)
        assert isinstance(found, Team)
        return found

    def player(self, key: str) -> Player:
        """The player of this id; KeyError where there is none."""
        found = self._find("player", key)
        assert isinstance(found, Player)
        return found

    def coach(self, key: str) -> Coach:
        """The coach of this id; KeyError where there is none."""
        found = self._find("coach", key)
        assert isinstance(found, Coach)
        return found

    def session(self, key: str) -> SessionAsk:
        """The session asked for under this id; KeyError where there is none."""
        found = self._find("session", key)
        assert isinstance(found, SessionAsk)
        return found

    def practice(self, key: str) -> Practice:
        """The practice of this id; KeyError where there is none."""
        found = self._find("practice", key)
        assert isinstance(found, Practice)
        return found

    @cached_property
    def _members(self) -> dict[str, tuple[Player, ...]]:
        of: dict[tuple[str, str], list[SessionAsk]] = {}
        for ask in self.sessions:
            for key in (*(("team", team) for team in ask.teams), *(("guest", one) for one in ask.with_players)):
                of.setdefault(key, []).append(ask)
        found: dict[str, dict[str, Player]] = {ask.id: {} for ask in self.sessions}
        for player in self.players:
            teams = (("team", team) for team in (player.team, *player.also_plays_for))
            for ask in (ask for key in (*teams, ("guest", player.id)) for ask in of.get(key, ())):
                if player.id not in ask.without_players:
                    found[ask.id][player.id] = player
        return {session: tuple(players.values()) for session, players in found.items()}

    def members(self, session: str) -> tuple[Player, ...]:
        """Whoever belongs in a session before absences and limits: its teams' players, their doubles, its guests."""
        return self._members[session]

    def own_coaches(self, session: str) -> tuple[str, ...]:
        """The adults of a session's teams, first of the first team first."""
        teams = self.session(session).teams
        return tuple(dict.fromkeys(coach for team in teams for coach in self.team(team).coaches))

    def is_own(self, player: Player, session: str) -> bool:
        """Whether the session is one of the player's own team (not a second team, not a visit)."""
        return player.team in self.session(session).teams

    def age(self, player: Player) -> int | None:
        """Whole years on the Monday of the week; None where birth dates are not kept."""
        return player.age_on(self.week)

    def limit_age(self, player: Player) -> int:
        """The age whose limits hold: whole years on the Monday, or the youngest of the age group where not kept."""
        age = self.age(player)
        return age if age is not None else self.team(player.team).age_group - 2

    def age_row(self, player: Player) -> AgeRow | None:
        """The first age row that holds the player's age; None where no row does."""
        age = self.limit_age(player)
        return next((row for row in self.ages if row.from_age <= age <= row.to_age), None)

    def called(self, key: str) -> str:
        """The card name of a player or the name of a coach."""
        if self.has("player", key):
            return self.player(key).called
        return self.coach(key).name if self.has("coach", key) else key

    def is_blank(self, *columns: str) -> bool:
        """Whether any of these sheets or `Sheet.Column`s is wholly empty, so that a rule that needs it is off."""
        return any(column in self.blank or column.split(".")[0] in self.blank for column in columns)
