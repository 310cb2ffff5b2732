"""The strict order of what counts, and nothing else. An earlier line is never traded for a later one.

Firm rules and fairness bounds come before all of these; when replanning, `few changes` comes first.
"""

from __future__ import annotations

BOOKING_ORDER = (
    "sessions cancelled",
    "few changes",
    "fewest minutes stood down",
    "fewest children stood down",
    "own coaches first",
    "wished days",
    "spread of days",
    "brothers and sisters together",
    "early finish",
    "good slots shared",
    "room to play",
)

ROTATION_ORDER = (
    "few changes",
    "few rests",
    "wanted sizes",
    "balanced sides",
    "mixing",
)
