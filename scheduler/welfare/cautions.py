"""The cautions of the welfare file: what it is not, and what whoever stands on the ground does first."""

from __future__ import annotations

WHAT_THIS_IS_NOT = (
    "Limits are planning defaults, not medical advice. Your association's rules, safeguarding rules and the judgement "
    "of qualified people come first.",
    "Planned load is RPE x minutes of what is planned. It describes; it says nothing about what will happen to a "
    "child. What was really done may differ.",
    "A date printed here is a date before which something may not happen. It is never a clearance: that is a "
    "qualified person's separate yes.",
    "Only what was entered is counted: sport nobody wrote down is not in these figures. That adults are 18 or more, "
    "and that the dates entered are right, is taken on trust.",
)
ON_THE_GROUND = (
    "A blow to the head: off now, not back today, not left alone, parents told, medical help. If it gets worse, the "
    "emergency number.",
    "First thunder: leave the field; back 30 minutes after the last one. In heat, more breaks and water; stop early.",
    "Goals are anchored before use and never climbed.",
    "At least two adults, each station with an adult within sight of a second, never one adult with one child.",
)
