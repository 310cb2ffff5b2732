"""The rules, one a file, in reading order. No rule imports another, and their order never changes a result."""

from __future__ import annotations

from constraints.age_gap import AgeGap
from constraints.apart import Apart
from constraints.area_sizes import AreaSizes
from constraints.balanced_sides import BalancedSides
from constraints.even_attack_and_defend import EvenAttackAndDefend
from constraints.few_changes import FewChanges
from constraints.few_rests import FewRests
from constraints.keeper_minutes import KeeperMinutes
from constraints.limits import OwnLimits
from constraints.mixing import Mixing
from constraints.rest import Rest
from constraints.sides_kept import SidesKept
from constraints.stations_visited import StationsVisited
from constraints.wanted_sizes import WantedSizes
from constraints.willing_keepers import WillingKeepers
from scheduler.contract import Rule

RULES: tuple[Rule, ...] = (
    AreaSizes(),
    WillingKeepers(),
    OwnLimits(),
    Apart(),
    AgeGap(),
    SidesKept(),
    StationsVisited(),
    EvenAttackAndDefend(),
    KeeperMinutes(),
    Rest(),
    FewRests(),
    WantedSizes(),
    BalancedSides(),
    Mixing(),
    FewChanges(),
)
