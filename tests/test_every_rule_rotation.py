"""Post and audit of every rotation rule draw the same line, both ways, over every filling of a tiny club.

For each case the model with this one rule posted is asked for all its solutions; their places must be exactly those
fillings in which the audit finds no breach. Both verdicts must occur, and with every switch off nothing is forbidden.
"""

from __future__ import annotations

import datetime as dt
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from ortools.sat.python import cp_model

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.people import Absence, Carried, KeeperPolicy, KeeperStays, KeeperWish, Limits
from scheduler.club.programme import Contact, Kind, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import Severity, is_rotation_rule
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.model import RotationModel
from scheduler.rotation.setting import Turn, settings
from scheduler.rotation.slots import Slot, slots_of
from tests.clubs import MONDAY, an_age_row
from tests.rotations import (
    EIGHTEEN,
    SlotFilter,
    a_child,
    a_practice,
    a_rotation_club,
    a_squad,
    any_slot,
    booked,
    every_filling,
    lawful_side,
    picture,
)  # fmt: skip

BY_NAME = {rule.name: rule for rule in RULES}
PART, GAME, TOGETHER = Kind.PART, Kind.GAME, Kind.TOGETHER


@dataclass(frozen=True)
class Case:
    """A tiny club for one rule. `fits`: which fillings are looked at (goals filled, where shares rest on that)."""

    rule: str
    label: str
    club: Club
    allowed: SlotFilter = any_slot
    fits: Callable[[WeekPlan], bool] = field(default=lambda plan: True)
    goals_filled: bool = False
    never_in_goal: tuple[str, ...] = ()
    plan: WeekPlan | None = None


def filled(goals: int) -> dict[str, Any]:
    """Only fillings with this many in goal in every rep: the shares are counted for those."""

    def fits(plan: WeekPlan) -> bool:
        reps = (r for s in plan.sessions for b in s.blocks for st in b.stations for r in st.reps)
        return all(sum(p.role == "keep" for p in rep.places) == goals for rep in reps)

    return {"fits": fits, "goals_filled": True}


def only_willing_in_the_goal(plan: WeekPlan) -> bool:
    reps = plan.sessions[0].blocks[0].stations[0].reps
    return all([p.player for p in rep.places if p.role == "keep"] in (["Ivo"], ["Noor"]) for rep in reps)


def attack_or_keep(turn: Turn, slot: Slot) -> bool:
    """Without defending, and in the first rep without resting, so that all fillings stay few."""
    return lawful_side(turn, slot) and slot.role in (
        ("attack", "keep") if turn.rep == 1 else ("attack", "keep", "rest")
    )


def goal_or_rest(turn: Turn, slot: Slot) -> bool:
    return lawful_side(turn, slot) and slot.role in ("keep", "rest")


REGULAR, WILLING, NOT_ASKED, NO = KeeperWish.REGULAR, KeeperWish.WILLING, KeeperWish.NOT_ASKED, KeeperWish.NO
EVERY_ANSWER = tuple(a_child(i, wish) for i, wish in enumerate((REGULAR, WILLING, NOT_ASKED, NO)))
ONE_V_ONE = a_practice(PART, attackers=Sizes(1, 1, 2))
WITH_KEEPER = a_practice(PART, attackers=Sizes(1, 1, 2), keepers=1)
TWO_AREAS = a_practice(PART, areas=2, attackers=Sizes(0, 1, 1), defenders=Sizes(0, 1, 1))
PLAIN_GAME = a_practice(GAME, attackers=Sizes(1, 2, 2))
CONTACT_GAME = a_practice(GAME, name="contact game", areas=2, contact=Contact.SOME)
HEADING_GAME = a_practice(GAME, name="heading game", headers_a_rep=1)
OTHER_GAME = a_practice(GAME, name="other game")
BOTH_CONTACT = a_practice(GAME, name="rough game", contact=Contact.HARD)
PAIR = (a_child(0, apart_from=("Noor",)), a_child(1), a_child(2))


def absent(who: str, start: int, end: int) -> tuple[Absence, ...]:
    return (Absence(who=(who,), occurs=Occurs(date=MONDAY), span=Span(start, end)),)


