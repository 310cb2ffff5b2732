"""Runs of zones dealt out after the times: the ground of an evening counted first, zone by zone only where it must be.

On most evenings it does not matter which of the free zones a session has, only how many are in use at once. Then one
slot stands in for all runs of zones at one start on one pitch, and the zones are dealt out afterwards, exactly. An
evening on which that cannot be done, not with other pitches of the site either, is *crowded*, and is looked at zone by
zone from then on. No solver here but for these other pitches.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan

Evening = tuple[dt.date, str]  # a date and a pitch
Run = tuple[int, ...]
Place = tuple[str, Run]
MOST_STEPS = 20_000


class Ground:
    """Which slots stand in for others. `counted` False: every slot for itself, as if there were no such thing."""

    def __init__(self, club: Club, counted: bool) -> None:
        self._club = club
        crossed = {pitch.id for pitch in club.pitches if pitch.lies_on is not None}
        crossed |= {pitch.lies_on for pitch in club.pitches if pitch.lies_on is not None}
        self._between = club.set_up + club.pack_up + club.gap
        self._counted = {pitch.id for pitch in club.pitches if counted and pitch.id not in crossed}
        self._runs: dict[tuple[str, Slot], list[Run]] = {}
        self._stand_in: dict[tuple[str, Slot], Slot] = {}
        self._left: dict[str, list[Slot]] = {}
        self._keeps_pitches = False

    def is_counted(self, pitch: str) -> bool:
        """Whether the zones of a pitch are dealt out afterwards."""
        return pitch in self._counted

    def stand_ins(self, session: str, slots: Sequence[Slot]) -> list[Slot]:
        """The slots that are left of a session's once the first run of zones stands in for every other."""
        first: dict[tuple[dt.date, int, str], Slot] = {}
        left = []
        for slot in slots:
            key = (slot.date, slot.start, slot.pitch)
            if slot.pitch in self._counted and key in first:
                self._runs[session, first[key]].append(slot.zones)
            else:
                first[key] = slot
                self._runs[session, slot] = [slot.zones]
                left.append(slot)
            self._stand_in[session, slot] = first[key] if slot.pitch in self._counted else slot
        self._left[session] = left
        return left

    def stand_in(self, session: str, slot: Slot) -> Slot:
        """The slot that stands in for this one; itself where none does."""
        return self._stand_in.get((session, slot), slot)

    def runs(self, session: str, slot: Slot) -> tuple[Run, ...]:
        """The runs of zones that a slot stands for, from zone 1 up."""
        return tuple(self._runs.get((session, slot), [slot.zones]))

    def dealt(self, plan: WeekPlan) -> tuple[WeekPlan, tuple[Evening, ...]]:
        """The plan with zones dealt out, and the evenings on which that could not be done, in order.

        Where zones alone will not do, sessions change pitches with others of that evening at the same site.
        """
        evenings: dict[Evening, list[PlannedSession]] = {}
        for planned in plan.sessions:
            evenings.setdefault((planned.date, planned.pitch), []).append(planned)
        places: dict[str, Place] = {}
        crowded = []
        for evening, sessions in sorted(evenings.items()):
            found = self._deal(sessions) if evening[1] in self._counted else {}
            if found is None:
                crowded.append(evening)
            else:
                places.update({session: (evening[1], zones) for session, zones in found.items()})
        evenings_at = dict.fromkeys((date, self._club.pitch(pitch).site) for date, pitch in crowded)
        for date, site in () if self._keeps_pitches else evenings_at:
            anew = self._redealt(plan, date, site)
            if anew is not None:
                places.update(anew)
                crowded = [one for one in crowded if (one[0], self._club.pitch(one[1]).site) != (date, site)]
        moved = []
        for one in plan.sessions:
            pitch, zones = places.get(one.session, (one.pitch, one.zones))
            moved.append(one.model_copy(update={"pitch": pitch, "zones": zones}))
        moved.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
        return plan.model_copy(update={"sessions": tuple(moved)}), tuple(crowded)

    def keep_pitches(self) -> None:
        """Deal out zones alone from here on."""
        self._keeps_pitches = True

    def _redealt(self, plan: WeekPlan, date: dt.date, site: str) -> dict[str, Place] | None:
        """Pitches and zones of an evening at a site dealt out anew; None where that was not found."""
        from scheduler.booking.redeal import redealt

        here = [pitch for pitch in self._counted if self._club.pitch(pitch).site == site]
        sessions = [one for one in plan.sessions if one.date == date and one.pitch in here]
        places = {
            one.session: [
                (slot.pitch, run)
                for slot in self._left[one.session]
                if (slot.date, slot.start) == (date, one.start) and slot.pitch in here
                for run in self.runs(one.session, slot)
            ]
            for one in sessions
        }
        return redealt(sessions, places, self._between)

    def _deal(self, sessions: Iterable[PlannedSession]) -> dict[str, Run] | None:
        """A run for every session of one evening on one pitch, none used twice; None where there is no such deal.

        Depth first in order of start, the lowest zones first; after many steps the evening counts as crowded.
        """
        ordered = sorted(sessions, key=lambda one: (one.start, -len(one.zones), one.session))
        choices = [self.runs(one.session, self.stand_in(one.session, slot_of(self._club, one))) for one in ordered]
        earlier = [
            [j for j in range(i) if ordered[j].end + self._between > ordered[i].start] for i in range(len(ordered))
        ]  # fmt: skip
        chosen: list[int] = []
        at, steps = 0, 0
        while len(chosen) < len(ordered) and steps < MOST_STEPS:
            steps += 1
            index = len(chosen)
            taken = {zone for j in earlier[index] for zone in choices[j][chosen[j]]}
            fit = next((n for n in range(at, len(choices[index])) if not taken & set(choices[index][n])), None)
            if fit is not None:
                chosen.append(fit)
                at = 0
            elif chosen:
                at = chosen.pop() + 1
            else:
                return None
        if len(chosen) < len(ordered):
            return None
        return {one.session: choices[i][chosen[i]] for i, one in enumerate(ordered)}


def most_at_once(club: Club, site: str, needs: Mapping[str, int]) -> int:
    """At most how much sessions held at a site at one time can need together, `needs` being what each needs.

    By room on the ground alone: the zones of the site dealt out to whoever needs most for each zone, the last one in
    part.
    """
    pitches = [pitch for pitch in club.pitches if pitch.site == site]
    room, total = sum(pitch.zones for pitch in pitches), 0
    asked = {}
    for session in needs:
        zones = club.session(session).zones
        asked[session] = min((pitch.zones for pitch in pitches), default=1) if zones is None else zones
    for session in sorted(needs, key=lambda one: -needs[one] / asked[one]):
        part = min(asked[session], room)
        total += -(-needs[session] * part // asked[session])
        room -= part
    return total
