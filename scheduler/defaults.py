"""Packaged age rows, practices and session plans: planning defaults for a club that has none of its own.

They stand as rows of the club workbook (heading: value), so that the blank workbook shows them and a club can change
them. Every number names its source; what no source gives says so. They are not medical advice; local rules come first.
"""

from __future__ import annotations

Rows = tuple[dict[str, object], ...]

_HOURS = "week minutes and rest days: NATA 2019 (hours a week not above age in years, two days off)"
_RATIO = "adults: NSPCC minimum ratios"
_HEADING = "headers: U.S. Soccer, Recognize to Recover"
_BALL = "ball: U.S. Soccer, small-sided standards 2017"
_SLEEP = "finish: sleep hours of AASM 2016, waking at 07:00, 90 minutes from pitch to sleep, our arithmetic"
_REST = "all else common practice, no source"


def _age(phase: str, ages: tuple[int, int], session: int, week: tuple[int, int], finish: str, headers: int | None,
         ball: int, adults: int, in_a_row: int, source: tuple[str, ...]) -> dict[str, object]:  # fmt: skip
    return {
        "Phase": phase, "From age": ages[0], "To age": ages[1], "Session minutes": session, "Sessions a week": week[0],
        "Week minutes": week[1], "Rest days": 2, "Days in a row": in_a_row, "Finish by": finish,
        "Headers a week": headers, "Ball": f"ball size {ball}", "Players per adult": adults, "After a match": "rest",
        "Source": "; ".join((*source, _REST)),
    }  # fmt: skip


_EARLY = f"{_SLEEP}, rounded down"
AGES: Rows = (
    _age("to 6", (4, 6), 45, (2, 240), "19:00", 0, 3, 6, 2, (_HOURS, _RATIO, _HEADING, _BALL, _EARLY)),
    _age("7 to 8", (7, 8), 60, (2, 420), "20:00", 0, 3, 6, 2, (_HOURS, _RATIO, _HEADING, _BALL, _EARLY)),
    _age("9 to 10", (9, 10), 75, (3, 540), "20:30", 0, 4, 8, 3, (_HOURS, _RATIO, _HEADING, _BALL, _SLEEP)),
    _age("11 to 12", (11, 12), 90, (3, 660), "20:30", 20, 4, 8, 3, (_HOURS, _RATIO, _HEADING, _BALL, _SLEEP)),
    _age("13 to 15", (13, 15), 90, (4, 780), "21:30", None, 5, 10, 4,
         (_HOURS, _RATIO, "headers: no number given", _BALL, _SLEEP)),
    _age("16 and over", (16, 21), 105, (5, 960), "21:30", None, 5, 10, 5,
         (_HOURS, f"{_RATIO} (to 18)", "headers: no number given", _BALL, _SLEEP)),
)  # fmt: skip

BALL_EACH = "Warm-up, a ball each"
DRIBBLE = "Dribble and turn"
BOTH_ENDS = "Attack and defend at both ends"
BOTH_ENDS_OPEN = "Attack and defend at both ends, no keepers"
SMALL_GAME = "Small game"
SMALL_GAME_OPEN = "Small game, no keepers"

_PART: dict[str, object] = {
    "Kind": "part", "Areas": 2, "Attackers": "3 (1 to 6)", "Defenders": "2 (1 to 4)", "Rep": 4, "Changeover": 1,
    "Kit per area": "ball 4; goal 1", "Kit per player": "bib 1", "Contact": "some", "Headers a rep": 0, "RPE": 6,
}  # fmt: skip
_GAME: dict[str, object] = {
    "Kind": "game", "Areas": 1, "Rep": 8, "Changeover": 2, "Kit per area": "ball 2; goal 2",
    "Kit per player": "bib 1", "Contact": "some", "Headers a rep": 0, "RPE": 7,
}  # fmt: skip

# Sizes are wide on purpose: every packaged plan can be played by 6 to 18 children (18 without keepers: nine a side).
PRACTICES: Rows = (
    {"Practice": BALL_EACH, "Kind": "together", "Kit per player": "ball 1", "Contact": "none", "RPE": 3},
    {"Practice": DRIBBLE, "Kind": "together", "Kit per player": "ball 1", "Kit per area": "marker 16",
     "Contact": "none", "RPE": 4},
    {"Practice": BOTH_ENDS, **_PART, "Keepers": 1},
    {"Practice": BOTH_ENDS_OPEN, **_PART, "Keepers": 0},
    {"Practice": SMALL_GAME, **_GAME, "Attackers": "5 (2 to 8)", "Keepers": 1},
    {"Practice": SMALL_GAME_OPEN, **_GAME, "Attackers": "5 (3 to 9)", "Keepers": 0, "Rep": 6, "Changeover": 1},
)  # fmt: skip


def _plan(name: str, *blocks: tuple[str, int]) -> Rows:
    return tuple(
        {"Plan": name, "Block": number, "Practice": practice, "Minutes": minutes}
        for number, (practice, minutes) in enumerate(blocks, 1)
    )


YOUNGEST = "To U8, 45 minutes"
U10, U10_OPEN = "U9 and U10, 60 minutes", "U9 and U10, 60 minutes, no keepers"
U12, U12_OPEN = "U11 and U12, 75 minutes", "U11 and U12, 75 minutes, no keepers"
OLDER, OLDER_OPEN = "U13 and over, 90 minutes", "U13 and over, 90 minutes, no keepers"

PLANS: Rows = (
    *_plan(YOUNGEST, (BALL_EACH, 10), (DRIBBLE, 8), (SMALL_GAME_OPEN, 27)),
    *_plan(U10, (BALL_EACH, 10), (BOTH_ENDS, 25), (SMALL_GAME, 25)),
    *_plan(U10_OPEN, (BALL_EACH, 10), (BOTH_ENDS_OPEN, 25), (SMALL_GAME_OPEN, 25)),
    *_plan(U12, (BALL_EACH, 15), (BOTH_ENDS, 30), (SMALL_GAME, 30)),
    *_plan(U12_OPEN, (BALL_EACH, 15), (BOTH_ENDS_OPEN, 30), (SMALL_GAME_OPEN, 30)),
    *_plan(OLDER, (BALL_EACH, 15), (BOTH_ENDS, 35), (SMALL_GAME, 40)),
    *_plan(OLDER_OPEN, (BALL_EACH, 15), (BOTH_ENDS_OPEN, 35), (SMALL_GAME_OPEN, 40)),
)
PACKAGED = {"Ages": AGES, "Practices": PRACTICES, "Plans": PLANS}


def plan_for(age_group: int, keepers: int) -> str:
    """The packaged plan for an age group (14 for U14) with so many children who keep goal; two are needed."""
    if age_group <= 8:
        return YOUNGEST
    with_keepers, without = (U10, U10_OPEN) if age_group <= 10 else (U12, U12_OPEN) if age_group <= 12 else (
        OLDER, OLDER_OPEN)  # fmt: skip
    return with_keepers if keepers >= 2 else without


def packaged_minutes(plan: str) -> int:
    """Minutes of a packaged plan."""
    return sum(minutes for row in PLANS if row["Plan"] == plan and isinstance(minutes := row["Minutes"], int))


def policy_for(age_group: int) -> str:
    """Who keeps goal where the club does not say: everyone to U10, volunteers above (our choice)."""
    return "everyone" if age_group <= 10 else "volunteers"
