"""How long `why` takes in clubs of many teams, for nine kinds of trouble: CPU seconds of a process of its own.

`python -m tests.speed.whys [--teams 12 30] [--kind "kit short"]`. The clubs are invented and have a lawful week; then
one thing is made impossible. `named` are the sessions of every conflict found, to be held against those expected.
"""

from __future__ import annotations

import argparse
import pickle
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from scheduler.club.club import Club
from scheduler.club.people import KeeperWish
from scheduler.club.places import Opening
from scheduler.club.when import Span
from tests.speed.clubs import a_town

ROOT = Path(__file__).resolve().parent.parent.parent
WEDNESDAY = 2
Change = Callable[[Club], tuple[Club, list[list[str]]]]


@dataclass(frozen=True)
class Took:
    """CPU seconds of a process, and the sessions each conflict names."""

    seconds: float
    named: list[list[str]]
    ways_out: int


def asking(club: Club, names: list[str], **changes: object) -> Club:
    """The club with some sessions asked for differently."""
    asks = tuple(ask.model_copy(update=changes) if ask.id in names else ask for ask in club.sessions)
    return club.model_copy(update={"sessions": asks})


def with_team(club: Club, teams: list[str], **changes: object) -> Club:
    """The club with some teams changed."""
    new = tuple(team.model_copy(update=changes) if team.id in teams else team for team in club.teams)
    return club.model_copy(update={"teams": new})


def over_full(club: Club) -> tuple[Club, list[list[str]]]:
    """Twice 75 minutes and once 60 on the whole of one pitch within 150 minutes of one evening."""
    names = ["T002 1", "T003 1", "T008 1"]
    pitch = club.pitches[0].id
    changed = asking(club, names, days=frozenset({WEDNESDAY}), earliest=17 * 60, latest=19 * 60 + 30, zones=None,
                     pitches=(pitch,), wished_days=frozenset())  # fmt: skip
    booked = tuple(row for row in club.booked if row.pitch != pitch)
    return everybody_comes(changed.model_copy(update={"booked": booked})), [names]


def everybody_comes(club: Club) -> Club:
    """The club with adults who are there every evening, so that nothing else is short."""
    return club.model_copy(
        update={"coaches": tuple(coach.model_copy(update={"available": None}) for coach in club.coaches)}
    )


def coach_twice(club: Club) -> tuple[Club, list[list[str]]]:
    """One coach is the only one of two teams that train at one time."""
    names, teams = ["T000 1", "T001 1"], ["T000", "T001"]
    changed = asking(everybody_comes(club), names, days=frozenset({WEDNESDAY}), earliest=17 * 60, latest=18 * 60 + 15,
                     wished_days=frozenset())  # fmt: skip
    return with_team(changed, teams, coaches=(club.team("T000").coaches[0],)), [names]


def no_light(club: Club) -> tuple[Club, list[list[str]]]:
    """One session may only be on a pitch without lights, late in the evening."""
    dark = club.pitches[-1].model_copy(update={"openings": (Opening(span=Span(17 * 60, 22 * 60), lit=False),)})
    changed = everybody_comes(club).model_copy(
        update={"pitches": (*club.pitches, dark.model_copy(update={"id": "Dark"}))}
    )
    return asking(changed, ["T004 1"], pitches=("Dark",), earliest=20 * 60 + 30), [["T004 1"]]


def no_keeper(club: Club) -> tuple[Club, list[list[str]]]:
    """Nobody of one team was asked to keep goal."""
    players = tuple(
        player.model_copy(update={"keeper": KeeperWish.NOT_ASKED}) if player.team == "T006" else player
        for player in club.players
    )
    return club.model_copy(update={"players": players}), [["T006 1"], ["T006 2"]]


def no_adult(club: Club) -> tuple[Club, list[list[str]]]:
    """The adults of one team are there on Thursday alone, its first session is to be on Monday."""
    mine = club.team("T007").coaches
    coaches = tuple(
        coach.model_copy(update={"available": ((frozenset({3}), Span(0, 1440)),)}) if coach.id in mine else coach
        for coach in everybody_comes(club).coaches
    )
    changed = asking(club.model_copy(update={"coaches": coaches}), ["T007 1"], days=frozenset({0}))
    return changed, [["T007 1"]]


