"""A part of a club: some sessions, and of everybody else only those who have to do with them."""

from __future__ import annotations

from collections.abc import Container

from scheduler.club.club import Club


def part_of(club: Club, sessions: Container[str], adults: Container[str]) -> Club:
    """The club with these sessions alone, whoever belongs in them, their own adults and these.

    What children and adults do elsewhere in the week stays; whoever is in none of the sessions is unknown to it.
    """
    asks = tuple(ask for ask in club.sessions if ask.id in sessions)
    players = {player.id: player for ask in asks for player in club.members(ask.id)}
    names = {team for ask in asks for team in ask.teams}
    names |= {team for player in players.values() for team in (player.team, *player.also_plays_for)}
    teams = tuple(team for team in club.teams if team.id in names)
    own = {coach for team in teams for coach in team.coaches}
    coaches = tuple(coach for coach in club.coaches if coach.id in own or coach.id in adults)
    who = {*players, *(coach.id for coach in coaches)}
    return club.model_copy(
        update={
            "sessions": asks,
            "teams": teams,
            "players": tuple(player for player in club.players if player.id in players),
            "coaches": coaches,
            "matches": tuple(
                match
                for match in club.matches
                if (not players.keys().isdisjoint(match.players) if match.players else match.team in names)
            ),
            "absences": tuple(row for row in club.absences if not who.isdisjoint(row.who)),
            "elsewhere": tuple(row for row in club.elsewhere if row.player in players),
            "free_play": tuple(row for row in club.free_play if row.player in players),
            "carried": tuple(row for row in club.carried if row.player in players),
            "returns": tuple(row for row in club.returns if row.player in players),
        }
    )
