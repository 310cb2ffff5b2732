"""The rules, one a file, in reading order. No rule imports another, and their order never changes a result."""

from __future__ import annotations

from constraints.age_gap import AgeGap
from constraints.age_phase_load import AgePhaseLoad
from constraints.apart import Apart
from constraints.area_sizes import AreaSizes
from constraints.asked_times import AskedTimes
from constraints.balanced_sides import BalancedSides
from constraints.brothers_and_sisters import BrothersAndSisters
from constraints.coach_cover import CoachCover
from constraints.daylight import Daylight
from constraints.early_finish import EarlyFinish
from constraints.enough_to_play import EnoughToPlay
from constraints.even_attack_and_defend import EvenAttackAndDefend
from constraints.few_changes import FewChanges
from constraints.few_rests import FewRests
from constraints.few_stood_down import FewStoodDown
from constraints.good_slots_shared import GoodSlotsShared
from constraints.keeper_minutes import KeeperMinutes
from constraints.kit import Kit
from constraints.limits import OwnLimits
from constraints.match_recovery import MatchRecovery
from constraints.mixing import Mixing
from constraints.one_place_at_once import OnePlaceAtOnce
from constraints.own_coaches_first import OwnCoachesFirst
from constraints.pitch_bookings import PitchBookings
from constraints.rest import Rest
from constraints.returns import Returns
from constraints.sides_kept import SidesKept
from constraints.space import Space
from constraints.spread_of_days import SpreadOfDays
from constraints.stations_visited import StationsVisited
from constraints.wanted_sizes import WantedSizes
from constraints.weather import Weather
from constraints.willing_keepers import WillingKeepers
from constraints.wished_days import WishedDays
from scheduler.contract import Rule

RULES: tuple[Rule, ...] = (
    # where, when and with whom
    PitchBookings(),
    AskedTimes(),
    Daylight(),
    Weather(),
    CoachCover(),
    Kit(),
    Space(),
    OnePlaceAtOnce(),
    EnoughToPlay(),
    # what a child's week may hold
    AgePhaseLoad(),
    MatchRecovery(),
    OwnLimits(),
    Returns(),
    Apart(),
    AgeGap(),
    # who plays what
    AreaSizes(),
    WillingKeepers(),
    SidesKept(),
    StationsVisited(),
    FewRests(),
    EvenAttackAndDefend(),
    KeeperMinutes(),
    Rest(),
    # wishes
    FewChanges(),
    FewStoodDown(),
    OwnCoachesFirst(),
    WishedDays(),
    SpreadOfDays(),
    BrothersAndSisters(),
    EarlyFinish(),
    GoodSlotsShared(),
    WantedSizes(),
    BalancedSides(),
    Mixing(),
)