CASES = (
    Case("area sizes", "part with keeper", a_rotation_club(a_squad(3), [[WITH_KEEPER]])),
    Case("area sizes", "part in two areas", a_rotation_club(a_squad(3), [[TWO_AREAS]])),
    Case("area sizes", "game with keepers", a_rotation_club(a_squad(4), [[a_practice(GAME, keepers=1)]])),
    Case("area sizes", "sides within one", a_rotation_club(a_squad(5), [[a_practice(GAME, attackers=Sizes(1, 2, 3))]])),
    *(
        Case("willing keepers", policy.value,
             a_rotation_club(EVERY_ANSWER, [[a_practice(GAME, keepers=1)]], policy=policy))
        for policy in KeeperPolicy
    ),
    Case("limits", "contact and heading", a_rotation_club(
        (a_child(0, limits=Limits(no_contact=True)), a_child(1, limits=Limits(no_heading=True)), a_child(2)),
        [[BOTH_CONTACT, HEADING_GAME]])),
    Case("limits", "some contact", a_rotation_club(
        (a_child(0, limits=Limits(no_contact=True)), a_child(1)), [[CONTACT_GAME, OTHER_GAME]])),
    Case("limits", "headers a week", a_rotation_club(
        a_squad(2), [[HEADING_GAME, OTHER_GAME], [OTHER_GAME, HEADING_GAME]], ages=(an_age_row(headers_a_week=1),)),
        allowed=lawful_side),
    Case("apart", "sides and areas", a_rotation_club(PAIR, [[TWO_AREAS]])),
    Case("apart", "goal and field", a_rotation_club(PAIR[:2], [[a_practice(PART, areas=2, keepers=1)]])),
    Case("apart", "groups", a_rotation_club(PAIR, [[OTHER_GAME, PLAIN_GAME]])),
    Case("apart", "an adult at one of two stations", a_rotation_club(
        (a_child(0, apart_from=("coach Herons 2",)), a_child(1)), [[OTHER_GAME, PLAIN_GAME]])),
    Case("age gap", "two years and three", a_rotation_club(
        (a_child(0, born=dt.date(2018, 9, 7)), a_child(1, born=dt.date(2016, 9, 7)),
         a_child(2, born=dt.date(2015, 9, 7))), [[CONTACT_GAME]])),
    Case("age gap", "together at two stations", a_rotation_club(
        (a_child(0, born=dt.date(2018, 9, 7)), a_child(1, born=dt.date(2015, 9, 7)), a_child(2)),
        [[a_practice(TOGETHER, name="rough and tumble", rep=None, contact=Contact.SOME), OTHER_GAME]])),
    Case("sides kept", "part with keeper, two reps", a_rotation_club(a_squad(2), [[WITH_KEEPER]], reps=2)),
    Case("sides kept", "game, two reps", a_rotation_club(a_squad(3), [[PLAIN_GAME]], reps=2)),
    Case("sides kept", "bibs stay for a block", a_rotation_club(
        a_squad(3), [[PLAIN_GAME], [OTHER_GAME]], bibs_stay="block")),
    Case("sides kept", "only in goal", a_rotation_club(a_squad(4), [[a_practice(GAME, keepers=1)]])),
    Case("sides kept", "two groups", a_rotation_club(a_squad(4), [[OTHER_GAME, PLAIN_GAME]]),
         allowed=lambda turn, slot: slot.role == "play"),
    Case("stations visited", "two blocks round", a_rotation_club(
        a_squad(2), [[OTHER_GAME, PLAIN_GAME], [OTHER_GAME, PLAIN_GAME]]), allowed=lawful_side),
    Case("stations visited", "other stations", a_rotation_club(
        a_squad(2), [[OTHER_GAME, PLAIN_GAME], [ONE_V_ONE, PLAIN_GAME]]), allowed=lawful_side),
    Case("even attack and defend", "two in three reps", a_rotation_club(a_squad(2), [[ONE_V_ONE]], reps=3),
         allowed=lawful_side),
    Case("even attack and defend", "three in two reps", a_rotation_club(a_squad(3), [[ONE_V_ONE]], reps=2),
         allowed=lawful_side),
    Case("even attack and defend", "with what is due", a_rotation_club(
        a_squad(2), [[ONE_V_ONE]], reps=2, carried=(Carried(player="Ivo", attack=9, defend=-2),)),
        allowed=lawful_side),
    Case("even attack and defend", "late", a_rotation_club(
        a_squad(3), [[ONE_V_ONE]], reps=3, absences=absent("Noor", EIGHTEEN, EIGHTEEN + 5)),
         allowed=lambda turn, slot: lawful_side(turn, slot) and slot.role != "defend"),
    Case("even attack and defend", "one may keep", a_rotation_club(a_squad(3, willing=2), [[WITH_KEEPER]], reps=3,
         carried=(Carried(player="Tara", attack=-3),)),
         allowed=attack_or_keep, fits=only_willing_in_the_goal, goals_filled=True,
         never_in_goal=("Tara",)),
    Case("even attack and defend", "free groups", a_rotation_club(
        a_squad(3), [[ONE_V_ONE, OTHER_GAME]], reps=2), allowed=lawful_side),
    *(
        Case("keeper minutes", f"stays {stays.value}",
             a_rotation_club(a_squad(3, willing=3), [[WITH_KEEPER], [WITH_KEEPER]], reps=2, stays=stays),
             allowed=goal_or_rest, **filled(1))
        for stays in KeeperStays
    ),
    Case("keeper minutes", "a regular comes late", a_rotation_club(
        a_squad(3, regulars=1, willing=2), [[WITH_KEEPER]], reps=3, policy=KeeperPolicy.REGULARS,
        absences=absent("Ivo", EIGHTEEN, EIGHTEEN + 3)),
         allowed=goal_or_rest, **filled(1)),
    Case("keeper minutes", "fewer goals in the second block", a_rotation_club(
        a_squad(3, willing=3), [[a_practice(PART, name="two goals", areas=2, keepers=1)], [WITH_KEEPER]],
        stays=KeeperStays.SESSION), allowed=goal_or_rest,
        fits=lambda plan: [sum(p.role == "keep" for p in b.stations[0].reps[0].places)
                           for b in plan.sessions[0].blocks] == [2, 1], goals_filled=True),
    Case("rest", "three in three reps", a_rotation_club(a_squad(3), [[PLAIN_GAME]], reps=3), allowed=lawful_side),
    Case("rest", "with what is due", a_rotation_club(
        a_squad(3), [[PLAIN_GAME]], reps=2, carried=(Carried(player="Tara", rest=3),)), allowed=lawful_side),
    Case("few rests", "part with keeper", a_rotation_club(a_squad(4), [[ONE_V_ONE]])),
    Case("few rests", "game", a_rotation_club(a_squad(5), [[PLAIN_GAME]])),
    Case("few rests", "game in two areas", a_rotation_club(a_squad(4), [[a_practice(GAME, areas=2,
         attackers=Sizes(1, 1, 1))]])),
    Case("few rests", "game in two areas, uneven", a_rotation_club(a_squad(4), [[a_practice(GAME, areas=2,
         attackers=Sizes(0, 1, 2))]])),
    Case("few rests", "who keeps does not rest", a_rotation_club(a_squad(3), [[WITH_KEEPER]])),
)  # fmt: skip


