"""timetable.xlsx: the week, the sessions, every card, kit, coaches, fairness and changes; for the club's adults."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from scheduler.club.club import Club
from scheduler.folder.cards import cards
from scheduler.folder.cardsheet import write_card
from scheduler.folder.listsheets import (
    session_cells,
    write_changes,
    write_coaches,
    write_fairness,
    write_kit,
    write_sessions,
)
from scheduler.folder.memory import MEMORY, MEMORY_HEAD, packed
from scheduler.folder.paging import look_of, pages
from scheduler.folder.paper import Book
from scheduler.folder.weeksheet import write_week
from scheduler.folder.withheld import player_key, withheld
from scheduler.plan.names import adult_names, card_names, plain, plan_code, plan_number, session_names
from scheduler.plan.plan import WeekPlan


def write_timetable(club: Club, plan: WeekPlan, path: Path, earlier: WeekPlan | None = None) -> None:
    """Write the workbook; the same input gives the same bytes."""
    book = Book(path, f"Timetable, {plain(club.name)}", plan.week, plan_number(plan))
    book.keep(MEMORY)
    week = write_week(book, club, plan)
    sessions = write_sessions(book, club, plan)
    if earlier is not None:
        write_changes(book, club, plan, earlier)
    sheets = []
    for card in cards(club, plan, earlier):
        look = look_of(card)
        for page in pages(card):
            sheets.append([write_card(book, page, look), card.session, card.group, dict(card.stations)])
    write_kit(book, club, plan)
    write_coaches(book, club, plan)
    write_fairness(book, club, plan)
    memory = _memory(club, plan) | {"week": week, "sessions": sessions, "cards": sheets}
    _remember(book, memory)
    book.close()


def _memory(club: Club, plan: WeekPlan) -> dict[str, Any]:
    """What reading back needs and no page shows: nothing about a child but the card name and a key for the id."""
    return {
        "code": plan_code(plan),
        "plan": json.loads(withheld(plan).to_json()),
        "names": {
            planned.session: {name: player_key(player) for player, name in session_names(club, planned).items()}
            for planned in plan.sessions
        },
        "others": {
            team.id: {
                name: player_key(player)
                for player, name in card_names(club, [p.id for p in club.players if p.team == team.id]).items()
            }
            for team in club.teams
        },
        "cells": {planned.session: session_cells(club, planned) for planned in plan.sessions},
        "adults": {name: coach for coach, name in adult_names(club).items()},
        "pitches": {pitch.id: pitch.zones for pitch in club.pitches},
        "areas": {practice.id: [practice.kind.value, practice.areas] for practice in club.practices},
    }  # fmt: skip


def _remember(book: Book, memory: dict[str, Any]) -> None:
    sheet = book.file.add_worksheet(MEMORY)
    sheet.write_string(0, 0, MEMORY_HEAD)
    for number, text in enumerate(packed(memory), 1):
        sheet.write_string(number, 0, text)
    sheet.hide()
