"""The ranking of every part and the bill in a terminal."""

from __future__ import annotations

import textwrap
from pathlib import Path

from rich.console import Console
from rich.text import Text

from routecost.builds.build import Build
from routecost.builds.size_check import extents_text
from routecost.core.money import apportioned, shown
from routecost.costing.ranking import RankedPart, Ranking
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.figures import BY_TEXT
from routecost.reports.wording.formats import days, hours
from routecost.reports.wording.verdict_words import LEVEL_TEXT, first_reason


def print_notes(build: Build, out: Console) -> None:
    """Warnings from reading the meshes."""
    for note in build.warnings:
        out.print(Text(f"note: {note}", style="dim"))


def size_lines(build: Build) -> list[str]:
    """Each part's mesh with its extents, so that a wrong unit is seen at once."""
    rows = [
        (read.part.id, Path(read.reading.file).name, extents_text(read.size.extents_mm))
        for read in build.read_parts
        if read.reading is not None and read.size is not None
    ]
    part, file = (max((len(row[i]) for row in rows), default=0) for i in (0, 1))
    return [f"{row[0]:<{part}}  {row[1]:<{file}}  {row[2]}" for row in rows]


def print_ranking(ranking: Ranking, out: Console, names: dict[str, str], *, every: bool = True) -> None:
    """The bill with the best route of each part, then every part's routes in order."""
    c = ranking.currency
    out.print(
        f"Prices as of {ranking.as_of}, in {c}; ranked by {BY_TEXT[ranking.by]}; amounts cover all copies of a part."
    )
    if every:
        for ranked in ranking.parts:
            _print_part(ranked, out, names, c)
    _print_bill(ranking, out, names)


def _print_part(ranked: RankedPart, out: Console, names: dict[str, str], currency: str) -> None:
    part = ranked.part
    head = Text(f"\n{part.id}", style="bold")
    size = f", {extents_text(part.shape.solid.extents_mm)}" if part.shape is not None else ""
    head.append(f"  {part.description}, {part.copies} x{size}", style="not bold")
    out.print(head)
    _row(out, "", "route", "verdict", "full cost", "spend", "own time", "lead time", style="dim")
    for place, e in enumerate(ranked.estimates, start=1):
        out_of = e.plan.verdict.level == "ruled out"
        _row(
            out,
            "-" if out_of else str(place),
            names.get(e.route, e.route),
            LEVEL_TEXT[e.plan.verdict.level],
            shown(e.full, currency),
            shown(e.spend, currency),
            hours(e.own_hours),
            days(e.lead_days),
            style="dim" if out_of else ("bold" if e is ranked.best else ""),
        )
        _indented(e.plan.alternative, out, "dim" if out_of else "")
        if e.plan.verdict.level != "suits":
            _indented(first_reason(e), out, "dim" if out_of else "italic")


_FIELDS = ("{:<2}", "{:<23}", "{:<21}", "{:>11}", "{:>11}", "{:>9}", "{:>9}")


def _row(out: Console, *cells: str, style: str = "") -> None:
    out.print(Text("  " + " ".join(f.format(c) for f, c in zip(_FIELDS, cells, strict=True)), style=style))


def _indented(text: str, out: Console, style: str) -> None:
    """A text below its row, broken at words."""
    for line in textwrap.wrap(text, out.width - 9, break_long_words=True):
        out.print(Text(f"       {line}", style=style))


def _print_bill(ranking: Ranking, out: Console, names: dict[str, str]) -> None:
    c = ranking.currency
    numbers = ("copies", "full cost", "spend", "own time", "lead time")
    title = "\nBill: best route of each part"
    table = make_table("part", "copies", "best route", *numbers[1:], numbers=numbers, title=title)
    chosen = ranking.chosen
    full = iter(apportioned([e.full for e in chosen], c))
    spend = iter(apportioned([e.spend for e in chosen], c))
    for ranked in ranking.parts:
        e = ranked.best
        if e is None:
            table.add_row(ranked.part.id, str(ranked.part.copies), "no suitable route")
            continue
        changes = " (with changes)" if e.plan.verdict.level == "changes" else ""
        table.add_row(
            ranked.part.id,
            str(ranked.part.copies),
            names.get(e.route, e.route) + changes,
            shown(next(full), c),
            shown(next(spend), c),
            hours(e.own_hours),
            days(e.lead_days),
        )
    table.add_section()
    totals = (shown(ranking.full, c), shown(ranking.spend, c), hours(ranking.own_hours), "")
    table.add_row("total", "", "", *totals, style="bold")
    out.print(table)
