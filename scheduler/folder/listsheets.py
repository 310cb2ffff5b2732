"""The sheets Sessions, Kit, Coaches, Fairness and Changes of the timetable."""

from __future__ import annotations

from fractions import Fraction

from scheduler.club.club import Club
from scheduler.club.when import day_words, hhmm
from scheduler.folder.kit import carry
from scheduler.folder.paper import Book
from scheduler.plan.ledger import Line, ledger
from scheduler.plan.names import adult_names, card_names, join, place_words, plain, plan_number
from scheduler.plan.plan import PlannedSession, Proof, WeekPlan
from scheduler.replan.differences import differences
from scheduler.replan.telling import who_must_be_told

SESSION_HEADS = ("Session", "Day", "Start", "End", "Pitch", "Zones", "Teams", "Leads", "Other adults", "Coming")
ROLE_WORDS = {"attack": "Attack", "defend": "Defence", "keep": "In goal", "rest": "Rest"}
DOTS = 5  # steps either side of the line; five steps are one rep


def session_cells(club: Club, planned: PlannedSession) -> tuple[str, ...]:
    """The cells of a session's row up to `Other adults`; reading an edited sheet compares with the same cells."""
    names = adult_names(club)
    coaches = [names.get(coach, plain(coach)) for coach in planned.coaches]
    return (
        plain(planned.session), day_words(planned.date), hhmm(planned.start), hhmm(planned.end), plain(planned.pitch),
        "; ".join(map(str, planned.zones)), "; ".join(plain(team) for team in planned.teams),
        coaches[0] if coaches else "", "; ".join(coaches[1:]),
    )  # fmt: skip


def write_sessions(book: Book, club: Club, plan: WeekPlan) -> str:
    """The list of sessions, editable by hand; the sheet's name."""
    page = book.page("Sessions", (19, 11, 8, 8, 13, 9, 16, 17, 21, 9), landscape=True)
    page.title(
        "Sessions", "To move a session by hand, change its day, start, pitch or zones here, then audit this file."
    )
    page.head(SESSION_HEADS)
    for planned in plan.sessions:
        count = len(planned.players)
        page.line([*session_cells(club, planned), f"{count}"])
    if plan.cancelled:
        page.gap(10)
        page.heading("Not held this week")
        for row in plan.cancelled:
            page.text(f"{plain(row.session)}: {plain(row.why)}")
    return page.name


def write_kit(book: Book, club: Club, plan: WeekPlan) -> None:
    """What to carry to each site on each day."""
    page = book.page("Kit", (12, 18, 23, 10, 11, 14, 43), landscape=True)
    page.title("Kit and bibs to carry", "The most in use at any minute of the day, block by block. Keepers' bibs and "
               "water are not counted.")  # fmt: skip
    page.head(("Day", "Site", "Item", "Carry", "Club has", "Most used", "By"))
    for line in carry(club, plan):
        has = "not listed" if line.held is None else str(line.held)
        who = join([plain(session) for session in line.sessions])
        page.line((day_words(line.date), plain(line.site), plain(line.item), str(line.count), has, str(line.span), who))


def write_coaches(book: Book, club: Club, plan: WeekPlan) -> None:
    """Each adult's week, in the club's order; adults without a session are left out."""
    page = book.page("Coaches", (23, 11, 13, 22, 38, 24), landscape=True)
    page.title("Coaches' week")
    page.head(("Adult", "Day", "Time", "Session", "Where", "Does"))
    names = adult_names(club)
    for coach, name in names.items():
        mine = [planned for planned in plan.sessions if coach in planned.coaches]
        for number, planned in enumerate(sorted(mine, key=lambda one: (one.date, one.start))):
            does = "leads" if planned.coaches[0] == coach else "helps"
            stations = _stations(planned, coach)
            page.line((name if number == 0 else "", day_words(planned.date), str(planned.span), plain(planned.session),
                       place_words(club, planned), does + (f"; {stations}" if stations else "")),
                      ["strong", *["cell"] * 5])  # fmt: skip


def _stations(planned: PlannedSession, coach: str) -> str:
    """`station 1 in blocks 2, 3 and 4`: the blocks with several stations, by station."""
    blocks: dict[int, list[str]] = {}
    for block in planned.blocks:
        for station in block.stations if len(block.stations) > 1 else ():
            if coach in station.coaches:
                blocks.setdefault(station.station, []).append(str(block.block))
    at = [f"station {n} in block{'s' * (len(found) > 1)} {join(found)}" for n, found in blocks.items()]
    return ", ".join(at)


