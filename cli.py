"""The commands of evenweek: read, choose rules, call one function, write, exit."""

from __future__ import annotations

import sys

NO_PLAN, NO_TIME, BREACHES, FAULTY = 4, 5, 6, 3

try:
    import datetime as dt
    import json
    from collections.abc import Callable
    from contextlib import suppress
    from functools import wraps
    from pathlib import Path
    from typing import Any, NoReturn

    import click

    from scheduler.errors import EvenweekError, InputFaults, PlanRejected, Stopped, UsageFault
except KeyboardInterrupt:  # pressed while all this is read, before any command can see to it
    print("Stopped before it was done; nothing was written.", file=sys.stderr)
    sys.exit(NO_TIME)


def _say(lines: list[str], document: dict[str, Any], as_json: bool) -> None:
    click.echo(json.dumps(document, indent=2, ensure_ascii=False) if as_json else "\n".join(lines))


def _fail(error: EvenweekError, as_json: bool) -> NoReturn:
    from scheduler import terminal

    lines = [str(error)]
    if isinstance(error, PlanRejected):
        lines = ["This is a defect of evenweek, not of your club: the plan failed its own check and was not written."]
        lines += [f"  {breach}" for breach in error.breaches]
    if as_json:
        faults = terminal.faults_json(error.faults) if isinstance(error, InputFaults) else []
        click.echo(json.dumps({"error": str(error), "faults": faults}, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(lines), err=True)
    sys.exit(error.exit_code)


def _command(function: Callable[..., None]) -> Callable[..., None]:
    """Add `--json`, and turn every named error, and Ctrl-C, into its sentence and exit code."""

    @click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
    @wraps(function)
    def run(*args: Any, as_json: bool, **kwargs: Any) -> None:
        try:
            function(*args, as_json=as_json, **kwargs)
        except EvenweekError as error:
            _fail(error, as_json)
        except KeyboardInterrupt:
            _fail(Stopped(), as_json)

    return run


_WEEK = click.option("--week", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE", help="A date in the week.")
_AFTER = click.option(
    "--after", type=click.Path(path_type=Path, exists=True), help="The week folder of the week before."
)
_POSITIVE = click.FloatRange(min=0.1)
_CLUB = click.argument("club_file", metavar="CLUB", type=click.Path(path_type=Path))


def _read(club_file: Path, week: dt.datetime | None, after: Path | None = None) -> Any:
    from scheduler.workbook.read import read_club

    club = read_club(club_file, week.date() if week else None)
    if after is None:
        return club
    from scheduler.folder.find import club_after

    return club_after(club, after)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="evenweek")
def main() -> None:
    """Plan a youth football club's training week: fair to every child, inside every limit entered."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a console that cannot show a letter must not stop the work


@main.command(short_help="Write a blank club workbook.")
@click.argument("file", type=click.Path(path_type=Path))
@_command
def new(file: Path, as_json: bool) -> None:
    """Write a blank club workbook to FILE, with drop-downs, notes and default rows."""
    from scheduler.workbook.blank import write_blank

    write_blank(file)
    _say([f"Wrote {file}. Fill in the sheets, then: evenweek check {file}"], {"written": str(file)}, as_json)


@main.command(short_help="Name every fault of a club, without planning.")
@_CLUB
@_WEEK
@_command
def check(club_file: Path, week: dt.datetime | None, as_json: bool) -> None:
    """Report every fault of CLUB, and what is plainly impossible, without planning."""
    from scheduler import terminal
    from scheduler.workbook.check import impossibilities

    club = _read(club_file, week)
    faults = impossibilities(club)
    lines = [str(fault) for fault in faults] + [f"note: {note}" for note in club.notes]
    count = f"{len(faults)} things stand" if len(faults) > 1 else "one thing stands"
    lines.append(f"{count} in the way of a plan" if faults else f"{club.name}: no fault found")
    _say(lines, {"faults": terminal.faults_json(faults), "notes": list(club.notes)}, as_json)
    if faults:
        sys.exit(NO_PLAN)


@main.command(short_help="Plan the week of a club, or of many clubs.")
@click.argument("club_files", metavar="CLUB...", nargs=-1, required=True, type=click.Path(path_type=Path))
@_WEEK
@_AFTER
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="The week folder; of many clubs the folder of all."
)
@click.option("--seconds", default=60.0, metavar="N", type=_POSITIVE, show_default=True, help="Solving time a stage.")
@click.option("--replace", is_flag=True, help="Put the new folder in the place of an old one, which is kept aside.")
@click.option("--workers", type=click.IntRange(min=1), metavar="N", help="Processes; by default as many as serve.")
@click.option("--cluster", metavar="ADDRESS", help="Hand the work of many clubs to a running Dask cluster.")
@_command
def plan(club_files: tuple[Path, ...], output: Path | None, cluster: str | None, after: Path | None, as_json: bool,
         **options: Any) -> None:  # fmt: skip
    """Plan the whole week of each CLUB and write its week folder."""
    if len(club_files) == 1 and cluster is None:
        _plan_one(club_files[0], output, after, as_json, **options)
    elif after is not None:
        raise UsageFault("--after goes with one club: each club has a week before of its own")
    else:
        _plan_many(club_files, output, cluster, as_json, **options)


def _plan_one(club_file: Path, output: Path | None, after: Path | None, as_json: bool, week: dt.datetime | None,
              seconds: float, replace: bool, workers: int | None) -> None:  # fmt: skip
    from constraints import RULES
    from scheduler import terminal
    from scheduler.folder.find import default_folder, refuse_existing
    from scheduler.folder.write import write_folder
    from scheduler.outcome import Booked, Conflict
    from scheduler.processes import side_by_side
    from scheduler.progress import LiveLine
    from scheduler.week import plan_week

    club = _read(club_file, week, after)
    folder = output or default_folder(club_file, club.week)
    refuse_existing(folder, replace=replace)
    with side_by_side(club, RULES, workers) as executor:
        with LiveLine() as line:
            outcome = plan_week(club, RULES, limit=seconds, executor=executor, on_progress=line, explain=False)
        if isinstance(outcome, Booked):
            write_folder(club, outcome.plan, outcome.findings, folder, rules=RULES, replace=replace, executor=executor)
            document = {"folder": str(folder), "proven": outcome.proven,
                        "findings": terminal.findings_json(outcome.findings),
                        "plan": json.loads(outcome.plan.to_json()) if as_json else None}  # fmt: skip
            _say(terminal.planned_lines(club, outcome, str(folder)), document, as_json)
            return
    from scheduler.reasons.arithmetic import or_counted
    from scheduler.reasons.why import why

    if isinstance(outcome, Conflict):
        with suppress(KeyboardInterrupt):  # that there is no plan is known already
            outcome = why(club, RULES, seconds) or outcome
    _no_plan(or_counted(club, outcome), as_json)


def _no_plan(outcome: Any, as_json: bool) -> NoReturn:
    from scheduler import terminal
    from scheduler.outcome import Conflict

    if isinstance(outcome, Conflict):
        _say(terminal.conflict_lines(outcome), terminal.conflict_json(outcome), as_json)
        sys.exit(NO_PLAN)
    _say(terminal.out_of_time_lines(outcome), {"out_of_time": outcome.stage}, as_json)
    sys.exit(NO_TIME)


def _plan_many(club_files: tuple[Path, ...], output: Path | None, cluster: str | None, as_json: bool,
               week: dt.datetime | None, seconds: float, replace: bool, workers: int | None) -> None:  # fmt: skip
    from constraints import RULES
    from scheduler import federation

    errand = federation.Errand(club_files[0], RULES, week and week.date(), None, seconds, replace)
    errands = federation.errands_for(club_files, output, errand)
    results = federation.run_all(errands, workers, cluster, lambda line: click.echo(line, err=True))
    document = {"clubs": [federation.result_json(result) for result in results]}
    _say(federation.table_lines(results), document, as_json)
    sys.exit(max(result.code for result in results))


@main.command(short_help="Change a planned week as little as can be.")
@_CLUB
@click.argument("week_folder", metavar="WEEK", type=click.Path(path_type=Path, exists=True))
@_WEEK
@_AFTER
@click.option("--absent", multiple=True, metavar="WHO", help="A player, coach or team who stays away (or leaves).")
@click.option("--here", multiple=True, metavar="WHO", help="Somebody who turns up after all.")
@click.option("--closed", multiple=True, metavar="PITCH[:ZONES]", help="A pitch, or zones of it, that cannot be used.")
@click.option("--unlit", multiple=True, metavar="PITCH", help="A pitch whose lights do not work.")
@click.option("--missing-kit", multiple=True, metavar="'ITEM N'", help="So many of a kit item are missing.")
@click.option("--at", metavar="SITE", help="Where the kit is missing.")
@click.option("--on", metavar="DATE", help="The date of all these.")
@click.option("--from", "from_", metavar="HH:MM", help="From when on that date.")
@click.option("--until", metavar="HH:MM", help="Until when on that date.")
@click.option("--now", metavar="'DATE HH:MM'", help="What began before stays as it was.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="The week folder to write; by default WEEK.")
@click.option("--seconds", default=10.0, metavar="N", type=_POSITIVE, show_default=True, help="Solving time.")
@_command
def replan(club_file: Path, week_folder: Path, week: dt.datetime | None, after: Path | None, output: Path | None,
           seconds: float, as_json: bool, **told: Any) -> None:  # fmt: skip
    """Change the plan in WEEK (a week folder, or its timetable.xlsx edited by hand) as little as can be."""
    from constraints import RULES
    from scheduler.folder.find import read_plan
    from scheduler.folder.write import write_folder
    from scheduler.outcome import Booked
    from scheduler.progress import LiveLine
    from scheduler.replan import command, words
    from scheduler.replan.events import Options

    with LiveLine() as line:
        club = _read(club_file, week, after)
        done = command.run(club, week_folder, Options(**told), RULES, seconds, read_plan, line)
    if not isinstance(done.outcome, Booked):
        _no_plan(done.outcome, as_json)
    folder, found = output or command.folder_of(week_folder), done.outcome
    if not as_json:  # the coach reads while the folder is written
        _say(words.replanned_lines(done, found), {}, as_json)
    if done.to_write or output:
        earlier = None if done.changes.nothing else done.held
        write_folder(done.club, found.plan, found.findings, folder, rules=RULES, earlier=earlier, replace=True)
    if as_json or done.to_write or output:
        _say([words.written_line(done, str(folder))], words.replanned_json(done, found, str(folder)), as_json)


@main.command(short_help="Say why a club has no lawful plan.")
@_CLUB
@_WEEK
@_AFTER
@click.option("--seconds", default=60.0, metavar="N", type=_POSITIVE, show_default=True, help="Solving time.")
@_command
def why(club_file: Path, week: dt.datetime | None, after: Path | None, seconds: float, as_json: bool) -> None:
    """Say why CLUB has no lawful plan: demands that clash, none of which can be spared, and the cheapest ways out."""
    from constraints import RULES
    from scheduler.reasons.why import why as reasons

    club = _read(club_file, week, after)
    conflict = reasons(club, RULES, seconds)
    if conflict is not None:
        _no_plan(conflict, as_json)
    _say([f"{club.name}: a lawful plan exists for the week of {club.week}"], {"clashes": []}, as_json)


@main.command(short_help="Check a plan against every rule.")
@_CLUB
@click.argument("plan_file", metavar="PLAN", type=click.Path(path_type=Path))
@_WEEK
@_AFTER
@click.option("--welfare", type=click.Path(path_type=Path), help="Write the welfare workbook of this plan here too.")
@_command
def audit(club_file: Path, plan_file: Path, week: dt.datetime | None, after: Path | None, welfare: Path | None,
          as_json: bool) -> None:  # fmt: skip
    """Check PLAN (plan.json, a timetable.xlsx edited by hand, or a week folder) against every rule."""
    from constraints import RULES
    from scheduler import terminal
    from scheduler.audit import audit as judge
    from scheduler.folder.edits import edited_lines
    from scheduler.folder.find import read_plan
    from scheduler.replan.events import as_reported

    found = read_plan(plan_file, club := _read(club_file, week, after))
    judged = judge(club := as_reported(club, found), found, RULES)
    if welfare is not None:
        from scheduler.welfare.sheet import write_welfare

        write_welfare(club, found, judged.findings, welfare, RULES)
    edits = edited_lines(club, plan_file, found)
    _say([*terminal.audit_lines(judged), *edits], {**terminal.audit_json(judged), "edits": edits}, as_json)
    sys.exit(BREACHES if judged.breaches else 0)


@main.command(short_help="Print every rule with its source.")
@_command
def rules(as_json: bool) -> None:
    """Print every rule in words, with its source and whether it is firm or a wish."""
    from constraints import RULES
    from scheduler import terminal

    _say(terminal.rules_lines(RULES), {"rules": terminal.rules_json(RULES)}, as_json)


if __name__ == "__main__":
    main()
