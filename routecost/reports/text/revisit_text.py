"""A saved plan compared with the best one today, in a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from routecost.api.revisit import Revisit
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.comparing.option_diff import change_text
from routecost.reports.text.plan_text import print_in_progress, print_plan
from routecost.reports.text.terminal import indented
from routecost.reports.wording.formats import hours
from routecost.reports.wording.plan_sentences import LIMIT_TEXT

MOST = 20
"""Changes that are listed; the rest are counted."""


def print_revisit(found: Revisit, out: Console, names: dict[str, str], *, days: int | None = 7) -> None:
    """What has changed, what is in progress, whether to switch; then today's plan."""
    c = found.now.workshop.tariff.currency
    saved = found.saved
    out.print(
        f"Plan saved for {saved.day} (outlay {shown(saved.outlay, c)}, full cost {shown(saved.full, c)}, "
        f"{saved.own_hours:.1f} own hours), compared at the prices of {found.now.day}."
    )
    out.print(Text("\nChanges since then", style="bold"))
    if not found.plan_changes:
        out.print("None that affect the plan.")
    for change in found.plan_changes[:MOST]:
        out.print(indented(change.text))
    if len(found.plan_changes) > MOST:
        out.print(f"  and {len(found.plan_changes) - MOST} more")
    _print_progress(found, out)
    _print_advice(found, out, c, names)
    out.print(Text("\nBest plan for the rest, as of today", style="bold"))
    print_plan(found.now, out, names, days=days)


def _print_progress(found: Revisit, out: Console) -> None:
    now = found.now
    if not now.in_progress and not now.done:
        return
    out.print(Text("\nProgress", style="bold"))
    print_in_progress(now, out)
    for part, n in now.done.items():
        out.print(f"  {n} x {part}: done")
    out.print(
        "Enter purchases in stock.csv, otherwise they are planned again. The budget applies to what is still to be "
        "paid; change it with --budget."
    )


def _print_advice(found: Revisit, out: Console, c: str, names: dict[str, str]) -> None:
    out.print(Text("\nContinue or switch?", style="bold"))
    now, stay = found.now.totals, found.stay
    if now is None:
        out.print("No plan for the remaining work is within the limits.")
        return
    if stay is None:
        out.print(f"The saved plan has no usable route for {', '.join(found.gone)}: use the plan below.")
        return
    for part, changed in found.nearest:
        differences = "; ".join(f"{name} {b or 'none'}, was {a or 'none'}" for name, a, b in changed)
        out.print(Text(f"Continued with the closest available option, {part}: {differences}"))
    out.print(f"Saved plan, continued:  {_sums(stay, c)}")
    out.print(f"Best plan today:        {_sums(now, c)}")
    if found.breaks:
        out.print(
            "Continuing would exceed limits: " + ", ".join(LIMIT_TEXT[name] for name in found.breaks) + "."
        )
    if not found.is_worth_switching:
        out.print(Text("Continue: no other plan is better.", style="bold"))
        return
    objective = found.now.request.objective.name
    saved = hours(found.saves) if objective == "own-time" else f"{shown(found.saves, c)} {c}"
    out.print(
        Text(f"Switching saves {saved} in the quantity that the plan minimizes. Differences:", style="bold")
    )
    for was, is_ in found.switched:
        out.print(indented(f"{is_.part}: {change_text(was, is_, names)}"))


def _sums(totals: Totals, c: str) -> str:
    return f"outlay {shown(totals.outlay, c)}, full cost {shown(totals.full, c)}, {totals.own_hours:.1f} own hours"