def write_fairness(book: Book, club: Club, plan: WeekPlan) -> None:
    """How even the week is: what is shown in sentences, then each child's minutes beside the fair share."""
    page = book.page("Fairness", (16, 15, *([9, 16] * 4)), landscape=True)
    page.title("How evenly roles are shared", "Attack and defence are counted in part practices, goal and rest in part "
               "practices and games. A fair share is the sum over the reps a child is there for of places of the role "
               "divided by the children who may hold it.")  # fmt: skip
    for pool in dict.fromkeys(proof.pool for proof in plan.proofs):
        page.text(plain(pool[:1].upper() + pool[1:]), "label")  # the sentences beneath need not name their sessions
        for proof in plan.proofs:
            if proof.pool == pool:
                page.text(proof_words(proof))
        page.gap(5)
    # what is due from earlier weeks is confidential
    this_week = club.model_copy(update={"carried": ()}) if club.carried else club
    lines = ledger(this_week, plan) if _known(club, plan) else ()
    worst = max((abs(line.apart) for line in lines), default=Fraction(0))
    if lines:
        far = minutes(worst)
        page.text(f"At the end of the week nobody is more than {far} minutes away from the week's fair share.", "lead")
        page.text("The line | is the fair share; the dot is the child's minutes: left of it less, right of it more. "
                  "The edge of the strip is one rep away. What is due from earlier weeks is left out.")  # fmt: skip
    by_child: dict[str, dict[str, Line]] = {}
    for line in lines:
        by_child.setdefault(line.player, {})[line.role] = line
    page.gap(6)
    heads = ["Team", "Child", *[text for role in ROLE_WORDS for text in (ROLE_WORDS[role], "less | more")]]
    page.head(heads, in_sight=False)  # long sentences stand above it
    for team in club.teams:
        children = [key for key in by_child if club.player(key).team == team.id]
        names = card_names(club, children)
        for child in children:
            cells, kinds = [plain(team.id), names[child]], ["cell", "strong"]
            for role in ROLE_WORDS:
                held = by_child[child].get(role)
                shown = held is not None and (role != "keep" or held.held > 0)
                cells += [f"{minutes(held.held)} min", strip(held)] if held is not None and shown else ["", ""]
                kinds += ["cell", "strip"]
            page.line(cells, kinds)


def _known(club: Club, plan: WeekPlan) -> bool:
    places = (p for s in plan.sessions for b in s.blocks for t in b.stations for r in t.reps for p in r.places)
    return all(club.has("player", place.player) for place in places)


def minutes(amount: Fraction) -> str:
    """`12`, `11.6`."""
    return f"{float(amount):.1f}".removesuffix(".0")


def strip(line: Line) -> str:
    """A dot either side of the fair-share line: `  o  |     `; five steps are one rep, further is at the edge."""
    bound = line.bound or Fraction(1)
    steps = max(-DOTS, min(DOTS, round(line.apart * DOTS / bound)))
    left = [" "] * DOTS
    right = [" "] * DOTS
    if steps < 0:
        left[DOTS + steps] = "●"
    elif steps > 0:
        right[steps - 1] = "●"
    return "".join(left) + ("|" if steps else "●") + "".join(right)


def proof_words(proof: Proof) -> str:
    """A recorded figure as a sentence a coach can read."""
    if proof.pool == "booking" and proof.proved and not proof.value:
        return f"{plain(proof.measure[:1].upper() + proof.measure[1:])}: met in full."
    if proof.text:
        return f"{plain(proof.text[:1].upper() + proof.text[1:])}."
    unit = f" {plain(proof.unit)}" if proof.unit else ""
    end = "less is shown to be impossible" if proof.proved else "the least found, not shown to be the least possible"
    return (f"{plain(proof.pool)}, {plain(proof.measure)}: {_number(proof.value)}{unit}; counting alone gives "
            f"{_number(proof.bound)}{unit}; {end}.")  # fmt: skip


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def write_changes(book: Book, club: Club, plan: WeekPlan, earlier: WeekPlan) -> None:
    """What differs from the earlier plan and who must be told."""
    page = book.page("Changes", (30, 62))
    page.title("What changed", f"From {plan_number(earlier)} to {plan_number(plan)}.")
    changes = differences(club, earlier, plan)
    if changes.nothing:
        page.text("Nothing changed for anybody.", "lead")
        return
    for heading, found in (("Sessions", changes.sessions), ("Adults", changes.adults),
                           ("Who comes", (*changes.comes, *changes.stood_down))):  # fmt: skip
        if found:
            page.heading(heading)
            for change in found:
                page.text(f"{plain(change.text)}.")
    if changes.places:
        page.heading("Places")
        page.head(("Session, block and rep", "Who does what now"))
        for place in changes.places:
            page.line((f"{plain(place.session)}, block {place.block}, rep {place.rep}", plain(place.text)))
    told = who_must_be_told(club, earlier, plan, changes)
    if told:
        page.gap(6)
        page.heading("Who must be told")
        page.head(("Who", "What"))
        kinds = {"team": "families of ", "family": "family of ", "coach": ""}
        for one in told:
            page.line((f"{kinds[one.kind]}{plain(one.name)}", "; ".join(plain(text) for text in one.texts)))