def _model(case: Case, post: bool = True) -> RotationModel:
    plan = case.plan or booked(case.club)
    ring = settings(case.club, plan)[0]
    model = RotationModel(case.club, plan, ring)
    rule = BY_NAME[case.rule]
    assert is_rotation_rule(rule)
    if post:
        rule.post_roles(case.club, plan, model)
    for turn in ring.turns:
        for player in model.here(turn):
            for slot, literal in zip(slots_of(turn), model.places(player, turn), strict=True):
                if not case.allowed(turn, slot):
                    model.model.add(literal == 0)
        for player in case.never_in_goal:
            model.model.add(model.keeps(player, turn) == 0)
        if case.goals_filled:
            model.model.add(model.count(turn, "keep") == turn.goals)
    model.model.add(model.shares.excess == 0)
    for over in model.shares.over:
        model.model.add(over == 0)
    return model


class _Pictures(cp_model.CpSolverSolutionCallback):
    def __init__(self, model: RotationModel) -> None:
        super().__init__()
        self.model, self.found = model, set()

    def on_solution_callback(self) -> None:
        self.found.add(picture(self.model.read(self)))  # the callback answers `value` as the solver does


def _solutions(model: RotationModel) -> set[object]:
    solver = cp_model.CpSolver()
    solver.parameters.enumerate_all_solutions = True
    solver.parameters.num_workers = 1
    pictures = _Pictures(model)
    status = solver.solve(model.model, pictures)
    assert solver.status_name(status) in ("OPTIMAL", "INFEASIBLE")
    return pictures.found


