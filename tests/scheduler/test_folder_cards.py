"""What a rotation card says: whistles in words, sides, who is late or stood down, kit, changes, pages."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.places import KitItem
from scheduler.club.programme import KitNeed, PlanRow, SessionAsk
from scheduler.club.when import Occurs, Span
from scheduler.folder.cards import Card, cards
from scheduler.folder.kit import carry
from scheduler.folder.paging import LINE, MOST_REPS, PAGE, Look, WebLook, look_of, pages
from scheduler.folder.whistle import whistle_words
from scheduler.plan.names import card_names, plan_number, session_names, zones_words
from scheduler.plan.plan import Place, StoodDown, WeekPlan
from tests.clubs import BOTH_ENDS, MONDAY, SMALL_GAME, WARM_UP, a_club
from tests.plans import a_plan, in_which_all_stay

TUESDAY = MONDAY + dt.timedelta(days=1)


def place(player: str, role: Any, area: int | None = 1, side: str = "green") -> Place:
    return Place(player=player, role=role, area=None if role == "rest" else area, side=side)


def said(before: list[Place], after: list[Place], areas: int = 1, game: bool = False) -> str:
    players = {p.player for p in (*before, *after)}
    return whistle_words(before, after, {p: p for p in sorted(players)}, areas, game)


def only(club: Club, plan: WeekPlan, earlier: WeekPlan | None = None) -> Card:
    return cards(club, plan, earlier)[0]


def height(look: Look, page: Card) -> float:
    """Points of a printed page."""
    blocks = [(block, [rep.printed or rep for rep in block.reps]) for block in page.blocks]
    parts = sum(look.block(block) + sum(look.rep(block.kind, rep) for rep in reps) for block, reps in blocks)
    return look.head(page, page.page == 1) + parts + look.foot(page, page.page == 1)


def test_nobody_moves() -> None:
    stays = [place("Ivo", "attack"), place("Tara", "defend", side="orange")]
    assert said(stays, stays) == "Everybody stays."


def test_two_swap_with_two() -> None:
    before = [place("Ivo", "attack"), place("Noor", "attack"), place("Tara", "rest"), place("Sami", "rest")]
    after = [place("Ivo", "rest"), place("Noor", "rest"), place("Tara", "attack"), place("Sami", "attack")]
    assert said(before, after) == "Stay unless named: Ivo and Noor swap with Tara and Sami."


def test_a_ring_of_three_is_named_one_by_one() -> None:
    before = [place("Ivo", "attack"), place("Mia", "keep", 2, "orange"), place("Kofi", "rest")]
    after = [place("Ivo", "keep", 2, "orange"), place("Mia", "rest"), place("Kofi", "attack")]
    assert said(before, after, areas=2) == (
        "Stay unless named: Ivo to goal, area 2; Mia to rest; Kofi to attack, area 1."
    )


def test_sides_that_change_over_are_called_first() -> None:
    before = [place("Ivo", "attack"), place("Tara", "defend", side="orange")]
    after = [place("Ivo", "defend"), place("Tara", "attack", side="orange")]
    assert said(before, after) == "The sides change over: orange attack; all change, as listed."


def test_where_nearly_everybody_moves_nobody_is_told_to_stay() -> None:
    """Eight of ten move: all change; seven of ten are listed by name."""
    roles = ["attack"] * 5 + ["defend"] * 5
    players = ("Ivo", "Noor", "Tara", "Sami", "Mia", "Kofi", "Lena", "Juan", "Aiko", "Omar")
    before = [place(player, role) for player, role in zip(players, roles, strict=True)]
    for stay, words in (((4, 9), "All change, as listed."), ((3, 4, 9), "Stay unless named: ")):
        other = {"attack": "defend", "defend": "attack"}
        after = [place(p, roles[i] if i in stay else other[roles[i]]) for i, p in enumerate(players)]
        assert said(before, after).startswith(words)


def test_goals_of_a_game_are_named_by_side() -> None:
    before = [place("Ivo", "play"), place("Mia", "rest")]
    after = [place("Ivo", "keep", side="orange"), place("Mia", "play")]
    assert said(before, after, game=True) == "Stay unless named: Ivo to the orange goal; Mia to green."


def test_who_comes_and_who_leaves_is_said() -> None:
    before = [place("Ivo", "attack"), place("Noor", "attack")]
    after = [place("Ivo", "attack"), place("Mia", "attack")]
    assert said(before, after) == "Stay unless named: Noor leaves; Mia to attack, new on the field."


def test_a_card_tells_where_when_who_and_with_what() -> None:
    """Fourteen children: 14 balls together; two areas with 5 balls and a goal each; 12 in the field, 6 a side."""
    club = a_club()
    card = only(club, a_plan(club))
    assert card.title == "Herons 1"
    assert card.when == "Tue 8 Sep, 18:00 to 19:15"
    assert dict(card.heads)["Adults"] == "Coach Herons 1 leads, with Coach Herons 2"
    assert [block.details for block in card.blocks] == [
        "Kit: 14 x ball size 4.",
        "Kit: each area 5 x ball size 4, 1 x goal small (10 and 2 in all); bibs 6 green, 6 orange. "
        "2 areas side by side, area 1 at the zone 1 end.",
        "Kit: 2 x ball size 4, 2 x goal small; bibs 6 green, 6 orange.",
    ]
    assert [rep.minute for rep in card.blocks[1].reps] == [15, 20, 25, 30, 35, 40]
    assert [side for side, _ in card.sides] == ["green", "orange", "keeper's bib"]
    assert dict(card.sides)["keeper's bib"] == "Ivo, Noor"  # the two who keep goal, in every rep


def test_whoever_keeps_goal_in_turn_is_named_beside_the_keepers_bib() -> None:
    """In the first rep with roles Tara changes places with Ivo, who keeps goal in every other."""
    club = a_club()
    (planned,) = a_plan(club).sessions
    block = planned.blocks[1]
    rep = block.stations[0].reps[0]
    held = {place.player: place for place in rep.places}
    ivo, tara = held["Herons Ivo"], held["Herons Tara"]
    swapped = [p for p in rep.places if p not in (ivo, tara)]
    swapped += [ivo.model_copy(update={"player": tara.player}), tara.model_copy(update={"player": ivo.player})]
    reps = (rep.model_copy(update={"places": tuple(swapped)}), *block.stations[0].reps[1:])
    station = block.stations[0].model_copy(update={"reps": reps})
    blocks = (planned.blocks[0], block.model_copy(update={"stations": (station,)}), planned.blocks[2])
    week = a_plan(club).model_copy(update={"sessions": (planned.model_copy(update={"blocks": blocks}),)})
    assert dict(only(club, week).sides)["keeper's bib"] == "Noor; in turn Ivo, Tara"


def test_late_and_early_children_are_named_with_their_reps() -> None:
    """Mia comes at 18:22: reps of block 2 start at 18:15, 18:20, 18:25, so rep 3 is the first she is there for whole.

    Kofi leaves at 18:50, inside rep 1 of the game (18:45 to 18:53), so rep 6 of block 2 is his last.
    """
    club = a_club()
    away = (
        Absence(who=("Herons Mia",), occurs=Occurs(date=TUESDAY), span=Span(0, 18 * 60 + 22), why="the dentist"),
        Absence(who=("Herons Kofi",), occurs=Occurs(date=TUESDAY), span=Span(18 * 60 + 50, 1440), why="a party"),
    )
    club = club.model_copy(update={"absences": away})
    plan = a_plan(club)
    assert "Herons Mia" not in {p.player for p in plan.sessions[0].blocks[1].stations[0].reps[1].places}
    notes = only(club, plan).notes
    # she takes part in the warm-up of 18:00 to 18:15 only if she is there then; she is not
    assert notes == (
        "Mia comes at 18:22: in from block 2, rep 3 (18:25), green.",
        "Kofi leaves at 18:50: last in block 2, rep 6.",
    )


def test_a_stood_down_child_has_a_place_and_two_adults_and_no_reason() -> None:
    club = a_club()
    down = StoodDown(player="Herons Lena", why="own limit reached", start=18 * 60 + 45, end=19 * 60 + 15)
    card = only(club, a_plan(club, stood_down={"Herons 1": (down,)}))
    assert card.notes == (
        "Lena takes no part, 18:45 to 19:15: at the touchline by zones 1 to 3 with Coach Herons 2, "
        "in sight of Coach Herons 1, until collected or back in.",
    )
    whole = down.model_copy(update={"start": 18 * 60})
    card = only(club, a_plan(club, stood_down={"Herons 1": (whole,)}))
    assert card.notes == (
        "Lena takes no part in this session: if the child comes, at the touchline by zones 1 to 3 with Coach Herons 2, "
        "in sight of Coach Herons 1, until collected.",
    )


def test_changed_places_are_marked_new_with_what_they_were() -> None:
    club = a_club()
    plan = a_plan(club)
    planned = plan.sessions[0]
    block, station = planned.blocks[2], planned.blocks[2].stations[0]
    rep = station.reps[0]
    resting = next(p for p in rep.places if p.role == "rest" and p.side == "bibs green")
    playing = next(p for p in rep.places if p.role == "play" and p.side == "bibs green")
    other = {resting.player: playing, playing.player: resting}
    places = tuple(
        other[p.player].model_copy(update={"player": p.player}) if p.player in other else p for p in rep.places
    )
    reps = (rep.model_copy(update={"places": places}), *station.reps[1:])
    blocks = (
        *planned.blocks[:2],
        block.model_copy(update={"stations": (station.model_copy(update={"reps": reps}),)}),
    )
    changed = plan.model_copy(update={"sessions": (planned.model_copy(update={"blocks": blocks}),), "revision": 2})
    first = only(club, changed, plan).blocks[2].reps[0]
    shown = [name for row in first.slots for _, _, names in row.cells for name in names] + list(first.rest)
    called = club.called
    assert f"{called(resting.player)} NEW (was: rest)" in shown
    assert f"{called(playing.player)} NEW (was: game, area 1)" in shown
    assert sum("NEW" in name for name in shown) == 2


def test_each_group_has_a_card_with_the_stations_in_its_order() -> None:
    rows = (
        PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=10),
        *(
            PlanRow(plan="Evening", block=b, practice=p, minutes=24)
            for b in "23"
            for p in (BOTH_ENDS.id, SMALL_GAME.id)
        ),
    )
    club = a_club(players=24, keepers=6).model_copy(update={"plans": rows})
    one, two = cards(club, a_plan(club))
    assert (one.title, two.title) == ("Herons 1, group 1 of 2", "Herons 1, group 2 of 2")
    assert [BOTH_ENDS.id in block.title for block in one.blocks[1:]] == [True, False]
    assert [BOTH_ENDS.id in block.title for block in two.blocks[1:]] == [False, True]
    first = {name for row in one.blocks[1].reps[0].slots for _, _, names in row.cells for name in names}
    second = {name for row in two.blocks[1].reps[0].slots for _, _, names in row.cells for name in names}
    assert not first & second


@pytest.mark.parametrize(("players", "reps"), [(14, 6), (18, 6), (16, 14), (30, 20)])
def test_no_page_holds_more_than_twelve_reps_or_more_than_fits(players: int, reps: int) -> None:
    club = a_club(players=players)
    rows = (
        PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=15),
        PlanRow(plan="Evening", block="2", practice=BOTH_ENDS.id, minutes=5 * reps, reps=reps),
    )
    card = only(club, a_plan(club.model_copy(update={"plans": rows})))
    cut, look = pages(card), look_of(card)
    kept = [(b.block, rep.rep) for page in cut for b in page.blocks for rep in b.reps]
    assert kept == [(1, 1), *((2, rep) for rep in range(1, reps + 1))]
    for page in cut:
        held = sum(1 for block in page.blocks for rep in block.reps if rep.slots)
        assert held <= MOST_REPS
        assert height(look, page) <= PAGE


def test_a_usual_evening_fits_on_one_page() -> None:
    club = a_club()
    assert [card.pages for card in pages(only(club, a_plan(club)))] == [1]


@pytest.mark.parametrize("on_screen", [False, True])
@pytest.mark.parametrize("players", range(12, 31, 2))
def test_every_page_is_as_high_as_a_page_at_most_and_as_full_as_can_be(players: int, on_screen: bool) -> None:
    """Heights are those of letters of eleven points. No block begins a page that had room on the page before."""
    club = a_club(players=players)
    card = only(club, a_plan(club))
    look, cut = look_of(card, WebLook if on_screen else Look), pages(card, on_screen=on_screen)
    assert all(height(look, page) <= PAGE for page in cut)
    assert [page.pages for page in cut] == [len(cut)] * len(cut)
    assert [(b.block, rep.rep) for page in cut for b in page.blocks for rep in b.reps] == [
        (b.block, rep.rep) for b in card.blocks for rep in b.reps
    ]
    for before, after in pairwise(cut):
        assert height(look, replace(before, blocks=(*before.blocks, after.blocks[0]))) > PAGE


@pytest.mark.parametrize(("players", "on_paper", "on_screen"), [(14, 1, 1), (18, 1, 2), (22, 2, 2)])
def test_a_full_list_takes_as_few_pages_as_letters_of_eleven_points_allow(
    players: int, on_paper: int, on_screen: int
) -> None:
    club = a_club(players=players)
    card = only(club, a_plan(club))
    assert (len(pages(card)), len(pages(card, on_screen=True))) == (on_paper, on_screen)


def test_a_block_begins_a_new_page_rather_than_be_cut_in_two() -> None:
    """Twenty children: part of the game would still fit under the block before it, but not all."""
    club = a_club(players=20)
    one, two = pages(only(club, a_plan(club)))
    game = two.blocks[0]
    begun = replace(one, blocks=(*one.blocks, replace(game, reps=game.reps[:1])))
    assert height(look_of(only(club, a_plan(club))), begun) <= PAGE
    assert [block.block for block in one.blocks] == [1, 2]
    assert [block.block for block in two.blocks] == [3]
    assert [rep.rep for rep in two.blocks[0].reps] == [1, 2, 3]


@pytest.mark.parametrize("players", [11, 12, 13, 14])
def test_an_evening_with_a_game_of_which_nobody_changes_is_one_page(players: int) -> None:
    """Six reps at both ends and a game of three reps; the reps after the first of a game take one line each."""
    club = a_club(players=players)
    plan = in_which_all_stay(a_plan(club), 3)
    (page,) = pages(only(club, plan))
    assert [bool(rep.slots) for rep in page.blocks[2].reps] == [True, False, False]
    assert page.blocks[2].reps[1].whistle == "Everybody stays."
    said = [rep.whistle for rep in page.blocks[1].reps]
    assert sum(words.startswith("Stay unless named: ") for words in said) == 1
    on_a_phone = [rep for page in pages(only(club, plan), on_screen=True) for b in page.blocks[-1:] for rep in b.reps]
    assert all(rep.slots for rep in on_a_phone)


def test_short_words_of_the_head_share_a_row_and_long_ones_do_not() -> None:
    where, adults, far = ("Where", "North"), ("Adults", "Ivo leads"), ("Where", "North, behind the hall, " * 3)
    card = only(a_club(), a_plan(a_club()))
    assert Look().heads(replace(card, heads=(where, adults))) == [(where, adults)]
    assert Look().heads(replace(card, heads=(far, adults))) == [(far, None), (adults, None)]
    assert Look().heads(replace(card, heads=(adults, far))) == [(adults, None), (far, None)]
    assert Look().heads(replace(card, heads=(where, adults, far))) == [(where, adults), (far, None)]


def test_a_second_page_has_room_to_say_again_where_and_with_whom() -> None:
    """Three adults with long names take two lines."""
    card = replace(only(a_club(), a_plan(a_club())), heads=(("Where", "North"), ("Adults", "Ivo leads")))
    long = replace(card, heads=(("Where", "North"), ("Adults", "Ivo Someone-Longname leads, " * 5)))
    assert Look(alone=False).head(long, first=False) - Look(alone=False).head(card, first=False) == pytest.approx(LINE)


def test_kit_stands_beside_the_heading_of_a_block_where_both_fit() -> None:
    first, second, _ = only(a_club(), a_plan(a_club())).blocks
    assert Look().beside(first) is not None
    assert Look().beside(second) is None
    assert Look().beside(replace(first, details="")) is None


def test_names_that_clash_are_told_apart_by_team() -> None:
    club = a_club(teams=2, players=3)
    twins = tuple(p.model_copy(update={"called": "Zoë"}) if p.id.endswith(("Ivo", "Sami")) else p for p in club.players)
    ask = SessionAsk(id="Pooled", teams=("Herons", "Kites"), plan="Evening", minutes=75, zones=None)
    club = club.model_copy(update={"players": twins, "sessions": (ask,)})
    names = session_names(club, a_plan(club).sessions[0])
    assert list(names.values())[0] == "Zoë (Herons)"
    assert names["Kites Sami"] == "Zoë (Kites)"
    assert len(set(names.values())) == 6
    assert card_names(club, ["Herons Ivo"]) == {"Herons Ivo": "Zoë"}


def test_the_plan_number_changes_with_the_plan_and_only_then() -> None:
    club = a_club()
    assert plan_number(a_plan(club)) == plan_number(a_plan(club))
    assert plan_number(a_plan(club)) != plan_number(a_plan(club, start=18 * 60 + 15))
    assert plan_number(a_plan(club, revision=3)).startswith("Plan 3 ")


def test_zones_in_words() -> None:
    assert [zones_words(z) for z in ((2,), (1, 2), (1, 2, 3), (1, 3), ())] == [
        "zone 2", "zones 1 and 2", "zones 1 to 3", "zones 1 and 3", "no zone",
    ]  # fmt: skip


def test_what_to_carry_is_the_most_in_use_at_once() -> None:
    """Two teams of 14 at once: 28 balls together at 18:00; in block 2 only 2 x 10, in the game 2 x 2.

    Bibs of two colours: six children a side in either session, so twelve of each.
    """
    club = a_club(teams=2, zones=6)
    asks = tuple(ask.model_copy(update={"zones": 3}) for ask in club.sessions)
    bibs = tuple(KitItem(item=f"bib {colour}", site="Marsh Lane", count=20) for colour in ("green", "orange"))
    club = club.model_copy(update={"sessions": asks, "kit": (*club.kit, *bibs)})
    plan = a_plan(club)
    same_day = tuple(planned.model_copy(update={"date": TUESDAY}) for planned in plan.sessions)
    found = {line.item: line for line in carry(club, plan.model_copy(update={"sessions": same_day}))}
    assert {item: line.count for item, line in found.items()} == {
        "ball size 4": 28, "goal small": 4, "bib green": 12, "bib orange": 12,
    }  # fmt: skip
    assert (found["ball size 4"].span, found["ball size 4"].held) == (Span(18 * 60, 18 * 60 + 15), 40)
    assert found["goal small"].span.start == 18 * 60 + 15


def test_bibs_of_one_side_where_the_other_plays_in_own_shirts() -> None:
    practice = SMALL_GAME.model_copy(update={"kit_per_area": (), "kit_per_player": (KitNeed("bib", 1),)})
    club = a_club().model_copy(update={"practices": (WARM_UP, BOTH_ENDS, practice)})
    plan = a_plan(club)
    text = plan.to_json().replace("bibs orange", "own shirts").replace("bibs green", "bibs")
    card = only(club, WeekPlan.from_json(text))
    assert card.blocks[2].details == "Kit: bibs 6."
    assert [side for side, _ in card.sides] == ["bibs", "own shirts", "keeper's bib"]