def kit_short(club: Club) -> tuple[Club, list[list[str]]]:
    """Two sessions at one time at a site with balls for one of them."""
    names = ["T000 1", "T008 1"]
    site = club.pitches[0].site
    pitches = tuple(pitch.id for pitch in club.pitches if pitch.site == site)
    changed = asking(everybody_comes(club), names, days=frozenset({WEDNESDAY}), earliest=17 * 60, latest=18 * 60,
                     pitches=pitches)  # fmt: skip
    others = [ask.id for ask in club.sessions if ask.id not in names]
    changed = asking(changed, others, days=frozenset({0, 1, 3, 4}))
    most, date = max(len(club.members(name)) for name in names), club.dates[WEDNESDAY]
    kit = tuple(
        row.model_copy(update={"missing": ((date, row.count - most),)})
        if (row.item, row.site) == ("ball size 4", site)
        else row
        for row in club.kit
    )
    return changed.model_copy(update={"kit": kit}), [names]


def child_twice(club: Club) -> tuple[Club, list[list[str]]]:
    """Two sessions at one time whose teams have children enough for one."""
    names = ["T000 1", "T001 1"]
    changed = asking(everybody_comes(club), names, days=frozenset({WEDNESDAY}), earliest=17 * 60, latest=18 * 60 + 5)
    first = [player for player in club.players if player.team == "T000"]
    both = {player.id for player in first}
    players = tuple(
        player.model_copy(update={"also_plays_for": ("T001",)}) if player.id in both else player
        for player in club.players
        if player.team != "T001" or player.keeper in (KeeperWish.REGULAR, KeeperWish.WILLING)
    )
    return changed.model_copy(update={"players": players}), [names]


def age_cap(club: Club) -> tuple[Club, list[list[str]]]:
    """Whoever is 13 may train once a week, and twice is asked of them.

    A team with fewer than twelve for each session is in conflict: those under 13 come twice, the others once.
    """
    rows = tuple(row.model_copy(update={"sessions_a_week": 1}) if row.from_age >= 13 else row for row in club.ages)
    once = {player.id for player in club.players if club.limit_age(player) >= 13}
    short = []
    for team in club.teams:
        own = [player.id for player in club.players if player.team == team.id]
        if sum(1 if player in once else 2 for player in own) < 2 * 12:
            short.append([f"{team.id} 1", f"{team.id} 2"])
    return club.model_copy(update={"ages": rows}), short


def two_at_once(club: Club) -> tuple[Club, list[list[str]]]:
    """An over-full evening, and a coach needed twice on another."""
    changed, first = over_full(club)
    names = ["T000 1", "T001 1"]
    changed = asking(changed, names, days=frozenset({4}), earliest=17 * 60, latest=18 * 60 + 15)
    return with_team(changed, ["T000", "T001"], coaches=(club.team("T000").coaches[0],)), [*first, names]


KINDS: dict[str, Change] = {
    "over-full evening": over_full,
    "coach needed twice": coach_twice,
    "no light": no_light,
    "no keeper": no_keeper,
    "no adult": no_adult,
    "kit short": kit_short,
    "child in two teams": child_twice,
    "age cap": age_cap,
    "two conflicts": two_at_once,
}


def answer(file: Path) -> None:
    """In a process of its own: the conflicts of a pickled club."""
    from constraints import RULES
    from scheduler.reasons.why import sessions_in, why

    club = pickle.loads(file.read_bytes())
    found = why(club, RULES, 60.0)
    clashes = [] if found is None else list(found.clashes)
    named = [sessions_in(club, clash) for clash in clashes if clash.demands]
    used = resource.getrusage(resource.RUSAGE_SELF)
    took = Took(used.ru_utime + used.ru_stime, named, sum(len(clash.ways_out) for clash in clashes))
    sys.stdout.buffer.write(pickle.dumps(took))


def measured(club: Club, folder: Path) -> Took:
    """Run `why` on a club in a process of its own."""
    file = folder / "club.pickle"
    file.write_bytes(pickle.dumps(club))
    command = [sys.executable, "-m", "tests.speed.whys", "--from-memory", str(file)]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True)
    took = pickle.loads(done.stdout)
    assert isinstance(took, Took)
    return took


def main() -> None:
    """Measure and print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--teams", type=int, nargs="+", default=[12, 30])
    parser.add_argument("--kind", choices=list(KINDS))
    parser.add_argument("--from-memory", type=Path)
    asked = parser.parse_args()
    if asked.from_memory:
        answer(asked.from_memory)
        return
    print("| teams | what is wrong | CPU | conflicts | as expected | ways out |", flush=True)
    print("| --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as name:
        for teams in asked.teams:
            for kind in [asked.kind] if asked.kind else KINDS:
                club, expected = KINDS[kind](a_town(teams, use=0.6).club)
                took = measured(club, Path(name))
                right = sorted(map(sorted, took.named)) == sorted(map(sorted, expected))
                named = "; ".join(", ".join(sessions) for sessions in took.named)
                print(f"| {teams} | {kind} | {took.seconds:.1f} s | {len(took.named)} | "
                      f"{'yes' if right else named} | {took.ways_out} |", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