def _fillings(case: Case) -> list[WeekPlan]:
    plan = case.plan or booked(case.club)
    return [filling for filling in every_filling(case.club, plan, case.allowed) if case.fits(filling)]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule}: {case.label}")
def test_post_and_audit_agree(case: Case) -> None:
    rule = BY_NAME[case.rule]
    verdicts: dict[object, bool] = {}
    for filling in _fillings(case):
        breaches = [v for v in rule.audit(case.club, filling) if v.severity is Severity.BREACH]
        verdicts[picture(filling)] = not breaches
    model = _model(case)
    model.switches.fix_on()
    lawful = {shape for shape, good in verdicts.items() if good}
    posted = _solutions(model)
    assert posted - lawful == set(), "the model allows what the audit finds wrong"
    assert lawful - posted == set(), "the model forbids what the audit finds right"
    assert set(verdicts.values()) == {True, False}, "this club cannot tell the rule from no rule"


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule}: {case.label}")
def test_with_all_switches_off_a_rule_forbids_nothing(case: Case) -> None:
    fillings = _fillings(case)
    for filling in fillings[:: max(1, len(fillings) // 25)]:
        model = _model(case)
        model.switches.fix_on(but=frozenset(key for key, _ in model.switches.items()))
        model.fix(filling)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.status_name(solver.solve(model.model)) == "OPTIMAL", picture(filling)


def test_every_firm_rotation_rule_has_a_case() -> None:
    elsewhere = {"returns"}  # tested with the other welfare rules
    firm = {rule.name for rule in RULES if rule.firm and is_rotation_rule(rule)} - elsewhere
    assert firm <= {case.rule for case in CASES}


AUDIT_WITHOUT_SOLVER = """
import json
import sys


class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("ortools", "pandas"):
            raise ModuleNotFoundError(name)


sys.meta_path.insert(0, Missing())
from constraints import RULES
from scheduler.audit import audit
from scheduler.club.programme import Kind
from scheduler.plan.plan import Place
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import settings
from tests.rotations import a_practice, a_rotation_club, a_squad, booked

club = a_rotation_club(a_squad(5), [[a_practice(Kind.PART, keepers=1)]], reps=3)
plan = booked(club)
turns = settings(club, plan)[0].turns
bad = [Place(player=p, area=1, side="red", role=r) for p, r in zip(turns[0].there, ["keep", "attack", *3 * ["rest"]])]
found = audit(club, with_places(club, plan, {turn.key: bad for turn in turns}), RULES)
print(json.dumps(sorted({breach.rule for breach in found.breaches})))
assert "ortools" not in sys.modules
"""


def test_all_rules_audit_without_the_solver() -> None:
    """Ivo keeps unasked and for the wrong side, Noor attacks all three reps (share 3/4), nobody defends."""
    done = subprocess.run([sys.executable, "-c", AUDIT_WITHOUT_SOLVER], capture_output=True, text=True, check=True)
    spoken = {"area sizes", "willing keepers", "sides kept", "even attack and defend"}
    assert spoken <= set(json.loads(done.stdout))


def test_rules_are_the_files_of_the_folder() -> None:
    import constraints

    folder = Path(constraints.__file__).parent
    files = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    assert {type(rule).__module__.removeprefix("constraints.") for rule in RULES} == files
    assert len(RULES) == len(files)
