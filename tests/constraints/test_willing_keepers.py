"""Who may keep goal by answer and policy."""

from __future__ import annotations

from constraints.willing_keepers import WillingKeepers
from scheduler.club.people import KeeperPolicy, KeeperWish
from scheduler.club.programme import Kind
from tests.rotations import a_child, a_practice, a_rotation_club, dealt

ANSWERS = (KeeperWish.REGULAR, KeeperWish.WILLING, KeeperWish.NOT_ASKED, KeeperWish.NO)


def refused(policy: KeeperPolicy, rep: str) -> list[str]:
    squad = [a_child(number, wish) for number, wish in enumerate(ANSWERS)]
    club = a_rotation_club(squad, [[a_practice(Kind.GAME, keepers=1)]], policy=policy)
    return [found.private.partition(": ")[2] for found in WillingKeepers().audit(club, dealt(club, rep))]


def test_an_answer_stays_in_the_welfare_file() -> None:
    """Not asked and no are told apart there alone."""
    squad = [a_child(number, wish) for number, wish in enumerate(ANSWERS)]
    club = a_rotation_club(squad, [[a_practice(Kind.GAME, keepers=1)]], policy=KeeperPolicy.VOLUNTEERS)
    for rep, who in (("p1 P1 k1 r-", "Tara"), ("p1 P1 r- k1", "Sami")):
        (found,) = WillingKeepers().audit(club, dealt(club, rep))
        assert found.text.endswith(f"{who} keeps goal without a yes (welfare file)")


def test_a_willing_child_keeps_only_while_the_regular_there_does() -> None:
    assert refused(KeeperPolicy.REGULARS, "k1 K1 p1 P1") == []
    assert refused(KeeperPolicy.REGULARS, "p1 K1 P1 r-") == ["Noor keeps goal, while Ivo, a regular keeper, does not"]
    assert refused(KeeperPolicy.VOLUNTEERS, "p1 K1 P1 r-") == []


def test_not_asked_keeps_only_where_everyone_does_and_no_never() -> None:
    assert refused(KeeperPolicy.VOLUNTEERS, "p1 P1 k1 r-") == ["Tara keeps goal, but was not asked"]
    assert refused(KeeperPolicy.EVERYONE, "p1 P1 k1 r-") == []
    assert refused(KeeperPolicy.EVERYONE, "p1 P1 r- k1") == ["Sami keeps goal, which was not agreed to"]
