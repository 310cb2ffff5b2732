"""Session plans on the clock: reps that fit, blocks that follow, groups that move round."""

from __future__ import annotations

import pytest

from scheduler.club.club import Club
from scheduler.club.programme import Kind, PlanRow, Practice, SessionAsk, Sizes
from scheduler.club.when import Span, parse_hhmm
from scheduler.plan.presence import cut_out, in_rep
from scheduler.plan.timeline import groups_of, reps_that_fit, station_of, timeline, zones_of_stations
from tests.clubs import BOTH_ENDS, WARM_UP, a_club


@pytest.mark.parametrize(
    ("bouts", "work", "rest", "minutes"),
    [(4, 4, 1, 19), (2, 8, 2, 18), (1, 16, 0, 16), (4, 4, 2, 22)],
)
def test_block_length_of_published_bouts(bouts: int, work: int, rest: int, minutes: int) -> None:
    """Bouts x work + (bouts - 1) x rest, the bout schemes of Casamichana et al. 2013 (16 minutes at 4:1) and 4 x 4 + 2.

    A block of just that length holds the bouts; a minute less holds one fewer.
    """
    assert bouts * work + (bouts - 1) * rest == minutes
    assert reps_that_fit(minutes, work, rest) == bouts
    assert reps_that_fit(minutes - 1, work, rest) == bouts - 1


def test_blocks_follow_without_a_gap_and_spare_minutes_fall_at_the_end() -> None:
    """15 + 30 + 28 minutes; six reps of 4 + 1 start at 15, 20, ..., 40; three of 8 + 2 at 45, 55, 65."""
    warm, ends, game = timeline(a_club(), "Herons 1")
    assert (warm.span, ends.span, game.span) == (Span(0, 15), Span(15, 45), Span(45, 73))
    assert warm.stations[0].reps == (Span(0, 15),)
    assert [rep.start for rep in ends.stations[0].reps] == [15, 20, 25, 30, 35, 40]
    assert [rep.end for rep in game.stations[0].reps] == [53, 63, 73]


def three_stations() -> Club:
    part = Practice(id="Two v one", kind=Kind.PART, attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1), rep=4)
    names = (WARM_UP.id, BOTH_ENDS.id, part.id)
    rows = tuple(
        PlanRow(plan="Round", block=str(b), practice=name, minutes=10, reps=2 if name != WARM_UP.id else None)
        for b in (1, 2, 3)
        for name in names
    )
    ask = SessionAsk(id="Round 1", teams=("Herons",), plan="Round", minutes=40, zones=None)
    return a_club().model_copy(update={"plans": rows, "sessions": (ask,), "practices": (WARM_UP, BOTH_ENDS, part)})


def test_each_group_visits_each_station_once() -> None:
    club = three_stations()
    blocks = timeline(club, "Round 1")
    assert groups_of(club, "Round 1") == 3
    visits = [[station_of(block, group) for block in blocks] for group in (1, 2, 3)]
    assert visits == [[1, 2, 3], [2, 3, 1], [3, 1, 2]]


@pytest.mark.parametrize(
    ("zones", "expected"),
    [((1, 2, 3), ((1,), (2,), (3,))), ((1, 2, 3, 4, 5, 6), ((1, 2), (3, 4), (5, 6))), ((4,), ((4,), (4,), (4,)))],
)
def test_stations_share_out_the_zones_in_order(zones: tuple[int, ...], expected: object) -> None:
    club = three_stations()
    assert zones_of_stations(club, timeline(club, "Round 1")[0], zones) == expected


def test_a_rep_counts_only_when_the_child_is_there_for_all_of_it() -> None:
    """Half open: leaving at 18:40 still leaves the rep that ends at 18:40; a `together` is joined on arrival."""
    leaves = (Span(parse_hhmm("18:00"), parse_hhmm("18:40")),)
    assert in_rep(leaves, BOTH_ENDS, Span(parse_hhmm("18:36"), parse_hhmm("18:40")))
    assert not in_rep(leaves, BOTH_ENDS, Span(parse_hhmm("18:37"), parse_hhmm("18:41")))
    late = (Span(parse_hhmm("18:10"), parse_hhmm("19:00")),)
    assert in_rep(late, WARM_UP, Span(parse_hhmm("18:00"), parse_hhmm("18:15")))
    assert not in_rep(late, WARM_UP, Span(parse_hhmm("18:00"), parse_hhmm("18:10")))


def test_spans_with_holes() -> None:
    assert cut_out((Span(0, 100),), (Span(20, 30), Span(25, 40), Span(90, 200))) == (Span(0, 20), Span(40, 90))
    assert cut_out((Span(0, 10),), (Span(10, 20),)) == (Span(0, 10),)


@pytest.mark.parametrize("text", ["25:00", "18:60", "6pm", "", "24:01"])
def test_times_that_are_none(text: str) -> None:
    with pytest.raises(ValueError, match="time"):
        parse_hhmm(text)


def test_midnight_is_a_time() -> None:
    assert parse_hhmm("24:00") == 1440


def test_a_changed_copy_of_a_club_forgets_what_was_worked_out() -> None:
    club = a_club(2)
    assert len(club.members("Herons 1")) == 14
    fewer = club.model_copy(update={"players": club.players[:3]})
    assert len(fewer.members("Herons 1")) == 3
    assert not fewer.has("player", club.players[5].id)
